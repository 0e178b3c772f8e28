//! Conduction of heat in a bent strip: laid flat, cut into cells, made one network, factorised once.

pub mod unfold;
pub mod grid;
pub mod plate;
pub mod network;

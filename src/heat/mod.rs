//! What the plate does to temperatures: steady conduction from the inside of each board part to the heat pipes.
pub mod filling;
pub mod grid;
pub mod network;
pub mod plate;
pub mod reduced;
pub mod solved;
pub mod unfold;

//! coldstep: make a stepped cold plate for a heat-pipe cooler.

pub mod quantity;
pub mod diagnostic;
pub mod geometry;
pub mod stock;
pub mod part;
pub mod blank;
pub mod forming;
pub mod fit;
pub mod dies;
pub mod output;
pub mod cli;

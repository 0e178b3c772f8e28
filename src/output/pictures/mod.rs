//! Pictures of results, each a drawing in millimetres.

pub mod blank;
pub mod dies;
#[cfg(test)]
pub(crate) mod fixtures;
mod footprints;
pub mod heat;
pub mod plate;
pub mod press;

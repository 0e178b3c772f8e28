//! Plane geometry of the strip and the meshes made from it.

pub mod chain;

pub use chain::{Chain, Piece, Pose, Segment};

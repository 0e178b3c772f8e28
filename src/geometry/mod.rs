//! Plane geometry of the strip and the meshes made from it.

pub mod body;
pub mod boundary;
pub mod chain;
pub mod closing;
pub mod footprint;
pub mod inside;
pub mod loops;
pub mod mesh;
pub mod relief;
pub mod rounding;
pub mod segments;
pub mod solid;

pub use body::{Body, BodyError, Face};
pub use boundary::{Boundary, Hop};
pub use chain::{Chain, Piece, Pose, Segment};
pub use footprint::Footprint;
pub use inside::{self_crossing, y_intervals};
pub use loops::{Loop, LoopEdge, LoopError, Side};
pub use mesh::{Mesh, OpenMesh};
pub use rounding::RoundingError;

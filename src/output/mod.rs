//! What leaves the program: values in, bytes out.
//!
//! Drawings are made once as a [`Drawing`] in millimetres and then written in a format.

pub mod dimension;
pub mod drawing;
pub mod dxf;
mod dxf_frame;
pub mod stl;
pub mod style;
pub mod summary;
pub mod svg;

pub use dimension::{Dimension, Leader, LeaderEnd};
pub use drawing::{Anchor, Drawing, Item, Shape, Text};
pub use dxf::{DxfError, FlatDrawing, dxf};
pub use style::Role;
pub use svg::{SvgOptions, svg};

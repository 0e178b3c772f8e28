//! File formats of geometry: DXF, STL, 3MF and STEP, from geometry alone.

pub mod dxf;
mod dxf_frame;
pub mod step;
pub mod stl;
pub mod threemf;

pub use dxf::{DxfError, FlatDrawing, dxf};

//! The drawing kernel: drawings in millimetres, their style and lettering, and the writers of SVG, PDF and PNG. It knows no
//! parts and no results.

pub mod style;
pub mod drawing;
pub mod dimension;
pub mod lettering;
pub mod label_rows;
pub mod view;
pub mod legend;
pub mod axis;
pub mod ruler;
pub mod isotherms;
pub(crate) mod xml;
pub mod svg;
pub mod animation;
pub mod shaded;
pub mod png;
pub mod page;
pub mod face;
pub mod pdf;

pub use dimension::{Dimension, Leader, LeaderEnd};
pub use drawing::{Anchor, Drawing, Item, Shape, Text};
pub use pdf::{PdfError, pdf};
pub use style::Role;
pub use svg::{SvgOptions, svg};

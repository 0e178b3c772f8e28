//! What goes through a paper printer: pages of drawings in millimetres, and the PDF that carries them.

mod flow;
mod sheets;
pub mod sizes;
pub mod template;

pub use sheets::{build_pages, section_sheet};
pub use sizes::{Paper, Printing};
pub use template::template;

//! What is said about a result, each fact once: documents of blocks that media only set.
//!
//! A document knows the analyses and no medium; a medium knows blocks and no analysis. Where one medium shows less than
//! another, the document says so: every block and every column of a table has the [`Media`] that show it. Values carry
//! their place in `result.json`, so that a test can read each back from wherever it was set.

pub mod answer;
pub mod blank;
pub mod block;
pub mod build_sheet;
pub mod defaults;
pub mod dies;
pub mod digits;
pub mod gaps;
pub mod heat;
pub mod line;
pub mod places;
pub mod press;
pub mod table;

pub use block::{Block, Document, Item};
pub use digits::Digits;
pub use line::{Line, Media, Medium, Run, between, box_size, joined, sentences};
pub use table::{Cell, Column, Head, SetTable, Table};

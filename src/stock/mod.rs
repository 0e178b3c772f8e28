//! What a maker buys or prints: sheet metals and tempers, bending rules, pads, printed plastics, tolerances.
//!
//! Every number says where it was read. Three words are used throughout:
//! a plain citation means the page was read; "from memory" means nobody opened the book for this number;
//! "common practice, no source" means there is no book.

pub mod allowance;
pub mod bending_section;
pub mod fibre;
pub mod flow;
pub mod handbook_row;
pub mod hardening;
pub mod impedance;
pub mod k_factor;
pub mod metal;
pub mod pad;
pub mod pad_heat;
pub mod plastic;
pub mod printed_block;
pub mod springback;
pub mod sourced;
mod table;
pub mod thickness;
pub mod tolerance;

pub use handbook_row::HandbookRow;
pub use impedance::ImpedanceFit;
pub use k_factor::KRule;
pub use metal::{Material, Metal, Temper};
pub use pad::{Pad, PadFit};
pub use pad_heat::{PadHeat, crossing_mm};
pub use plastic::Plastic;
pub use printed_block::{PrintSpread, PrintedBlock};
pub use sourced::Sourced;
pub use thickness::thickness_tolerance_mm;

//! What a maker buys or prints: sheet metals and tempers, bending rules, pads, printed plastics, tolerances.
//!
//! Every number says where it was read. Three words are used throughout:
//! a plain citation means the page was read; "from memory" means nobody opened the book for this number;
//! "common practice, no source" means there is no book.

pub mod allowance;
pub mod bending_section;
pub mod fibre;
pub mod flow;
pub mod hardening;
pub mod impedance;
pub mod k_factor;
pub mod metal;
pub mod pad;
pub mod pad_heat;
pub mod plastic;
pub mod printed_block;
mod root;
pub mod springback;
mod table;
pub mod thickness;
pub mod tolerance;

pub use impedance::ImpedanceFit;
pub use k_factor::{HandbookRow, KRule};
pub use metal::{Material, Metal, Temper};
pub use pad::{Pad, PadFit};
pub use pad_heat::{PadHeat, crossing_mm};
pub use plastic::Plastic;
pub use printed_block::{PrintSpread, PrintedBlock};
pub use thickness::thickness_tolerance_mm;

use serde::Serialize;

/// What a number is, and where it was read; printed beside results.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sourced {
    /// The number or group of numbers: "strength", "density".
    pub what: &'static str,
    /// Published source, "from memory", or what the user said.
    pub source: String,
}

impl Sourced {
    /// Joins a number's name and its source.
    pub fn new(what: &'static str, source: impl Into<String>) -> Self {
        Self {
            what,
            source: source.into(),
        }
    }
}

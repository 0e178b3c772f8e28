//! The part: what a person wrote down, checked into something that can be computed with.
//!
//! [`mod@file`] mirrors the TOML with the place of every value, [`check`] turns it into a [`Part`] or into
//! findings, all at once.

pub mod board;
pub mod check;
pub mod equipment;
pub mod file;
pub mod heat_check;
#[cfg(test)]
mod heat_findings;
pub mod heat_pipe;
pub mod pad;
pub mod plan;
pub mod profile;
pub mod reader;
pub mod sheet;
pub mod starter;
pub mod step;
pub mod strip;
pub mod thermal;
pub mod words;

pub use board::{Component, Extension, Obstacle, Treatment};
pub use check::parse;
pub use equipment::{COMMON_HANDLE_MM, COMMON_VISE, DieOptions, Printer, Tilt, Vise, ViseForce};
pub use plan::Hole;
pub use profile::{Bend, FormedProfile, Level, Zone, ZoneKind};
pub use step::StepShape;
pub use strip::{Flat, Step};
pub use thermal::{HeatPipe, Joint, OldOver, OldPlate, PartHeat, Sink, Thermal};
pub use words::{Cheeks, Grain, JointKind, Kind};

use crate::geometry::Loop;
use crate::stock::{KRule, Metal, Pad};
use schemars::JsonSchema;
use serde::Serialize;

/// A default that was used because the file did not say.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DefaultUsed {
    /// Key as the part file would write it, `sheet.temper`.
    pub key: String,
    /// Value used, as text.
    pub value: String,
    /// Why this value.
    pub reason: String,
}

/// The sheet the plate is cut from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Metal with all its numbers.
    pub metal: Metal,
    /// Thickness.
    pub thickness_mm: f64,
    /// Half-width of the thickness band; `None` when neither file nor stock table say.
    pub thickness_plus_minus_mm: Option<f64>,
    /// How the K-factor is found.
    pub k_rule: KRule,
    /// Rolling direction, if known.
    pub grain: Option<Grain>,
}

/// A part that can be computed with.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name for people.
    pub name: String,
    /// Free words, for example that it is invented.
    pub note: Option<String>,
    /// The sheet.
    pub sheet: Sheet,
    /// Width across the strip, without tabs.
    pub width_mm: f64,
    /// Level stretches from left to right.
    pub flats: Vec<Flat>,
    /// Steps between them.
    pub steps: Vec<Step>,
    /// Formed strip in section.
    pub profile: FormedProfile,
    /// Outline of the formed plate in plan, counter-clockwise.
    pub outline: Loop,
    /// Holes in plan.
    pub holes: Vec<Hole>,
    /// Board parts.
    pub components: Vec<Component>,
    /// Plates soldered under flats.
    pub extensions: Vec<Extension>,
    /// Things the plate must clear.
    pub obstacles: Vec<Obstacle>,
    /// Pads at hand, as listed in the file.
    pub pads: Vec<Pad>,
    /// Printer that makes the dies.
    pub printer: Printer,
    /// Vise that presses them, if given.
    pub vise: Option<Vise>,
    /// What the dies shall look like.
    pub dies: DieOptions,
    /// Air, board, heat pipes and the old plate.
    pub thermal: Thermal,
    /// Every default that was used.
    pub defaults: Vec<DefaultUsed>,
}

impl Part {
    /// Outline and holes as loops, outline first: inside by the even-odd rule is metal.
    pub fn metal_loops(&self) -> Vec<Loop> {
        std::iter::once(self.outline.clone())
            .chain(self.holes.iter().map(|hole| hole.shape.clone()))
            .collect()
    }
}

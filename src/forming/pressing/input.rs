//! Inputs of a pressing that are not known exactly, and how far they move what comes out.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An input of a pressing that is not known exactly.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum PressInput {
    /// Thickness of the sheet.
    Thickness,
    /// Flow stress of the sheet.
    Strength,
    /// How much it hardens.
    Hardening,
    /// Friction between sheet and dies.
    Friction,
    /// Free distance between the closed dies.
    Clearance,
    /// Stiffness of the printed dies.
    Print,
    /// Pressure at which printed noses yield.
    PrintYield,
    /// How hard the vise is pulled.
    Force,
}

impl PressInput {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Thickness,
        Self::Strength,
        Self::Hardening,
        Self::Friction,
        Self::Clearance,
        Self::Print,
        Self::PrintYield,
        Self::Force,
    ];

    /// What people call it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Thickness => "thickness of the sheet",
            Self::Strength => "strength of the sheet",
            Self::Hardening => "hardening of the sheet",
            Self::Friction => "friction",
            Self::Clearance => "how true the dies are printed",
            Self::Print => "stiffness of the print",
            Self::PrintYield => "strength of the print",
            Self::Force => "force of the vise",
        }
    }
}

/// Half of the 90 % range of what comes out: the worst bend, flat and so on, around what was calculated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PressRange {
    /// Angle of a bend.
    pub angle_deg: f64,
    /// Height of a flat, all flats laid together on the drawn ones.
    pub height_mm: f64,
    /// Inside radius of a bend.
    pub radius_mm: f64,
    /// Largest force for each mm of width.
    pub force_n_per_mm: f64,
    /// The input that moves angles most.
    pub largest_cause: PressInput,
}

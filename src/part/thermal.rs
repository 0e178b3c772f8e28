//! What the part file says of heat: where it comes from, where it goes, and how warm things may be.

use super::words::JointKind;
use crate::diagnostic::Span;
use crate::geometry::Footprint;
use crate::quantity::Toleranced;
use crate::stock::Pad;
use crate::stock::impedance::MM_OVER_W_MK;
use serde::Serialize;

/// Air, board, heat pipes, and the plate that was there before.
#[derive(Debug, Clone, PartialEq)]
pub struct Thermal {
    /// Air around the plate, °C; always with its half-width.
    pub air_c: Toleranced,
    /// Board away from the hot parts, °C, with its half-width; `None`: no heat flows into the board.
    pub board_c: Option<Toleranced>,
    /// Heat that bare faces lose to the air, W/(m²·K).
    pub loss_w_m2k: f64,
    /// Heat pipes on the plate's top.
    pub pipes: Vec<HeatPipe>,
    /// The plate that this one replaces.
    pub old_plate: Option<OldPlate>,
    /// Place of the table in the file, if given.
    pub span: Option<Span>,
}

/// A heat pipe that lies with a flat face on the plate's top.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatPipe {
    /// Name.
    pub name: String,
    /// Its flat face in plan: a rectangle.
    pub footprint: Footprint,
    /// What joins it to the plate.
    pub joint: Joint,
    /// From the pipe's seat through its wall and wick into the vapour, mm²·K/W; always with its half-width.
    pub evaporation_mm2k_w: Toleranced,
    /// Where its heat goes.
    pub sink: Sink,
    /// How warm it may be, °C.
    pub limit_c: Option<f64>,
    /// Place in the file.
    pub span: Span,
}

/// A thin layer that joins two pieces of metal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Joint {
    /// What it is made of.
    pub kind: JointKind,
    /// How thick it is.
    pub thickness_mm: f64,
    /// How well it conducts, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Share of its area that is not filled, %.
    pub void_percent: f64,
}

impl Joint {
    /// As a maker usually gets it.
    pub const fn usual(kind: JointKind) -> Self {
        let (thickness_mm, conductivity_w_mk, void_percent, _) = super::usual::usual_joint(kind);
        Self {
            kind,
            thickness_mm,
            conductivity_w_mk,
            void_percent,
        }
    }

    /// Resistance of an area, mm²·K/W: `t / (k·(1 − voids))`, where voids carry nothing.
    ///
    /// # Valid for
    /// Voids below 100 %.
    pub fn resistance_mm2k_w(&self) -> f64 {
        let filled = 1.0 - self.void_percent / 100.0;
        MM_OVER_W_MK * self.thickness_mm / (self.conductivity_w_mk * filled)
    }
}

/// Where a heat pipe's heat goes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "sink")]
pub enum Sink {
    /// The pipe keeps a temperature that was measured while it worked.
    Held {
        /// That temperature, °C; always with its half-width.
        temperature_c: Toleranced,
    },
    /// Through the pipe and its fins to the air, with what else the pipe carries.
    ToAir {
        /// From the vapour to the air, K/W; always with its half-width.
        resistance_k_w: Toleranced,
        /// Heat that the pipe carries besides that of the plate, W; always with its half-width.
        other_heat_w: Toleranced,
    },
}

/// The plate that the new one replaces.
#[derive(Debug, Clone, PartialEq)]
pub struct OldPlate {
    /// Its metal.
    pub name: String,
    /// How well it conducts, W/(m·K).
    pub conductivity_w_mk: f64,
    /// How thick it is.
    pub thickness_mm: f64,
    /// Its underside above the board, where it is level.
    pub underside_mm: Option<Toleranced>,
    /// Place in the file.
    pub span: Span,
}

/// What a board part has to do with heat.
#[derive(Debug, Clone, PartialEq)]
pub struct PartHeat {
    /// Heat it makes, W, with its half-width; `None`: not known, taken as none.
    pub heat_w: Option<Toleranced>,
    /// How warm its inside may be, °C.
    pub limit_c: Option<f64>,
    /// From its inside to its top face, K/W; always with its half-width.
    pub junction_to_top_k_w: Toleranced,
    /// From its inside into the board, K/W; always with its half-width.
    pub junction_to_board_k_w: Toleranced,
    /// What was over it before.
    pub old: OldOver,
}

/// What the old plate had over a board part.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OldOver {
    /// Its pad there.
    pub pad: Option<Pad>,
    /// From the part's top to the old plate.
    pub gap_mm: Option<Toleranced>,
}

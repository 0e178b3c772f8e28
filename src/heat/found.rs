//! What is known of temperatures: part by part, pipe by pipe, and of the plates as a whole.

use super::draws::Range;
use super::ladder::Ladder;
use super::solved::GridReport;
use super::whatif::{Improvement, PadCurve};
use crate::numeric::cells::CellMap;
use schemars::JsonSchema;
use serde::Serialize;

/// One board part, before and after.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PartTemperature {
    /// Name.
    pub name: String,
    /// Heat it makes.
    pub heat_w: f64,
    /// How warm its inside may be, °C, if the file says.
    pub limit_c: Option<f64>,
    /// Inside, °C, with the new plate.
    pub inside_c: Range,
    /// Inside, °C, with the old plate. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_inside_c: Option<Range>,
    /// New less old, K. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference_k: Option<Range>,
    /// Top, °C, with the new plate; `None` where no metal is above it.
    pub top_c: Option<f64>,
    /// Top, °C, with the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_top_c: Option<f64>,
    /// Heat that goes up into the new plate.
    pub into_plate_w: f64,
    /// Mean gap to the new plate.
    pub gap_mm: Option<f64>,
    /// Share of the draws in which its pad does not reach across the gap to the new plate somewhere.
    pub pad_short_percent: Option<f64>,
    /// Mean gap to the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_gap_mm: Option<f64>,
    /// Where the degrees go with the new plate.
    pub ladder: Option<Ladder>,
    /// Where they went with the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_ladder: Option<Ladder>,
    /// Temperature against the conductivity of its pad, new plate. Absent: it has no pad, or the board has many parts and this
    /// is not the one in focus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pad_curve: Option<PadCurve>,
    /// The same, old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_pad_curve: Option<PadCurve>,
    /// Whether its middle is above its limit.
    pub above_limit: bool,
}

/// One heat pipe.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PipeTemperature {
    /// Name.
    pub name: String,
    /// Vapour, °C, with the new plate.
    pub vapour_c: f64,
    /// Vapour, °C, with the old plate. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_vapour_c: Option<f64>,
    /// Heat that it takes from the new plate.
    pub from_plate_w: f64,
    /// Area on which it lies on the new plate.
    pub seat_mm2: f64,
    /// How warm it may be, °C.
    pub limit_c: Option<f64>,
    /// Whether it is warmer.
    pub above_limit: bool,
}

/// What is known of one pad, and where it is used.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PadUse {
    /// Name.
    pub name: String,
    /// Thickness before it is pressed.
    pub thickness_mm: f64,
    /// What the pack says, W/(m·K).
    pub printed_w_mk: Option<f64>,
    /// What it conducts pressed, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Half-width of that.
    pub conductivity_plus_minus_w_mk: f64,
    /// Both faces together, mm²·K/W.
    pub contact_mm2k_w: f64,
    /// Half-width of that.
    pub contact_plus_minus_mm2k_w: f64,
    /// Thickness at which it and each pad after it in the list hold back alike.
    pub crossings: Vec<Crossing>,
    /// Where the numbers come from.
    pub source: String,
}

/// The thickness at which two pads hold back alike.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Crossing {
    /// The other pad.
    pub with: String,
    /// That thickness; `None`: one is ahead at every thickness.
    pub thickness_mm: Option<f64>,
}

/// How a plate was solved, and what it does with all the heat.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlateHeat {
    /// How fine the grid is.
    pub grid: GridReport,
    /// Heat that enters the plate from parts.
    pub from_parts_w: f64,
    /// Heat that heat pipes take.
    pub into_pipes_w: f64,
    /// Heat that bare faces lose.
    pub lost_w: f64,
}

/// Temperatures of a part's board, before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heat {
    /// Air, °C.
    pub air_c: f64,
    /// Board, °C; `None`: no heat goes into it.
    pub board_c: Option<f64>,
    /// Parts that make heat, in the order of the file.
    pub parts: Vec<PartTemperature>,
    /// Number of the part that needs help most: nearest to its limit, or hottest where there are no limits.
    pub focus: usize,
    /// Heat pipes in the order of the file.
    pub pipes: Vec<PipeTemperature>,
    /// What to improve next for that part, best first.
    pub improvements: Vec<Improvement>,
    /// Pads over the parts.
    pub pads: Vec<PadUse>,
    /// Conductivities of all pad curves, W/(m·K).
    pub chart_w_mk: Vec<f64>,
    /// The new plate.
    pub plate: PlateHeat,
    /// The old plate.
    pub old_plate: Option<PlateHeat>,
    /// How many draws the ranges are from.
    pub draws: usize,
    /// Temperatures over the new plate.
    #[serde(skip)]
    pub map: CellMap,
    /// Temperatures over the old plate.
    #[serde(skip)]
    pub old_map: Option<CellMap>,
}

impl Heat {
    /// Whether every part and pipe keeps to its limit.
    pub fn is_good(&self) -> bool {
        !self.parts.iter().any(|part| part.above_limit)
            && !self.pipes.iter().any(|pipe| pipe.above_limit)
    }

    /// The part that needs help most.
    pub fn focus(&self) -> Option<&PartTemperature> {
        self.parts.get(self.focus)
    }
}

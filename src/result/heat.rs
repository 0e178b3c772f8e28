//! Temperatures, or why there are none.

use super::findings::Finding;
use super::source::Source;
use crate::fit::Judged;
use crate::heat::{self, Improvement, PadUse, PartTemperature, PipeTemperature, PlateHeat};
use crate::job::Job;
use crate::words;
use schemars::JsonSchema;
use serde::Serialize;

/// Temperatures, or why there are none.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum Heat {
    /// They were calculated.
    Calculated(Box<Temperatures>),
    /// The part file names no heat and no heat pipe.
    NotAsked,
    /// The part file asks for them, and there is no answer.
    NoAnswer(NoTemperatures),
}

/// No temperatures.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NoTemperatures {
    /// Everything that keeps the question from an answer.
    pub reasons: Vec<Finding>,
}

/// Steady temperatures with the new plate and, where the file has one, with the old plate.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Temperatures {
    /// What the plate buys, in one sentence or two.
    pub answer_text: String,
    /// What holds most of the heat back, in words.
    pub dominates_text: String,
    /// Whether a better pad pays, in words.
    pub pad_advice_text: String,
    /// Whose gaps the heat crosses.
    pub gaps_of: Judged,
    /// Air, °C.
    pub air_c: f64,
    /// Board, °C; null: no heat goes into it.
    pub board_c: Option<f64>,
    /// Parts that make heat, in the order of the file.
    pub parts: Vec<PartTemperature>,
    /// Name of the part that needs help most: nearest to its limit, or hottest where there are no limits.
    pub focus: Option<String>,
    /// Heat pipes in the order of the file.
    pub heat_pipes: Vec<PipeTemperature>,
    /// What to improve next for the part in focus, best first.
    pub improvements: Vec<Improvement>,
    /// Pads over the parts.
    pub pads: Vec<PadUse>,
    /// Conductivities of all pad curves, W/(m·K).
    pub chart_w_mk: Vec<f64>,
    /// How the new plate was solved, and what it does with the heat.
    pub plate: PlateHeat,
    /// The same of the old plate. Absent: the file has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_plate: Option<PlateHeat>,
    /// What the ranges are, in words.
    pub ranges_text: &'static str,
    /// How many draws the ranges are from.
    pub draws: usize,
    /// What to measure before one explanation is believed, each one sentence.
    pub tell_apart: Vec<String>,
    /// What to take care of, each one sentence.
    pub cautions: Vec<String>,
}

impl Heat {
    /// Temperatures of a job, or why there are none; `source` places the reasons.
    pub fn of(job: &Job, source: Option<&Source>) -> Self {
        match &job.heat {
            Some(heat) => Self::Calculated(Box::new(Temperatures::of(heat, job.fit.judged))),
            None if job.no_heat.is_empty() => Self::NotAsked,
            None => Self::NoAnswer(NoTemperatures {
                reasons: Finding::all(&job.no_heat, source),
            }),
        }
    }
}

impl Temperatures {
    fn of(heat: &heat::Heat, gaps_of: Judged) -> Self {
        Self {
            answer_text: words::heat::verdict(heat),
            dominates_text: words::heat::dominates(heat),
            pad_advice_text: words::heat::pad_advice(heat),
            gaps_of,
            air_c: heat.air_c,
            board_c: heat.board_c,
            parts: heat.parts.clone(),
            focus: heat.focus().map(|part| part.name.clone()),
            heat_pipes: heat.pipes.clone(),
            improvements: heat.improvements.clone(),
            pads: heat.pads.clone(),
            chart_w_mk: heat.chart_w_mk.clone(),
            plate: heat.plate.clone(),
            old_plate: heat.old_plate.clone(),
            ranges_text: words::heat::RANGES,
            draws: heat.draws,
            tell_apart: words::heat::tell_apart(heat),
            cautions: words::heat::CAUTIONS.map(str::to_owned).into(),
        }
    }
}

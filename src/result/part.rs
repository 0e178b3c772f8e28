//! What was read from the part file, as far as results need it.

use crate::part::{DefaultUsed, Part};
use schemars::JsonSchema;
use serde::Serialize;

/// The part, as it was read.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PartRead {
    /// Name for people.
    pub name: String,
    /// Free words of the file, for example that the part is invented. Absent: none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// The sheet.
    pub sheet: SheetRead,
    /// Steps between flats, from left to right.
    pub steps: Vec<StepRead>,
    /// Every default that was used because the file does not say.
    pub defaults: Vec<DefaultUsed>,
}

/// The sheet that the plate is cut from.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SheetRead {
    /// Metal and temper, in words.
    pub metal: String,
    /// Thickness.
    pub thickness_mm: f64,
    /// Half-width of the band of thicknesses; null where neither file nor stock table says.
    pub thickness_plus_minus_mm: Option<f64>,
    /// How the length of bends is found, in words.
    pub k_rule_text: String,
}

/// One step between two flats.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct StepRead {
    /// Flat on its left.
    pub from: String,
    /// Flat on its right.
    pub to: String,
    /// The right flat lies higher above the board.
    pub up: bool,
    /// Height between the two flats, without sign.
    pub rise_mm: f64,
    /// Length between the end of one flat and the start of the next, along x.
    pub run_mm: f64,
    /// Angle bent through at each of its two bends.
    pub wall_angle_deg: f64,
    /// Straight part of the wall.
    pub wall_mm: f64,
    /// Inside radii of first and second bend.
    pub inside_radius_mm: [f64; 2],
    /// The file gave the wall angle, and where the next flat begins was found from it.
    pub run_was_solved: bool,
    /// Where the next flat begins, along x.
    pub next_from_mm: f64,
}

impl PartRead {
    /// What results need of a part.
    pub fn of(part: &Part) -> Self {
        let sheet = &part.sheet;
        Self {
            name: part.name.clone(),
            note: part.note.clone(),
            sheet: SheetRead {
                metal: sheet.metal.name.clone(),
                thickness_mm: sheet.thickness_mm,
                thickness_plus_minus_mm: sheet.thickness_plus_minus_mm,
                k_rule_text: sheet.k_rule.words().to_owned(),
            },
            steps: part
                .flats
                .windows(2)
                .zip(&part.steps)
                .filter_map(|(flats, step)| {
                    let [from, to] = flats else { return None };
                    Some(StepRead {
                        from: from.name.clone(),
                        to: to.name.clone(),
                        up: step.up,
                        rise_mm: step.shape.rise_mm,
                        run_mm: step.shape.run_mm,
                        wall_angle_deg: step.shape.bend.degrees(),
                        wall_mm: step.shape.wall_mm,
                        inside_radius_mm: step.inside_radius_mm,
                        run_was_solved: step.run_was_solved,
                        next_from_mm: to.level.from_mm,
                    })
                })
                .collect(),
            defaults: part.defaults.clone(),
        }
    }
}

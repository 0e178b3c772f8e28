//! The die pair, or why there is none.

use super::catalogue::stl_name;
use super::findings::Finding;
use super::source::Source;
use crate::dies::printability::PrintCheck;
use crate::dies::{DieBlock, DieSide, Tooling};
use crate::forming::BendCompensation;
use crate::job::Job;
use crate::words;
use schemars::JsonSchema;
use serde::Serialize;

/// The die pair, or why there is none.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Dies {
    /// The pair.
    Pair(Box<Pair>),
    /// There is none.
    None(NoPair),
}

/// No pair can be made.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NoPair {
    /// Every reason, with ways out; each stands among all findings too.
    pub refused: Vec<Finding>,
}

/// The pair that presses the plate.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Pair {
    /// From back to back of the printed pair when its faces are as far apart as drawn.
    pub closed_height_mm: f64,
    /// From back to back when the upper die touches the laid-in blank.
    pub touching_height_mm: f64,
    /// From back to back when the pressing ends; the closed height where no pressing was calculated.
    pub end_height_mm: f64,
    /// Way of the upper die from touching the blank to the end.
    pub travel_mm: f64,
    /// What ends the pressing, one sentence.
    pub press_until_text: String,
    /// Length along the strip, without ledges.
    pub length_mm: f64,
    /// Plastic they are printed of, in words.
    pub plastic: String,
    /// Plastic of both together, with the walls and infill of the part file.
    pub total_mass_g: f64,
    /// Lower, then upper.
    pub blocks: Vec<Block>,
    /// How springback is made up for, in words.
    pub compensation_model: String,
    /// The same bend by bend, from left to right.
    pub compensation: Vec<BendCompensation>,
    /// Turn of the part in the die, so that its steepest walls open; degrees, counter-clockwise.
    pub tilt_deg: f64,
    /// Gap between the closed faces.
    pub gap_mm: f64,
    /// Smallest radius of a nose; null: nothing is bent, there is no nose.
    pub nose_radius_mm: Option<f64>,
    /// Most that hollow corners are relieved by.
    pub corner_relief_mm: f64,
    /// Height of the pins above their lands; null: no pins.
    pub pin_height_mm: Option<f64>,
    /// How far a facet of a mesh may stray from its arc.
    pub chord_error_mm: f64,
}

/// One block.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "DieBlock")]
pub struct Block {
    /// Which one.
    pub role: DieSide,
    /// Name of its STL file.
    pub file: String,
    /// Size in print pose, corrected for the printer's length scale: x, y, z.
    pub size_mm: [f64; 3],
    /// Volume of the mesh in that file.
    pub volume_mm3: f64,
    /// Volume with arcs counted as arcs, as drawn.
    pub exact_volume_mm3: f64,
    /// Triangles of the mesh.
    pub triangles: usize,
    /// Faces of the exact solid.
    pub solid_faces: usize,
    /// How it is printed.
    pub print: PrintCheck,
}

impl Block {
    fn of(block: &DieBlock) -> Self {
        Self {
            role: block.role,
            file: stl_name(block.role).to_owned(),
            size_mm: block.size_mm,
            volume_mm3: block.volume_mm3,
            exact_volume_mm3: block.exact_volume_mm3,
            triangles: block.mesh.triangles.len(),
            solid_faces: block.solid_faces,
            print: block.print.clone(),
        }
    }
}

impl Dies {
    /// The pair of a job; `source` places what refuses it.
    pub fn of(job: &Job, source: Option<&Source>) -> Self {
        match &job.tooling {
            Ok(tooling) => Self::Pair(Box::new(Pair::of(job, tooling))),
            Err(refusals) => Self::None(NoPair {
                refused: Finding::all(refusals, source),
            }),
        }
    }
}

impl Pair {
    fn of(job: &Job, tooling: &Tooling) -> Self {
        let (section, backs) = (&tooling.section, job.backs_of(tooling));
        Self {
            closed_height_mm: backs.closed_mm,
            touching_height_mm: backs.touching_mm,
            end_height_mm: backs.end_mm,
            travel_mm: backs.travel_mm(),
            press_until_text: words::press::until(&job.part, job.pressing.as_ref(), backs.end_mm),
            length_mm: tooling.length_mm,
            plastic: job.part.printer.plastic.trade_name().to_owned(),
            total_mass_g: tooling.total_mass_g(),
            blocks: tooling.blocks.iter().map(Block::of).collect(),
            compensation_model: job.compensation.model.clone(),
            compensation: job.compensation.bends.clone(),
            tilt_deg: section.tilt.degrees(),
            gap_mm: section.gap_mm,
            nose_radius_mm: Some(section.nose_radius_mm).filter(|radius_mm| radius_mm.is_finite()),
            corner_relief_mm: section.relief_mm,
            pin_height_mm: tooling.pin_height_mm,
            chord_error_mm: job.part.dies.chord_error_mm,
        }
    }
}

//! What comes out of the vise, or why that is not known.

use crate::forming::pressing::{
    ForcePoint, FragileWall, Limit, NoPressing, PressRange, PressedBend, PressedFlat, PressedRise,
    Pressing, Sensitivity, StripOutline,
};
use crate::forming::strength::{self, NoseCheck, VBend, ViseCheck};
use crate::job::Job;
use crate::part::Part;
use crate::words;
use nalgebra::Point2;
use schemars::JsonSchema;
use serde::Serialize;

/// Arcs of the drawn section are written as chords that stray no further from them.
const CHORD_ERROR_MM: f64 = 0.002;

/// What comes out of the vise, or why that is not known.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum Press {
    /// The pressing was calculated.
    Calculated(Box<Pressed>),
    /// Nothing is bent.
    NothingToPress(NotPressed),
    /// Nobody asked for it, or the calculation came to no end: it is not known what comes out.
    NotCalculated(NotPressed),
    /// The sheet cannot be pressed like this.
    Refused(NotPressed),
}

/// Why there is no pressing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NotPressed {
    /// The reason, one sentence without a full stop.
    pub reason: String,
    /// What would help, each one sentence. Absent: nothing is wrong.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways_out: Vec<String>,
}

/// What comes out of the vise.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a key of the document"
)]
pub struct Pressed {
    /// Whether the plate comes out as drawn, in one sentence.
    pub answer_text: String,
    /// What it misses most, in one sentence.
    pub worst_text: String,
    /// All angles, rises and lengths are met, and the inside radii of all steps that shall keep them.
    pub converged: bool,
    /// All angles, rises and lengths are met.
    pub shape_met: bool,
    /// What keeps the rest from being met, and what would help; empty when all is met.
    pub limits: Vec<Limit>,
    /// Inside radii that come out otherwise than drawn where no step asks to keep them, each one sentence without a full stop.
    pub radii_as_they_come: Vec<String>,
    /// Walls that forgive little, the worst first, and what calms them.
    pub fragile_walls: Vec<FragileWall>,
    /// What was calculated, in words.
    pub model: String,
    /// Only the coarse mesh was asked.
    pub is_estimate: bool,
    /// How far an estimate may be off, in words. Absent: it is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub estimate_text: Option<String>,
    /// Largest miss of a bend angle.
    pub worst_angle_deg: f64,
    /// Largest miss of a rise.
    pub worst_rise_mm: f64,
    /// Largest distance of the arc of a corner from the drawn one.
    pub worst_rounding_mm: f64,
    /// Bends from left to right.
    pub bends: Vec<PressedBend>,
    /// Steps from left to right.
    pub rises: Vec<PressedRise>,
    /// Flats from left to right, all laid together on the drawn ones.
    pub flats: Vec<PressedFlat>,
    /// Least thickness of the pressed sheet.
    pub thinnest_mm: f64,
    /// Largest natural strain of an outer face.
    pub outer_strain: f64,
    /// Natural strain at which a tensile bar of this metal breaks.
    pub breaking_strain: f64,
    /// How far the sheet is stretched, in words.
    pub stretch_text: String,
    /// Largest force for each mm of width.
    pub max_force_n_per_mm: f64,
    /// Force over the whole width that is enough to bend: the dies stand at their drawn closed place then, sheet and clearance
    /// between their faces, and more grips the flats. Null: they never come there.
    pub force_to_bend_n: Option<f64>,
    /// Force over the whole width that closes the dies until they grip the flats. Null: the vise's force ends the closing before.
    pub force_to_close_n: Option<f64>,
    /// Force over the whole width that was taken for the vise's, because nobody says it. Absent: it is known, or the dies were
    /// closed without a limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub force_assumed_n: Option<f64>,
    /// The force of the vise ended the closing.
    pub force_limited: bool,
    /// Force while the dies close, against how far the upper die stands above its drawn closed place.
    pub force_curve: Vec<ForcePoint>,
    /// What force it takes and what the vise gives, in words.
    pub force_text: String,
    /// Handbook force of one bend in the air over a V of eight thicknesses, for orientation; null: outside of its range.
    pub handbook_v_bend: Option<VBend>,
    /// The same in words; empty: outside of its range.
    pub handbook_text: String,
    /// Largest pressure of the sheet on a die.
    pub most_pressure_mpa: f64,
    /// What vise and printed noses say to it.
    pub strength: Strength,
    /// What the printed noses bear, in words.
    pub noses_text: String,
    /// How far the plate may be off until a first one is measured: half of the 90 % range. Null: no input's change has an answer.
    pub range: Option<PressRange>,
    /// The same in words; empty: not known.
    pub range_text: String,
    /// Where the force ended the closing: half of the 90 % range of the worst angle, degrees, if a gauge between the backs ended it
    /// at the same place. Absent: the dies were closed, or it is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range_by_gauge_deg: Option<f64>,
    /// What inputs change, each by as far as it may be off, the dies left as they are; on the coarse mesh.
    pub sensitivities: Vec<Sensitivity>,
    /// How many presses were calculated.
    pub presses: Presses,
    /// The strip in section.
    pub section: Section,
    /// What to take care of, each one sentence.
    pub cautions: Vec<String>,
}

/// How many presses were calculated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Presses {
    /// On the coarse mesh.
    pub quick: u32,
    /// On the fine mesh.
    pub full: u32,
}

/// What vise and dies say to a pressing.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Strength {
    /// Largest closing force over the whole width.
    pub needed_n: f64,
    /// Against the vise. Absent: the part file does not say how hard it presses.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vise: Option<ViseCheck>,
    /// Against the print. Absent: nothing presses on a nose.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nose: Option<NoseCheck>,
    /// How long the dies last, in words.
    pub die_life: String,
}

/// The strip in section three times, in the frame of the part file: x along the strip, z above the board.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Section {
    /// As drawn; arcs are chords within 0.002 mm.
    pub drawn: Faces,
    /// While the vise holds it closed. The dies are turned so that their first flat is level, and moved so that it begins where
    /// that of the drawing begins.
    pub closed: Faces,
    /// After letting go, laid on the drawn strip as one stiff piece: heights and slopes of all flats as near to the drawn ones
    /// as one turn and one lift can bring them, shifted so that the corners are along x.
    pub let_go: Faces,
}

/// Both faces of a strip, each as points [x, z] from left to right.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Faces {
    /// Face towards the board.
    pub under_mm: Vec<[f64; 2]>,
    /// Face away from the board.
    pub top_mm: Vec<[f64; 2]>,
}

impl Press {
    /// The pressing of a job, or why there is none.
    pub fn of(job: &Job) -> Self {
        let part = &job.part;
        match (&job.pressing, &job.no_pressing) {
            (Some(pressing), _) => Self::Calculated(Box::new(Pressed::of(part, pressing))),
            (None, _) if part.steps.is_empty() => {
                Self::NothingToPress(NotPressed::new(&NoPressing::Flat))
            }
            (None, Some(reason)) if reason.is_refusal() => Self::Refused(NotPressed::new(reason)),
            (None, Some(reason)) => Self::NotCalculated(NotPressed::new(reason)),
            (None, None) => Self::NotCalculated(NotPressed {
                reason: "no pressing was asked for: the dies are compensated bend by bend"
                    .to_owned(),
                ways_out: Vec::new(),
            }),
        }
    }
}

impl NotPressed {
    fn new(reason: &NoPressing) -> Self {
        Self {
            reason: reason.sentence(),
            ways_out: reason
                .ways_out()
                .iter()
                .map(|&one| one.to_owned())
                .collect(),
        }
    }
}

impl Pressed {
    fn of(part: &Part, pressing: &Pressing) -> Self {
        let [quick, full] = pressing.presses;
        let is_estimate = words::press::is_estimate(pressing);
        Self {
            answer_text: words::press::comes_out(pressing),
            worst_text: words::press::worst(pressing),
            converged: pressing.converged,
            shape_met: pressing.shape_met,
            limits: pressing.limits.clone(),
            radii_as_they_come: pressing.radii_as_they_come.clone(),
            fragile_walls: pressing.fragile_walls.clone(),
            model: pressing.model.clone(),
            is_estimate,
            estimate_text: is_estimate.then(|| words::press::QUICK_ERROR.to_owned()),
            worst_angle_deg: pressing.worst_angle_deg(),
            worst_rise_mm: pressing.worst_rise_mm(),
            worst_rounding_mm: pressing.worst_rounding_mm(),
            bends: pressing.bends.clone(),
            rises: pressing.rises.clone(),
            flats: pressing.flats.clone(),
            thinnest_mm: pressing.thinnest_mm,
            outer_strain: pressing.outer_strain,
            breaking_strain: words::press::breaking_strain(part),
            stretch_text: words::press::stretch(part, pressing),
            max_force_n_per_mm: pressing.max_force_n_per_mm,
            force_to_bend_n: pressing.strength.bending_n,
            force_to_close_n: (!pressing.force_limited).then_some(pressing.strength.needed_n),
            force_assumed_n: pressing.force_assumed_n,
            force_limited: pressing.force_limited,
            range_by_gauge_deg: pressing.range_by_gauge_deg,
            force_curve: pressing.curve.clone(),
            force_text: words::press::force(part, pressing),
            handbook_v_bend: words::press::handbook_v(part),
            handbook_text: words::press::handbook_force(part),
            most_pressure_mpa: pressing.most_pressure_mpa,
            strength: Strength::of(&pressing.strength),
            noses_text: words::press::noses(pressing),
            range: pressing.range(),
            range_text: words::press::range(pressing),
            sensitivities: pressing.sensitivities.clone(),
            presses: Presses { quick, full },
            section: Section::of(part, pressing),
            cautions: vec![words::press::CAUTION.to_owned()],
        }
    }
}

impl Strength {
    fn of(strength: &strength::Strength) -> Self {
        Self {
            needed_n: strength.needed_n,
            vise: strength.vise,
            nose: strength.nose,
            die_life: strength.die_life.clone(),
        }
    }
}

impl Section {
    fn of(part: &Part, pressing: &Pressing) -> Self {
        let profile = &part.profile;
        let die = pressing.problem.mid.start;
        let (sin, cos) = (die.heading.sin(), die.heading.cos());
        // The die's frame is the part's, turned about the start of the strip.
        let turned_back = |point: &Point2<f64>| {
            let arm = point - die.point;
            [
                die.point.x + arm.x * cos + arm.y * sin,
                die.point.y - arm.x * sin + arm.y * cos,
            ]
        };
        let no_frame = StripOutline {
            under: Vec::new(),
            top: Vec::new(),
        };
        let closed = pressing.frames.last();
        let closed = closed.map_or(&no_frame, |frame| &frame.strip);
        Self {
            drawn: Faces {
                under_mm: points(&profile.underside.flattened(CHORD_ERROR_MM)),
                top_mm: points(&profile.topside.flattened(CHORD_ERROR_MM)),
            },
            closed: Faces {
                under_mm: closed.under.iter().map(turned_back).collect(),
                top_mm: closed.top.iter().map(turned_back).collect(),
            },
            let_go: Faces {
                under_mm: points(&pressing.released.under),
                top_mm: points(&pressing.released.top),
            },
        }
    }
}

fn points(points: &[Point2<f64>]) -> Vec<[f64; 2]> {
    points.iter().map(|point| [point.x, point.y]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::pressed;

    /// Distance of a point from a path.
    fn distance(point: [f64; 2], path: &[[f64; 2]]) -> f64 {
        let point = Point2::from(point);
        path.windows(2)
            .map(|pair| {
                let [from, to] = [Point2::from(pair[0]), Point2::from(pair[1])];
                let way = to - from;
                let share = ((point - from).dot(&way) / way.norm_squared()).clamp(0.0, 1.0);
                (point - (from + way * share)).norm()
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// All three lie over each other: closed ones are overbent by a degree or two, let-go ones are as drawn.
    #[test]
    fn the_three_sections_lie_in_one_frame() {
        let (part, pressing) = pressed();
        // A turned die: else the frame would not matter.
        let section = Section::of(&part, &pressing);
        for (faces, within_mm) in [(&section.closed, 0.6), (&section.let_go, 0.15)] {
            for (face, drawn) in [
                (&faces.under_mm, &section.drawn.under_mm),
                (&faces.top_mm, &section.drawn.top_mm),
            ] {
                assert!(face.len() > 20);
                let worst = face
                    .iter()
                    .map(|point| distance(*point, drawn))
                    .fold(0.0, f64::max);
                assert!(worst < within_mm, "{worst}");
            }
        }
        // Closed, the first flat is level.
        let [from, to] = [1, 5].map(|number| section.closed.under_mm[number]);
        assert!(((to[1] - from[1]) / (to[0] - from[0])).abs() < 0.02);
    }

    #[test]
    fn a_turned_die_is_turned_back() {
        use crate::quantity::Angle;
        let (part, mut pressing) = pressed();
        let level = Section::of(&part, &pressing).closed;
        let turn = Angle::deg(17.0);
        let about = pressing.problem.mid.start.point;
        pressing.problem.mid = pressing.problem.mid.turned(about, turn);
        let last = pressing.frames.last_mut().unwrap();
        for point in last.strip.under.iter_mut().chain(&mut last.strip.top) {
            let arm = *point - about;
            point.x = about.x + arm.x * turn.cos() - arm.y * turn.sin();
            point.y = about.y + arm.x * turn.sin() + arm.y * turn.cos();
        }
        let back = Section::of(&part, &pressing).closed;
        for (one, other) in level.under_mm.iter().zip(&back.under_mm) {
            assert!((one[0] - other[0]).abs() < 1e-9 && (one[1] - other[1]).abs() < 1e-9);
        }
    }
}

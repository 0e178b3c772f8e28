//! The search for dies that make the drawn plate: press, look what is missing, bend the dies further, press again.

mod change;
mod fragile;
mod input;
mod kept;
mod limits;
mod outcome;
mod range;
mod readings;
mod refusals;
mod search;
mod unknown_vise;

use super::block::Backing;
use super::die_shape::{DieShape, NoShape};
use super::press::failed::Failed;
use super::press::guard::Doubt;
use super::press::material::PressMetal;
use super::press::problem::Problem;
use super::strength::{Strength, printed_block};
use super::{BendCompensation, Compensation};
use crate::geometry::Chain;
use crate::geometry::Segment;
use crate::part::advised::Change;
use crate::part::{Bend, COMMON_VISE, Level, Part, Tilt, Zone, middle_n};
use crate::quantity::Angle;
use crate::stock::flow::Hardening;
use crate::stock::printed_block::{NoBlock, PrintSpread, PrintedBlock};
pub use input::{PressInput, PressRange};
use nalgebra::{Point2, Vector2};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::ops::ControlFlow;

/// Wall and bend angles count as met within this. Own choice: a fifth of what sheet, print and vise leave open at the best, and as
/// much as a good protractor tells apart.
pub const ANGLE_MET_DEG: f64 = 0.2;
/// Rises and lengths count as met within this. Own choice, like the angle; what callipers tell apart.
pub const LENGTH_MET_MM: f64 = 0.03;

/// The inside radius of a bend counts as met within this: the rounding of its corner then lies within
/// [`LENGTH_MET_MM`] of the drawn one.
///
/// A corner of turn θ rounded by r lies r (1 / cos(θ/2) - 1) from the arc: plane geometry.
pub fn radius_met_mm(turn: Angle) -> f64 {
    LENGTH_MET_MM / rounded_by(turn)
}

/// Distance from a corner to its arc, for each mm of radius.
fn rounded_by(turn: Angle) -> f64 {
    1.0 / turn.half().cos() - 1.0
}

/// Beyond these a neutral line is none of a bend: next to nothing is turned. Own choice.
const K_BELIEVED: std::ops::RangeInclusive<f64> = 0.2..=0.6;

/// How much work a search may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Effort {
    /// The coarse mesh alone: an estimate.
    Quick,
    /// The coarse mesh to come near, the fine one to judge.
    Full,
}

/// What a press is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// To come near, on the coarse mesh.
    Quick,
    /// To judge, on the fine mesh.
    Full,
    /// To learn what an input changes, on the coarse mesh.
    Changes,
}

/// What the search is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Number of the press, from 1.
    pub press: u32,
    /// What the press is for.
    pub stage: Stage,
    /// How far the upper die still stands above its closed place.
    pub lifted_mm: f64,
    /// Largest miss of an angle in the press before.
    pub worst_deg: Option<f64>,
    /// Largest miss of a rise or length in the press before.
    pub worst_mm: Option<f64>,
}

/// Searches the dies of a task, to see what a change would bring.
pub type Searcher<'a> = dyn FnMut(&Task) -> Result<Pressing, NoPressing> + 'a;

/// Watches a search and may end it.
pub type Watcher<'a> = dyn FnMut(&Progress) -> ControlFlow<()> + 'a;

/// Why there is no answer at all.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoPressing {
    /// Nothing to press.
    #[error("the plate has no bends: nothing is pressed")]
    Flat,
    /// The dies are shells.
    #[error(transparent)]
    Block(#[from] NoBlock),
    /// Not even the drawn shape can be pressed.
    #[error("{0}")]
    Shape(#[from] NoShape),
    /// Somebody asked to stop.
    #[error("stopped")]
    Stopped,
    /// The simulation gave none.
    #[error("{0}")]
    Failed(Failed),
    /// A guard refused the run.
    #[error("the run is not believed: {0}")]
    Guard(#[from] Doubt),
}

impl From<Failed> for NoPressing {
    fn from(failed: Failed) -> Self {
        match failed {
            Failed::Stopped => Self::Stopped,
            other => Self::Failed(other),
        }
    }
}

/// What kept a search from going on.
enum HeldBack {
    /// Presses further on gave no answer.
    Refused(NoPressing),
    /// Its presses had taken all the iterations they may.
    Ended(u32),
}

/// One bend, drawn, in the die, closed and let go.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PressedBend {
    /// Flats on either side.
    pub between: [String; 2],
    /// First or second bend of its step.
    pub which: usize,
    /// Bend angle of the drawing.
    pub target_angle_deg: f64,
    /// Bend angle of the die.
    pub die_angle_deg: f64,
    /// Bend angle of the sheet while the vise holds it.
    pub closed_angle_deg: f64,
    /// Bend angle after letting go.
    pub released_angle_deg: f64,
    /// Inside radius of the drawing.
    pub target_inside_radius_mm: f64,
    /// Radius of the die's nose.
    pub die_nose_radius_mm: f64,
    /// Inside radius while the vise holds the sheet, over the middle half of the bend.
    pub closed_inside_radius_mm: f64,
    /// Inside radius after letting go.
    pub released_inside_radius_mm: f64,
}

/// Height of one flat over the one before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PressedRise {
    /// The two flats.
    pub between: [String; 2],
    /// Drawn; below 0 a step towards the board.
    pub target_mm: f64,
    /// After letting go.
    pub released_mm: f64,
}

/// One flat after letting go, all flats together laid on the drawn ones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PressedFlat {
    /// Name.
    pub name: String,
    /// Its middle lies this much above the drawn height.
    pub height_error_mm: f64,
    /// The place of the sheet that is its middle as drawn lies this much to the right of it.
    pub along_error_mm: f64,
    /// It slopes by this much.
    pub slope_deg: f64,
    /// Largest distance from a straight line.
    pub bow_mm: f64,
}

/// One point of the force curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ForcePoint {
    /// How far the upper die stands above its drawn closed place.
    pub lifted_mm: f64,
    /// Force for each mm of width.
    pub force_n_per_mm: f64,
}

/// Both faces of the strip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StripOutline {
    /// Underside, left to right.
    pub under: Vec<Point2<f64>>,
    /// Top side, left to right.
    pub top: Vec<Point2<f64>>,
}

impl StripOutline {
    /// Largest distance from the same places of another one.
    pub fn apart_mm(&self, other: &Self) -> f64 {
        let own = self.under.iter().chain(&self.top);
        let others = other.under.iter().chain(&other.top);
        own.zip(others)
            .map(|(one, other)| (one - other).norm())
            .fold(0.0, f64::max)
    }
}

/// One picture of the closing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// How far the upper die stands above its drawn closed place.
    pub lifted_mm: f64,
    /// Force for each mm of width.
    pub force_n_per_mm: f64,
    /// The strip, in the die's frame.
    pub strip: StripOutline,
}

/// What one input changes in the pressed plate, the dies left as they are: its exact derivative times how far it may be off.
/// At the same force where the vise's ends the closing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Sensitivity {
    /// Which input.
    pub input: PressInput,
    /// What is different, in words: "sheet 0.02 mm thicker".
    pub change: String,
    /// Change of the bend angle that changes most.
    pub angle_deg: f64,
    /// Change of the rise that changes most.
    pub rise_mm: f64,
    /// Change of the inside radius that changes most.
    pub radius_mm: f64,
    /// Change of the largest force for each mm of width.
    pub force_n_per_mm: f64,
    /// Change of the largest pressure on a die.
    pub pressure_mpa: f64,
    /// Change of each bend angle, from left to right.
    pub angles_deg: Vec<f64>,
    /// Change of each rise, from left to right.
    pub rises_mm: Vec<f64>,
    /// Change of the height of each flat, all flats laid together on the drawn ones.
    pub heights_mm: Vec<f64>,
    /// Change of each inside radius.
    pub radii_mm: Vec<f64>,
}

/// What comes out of the vise, and the dies that make it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pressing {
    /// All angles, rises and lengths are met, and the inside radii of all steps that shall keep them.
    pub converged: bool,
    /// All angles, rises and lengths are met.
    pub shape_met: bool,
    /// What was calculated, in words.
    pub model: String,
    /// What keeps the rest from being met, and what would help; empty when all is met.
    pub limits: Vec<Limit>,
    /// Changes that may help with them, not yet looked at: see [`crate::job::Job`], which tells those that the part bears.
    pub advice: Vec<Advice>,
    /// Walls that forgive little, and what calms them; filled by [`crate::job::Job`], which can ask the part.
    pub fragile_walls: Vec<FragileWall>,
    /// Inside radii that come out otherwise than drawn where nobody asked to keep them, each one sentence without a full stop.
    pub radii_as_they_come: Vec<String>,
    /// Bends from left to right.
    pub bends: Vec<PressedBend>,
    /// Steps from left to right.
    pub rises: Vec<PressedRise>,
    /// Flats from left to right.
    pub flats: Vec<PressedFlat>,
    /// Force while closing.
    pub curve: Vec<ForcePoint>,
    /// Largest force for each mm of width.
    pub max_force_n_per_mm: f64,
    /// Force for each mm of width when the dies stand at their drawn closed place, sheet and clearance between their faces:
    /// enough to bend. What the curve climbs beyond that grips the flats and changes angles by little. `None`: never there.
    pub bending_force_n_per_mm: Option<f64>,
    /// Force that was taken for the vise's, N, where nobody says it; `None`: it is known, or the dies were closed without.
    pub force_assumed_n: Option<f64>,
    /// The force of the vise ended the closing.
    pub force_limited: bool,
    /// Largest pressure of the sheet on a die.
    pub most_pressure_mpa: f64,
    /// Least thickness of the pressed sheet.
    pub thinnest_mm: f64,
    /// Largest natural strain of an outer face.
    pub outer_strain: f64,
    /// Vise and print.
    pub strength: Strength,
    /// Drawn strip.
    pub drawn: Chain,
    /// Strip after letting go, laid on the drawn one as one stiff piece: turned and lifted so that heights and slopes
    /// of all flats come as near to the drawn ones as they can, shifted so that the corners do along x.
    ///
    /// Where the cooler holds the plate is not known here: screws that pull one flat down, or a heat pipe that one
    /// flat is soldered to, may lay it otherwise.
    pub released: StripOutline,
    /// Pictures of the closing, the last one closed, in the die's frame.
    pub frames: Vec<Frame>,
    /// Faces of the closed dies in their frame, lower first.
    pub faces: [Chain; 2],
    /// Presses calculated, quick and full; those of [`Self::sensitivities`] are not counted.
    pub presses: [u32; 2],
    /// What inputs change, each by as far as it may be off, on the coarse mesh. Inputs whose change gives no answer are left out.
    pub sensitivities: Vec<Sensitivity>,
    /// Where the force ended the closing: half of the 90 % range of the worst angle if a gauge between the backs ended it at the
    /// same place.
    pub range_by_gauge_deg: Option<f64>,
    /// By how many degrees the angle that changes most changes for each mm that the dies are closed further; `None`: not known.
    pub closing_deg_mm: Option<f64>,
    /// What was pressed last.
    pub problem: Problem,
}

/// Why something was not met, and ways out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Limit {
    /// The reason, one sentence without a full stop.
    pub reason: String,
    /// What would help.
    pub help: Vec<String>,
}

/// A wall that forgives little.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FragileWall {
    /// The two flats beside it.
    pub between: [String; 2],
    /// Half of the 90 % range of its worse bend.
    pub range_deg: f64,
    /// What moves it most.
    pub largest_cause: PressInput,
    /// All that in one sentence without a full stop.
    pub text: String,
    /// What calms it: changes of the part that were pressed before they were told, and what no calculation knows.
    pub help: Vec<String>,
}

/// A change that may help against a limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// Number of the limit.
    pub limit: usize,
    /// The change.
    pub change: Change,
}

/// What a part asks of its pressing: all that the search reads, and nothing else of the part.
///
/// A search whose task is the same comes to the same end, see [`Self::key`].
#[derive(Debug, Clone, Serialize)]
pub struct Task {
    /// Flats from left to right.
    flats: Vec<DrawnFlat>,
    /// Bends from left to right.
    drawn_bends: Vec<Bend>,
    /// Whether the inside radii of each step shall come out as drawn.
    keeps_radius: Vec<bool>,
    /// Drawn strip, stretch by stretch.
    zones: Vec<Zone>,
    /// How the part lies in the die.
    tilt: Tilt,
    /// Width of the sheet across the strip.
    width_mm: f64,
    /// Least and most force of the vise, N, where it is known.
    gives_n: Option<[f64; 2]>,
    block: PrintedBlock,
    /// Everything but the shape of the dies; with the drawn mid-line.
    base: Problem,
    drawn: DieShape,
    changes: Changes,
}

/// A flat as drawn.
#[derive(Debug, Clone, Serialize)]
struct DrawnFlat {
    name: String,
    level: Level,
}

/// How far inputs may be off, where nobody but the sheet's maker knows.
#[derive(Debug, Clone, Serialize)]
struct Changes {
    thickness_plus_minus_mm: Option<f64>,
    youngs_mpa: f64,
    poisson: f64,
    law: Hardening,
}

impl Task {
    /// Reads sheet, dies and vise from a part.
    ///
    /// # Errors
    /// When nothing is bent or the dies are shells.
    pub fn of(part: &Part) -> Result<Self, NoPressing> {
        if part.steps.is_empty() {
            return Err(NoPressing::Flat);
        }
        let block = printed_block(part)?;
        let t = part.sheet.thickness_mm;
        let metal = &part.sheet.metal;
        let width_mm = part.width_mm;
        let gives_n = part.vise.as_ref().and_then(crate::part::Vise::force_n);
        // What nobody said may be as little as it may be; what somebody said is most likely the middle of its range, and dies for
        // that are expected to miss by least.
        let force_n = match gives_n {
            Some(gives_n) => middle_n(gives_n),
            None => COMMON_VISE.force_n()[0],
        };
        let most_force_n_mm = force_n / width_mm;
        let law = metal.hardening().law;
        let base = Problem {
            mid: part.profile.mid.clone(),
            thickness_mm: t,
            clearance_mm: part.dies.clearance_mm,
            corner_relief_mm: part.dies.corner_relief_mm,
            metal: PressMetal::new(metal.youngs_mpa, metal.poisson, &law),
            friction: part.dies.friction,
            foundation_n_mm3: block.nose_n_mm3(t),
            blocks: Some(Backing::of(&block, t)),
            die_yield_mpa: block.nose_limit_mpa(t, sharpest(&part.profile.bends)).usual,
            most_force_n_mm,
            // Until the flats are gripped.
            end_mm: -part.dies.clearance_mm - 0.1 * t,
            end_stops: part.dies.end_stops,
        };
        let flats = part.flats.iter().map(|flat| DrawnFlat {
            name: flat.name.clone(),
            level: flat.level,
        });
        Ok(Self {
            flats: flats.collect(),
            drawn_bends: part.profile.bends.clone(),
            keeps_radius: part.steps.iter().map(|step| step.keep_radius).collect(),
            zones: part.profile.zones.clone(),
            tilt: part.dies.tilt,
            width_mm,
            gives_n,
            block,
            base,
            drawn: DieShape::of(&part.profile.mid),
            changes: Changes {
                thickness_plus_minus_mm: part.sheet.thickness_plus_minus_mm,
                youngs_mpa: metal.youngs_mpa,
                poisson: metal.poisson,
                law,
            },
        })
    }
}

impl Task {
    /// Pressure that a nose of the dies bears.
    fn nose_limit(&self) -> PrintSpread {
        let t = self.base.thickness_mm;
        self.block.nose_limit_mpa(t, sharpest(&self.drawn_bends))
    }
}

impl Pressing {
    /// Largest miss of a bend angle, degrees.
    pub fn worst_angle_deg(&self) -> f64 {
        self.bends
            .iter()
            .map(|bend| (bend.released_angle_deg - bend.target_angle_deg).abs())
            .fold(0.0, f64::max)
    }

    /// Largest miss of a rise, mm.
    pub fn worst_rise_mm(&self) -> f64 {
        self.rises
            .iter()
            .map(|rise| (rise.released_mm - rise.target_mm).abs())
            .fold(0.0, f64::max)
    }

    /// Largest miss of an inside radius, mm.
    pub fn worst_radius_mm(&self) -> f64 {
        self.bends
            .iter()
            .map(|bend| (bend.released_inside_radius_mm - bend.target_inside_radius_mm).abs())
            .fold(0.0, f64::max)
    }

    /// Largest miss of the rounding of a corner: how far its arc lies from the drawn one, mm.
    pub fn worst_rounding_mm(&self) -> f64 {
        self.bends
            .iter()
            .map(|bend| {
                let miss_mm = bend.released_inside_radius_mm - bend.target_inside_radius_mm;
                miss_mm.abs() * rounded_by(Angle::deg(bend.target_angle_deg))
            })
            .fold(0.0, f64::max)
    }

    /// The plate in the lower die after letting go, in the dies' frame: its first flat lies where the closed dies held it.
    pub fn let_go(&self, part: &Part) -> StripOutline {
        let Some(last) = self.frames.last() else {
            return self.released.clone();
        };
        let mid = &part.profile.mid;
        let first_mm = mid.segments.first().map_or(0.0, Segment::length_mm);
        // Two nodes of the first flat, away from the bend, which springs back as well.
        let ends = |strip: &StripOutline| {
            let own = &self.released.under;
            let node = |share: f64| {
                let first = own.first()?;
                let beyond = |point: &Point2<f64>| (point - first).norm() >= share * first_mm;
                strip.under.get(own.iter().position(beyond)?).copied()
            };
            Some((node(0.1)?, node(0.8)? - node(0.1)?))
        };
        let (Some((from, way)), Some((to, wanted))) = (ends(&self.released), ends(&last.strip))
        else {
            return self.released.clone();
        };
        let lengths = (way.norm() * wanted.norm()).max(f64::MIN_POSITIVE);
        let cos = way.dot(&wanted) / lengths;
        let sin = way.perp(&wanted) / lengths;
        let place = |point: &Point2<f64>| {
            let arm = point - from;
            to + Vector2::new(cos * arm.x - sin * arm.y, sin * arm.x + cos * arm.y)
        };
        StripOutline {
            under: self.released.under.iter().map(place).collect(),
            top: self.released.top.iter().map(place).collect(),
        }
    }

    /// Distance of the neutral line from the inside face over the thickness, one for all bends: that by which a blank becomes as long
    /// as the drawn plate. `None` where the plate does not come out as drawn, or hardly bends.
    ///
    /// The blank in the press is as long as it is; what the let-go plate, laid over the drawn one, has beyond the ends of that is
    /// too much of it.
    pub fn k_factor(&self, part: &Part) -> Option<f64> {
        let blank = &self.frames.first()?.strip;
        let length_mm = |face: &[Point2<f64>]| -> f64 {
            let pairs = face.iter().zip(face.iter().skip(1));
            pairs.map(|(from, to)| (to - from).norm()).sum()
        };
        let blank_mm = f64::midpoint(length_mm(&blank.under), length_mm(&blank.top));
        let [under, top] = [&self.released.under, &self.released.top];
        let middle = |one: Option<&Point2<f64>>, other: Option<&Point2<f64>>| {
            Some(f64::midpoint(one?.x, other?.x))
        };
        let ends_mm = middle(under.last(), top.last())? - middle(under.first(), top.first())?;
        let drawn_mm = self.drawn.end().point.x - self.drawn.start.point.x;
        let turned: f64 = self.drawn.arcs().map(|(_, turn)| turn.rad().abs()).sum();
        let wanted_mm = blank_mm - (ends_mm - drawn_mm);
        let k = 0.5 + (wanted_mm - self.drawn.length_mm()) / (part.sheet.thickness_mm * turned);
        (self.shape_met && K_BELIEVED.contains(&k)).then_some(k)
    }

    /// Only the coarse mesh was asked.
    pub fn is_estimate(&self) -> bool {
        let [_, full] = self.presses;
        full == 0
    }

    /// How near angles lie to those of a far finer mesh, mostly.
    ///
    /// Measured on twenty varied presses of soft sheet and on twenty of harder one. Of thick harder sheet two in twenty are further
    /// off, one by a degree: between equal presses a node more or less that touches decides where it bends.
    pub fn good_to_deg(&self) -> f64 {
        if self.is_estimate() || self.problem.metal.hardens_little() {
            0.2
        } else {
            0.1
        }
    }

    /// How far the middle of a flat lies beside its drawn place at most, mm.
    pub fn worst_along_mm(&self) -> f64 {
        self.flats
            .iter()
            .map(|flat| flat.along_error_mm.abs())
            .fold(0.0, f64::max)
    }

    /// Everything but inside radii that shall be kept is met.
    pub fn only_radii_missed(&self) -> bool {
        self.shape_met && !self.converged
    }

    /// The shape of the closed dies, for whoever makes them.
    pub fn compensation(&self) -> Compensation {
        let mid = &self.problem.mid;
        let turn = mid.start.heading;
        Compensation {
            mid: mid.turned(mid.start.point, -turn),
            tilt: turn,
            bends: self
                .bends
                .iter()
                .zip(mid.arcs())
                .map(|(bend, (radius_mm, _))| BendCompensation {
                    between: bend.between.clone(),
                    target_angle_deg: bend.target_angle_deg,
                    target_inside_radius_mm: bend.target_inside_radius_mm,
                    die_angle_deg: bend.die_angle_deg,
                    die_inside_radius_mm: radius_mm - self.problem.thickness_mm / 2.0,
                    k_r: bend.target_angle_deg / bend.die_angle_deg,
                    method: "the calculated pressing".to_owned(),
                })
                .collect(),
            model: self.model.clone(),
        }
    }
}

/// Largest bend angle of a part.
fn sharpest(bends: &[Bend]) -> Angle {
    bends
        .iter()
        .map(|bend| bend.turn.abs())
        .fold(Angle::ZERO, |most, turn| {
            if turn.rad() > most.rad() { turn } else { most }
        })
}

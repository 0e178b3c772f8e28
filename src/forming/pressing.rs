//! The search for dies that make the drawn plate: press, look what is missing, bend the dies further, press again.

use super::die_shape::{DieShape, NoShape};
use super::press::material::Metal;
use super::press::measure::{Measured, measure};
use super::press::problem::{Fineness, Problem};
use super::press::run::{Failed, Moment, Pressed};
use super::press::strip::{State, Strip};
use super::strength::{PressLoad, Strength, printed_block, strength};
use super::{BendCompensation, Compensation, STEEPEST_FACE_DEG, tilt};
use crate::diagnostic::Diagnostic;
use crate::geometry::Chain;
use crate::part::Part;
use crate::quantity::{Angle, plain};
use crate::stock::printed_block::{NoBlock, PrintedBlock};
use nalgebra::{DMatrix, DVector, Point2, Vector2};
use serde::Serialize;
use std::ops::ControlFlow;

/// Wall and bend angles count as met within this.
pub const ANGLE_MET_DEG: f64 = 0.1;
/// Rises and lengths count as met within this.
pub const LENGTH_MET_MM: f64 = 0.02;
/// The quick model searches until this many times the limits are met.
const QUICK_ENOUGH: f64 = 1.5;
/// Presses of the quick model at most.
const MOST_QUICK: u32 = 10;
/// Presses of the full model at most.
const MOST_FULL: u32 = 7;
/// A press that does not bring the misses down to this share of the best so far was in vain. Own choice.
const WORTH_IT: f64 = 0.9;
/// So many presses in vain in a row end a stage.
const MOST_IN_VAIN: u32 = 3;
/// Weight of the slope between two flats beside angles and rises. Own choice.
const SLOPE_COUNTS: f64 = 4.0;
/// Longest change of a turn and of a length between two presses.
const LONGEST_CHANGE: (f64, f64) = (6.0, 0.6);
/// Least turn of a die bend.
const LEAST_TURN_DEG: f64 = 1.0;
/// Work of the dies and work in the strip may differ by this share before a run is not believed. Own choice; usual runs
/// stay below a fifth of it.
const WORK_MISSING: f64 = 0.05;
/// A strip thinner than this share of the sheet anywhere is not believed.
const LEAST_THICKNESS: f64 = 0.6;
/// A drop of the closing force by more than this share of the largest is not believed. Own choice: a sheet that snaps
/// through loses some force.
const MOST_DROP: f64 = 0.6;
/// Thickness tolerance where neither part nor stock say one, as a share. Own assumption, no source.
const USUAL_THICKNESS_SHARE: f64 = 0.05;
/// Pictures kept of the closing.
const FRAMES: usize = 24;

/// How much work a search may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// The coarse mesh alone: an estimate.
    Quick,
    /// The coarse mesh to come near, the fine one to judge.
    Full,
}

/// What the search is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Number of the press, from 1.
    pub press: u32,
    /// On the fine mesh.
    pub full: bool,
    /// How far the upper die still stands above its closed place.
    pub lifted_mm: f64,
    /// Largest miss of an angle in the press before.
    pub worst_deg: Option<f64>,
    /// Largest miss of a rise or length in the press before.
    pub worst_mm: Option<f64>,
}

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
    Guard(String),
    /// The pressed strip has no such bends.
    #[error("the pressed strip cannot be measured: it does not have the drawn bends")]
    Unlike,
}

impl From<Failed> for NoPressing {
    fn from(failed: Failed) -> Self {
        match failed {
            Failed::Stopped => Self::Stopped,
            other => Self::Failed(other),
        }
    }
}

impl NoPressing {
    /// The warning that stands where a pressing should.
    pub fn note(&self) -> Diagnostic {
        let note = Diagnostic::warning(format!("the pressing could not be calculated: {self}"));
        let note = match self {
            Self::Flat | Self::Stopped => note,
            Self::Block(_) => note.help("print the dies with more infill under [printer]"),
            Self::Shape(_) => note.help("give the step more run, or smaller inside radii"),
            Self::Failed(_) | Self::Guard(_) | Self::Unlike => note
                .help("give the steps more run, larger radii or lower walls")
                .help("press a strip of the same sheet in the same dies first, and measure it"),
        };
        note.help("the dies are compensated bend by bend: expect the first pressing rounder and flatter than drawn")
    }
}

/// One bend, drawn, in the die, closed and let go.
#[derive(Debug, Clone, PartialEq, Serialize)]
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
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PressedRise {
    /// The two flats.
    pub between: [String; 2],
    /// Drawn; below 0 a step towards the board.
    pub target_mm: f64,
    /// After letting go.
    pub released_mm: f64,
}

/// One flat after letting go, all flats together laid on the drawn ones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PressedFlat {
    /// Name.
    pub name: String,
    /// Its middle lies this much above the drawn height.
    pub height_error_mm: f64,
    /// It slopes by this much.
    pub slope_deg: f64,
    /// Largest distance from a straight line.
    pub bow_mm: f64,
}

/// One point of the force curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ForcePoint {
    /// How far the upper die stands above its drawn closed place.
    pub lifted_mm: f64,
    /// Force for each mm of width.
    pub force_n_per_mm: f64,
}

/// Both faces of the strip.
#[derive(Debug, Clone, PartialEq)]
pub struct StripOutline {
    /// Underside, left to right.
    pub under: Vec<Point2<f64>>,
    /// Top side, left to right.
    pub top: Vec<Point2<f64>>,
}

/// One picture of the closing.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// How far the upper die stands above its drawn closed place.
    pub lifted_mm: f64,
    /// Force for each mm of width.
    pub force_n_per_mm: f64,
    /// The strip, in the die's frame.
    pub strip: StripOutline,
}

/// What one input changes in the pressed plate, the dies left as they are.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sensitivity {
    /// What is different, in words: "sheet 0.02 mm thicker".
    pub change: String,
    /// Change of the bend angle that changes most.
    pub angle_deg: f64,
    /// Change of the rise that changes most.
    pub rise_mm: f64,
    /// Change of the largest force for each mm of width.
    pub force_n_per_mm: f64,
}

/// What comes out of the vise, and the dies that make it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressing {
    /// All angles, rises and lengths are met.
    pub converged: bool,
    /// What was calculated, in words.
    pub model: String,
    /// What keeps the rest from being met, and what would help; empty when all is met.
    pub limits: Vec<Limit>,
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
    /// Strip after letting go, laid on the drawn one.
    pub released: StripOutline,
    /// Pictures of the closing, the last one closed, in the die's frame.
    pub frames: Vec<Frame>,
    /// Faces of the closed dies in their frame, lower first.
    pub faces: [Chain; 2],
    /// Presses calculated, quick and full.
    pub presses: [u32; 2],
    /// What was pressed last.
    pub problem: Problem,
}

/// Why something was not met, and ways out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// The reason, one sentence without a full stop.
    pub reason: String,
    /// What would help.
    pub help: Vec<String>,
}

/// What a part asks of its pressing.
#[derive(Debug, Clone)]
pub struct Task<'a> {
    part: &'a Part,
    block: PrintedBlock,
    /// Everything but the shape of the dies.
    base: Problem,
    drawn: DieShape,
}

/// One press and what is missing.
struct Trial {
    problem: Problem,
    strip: Strip,
    pressed: Pressed,
    closed: Measured,
    released: Measured,
    frames: Vec<Frame>,
    /// Misses, in units of what counts as met.
    miss: DVector<f64>,
}

impl<'a> Task<'a> {
    /// Reads sheet, dies and vise from a part.
    ///
    /// # Errors
    /// When nothing is bent or the dies are shells.
    pub fn of(part: &'a Part) -> Result<Self, NoPressing> {
        if part.steps.is_empty() {
            return Err(NoPressing::Flat);
        }
        let block = printed_block(part)?;
        let t = part.sheet.thickness_mm;
        let metal = &part.sheet.metal;
        let width_mm = part.width_mm;
        let most_force_n_mm = part
            .vise
            .as_ref()
            .and_then(crate::part::Vise::force_n)
            .map_or(f64::INFINITY, |[least, _]| least / width_mm);
        let base = Problem {
            mid: part.profile.mid.clone(),
            thickness_mm: t,
            clearance_mm: part.dies.clearance_mm,
            corner_relief_mm: part.dies.corner_relief_mm,
            metal: Metal::new(metal.youngs_mpa, metal.poisson, &metal.hardening().law),
            friction: part.dies.friction,
            foundation_n_mm3: block.nose_n_mm3(t),
            die_yield_mpa: block.nose_limit_mpa(t, sharpest(part)).usual,
            most_force_n_mm,
            // Until the flats are gripped.
            end_mm: -part.dies.clearance_mm - 0.05 * t,
        };
        Ok(Self {
            part,
            block,
            base,
            drawn: DieShape::of(&part.profile.mid),
        })
    }

    /// The problem of dies of a shape.
    fn problem(&self, shape: &DieShape) -> Result<Problem, NoShape> {
        let level = shape.chain()?;
        let turn = tilt(&level, self.part.dies.tilt);
        Ok(Problem {
            mid: level.turned(level.start.point, turn),
            ..self.base.clone()
        })
    }

    /// Whether dies of a shape open straight.
    fn opens(&self, shape: &DieShape) -> bool {
        let Ok(level) = shape.chain() else {
            return false;
        };
        let turn = tilt(&level, self.part.dies.tilt);
        let (low, high) = level.heading_range();
        let steepest = (low + turn)
            .degrees()
            .abs()
            .max((high + turn).degrees().abs());
        steepest <= STEEPEST_FACE_DEG
    }

    /// Variables of a shape: turns in degrees, rises and inner flats in mm; all without sign.
    fn variables(shape: &DieShape) -> DVector<f64> {
        let steps = shape.steps.iter().flat_map(|step| {
            let [first, second] = step.turns.map(|turn| turn.abs().degrees());
            [first, second, step.rise_mm.abs()]
        });
        let count = shape.flats_mm.len();
        let flats = shape
            .flats_mm
            .iter()
            .take(count.saturating_sub(1))
            .skip(1)
            .copied();
        DVector::from_iterator(4 * shape.steps.len() - 1, steps.chain(flats))
    }

    /// The drawn shape with other variables.
    fn shape(&self, variables: &DVector<f64>) -> DieShape {
        let mut shape = self.drawn.clone();
        let values: Vec<f64> = variables.iter().copied().collect();
        for (step, own) in shape.steps.iter_mut().zip(values.chunks(3)) {
            let [first, second, rise_mm] = *own else {
                continue;
            };
            let signed = |turn: Angle, degrees: f64| Angle::deg(degrees * turn.rad().signum());
            step.turns = [signed(step.turns[0], first), signed(step.turns[1], second)];
            step.rise_mm = rise_mm * step.rise_mm.signum();
        }
        let flats = values.iter().skip(3 * shape.steps.len());
        for (flat, value) in shape.flats_mm.iter_mut().skip(1).zip(flats) {
            *flat = *value;
        }
        shape
    }

    /// What counts as met, for each variable.
    fn limits(&self) -> DVector<f64> {
        let steps = self.drawn.steps.len();
        DVector::from_fn(4 * steps - 1, |row, _| {
            if row < 3 * steps && row % 3 != 2 {
                ANGLE_MET_DEG
            } else {
                LENGTH_MET_MM
            }
        })
    }

    /// Misses of a measured strip in degrees and mm, in the order of the variables.
    fn misses(&self, measured: &Measured) -> Option<DVector<f64>> {
        let wanted = Self::variables(&self.drawn);
        let mut got = Vec::with_capacity(wanted.len());
        for ((step, bends), rise_mm) in self
            .drawn
            .steps
            .iter()
            .zip(measured.bends.chunks(2))
            .zip(&measured.rises_mm)
        {
            for (turn, bend) in step.turns.iter().zip(bends) {
                got.push(bend.turn.degrees() * turn.rad().signum());
            }
            got.push(rise_mm * step.rise_mm.signum());
        }
        got.extend(measured.inner_flats_mm()?);
        (got.len() == wanted.len()).then(|| DVector::from_vec(got) - wanted)
    }

    /// Presses dies of a shape.
    fn press(
        &self,
        shape: &DieShape,
        fineness: Fineness,
        mut progress: Progress,
        watcher: &mut Watcher<'_>,
    ) -> Result<Trial, NoPressing> {
        let problem = self.problem(shape)?;
        let mut moments: Vec<(f64, f64, DVector<f64>)> = Vec::new();
        let mut watch = |moment: &Moment<'_>| {
            moments.push((
                moment.lifted_mm,
                moment.force_n_mm,
                moment.state.moved.clone(),
            ));
            progress.lifted_mm = moment.lifted_mm;
            watcher(&progress)
        };
        let (strip, pressed) = problem.press(fineness, &mut watch)?;
        believed(&strip, &pressed)?;
        let measured =
            |state: &State| measure(&strip, state, &problem.mid).ok_or(NoPressing::Unlike);
        let (closed, released) = (measured(&pressed.closed)?, measured(&pressed.released)?);
        let misses = self.misses(&released).ok_or(NoPressing::Unlike)?;
        let frames = frames(&strip, &moments);
        Ok(Trial {
            problem,
            closed,
            released,
            frames,
            miss: misses.component_div(&self.limits()),
            strip,
            pressed,
        })
    }

    /// Searches the dies that make the drawn plate.
    ///
    /// Broyden's method, first on the quick model, then with what it learned on the full one. What it moves are the
    /// turns of each bend, the rise of each step and the lengths of flats between steps; radii follow the drawing.
    ///
    /// # Errors
    /// When not even the drawn dies give an answer, or the watcher ends the search.
    pub fn search(
        &self,
        effort: Effort,
        watcher: &mut Watcher<'_>,
    ) -> Result<Pressing, NoPressing> {
        let limits = self.limits();
        let mut variables = Self::variables(&self.drawn);
        let count = variables.len();
        let mut slopes = DMatrix::identity(count, count);
        let mut best: Option<(Trial, DVector<f64>)> = None;
        let mut presses = [0, 0];
        let mut held_back = None;
        let stages: &[(Fineness, bool, u32, f64)] = match effort {
            Effort::Quick => &[(Fineness::QUICK, false, MOST_QUICK, 1.0)],
            Effort::Full => &[
                (Fineness::QUICK, false, MOST_QUICK, QUICK_ENOUGH),
                (Fineness::FULL, true, MOST_FULL, 1.0),
            ],
        };
        let (mut worst_deg, mut worst_mm) = (None, None);
        for (fineness, full, most, enough) in stages {
            let mut last: Option<(DVector<f64>, DVector<f64>)> = None;
            best = None;
            let mut refused = 0;
            let (mut best_merit, mut since_better) = (f64::INFINITY, 0);
            for _ in 0..*most {
                let done = presses.get_mut(usize::from(*full));
                let press = done.map_or(0, |done| {
                    *done += 1;
                    *done
                });
                let progress = Progress {
                    press,
                    full: *full,
                    lifted_mm: 0.0,
                    worst_deg,
                    worst_mm,
                };
                let trial = match self.press(&self.shape(&variables), *fineness, progress, watcher)
                {
                    Ok(trial) => trial,
                    Err(NoPressing::Stopped) => return Err(NoPressing::Stopped),
                    Err(error) => {
                        // Half way back to what worked; the drawn dies must work by themselves.
                        let Some((_, good)) = &best else {
                            return Err(error);
                        };
                        refused += 1;
                        if refused > 3 {
                            held_back = Some(error);
                            break;
                        }
                        variables = (&variables + good) * 0.5;
                        continue;
                    }
                };
                let miss = trial.miss.clone();
                let of = |is_angle: bool| {
                    miss.iter()
                        .zip(limits.iter())
                        .filter(|(_, limit)| (**limit == ANGLE_MET_DEG) == is_angle)
                        .map(|(miss, limit)| (miss * limit).abs())
                        .fold(0.0, f64::max)
                };
                (worst_deg, worst_mm) = (Some(of(true)), Some(of(false)));
                if let Some((before, before_miss)) = &last {
                    // Broyden's update of the slopes, in units of what counts as met.
                    let step = (&variables - before).component_div(&limits);
                    let square = step.norm_squared();
                    if square > 0.0 {
                        let wrong = &miss - before_miss - &slopes * &step;
                        slopes += wrong * step.transpose() / square;
                    }
                }
                last = Some((variables.clone(), miss.clone()));
                let merit = self.merit(&miss);
                if best.is_none() || merit < best_merit {
                    since_better = if merit < WORTH_IT * best_merit {
                        0
                    } else {
                        since_better + 1
                    };
                    best_merit = merit;
                    best = Some((trial, variables.clone()));
                } else {
                    since_better += 1;
                }
                if miss.amax() <= *enough || since_better > MOST_IN_VAIN {
                    break;
                }
                let Some(change) = slopes.clone().lu().solve(&miss) else {
                    break;
                };
                let wanted = self.limited(&variables, &(-change.component_mul(&limits)));
                if (&wanted - &variables).component_div(&limits).amax() < 0.05 {
                    break;
                }
                variables = wanted;
            }
            if let Some((_, good)) = &best {
                variables.clone_from(good);
            }
        }
        let Some((trial, variables)) = best else {
            return Err(NoPressing::Unlike);
        };
        Ok(self.outcome(trial, &variables, effort, presses, held_back))
    }

    /// How bad misses are together: their root of squares, with the slope from flat to flat counted besides. Where the
    /// drawing cannot be met, flats that are parallel are worth more than one good bend.
    fn merit(&self, miss: &DVector<f64>) -> f64 {
        let values: Vec<f64> = miss.iter().copied().collect();
        let slopes: f64 = values
            .chunks_exact(3)
            .take(self.drawn.steps.len())
            .map(|own| match *own {
                [first, second, _] => SLOPE_COUNTS * (first - second) * (first - second),
                _ => 0.0,
            })
            .sum();
        (miss.norm_squared() + slopes).sqrt()
    }

    /// A change of the variables, shortened until the dies exist and open.
    fn limited(&self, variables: &DVector<f64>, change: &DVector<f64>) -> DVector<f64> {
        let steps = 3 * self.drawn.steps.len();
        let longest = change
            .iter()
            .enumerate()
            .map(|(row, value)| {
                let is_turn = row < steps && row % 3 != 2;
                value.abs()
                    / if is_turn {
                        LONGEST_CHANGE.0
                    } else {
                        LONGEST_CHANGE.1
                    }
            })
            .fold(1.0, f64::max);
        let mut share = 1.0 / longest;
        for _ in 0..6 {
            let mut tried = variables + change * share;
            for row in 0..steps {
                if row % 3 != 2
                    && let Some(turn) = tried.get_mut(row)
                {
                    *turn = turn.max(LEAST_TURN_DEG);
                }
            }
            if self.opens(&self.shape(&tried)) {
                return tried;
            }
            share *= 0.5;
        }
        variables.clone()
    }
}

/// Guards: a run that breaks a law of mechanics, or common sense, is never used.
fn believed(strip: &Strip, pressed: &Pressed) -> Result<(), NoPressing> {
    let refuse = |why: String| Err(NoPressing::Guard(why));
    let (stored, lost) = strip.work(&pressed.closed);
    let share = (stored + lost) / pressed.work_n - 1.0;
    if share.is_nan() || share.abs() > WORK_MISSING {
        return refuse(format!(
            "the strip took {:+.1} % more work than the dies gave",
            100.0 * share
        ));
    }
    if pressed.drag_n > WORK_MISSING * pressed.work_n {
        return refuse("the sheet snaps from one shape to another while it is pressed".to_owned());
    }
    let (thinnest_mm, _) = strip.thinnest_and_outer(&pressed.released);
    if thinnest_mm.is_nan() || thinnest_mm < LEAST_THICKNESS * strip.thickness_mm {
        return refuse(format!(
            "the sheet would be {thinnest_mm:.2} mm thin somewhere"
        ));
    }
    let largest = largest_force(pressed);
    let drop = pressed
        .curve
        .windows(2)
        .map(|pair| match pair {
            [before, after] => before.force_n_mm - after.force_n_mm,
            _ => 0.0,
        })
        .fold(0.0, f64::max);
    if drop > MOST_DROP * largest {
        return refuse(format!(
            "the closing force falls by {drop:.0} N/mm from one step to the next"
        ));
    }
    Ok(())
}

/// Some of the moments of the closing, evenly spread over the way of the die.
fn frames(strip: &Strip, moments: &[(f64, f64, DVector<f64>)]) -> Vec<Frame> {
    let (Some(first), Some(last)) = (moments.first(), moments.last()) else {
        return Vec::new();
    };
    let way_mm = (first.0 - last.0).max(1e-9);
    let mut kept: Vec<Frame> = Vec::new();
    for (number, (lifted_mm, force_n_per_mm, moved)) in moments.iter().enumerate() {
        let due = (first.0 - lifted_mm) / way_mm * (FRAMES - 1) as f64 >= kept.len() as f64;
        if due || number + 1 == moments.len() {
            kept.push(Frame {
                lifted_mm: *lifted_mm,
                force_n_per_mm: *force_n_per_mm,
                strip: outline(strip, moved, |point| point),
            });
        }
    }
    kept
}

fn outline(
    strip: &Strip,
    moved: &DVector<f64>,
    place: impl Fn(Point2<f64>) -> Point2<f64>,
) -> StripOutline {
    let row = |row: usize| {
        (0..strip.columns)
            .map(|column| place(strip.place(moved, column * strip.rows + row)))
            .collect()
    };
    StripOutline {
        under: row(0),
        top: row(strip.rows - 1),
    }
}

/// How a let-go strip is laid on the drawn one.
struct Laying {
    turn: Angle,
    about: Point2<f64>,
    moved: Vector2<f64>,
}

impl Laying {
    /// Heights and slopes of all flats as near to the drawn ones as one turn and one lift can bring them, weighted by
    /// their lengths; along x the corners.
    fn of(measured: &Measured, drawn: &Chain, levels_mm: &[f64], lengths_mm: &[f64]) -> Self {
        let about = measured
            .flats
            .first()
            .map_or_else(Point2::origin, |flat| flat.middle);
        // First turn: mean slope; then least squares on what is left.
        let whole: f64 = lengths_mm.iter().sum();
        let slope = measured
            .flats
            .iter()
            .zip(lengths_mm)
            .map(|(flat, length)| flat.heading.rad() * length)
            .sum::<f64>()
            / whole;
        let mut turn = -slope;
        let mut lift = 0.0;
        let mut places = Vec::new();
        for _ in 0..3 {
            let (sin, cos) = (libm::sin(turn), libm::cos(turn));
            places = measured
                .flats
                .iter()
                .map(|flat| {
                    let arm = flat.middle - about;
                    Point2::new(
                        about.x + arm.x * cos - arm.y * sin,
                        about.y + arm.x * sin + arm.y * cos,
                    )
                })
                .collect();
            // Rows: w (z + u + φ (x - x0) - z*)², w L²/12 (slope + φ)².
            let (mut a11, mut a12, mut a22, mut b1, mut b2) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (((place, flat), length), level) in places
                .iter()
                .zip(&measured.flats)
                .zip(lengths_mm)
                .zip(levels_mm)
            {
                let (x, z) = (place.x - about.x, level - place.y);
                let stiff = length * length * length / 12.0;
                a11 += length;
                a12 += length * x;
                a22 += length * x * x + stiff;
                b1 += length * z;
                b2 += length * x * z - stiff * (flat.heading.rad() + turn);
            }
            let det = a11 * a22 - a12 * a12;
            lift = (b1 * a22 - b2 * a12) / det;
            turn += (a11 * b2 - a12 * b1) / det;
        }
        let _ = places;
        // Along x: bend middles on drawn bend middles would need their places; the middle of the strip is near enough
        // for a picture, and the mean of the flats' middles is that.
        let (start, end) = (drawn.start.point, drawn.end().point);
        let centre = f64::midpoint(start.x, end.x);
        Self {
            turn: Angle::rad_from(turn),
            about,
            moved: Vector2::new(centre, lift),
        }
    }

    fn place(&self, point: Point2<f64>) -> Point2<f64> {
        let arm = point - self.about;
        let (sin, cos) = (self.turn.sin(), self.turn.cos());
        Point2::new(
            self.about.x + arm.x * cos - arm.y * sin + self.moved.x,
            self.about.y + arm.x * sin + arm.y * cos + self.moved.y,
        )
    }
}

impl Task<'_> {
    fn outcome(
        &self,
        trial: Trial,
        variables: &DVector<f64>,
        effort: Effort,
        presses: [u32; 2],
        held_back: Option<NoPressing>,
    ) -> Pressing {
        let part = self.part;
        let t = part.sheet.thickness_mm;
        let die = self.shape(variables);
        let name = |number: usize| part.flats.get(number).map_or("", |flat| flat.name.as_str());
        let die_radii = arcs(&trial.problem.mid);
        let bends = part
            .profile
            .bends
            .iter()
            .zip(trial.closed.bends.iter().zip(&trial.released.bends))
            .zip(&die_radii)
            .map(
                |((drawn, (closed, released)), (die_mid_mm, die_turn))| PressedBend {
                    between: [name(drawn.step).to_owned(), name(drawn.step + 1).to_owned()],
                    which: drawn.which,
                    target_angle_deg: drawn.turn.abs().degrees(),
                    die_angle_deg: die_turn.abs().degrees(),
                    closed_angle_deg: closed.turn.abs().degrees(),
                    released_angle_deg: released.turn.abs().degrees(),
                    target_inside_radius_mm: drawn.inside_radius_mm,
                    die_nose_radius_mm: die_mid_mm - f64::midpoint(t, part.dies.clearance_mm),
                    closed_inside_radius_mm: closed.inside_radius_mm,
                    released_inside_radius_mm: released.inside_radius_mm,
                },
            )
            .collect();
        let rises = self
            .drawn
            .steps
            .iter()
            .zip(&trial.released.rises_mm)
            .enumerate()
            .map(|(number, (step, released_mm))| PressedRise {
                between: [name(number).to_owned(), name(number + 1).to_owned()],
                target_mm: step.rise_mm,
                released_mm: *released_mm,
            })
            .collect();
        let levels_mm: Vec<f64> = part
            .flats
            .iter()
            .map(|flat| flat.level.underside_mm + t / 2.0)
            .collect();
        let lengths_mm: Vec<f64> = part
            .flats
            .iter()
            .map(|flat| flat.level.to_mm - flat.level.from_mm)
            .collect();
        let mut laying = Laying::of(&trial.released, &part.profile.mid, &levels_mm, &lengths_mm);
        // Along x the middles of first and last bend lie on the drawn ones, as nearly as both can.
        let along_x = |outline: &StripOutline| {
            let mean = |points: &[Point2<f64>], share: f64| {
                let at = (points.len() - 1) as f64 * share;
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a share of the count"
                )]
                points.get(at as usize).map_or(0.0, |point| point.x)
            };
            f64::midpoint(
                f64::midpoint(mean(&outline.under, 0.0), mean(&outline.under, 1.0)),
                f64::midpoint(mean(&outline.top, 0.0), mean(&outline.top, 1.0)),
            )
        };
        let centre = laying.moved.x;
        laying.moved.x = 0.0;
        let laid = outline(&trial.strip, &trial.pressed.released.moved, |point| {
            laying.place(point)
        });
        laying.moved.x = centre - along_x(&laid);
        let released = outline(&trial.strip, &trial.pressed.released.moved, |point| {
            laying.place(point)
        });
        let flats = trial
            .released
            .flats
            .iter()
            .zip(&levels_mm)
            .enumerate()
            .map(|(number, (flat, level_mm))| PressedFlat {
                name: name(number).to_owned(),
                height_error_mm: laying.place(flat.middle).y - level_mm,
                slope_deg: (flat.heading + laying.turn).degrees(),
                bow_mm: flat.bow_mm,
            })
            .collect();
        let max_force_n_per_mm = largest_force(&trial.pressed);
        let load = PressLoad {
            force_n_mm: max_force_n_per_mm,
            width_mm: part.width_mm,
            most_nose_pressure_mpa: trial.pressed.most_pressure_mpa,
            nose_half_width_mm: t,
            sharpest: sharpest(part),
        };
        let converged = trial.miss.amax() <= 1.0;
        let limits = if converged {
            Vec::new()
        } else {
            self.limits_met(&trial, &die, held_back)
        };
        let faces = trial
            .problem
            .faces()
            .unwrap_or_else(|_| [trial.problem.mid.clone(), trial.problem.mid.clone()]);
        Pressing {
            converged,
            model: self.words(&trial, effort),
            limits,
            bends,
            rises,
            flats,
            curve: trial
                .pressed
                .curve
                .iter()
                .map(|point| ForcePoint {
                    lifted_mm: point.lifted_mm,
                    force_n_per_mm: point.force_n_mm,
                })
                .collect(),
            max_force_n_per_mm,
            force_limited: trial.pressed.force_limited,
            most_pressure_mpa: trial.pressed.most_pressure_mpa,
            thinnest_mm: trial.released.thinnest_mm,
            outer_strain: trial.released.outer_strain,
            strength: strength(&load, part.vise.as_ref(), &self.block),
            drawn: part.profile.mid.clone(),
            released,
            frames: trial.frames,
            faces,
            presses,
            problem: trial.problem,
        }
    }

    fn words(&self, trial: &Trial, effort: Effort) -> String {
        let mesh = format!(
            "{} x {} elements",
            trial.strip.columns - 1,
            trial.strip.rows - 1
        );
        let quality = match effort {
            Effort::Quick => "coarse mesh, an estimate",
            Effort::Full => "fine mesh",
        };
        format!(
            "pressing calculated in section, plane strain ({quality}, {mesh}); dies give way by {:.0} N/mm3 and yield at {:.0} MPa, friction {}",
            self.base.foundation_n_mm3,
            self.base.die_yield_mpa,
            plain(self.base.friction)
        )
    }

    fn limits_met(
        &self,
        trial: &Trial,
        die: &DieShape,
        held_back: Option<NoPressing>,
    ) -> Vec<Limit> {
        let mut limits = Vec::new();
        let last = trial.pressed.curve.last();
        if trial.pressed.force_limited {
            limits.push(limit(
                format!(
                    "the vise's force of {:.0} N ends the closing {:.2} mm before the dies are closed",
                    self.base.most_force_n_mm * self.part.width_mm,
                    last.map_or(0.0, |point| point.lifted_mm - self.base.end_mm)
                ),
                &[
                    "use a stronger vise, a longer handle or a greased screw, and say so under [vise]",
                    "use thinner or softer sheet, or anneal it",
                    "press in two strokes with two pairs, a part of the steps in each",
                ],
            ));
        }
        if trial.pressed.most_pressure_mpa > self.base.die_yield_mpa {
            limits.push(limit(
                format!(
                    "the noses are pressed in: {:.0} MPa on them, the printed plastic bears about {:.0} MPa",
                    trial.pressed.most_pressure_mpa, self.base.die_yield_mpa
                ),
                &[
                    "print with more walls and more infill under the noses, or of a stronger plastic",
                    "lay a bent metal strip (a shim) under the nose",
                    "use larger inside radii, or softer or thinner sheet",
                ],
            ));
        }
        let opened: Vec<f64> = Self::variables(die)
            .iter()
            .map(|value| value * 1.02)
            .collect();
        if !self.opens(&self.shape(&DVector::from_vec(opened))) {
            limits.push(limit(
                "the dies cannot be overbent further: the pair would not open, or no straight wall would be left"
                    .to_owned(),
                &[
                    "turn the part in the die: tilt = \"auto\" or \"centred\" under [dies]",
                    "give the step more run, or smaller radii, so that a straight wall is left",
                ],
            ));
        }
        if let Some(error) = held_back {
            limits.push(limit(
                format!("further overbending gave no answer: {error}"),
                &["give the step more run"],
            ));
        }
        if limits.is_empty() {
            limits.push(limit(
                "the search did not come nearer in the presses it is given".to_owned(),
                &["press it, measure, and correct the part by what was measured"],
            ));
        }
        limits
    }
}

fn limit(reason: String, help: &[&str]) -> Limit {
    Limit {
        reason,
        help: help.iter().map(|help| (*help).to_owned()).collect(),
    }
}

/// Largest bend angle of a part.
fn sharpest(part: &Part) -> Angle {
    part.profile
        .bends
        .iter()
        .map(|bend| bend.turn.abs())
        .fold(Angle::ZERO, |most, turn| {
            if turn.rad() > most.rad() { turn } else { most }
        })
}

fn arcs(chain: &Chain) -> Vec<(f64, Angle)> {
    chain
        .segments
        .iter()
        .filter_map(|segment| match *segment {
            crate::geometry::Segment::Arc { radius_mm, turn } => Some((radius_mm, turn)),
            crate::geometry::Segment::Line { .. } => None,
        })
        .collect()
}

impl Task<'_> {
    /// What thickness, yield stress, friction, clearance and die stiffness change, on the quick model.
    ///
    /// Inputs whose change gives no answer are left out.
    ///
    /// # Errors
    /// When the watcher ends it.
    pub fn sensitivities(
        &self,
        pressing: &Pressing,
        watcher: &mut Watcher<'_>,
    ) -> Result<Vec<Sensitivity>, NoPressing> {
        let found = &pressing.problem;
        let sheet = &self.part.sheet;
        let thicker_mm = sheet
            .thickness_plus_minus_mm
            .unwrap_or(USUAL_THICKNESS_SHARE * sheet.thickness_mm);
        let law = sheet.metal.hardening().law;
        let metal = |share: f64| {
            Metal::new(
                sheet.metal.youngs_mpa,
                sheet.metal.poisson,
                &law.scaled(share),
            )
        };
        let cases = [
            (
                format!("sheet {} mm thicker", plain(thicker_mm)),
                Problem {
                    thickness_mm: found.thickness_mm + thicker_mm,
                    clearance_mm: found.clearance_mm - thicker_mm,
                    ..found.clone()
                },
            ),
            (
                "sheet 10 % stronger".to_owned(),
                Problem {
                    metal: metal(1.1),
                    ..found.clone()
                },
            ),
            (
                format!(
                    "friction {} in place of {}",
                    plain(found.friction + 0.1),
                    plain(found.friction)
                ),
                Problem {
                    friction: found.friction + 0.1,
                    ..found.clone()
                },
            ),
            (
                "dies printed 0.05 mm further apart".to_owned(),
                Problem {
                    clearance_mm: found.clearance_mm + 0.05,
                    ..found.clone()
                },
            ),
            (
                "dies 30 % less stiff".to_owned(),
                Problem {
                    foundation_n_mm3: 0.7 * found.foundation_n_mm3,
                    ..found.clone()
                },
            ),
        ];
        let mut press =
            |problem: &Problem, number: u32| -> Result<Option<(Measured, f64)>, NoPressing> {
                let mut progress = Progress {
                    press: number,
                    full: false,
                    lifted_mm: 0.0,
                    worst_deg: None,
                    worst_mm: None,
                };
                let mut watch = |moment: &Moment<'_>| {
                    progress.lifted_mm = moment.lifted_mm;
                    watcher(&progress)
                };
                match problem.press(Fineness::QUICK, &mut watch) {
                    Err(Failed::Stopped) => Err(NoPressing::Stopped),
                    Err(_) => Ok(None),
                    Ok((strip, pressed)) => {
                        if believed(&strip, &pressed).is_err() {
                            return Ok(None);
                        }
                        let force = largest_force(&pressed);
                        Ok(measure(&strip, &pressed.released, &problem.mid).map(|m| (m, force)))
                    }
                }
            };
        let Some((usual, usual_force)) = press(found, 1)? else {
            return Ok(Vec::new());
        };
        let mut answer = Vec::new();
        for (number, (change, problem)) in (2..).zip(cases) {
            let Some((other, force)) = press(&problem, number)? else {
                continue;
            };
            let largest = |values: &mut dyn Iterator<Item = f64>| {
                values.fold(0.0, |most: f64, value| {
                    if value.abs() > most.abs() {
                        value
                    } else {
                        most
                    }
                })
            };
            answer.push(Sensitivity {
                change,
                angle_deg: largest(
                    &mut usual
                        .bends
                        .iter()
                        .zip(&other.bends)
                        .map(|(a, b)| b.turn.abs().degrees() - a.turn.abs().degrees()),
                ),
                rise_mm: largest(
                    &mut usual
                        .rises_mm
                        .iter()
                        .zip(&other.rises_mm)
                        .map(|(a, b)| b.abs() - a.abs()),
                ),
                force_n_per_mm: force - usual_force,
            });
        }
        Ok(answer)
    }
}

fn largest_force(pressed: &Pressed) -> f64 {
    pressed
        .curve
        .iter()
        .map(|point| point.force_n_mm)
        .fold(0.0, f64::max)
}

impl Pressing {
    /// Largest miss of an angle and of a rise.
    pub fn worst(&self) -> (f64, f64) {
        let angle_deg = self
            .bends
            .iter()
            .map(|bend| (bend.released_angle_deg - bend.target_angle_deg).abs())
            .fold(0.0, f64::max);
        let rise_mm = self
            .rises
            .iter()
            .map(|rise| (rise.released_mm - rise.target_mm).abs())
            .fold(0.0, f64::max);
        (angle_deg, rise_mm)
    }

    /// Warnings: what the pressed plate misses, and why.
    pub fn notes(&self) -> Vec<Diagnostic> {
        let (angle_deg, rise_mm) = self.worst();
        self.limits
            .iter()
            .map(|limit| {
                let warning = Diagnostic::warning(format!(
                    "the pressed plate misses the drawing by up to {angle_deg:.1} degrees and {rise_mm:.2} mm: {}",
                    limit.reason
                ));
                limit.help.iter().fold(warning, Diagnostic::help)
            })
            .collect()
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
                .zip(arcs(mid))
                .map(|(bend, (radius_mm, _))| BendCompensation {
                    between: bend.between.clone(),
                    target_angle_deg: bend.target_angle_deg,
                    target_inside_radius_mm: bend.target_inside_radius_mm,
                    die_angle_deg: bend.die_angle_deg,
                    die_inside_radius_mm: radius_mm - self.problem.thickness_mm / 2.0,
                    k_r: bend.target_angle_deg / bend.die_angle_deg,
                    method: "pressing calculated".to_owned(),
                })
                .collect(),
            model: self.model.clone(),
        }
    }
}

//! The search itself: what it moves, what it misses, which runs it believes.

use super::{
    ANGLE_MET_DEG, Effort, Frame, LENGTH_MET_MM, NoPressing, Pressing, Progress, StripOutline,
    Task, Watcher, largest_force,
};
use crate::forming::die_shape::{DieShape, NoShape};
use crate::forming::press::measure::{Measured, bent_at_mm, measure};
use crate::forming::press::problem::{Fineness, Problem};
use crate::forming::press::run::{Moment, Pressed};
use crate::forming::press::strip::{State, Strip};
use crate::forming::{STEEPEST_FACE_DEG, tilt};
use crate::quantity::Angle;
use nalgebra::{DMatrix, DVector, Point2};

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
/// Pictures kept of the closing.
const FRAMES: usize = 24;

/// One press and what is missing.
pub(super) struct Trial {
    pub(super) problem: Problem,
    pub(super) strip: Strip,
    pub(super) pressed: Pressed,
    pub(super) closed: Measured,
    pub(super) released: Measured,
    pub(super) frames: Vec<Frame>,
    /// Misses, in units of what counts as met.
    pub(super) miss: DVector<f64>,
}

impl Task<'_> {
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
    pub(super) fn opens(&self, shape: &DieShape) -> bool {
        let Ok(level) = shape.chain() else {
            return false;
        };
        level.steepest_deg(tilt(&level, self.part.dies.tilt)) <= STEEPEST_FACE_DEG
    }

    /// Variables of a shape: turns in degrees, rises and inner flats in mm; all without sign.
    pub(super) fn variables(shape: &DieShape) -> DVector<f64> {
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
    pub(super) fn shape(&self, variables: &DVector<f64>) -> DieShape {
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
        let places = bent_at_mm(&strip, &pressed.closed, &problem.mid);
        let measured =
            |state: &State| measure(&strip, state, &problem.mid, &places).ok_or(NoPressing::Unlike);
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
pub(super) fn believed(strip: &Strip, pressed: &Pressed) -> Result<(), NoPressing> {
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

pub(super) fn outline(
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

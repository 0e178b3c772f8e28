//! The search itself: what it moves, what it misses, which runs it believes.

use super::readings::{Learned, Readings, Variation};
use super::{
    ANGLE_MET_DEG, Effort, Frame, HeldBack, LENGTH_MET_MM, NoPressing, Pressing, Progress, Stage,
    StripOutline, Task, Watcher, radius_met_mm,
};
use crate::forming::die_shape::{DieShape, NoShape};
use crate::forming::press::balance::Setting;
use crate::forming::press::guard::Doubt;
use crate::forming::press::measure::MeasuredStrip;
use crate::forming::press::problem::{Fineness, Problem};
use crate::forming::press::run::{Moment, Pressed};
use crate::forming::press::strip::Strip;
use crate::forming::{STEEPEST_FACE_DEG, tilt};
use crate::part::profile::Bend;
use crate::quantity::Angle;
use nalgebra::{DMatrix, DVector, Point2};

/// The quick model searches until this many times the limits are met.
const QUICK_ENOUGH: f64 = 0.8;
/// Presses of the quick model at most.
const MOST_QUICK: u32 = 10;
/// Presses of the full model at most.
const MOST_FULL: u32 = 7;
/// A press that does not bring the misses down to this share of the best so far was in vain. Own choice.
const WORTH_IT: f64 = 0.9;
/// So many refused presses end a stage.
const MOST_REFUSED: u32 = 3;
/// Noses are moved so many times at most.
const NOSE_ROUNDS: u32 = 2;
/// Sharper noses cannot be printed: about the width of a line from a common 0.4 mm nozzle. Common practice, no source.
const SHARPEST_NOSE_MM: f64 = 0.4;
/// A bend whose radius changes by less than this share of what its nose changes is left alone. Own choice: a much sharper
/// nose for a little less radius would only be pressed in.
const LEAST_FOLLOWS: f64 = 0.3;
/// A search ends with the best so far when its presses have taken so many iterations. Own choice: ten times what one takes
/// otherwise, half a minute; no clock, so that it ends at the same place everywhere.
const MOST_ITERATIONS: u32 = 20_000;
/// So many presses in vain in a row end a stage.
const MOST_IN_VAIN: u32 = 3;
/// Weight of the slope between two flats beside angles and rises. Own choice.
const SLOPE_COUNTS: f64 = 4.0;
/// Square of a step, in units of what counts as met, that teaches half of what it shows. Own choice.
const SMALL_STEP: f64 = 0.5;
/// A press whose misses are below this many times what counts as met is followed by one that is likely to be near the last: the
/// first one follows exact slopes and leaves a tenth of them. Own choice.
const NEARLY: f64 = 20.0;
/// What inputs change is taken for that of dies this near, in units of what counts as met: four degrees and 0.6 mm. Measured on
/// 62 parts: ranges of two presses that are next to alike differ by 7 % (the touching and sticking of single nodes decides), by a
/// quarter from half a degree to four degrees apart, by 90 % further away.
const NEAR: f64 = 20.0;
/// Variables are varied by this share of what counts as met, for slopes.
const VARIED: f64 = 1e-3;
/// Longest change of a turn and of a length between two presses.
const LONGEST_CHANGE: (f64, f64) = (12.0, 0.6);
/// Least turn of a die bend.
const LEAST_TURN_DEG: f64 = 1.0;
/// Pictures kept of the closing.
const FRAMES: usize = 24;

/// One moment of the closing: how far the upper die is lifted, its force for each mm of width, displacements.
pub(super) type Shown = (f64, f64, DVector<f64>);

/// One press and what is missing.
pub(super) struct Trial {
    pub(super) problem: Problem,
    pub(super) setting: Setting,
    pub(super) pressed: Pressed,
    pub(super) closed: MeasuredStrip,
    pub(super) released: MeasuredStrip,
    /// The closing, step by step.
    pub(super) moments: Vec<Shown>,
    /// Misses, in units of what counts as met.
    pub(super) miss: DVector<f64>,
    /// What a change of each variable changes in each miss, both in units of what counts as met, where that was asked for.
    slopes: Option<DMatrix<f64>>,
    /// What inputs change, where that was asked for.
    learned: Option<Learned>,
}

/// What is varied beside a press.
#[derive(Clone, Copy, PartialEq)]
enum Vary {
    Nothing,
    /// The variables of the dies.
    Dies,
    /// What is not known exactly.
    Inputs,
}

impl Task {
    /// The problem of dies of a shape.
    fn problem(&self, shape: &DieShape) -> Result<Problem, NoShape> {
        let level = shape.chain()?;
        let turn = tilt(&level, self.tilt);
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
        level.steepest_deg(tilt(&level, self.tilt)) <= STEEPEST_FACE_DEG
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

    /// The drawn shape with other variables and radii at mid-thickness, two for each step.
    pub(super) fn shape(&self, variables: &DVector<f64>, mid_radii_mm: &[[f64; 2]]) -> DieShape {
        let mut shape = self.drawn.clone();
        let values: Vec<f64> = variables.iter().copied().collect();
        for ((step, own), radii_mm) in shape
            .steps
            .iter_mut()
            .zip(values.chunks(3))
            .zip(mid_radii_mm)
        {
            let [first, second, rise_mm] = *own else {
                continue;
            };
            let signed = |turn: Angle, degrees: f64| Angle::deg(degrees * turn.rad().signum());
            step.turns = [signed(step.turns[0], first), signed(step.turns[1], second)];
            step.rise_mm = rise_mm * step.rise_mm.signum();
            step.mid_radii_mm = *radii_mm;
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

    /// What a measured strip has of each variable.
    pub(super) fn measured_variables(&self, measured: &MeasuredStrip) -> Option<DVector<f64>> {
        let wanted = Self::variables(&self.drawn).len();
        let mut got = Vec::with_capacity(wanted);
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
        (got.len() == wanted).then(|| DVector::from_vec(got))
    }

    /// Shapes with one turn or rise each that is a little larger, as problems; none where not all of them exist.
    fn dies_varied(&self, variables: &DVector<f64>, mid_radii_mm: &[[f64; 2]]) -> Vec<Variation> {
        let limits = self.limits();
        let varied = limits.iter().enumerate().take(3 * self.drawn.steps.len());
        let each = varied.map(|(row, limit)| {
            let mut variables = variables.clone();
            let by = VARIED * limit;
            if let Some(value) = variables.get_mut(row) {
                *value += by;
            }
            let problem = self.problem(&self.shape(&variables, mid_radii_mm))?;
            Ok(Variation { problem, by })
        });
        each.collect::<Result<_, NoShape>>().unwrap_or_default()
    }

    /// Presses dies of some variables and noses.
    fn press(
        &self,
        (variables, mid_radii_mm): (&DVector<f64>, &[[f64; 2]]),
        vary: Vary,
        blocks_of: Option<&Setting>,
        fineness: Fineness,
        mut progress: Progress,
        watcher: &mut Watcher<'_>,
    ) -> Result<Trial, NoPressing> {
        let problem = self.problem(&self.shape(variables, mid_radii_mm))?;
        let inputs = (vary == Vary::Inputs).then(|| self.inputs(&problem));
        let dies = match vary {
            Vary::Dies => self.dies_varied(variables, mid_radii_mm),
            Vary::Nothing | Vary::Inputs => Vec::new(),
        };
        let variations = inputs.as_ref().map_or(&dies, |inputs| &inputs.variations);
        let mut moments: Vec<Shown> = Vec::new();
        let mut watch = |moment: &Moment<'_>| {
            moments.push((
                moment.lifted_mm,
                moment.force_n_mm,
                moment.state.moved.clone(),
            ));
            progress.lifted_mm = moment.lifted_mm;
            watcher(&progress)
        };
        let read = self.press_varied(&problem, variations, blocks_of, fineness, &mut watch)?;
        let limits = self.limits();
        let miss = &read.readings.variables - Self::variables(&self.drawn);
        let slopes = in_units(&read.slopes.of_inputs, &limits).filter(|_| vary == Vary::Dies);
        let force_limited = read.pressed.force_limited;
        let learned =
            inputs.map(|inputs| self.learned(&problem, force_limited, inputs, read.slopes));
        Ok(Trial {
            learned,
            problem,
            closed: read.closed,
            released: read.released,
            moments,
            miss: miss.component_div(&limits),
            slopes,
            setting: read.setting,
            pressed: read.pressed,
        })
    }

    /// Searches the dies that make the drawn plate.
    ///
    /// Newton's method by the exact slopes of the first press, corrected by Broyden's from press to press; first on the quick
    /// model, then with what it learned on the full one. What it moves are the turns of each bend, the rise of each step and
    /// the lengths of flats between steps. Noses follow the drawn radii; they are moved where a step shall keep its radius and
    /// that brings the radius of a bend to the drawn one.
    ///
    /// # Errors
    /// When not even the drawn dies give an answer, or the watcher ends the search.
    pub fn search(
        &self,
        effort: Effort,
        watcher: &mut Watcher<'_>,
    ) -> Result<Pressing, NoPressing> {
        let mut search = Search::of(self, watcher);
        let enough = match effort {
            Effort::Quick => 1.0,
            Effort::Full => QUICK_ENOUGH,
        };
        let quick = Fineness::quick(&self.base.metal);
        let mut best = search.stage(quick, enough)?;
        for _ in 0..NOSE_ROUNDS {
            if !search.move_noses(&best)? {
                break;
            }
            best = search.stage(quick, enough)?;
        }
        if effort == Effort::Full {
            best = search.stage(Fineness::FULL, 1.0)?;
        }
        let known = search.known_near(&best);
        let Search {
            variables,
            mid_radii_mm,
            presses,
            held_back,
            ..
        } = search;
        let die = self.shape(&variables, &mid_radii_mm);
        let learned = match known {
            Some(learned) => learned,
            None => self.sensitivities(&best, watcher)?,
        };
        Ok(self.outcome(best, &die, effort, presses, learned, held_back))
    }

    /// How much larger than drawn the inside radii of a pressed strip are.
    pub(super) fn radius_misses_mm(&self, measured: &MeasuredStrip) -> Vec<f64> {
        self.drawn_bends
            .iter()
            .zip(&measured.bends)
            .map(|(drawn, bend)| bend.inside_radius_mm - drawn.inside_radius_mm)
            .collect()
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
    fn limited(
        &self,
        variables: &DVector<f64>,
        change: &DVector<f64>,
        mid_radii_mm: &[[f64; 2]],
    ) -> DVector<f64> {
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
            if self.opens(&self.shape(&tried, mid_radii_mm)) {
                return tried;
            }
            share *= 0.5;
        }
        variables.clone()
    }
}

/// Slopes of the variables by the first of them, in units of what counts as met; the rest, lengths of flats, follow their own alone.
/// `None` unless all that were varied are known.
fn in_units(of_inputs: &[Option<Readings>], limits: &DVector<f64>) -> Option<DMatrix<f64>> {
    if of_inputs.is_empty() {
        return None;
    }
    let mut slopes = DMatrix::identity(limits.len(), limits.len());
    for ((mut column, slope), limit) in slopes.column_iter_mut().zip(of_inputs).zip(limits) {
        column.copy_from(&(slope.as_ref()?.variables.component_div(limits) * *limit));
    }
    Some(slopes)
}

/// What inputs change near some dies.
struct Known {
    variables: DVector<f64>,
    mid_radii_mm: Vec<[f64; 2]>,
    force_limited: bool,
    learned: Learned,
}

/// A search under way.
struct Search<'s, 'w> {
    task: &'s Task,
    watcher: &'s mut Watcher<'w>,
    variables: DVector<f64>,
    /// Radii of the dies at mid-thickness, two for each step.
    mid_radii_mm: Vec<[f64; 2]>,
    /// What a change of each variable changes in each miss, in units of what counts as met.
    slopes: DMatrix<f64>,
    knows_slopes: bool,
    /// Dies whose blocks are those of all that follow: of the first press on the coarse mesh and on the fine one.
    blocks_of: [Option<Setting>; 2],
    /// Presses done, quick and full.
    presses: [u32; 2],
    /// Iterations that they took.
    iterations: u32,
    /// What inputs change.
    known: Option<Known>,
    /// Largest misses of the last press; in units of what counts as met, in degrees and in mm.
    worst: f64,
    worst_deg: Option<f64>,
    worst_mm: Option<f64>,
    /// What kept the last stage from going on.
    held_back: Option<HeldBack>,
}

impl<'s, 'w> Search<'s, 'w> {
    fn of(task: &'s Task, watcher: &'s mut Watcher<'w>) -> Self {
        let variables = Task::variables(&task.drawn);
        let count = variables.len();
        Self {
            task,
            watcher,
            variables,
            mid_radii_mm: task.drawn.steps.iter().map(|s| s.mid_radii_mm).collect(),
            slopes: DMatrix::identity(count, count),
            knows_slopes: false,
            blocks_of: [None, None],
            presses: [0, 0],
            iterations: 0,
            known: None,
            worst: f64::INFINITY,
            worst_deg: None,
            worst_mm: None,
            held_back: None,
        }
    }

    /// Takes out what is known of what inputs change, if it was learned near the best press.
    fn known_near(&mut self, best: &Trial) -> Option<Learned> {
        let known = self.known.take()?;
        let apart = (&known.variables - &self.variables).component_div(&self.task.limits());
        let is_near = apart.amax() < NEAR
            && known.mid_radii_mm == self.mid_radii_mm
            && known.force_limited == best.pressed.force_limited;
        is_near.then_some(known.learned)
    }

    /// One press with given radii; counted and watched.
    fn press(
        &mut self,
        mid_radii_mm: &[[f64; 2]],
        fineness: Fineness,
        vary: Vary,
    ) -> Result<Trial, NoPressing> {
        let full = fineness == Fineness::FULL;
        let [quick_done, full_done] = &mut self.presses;
        let done = if full { full_done } else { quick_done };
        *done += 1;
        let progress = Progress {
            press: *done,
            stage: if full { Stage::Full } else { Stage::Quick },
            lifted_mm: 0.0,
            worst_deg: self.worst_deg,
            worst_mm: self.worst_mm,
        };
        let [quick_blocks, full_blocks] = &mut self.blocks_of;
        let kept = if full { full_blocks } else { quick_blocks };
        let mut trial = self.task.press(
            (&self.variables, mid_radii_mm),
            vary,
            kept.as_ref(),
            fineness,
            progress,
            self.watcher,
        )?;
        kept.get_or_insert_with(|| trial.setting.clone());
        self.iterations += trial.pressed.iterations;
        if let Some(learned) = trial.learned.take() {
            self.known = Some(Known {
                variables: self.variables.clone(),
                mid_radii_mm: mid_radii_mm.to_vec(),
                force_limited: trial.pressed.force_limited,
                learned,
            });
        }
        Ok(trial)
    }

    /// What is worth varying beside the next press: the dies, as long as their slopes are unknown; the inputs, where the next one
    /// is likely to be near the last.
    fn vary(&self, fineness: Fineness) -> Vary {
        if !self.knows_slopes {
            Vary::Dies
        } else if fineness != Fineness::FULL && self.known.is_none() && self.worst < NEARLY {
            Vary::Inputs
        } else {
            Vary::Nothing
        }
    }

    /// Presses until all is met within `enough` limits, or no press brings it nearer. The best press; the variables are
    /// its own afterwards.
    fn stage(&mut self, fineness: Fineness, enough: f64) -> Result<Trial, NoPressing> {
        let most = if fineness == Fineness::FULL {
            MOST_FULL
        } else {
            MOST_QUICK
        };
        let limits = self.task.limits();
        let mut last: Option<(DVector<f64>, DVector<f64>)> = None;
        let mut best: Option<(Trial, DVector<f64>)> = None;
        let mut refused = 0;
        let (mut best_merit, mut since_better) = (f64::INFINITY, 0);
        self.held_back = None;
        let radii_mm = self.mid_radii_mm.clone();
        for _ in 0..most {
            let vary = self.vary(fineness);
            let trial = match self.press(&radii_mm, fineness, vary) {
                Ok(trial) => trial,
                Err(NoPressing::Stopped) => return Err(NoPressing::Stopped),
                Err(error) => {
                    // Half way back to what worked; the first dies must work by themselves.
                    let Some((_, good)) = &best else {
                        return Err(error);
                    };
                    refused += 1;
                    if refused > MOST_REFUSED {
                        self.held_back = Some(HeldBack::Refused(error));
                        break;
                    }
                    self.variables = (&self.variables + good) * 0.5;
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
            (self.worst_deg, self.worst_mm) = (Some(of(true)), Some(of(false)));
            self.worst = miss.amax();
            if let Some(slopes) = &trial.slopes {
                self.slopes.clone_from(slopes);
                self.knows_slopes = true;
            } else if let Some((before, before_miss)) = &last {
                // Broyden's update of the slopes, weaker where a step is so small that the mesh's noise decides.
                let step = (&self.variables - before).component_div(&limits);
                let wrong = &miss - before_miss - &self.slopes * &step;
                self.slopes += wrong * step.transpose() / (step.norm_squared() + SMALL_STEP);
            }
            last = Some((self.variables.clone(), miss.clone()));
            let merit = self.task.merit(&miss);
            if best.is_none() || merit < best_merit {
                since_better = if merit < WORTH_IT * best_merit {
                    0
                } else {
                    since_better + 1
                };
                best_merit = merit;
                best = Some((trial, self.variables.clone()));
            } else {
                since_better += 1;
            }
            if miss.amax() <= enough || since_better > MOST_IN_VAIN {
                break;
            }
            if self.iterations > MOST_ITERATIONS {
                self.held_back = Some(HeldBack::Ended(self.iterations));
                break;
            }
            let Some(change) = self.slopes.clone().lu().solve(&miss) else {
                break;
            };
            let change = -change.component_mul(&limits);
            let wanted = self.task.limited(&self.variables, &change, &radii_mm);
            if (&wanted - &self.variables).component_div(&limits).amax() < 0.025 {
                break;
            }
            self.variables = wanted;
        }
        let (trial, good) = best.ok_or(Doubt::Unlike)?;
        self.variables = good;
        Ok(trial)
    }

    /// Moves the noses of bends that come out too round or too sharp, if that can help: tried by one press with the
    /// sharpest noses that can be printed. Whether any nose was moved.
    fn move_noses(&mut self, best: &Trial) -> Result<bool, NoPressing> {
        let misses_mm = self.task.radius_misses_mm(&best.released);
        let base = &self.task.base;
        let half_gap_mm = f64::midpoint(base.thickness_mm, base.clearance_mm);
        let sharpest_mm = SHARPEST_NOSE_MM + half_gap_mm;
        let tried_mm: Vec<[f64; 2]> = self
            .mid_radii_mm
            .iter()
            .zip(misses_mm.chunks(2).zip(self.task.drawn_bends.chunks(2)))
            .zip(&self.task.keeps_radius)
            .map(|((radii_mm, (misses_mm, drawn)), keeps)| {
                if !keeps {
                    return *radii_mm;
                }
                let tried = |radius_mm: f64, miss_mm: f64, bend: &Bend| {
                    if miss_mm.abs() <= radius_met_mm(bend.turn) {
                        radius_mm
                    } else if miss_mm > 0.0 {
                        sharpest_mm.min(radius_mm)
                    } else {
                        radius_mm - miss_mm
                    }
                };
                match (misses_mm, drawn) {
                    ([first, second], [one, other]) => [
                        tried(radii_mm[0], *first, one),
                        tried(radii_mm[1], *second, other),
                    ],
                    _ => *radii_mm,
                }
            })
            .collect();
        if tried_mm == self.mid_radii_mm {
            return Ok(false);
        }
        let quick = Fineness::quick(&base.metal);
        let trial = match self.press(&tried_mm, quick, Vary::Nothing) {
            Ok(trial) => trial,
            Err(NoPressing::Stopped) => return Err(NoPressing::Stopped),
            Err(_) => return Ok(false),
        };
        let tried_misses_mm = self.task.radius_misses_mm(&trial.released);
        let mut moved = false;
        let noses = self.mid_radii_mm.iter_mut().flatten();
        for ((((radius_mm, tried_mm), miss_mm), tried_miss_mm), bend) in noses
            .zip(tried_mm.iter().flatten())
            .zip(misses_mm)
            .zip(tried_misses_mm)
            .zip(&self.task.drawn_bends)
        {
            // Well within what counts as met, and only between both: what lies beyond the tried nose cannot be reached.
            let aim_mm = 0.5 * radius_met_mm(bend.turn) * miss_mm.signum();
            let share = (miss_mm - aim_mm) / (miss_mm - tried_miss_mm);
            let follows = (miss_mm - tried_miss_mm) / (*radius_mm - tried_mm);
            if (0.0..=1.0).contains(&share) && follows > LEAST_FOLLOWS {
                *radius_mm += share * (tried_mm - *radius_mm);
                moved = true;
            }
        }
        Ok(moved)
    }
}

/// Some of the moments of the closing, evenly spread over the way of the die.
pub(super) fn frames(strip: &Strip, moments: &[Shown]) -> Vec<Frame> {
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

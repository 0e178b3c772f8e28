//! One pressing: closing in steps, Newton's method in each, then letting go.

use super::balance::Setting;
use super::failed::Failed;
use super::neighbour::{Carried, Neighbour, close_beside};
use super::newton::{Evaluated, Settings};
use super::release::release;
use super::strip::StripState;
use nalgebra::DVector;
use std::ops::ControlFlow;

/// One point of the force curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// How far the upper die still stands above its closed place.
    pub lifted_mm: f64,
    /// Force on it, N for each mm of width.
    pub force_n_mm: f64,
}

/// What came out.
#[derive(Debug, Clone)]
pub struct Pressed {
    /// Closed strip.
    pub closed: StripState,
    /// Strip after letting go.
    pub released: StripState,
    /// Force while closing.
    pub curve: Vec<Point>,
    /// Newton iterations in all.
    pub iterations: u32,
    /// Largest contact pressure while closing.
    pub most_pressure_mpa: f64,
    /// Whether the force ended the closing, before the dies were closed.
    pub force_limited: bool,
    /// Work of the contact forces on the strip while closing, less that of the hold, N (N mm for each mm of width).
    pub work_n: f64,
    /// Work that the weak hold took out of it, N; it should be next to nothing.
    pub drag_n: f64,
    /// What came of each neighbour; `None` where it was lost.
    pub beside: Vec<Option<Carried>>,
    /// The same press closed by [`CLOSER_MM`] more; where there are neighbours.
    ///
    /// [`CLOSER_MM`]: super::neighbour::CLOSER_MM
    pub closer: Option<Carried>,
}

impl Pressed {
    /// Largest force while closing, N for each mm of width.
    pub fn largest_force_n_mm(&self) -> f64 {
        self.curve
            .iter()
            .map(|point| point.force_n_mm)
            .fold(0.0, f64::max)
    }
}

/// What a run shows of itself after each step of closing.
#[derive(Debug, Clone, Copy)]
pub struct Moment<'a> {
    /// How far the upper die still stands above its closed place.
    pub lifted_mm: f64,
    /// Force on it, N for each mm of width.
    pub force_n_mm: f64,
    /// Displacements.
    pub state: &'a StripState,
}

/// Watches a run and may end it.
pub type Watch<'a> = dyn FnMut(&Moment<'_>) -> ControlFlow<()> + 'a;

/// A step shorter than this share of the largest means that the sheet is about to snap to another shape.
const STUCK: f64 = 0.01;
/// How fast the hold grows then, and how strong it may become.
const HOLD_GROWS: f64 = 30.0;
const MOST_HOLD_N_MM2: f64 = 30.0;
/// How closely a force that ends the closing is met, as a share of it.
const FORCE_MET: f64 = 0.002;
/// The first step is so many times as short as it may be.
const FIRST_SHORTER: f64 = 2.0;
/// How far off the foretold place of a node may be, as a share of the closing step where nothing hinders: steps are made longer
/// or shorter for it. Own choice: closings of up to four times that step take two thirds of the steps and come out nearer to
/// those of a fifth of it than equal steps do.
const FORETOLD: f64 = 0.1;
/// A step that took more iterations is followed by a shorter one.
const HARD_ITERATIONS: u32 = 14;

/// Share of the change between the last two steps that the next is expected to change by. Own choice: with none and with all of
/// it more iterations are needed.
const EXPECTED_CHANGE: f64 = 0.4;

/// Where the last steps, movements with the closing that each took, lead in the next `taken_mm`.
fn led_on(lately: &[(DVector<f64>, f64)], taken_mm: f64) -> Option<DVector<f64>> {
    match lately {
        [] => None,
        [(moved, over_mm)] => Some(moved * (taken_mm / over_mm)),
        [.., (before, long_mm), (moved, over_mm)] => {
            let change = (moved / *over_mm - before / *long_mm) / (over_mm + long_mm);
            let more = EXPECTED_CHANGE * taken_mm * (taken_mm + over_mm);
            Some(moved * (taken_mm / over_mm) + change * more)
        }
    }
}

/// Looks for the place where the closing has a wanted force, once a step has gone beyond it.
struct Sought {
    wanted_n_mm: f64,
    /// Nearest place beyond it, above the closed one, and its force.
    beyond: Option<(f64, f64)>,
    tries: i32,
}

impl Sought {
    /// The next step from a place with less than that force; infinite while no place beyond it is known.
    ///
    /// Straight between both at first. The force grows ever faster, so that falls short: from try to try the step is at least a
    /// larger share of what is left, up to half of it.
    fn step_mm(&mut self, lifted_mm: f64, force_n_mm: f64, least_mm: f64) -> f64 {
        let Some((beyond_mm, beyond_n_mm)) = self.beyond else {
            return f64::INFINITY;
        };
        if lifted_mm - beyond_mm < least_mm {
            // Shorter steps came there with less force than the longer one.
            self.beyond = None;
            return f64::INFINITY;
        }
        let least = (0.01 * libm::ldexp(1.0, self.tries)).min(0.5);
        self.tries += 1;
        let share = (self.wanted_n_mm - force_n_mm) / (beyond_n_mm - force_n_mm);
        (lifted_mm - beyond_mm) * share.clamp(least, 0.9)
    }
}

/// Presses a strip: the upper die comes down from where it touches. `beside` are carried along.
///
/// # Errors
/// When no balance is found; nothing of the run is returned then.
pub fn press(
    setting: &Setting,
    beside: &[&Setting],
    settings: &Settings,
    watch: &mut Watch<'_>,
) -> Result<Pressed, Failed> {
    let strip = &setting.strip;
    let mut press = setting.press();
    let mut state = strip.untouched();
    let mut room = strip.stiffness();
    let mut grip = press.untouched();
    let mut neighbours: Vec<Neighbour<'_>> = beside.iter().map(|one| Neighbour::of(one)).collect();
    let mut curve = Vec::new();
    let mut iterations = 0;
    let mut step_mm = settings.step_mm / FIRST_SHORTER;
    let mut sought = Sought {
        wanted_n_mm: settings.most_force_n_mm,
        beyond: None,
        tries: 0,
    };
    let mut lately: Vec<(DVector<f64>, f64)> = Vec::with_capacity(3);
    let mut contact_force = DVector::zeros(strip.freedoms());
    let mut most_pressure_mpa: f64 = 0.0;
    let mut hold_force = DVector::zeros(strip.freedoms());
    let (mut force_limited, mut work_n, mut drag_n) = (false, 0.0, 0.0);
    let mut force_n_mm = 0.0;
    while press.upper.lifted_mm > settings.end_mm {
        let before_mm = press.upper.lifted_mm;
        if iterations > settings.most_iterations {
            return Err(Failed::TooLong {
                iterations,
                lifted_mm: before_mm,
            });
        }
        let taken_mm = step_mm.min(before_mm - settings.end_mm);
        press.note_coming(&state, &mut grip);
        press.upper.lifted_mm = before_mm - taken_mm;
        // Where the last steps lead is a good first guess; where that leads nowhere, none is.
        let guess = led_on(&lately, taken_mm).map(|led| &state.moved + led);
        let begun = iterations;
        let seats = press.seats(&state, &grip);
        let mut found = None;
        for guess in guess.iter().chain([&state.moved]) {
            found = press.balanced(&state, guess, &seats, &mut room, settings, &mut iterations);
            if found.is_some() {
                break;
            }
        }
        let Some(found) = found else {
            press.upper.lifted_mm = before_mm;
            step_mm = taken_mm / 2.0;
            if step_mm < STUCK * settings.step_mm {
                // The sheet snaps through: a stronger hold leads it across, and what it takes is counted.
                press.hold_n_mm2 *= HOLD_GROWS;
                step_mm = settings.step_mm / 8.0;
                if press.hold_n_mm2 > MOST_HOLD_N_MM2 {
                    return Err(Failed::NoBalance {
                        lifted_mm: before_mm,
                    });
                }
            }
            continue;
        };
        let upper_force = found.extra.0.upper_force;
        if upper_force > settings.most_force_n_mm * (1.0 + FORCE_MET) {
            // Too far: come back and take the part of the step that meets the force.
            sought.beyond = Some((press.upper.lifted_mm, upper_force));
            press.upper.lifted_mm = before_mm;
            step_mm = sought.step_mm(before_mm, force_n_mm, 0.0);
            if step_mm < settings.least_step_mm {
                force_limited = true;
                break;
            }
            continue;
        }
        if !beside.is_empty() {
            neighbours.truncate(beside.len());
            let is_last = press.upper.lifted_mm <= settings.end_mm
                || upper_force >= settings.most_force_n_mm * (1.0 - FORCE_MET);
            if is_last || sought.beyond.is_some() {
                let closer = Neighbour::closer(&press, before_mm, &state, &grip, most_pressure_mpa);
                neighbours.push(closer);
            }
            close_beside(
                &mut neighbours,
                beside.len(),
                &press,
                (&state, &grip),
                &found,
                &seats,
                &mut room,
            );
        }
        drop(seats);
        let Evaluated {
            moved: after,
            response,
            extra: (contact, _),
            ..
        } = found;
        let moved = &after - &state.moved;
        work_n += 0.5 * (&contact_force + &contact.force).dot(&moved);
        let held_back = &moved * press.hold_n_mm2;
        drag_n += 0.5 * (&hold_force + &held_back).dot(&moved);
        hold_force = held_back;
        press.ease_hold(upper_force);
        let off_mm = guess.map(|guess| (&after - guess).amax());
        lately.push((moved, taken_mm));
        if lately.len() > 2 {
            lately.remove(0);
        }
        state = StripState {
            moved: after,
            memory: response.memory,
        };
        grip = contact.grip;
        contact_force = contact.force;
        force_n_mm = upper_force;
        most_pressure_mpa = most_pressure_mpa.max(contact.pressure_mpa);
        curve.push(Point {
            lifted_mm: press.upper.lifted_mm,
            force_n_mm,
        });
        let moment = Moment {
            lifted_mm: press.upper.lifted_mm,
            force_n_mm,
            state: &state,
        };
        if watch(&moment).is_break() {
            return Err(Failed::Stopped);
        }
        if force_n_mm >= settings.most_force_n_mm * (1.0 - FORCE_MET) {
            force_limited = true;
            break;
        }
        let eased = off_mm.map_or(1.0, |off_mm| {
            let share = FORETOLD * settings.step_mm / off_mm;
            share.sqrt().clamp(0.5, 2.0)
        });
        let is_hard = iterations - begun > HARD_ITERATIONS;
        let eased = if is_hard { eased.min(0.7) } else { eased };
        // What a hold takes that leads the sheet across grows with the square of the step.
        let longest_mm = if press.is_led() {
            settings.step_mm
        } else {
            settings.step_mm * settings.lengthened
        };
        step_mm = (taken_mm * eased)
            .max(settings.step_mm.min(2.0 * taken_mm))
            .min(longest_mm)
            .min(sought.step_mm(press.upper.lifted_mm, force_n_mm, settings.least_step_mm));
    }
    let released = release(
        strip,
        &state,
        &contact_force,
        &mut neighbours,
        &mut room,
        settings,
        &mut iterations,
    )
    .ok_or(Failed::NoRelease)?;
    let mut answers: Vec<_> = neighbours.into_iter().map(Neighbour::answer).collect();
    let closer = answers
        .split_off(answers.len().min(beside.len()))
        .pop()
        .flatten();
    Ok(Pressed {
        closed: state,
        released,
        curve,
        iterations,
        most_pressure_mpa,
        force_limited,
        work_n: work_n - drag_n,
        drag_n,
        beside: answers,
        closer,
    })
}

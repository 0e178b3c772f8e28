//! One pressing: closing in steps, Newton's method in each, then letting go.

use super::contact::{Die, Held};
use super::failed::Failed;
use super::newton::{Evaluated, Settings, newton};
use super::on_block::{Seat, Settled, Standing};
use super::release::release;
use super::strip::{Stiffness, Strip, StripState};
use nalgebra::{DVector, Matrix2};
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

/// Weak hold on every node against floating, N/mm for each mm of width; follows the strip step by step.
const HOLD_N_MM2: f64 = 3e-4;
/// A step shorter than this share of the largest means that the sheet is about to snap to another shape.
const STUCK: f64 = 0.01;
/// How fast the hold grows then, and how strong it may become.
const HOLD_GROWS: f64 = 30.0;
const MOST_HOLD_N_MM2: f64 = 30.0;
/// How closely a force that ends the closing is met, as a share of it.
const FORCE_MET: f64 = 0.01;
/// A step that took at most so many iterations is followed by a longer one.
const EASY_ITERATIONS: u32 = 7;
/// One that took more than so many is followed by a shorter one.
const HARD_ITERATIONS: u32 = 14;
/// A contact force is small below this many times thickness times yield stress. Own choice: closing takes some six times
/// thickness times yield stress.
const LEAST_FORCE: f64 = 2.0;
/// Longest move of a node in one iteration, in thicknesses.
const LONGEST_MOVE: f64 = 0.3;

/// Nodes of a face with the length of face each carries.
fn face(strip: &Strip, row: usize, moved: &DVector<f64>) -> Vec<(usize, f64)> {
    let node = |column: usize| column * strip.rows + row;
    (0..strip.columns)
        .map(|column| {
            let here = strip.place(moved, node(column));
            let to = |other: Option<usize>| {
                other
                    .filter(|other| *other < strip.columns)
                    .map_or(0.0, |other| {
                        (strip.place(moved, node(other)) - here).norm() / 2.0
                    })
            };
            (
                node(column),
                to(column.checked_sub(1)) + to(Some(column + 1)),
            )
        })
        .collect()
}

/// Where nodes of both faces stick.
#[derive(Debug, Clone)]
struct Grip {
    lower: Vec<Option<Held>>,
    upper: Vec<Option<Held>>,
    /// How far the shapes of both blocks are out.
    out: [DVector<f64>; 2],
}

struct Contact {
    force: DVector<f64>,
    grip: Grip,
    upper_force: f64,
    pressure_mpa: f64,
    /// What the pushes add to the stiffness: column, first row in its block, and how much.
    pushes: Vec<(usize, usize, Matrix2<f64>)>,
}

struct Press<'a> {
    strip: &'a Strip,
    /// Weak hold on every node.
    hold_n_mm2: f64,
    /// Smaller contact forces do not ask for a finer balance, N for each mm of width.
    least_force: f64,
    lower: &'a Die,
    upper: Die,
    /// Places of stops beyond both ends.
    stops: Option<[f64; 2]>,
}

impl Press<'_> {
    /// Notes for nodes that do not touch where they stand before the step.
    ///
    /// Without this a node would be frictionless throughout the step in which it comes to lie on the die.
    fn note_coming(&self, state: &StripState, grip: &mut Grip) {
        let top = self.strip.rows - 1;
        let [out_lower, out_upper] = &grip.out;
        for (die, row, held, out) in [
            (self.lower, 0, &mut grip.lower, out_lower),
            (&self.upper, top, &mut grip.upper, out_upper),
        ] {
            for (column, held) in held.iter_mut().enumerate() {
                if !matches!(held, Some(Held::At(_))) {
                    let node = column * self.strip.rows + row;
                    let place = self.strip.place(&state.moved, node);
                    *held = die.near_given(place, out).map(|near| Held::Coming {
                        gap_mm: near.gap_mm,
                        along_mm: near.along_mm,
                    });
                }
            }
        }
    }

    /// Both faces of the strip on their dies, as they stand when a step begins.
    fn seats(&self, state: &StripState, grip: &Grip) -> [Seat<'_>; 2] {
        let place = |node: usize| self.strip.place(&state.moved, node);
        let seat = |die, row, held: &[Option<Held>], out| {
            let nodes = face(self.strip, row, &state.moved)
                .into_iter()
                .zip(held)
                .map(|((node, area_mm), held)| Standing {
                    node,
                    area_mm,
                    held: *held,
                });
            Seat::new(die, nodes.collect(), place, out)
        };
        let [under, top] = &grip.out;
        [
            seat(self.lower, 0, &grip.lower, under),
            seat(&self.upper, self.strip.rows - 1, &grip.upper, top),
        ]
    }

    /// Contact forces at `moved`, and both blocks in balance with them.
    fn contact(
        &self,
        moved: &DVector<f64>,
        [lower, upper]: &[Seat<'_>; 2],
    ) -> Option<(Contact, [Settled; 2])> {
        let place = |node: usize| self.strip.place(moved, node);
        let settled = [lower.settle(place)?, upper.settle(place)?];
        let [under, top] = &settled;
        let mut answer = Contact {
            force: DVector::zeros(moved.len()),
            grip: Grip {
                lower: Vec::with_capacity(under.pushes.len()),
                upper: Vec::with_capacity(top.pushes.len()),
                out: [under.out.clone(), top.out.clone()],
            },
            upper_force: 0.0,
            pressure_mpa: 0.0,
            pushes: Vec::new(),
        };
        for (seat, settled, is_upper) in [(lower, under, false), (upper, top, true)] {
            for (node, push) in seat.nodes().zip(&settled.pushes) {
                let kept = if is_upper {
                    &mut answer.grip.upper
                } else {
                    &mut answer.grip.lower
                };
                kept.push(push.map(|push| Held::At(push.anchor_mm)));
                let Some(push) = push else { continue };
                answer.force[2 * node] += push.force.x;
                answer.force[2 * node + 1] += push.force.y;
                answer.pressure_mpa = answer.pressure_mpa.max(push.pressure_mpa);
                if is_upper {
                    answer.upper_force -= push.force.y;
                }
                let (column, row) = (node / self.strip.rows, 2 * (node % self.strip.rows));
                answer.pushes.push((column, row, push.stiffness));
            }
        }
        self.stop_ends(moved, &mut answer);
        Some((answer, settled))
    }

    /// Pushes of the stops on both ends, without friction; as stiff as the lower die.
    fn stop_ends(&self, moved: &DVector<f64>, answer: &mut Contact) {
        let Some([left_mm, right_mm]) = self.stops else {
            return;
        };
        let strip = self.strip;
        let last = strip.columns - 1;
        for (column, stop_mm, inwards) in [(0, left_mm, 1.0), (last, right_mm, -1.0)] {
            for row in 0..strip.rows {
                let node = column * strip.rows + row;
                let free_mm = inwards * (strip.place(moved, node).x - stop_mm);
                let (pressure, grows) = self.lower.stops(free_mm);
                let ends = 1.0 + f64::from(u8::from(row > 0 && row + 1 < strip.rows));
                let area_mm = 0.5 * ends * strip.thickness_mm / (strip.rows - 1) as f64;
                answer.force[2 * node] += inwards * pressure * area_mm;
                let stiffness = Matrix2::new(-grows * area_mm, 0.0, 0.0, 0.0);
                answer.pushes.push((column, 2 * row, stiffness));
            }
        }
    }

    /// One closing step; the state and grip after it, or `None`.
    fn balanced(
        &self,
        state: &StripState,
        guess: &DVector<f64>,
        grip: &Grip,
        room: &mut Stiffness,
        settings: &Settings,
        iterations: &mut u32,
    ) -> Option<(StripState, Contact)> {
        let seats = self.seats(state, grip);
        let evaluate = |moved: &DVector<f64>, room: &mut Stiffness| {
            let response = self.strip.prepare(moved, state, room)?;
            let (contact, settled) = self.contact(moved, &seats)?;
            let out = &contact.force - &response.force - (moved - &state.moved) * self.hold_n_mm2;
            Some(Evaluated {
                moved: moved.clone(),
                enough: settings.balance * contact.force.amax().max(self.least_force),
                response,
                out,
                extra: (contact, settled),
            })
        };
        let stiffen = |now: &Evaluated<(Contact, [Settled; 2])>, room: &mut Stiffness| {
            self.strip.stiffen(room);
            let (contact, [under, top]) = &now.extra;
            for (column, row, push) in &contact.pushes {
                let first = 2 * self.strip.rows * column + row;
                room.band.add_square(first, first, push);
            }
            room.band.add_diagonal(self.hold_n_mm2);
            // What the give of the blocks takes off the pushes again.
            let freedoms = now.moved.len();
            let [lower, upper] = &seats;
            let mut ties = lower.ties(under, freedoms)?;
            ties.extend(upper.ties(top, freedoms)?);
            Some(ties)
        };
        let longest_mm = LONGEST_MOVE * self.strip.thickness_mm;
        let found = newton(guess, longest_mm, room, iterations, evaluate, stiffen)?;
        let after = StripState {
            moved: found.moved,
            memory: found.response.memory,
        };
        Some((after, found.extra.0))
    }
}

/// Presses a strip: the upper die starts `upper.lifted_mm` above its closed place and comes down.
///
/// `stops` are the places along x beyond which neither end can go.
///
/// # Errors
/// When no balance is found; nothing of the run is returned then.
pub fn press(
    strip: &Strip,
    [lower, upper]: [&Die; 2],
    stops: Option<[f64; 2]>,
    settings: &Settings,
    watch: &mut Watch<'_>,
) -> Result<Pressed, Failed> {
    let mut press = Press {
        strip,
        hold_n_mm2: HOLD_N_MM2,
        least_force: LEAST_FORCE * strip.thickness_mm * strip.metal.first_yield_mpa(),
        lower,
        upper: upper.clone(),
        stops,
    };
    let mut state = strip.untouched();
    let mut room = strip.stiffness();
    let nobody = vec![None; strip.columns];
    let mut grip = Grip {
        lower: nobody.clone(),
        upper: nobody,
        out: [lower, upper].map(|die| DVector::zeros(die.shapes())),
    };
    let mut curve = Vec::new();
    let mut iterations = 0;
    let mut step_mm = settings.step_mm / 8.0;
    let mut last_move: Option<(DVector<f64>, f64)> = None;
    let mut contact_force = DVector::zeros(strip.freedoms());
    let mut most_pressure_mpa: f64 = 0.0;
    let mut hold_force = DVector::zeros(strip.freedoms());
    let (mut force_limited, mut work_n, mut drag_n) = (false, 0.0, 0.0);
    let mut force_n_mm = 0.0;
    while press.upper.lifted_mm > settings.end_mm {
        let before_mm = press.upper.lifted_mm;
        let taken_mm = step_mm.min(before_mm - settings.end_mm);
        press.note_coming(&state, &mut grip);
        press.upper.lifted_mm = before_mm - taken_mm;
        // The last step's movement, scaled, is a good first guess; where it leads nowhere, none is.
        let guess = last_move
            .as_ref()
            .map(|(moved, over_mm)| &state.moved + moved * (taken_mm / over_mm));
        let begun = iterations;
        let mut found = None;
        for guess in guess.iter().chain([&state.moved]) {
            found = press.balanced(&state, guess, &grip, &mut room, settings, &mut iterations);
            if found.is_some() {
                break;
            }
        }
        let Some((after, contact)) = found else {
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
        if contact.upper_force > settings.most_force_n_mm * (1.0 + FORCE_MET) {
            // Too far: come back and take the part of the step that meets the force.
            press.upper.lifted_mm = before_mm;
            let share =
                (settings.most_force_n_mm - force_n_mm) / (contact.upper_force - force_n_mm);
            step_mm = taken_mm * share.clamp(0.1, 0.9);
            if step_mm < settings.least_step_mm {
                force_limited = true;
                break;
            }
            continue;
        }
        let moved = &after.moved - &state.moved;
        work_n += 0.5 * (&contact_force + &contact.force).dot(&moved);
        let held_back = &moved * press.hold_n_mm2;
        drag_n += 0.5 * (&hold_force + &held_back).dot(&moved);
        hold_force = held_back;
        press.hold_n_mm2 = (press.hold_n_mm2 / 3.0).max(HOLD_N_MM2);
        last_move = Some((moved, taken_mm));
        state = after;
        grip = contact.grip;
        contact_force = contact.force;
        force_n_mm = contact.upper_force;
        most_pressure_mpa = most_pressure_mpa.max(contact.pressure_mpa);
        curve.push(Point {
            lifted_mm: press.upper.lifted_mm,
            force_n_mm: contact.upper_force,
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
        let eased = match iterations - begun {
            taken if taken <= EASY_ITERATIONS => 2.0,
            taken if taken <= HARD_ITERATIONS => 1.0,
            _ => 0.7,
        };
        step_mm = (taken_mm * eased).min(settings.step_mm);
    }
    let released = release(
        strip,
        &state,
        &contact_force,
        &mut room,
        settings,
        &mut iterations,
    )
    .ok_or(Failed::NoRelease)?;
    Ok(Pressed {
        closed: state,
        released,
        curve,
        iterations,
        most_pressure_mpa,
        force_limited,
        work_n: work_n - drag_n,
        drag_n,
    })
}

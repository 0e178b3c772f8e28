//! Presses whose inputs differ by next to nothing from those of another one, carried along by it: its derivatives.
//!
//! A press is a chain of balances. After each step of closing and of letting go, a neighbour is brought from where the press
//! came to a balance of its own by the equations of the press:
//!
//! ```text
//! K δ = r' − r
//! ```
//!
//! K the tangent of the press, r' what is out of balance in the neighbour and r what the press itself has left over. What a
//! neighbour remembers (plastic flow, places where it sticks, how far blocks are out) is its own throughout. So the
//! difference between both over that of their inputs is the derivative of the discrete solution; it costs one factorisation
//! for all neighbours and about two evaluations of the forces for each.
//!
//! # Valid for
//! Differences so small that neighbour and press touch, stick and flow at the same places; between kinks a press is smooth.

use super::balance::{Balance, Grip, Press, Setting};
use super::newton::Evaluated;
use super::on_block::Seat;
use super::slope::{DERIVED, Slope};
use super::strip::{Stiffness, StripState};
use nalgebra::DVector;

/// By how much the die of a neighbour stands lower that is closed a little further, mm.
pub const CLOSER_MM: f64 = 1e-6;
/// Corrections of a neighbour in one step at most.
const MOST_CORRECTIONS: u32 = 3;
/// Longest correction of a neighbour: longer ones are those of a loose blank, whose place nothing decides.
const LONGEST_MM: f64 = 1e-3;
/// A neighbour counts as balanced when this share is left of what was out of balance.
const CORRECTED: f64 = 1e-3;

/// What came of a neighbour.
#[derive(Debug, Clone)]
pub struct Carried {
    /// Closed strip.
    pub closed: StripState,
    /// Strip after letting go.
    pub released: StripState,
    /// Force on the upper die when closed, N for each mm of width.
    pub force_n_mm: f64,
    /// Largest contact pressure while closing.
    pub most_pressure_mpa: f64,
}

/// A neighbour under way; lost when its forces cannot be had.
pub(super) struct Neighbour<'a> {
    press: Press<'a>,
    pub(super) closed: StripState,
    grip: Grip,
    /// What is left of it while it is let go.
    pub(super) state: StripState,
    pub(super) force: DVector<f64>,
    force_n_mm: f64,
    most_pressure_mpa: f64,
    is_lost: bool,
}

impl<'a> Neighbour<'a> {
    /// A neighbour before anything happened.
    pub(super) fn of(setting: &'a Setting) -> Self {
        let press = setting.press();
        Self {
            closed: press.strip.untouched(),
            state: press.strip.untouched(),
            grip: press.untouched(),
            force: DVector::zeros(press.strip.freedoms()),
            press,
            force_n_mm: 0.0,
            most_pressure_mpa: 0.0,
            is_lost: false,
        }
    }

    /// The press itself before a step, its die `lifted_mm` up, to be closed a little further by the step.
    pub(super) fn closer(
        press: &Press<'a>,
        lifted_mm: f64,
        state: &StripState,
        grip: &Grip,
        most_pressure_mpa: f64,
    ) -> Self {
        let mut press = press.clone();
        press.upper.lifted_mm = lifted_mm;
        Self {
            press,
            closed: state.clone(),
            state: state.clone(),
            grip: grip.clone(),
            force: DVector::zeros(state.moved.len()),
            force_n_mm: 0.0,
            most_pressure_mpa,
            is_lost: false,
        }
    }

    pub(super) fn strip(&self) -> &'a super::strip::Strip {
        self.press.strip
    }

    /// What came of it.
    pub(super) fn answer(self) -> Option<Carried> {
        (!self.is_lost).then_some(Carried {
            closed: self.closed,
            released: self.state,
            force_n_mm: self.force_n_mm,
            most_pressure_mpa: self.most_pressure_mpa,
        })
    }

    /// Takes its place after a step of closing.
    fn take(&mut self, found: Balance) {
        let (contact, _) = found.extra;
        self.closed = StripState {
            moved: found.moved,
            memory: found.response.memory,
        };
        self.grip = contact.grip;
        self.force = contact.force;
        self.force_n_mm = contact.upper_force;
        self.most_pressure_mpa = self.most_pressure_mpa.max(contact.pressure_mpa);
    }
}

/// Carries neighbours along a step of closing that the press has taken from `before` to `found`; those after the first `beside`
/// are closed [`CLOSER_MM`] further. The room stands as `found` has left it.
pub(super) fn close_beside(
    neighbours: &mut [Neighbour<'_>],
    beside: usize,
    press: &Press<'_>,
    (before, before_grip): (&StripState, &Grip),
    found: &Balance,
    seats: &[Seat<'_>; 2],
    room: &mut Stiffness,
) {
    let Some(rest) = press.stiffen(found, seats, room) else {
        return neighbours.iter_mut().for_each(|one| one.is_lost = true);
    };
    for (number, one) in neighbours.iter_mut().enumerate() {
        one.press.note_coming(&one.closed, &mut one.grip);
        let closer_mm = if number < beside { 0.0 } else { CLOSER_MM };
        one.press.upper.lifted_mm = press.upper.lifted_mm - closer_mm;
        one.press.hold_n_mm2 = press.hold_n_mm2;
    }
    let begun: Vec<[Seat<'_>; 2]> = neighbours
        .iter()
        .map(|one| {
            let seats = one.press.seats(&one.closed, &one.grip);
            one.grip.foretell(&seats, before_grip, found);
            seats
        })
        .collect();
    let guesses = neighbours
        .iter()
        .map(|one| (!one.is_lost).then(|| &found.moved + (&one.closed.moved - &before.moved)));
    let brought = balanced_beside(
        Slope::of(&mut room.band, &rest).as_ref(),
        &found.out,
        guesses.collect(),
        |number, moved| {
            let one = &neighbours[number];
            one.press
                .evaluate(moved, &one.closed, &begun[number], 0.0, None)
        },
    );
    drop(begun);
    for (one, brought) in neighbours.iter_mut().zip(brought) {
        match brought {
            Some(found) => one.take(found),
            None => one.is_lost = true,
        }
    }
}

/// The same for a step of letting go. `evaluate` gives what is out of balance in a neighbour.
pub(super) fn release_beside<T>(
    neighbours: &mut [Neighbour<'_>],
    slope: Option<&Slope<'_>>,
    before: &DVector<f64>,
    found: &Evaluated<T>,
    evaluate: impl Fn(&Neighbour<'_>, &DVector<f64>) -> Option<Evaluated<T>>,
) {
    let guesses = neighbours
        .iter()
        .map(|one| (!one.is_lost).then(|| &found.moved + (&one.state.moved - before)));
    let brought = balanced_beside(slope, &found.out, guesses.collect(), |number, moved| {
        evaluate(&neighbours[number], moved)
    });
    for (one, brought) in neighbours.iter_mut().zip(brought) {
        match brought {
            Some(found) => {
                one.state = StripState {
                    moved: found.moved,
                    memory: found.response.memory,
                };
            }
            None => one.is_lost = true,
        }
    }
}

/// Brings neighbours from a first guess to where as much is left over as in the press.
fn balanced_beside<T>(
    slope: Option<&Slope<'_>>,
    left: &DVector<f64>,
    guesses: Vec<Option<DVector<f64>>>,
    evaluate: impl Fn(usize, &DVector<f64>) -> Option<Evaluated<T>>,
) -> Vec<Option<Evaluated<T>>> {
    let mut here: Vec<Option<Evaluated<T>>> = guesses
        .into_iter()
        .enumerate()
        .map(|(number, guess)| evaluate(number, &guess?))
        .collect();
    let missing = |one: &Evaluated<T>| &one.out - left;
    let mut enough: Vec<f64> = here
        .iter()
        .map(|one| {
            one.as_ref()
                .map_or(0.0, |one| CORRECTED * missing(one).amax())
        })
        .collect();
    for _ in 0..MOST_CORRECTIONS {
        let open: Vec<usize> = (0..here.len())
            .filter(|number| {
                let one = here[*number].as_ref();
                one.is_some_and(|one| missing(one).amax() > enough[*number])
            })
            .collect();
        if open.is_empty() {
            break;
        }
        for number in open {
            let Some(one) = &here[number] else { continue };
            let step = slope.and_then(|slope| slope.step(&missing(one), DERIVED));
            let Some(step) = step else {
                here[number] = None;
                continue;
            };
            let next = if step.amax() > LONGEST_MM {
                None
            } else {
                evaluate(number, &(&one.moved + step))
            };
            match next {
                Some(next) if missing(&next).amax() < missing(one).amax() => {
                    here[number] = Some(next);
                }
                // A loose blank that only just touches: the next step brings it to its balance.
                _ => enough[number] = f64::INFINITY,
            }
        }
    }
    here
}

//! Newton's method on the balance of a strip, and how finely a pressing is carried out.

use super::bracket::Bracket;
use super::slope::{ITERATED, Rest, Slope};
use super::strip::{Response, Stiffness};
use nalgebra::DVector;

/// Newton iterations before a step is halved.
const MOST_ITERATIONS: u32 = 25;
/// Iterations in a row that may fail to halve the best balance.
const MOST_STALLED: u32 = 10;
/// Shortenings of one Newton step.
const SEARCHES: u32 = 6;

/// How a pressing is carried out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Closing step where nothing hinders.
    pub step_mm: f64,
    /// It may become so many times as long where the last steps foretell the next.
    pub lengthened: f64,
    /// Smallest closing step when a force is to be met.
    pub least_step_mm: f64,
    /// Closing ends when the upper die stands this far above its drawn closed place; below 0: beyond it.
    pub end_mm: f64,
    /// Closing ends at this force, N for each mm of width.
    pub most_force_n_mm: f64,
    /// Out-of-balance force that counts as balanced, as a share of the largest contact force.
    pub balance: f64,
    /// Parts in which the contact forces are taken away.
    pub release_steps: u32,
    /// Iterations after which a closing is given up.
    pub most_iterations: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            step_mm: 0.1,
            lengthened: 1.0,
            least_step_mm: 1e-5,
            end_mm: 0.0,
            most_force_n_mm: f64::INFINITY,
            balance: 2e-4,
            release_steps: 8,
            most_iterations: 8000,
        }
    }
}

/// One evaluation of a balance: what the strip answers, what is left over and how much may be.
pub(super) struct Evaluated<T> {
    pub(super) moved: DVector<f64>,
    pub(super) response: Response,
    pub(super) extra: T,
    /// Out-of-balance forces.
    pub(super) out: DVector<f64>,
    /// Largest of them that counts as balanced.
    pub(super) enough: f64,
}

/// Newton's method with a line search on the work of the out-of-balance forces along each step.
///
/// A step beyond `longest_mm` is one along which next to nothing holds the strip: it leads anywhere. All nodes are held for it
/// just so firmly that it stays within; what is stiff anyway hardly notices.
///
/// `evaluate` leaves in the room what `stiffen` makes the stiffness of, for the place evaluated last and no other; `stiffen`
/// gives what it has besides its band.
pub(super) fn newton<T>(
    guess: &DVector<f64>,
    longest_mm: f64,
    room: &mut Stiffness,
    iterations: &mut u32,
    evaluate: impl Fn(&DVector<f64>, &mut Stiffness) -> Option<Evaluated<T>>,
    stiffen: impl Fn(&Evaluated<T>, &mut Stiffness) -> Option<Rest>,
) -> Option<Evaluated<T>> {
    let mut now = evaluate(guess, room)?;
    let mut best = f64::INFINITY;
    let mut stalled = 0;
    for _ in 0..MOST_ITERATIONS {
        *iterations += 1;
        let miss = now.out.amax();
        if miss < now.enough {
            return Some(now);
        }
        if miss < 0.5 * best {
            best = miss;
            stalled = 0;
        } else {
            stalled += 1;
            if stalled > MOST_STALLED {
                return None;
            }
        }
        let held_step = |hold_n_mm2: f64, room: &mut Stiffness| {
            let rest = stiffen(&now, room)?;
            if hold_n_mm2 > 0.0 {
                room.band.add_diagonal(hold_n_mm2);
            }
            Slope::of(&mut room.band, &rest)?.step(&now.out, ITERATED)
        };
        let mut step = held_step(0.0, room)?;
        let longest = step.amax();
        if longest > longest_mm {
            let soft = now.out.dot(&step) / step.norm_squared();
            step = held_step(soft.abs() * (longest / longest_mm - soft.signum()), room)?;
            let still = step.amax();
            if still > longest_mm {
                step *= longest_mm / still;
            }
        }
        let begin = now.out.dot(&step);
        let mut bracket = Bracket::from(begin);
        let mut share = 1.0;
        let mut next = None;
        for _ in 0..=SEARCHES {
            next = evaluate(&(&now.moved + &step * share), room);
            let work = next.as_ref().map(|tried| tried.out.dot(&step));
            match bracket.next_share(share, work) {
                Some(another) => share = another,
                None => break,
            }
        }
        now = next?;
    }
    None
}

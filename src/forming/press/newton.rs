//! Newton's method on the balance of a strip, and how finely a pressing is carried out.

use super::strip::{Response, Stiffness};
use crate::numeric::band::{Band, dot};
use nalgebra::{DMatrix, DVector};

/// Newton iterations before a step is halved.
const MOST_ITERATIONS: u32 = 25;
/// Iterations in a row that may fail to halve the best balance.
const MOST_STALLED: u32 = 10;
/// Work of the out-of-balance forces along a step that may be left at its end, as a share of that at its beginning.
const WORK_LEFT: f64 = 0.5;
/// Shortenings of one Newton step.
const SEARCHES: u32 = 6;

/// How a pressing is carried out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// First and largest closing step.
    pub step_mm: f64,
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
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            step_mm: 0.1,
            least_step_mm: 1e-5,
            end_mm: 0.0,
            most_force_n_mm: f64::INFINITY,
            balance: 5e-5,
            release_steps: 8,
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

/// What a stiffness has besides its band: `Σ s gᵀ` of spread loads s that grow with g.
pub(super) type Ties = Vec<[DVector<f64>; 2]>;

/// Solves for each column of `rights`: with ties by Woodbury's formula.
fn solve_tied(band: &mut Band, ties: &Ties, rights: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let wanted = rights.ncols();
    if let (true, 1) = (ties.is_empty(), wanted) {
        let solved = band.solve(rights.as_slice())?;
        return Some(DMatrix::from_vec(rights.nrows(), 1, solved));
    }
    let count = ties.len();
    let mut sides = band.sides(wanted + count);
    let spreads = ties.iter().map(|[spread, _]| spread.as_slice());
    let columns = rights.as_slice().chunks_exact(rights.nrows().max(1));
    for (number, column) in columns.chain(spreads).enumerate() {
        sides.fill(number, column);
    }
    band.solve_sides(&mut sides)?;
    // What each tie takes from the answers. Pushes grow with few places: most of the products are left out.
    let mut taken = DMatrix::<f64>::zeros(wanted + count, count);
    for (mut sums, [_, grows]) in taken.column_iter_mut().zip(ties) {
        for (row, grows) in grows.iter().enumerate().filter(|(_, grows)| **grows != 0.0) {
            for (sum, value) in sums.iter_mut().zip(sides.row(row)) {
                *sum += grows * value;
            }
        }
    }
    let taken = taken.transpose();
    let small = DMatrix::identity(count, count) + taken.columns(wanted, count);
    let shares = small.lu().solve(&taken.columns(0, wanted))?;
    let solved = DMatrix::from_fn(rights.nrows(), wanted, |row, number| {
        let (free, tied) = sides.row(row).split_at(wanted);
        free[number] - dot(tied, shares.column(number).as_slice())
    });
    Some(solved)
}

/// What a line search knows: where the out-of-balance forces still push along the step, and where they push back.
pub(super) struct Bracket {
    begin: f64,
    low: (f64, f64),
    high: Option<(f64, f64)>,
}

impl Bracket {
    pub(super) fn from(begin: f64) -> Self {
        Self {
            begin,
            low: (0.0, begin),
            high: None,
        }
    }

    /// The next share of the step to try; `None` when this one will do. `work` is missing where the strip cannot be there.
    pub(super) fn next_share(&mut self, share: f64, work: Option<f64>) -> Option<f64> {
        let Some(work) = work else {
            self.high = Some((share, f64::NEG_INFINITY));
            return Some(self.low.0 + 0.3 * (share - self.low.0));
        };
        if self.begin <= 0.0 || work.abs() <= WORK_LEFT * self.begin {
            return None;
        }
        if work < 0.0 {
            self.high = Some((share, work));
        } else {
            self.low = (share, work);
        }
        let Some((high, back)) = self.high else {
            // It pushes on even at the end of the step.
            return (work > self.begin && share > 0.2).then_some(0.5 * share);
        };
        let (low, push) = self.low;
        let between = if back.is_finite() {
            push / (push - back)
        } else {
            0.5
        };
        Some(low + (high - low) * between.clamp(0.1, 0.9))
    }
}

/// Newton's method with a line search on the work of the out-of-balance forces along each step.
///
/// `evaluate` leaves in the room what `stiffen` makes the stiffness of, for the place evaluated last and no other; `stiffen`
/// gives what it has besides its band.
pub(super) fn newton<T>(
    guess: &DVector<f64>,
    longest_mm: f64,
    room: &mut Stiffness,
    iterations: &mut u32,
    evaluate: impl Fn(&DVector<f64>, &mut Stiffness) -> Option<Evaluated<T>>,
    stiffen: impl Fn(&Evaluated<T>, &mut Stiffness) -> Option<Ties>,
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
        let ties = stiffen(&now, room)?;
        let right = DMatrix::from_columns(std::slice::from_ref(&now.out));
        let solved = solve_tied(&mut room.band, &ties, &right)?;
        let mut step = solved.column(0).into_owned();
        let longest = step.amax();
        if longest > longest_mm {
            step *= longest_mm / longest;
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

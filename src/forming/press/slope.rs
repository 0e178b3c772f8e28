//! A stiffness ready to make steps: its band, and what it has besides.

use super::softer::Softer;
use crate::numeric::band::{Band, Factored, Sides};
use crate::numeric::columns::dot;
use crate::numeric::gmres::gmres;
use nalgebra::{DMatrix, DVector, Dyn, LU};
use std::rc::Rc;

/// What may be left of an equation that is solved by products, as a share of its right side, in one of many iterations: little
/// enough that as many are needed as with none left.
pub(super) const ITERATED: f64 = 1e-2;
/// The same for derivatives.
pub(super) const DERIVED: f64 = 1e-3;
/// Products at most.
const MOST_PRODUCTS: usize = 120;

/// Entries of a vector that is zero elsewhere: freedom and value.
pub(super) type Few = Vec<(usize, f64)>;

/// What a stiffness has besides its band: `Σ s gᵀ` of spread loads s that grow with g.
pub(super) type Ties = Vec<[Few; 2]>;

/// The entries of a vector that are not zero.
pub(super) fn few(vector: &DVector<f64>) -> Few {
    let all = vector.iter().copied().enumerate();
    all.filter(|(_, value)| *value != 0.0).collect()
}

/// What a stiffness has besides its band.
pub(super) enum Rest {
    /// `Σ s gᵀ`.
    Ties(Ties),
    /// What blocks take off the pushes on both faces.
    Softer([Rc<Softer>; 2]),
}

/// A stiffness ready to make steps.
pub(super) struct Slope<'a> {
    band: Factored<'a>,
    rest: Solved<'a>,
}

enum Solved<'a> {
    /// By Woodbury's formula.
    Ties {
        ties: &'a Ties,
        /// What the band makes of the spread loads.
        tied: Sides,
        /// How these grow with each other.
        small: LU<f64, Dyn, Dyn>,
    },
    /// By products: the band has what each node takes for itself, so that few of them are needed.
    Softer(&'a [Rc<Softer>; 2]),
}

impl<'a> Slope<'a> {
    /// `None` when a step cannot be found.
    pub(super) fn of(band: &'a mut Band, rest: &'a Rest) -> Option<Self> {
        let band = band.factored()?;
        let rest = match rest {
            Rest::Softer(softer) => Solved::Softer(softer),
            Rest::Ties(ties) => {
                let count = ties.len();
                let mut tied = band.sides(count);
                for (number, [spread, _]) in ties.iter().enumerate() {
                    for (row, spread) in spread {
                        tied.row_mut(*row)[number] = *spread;
                    }
                }
                band.solve_sides(&mut tied)?;
                let mut small = DMatrix::<f64>::identity(count, count);
                for (tie, [_, grows]) in ties.iter().enumerate() {
                    let sums = tied.combined(grows);
                    for (other, sum) in sums.iter().take(count).enumerate() {
                        small[(tie, other)] += sum;
                    }
                }
                Solved::Ties {
                    ties,
                    tied,
                    small: small.lu(),
                }
            }
        };
        Some(Self { band, rest })
    }

    /// The step that would bring balance if nothing bent; `left` may be left over.
    pub(super) fn step(&self, out: &DVector<f64>, left: f64) -> Option<DVector<f64>> {
        let mut step = DVector::from_vec(self.band.solve(out.as_slice())?);
        match &self.rest {
            Solved::Ties { ties, tied, small } => {
                let grown = ties.iter().map(|[_, grows]| {
                    let products = grows.iter().map(|(row, grows)| grows * step[*row]);
                    products.sum::<f64>()
                });
                let grown = DVector::from_iterator(ties.len(), grown);
                let shares = small.solve(&grown)?;
                for (row, value) in step.iter_mut().enumerate() {
                    *value -= dot(tied.row(row), shares.as_slice());
                }
            }
            Solved::Softer(softer) => {
                let rows: Vec<usize> = softer.iter().flat_map(|softer| softer.freedoms()).collect();
                let gathered =
                    |all: &[f64]| DVector::from_iterator(rows.len(), rows.iter().map(|r| all[*r]));
                let softened = |there: &DVector<f64>| {
                    let [lower, upper] = *softer;
                    let split = lower.freedoms().count();
                    let [first, second] = [
                        lower.product(&there.rows(0, split).into_owned())?,
                        upper.product(&there.rows(split, rows.len() - split).into_owned())?,
                    ];
                    let mut load = vec![0.0; out.len()];
                    for (row, value) in rows.iter().zip(first.iter().chain(second.iter())) {
                        load[*row] = *value;
                    }
                    Some(DVector::from_vec(self.band.solve(&load)?))
                };
                let mut whole = Vec::new();
                let shares = gmres(
                    |there| {
                        let solved = softened(there)?;
                        let rest = there - gathered(solved.as_slice());
                        whole.push(solved);
                        Some(rest)
                    },
                    &gathered(step.as_slice()),
                    left,
                    MOST_PRODUCTS,
                )?;
                // What the band makes of all shares together.
                for (share, solved) in shares.iter().zip(&whole) {
                    step.axpy(*share, solved, 1.0);
                }
            }
        }
        Some(step)
    }
}

//! Sparse symmetric equations, factorised once for as many right sides as are wanted.
//!
//! Plain columns, not blocks of columns: the faster block kernels sum in an order that depends on the processor, and on a
//! plate's conductances they win little (25 600 nodes: 27 against 38 ms on one core; 100 000: 160 against 300 ms).

use super::columns::add;
use super::wide::widely;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMat, Triplet};
use faer::{Conj, Mat, Par, Side, Spec};
use nalgebra::DMatrix;

/// A symmetric, positive matrix, summed up entry by entry.
#[derive(Debug, Clone)]
pub struct Symmetric {
    size: usize,
    entries: Vec<Triplet<usize, usize, f64>>,
}

impl Symmetric {
    /// Zeros for a number of unknowns.
    pub fn new(size: usize) -> Self {
        Self {
            size,
            entries: Vec::new(),
        }
    }

    /// Adds to the entry of a row and a column. The lower half is kept: of each pair one is given, or both, of which the
    /// upper one is left out.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        if row >= column {
            self.entries.push(Triplet::new(row, column, value));
        }
    }

    /// The lower half of the matrix.
    ///
    /// # Errors
    /// [`NoFactor::TooLarge`].
    pub fn matrix(&self) -> Result<SparseColMat<usize, f64>, NoFactor> {
        SparseColMat::try_new_from_triplets(self.size, self.size, &self.entries)
            .map_err(|_| NoFactor::TooLarge)
    }

    /// Factorises.
    ///
    /// # Errors
    /// When the matrix is not positive, or memory does not do.
    pub fn factorise(&self) -> Result<Factor, NoFactor> {
        let matrix = self.matrix()?;
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SIMPLICIAL,
            ..Default::default()
        };
        let symbolic = factorize_symbolic_cholesky(
            matrix.symbolic(),
            Side::Lower,
            SymmetricOrdering::Amd,
            params,
        )
        .map_err(|_| NoFactor::TooLarge)?;
        let mut values = vec![0.0; symbolic.len_val()];
        let mut memory = MemBuffer::new(
            symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Spec::default()),
        );
        symbolic
            .factorize_numeric_llt(
                &mut values,
                matrix.as_ref(),
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Spec::default(),
            )
            .map_err(|_| NoFactor::NotPositive)?;
        Ok(Factor { symbolic, values })
    }
}

/// Why a matrix has no factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFactor {
    /// Too large for the machine.
    TooLarge,
    /// Not positive.
    NotPositive,
}

/// A factorised matrix.
#[derive(Debug)]
pub struct Factor {
    symbolic: SymbolicCholesky<usize>,
    values: Vec<f64>,
}

impl Factor {
    /// How many unknowns.
    pub fn unknowns(&self) -> usize {
        self.symbolic.nrows()
    }

    /// Solves for each column of `right`, all of them side by side: the library's own substitution takes one after the other,
    /// with which a press between two blocks takes a tenth longer.
    pub fn solve(&self, right: &DMatrix<f64>) -> DMatrix<f64> {
        let (rows, wide) = right.shape();
        let symbolic = self.symbolic.raw();
        let (SymbolicCholeskyRaw::Simplicial(lower), Some(order)) =
            (symbolic, self.symbolic.perm())
        else {
            return self.solved_one_by_one(right);
        };
        let (order, _) = order.arrays();
        let mut sides = vec![0.0; rows * wide];
        for (number, row) in order.iter().enumerate() {
            for column in 0..wide {
                sides[number * wide + column] = right[(*row, column)];
            }
        }
        widely(
            #[inline(always)]
            || {
                substitute(
                    lower.col_ptr(),
                    lower.row_idx(),
                    &self.values,
                    &mut sides,
                    wide,
                );
            },
        );
        let mut solved = DMatrix::zeros(rows, wide);
        for (number, row) in order.iter().enumerate() {
            for column in 0..wide {
                solved[(*row, column)] = sides[number * wide + column];
            }
        }
        solved
    }

    fn solved_one_by_one(&self, right: &DMatrix<f64>) -> DMatrix<f64> {
        let (rows, columns) = right.shape();
        let mut sides = Mat::from_fn(rows, columns, |i, j| right[(i, j)]);
        let scratch = self
            .symbolic
            .solve_in_place_scratch::<f64>(columns, Par::Seq);
        let mut memory = MemBuffer::new(scratch);
        LltRef::<usize, f64>::new(&self.symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            sides.as_mut(),
            Par::Seq,
            MemStack::new(&mut memory),
        );
        DMatrix::from_fn(rows, columns, |i, j| sides[(i, j)])
    }
}

/// `L Lᵀ x = sides` in place, row by row of `wide` right sides. Columns of `L` hold their diagonal first.
#[inline(always)]
fn substitute(starts: &[usize], rows: &[usize], values: &[f64], sides: &mut [f64], wide: usize) {
    let column = |number: usize| {
        let within = starts[number] + 1..starts[number + 1];
        let below = rows[within.clone()].iter().zip(&values[within]);
        (1.0 / values[starts[number]], below)
    };
    for number in 0..starts.len() - 1 {
        let (inverse, below) = column(number);
        let (known, rest) = sides.split_at_mut((number + 1) * wide);
        let own = &mut known[number * wide..];
        // Loads are few: nothing happens before the first.
        if own.iter().all(|value| *value == 0.0) {
            continue;
        }
        for value in own.iter_mut() {
            *value *= inverse;
        }
        for (row, value) in below {
            let to = (row - number - 1) * wide;
            add(&mut rest[to..to + wide], -value, own);
        }
    }
    for number in (0..starts.len() - 1).rev() {
        let (inverse, below) = column(number);
        let (known, rest) = sides.split_at_mut((number + 1) * wide);
        let own = &mut known[number * wide..];
        for (row, value) in below {
            let from = (row - number - 1) * wide;
            add(own, -value, &rest[from..from + wide]);
        }
        for value in own {
            *value *= inverse;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solutions_fulfil_their_equations() {
        let size = 30;
        let mut matrix = Symmetric::new(size);
        let mut dense = DMatrix::<f64>::zeros(size, size);
        for (row, column, value) in (0..size).flat_map(|i| {
            let far = (7 * i + 3) % size;
            [
                (i, i, 3.0 + i as f64),
                (i, far, -0.7),
                (i, (i + 1) % size, 0.4),
            ]
        }) {
            let (low, high) = (row.min(column), row.max(column));
            matrix.add(high, low, value);
            dense[(high, low)] += value;
            if high != low {
                dense[(low, high)] += value;
            }
        }
        let right = DMatrix::from_fn(size, 3, |i, j| libm::cos((i + 5 * j) as f64));
        let factor = matrix.factorise().unwrap();
        let x = factor.solve(&right);
        assert!((&x - factor.solved_one_by_one(&right)).amax() < 1e-14);
        assert!((dense * x - right).amax() < 1e-12);
    }

    #[test]
    fn a_matrix_that_is_not_positive_is_refused() {
        let mut matrix = Symmetric::new(2);
        matrix.add(0, 0, 1.0);
        matrix.add(1, 0, 2.0);
        matrix.add(1, 1, 1.0);
        assert_eq!(matrix.factorise().err(), Some(NoFactor::NotPositive));
    }
}

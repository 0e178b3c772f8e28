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

/// So many right sides are substituted at once: rows of them stay in the processor's nearest memory.
const SIDE_BY_SIDE: usize = 32;

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

    /// Solves for each column of `right`.
    pub fn solve(&self, right: &DMatrix<f64>) -> DMatrix<f64> {
        let all: Vec<usize> = (0..self.unknowns()).collect();
        self.solve_at(&all, right)
    }

    /// What the unknowns `at` become under loads that stand on these alone, one load in each column of `right`.
    ///
    /// Loads are taken side by side, as many as a processor keeps near: the library's own substitution takes one after the other,
    /// with which a press between two blocks takes a tenth longer.
    pub fn solve_at(&self, at: &[usize], right: &DMatrix<f64>) -> DMatrix<f64> {
        let symbolic = self.symbolic.raw();
        let (SymbolicCholeskyRaw::Simplicial(lower), Some(order)) =
            (symbolic, self.symbolic.perm())
        else {
            return self.solved_one_by_one(at, right);
        };
        let (_, places) = order.arrays();
        let lower = Lower {
            starts: lower.col_ptr(),
            rows: lower.row_idx(),
            values: &self.values,
        };
        let wanted = lower.needed_for(at.iter().map(|unknown| places[*unknown]));
        let mut solved = DMatrix::zeros(at.len(), right.ncols());
        let mut sides = Vec::new();
        for from in (0..right.ncols()).step_by(SIDE_BY_SIDE) {
            let wide = SIDE_BY_SIDE.min(right.ncols() - from);
            sides.clear();
            sides.resize(self.unknowns() * wide, 0.0);
            for (number, unknown) in at.iter().enumerate() {
                let row = &mut sides[places[*unknown] * wide..][..wide];
                for (column, value) in row.iter_mut().enumerate() {
                    *value = right[(number, from + column)];
                }
            }
            widely(
                #[inline(always)]
                || lower.substitute(&mut sides, wide, &wanted),
            );
            for (number, unknown) in at.iter().enumerate() {
                let row = &sides[places[*unknown] * wide..][..wide];
                for (column, value) in row.iter().enumerate() {
                    solved[(number, from + column)] = *value;
                }
            }
        }
        solved
    }

    fn solved_one_by_one(&self, at: &[usize], right: &DMatrix<f64>) -> DMatrix<f64> {
        let columns = right.ncols();
        let mut sides = Mat::zeros(self.unknowns(), columns);
        for (number, unknown) in at.iter().enumerate() {
            for column in 0..columns {
                sides[(*unknown, column)] = right[(number, column)];
            }
        }
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
        DMatrix::from_fn(at.len(), columns, |i, j| sides[(at[i], j)])
    }
}

/// The columns of a factor `L`, each with its diagonal first.
struct Lower<'a> {
    starts: &'a [usize],
    rows: &'a [usize],
    values: &'a [f64],
}

impl<'a> Lower<'a> {
    fn count(&self) -> usize {
        self.starts.len() - 1
    }

    /// One over the diagonal of a column, and the rows and values below it.
    #[inline(always)]
    fn column(&self, number: usize) -> (f64, impl Iterator<Item = (&'a usize, &'a f64)>) {
        let within = self.starts[number] + 1..self.starts[number + 1];
        let below = self.rows[within.clone()].iter().zip(&self.values[within]);
        (1.0 / self.values[self.starts[number]], below)
    }

    /// Which unknowns must be known so that some are.
    fn needed_for(&self, some: impl Iterator<Item = usize>) -> Vec<bool> {
        let mut needed = vec![false; self.count()];
        for place in some {
            needed[place] = true;
        }
        for number in 0..self.count() {
            if needed[number] {
                for (row, _) in self.column(number).1 {
                    needed[*row] = true;
                }
            }
        }
        needed
    }

    /// `L Lᵀ x = sides` in place, row by row of `wide` right sides; `x` only where it is needed.
    #[inline(always)]
    fn substitute(&self, sides: &mut [f64], wide: usize, needed: &[bool]) {
        for number in 0..self.count() {
            let (inverse, below) = self.column(number);
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
        for number in (0..self.count()).rev().filter(|number| needed[*number]) {
            let (inverse, below) = self.column(number);
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
        let all: Vec<usize> = (0..size).collect();
        assert!((&x - factor.solved_one_by_one(&all, &right)).amax() < 1e-14);
        assert!((dense * x - right).amax() < 1e-12);
    }

    /// More loads than are taken side by side, on few of the unknowns.
    #[test]
    fn loads_on_some_unknowns_move_them_as_they_do_in_the_whole() {
        let size = 50;
        let mut matrix = Symmetric::new(size);
        for i in 0..size {
            matrix.add(i, i, 3.0 + libm::sin(i as f64));
            for other in [(5 * i + 2) % size, (i + 1) % size] {
                if other != i {
                    matrix.add(i.max(other), i.min(other), -0.4);
                }
            }
        }
        let at = [3, 17, 4, 30];
        let right = DMatrix::from_fn(at.len(), 2 * SIDE_BY_SIDE + 5, |i, j| {
            libm::cos((2 * i + 3 * j) as f64)
        });
        let mut whole = DMatrix::zeros(size, right.ncols());
        for (row, load) in at.iter().zip(right.row_iter()) {
            whole.row_mut(*row).copy_from(&load);
        }
        let factor = matrix.factorise().unwrap();
        let whole = factor.solve(&whole);
        let some = factor.solve_at(&at, &right);
        for (number, row) in at.iter().enumerate() {
            assert_eq!(some.row(number), whole.row(*row));
        }
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

//! Block-tridiagonal equations: a block for each column of nodes and for each pair of neighbours, solved column by column.

use nalgebra::{DMatrix, DVector};

/// A matrix whose columns of nodes only know their neighbours.
#[derive(Debug, Clone)]
pub struct Blocks {
    /// Own block of each column.
    pub own: Vec<DMatrix<f64>>,
    /// Block from each column to the next.
    pub next: Vec<DMatrix<f64>>,
    /// Block from the next column back to each.
    pub back: Vec<DMatrix<f64>>,
}

impl Blocks {
    /// Zeros for a number of columns of nodes, `size` unknowns in each.
    pub fn new(columns: usize, size: usize) -> Self {
        let zero = DMatrix::zeros(size, size);
        Self {
            own: vec![zero.clone(); columns],
            next: vec![zero.clone(); columns.saturating_sub(1)],
            back: vec![zero; columns.saturating_sub(1)],
        }
    }

    /// Solves `self x = right` by block elimination; `None` when a block is singular.
    pub fn solve(&self, right: &DVector<f64>) -> Option<DVector<f64>> {
        let right = DMatrix::from_columns(std::slice::from_ref(right));
        Some(self.solve_all(&right)?.column(0).into_owned())
    }

    /// The same for each column of `right`.
    pub fn solve_all(&self, right: &DMatrix<f64>) -> Option<DMatrix<f64>> {
        let size = self.own.first()?.nrows();
        let wide = right.ncols();
        let mut factors: Vec<Factor> = Vec::with_capacity(self.own.len());
        // Loads of a column, row by row, with what the columns before it push on.
        let mut reduced: Vec<Vec<f64>> = Vec::with_capacity(self.own.len());
        let mut carried = vec![0.0; size * (size + wide)];
        let mut sums = vec![0.0; size + wide];
        for (i, own) in self.own.iter().enumerate() {
            let mut block = vec![0.0; size * size];
            let mut load = vec![0.0; size * wide];
            copy_rows(own, 0, &mut block, size);
            copy_rows(right, i * size, &mut load, wide);
            if let (Some(factor), Some(before)) = (factors.last(), reduced.last()) {
                let (back, next) = (self.back.get(i - 1)?, self.next.get(i - 1)?);
                for (row, both) in carried.chunks_exact_mut(size + wide).enumerate() {
                    let (first, last) = both.split_at_mut(size);
                    for (to, from) in first.iter_mut().zip(next.row(row).iter()) {
                        *to = *from;
                    }
                    last.copy_from_slice(&before[row * wide..(row + 1) * wide]);
                }
                factor.solve(&mut carried, size + wide);
                for row in 0..size {
                    product(back, row, &carried, &mut sums);
                    let (first, last) = sums.split_at(size);
                    subtract(&mut block[row * size..(row + 1) * size], first);
                    subtract(&mut load[row * wide..(row + 1) * wide], last);
                }
            }
            factors.push(Factor::of(block, size)?);
            reduced.push(load);
        }
        let mut x = DMatrix::zeros(right.nrows(), wide);
        let mut after: Option<Vec<f64>> = None;
        for (i, (factor, mut load)) in factors.iter().zip(reduced).enumerate().rev() {
            if let (Some(next), Some(after)) = (self.next.get(i), &after) {
                for (row, load) in load.chunks_exact_mut(wide).enumerate() {
                    product(next, row, after, &mut sums[..wide]);
                    subtract(load, &sums[..wide]);
                }
            }
            factor.solve(&mut load, wide);
            for (row, values) in load.chunks_exact(wide).enumerate() {
                for (column, value) in values.iter().enumerate() {
                    x[(i * size + row, column)] = *value;
                }
            }
            after = Some(load);
        }
        x.iter().all(|value| value.is_finite()).then_some(x)
    }
}

/// Rows of a matrix from `first` on, one after the other.
fn copy_rows(from: &DMatrix<f64>, first: usize, to: &mut [f64], wide: usize) {
    for (row, to) in to.chunks_exact_mut(wide).enumerate() {
        for (to, from) in to.iter_mut().zip(from.row(first + row).iter()) {
            *to = *from;
        }
    }
}

/// A row of a matrix times other rows, summed in their order. Neighbouring columns know each other's nodes of the same and
/// the next heights only: most factors are zero.
fn product(matrix: &DMatrix<f64>, row: usize, rows: &[f64], sums: &mut [f64]) {
    sums.fill(0.0);
    for (factor, values) in matrix.row(row).iter().zip(rows.chunks_exact(sums.len())) {
        if *factor != 0.0 {
            for (sum, value) in sums.iter_mut().zip(values) {
                *sum += factor * value;
            }
        }
    }
}

fn subtract(from: &mut [f64], what: &[f64]) {
    for (from, what) in from.iter_mut().zip(what) {
        *from -= what;
    }
}

/// A block as a product of two triangles, with its rows exchanged for the largest pivots.
///
/// Everything is stored row by row, so that the innermost loops run along the right sides, which are many.
struct Factor {
    rows: Vec<f64>,
    size: usize,
    /// With which later row each was exchanged.
    exchanged: Vec<usize>,
}

impl Factor {
    /// `None` when the block is singular.
    fn of(mut rows: Vec<f64>, size: usize) -> Option<Self> {
        let mut exchanged = Vec::with_capacity(size);
        for i in 0..size {
            let mut largest = i;
            for row in i + 1..size {
                if rows[row * size + i].abs() > rows[largest * size + i].abs() {
                    largest = row;
                }
            }
            exchanged.push(largest);
            let (above, below) = rows.split_at_mut((i + 1) * size);
            let pivots = &mut above[i * size..];
            if largest > i {
                let other = (largest - i - 1) * size;
                pivots.swap_with_slice(&mut below[other..other + size]);
            }
            if pivots[i] == 0.0 {
                return None;
            }
            let inverse = 1.0 / pivots[i];
            for row in below.chunks_exact_mut(size) {
                row[i] *= inverse;
                let share = row[i];
                for (value, pivot) in row[i + 1..].iter_mut().zip(&pivots[i + 1..]) {
                    *value -= share * pivot;
                }
            }
        }
        Some(Self {
            rows,
            size,
            exchanged,
        })
    }

    /// Solves for right sides given row by row, `wide` of them, in place.
    fn solve(&self, right: &mut [f64], wide: usize) {
        let take = |rows: &[f64], own: &mut [f64], factor: f64| {
            for (own, other) in own.iter_mut().zip(rows) {
                *own -= factor * other;
            }
        };
        for (row, other) in self.exchanged.iter().enumerate() {
            if *other > row {
                let (above, below) = right.split_at_mut(other * wide);
                above[row * wide..(row + 1) * wide].swap_with_slice(&mut below[..wide]);
            }
        }
        for row in 1..self.size {
            let (above, below) = right.split_at_mut(row * wide);
            let own = &mut below[..wide];
            let factors = &self.rows[row * self.size..];
            for (rows, factor) in above.chunks_exact(wide).zip(factors) {
                take(rows, own, *factor);
            }
        }
        for row in (0..self.size).rev() {
            let (above, below) = right.split_at_mut((row + 1) * wide);
            let own = &mut above[row * wide..];
            let factors = &self.rows[row * self.size..(row + 1) * self.size];
            let (diagonal, factors) = (factors[row], &factors[row + 1..]);
            for (rows, factor) in below.chunks_exact(wide).zip(factors).rev() {
                take(rows, own, *factor);
            }
            for value in own {
                *value /= diagonal;
            }
        }
    }
}

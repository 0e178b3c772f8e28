//! Banded equations: each unknown knows only those whose numbers are near its own.
//!
//! Elimination without exchanging rows, four pivots at a time, in the matrix's own place. Made for stiffnesses: nearly
//! symmetric, and their diagonals grow with all that touches them. Where that is not enough, [`Band::factored`] says so.
//!
//! Everything is stored row by row and padded, so that the innermost loops run along whole groups of four numbers.

use super::columns::{add, dot};
use super::wide::widely;
use nalgebra::Matrix2;

/// Pivots taken at a time.
const PIVOTS: usize = 4;
/// By how much numbers may grow while eliminating, over the largest of the diagonal: the last four digits of a Newton
/// step are not missed.
const MOST_GROWTH: f64 = 1e4;

/// A banded matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    size: usize,
    /// Room on the left of the diagonal, the same on its right, the diagonal included.
    side: usize,
    /// Row by row, `2 · side` of each around the diagonal.
    values: Vec<f64>,
}

/// Right sides of [`Factored::solve_sides`], and their answers afterwards.
#[derive(Debug, Clone)]
pub struct Sides {
    wide: usize,
    /// Row by row: the innermost loops run along the right sides, which are many.
    values: Vec<f64>,
}

impl Sides {
    /// What the right sides have in a row; beyond their number only zeros.
    pub fn row(&self, row: usize) -> &[f64] {
        &self.values[row * self.wide..(row + 1) * self.wide]
    }

    /// The same to be filled.
    pub fn row_mut(&mut self, row: usize) -> &mut [f64] {
        &mut self.values[row * self.wide..(row + 1) * self.wide]
    }

    /// The sum of multiples of rows.
    pub fn combined(&self, multiples: &[(usize, f64)]) -> Vec<f64> {
        let mut sums = vec![0.0; self.wide];
        let (groups, rest) = multiples.as_chunks::<PIVOTS>();
        for group in groups {
            let [a, b, c, d] = group;
            let rows = self.row(a.0).iter().zip(self.row(b.0));
            let rows = rows.zip(self.row(c.0)).zip(self.row(d.0));
            for (sum, (((p, q), r), s)) in sums.iter_mut().zip(rows) {
                *sum += (a.1 * p + b.1 * q) + (c.1 * r + d.1 * s);
            }
        }
        for (row, multiple) in rest {
            add(&mut sums, *multiple, self.row(*row));
        }
        sums
    }
}

impl Band {
    /// Zeros for `size` unknowns, each of which knows those up to `reach` numbers away.
    pub fn new(size: usize, reach: usize) -> Self {
        let side = (reach + PIVOTS - 1).next_multiple_of(PIVOTS);
        let mut band = Self {
            size,
            side,
            values: vec![0.0; 2 * side * size.next_multiple_of(PIVOTS)],
        };
        band.clear();
        band
    }

    /// Zeros again.
    pub fn clear(&mut self) {
        self.values.fill(0.0);
        let width = 2 * self.side;
        // Rows that fill up the last group of pivots.
        for row in self.values.chunks_exact_mut(width).skip(self.size) {
            row[self.side] = 1.0;
        }
    }

    /// Number of unknowns.
    pub fn size(&self) -> usize {
        self.size
    }

    /// An entry; zero outside the band.
    pub fn at(&self, row: usize, column: usize) -> f64 {
        let offset = (self.side + column).checked_sub(row);
        let offset = offset.filter(|offset| *offset < 2 * self.side);
        offset.map_or(0.0, |offset| self.values[2 * self.side * row + offset])
    }

    /// Adds to an entry within the band.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.add_run(row, column, [value]);
    }

    /// Adds to neighbouring entries of a row, from a column on, all of them within the band.
    pub fn add_run<const LONG: usize>(&mut self, row: usize, column: usize, run: [f64; LONG]) {
        let first = (2 * self.side - 1) * row + self.side + column;
        for (value, more) in self.values[first..first + LONG].iter_mut().zip(run) {
            *value += more;
        }
    }

    /// Adds two by two neighbouring entries.
    pub fn add_square(&mut self, row: usize, column: usize, square: &Matrix2<f64>) {
        self.add_run(row, column, [square.m11, square.m12]);
        self.add_run(row + 1, column, [square.m21, square.m22]);
    }

    /// Adds to the whole diagonal.
    pub fn add_diagonal(&mut self, more: f64) {
        for (number, row) in self.values.chunks_exact_mut(2 * self.side).enumerate() {
            if number < self.size {
                row[self.side] += more;
            }
        }
    }

    /// Makes its two triangles, in its own place: before it is filled again it must be cleared.
    ///
    /// `None` when it cannot be eliminated in the order of its rows.
    pub fn factored(&mut self) -> Option<Factored<'_>> {
        widely(
            #[inline(always)]
            || self.eliminated(),
        )
    }

    #[inline(always)]
    fn eliminated(&mut self) -> Option<Factored<'_>> {
        let (side, width) = (self.side, 2 * self.side);
        let diagonal = self.values.iter().skip(side).step_by(width);
        let limit = MOST_GROWTH * diagonal.fold(0.0, |most: f64, value| most.max(value.abs()));
        // What four pivots know of each other, and of the columns after them.
        let mut heads = [[0.0; PIVOTS]; PIVOTS];
        let mut tails = vec![0.0; PIVOTS * side];
        let mut most: f64 = 0.0;
        for first in (0..self.values.len() / width).step_by(PIVOTS) {
            let (known, below) = self.values.split_at_mut((first + PIVOTS) * width);
            let own = &mut known[first * width..];
            let rows = heads.iter_mut().zip(tails.chunks_exact_mut(side));
            for (k, ((head, tail), own)) in rows.zip(own.chunks_exact(width)).enumerate() {
                let (near, far) = own[side - k..].split_at(PIVOTS);
                head.copy_from_slice(near);
                tail[..far.len()].copy_from_slice(far);
                tail[far.len()..].fill(0.0);
            }
            for k in 0..PIVOTS {
                let (tail, tails) = tails[k * side..].split_at_mut(side);
                most = most.max(heads[k][k].abs());
                heads[k][k] = 1.0 / heads[k][k];
                let pivots = heads[k];
                for (head, own) in heads[k + 1..].iter_mut().zip(tails.chunks_exact_mut(side)) {
                    head[k] *= pivots[k];
                    let factor = head[k];
                    add(&mut head[k + 1..], -factor, &pivots[k + 1..]);
                    add(own, -factor, tail);
                }
            }
            let rows = heads.iter().zip(tails.chunks_exact(side));
            for (k, ((head, tail), own)) in rows.zip(own.chunks_exact_mut(width)).enumerate() {
                let (near, far) = own[side - k..].split_at_mut(PIVOTS);
                near.copy_from_slice(head);
                far.copy_from_slice(&tail[..far.len()]);
            }
            // All factors first: they wait for each other, the rows do not.
            let [[a, ab, ac, ad], [_, b, bc, bd], [_, _, c, cd], [_, _, _, d]] = heads;
            for (row, own) in (PIVOTS..=side).zip(below.chunks_exact_mut(width)) {
                if let [first, second, third, fourth, ..] = &mut own[side - row..] {
                    *first *= a;
                    *second = (*second - *first * ab) * b;
                    *third = (*third - (*first * ac + *second * bc)) * c;
                    *fourth = (*fourth - (*first * ad + *second * bd) - *third * cd) * d;
                }
            }
            for (row, own) in (PIVOTS..=side).zip(below.chunks_exact_mut(width)) {
                let (factors, rest) = own[side - row..].split_at_mut(PIVOTS);
                // Strips of four, six and eight layers.
                match side {
                    16 => take_known::<16>(rest, factors, &tails),
                    20 => take_known::<20>(rest, factors, &tails),
                    24 => take_known::<24>(rest, factors, &tails),
                    _ => take_group(&mut rest[..side], factors, &tails),
                }
            }
        }
        (most > 0.0 && most <= limit).then_some(Factored(self))
    }
}

/// A banded matrix as its two triangles: the lower one with ones on its diagonal, the upper one with its diagonal
/// inverted.
#[derive(Debug, Clone, Copy)]
pub struct Factored<'a>(&'a Band);

impl Factored<'_> {
    /// Solves for a right side; `None` when the answer is no number.
    pub fn solve(self, right: &[f64]) -> Option<Vec<f64>> {
        widely(
            #[inline(always)]
            || self.solved(right),
        )
    }

    #[inline(always)]
    fn solved(self, right: &[f64]) -> Option<Vec<f64>> {
        let (size, side, width) = (self.0.size, self.0.side, 2 * self.0.side);
        // Zeros before and after, so that every row is a whole one.
        let mut x = vec![0.0; self.0.values.len() / width + width];
        x[side..side + size].copy_from_slice(right);
        // Columns beside a group that all its rows know; one of them knows one more, further out.
        let beside = side - PIVOTS;
        let groups = || self.0.values.chunks_exact(PIVOTS * width).enumerate();
        for (number, rows) in groups() {
            let first = side + PIVOTS * number;
            let near = &x[first - beside..first];
            let mut known = [0.0; PIVOTS];
            for (k, known) in known.iter_mut().enumerate() {
                let to = k * width + side - k;
                *known = x[first + k] - dot(&rows[to - beside..to], near);
            }
            let own = |row: usize, column: usize| rows[row * width + side + column - row];
            let a = known[0] - rows[side - beside - 1] * x[first - beside - 1];
            let b = known[1] - own(1, 0) * a;
            let c = known[2] - own(2, 0) * a - own(2, 1) * b;
            let d = known[3] - own(3, 0) * a - own(3, 1) * b - own(3, 2) * c;
            x[first..first + PIVOTS].copy_from_slice(&[a, b, c, d]);
        }
        for (number, rows) in groups().rev() {
            let first = side + PIVOTS * number;
            let end = first + PIVOTS;
            let near = &x[end..end + beside];
            let mut known = [0.0; PIVOTS];
            for (k, known) in known.iter_mut().enumerate() {
                let from = k * width + side + PIVOTS - k;
                *known = x[first + k] - dot(&rows[from..from + beside], near);
            }
            let own = |row: usize, column: usize| rows[row * width + side + column - row];
            let d = known[3] - rows[3 * width + side + 1 + beside] * x[end + beside];
            let d = d * own(3, 3);
            let c = (known[2] - own(2, 3) * d) * own(2, 2);
            let b = (known[1] - own(1, 3) * d - own(1, 2) * c) * own(1, 1);
            let a = (known[0] - own(0, 3) * d - own(0, 2) * c - own(0, 1) * b) * own(0, 0);
            x[first..end].copy_from_slice(&[a, b, c, d]);
        }
        x.truncate(side + size);
        x.drain(..side);
        x.iter().all(|value| value.is_finite()).then_some(x)
    }

    /// Room for right sides, all zero.
    pub fn sides(self, count: usize) -> Sides {
        let wide = count.next_multiple_of(PIVOTS);
        let rows = self.0.values.len() / (2 * self.0.side);
        Sides {
            wide,
            values: vec![0.0; rows * wide],
        }
    }

    /// The same for many right sides at once, each in its place.
    pub fn solve_sides(self, sides: &mut Sides) -> Option<()> {
        widely(
            #[inline(always)]
            || self.solved_sides(sides),
        )
    }

    #[inline(always)]
    fn solved_sides(self, sides: &mut Sides) -> Option<()> {
        let (side, width) = (self.0.side, 2 * self.0.side);
        let Sides { wide, values: x } = sides;
        let wide = *wide;
        let rows = x.len() / wide;
        // Nothing happens before the first load.
        let loaded = x.iter().position(|value| *value != 0.0).unwrap_or(0) / wide;
        for first in (loaded / PIVOTS * PIVOTS..rows).step_by(PIVOTS) {
            let (known, below) = x.split_at_mut((first + PIVOTS) * wide);
            let group = &mut known[first * wide..];
            for k in 1..PIVOTS {
                let factors = &self.0.values[(first + k) * width + side - k..][..k];
                let (before, own) = group.split_at_mut(k * wide);
                for (factor, row) in factors.iter().zip(before.chunks_exact(wide)) {
                    add(&mut own[..wide], -factor, row);
                }
            }
            for (row, to) in (first + PIVOTS..=first + side).zip(below.chunks_exact_mut(wide)) {
                let factors = &self.0.values[row * width + side + first - row..][..PIVOTS];
                take_group(to, factors, group);
            }
        }
        for first in (0..rows).step_by(PIVOTS).rev() {
            let (above, known) = x.split_at_mut(first * wide);
            let group = &mut known[..PIVOTS * wide];
            for k in (0..PIVOTS).rev() {
                let factors = &self.0.values[(first + k) * width + side..][..PIVOTS - k];
                let (own, after) = group[k * wide..].split_at_mut(wide);
                for (factor, row) in factors[1..].iter().zip(after.chunks_exact(wide)) {
                    add(own, -factor, row);
                }
                for value in own {
                    *value *= factors[0];
                }
            }
            let nearest = (first.saturating_sub(side - 1)..first).rev();
            for (row, to) in nearest.zip(above.chunks_exact_mut(wide).rev()) {
                let mut factors = [0.0; PIVOTS];
                let stored = &self.0.values[row * width + side + first - row..(row + 1) * width];
                for (factor, stored) in factors.iter_mut().zip(stored) {
                    *factor = *stored;
                }
                take_group(to, &factors, group);
            }
        }
        x.iter().all(|value| value.is_finite()).then_some(())
    }
}

/// Takes multiples of four rows, which stand one after the other, from another one.
#[inline(always)]
fn take_group(from: &mut [f64], factors: &[f64], rows: &[f64]) {
    let [first, second, third, fourth] = [0, 1, 2, 3].map(|k: usize| factors[k]);
    let (a, rest) = rows.split_at(from.len());
    let (b, rest) = rest.split_at(from.len());
    let (c, d) = rest.split_at(from.len());
    let rows = a.iter().zip(b).zip(c).zip(d);
    for (from, (((a, b), c), d)) in from.iter_mut().zip(rows) {
        *from -= (first * a + second * b) + (third * c + fourth * d);
    }
}

/// The same for rows of a length known beforehand, which saves a third of the time.
#[inline(always)]
fn take_known<const LONG: usize>(from: &mut [f64], factors: &[f64], rows: &[f64]) {
    take_group(&mut from[..LONG], factors, &rows[..4 * LONG]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::{DMatrix, DVector};

    /// A matrix of nothing in particular with a heavy diagonal, and the same as a dense one.
    fn any(size: usize, reach: usize) -> (Band, DMatrix<f64>) {
        let mut band = Band::new(size, reach);
        let mut dense = DMatrix::zeros(size, size);
        for row in 0..size {
            for column in row.saturating_sub(reach)..(row + reach + 1).min(size) {
                let value = libm::sin(1.3 * row as f64 + 0.7 * (column * column) as f64)
                    + if row == column { 6.0 } else { 0.0 };
                band.add(row, column, value);
                dense[(row, column)] = value;
            }
        }
        (band, dense)
    }

    #[test]
    fn solves_like_a_dense_matrix() {
        for (size, reach) in [(1, 0), (7, 3), (36, 5), (54, 21), (90, 13), (101, 8)] {
            let (mut band, dense) = any(size, reach);
            for row in 0..size {
                for column in 0..size {
                    assert_eq!(band.at(row, column), dense[(row, column)]);
                }
            }
            let right = DMatrix::from_fn(size, 7, |row, number| {
                // The first loads are missing.
                if 3 * row < size {
                    0.0
                } else {
                    libm::cos((row * (number + 1)) as f64)
                }
            });
            let expected = dense.lu().solve(&right).unwrap();
            let factored = band.factored().unwrap();
            let one = DVector::from_vec(factored.solve(right.column(2).as_slice()).unwrap());
            assert_relative_eq!(one, expected.column(2).into_owned(), epsilon = 1e-12);
            let mut sides = factored.sides(7);
            for row in 0..size {
                for number in 0..7 {
                    sides.row_mut(row)[number] = right[(row, number)];
                }
            }
            factored.solve_sides(&mut sides).unwrap();
            let all = DMatrix::from_fn(size, 7, |row, number| sides.row(row)[number]);
            assert_relative_eq!(all, expected, epsilon = 1e-12);
        }
    }

    /// Cleared, it is as good as new.
    #[test]
    fn can_be_filled_again() {
        let (mut band, _) = any(30, 5);
        let new = band.clone();
        band.factored().unwrap();
        assert_ne!(band, new);
        band.clear();
        for row in 0..30 {
            for column in 0..30 {
                if new.at(row, column) != 0.0 {
                    band.add(row, column, new.at(row, column));
                }
            }
        }
        assert_eq!(band, new);
    }

    #[test]
    fn says_where_it_cannot_solve() {
        assert!(Band::new(2, 1).factored().is_none());
        // Rows would have to be exchanged.
        for small in [0.0, 1e-9] {
            let mut band = Band::new(2, 1);
            band.add(0, 0, small);
            band.add(0, 1, 1.0);
            band.add(1, 0, 1.0);
            assert!(band.factored().is_none());
        }
    }
}

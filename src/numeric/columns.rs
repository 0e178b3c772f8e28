//! Products of matrices whose columns are long beside their number, in wide registers.

use super::four::Four;
use super::wide::widely;
use nalgebra::{DMatrix, DVector};

/// The columns of a matrix one after the other; none of a matrix without rows.
#[inline(always)]
fn columns(matrix: &DMatrix<f64>) -> impl Iterator<Item = &[f64]> + Clone {
    matrix.as_slice().chunks_exact(matrix.nrows().max(1))
}

/// Products of the columns with each other, `MᵀM`.
pub fn gram(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let count = matrix.ncols();
    let mut products = DMatrix::zeros(count, count);
    widely(
        #[inline(always)]
        || {
            for (i, one) in columns(matrix).enumerate() {
                for (j, other) in columns(matrix).take(i + 1).enumerate() {
                    let product = dot(one, other);
                    products[(i, j)] = product;
                    products[(j, i)] = product;
                }
            }
        },
    );
    products
}

/// Products of the columns with a vector, `Mᵀv`.
pub fn along(matrix: &DMatrix<f64>, vector: &DVector<f64>) -> DVector<f64> {
    let mut products = DVector::zeros(matrix.ncols());
    widely(
        #[inline(always)]
        || {
            for (product, column) in products.iter_mut().zip(columns(matrix)) {
                *product = dot(column, vector.as_slice());
            }
        },
    );
    products
}

/// `Mv`, the sum of multiples of the columns.
pub fn combined(matrix: &DMatrix<f64>, multiples: &DVector<f64>) -> DVector<f64> {
    let mut sum = DVector::zeros(matrix.nrows());
    widely(
        #[inline(always)]
        || {
            for (column, multiple) in columns(matrix).zip(multiples.iter()) {
                add(sum.as_mut_slice(), *multiple, column);
            }
        },
    );
    sum
}

/// `ABᵀ`: the sum of products of the columns of one with those of the other.
pub fn outer(one: &DMatrix<f64>, other: &DMatrix<f64>) -> DMatrix<f64> {
    let rows = one.nrows();
    let mut sum = DMatrix::zeros(rows, other.nrows());
    widely(
        #[inline(always)]
        || {
            for (one, other) in columns(one).zip(columns(other)) {
                let sums = sum.as_mut_slice().chunks_exact_mut(rows.max(1));
                for (sum, times) in sums.zip(other) {
                    add(sum, *times, one);
                }
            }
        },
    );
    sum
}

/// Product of two rows as far as the shorter one goes, in four sums.
#[inline(always)]
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let long = a.len().min(b.len());
    let ((a, rest), (b, more)) = (a[..long].as_chunks(), b[..long].as_chunks());
    let mut sums = Four::default();
    for (a, b) in a.iter().zip(b) {
        sums += Four(*a) * Four(*b);
    }
    let rest = rest.iter().zip(more).map(|(a, b)| a * b);
    sums.sum() + rest.sum::<f64>()
}

/// Adds a multiple of a row of numbers to another.
#[inline(always)]
pub fn add(sum: &mut [f64], times: f64, values: &[f64]) {
    for (sum, value) in sum.iter_mut().zip(values) {
        *sum += times * value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn products_are_those_of_matrices() {
        for (rows, count) in [(0, 3), (1, 1), (7, 4), (20, 33)] {
            let of = |seed: f64| {
                DMatrix::from_fn(rows, count, |i, j| {
                    libm::sin(seed + 1.3 * i as f64 + 0.7 * (j * j) as f64)
                })
            };
            let (one, other) = (of(0.0), of(1.0));
            assert_relative_eq!(gram(&one), one.transpose() * &one, epsilon = 1e-13);
            assert_relative_eq!(
                outer(&one, &other),
                &one * other.transpose(),
                epsilon = 1e-13
            );
            let tall = DVector::from_fn(rows, |i, _| libm::cos(i as f64));
            assert_relative_eq!(along(&one, &tall), one.tr_mul(&tall), epsilon = 1e-13);
            let wide = DVector::from_fn(count, |i, _| libm::cos(i as f64));
            assert_relative_eq!(combined(&one, &wide), &one * &wide, epsilon = 1e-13);
        }
    }
}

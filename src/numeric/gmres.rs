//! Equations of which only the product with a vector is known, by the generalised minimal residual method.
//!
//! # Source
//! Y. Saad and M. H. Schultz, SIAM J. Sci. Stat. Comput. 7 (1986) 856 (from memory); the small problem by Givens rotations.

use nalgebra::DVector;

/// Solves `A x = right` until what is left over is `met` of `right`: x as shares of the vectors that `product` was asked for, in
/// that order. `None` when that takes more than `most` products, or one of them is none.
pub fn gmres(
    mut product: impl FnMut(&DVector<f64>) -> Option<DVector<f64>>,
    right: &DVector<f64>,
    met: f64,
    most: usize,
) -> Option<Vec<f64>> {
    let begin = right.norm();
    if begin == 0.0 {
        return Some(Vec::new());
    }
    let mut basis = vec![right / begin];
    // Columns of the upper triangle, the rotations that made it, and what is left over.
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let mut rotations: Vec<(f64, f64)> = Vec::new();
    let mut loads = vec![begin];
    while loads.last().is_some_and(|left| left.abs() > met * begin) {
        if columns.len() == most {
            return None;
        }
        let mut next = product(basis.last()?)?;
        let mut column: Vec<f64> = Vec::with_capacity(basis.len() + 1);
        for own in &basis {
            let share = own.dot(&next);
            next.axpy(-share, own, 1.0);
            column.push(share);
        }
        let size = next.norm();
        for (pair, (cos, sin)) in (0..).zip(&rotations) {
            if let Some([a, b]) = column.get_mut(pair..pair + 2) {
                (*a, *b) = (cos * *a + sin * *b, cos * *b - sin * *a);
            }
        }
        let last = column.last_mut()?;
        let whole = (*last * *last + size * size).sqrt();
        if !whole.is_normal() {
            return None;
        }
        let (cos, sin) = (*last / whole, size / whole);
        *last = whole;
        rotations.push((cos, sin));
        columns.push(column);
        let load = loads.pop()?;
        loads.extend([cos * load, -sin * load]);
        if size > 0.0 {
            basis.push(next / size);
        }
    }
    // Back from the last column; what is left over beyond it is no share.
    let mut shares = loads;
    shares.truncate(columns.len());
    for (number, column) in columns.iter().enumerate().rev() {
        let (own, before) = column.split_last()?;
        let share = shares.get(number)? / own;
        *shares.get_mut(number)? = share;
        for (load, entry) in shares.iter_mut().zip(before) {
            *load -= share * entry;
        }
    }
    Some(shares)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::DMatrix;

    #[test]
    fn solutions_fulfil_their_equations() {
        for size in [1, 4, 30] {
            let matrix = DMatrix::from_fn(size, size, |i, j| {
                let far = i.abs_diff(j) as f64;
                libm::sin(3.0 * i as f64 + j as f64) / (1.0 + far) + if i == j { 3.0 } else { 0.0 }
            });
            let right = DVector::from_fn(size, |i, _| libm::cos(i as f64));
            let mut asked = Vec::new();
            let shares = gmres(
                |x| {
                    asked.push(x.clone());
                    Some(&matrix * x)
                },
                &right,
                1e-12,
                size,
            )
            .unwrap();
            assert!(asked.len() <= size && shares.len() == asked.len());
            let mut x = DVector::zeros(size);
            for (share, asked) in shares.iter().zip(&asked) {
                x.axpy(*share, asked, 1.0);
            }
            assert!((&matrix * x - &right).norm() < 1e-11 * right.norm());
        }
    }

    #[test]
    fn what_has_no_solution_is_given_up() {
        let right = DVector::from_vec(vec![1.0, 0.0]);
        // A quarter turn's projection: nothing ever reaches the right side.
        let nothing = |x: &DVector<f64>| Some(DVector::from_vec(vec![0.0, x[0]]));
        assert_eq!(gmres(nothing, &right, 1e-9, 5), None);
        assert_eq!(gmres(|_| None, &right, 1e-9, 5), None);
    }
}

//! What the give of a block takes off the stiffness of the pushes on it.

use crate::numeric::columns::{along, combined};
use nalgebra::{DMatrix, DVector, Dyn, LU, Matrix2, Point2, Vector2};

/// The stiffness of the pushes on one face, P, given a block that gives as a whole, `(1 + P·ψψᵀ)⁻¹·P`, beside that of nodes
/// each of which feels the give under itself alone.
pub(super) struct Softer {
    /// Freedoms of the strip that are pushed.
    pub(super) freedoms: Vec<usize>,
    /// Stiffness of each node given what it takes for itself.
    pub(super) lone: Vec<Matrix2<f64>>,
    /// P of each node.
    pub(super) pushed: Vec<Matrix2<f64>>,
    /// Shapes of the block at the freedoms, ψᵀ.
    pub(super) shapes: DMatrix<f64>,
    /// What their give is solved with.
    pub(super) inner: Inner,
}

/// What the give of a block is solved with.
pub(super) enum Inner {
    /// Nothing is pushed.
    Nothing,
    /// `1 + ψᵀ·P·ψ`.
    Shapes(LU<f64, Dyn, Dyn>),
    /// `1 + P·ψψᵀ`, where fewer freedoms are pushed than there are shapes.
    Freedoms(LU<f64, Dyn, Dyn>),
}

impl Softer {
    pub(super) fn freedoms(&self) -> impl Iterator<Item = usize> {
        self.freedoms.iter().copied()
    }

    /// Nodes by their first freedom, and by how much each is softer for what it takes for itself.
    pub(super) fn lone(&self) -> impl Iterator<Item = (usize, Matrix2<f64>)> {
        let nodes = self.freedoms.iter().step_by(2).copied();
        let softer = self.lone.iter().zip(&self.pushed);
        nodes.zip(softer.map(|(lone, push)| lone - push))
    }

    /// Places of the freedoms, where nodes stand.
    pub(super) fn places_mm(&self, place: impl Fn(usize) -> Point2<f64>) -> DVector<f64> {
        let nodes = self.freedoms.iter().step_by(2);
        let places = nodes.flat_map(|freedom| <[f64; 2]>::from(place(freedom / 2).coords));
        DVector::from_iterator(self.freedoms.len(), places)
    }

    /// By how much shapes go further out when the freedoms move.
    pub(super) fn out_by(&self, moved: &DVector<f64>) -> Option<DVector<f64>> {
        let pressed = by_pair(&self.pushed, moved);
        Some(match &self.inner {
            Inner::Nothing => DVector::zeros(self.shapes.nrows()),
            Inner::Freedoms(inner) => combined(&self.shapes, &inner.solve(&pressed)?),
            Inner::Shapes(inner) => inner.solve(&combined(&self.shapes, &pressed))?,
        })
    }

    /// What nodes feel alone less what they feel together, for places of the freedoms.
    pub(super) fn product(&self, places: &DVector<f64>) -> Option<DVector<f64>> {
        let pressed = by_pair(&self.pushed, places);
        let together = match &self.inner {
            Inner::Nothing => pressed,
            Inner::Freedoms(inner) => inner.solve(&pressed)?,
            Inner::Shapes(inner) => {
                let out = inner.solve(&combined(&self.shapes, &pressed))?;
                pressed - by_pair(&self.pushed, &along(&self.shapes, &out))
            }
        };
        Some(by_pair(&self.lone, places) - together)
    }
}

/// Matrices of nodes times a vector of their freedoms.
fn by_pair(matrices: &[Matrix2<f64>], vector: &DVector<f64>) -> DVector<f64> {
    let mut product = vector.clone();
    press_pairs(matrices, product.as_mut_slice());
    product
}

/// Puts the products of matrices of nodes with columns of their freedoms, one after the other, in the columns' place.
pub(super) fn press_pairs(matrices: &[Matrix2<f64>], columns: &mut [f64]) {
    for column in columns.chunks_exact_mut(2 * matrices.len().max(1)) {
        for (pair, matrix) in column.chunks_exact_mut(2).zip(matrices) {
            let moved = matrix * Vector2::new(pair[0], pair[1]);
            pair.copy_from_slice(moved.as_slice());
        }
    }
}

//! The equations of a strip: a block for each column of nodes and for each pair of neighbours, solved column by column.

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
    /// What the elements before a column add to its own block, from the second column on.
    pub(super) before: Vec<DMatrix<f64>>,
}

impl Blocks {
    pub(super) fn new(columns: usize, size: usize) -> Self {
        let zero = DMatrix::zeros(size, size);
        Self {
            own: vec![zero.clone(); columns],
            next: vec![zero.clone(); columns.saturating_sub(1)],
            back: vec![zero.clone(); columns.saturating_sub(1)],
            before: vec![zero; columns.saturating_sub(1)],
        }
    }

    pub(super) fn clear(&mut self) {
        for block in self
            .own
            .iter_mut()
            .chain(&mut self.next)
            .chain(&mut self.back)
            .chain(&mut self.before)
        {
            block.fill(0.0);
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
        let mut factors = Vec::with_capacity(self.own.len());
        let mut reduced: Vec<DMatrix<f64>> = Vec::with_capacity(self.own.len());
        for (i, own) in self.own.iter().enumerate() {
            let mut block = own.clone();
            let mut load = right.rows(i * size, size).into_owned();
            if i > 0 {
                let (back, next) = (self.back.get(i - 1)?, self.next.get(i - 1)?);
                let before: &nalgebra::LU<f64, nalgebra::Dyn, nalgebra::Dyn> =
                    factors.get(i - 1)?;
                block -= back * before.solve(next)?;
                load -= back * before.solve(reduced.get(i - 1)?)?;
            }
            factors.push(block.lu());
            reduced.push(load);
        }
        let mut x = DMatrix::zeros(right.nrows(), right.ncols());
        for i in (0..self.own.len()).rev() {
            let mut load = reduced.get(i)?.clone();
            if let Some(next) = self.next.get(i) {
                load -= next * x.rows((i + 1) * size, size);
            }
            let part = factors.get(i)?.solve(&load)?;
            x.rows_mut(i * size, size).copy_from(&part);
        }
        x.iter().all(|value| value.is_finite()).then_some(x)
    }
}

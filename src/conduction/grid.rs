//! Cells of the unfolded sheet, and how much of each is metal.

use super::unfold::CellColumn;

/// Places along each column at which an outline is looked at.
const LOOKS: usize = 6;
/// A cell with less metal than this share of itself is none.
const LEAST_COVER: f64 = 1e-4;

/// Columns from left to right, rows from front to back; cell number = column × rows + row.
#[derive(Debug, Clone)]
pub struct Grid {
    /// Columns.
    pub columns: Vec<CellColumn>,
    /// Edges of the rows, one more than there are rows.
    pub row_edges: Vec<f64>,
}

impl Grid {
    /// How many rows.
    pub fn rows(&self) -> usize {
        self.row_edges.len().saturating_sub(1)
    }

    /// How many cells.
    pub fn cells(&self) -> usize {
        self.columns.len() * self.rows()
    }

    /// Number of a cell.
    pub fn cell(&self, column: usize, row: usize) -> usize {
        column * self.rows() + row
    }

    /// Front and back edge of a row.
    pub fn row(&self, row: usize) -> (f64, f64) {
        let edge = |at: usize| self.row_edges.get(at).copied().unwrap_or(0.0);
        (edge(row), edge(row + 1))
    }

    /// Rows that a stretch from front to back lies in, with the length of it in each.
    pub fn rows_of(&self, from_mm: f64, to_mm: f64) -> impl Iterator<Item = (usize, f64)> + '_ {
        let first = self
            .row_edges
            .partition_point(|edge| *edge <= from_mm)
            .saturating_sub(1);
        (first..self.rows())
            .take_while(move |row| self.row(*row).0 < to_mm)
            .filter_map(move |row| {
                let (low, high) = self.row(row);
                let length = high.min(to_mm) - low.max(from_mm);
                (length > 0.0).then_some((row, length))
            })
    }

    /// Columns that a stretch from left to right in plan lies in, with the part of it in each.
    pub fn columns_of(
        &self,
        from_mm: f64,
        to_mm: f64,
    ) -> impl Iterator<Item = (usize, &CellColumn, (f64, f64))> + '_ {
        let first = self
            .columns
            .partition_point(|column| column.x_to_mm <= from_mm);
        self.columns
            .iter()
            .enumerate()
            .skip(first)
            .take_while(move |(_, column)| column.x_from_mm < to_mm)
            .filter_map(move |(number, column)| {
                let part = (column.x_from_mm.max(from_mm), column.x_to_mm.min(to_mm));
                (part.1 > part.0).then_some((number, column, part))
            })
    }
}

/// How much of a grid one outline covers.
#[derive(Debug, Clone)]
pub struct Cover {
    /// Share of each cell that is metal.
    pub share: Vec<f64>,
    /// Share of the border with the next column that is open.
    pub along: Vec<f64>,
    /// Share of the border with the next row that is open.
    pub across: Vec<f64>,
}

impl Cover {
    /// Looks at an outline: `metal` gives the stretches of metal from front to back at a plan place, for a column.
    pub fn of(grid: &Grid, metal: impl Fn(f64, &CellColumn) -> Vec<(f64, f64)>) -> Self {
        let (rows, cells) = (grid.rows(), grid.cells());
        let mut cover = Self {
            share: vec![0.0; cells],
            along: vec![0.0; cells],
            across: vec![0.0; cells],
        };
        let weight = 1.0 / LOOKS as f64;
        for (number, column) in grid.columns.iter().enumerate() {
            for look in 0..LOOKS {
                let x = column.x_at((look as f64 + 0.5) * weight);
                for (low, high) in metal(x, column) {
                    for (row, length) in grid.rows_of(low, high) {
                        let (front, back) = grid.row(row);
                        let cell = grid.cell(number, row);
                        add(&mut cover.share, cell, weight * length / (back - front));
                        if low < back && high > back && row + 1 < rows {
                            add(&mut cover.across, cell, weight);
                        }
                    }
                }
            }
            if number + 1 < grid.columns.len() {
                for (low, high) in metal(column.x_to_mm, column) {
                    for (row, length) in grid.rows_of(low, high) {
                        let (front, back) = grid.row(row);
                        let cell = grid.cell(number, row);
                        add(&mut cover.along, cell, length / (back - front));
                    }
                }
            }
        }
        for share in cover
            .share
            .iter_mut()
            .chain(&mut cover.along)
            .chain(&mut cover.across)
        {
            *share = share.min(1.0);
        }
        cover
    }

    /// Share of a cell that is metal; 0 for next to nothing.
    pub fn at(&self, cell: usize) -> f64 {
        self.share
            .get(cell)
            .copied()
            .filter(|share| *share > LEAST_COVER)
            .unwrap_or(0.0)
    }
}

fn add(list: &mut [f64], at: usize, amount: f64) {
    if let Some(place) = list.get_mut(at) {
        *place += amount;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conduction::unfold;
    use crate::geometry::{Footprint, Loop, y_intervals};
    use nalgebra::Point2;

    fn grid(size: f64) -> Grid {
        Grid {
            columns: unfold::columns(&unfold::level(0.0, 20.0), &[], size),
            row_edges: unfold::edges(10.0, &[], size),
        }
    }

    #[test]
    fn a_disc_cut_out_is_missing_by_its_area() {
        let grid = grid(0.5);
        let loops = [
            Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(20.0, 10.0)),
            Loop::circle(Point2::new(8.0, 5.0), 3.0),
        ];
        let cover = Cover::of(&grid, |x, _| y_intervals(x, &loops));
        let area: f64 = cover.share.iter().sum::<f64>() * 0.25;
        let wanted = 200.0 - std::f64::consts::PI * 9.0;
        assert!((area - wanted).abs() < 0.05, "{area} {wanted}");
        // Inside the hole nothing is open; far from it everything is.
        let inside = grid.cell(16, 10);
        assert_eq!((cover.at(inside), cover.along[inside]), (0.0, 0.0));
        let outside = grid.cell(34, 10);
        let open = [
            cover.share[outside],
            cover.along[outside],
            cover.across[outside],
        ];
        assert!(
            open.iter().all(|share| (share - 1.0).abs() < 1e-12),
            "{open:?}"
        );
    }

    #[test]
    fn a_footprint_is_found_with_all_its_area() {
        let grid = grid(0.7);
        let foot = Footprint::between(Point2::new(3.1, 2.2), Point2::new(8.4, 7.9));
        let mut area = 0.0;
        for (_, _, (from, to)) in grid.columns_of(3.1, 8.4) {
            let (low, high) = foot.y_interval(f64::midpoint(from, to)).unwrap();
            area += (to - from)
                * grid
                    .rows_of(low, high)
                    .map(|(_, length)| length)
                    .sum::<f64>();
        }
        assert!((area - 5.3 * 5.7).abs() < 1e-9);
    }
}

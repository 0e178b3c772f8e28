//! Temperatures over a plate, for pictures.

use super::solved::Solved;

/// Temperatures over the upper face of a plate, cell by cell.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlateMap {
    /// Left and right end of each column in plan.
    pub columns_mm: Vec<(f64, f64)>,
    /// Edges of the rows, from front to back.
    pub row_edges_mm: Vec<f64>,
    /// Temperature of each cell, °C, column by column from front to back; `None` where there is no metal.
    pub cells_c: Vec<Option<f64>>,
}

impl PlateMap {
    /// Of a solved plate.
    pub fn of(solved: &Solved, air_c: f64) -> Self {
        let cells = &solved.cells;
        Self {
            columns_mm: cells
                .grid
                .columns
                .iter()
                .map(|column| (column.x_from_mm, column.x_to_mm))
                .collect(),
            row_edges_mm: cells.grid.row_edges.clone(),
            cells_c: cells
                .top_nodes
                .iter()
                .map(|node| {
                    node.and_then(|node| solved.field_k.get(node))
                        .map(|kelvin| kelvin + air_c)
                })
                .collect(),
        }
    }

    /// Coolest and hottest cell, °C; `None` where there is no metal.
    pub fn range_c(&self) -> Option<(f64, f64)> {
        self.cells_c
            .iter()
            .flatten()
            .fold(None, |range, &c| match range {
                None => Some((c, c)),
                Some((low, high)) => Some((c.min(low), c.max(high))),
            })
    }
}

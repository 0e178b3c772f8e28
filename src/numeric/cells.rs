//! A field over a rectangle, cell by cell.

/// Values over a rectangle of cells, some of them empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CellMap {
    /// Left and right end of each column, mm.
    pub columns_mm: Vec<(f64, f64)>,
    /// Edges of the rows, from front to back, mm.
    pub row_edges_mm: Vec<f64>,
    /// Value of each cell, column by column from front to back; `None` where there is nothing.
    pub cells: Vec<Option<f64>>,
}

impl CellMap {
    /// Lowest and highest value; `None` where every cell is empty.
    pub fn range(&self) -> Option<(f64, f64)> {
        self.cells
            .iter()
            .flatten()
            .fold(None, |range, &value| match range {
                None => Some((value, value)),
                Some((low, high)) => Some((value.min(low), value.max(high))),
            })
    }
}

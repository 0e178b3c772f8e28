//! Temperatures over a plate, for pictures.

use super::solved::Solved;
use crate::numeric::cells::CellMap;

/// Temperatures over the upper face of a solved plate, °C, places in plan.
pub fn plate_map(solved: &Solved, air_c: f64) -> CellMap {
    let cells = &solved.cells;
    CellMap {
        columns_mm: cells
            .grid
            .columns
            .iter()
            .map(|column| (column.x_from_mm, column.x_to_mm))
            .collect(),
        row_edges_mm: cells.grid.row_edges.clone(),
        cells: cells
            .top_nodes
            .iter()
            .map(|node| {
                node.and_then(|node| solved.field_k.get(node))
                    .map(|kelvin| kelvin + air_c)
            })
            .collect(),
    }
}

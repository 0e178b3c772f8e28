//! Where a map of temperatures crosses a level: closed lines, drawn straight between the middles of cells.
//!
//! Marching squares over the middles of cells. Cells without metal take the mean of their neighbours first, so that lines run
//! on past edges and holes instead of bending round them; whoever draws covers what lies outside the metal. Round the map
//! lies a ring that is colder than everything, so that every line closes.

use crate::geometry::Loop;
use crate::numeric::cells::CellMap;
use nalgebra::Point2;
use std::collections::BTreeMap;

/// Width of the ring round the map, mm.
const RING_MM: f64 = 0.2;

/// A field over a rectangle of places.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    xs: Vec<f64>,
    ys: Vec<f64>,
    /// Column by column from front to back.
    values: Vec<f64>,
}

impl Field {
    /// Of a map; `None` where it has no metal.
    pub fn of(map: &CellMap) -> Option<Self> {
        let (lowest, highest) = map.range()?;
        let rows = map.row_edges_mm.len().checked_sub(1)?;
        let columns = map.columns_mm.len();
        if rows == 0 || columns == 0 || map.cells.len() != rows * columns {
            return None;
        }
        let filled = filled(&map.cells, rows);
        let row_ends: Vec<(f64, f64)> = map
            .row_edges_mm
            .iter()
            .copied()
            .zip(map.row_edges_mm.iter().skip(1).copied())
            .collect();
        let cold = lowest - 10.0 * (highest - lowest + 1.0);
        let ringed_rows = rows + 4;
        let mut values = vec![cold; ringed_rows];
        let mut column_of = |cells: &[f64]| {
            values.push(cold);
            values.extend(cells.first());
            values.extend(cells);
            values.extend(cells.last());
            values.push(cold);
        };
        let mut chunks = filled.chunks(rows).peekable();
        if let Some(first) = chunks.peek() {
            column_of(first);
        }
        let mut last = None;
        for cells in chunks {
            column_of(cells);
            last = Some(cells);
        }
        if let Some(cells) = last {
            column_of(cells);
        }
        values.extend(vec![cold; ringed_rows]);
        Some(Self {
            xs: places(&map.columns_mm),
            ys: places(&row_ends),
            values,
        })
    }

    fn value(&self, column: usize, row: usize) -> f64 {
        self.values
            .get(column * self.ys.len() + row)
            .copied()
            .unwrap_or(f64::NEG_INFINITY)
    }

    fn place(&self, (column, row): (usize, usize)) -> Option<Point2<f64>> {
        Some(Point2::new(*self.xs.get(column)?, *self.ys.get(row)?))
    }

    /// Box around all of it, ring included.
    pub fn bounds(&self) -> Option<(Point2<f64>, Point2<f64>)> {
        Some((
            self.place((0, 0))?,
            self.place((self.xs.len() - 1, self.ys.len() - 1))?,
        ))
    }

    /// Closed lines around everything that is at least at a level, hot side to the left.
    pub fn above(&self, level: f64) -> Vec<Vec<Point2<f64>>> {
        let mut next: BTreeMap<Edge, Edge> = BTreeMap::new();
        for column in 0..self.xs.len().saturating_sub(1) {
            for row in 0..self.ys.len().saturating_sub(1) {
                self.cell(level, column, row, &mut next);
            }
        }
        let mut lines = Vec::new();
        while let Some((first, mut at)) = next.pop_first() {
            let mut line: Vec<Point2<f64>> = self.crossing(level, first).into_iter().collect();
            while at != first {
                line.extend(self.crossing(level, at));
                let Some(then) = next.remove(&at) else {
                    break;
                };
                at = then;
            }
            line.dedup_by(|a, b| (*a - *b).norm() < 1e-9);
            if line.len() > 2 {
                lines.push(line);
            }
        }
        lines
    }

    /// Puts in the pieces of a level's line through one square of four middles, from edge to edge.
    fn cell(&self, level: f64, column: usize, row: usize, next: &mut BTreeMap<Edge, Edge>) {
        let corner = |right: usize, up: usize| self.value(column + right, row + up);
        let corners = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
        let [a, b, c, d] = corners.map(|value| value >= level);
        // Edges counter-clockwise, from the lower one on.
        let [low, right, high, left] = [
            Edge::along(column, row),
            Edge::across(column + 1, row),
            Edge::along(column, row + 1),
            Edge::across(column, row),
        ];
        // Going round counter-clockwise, a line comes in where high turns to low and leaves where low turns to high: then
        // the hot side is on its left.
        let turns: Vec<(Edge, bool)> = [(a, b, low), (b, c, right), (c, d, high), (d, a, left)]
            .into_iter()
            .filter(|(from, to, _)| from != to)
            .map(|(from, _, edge)| (edge, from))
            .collect();
        let those = |wanted: bool| -> Vec<Edge> {
            let edges = turns.iter().filter(|(_, comes_in)| *comes_in == wanted);
            edges.map(|(edge, _)| *edge).collect()
        };
        match (those(true).as_slice(), those(false).as_slice()) {
            ([from], [to]) => {
                next.insert(*from, *to);
            }
            ([in_1, in_2], [out_1, out_2]) => {
                // A saddle: what lies in the middle decides which corners hold together.
                let is_hot = corners.iter().sum::<f64>() / 4.0 >= level;
                let in_first = turns.first().is_some_and(|(_, comes_in)| *comes_in);
                let (of_1, of_2) = if is_hot == in_first {
                    (out_1, out_2)
                } else {
                    (out_2, out_1)
                };
                next.insert(*in_1, *of_1);
                next.insert(*in_2, *of_2);
            }
            _ => {}
        }
    }

    fn crossing(&self, level: f64, edge: Edge) -> Option<Point2<f64>> {
        let (from, to) = edge.ends();
        let (a, b) = (self.value(from.0, from.1), self.value(to.0, to.1));
        let share = if (b - a).abs() > 1e-12 {
            ((level - a) / (b - a)).clamp(0.0, 1.0)
        } else {
            0.5
        };
        let (from, to) = (self.place(from)?, self.place(to)?);
        Some(from + (to - from) * share)
    }
}

/// A line from one middle to the next, by its lower left end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Edge {
    column: usize,
    row: usize,
    up: bool,
}

impl Edge {
    const fn along(column: usize, row: usize) -> Self {
        Self {
            column,
            row,
            up: false,
        }
    }

    const fn across(column: usize, row: usize) -> Self {
        Self {
            column,
            row,
            up: true,
        }
    }

    const fn ends(self) -> ((usize, usize), (usize, usize)) {
        let to = if self.up {
            (self.column, self.row + 1)
        } else {
            (self.column + 1, self.row)
        };
        ((self.column, self.row), to)
    }
}

/// Middles of stretches, with both outer ends and the ring.
fn places(stretches: &[(f64, f64)]) -> Vec<f64> {
    let mut places = Vec::with_capacity(stretches.len() + 4);
    if let Some((from, _)) = stretches.first() {
        places.extend([from - RING_MM, *from]);
    }
    places.extend(stretches.iter().map(|(from, to)| f64::midpoint(*from, *to)));
    if let Some((_, to)) = stretches.last() {
        places.extend([*to, to + RING_MM]);
    }
    places
}

/// Every cell with a value: those without take the mean of their neighbours, from the metal outwards.
fn filled(cells: &[Option<f64>], rows: usize) -> Vec<f64> {
    let mut cells = cells.to_vec();
    let mut open: Vec<usize> = (0..cells.len())
        .filter(|cell| cells.get(*cell).is_some_and(Option::is_none))
        .collect();
    while !open.is_empty() {
        let found: Vec<(usize, Option<f64>)> = open
            .iter()
            .map(|cell| (*cell, mean_around(&cells, rows, *cell)))
            .collect();
        let before = open.len();
        open.clear();
        for (cell, mean) in found {
            match (mean, cells.get_mut(cell)) {
                (Some(mean), Some(place)) => *place = Some(mean),
                _ => open.push(cell),
            }
        }
        if open.len() == before {
            break;
        }
    }
    cells.into_iter().map(|cell| cell.unwrap_or(0.0)).collect()
}

fn mean_around(cells: &[Option<f64>], rows: usize, cell: usize) -> Option<f64> {
    let (column, row) = (cell / rows, cell % rows);
    let (mut sum, mut count) = (0.0, 0u32);
    for column in column.saturating_sub(1)..=column + 1 {
        for row in row.saturating_sub(1)..=(row + 1).min(rows - 1) {
            if let Some(Some(value)) = cells.get(column * rows + row) {
                sum += value;
                count += 1;
            }
        }
    }
    (count > 0).then(|| sum / f64::from(count))
}

/// A closed line with fewer points that strays from it by no more than a distance.
pub fn simplified(line: &[Point2<f64>], within_mm: f64) -> Vec<Point2<f64>> {
    /// No more points than this are left out in a row: keeps long lines quick.
    const MOST: usize = 60;
    let mut kept: Vec<Point2<f64>> = Vec::new();
    let mut between: Vec<Point2<f64>> = Vec::new();
    let closed = line.iter().chain(line.first());
    for point in closed {
        let Some(anchor) = kept.last().copied() else {
            kept.push(*point);
            continue;
        };
        let way = point - anchor;
        let length = way.norm();
        let strays = between.iter().any(|other| {
            let arm = other - anchor;
            if length > 1e-9 {
                let along = arm.dot(&way) / length;
                (arm.perp(&way) / length).abs() > within_mm
                    || along < -within_mm
                    || along > length + within_mm
            } else {
                arm.norm() > within_mm
            }
        });
        if (strays || between.len() >= MOST)
            && let Some(last) = between.last().copied()
        {
            kept.push(last);
            between.clear();
        }
        between.push(*point);
    }
    kept
}

/// A line as a loop, if it encloses anything.
pub fn as_loop(line: &[Point2<f64>]) -> Option<Loop> {
    (line.len() > 2).then(|| Loop::polygon(line))
}

/// Round levels inside a range, and their distance: as many as give at most `most` bands.
pub fn levels((low, high): (f64, f64), most: usize) -> (Vec<f64>, f64) {
    let mut step = 0.1;
    let steps = [0.1, 1.0, 10.0, 100.0, 1000.0]
        .into_iter()
        .flat_map(|ten| [ten, 2.0 * ten, 5.0 * ten]);
    for wider in steps {
        step = wider;
        if within((low, high), step).len() < most {
            break;
        }
    }
    (within((low, high), step), step)
}

fn within((low, high): (f64, f64), step: f64) -> Vec<f64> {
    /// More levels than anyone would draw.
    const ENOUGH: usize = 100;
    let mut list = Vec::new();
    let mut number = (low / step).floor() + 1.0;
    while number * step < high && list.len() < ENOUGH {
        // To the tenth: no level is finer, and so none has odd digits.
        list.push((number * step * 10.0).round() / 10.0 + 0.0);
        number += 1.0;
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A map of square cells, 1 mm each, from a function of their middles.
    fn map(columns: u8, rows: u8, value: impl Fn(f64, f64) -> Option<f64>) -> CellMap {
        let ends = |n: u8| (f64::from(n), f64::from(n) + 1.0);
        CellMap {
            columns_mm: (0..columns).map(ends).collect(),
            row_edges_mm: (0..=rows).map(f64::from).collect(),
            cells: (0..columns)
                .flat_map(|x| (0..rows).map(move |y| (x, y)))
                .map(|(x, y)| value(f64::from(x) + 0.5, f64::from(y) + 0.5))
                .collect(),
        }
    }

    fn area(lines: &[Vec<Point2<f64>>]) -> f64 {
        lines
            .iter()
            .map(|line| Loop::polygon(line).area_mm2())
            .sum()
    }

    #[test]
    fn a_slope_is_cut_straight_across() {
        let field = Field::of(&map(20, 10, |x, _| Some(x))).unwrap();
        let lines = field.above(7.25);
        assert_eq!(lines.len(), 1);
        let left = lines[0].iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        assert_relative_eq!(left, 7.25, epsilon = 1e-9);
        // Counter-clockwise: the hot side is inside.
        assert_relative_eq!(area(&lines), 12.75 * 10.0, max_relative = 0.05);
    }

    #[test]
    fn a_hill_gives_a_round_line_and_a_pit_a_hole() {
        let hill = |x: f64, y: f64| 10.0 - ((x - 15.0).powi(2) + (y - 15.0).powi(2)).sqrt();
        let field = Field::of(&map(30, 30, |x, y| Some(hill(x, y)))).unwrap();
        let lines = field.above(2.0);
        assert_eq!(lines.len(), 1);
        assert_relative_eq!(
            area(&lines),
            64.0 * std::f64::consts::PI,
            max_relative = 0.01
        );
        for point in &lines[0] {
            assert_relative_eq!(hill(point.x, point.y), 2.0, epsilon = 0.05);
        }
        let pit = Field::of(&map(30, 30, |x, y| Some(-hill(x, y)))).unwrap();
        let lines = pit.above(-2.0);
        assert_eq!(lines.len(), 2);
        let hole = 30.0 * 30.0 - 64.0 * std::f64::consts::PI;
        assert_relative_eq!(area(&lines), hole, max_relative = 0.02);
    }

    #[test]
    fn every_line_closes_on_a_rough_field_with_saddles() {
        // A fixed rough pattern without any order in it.
        let rough = |x: f64, y: f64| ((x * 12.9898 + y * 78.233).sin() * 43_758.547).fract();
        let field = Field::of(&map(17, 23, |x, y| (x + y < 37.0).then(|| rough(x, y)))).unwrap();
        for level in [-0.6, -0.2, 0.0, 0.3, 0.7] {
            let lines = field.above(level);
            assert!(!lines.is_empty());
            // Where the field is exactly known, inside means at least the level.
            for x in 0..15u8 {
                for y in 0..15u8 {
                    let (x, y) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
                    let value = rough(x, y);
                    if (value - level).abs() < 1e-6 {
                        continue;
                    }
                    let turns: i32 = lines.iter().map(|line| winding(line, x, y)).sum();
                    assert_eq!(turns, i32::from(value >= level), "{x} {y} {level}");
                }
            }
        }
    }

    /// How often a line goes round a point.
    fn winding(line: &[Point2<f64>], x: f64, y: f64) -> i32 {
        let mut turns = 0;
        for (n, from) in line.iter().enumerate() {
            let to = &line[(n + 1) % line.len()];
            let side = (to.x - from.x) * (y - from.y) - (x - from.x) * (to.y - from.y);
            if from.y <= y && to.y > y && side > 0.0 {
                turns += 1;
            } else if from.y > y && to.y <= y && side < 0.0 {
                turns -= 1;
            }
        }
        turns
    }

    #[test]
    fn what_is_left_out_of_a_line_does_not_move_it() {
        let round: Vec<Point2<f64>> = (0..720u16)
            .map(|n| crate::quantity::Angle::deg(f64::from(n) / 2.0))
            .map(|turn| Point2::new(20.0 * turn.cos(), 20.0 * turn.sin()))
            .collect();
        let kept = simplified(&round, 0.05);
        assert!(kept.len() < 80 && kept.len() > 20, "{}", kept.len());
        let area = Loop::polygon(&kept).area_mm2();
        assert_relative_eq!(area, Loop::polygon(&round).area_mm2(), max_relative = 0.006);
    }

    #[test]
    fn levels_are_round_and_few() {
        assert_eq!(
            levels((66.3, 71.9), 7),
            (vec![67.0, 68.0, 69.0, 70.0, 71.0], 1.0)
        );
        assert_eq!(levels((39.0, 109.0), 7).1, 20.0);
        assert_eq!(levels((70.0, 70.02), 7).0, Vec::<f64>::new());
        for range in [(-12.0, 3.0), (60.0, 60.5), (20.0, 900.0)] {
            assert!(levels(range, 7).0.len() < 7);
        }
        assert_eq!(levels((70.05, 70.45), 7).0, [70.1, 70.2, 70.3, 70.4]);
    }

    #[test]
    fn a_plate_without_metal_has_no_field() {
        assert!(Field::of(&map(3, 3, |_, _| None)).is_none());
        assert!(Field::of(&CellMap::default()).is_none());
    }
}

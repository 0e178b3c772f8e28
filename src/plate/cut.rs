//! The flat plate cut across at the lines where one stretch of the strip ends and the next begins.
//!
//! Which side of a line is metal is counted from the edges that end on it, not measured: the same at every rounding.

use crate::geometry::{Loop, LoopEdge, Side};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

/// A point nearer than this to a line lies on it. Near a vertical wall a rounding error in plan is this much along the
/// bend; far below anything that can be cut.
const ON_LINE_MM: f64 = 1e-6;
/// Straight edges shorter than this are left out.
const LEAST_EDGE_MM: f64 = 1e-7;
/// Longest turn of one arc: longer ones are cut into equal parts, which every kernel takes.
const MOST_TURN_RAD: f64 = FRAC_PI_2 * 1.01;

/// A connected stretch of metal between two lines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Region {
    /// Its edge, counter-clockwise.
    pub(super) outer: Loop,
    /// Its holes, clockwise.
    pub(super) holes: Vec<Loop>,
}

impl Region {
    /// Outer edge first.
    pub(super) fn rings(&self) -> impl Iterator<Item = &Loop> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// Area without holes.
    pub(super) fn area_mm2(&self) -> f64 {
        self.rings().map(Loop::area_mm2).sum()
    }
}

/// What lies between two lines.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Band {
    /// Metal.
    pub(super) regions: Vec<Region>,
    /// Edges of the plate itself, metal on their left.
    pub(super) walls: Vec<Side>,
}

/// Cuts the metal of `loops`, outline first, at `lines`, which rise; one band more than lines comes out.
pub(super) fn cut(loops: &[Loop], lines: &[f64]) -> Vec<Band> {
    let mut bands = vec![Bare::default(); lines.len() + 1];
    for (number, shape) in loops.iter().enumerate() {
        let turned = if number == 0 {
            shape.clone()
        } else {
            off_lines(shape, lines).reversed()
        };
        for side in sides(&turned, lines) {
            split(&side, lines, &mut bands);
        }
    }
    for (number, line) in lines.iter().enumerate() {
        let (left, right) = bands.split_at_mut(number + 1);
        if let (Some(left), Some(right)) = (left.last_mut(), right.first_mut()) {
            close(*line, left, right);
        }
    }
    bands.into_iter().map(Bare::traced).collect()
}

/// A band before its edges are joined to rings.
#[derive(Debug, Clone, Default)]
struct Bare {
    walls: Vec<Side>,
    /// Along the lines, where the plate goes on.
    seams: Vec<Side>,
}

/// A hole that only touches a line is moved off it, by less than anybody can see: it then lies in one band.
fn off_lines(hole: &Loop, lines: &[f64]) -> Loop {
    let (low, high) = hole.bounds();
    for line in lines {
        let (left, right) = (high.x - line, line - low.x);
        if left.abs() <= ON_LINE_MM {
            return hole.moved(Vector2::new(-left - 2.0 * ON_LINE_MM, 0.0));
        }
        if right.abs() <= ON_LINE_MM {
            return hole.moved(Vector2::new(right + 2.0 * ON_LINE_MM, 0.0));
        }
    }
    hole.clone()
}

/// Edges with points near a line put on it, without edges of no length, and no arc longer than a quarter.
fn sides(shape: &Loop, lines: &[f64]) -> Vec<Side> {
    let put = |point: Point2<f64>| {
        let near = lines
            .iter()
            .find(|line| (point.x - **line).abs() <= ON_LINE_MM);
        near.map_or(point, |line| Point2::new(*line, point.y))
    };
    let mut made: Vec<Side> = Vec::new();
    for side in shape.sides() {
        match side.edge {
            LoopEdge::Line { to } => made.push(Side {
                from: put(side.from),
                edge: LoopEdge::Line { to: put(to) },
            }),
            LoopEdge::Arc { to, centre, turn } => {
                let parts = (turn.rad().abs() / MOST_TURN_RAD).ceil().max(1.0);
                let mut from = put(side.from);
                let mut part = 1.0;
                while part <= parts {
                    let end = if part < parts {
                        side.turned(turn * (part / parts))
                    } else {
                        to
                    };
                    let edge = LoopEdge::Arc {
                        to: put(end),
                        centre,
                        turn: turn * (1.0 / parts),
                    };
                    made.push(Side { from, edge });
                    from = put(end);
                    part += 1.0;
                }
            }
        }
    }
    without_specks(made)
}

/// Leaves out straight edges that are too short to be one; the edge before ends where they did.
fn without_specks(sides: Vec<Side>) -> Vec<Side> {
    let is_speck = |side: &Side| matches!(side.edge, LoopEdge::Line { to } if (to - side.from).norm() <= LEAST_EDGE_MM);
    let mut kept: Vec<Side> = Vec::with_capacity(sides.len());
    for side in sides {
        if !is_speck(&side) {
            kept.push(side);
        }
    }
    // What was left out moves the beginning of what follows.
    let ends: Vec<Point2<f64>> = kept.iter().map(|side| side.edge.to()).collect();
    let before = ends.iter().cycle().skip(ends.len().saturating_sub(1));
    for (side, from) in kept.iter_mut().zip(before) {
        side.from = *from;
    }
    kept
}

/// Adds an edge to the bands it lies in, cut at the lines; edges on a line are left to [`close`].
fn split(side: &Side, lines: &[f64], bands: &mut [Bare]) {
    let band_at = |s: f64| lines.iter().filter(|line| **line < s).count();
    let mut add = |side: Side, s: f64| {
        if let Some(band) = bands.get_mut(band_at(s)) {
            band.walls.push(side);
        }
    };
    let LoopEdge::Line { to } = side.edge else {
        let LoopEdge::Arc { turn, .. } = side.edge else {
            return;
        };
        // The blank has arcs on flats only, so an arc lies in one band.
        add(*side, side.turned(turn.half()).x);
        return;
    };
    let from = side.from;
    let (low, high) = (from.x.min(to.x), from.x.max(to.x));
    if low == high && lines.contains(&low) {
        return;
    }
    let mut crossed: Vec<f64> = lines
        .iter()
        .copied()
        .filter(|line| low < *line && *line < high)
        .collect();
    if to.x < from.x {
        crossed.reverse();
    }
    let mut begin = from;
    let places = crossed.into_iter().map(|line| {
        let share = (line - from.x) / (to.x - from.x);
        Point2::new(line, from.y + (to.y - from.y) * share)
    });
    for end in places.chain([to]) {
        let piece = Side {
            from: begin,
            edge: LoopEdge::Line { to: end },
        };
        add(piece, f64::midpoint(begin.x, end.x));
        begin = end;
    }
}

/// Numbers in their order, for a map.
fn ordered(value: f64) -> i64 {
    let bits = (value + 0.0).to_bits().cast_signed();
    bits ^ (((bits >> 63).cast_unsigned()) >> 1).cast_signed()
}

/// Ends of edges at one place of a line.
#[derive(Debug, Clone, Copy, Default)]
struct Meeting {
    y_mm: f64,
    left: u32,
    right: u32,
}

/// Closes the bands on both sides of a line along it.
fn close(line: f64, left: &mut Bare, right: &mut Bare) {
    let mut meetings: BTreeMap<i64, Meeting> = BTreeMap::new();
    for (band, is_left) in [(&*left, true), (&*right, false)] {
        let ends = band
            .walls
            .iter()
            .flat_map(|side| [side.from, side.edge.to()]);
        for end in ends.filter(|end| end.x == line) {
            let meeting = meetings.entry(ordered(end.y)).or_default();
            meeting.y_mm = end.y;
            if is_left {
                meeting.left += 1;
            } else {
                meeting.right += 1;
            }
        }
    }
    // Going up the line, each edge that ends there from one side is crossed on that side. Where none is left over,
    // something only touches the line.
    let corners: Vec<Meeting> = meetings
        .into_values()
        .filter(|meeting| meeting.left % 2 == 1 || meeting.right % 2 == 1)
        .collect();
    let (mut metal_left, mut metal_right) = (false, false);
    for pair in corners.windows(2) {
        let &[low, high] = pair else { continue };
        metal_left ^= low.left % 2 == 1;
        metal_right ^= low.right % 2 == 1;
        let up = Side {
            from: Point2::new(line, low.y_mm),
            edge: LoopEdge::Line {
                to: Point2::new(line, high.y_mm),
            },
        };
        let down = Side {
            from: up.edge.to(),
            edge: LoopEdge::Line { to: up.from },
        };
        match (metal_left, metal_right) {
            (true, true) => {
                left.seams.push(up);
                right.seams.push(down);
            }
            (true, false) => left.walls.push(up),
            (false, true) => right.walls.push(down),
            (false, false) => {}
        }
    }
}

impl Bare {
    /// Joins the edges to rings and rings to regions.
    fn traced(self) -> Band {
        let all: Vec<Side> = self.walls.iter().chain(&self.seams).copied().collect();
        let (mut outer, mut holes) = (Vec::new(), Vec::new());
        for ring in rings(&all) {
            if ring.area_mm2() > 0.0 {
                outer.push(ring);
            } else {
                holes.push(ring);
            }
        }
        let mut regions: Vec<Region> = outer
            .into_iter()
            .map(|outer| Region {
                outer,
                holes: Vec::new(),
            })
            .collect();
        for hole in holes {
            let inside = hole.start();
            let around = regions
                .iter_mut()
                .filter(|region| region.outer.contains(inside))
                .min_by(|a, b| a.outer.area_mm2().total_cmp(&b.outer.area_mm2()));
            if let Some(region) = around {
                region.holes.push(hole);
            }
        }
        Band {
            regions,
            walls: self.walls,
        }
    }
}

type Place = (i64, i64);

fn place(point: Point2<f64>) -> Place {
    (ordered(point.x), ordered(point.y))
}

/// Direction in which an edge leaves, and that in which it arrives, seen back.
fn headings(side: &Side) -> (Vector2<f64>, Vector2<f64>) {
    match side.edge {
        LoopEdge::Line { to } => (to - side.from, side.from - to),
        LoopEdge::Arc { to, centre, turn } => {
            let round = |point: Point2<f64>| {
                let arm = point - centre;
                Vector2::new(-arm.y, arm.x) * turn.rad().signum()
            };
            (round(side.from), -round(to))
        }
    }
}

/// Closed rings of edges that have metal on their left.
fn rings(all: &[Side]) -> Vec<Loop> {
    let mut leaving: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
    for (number, side) in all.iter().enumerate() {
        leaving.entry(place(side.from)).or_default().push(number);
    }
    let mut used = vec![false; all.len()];
    let mut rings = Vec::new();
    for first in 0..all.len() {
        let mut edges = Vec::new();
        let mut next = Some(first);
        while let Some(number) = next {
            let (Some(side), Some(seen)) = (all.get(number), used.get_mut(number)) else {
                break;
            };
            if *seen {
                break;
            }
            *seen = true;
            edges.push(side.edge);
            next = onward(side, all, &leaving, &used);
        }
        if !edges.is_empty() {
            rings.push(Loop::from_known_edges(edges));
        }
    }
    rings
}

/// The edge that goes on from the end of `side`: where several do, the first on the side of the metal.
fn onward(
    side: &Side,
    all: &[Side],
    leaving: &BTreeMap<Place, Vec<usize>>,
    used: &[bool],
) -> Option<usize> {
    let (_, back) = headings(side);
    let turned_from = |number: usize| {
        let ahead = all.get(number).map_or(back, |next| headings(next).0);
        // How far to turn clockwise from the way back to the way on: that sector is metal.
        let angle = Angle::between(back.dot(&ahead), -(back.x * ahead.y - back.y * ahead.x)).rad();
        if angle > 0.0 {
            angle
        } else {
            angle + std::f64::consts::TAU
        }
    };
    leaving
        .get(&place(side.edge.to()))?
        .iter()
        .copied()
        .filter(|number| used.get(*number) == Some(&false))
        .min_by(|a, b| turned_from(*a).total_cmp(&turned_from(*b)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn area(bands: &[Band]) -> f64 {
        bands
            .iter()
            .flat_map(|band| &band.regions)
            .map(Region::area_mm2)
            .sum()
    }

    #[test]
    fn a_rectangle_falls_into_bands() {
        let plate = Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(10.0, 4.0));
        let bands = cut(&[plate], &[3.0, 5.0]);
        let areas: Vec<f64> = bands
            .iter()
            .map(|band| area(std::slice::from_ref(band)))
            .collect();
        assert_eq!(areas, [12.0, 8.0, 20.0]);
        let walls: Vec<usize> = bands.iter().map(|band| band.walls.len()).collect();
        assert_eq!(walls, [3, 2, 3]);
    }

    #[test]
    fn a_notch_that_ends_on_a_line_leaves_a_wall_there() {
        let corners = [
            [0.0, 0.0],
            [3.0, 0.0],
            [3.0, 1.0],
            [5.0, 1.0],
            [5.0, 0.0],
            [10.0, 0.0],
            [10.0, 4.0],
            [0.0, 4.0],
        ];
        let plate = Loop::polygon(&corners.map(|[x, y]| Point2::new(x, y)));
        let bands = cut(std::slice::from_ref(&plate), &[3.0, 5.0]);
        assert_relative_eq!(area(&bands), plate.area_mm2(), epsilon = 1e-12);
        let walls: Vec<usize> = bands.iter().map(|band| band.walls.len()).collect();
        // Both flats have a wall of the notch on their line, the strip between has its bottom and the far edge.
        assert_eq!(walls, [4, 2, 4]);
    }

    #[test]
    fn a_notch_across_a_line_leaves_two_bands_and_a_deep_one_parts_them() {
        let corners = [
            [0.0, 0.0],
            [4.0, 0.0],
            [4.0, 2.5],
            [6.0, 2.5],
            [6.0, 0.0],
            [10.0, 0.0],
            [10.0, 4.0],
            [0.0, 4.0],
        ];
        let plate = Loop::polygon(&corners.map(|[x, y]| Point2::new(x, y)));
        let bands = cut(std::slice::from_ref(&plate), &[3.0, 7.0]);
        assert_relative_eq!(area(&bands), plate.area_mm2(), epsilon = 1e-12);
        let slot = Loop::rectangle(Point2::new(2.0, 3.0), Point2::new(8.0, 3.5));
        let bands = cut(&[plate.clone(), slot.clone()], &[3.0, 7.0]);
        assert_relative_eq!(
            area(&bands),
            plate.area_mm2() - slot.area_mm2(),
            epsilon = 1e-12
        );
        assert_eq!(bands[1].regions.len(), 2);
    }

    #[test]
    fn a_hole_that_touches_a_line_stays_whole() {
        let plate = Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(10.0, 4.0));
        for x in [2.0, 4.0, 6.0, 8.0] {
            for slip in [-1e-9, 0.0, 1e-9] {
                let hole = Loop::circle(Point2::new(x + slip, 2.0), 1.0);
                let bands = cut(&[plate.clone(), hole.clone()], &[3.0, 7.0]);
                assert_relative_eq!(area(&bands), 40.0 - hole.area_mm2(), epsilon = 1e-9);
                let holes: usize = bands
                    .iter()
                    .flat_map(|b| &b.regions)
                    .map(|r| r.holes.len())
                    .sum();
                assert_eq!(holes, 1, "{x}");
            }
        }
    }

    #[test]
    fn order_is_kept() {
        let values = [f64::MIN, -2.0, -1e-300, 0.0, 1e-300, 3.0, f64::MAX];
        assert!(values.map(ordered).is_sorted());
        assert_eq!(ordered(-0.0), ordered(0.0));
    }
}

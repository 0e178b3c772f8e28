//! A closed sequence of straight lines and circular arcs: an outline, a hole, a section of sheet.
//!
//! Every edge says where it ends, and the first edge begins where the last one ends, so a loop is
//! closed by construction. Corners may be sharp; for tangent-continuous strips see [`Chain`].

use crate::geometry::chain::{Chain, Segment, arc_parts};
use crate::numbers::plain;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use std::f64::consts::{FRAC_PI_2, TAU};
use thiserror::Error;

/// Ends of an arc may differ this much in their distance from its centre, or from where its turn
/// leads. Far below anything that can be cut, far above the rounding of a chain of a hundred pieces.
pub const ARC_MISMATCH_MM: f64 = 1e-6;

/// One edge of a loop, beginning where the edge before it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LoopEdge {
    /// Straight to a point.
    Line {
        /// Where it ends, mm.
        to: Point2<f64>,
    },
    /// Round a centre to a point.
    Arc {
        /// Where it ends, mm.
        to: Point2<f64>,
        /// Centre of the circle, mm.
        centre: Point2<f64>,
        /// Angle turned through, positive counter-clockwise, at most a full turn.
        turn: Angle,
    },
}

impl LoopEdge {
    /// Where the edge ends.
    pub fn to(&self) -> Point2<f64> {
        match *self {
            Self::Line { to } | Self::Arc { to, .. } => to,
        }
    }

    /// The same path run backwards, to `from`.
    #[must_use]
    pub(crate) fn back_to(&self, from: Point2<f64>) -> Self {
        match *self {
            Self::Line { .. } => Self::Line { to: from },
            Self::Arc { centre, turn, .. } => Self::Arc {
                to: from,
                centre,
                turn: -turn,
            },
        }
    }

    /// The edge shifted.
    #[must_use]
    pub(crate) fn moved(&self, by: Vector2<f64>) -> Self {
        match *self {
            Self::Line { to } => Self::Line { to: to + by },
            Self::Arc { to, centre, turn } => Self::Arc {
                to: to + by,
                centre: centre + by,
                turn,
            },
        }
    }

    /// Whether every number of it is finite.
    pub(crate) fn is_finite(&self) -> bool {
        let finite = |point: Point2<f64>| point.x.is_finite() && point.y.is_finite();
        match *self {
            Self::Line { to } => finite(to),
            Self::Arc { to, centre, turn } => {
                finite(to) && finite(centre) && turn.rad().is_finite()
            }
        }
    }
}

/// An edge together with the point where it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Where it begins, mm.
    pub from: Point2<f64>,
    /// How it goes on.
    pub edge: LoopEdge,
}

impl Side {
    /// Length along the edge.
    pub fn length_mm(&self) -> f64 {
        match self.edge {
            LoopEdge::Line { to } => (to - self.from).norm(),
            LoopEdge::Arc { centre, turn, .. } => (self.from - centre).norm() * turn.rad().abs(),
        }
    }

    /// Point of an arc after turning by `by` from its beginning; a line gives its beginning.
    pub(crate) fn turned(&self, by: Angle) -> Point2<f64> {
        match self.edge {
            LoopEdge::Line { .. } => self.from,
            LoopEdge::Arc { centre, .. } => {
                let arm = self.from - centre;
                let (sin, cos) = (by.sin(), by.cos());
                centre + Vector2::new(arm.x * cos - arm.y * sin, arm.x * sin + arm.y * cos)
            }
        }
    }

    /// Where an arc passes a whole multiple of `step` (measured from the x axis), strictly inside it.
    ///
    /// Gives the multiples in the order of the arc; nothing for a line.
    pub(crate) fn passes(&self, step: f64) -> Vec<f64> {
        let LoopEdge::Arc { centre, turn, .. } = self.edge else {
            return Vec::new();
        };
        let arm = self.from - centre;
        let begin = Angle::between(arm.x, arm.y).rad() / step;
        let end = begin + turn.rad() / step;
        let (low, high) = (begin.min(end), begin.max(end));
        let mut multiples = Vec::new();
        let mut k = low.floor() + 1.0;
        while k < high {
            multiples.push(k);
            k += 1.0;
        }
        if turn.rad() < 0.0 {
            multiples.reverse();
        }
        multiples
    }

    /// Smallest upright box around the edge: (lower left, upper right).
    pub(crate) fn bounds(&self) -> (Point2<f64>, Point2<f64>) {
        let (mut low, mut high) = (self.from, self.from);
        self.reach(|point| {
            low = Point2::new(low.x.min(point.x), low.y.min(point.y));
            high = Point2::new(high.x.max(point.x), high.y.max(point.y));
        });
        (low, high)
    }

    /// Calls `take` with the points that decide how far the edge reaches along x and y.
    pub(crate) fn reach(&self, mut take: impl FnMut(Point2<f64>)) {
        take(self.from);
        take(self.edge.to());
        if let LoopEdge::Arc { centre, .. } = self.edge {
            let radius_mm = (self.from - centre).norm();
            for quarter in self.passes(FRAC_PI_2) {
                // The four directions written out, so that a circle reaches exactly its radius.
                let (x, y) = match quarter.rem_euclid(4.0) {
                    q if q < 0.5 => (1.0, 0.0),
                    q if q < 1.5 => (0.0, 1.0),
                    q if q < 2.5 => (-1.0, 0.0),
                    _ => (0.0, -1.0),
                };
                take(centre + Vector2::new(x, y) * radius_mm);
            }
        }
    }
}

/// Why some edges do not make a loop.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LoopError {
    /// A loop needs an edge.
    #[error("a loop needs at least one edge")]
    Empty,
    /// A coordinate or a turn is not a number, or an arc turns more than once round.
    #[error("edge {index}: a coordinate is not finite, or an arc turns more than once round")]
    NotDrawable {
        /// Edge number from 0.
        index: usize,
    },
    /// Begin, end, centre and turn of an arc contradict each other.
    #[error("edge {index}: the arc misses its end by {} mm", plain(*miss_mm))]
    ArcMissesEnd {
        /// Edge number from 0.
        index: usize,
        /// Distance between the stated end and the place where the turn leads.
        miss_mm: f64,
    },
}

/// A closed outline of lines and arcs.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    edges: Vec<LoopEdge>,
}

impl Loop {
    /// A loop from its edges; the first begins where the last ends.
    ///
    /// # Errors
    /// When there is no edge, a number is not finite, or an arc contradicts itself by more than
    /// [`ARC_MISMATCH_MM`].
    pub fn from_edges(edges: Vec<LoopEdge>) -> Result<Self, LoopError> {
        if edges.is_empty() {
            return Err(LoopError::Empty);
        }
        let closed = Self { edges };
        for (index, side) in closed.sides().enumerate() {
            if !side.edge.is_finite() {
                return Err(LoopError::NotDrawable { index });
            }
            if let LoopEdge::Arc { to, turn, .. } = side.edge {
                if turn.rad().abs() > TAU + 1e-9 {
                    return Err(LoopError::NotDrawable { index });
                }
                let miss_mm = (side.turned(turn) - to).norm();
                if miss_mm > ARC_MISMATCH_MM {
                    return Err(LoopError::ArcMissesEnd { index, miss_mm });
                }
            }
        }
        Ok(closed)
    }

    /// For siblings whose edges agree by construction.
    pub(crate) const fn from_known_edges(edges: Vec<LoopEdge>) -> Self {
        Self { edges }
    }

    /// A full circle, counter-clockwise.
    pub fn circle(centre: Point2<f64>, radius_mm: f64) -> Self {
        Self {
            edges: vec![LoopEdge::Arc {
                to: centre + Vector2::new(radius_mm.abs(), 0.0),
                centre,
                turn: Angle::rad_from(TAU),
            }],
        }
    }

    /// An upright rectangle between two opposite corners, counter-clockwise.
    pub fn rectangle(corner: Point2<f64>, opposite: Point2<f64>) -> Self {
        let low = Point2::new(corner.x.min(opposite.x), corner.y.min(opposite.y));
        let high = Point2::new(corner.x.max(opposite.x), corner.y.max(opposite.y));
        Self::polygon(&[
            low,
            Point2::new(high.x, low.y),
            high,
            Point2::new(low.x, high.y),
        ])
    }

    /// Straight lines from point to point and back to the first.
    pub fn polygon(points: &[Point2<f64>]) -> Self {
        let later = points.iter().skip(1);
        Self {
            edges: later
                .chain(points.first())
                .map(|&to| LoopEdge::Line { to })
                .collect(),
        }
    }

    /// The strip between two chains: along `one`, across, back along `other`, across.
    ///
    /// With `other` an offset of `one` this is the exact section of a sheet.
    pub fn between(one: &Chain, other: &Chain) -> Self {
        let mut edges: Vec<LoopEdge> = chain_sides(one).map(|side| side.edge).collect();
        edges.push(LoopEdge::Line {
            to: other.end().point,
        });
        let there: Vec<Side> = chain_sides(other).collect();
        edges.extend(there.iter().rev().map(|side| side.edge.back_to(side.from)));
        edges.push(LoopEdge::Line {
            to: one.start.point,
        });
        Self { edges }
    }

    /// The edges in order.
    pub fn edges(&self) -> &[LoopEdge] {
        &self.edges
    }

    /// Where the first edge begins.
    pub fn start(&self) -> Point2<f64> {
        self.edges.last().map_or(Point2::origin(), LoopEdge::to)
    }

    /// Every edge with its beginning.
    pub fn sides(&self) -> impl Iterator<Item = Side> + '_ {
        sides(self.start(), &self.edges)
    }

    /// Centre and radius, when the loop is one full circle.
    pub fn as_circle(&self) -> Option<(Point2<f64>, f64)> {
        match *self.edges.as_slice() {
            [LoopEdge::Arc { to, centre, .. }] => Some((centre, (to - centre).norm())),
            _ => None,
        }
    }

    /// Exact area, positive when the loop runs counter-clockwise.
    ///
    /// Sum of the triangles to one point, plus for each arc the segment between chord and arc,
    /// `½ r² (φ − sin φ)` with the sign of its turn φ.
    pub fn area_mm2(&self) -> f64 {
        let about = self.start();
        self.sides()
            .map(|side| {
                let (from, to) = (side.from - about, side.edge.to() - about);
                let triangle = 0.5 * (from.x * to.y - from.y * to.x);
                match side.edge {
                    LoopEdge::Line { .. } => triangle,
                    LoopEdge::Arc { centre, turn, .. } => {
                        let radius2 = (side.from - centre).norm_squared();
                        triangle + 0.5 * radius2 * (turn.rad() - turn.sin())
                    }
                }
            })
            .sum()
    }

    /// Length once round.
    pub fn perimeter_mm(&self) -> f64 {
        self.sides().map(|side| side.length_mm()).sum()
    }

    /// Smallest upright box around the loop: (lower left, upper right).
    pub fn bounds(&self) -> (Point2<f64>, Point2<f64>) {
        let start = self.start();
        self.sides()
            .map(|side| side.bounds())
            .fold((start, start), |(low, high), (from, to)| {
                (
                    Point2::new(low.x.min(from.x), low.y.min(from.y)),
                    Point2::new(high.x.max(to.x), high.y.max(to.y)),
                )
            })
    }

    /// Corners of a polygon from which no arc strays further than `chord_error_mm`.
    ///
    /// The ends of all edges are among them; the first is not repeated at the end.
    pub fn flattened(&self, chord_error_mm: f64) -> Vec<Point2<f64>> {
        let mut points = Vec::new();
        for side in self.sides() {
            points.push(side.from);
            if let LoopEdge::Arc { centre, turn, .. } = side.edge {
                let parts = arc_parts((side.from - centre).norm(), turn, chord_error_mm);
                points.extend(
                    (1..parts).map(|part| side.turned(turn * (f64::from(part) / f64::from(parts)))),
                );
            }
        }
        points
    }

    /// The loop shifted.
    #[must_use]
    pub fn moved(&self, by: Vector2<f64>) -> Self {
        Self {
            edges: self.edges.iter().map(|edge| edge.moved(by)).collect(),
        }
    }

    /// The loop run the other way round, from the same start.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let there: Vec<Side> = self.sides().collect();
        Self {
            edges: there
                .iter()
                .rev()
                .map(|side| side.edge.back_to(side.from))
                .collect(),
        }
    }
}

/// Edges with their beginnings, from `start` on.
pub(crate) fn sides(start: Point2<f64>, edges: &[LoopEdge]) -> impl Iterator<Item = Side> + '_ {
    edges.iter().scan(start, |from, edge| {
        let side = Side {
            from: *from,
            edge: *edge,
        };
        *from = edge.to();
        Some(side)
    })
}

/// The pieces of a chain as edges.
pub(crate) fn chain_sides(chain: &Chain) -> impl Iterator<Item = Side> + '_ {
    chain.pieces().map(|piece| {
        let to = piece.end.point;
        let edge = match (piece.segment, piece.centre()) {
            (Segment::Arc { turn, .. }, Some(centre)) => LoopEdge::Arc { to, centre, turn },
            _ => LoopEdge::Line { to },
        };
        Side {
            from: piece.start.point,
            edge,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    #[test]
    fn a_circle_has_the_area_and_girth_of_a_circle() {
        let circle = Loop::circle(Point2::new(3.0, -2.0), 2.5);
        assert_relative_eq!(circle.area_mm2(), PI * 6.25, epsilon = 1e-12);
        assert_relative_eq!(circle.perimeter_mm(), TAU * 2.5, epsilon = 1e-12);
        assert_eq!(
            circle.bounds(),
            (Point2::new(0.5, -4.5), Point2::new(5.5, 0.5))
        );
        assert_eq!(circle.as_circle(), Some((Point2::new(3.0, -2.0), 2.5)));
    }

    #[test]
    fn a_rectangle_runs_counter_clockwise_whichever_corners_are_named() {
        let one = Loop::rectangle(Point2::new(4.0, 1.0), Point2::new(0.0, 3.0));
        assert_relative_eq!(one.area_mm2(), 8.0);
        assert_relative_eq!(one.perimeter_mm(), 12.0);
        assert_relative_eq!(one.reversed().area_mm2(), -8.0);
        assert_eq!(one.reversed().start(), one.start());
    }

    #[test]
    fn a_section_between_two_chains_has_length_times_thickness() {
        let mut under = Chain::from_start(0.0, 3.0, Angle::ZERO);
        under
            .line(15.0)
            .arc(2.5, Angle::deg(60.0))
            .line(12.0)
            .arc(3.5, Angle::deg(-60.0))
            .line(15.0);
        let top = under.offset(1.0).unwrap();
        let section = Loop::between(&under, &top);
        let middle = under.offset(0.5).unwrap();
        assert_relative_eq!(section.area_mm2(), middle.length_mm(), epsilon = 1e-9);
        assert_eq!(Loop::from_edges(section.edges().to_vec()), Ok(section));
    }

    #[test]
    fn edges_that_contradict_themselves_are_refused_with_their_number() {
        assert_eq!(Loop::from_edges(Vec::new()), Err(LoopError::Empty));
        let line = LoopEdge::Line {
            to: Point2::new(2.0, 0.0),
        };
        let arc = |turn| LoopEdge::Arc {
            to: Point2::origin(),
            centre: Point2::new(1.0, 0.0),
            turn,
        };
        assert!(Loop::from_edges(vec![line, arc(Angle::deg(180.0))]).is_ok());
        let refused = Loop::from_edges(vec![line, arc(Angle::deg(90.0))]).unwrap_err();
        let LoopError::ArcMissesEnd { index: 1, miss_mm } = refused else {
            panic!("{refused}")
        };
        assert_relative_eq!(miss_mm, 2f64.sqrt(), epsilon = 1e-12);
        assert_eq!(
            Loop::from_edges(vec![line, arc(Angle::rad_from(f64::NAN))]),
            Err(LoopError::NotDrawable { index: 1 })
        );
        assert_eq!(
            Loop::from_edges(vec![line, arc(Angle::deg(540.0))]),
            Err(LoopError::NotDrawable { index: 1 })
        );
    }

    /// Radii around a centre, joined by lines or by arcs of the given bulge share: star-shaped.
    fn any_loop() -> impl Strategy<Value = Loop> {
        let corner = (0.5f64..1.5, -0.3f64..0.3, any::<bool>());
        (prop::collection::vec(corner, 3..9), -50.0f64..50.0).prop_map(|(corners, shift)| {
            let count = corners.len() as f64;
            let points: Vec<Point2<f64>> = corners
                .iter()
                .enumerate()
                .map(|(index, (radius, _, _))| {
                    let at = Angle::rad_from(TAU * index as f64 / count);
                    Point2::new(shift + 10.0 * radius * at.cos(), 10.0 * radius * at.sin())
                })
                .collect();
            let edges = corners
                .iter()
                .enumerate()
                .map(|(index, (_, share, straight))| {
                    let from = points[index];
                    let to = points[(index + 1) % points.len()];
                    if *straight || share.abs() < 0.01 {
                        return LoopEdge::Line { to };
                    }
                    let turn = Angle::rad_from(share * PI);
                    let chord = to - from;
                    let rise = 0.5 / turn.half().tan();
                    LoopEdge::Arc {
                        to,
                        centre: from + chord * 0.5 + Vector2::new(-chord.y, chord.x) * rise,
                        turn,
                    }
                })
                .collect();
            Loop::from_edges(edges).unwrap()
        })
    }

    fn shoelace(points: &[Point2<f64>]) -> f64 {
        let next = points.iter().cycle().skip(1);
        points
            .iter()
            .zip(next)
            .map(|(a, b)| 0.5 * (a.x * b.y - a.y * b.x))
            .sum()
    }

    proptest! {
        #[test]
        fn area_and_girth_are_the_limit_of_fine_flattening(shape in any_loop()) {
            let points = shape.flattened(1e-7);
            let girth: f64 = points.iter().zip(points.iter().cycle().skip(1))
                .map(|(a, b)| (b - a).norm()).sum();
            prop_assert!((shoelace(&points) - shape.area_mm2()).abs() < 1e-4);
            prop_assert!((girth - shape.perimeter_mm()).abs() < 1e-4);
        }

        #[test]
        fn flattening_keeps_its_promise(shape in any_loop(), exponent in 1i32..6) {
            let accuracy_mm = 10f64.powi(-exponent);
            let points = shape.flattened(accuracy_mm);
            for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
                prop_assert!(shape.distance_to(nalgebra::center(a, b)) <= accuracy_mm * (1.0 + 1e-6) + 1e-9);
            }
        }

        #[test]
        fn bounds_hold_every_point_and_are_reached(shape in any_loop()) {
            let (low, high) = shape.bounds();
            let points = shape.flattened(1e-6);
            let least = |f: fn(&Point2<f64>) -> f64| points.iter().map(f).fold(f64::MAX, f64::min);
            prop_assert!((least(|p| p.x) - low.x).abs() < 2e-6);
            prop_assert!((least(|p| p.y) - low.y).abs() < 2e-6);
            prop_assert!((-least(|p| -p.x) - high.x).abs() < 2e-6);
            prop_assert!((-least(|p| -p.y) - high.y).abs() < 2e-6);
        }

        #[test]
        fn turning_round_changes_only_the_sign_of_the_area(shape in any_loop()) {
            let back = shape.reversed();
            prop_assert!((back.area_mm2() + shape.area_mm2()).abs() < 1e-9);
            prop_assert!((back.perimeter_mm() - shape.perimeter_mm()).abs() < 1e-9);
            prop_assert_eq!(back.reversed(), shape);
        }
    }
}

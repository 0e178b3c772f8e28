//! A tangent-continuous chain of straight lines and circular arcs in a plane.
//!
//! The chain is stored as a person bends sheet: a start, a heading, then "straight on" and "turn by".
//! Tangent continuity therefore holds by construction and an exact parallel offset only changes radii.

use crate::numbers::plain;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One stretch of a chain.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Segment {
    /// Straight on, in mm.
    Line {
        /// Length, at least zero.
        length_mm: f64,
    },
    /// A circular turn; positive turns left (counter-clockwise).
    Arc {
        /// Radius of the chain itself, above zero.
        radius_mm: f64,
        /// Angle turned through, with sign.
        turn: Angle,
    },
}

impl Segment {
    /// Length along the segment.
    pub fn length_mm(&self) -> f64 {
        match *self {
            Self::Line { length_mm } => length_mm,
            Self::Arc { radius_mm, turn } => radius_mm * turn.rad().abs(),
        }
    }

    /// Change of heading over the segment.
    pub fn turn(&self) -> Angle {
        match *self {
            Self::Line { .. } => Angle::ZERO,
            Self::Arc { turn, .. } => turn,
        }
    }
}

/// A point with a heading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pose {
    /// Where.
    pub point: Point2<f64>,
    /// Which way, measured from the x axis, counter-clockwise.
    pub heading: Angle,
}

impl Pose {
    /// Unit vector along the heading.
    pub fn along(&self) -> Vector2<f64> {
        Vector2::new(self.heading.cos(), self.heading.sin())
    }

    /// Unit vector to the left of the heading.
    pub fn left(&self) -> Vector2<f64> {
        Vector2::new(-self.heading.sin(), self.heading.cos())
    }

    /// The pose after going `length_mm` along `segment`, at most to its end.
    #[must_use]
    pub fn advanced(&self, segment: &Segment, length_mm: f64) -> Self {
        match *segment {
            Segment::Line { .. } => Self {
                point: self.point + self.along() * length_mm,
                heading: self.heading,
            },
            Segment::Arc { radius_mm, turn } => {
                let side = turn.rad().signum();
                let after = Self {
                    point: self.point,
                    heading: self.heading + Angle::rad_from(side * length_mm / radius_mm),
                };
                let centre = self.point + self.left() * (side * radius_mm);
                Self {
                    point: centre - after.left() * (side * radius_mm),
                    heading: after.heading,
                }
            }
        }
    }
}

/// A segment in its place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Piece {
    /// Where it begins.
    pub start: Pose,
    /// Where it ends.
    pub end: Pose,
    /// What it is.
    pub segment: Segment,
    /// Chain length from the start of the chain to the start of this piece.
    pub from_mm: f64,
}

impl Piece {
    /// Centre of an arc; `None` for a line.
    pub fn centre(&self) -> Option<Point2<f64>> {
        match self.segment {
            Segment::Line { .. } => None,
            Segment::Arc { radius_mm, turn } => {
                Some(self.start.point + self.start.left() * (radius_mm * turn.rad().signum()))
            }
        }
    }

    /// Point half-way along.
    pub fn middle(&self) -> Point2<f64> {
        self.start
            .advanced(&self.segment, self.segment.length_mm() / 2.0)
            .point
    }

    /// Height of the piece at `x`, for a piece whose x grows along it.
    ///
    /// Outside the piece the nearer end counts. A vertical line gives its start.
    pub fn height_at(&self, x: f64) -> f64 {
        let (from, to) = (self.start.point, self.end.point);
        if x <= from.x {
            return from.y;
        }
        if x >= to.x {
            return to.y;
        }
        match (self.segment, self.centre()) {
            (Segment::Arc { radius_mm, turn }, Some(centre)) => {
                let across = x - centre.x;
                let root = (radius_mm * radius_mm - across * across).max(0.0).sqrt();
                centre.y - root * turn.rad().signum()
            }
            _ => from.y + (to.y - from.y) * (x - from.x) / (to.x - from.x),
        }
    }

    /// Signed area between chord and arc: positive when the arc bulges to the right of its heading.
    fn bulge_mm2(&self) -> f64 {
        match self.segment {
            Segment::Line { .. } => 0.0,
            Segment::Arc { radius_mm, turn } => {
                0.5 * radius_mm * radius_mm * (turn.rad() - turn.sin())
            }
        }
    }
}

/// Why a parallel offset does not exist.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OffsetError {
    /// The inner side of an arc would have no radius left.
    #[error("segment {index}: an arc of radius {} mm cannot be offset {} mm to its inner side", plain(*radius_mm), plain(*offset_mm))]
    RadiusConsumed {
        /// Segment number from 0.
        index: usize,
        /// Radius before the offset.
        radius_mm: f64,
        /// Distance asked for, towards the centre.
        offset_mm: f64,
    },
}

/// Lines and arcs in a row, each leaving in the direction in which the last arrived.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Chain {
    /// Where the chain begins.
    pub start: Pose,
    /// Its stretches in order.
    pub segments: Vec<Segment>,
}

impl Chain {
    /// A chain from (x, z) with a heading.
    pub fn from_start(x_mm: f64, z_mm: f64, heading: Angle) -> Self {
        Self {
            start: Pose {
                point: Point2::new(x_mm, z_mm),
                heading,
            },
            segments: Vec::new(),
        }
    }

    /// Adds a straight stretch; nothing is added when it has no length.
    pub fn line(&mut self, length_mm: f64) -> &mut Self {
        if length_mm > 0.0 {
            self.segments.push(Segment::Line { length_mm });
        }
        self
    }

    /// Adds a turn; nothing is added when it turns by nothing.
    pub fn arc(&mut self, radius_mm: f64, turn: Angle) -> &mut Self {
        if turn.rad() != 0.0 {
            self.segments.push(Segment::Arc { radius_mm, turn });
        }
        self
    }

    /// Length of the whole chain.
    pub fn length_mm(&self) -> f64 {
        self.segments.iter().map(Segment::length_mm).sum()
    }

    /// Every segment in its place.
    pub fn pieces(&self) -> impl Iterator<Item = Piece> + '_ {
        self.segments
            .iter()
            .scan((self.start, 0.0), |(pose, from_mm), segment| {
                let length_mm = segment.length_mm();
                let mut end = pose.advanced(segment, length_mm);
                // The turned angle itself, not length over radius, so that headings close exactly.
                end.heading = pose.heading + segment.turn();
                let piece = Piece {
                    start: *pose,
                    end,
                    segment: *segment,
                    from_mm: *from_mm,
                };
                *pose = end;
                *from_mm += length_mm;
                Some(piece)
            })
    }

    /// Where the chain ends.
    pub fn end(&self) -> Pose {
        self.pieces().last().map_or(self.start, |piece| piece.end)
    }

    /// Point and heading at a length along the chain, clamped to its ends.
    pub fn at(&self, length_mm: f64) -> Pose {
        let mut pose = self.start;
        for piece in self.pieces() {
            let within = (length_mm - piece.from_mm).clamp(0.0, piece.segment.length_mm());
            pose = piece.start.advanced(&piece.segment, within);
            if length_mm <= piece.from_mm + piece.segment.length_mm() {
                break;
            }
        }
        pose
    }

    /// Exact parallel chain at `distance_mm` to the left (negative: to the right).
    ///
    /// # Errors
    /// When an arc's radius would not stay above zero.
    pub fn offset(&self, distance_mm: f64) -> Result<Self, OffsetError> {
        let segments = self
            .segments
            .iter()
            .enumerate()
            .map(|(index, segment)| match *segment {
                Segment::Line { .. } => Ok(*segment),
                Segment::Arc { radius_mm, turn } => {
                    let inward_mm = distance_mm * turn.rad().signum();
                    let left_mm = radius_mm - inward_mm;
                    if left_mm > 0.0 {
                        Ok(Segment::Arc {
                            radius_mm: left_mm,
                            turn,
                        })
                    } else {
                        Err(OffsetError::RadiusConsumed {
                            index,
                            radius_mm,
                            offset_mm: inward_mm,
                        })
                    }
                }
            })
            .collect::<Result<_, _>>()?;
        Ok(Self {
            start: Pose {
                point: self.start.point + self.start.left() * distance_mm,
                heading: self.start.heading,
            },
            segments,
        })
    }

    /// The chain turned about a point.
    #[must_use]
    pub fn turned(&self, about: Point2<f64>, by: Angle) -> Self {
        let arm = self.start.point - about;
        let (sin, cos) = (by.sin(), by.cos());
        Self {
            start: Pose {
                point: about + Vector2::new(arm.x * cos - arm.y * sin, arm.x * sin + arm.y * cos),
                heading: self.start.heading + by,
            },
            segments: self.segments.clone(),
        }
    }

    /// The chain shifted.
    #[must_use]
    pub fn moved(&self, by: Vector2<f64>) -> Self {
        let mut moved = self.clone();
        moved.start.point += by;
        moved
    }

    /// The same path with lines that follow each other made one.
    #[must_use]
    pub fn joined(&self) -> Self {
        let mut segments: Vec<Segment> = Vec::with_capacity(self.segments.len());
        for segment in &self.segments {
            match (segments.last_mut(), segment) {
                (Some(Segment::Line { length_mm: before }), Segment::Line { length_mm }) => {
                    *before += length_mm;
                }
                _ => segments.push(*segment),
            }
        }
        Self {
            start: self.start,
            segments,
        }
    }

    /// Height at `x_mm` of a chain that never goes back in x; beyond its ends, that of the nearer end.
    ///
    /// At a vertical stretch its first end counts.
    pub fn height_at(&self, x_mm: f64) -> f64 {
        let mut height = self.start.point.y;
        for piece in self.pieces() {
            if x_mm <= piece.start.point.x {
                break;
            }
            height = piece.height_at(x_mm);
            if x_mm <= piece.end.point.x {
                break;
            }
        }
        height
    }

    /// Least and greatest heading along the chain.
    pub fn heading_range(&self) -> (Angle, Angle) {
        self.pieces().map(|piece| piece.end.heading).fold(
            (self.start.heading, self.start.heading),
            |(low, high), h| {
                (
                    if h < low { h } else { low },
                    if h > high { h } else { high },
                )
            },
        )
    }

    /// Steepest heading along the chain after a turn of the whole, degrees, without sign.
    pub fn steepest_deg(&self, turned: Angle) -> f64 {
        let (low, high) = self.heading_range();
        let of = |heading: Angle| (heading + turned).degrees().abs();
        of(low).max(of(high))
    }

    /// Radius and turn of each arc.
    pub fn arcs(&self) -> impl Iterator<Item = (f64, Angle)> + '_ {
        self.segments.iter().filter_map(|segment| match *segment {
            Segment::Arc { radius_mm, turn } => Some((radius_mm, turn)),
            Segment::Line { .. } => None,
        })
    }

    /// Smallest box around the chain: (lower left, upper right).
    pub fn bounds(&self) -> (Point2<f64>, Point2<f64>) {
        let mut low = self.start.point;
        let mut high = self.start.point;
        let mut take = |point: Point2<f64>| {
            low = Point2::new(low.x.min(point.x), low.y.min(point.y));
            high = Point2::new(high.x.max(point.x), high.y.max(point.y));
        };
        for piece in self.pieces() {
            take(piece.end.point);
            if let (Segment::Arc { radius_mm, turn }, Some(centre)) =
                (piece.segment, piece.centre())
            {
                // An arc reaches furthest where its normal lies along an axis.
                let side = turn.rad().signum();
                let (from, to) = (piece.start.heading.rad(), piece.end.heading.rad());
                let (from, to) = (from.min(to), from.max(to));
                let quarter = std::f64::consts::FRAC_PI_2;
                let mut k = (from / quarter).ceil();
                while k * quarter <= to {
                    let heading = Angle::rad_from(k * quarter);
                    let normal = Vector2::new(-heading.sin(), heading.cos());
                    take(centre - normal * (side * radius_mm));
                    k += 1.0;
                }
            }
        }
        (low, high)
    }

    /// Points on the chain such that no arc strays further than `chord_error_mm` from its chords.
    ///
    /// Ends of segments are always among them. Sagitta of a chord over angle θ: r (1 - cos θ/2).
    pub fn flattened(&self, chord_error_mm: f64) -> Vec<Point2<f64>> {
        let mut points = vec![self.start.point];
        for piece in self.pieces() {
            if let Segment::Arc { radius_mm, turn } = piece.segment {
                let parts = arc_parts(radius_mm, turn, chord_error_mm);
                let length_mm = piece.segment.length_mm();
                points.extend((1..parts).map(|part| {
                    let along = length_mm * f64::from(part) / f64::from(parts);
                    piece.start.advanced(&piece.segment, along).point
                }));
            }
            points.push(piece.end.point);
        }
        points
    }

    /// ∫ (z - `level_mm`) dx along the chain: exact area between chain and a level, signed by direction.
    pub fn area_above_mm2(&self, level_mm: f64) -> f64 {
        self.pieces()
            .map(|piece| {
                let (from, to) = (piece.start.point, piece.end.point);
                (to.x - from.x) * (f64::midpoint(from.y, to.y) - level_mm) - piece.bulge_mm2()
            })
            .sum()
    }
}

/// Number of equal chords for an arc so that the sagitta stays within `chord_error_mm`.
///
/// At least one chord for each 30 degrees, so that coarse settings still look round.
pub fn arc_parts(radius_mm: f64, turn: Angle, chord_error_mm: f64) -> u32 {
    let ratio = (1.0 - chord_error_mm / radius_mm).clamp(0.0, 1.0);
    let step = 2.0 * libm::acos(ratio);
    let coarse = std::f64::consts::PI / 6.0;
    let step = if step > 1e-4 { step.min(coarse) } else { 1e-4 };
    let parts = (turn.rad().abs() / step).ceil().clamp(1.0, 100_000.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped above"
    )]
    let parts = parts as u32;
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn stair() -> Chain {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        chain
            .line(15.0)
            .arc(2.5, Angle::deg(60.0))
            .line(12.0)
            .arc(2.5, Angle::deg(-60.0))
            .line(15.0);
        chain
    }

    #[test]
    fn a_quarter_circle_ends_where_it_must() {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        chain.arc(2.0, Angle::deg(90.0));
        let end = chain.end();
        assert_relative_eq!(end.point.x, 2.0, epsilon = 1e-12);
        assert_relative_eq!(end.point.y, 2.0, epsilon = 1e-12);
        assert_relative_eq!(chain.length_mm(), PI, epsilon = 1e-12);
        // Area under the quarter circle that starts at its foot: square minus quarter disc.
        assert_relative_eq!(chain.area_above_mm2(0.0), 4.0 - PI, epsilon = 1e-12);
    }

    #[test]
    fn offsets_keep_headings_and_change_radii() {
        let chain = stair();
        let left = chain.offset(0.5).unwrap();
        let radii: Vec<f64> = left
            .segments
            .iter()
            .filter_map(|segment| match segment {
                Segment::Arc { radius_mm, .. } => Some(*radius_mm),
                Segment::Line { .. } => None,
            })
            .collect();
        assert_eq!(radii, [2.0, 3.0]);
        assert_relative_eq!(
            left.end().point.y - chain.end().point.y,
            0.5,
            epsilon = 1e-12
        );
    }

    #[test]
    fn an_offset_that_eats_a_radius_is_refused_with_its_numbers() {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        chain.arc(0.4, Angle::deg(30.0));
        assert_eq!(
            chain.offset(0.5),
            Err(OffsetError::RadiusConsumed {
                index: 0,
                radius_mm: 0.4,
                offset_mm: 0.5
            })
        );
    }

    #[test]
    fn bounds_see_the_top_of_an_arch() {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::deg(90.0));
        chain.arc(3.0, Angle::deg(-180.0));
        let (low, high) = chain.bounds();
        assert_relative_eq!(high.y, 3.0, epsilon = 1e-12);
        assert_relative_eq!(high.x, 6.0, epsilon = 1e-12);
        assert_relative_eq!(low.y, 0.0, epsilon = 1e-12);
    }

    fn any_chain() -> impl Strategy<Value = Chain> {
        prop::collection::vec((0.1f64..20.0, 1.0f64..10.0, -80.0f64..80.0), 1..8).prop_map(
            |parts| {
                let mut chain = Chain::from_start(1.0, -2.0, Angle::deg(7.0));
                for (length, radius, turn) in parts {
                    chain.line(length).arc(radius, Angle::deg(turn));
                }
                chain
            },
        )
    }

    proptest! {
        #[test]
        fn an_offset_stays_at_its_distance(chain in any_chain(), distance in -0.9f64..0.9) {
            let other = chain.offset(distance).unwrap();
            for (piece, twin) in chain.pieces().zip(other.pieces()) {
                let gap = (twin.end.point - piece.end.point).dot(&piece.end.left());
                prop_assert!((gap - distance).abs() < 1e-9);
            }
        }

        #[test]
        fn offsetting_there_and_back_returns(chain in any_chain(), distance in -0.9f64..0.9) {
            let back = chain.offset(distance).unwrap().offset(-distance).unwrap();
            prop_assert!((back.end().point - chain.end().point).norm() < 1e-9);
        }

        #[test]
        fn flattening_keeps_the_promised_sagitta(chain in any_chain(), exponent in 1u32..5) {
            let error = 10f64.powi(-i32::try_from(exponent).unwrap());
            for piece in chain.pieces() {
                if let Segment::Arc { radius_mm, turn } = piece.segment {
                    let parts = arc_parts(radius_mm, turn, error);
                    let sagitta = radius_mm * (1.0 - (turn.rad() / f64::from(parts) / 2.0).cos());
                    prop_assert!(sagitta <= error * (1.0 + 1e-9));
                }
            }
        }

        #[test]
        fn area_agrees_with_fine_trapezia(chain in any_chain()) {
            let points = chain.flattened(1e-6);
            let trapezia: f64 = points.windows(2).map(|p| (p[1].x - p[0].x) * (p[0].y + p[1].y) / 2.0).sum();
            prop_assert!((trapezia - chain.area_above_mm2(0.0)).abs() < 1e-3);
        }

        #[test]
        fn turning_keeps_distances(chain in any_chain(), by in -180.0f64..180.0) {
            let turned = chain.turned(Point2::new(3.0, 4.0), Angle::deg(by));
            let before = (chain.end().point - chain.start.point).norm();
            let after = (turned.end().point - turned.start.point).norm();
            prop_assert!((before - after).abs() < 1e-9);
        }
    }
}

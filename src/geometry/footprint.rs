//! The area a board part covers in plan: a turned rectangle or a disc. Both are convex.

use crate::geometry::Loop;
use crate::geometry::segments::{lines_meet, to_segment};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use std::f64::consts::PI;

/// Area covered in plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Footprint {
    /// A disc.
    Disc {
        /// Centre.
        centre: Point2<f64>,
        /// Radius.
        radius_mm: f64,
    },
    /// A rectangle turned about its centre, corners counter-clockwise.
    Rectangle {
        /// The four corners.
        corners: [Point2<f64>; 4],
    },
}

impl Footprint {
    /// A rectangle of `size_mm` (along x, along y) about a centre, turned counter-clockwise.
    pub fn rectangle(centre: Point2<f64>, size_mm: [f64; 2], turned: Angle) -> Self {
        let [a, b] = size_mm.map(|side| side / 2.0);
        // Right angles stay exact, so that parts set square get square numbers.
        let quarters = turned.degrees() / 90.0;
        let (sin, cos) = if quarters.fract() == 0.0 {
            match quarters.rem_euclid(4.0) {
                q if q < 0.5 => (0.0, 1.0),
                q if q < 1.5 => (1.0, 0.0),
                q if q < 2.5 => (0.0, -1.0),
                _ => (-1.0, 0.0),
            }
        } else {
            (turned.sin(), turned.cos())
        };
        let corner = |x: f64, y: f64| centre + Vector2::new(x * cos - y * sin, x * sin + y * cos);
        Self::Rectangle {
            corners: [corner(-a, -b), corner(a, -b), corner(a, b), corner(-a, b)],
        }
    }

    /// Axis-parallel rectangle between two corners.
    pub fn between(low: Point2<f64>, high: Point2<f64>) -> Self {
        Self::Rectangle {
            corners: [
                low,
                Point2::new(high.x, low.y),
                high,
                Point2::new(low.x, high.y),
            ],
        }
    }

    /// Covered area.
    pub fn area_mm2(&self) -> f64 {
        match self {
            Self::Disc { radius_mm, .. } => PI * radius_mm * radius_mm,
            Self::Rectangle {
                corners: [a, b, c, _],
            } => (b - a).norm() * (c - b).norm(),
        }
    }

    /// Smallest axis-parallel box: (lower left, upper right).
    pub fn bounds(&self) -> (Point2<f64>, Point2<f64>) {
        match self {
            Self::Disc { centre, radius_mm } => {
                let arm = Vector2::new(*radius_mm, *radius_mm);
                (centre - arm, centre + arm)
            }
            Self::Rectangle { corners } => corners.iter().fold(
                (
                    Point2::new(f64::INFINITY, f64::INFINITY),
                    Point2::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
                ),
                |(low, high), corner| {
                    (
                        Point2::new(low.x.min(corner.x), low.y.min(corner.y)),
                        Point2::new(high.x.max(corner.x), high.y.max(corner.y)),
                    )
                },
            ),
        }
    }

    /// Its edge, counter-clockwise.
    pub fn outline(&self) -> Loop {
        match self {
            Self::Disc { centre, radius_mm } => Loop::circle(*centre, *radius_mm),
            Self::Rectangle { corners } => Loop::polygon(corners),
        }
    }

    fn edges(corners: &[Point2<f64>; 4]) -> [(Point2<f64>, Point2<f64>); 4] {
        let [a, b, c, d] = *corners;
        [(a, b), (b, c), (c, d), (d, a)]
    }

    /// The stretch along y covered at `x_mm`, if any.
    pub fn y_interval(&self, x_mm: f64) -> Option<(f64, f64)> {
        match self {
            Self::Disc { centre, radius_mm } => {
                let across = x_mm - centre.x;
                let left = radius_mm * radius_mm - across * across;
                (left >= 0.0).then(|| (centre.y - left.sqrt(), centre.y + left.sqrt()))
            }
            Self::Rectangle { corners } => {
                let mut interval: Option<(f64, f64)> = None;
                let mut take = |y: f64| {
                    interval =
                        Some(interval.map_or((y, y), |(low, high)| (low.min(y), high.max(y))));
                };
                for (a, b) in Self::edges(corners) {
                    if (a.x - x_mm) * (b.x - x_mm) > 0.0 {
                        continue;
                    }
                    if a.x == b.x {
                        take(a.y);
                        take(b.y);
                    } else {
                        take(a.y + (b.y - a.y) * (x_mm - a.x) / (b.x - a.x));
                    }
                }
                interval
            }
        }
    }

    /// Distance in plan from the covered area to the stretch x = `x_mm`, y from `low` to `high`.
    ///
    /// Zero when they touch or overlap.
    pub fn distance_to_stretch(&self, x_mm: f64, low: f64, high: f64) -> f64 {
        match self {
            Self::Disc { centre, radius_mm } => {
                let nearest = Point2::new(x_mm, centre.y.clamp(low, high));
                ((nearest - centre).norm() - radius_mm).max(0.0)
            }
            Self::Rectangle { corners } => {
                if let Some((from, to)) = self.y_interval(x_mm)
                    && from <= high
                    && to >= low
                {
                    return 0.0;
                }
                let ends = [Point2::new(x_mm, low), Point2::new(x_mm, high)];
                let to_corners = corners.iter().map(|corner| {
                    let nearest = Point2::new(x_mm, corner.y.clamp(low, high));
                    (corner - nearest).norm()
                });
                let to_ends = Self::edges(corners)
                    .into_iter()
                    .flat_map(|(a, b)| ends.map(|end| to_segment(end, a, b)));
                to_corners.chain(to_ends).fold(f64::INFINITY, f64::min)
            }
        }
    }

    /// Distance in plan from the covered area to the straight segment between two points; 0 when they touch.
    pub fn distance_to_segment(&self, from: Point2<f64>, to: Point2<f64>) -> f64 {
        match self {
            Self::Disc { centre, radius_mm } => {
                (to_segment(*centre, from, to) - radius_mm).max(0.0)
            }
            Self::Rectangle { corners } => {
                let edges = Self::edges(corners);
                let inside = edges.iter().all(|(a, b)| turn(*a, *b, from) >= 0.0);
                if inside || edges.iter().any(|edge| lines_meet(*edge, (from, to))) {
                    return 0.0;
                }
                edges
                    .iter()
                    .flat_map(|(a, b)| {
                        [
                            to_segment(*a, from, to),
                            to_segment(from, *a, *b),
                            to_segment(to, *a, *b),
                        ]
                    })
                    .fold(f64::INFINITY, f64::min)
            }
        }
    }
}

/// Twice the signed area of a triangle: positive when it turns left.
fn turn(a: Point2<f64>, b: Point2<f64>, c: Point2<f64>) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    #[test]
    fn a_quarter_turn_swaps_the_sides_exactly() {
        let turned = Footprint::rectangle(Point2::new(1.0, 2.0), [6.0, 2.0], Angle::deg(90.0));
        let (low, high) = turned.bounds();
        assert_eq!((low.x, low.y, high.x, high.y), (0.0, -1.0, 2.0, 5.0));
    }

    #[test]
    fn distances_in_simple_places() {
        let square = Footprint::between(Point2::new(0.0, 0.0), Point2::new(2.0, 2.0));
        assert_abs_diff_eq!(square.distance_to_stretch(3.0, 0.0, 5.0), 1.0);
        assert_abs_diff_eq!(square.distance_to_stretch(1.0, 3.0, 5.0), 1.0);
        assert_abs_diff_eq!(square.distance_to_stretch(5.0, 6.0, 9.0), 5.0);
        assert_abs_diff_eq!(square.distance_to_stretch(1.0, -9.0, 9.0), 0.0);
        let disc = Footprint::Disc {
            centre: Point2::new(0.0, 0.0),
            radius_mm: 1.0,
        };
        assert_abs_diff_eq!(disc.distance_to_stretch(3.0, 4.0, 9.0), 4.0);
    }

    proptest! {
        #[test]
        fn slices_add_up_to_the_area(
            x in -5.0f64..5.0, y in -5.0f64..5.0, a in 0.5f64..9.0, b in 0.5f64..9.0, turn in 0.0f64..180.0
        ) {
            let shape = Footprint::rectangle(Point2::new(x, y), [a, b], Angle::deg(turn));
            let (low, high) = shape.bounds();
            let steps = 4000;
            let width = (high.x - low.x) / f64::from(steps);
            let sum: f64 = (0..steps)
                .filter_map(|i| shape.y_interval(low.x + (f64::from(i) + 0.5) * width))
                .map(|(from, to)| (to - from) * width)
                .sum();
            prop_assert!((sum - shape.area_mm2()).abs() < 0.01 * shape.area_mm2());
        }
    }
}

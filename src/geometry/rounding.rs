//! Polygons with rounded corners: each corner gives way to an arc tangent to both its lines.

use crate::geometry::loops::{Loop, LoopEdge};
use crate::numbers::plain;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use thiserror::Error;

/// Lines shorter than this between two roundings are left out, and roundings may overlap by as much:
/// so a slot whose radius is just half its width keeps its round end in spite of rounding errors.
const SHORTEST_LINE_MM: f64 = 1e-9;

/// Why a polygon cannot be rounded as asked.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum RoundingError {
    /// A polygon has three corners or more.
    #[error("an outline needs at least 3 corners, not {corners}")]
    TooFewCorners {
        /// Corners given.
        corners: usize,
    },
    /// One radius belongs to each corner.
    #[error("{corners} corners need as many radii, not {radii}")]
    RadiusCount {
        /// Corners given.
        corners: usize,
        /// Radii given.
        radii: usize,
    },
    /// A coordinate or radius is not a number, or a radius is below zero.
    #[error(
        "corner {vertex}: its place and its radius must be finite, and the radius not negative"
    )]
    NotDrawable {
        /// Corner number from 0.
        vertex: usize,
    },
    /// Two neighbouring corners lie on one spot.
    #[error("corner {vertex} lies on the corner before it")]
    RepeatedCorner {
        /// Corner number from 0.
        vertex: usize,
    },
    /// The lines at a corner are too short for its radius.
    #[error("corner {vertex}: radius {} mm does not fit, at most {} mm does", plain(*radius_mm), plain(*largest_mm))]
    DoesNotFit {
        /// Corner number from 0.
        vertex: usize,
        /// Radius asked for.
        radius_mm: f64,
        /// Largest radius that fits beside its neighbours; neighbours that take more than half a
        /// line are counted with half of it.
        largest_mm: f64,
    },
}

/// A corner with the lines that meet in it.
#[derive(Clone, Copy)]
struct Corner {
    point: Point2<f64>,
    radius_mm: f64,
    /// Unit vector of the line that arrives.
    arriving: Vector2<f64>,
    /// Unit vector of the line that leaves.
    leaving: Vector2<f64>,
    /// Length of the line that leaves.
    length_mm: f64,
    /// Change of heading, positive to the left.
    turn: Angle,
}

impl Corner {
    /// Length of line which a rounding uses up on each side, for each mm of radius.
    fn share(&self) -> f64 {
        self.turn.abs().half().tan()
    }

    /// Length of line which its own rounding uses up on each side.
    fn used_mm(&self) -> f64 {
        // A straight corner and a sharp one use nothing, even where the other factor is huge.
        if self.radius_mm == 0.0 {
            0.0
        } else {
            self.radius_mm * self.share()
        }
    }
}

impl Loop {
    /// A polygon whose corners are rounded by arcs tangent to both lines; radius 0 leaves one sharp.
    ///
    /// # Units
    /// - `points`, `radii_mm`: mm, one radius for each point
    ///
    /// # Errors
    /// Names the corner (numbered from 0) and, for a radius that does not fit, the largest that does.
    pub fn rounded_polygon(
        points: &[Point2<f64>],
        radii_mm: &[f64],
    ) -> Result<Self, RoundingError> {
        let corners = corners(points, radii_mm)?;
        check_fit(&corners)?;
        let mut edges = Vec::with_capacity(2 * corners.len());
        let mut at = corners.last().map_or(Point2::origin(), |last| {
            last.point + last.leaving * last.used_mm()
        });
        for corner in &corners {
            let used_mm = corner.used_mm();
            let begin = corner.point - corner.arriving * used_mm;
            let line = (begin - at).dot(&corner.arriving) > SHORTEST_LINE_MM;
            if line {
                edges.push(LoopEdge::Line { to: begin });
            }
            if used_mm > 0.0 {
                let left = Vector2::new(-corner.arriving.y, corner.arriving.x);
                edges.push(LoopEdge::Arc {
                    to: corner.point + corner.leaving * used_mm,
                    centre: begin + left * (corner.radius_mm * corner.turn.rad().signum()),
                    turn: corner.turn,
                });
            }
            at = corner.point + corner.leaving * used_mm;
        }
        Ok(Self::from_known_edges(edges))
    }
}

fn corners(points: &[Point2<f64>], radii_mm: &[f64]) -> Result<Vec<Corner>, RoundingError> {
    if points.len() < 3 {
        return Err(RoundingError::TooFewCorners {
            corners: points.len(),
        });
    }
    if points.len() != radii_mm.len() {
        return Err(RoundingError::RadiusCount {
            corners: points.len(),
            radii: radii_mm.len(),
        });
    }
    let before = points.iter().cycle().skip(points.len() - 1);
    let after = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(radii_mm)
        .zip(before.zip(after))
        .enumerate()
        .map(|(vertex, ((&point, &radius_mm), (before, after)))| {
            let (arriving, leaving) = (point - before, after - point);
            let length_mm = leaving.norm();
            if !(length_mm.is_finite() && radius_mm.is_finite() && radius_mm >= 0.0) {
                return Err(RoundingError::NotDrawable { vertex });
            }
            if arriving.norm() <= SHORTEST_LINE_MM {
                return Err(RoundingError::RepeatedCorner { vertex });
            }
            let (arriving, leaving) = (arriving.normalize(), leaving.normalize());
            Ok(Corner {
                point,
                radius_mm,
                arriving,
                leaving,
                length_mm,
                turn: Angle::between(arriving.dot(&leaving), arriving.perp(&leaving)),
            })
        })
        .collect()
}

fn check_fit(corners: &[Corner]) -> Result<(), RoundingError> {
    let count = corners.len();
    let before = corners.iter().cycle().skip(count - 1);
    let after = corners.iter().cycle().skip(1);
    for (vertex, (corner, (before, after))) in corners.iter().zip(before.zip(after)).enumerate() {
        // Room on either side; a greedy neighbour counts with half the line and is named itself.
        let room = |length_mm: f64, neighbour: &Corner| {
            length_mm - neighbour.used_mm().min(length_mm / 2.0)
        };
        let room_mm = room(before.length_mm, before).min(room(corner.length_mm, after));
        let used_mm = corner.used_mm();
        if used_mm > room_mm + SHORTEST_LINE_MM {
            return Err(RoundingError::DoesNotFit {
                vertex,
                radius_mm: corner.radius_mm,
                largest_mm: room_mm / corner.share(),
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn square(side: f64) -> Vec<Point2<f64>> {
        vec![
            Point2::new(0.0, 0.0),
            Point2::new(side, 0.0),
            Point2::new(side, side),
            Point2::new(0.0, side),
        ]
    }

    #[test]
    fn a_rounded_square_loses_four_corners() {
        let shape = Loop::rounded_polygon(&square(10.0), &[2.0; 4]).unwrap();
        assert_relative_eq!(shape.area_mm2(), 100.0 - (4.0 - PI) * 4.0, epsilon = 1e-12);
        assert_relative_eq!(shape.perimeter_mm(), 24.0 + 4.0 * PI, epsilon = 1e-12);
        assert_eq!(shape.edges().len(), 8);
        assert!(Loop::from_edges(shape.edges().to_vec()).is_ok());
    }

    #[test]
    fn half_the_width_makes_a_circle_without_left_over_lines() {
        let shape = Loop::rounded_polygon(&square(10.0), &[5.0; 4]).unwrap();
        assert_eq!(shape.edges().len(), 4);
        assert_relative_eq!(shape.area_mm2(), 25.0 * PI, epsilon = 1e-9);
    }

    #[test]
    fn radius_zero_leaves_the_polygon_alone() {
        let shape = Loop::rounded_polygon(&square(3.0), &[0.0; 4]).unwrap();
        assert_relative_eq!(shape.area_mm2(), 9.0);
        assert_eq!(shape.edges().len(), 4);
    }

    #[test]
    fn what_does_not_fit_names_corner_and_largest_radius() {
        let refused = Loop::rounded_polygon(&square(10.0), &[0.0, 0.0, 11.0, 0.0]).unwrap_err();
        assert!(matches!(
            refused,
            RoundingError::DoesNotFit { vertex: 2, radius_mm: 11.0, largest_mm }
                if (largest_mm - 10.0).abs() < 1e-12
        ));
        let refused = Loop::rounded_polygon(&square(10.0), &[0.0, 8.0, 3.0, 0.0]).unwrap_err();
        let RoundingError::DoesNotFit {
            vertex, largest_mm, ..
        } = refused
        else {
            panic!("{refused}")
        };
        assert_eq!(vertex, 1);
        assert_relative_eq!(largest_mm, 7.0, epsilon = 1e-12);
    }

    #[test]
    fn corners_that_are_none_are_refused() {
        let mut points = square(4.0);
        assert_eq!(
            Loop::rounded_polygon(&points, &[0.0; 3]),
            Err(RoundingError::RadiusCount {
                corners: 4,
                radii: 3
            })
        );
        assert_eq!(
            Loop::rounded_polygon(&points, &[0.0, -1.0, 0.0, 0.0]),
            Err(RoundingError::NotDrawable { vertex: 1 })
        );
        points[2] = points[1];
        assert_eq!(
            Loop::rounded_polygon(&points, &[0.0; 4]),
            Err(RoundingError::RepeatedCorner { vertex: 2 })
        );
        assert_eq!(
            Loop::rounded_polygon(&points[..2], &[0.0; 2]),
            Err(RoundingError::TooFewCorners { corners: 2 })
        );
    }

    #[test]
    fn a_corner_on_a_straight_line_takes_any_radius_and_a_spike_none() {
        let mut points = square(10.0);
        points.insert(1, Point2::new(5.0, 0.0));
        let shape = Loop::rounded_polygon(&points, &[0.0, 50.0, 0.0, 0.0, 0.0]).unwrap();
        assert_relative_eq!(shape.area_mm2(), 100.0);
        let spike = [
            Point2::new(0.0, 0.0),
            Point2::new(4.0, 0.0),
            Point2::new(2.0, 0.0),
        ];
        let refused = Loop::rounded_polygon(&spike, &[0.0, 0.1, 0.0]).unwrap_err();
        assert!(matches!(
            refused,
            RoundingError::DoesNotFit { vertex: 1, largest_mm, .. } if largest_mm < 1e-9
        ));
    }

    proptest! {
        #[test]
        fn each_rounding_cuts_off_what_trigonometry_says(
            distances in prop::collection::vec(6.0f64..14.0, 3..8), share in 0.0f64..0.999,
        ) {
            let count = distances.len() as f64;
            let points: Vec<Point2<f64>> = distances.iter().enumerate().map(|(index, distance)| {
                let at = Angle::deg(360.0 * index as f64 / count + 10.0);
                Point2::new(distance * at.cos(), distance * at.sin())
            }).collect();
            // Radii that use the same share of half the shorter line at each corner.
            let bare = corners(&points, &vec![0.0; points.len()]).unwrap();
            let radii: Vec<f64> = bare.iter().enumerate().map(|(index, corner)| {
                let before = &bare[(index + bare.len() - 1) % bare.len()];
                share * (corner.length_mm.min(before.length_mm) / 2.0 / corner.share()).min(1e4)
            }).collect();
            let shape = Loop::rounded_polygon(&points, &radii).unwrap();
            // A rounding replaces the kite of two tangents and two radii by a sector.
            let cut: f64 = bare.iter().zip(&radii).map(|(corner, radius)| {
                let kite = radius * radius * corner.share();
                let sector = 0.5 * radius * radius * corner.turn.abs().rad();
                (kite - sector) * corner.turn.rad().signum()
            }).sum();
            let whole = Loop::polygon(&points).area_mm2();
            prop_assert!((shape.area_mm2() - (whole - cut)).abs() < 1e-6);
            prop_assert!(Loop::from_edges(shape.edges().to_vec()).is_ok());
        }

        #[test]
        fn the_largest_radius_it_names_does_fit(
            side in 1.0f64..50.0, radius in 0.0f64..100.0, neighbour in 0.0f64..20.0,
        ) {
            let radii = [neighbour, radius, 0.0, 0.0];
            match Loop::rounded_polygon(&square(side), &radii) {
                Ok(_) => prop_assert!(radius + neighbour <= side + 1e-9),
                Err(RoundingError::DoesNotFit { vertex, largest_mm, .. }) => {
                    let mut radii = radii;
                    radii[vertex] = largest_mm;
                    // The neighbour may now be the one that is too large; the named corner is not.
                    if let Err(RoundingError::DoesNotFit { vertex: next, .. }) =
                        Loop::rounded_polygon(&square(side), &radii) {
                        prop_assert_ne!(next, vertex);
                    }
                }
                Err(other) => prop_assert!(false, "{other}"),
            }
        }
    }
}

//! Straight lines fitted to a strip.

use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// A straight line fitted to points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Straight {
    /// Mean of the points.
    pub middle: Point2<f64>,
    /// Direction, from first to last.
    pub heading: Angle,
    /// Largest distance of a point from it.
    pub bow_mm: f64,
}

impl Straight {
    /// Unit vector along the line.
    pub fn along(&self) -> Vector2<f64> {
        Vector2::new(self.heading.cos(), self.heading.sin())
    }

    /// Where two lines cross; `None` when they are parallel.
    pub fn meets(&self, other: &Self) -> Option<Point2<f64>> {
        let (along, across) = (self.along(), other.along());
        let side = Vector2::new(-across.y, across.x);
        let slope = along.dot(&side);
        if slope.abs() < 1e-9 {
            return None;
        }
        Some(self.middle + along * ((other.middle - self.middle).dot(&side) / slope))
    }
}

/// Fits a line by least squares of the distances, each point with its weight; `None` for fewer than two points.
pub fn straight(points: &[(Point2<f64>, f64)]) -> Option<Straight> {
    let ((first, _), (last, _)) = (points.first()?, points.last()?);
    if points.len() < 2 {
        return None;
    }
    let weights: f64 = points.iter().map(|(_, weight)| weight).sum();
    let middle = Point2::from(
        points
            .iter()
            .map(|(p, weight)| p.coords * *weight)
            .sum::<Vector2<f64>>()
            / weights,
    );
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (point, weight) in points {
        let d = point - middle;
        xx += weight * d.x * d.x;
        xy += weight * d.x * d.y;
        yy += weight * d.y * d.y;
    }
    // Principal axis of the scatter, turned to point from first to last.
    let axis = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let mut heading = Angle::rad_from(axis);
    let along = Vector2::new(heading.cos(), heading.sin());
    if (last - first).dot(&along) < 0.0 {
        heading = heading + Angle::deg(180.0);
        if heading.rad() > std::f64::consts::PI {
            heading = heading - Angle::deg(360.0);
        }
    }
    let across = Vector2::new(-heading.sin(), heading.cos());
    let bow_mm = points
        .iter()
        .map(|(p, _)| (p - middle).dot(&across).abs())
        .fold(0.0, f64::max);
    Some(Straight {
        middle,
        heading,
        bow_mm,
    })
}

/// Distance between two nearly parallel flats, square to the mean of their headings; positive to the left.
pub fn rise_mm(from: &Straight, to: &Straight) -> f64 {
    let mean = (from.heading + to.heading).half();
    (to.middle - from.middle).dot(&Vector2::new(-mean.sin(), mean.cos()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_leaning_line_and_its_bow_are_found() {
        let points: Vec<_> = (0..5)
            .map(|i| (Point2::new(f64::from(i) * 0.6, f64::from(i) * 0.8), 1.0))
            .collect();
        let fit = straight(&points).unwrap();
        assert_abs_diff_eq!(fit.heading.rad(), (0.8f64 / 0.6).atan(), epsilon = 1e-12);
        assert_abs_diff_eq!(fit.bow_mm, 0.0, epsilon = 1e-12);
        let back: Vec<_> = points.iter().rev().copied().collect();
        let turned = straight(&back).unwrap().heading.degrees();
        assert_abs_diff_eq!(turned, fit.heading.degrees() - 180.0, epsilon = 1e-9);
    }

    /// Three points in a corner: the one that stands for most pulls the line.
    #[test]
    fn weights_pull_the_line() {
        let fit = |weight: f64| {
            let points = [
                (Point2::new(0.0, 0.0), 1.0),
                (Point2::new(1.0, 0.0), 1.0),
                (Point2::new(2.0, 0.3), weight),
            ];
            straight(&points).unwrap().middle.y
        };
        assert_abs_diff_eq!(fit(1.0), 0.1, epsilon = 1e-12);
        assert_abs_diff_eq!(fit(4.0), 0.2, epsilon = 1e-12);
    }

    #[test]
    fn parallel_flats_are_as_far_apart_as_their_lines() {
        let flat = |x: f64, y: f64| Straight {
            middle: Point2::new(x, y),
            heading: Angle::deg(30.0),
            bow_mm: 0.0,
        };
        let (sin, cos) = 30f64.to_radians().sin_cos();
        let far = flat(7.0 * cos - 2.0 * sin, 7.0 * sin + 2.0 * cos);
        assert_abs_diff_eq!(rise_mm(&flat(0.0, 0.0), &far), 2.0, epsilon = 1e-12);
    }
}

//! What a person would measure on the pressed strip: directions of flats and walls, rises, inside radii.

use super::strip::{State, Strip};
use crate::quantity::Angle;
use nalgebra::{Matrix3, Point2, Vector2, Vector3};

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

/// Fits a line by least squares of the distances; `None` for fewer than two points.
pub fn straight(points: &[Point2<f64>]) -> Option<Straight> {
    let (first, last) = (points.first()?, points.last()?);
    if points.len() < 2 {
        return None;
    }
    let count = points.len() as f64;
    let middle = Point2::from(points.iter().map(|p| p.coords).sum::<Vector2<f64>>() / count);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for point in points {
        let d = point - middle;
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
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
        .map(|p| (p - middle).dot(&across).abs())
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

/// Radius of the circle through points, by least squares of `x² + y² + a x + b y + c` (Kåsa's fit).
///
/// `None` when the points lie on a line.
pub fn radius_mm(points: &[Point2<f64>]) -> Option<f64> {
    let origin = points.first()?;
    let mut left = Matrix3::zeros();
    let mut right = Vector3::zeros();
    for point in points {
        let d = point - origin;
        let row = Vector3::new(d.x, d.y, 1.0);
        left += row * row.transpose();
        right -= row * d.norm_squared();
    }
    let fit = left.lu().solve(&right)?;
    let square = (fit.x * fit.x + fit.y * fit.y) / 4.0 - fit.z;
    (square > 0.0).then(|| square.sqrt())
}

/// Places of one row of nodes whose columns lie between two places along the flat strip.
pub fn stretch(
    strip: &Strip,
    state: &State,
    row: usize,
    (from_mm, to_mm): (f64, f64),
) -> Vec<Point2<f64>> {
    let first = strip
        .reference
        .first()
        .copied()
        .unwrap_or_else(Point2::origin);
    (0..strip.columns)
        .filter(|column| {
            strip
                .reference
                .get(column * strip.rows)
                .is_some_and(|place| {
                    let along = (place - first).norm();
                    from_mm <= along && along <= to_mm
                })
        })
        .map(|column| strip.place(&state.moved, column * strip.rows + row))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_leaning_line_and_its_bow_are_found() {
        let points: Vec<_> = (0..5)
            .map(|i| Point2::new(f64::from(i) * 0.6, f64::from(i) * 0.8))
            .collect();
        let fit = straight(&points).unwrap();
        assert_abs_diff_eq!(fit.heading.rad(), (0.8f64 / 0.6).atan(), epsilon = 1e-12);
        assert_abs_diff_eq!(fit.bow_mm, 0.0, epsilon = 1e-12);
        let back: Vec<_> = points.iter().rev().copied().collect();
        let turned = straight(&back).unwrap().heading.degrees();
        assert_abs_diff_eq!(turned, fit.heading.degrees() - 180.0, epsilon = 1e-9);
    }

    #[test]
    fn a_circle_is_found_from_a_short_arc() {
        let points: Vec<_> = (0..9)
            .map(|i| {
                let a = 0.3 + 0.05 * f64::from(i);
                Point2::new(4.0 + 1.25 * a.cos(), -2.0 + 1.25 * a.sin())
            })
            .collect();
        assert_abs_diff_eq!(radius_mm(&points).unwrap(), 1.25, epsilon = 1e-9);
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

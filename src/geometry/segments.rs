//! Straight segments between two points.

use nalgebra::Point2;

/// Distance from a point to the straight segment between two points.
pub fn to_segment(point: Point2<f64>, a: Point2<f64>, b: Point2<f64>) -> f64 {
    let along = b - a;
    let square = along.norm_squared();
    if square == 0.0 {
        return (point - a).norm();
    }
    let share = ((point - a).dot(&along) / square).clamp(0.0, 1.0);
    (point - (a + along * share)).norm()
}

/// Whether two closed straight lines have a point in common.
pub fn lines_meet(one: (Point2<f64>, Point2<f64>), other: (Point2<f64>, Point2<f64>)) -> bool {
    let apart = |a: f64, b: f64, c: f64, d: f64| a.max(b) < c.min(d) || c.max(d) < a.min(b);
    if apart(one.0.x, one.1.x, other.0.x, other.1.x)
        || apart(one.0.y, one.1.y, other.0.y, other.1.y)
    {
        return false;
    }
    let side = |line: (Point2<f64>, Point2<f64>), point: Point2<f64>| {
        (line.1 - line.0).perp(&(point - line.0))
    };
    side(one, other.0) * side(one, other.1) <= 0.0 && side(other, one.0) * side(other, one.1) <= 0.0
}

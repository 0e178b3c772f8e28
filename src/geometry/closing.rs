//! Laying the flat blank in and closing onto it: rigid sheet, straight travel.

use super::chain::Chain;
use nalgebra::{Point2, Vector2};

/// The flat blank on the open lower die, as a rigid straight strip.
///
/// Its middle lies above the middle of the closed strip: both ends then draw in alike while the steps
/// form. An assumption; friction on one side would pull the other end in further.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    /// Left end of the underside.
    pub left: Point2<f64>,
    /// Right end of the underside.
    pub right: Point2<f64>,
    /// Height of the blank along z: thickness over the cosine of its slope.
    pub thickness_up_mm: f64,
}

impl Laid {
    /// Height of the underside at `x`.
    pub fn height_at(&self, x_mm: f64) -> f64 {
        let along = self.right - self.left;
        self.left.y + along.y * (x_mm - self.left.x) / along.x
    }

    /// Highest point of the laid-in blank.
    pub fn highest_mm(&self, thickness_mm: f64) -> f64 {
        let along = (self.right - self.left).normalize();
        let up = Vector2::new(-along.y, along.x) * thickness_mm;
        (self.left + up).y.max((self.right + up).y)
    }
}

/// Lays a straight blank as long as `strip` on the points of the lower face.
///
/// It rests on the edge of the face's upper hull below its centre of mass.
pub fn lay_in(strip: &Chain, face: &[Point2<f64>], thickness_mm: f64) -> Laid {
    let (start, end) = (strip.start.point, strip.end().point);
    let middle_mm = f64::midpoint(start.x, end.x);
    let hull = upper_hull(face);
    let edge = hull.windows(2).find_map(|pair| match *pair {
        [a, b] if a.x <= middle_mm && middle_mm <= b.x => Some((a, b)),
        _ => None,
    });
    let (a, b) = edge.unwrap_or((start, end));
    let along = if b.x > a.x {
        (b - a).normalize()
    } else {
        Vector2::x()
    };
    let under = a + along * ((middle_mm - a.x) / along.x);
    let half_mm = strip.length_mm() / 2.0;
    Laid {
        left: under - along * half_mm,
        right: under + along * half_mm,
        thickness_up_mm: thickness_mm / along.x,
    }
}

/// Upper convex hull of points that advance in x (Andrew's monotone chain).
fn upper_hull(points: &[Point2<f64>]) -> Vec<Point2<f64>> {
    let mut hull: Vec<Point2<f64>> = Vec::new();
    for point in points {
        while let [.., a, b] = hull.as_slice() {
            let left_turn = (b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x) >= 0.0;
            if !left_turn {
                break;
            }
            hull.pop();
        }
        hull.push(*point);
    }
    hull
}

/// How far the pair is open when the upper face first touches the laid-in blank.
pub fn opening_at_touch(laid: &Laid, upper: &Chain, chord_error_mm: f64, thickness_mm: f64) -> f64 {
    let along = (laid.right - laid.left).normalize();
    let up = Vector2::new(-along.y, along.x) * thickness_mm;
    let (left, right) = (laid.left + up, laid.right + up);
    let ends = [left, right].map(|end| end.y - upper.height_at(end.x));
    upper
        .flattened(chord_error_mm)
        .iter()
        .filter(|point| (left.x..=right.x).contains(&point.x))
        .map(|point| laid.height_at(point.x) + laid.thickness_up_mm - point.y)
        .chain(ends)
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;
    use approx::assert_abs_diff_eq;

    #[test]
    fn on_a_level_table_it_lies_level_and_touches_at_its_thickness() {
        let mut strip = Chain::from_start(0.0, 0.5, Angle::ZERO);
        strip.line(20.0);
        let face = strip.offset(-0.5).unwrap();
        let laid = lay_in(&strip, &face.flattened(0.01), 1.0);
        assert_abs_diff_eq!(laid.left.x, 0.0, epsilon = 1e-12);
        assert_abs_diff_eq!(laid.right.y, 0.0, epsilon = 1e-12);
        let upper = strip.offset(0.5).unwrap();
        assert_abs_diff_eq!(
            opening_at_touch(&laid, &upper, 0.01, 1.0),
            0.0,
            epsilon = 1e-12
        );
    }

    /// A point-symmetric step: the blank leans on the nose of the upper flat and on the lower flat's end,
    /// or lies level on the upper flat; either way it never cuts into the face.
    #[test]
    fn it_never_cuts_into_the_face() {
        let mut strip = Chain::from_start(0.0, 0.0, Angle::ZERO);
        strip
            .line(15.0)
            .arc(2.5, Angle::deg(60.0))
            .line(4.0)
            .arc(2.5, Angle::deg(-60.0))
            .line(12.0);
        let face = strip.offset(-0.5).unwrap().flattened(0.001);
        let laid = lay_in(&strip, &face, 1.0);
        let touching = face
            .iter()
            .map(|point| laid.height_at(point.x) - point.y)
            .fold(f64::INFINITY, f64::min);
        assert_abs_diff_eq!(touching, 0.0, epsilon = 1e-9);
        let length = (laid.right - laid.left).norm();
        assert_abs_diff_eq!(length, strip.length_mm(), epsilon = 1e-9);
    }
}

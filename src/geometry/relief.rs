//! Hollow corners of a die face, made tighter than the sheet that lies in them.

use super::chain::{Chain, Segment};

/// Smallest radius left in a relieved hollow corner.
const LEAST_HOLLOW_MM: f64 = 0.2;

/// Makes the hollow corners of a face tighter, so that the sheet's outside never bottoms in them.
///
/// Each is drawn with a radius smaller by `relief_mm` between the same straight lines. `arcs` are the numbers of the
/// arcs that work (run-outs do not); `hollow` is the sign of the turns that are hollow in this face. Gives the face and the largest void.
pub fn relieved(
    face: &Chain,
    arcs: std::ops::Range<usize>,
    hollow: f64,
    relief_mm: f64,
) -> (Chain, f64) {
    let mut made = Chain {
        start: face.start,
        segments: Vec::new(),
    };
    let mut number = 0;
    let mut void_mm: f64 = 0.0;
    for segment in &face.segments {
        match *segment {
            Segment::Line { length_mm } => {
                made.line(length_mm);
            }
            Segment::Arc { radius_mm, turn } => {
                let working = arcs.contains(&number) && turn.rad().signum() == hollow.signum();
                number += 1;
                let tighter_mm = (radius_mm - relief_mm).max(LEAST_HOLLOW_MM).min(radius_mm);
                if !working || tighter_mm == radius_mm {
                    made.arc(radius_mm, turn);
                    continue;
                }
                let half = turn.abs().half();
                let longer_mm = (radius_mm - tighter_mm) * half.tan();
                void_mm = void_mm.max((radius_mm - tighter_mm) * (1.0 / half.cos() - 1.0));
                made.line(longer_mm).arc(tighter_mm, turn).line(longer_mm);
            }
        }
    }
    (made.joined(), void_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_relieved_corner_keeps_the_straights_it_joins() {
        let mut face = Chain::from_start(1.0, 2.0, Angle::ZERO);
        face.line(9.0)
            .arc(2.0, Angle::deg(70.0))
            .line(4.0)
            .arc(3.0, Angle::deg(-70.0))
            .line(9.0);
        let (made, void_mm) = relieved(&face, 0..2, 1.0, 0.8);
        let (end, wanted) = (made.end(), face.end());
        assert_abs_diff_eq!(end.point.x, wanted.point.x, epsilon = 1e-9);
        assert_abs_diff_eq!(end.point.y, wanted.point.y, epsilon = 1e-9);
        // Between the corner's arcs of 2.0 and 1.2 mm, on the bisector.
        let wanted = 0.8 * (1.0 / 35f64.to_radians().cos() - 1.0);
        assert_abs_diff_eq!(void_mm, wanted, epsilon = 1e-12);
        let radii: Vec<f64> = made
            .segments
            .iter()
            .filter_map(|segment| match segment {
                Segment::Arc { radius_mm, .. } => Some(*radius_mm),
                Segment::Line { .. } => None,
            })
            .collect();
        assert_eq!(radii.len(), 2);
        assert_abs_diff_eq!(radii[0], 1.2, epsilon = 1e-12);
        assert_abs_diff_eq!(radii[1], 3.0, epsilon = 1e-12);
    }
}

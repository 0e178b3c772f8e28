//! From the part's millimetres to the picture's: one factor for both directions, nothing stretched.
//!
//! Pictures are drawn on a sheet of fixed width so that line weights, hatches and letters look alike
//! whether the part is 8 mm or 800 mm long.

use crate::geometry::loops::{Loop, LoopEdge};
use nalgebra::{Point2, Vector2};

/// Smallest extent that counts when a picture is fitted, mm: keeps the factor finite.
const LEAST_EXTENT_MM: f64 = 0.1;

/// A window from the part onto the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Sheet length over part length.
    pub scale: f64,
    /// Where the part's origin lies on the sheet.
    origin: Point2<f64>,
}

impl View {
    /// The largest view that shows the box from `low` to `high` within `size_mm` on the sheet, with
    /// `low` at `place`.
    pub fn fitting(
        (low, high): (Point2<f64>, Point2<f64>),
        size_mm: [f64; 2],
        place: Point2<f64>,
    ) -> Self {
        let [width_mm, height_mm] = size_mm;
        let scale = (width_mm / (high.x - low.x).max(LEAST_EXTENT_MM))
            .min(height_mm / (high.y - low.y).max(LEAST_EXTENT_MM));
        Self::with_scale(scale, low, place)
    }

    /// A view with a given factor that shows `low` at `place`.
    pub fn with_scale(scale: f64, low: Point2<f64>, place: Point2<f64>) -> Self {
        Self {
            scale,
            origin: place - low.coords * scale,
        }
    }

    /// The same view with everything shifted by a distance on the part.
    #[must_use]
    pub fn shifted(&self, by: Vector2<f64>) -> Self {
        Self {
            scale: self.scale,
            origin: self.origin + by * self.scale,
        }
    }

    /// A place on the sheet.
    pub fn at(&self, x_mm: f64, y_mm: f64) -> Point2<f64> {
        self.origin + Vector2::new(x_mm, y_mm) * self.scale
    }

    /// A place on the sheet.
    pub fn point(&self, point: Point2<f64>) -> Point2<f64> {
        self.at(point.x, point.y)
    }

    /// A loop on the sheet.
    pub fn shape(&self, shape: &Loop) -> Loop {
        let edges = shape.edges().iter().map(|edge| match *edge {
            LoopEdge::Line { to } => LoopEdge::Line { to: self.point(to) },
            LoopEdge::Arc { to, centre, turn } => LoopEdge::Arc {
                to: self.point(to),
                centre: self.point(centre),
                turn,
            },
        });
        Loop::from_known_edges(edges.collect())
    }

    /// An upright rectangle on the sheet.
    pub fn rectangle(&self, corner: Point2<f64>, opposite: Point2<f64>) -> Loop {
        Loop::rectangle(self.point(corner), self.point(opposite))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Chain;
    use crate::quantity::Angle;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_picture_fills_the_tighter_direction_and_keeps_its_shape() {
        let (low, high) = (Point2::new(-5.0, 2.0), Point2::new(15.0, 7.0));
        let view = View::fitting((low, high), [100.0, 50.0], Point2::new(10.0, 0.0));
        assert_abs_diff_eq!(view.scale, 5.0);
        assert_abs_diff_eq!(view.point(low).x, 10.0);
        assert_abs_diff_eq!(view.point(high).x, 110.0);
        assert_abs_diff_eq!(view.point(high).y, 25.0);
    }

    #[test]
    fn a_section_is_scaled_with_its_arcs() {
        let mut chain = Chain::from_start(1.0, 2.0, Angle::ZERO);
        chain
            .line(3.0)
            .arc(2.0, Angle::deg(60.0))
            .arc(2.0, Angle::deg(-60.0));
        let section = Loop::between(&chain.offset(-0.5).unwrap(), &chain.offset(0.5).unwrap());
        let view = View::with_scale(4.0, Point2::new(1.0, 1.0), Point2::new(7.0, 9.0));
        let drawn = Loop::from_edges(view.shape(&section).edges().to_vec()).unwrap();
        assert_abs_diff_eq!(drawn.area_mm2(), 16.0 * section.area_mm2(), epsilon = 1e-9);
        assert_eq!(drawn.start(), view.point(section.start()));
    }

    #[test]
    fn nothing_at_all_still_has_a_view() {
        let view = View::fitting(
            (Point2::origin(), Point2::origin()),
            [100.0, 50.0],
            Point2::origin(),
        );
        assert!(view.scale.is_finite());
    }
}

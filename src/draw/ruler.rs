//! Rulers to check a print with: a hundred millimetres along each side of the paper.

use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::style::Role;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// Length of a ruler.
pub const RULER_MM: f64 = 100.0;
/// Room that a ruler takes beside its line, towards the outside.
pub const RULER_BAND_MM: f64 = 10.0;
/// Letters of the rulers, mm.
const LETTERS_MM: f64 = 2.6;
/// From stroke to stroke, mm.
const PITCH_MM: f64 = 10.0;

/// The words beside rulers on a sheet that says nothing else about printing.
pub const ALONE: &str = "Print at 100 %: both rulers must measure 100 mm.";

/// Two rulers that meet at a corner, numbers and words on the outside.
pub fn rulers(drawing: &mut Drawing, corner: Point2<f64>, words: &str) {
    ruler(drawing, corner, Vector2::x(), -Vector2::y(), words);
    ruler(drawing, corner, Vector2::y(), -Vector2::x(), "");
}

/// One ruler; `out` points to the side of its numbers.
fn ruler(
    drawing: &mut Drawing,
    from: Point2<f64>,
    along: Vector2<f64>,
    out: Vector2<f64>,
    words: &str,
) {
    drawing.line(Role::Hole, from, from + along * RULER_MM);
    for stroke in 0..=10u8 {
        let at = from + along * (PITCH_MM * f64::from(stroke));
        let long_mm = if stroke % 5 == 0 { 3.0 } else { 1.6 };
        drawing.line(Role::Hole, at, at + out * long_mm);
        if stroke % 5 == 0 {
            let number = if stroke == 10 {
                "100 mm".to_owned()
            } else {
                format!("{}", 10 * u16::from(stroke))
            };
            let rotate = Angle::between(along.x, along.y);
            // Letters hang towards the outside of a level ruler and stand towards that of an upright one.
            let away_mm = if along.x > 0.5 {
                3.4 + 0.75 * LETTERS_MM
            } else {
                3.6
            };
            let mut text = Text::new(at + out * away_mm, LETTERS_MM, number);
            text.rotate = rotate;
            text.anchor = match stroke {
                0 => Anchor::Start,
                10 => Anchor::End,
                _ => Anchor::Middle,
            };
            drawing.text(Role::Label, text);
        }
    }
    if !words.is_empty() {
        let mut text = Text::new(
            from + along * 5.0 + out * (3.4 + 0.75 * LETTERS_MM + 1.3 * LETTERS_MM),
            LETTERS_MM,
            words,
        );
        text.rotate = Angle::between(along.x, along.y);
        drawing.text(Role::Label, text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;

    #[test]
    fn both_are_a_hundred_millimetres_long_with_eleven_strokes() {
        let mut drawing = Drawing::new("", "");
        rulers(&mut drawing, Point2::new(3.0, 4.0), ALONE);
        let lines: Vec<Vector2<f64>> = drawing
            .items()
            .iter()
            .filter_map(|item| match item.shape {
                Shape::Line { from, to } => Some(to - from),
                _ => None,
            })
            .collect();
        let long = |wanted: Vector2<f64>| lines.iter().filter(|way| **way == wanted).count();
        assert_eq!(long(Vector2::new(100.0, 0.0)), 1);
        assert_eq!(long(Vector2::new(0.0, 100.0)), 1);
        assert_eq!(lines.len(), 2 + 2 * 11);
        let (low, high) = drawing.bounds().unwrap();
        // Nothing on the inside, and no more room taken than said.
        assert!((low - Point2::new(3.0, 4.0)).min() > -RULER_BAND_MM - 0.1);
        assert!((high - Point2::new(103.0, 104.0)).amax() < 1e-9);
    }
}

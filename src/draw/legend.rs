//! What the fillings and lines of a picture mean, and how long ten millimetres are in it.

use crate::draw::drawing::{Drawing, Shape, Text};
use crate::draw::lettering::width_mm;
use crate::draw::style::{Fill, Role};
use crate::draw::view::View;
use crate::geometry::Loop;
use crate::numbers::plain;
use nalgebra::{Point2, Vector2};

/// Size of a swatch, in letter sizes.
const SWATCH: [f64; 2] = [2.2, 1.0];
/// Length of a swatch that is only a line: shows its dashes.
const SWATCH_LINE: f64 = 3.9;
/// Distance from row to row, in letter sizes.
const ROW: f64 = 1.9;
/// Shortest scale bar on the sheet, mm.
const LEAST_BAR_MM: f64 = 14.0;

/// Draws the words for those of the roles that the drawing uses, below all of it; with a view, also a
/// bar at the end of the last row that shows its scale.
pub fn legend(
    drawing: &mut Drawing,
    view: Option<&View>,
    words: &[(Role, &str)],
    sheet_mm: f64,
    size_mm: f64,
) {
    let (left, bottom) = drawing
        .bounds()
        .map_or((0.0, 0.0), |(low, _)| (low.x.min(0.0), low.y));
    let used: Vec<(Role, &str)> = words
        .iter()
        .filter(|(role, _)| {
            let mut items = drawing.items().iter();
            items.any(|item| item.role == *role && !matches!(item.shape, Shape::Text(_)))
        })
        .copied()
        .collect();
    let up_mm = SWATCH[1] * size_mm;
    let lift = Vector2::new(0.0, 0.18 * size_mm);
    let mut at = Point2::new(left, bottom - 2.5 * size_mm);
    let right = left + sheet_mm;
    for (role, word) in used {
        let across_mm = size_mm
            * match role.style().fill {
                Fill::None if !role.style().dash_mm.is_empty() => SWATCH_LINE,
                _ => SWATCH[0],
            };
        let taken_mm = across_mm + width_mm(word, size_mm) + 1.8 * size_mm;
        if at.x > left && at.x + taken_mm > right {
            at = Point2::new(left, at.y - ROW * size_mm);
        }
        swatch(drawing, role, at, [across_mm, up_mm]);
        let place = at + Vector2::new(across_mm + 0.4 * size_mm, 0.0) + lift;
        drawing.text(Role::Label, Text::new(place, size_mm, word));
        at.x += taken_mm;
    }
    let Some(view) = view else { return };
    let (length_mm, bar_mm) = bar(view.scale);
    let text = format!("{} mm", plain(length_mm));
    let taken_mm = bar_mm + 0.6 * size_mm + width_mm(&text, size_mm);
    if at.x + taken_mm > right {
        at.y -= ROW * size_mm;
    }
    let begin = Point2::new(right - taken_mm, at.y + up_mm / 2.0);
    let end = begin + Vector2::new(bar_mm, 0.0);
    measured_line(drawing, begin, end);
    let place = Point2::new(end.x + 0.6 * size_mm, at.y) + lift;
    drawing.text(Role::Label, Text::new(place, size_mm, text));
}

/// A line between two strokes.
pub fn measured_line(drawing: &mut Drawing, begin: Point2<f64>, end: Point2<f64>) {
    let tick = Vector2::new(0.0, 1.0);
    drawing.line(Role::Outline, begin, end);
    drawing.line(Role::Outline, begin - tick, begin + tick);
    drawing.line(Role::Outline, end - tick, end + tick);
}

fn swatch(drawing: &mut Drawing, role: Role, at: Point2<f64>, [across, up]: [f64; 2]) {
    if role.style().fill == Fill::None {
        let level = Vector2::new(0.0, up / 2.0);
        drawing.line(role, at + level, at + level + Vector2::new(across, 0.0));
    } else {
        let shape = Loop::rectangle(at, at + Vector2::new(across, up));
        drawing.area(role, vec![shape]);
    }
}

/// Length of the bar on the part, a round number, and on the sheet.
pub fn bar(scale: f64) -> (f64, f64) {
    let rounds = [0.1, 1.0, 10.0, 100.0, 1000.0]
        .into_iter()
        .flat_map(|ten| [ten, 2.0 * ten, 5.0 * ten]);
    let length_mm = rounds
        .into_iter()
        .find(|length| length * scale >= LEAST_BAR_MM)
        .unwrap_or(LEAST_BAR_MM / scale);
    (length_mm, length_mm * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_a_round_length_of_readable_size() {
        for scale in [0.15, 0.7, 1.0, 4.2, 18.0] {
            let (length_mm, bar_mm) = bar(scale);
            assert!((LEAST_BAR_MM..=2.5 * LEAST_BAR_MM).contains(&bar_mm));
            let digits = plain(length_mm).replace(['0', '.'], "");
            assert!(["1", "2", "5"].contains(&digits.as_str()), "{length_mm}");
        }
    }

    #[test]
    fn only_what_is_drawn_is_explained() {
        let mut drawing = Drawing::new("", "");
        drawing.area(
            Role::Pad,
            vec![Loop::rectangle(Point2::origin(), Point2::new(3.0, 3.0))],
        );
        let view = View::with_scale(1.0, Point2::origin(), Point2::origin());
        legend(
            &mut drawing,
            Some(&view),
            &[(Role::Pad, "thermal pad"), (Role::Obstacle, "obstacle")],
            100.0,
            2.8,
        );
        let says = |word: &str| {
            drawing
                .items()
                .iter()
                .any(|item| matches!(&item.shape, Shape::Text(text) if text.content == word))
        };
        assert!(says("thermal pad") && says("20 mm"));
        assert!(!says("obstacle"));
    }
}

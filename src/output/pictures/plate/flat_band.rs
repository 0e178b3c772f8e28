//! The band under a picture that names flats and steps where they lie along the strip.

use crate::draw::drawing::Drawing;
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::lettering::{LABEL_LETTERS, SHEET_MM, TEXT_MM, degrees, wrapped};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::numbers::{hundredths, size};
use crate::part::Part;
use nalgebra::{Point2, Vector2};

/// Half the height of the strokes that bound a flat, mm.
const STROKE_MM: f64 = 1.1;

/// Draws the band at a level of the sheet, its words below it, and gives the level at which it ends.
pub fn flat_band(part: &Part, view: &View, level: f64, drawing: &mut Drawing) -> f64 {
    let on_band = |x_mm: f64| Point2::new(view.at(x_mm, 0.0).x, level);
    let stroke = Vector2::new(0.0, STROKE_MM);
    let mut remarks = Vec::new();
    for flat in &part.flats {
        let (from, to) = (on_band(flat.level.from_mm), on_band(flat.level.to_mm));
        drawing.line(Role::Outline, from, to);
        drawing.line(Role::Dimension, from - stroke, from + stroke);
        drawing.line(Role::Dimension, to - stroke, to + stroke);
        let mut lines = wrapped(&flat.name, LABEL_LETTERS);
        lines.push(format!(
            "{} long",
            size(flat.level.to_mm - flat.level.from_mm)
        ));
        lines.push(format!("underside {}", size(flat.level.underside_mm)));
        remarks.push(Remark {
            tip: nalgebra::center(&from, &to),
            lines,
            role: Role::Label,
            dot: false,
        });
    }
    for (step, pair) in part.steps.iter().zip(part.flats.windows(2)) {
        let [before, after] = pair else { continue };
        let (from, to) = (on_band(before.level.to_mm), on_band(after.level.from_mm));
        drawing.line(Role::Tangent, from, to);
        let way = if step.up { "up" } else { "down" };
        remarks.push(Remark {
            tip: nalgebra::center(&from, &to),
            lines: vec![
                format!("step {way} {}", hundredths(step.shape.rise_mm)),
                format!("run {}", hundredths(step.shape.run_mm)),
                format!("wall {}", degrees(step.shape.bend)),
            ],
            role: Role::Label,
            dot: false,
        });
    }
    let rows = Rows {
        from_mm: 0.0,
        to_mm: SHEET_MM,
        base_mm: level - STROKE_MM,
        side: LabelSide::Below,
        size_mm: TEXT_MM,
    };
    rows.draw(remarks, drawing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::part::{parse, starter::STARTER};

    #[test]
    fn every_flat_and_step_is_named_with_its_numbers() {
        let part = parse(STARTER).unwrap().value;
        let view = View::with_scale(4.0, Point2::origin(), Point2::origin());
        let mut drawing = Drawing::new("", "");
        let end = flat_band(&part, &view, 10.0, &mut drawing);
        let words: Vec<String> = drawing
            .items()
            .iter()
            .filter_map(|item| match &item.shape {
                Shape::Text(text) => Some(text.content.clone()),
                _ => None,
            })
            .collect();
        for wanted in [
            "stages",
            "chokes",
            "underside 1.75",
            "step up 2.15",
            "run 5.00",
        ] {
            assert!(
                words.iter().any(|word| word == wanted),
                "{wanted}: {words:?}"
            );
        }
        assert!(drawing.bounds().unwrap().0.y >= end);
    }
}

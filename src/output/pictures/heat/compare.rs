//! Every board part before and after: one row each, with how far the numbers can be trusted.

use crate::draw::axis::round_below;
use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::legend::legend;
use crate::draw::lettering::SMALL_MM;
use crate::draw::lettering::{
    PITCH, SHEET_MM, TEXT_MM, footing, heading, letters_in, part_name, wrapped,
};
use crate::draw::style::Role;
use crate::geometry::Loop;
use crate::heat::{Heat, PartTemperature, Range};
use crate::numbers::{count, plain, tenths};
use crate::part::Part;
use crate::words::heat::verdict;
use nalgebra::{Point2, Vector2};
use std::fmt::Write as _;

/// Room for names at the left, mm.
const NAMES_MM: f64 = 34.0;
/// The field of bars along x, mm.
const FIELD_MM: (f64, f64) = (37.0, 118.0);
/// Where the columns of numbers end, mm: old, new, difference.
const COLUMNS_MM: [f64; 3] = [130.0, 142.0, SHEET_MM];
/// Where the column of the new plate's range begins when there is no old plate.
const RANGE_MM: f64 = 146.0;
/// Height of a row with both bars, mm.
const ROW_MM: f64 = 10.0;
/// Height of a bar, mm.
const BAR_MM: f64 = 2.6;
/// Lines of the axis at most.
const MOST_TICKS: f64 = 9.0;

const LEGEND: &[(Role, &str)] = &[
    (Role::Before, "old plate"),
    (Role::After, "new plate"),
    (Role::Limit, "limit"),
];

/// All parts with their ranges before and after.
pub fn heat_compare(part: &Part, heat: &Heat) -> Drawing {
    let has_old = heat.old_plate.is_some();
    let title = format!(
        "{}: board parts {}",
        part_name(&part.name),
        if has_old {
            "before and after"
        } else {
            "with the new plate"
        }
    );
    let mut drawing = Drawing::new(title.clone(), description(heat));
    let axis = Axis::of(heat);
    let mut top = 0.0;
    for of in &heat.parts {
        top -= row(&axis, of, top, has_old, &mut drawing);
    }
    // Under the rows, but drawn last in the list of places: their lines run over the whole height.
    axis.draw(top, &mut drawing);
    head(has_old, &mut drawing);
    legend(&mut drawing, None, LEGEND, SHEET_MM, TEXT_MM);
    footing(
        &mut drawing,
        &[format!(
            "Each bar is the 90 % range of {} draws of everything that is not known exactly; the stroke across it is the middle of \
             all inputs. {}",
            count(heat.draws),
            if has_old {
                "Old and new plate are drawn together, so their difference is known better than either."
            } else {
                "There is no old plate to compare with."
            }
        )],
        SHEET_MM,
        TEXT_MM,
    );
    heading(
        &mut drawing,
        &title,
        &[verdict(heat), "Inside of each part, °C.".to_owned()],
        SHEET_MM,
        TEXT_MM,
    );
    drawing
}

fn description(heat: &Heat) -> String {
    let mut text = "Temperatures inside the board parts, each with its 90 % range.".to_owned();
    for of in &heat.parts {
        let _ = write!(text, " {}:", of.name);
        if let Some(old) = of.old_inside_c {
            let _ = write!(text, " old plate {},", ranged(old, "°C"));
        }
        let _ = write!(text, " new plate {}", ranged(of.inside_c, "°C"));
        if let Some(limit_c) = of.limit_c {
            let _ = write!(text, ", limit {} °C", plain(limit_c));
        }
        text.push('.');
    }
    text
}

fn ranged(range: Range, unit: &str) -> String {
    if !range.middle.is_finite() {
        return "not known".to_owned();
    }
    format!(
        "{} {unit} ({} to {})",
        tenths(range.middle),
        tenths(range.low),
        tenths(range.high)
    )
}

/// Temperatures along the sheet, °C.
struct Axis {
    from: f64,
    to: f64,
    step: f64,
}

impl Axis {
    fn of(heat: &Heat) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let ranges = heat
            .parts
            .iter()
            .flat_map(|of| [Some(of.inside_c), of.old_inside_c])
            .flatten()
            .flat_map(|range| [range.low, range.middle, range.high]);
        let limits = heat.parts.iter().filter_map(|of| of.limit_c);
        for c in ranges.chain(limits).filter(|c| c.is_finite()) {
            low = low.min(c);
            high = high.max(c);
        }
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        let step = 1.0 / round_below(MOST_TICKS / (high - low).max(1.0));
        Self {
            from: (low / step - 0.05).floor() * step,
            to: (high / step + 0.05).ceil() * step,
            step,
        }
    }

    fn x(&self, c: f64) -> f64 {
        let (left, right) = FIELD_MM;
        left + (right - left) * (c - self.from) / (self.to - self.from)
    }

    fn draw(&self, bottom: f64, drawing: &mut Drawing) {
        let (left, right) = FIELD_MM;
        let foot = bottom - 1.0;
        drawing.line(
            Role::Dimension,
            Point2::new(left, foot),
            Point2::new(right, foot),
        );
        let mut c = self.from;
        while c < self.to + 0.5 * self.step {
            let at = Point2::new(self.x(c), foot);
            drawing.line(Role::Dimension, at, at - Vector2::new(0.0, 1.2));
            drawing.text(
                Role::Dimension,
                Text::new(
                    at - Vector2::new(0.0, 1.8 + 0.75 * TEXT_MM),
                    TEXT_MM,
                    plain((c * 1e6).round() / 1e6 + 0.0),
                )
                .anchored(Anchor::Middle),
            );
            c += self.step;
        }
    }
}

/// Words over the columns of numbers.
fn head(has_old: bool, drawing: &mut Drawing) {
    let [old, new, difference] = COLUMNS_MM;
    let y = 1.2;
    let mut put = |x: f64, words: &str, anchor: Anchor| {
        drawing.text(
            Role::Label,
            Text::new(Point2::new(x, y), TEXT_MM, words).anchored(anchor),
        );
    };
    put(0.0, "part", Anchor::Start);
    put(new, "new", Anchor::End);
    if has_old {
        put(old, "old", Anchor::End);
        put(difference, "difference, K", Anchor::End);
    } else {
        put(RANGE_MM, "90 % range", Anchor::Start);
    }
}

/// Draws one row below a level and gives its height.
fn row(axis: &Axis, of: &PartTemperature, top: f64, has_old: bool, drawing: &mut Drawing) -> f64 {
    let names = wrapped(&of.name, letters_in(NAMES_MM, TEXT_MM));
    let mut small = vec![format!("{} W", plain(of.heat_w))];
    if let Some(limit_c) = of.limit_c {
        small.push(format!("limit {} °C", plain(limit_c)));
    }
    let small = wrapped(&small.join(", "), letters_in(NAMES_MM, SMALL_MM));
    let names_mm =
        PITCH * (names.len() as f64 * TEXT_MM + small.len() as f64 * SMALL_MM) + 0.8 * TEXT_MM;
    let height_mm = ROW_MM.max(names_mm);
    let (left, right) = FIELD_MM;
    drawing.line(
        Role::Faint,
        Point2::new(0.0, top),
        Point2::new(SHEET_MM, top),
    );
    let mut y = top - 0.3 * TEXT_MM;
    for (size_mm, line) in names
        .into_iter()
        .map(|line| (TEXT_MM, line))
        .chain(small.into_iter().map(|line| (SMALL_MM, line)))
    {
        y -= PITCH * size_mm;
        drawing.text(Role::Label, Text::new(Point2::new(0.0, y), size_mm, line));
    }
    let middle = top - height_mm / 2.0;
    let apart = if has_old { 0.62 * BAR_MM } else { 0.0 };
    if let Some(old) = of.old_inside_c {
        bar(axis, old, middle + apart, Role::Before, drawing);
    }
    bar(axis, of.inside_c, middle - apart, Role::After, drawing);
    if let Some(limit_c) = of.limit_c {
        let x = axis.x(limit_c).clamp(left, right);
        drawing.line(
            Role::Limit,
            Point2::new(x, top - 0.6),
            Point2::new(x, top - height_mm + 0.6),
        );
    }
    numbers(of, middle - 0.35 * TEXT_MM, has_old, drawing);
    height_mm
}

fn bar(axis: &Axis, range: Range, y: f64, role: Role, drawing: &mut Drawing) {
    if !range.middle.is_finite() {
        return;
    }
    let half = Vector2::new(0.0, BAR_MM / 2.0);
    let (low, high) = (
        Point2::new(axis.x(range.low), y),
        Point2::new(axis.x(range.high), y),
    );
    if high.x - low.x > 0.05 {
        drawing.area(role, vec![Loop::rectangle(low - half, high + half)]);
    }
    let middle = Point2::new(axis.x(range.middle), y);
    let stroke = half * 1.25;
    drawing.line(Role::Outline, middle - stroke, middle + stroke);
}

fn numbers(of: &PartTemperature, y: f64, has_old: bool, drawing: &mut Drawing) {
    let [old_x, new_x, difference_x] = COLUMNS_MM;
    let known = |c: f64| {
        if c.is_finite() {
            tenths(c)
        } else {
            "?".to_owned()
        }
    };
    let mut put = |role: Role, x: f64, words: String, anchor: Anchor| {
        drawing.text(
            role,
            Text::new(Point2::new(x, y), TEXT_MM, words).anchored(anchor),
        );
    };
    let role = if of.above_limit {
        Role::Alert
    } else {
        Role::Label
    };
    put(role, new_x, known(of.inside_c.middle), Anchor::End);
    if let Some(old) = of.old_inside_c {
        put(Role::Label, old_x, known(old.middle), Anchor::End);
    }
    if let Some(difference) = of.difference_k {
        let words = if difference.middle.is_finite() {
            format!(
                "{} ({} to {})",
                tenths(difference.middle),
                tenths(difference.low),
                tenths(difference.high)
            )
        } else {
            "?".to_owned()
        };
        put(Role::Label, difference_x, words, Anchor::End);
    } else if !has_old && of.inside_c.middle.is_finite() {
        let words = if of.inside_c.high > of.inside_c.low {
            format!(
                "{} to {}",
                tenths(of.inside_c.low),
                tenths(of.inside_c.high)
            )
        } else {
            "no range".to_owned()
        };
        put(Role::Label, RANGE_MM, words, Anchor::Start);
    }
    if of.above_limit {
        let at = Point2::new(new_x, y - 1.15 * SMALL_MM);
        drawing.text(
            Role::Alert,
            Text::new(at, SMALL_MM, "above its limit").anchored(Anchor::End),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::output::pictures::fixtures::check::{assert_sound, says};
    use crate::output::pictures::fixtures::heat::{case, warm};

    #[test]
    fn every_comparison_can_be_read() {
        for warm in warm() {
            let drawing = heat_compare(&warm.part, &warm.heat);
            assert_sound(warm.name, &drawing, &heat_compare(&warm.part, &warm.heat));
            for of in &warm.heat.parts {
                assert!(says(&drawing, &of.name), "{}: {}", warm.name, of.name);
                assert!(says(&drawing, &tenths(of.inside_c.middle)));
                if let Some(difference) = of.difference_k {
                    assert!(says(&drawing, &tenths(difference.high)));
                }
                if let Some(limit_c) = of.limit_c {
                    assert!(says(&drawing, &format!("limit {} °C", plain(limit_c))));
                }
                assert!(!of.above_limit || says(&drawing, "above its limit"));
            }
        }
    }

    /// Ends of all bars of a kind along x, but not of the legend's swatch.
    fn bars(drawing: &Drawing, role: Role) -> Vec<(f64, f64)> {
        let areas = drawing.items().iter().filter_map(|item| match &item.shape {
            Shape::Area { loops } if item.role == role => Some(loops[0].bounds()),
            _ => None,
        });
        areas
            .map(|(low, high)| (low.x, high.x))
            .filter(|(low, _)| *low >= FIELD_MM.0)
            .collect()
    }

    #[test]
    fn bars_reach_from_the_lower_to_the_upper_twentieth() {
        let full = case("full");
        let drawing = heat_compare(&full.part, &full.heat);
        let axis = Axis::of(&full.heat);
        let (old, new) = (bars(&drawing, Role::Before), bars(&drawing, Role::After));
        assert_eq!((old.len(), new.len()), (3, 3));
        for (of, (low, high)) in full.heat.parts.iter().zip(new) {
            assert!((low - axis.x(of.inside_c.low)).abs() < 1e-9);
            assert!((high - axis.x(of.inside_c.high)).abs() < 1e-9);
            assert!(FIELD_MM.0 <= low && high <= FIELD_MM.1);
        }
    }

    #[test]
    fn what_is_not_known_is_a_question_mark() {
        let full = case("full");
        let mut heat = full.heat.clone();
        let nothing = Range {
            middle: f64::NAN,
            low: f64::NAN,
            high: f64::NAN,
        };
        for of in &mut heat.parts {
            of.inside_c = nothing;
            of.old_inside_c = Some(nothing);
            of.difference_k = Some(nothing);
            of.limit_c = None;
        }
        let drawing = heat_compare(&full.part, &heat);
        assert_sound("nothing known", &drawing, &drawing);
        assert!(says(&drawing, "?") && !says(&drawing, "NaN"));
        assert!(!drawing.description.contains("NaN"));
    }
}

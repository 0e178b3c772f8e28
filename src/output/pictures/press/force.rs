//! The closing force over the way of the upper die, and what the vise gives.

use crate::draw::axis::round_below;
use crate::draw::drawing::{Anchor, Drawing, Shape, Text};
use crate::draw::legend::legend;
use crate::draw::lettering::{SHEET_MM, TEXT_MM, footing, heading, part_name};
use crate::draw::style::Role;
use crate::forming::pressing::Pressing;
use crate::geometry::loops::LoopEdge;
use crate::numbers::{hundredths, plain};
use crate::output::pictures::press::pressed::LINE_MM;
use crate::part::Part;
use crate::quantity::Angle;
use crate::words;
use nalgebra::{Point2, Vector2};

/// Left lower corner of the field, and its size, mm on the sheet.
const FIELD_MM: [f64; 4] = [20.0, 0.0, 136.0, 84.0];
/// Lines of an axis at most.
const MOST_TICKS: f64 = 8.0;
/// A vise line that would take more than this many times the largest force is left out and said in words.
const TOO_HIGH: f64 = 2.5;
/// Air above the highest line, as a share.
const HEADROOM: f64 = 1.12;

const LEGEND: &[(Role, &str)] = &[
    (Role::Outline, "force while closing"),
    (Role::HiddenEdge, "least that the vise gives"),
    (Role::BendLine, "most that the vise gives"),
    (Role::Tangent, "closed as drawn"),
];

/// Where numbers lie on the field.
struct Field {
    way_mm: f64,
    most_n_mm: f64,
}

impl Field {
    fn at(&self, way_mm: f64, force_n_mm: f64) -> Point2<f64> {
        let [left, foot, width, height] = FIELD_MM;
        Point2::new(
            left + width * way_mm / self.way_mm,
            foot + height * force_n_mm / self.most_n_mm,
        )
    }
}

/// Force over the way: for each mm of width on the left, over the whole width on the right.
pub fn force_curve(part: &Part, pressing: &Pressing) -> Drawing {
    let title = format!("{}: force while closing", part_name(&part.name));
    let words = words::press::force(part, pressing);
    let mut drawing = Drawing::new(
        title.clone(),
        format!("Closing force over the way of the upper die, from first touch on. {words}"),
    );
    let first_mm = pressing.curve.first().map_or(0.0, |point| point.lifted_mm);
    let last_mm = pressing.curve.last().map_or(0.0, |point| point.lifted_mm);
    let width_mm = part.width_mm;
    let largest = pressing.max_force_n_per_mm.max(1e-3);
    let gives = pressing.strength.vise.map(|check| check.gives_n);
    let lines = vise_lines(gives, width_mm, largest);
    let highest = lines
        .iter()
        .map(|(_, force, _)| *force)
        .fold(largest, f64::max);
    let field = Field {
        way_mm: (first_mm - last_mm).max(1e-3) * 1.03,
        most_n_mm: highest * HEADROOM,
    };
    axes(&field, width_mm, &mut drawing);
    // Where the dies would be closed if they did not give.
    if last_mm < 0.0 && first_mm > 0.0 {
        drawing.line(
            Role::Tangent,
            field.at(first_mm, 0.0),
            field.at(first_mm, field.most_n_mm),
        );
    }
    let mut points = pressing
        .curve
        .iter()
        .map(|point| field.at(first_mm - point.lifted_mm, point.force_n_per_mm));
    if let Some(start) = points.next() {
        let edges = points.map(|to| LoopEdge::Line { to }).collect();
        drawing.push(Role::Outline, Shape::Path { start, edges });
    }
    peak(&field, pressing, first_mm, &lines, &mut drawing);
    vise(&field, &lines, &mut drawing);
    legend(&mut drawing, None, LEGEND, SHEET_MM, TEXT_MM);
    let mut remarks = Vec::new();
    if let Some([low, high]) = gives {
        let hidden: Vec<String> = [low, high]
            .iter()
            .filter(|force| *force / width_mm > TOO_HIGH * largest)
            .map(|force| format!("{force:.0} N"))
            .collect();
        if !hidden.is_empty() {
            remarks.push(format!(
                "Of the vise, {} lie above this picture.",
                hidden.join(" and ")
            ));
        }
    }
    if last_mm < 0.0 {
        remarks.push(format!(
            "Dotted: the closed place of the dies as drawn, with their faces further apart than the sheet is thick. To grip the \
             sheet the upper die goes {} mm on.",
            hundredths(-last_mm)
        ));
    }
    footing(&mut drawing, &remarks, SHEET_MM, TEXT_MM);
    let notes = [
        words,
        format!(
            "The way counts from first touch; the plate is {} mm wide.",
            plain(width_mm)
        ),
    ];
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    drawing
}

/// Lines of the vise that fit the picture: role, force for each mm of width, words.
fn vise_lines(
    gives: Option<[f64; 2]>,
    width_mm: f64,
    largest_n_mm: f64,
) -> Vec<(Role, f64, String)> {
    let Some([low, high]) = gives else {
        return Vec::new();
    };
    let mut lines = vec![(
        Role::HiddenEdge,
        low / width_mm,
        format!("vise gives at least {low:.0} N"),
    )];
    if high - low >= 1.0 {
        lines.push((
            Role::BendLine,
            high / width_mm,
            format!("vise gives at most {high:.0} N"),
        ));
    } else {
        lines = vec![(
            Role::HiddenEdge,
            low / width_mm,
            format!("vise gives {low:.0} N"),
        )];
    }
    lines.retain(|(_, force, _)| *force <= TOO_HIGH * largest_n_mm);
    lines
}

fn axes(field: &Field, width_mm: f64, drawing: &mut Drawing) {
    let [left, foot, width, height] = FIELD_MM;
    let (right, top) = (left + width, foot + height);
    let down = 0.35 * TEXT_MM;
    let level = |y: f64| (Point2::new(left, y), Point2::new(right, y));
    for force in ticks(field.most_n_mm) {
        let y = field.at(0.0, force).y;
        let (from, to) = level(y);
        drawing.line(Role::Faint, from, to);
        drawing.text(
            Role::Dimension,
            Text::new(Point2::new(left - 1.5, y - down), TEXT_MM, plain(force))
                .anchored(Anchor::End),
        );
    }
    for force_n in ticks(field.most_n_mm * width_mm) {
        let y = field.at(0.0, force_n / width_mm).y;
        let end = Point2::new(right, y);
        drawing.line(Role::Dimension, end, end + Vector2::new(1.2, 0.0));
        drawing.text(
            Role::Dimension,
            Text::new(
                end + Vector2::new(2.0, -down),
                TEXT_MM,
                format!("{force_n:.0}"),
            ),
        );
    }
    for way in ticks(field.way_mm) {
        let at = field.at(way, 0.0);
        drawing.line(Role::Dimension, at, at - Vector2::new(0.0, 1.2));
        drawing.text(
            Role::Dimension,
            Text::new(
                at - Vector2::new(0.0, 1.8 + 0.75 * TEXT_MM),
                TEXT_MM,
                plain(way),
            )
            .anchored(Anchor::Middle),
        );
    }
    for (from, to) in [
        (Point2::new(left, foot), Point2::new(right, foot)),
        (Point2::new(left, foot), Point2::new(left, top)),
        (Point2::new(right, foot), Point2::new(right, top)),
    ] {
        drawing.line(Role::Dimension, from, to);
    }
    drawing.text(
        Role::Label,
        Text::new(
            Point2::new(f64::midpoint(left, right), foot - 1.8 - 2.2 * LINE_MM),
            TEXT_MM,
            "way of the upper die from first touch, mm: closing to the right",
        )
        .anchored(Anchor::Middle),
    );
    for (x, words) in [
        (left - 14.0, "N for each mm of width"),
        (right + 18.0, "N over the whole width"),
    ] {
        let mut text = Text::new(
            Point2::new(x, f64::midpoint(foot, top)),
            TEXT_MM,
            words.to_owned(),
        )
        .anchored(Anchor::Middle);
        text.rotate = Angle::deg(90.0);
        drawing.text(Role::Label, text);
    }
}

/// Round numbers from zero up to a largest one.
fn ticks(most: f64) -> Vec<f64> {
    let step = 1.0 / round_below(MOST_TICKS / most);
    let mut ticks = Vec::new();
    let mut number = 0.0;
    while number * step <= most && number <= MOST_TICKS + 1.0 {
        ticks.push(number * step);
        number += 1.0;
    }
    ticks
}

/// A dot and the number of the largest force.
fn peak(
    field: &Field,
    pressing: &Pressing,
    first_mm: f64,
    lines: &[(Role, f64, String)],
    drawing: &mut Drawing,
) {
    let Some(point) = pressing
        .curve
        .iter()
        .max_by(|a, b| a.force_n_per_mm.total_cmp(&b.force_n_per_mm))
    else {
        return;
    };
    let at = field.at(first_mm - point.lifted_mm, point.force_n_per_mm);
    drawing.circle(Role::Dimension, at, 0.8);
    // Beside the dot, or wherever next to it no line of the vise goes through the words.
    let free = |up: &f64| {
        lines.iter().all(|(_, force, _)| {
            let line = field.at(0.0, *force).y - at.y;
            !(up - 0.5 * TEXT_MM..up + 1.0 * TEXT_MM).contains(&line)
        })
    };
    let up = [-0.3, -1.7, 0.9, -3.1]
        .into_iter()
        .map(|sizes| sizes * TEXT_MM)
        .find(free)
        .unwrap_or(-4.5 * TEXT_MM);
    drawing.text(
        Role::Label,
        Text::new(
            at + Vector2::new(-2.0, up),
            TEXT_MM,
            format!(
                "largest: {:.0} N/mm, {:.0} N",
                pressing.max_force_n_per_mm, pressing.strength.needed_n
            ),
        )
        .anchored(Anchor::End),
    );
}

/// Vise lines with their words at the left, where the curve is low.
fn vise(field: &Field, lines: &[(Role, f64, String)], drawing: &mut Drawing) {
    let mut below = None;
    for (role, force, words) in lines {
        let (from, to) = (field.at(0.0, *force), field.at(field.way_mm, *force));
        drawing.line(*role, from, to);
        // Two lines close together: the lower one's words stand beneath it.
        let next = lines
            .iter()
            .map(|(_, other, _)| field.at(0.0, *other).y - from.y)
            .find(|gap| *gap > 1e-9);
        let beneath = below.is_none() && next.is_some_and(|gap| gap < 1.6 * TEXT_MM);
        let up = if beneath {
            -1.15 * TEXT_MM
        } else {
            0.45 * TEXT_MM
        };
        drawing.text(
            Role::Label,
            Text::new(from + Vector2::new(3.0, up), TEXT_MM, words.clone()),
        );
        below = Some(());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::{assert_sound, pressed, pressed_parts, says};

    #[test]
    fn ticks_are_round_and_few() {
        for most in [0.3, 1.0, 7.3, 92.0, 4_321.0, 150_000.0] {
            let ticks = ticks(most);
            assert!((3..=10).contains(&ticks.len()), "{most}: {ticks:?}");
            assert!(ticks.iter().all(|tick| *tick <= most));
        }
    }

    #[test]
    fn every_force_curve_can_be_read() {
        for (name, part, pressing) in pressed_parts() {
            let drawing = force_curve(&part, &pressing);
            assert_sound(name, &drawing, &force_curve(&part, &pressing));
            let number = format!("{:.0} N/mm", pressing.max_force_n_per_mm);
            assert!(says(&drawing, &number), "{name}: {number}");
        }
    }

    #[test]
    fn a_strong_vise_is_said_in_words_and_a_fitting_one_drawn() {
        let (part, pressing) = pressed();
        let needed_n = pressing.strength.needed_n;
        for (gives_n, drawn) in [
            ([0.8 * needed_n, 1.7 * needed_n], 2),
            ([needed_n, 1.03 * needed_n], 2),
            ([1.5 * needed_n, 1.5 * needed_n], 1),
            ([2.0 * needed_n, 9.0 * needed_n], 1),
            ([8.0 * needed_n, 9.0 * needed_n], 0),
        ] {
            let mut pressing = pressing.clone();
            pressing.strength.vise.as_mut().unwrap().gives_n = gives_n;
            let drawing = force_curve(&part, &pressing);
            assert_sound("vise", &drawing, &drawing);
            let lines = vise_lines(Some(gives_n), part.width_mm, pressing.max_force_n_per_mm);
            assert_eq!(lines.len(), drawn, "{gives_n:?}");
            for (_, _, words) in &lines {
                assert!(says(&drawing, words));
            }
            assert_eq!(
                says(&drawing, "above this picture"),
                gives_n[1] > TOO_HIGH * needed_n
            );
        }
    }
}

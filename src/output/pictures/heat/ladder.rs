//! Where the degrees go: from the inside of a board part down to the air, rung by rung, true to size.

use crate::draw::axis::round_below;
use crate::draw::dimension::Dimension;
use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::label_rows::spread;
use crate::draw::legend::legend;
use crate::draw::lettering::{
    PITCH, SHEET_MM, TEXT_MM, footing, heading, letters_in, part_name, width_mm, wrapped,
};
use crate::draw::style::Role;
use crate::geometry::Loop;
use crate::heat::{Heat, Ladder, PartTemperature, RungKind};
use crate::numbers::{hundredths, plain, tenths};
use crate::part::Part;
use crate::quantity::Angle;
use crate::words::heat::{bought, pads_pressed, step_words};
use nalgebra::{Point2, Vector2};
use std::fmt::Write as _;

/// Height of the field on the sheet, mm.
const HEIGHT_MM: f64 = 116.0;
/// Where the axis stands.
const AXIS_MM: f64 = 13.0;
/// Stacks and the room for words beside them, from left to right: old words, old stack, new stack, new words.
const BOTH_MM: [(f64, f64); 4] = [(17.0, 59.0), (65.0, 86.0), (106.0, 127.0), (133.0, 180.0)];
/// The same where there is no old plate: stack and words.
const ALONE_MM: [(f64, f64); 2] = [(24.0, 52.0), (60.0, 180.0)];
/// Letters beside the stacks, mm.
const SIDE_MM: f64 = 2.6;
/// Rungs below this are not drawn, K.
const LEAST_K: f64 = 0.05;
/// A limit further above than this share of the ladder is said in words.
const TOO_HIGH: f64 = 1.0;
/// Lines of the axis at most.
const MOST_TICKS: f64 = 12.0;

/// How a rung is filled: as the thing it is about is in the other pictures, where there is one.
const fn role(step: RungKind) -> Role {
    match step {
        RungKind::Inside => Role::Part,
        RungKind::Contact => Role::Faces,
        RungKind::Pad => Role::Pad,
        RungKind::Plate => Role::Metal,
        RungKind::Others => Role::OthersHeat,
        RungKind::Joint => Role::Solder,
        RungKind::Evaporation => Role::Vapour,
        RungKind::Cooler => Role::Cooler,
        RungKind::Floor => Role::Floor,
    }
}

/// Where each part's degrees go; `None` where no metal is above the part.
pub fn heat_ladder(part: &Part, heat: &Heat, number: usize) -> Option<Drawing> {
    let of = heat.parts.get(number)?;
    let ladder = of.ladder.as_ref()?;
    let title = format!(
        "{}: where the degrees of {} go",
        part_name(&part.name),
        of.name
    );
    let mut drawing = Drawing::new(title.clone(), description(of, ladder));
    let limit_c = of.limit_c;
    let field = Field::of(
        [Some(ladder), of.old_ladder.as_ref()].into_iter().flatten(),
        limit_c,
    );
    let limit_c = limit_c.filter(|limit_c| *limit_c <= field.to_c);
    field.axis(&mut drawing);
    let limit = limit_c.map(|limit_c| {
        (
            field.y(limit_c),
            format!("limit {} °C", plain(limit_c)),
            limit_c,
        )
    });
    if let Some(old) = &of.old_ladder {
        let [old_words, old_mm, new_mm, new_words] = BOTH_MM;
        let old_top = field.stack("old plate", old, old_mm, &mut drawing);
        let new_top = field.stack("new plate", ladder, new_mm, &mut drawing);
        Field::limit(limit.as_ref(), (old_mm.0, new_mm.1), &mut drawing);
        field.words(old, old_mm, old_words, None, &mut drawing);
        field.words(ladder, new_mm, new_words, limit.as_ref(), &mut drawing);
        difference(
            (Point2::new(old_mm.1, old_top), old.inside_c),
            (Point2::new(new_mm.0, new_top), ladder.inside_c),
            &mut drawing,
        );
    } else {
        let [stack_mm, words_mm] = ALONE_MM;
        field.stack("new plate", ladder, stack_mm, &mut drawing);
        Field::limit(limit.as_ref(), stack_mm, &mut drawing);
        field.words(ladder, stack_mm, words_mm, limit.as_ref(), &mut drawing);
    }
    let words = legend_words([Some(ladder), of.old_ladder.as_ref()].into_iter().flatten());
    legend(&mut drawing, None, &words, SHEET_MM, TEXT_MM);
    footing(
        &mut drawing,
        &remarks(of, ladder, limit_c),
        SHEET_MM,
        TEXT_MM,
    );
    let mut notes = vec![bought(of)];
    notes.push(format!(
        "Degrees true to size, from the inside of {} at the top down to the air. It makes {} W; {}.",
        of.name,
        plain(of.heat_w),
        if of.into_plate_w < 0.0 {
            format!(
                "{} W more flow into it from the new plate, and all of it leaves through the board",
                hundredths(-of.into_plate_w)
            )
        } else {
            format!(
                "{} W go into the new plate",
                hundredths(of.into_plate_w)
            )
        }
    ));
    notes.extend(pads_pressed(of));
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    Some(drawing)
}

fn description(of: &PartTemperature, ladder: &Ladder) -> String {
    let told = |ladder: &Ladder| {
        let rungs: Vec<String> = ladder
            .rungs
            .iter()
            .map(|rung| {
                format!(
                    "{} {} K",
                    step_words(rung.step, ladder.pipes_given),
                    tenths(rung.kelvin)
                )
            })
            .collect();
        format!(
            "from {} °C inside to {} °C of the air: {}",
            tenths(ladder.inside_c),
            tenths(ladder.air_c),
            rungs.join(", ")
        )
    };
    let mut text = format!("{} with the new plate, {}.", of.name, told(ladder));
    if let Some(old) = &of.old_ladder {
        let _ = write!(text, " With the old plate, {}.", told(old));
    }
    text
}

fn legend_words<'a>(mut ladders: impl Iterator<Item = &'a Ladder>) -> Vec<(Role, &'static str)> {
    let given = ladders.any(|ladder| ladder.pipes_given);
    let steps = [
        RungKind::Inside,
        RungKind::Contact,
        RungKind::Pad,
        RungKind::Plate,
        RungKind::Others,
        RungKind::Joint,
        RungKind::Evaporation,
        RungKind::Cooler,
        RungKind::Floor,
    ];
    let mut words: Vec<(Role, &'static str)> = steps
        .into_iter()
        .map(|step| (role(step), step_words(step, given)))
        .collect();
    words.push((Role::Limit, "limit"));
    words
}

fn remarks(of: &PartTemperature, ladder: &Ladder, drawn_limit_c: Option<f64>) -> Vec<String> {
    let mut remarks = Vec::new();
    if let Some(limit_c) = of.limit_c.filter(|_| drawn_limit_c.is_none()) {
        remarks.push(format!(
            "Its limit, {} °C, lies above this picture.",
            plain(limit_c)
        ));
    }
    let ladders = || [Some(ladder), of.old_ladder.as_ref()].into_iter().flatten();
    if ladders().any(|ladder| ladder.rungs.iter().any(|rung| rung.kelvin <= -LEAST_K)) {
        remarks.push(
            "Where the sign of its rungs changes, a stack goes on in the next column to the right. With a minus the temperature \
             rises on the way from the part to the air: heat flows the other way there."
                .to_owned(),
        );
    }
    let zero: Vec<&str> = ladder
        .rungs
        .iter()
        .filter(|rung| rung.kelvin.abs() < LEAST_K)
        .map(|rung| step_words(rung.step, ladder.pipes_given))
        .collect();
    if !zero.is_empty() {
        remarks.push(format!(
            "Less than {} K with the new plate, and not drawn: {}.",
            plain(LEAST_K),
            zero.join(", ")
        ));
    }
    remarks
}

/// Words of a rung with its number, which stays in one piece.
fn with_number(words: &str, kelvin: f64, letters: usize) -> Vec<String> {
    let mut lines = wrapped(&format!("{words}:"), letters);
    let number = format!("{} K", tenths(kelvin));
    match lines.last_mut() {
        Some(last) if last.chars().count() + 1 + number.chars().count() <= letters => {
            last.push(' ');
            last.push_str(&number);
        }
        _ => lines.push(number),
    }
    lines
}

/// How far one inside is below the other.
fn difference(
    (old_at, old_c): (Point2<f64>, f64),
    (new_at, new_c): (Point2<f64>, f64),
    drawing: &mut Drawing,
) {
    let change_k = new_c - old_c;
    if change_k.abs() < LEAST_K {
        return;
    }
    let words = format!(
        "{} K {}",
        tenths(change_k.abs()),
        if change_k < 0.0 { "less" } else { "more" }
    );
    let middle = f64::midpoint(old_at.x, new_at.x);
    drawing.dimension(&Dimension::vertical(old_at, new_at, middle, words).sized(TEXT_MM));
}

/// Degrees on the sheet.
struct Field {
    from_c: f64,
    to_c: f64,
}

/// A rung with its place: column, level where it begins and where it ends.
struct Placed {
    step: RungKind,
    kelvin: f64,
    column: usize,
    from_c: f64,
    to_c: f64,
}

/// Rungs one after the other; where the sign changes they go on in the next column, so that none hides another.
fn placed(ladder: &Ladder) -> Vec<Placed> {
    let mut list: Vec<Placed> = Vec::new();
    let mut level_c = ladder.inside_c;
    for rung in &ladder.rungs {
        let from_c = level_c;
        level_c -= rung.kelvin;
        if rung.kelvin.abs() < LEAST_K {
            continue;
        }
        let column = list.last().map_or(0, |before| {
            before.column + usize::from((before.kelvin < 0.0) != (rung.kelvin < 0.0))
        });
        list.push(Placed {
            step: rung.step,
            kelvin: rung.kelvin,
            column,
            from_c,
            to_c: level_c,
        });
    }
    list
}

impl Field {
    fn of<'a>(ladders: impl Iterator<Item = &'a Ladder>, limit_c: Option<f64>) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for ladder in ladders {
            let levels = placed(ladder)
                .into_iter()
                .flat_map(|rung| [rung.from_c, rung.to_c]);
            for level in levels.chain([ladder.inside_c, ladder.air_c]) {
                low = low.min(level);
                high = high.max(level);
            }
        }
        let span = (high - low).max(1.0);
        if let Some(limit_c) = limit_c.filter(|limit_c| *limit_c <= high + TOO_HIGH * span) {
            low = low.min(limit_c);
            high = high.max(limit_c);
        }
        let span = (high - low).max(1.0);
        Self {
            from_c: low,
            to_c: low + 1.02 * span,
        }
    }

    fn y(&self, c: f64) -> f64 {
        HEIGHT_MM * (c - self.from_c) / (self.to_c - self.from_c)
    }

    fn axis(&self, drawing: &mut Drawing) {
        let step = 1.0 / round_below(MOST_TICKS / (self.to_c - self.from_c));
        drawing.line(
            Role::Dimension,
            Point2::new(AXIS_MM, 0.0),
            Point2::new(AXIS_MM, HEIGHT_MM),
        );
        let mut number = (self.from_c / step - 1e-9).ceil();
        while number * step <= self.to_c {
            let at = Point2::new(AXIS_MM, self.y(number * step));
            drawing.line(Role::Dimension, at, at - Vector2::new(1.4, 0.0));
            drawing.text(
                Role::Dimension,
                Text::new(
                    at - Vector2::new(2.2, 0.35 * TEXT_MM),
                    TEXT_MM,
                    plain(number * step + 0.0),
                )
                .anchored(Anchor::End),
            );
            number += 1.0;
        }
        let mut text =
            Text::new(Point2::new(2.0, HEIGHT_MM / 2.0), TEXT_MM, "°C").anchored(Anchor::Middle);
        text.rotate = Angle::deg(90.0);
        drawing.text(Role::Label, text);
    }

    /// One stack with the temperatures of its ends; gives the level of the part's inside.
    fn stack(
        &self,
        name: &str,
        ladder: &Ladder,
        (left, right): (f64, f64),
        drawing: &mut Drawing,
    ) -> f64 {
        let rungs = placed(ladder);
        let columns = rungs.last().map_or(1, |rung| rung.column + 1);
        let width = (right - left) / columns as f64;
        let mut before: Option<&Placed> = None;
        let mut top = self.y(ladder.inside_c);
        for rung in &rungs {
            let from = left + rung.column as f64 * width;
            let (low, high) = (Point2::new(from, self.y(rung.from_c)), self.y(rung.to_c));
            drawing.area(
                role(rung.step),
                vec![Loop::rectangle(low, Point2::new(from + width, high))],
            );
            top = top.max(low.y).max(high);
            if before.is_some_and(|before| before.column != rung.column) {
                drawing.line(
                    Role::Outline,
                    Point2::new(from - width, low.y),
                    Point2::new(from + width, low.y),
                );
            }
            before = Some(rung);
        }
        let middle = f64::midpoint(left, right);
        let inside = self.y(ladder.inside_c);
        let air = self.y(ladder.air_c);
        for (level, from, to) in [(inside, left - 1.5, left + width), (air, left, right)] {
            drawing.line(
                Role::Outline,
                Point2::new(from, level),
                Point2::new(to, level),
            );
        }
        // Above whatever stands highest, so that a stack which first goes up keeps its words legible.
        for (line, words) in [
            format!("inside {} °C", tenths(ladder.inside_c)),
            name.to_owned(),
        ]
        .into_iter()
        .enumerate()
        {
            let y = top + 0.6 * TEXT_MM + line as f64 * PITCH * TEXT_MM;
            drawing.text(
                Role::Label,
                Text::new(Point2::new(middle, y), TEXT_MM, words).anchored(Anchor::Middle),
            );
        }
        drawing.text(
            Role::Label,
            Text::new(
                Point2::new(middle, air - 1.2 * TEXT_MM),
                TEXT_MM,
                format!("air {} °C", tenths(ladder.air_c)),
            )
            .anchored(Anchor::Middle),
        );
        inside
    }

    /// The limit at the axis and over the stacks, but not through the words between them.
    fn limit(limit: Option<&(f64, String, f64)>, (left, right): (f64, f64), drawing: &mut Drawing) {
        if let Some((y, ..)) = limit {
            for (from, to) in [(AXIS_MM, AXIS_MM + 3.0), (left - 1.5, right + 2.0)] {
                drawing.line(Role::Limit, Point2::new(from, *y), Point2::new(to, *y));
            }
        }
    }

    /// Words beside a stack, each with a line to its rung.
    fn words(
        &self,
        ladder: &Ladder,
        (left, right): (f64, f64),
        (from, to): (f64, f64),
        limit: Option<&(f64, String, f64)>,
        drawing: &mut Drawing,
    ) {
        let rungs = placed(ladder);
        let columns = rungs.last().map_or(1, |rung| rung.column + 1);
        let width = (right - left) / columns as f64;
        let on_right = from > right;
        let letters = letters_in(to - from, SIDE_MM);
        // A rung's place and words; the limit's line ends beside the stack.
        let mut labels: Vec<(Point2<f64>, Vec<String>, Role)> = rungs
            .iter()
            .map(|rung| {
                let column = left + rung.column as f64 * width;
                let x = if on_right {
                    column + width - 1.2
                } else {
                    column + 1.2
                };
                let y = self.y(f64::midpoint(rung.from_c, rung.to_c));
                let words = step_words(rung.step, ladder.pipes_given);
                let lines = with_number(words, rung.kelvin, letters);
                (Point2::new(x, y), lines, Role::Label)
            })
            .collect();
        if let Some((y, words, limit_c)) = limit {
            let role = if ladder.inside_c > *limit_c {
                Role::Alert
            } else {
                Role::Label
            };
            labels.push((Point2::new(right + 2.0, *y), wrapped(words, letters), role));
        }
        labels.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
        let tips: Vec<f64> = labels.iter().map(|(tip, ..)| tip.y).collect();
        let rooms: Vec<f64> = labels
            .iter()
            .map(|(_, lines, _)| lines.len() as f64 * PITCH * SIDE_MM + 0.7)
            .collect();
        let places = spread(&tips, &rooms, (-6.0, HEIGHT_MM + 6.0));
        for ((tip, lines, role), y) in labels.into_iter().zip(places) {
            let (near, knee, anchor) = if on_right {
                (from - 0.8, right + 1.5, Anchor::Start)
            } else {
                (to + 0.8, left - 1.5, Anchor::End)
            };
            let mut path = vec![tip];
            if (knee - tip.x).abs() > 0.6 {
                path.push(Point2::new(knee, tip.y));
            }
            path.push(Point2::new(near, y));
            for pair in path.windows(2) {
                if let [from, to] = *pair {
                    drawing.line(Role::Dimension, from, to);
                }
            }
            drawing.circle(Role::Dimension, tip, 0.4);
            let count = lines.len() as f64;
            for (number, line) in lines.into_iter().enumerate() {
                let up = (count - 1.0) / 2.0 - number as f64;
                let x = if on_right { from } else { to };
                debug_assert!(width_mm(&line, SIDE_MM) <= to - from + 1e-9);
                drawing.text(
                    role,
                    Text::new(
                        Point2::new(x, y + up * PITCH * SIDE_MM - 0.35 * SIDE_MM),
                        SIDE_MM,
                        line,
                    )
                    .anchored(anchor),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::heat::Rung;
    use crate::output::pictures::fixtures::check::{assert_sound, says};
    use crate::output::pictures::fixtures::heat::{case, warm};

    #[test]
    fn every_ladder_can_be_read_and_says_every_rung() {
        for warm in warm() {
            for (number, of) in warm.heat.parts.iter().enumerate() {
                let Some(drawing) = heat_ladder(&warm.part, &warm.heat, number) else {
                    assert!(of.ladder.is_none(), "{}", warm.name);
                    continue;
                };
                let again = heat_ladder(&warm.part, &warm.heat, number).unwrap();
                assert_sound(warm.name, &drawing, &again);
                for ladder in [of.ladder.as_ref(), of.old_ladder.as_ref()]
                    .into_iter()
                    .flatten()
                {
                    for rung in ladder
                        .rungs
                        .iter()
                        .filter(|rung| rung.kelvin.abs() >= LEAST_K)
                    {
                        let words = format!(
                            "{}: {} K",
                            step_words(rung.step, ladder.pipes_given),
                            tenths(rung.kelvin)
                        );
                        assert!(says(&drawing, &words), "{}: {words}", warm.name);
                    }
                    let inside = format!("inside {} °C", tenths(ladder.inside_c));
                    assert!(says(&drawing, &inside));
                }
                if of.old_ladder.is_none() {
                    assert!(!says(&drawing, "old plate"));
                }
            }
        }
        assert!(heat_ladder(&warm()[0].part, &warm()[0].heat, 99).is_none());
    }

    #[test]
    fn a_given_pipe_is_said_as_given() {
        let held = case("held");
        let drawing = heat_ladder(&held.part, &held.heat, 0).unwrap();
        assert!(says(&drawing, "pipes above the air, as given"));
        let full = case("full");
        let drawing = heat_ladder(&full.part, &full.heat, 0).unwrap();
        assert!(!says(&drawing, "as given") && says(&drawing, "cooler, other heat"));
    }

    /// Heights of all filled rungs of a kind, but not of the legend's swatches.
    fn heights(drawing: &Drawing, wanted: Role) -> Vec<f64> {
        let areas = drawing.items().iter().filter_map(|item| match &item.shape {
            Shape::Area { loops } if item.role == wanted => Some(loops[0].bounds()),
            _ => None,
        });
        areas
            .filter(|(low, _)| low.y > -1.0)
            .map(|(low, high)| high.y - low.y)
            .collect()
    }

    #[test]
    fn rungs_are_true_to_size() {
        let full = case("full");
        let drawing = heat_ladder(&full.part, &full.heat, 0).unwrap();
        let of = &full.heat.parts[0];
        let kelvin = |ladder: &Ladder, step| {
            let mut rungs = ladder.rungs.iter().filter(|rung| rung.step == step);
            rungs.next().unwrap().kelvin
        };
        let (old, new) = (of.old_ladder.as_ref().unwrap(), of.ladder.as_ref().unwrap());
        let per_k = heights(&drawing, Role::Floor)[0] / kelvin(old, RungKind::Floor);
        for step in [RungKind::Pad, RungKind::Contact, RungKind::Floor] {
            let drawn = heights(&drawing, role(step));
            assert_eq!(drawn.len(), 2);
            for (drawn, ladder) in drawn.iter().zip([old, new]) {
                assert!((drawn / per_k - kelvin(ladder, step)).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn rungs_that_go_up_stand_beside_those_that_go_down() {
        let ladder = Ladder {
            inside_c: 70.0,
            air_c: 30.0,
            rungs: [
                (RungKind::Inside, -1.0),
                (RungKind::Pad, -6.0),
                (RungKind::Others, 4.0),
                (RungKind::Joint, 0.01),
                (RungKind::Evaporation, -0.5),
                (RungKind::Floor, 43.49),
            ]
            .map(|(step, kelvin)| Rung { step, kelvin })
            .to_vec(),
            pipes_given: true,
        };
        let rungs = placed(&ladder);
        let columns: Vec<usize> = rungs.iter().map(|rung| rung.column).collect();
        assert_eq!(columns, [0, 0, 1, 2, 3]);
        assert!((rungs[4].to_c - 30.0).abs() < 1e-9);
        let mut warm = case("full").heat.clone();
        warm.parts[0].ladder = Some(ladder);
        let drawing = heat_ladder(&case("full").part, &warm, 0).unwrap();
        assert_sound("up and down", &drawing, &drawing);
        assert!(says(&drawing, "pad: -6.0 K") && says(&drawing, "in the next column to the right"));
        assert!(says(&drawing, "Less than 0.05 K"));
    }

    #[test]
    fn a_limit_is_drawn_or_said() {
        for (limit_c, drawn) in [(100.0, true), (60.0, true), (400.0, false)] {
            let full = case("full");
            let mut heat = full.heat.clone();
            heat.parts[0].limit_c = Some(limit_c);
            let drawing = heat_ladder(&full.part, &heat, 0).unwrap();
            assert_sound("limit", &drawing, &drawing);
            let lines = drawing
                .items()
                .iter()
                .any(|item| item.role == Role::Limit && matches!(item.shape, Shape::Line { .. }));
            assert_eq!(lines, drawn);
            assert_eq!(says(&drawing, "lies above this picture"), !drawn);
            assert!(says(&drawing, &plain(limit_c)));
        }
    }
}

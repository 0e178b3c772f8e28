//! The pressed plate over the drawn one, and how far its mid line lies beside the drawn mid line.

use crate::draw::axis::round_below;
use crate::draw::drawing::{Anchor, Drawing, Shape, Text};
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::legend;
use crate::draw::lettering::{PITCH, SHEET_MM, TEXT_MM, heading, part_name};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::forming::pressing::{LENGTH_MET_MM, PressedBend, Pressing};
use crate::geometry::loops::LoopEdge;
use crate::geometry::{Chain, Loop, Segment};
use crate::numbers::{plain, signed};
use crate::part::{Part, ZoneKind};
use crate::words::press::{comes_out, worst};
use nalgebra::{Point2, Vector2};

/// Left end of the plate on the sheet, mm: the numbers of the axis stand before it.
const LEFT_MM: f64 = 14.0;
/// Room for the section, mm.
const SECTION_MM: [f64; 2] = [152.0, 60.0];
/// Height of the deviations on either side of zero, mm on the sheet.
const HALF_MM: f64 = 20.0;
/// Places along the plate at which the deviation is taken.
const PLACES: u16 = 600;
/// Labels about flats and walls at most, each: of more only the worst are named, or they would fill pages.
const MOST_NAMED: usize = 12;
/// Least distance of the numbers on the axis, mm on the sheet.
const LEAST_TICK_MM: f64 = 5.0;

const LEGEND: &[(Role, &str)] = &[
    (Role::Drawn, "plate as drawn"),
    (Role::Outline, "pressed and let go"),
    (Role::HiddenEdge, "what counts as met for rises"),
    (Role::Tangent, "a bend begins or ends"),
];

/// The pressed plate over the drawn one in true shape, and the deviation of its mid line, enlarged.
pub fn pressed_plate(part: &Part, pressing: &Pressing) -> Drawing {
    let title = format!("{}: pressed and let go", part_name(&part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        format!(
            "The pressed plate over the drawn one in section, and beneath it the distance of its mid line from the drawn \
             one. {}",
            comes_out(pressing)
        ),
    );
    let view = section(part, pressing, &mut drawing);
    let (_, high) = drawing.bounds().unwrap_or_default();
    let above = Rows {
        from_mm: 0.0,
        to_mm: SHEET_MM,
        base_mm: high.y + 1.5,
        side: LabelSide::Above,
        size_mm: TEXT_MM,
    };
    above.draw(numbers(part, pressing, &view), &mut drawing);
    let enlarged = deviation(part, pressing, &mut drawing);
    legend(&mut drawing, Some(&view), LEGEND, SHEET_MM, TEXT_MM);
    let mut notes = vec![
        format!("{} {}", comes_out(pressing), worst(pressing)),
        "Section along the strip, seen from the front edge, true shape; wall angles in degrees, drawn and opened at its \
         first / second bend; heights in mm over the drawn ones."
            .to_owned(),
        format!(
            "Below: distance of the mid line from the drawn one, square to it, along the flat blank, in mm; upwards is away \
             from the board. A bend that begins earlier or later than drawn shows as a wave beside it. On this sheet the \
             distance is {} times as large as it is, the section {:.1} times.",
            plain(enlarged),
            view.scale
        ),
    ];
    if pressing.flats.len() > MOST_NAMED {
        notes.push(format!(
            "Only the {MOST_NAMED} worst flats and walls are numbered here; coldstep press says them all."
        ));
    }
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    drawing
}

/// Both plates; gives how the part lies on the sheet.
fn section(part: &Part, pressing: &Pressing, drawing: &mut Drawing) -> View {
    let half_mm = part.sheet.thickness_mm / 2.0;
    let pressed = outline(pressing);
    let faces = (
        pressing.drawn.offset(-half_mm),
        pressing.drawn.offset(half_mm),
    );
    let drawn = match &faces {
        (Ok(below), Ok(above)) => Some(Loop::between(below, above)),
        _ => None,
    };
    let (mut low, mut high) = pressed.bounds();
    if let Some(drawn) = &drawn {
        let (other_low, other_high) = drawn.bounds();
        low = Point2::new(low.x.min(other_low.x), low.y.min(other_low.y));
        high = Point2::new(high.x.max(other_high.x), high.y.max(other_high.y));
    }
    let view = View::fitting((low, high), SECTION_MM, Point2::new(LEFT_MM, 0.0));
    let spare_mm = SECTION_MM[0] / view.scale - (high.x - low.x);
    let view = view.shifted(Vector2::new(spare_mm / 2.0, 0.0));
    if let Some(drawn) = drawn {
        drawing.area(Role::Drawn, vec![view.shape(&drawn)]);
    }
    drawing.area(Role::Outline, vec![view.shape(&pressed)]);
    view
}

fn outline(pressing: &Pressing) -> Loop {
    let strip = &pressing.released;
    let corners: Vec<Point2<f64>> = strip
        .under
        .iter()
        .chain(strip.top.iter().rev())
        .copied()
        .collect();
    Loop::polygon(&corners)
}

/// True numbers at each flat and each wall.
fn numbers(part: &Part, pressing: &Pressing, view: &View) -> Vec<Remark> {
    let half_mm = part.sheet.thickness_mm / 2.0;
    let top = |place: Point2<f64>| view.point(place + Vector2::new(0.0, half_mm));
    let flats = pressing
        .flats
        .iter()
        .zip(straights(&pressing.drawn, true))
        .map(|(flat, middle)| {
            let remark = Remark {
                tip: top(middle),
                lines: vec![
                    flat.name.clone(),
                    format!("height {}", signed(flat.height_error_mm, 3)),
                ],
                role: Role::Label,
                dot: false,
            };
            (flat.height_error_mm.abs(), remark)
        });
    let walls = pressing
        .bends
        .chunks(2)
        .zip(straights(&pressing.drawn, false))
        .filter_map(|(bends, middle)| {
            let [first, second] = bends else { return None };
            let remark = Remark {
                tip: view.point(middle),
                lines: vec![
                    format!("wall {:.2}°", first.target_angle_deg),
                    format!(
                        "{:.2}° / {:.2}°",
                        first.released_angle_deg, second.released_angle_deg
                    ),
                ],
                role: Role::Label,
                dot: true,
            };
            let miss = |bend: &PressedBend| (bend.released_angle_deg - bend.target_angle_deg).abs();
            Some((miss(first).max(miss(second)), remark))
        });
    let mut remarks = worst_of(flats.collect());
    remarks.extend(worst_of(walls.collect()));
    remarks
}

/// The remarks about the largest misses.
fn worst_of(mut remarks: Vec<(f64, Remark)>) -> Vec<Remark> {
    remarks.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    remarks.truncate(MOST_NAMED);
    remarks.into_iter().map(|(_, remark)| remark).collect()
}

/// Middles of the flats, or of the walls with both their bends.
fn straights(drawn: &Chain, flats: bool) -> Vec<Point2<f64>> {
    stretches(drawn)
        .into_iter()
        .filter(|stretch| match stretch.kind {
            Kind::Flat => flats,
            Kind::Wall => !flats,
            Kind::Bend => false,
        })
        .map(|stretch| {
            drawn
                .at(f64::midpoint(stretch.from_mm, stretch.to_mm))
                .point
        })
        .collect()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Flat,
    Bend,
    Wall,
}

/// A stretch of the plate along its mid line.
struct Stretch {
    kind: Kind,
    from_mm: f64,
    to_mm: f64,
}

/// Flats, bends and walls from left to right. Two bends that follow each other have a wall without length between them.
fn stretches(drawn: &Chain) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    let mut bends = 0;
    for piece in drawn.pieces() {
        let to_mm = piece.from_mm + piece.segment.length_mm();
        let is_bend = matches!(piece.segment, Segment::Arc { .. });
        let after_bend = found.last().is_some_and(|last| last.kind == Kind::Bend);
        if is_bend && after_bend && bends % 2 == 1 {
            found.push(Stretch {
                kind: Kind::Wall,
                from_mm: piece.from_mm,
                to_mm: piece.from_mm,
            });
        }
        found.push(Stretch {
            kind: if is_bend {
                Kind::Bend
            } else if bends % 2 == 1 {
                Kind::Wall
            } else {
                Kind::Flat
            },
            from_mm: piece.from_mm,
            to_mm,
        });
        bends += usize::from(is_bend);
    }
    found
}

/// Distances of the pressed mid line from the drawn one, square to the drawn one: (place along it, distance).
fn distances(pressing: &Pressing) -> Vec<(f64, f64)> {
    let strip = &pressing.released;
    let mid: Vec<Point2<f64>> = strip
        .under
        .iter()
        .zip(&strip.top)
        .map(|(under, top)| nalgebra::center(under, top))
        .collect();
    let length_mm = pressing.drawn.length_mm();
    (0..=PLACES)
        .filter_map(|place| {
            let along_mm = length_mm * f64::from(place) / f64::from(PLACES);
            let pose = pressing.drawn.at(along_mm);
            let (along, left) = (pose.along(), pose.left());
            let nearest = mid
                .windows(2)
                .filter_map(|pair| {
                    let [a, b] = *pair else { return None };
                    let (before, after) =
                        ((a - pose.point).dot(&along), (b - pose.point).dot(&along));
                    let crosses = before <= 0.0 && after > 0.0 || before > 0.0 && after <= 0.0;
                    crosses.then(|| {
                        let share = before / (before - after);
                        (a + (b - a) * share - pose.point).dot(&left)
                    })
                })
                .min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
            Some((along_mm, nearest))
        })
        .collect()
}

/// The distances below everything drawn so far; gives how many times they are enlarged.
fn deviation(part: &Part, pressing: &Pressing, drawing: &mut Drawing) -> f64 {
    let distances = distances(pressing);
    let largest_mm = distances
        .iter()
        .map(|(_, distance)| distance.abs())
        .fold(1.5 * LENGTH_MET_MM, f64::max);
    let enlarged = round_below(HALF_MM / largest_mm);
    let reach_mm = (largest_mm * enlarged).max(LENGTH_MET_MM * enlarged) + 2.0;
    let bottom = drawing.bounds().map_or(0.0, |(low, _)| low.y);
    let zero = bottom - 7.0 - reach_mm;
    let length_mm = pressing.drawn.length_mm().max(f64::MIN_POSITIVE);
    let x = |along_mm: f64| LEFT_MM + SECTION_MM[0] * along_mm / length_mm;
    let at =
        |along_mm: f64, distance_mm: f64| Point2::new(x(along_mm), zero + enlarged * distance_mm);
    // What is behind comes first: ticks, bends, band.
    let tick_mm = 1.0 / round_below(enlarged / LEAST_TICK_MM);
    let decimals = if tick_mm < 0.01 { 3 } else { 2 };
    let mut level = 0.0;
    while level * tick_mm * enlarged <= reach_mm {
        for sign in if level == 0.0 {
            &[1.0][..]
        } else {
            &[1.0, -1.0]
        } {
            let distance_mm = sign * level * tick_mm;
            let left = at(0.0, distance_mm);
            drawing.line(Role::Faint, left, at(length_mm, distance_mm));
            drawing.text(
                Role::Dimension,
                Text::new(
                    left - Vector2::new(1.5, 0.35 * TEXT_MM),
                    TEXT_MM,
                    signed(distance_mm, decimals),
                )
                .anchored(Anchor::End),
            );
        }
        level += 1.0;
    }
    let stretches = stretches(&pressing.drawn);
    let (top, foot) = (zero + reach_mm, zero - reach_mm);
    for bend in stretches.iter().filter(|one| one.kind == Kind::Bend) {
        for along_mm in [bend.from_mm, bend.to_mm] {
            drawing.line(
                Role::Tangent,
                Point2::new(x(along_mm), top),
                Point2::new(x(along_mm), foot),
            );
        }
    }
    // Two numbers, or one for both where the band is too narrow for them.
    let beside = |distance_mm: f64, words: String| {
        let place = at(length_mm, distance_mm) + Vector2::new(1.0, -0.35 * TEXT_MM);
        Text::new(place, TEXT_MM, words)
    };
    let is_wide = 2.0 * LENGTH_MET_MM * enlarged > LINE_MM;
    for sign in [1.0, -1.0] {
        let met_mm = sign * LENGTH_MET_MM;
        drawing.line(Role::HiddenEdge, at(0.0, met_mm), at(length_mm, met_mm));
        if is_wide {
            drawing.text(Role::Dimension, beside(met_mm, signed(met_mm, 2)));
        }
    }
    if !is_wide {
        let words = format!("±{}", plain(LENGTH_MET_MM));
        drawing.text(Role::Dimension, beside(0.0, words));
    }
    drawing.line(Role::Dimension, at(0.0, 0.0), at(length_mm, 0.0));
    run(
        distances
            .iter()
            .map(|(along, distance)| at(*along, *distance)),
        drawing,
    );

    let rows = Rows {
        from_mm: 0.0,
        to_mm: SHEET_MM,
        base_mm: foot - 1.0,
        side: LabelSide::Below,
        size_mm: TEXT_MM,
    };
    // Bends and walls of a plate of many steps are not named one by one, nor are all its flats.
    let many = pressing.rises.len() > MOST_NAMED;
    let every = pressing.flats.len().div_ceil(2 * MOST_NAMED).max(1);
    let names = names(part, &stretches);
    let flats = stretches
        .iter()
        .zip(names)
        .scan(0, |flats, (stretch, name)| {
            *flats += usize::from(stretch.kind == Kind::Flat);
            Some((flats.saturating_sub(1), stretch, name))
        });
    let remarks = flats
        .filter(|(flat, stretch, _)| !many || stretch.kind == Kind::Flat && flat % every == 0)
        .map(|(_, stretch, name)| Remark {
            tip: Point2::new(x(f64::midpoint(stretch.from_mm, stretch.to_mm)), foot),
            lines: vec![name],
            role: Role::Label,
            dot: false,
        })
        .collect();
    rows.draw(remarks, drawing);
    enlarged
}

/// A line through points.
fn run(mut points: impl Iterator<Item = Point2<f64>>, drawing: &mut Drawing) {
    let Some(start) = points.next() else { return };
    let edges = points.map(|to| LoopEdge::Line { to }).collect();
    drawing.push(Role::Outline, Shape::Path { start, edges });
}

/// Names of stretches: those of the flats; bends are counted from the left.
fn names(part: &Part, stretches: &[Stretch]) -> Vec<String> {
    let flats = part
        .profile
        .zones
        .iter()
        .filter_map(|zone| match zone.kind {
            ZoneKind::Flat(number) => part.flats.get(number),
            _ => None,
        });
    let mut flats = flats.map(|flat| flat.name.clone());
    let mut bends = 0;
    stretches
        .iter()
        .map(|stretch| match stretch.kind {
            Kind::Flat => flats.next().unwrap_or_default(),
            Kind::Wall => "wall".to_owned(),
            Kind::Bend => {
                bends += 1;
                format!("bend {bends}")
            }
        })
        .collect()
}

/// Line height of ordinary letters.
pub(super) const LINE_MM: f64 = PITCH * TEXT_MM;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::pressing::PressedFlat;
    use crate::output::pictures::fixtures::check::{assert_sound, pressed, pressed_parts, says};
    use approx::assert_relative_eq;
    use std::fmt::Write as _;

    /// End flats stay straight and as long as they were, so the ends of the strip tell how far they have moved.
    #[test]
    fn end_flats_have_moved_as_far_as_the_ends_of_the_strip() {
        for (name, part, pressing) in pressed_parts() {
            let (from, to) = part.profile.extent_mm();
            let end = |of: fn(&[Point2<f64>]) -> f64| {
                f64::midpoint(of(&pressing.released.under), of(&pressing.released.top))
            };
            let (first, last) = (&pressing.flats[0], pressing.flats.last().unwrap());
            let left = end(|face| face[0].x) - from;
            let right = end(|face| face[face.len() - 1].x) - to;
            assert!((first.along_error_mm - left).abs() < 0.01, "{name}: {left}");
            assert!(
                (last.along_error_mm - right).abs() < 0.01,
                "{name}: {right}"
            );
            // A rounder bend between the same corners makes the strip longer.
            assert!(last.along_error_mm > first.along_error_mm, "{name}");
        }
    }

    #[test]
    fn scales_are_round_and_not_above() {
        for (value, round) in [
            (1.0, 1.0),
            (499.0, 200.0),
            (500.0, 500.0),
            (0.37, 0.2),
            (0.05, 0.05),
            (9.99, 5.0),
        ] {
            assert_relative_eq!(round_below(value), round, max_relative = 1e-9);
        }
    }

    #[test]
    fn every_pressing_can_be_drawn_and_read() {
        for (name, part, pressing) in pressed_parts() {
            let drawing = pressed_plate(&part, &pressing);
            assert_sound(name, &drawing, &pressed_plate(&part, &pressing));
            for flat in &pressing.flats {
                assert!(says(&drawing, &flat.name), "{name}: {}", flat.name);
                let high = format!("height {}", signed(flat.height_error_mm, 3));
                assert!(says(&drawing, &high), "{name}: {high}");
            }
            for bend in &pressing.bends {
                let number = format!("{:.2}°", bend.released_angle_deg);
                assert!(says(&drawing, &number), "{name}: {number}");
            }
        }
    }

    #[test]
    fn of_many_flats_the_worst_are_numbered() {
        let mut text = "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 0.5\ninside_radius_mm = 0.4\n\
                        [plate]\nwidth_mm = 20.0\n"
            .to_owned();
        for number in 0..40 {
            let from_mm = 4.2 * f64::from(number);
            writeln!(
                text,
                "[[flat]]\nname = \"f{number}\"\nfrom_mm = {from_mm:.1}\nto_mm = {:.1}\nunderside_mm = {}",
                from_mm + 3.0,
                if number % 2 == 0 { 1.0 } else { 1.06 }
            )
            .unwrap();
        }
        text.push_str(
            "[[component]]\nname = \"Q1\"\nx_mm = 2\ny_mm = 9\nsize_mm = [2, 2]\nheight_mm = 0.2\n",
        );
        let part = crate::part::parse(&text).unwrap().value;
        // As if it had come out as drawn, but for one flat and one wall.
        let (_, mut pressing) = pressed();
        let bend = PressedBend {
            target_angle_deg: 3.0,
            released_angle_deg: 3.0,
            ..pressing.bends[0].clone()
        };
        pressing.bends = vec![bend; part.profile.bends.len()];
        pressing.bends[50].released_angle_deg = 4.75;
        let flat = PressedFlat {
            height_error_mm: 0.0,
            ..pressing.flats[0].clone()
        };
        pressing.flats = part
            .flats
            .iter()
            .map(|own| PressedFlat {
                name: own.name.clone(),
                ..flat.clone()
            })
            .collect();
        pressing.flats[33].height_error_mm = -0.123;
        pressing.rises = vec![pressing.rises[0].clone(); part.steps.len()];
        pressing.drawn = part.profile.mid.clone();
        pressing.released.under = part.profile.underside.flattened(1e-3);
        pressing.released.top = part.profile.topside.flattened(1e-3);
        let drawing = pressed_plate(&part, &pressing);
        assert_sound("many", &drawing, &pressed_plate(&part, &pressing));
        for wanted in ["height -0.123", "4.75°", "Only the 12 worst flats"] {
            assert!(says(&drawing, wanted), "{wanted}");
        }
    }

    #[test]
    fn a_plate_moved_up_deviates_by_as_much_everywhere() {
        let (_, mut pressing) = pressed();
        let half_mm = 0.5;
        let (mut under, mut top) = (Vec::new(), Vec::new());
        for place in 0..=2000 {
            let pose = pressing
                .drawn
                .at(pressing.drawn.length_mm() * f64::from(place) / 2000.0);
            let lifted = pose.point + pose.left() * 0.013;
            under.push(lifted - pose.left() * half_mm);
            top.push(lifted + pose.left() * half_mm);
        }
        pressing.released.under = under;
        pressing.released.top = top;
        let distances = distances(&pressing);
        assert!(distances.len() > 590);
        for (_, distance) in distances {
            // Chords of the arcs: 0.02 mm long, so they lie within 5e-5 mm.
            assert_relative_eq!(distance, 0.013, epsilon = 5e-5);
        }
    }
}

//! The sheet while the dies close on it: as a film, and in four stills.

use crate::draw::animation::{Change, Film, Motion, animated_svg};
use crate::draw::drawing::{Drawing, Text};
use crate::draw::legend::legend;
use crate::draw::lettering::{SHEET_MM, TEXT_MM, heading, part_name};
use crate::draw::style::Role;
use crate::draw::svg::SvgOptions;
use crate::draw::view::View;
use crate::forming::pressing::{Frame, Pressing, StripOutline};
use crate::geometry::{Chain, Loop};
use crate::numbers::hundredths;
use crate::part::Part;
use nalgebra::{Point2, Vector2};

/// Room for the film's picture, mm.
const FILM_MM: [f64; 2] = [180.0, 120.0];
/// Length of one round of the film.
const SECONDS: f64 = 6.0;
/// Shares of a round at which the die begins to move and is closed.
const MOVES: (f64, f64) = (0.08, 0.72);
/// Points of a face in the film at most: keeps the file below some hundred kilobytes.
const MOST_POINTS: usize = 160;
/// Places on the sheet are rounded to this, mm: the film's file is shorter by a third, and nobody sees it.
const ROUNDED_MM: f64 = 0.01;
/// Dies are cut off this many thicknesses behind their faces.
const BEHIND: f64 = 2.5;
/// Air between stills, mm.
const BETWEEN_MM: f64 = 8.0;
/// Stills longer than this many times their height stand in one column.
const LONG: f64 = 3.0;
/// Fineness with which faces are drawn, mm.
const FINENESS_MM: f64 = 0.002;
/// What is left of the way when the dies are nearly closed.
const NEARLY: f64 = 0.1;

const LEGEND: &[(Role, &str)] = &[
    (Role::Metal, "sheet"),
    (Role::LowerDie, "lower die, board side"),
    (Role::UpperDie, "upper die"),
    (Role::HiddenEdge, "back of the upper die at first touch"),
];

/// The dies and what lies between, cut out of the pair.
struct Cut<'a> {
    pressing: &'a Pressing,
    frames: &'a [Frame],
    lower: Vec<Point2<f64>>,
    upper: Vec<Point2<f64>>,
    /// Corners of the picture with the upper die closed as drawn.
    low: Point2<f64>,
    high: Point2<f64>,
}

impl<'a> Cut<'a> {
    fn new(part: &Part, pressing: &'a Pressing) -> Self {
        let t = part.sheet.thickness_mm;
        let places = pressing
            .frames
            .iter()
            .flat_map(|frame| frame.strip.under.iter().chain(&frame.strip.top))
            .map(|point| point.x);
        let (from, to) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), x| {
            (from.min(x), to.max(x))
        });
        let [lower, upper] = &pressing.faces;
        let (from, to) = (
            (from - t).max(lower.start.point.x).max(upper.start.point.x),
            (to + t).min(lower.end().point.x).min(upper.end().point.x),
        );
        let [lower, upper] = [lower, upper].map(|face| between(face, from, to));
        let lowest = lower
            .iter()
            .map(|point| point.y)
            .fold(f64::INFINITY, f64::min);
        let highest = upper
            .iter()
            .map(|point| point.y)
            .fold(f64::NEG_INFINITY, f64::max);
        Self {
            pressing,
            frames: &pressing.frames,
            lower,
            upper,
            low: Point2::new(from, lowest - BEHIND * t),
            high: Point2::new(to, highest + BEHIND * t),
        }
    }

    /// How far the die moves.
    fn lifts_mm(&self) -> (f64, f64) {
        let of = |frame: Option<&Frame>| frame.map_or(0.0, |frame| frame.lifted_mm);
        (of(self.frames.first()), of(self.frames.last()))
    }

    fn block(&self, face: &[Point2<f64>], back_mm: f64, view: &View) -> Loop {
        let mut corners: Vec<Point2<f64>> = face.to_vec();
        corners.push(Point2::new(self.high.x, back_mm));
        corners.push(Point2::new(self.low.x, back_mm));
        let corners: Vec<Point2<f64>> = corners.iter().map(|corner| view.point(*corner)).collect();
        Loop::polygon(&corners)
    }

    fn lower(&self, view: &View, drawing: &mut Drawing) {
        drawing.area(
            Role::LowerDie,
            vec![self.block(&self.lower, self.low.y, view)],
        );
    }

    fn upper(&self, view: &View, lifted_mm: f64, drawing: &mut Drawing) {
        let view = view.shifted(Vector2::new(0.0, lifted_mm));
        drawing.area(
            Role::UpperDie,
            vec![self.block(&self.upper, self.high.y, &view)],
        );
    }

    fn caption(&self, frame: &Frame, last: bool) -> String {
        let (_, closed_mm) = self.lifts_mm();
        let left_mm = (frame.lifted_mm - closed_mm).max(0.0);
        let force = format!("{:.0} N for each mm of width", frame.force_n_per_mm);
        if !last {
            format!("{} mm to close, {force}", hundredths(left_mm))
        } else if self.pressing.force_limited {
            format!("as far as the vise presses, {force}")
        } else {
            format!("closed, {force}")
        }
    }
}

/// A face between two places along x.
fn between(face: &Chain, from: f64, to: f64) -> Vec<Point2<f64>> {
    let inside = face
        .flattened(FINENESS_MM)
        .into_iter()
        .filter(|point| from < point.x && point.x < to);
    std::iter::once(Point2::new(from, face.height_at(from)))
        .chain(inside)
        .chain([Point2::new(to, face.height_at(to))])
        .collect()
}

/// A strip as one loop on the sheet, with few points and short numbers.
fn strip(outline: &StripOutline, view: &View) -> Loop {
    let every = outline.under.len().div_ceil(MOST_POINTS).max(1);
    let thinned = |face: &[Point2<f64>]| {
        let last = face.len().saturating_sub(1);
        face.iter()
            .enumerate()
            .filter(|(number, _)| number % every == 0 || *number == last)
            .map(|(_, point)| view.point(*point))
            .map(|point| point.map(|mm| (mm / ROUNDED_MM).round() * ROUNDED_MM))
            .collect::<Vec<_>>()
    };
    let mut corners = thinned(&outline.under);
    corners.extend(thinned(&outline.top).into_iter().rev());
    Loop::polygon(&corners)
}

fn heading_notes() -> [String; 1] {
    ["Section along the strip, seen from the front edge, true shape, calculated; the dies are cut off behind their faces."
        .to_owned()]
}

/// The drawing of the closed pair and what moves in it.
fn scene(part: &Part, pressing: &Pressing) -> (Drawing, Film) {
    let title = format!("{}: closing", part_name(&part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        "The sheet between the dies while they close, played again and again; without playing, the closed pair.",
    );
    let mut motions = Vec::new();
    let cut = Cut::new(part, pressing);
    let (touch_mm, closed_mm) = cut.lifts_mm();
    let top = Point2::new(cut.high.x, cut.high.y + touch_mm);
    let view = View::fitting((cut.low, top), FILM_MM, Point2::origin());
    let spare_mm = FILM_MM[0] / view.scale - (cut.high.x - cut.low.x);
    let view = view.shifted(Vector2::new(spare_mm / 2.0, 0.0));
    let way_mm = (touch_mm - closed_mm).max(1e-9);
    let times: Vec<f64> = cut
        .frames
        .iter()
        .map(|frame| MOVES.0 + (MOVES.1 - MOVES.0) * (touch_mm - frame.lifted_mm) / way_mm)
        .collect();
    cut.lower(&view, &mut drawing);
    motions.push(Motion {
        item: drawing.items().len(),
        change: Change::Lifts(
            cut.frames
                .iter()
                .map(|frame| (frame.lifted_mm - closed_mm) * view.scale)
                .collect(),
        ),
    });
    cut.upper(&view, closed_mm, &mut drawing);
    if let Some(last) = cut.frames.last() {
        motions.push(Motion {
            item: drawing.items().len(),
            change: Change::Shapes(
                cut.frames
                    .iter()
                    .map(|frame| strip(&frame.strip, &view))
                    .collect(),
            ),
        });
        drawing.area(Role::Metal, vec![strip(&last.strip, &view)]);
        drawing.line(
            Role::HiddenEdge,
            view.at(cut.low.x, top.y),
            view.at(cut.high.x, top.y),
        );
        let count = cut.frames.len();
        motions.push(Motion {
            item: drawing.items().len(),
            change: Change::Words(
                cut.frames
                    .iter()
                    .enumerate()
                    .map(|(number, frame)| cut.caption(frame, number + 1 == count))
                    .collect(),
            ),
        });
        let below = view.point(cut.low) - Vector2::new(0.0, 1.8 * TEXT_MM);
        drawing.text(
            Role::Label,
            Text::new(Point2::new(0.0, below.y), TEXT_MM, cut.caption(last, true)),
        );
    }
    legend(&mut drawing, Some(&view), LEGEND, SHEET_MM, TEXT_MM);
    heading(&mut drawing, &title, &heading_notes(), SHEET_MM, TEXT_MM);
    let film = Film {
        seconds: SECONDS,
        times,
        motions,
    };
    (drawing, film)
}

/// The closing as a film that plays in a browser and shows the closed pair elsewhere.
pub fn closing(part: &Part, pressing: &Pressing) -> Vec<u8> {
    let (drawing, film) = scene(part, pressing);
    animated_svg(&drawing, &SvgOptions::default(), &film)
}

/// Four stills of the closing for print: at first touch, half way, nearly closed, closed.
pub fn closing_stills(part: &Part, pressing: &Pressing) -> Drawing {
    let title = format!("{}: closing in four stills", part_name(&part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        "Four sections of the dies with the sheet between: first touch, half way, nearly closed, closed.",
    );
    let cut = Cut::new(part, pressing);
    let (touch_mm, closed_mm) = cut.lifts_mm();
    let (width_mm, height_mm) = (cut.high.x - cut.low.x, cut.high.y - cut.low.y);
    let (columns, panel_mm) = if width_mm > LONG * (height_mm + touch_mm) {
        (1, SHEET_MM)
    } else {
        (2, (SHEET_MM - BETWEEN_MM) / 2.0)
    };
    let scale = View::fitting(
        (cut.low, Point2::new(cut.high.x, cut.high.y + touch_mm)),
        [panel_mm, 0.75 * panel_mm],
        Point2::origin(),
    )
    .scale;
    let inset_mm = (panel_mm - width_mm * scale) / 2.0;
    let nearest = |share: f64| {
        let wanted_mm = closed_mm + share * (touch_mm - closed_mm);
        let apart = |frame: &&Frame| (frame.lifted_mm - wanted_mm).abs();
        cut.frames
            .iter()
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))
    };
    let stills: Vec<(usize, &Frame)> = [
        cut.frames.first(),
        nearest(0.5),
        nearest(NEARLY),
        cut.frames.last(),
    ]
    .into_iter()
    .flatten()
    .enumerate()
    .collect();
    let mut top = 0.0;
    for row in stills.chunks(columns) {
        let lifted_mm = row
            .iter()
            .map(|(_, frame)| frame.lifted_mm)
            .fold(0.0, f64::max);
        let foot = top - (height_mm + lifted_mm) * scale;
        for (column, (number, frame)) in row.iter().enumerate() {
            let left = column as f64 * (panel_mm + BETWEEN_MM) + inset_mm;
            let view = View::with_scale(scale, cut.low, Point2::new(left, foot));
            cut.lower(&view, &mut drawing);
            cut.upper(&view, frame.lifted_mm, &mut drawing);
            drawing.area(Role::Metal, vec![strip(&frame.strip, &view)]);
            let caption = cut.caption(frame, number + 1 == stills.len());
            let at = Point2::new(left, foot - 1.9 * TEXT_MM);
            drawing.text(
                Role::Label,
                Text::new(at, TEXT_MM, format!("{} of 4: {caption}", number + 1)),
            );
        }
        top = foot - 2.2 * TEXT_MM - BETWEEN_MM;
    }
    let view = View::with_scale(scale, cut.low, Point2::origin());
    legend(&mut drawing, Some(&view), LEGEND, SHEET_MM, TEXT_MM);
    heading(&mut drawing, &title, &heading_notes(), SHEET_MM, TEXT_MM);
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::{assert_sound, pressed_parts, says};

    #[test]
    fn stills_and_the_closed_picture_can_be_read() {
        for (name, part, pressing) in pressed_parts() {
            let stills = closing_stills(&part, &pressing);
            assert_sound(name, &stills, &closing_stills(&part, &pressing));
            assert!(
                says(&stills, "4 of 4: closed") || pressing.force_limited,
                "{name}"
            );
            let (closed, _) = scene(&part, &pressing);
            assert_sound(name, &closed, &closed);
        }
    }

    #[test]
    fn the_film_ends_with_the_picture_that_stands_without_it() {
        for (name, part, pressing) in pressed_parts() {
            let (drawing, film) = scene(&part, &pressing);
            for motion in &film.motions {
                let item = &drawing.items()[motion.item];
                match (&motion.change, &item.shape) {
                    (Change::Shapes(shapes), crate::draw::Shape::Area { loops }) => {
                        assert_eq!(shapes.last(), loops.first(), "{name}");
                        let edges = shapes[0].edges().len();
                        assert!(shapes.iter().all(|shape| shape.edges().len() == edges));
                    }
                    (Change::Lifts(lifts), _) => {
                        assert_eq!(item.role, Role::UpperDie);
                        assert_eq!(lifts.last(), Some(&0.0), "{name}");
                        // Nothing moves out of the picture.
                        let (_, high) = drawing.bounds().unwrap();
                        let top = match &item.shape {
                            crate::draw::Shape::Area { loops } => loops[0].bounds().1.y,
                            _ => panic!("a die is an area"),
                        };
                        assert!(lifts.iter().all(|lift| top + lift <= high.y));
                    }
                    (Change::Words(words), crate::draw::Shape::Text(text)) => {
                        assert_eq!(words.last(), Some(&text.content), "{name}");
                    }
                    other => panic!("{name}: {other:?}"),
                }
            }
            let bytes = closing(&part, &pressing);
            assert_eq!(bytes, closing(&part, &pressing));
            let text = String::from_utf8(bytes).unwrap();
            roxmltree::Document::parse(&text).unwrap();
            assert!(text.len() < 400_000, "{name}: {}", text.len());
        }
    }
}

//! The die pair in section: closed on the sheet, and the four states of a pressing.
//!
//! Seen from the front edge in the dies' own frame: the closing direction upwards, the strip to the right.

use crate::draw::dimension::Dimension;
use crate::draw::drawing::{Drawing, Text};
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::legend;
use crate::draw::lettering::{PITCH, SHEET_MM, TEXT_MM, degrees, heading, part_name};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::geometry::{Chain, Segment};
use crate::job::Job;
use crate::numbers::{hundredths, size};
use crate::output::pictures::dies::pair::Pair;
use crate::part::Vise;
use nalgebra::{Point2, Vector2};

/// Room for the closed pair on the sheet, mm.
const PAIR_MM: [f64; 2] = [150.0, 110.0];
/// Left edge of that room.
const LEFT_MM: f64 = 10.0;
/// Distance of the jaw lines from the backs, mm on the sheet.
const JAW_AIR_MM: f64 = 0.7;
/// Wider jaws are drawn this far beyond the blocks, mm on the sheet.
const JAW_OVER_MM: f64 = 4.5;
/// Letters of the block names, mm.
const NAME_MM: f64 = 4.4;
/// Turns below this are not worth a word, degrees.
const LEVEL_DEG: f64 = 0.05;
/// Lift of the open pair beyond first touch, as a share of the closed height: own choice, to see both faces.
const LIFT: f64 = 0.22;
/// Air between panels, mm.
const BETWEEN_MM: f64 = 8.0;
/// Panels longer than this many times their height stand in one column.
const LONG: f64 = 3.0;
const LEGEND: &[(Role, &str)] = &[
    (Role::Metal, "sheet"),
    (Role::LowerDie, "lower die, board side"),
    (Role::UpperDie, "upper die"),
    (
        Role::HiddenEdge,
        "pins, sockets and cheeks: beside the section",
    ),
];

/// The closed pair with the sheet between, and its main sizes; `None`: the job has no pair.
pub fn closed_pair(job: &Job) -> Option<Drawing> {
    let pair = Pair::of(job)?;
    let part = pair.part;
    let title = format!("{}: closed dies", part_name(&part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        format!(
            "Section of the closed pair with the sheet between: {} mm from back to back, {} mm long.",
            hundredths(pair.backs.end_mm),
            size(pair.tooling.length_mm)
        ),
    );
    let [_, end_mm] = pair.lifts_mm();
    let (low, high) = pair.extent(end_mm);
    let view = View::fitting((low, high), PAIR_MM, Point2::new(LEFT_MM, 0.0));
    let spare_mm = PAIR_MM[0] / view.scale - (high.x - low.x);
    let view = view.shifted(Vector2::new(spare_mm / 2.0, 0.0));
    pair.blocks(&view, end_mm, &mut drawing);
    pair.closed(&view, &mut drawing);
    pair.hidden(&view, end_mm, &mut drawing);
    pair.cheek_line(&view, &mut drawing);
    if let Some(vise) = &part.vise {
        pair.jaws(vise, &view, &mut drawing);
    }
    pair.sizes(&view, &mut drawing);
    let top = drawing.bounds().map_or(0.0, |(_, high)| high.y);
    let rows = Rows {
        from_mm: 0.0,
        to_mm: SHEET_MM,
        base_mm: top + 1.5,
        side: LabelSide::Above,
        size_mm: TEXT_MM,
    };
    rows.draw(pair.remarks(&view), &mut drawing);
    // After the lines of the remarks, which pass behind the names.
    pair.names(&view, &mut drawing);
    legend(&mut drawing, Some(&view), LEGEND, SHEET_MM, TEXT_MM);
    let mut notes = vec![
        "Section along the strip, seen from the front edge, closed on the sheet. All numbers in mm."
            .to_owned(),
    ];
    notes.extend(pair.tilt_words());
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    Some(drawing)
}

/// Blank laid in, touching, closed, opened; `None`: the job has no pair.
pub fn four_states(job: &Job) -> Option<Drawing> {
    let pair = Pair::of(job)?;
    let tooling = pair.tooling;
    let title = format!("{}: pressing in four states", part_name(&pair.part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        "Four sections of the pair: the blank laid in, the upper die touching it, closed, and opened with \
         the released part.",
    );
    let [touching_mm, end_mm] = pair.lifts_mm();
    let lift_mm = touching_mm + LIFT * tooling.closed_height_mm;
    let (low, high) = pair.extent(lift_mm);
    let long = high.x - low.x > LONG * (high.y - low.y);
    let (columns, panel_mm) = if long {
        (1, SHEET_MM)
    } else {
        (2, (SHEET_MM - BETWEEN_MM) / 2.0)
    };
    let scale = View::fitting((low, high), [panel_mm, 0.75 * panel_mm], Point2::origin()).scale;
    let inset_mm = (panel_mm - (high.x - low.x) * scale) / 2.0;
    let closed_mm = tooling.closed_height_mm;
    let states = [
        State {
            caption: ["1  blank laid in".into(), "upper die lifted off".into()],
            lift_mm,
            sheet: Sheet::Laid,
        },
        State {
            caption: [
                format!(
                    "2  touching: {} to close",
                    hundredths(pair.backs.travel_mm())
                ),
                format!("{} from back to back", hundredths(pair.backs.touching_mm)),
            ],
            lift_mm: touching_mm,
            sheet: Sheet::Touched,
        },
        State {
            caption: [
                "3  closed".into(),
                format!("{} from back to back", hundredths(pair.backs.end_mm)),
            ],
            lift_mm: end_mm,
            sheet: Sheet::Closed,
        },
        State {
            caption: [
                "4  opened: the part has sprung back".into(),
                format!(
                    "by up to {}, its left flat held",
                    hundredths(pair.sprung_mm())
                ),
            ],
            lift_mm,
            sheet: Sheet::Opened,
        },
    ];
    let mut top = 0.0;
    for row in states.chunks(columns) {
        // A row is as high as its furthest opened pair.
        let lift_mm = row.iter().map(|state| state.lift_mm).fold(0.0, f64::max);
        let foot = top - (closed_mm + lift_mm) * scale;
        for (column, state) in row.iter().enumerate() {
            let left = column as f64 * (panel_mm + BETWEEN_MM) + inset_mm;
            let view = View::with_scale(scale, low, Point2::new(left, foot));
            pair.blocks(&view, state.lift_mm, &mut drawing);
            match state.sheet {
                Sheet::Laid => pair.laid(&view, &mut drawing),
                Sheet::Touched => pair.touched(&view, &mut drawing),
                Sheet::Closed => pair.closed(&view, &mut drawing),
                Sheet::Opened => pair.opened(&view, &mut drawing),
            }
            pair.hidden(&view, state.lift_mm, &mut drawing);
            for (line, words) in state.caption.iter().enumerate() {
                let y = foot - (1.9 + PITCH * line as f64) * TEXT_MM;
                drawing.text(Role::Label, Text::new(Point2::new(left, y), TEXT_MM, words));
            }
        }
        top = foot - 3.0 * PITCH * TEXT_MM - BETWEEN_MM;
    }
    let view = View::with_scale(scale, low, Point2::origin());
    legend(&mut drawing, Some(&view), LEGEND, SHEET_MM, TEXT_MM);
    let mut notes =
        vec!["Sections along the strip, seen from the front edge. All numbers in mm.".to_owned()];
    notes.extend(pair.tilt_words());
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    Some(drawing)
}

struct State {
    caption: [String; 2],
    lift_mm: f64,
    sheet: Sheet,
}

#[derive(Clone, Copy)]
enum Sheet {
    Laid,
    Touched,
    Closed,
    Opened,
}

/// Words and lines of the closed pair.
impl Pair<'_> {
    fn cheek_line(&self, view: &View, drawing: &mut Drawing) {
        if self.has_cheek() {
            let (from, to) = self.ends();
            let top_mm = self.tooling.section.cheek_top_mm;
            drawing.line(Role::HiddenEdge, view.at(from, top_mm), view.at(to, top_mm));
        }
    }

    fn names(&self, view: &View, drawing: &mut Drawing) {
        let section = &self.tooling.section;
        let (from, to) = self.ends();
        let middle = f64::midpoint(from, to);
        let lower = f64::midpoint(self.tooling.lower_back_mm, section.lower.bounds().0.y);
        let upper = f64::midpoint(self.tooling.upper_back_mm, section.upper.bounds().1.y);
        for (word, z) in [("LOWER", lower), ("UPPER", upper)] {
            drawing.text(
                Role::Label,
                Text::centred(view.at(middle, z), NAME_MM, word),
            );
        }
    }

    /// Jaws as strokes beyond both backs, centred on the blocks; wider ones end at the picture's edge.
    fn jaws(&self, vise: &Vise, view: &View, drawing: &mut Drawing) {
        let (from, to) = self.ends();
        let middle = view.at(f64::midpoint(from, to), 0.0).x;
        let half_mm = vise.jaw_width_mm / 2.0 * view.scale;
        let (low, high) = self.extent(0.0);
        let left = (middle - half_mm).max(view.at(low.x, 0.0).x - JAW_OVER_MM);
        let right = (middle + half_mm).min(view.at(high.x, 0.0).x + JAW_OVER_MM);
        for (back_mm, away) in [
            (self.tooling.lower_back_mm, -1.0),
            (self.tooling.upper_back_mm + self.lifts_mm()[1], 1.0),
        ] {
            let level = view.at(0.0, back_mm).y + away * JAW_AIR_MM;
            drawing.line(
                Role::Outline,
                Point2::new(left, level),
                Point2::new(right, level),
            );
            let mut x = left + 1.0;
            while x < right {
                drawing.line(
                    Role::Faint,
                    Point2::new(x, level),
                    Point2::new(x - 1.0, level + away * 1.4),
                );
                x += 1.6;
            }
        }
    }

    fn sizes(&self, view: &View, drawing: &mut Drawing) {
        let tooling = self.tooling;
        let (from, to) = self.ends();
        let (_, high) = self.extent(self.lifts_mm()[1]);
        let bottom = drawing.bounds().map_or(0.0, |(low, _)| low.y);
        let right = view.at(high.x, 0.0).x + 7.0;
        // From the ledge's corner, or from the block's own.
        let corner_x = self.ledge().map_or(to, |ledge| to + ledge.length_mm);
        drawing.dimension(
            &Dimension::vertical(
                view.at(corner_x, tooling.lower_back_mm),
                view.at(corner_x, tooling.upper_back_mm + self.lifts_mm()[1]),
                right,
                format!("closed {}", hundredths(self.backs.end_mm)),
            )
            .sized(TEXT_MM),
        );
        drawing.dimension(
            &Dimension::horizontal(
                view.at(from, tooling.lower_back_mm),
                view.at(to, tooling.lower_back_mm),
                bottom - 6.0,
                if self.ledge().is_some() {
                    format!("{} without ledges", size(tooling.length_mm))
                } else {
                    size(tooling.length_mm)
                },
            )
            .sized(TEXT_MM),
        );
    }

    fn remarks(&self, view: &View) -> Vec<Remark> {
        let tooling = self.tooling;
        let section = &tooling.section;
        let (from, to) = self.ends();
        let mut remarks = Vec::new();
        let mut say = |tip: Point2<f64>, lines: Vec<String>, dot: bool| {
            remarks.push(Remark {
                tip: view.point(tip),
                lines,
                role: Role::Label,
                dot,
            });
        };
        let first_mm = section
            .strip
            .segments
            .first()
            .map_or(0.0, Segment::length_mm);
        let flat = section.strip.at(0.5 * first_mm).point;
        say(
            Point2::new(flat.x, section.upper.height_at(flat.x)),
            vec![
                format!("faces {} apart", hundredths(section.gap_mm)),
                format!("sheet {}", hundredths(self.part.sheet.thickness_mm)),
            ],
            false,
        );
        if let Some(nose) = self.nose().filter(|_| section.nose_radius_mm.is_finite()) {
            say(
                nose,
                vec![
                    "sharpest nose".into(),
                    format!("R {}", hundredths(section.nose_radius_mm)),
                ],
                true,
            );
        }
        if self.has_cheek() {
            let out_mm = 0.35 * (to - from);
            say(
                Point2::new(to - out_mm, section.cheek_top_mm),
                vec!["cheek ends here".into()],
                true,
            );
        }
        if let (Some(lands), Some(height_mm)) = (section.towers, tooling.pin_height_mm) {
            let x = f64::midpoint(lands.right.0, lands.right.1);
            say(
                Point2::new(x, section.lower.height_at(x) + 0.7 * height_mm),
                vec![
                    format!("pin {} high", size(height_mm)),
                    "in its socket".into(),
                ],
                true,
            );
        }
        if let Some(lands) = section.towers {
            say(
                Point2::new(
                    f64::midpoint(lands.left.0, lands.left.1),
                    section.lower.start.point.y - 1.0,
                ),
                vec!["end stop".into(), "holds the blank".into()],
                true,
            );
        }
        if let Some(vise) = &self.part.vise {
            say(
                Point2::new(
                    f64::midpoint(from, to),
                    tooling.upper_back_mm + JAW_AIR_MM / view.scale,
                ),
                vec![
                    "vise jaw".into(),
                    format!("{} wide", size(vise.jaw_width_mm)),
                ],
                false,
            );
        }
        if let Some(ledge) = self.ledge() {
            say(
                Point2::new(
                    to + 0.5 * ledge.length_mm,
                    tooling.upper_back_mm - 0.5 * ledge.thickness_mm,
                ),
                vec![
                    "ledge".into(),
                    format!("{} × {}", size(ledge.length_mm), size(ledge.thickness_mm)),
                ],
                true,
            );
        }
        remarks
    }

    /// Middle of the sharpest convex arc of a working face.
    fn nose(&self) -> Option<Point2<f64>> {
        let section = &self.tooling.section;
        let convex = |face: &Chain, sign: f64| {
            face.pieces()
                .filter_map(|piece| match piece.segment {
                    Segment::Arc { radius_mm, turn } if turn.rad() * sign > 0.0 => {
                        Some(((radius_mm - section.nose_radius_mm).abs(), piece.middle()))
                    }
                    _ => None,
                })
                .collect::<Vec<_>>()
        };
        convex(&section.lower, -1.0)
            .into_iter()
            .chain(convex(&section.upper, 1.0))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, middle)| middle)
    }

    fn tilt_words(&self) -> Option<String> {
        let tilt = self.tooling.section.tilt;
        (tilt.degrees().abs() > LEVEL_DEG).then(|| {
            let way = if tilt.rad() > 0.0 {
                "counter-clockwise"
            } else {
                "clockwise"
            };
            format!(
                "The part lies turned {way} by {} in the dies.",
                degrees(tilt.abs())
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::output::pictures::fixtures::check::{assert_sound, says, tooled, words};

    fn is_line(segment: &Segment) -> bool {
        matches!(segment, Segment::Line { .. })
    }

    #[test]
    fn every_closed_pair_can_be_drawn_and_read() {
        for (name, job) in tooled() {
            let drawing = closed_pair(&job).unwrap();
            assert_sound(name, &drawing, &closed_pair(&job).unwrap());
            let (part, tooling, backs) = (
                &job.part,
                job.tooling.as_ref().unwrap(),
                job.backs().unwrap(),
            );
            let mut wanted = vec![
                "LOWER".to_owned(),
                "UPPER".to_owned(),
                format!("closed {}", hundredths(backs.end_mm)),
                size(tooling.length_mm),
                format!("faces {} apart", hundredths(tooling.section.gap_mm)),
            ];
            if !tooling.section.strip.segments.iter().all(is_line) {
                wanted.push(format!("R {}", hundredths(tooling.section.nose_radius_mm)));
            }
            wanted.extend(
                tooling
                    .pin_height_mm
                    .map(|mm| format!("pin {} high", size(mm))),
            );
            wanted.extend(
                part.vise
                    .iter()
                    .map(|vise| format!("{} wide", size(vise.jaw_width_mm))),
            );
            for wanted in wanted {
                assert!(says(&drawing, &wanted), "{name}: {wanted}");
            }
        }
    }

    #[test]
    fn the_four_states_carry_their_numbers() {
        for (name, job) in tooled() {
            let drawing = four_states(&job).unwrap();
            assert_sound(name, &drawing, &four_states(&job).unwrap());
            let (words, backs) = (words(&drawing), job.backs().unwrap());
            for wanted in [
                format!("touching: {} to close", hundredths(backs.travel_mm())),
                format!("{} from back to back", hundredths(backs.touching_mm)),
                format!("{} from back to back", hundredths(backs.end_mm)),
            ] {
                assert!(words.contains(&wanted), "{name}: {wanted}");
            }
            let sheets = drawing.items().iter().filter(|item| {
                item.role == Role::Metal && matches!(item.shape, Shape::Area { .. })
            });
            // One in each state and one in the legend.
            assert_eq!(sheets.count(), 5, "{name}");
        }
    }
}

//! The flat blank on paper at true size: a template to glue on, scribe through and cut along.
//!
//! One millimetre of the drawing is one millimetre of sheet; places are those of the blank, counted from
//! its left end. Everything but the lines themselves and short names stands outside, where nothing is cut.

use crate::blank::{Blank, Direction, LineAcross, StretchKind, bend_lines};
use crate::draw::dimension::Dimension;
use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::legend;
use crate::draw::lettering::{
    LABEL_LETTERS, PITCH, footing, heading, part_name, width_mm, wrapped,
};
use crate::draw::ruler::{ALONE, RULER_BAND_MM, rulers};
use crate::draw::style::Role;
use crate::formats::dxf::FlatDrawing;
use crate::geometry::{Loop, y_intervals};
use crate::numbers::hundredths;
use crate::part::{Grain, Part};
use nalgebra::{Point2, Vector2};

/// Letters, mm: at least these, and at most those of long blanks.
const LETTERS_MM: (f64, f64) = (2.6, 5.0);
/// A sheet is this many letters wide before letters grow.
const LETTERS_ACROSS: f64 = 72.0;
/// Narrowest sheet, mm: room for the words under a small blank.
const LEAST_SHEET_MM: f64 = 130.0;
/// Room for labels beyond both ends of the blank, mm.
const BESIDE_MM: f64 = 16.0;
/// Bends shorter than this on the blank show only their middle in the template, mm.
const LEAST_BEND_MM: f64 = 0.8;

fn ends(line: &LineAcross) -> (Point2<f64>, Point2<f64>) {
    (
        Point2::new(line.s_mm, line.y_from_mm),
        Point2::new(line.s_mm, line.y_to_mm),
    )
}

/// The blank as the cutter's file wants it.
pub fn flat_drawing(blank: &Blank) -> FlatDrawing {
    let lines = bend_lines(blank);
    FlatDrawing {
        outline: vec![blank.outline.clone()],
        holes: blank.holes.iter().map(|hole| hole.shape.clone()).collect(),
        bends: lines
            .iter()
            .flat_map(|line| line.centre.iter().map(ends))
            .collect(),
        tangents: lines
            .iter()
            .flat_map(|line| line.start.iter().chain(&line.end).map(ends))
            .collect(),
    }
}

/// The blank as a template; to be written with scale 1.
pub fn blank_sheet(part: &Part, blank: &Blank) -> Drawing {
    let mut drawing = blank_lines(part, blank, None);
    let (low, _) = drawing
        .bounds()
        .unwrap_or((Point2::origin(), Point2::origin()));
    rulers(
        &mut drawing,
        low - Vector2::new(RULER_BAND_MM, RULER_BAND_MM),
        ALONE,
    );
    worded(part, blank, &mut drawing);
    drawing
}

/// Name of the template.
pub fn sheet_title(part: &Part) -> String {
    format!("{}: flat blank, true size", part_name(&part.name))
}

/// The blank without any words.
pub fn blank_edges(blank: &Blank) -> Drawing {
    let mut drawing = Drawing::new("", "");
    Sheet::new(blank, None).template(&mut drawing);
    drawing
}

/// The blank alone, with its names and sizes, true to size; letters as large as `size_mm` or as fits the blank.
pub fn blank_lines(part: &Part, blank: &Blank, size_mm: Option<f64>) -> Drawing {
    let mut drawing = Drawing::new(
        sheet_title(part),
        format!(
            "The blank seen from the side away from the board, {} by {} mm, with {} bend lines and {} holes. \
             Print at 100 %.",
            hundredths(blank.developed_length_mm),
            hundredths(blank.width_mm),
            blank.bends.len(),
            blank.holes.len()
        ),
    );
    let sheet = Sheet::new(blank, size_mm);
    sheet.template(&mut drawing);
    sheet.names(&mut drawing);
    sheet.width(&mut drawing);
    let middle = f64::midpoint(sheet.low.y, sheet.high.y);
    let (mut above, below): (Vec<_>, Vec<_>) = sheet
        .hole_remarks(&mut drawing)
        .into_iter()
        .partition(|remark| remark.tip.y >= middle);
    above.extend(sheet.bend_remarks());
    let (bottom, top) = drawing
        .bounds()
        .map_or((sheet.low.y, sheet.high.y), |(low, high)| (low.y, high.y));
    sheet
        .rows(LabelSide::Above, top + 1.5)
        .draw(above, &mut drawing);
    let bottom = sheet
        .rows(LabelSide::Below, bottom - 1.5)
        .draw(below, &mut drawing);
    sheet.length(bottom, &mut drawing);
    if let Some(grain) = part.sheet.grain {
        sheet.grain(grain, &mut drawing);
    }
    drawing
}

/// Puts heading, legend and remarks round the blank.
pub fn worded(part: &Part, blank: &Blank, drawing: &mut Drawing) {
    let sheet = Sheet::new(blank, None);
    legend(drawing, None, LEGEND, sheet.width_mm(), sheet.size_mm);
    footing(
        drawing,
        &notes(part, blank),
        sheet.width_mm(),
        sheet.size_mm,
    );
    heading(
        drawing,
        &sheet_title(part),
        &[material_words(part)],
        sheet.width_mm(),
        sheet.size_mm,
    );
}

/// What the blank is cut from, and which side is drawn.
pub fn material_words(part: &Part) -> String {
    format!(
        "{}, {} mm thick. This side up: the side you see is turned away from the board.",
        part.sheet.metal.name,
        hundredths(part.sheet.thickness_mm)
    )
}

/// What the lines of a blank mean.
pub const LEGEND: &[(Role, &str)] = &[
    (Role::Outline, "cut"),
    (Role::Hole, "drill or cut"),
    (Role::BendLine, "middle of a bend"),
    (Role::Tangent, "where a bend begins or ends"),
];

/// What a person must know beside the blank, one paragraph each.
pub fn notes(part: &Part, blank: &Blank) -> Vec<String> {
    let mut notes = Vec::new();
    if !blank.bends.is_empty() {
        notes.push(
            "Up: what lies right of the line comes up towards you. Down: it goes down, away from you. \
             R is the inside radius; \"at\" counts from the left end."
                .to_owned(),
        );
        notes.push(format!(
            "Lengths are nominal, by the rule {} for K. K rules differ by {} mm: leave that much for filing.",
            blank.k_rule.text,
            hundredths(blank.spread_mm)
        ));
    }
    if !blank.holes.is_empty() {
        notes.push(
            "Holes are \"at\" so much from the left end, so much from the lowest edge.".to_owned(),
        );
    }
    let [length_mm, width_mm] = blank.rectangle_mm;
    notes.push(format!(
        "Cut from a rectangle of at least {} × {} mm. Mass {} g.",
        hundredths(length_mm),
        hundredths(width_mm),
        hundredths(blank.mass_g)
    ));
    if part.sheet.grain == Some(Grain::Across) && !blank.bends.is_empty() {
        notes.push(
            "The bend lines run with the rolling direction, where sheet cracks soonest: turn the blank on the sheet \
             if you can (common practice, no source)."
                .to_owned(),
        );
    }
    notes.extend(part.note.clone());
    notes
}

struct Sheet<'a> {
    blank: &'a Blank,
    low: Point2<f64>,
    high: Point2<f64>,
    /// Where labels may begin and end.
    room_mm: (f64, f64),
    size_mm: f64,
}

impl<'a> Sheet<'a> {
    fn new(blank: &'a Blank, size_mm: Option<f64>) -> Self {
        let (low, high) = blank.outline.bounds();
        let wide_mm = (high.x - low.x + 2.0 * BESIDE_MM).max(LEAST_SHEET_MM);
        let left = f64::midpoint(low.x, high.x) - wide_mm / 2.0;
        Self {
            blank,
            low,
            high,
            room_mm: (left, left + wide_mm),
            size_mm: size_mm
                .unwrap_or((wide_mm / LETTERS_ACROSS).clamp(LETTERS_MM.0, LETTERS_MM.1)),
        }
    }

    fn width_mm(&self) -> f64 {
        self.room_mm.1 - self.room_mm.0
    }

    fn rows(&self, side: LabelSide, base_mm: f64) -> Rows {
        Rows {
            from_mm: self.room_mm.0,
            to_mm: self.room_mm.1,
            base_mm,
            side,
            size_mm: self.size_mm,
        }
    }

    fn template(&self, drawing: &mut Drawing) {
        let flat = flat_drawing(self.blank);
        for (line, bend) in bend_lines(self.blank).iter().zip(&self.blank.bends) {
            // Lines so near to each other would run into one.
            if bend.allowance_mm > LEAST_BEND_MM {
                for piece in line.start.iter().chain(&line.end) {
                    let (from, to) = ends(piece);
                    drawing.line(Role::Tangent, from, to);
                }
            }
        }
        for (from, to) in flat.bends {
            drawing.line(Role::BendLine, from, to);
        }
        drawing.area(Role::Outline, flat.outline);
        for hole in flat.holes {
            drawing.area(Role::Hole, vec![hole]);
        }
    }

    /// Names of the flats inside them, and which side is up, where there is room.
    fn names(&self, drawing: &mut Drawing) {
        let mut flats: Vec<_> = self
            .blank
            .stretches
            .iter()
            .filter(|stretch| stretch.kind == StretchKind::Flat)
            .collect();
        // The longest first: it is the likeliest to have room for more than its name.
        flats.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm));
        let mut said = false;
        for flat in flats {
            let name = flat.name.as_str();
            let mut stacks = vec![vec![name]];
            if !said {
                stacks.insert(0, vec![name, "this side up"]);
                stacks.insert(1, vec![name, "this side", "up"]);
            }
            let found = stacks.into_iter().find_map(|lines| {
                self.room_for(&lines, (flat.start_mm, flat.end_mm))
                    .map(|place| (place, lines))
            });
            let Some((place, lines)) = found else {
                continue;
            };
            said |= lines.len() > 1;
            for (number, line) in lines.iter().enumerate() {
                let down = Vector2::new(0.0, -PITCH * self.size_mm * number as f64);
                let text = Text::new(place + down, self.size_mm, *line);
                drawing.text(Role::Label, text.anchored(Anchor::Middle));
            }
        }
    }

    /// Base line of the first line of a stack that lies wholly on metal within a stretch.
    fn room_for(&self, lines: &[&str], (from, to): (f64, f64)) -> Option<Point2<f64>> {
        let long_mm = lines
            .iter()
            .map(|line| width_mm(line, self.size_mm))
            .fold(0.0, f64::max)
            + 1.0;
        if long_mm > to - from {
            return None;
        }
        let high_mm = (PITCH * lines.len() as f64 + 0.5) * self.size_mm;
        let metal = self.blank.metal_loops();
        let corners: Vec<Point2<f64>> = self
            .blank
            .holes
            .iter()
            .flat_map(|hole| hole.shape.flattened(0.1))
            .collect();
        // The middle of the flat first, then further and further from it.
        let down = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
        let places = [0.5, 0.25, 0.75, 0.05, 0.95]
            .into_iter()
            .flat_map(|across| down.map(|down| (across, down)));
        places.into_iter().find_map(|(across, down)| {
            let left = from + across * (to - from - long_mm);
            let (x, right) = (left + long_mm / 2.0, left + long_mm);
            let y = self.low.y + down * (self.high.y - self.low.y);
            let (low, high) = (y - high_mm / 2.0, y + high_mm / 2.0);
            let on_metal = [left, x, right].into_iter().all(|x| {
                y_intervals(x, &metal)
                    .into_iter()
                    .any(|(from, to)| from <= low && high <= to)
            });
            let free = corners.iter().all(|corner| {
                !((left..=right).contains(&corner.x) && (low..=high).contains(&corner.y))
            });
            (on_metal && free).then(|| Point2::new(x, high - 1.15 * self.size_mm))
        })
    }

    fn bend_remarks(&self) -> Vec<Remark> {
        let lines = bend_lines(self.blank);
        self.blank
            .bends
            .iter()
            .zip(&lines)
            .enumerate()
            .map(|(number, (bend, line))| {
                let way = match bend.direction {
                    Direction::Up => "up",
                    Direction::Down => "down",
                };
                let top = line
                    .centre
                    .iter()
                    .map(|piece| piece.y_to_mm)
                    .fold(f64::NEG_INFINITY, f64::max);
                let top = if top.is_finite() { top } else { self.high.y };
                Remark {
                    tip: Point2::new(bend.centre_mm, top),
                    lines: vec![
                        format!("bend {} {way} {:.1}°", number + 1, bend.angle_deg),
                        format!("R {}", hundredths(bend.inside_radius_mm)),
                        format!("at {}", hundredths(bend.centre_mm)),
                    ],
                    role: Role::Label,
                    dot: false,
                }
            })
            .collect()
    }

    /// Centre marks; and what each hole is.
    fn hole_remarks(&self, drawing: &mut Drawing) -> Vec<Remark> {
        let middle = f64::midpoint(self.low.y, self.high.y);
        let mut remarks = Vec::new();
        for hole in &self.blank.holes {
            let [x, y] = hole.centre_mm;
            let centre = Point2::new(x, y);
            let (low, high) = hole.shape.bounds();
            let arm = (high - low) / 2.0 + Vector2::new(1.5, 1.5);
            for reach in [Vector2::new(arm.x, 0.0), Vector2::new(0.0, arm.y)] {
                drawing.line(Role::Dimension, centre - reach, centre + reach);
            }
            let mut lines = wrapped(&hole.name, LABEL_LETTERS);
            lines.push(match hole.diameter_mm {
                Some(diameter_mm) => format!("ø {}", hundredths(diameter_mm)),
                None => format!(
                    "{} × {}",
                    hundredths(high.x - low.x),
                    hundredths(high.y - low.y)
                ),
            });
            lines.push(format!(
                "at {}, {}",
                hundredths(x),
                hundredths(y - self.low.y)
            ));
            remarks.push(Remark {
                tip: Point2::new(x, if y >= middle { high.y } else { low.y }),
                lines,
                role: Role::Label,
                dot: false,
            });
        }
        remarks
    }

    fn width(&self, drawing: &mut Drawing) {
        let beside = self.low.x - 2.6 * self.size_mm;
        drawing.dimension(
            &Dimension::vertical(
                self.low,
                Point2::new(self.low.x, self.high.y),
                beside,
                hundredths(self.blank.width_mm),
            )
            .sized(self.size_mm),
        );
    }

    fn length(&self, bottom: f64, drawing: &mut Drawing) {
        let outline = &self.blank.outline;
        drawing.dimension(
            &Dimension::horizontal(
                extreme(outline, |point| point.x),
                extreme(outline, |point| -point.x),
                bottom - 2.6 * self.size_mm,
                hundredths(self.blank.developed_length_mm),
            )
            .sized(self.size_mm),
        );
    }
}

/// The arrow that shows how the sheet was rolled.
const GRAIN_MM: f64 = 36.0;

impl Sheet<'_> {
    /// An arrow along the rolling direction, outside of everything drawn so far.
    fn grain(&self, grain: Grain, drawing: &mut Drawing) {
        let Some((low, high)) = drawing.bounds() else {
            return;
        };
        let words = "rolled this way";
        let air_mm = 2.4 * self.size_mm;
        let dimension = match grain {
            Grain::Along => {
                let from = Point2::new(self.low.x, low.y - air_mm);
                Dimension::aligned(from, from + Vector2::new(GRAIN_MM, 0.0), 0.0, words)
            }
            Grain::Across => {
                let x = high.x + air_mm;
                let middle = f64::midpoint(self.low.y, self.high.y);
                let from = Point2::new(x, middle - GRAIN_MM / 2.0);
                Dimension::aligned(from, from + Vector2::new(0.0, GRAIN_MM), 0.0, words)
            }
        };
        drawing.dimension(&dimension.sized(self.size_mm));
    }
}

/// The lowest of the outline's points that lie furthest in a direction.
fn extreme(outline: &Loop, along: impl Fn(&Point2<f64>) -> f64) -> Point2<f64> {
    outline
        .flattened(0.01)
        .into_iter()
        .reduce(|best, point| {
            let further = along(&point) - along(&best);
            if further < -1e-9 || (further < 1e-9 && point.y < best.y) {
                point
            } else {
                best
            }
        })
        .unwrap_or_else(Point2::origin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blank::blank;
    use crate::draw::{Shape, SvgOptions, svg};
    use crate::formats::dxf;
    use crate::output::pictures::fixtures::check::{assert_sound, parts, says, words};

    #[test]
    fn every_blank_can_be_printed_and_read() {
        for (name, part) in parts() {
            let blank = blank(&part).value;
            let drawing = blank_sheet(&part, &blank);
            assert_sound(name, &drawing, &blank_sheet(&part, &blank));
            for hole in &blank.holes {
                assert!(says(&drawing, &hole.name), "{name}: {}", hole.name);
            }
            for (number, bend) in blank.bends.iter().enumerate() {
                let wanted = format!(
                    "bend {} {}",
                    number + 1,
                    match bend.direction {
                        Direction::Up => "up",
                        Direction::Down => "down",
                    }
                );
                assert!(says(&drawing, &wanted), "{name}: {wanted}");
            }
            for wanted in [
                hundredths(blank.developed_length_mm),
                hundredths(blank.width_mm),
                ALONE.to_owned(),
            ] {
                assert!(says(&drawing, &wanted), "{name}: {wanted}");
            }
            let spread = format!("differ by {} mm", hundredths(blank.spread_mm));
            assert_eq!(says(&drawing, &spread), !blank.bends.is_empty(), "{name}");
            assert!(says(&drawing, "This side up"), "{name}");
        }
    }

    /// The template is of no use unless a millimetre is a millimetre.
    #[test]
    fn it_is_drawn_at_true_size() {
        for (name, part) in parts() {
            let blank = blank(&part).value;
            let drawing = blank_sheet(&part, &blank);
            let outline = drawing.items().iter().find_map(|item| match &item.shape {
                Shape::Area { loops } if item.role == Role::Outline => loops.first(),
                _ => None,
            });
            assert_eq!(outline, Some(&blank.outline), "{name}");
            let check = drawing.items().iter().any(|item| match item.shape {
                Shape::Line { from, to } => {
                    item.role == Role::Hole
                        && from.y == to.y
                        && (to.x - from.x - 100.0).abs() < 1e-9
                }
                _ => false,
            });
            assert!(check, "{name}");
        }
    }

    #[test]
    fn the_cutters_drawing_has_every_line() {
        let parts = parts();
        let (_, part) = &parts[1];
        let blank = blank(part).value;
        let flat = flat_drawing(&blank);
        assert_eq!(flat.outline, std::slice::from_ref(&blank.outline));
        assert_eq!(flat.holes.len(), 2);
        assert_eq!(flat.bends.len(), 4);
        assert_eq!(flat.tangents.len(), 8);
        dxf(&flat).unwrap();
    }

    #[test]
    fn words_inside_lie_on_metal() {
        for (name, part) in parts() {
            let blank = blank(&part).value;
            let sheet = Sheet::new(&blank, None);
            let mut drawing = Drawing::new("", "");
            sheet.names(&mut drawing);
            for item in drawing.items() {
                let Shape::Text(text) = &item.shape else {
                    panic!("names are text")
                };
                for corner in text.corners() {
                    assert!(blank.outline.contains(corner), "{name}: {}", text.content);
                    let in_hole = blank.holes.iter().any(|hole| hole.shape.contains(corner));
                    assert!(!in_hole, "{name}: {}", text.content);
                }
            }
        }
    }

    #[test]
    fn a_name_cannot_break_the_file() {
        let parts = parts();
        let (_, part) = parts.iter().find(|(name, _)| *name == "crowded").unwrap();
        let drawing = blank_sheet(part, &blank(part).value);
        assert!(words(&drawing).contains("crowded <&>"));
        let text = String::from_utf8(svg(&drawing, &SvgOptions::default())).unwrap();
        assert!(text.contains("crowded &lt;&amp;&gt;"));
    }
}

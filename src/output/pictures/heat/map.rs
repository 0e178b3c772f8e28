//! Temperatures over the plate: bands of tint on the formed plan and along the strip, and the old plate beside it.

use crate::draw::drawing::{Drawing, Text};
use crate::draw::isotherms::{Field, as_loop, levels, simplified};
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::{bar, legend, measured_line};
use crate::draw::lettering::SMALL_MM;
use crate::draw::lettering::{
    LABEL_LETTERS, SHEET_MM, TEXT_MM, footing, heading, part_name, wrapped,
};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::geometry::chain::Segment;
use crate::geometry::{Chain, Footprint, Loop, y_intervals};
use crate::heat::Heat;
use crate::numbers::{plain, tenths, whole};
use crate::numeric::cells::CellMap;
use crate::output::pictures::footprints::{footprint_loop, name_in};
use crate::part::Part;
use crate::words::heat::{celsius, verdict};
use nalgebra::{Point2, Vector2};
use std::fmt::Write as _;

/// Room for the new plate's plan, mm on the sheet.
const PLAN_MM: [f64; 2] = [150.0, 110.0];
/// The old plate's plan is smaller by this factor.
const OLD_SHARE: f64 = 0.62;
/// A strip thinner than this on the sheet has its heights exaggerated, mm.
const LEAST_STRIP_MM: f64 = 1.6;
/// No strip is drawn higher than this, mm.
const MOST_STRIP_MM: f64 = 40.0;
/// Height of a pipe over the strip, mm on the sheet.
const PIPE_MM: f64 = 2.4;
/// Isotherms stray no further than this on the sheet, mm.
const FINENESS_MM: f64 = 0.05;
/// Isotherms shorter than this on the sheet carry no number, mm.
const LEAST_LINE_MM: f64 = 14.0;
/// Numbers on isotherms stay this far from each other and from edges, mm.
const AIR_MM: f64 = 0.6;
/// A number on an isotherm keeps this many times less distance from edges than from other words.
const EDGE: f64 = 2.0;
/// Distance of the places at which room for a number is looked for, mm.
const PLACES_MM: f64 = 1.5;
/// No level has more numbers than this on one plate.
const MOST_NUMBERS: usize = 3;
/// Bare paper reaches this far over the ends of a map, mm.
const PAPER_MM: f64 = 1.0;

/// Temperatures of the new plate on plan and section, and of the old one if there is one.
pub fn heat_map(part: &Part, heat: &Heat) -> Drawing {
    let title = format!("{}: temperatures of the plate", part_name(&part.name));
    let mut drawing = Drawing::new(title.clone(), description(heat));
    let bands = Bands::of(heat);
    let (low, high) = reach(part);
    let view = View::fitting((low, high), PLAN_MM, Point2::origin());
    let centred = |view: &View| {
        let spare_mm = SHEET_MM / view.scale - (high.x - low.x);
        view.shifted(Vector2::new(spare_mm / 2.0, 0.0))
    };
    let view = centred(&view);
    let holes = part.holes.iter().map(|hole| hole.shape.clone()).collect();
    let new = Plan {
        part,
        heat,
        view,
        map: &heat.map,
        holes,
        is_old: false,
    };
    let bottom = new.draw(&bands, &mut drawing);
    let (strip_bottom, exaggerated) = strip(part, heat, &view, &bands, bottom - 4.0, &mut drawing);
    let mut level = strip_bottom - 1.6 * TEXT_MM;
    caption(&strip_caption(exaggerated), level, &mut drawing);
    level -= 1.6 * TEXT_MM;
    scale_bar(&view, level, &mut drawing);
    if let Some(old_map) = &heat.old_map {
        level -= 2.6 * TEXT_MM;
        caption(
            "Old plate, smaller, with the same bands; parts and pipes stand where they stand above:",
            level,
            &mut drawing,
        );
        let scale = OLD_SHARE * view.scale;
        let old = |foot: f64| Plan {
            part,
            heat,
            view: centred(&View::with_scale(scale, low, Point2::new(0.0, foot))),
            map: old_map,
            holes: Vec::new(),
            is_old: true,
        };
        // Drawn once to see how high its words stand.
        let mut trial = Drawing::new("", "");
        old(0.0).draw(&bands, &mut trial);
        let top = trial.bounds().map_or(0.0, |(_, high)| high.y);
        old(level - 1.2 * TEXT_MM - top).draw(&bands, &mut drawing);
    }
    let words = bands.words();
    let mut legend_words: Vec<(Role, &str)> = words
        .iter()
        .map(|(role, words)| (*role, words.as_str()))
        .collect();
    legend_words.extend([
        (Role::HiddenEdge, "board part under the plate, inside °C"),
        (Role::Seat, "heat pipe on the plate, vapour °C"),
    ]);
    legend(&mut drawing, None, &legend_words, SHEET_MM, TEXT_MM);
    footing(
        &mut drawing,
        &["The darker, the hotter; the lines between two tints are lines of one temperature, in °C. Tints are those of the plate's \
           metal: a board part under it is warmer by its pad and its own inside."
            .to_owned()],
        SHEET_MM,
        TEXT_MM,
    );
    let mut notes = vec![verdict(heat)];
    notes.extend(range_words("New plate", &heat.map));
    notes.extend(
        heat.old_map
            .as_ref()
            .and_then(|map| range_words("Old plate", map)),
    );
    notes.push(format!(
        "Seen from above, the plate drawn as glass. Air {} °C{}.",
        tenths(heat.air_c),
        heat.board_c.map_or_else(String::new, |board_c| format!(
            ", board {} °C",
            tenths(board_c)
        ))
    ));
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    drawing
}

fn range_words(which: &str, map: &CellMap) -> Option<String> {
    let (low, high) = map.range()?;
    Some(format!(
        "{which}: metal from {} to {} °C.",
        tenths(low),
        tenths(high)
    ))
}

fn description(heat: &Heat) -> String {
    let mut text = String::from("Temperatures over the plate in bands of tint.");
    for words in [
        range_words("New plate", &heat.map),
        heat.old_map
            .as_ref()
            .and_then(|map| range_words("Old plate", map)),
    ]
    .into_iter()
    .flatten()
    {
        let _ = write!(text, " {words}");
    }
    for of in &heat.parts {
        let _ = write!(text, " {}: {} inside", of.name, celsius(of.inside_c.middle));
        if let Some(old) = of.old_inside_c {
            let _ = write!(text, ", {} with the old plate", celsius(old.middle));
        }
        text.push('.');
    }
    text
}

fn caption(words: &str, level: f64, drawing: &mut Drawing) {
    drawing.text(
        Role::Label,
        Text::new(Point2::new(0.0, level), TEXT_MM, words),
    );
}

/// How long a round number of millimetres is on the new plate's plan.
fn scale_bar(view: &View, level: f64, drawing: &mut Drawing) {
    let (length_mm, bar_mm) = bar(view.scale);
    let begin = Point2::new(0.0, level + 0.35 * TEXT_MM);
    let end = begin + Vector2::new(bar_mm, 0.0);
    measured_line(drawing, begin, end);
    let words = format!("{} mm on the plan above", plain(length_mm));
    drawing.text(
        Role::Label,
        Text::new(Point2::new(end.x + 0.6 * TEXT_MM, level), TEXT_MM, words),
    );
}

fn strip_caption(exaggerated: f64) -> String {
    let heights = if exaggerated > 1.0 {
        format!("heights {} times as large as lengths", plain(exaggerated))
    } else {
        "true shape".to_owned()
    };
    format!(
        "The same plate seen from the front edge, {heights}; tints are means from front to back."
    )
}

/// What the plan must show: the plate, hot parts and pipes.
fn reach(part: &Part) -> (Point2<f64>, Point2<f64>) {
    let (mut low, mut high) = part.outline.bounds();
    let hot = part
        .components
        .iter()
        .filter(|component| component.heat.heat_w.is_some())
        .map(|component| &component.footprint);
    for footprint in hot.chain(part.thermal.pipes.iter().map(|pipe| &pipe.footprint)) {
        let (from, to) = footprint.bounds();
        low = Point2::new(low.x.min(from.x), low.y.min(from.y));
        high = Point2::new(high.x.max(to.x), high.y.max(to.y));
    }
    (low, high)
}

/// Round levels with the tints between them.
struct Bands {
    levels: Vec<f64>,
}

impl Bands {
    fn of(heat: &Heat) -> Self {
        let ranges = [Some(&heat.map), heat.old_map.as_ref()]
            .into_iter()
            .flatten()
            .filter_map(CellMap::range);
        let range = ranges.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        let levels = range.map_or_else(Vec::new, |range| levels(range, Role::WARMTH.len()).0);
        Self { levels }
    }

    /// Tint of the band above so many levels: few bands still use light and dark.
    fn role(&self, above: usize) -> Role {
        let last = Role::WARMTH.len() - 1;
        let number = if self.levels.is_empty() {
            last / 2
        } else {
            (above * last + self.levels.len() / 2) / self.levels.len()
        };
        Role::WARMTH.get(number).copied().unwrap_or(Role::Warmth5)
    }

    /// How many levels a temperature is above.
    fn above(&self, c: f64) -> usize {
        self.levels.iter().filter(|level| c >= **level).count()
    }

    fn words(&self) -> Vec<(Role, String)> {
        let (Some(first), Some(last)) = (self.levels.first(), self.levels.last()) else {
            return vec![(self.role(0), "metal of one temperature".to_owned())];
        };
        let mut words = vec![(self.role(0), format!("below {} °C", plain(*first)))];
        for (number, pair) in self.levels.windows(2).enumerate() {
            if let [from, to] = pair {
                words.push((
                    self.role(number + 1),
                    format!("{} to {}", plain(*from), plain(*to)),
                ));
            }
        }
        words.push((
            self.role(self.levels.len()),
            format!("above {} °C", plain(*last)),
        ));
        words
    }
}

/// One plate from above.
struct Plan<'a> {
    part: &'a Part,
    heat: &'a Heat,
    view: View,
    map: &'a CellMap,
    holes: Vec<Loop>,
    is_old: bool,
}

/// An isotherm on the sheet.
struct Isotherm {
    level_c: f64,
    line: Vec<Point2<f64>>,
}

impl Plan<'_> {
    /// Draws all of it and gives the level at which it ends.
    fn draw(&self, bands: &Bands, drawing: &mut Drawing) -> f64 {
        let isotherms = self.tints(bands, drawing);
        let metal = self.metal();
        for shape in &metal {
            drawing.area(Role::Outline, vec![self.view.shape(shape)]);
        }
        let mut names = Vec::new();
        let mut remarks = Vec::new();
        self.parts(&mut names, &mut remarks, drawing);
        self.pipes(&mut remarks, drawing);
        let (low, high) = reach(self.part);
        let (low, high) = (self.view.point(low), self.view.point(high));
        let middle = f64::midpoint(low.y, high.y);
        let (above, below): (Vec<_>, Vec<_>) = remarks
            .into_iter()
            .partition(|remark| remark.tip.y >= middle);
        let rows = |side: LabelSide, base_mm: f64| Rows {
            from_mm: 0.0,
            to_mm: SHEET_MM,
            base_mm,
            side,
            size_mm: TEXT_MM,
        };
        rows(LabelSide::Above, high.y + 1.5).draw(above, drawing);
        let bottom = rows(LabelSide::Below, low.y - 1.5).draw(below, drawing);
        self.numbers(&isotherms, &metal, &names, drawing);
        for text in names {
            drawing.text(Role::Label, text);
        }
        bottom
    }

    fn metal(&self) -> Vec<Loop> {
        let mut metal = vec![self.part.outline.clone()];
        metal.extend(self.holes.iter().cloned());
        metal
    }

    /// Bands over each other, coolest first, and paper over what they cover beside the metal.
    fn tints(&self, bands: &Bands, drawing: &mut Drawing) -> Vec<Isotherm> {
        let metal: Vec<Loop> = self
            .metal()
            .iter()
            .map(|shape| self.view.shape(shape))
            .collect();
        let Some((field, (low_c, _))) = Field::of(self.map).zip(self.map.range()) else {
            return Vec::new();
        };
        drawing.area(bands.role(bands.above(low_c)), metal.clone());
        let mut isotherms = Vec::new();
        for (number, level) in bands.levels.iter().enumerate() {
            if *level <= low_c {
                continue;
            }
            let lines: Vec<Vec<Point2<f64>>> = field
                .above(*level)
                .into_iter()
                .map(|line| {
                    let on_sheet: Vec<Point2<f64>> = line
                        .into_iter()
                        .map(|point| self.view.point(point))
                        .collect();
                    simplified(&on_sheet, FINENESS_MM)
                })
                .collect();
            drawing.area(
                bands.role(number + 1),
                lines.iter().filter_map(|line| as_loop(line)).collect(),
            );
            isotherms.extend(lines.into_iter().map(|line| Isotherm {
                level_c: *level,
                line,
            }));
        }
        if let Some((low, high)) = field.bounds() {
            let beyond = Vector2::new(PAPER_MM, PAPER_MM);
            let sheet = Loop::rectangle(
                self.view.point(low) - beyond,
                self.view.point(high) + beyond,
            );
            let mut paper = vec![sheet];
            paper.extend(metal);
            drawing.area(Role::Paper, paper);
        }
        isotherms
    }

    /// Outlines of parts that make heat, and what they are called and how warm they get.
    fn parts(&self, names: &mut Vec<Text>, remarks: &mut Vec<Remark>, drawing: &mut Drawing) {
        let hot = self
            .part
            .components
            .iter()
            .filter(|component| component.heat.heat_w.is_some());
        for (component, of) in hot.zip(&self.heat.parts) {
            let inside = if self.is_old {
                of.old_inside_c
            } else {
                Some(of.inside_c)
            };
            drawing.area(
                Role::HiddenEdge,
                vec![footprint_loop(&component.footprint, &self.view)],
            );
            let name = component.name.clone();
            let inside_c = inside.map_or(f64::NAN, |inside| inside.middle);
            let lines = vec![name.clone(), celsius(inside_c)];
            let mut shorter = vec![lines.clone()];
            if inside_c.is_finite() {
                shorter.push(vec![name, whole(inside_c)]);
                // On the old plate the places tell which part it is.
                if self.is_old {
                    shorter.push(vec![whole(inside_c)]);
                }
            }
            let bounds = component.footprint.bounds();
            let inside_it = shorter
                .iter()
                .find_map(|lines| name_in(&self.view, lines, bounds, &component.footprint));
            if let Some(texts) = inside_it {
                names.extend(texts);
                continue;
            }
            remarks.push(Remark {
                tip: self.view.point(nalgebra::center(&bounds.0, &bounds.1)),
                lines: lines
                    .iter()
                    .flat_map(|line| wrapped(line, LABEL_LETTERS))
                    .collect(),
                role: Role::Label,
                dot: true,
            });
        }
    }

    fn pipes(&self, remarks: &mut Vec<Remark>, drawing: &mut Drawing) {
        let (low, high) = reach(self.part);
        let middle = f64::midpoint(low.y, high.y);
        for (pipe, of) in self.part.thermal.pipes.iter().zip(&self.heat.pipes) {
            drawing.area(
                Role::Seat,
                vec![footprint_loop(&pipe.footprint, &self.view)],
            );
            let vapour_c = if self.is_old {
                of.old_vapour_c
            } else {
                Some(of.vapour_c)
            };
            let (from, to) = pipe.footprint.bounds();
            // On the edge that is nearer to the words.
            let upper = from.y + to.y >= 2.0 * middle;
            let mut lines = wrapped(&pipe.name, LABEL_LETTERS);
            lines.extend(vapour_c.map(|c| format!("vapour {}", celsius(c))));
            remarks.push(Remark {
                tip: edge_place(&pipe.footprint, &self.view, upper),
                lines,
                role: Role::Label,
                dot: false,
            });
        }
    }

    /// Numbers on isotherms, where there is room for them on bare metal.
    fn numbers(
        &self,
        isotherms: &[Isotherm],
        metal: &[Loop],
        names: &[Text],
        drawing: &mut Drawing,
    ) {
        let on_sheet: Vec<Loop> = metal.iter().map(|shape| self.view.shape(shape)).collect();
        let mut taken: Vec<[f64; 4]> = names.iter().map(reach_of).collect();
        for (number, isotherm) in isotherms.iter().enumerate() {
            let before = isotherms.iter().take(number);
            let same = before
                .filter(|other| (other.level_c - isotherm.level_c).abs() < 1e-9)
                .count();
            if same >= MOST_NUMBERS || length_mm(&isotherm.line) < LEAST_LINE_MM {
                continue;
            }
            let words = plain(isotherm.level_c);
            let best = places_on(&isotherm.line)
                .into_iter()
                .map(|point| Text::centred(point, SMALL_MM, words.clone()))
                .filter_map(|text| {
                    let own = reach_of(&text);
                    let free =
                        taken.iter().all(|other| apart(&own, other)) && lies_on(&on_sheet, &own);
                    // As far from all other words, and from edges, as can be.
                    let away = taken
                        .iter()
                        .map(|other| distance(&own, other))
                        .fold(EDGE * edge_mm(&on_sheet, &own), f64::min);
                    free.then_some((away, text, own))
                })
                .reduce(|best, other| if other.0 > best.0 + 1e-9 { other } else { best });
            if let Some((_, text, own)) = best {
                drawing.text(Role::Dimension, text);
                taken.push(own);
            }
        }
    }
}

/// Middle of the back or the front edge of a footprint's box.
fn edge_place(footprint: &Footprint, view: &View, upper: bool) -> Point2<f64> {
    let (from, to) = footprint.bounds();
    view.at(
        f64::midpoint(from.x, to.x),
        if upper { to.y } else { from.y },
    )
}

/// Places along a line, near enough to each other to find room for a number.
fn places_on(line: &[Point2<f64>]) -> Vec<Point2<f64>> {
    let mut places = Vec::new();
    for pair in line.windows(2) {
        let [from, to] = *pair else { continue };
        let way = to - from;
        let parts = (way.norm() / PLACES_MM).ceil().max(1.0);
        let mut part = 0.0;
        while part < parts {
            places.push(from + way * (part / parts));
            part += 1.0;
        }
    }
    places
}

fn length_mm(line: &[Point2<f64>]) -> f64 {
    line.windows(2)
        .map(|pair| match *pair {
            [from, to] => (to - from).norm(),
            _ => 0.0,
        })
        .sum()
}

fn reach_of(text: &Text) -> [f64; 4] {
    let (low, high) = Loop::polygon(&text.corners()).bounds();
    [
        low.x - AIR_MM,
        low.y - AIR_MM,
        high.x + AIR_MM,
        high.y + AIR_MM,
    ]
}

fn apart(a: &[f64; 4], b: &[f64; 4]) -> bool {
    let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (a, b);
    a2 <= b0 || b2 <= a0 || a3 <= b1 || b3 <= a1
}

fn distance(a: &[f64; 4], b: &[f64; 4]) -> f64 {
    let ([a0, a1, a2, a3], [b0, b1, b2, b3]) = (a, b);
    Vector2::new(a0 + a2 - b0 - b2, a1 + a3 - b1 - b3).norm() / 2.0
}

/// How far the middle of a box is from the metal's edges in front of it and behind it.
fn edge_mm(metal: &[Loop], [from_x, from_y, to_x, to_y]: &[f64; 4]) -> f64 {
    let y = f64::midpoint(*from_y, *to_y);
    y_intervals(f64::midpoint(*from_x, *to_x), metal)
        .into_iter()
        .map(|(low, high)| (y - low).min(high - y))
        .fold(0.0, f64::max)
}

/// Whether a box lies on metal everywhere.
fn lies_on(metal: &[Loop], [from_x, from_y, to_x, to_y]: &[f64; 4]) -> bool {
    (0..=4u8).all(|n| {
        let x = from_x + (to_x - from_x) * f64::from(n) / 4.0;
        y_intervals(x, metal)
            .into_iter()
            .any(|(low, high)| low <= *from_y && *to_y <= high)
    })
}

/// Mean of each column from front to back, at its middle along x.
fn along_strip(map: &CellMap) -> Vec<(f64, f64)> {
    let rows = map.row_edges_mm.len().saturating_sub(1).max(1);
    let heights: Vec<f64> = map
        .row_edges_mm
        .iter()
        .zip(map.row_edges_mm.iter().skip(1))
        .map(|(from, to)| to - from)
        .collect();
    map.columns_mm
        .iter()
        .zip(map.cells.chunks(rows))
        .filter_map(|((from, to), cells)| {
            let (mut sum, mut all) = (0.0, 0.0);
            for (cell, height) in cells.iter().zip(&heights) {
                if let Some(c) = cell {
                    sum += c * height;
                    all += height;
                }
            }
            (all > 0.0).then(|| (f64::midpoint(*from, *to), sum / all))
        })
        .collect()
}

/// Stretches of one band from left to right: where each ends, and how many levels it is above.
fn stretches(means: &[(f64, f64)], bands: &Bands, end_mm: f64) -> Vec<(f64, usize)> {
    let mut list = Vec::new();
    for pair in means.windows(2) {
        let [(x, c), (next_x, next_c)] = *pair else {
            continue;
        };
        let (mut now, then) = (bands.above(c), bands.above(next_c));
        while now != then {
            let crossed = if then > now { now } else { now - 1 };
            let Some(level) = bands.levels.get(crossed) else {
                break;
            };
            list.push((x + (next_x - x) * (level - c) / (next_c - c), now));
            now = if then > now { now + 1 } else { now - 1 };
        }
    }
    if let Some((_, c)) = means.last() {
        list.push((end_mm, bands.above(*c)));
    }
    list
}

/// The formed sheet in section; straight on past its ends, where tabs lie.
struct Sheet<'a> {
    mid: &'a Chain,
    half_mm: f64,
}

impl Sheet<'_> {
    /// How far along the sheet a place in plan is.
    fn along(&self, x_mm: f64) -> f64 {
        let (start, length_mm) = (self.mid.start.point.x, self.mid.length_mm());
        let end = self.mid.end().point.x;
        if x_mm <= start {
            return x_mm - start;
        }
        if x_mm >= end {
            return length_mm + x_mm - end;
        }
        let (mut low, mut high) = (0.0, length_mm);
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if self.mid.at(middle).point.x < x_mm {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }

    /// Both faces at a place along the sheet: towards the board and away from it.
    fn faces(&self, along_mm: f64) -> [Point2<f64>; 2] {
        let within = along_mm.clamp(0.0, self.mid.length_mm());
        let pose = self.mid.at(within);
        let point = pose.point + pose.along() * (along_mm - within);
        let out = pose.left() * self.half_mm;
        [point - out, point + out]
    }

    /// Corners of a stretch of it.
    fn between(&self, from_mm: f64, to_mm: f64) -> Vec<Point2<f64>> {
        /// Pieces of a bend: finer than a line is wide at any scale in use.
        const PIECES: u8 = 24;
        let mut places = vec![from_mm, to_mm];
        for piece in self.mid.pieces() {
            let length_mm = piece.segment.length_mm();
            let parts = match piece.segment {
                Segment::Line { .. } => 1,
                Segment::Arc { .. } => PIECES,
            };
            places.extend(
                (0..=parts)
                    .map(|part| piece.from_mm + length_mm * f64::from(part) / f64::from(parts))
                    .filter(|place| (from_mm..to_mm).contains(place)),
            );
        }
        places.sort_by(f64::total_cmp);
        let faces: Vec<[Point2<f64>; 2]> = places.iter().map(|place| self.faces(*place)).collect();
        let under = faces.iter().map(|[under, _]| *under);
        under
            .chain(faces.iter().rev().map(|[_, over]| *over))
            .collect()
    }
}

/// The formed strip below the plan; gives the level at which it ends and how much its heights are exaggerated.
fn strip(
    part: &Part,
    heat: &Heat,
    view: &View,
    bands: &Bands,
    top: f64,
    drawing: &mut Drawing,
) -> (f64, f64) {
    let profile = &part.profile;
    let (low, high) = part.outline.bounds();
    let (from_mm, to_mm) = (low.x, high.x);
    let (under, over) = (profile.underside.bounds().0.y, profile.topside.bounds().1.y);
    let rise_mm = (over - under) * view.scale;
    let exaggerated = [1.0, 2.0, 3.0, 5.0, 10.0]
        .into_iter()
        .find(|times| times * part.sheet.thickness_mm * view.scale >= LEAST_STRIP_MM)
        .unwrap_or(10.0);
    let exaggerated = [10.0, 5.0, 3.0, 2.0]
        .into_iter()
        .find(|times| *times <= exaggerated && times * rise_mm <= MOST_STRIP_MM)
        .unwrap_or(1.0);
    let scale = exaggerated * view.scale;
    let foot = top - PIPE_MM - (over - under) * scale;
    let on_sheet =
        |point: Point2<f64>| Point2::new(view.at(point.x, 0.0).x, foot + (point.y - under) * scale);
    // Cut square across the sheet, so that a tint ends on a wall where it ends along the wall.
    let sheet = Sheet {
        mid: &profile.mid,
        half_mm: part.sheet.thickness_mm / 2.0,
    };
    let shape = |from: f64, to: f64| {
        let points: Vec<Point2<f64>> = sheet.between(from, to).into_iter().map(on_sheet).collect();
        Loop::polygon(&points)
    };
    let (begin, end) = (sheet.along(from_mm), sheet.along(to_mm));
    let mut from = begin;
    for (to_mm, above) in stretches(&along_strip(&heat.map), bands, to_mm) {
        let to = sheet.along(to_mm).clamp(from, end);
        if to - from > 1e-6 {
            drawing.area(bands.role(above), vec![shape(from, to)]);
        }
        from = to;
    }
    drawing.area(Role::Outline, vec![shape(begin, end)]);
    for pipe in &part.thermal.pipes {
        let (pipe_low, pipe_high) = pipe.footprint.bounds();
        let (pipe_from, pipe_to) = (pipe_low.x.max(from_mm), pipe_high.x.min(to_mm));
        if pipe_from >= pipe_to {
            continue;
        }
        let seat_mm = profile.topside.height_at(f64::midpoint(pipe_from, pipe_to));
        let corner = on_sheet(Point2::new(pipe_from, seat_mm));
        let across = (pipe_to - pipe_from) * view.scale;
        drawing.area(
            Role::Seat,
            vec![Loop::rectangle(
                corner,
                corner + Vector2::new(across, PIPE_MM),
            )],
        );
    }
    (foot, exaggerated)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::{Shape, SvgOptions, svg};
    use crate::output::pictures::fixtures::check::{assert_sound, says};
    use crate::output::pictures::fixtures::heat::{case, warm};

    #[test]
    fn every_map_can_be_read_and_stays_small() {
        for warm in warm() {
            let drawing = heat_map(&warm.part, &warm.heat);
            assert_sound(warm.name, &drawing, &heat_map(&warm.part, &warm.heat));
            for of in &warm.heat.parts {
                assert!(says(&drawing, &of.name), "{}: {}", warm.name, of.name);
                assert!(says(&drawing, &whole(of.inside_c.middle)));
                if let Some(old) = of.old_inside_c {
                    assert!(says(&drawing, &whole(old.middle)));
                }
            }
            for pipe in &warm.heat.pipes {
                assert!(says(&drawing, &pipe.name));
                assert!(says(&drawing, &celsius(pipe.vapour_c)));
            }
            let bytes = svg(&drawing, &SvgOptions::default()).len();
            assert!(bytes < 300_000, "{}: {bytes}", warm.name);
            assert_eq!(
                says(&drawing, "Old plate, smaller"),
                warm.heat.old_map.is_some()
            );
        }
    }

    #[test]
    fn every_level_inside_the_plate_has_its_line_and_its_number() {
        let full = case("full");
        let bands = Bands::of(&full.heat);
        assert!((3..=8).contains(&bands.levels.len()), "{:?}", bands.levels);
        let drawing = heat_map(&full.part, &full.heat);
        let (low, high) = full.heat.map.range().unwrap();
        for level in bands.levels.iter().filter(|c| (low..high).contains(*c)) {
            let role = bands.role(bands.above(*level));
            let areas = drawing
                .items()
                .iter()
                .filter(|item| item.role == role && matches!(&item.shape, Shape::Area { .. }));
            assert!(areas.count() >= 2, "{level}");
            assert!(says(&drawing, &plain(*level)));
        }
    }

    #[test]
    fn few_bands_use_all_of_the_scale_and_none_twice() {
        for count in 0..=8u8 {
            let bands = Bands {
                levels: (0..count).map(f64::from).collect(),
            };
            let roles: Vec<Role> = bands.words().iter().map(|(role, _)| *role).collect();
            assert_eq!(roles.len(), usize::from(count) + 1);
            assert!(roles.windows(2).all(|pair| pair[0] < pair[1]));
            if count > 0 {
                assert_eq!(roles[0], Role::Warmth1);
                assert_eq!(roles[usize::from(count)], Role::Warmth9);
            }
        }
    }

    #[test]
    fn the_strip_changes_its_tint_where_its_mean_crosses_a_level() {
        let bands = Bands {
            levels: vec![10.0, 20.0, 30.0],
        };
        let means = [(0.0, 5.0), (10.0, 25.0), (20.0, 15.0)];
        let list = stretches(&means, &bands, 22.0);
        assert_eq!(list, [(2.5, 0), (7.5, 1), (15.0, 2), (22.0, 1)]);
        assert!(stretches(&[], &bands, 22.0).is_empty());
    }

    #[test]
    fn a_stretch_of_the_sheet_has_its_length_and_its_thickness() {
        let profile = &case("steep").part.profile;
        let sheet = Sheet {
            mid: &profile.mid,
            half_mm: 0.5,
        };
        let length_mm = profile.mid.length_mm();
        let (from, to) = profile.extent_mm();
        assert!(sheet.along(from).abs() < 1e-9 && (sheet.along(to) - length_mm).abs() < 1e-9);
        assert!((sheet.along(to + 3.0) - length_mm - 3.0).abs() < 1e-9);
        let area = |a: f64, b: f64| Loop::polygon(&sheet.between(a, b)).area_mm2();
        assert!((area(-2.0, length_mm + 3.0) / (length_mm + 5.0) - 1.0).abs() < 2e-3);
        // Half way up the wall it is cut across, not along.
        let walls = |zone: &&crate::part::Zone| matches!(zone.kind, crate::part::ZoneKind::Wall(_));
        let wall = profile.zones.iter().find(walls).unwrap();
        let [under, over] = sheet.faces(sheet.along(wall.piece.middle().x));
        assert!((over - under).norm() > 0.999 && (over.y - under.y).abs() < 0.1);
    }

    #[test]
    fn a_plate_that_was_not_solved_is_still_drawn() {
        let full = case("full");
        let mut heat = full.heat.clone();
        heat.map = CellMap::default();
        let drawing = heat_map(&full.part, &heat);
        assert_sound("no map", &drawing, &drawing);
    }
}

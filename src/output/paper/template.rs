//! The blank at true size on paper: on one page where it fits, else on several to be taped together.
//!
//! Every page carries rulers of 100 mm along both edges. Pages of a set overlap; marks with the same letter lie on each
//! other when two pages are joined. A printer that is known not to be true is made up for on both axes.

use super::sizes::{EDGE_MM, Printing, reached};
use crate::blank::Blank;
use crate::draw::drawing::{Drawing, Text};
use crate::draw::face::Typeface;
use crate::draw::legend::legend;
use crate::draw::lettering::{footing, heading, part_name};
use crate::draw::page::{Layer, Page};
use crate::draw::pdf;
use crate::draw::pdf::PdfError;
use crate::draw::ruler::{RULER_BAND_MM, rulers};
use crate::draw::style::Role;
use crate::geometry::Loop;
use crate::numbers::plain;
use crate::output::pictures::blank::{
    LEGEND, blank_edges, blank_lines, material_words, notes, sheet_title, worded,
};
use crate::part::Part;
use nalgebra::{Point2, Vector2};

/// Letters of the words at the foot of a page, mm.
const FOOT_MM: f64 = 2.6;
/// Room for two lines of them.
const FOOT_BAND_MM: f64 = 9.0;
/// Air between rulers and what is printed.
const AIR_MM: f64 = 2.0;
/// Pages of a set overlap by this much.
const OVERLAP_MM: f64 = 14.0;
/// Half the length of a mark's lines.
const MARK_MM: f64 = 4.5;
/// Largest picture of how the pages lie.
const OVERVIEW_MM: [f64; 2] = [150.0, 110.0];
/// Letters on pages of a set, mm.
const SET_LETTERS_MM: f64 = 2.8;

/// What of a page the template may use.
#[derive(Debug, Clone, Copy)]
struct Room {
    page_mm: [f64; 2],
    /// Where the rulers meet.
    corner: Point2<f64>,
    low: Point2<f64>,
    high: Point2<f64>,
}

impl Room {
    fn of(page_mm: [f64; 2]) -> Self {
        let (low, high) = reached(page_mm);
        let corner = low + Vector2::new(RULER_BAND_MM, RULER_BAND_MM + FOOT_BAND_MM);
        Self {
            page_mm,
            corner,
            low: corner + Vector2::new(AIR_MM, AIR_MM),
            high,
        }
    }

    fn size_mm(&self) -> Vector2<f64> {
        self.high - self.low
    }

    fn window_mm(&self) -> (Point2<f64>, Point2<f64>) {
        (self.low, self.high)
    }
}

/// The template of a part's blank as PDF.
///
/// # Errors
/// When the pages cannot be written, a fault of coldstep.
pub fn template(part: &Part, blank: &Blank, printing: &Printing) -> Result<Vec<u8>, PdfError> {
    let mut whole = blank_lines(part, blank, None);
    worded(part, blank, &mut whole);
    let single = printing
        .paper
        .sizes_mm()
        .into_iter()
        .map(Room::of)
        .find(|room| fits(&whole, room, printing));
    match single {
        Some(room) => one_page(part, &whole, &room, printing),
        None => set_of_pages(part, blank, printing),
    }
}

/// Width and height of a drawing as the file holds it, mm.
fn size_in_file(drawing: &Drawing, printing: &Printing) -> Vector2<f64> {
    let scale = Vector2::from(printing.scale());
    drawing.bounds().map_or_else(Vector2::zeros, |(low, high)| {
        (high - low).component_mul(&scale)
    })
}

fn fits(drawing: &Drawing, room: &Room, printing: &Printing) -> bool {
    let (wanted, given) = (size_in_file(drawing, printing), room.size_mm());
    wanted.x <= given.x && wanted.y <= given.y
}

fn one_page(
    part: &Part,
    whole: &Drawing,
    room: &Room,
    printing: &Printing,
) -> Result<Vec<u8>, PdfError> {
    let scale = Vector2::from(printing.scale());
    let (low, _) = whole
        .bounds()
        .unwrap_or((Point2::origin(), Point2::origin()));
    let size = size_in_file(whole, printing);
    // In the middle from side to side, at the top.
    let corner = Point2::new(
        f64::midpoint(room.low.x, room.high.x) - size.x / 2.0,
        room.high.y - size.y,
    );
    let origin_mm = corner - low.coords.component_mul(&scale);
    let frame = Frame::new(part, room, printing, "page 1 of 1");
    let mut layers = frame.layers(printing);
    layers.push(Layer {
        drawing: whole,
        scale: printing.scale(),
        origin_mm: origin_mm.coords,
        window_mm: None,
    });
    pdf(
        &sheet_title(part),
        &[Page {
            size_mm: room.page_mm,
            layers,
        }],
    )
}

/// Rulers and words of a page.
struct Frame {
    rulers: Drawing,
    words: Drawing,
    corner: Point2<f64>,
}

impl Frame {
    fn new(part: &Part, room: &Room, printing: &Printing, which: &str) -> Self {
        let mut lines = Drawing::new("", "");
        rulers(&mut lines, Point2::origin(), "");
        let mut words = Drawing::new("", "");
        let [across, up] = printing.ruler_measures_mm.map(plain);
        let how = if printing.is_true() {
            "Print at 100 %, actual size. Both rulers must measure 100 mm. If not: --printer-scale with what they measure, ACROSSxUP.".to_owned()
        } else {
            format!(
                "Made up for a printer whose rulers measured {across} across and {up} up. Print at 100 %: now both must measure 100 mm."
            )
        };
        let name = format!(
            "{}: flat blank 1:1, {}, {} mm thick; {which}.",
            part_name(&part.name),
            part.sheet.metal.name,
            plain(part.sheet.thickness_mm)
        );
        let width_mm = room.high.x - EDGE_MM;
        for (number, line) in [how, name].into_iter().enumerate() {
            let base = Point2::new(EDGE_MM, EDGE_MM + 0.8 + 4.0 * number as f64);
            words.text(
                Role::Label,
                Text::new(base, FOOT_MM, cut_to(&line, width_mm)),
            );
        }
        Self {
            rulers: lines,
            words,
            corner: room.corner,
        }
    }

    fn layers(&self, printing: &Printing) -> Vec<Layer<'_>> {
        vec![
            Layer {
                drawing: &self.words,
                scale: [1.0, 1.0],
                origin_mm: Vector2::zeros(),
                window_mm: None,
            },
            Layer {
                drawing: &self.rulers,
                scale: printing.scale(),
                origin_mm: self.corner.coords,
                window_mm: None,
            },
        ]
    }
}

/// A line shortened to a width, with an ellipsis where something is missing.
fn cut_to(line: &str, width_mm: f64) -> String {
    let Ok(face) = Typeface::new() else {
        return line.to_owned();
    };
    if face.width_mm(line, FOOT_MM) <= width_mm {
        return line.to_owned();
    }
    let mut kept: Vec<char> = line.chars().collect();
    while kept.pop().is_some() {
        let shorter: String = kept.iter().chain(&['…']).collect();
        if face.width_mm(&shorter, FOOT_MM) <= width_mm {
            return shorter;
        }
    }
    String::new()
}

/// How a drawing is cut into pages.
#[derive(Debug, Clone)]
struct Tiles {
    room: Room,
    columns: usize,
    rows: usize,
    /// Lower left corner of the lower left page, in the drawing.
    low: Point2<f64>,
    /// What one page shows of the drawing.
    shown: Vector2<f64>,
}

impl Tiles {
    fn of(drawing: &Drawing, room: Room, printing: &Printing) -> Self {
        let (low, high) = drawing
            .bounds()
            .unwrap_or((Point2::origin(), Point2::origin()));
        // Room for the width of lines.
        let (low, high) = (low.map(|at| at - AIR_MM), high.map(|at| at + AIR_MM));
        let shown = room
            .size_mm()
            .component_div(&Vector2::from(printing.scale()));
        let size = high - low;
        let count = |size: f64, shown: f64| {
            let mut count = 1usize;
            while count < 1000 && reach(count, shown) < size {
                count += 1;
            }
            count
        };
        let (columns, rows) = (count(size.x, shown.x), count(size.y, shown.y));
        let spare = Vector2::new(reach(columns, shown.x), reach(rows, shown.y)) - size;
        Self {
            room,
            columns,
            rows,
            low: low - spare / 2.0,
            shown,
        }
    }

    fn pages(&self) -> usize {
        self.columns * self.rows
    }

    fn step(&self) -> Vector2<f64> {
        self.shown.add_scalar(-OVERLAP_MM)
    }

    /// Lower left corner of a page in the drawing; rows count from above.
    fn corner(&self, column: usize, row: usize) -> Point2<f64> {
        let from_below = self.rows - 1 - row.min(self.rows - 1);
        self.low + Vector2::new(column as f64, from_below as f64).component_mul(&self.step())
    }

    /// Marks and trimming lines of all seams, in the drawing.
    fn marks(&self) -> Drawing {
        let mut marks = Drawing::new("", "");
        let mut number = 0;
        let total = Vector2::new(
            reach(self.columns, self.shown.x),
            reach(self.rows, self.shown.y),
        );
        let high = self.low + total;
        for seam in 1..self.columns {
            let x = self.low.x + self.step().x * seam as f64 + OVERLAP_MM / 2.0;
            marks.line(
                Role::Tangent,
                Point2::new(x, self.low.y),
                Point2::new(x, high.y),
            );
            for row in 0..self.rows {
                for share in [0.22, 0.78] {
                    let y = self.corner(0, row).y + share * self.shown.y;
                    mark(&mut marks, Point2::new(x, y), &mut number);
                }
            }
        }
        for seam in 1..self.rows {
            let y = self.low.y + self.step().y * seam as f64 + OVERLAP_MM / 2.0;
            marks.line(
                Role::Tangent,
                Point2::new(self.low.x, y),
                Point2::new(high.x, y),
            );
            for column in 0..self.columns {
                for share in [0.22, 0.78] {
                    let x = self.corner(column, 0).x + share * self.shown.x;
                    mark(&mut marks, Point2::new(x, y), &mut number);
                }
            }
        }
        marks
    }
}

/// Length that so many pages show in a row.
fn reach(count: usize, shown_mm: f64) -> f64 {
    shown_mm + (shown_mm - OVERLAP_MM) * (count as f64 - 1.0)
}

/// A cross in a ring with a letter of its own.
fn mark(drawing: &mut Drawing, at: Point2<f64>, number: &mut usize) {
    for arm in [Vector2::new(MARK_MM, 0.0), Vector2::new(0.0, MARK_MM)] {
        drawing.line(Role::Hole, at - arm, at + arm);
    }
    drawing.circle(Role::Hole, at, MARK_MM / 2.0);
    let place = at + Vector2::new(1.9, 2.2);
    drawing.text(Role::Label, Text::new(place, FOOT_MM, letters(*number)));
    *number += 1;
}

/// A, B, …, Z, AA, AB, …
fn letters(mut number: usize) -> String {
    let mut word = String::new();
    loop {
        let letter = u8::try_from(number % 26).unwrap_or(0);
        word.insert(0, char::from(b'A' + letter));
        if number < 26 {
            return word;
        }
        number = number / 26 - 1;
    }
}

fn set_of_pages(part: &Part, blank: &Blank, printing: &Printing) -> Result<Vec<u8>, PdfError> {
    let lines = blank_lines(part, blank, Some(SET_LETTERS_MM));
    let tiles = printing
        .paper
        .sizes_mm()
        .into_iter()
        .map(|size_mm| Tiles::of(&lines, Room::of(size_mm), printing))
        .reduce(|best, other| {
            if other.pages() < best.pages() {
                other
            } else {
                best
            }
        });
    let Some(tiles) = tiles else {
        return pdf(&sheet_title(part), &[]);
    };
    let marks = tiles.marks();
    let count = tiles.pages() + 1;
    let places: Vec<(usize, usize)> = (0..tiles.rows)
        .flat_map(|row| (0..tiles.columns).map(move |column| (column, row)))
        .collect();

    let cover = Cover::new(part, blank, &tiles, &places);
    let first = Frame::new(part, &tiles.room, printing, &format!("page 1 of {count}"));
    let frames: Vec<Frame> = places
        .iter()
        .enumerate()
        .map(|(number, (column, row))| {
            let which = format!(
                "page {} of {count}, column {} of {}, row {} of {}",
                number + 2,
                column + 1,
                tiles.columns,
                row + 1,
                tiles.rows
            );
            Frame::new(part, &tiles.room, printing, &which)
        })
        .collect();

    let mut layers = first.layers(printing);
    layers.extend(cover.layers(&tiles.room));
    let mut pages = vec![Page {
        size_mm: tiles.room.page_mm,
        layers,
    }];
    let scale = Vector2::from(printing.scale());
    for ((column, row), frame) in places.iter().zip(&frames) {
        let corner = tiles.corner(*column, *row);
        let origin_mm = (tiles.room.low - corner.coords.component_mul(&scale)).coords;
        let mut layers = frame.layers(printing);
        layers.extend([&lines, &marks].map(|drawing| Layer {
            drawing,
            scale: printing.scale(),
            origin_mm,
            window_mm: Some(tiles.room.window_mm()),
        }));
        pages.push(Page {
            size_mm: tiles.room.page_mm,
            layers,
        });
    }
    pdf(&sheet_title(part), &pages)
}

/// The first page of a set: how its pages lie, and all the words.
struct Cover {
    words: Drawing,
    edges: Drawing,
    /// Picture over drawing.
    scale: f64,
    /// Lower left corner of all pages in the drawing.
    low: Point2<f64>,
}

impl Cover {
    fn new(part: &Part, blank: &Blank, tiles: &Tiles, places: &[(usize, usize)]) -> Self {
        let total = Vector2::new(
            reach(tiles.columns, tiles.shown.x),
            reach(tiles.rows, tiles.shown.y),
        );
        let scale = (OVERVIEW_MM[0] / total.x).min(OVERVIEW_MM[1] / total.y);
        let place = |point: Point2<f64>| Point2::from((point - tiles.low) * scale);
        let mut words = Drawing::new("", "");
        for (number, (column, row)) in places.iter().enumerate() {
            let corner = tiles.corner(*column, *row);
            let (low, high) = (place(corner), place(corner + tiles.shown));
            words.area(Role::HiddenEdge, vec![Loop::rectangle(low, high)]);
            let middle = low + (high - low).component_mul(&Vector2::new(0.5, 0.88));
            let words_of_page = Text::centred(middle, 3.2, format!("page {}", number + 2));
            words.text(Role::Label, words_of_page);
        }
        let width_mm = tiles.room.size_mm().x - 2.0;
        let edges = blank_edges(blank);
        legend_of(&edges, &mut words, width_mm);
        let mut remarks = vec![format!(
            "The blank does not fit on one page. Print all {} pages at 100 %. Trim one of two neighbours along the \
             dotted line, lay marks with the same letter on each other, tape. Then measure over a seam once more.",
            places.len() + 1
        )];
        remarks.extend(notes(part, blank));
        footing(&mut words, &remarks, width_mm, SET_LETTERS_MM);
        heading(
            &mut words,
            &sheet_title(part),
            &[material_words(part)],
            width_mm,
            SET_LETTERS_MM,
        );
        Self {
            words,
            edges,
            scale,
            low: tiles.low,
        }
    }

    fn layers(&self, room: &Room) -> Vec<Layer<'_>> {
        let (low, high) = self
            .words
            .bounds()
            .unwrap_or((Point2::origin(), Point2::origin()));
        let origin = Vector2::new(room.low.x - low.x + 1.0, room.high.y - high.y);
        vec![
            Layer {
                drawing: &self.words,
                scale: [1.0, 1.0],
                origin_mm: origin,
                window_mm: None,
            },
            Layer {
                drawing: &self.edges,
                scale: [self.scale, self.scale],
                origin_mm: origin - self.low.coords * self.scale,
                window_mm: None,
            },
        ]
    }
}

/// Legend of the lines of another drawing, below what is drawn.
fn legend_of(edges: &Drawing, drawing: &mut Drawing, width_mm: f64) {
    let used: Vec<(Role, &str)> = LEGEND
        .iter()
        .filter(|(role, _)| edges.items().iter().any(|item| item.role == *role))
        .copied()
        .collect();
    // The legend shows what it finds in the drawing: a line of no length stands for each.
    let (low, _) = drawing
        .bounds()
        .unwrap_or((Point2::origin(), Point2::origin()));
    for (role, _) in &used {
        drawing.line(*role, low, low);
    }
    legend(drawing, None, &used, width_mm, SET_LETTERS_MM);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blank::blank;
    use crate::output::paper::sizes::Paper;
    use crate::output::pictures::fixtures::check::parts;

    fn pages(bytes: &[u8]) -> usize {
        let text = String::from_utf8_lossy(bytes);
        text.matches("/Type /Page\n").count()
    }

    #[test]
    fn small_blanks_take_one_page_and_long_ones_a_set() {
        for (name, part) in parts() {
            let blank = blank(&part).value;
            for paper in [Paper::Auto, Paper::A4, Paper::Letter] {
                let printing = Printing {
                    paper,
                    ..Printing::default()
                };
                let bytes = template(&part, &blank, &printing).unwrap();
                assert_eq!(bytes, template(&part, &blank, &printing).unwrap());
                let wanted = if name == "long" { 3 } else { 1 };
                assert_eq!(pages(&bytes), wanted, "{name}");
            }
        }
    }

    #[test]
    fn tiles_overlap_and_reach_over_everything() {
        let (_, part) = parts()
            .into_iter()
            .find(|(name, _)| *name == "long")
            .unwrap();
        let lines = blank_lines(&part, &blank(&part).value, None);
        let (low, high) = lines.bounds().unwrap();
        let tiles = Tiles::of(&lines, Room::of([210.0, 297.0]), &Printing::default());
        assert!(tiles.columns > 1);
        let (first, last) = (
            tiles.corner(0, tiles.rows - 1),
            tiles.corner(tiles.columns - 1, 0) + tiles.shown,
        );
        assert!(first.x <= low.x && first.y <= low.y);
        assert!(last.x >= high.x && last.y >= high.y);
        let overlap = tiles.corner(0, 0).x + tiles.shown.x - tiles.corner(1, 0).x;
        assert!((overlap - OVERLAP_MM).abs() < 1e-9);
    }

    #[test]
    fn marks_have_letters_of_their_own() {
        let words: Vec<String> = (0..60).map(letters).collect();
        assert_eq!(words[..2], ["A", "B"]);
        assert_eq!(words[25..28], ["Z", "AA", "AB"]);
        let mut sorted = words.clone();
        sorted.sort();
        sorted.dedup();
        assert_eq!(sorted.len(), words.len());
    }

    #[test]
    fn a_long_line_ends_in_an_ellipsis() {
        let line = "m".repeat(400);
        let cut = cut_to(&line, 100.0);
        assert!(cut.ends_with('…') && cut.len() < 100);
        assert_eq!(cut_to("short", 100.0), "short");
    }
}

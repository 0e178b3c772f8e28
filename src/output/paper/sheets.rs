//! The section sheet and the build sheet as pages.

use super::flow::Flow;
use super::sizes::Paper;
use crate::document::build_sheet::BuildSheet;
use crate::document::{Block, Medium, joined};
use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::lettering::part_name;
use crate::draw::page::{Layer, Page};
use crate::draw::pdf;
use crate::draw::pdf::PdfError;
use crate::draw::style::Role;
use crate::job::Job;
use crate::output::pictures::dies::states::{closed_pair, four_states};
use crate::output::pictures::plate::section::plate_over_parts;
use crate::output::pictures::press::pressed::pressed_plate;
use nalgebra::{Point2, Vector2};

/// White along every edge, mm.
const MARGIN_MM: f64 = 15.0;
/// Room for the words at the foot, mm.
const FOOT_MM: f64 = 7.0;
/// Letters there, mm.
const FOOT_LETTERS_MM: f64 = 2.6;
/// Pictures are not enlarged beyond this.
const LARGEST: f64 = 1.5;
/// Stands at the foot of every page.
const CAUTION: &str = "Estimates: check every gap on the real board, power off.";

/// The plate over the board parts on a page of its own.
///
/// # Errors
/// When the pages cannot be written, a fault of coldstep.
pub fn section_sheet(job: &Job, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let section = plate_over_parts(&job.part, &job.fit);
    let size_mm = level(paper);
    let foot = foot(job, size_mm, 1, 1);
    pdf(
        &section.title,
        &[Page {
            size_mm,
            layers: vec![fitted(&section, size_mm), plain(&foot)],
        }],
    )
}

/// The build sheet, with the pictures that go with it.
///
/// # Errors
/// When the pages cannot be written, a fault of coldstep.
pub fn build_pages(job: &Job, sheet: &BuildSheet, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let texts = set(job, sheet, upright(paper))?;
    let mut pictures = vec![plate_over_parts(&job.part, &job.fit)];
    pictures.extend([closed_pair(job), four_states(job)].into_iter().flatten());
    if let Some(pressing) = &job.pressing {
        pictures.push(pressed_plate(&job.part, pressing));
    }
    let count = texts.len() + pictures.len();
    let sizes = std::iter::repeat_n(upright(paper), texts.len())
        .chain(std::iter::repeat_n(level(paper), pictures.len()));
    let feet: Vec<([f64; 2], Drawing)> = sizes
        .enumerate()
        .map(|(number, size_mm)| (size_mm, foot(job, size_mm, number + 1, count)))
        .collect();
    let shown = texts
        .iter()
        .map(plain)
        .chain(pictures.iter().map(|picture| fitted(picture, level(paper))));
    let pages: Vec<Page<'_>> = shown
        .zip(&feet)
        .map(|(layer, (size_mm, foot))| Page {
            size_mm: *size_mm,
            layers: vec![layer, plain(foot)],
        })
        .collect();
    pdf(&sheet.title, &pages)
}

/// The words of the build sheet, page by page.
fn set(job: &Job, sheet: &BuildSheet, size_mm: [f64; 2]) -> Result<Vec<Drawing>, PdfError> {
    let mut flow = Flow::new(inside(size_mm))?;
    flow.title(&sheet.title);
    if let Some(note) = &job.part.note {
        flow.paragraph(note);
    }
    for (number, step) in sheet.steps.iter().enumerate() {
        flow.heading(&format!("{}  {}", number + 1, step.title));
        for block in &step.blocks {
            // Places in the document are not told on paper.
            set_block(&Block::of_sheet(block, ""), &mut flow);
        }
    }
    Ok(flow.finish())
}

/// One block on paper.
fn set_block(block: &Block, flow: &mut Flow) {
    match block {
        Block::Headline(line) | Block::Heading(line) | Block::Text(line) => {
            flow.paragraph(&line.text());
        }
        Block::Care(lines) => flow.care(&joined(lines).text()),
        Block::Table(table) => {
            let set = table.set(Medium::Page);
            let heads: Vec<String> = set.heads.iter().map(|h| h.words.clone()).collect();
            flow.table(&heads, &set.texts());
        }
        Block::List(items) => {
            for item in items {
                flow.point(&item.line.text());
                for way_out in &item.ways_out {
                    flow.paragraph(&way_out.text());
                }
            }
            flow.air();
        }
        Block::Terms(terms) => {
            for (word, line) in terms {
                flow.paragraph(&format!("{word}: {}", line.text()));
            }
        }
        // The pictures of the sheet have pages of their own.
        Block::Picture { .. } => {}
    }
}

/// Upright paper; A4 where nothing is asked.
fn upright(paper: Paper) -> [f64; 2] {
    paper
        .sizes_mm()
        .first()
        .copied()
        .unwrap_or(super::sizes::A4_MM)
}

fn level(paper: Paper) -> [f64; 2] {
    let [width, height] = upright(paper);
    [height, width]
}

/// Where words and pictures may stand: lower left and upper right corner.
fn inside([width, height]: [f64; 2]) -> (Point2<f64>, Point2<f64>) {
    (
        Point2::new(MARGIN_MM, MARGIN_MM + FOOT_MM),
        Point2::new(width - MARGIN_MM, height - MARGIN_MM),
    )
}

fn plain(drawing: &Drawing) -> Layer<'_> {
    Layer {
        drawing,
        scale: [1.0, 1.0],
        origin_mm: Vector2::zeros(),
        window_mm: None,
    }
}

/// A picture as large as the page takes it, in the middle.
fn fitted(drawing: &Drawing, size_mm: [f64; 2]) -> Layer<'_> {
    let (low, high) = inside(size_mm);
    let (from, to) = drawing
        .bounds()
        .unwrap_or((Point2::origin(), Point2::origin()));
    let (room, size) = (high - low, to - from);
    let scale = (room.x / size.x.max(1.0))
        .min(room.y / size.y.max(1.0))
        .min(LARGEST);
    let corner = low + (room - size * scale) / 2.0;
    Layer {
        drawing,
        scale: [scale, scale],
        origin_mm: (corner - from.coords * scale).coords,
        window_mm: None,
    }
}

/// Name, caution and number of a page.
fn foot(job: &Job, [width, _]: [f64; 2], number: usize, count: usize) -> Drawing {
    let mut drawing = Drawing::new("", "");
    let y = MARGIN_MM;
    let right = width - MARGIN_MM;
    drawing.line(
        Role::Faint,
        Point2::new(MARGIN_MM, y + 4.0),
        Point2::new(right, y + 4.0),
    );
    let name: String = part_name(&job.part.name).chars().take(40).collect();
    let words = format!("{name}. {CAUTION}");
    drawing.text(
        Role::Label,
        Text::new(Point2::new(MARGIN_MM, y), FOOT_LETTERS_MM, words),
    );
    let number = Text::new(
        Point2::new(right, y),
        FOOT_LETTERS_MM,
        format!("page {number} of {count}"),
    );
    drawing.text(Role::Label, number.anchored(Anchor::End));
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::build_sheet::build_sheet;
    use crate::part::starter::STARTER;

    #[test]
    fn both_sheets_are_the_same_twice_on_either_paper() {
        let job = Job::read(STARTER).unwrap();
        for paper in [Paper::Auto, Paper::Letter] {
            let sheet = build_sheet(&job);
            let make = || {
                (
                    section_sheet(&job, paper).unwrap(),
                    build_pages(&job, &sheet, paper).unwrap(),
                )
            };
            let (section, build) = make();
            assert_eq!((section.clone(), build.clone()), make());
            assert!(section.starts_with(b"%PDF-") && build.len() > section.len());
        }
    }

    #[test]
    fn every_step_stands_on_a_page() {
        let job = Job::read(STARTER).unwrap();
        let sheet = build_sheet(&job);
        let pages = set(&job, &sheet, upright(Paper::A4)).unwrap();
        let words: String = pages
            .iter()
            .map(crate::output::pictures::fixtures::check::words)
            .collect();
        for step in &sheet.steps {
            assert!(words.contains(&step.title), "{}", step.title);
        }
    }
}

//! Text set into pages: paragraphs, lists with boxes to tick, tables and cautions, with the widths of the real letters.

use crate::draw::drawing::{Drawing, Text};
use crate::draw::face::{Typeface, TypefaceError};
use crate::draw::lettering;
use crate::draw::style::Role;
use crate::geometry::Loop;
use nalgebra::{Point2, Vector2};

/// Ordinary letters, mm: about nine points.
pub const LETTERS_MM: f64 = 3.2;
/// From base line to base line, in letter sizes.
const LEADING: f64 = 1.36;
/// Letters of headings, mm.
const HEADING_MM: f64 = 4.4;
/// Letters of the title, mm.
const TITLE_MM: f64 = 6.2;
/// Air after a block, mm.
const AFTER_MM: f64 = 1.6;
/// Boxes to tick, mm, and where the words beside them begin.
const BOX_MM: f64 = 2.4;
const HANG_MM: f64 = 5.0;
/// Air between columns of a table, mm.
const BETWEEN_MM: f64 = 3.0;
/// Narrowest column of a table, mm.
const NARROWEST_MM: f64 = 12.0;
/// A table up to this high is never torn, mm.
const KEPT_WHOLE_MM: f64 = 110.0;
/// A heading stays on the page of this many lines that follow it.
const LINES_WITH_HEADING: f64 = 4.0;

/// Pages that fill from the top.
pub struct Flow {
    face: Typeface,
    low: Point2<f64>,
    high: Point2<f64>,
    /// Pages that are full.
    full: Vec<Drawing>,
    /// The one being filled.
    page: Drawing,
    /// Where the next line's top lies.
    top_mm: f64,
}

impl Flow {
    /// Pages whose words lie between two corners.
    ///
    /// # Errors
    /// When the bundled typeface is damaged.
    pub fn new((low, high): (Point2<f64>, Point2<f64>)) -> Result<Self, TypefaceError> {
        Ok(Self {
            face: Typeface::new()?,
            low,
            high,
            full: Vec::new(),
            page: Drawing::new("", ""),
            top_mm: high.y,
        })
    }

    /// The pages.
    pub fn finish(mut self) -> Vec<Drawing> {
        self.full.push(self.page);
        self.full
    }

    fn width_mm(&self) -> f64 {
        self.high.x - self.low.x
    }

    /// Begins a page when less than this is left; says whether it did.
    fn room_for(&mut self, high_mm: f64) -> bool {
        let is_full = self.top_mm - high_mm < self.low.y && self.top_mm < self.high.y;
        if is_full {
            let page = std::mem::replace(&mut self.page, Drawing::new("", ""));
            self.full.push(page);
            self.top_mm = self.high.y;
        }
        is_full
    }

    fn line(&mut self, x_mm: f64, size_mm: f64, words: &str) {
        let base = Point2::new(x_mm, self.top_mm - size_mm);
        self.page.text(Role::Label, Text::new(base, size_mm, words));
    }

    /// Title of the whole.
    pub fn title(&mut self, words: &str) {
        self.lines(words, TITLE_MM, 0.0);
        self.top_mm -= AFTER_MM;
    }

    /// Heading of a step.
    pub fn heading(&mut self, words: &str) {
        self.top_mm -= 2.0 * AFTER_MM;
        self.room_for(HEADING_MM * LEADING + LINES_WITH_HEADING * LETTERS_MM * LEADING);
        let y = self.top_mm + 0.6;
        let (from, to) = (Point2::new(self.low.x, y), Point2::new(self.high.x, y));
        self.page.line(Role::Hole, from, to);
        self.top_mm -= 1.0;
        self.lines(words, HEADING_MM, 0.0);
        self.top_mm -= 0.6;
    }

    fn lines(&mut self, words: &str, size_mm: f64, indent_mm: f64) {
        for line in broken(&self.face, words, size_mm, self.width_mm() - indent_mm) {
            self.room_for(size_mm * LEADING);
            self.line(self.low.x + indent_mm, size_mm, &line);
            self.top_mm -= size_mm * LEADING;
        }
    }

    /// A paragraph.
    pub fn paragraph(&mut self, words: &str) {
        self.lines(words, LETTERS_MM, 0.0);
        self.top_mm -= AFTER_MM;
    }

    /// A point with a box to tick.
    pub fn point(&mut self, words: &str) {
        let lines = broken(&self.face, words, LETTERS_MM, self.width_mm() - HANG_MM);
        self.room_for(LETTERS_MM * LEADING * (lines.len() as f64).min(3.0));
        let low = Point2::new(self.low.x, self.top_mm - LETTERS_MM);
        let tick = Loop::rectangle(low, low + Vector2::new(BOX_MM, BOX_MM));
        self.page.area(Role::Hole, vec![tick]);
        self.lines(words, LETTERS_MM, HANG_MM);
        self.top_mm -= 0.5 * AFTER_MM;
    }

    /// Air after a list.
    pub fn air(&mut self) {
        self.top_mm -= 0.5 * AFTER_MM;
    }

    /// A caution, framed.
    pub fn care(&mut self, words: &str) {
        let inset_mm = 2.5;
        let whole = format!("TAKE CARE: {words}");
        let lines = broken(
            &self.face,
            &whole,
            LETTERS_MM,
            self.width_mm() - 2.0 * inset_mm,
        );
        let high_mm = LETTERS_MM * LEADING * lines.len() as f64 + 2.0;
        self.room_for(high_mm);
        let frame = Loop::rectangle(
            Point2::new(self.low.x, self.top_mm - high_mm),
            Point2::new(self.high.x, self.top_mm),
        );
        self.page.area(Role::Outline, vec![frame]);
        self.top_mm -= 1.2;
        for line in lines {
            self.line(self.low.x + inset_mm, LETTERS_MM, &line);
            self.top_mm -= LETTERS_MM * LEADING;
        }
        self.top_mm -= 0.8 + AFTER_MM;
    }

    /// A table: head, then rows. A row is never torn, a table only when it is long; its head stands on every page.
    pub fn table(&mut self, head: &[String], rows: &[Vec<String>]) {
        let columns = columns_mm(&self.face, head, rows, self.width_mm());
        let head = Row::broken(&self.face, head, &columns);
        let rows: Vec<Row> = rows
            .iter()
            .map(|row| Row::broken(&self.face, row, &columns))
            .collect();
        let whole_mm = head.high_mm + rows.iter().map(|row| row.high_mm).sum::<f64>();
        let first_mm = head.high_mm + rows.first().map_or(0.0, |row| row.high_mm);
        self.room_for(if whole_mm < KEPT_WHOLE_MM {
            whole_mm
        } else {
            first_mm
        });
        self.row(&head, &columns, Role::Hole);
        for row in &rows {
            if self.room_for(row.high_mm) {
                self.row(&head, &columns, Role::Hole);
            }
            self.row(row, &columns, Role::Faint);
        }
        self.top_mm -= AFTER_MM;
    }

    fn row(&mut self, row: &Row, columns_mm: &[f64], role: Role) {
        let top_mm = self.top_mm;
        let mut x_mm = self.low.x;
        for (lines, width_mm) in row.cells.iter().zip(columns_mm) {
            self.top_mm = top_mm;
            for line in lines {
                self.line(x_mm, LETTERS_MM, line);
                self.top_mm -= LETTERS_MM * LEADING;
            }
            x_mm += width_mm + BETWEEN_MM;
        }
        self.top_mm = top_mm - row.high_mm;
        let y = self.top_mm + 0.5;
        let from = Point2::new(self.low.x, y);
        let to = Point2::new((x_mm - BETWEEN_MM).max(self.low.x), y);
        self.page.line(role, from, to);
    }
}

/// A row of a table, its cells broken into lines.
struct Row {
    cells: Vec<Vec<String>>,
    high_mm: f64,
}

impl Row {
    fn broken(face: &Typeface, cells: &[String], columns_mm: &[f64]) -> Self {
        let cells: Vec<Vec<String>> = cells
            .iter()
            .zip(columns_mm)
            .map(|(cell, width_mm)| broken(face, cell, LETTERS_MM, *width_mm))
            .collect();
        let most = cells.iter().map(Vec::len).max().unwrap_or(0);
        Self {
            cells,
            high_mm: LETTERS_MM * LEADING * most as f64 + 1.2,
        }
    }
}

/// Widths of columns: as wide as their words where there is room, else the wide ones share what is left.
fn columns_mm(face: &Typeface, head: &[String], rows: &[Vec<String>], width_mm: f64) -> Vec<f64> {
    let wanted: Vec<f64> = head
        .iter()
        .enumerate()
        .map(|(column, word)| {
            rows.iter()
                .filter_map(|row| row.get(column))
                .chain([word])
                .map(|cell| face.width_mm(cell, LETTERS_MM))
                .fold(NARROWEST_MM, f64::max)
        })
        .collect();
    let room_mm = width_mm - BETWEEN_MM * (head.len() as f64 - 1.0).max(0.0);
    if wanted.iter().sum::<f64>() <= room_mm {
        return wanted;
    }
    // The widest column that all of the too wide ones may have: narrower columns keep what they want.
    let mut sorted = wanted.clone();
    sorted.sort_by(f64::total_cmp);
    let mut left_mm = room_mm;
    let mut limit_mm = room_mm;
    for (number, one) in sorted.iter().enumerate() {
        limit_mm = left_mm / (sorted.len() - number) as f64;
        if *one > limit_mm {
            break;
        }
        left_mm -= one;
    }
    wanted.iter().map(|one| one.min(limit_mm)).collect()
}

/// Breaks words into lines of a width.
fn broken(face: &Typeface, words: &str, size_mm: f64, width_mm: f64) -> Vec<String> {
    lettering::broken(words, |line| face.width_mm(line, size_mm) <= width_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn corners() -> (Point2<f64>, Point2<f64>) {
        (Point2::new(15.0, 15.0), Point2::new(195.0, 282.0))
    }

    proptest! {
        /// Nothing is lost, and no line is wider than its column but one letter that has no room.
        #[test]
        fn lines_keep_all_letters_and_their_width(words in "[a-zA-Zäé電 ]{0,300}", width_mm in 2.0..120.0f64) {
            let face = Typeface::new().unwrap();
            let lines = broken(&face, &words, 3.2, width_mm);
            let squeezed = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(squeezed(&lines.concat()), squeezed(&words));
            for line in &lines {
                prop_assert!(
                    face.width_mm(line, 3.2) <= width_mm || line.chars().count() == 1
                );
            }
        }

        /// Whatever comes in whatever order lies on its page.
        #[test]
        fn everything_lies_between_the_corners(
            blocks in proptest::collection::vec((0..5u8, "[a-z ]{1,400}"), 1..60)
        ) {
            let (low, high) = corners();
            let mut flow = Flow::new((low, high)).unwrap();
            for (kind, words) in &blocks {
                match kind {
                    0 => flow.paragraph(words),
                    1 => flow.point(words),
                    2 => flow.care(words),
                    3 => flow.heading(words),
                    _ => flow.table(
                        &["one".into(), "two".into()],
                        &[vec![words.clone(), "x".into()], vec!["y".into(), words.clone()]],
                    ),
                }
            }
            for page in flow.finish() {
                let Some((least, most)) = page.bounds() else { continue };
                prop_assert!(least.y > low.y - 2.0 && most.y < high.y + 2.0);
            }
        }
    }

    #[test]
    fn a_wide_column_gives_way_and_narrow_ones_do_not() {
        let face = Typeface::new().unwrap();
        let head = ["a".to_owned(), "b".to_owned()];
        let rows = [vec!["short".to_owned(), "long ".repeat(80)]];
        let columns = columns_mm(&face, &head, &rows, 100.0);
        assert_eq!(columns[0], NARROWEST_MM);
        assert!((columns.iter().sum::<f64>() - (100.0 - BETWEEN_MM)).abs() < 1e-9);
    }
}

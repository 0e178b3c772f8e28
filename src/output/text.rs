//! Documents as plain text: lines of a width, tables of aligned columns.

use crate::document::{Block, Document, Head, Item, Line, Medium, SetTable};
use crate::draw::lettering::broken;
use std::fmt::Write as _;

/// Width of a text whose reader is not known.
pub const WIDTH: usize = 80;
/// Between columns of a plain table.
const BETWEEN: usize = 2;
/// The last column of words is broken into lines, but not narrower than this.
const NARROWEST_WORDS: usize = 24;

/// How a medium of letters sets a document.
pub struct Setting<'a> {
    /// Which medium it is.
    pub medium: Medium,
    /// Letters in a line.
    pub width: usize,
    /// A headline is broken like other lines. Where nobody's terminal breaks it, programs read it as one line.
    pub breaks_headline: bool,
    /// Sets a table into whole lines.
    pub table: &'a dyn Fn(&SetTable) -> String,
    /// What the medium makes of the lines of a block: colours, or nothing.
    pub marked: &'a dyn Fn(&Block, String) -> String,
}

impl Setting<'_> {
    /// A document as whole lines, with an empty one before each heading, table and caution.
    pub fn text(&self, document: &Document) -> String {
        let mut text = String::new();
        let mut before: Option<&Block> = None;
        for block in document.shown(self.medium) {
            let stands_apart = matches!(
                block,
                Block::Heading(_) | Block::Table(_) | Block::Care(_) | Block::Terms(_)
            );
            let goes_on = matches!(before, Some(Block::Heading(_)));
            let after = matches!(before, Some(Block::Care(_) | Block::Terms(_)));
            if before.is_some() && !goes_on && (stands_apart || after) {
                text.push('\n');
            }
            text.push_str(&(self.marked)(block, self.block(block)));
            before = Some(block);
        }
        text
    }

    fn block(&self, block: &Block) -> String {
        match block {
            Block::Headline(line) if !self.breaks_headline => format!("{}\n", line.text()),
            Block::Headline(line) | Block::Heading(line) | Block::Text(line) => {
                self.paragraph("", line)
            }
            Block::List(items) => items.iter().map(|item| self.item(item)).collect(),
            Block::Terms(terms) => {
                let widest = terms.iter().map(|(word, _)| word.chars().count()).max();
                let widest = widest.unwrap_or(0);
                let terms = terms.iter().filter(|(_, line)| !line.is_empty());
                terms
                    .map(|(word, line)| {
                        let head = format!("{:widest$}  ", word.to_uppercase());
                        self.paragraph(&head, line)
                    })
                    .collect()
            }
            Block::Table(table) => {
                self.paragraph("", &table.caption) + &(self.table)(&table.set(self.medium))
            }
            Block::Care(lines) => match lines.as_slice() {
                [line] => self.paragraph("Take care: ", line),
                lines => {
                    let lines = lines.iter().map(|line| self.paragraph("  - ", line));
                    format!("Take care:\n{}", lines.collect::<String>())
                }
            },
            Block::Picture { .. } => String::new(),
        }
    }

    fn item(&self, item: &Item) -> String {
        let head = if item.head.is_empty() {
            "  - ".to_owned()
        } else {
            format!("  {}  ", item.head)
        };
        let indent = head.chars().count();
        let help = format!("{:indent$}help: ", "");
        let ways_out = item.ways_out.iter().map(|line| self.paragraph(&help, line));
        self.paragraph(&head, &item.line) + &ways_out.collect::<String>()
    }

    fn paragraph(&self, head: &str, line: &Line) -> String {
        paragraph(head, &line.text(), self.width)
    }
}

/// A document as the summary has it.
pub fn summary(document: &Document) -> String {
    summary_marked(document, &|_, lines| lines)
}

/// The same with what [`Setting::marked`] makes of its blocks.
pub fn summary_marked(document: &Document, marked: &dyn Fn(&Block, String) -> String) -> String {
    Setting {
        medium: Medium::Summary,
        width: WIDTH,
        breaks_headline: false,
        table: &|set| table(set, WIDTH),
        marked,
    }
    .text(document)
}

/// A paragraph after a head word, its further lines set in by as much; whole lines of a width.
pub fn paragraph(head: &str, words: &str, width: usize) -> String {
    let indent = head.chars().count();
    let room = width.saturating_sub(indent).max(1);
    // A word that is longer than a line stays whole: it may be a path that somebody copies.
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let letters = word.chars().count();
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + 1 + letters <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    format!("{head}{}\n", lines.join(&format!("\n{:indent$}", "")))
}

/// A table of aligned columns; where the last holds words, it is broken into lines that fit.
pub fn table(set: &SetTable, width: usize) -> String {
    let rows = set.texts();
    let widths: Vec<usize> = set
        .heads
        .iter()
        .enumerate()
        .map(|(column, head)| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells
                .chain([&head.words])
                .map(|cell| cell.chars().count())
                .max()
                .unwrap_or(0)
        })
        .collect();
    let before: usize = widths
        .iter()
        .take(widths.len().saturating_sub(1))
        .map(|width| width + BETWEEN)
        .sum();
    let room = width.saturating_sub(before + BETWEEN).max(NARROWEST_WORDS);
    let heads: Vec<String> = set.heads.iter().map(|head| head.words.clone()).collect();
    std::iter::once(&heads)
        .chain(&rows)
        .map(|row| row_of(row, &set.heads, &widths, room))
        .collect()
}

fn row_of(row: &[String], heads: &[Head], widths: &[usize], room: usize) -> String {
    let between = " ".repeat(BETWEEN);
    let mut text = String::new();
    let mut indent = 0;
    for (column, ((cell, head), width)) in row.iter().zip(heads).zip(widths).enumerate() {
        text.push_str(&between);
        indent += BETWEEN;
        // Writing to a String cannot fail.
        if head.is_number {
            let _ = write!(text, "{cell:>width$}");
        } else if column + 1 == heads.len() {
            let lines = broken(cell, |line| line.chars().count() <= room);
            text.push_str(&lines.join(&format!("\n{:indent$}", "")));
        } else {
            let _ = write!(text, "{cell:width$}");
        }
        indent += width;
    }
    format!("{}\n", text.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Cell, Column, Media, Table};
    use proptest::prelude::*;

    #[test]
    fn a_paragraph_hangs_under_its_head() {
        assert_eq!(
            paragraph("NOSES  ", "one two three fourteen-letters-long x", 17),
            "NOSES  one two\n       three\n       fourteen-letters-long\n       x\n"
        );
        assert_eq!(paragraph("", "", 80), "\n");
    }

    #[test]
    fn a_medium_shows_what_is_meant_for_it() {
        let columns = vec![
            Column::words("name"),
            Column::fixed("gap", "mm", 2),
            Column::fixed("mean", "mm", 2).on(Media::DETAIL),
            Column::words("means"),
        ];
        let row = vec![
            Cell::said("/n", "Q1"),
            Cell::number("/g", -0.001),
            Cell::number("/m", 1.0),
            Cell::words("twenty letters a line"),
        ];
        let mut document = Document::default();
        document
            .text(Media::DETAIL, "for the page")
            .text(Media::ALL, "for all")
            .table(Media::ALL, Table::new("Gaps", columns).with([row]));
        assert_eq!(
            summary(&document),
            "for all\n\nGaps\n  name  gap, mm  means\n  Q1       0.00  twenty letters a line\n"
        );
    }

    proptest! {
        /// Whatever the words, no line is wider than asked, where the table's other columns leave room.
        #[test]
        fn words_of_a_table_keep_the_width(words in "[a-z ]{0,200}") {
            let set = SetTable {
                heads: vec![
                    Head { words: "a".into(), is_number: true },
                    Head { words: "b".into(), is_number: false },
                ],
                rows: vec![vec![Line::words("1.00"), Line::words(words.as_str())]],
            };
            let text = table(&set, 60);
            prop_assert!(text.lines().all(|line| line.chars().count() <= 60));
            let squeezed = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert!(squeezed(&text).ends_with(&squeezed(&words)));
        }
    }
}

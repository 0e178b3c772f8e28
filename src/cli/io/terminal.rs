//! Standard output and standard error: width, colours, closed pipes, tables.

use crate::document::{Block, Document, Medium, SetTable};
use crate::output::text::{self, Setting};
use clap::builder::styling::{AnsiColor, Style};
use comfy_table::{
    CellAlignment, ContentArrangement, ContentLineStyle, LineStyle, Table, TableStyle,
};
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Narrowest terminal that is taken seriously.
const NARROWEST: u16 = 60;
/// Width of a terminal that does not say, and of source excerpts in a file or a pipe.
const USUAL_WIDTH: u16 = 100;
/// Lines of words are not set wider than this: the eye loses the next one.
const WIDEST_LINES: u16 = 100;

/// Width of the terminal on standard output; `None` when it goes to a file or a pipe.
pub fn width() -> Option<u16> {
    if !io::stdout().is_terminal() {
        return None;
    }
    let size = terminal_size::terminal_size_of(io::stdout());
    Some(size.map_or(USUAL_WIDTH, |(width, _)| width.0.max(NARROWEST)))
}

/// Width for what goes to standard error.
pub fn warning_width() -> usize {
    if !io::stderr().is_terminal() {
        return USUAL_WIDTH.into();
    }
    terminal_size::terminal_size_of(io::stderr())
        .map_or(USUAL_WIDTH, |(width, _)| width.0.max(NARROWEST))
        .into()
}

/// Writes to standard output.
///
/// # Errors
/// When the output cannot be written, also when its reader has gone away.
pub fn say(text: &str) -> io::Result<()> {
    let mut out = anstream::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush())
}

/// Writes to standard error; where that fails there is nobody left to tell.
pub fn warn(text: &str) {
    let mut out = anstream::stderr().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Whether lines about work under way are left out.
static QUIET: AtomicBool = AtomicBool::new(false);

/// From now on nothing is shown of work under way.
pub fn be_quiet() {
    QUIET.store(true, Ordering::Relaxed);
}

/// A line on standard error that is worth knowing and changes nothing.
pub fn note(text: &str) {
    if !QUIET.load(Ordering::Relaxed) {
        warn(&format!("note: {text}\n"));
    }
}

/// One line on a terminal's standard error that is written again and again, and wiped away at the end; nothing where
/// standard error is no terminal.
#[derive(Debug)]
pub struct Line {
    /// Letters that fit; `None` where nobody looks.
    room: Option<usize>,
    shown: String,
}

/// Letters of a [`Line`] that stand on the terminal.
static SHOWN: AtomicUsize = AtomicUsize::new(0);

/// Wipes away a line that is shown; also for who ends the program from outside.
pub fn wipe() {
    let before = SHOWN.swap(0, Ordering::Relaxed);
    if before > 0 {
        warn(&format!("\r{:before$}\r", ""));
    }
}

impl Line {
    /// A line with nothing on it yet.
    pub fn new() -> Self {
        Self {
            // The last place of a line stays free: many terminals begin a new one when it is filled. A line that did not
            // fit could not be wiped away, so even a very narrow terminal is taken at its word.
            room: (io::stderr().is_terminal() && !QUIET.load(Ordering::Relaxed)).then(|| {
                let size = terminal_size::terminal_size_of(io::stderr());
                size.map_or(USUAL_WIDTH, |(width, _)| width.0)
                    .saturating_sub(1)
                    .into()
            }),
            shown: String::new(),
        }
    }

    /// Replaces what is on the line.
    pub fn show(&mut self, words: &str) {
        let Some(room) = self.room else { return };
        let words: String = words.chars().take(room).collect();
        if words != self.shown {
            let before = self.shown.chars().count();
            warn(&format!("\r{words:<before$}"));
            SHOWN.store(words.chars().count(), Ordering::Relaxed);
            self.shown = words;
        }
    }
}

impl Default for Line {
    fn default() -> Self {
        Self::new()
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        wipe();
    }
}

/// A document as the terminal shows it: whole lines, as wide as the terminal.
pub fn document(document: &Document) -> String {
    let width = width();
    Setting {
        medium: Medium::Terminal,
        width: width.map_or(text::WIDTH, |width| width.min(WIDEST_LINES).into()),
        breaks_headline: width.is_some(),
        table: &|set| table(set, width),
        marked: &colored,
    }
    .text(document)
}

/// A document as the summary has it, with the marks of the terminal.
pub fn summary(document: &Document) -> String {
    text::summary_marked(document, &colored)
}

/// First words of a verdict and their colours; the longest first.
const VERDICTS: [(&str, AnsiColor); 3] = [
    ("YES, IF", AnsiColor::Yellow),
    ("YES", AnsiColor::Green),
    ("NO", AnsiColor::Red),
];

/// The verdict's word in its colour, headings in bold. The stream takes both away where nobody wants them.
fn colored(block: &Block, lines: String) -> String {
    let bold = Style::new().bold();
    match block {
        Block::Heading(_) => {
            let words = lines.trim_end();
            format!("{bold}{words}{bold:#}\n")
        }
        Block::Headline(_) => {
            let found = VERDICTS.iter().find_map(|(word, color)| {
                let rest = lines.strip_prefix(word)?;
                let style = bold.fg_color(Some((*color).into()));
                Some(format!("{style}{word}{style:#}{rest}"))
            });
            found.unwrap_or(lines)
        }
        _ => lines,
    }
}

/// A table of rows under its heads; numbers are set to the right.
///
/// On a terminal it is as wide as the terminal, elsewhere each row stays on one line.
fn table(set: &SetTable, width: Option<u16>) -> String {
    let mut table = Table::new();
    table.load_style(
        TableStyle::new()
            .header_lines(ContentLineStyle::none().junction('│'))
            .header_separator(LineStyle::none().fill('─').junction('┼'))
            .content_lines(ContentLineStyle::none().junction('│')),
    );
    table.set_header(set.heads.iter().map(|head| head.words.as_str()));
    for row in set.texts() {
        table.add_row(row);
    }
    let numbers = set
        .heads
        .iter()
        .enumerate()
        .filter(|(_, head)| head.is_number);
    for (index, _) in numbers {
        if let Some(column) = table.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    if let Some(width) = width {
        table
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(width);
    } else {
        table.set_content_arrangement(ContentArrangement::Disabled);
    }
    let mut text = table.trim_fmt();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Head, Line};

    fn set() -> SetTable {
        let head = |words: &str, is_number| Head {
            words: words.into(),
            is_number,
        };
        let row = |cells: [&str; 3]| cells.map(Line::words).to_vec();
        SetTable {
            heads: vec![
                head("name", false),
                head("gap", true),
                head("remark", false),
            ],
            rows: vec![
                row(["Q1", "0.80", "a longer remark on it"]),
                row(["choke", "10.80", "short"]),
            ],
        }
    }

    #[test]
    fn away_from_a_terminal_each_row_is_one_line() {
        let text = table(&set(), None);
        assert_eq!(
            text,
            " name  │   gap │ remark\n\
             ───────┼───────┼───────────────────────\n \
             Q1    │  0.80 │ a longer remark on it\n \
             choke │ 10.80 │ short\n"
        );
    }

    #[test]
    fn a_terminal_is_not_overrun() {
        let text = table(&set(), Some(28));
        assert!(
            text.lines().all(|line| line.chars().count() <= 28),
            "{text}"
        );
        assert!(text.lines().count() > 4, "{text}");
    }
}

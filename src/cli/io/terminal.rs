//! Standard output and standard error: width, colours, closed pipes, tables.

use comfy_table::{
    CellAlignment, ContentArrangement, ContentLineStyle, LineStyle, Table, TableStyle,
};
use std::io::{self, ErrorKind, IsTerminal, Write};

/// Narrowest terminal that is taken seriously.
const NARROWEST: u16 = 60;
/// Width of a terminal that does not say, and of source excerpts in a file or a pipe.
const USUAL_WIDTH: u16 = 100;

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

/// Writes to standard output. A reader that has gone away is no error: it has seen what it wanted.
///
/// # Errors
/// When the output cannot be written for another reason.
pub fn say(text: &str) -> io::Result<()> {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error),
        _ => Ok(()),
    }
}

/// Writes to standard error; where that fails there is nobody left to tell.
pub fn warn(text: &str) {
    let mut out = anstream::stderr().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// One line on a terminal's standard error that is written again and again, and wiped away at the end; nothing where
/// standard error is no terminal.
#[derive(Debug)]
pub struct Line {
    /// Letters that fit; `None` where nobody looks.
    room: Option<usize>,
    shown: String,
}

impl Line {
    /// A line with nothing on it yet.
    pub fn new() -> Self {
        Self {
            // The last place of a line stays free: many terminals begin a new one when it is filled.
            room: io::stderr()
                .is_terminal()
                .then(|| warning_width().saturating_sub(1)),
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
        let before = self.shown.chars().count();
        if before > 0 {
            warn(&format!("\r{:before$}\r", ""));
        }
    }
}

/// A paragraph after a head word, its further lines set in by as much; whole lines, as wide as the terminal.
pub fn paragraph(head: &str, words: &str) -> String {
    filled(head, words, width().unwrap_or(USUAL_WIDTH).min(USUAL_WIDTH))
}

fn filled(head: &str, words: &str, width: u16) -> String {
    let indent = head.chars().count();
    let mut text = head.to_owned();
    let mut at = indent;
    for word in words.split_whitespace() {
        let letters = word.chars().count();
        if at > indent && at + 1 + letters > width.into() {
            text.push('\n');
            text.push_str(&" ".repeat(indent));
            at = indent;
        }
        if at > indent {
            text.push(' ');
            at += 1;
        }
        text.push_str(word);
        at += letters;
    }
    text.push('\n');
    text
}

/// A table of rows under a header; columns named in `numbers` are set to the right.
///
/// On a terminal it is as wide as the terminal, elsewhere each row stays on one line.
pub fn table(header: &[&str], numbers: &[usize], rows: Vec<Vec<String>>) -> String {
    arranged(header, numbers, rows, width())
}

fn arranged(
    header: &[&str],
    numbers: &[usize],
    rows: Vec<Vec<String>>,
    width: Option<u16>,
) -> String {
    let mut table = Table::new();
    table.load_style(
        TableStyle::new()
            .header_lines(ContentLineStyle::none().junction('│'))
            .header_separator(LineStyle::none().fill('─').junction('┼'))
            .content_lines(ContentLineStyle::none().junction('│')),
    );
    table.set_header(header.to_vec());
    for row in rows {
        table.add_row(row);
    }
    for index in numbers {
        if let Some(column) = table.column_mut(*index) {
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

    fn rows() -> Vec<Vec<String>> {
        vec![
            vec!["Q1".into(), "0.80".into(), "a longer remark on it".into()],
            vec!["choke".into(), "10.80".into(), "short".into()],
        ]
    }

    #[test]
    fn a_paragraph_hangs_under_its_head() {
        assert_eq!(
            filled("NOSES  ", "one two three fourteen-letters-long x", 17),
            "NOSES  one two\n       three\n       fourteen-letters-long\n       x\n"
        );
        assert_eq!(filled("", "", 80), "\n");
    }

    #[test]
    fn away_from_a_terminal_each_row_is_one_line() {
        let text = arranged(&["name", "gap", "remark"], &[1], rows(), None);
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
        let text = arranged(&["name", "gap", "remark"], &[1], rows(), Some(28));
        assert!(
            text.lines().all(|line| line.chars().count() <= 28),
            "{text}"
        );
        assert!(text.lines().count() > 4, "{text}");
    }
}

//! The text of a part file, and the places in it.

/// Distance of the marks that make counting columns cheap, bytes.
const MARK_EVERY: usize = 1024;

/// A part file as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Path as the user wrote it, safe to print.
    pub file: String,
    /// Its text, without a byte order mark.
    pub text: String,
    /// Where each line starts.
    lines: Vec<usize>,
    /// Characters before every [`MARK_EVERY`]th byte.
    marks: Vec<usize>,
}

impl Source {
    /// Wraps a text that was read from `file`.
    pub fn new(file: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let mut lines = vec![0];
        let mut marks = Vec::new();
        let mut chars = 0;
        for (at, byte) in text.bytes().enumerate() {
            if at % MARK_EVERY == 0 {
                marks.push(chars);
            }
            // Every byte but a continuation byte begins a character.
            chars += usize::from(byte & 0xC0 != 0x80);
            if byte == b'\n' {
                lines.push(at + 1);
            }
        }
        marks.push(chars);
        Self {
            file: file.into(),
            text,
            lines,
            marks,
        }
    }

    /// Nearest place at or before `at` that exists and does not cut a character.
    pub fn clamped(&self, at: usize) -> usize {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    /// Line of a byte, counted from 0.
    fn line_index(&self, at: usize) -> usize {
        self.lines
            .partition_point(|start| *start <= at)
            .saturating_sub(1)
    }

    /// Bytes of the line that holds `at`, without its end.
    pub fn line_around(&self, at: usize) -> std::ops::Range<usize> {
        let index = self.line_index(self.clamped(at));
        let start = self.lines.get(index).copied().unwrap_or(0);
        let end = self
            .lines
            .get(index + 1)
            .map_or(self.text.len(), |next| next - 1);
        let line = self.text.get(start..end).unwrap_or("");
        start..start + line.trim_end_matches('\r').len()
    }

    fn chars_before(&self, at: usize) -> usize {
        let mark = at / MARK_EVERY;
        let from = mark * MARK_EVERY;
        let since = self
            .text
            .as_bytes()
            .get(from..at)
            .unwrap_or(&[])
            .iter()
            .filter(|byte| **byte & 0xC0 != 0x80)
            .count();
        self.marks.get(mark).copied().unwrap_or(0) + since
    }

    /// Line and column of a byte, both counted from 1, columns in characters.
    pub fn place(&self, at: usize) -> (usize, usize) {
        let at = self.clamped(at);
        let index = self.line_index(at);
        let start = self.lines.get(index).copied().unwrap_or(0);
        (
            index + 1,
            self.chars_before(at) - self.chars_before(start) + 1,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let source = Source::new("f", "a = 1\r\nb = \"°C\"\n");
        assert_eq!(source.place(0), (1, 1));
        assert_eq!(source.place(7), (2, 1));
        // The degree sign is two bytes, one column.
        assert_eq!(source.place(12), (2, 6));
        assert_eq!(source.place(14), (2, 7));
        assert_eq!(source.place(13), (2, 6), "inside the degree sign");
        assert_eq!(source.place(10_000), (3, 1), "behind the end");
        assert_eq!(source.line_around(3), 0..5, "without the line end");
        assert_eq!(Source::new("f", "").place(5), (1, 1));
    }

    #[test]
    fn columns_are_right_beyond_the_marks() {
        let text = "µ".repeat(5000);
        let source = Source::new("f", format!("x\n{text}"));
        assert_eq!(source.place(2 + 2 * 4321), (2, 4322));
        // A mark falls inside a character here.
        let source = Source::new("f", format!("\n{text}"));
        assert_eq!(source.place(1 + 2 * 4321), (2, 4322));
    }
}

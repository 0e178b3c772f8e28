//! Letters of the pictures: sizes, numbers as words, lines broken to a width, headings.

use crate::draw::drawing::{Drawing, Text};
use crate::draw::style::Role;
use crate::numbers::unsigned_zero;
use crate::quantity::Angle;
use nalgebra::Point2;

/// Width of a picture's sheet, mm: fits upright A4 with margins.
pub const SHEET_MM: f64 = 180.0;
/// Ordinary letters, mm: a sixtieth of the sheet, so that they read on a screen a thousand dots wide.
pub const TEXT_MM: f64 = 2.8;
/// Smallest letters, inside a part, mm.
pub const SMALL_MM: f64 = 2.2;
/// Letters of headings, in sizes of ordinary ones.
const HEADING: f64 = 1.5;
/// Distance from base line to base line, in letter sizes.
pub const PITCH: f64 = 1.3;
/// Some common faces run wider than the drawing model estimates: labels are kept apart by this factor.
const WIDE_FACE: f64 = 1.2;
/// A label breaks its lines at this many letters.
pub const LABEL_LETTERS: usize = 30;
/// A label has at most this many lines of names.
const MOST_LINES: usize = 40;

/// Width to keep free for a line of text, mm.
pub fn width_mm(text: &str, size_mm: f64) -> f64 {
    Text::new(Point2::origin(), size_mm, text).length_mm() * WIDE_FACE
}

/// An angle to the tenth of a degree.
pub fn degrees(angle: Angle) -> String {
    format!("{}°", unsigned_zero(format!("{:.1}", angle.degrees())))
}

/// Breaks a text into lines of at most `letters`, at spaces where there are any.
pub fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let letters = letters.max(1);
    let mut lines = broken(text, |line| line.chars().count() <= letters);
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        if let Some(last) = lines.last_mut() {
            last.push('…');
        }
    }
    lines
}

/// Breaks a text into lines that fit, at spaces, and inside words that fit on no line; one letter always stands.
pub fn broken(text: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            line.push(letter);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(letter);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Writes a heading with lines below it so that all of it stands above everything drawn so far.
pub fn heading(
    drawing: &mut Drawing,
    title: &str,
    remarks: &[String],
    width_mm: f64,
    size_mm: f64,
) {
    let (left, top) = drawing
        .bounds()
        .map_or((0.0, 0.0), |(low, high)| (low.x, high.y));
    let large_mm = HEADING * size_mm;
    let small = remarks
        .iter()
        .flat_map(|remark| wrapped(remark, letters_in(width_mm, size_mm)));
    let large = wrapped(title, letters_in(width_mm, large_mm)).into_iter();
    let lines: Vec<(f64, String)> = large
        .map(|line| (large_mm, line))
        .chain(small.map(|line| (size_mm, line)))
        .collect();
    let mut y = top + 1.4 * size_mm;
    let mut below_mm = None;
    for (letters_mm, line) in lines.into_iter().rev() {
        if below_mm.is_some_and(|below| below < letters_mm) {
            y += 0.4 * size_mm;
        }
        drawing.text(
            Role::Label,
            Text::new(Point2::new(left, y), letters_mm, line),
        );
        y += PITCH * letters_mm;
        below_mm = Some(letters_mm);
    }
}

/// Writes paragraphs below everything drawn so far.
pub fn footing(drawing: &mut Drawing, remarks: &[String], width_mm: f64, size_mm: f64) {
    let (left, bottom) = drawing
        .bounds()
        .map_or((0.0, 0.0), |(low, _)| (low.x, low.y));
    let mut y = bottom - 2.2 * size_mm;
    for remark in remarks {
        for line in wrapped(remark, letters_in(width_mm, size_mm)) {
            drawing.text(Role::Label, Text::new(Point2::new(left, y), size_mm, line));
            y -= PITCH * size_mm;
        }
        y -= 0.3 * size_mm;
    }
}

/// Letters that fit on a line.
pub fn letters_in(line_mm: f64, size_mm: f64) -> usize {
    let one_mm = width_mm("n", size_mm);
    let mut letters = 8usize;
    // A loop instead of a cast: never more letters than anyone reads on one line.
    while letters < 400 && width_of_count(letters + 1, one_mm) <= line_mm {
        letters += 1;
    }
    letters
}

fn width_of_count(letters: usize, one_mm: f64) -> f64 {
    letters as f64 * one_mm
}

/// The part's name, or a word in its place.
pub fn part_name(name: &str) -> &str {
    if name.trim().is_empty() {
        "plate without a name"
    } else {
        name
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_have_a_tenth() {
        assert_eq!(degrees(Angle::deg(54.32)), "54.3°");
    }

    #[test]
    fn lines_break_at_spaces_and_only_then_in_words() {
        assert_eq!(wrapped("Q1, Q2, Q3: 0.80", 9), ["Q1, Q2,", "Q3: 0.80"]);
        assert_eq!(wrapped("abcdefgh", 3), ["abc", "def", "gh"]);
        assert_eq!(wrapped("  ", 3), Vec::<String>::new());
        assert_eq!(wrapped("日本語", 2), ["日本", "語"]);
    }

    #[test]
    fn a_line_of_counted_letters_fits() {
        for line_mm in [30.0, 90.0, 180.0] {
            let letters = letters_in(line_mm, 2.8);
            assert!(width_mm(&"n".repeat(letters), 2.8) <= line_mm);
            assert!(width_mm(&"n".repeat(letters + 1), 2.8) > line_mm);
        }
    }

    #[test]
    fn a_heading_stands_above_the_drawing() {
        let mut drawing = Drawing::new("", "");
        drawing.line(Role::Outline, Point2::new(3.0, 0.0), Point2::new(9.0, 7.0));
        let before = drawing.items().len();
        heading(
            &mut drawing,
            "title",
            &["one".into(), "two".into()],
            100.0,
            3.0,
        );
        for item in &drawing.items()[before..] {
            let crate::draw::Shape::Text(text) = &item.shape else {
                panic!("a heading is text")
            };
            assert!(text.at.y > 7.0);
        }
    }
}

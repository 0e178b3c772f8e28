//! The letters of PDF pages: one typeface that comes with the program, so that a page looks alike everywhere.
//!
//! Latin, Greek and Cyrillic of Noto Sans (SIL Open Font License, `face/OFL.txt`; cut down by `face/subset.sh`).
//! Other scripts show as empty boxes on paper; what they say stays in the file for whoever copies or hears it.

use std::collections::BTreeMap;
use subsetter::GlyphRemapper;
use thiserror::Error;

/// The typeface.
const BYTES: &[u8] = include_bytes!("face/face.ttf");

/// The bundled typeface cannot be used: a fault of the program.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the bundled typeface cannot be used: {0}")]
pub struct TypefaceError(String);

/// The typeface, ready to measure and to choose glyphs.
pub struct Typeface {
    face: ttf_parser::Face<'static>,
    /// Units of the face in one letter size.
    units: f64,
}

/// Sizes of the face as shares of the letter size, and its box in thousandths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceMetrics {
    /// Thousandths of the letter size: left, bottom, right, top.
    pub bounds: [f32; 4],
    /// Height above the base line, thousandths.
    pub ascent: f32,
    /// Depth below it, thousandths, negative.
    pub descent: f32,
    /// Height of capitals, thousandths.
    pub capital: f32,
}

impl Typeface {
    /// Reads the bundled typeface.
    ///
    /// # Errors
    /// Never, unless the program was built with a damaged one.
    pub fn new() -> Result<Self, TypefaceError> {
        let face =
            ttf_parser::Face::parse(BYTES, 0).map_err(|error| TypefaceError(error.to_string()))?;
        let units = f64::from(face.units_per_em());
        Ok(Self { face, units })
    }

    /// Glyph of a letter; `None` when the typeface has none.
    fn glyph(&self, letter: char) -> Option<u16> {
        self.face.glyph_index(letter).map(|glyph| glyph.0)
    }

    /// Width of a glyph as a share of the letter size.
    pub fn advance(&self, glyph: u16) -> f64 {
        let units = self.face.glyph_hor_advance(ttf_parser::GlyphId(glyph));
        f64::from(units.unwrap_or(0)) / self.units
    }

    /// Width of a line of text, mm.
    pub fn width_mm(&self, text: &str, size_mm: f64) -> f64 {
        printable(text)
            .map(|letter| self.advance(self.glyph(letter).unwrap_or(0)))
            .sum::<f64>()
            * size_mm
    }

    /// Sizes for the description of the face in a file.
    pub fn metrics(&self) -> FaceMetrics {
        #[expect(clippy::cast_possible_truncation, reason = "thousandths of a letter")]
        let thousandths = |value: i16| (f64::from(value) * 1000.0 / self.units) as f32;
        let bounds = self.face.global_bounding_box();
        FaceMetrics {
            bounds: [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(thousandths),
            ascent: thousandths(self.face.ascender()),
            descent: thousandths(self.face.descender()),
            capital: thousandths(self.face.capital_height().unwrap_or(0)),
        }
    }
}

/// What of a text can be set: breaks become spaces; control characters and direction overrides go.
pub fn printable(text: &str) -> impl Iterator<Item = char> + '_ {
    text.chars().filter_map(|letter| match letter {
        '\n' | '\r' | '\t' => Some(' '),
        '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}'
        | '\u{feff}'
        | '\u{fffe}'
        | '\u{ffff}' => None,
        other if other.is_control() => None,
        other => Some(other),
    })
}

/// The glyphs that a file uses, numbered as the file numbers them.
#[derive(Default)]
pub struct Used {
    remapper: GlyphRemapper,
    /// Letter of each glyph of the file.
    letters: BTreeMap<u16, char>,
    /// Width of each glyph of the file, as a share of the letter size.
    advances: BTreeMap<u16, f64>,
}

/// A text as the file's glyphs.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Glyph numbers, two bytes each, high byte first.
    pub bytes: Vec<u8>,
    /// Width as a share of the letter size.
    pub advance: f64,
    /// Some letters are not in the typeface.
    pub has_unknown: bool,
}

impl Used {
    /// Sets a line of text.
    pub fn set(&mut self, face: &Typeface, text: &str) -> Setting {
        let mut setting = Setting {
            bytes: Vec::with_capacity(2 * text.len()),
            advance: 0.0,
            has_unknown: false,
        };
        for letter in printable(text) {
            let known = face.glyph(letter);
            setting.has_unknown |= known.is_none();
            let glyph = known.unwrap_or(0);
            let number = self.remapper.remap(glyph);
            let advance = face.advance(glyph);
            self.advances.insert(number, advance);
            if known.is_some() {
                self.letters.entry(number).or_insert(letter);
            }
            setting.advance += advance;
            setting.bytes.extend(number.to_be_bytes());
        }
        setting
    }

    /// Letter of each glyph.
    pub fn letters(&self) -> impl Iterator<Item = (u16, char)> + '_ {
        self.letters.iter().map(|(glyph, letter)| (*glyph, *letter))
    }

    /// Width of each glyph, as a share of the letter size.
    pub fn advances(&self) -> impl Iterator<Item = (u16, f64)> + '_ {
        self.advances
            .iter()
            .map(|(glyph, advance)| (*glyph, *advance))
    }

    /// The typeface with these glyphs alone.
    ///
    /// # Errors
    /// Never, unless the program was built with a damaged typeface.
    pub fn subset(&self) -> Result<Vec<u8>, TypefaceError> {
        subsetter::subset(BYTES, 0, &self.remapper)
            .map_err(|error| TypefaceError(error.to_string()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_that_the_program_writes_itself_is_there() {
        let face = Typeface::new().unwrap();
        for letter in "aZ09 °±×·²³øµΩ–—…'\"„“”‹›äöüßéñçłőžΑωЖяế€№™".chars()
        {
            assert!(face.glyph(letter).is_some(), "{letter}");
        }
        assert!(face.glyph('電').is_none());
    }

    #[test]
    fn widths_add_up_and_figures_are_alike() {
        let face = Typeface::new().unwrap();
        let one = face.width_mm("1", 3.0);
        assert!(one > 1.0 && one < 2.5);
        for figures in ["0000", "1111", "9876"] {
            assert!((face.width_mm(figures, 3.0) - 4.0 * one).abs() < 1e-9);
        }
        assert_eq!(face.width_mm("", 3.0), 0.0);
        assert_eq!(face.width_mm("\u{202e}\u{7}", 3.0), 0.0);
    }

    #[test]
    fn only_used_glyphs_go_into_a_file() {
        let face = Typeface::new().unwrap();
        let mut used = Used::default();
        let setting = used.set(&face, "aab電");
        assert!(setting.has_unknown);
        assert_eq!(setting.bytes.len(), 8);
        assert_eq!(setting.bytes[..2], setting.bytes[2..4]);
        assert_eq!(setting.bytes[6..], [0, 0]);
        let small = used.subset().unwrap();
        assert!(small.len() < BYTES.len() / 10);
        assert_eq!(
            used.letters().map(|(_, letter)| letter).collect::<String>(),
            "ab"
        );
    }
}

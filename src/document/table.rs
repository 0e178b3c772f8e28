//! Tables: columns with their heads, units and digits; rows of cells that know their place in `result.json`.

use super::digits::Digits;
use super::line::{Line, Media, Medium, Run};

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    head: String,
    unit: &'static str,
    /// `None` for words.
    digits: Option<Digits>,
    media: Media,
}

impl Column {
    /// A column of words.
    pub fn words(head: impl Into<String>) -> Self {
        Self {
            head: head.into(),
            unit: "",
            digits: None,
            media: Media::ALL,
        }
    }

    /// A column of numbers; the unit is empty where the caption says it for all.
    pub fn numbers(head: impl Into<String>, unit: &'static str, digits: Digits) -> Self {
        Self {
            head: head.into(),
            unit,
            digits: Some(digits),
            media: Media::ALL,
        }
    }

    /// Numbers with so many decimals.
    pub fn fixed(head: impl Into<String>, unit: &'static str, decimals: usize) -> Self {
        Self::numbers(head, unit, Digits::Fixed(decimals))
    }

    /// The media that show it.
    #[must_use]
    pub fn on(mut self, media: Media) -> Self {
        self.media = media;
        self
    }
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// A number, with the digits of its column.
    Number {
        /// Its place in `result.json`.
        place: String,
        /// The number.
        value: f64,
    },
    /// Words and values as they stand.
    Line(Line),
    /// There is nothing to say.
    Absent,
}

impl Cell {
    /// A number.
    pub fn number(place: impl Into<String>, value: f64) -> Self {
        Self::Number {
            place: place.into(),
            value,
        }
    }

    /// A number that may be missing.
    pub fn or_absent(place: impl Into<String>, value: Option<f64>) -> Self {
        value
            .filter(|value| value.is_finite())
            .map_or(Self::Absent, |value| Self::number(place, value))
    }

    /// A name or a sentence of `result.json`.
    pub fn said(place: impl Into<String>, words: impl Into<String>) -> Self {
        Self::Line(Line::said(place, words))
    }

    /// Fixed words.
    pub fn words(words: impl Into<String>) -> Self {
        Self::Line(Line::words(words))
    }

    /// Fixed words that nobody may miss.
    pub fn bad(words: impl Into<String>) -> Self {
        Self::Line(Line(vec![Run::Bad(words.into())]))
    }
}

impl From<Line> for Cell {
    fn from(line: Line) -> Self {
        Self::Line(line)
    }
}

/// A table. The first column names the rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it shows; says the unit where all columns have one.
    pub caption: Line,
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows, each as long as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A head as it is set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Its words, with the unit.
    pub words: String,
    /// Set to the right.
    pub is_number: bool,
}

/// A table as one medium sets it.
#[derive(Debug, Clone, PartialEq)]
pub struct SetTable {
    /// Heads of the columns that are shown.
    pub heads: Vec<Head>,
    /// Rows of what stands there.
    pub rows: Vec<Vec<Line>>,
}

impl SetTable {
    /// The letters of every cell.
    pub fn texts(&self) -> Vec<Vec<String>> {
        let rows = self.rows.iter();
        rows.map(|row| row.iter().map(Line::text).collect())
            .collect()
    }
}

impl Table {
    /// A table without rows yet.
    pub fn new(caption: impl Into<Line>, columns: Vec<Column>) -> Self {
        Self {
            caption: caption.into(),
            columns,
            rows: Vec::new(),
        }
    }

    /// The same with rows.
    #[must_use]
    pub fn with(mut self, rows: impl IntoIterator<Item = Vec<Cell>>) -> Self {
        self.rows.extend(rows);
        self
    }

    /// A table of the build sheet.
    pub(super) fn of_sheet(
        caption: &str,
        heads: &[String],
        rows: &[Vec<String>],
        at: &str,
    ) -> Self {
        let columns = heads.iter().map(|head| Column::words(head.as_str()));
        let rows = rows.iter().enumerate().map(|(row, cells)| {
            let cells = cells.iter().enumerate();
            cells
                .map(|(column, words)| Cell::said(format!("{at}/rows/{row}/{column}"), words))
                .collect()
        });
        Self::new(caption, columns.collect()).with(rows)
    }

    /// As a medium sets it.
    pub fn set(&self, medium: Medium) -> SetTable {
        let is_shown = |column: &&Column| column.media.shows(medium);
        let heads = self.columns.iter().filter(is_shown).map(|column| Head {
            words: if column.unit.is_empty() {
                column.head.clone()
            } else {
                format!("{}, {}", column.head, column.unit)
            },
            is_number: column.digits.is_some(),
        });
        let rows = self.rows.iter().map(|row| {
            let cells = row.iter().zip(&self.columns);
            cells
                .filter(|(_, column)| is_shown(column))
                .map(|(cell, column)| match cell {
                    Cell::Number { place, value } => {
                        Line::number(place, *value, column.digits.unwrap_or(Digits::Plain))
                    }
                    Cell::Line(line) => line.clone(),
                    Cell::Absent => Line::words("-"),
                })
                .collect()
        });
        SetTable {
            heads: heads.collect(),
            rows: rows.collect(),
        }
    }
}

//! Changes of a part file that would help: the lines, what they bring, what they cost.

use crate::quantity::Toleranced;

/// A value as a part file can hold it.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// `3.2`
    Number(f64),
    /// `{ value = 3.2, plus_minus = 0.05 }`; a bare number without the second.
    Toleranced(Toleranced),
    /// `"soft"`: a word, a name, a note.
    Text(String),
    /// `true`
    Switch(bool),
    /// `[10.0, 6.0]`
    Numbers(Vec<f64>),
    /// `[[0.5, 151.0], [1.0, 275.0]]`
    Pairs(Vec<[f64; 2]>),
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<Toleranced> for Value {
    fn from(number: Toleranced) -> Self {
        Self::Toleranced(number)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<bool> for Value {
    fn from(switch: bool) -> Self {
        Self::Switch(switch)
    }
}

impl<const N: usize> From<[f64; N]> for Value {
    fn from(numbers: [f64; N]) -> Self {
        Self::Numbers(numbers.to_vec())
    }
}

/// One value of a part file that shall be another.
#[derive(Debug, Clone, PartialEq)]
pub struct Edit {
    /// Name of the table, `flat`.
    pub table: String,
    /// Which of the tables of this name, from 0; 0 where there is one only.
    pub number: usize,
    /// Key, `to_mm`; `step.wall_angle_deg` for one inside of another.
    pub key: String,
    /// What shall stand there; `None`: the key shall not be there. The comment on its line goes with it; comments above it
    /// stay, unless it was the last key of its table.
    pub value: Option<Value>,
}

impl Edit {
    /// A value for a key of one of the tables of a name, counted from 0.
    pub fn new(table: &str, number: usize, key: &str, value: impl Into<Value>) -> Self {
        Self {
            table: table.to_owned(),
            number,
            key: key.to_owned(),
            value: Some(value.into()),
        }
    }

    /// A key that shall not be there.
    pub fn without(table: &str, number: usize, key: &str) -> Self {
        Self {
            table: table.to_owned(),
            number,
            key: key.to_owned(),
            value: None,
        }
    }
}

/// A way out as lines of the part file. A candidate until it was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// What is done, in words: `leave a run of 4.9 mm`.
    pub words: String,
    /// The values that shall be others.
    pub edits: Vec<Edit>,
}

impl Way {
    /// Words and the values behind them.
    pub fn new(words: impl Into<String>, edits: Vec<Edit>) -> Self {
        Self {
            words: words.into(),
            edits,
        }
    }

    /// What it is about: table, number and key of each value. Others of the same are more or less of it.
    pub fn keys(&self) -> Vec<(&str, usize, &str)> {
        let edits = self.edits.iter();
        edits
            .map(|edit| (edit.table.as_str(), edit.number, edit.key.as_str()))
            .collect()
    }

    /// What to do and the lines to type.
    pub fn told(&self, lines: &str) -> String {
        format!("{}: {lines}", self.words)
    }
}

/// What a way out costs, to stand behind it: at most so many of them by name.
pub fn cost(costs: &[String], most: usize) -> String {
    if costs.is_empty() {
        return String::new();
    }
    let named: Vec<&str> = costs.iter().take(most).map(String::as_str).collect();
    let more = match costs.len() - named.len() {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    format!("; then {}{more}", named.join("; "))
}

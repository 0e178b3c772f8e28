//! A number with where it was read.

use serde::Serialize;

/// What a number is, and where it was read; printed beside results.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sourced {
    /// The number or group of numbers: "strength", "density".
    pub what: &'static str,
    /// Published source, "from memory", or what the user said.
    pub source: String,
}

impl Sourced {
    /// Joins a number's name and its source.
    pub fn new(what: &'static str, source: impl Into<String>) -> Self {
        Self {
            what,
            source: source.into(),
        }
    }
}

//! Where in a file each table and value of a [`super::Design`] stands.

use crate::diagnostic::Span;
use std::collections::BTreeMap;

/// Places of the tables and values that were read from a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Places {
    spans: BTreeMap<String, Span>,
}

impl Places {
    /// Place of a value, as bytes of the file.
    ///
    /// `number` counts tables of one name from 0, `key` is as in [`super::edit::Edit`]: `from_mm`, `step.wall_angle_deg`.
    pub fn value(&self, table: &str, number: usize, key: &str) -> Option<&Span> {
        self.spans.get(&path(table, number, key))
    }

    /// Place of a table: that of its header.
    pub fn table(&self, table: &str, number: usize) -> Option<&Span> {
        self.value(table, number, "")
    }

    /// Remembers the place of a value, or of a table where `key` is empty.
    pub(super) fn set(&mut self, table: &str, number: usize, key: &str, span: &Span) {
        self.spans.insert(path(table, number, key), span.clone());
    }
}

fn path(table: &str, number: usize, key: &str) -> String {
    format!("{table}[{number}].{key}")
}

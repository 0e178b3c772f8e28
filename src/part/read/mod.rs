//! From what was written, by a person or by a program, to a [`Part`] or to findings.
//!
//! A file goes through [`section`] into [`entry`]: values with places. A program's values go into the same entries, and
//! [`check`] looks at these.

mod assumed;
mod board;
mod check;
mod entry;
mod equipment;
mod heat;
mod heat_pipe;
mod leaf;
mod names;
mod overlap;
mod pad;
mod pads_at_hand;
mod plan;
mod range;
mod section;
mod sheet;
mod slips;
mod spelling;
mod strip;
mod syntax;
#[cfg(test)]
mod tests;

use super::{Design, Part, Places};
use crate::diagnostic::{Diagnostic, Noted, Refused};
use entry::Entries;
use section::Reading;
use toml::de::DeTable;

pub(super) use spelling::{nearest, printable};

/// A part file that was read.
#[derive(Debug)]
pub struct PartFile {
    /// What it says, also numbers that are out of range. What is of a wrong type is left out.
    pub design: Design,
    /// Where it says so.
    pub places: Places,
    entries: Entries,
    reading: Reading,
}

impl PartFile {
    /// What is wrong with single keys and tables, in the order of the file: syntax, types, words, ranges, and keys that are
    /// missing or unknown.
    pub fn findings(&self) -> Vec<Diagnostic> {
        self.reading.findings.clone().into_sorted()
    }

    /// Checks what only makes sense together.
    ///
    /// # Errors
    /// All findings, in the order of the file, when at least one of them refuses the part.
    pub fn part(self) -> Result<Noted<Part>, Refused> {
        checked(self.design, &self.places, &self.entries, self.reading)
    }
}

/// Reads a part file as far as it can be read.
pub fn read(source: &str) -> PartFile {
    let mut reading = Reading::default();
    let (table, errors) = DeTable::parse_recoverable(source);
    for error in &errors {
        reading.forgive_missing = true;
        reading.broken.extend(error.span());
        let finding = syntax::syntax_finding(source, error);
        reading.findings.push(finding);
    }
    let (design, entries) = entry::read(table.get_ref(), &mut reading);
    PartFile {
        design,
        places: std::mem::take(&mut reading.places),
        entries,
        reading,
    }
}

/// Reads and checks a part file.
///
/// # Errors
/// All findings, in the order of the file, when at least one of them refuses the part.
pub fn parse(source: &str) -> Result<Noted<Part>, Refused> {
    read(source).part()
}

impl Part {
    /// Checks a part that a program made, as one from a file is checked.
    ///
    /// # Errors
    /// All findings, when at least one of them refuses the part: those of the file that [`Design::to_toml`] writes, in its
    /// order, but without places.
    pub fn of(design: &Design) -> Result<Noted<Self>, Refused> {
        let mut reading = Reading::default();
        let entries = entry::given(design, &mut reading);
        match checked(design.clone(), &Places::default(), &entries, reading) {
            Ok(mut part) => {
                part.value.without_places();
                part.notes = without_places(part.notes);
                Ok(part)
            }
            Err(findings) => Err(without_places(findings.0).into()),
        }
    }
}

fn checked(
    design: Design,
    places: &Places,
    entries: &Entries,
    mut reading: Reading,
) -> Result<Noted<Part>, Refused> {
    let part = check::part(entries, &mut reading);
    slips::asked(&design, places, &mut reading);
    let refused = reading.findings.has_errors();
    let notes = reading.findings.into_sorted();
    match part {
        Some(value) if !refused => Ok(Noted {
            value: Part {
                said: design,
                ..value
            },
            notes,
        }),
        _ => Err(notes.into()),
    }
}

fn without_places(findings: Vec<Diagnostic>) -> Vec<Diagnostic> {
    findings
        .into_iter()
        .map(Diagnostic::without_place)
        .collect()
}

//! Pads that a board part can have: those of the part, and the generic series.

use super::entry::PadEntry;
use super::names::nobody_called;
use super::section::{At, FILE, Reading};
use crate::stock::Pad;

/// Pads of the file and of the generic series.
#[derive(Debug, Clone, Copy)]
pub struct PadsAtHand<'a> {
    /// As written, also those that were refused.
    pub entries: &'a [PadEntry],
    /// Those that were taken.
    pub pads: &'a [Pad],
}

impl PadsAtHand<'_> {
    /// The pad of a name; that there is none is a finding.
    pub fn called(self, wanted: &At<String>, reading: &mut Reading) -> Option<Pad> {
        let stock = Pad::stock_series();
        let all = || self.pads.iter().chain(stock.iter());
        if let Some(pad) = all().find(|pad| pad.name == wanted.value) {
            return Some(pad.clone());
        }
        // A pad that is there but was refused is not missing as well.
        let refused = self.entries.iter().any(|entry| {
            let name = entry.name.as_ref();
            name.is_none_or(|name| name.value == wanted.value)
        });
        if !refused && reading.lacks(&FILE, &["pad"]) {
            let names: Vec<&str> = all().map(|pad| pad.name.as_str()).collect();
            nobody_called(
                "pad",
                wanted,
                &names,
                "add a [[pad]], or use one of",
                reading,
            );
        }
        None
    }
}

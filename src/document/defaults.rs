//! What the part file leaves open, and what is taken instead.

use super::places::{DEFAULTS, entry};
use super::{Cell, Column, Document, Media, Medium, Table};
use crate::part::DefaultUsed;

/// Values taken because the part file does not say: a count on the terminal, each with its reason on the page.
///
/// Numbers are those of the part's whole list, which is where they stand in `result.json`.
pub fn defaults(list: &[DefaultUsed]) -> Document {
    let mut document = Document::default();
    if list.is_empty() {
        return document;
    }
    document.heading(
        Media::only(Medium::Terminal),
        format!(
            "Defaults used: {}. --json lists them under \"defaults\", each with its reason; so does the report of coldstep make.",
            list.len()
        ),
    );
    let rows = list.iter().enumerate().map(|(number, default)| {
        let place = |field: &str| format!("{}/{field}", entry(DEFAULTS, number));
        vec![
            Cell::said(place("key"), &default.key),
            Cell::said(place("value"), &default.value),
            Cell::said(place("reason"), &default.reason),
        ]
    });
    let columns = ["key", "taken", "why"].map(Column::words);
    document.table(
        Media::DETAIL,
        Table::new("Taken because the part file does not say", columns.into()).with(rows),
    );
    document
}

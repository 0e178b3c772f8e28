//! What a person should know of a part or a run: one list in every document.

use super::source::Source;
use crate::diagnostic::{Diagnostic, Severity};
use schemars::JsonSchema;
use serde::Serialize;

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Finding {
    /// What it is about, in a word for programs; `schema/README.md` lists them all. Words may change, ids do not.
    pub id: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, one sentence without a full stop.
    pub message: String,
    /// Ways out, each one sentence.
    pub help: Vec<String>,
    /// File that it is about, as the user wrote its path. Absent: no file, or its name is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line in it, from 1. Absent: the file as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Column in that line, in characters, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
}

impl Finding {
    /// A finding with its place, where the file is known.
    pub fn of(finding: &Diagnostic, source: Option<&Source>) -> Self {
        let place = finding
            .span
            .as_ref()
            .zip(source)
            .map(|(span, source)| source.place(span.start));
        Self {
            id: finding.id,
            severity: finding.severity,
            message: finding.message.clone(),
            help: finding.help.clone(),
            file: source.map(|source| source.file.clone()),
            line: place.map(|(line, _)| line),
            column: place.map(|(_, column)| column),
        }
    }

    /// Many of them, in their order.
    pub fn all<'a>(
        findings: impl IntoIterator<Item = &'a Diagnostic>,
        source: Option<&Source>,
    ) -> Vec<Self> {
        findings
            .into_iter()
            .map(|finding| Self::of(finding, source))
            .collect()
    }
}

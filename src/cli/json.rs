//! The document of a run that has no answer; those that have one write [`Found`] themselves.

use super::answer::Failure;
use crate::diagnostic::Severity;
use crate::result::{Finding, Found, Verb};

/// What a finding about files and folders is about.
pub const FILE: &str = "file";

/// The document of a verb that has no answer.
pub fn failure(verb: Verb, failure: &Failure) -> String {
    let findings = match failure {
        Failure::Refused { source, findings } => Finding::all(findings, Some(source)),
        Failure::Trouble(trouble) => vec![Finding {
            id: FILE,
            severity: Severity::Error,
            message: trouble.message.clone(),
            help: trouble.help.clone(),
            file: trouble.file.clone(),
            line: trouble.place.map(|(line, _)| line),
            column: trouble.place.map(|(_, column)| column),
        }],
    };
    Found::new(verb, false, findings).to_json()
}

//! The one verdict, as every verb that asks about a part shows it: in its first lines, its document and its exit code.

use super::Answer;
use super::io::source::Source;
use super::io::terminal;
use crate::document;
use crate::job::Job;
use crate::result::Found;

/// What a verb hands back about a part: the verdict, then the verb's own lines; and its document, which holds the verdict too.
pub fn answer(job: &Job, below: &str, found: &Found, source: Option<Source>) -> Answer {
    let verdict = job.verdict();
    let mut warnings = job.notes.clone();
    // Why there is no die pair, with the places.
    warnings.extend(job.tooling.as_ref().err().cloned().into_iter().flatten());
    Answer {
        text: format!(
            "{}{below}",
            terminal::document(&document::answer::verdict(&verdict))
        ),
        brief: terminal::document(&document::answer::headline(&verdict)),
        document: found.to_json(),
        good: !verdict.is_no(),
        warnings,
        source,
    }
}

//! The answer: can it be built, what to cut, what to print, what comes out, what it buys.

use super::{Html, set};
use crate::document;
use crate::job::Job;
use crate::verdict::State;

/// The first thing on the page.
pub fn answer(job: &Job) -> Html {
    let verdict = job.verdict();
    let class = match verdict.state {
        State::Yes => "answer",
        State::YesIf => "answer if",
        State::No => "answer no",
    };
    let section = [
        ("id", "answer"),
        ("tabindex", "-1"),
        ("aria-label", "Answer"),
        ("class", class),
    ];
    let mut html = Html::default();
    html.element("section", &section, |within| {
        set::set(&document::answer::verdict(&verdict), &[], within);
        set::set(&document::answer::in_a_box(job), &[], within);
    });
    html
}

//! Ways out of a refused part file: each is written into the file, read again and looked at by every analysis before it is told.

use crate::change::{Way, cost};
use crate::diagnostic::{Diagnostic, Refused, Severity};
use crate::forming::pressing::{NoPressing, Searcher, Task};
use crate::job::{Job, Stopped};
use crate::part::advised::Tried;
use crate::part::edit;
use crate::verdict::{Forces, Why};

/// So many ways out of one finding are told.
const MOST_TOLD: usize = 4;
/// So many are tried for all findings of a file: the rest of a file that is wrong throughout is told in words.
const MOST_TRIED: usize = 120;
/// So many are pressed for all findings of a file.
const MOST_PRESSED: usize = 3;
/// Reasons that a way out leaves, named with it.
const COSTS_TOLD: usize = 2;
/// A straight wall that is shorter is lost when the dies are bent further, in sheet thicknesses. Own choice.
const LEAST_WALL: f64 = 0.25;
/// A part with a pad loses cover where less of it is under metal, %. Own choice.
const COVERED_PERCENT: f64 = 95.0;

/// How well a way out does: the less, the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Left {
    /// Other errors of the file.
    errors: usize,
    /// What keeps the plate from being made then.
    reasons: usize,
    /// Warnings about the file.
    warnings: usize,
}

/// A way out that was tried, with what it leaves.
struct Found {
    left: Left,
    text: String,
    way: Way,
    /// What would be pressed then.
    task: Option<Task>,
}

/// The findings with ways out that were tried, the best first, numbered through the file: `[1] ...`. Those that do not help are
/// gone. With a search the best are pressed too.
///
/// # Errors
/// [`Stopped`] when a search was stopped.
pub fn tried(
    source: &str,
    refused: Refused,
    mut search: Option<&mut Searcher<'_>>,
) -> Result<Refused, Stopped> {
    let known: Vec<String> = refused.iter().map(kind).collect();
    let (mut number, mut left, mut left_to_press) = (0, MOST_TRIED, MOST_PRESSED);
    let mut all = Vec::new();
    for finding in refused {
        let mut found: Vec<Found> = Vec::new();
        for way in finding.ways.iter().take(left) {
            found.extend(one(source, way, &finding, &known));
        }
        left -= finding.ways.len().min(left);
        found.sort_by_key(|found| found.left);
        // Those that leave nothing are enough.
        let leaves_nothing = |one: &Found| one.left.reasons + one.left.errors == 0;
        if found.first().is_some_and(leaves_nothing) {
            found.retain(leaves_nothing);
        }
        // More or less of the same: the first that does.
        found = with_new_keys(found);
        if let Some(search) = search.as_mut() {
            found = pressed(found, *search, &mut left_to_press)?;
        }
        all.push(told(finding, found, &mut number));
    }
    Ok(all.into())
}

/// Without those that are about the same keys as one before them.
fn with_new_keys(found: Vec<Found>) -> Vec<Found> {
    let mut kept: Vec<Found> = Vec::new();
    for one in found {
        if !kept.iter().any(|other| other.way.keys() == one.way.keys()) {
            kept.push(one);
        }
    }
    kept
}

/// Without those that the vise does not make, as far as that is asked; it is for as many as are told.
fn pressed(
    found: Vec<Found>,
    search: &mut Searcher<'_>,
    left: &mut usize,
) -> Result<Vec<Found>, Stopped> {
    let mut kept = Vec::new();
    for one in found {
        let task = match &one.task {
            Some(task) if *left > 0 && kept.len() < MOST_TOLD => task,
            _ => {
                kept.push(one);
                continue;
            }
        };
        *left -= 1;
        match search(task) {
            Err(NoPressing::Stopped) => return Err(Stopped),
            Err(reason) if reason.is_refusal() => {}
            _ => kept.push(one),
        }
    }
    Ok(kept)
}

/// What a finding says without its numbers: they change with the file.
fn kind(finding: &Diagnostic) -> String {
    let words = finding.message.chars();
    words.filter(|c| !c.is_ascii_digit() && *c != '.').collect()
}

/// The finding with these ways out in place of its candidates.
fn told(mut finding: Diagnostic, found: Vec<Found>, number: &mut usize) -> Diagnostic {
    let candidates = std::mem::take(&mut finding.ways);
    finding
        .help
        .retain(|help| !candidates.iter().any(|way| way.words == *help));
    let mut help = Vec::new();
    for one in found.into_iter().take(MOST_TOLD) {
        *number += 1;
        help.push(format!("[{number}] {}", one.text));
        finding.ways.push(one.way);
    }
    if help.is_empty() && !candidates.is_empty() {
        help.push(
            "no single change was found that helps: draw it again from the measurements".into(),
        );
    }
    help.append(&mut finding.help);
    finding.help = help;
    finding
}

/// A way out of a finding, if it is one: the finding is gone, and nothing new keeps the part from being bent.
fn one(source: &str, way: &Way, finding: &Diagnostic, known: &[String]) -> Option<Found> {
    match Tried::of(source, way) {
        Ok(tried) => {
            let text = tried.told();
            let warnings = tried.part.notes.len();
            let part = &tried.part.value;
            // Without a straight wall there are no dies to press it.
            let least_mm = LEAST_WALL * part.sheet.thickness_mm;
            if part.steps.iter().any(|step| step.shape.wall_mm < least_mm) {
                return None;
            }
            let task = Task::of(part).ok();
            let job = Job::run(tried.part);
            let verdict = job.verdict();
            let costs: Vec<String> = verdict
                .that_force(Forces::No)
                .map(|reason| reason.text.clone())
                .chain(uncovered(&job))
                .collect();
            let bends = |why: &Why| {
                !matches!(
                    why,
                    Why::PressingRefused { .. }
                        | Why::DiesRefused { .. }
                        | Why::BendsMayCrack { .. }
                )
            };
            let presses = verdict.reasons.iter().all(|reason| bends(&reason.why));
            presses.then(|| Found {
                left: Left {
                    errors: 0,
                    reasons: costs.len(),
                    warnings,
                },
                text: format!("{text}{}", cost(&costs, COSTS_TOLD)),
                way: way.clone(),
                task,
            })
        }
        Err(other) => {
            let errors = other.iter().filter(|one| one.severity == Severity::Error);
            let errors: Vec<&Diagnostic> = errors.collect();
            let is_new = |one: &Diagnostic| !known.contains(&kind(one));
            let is_there = errors.iter().any(|one| kind(one) == kind(finding));
            if is_there || errors.iter().any(|one| is_new(one)) {
                return None;
            }
            let edited = edit::set(source, &way.edits).ok()?;
            let lines = edit::lines(&edited, &way.edits);
            Some(Found {
                left: Left {
                    errors: errors.len(),
                    reasons: 0,
                    warnings: 0,
                },
                text: way.told(&lines),
                way: way.clone(),
                task: None,
            })
        }
    }
}

/// Parts with a pad that lose cover.
fn uncovered(job: &Job) -> impl Iterator<Item = String> {
    let parts = job.fit.components.iter().zip(&job.part.components);
    parts.filter_map(|(fit, part)| {
        let loses = part.treatment.pad().is_some()
            && fit.verdict.is_good()
            && fit.covered_percent < COVERED_PERCENT;
        loses.then(|| fit.covered_only())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::edit::set;
    use crate::part::parse;
    use crate::part::starter::STARTER;

    fn refused(changed: &[(&str, &str)]) -> (String, Refused) {
        let text = changed.iter().fold(STARTER.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replace(from, to)
        });
        let found = parse(&text).unwrap_err();
        let found = tried(&text, found, None).unwrap();
        (text, found)
    }

    #[test]
    fn the_first_way_out_of_a_short_run_leaves_a_plate_that_can_be_made() {
        let (text, found) = refused(&[("from_mm = 21.5", "from_mm = 18.0")]);
        let [finding] = found.0.as_slice() else {
            panic!("one finding: {found}")
        };
        assert!(
            finding.help[0].starts_with("[1] leave a run of "),
            "{found}"
        );
        assert!(
            finding.help[0].contains(" \"chokes\": from_mm = "),
            "{found}"
        );
        let edited = set(&text, &finding.ways[0].edits).unwrap();
        let job = Job::read(&edited).unwrap();
        assert!(
            !job.verdict().is_no(),
            "{found}\n{}",
            job.verdict().headline
        );
    }

    #[test]
    fn a_flat_below_a_part_is_told_with_the_height_that_clears_it() {
        let (text, found) = refused(&[("underside_mm = 3.90", "underside_mm = 39.0")]);
        // As high as that no flat is too low, and the step is the finding.
        assert!(
            found.iter().all(|one| one.id == "part-step-unbendable"),
            "{found}"
        );
        drop(text);
        let (text, found) = refused(&[
            ("underside_mm = 1.75", "underside_mm = 0.2"),
            ("from_mm = 21.5", "from_mm = 18.0"),
        ]);
        let low = found.iter().find(|one| one.id == "part-flat-too-low");
        let low = low.unwrap_or_else(|| panic!("{found}"));
        assert_eq!(
            low.message,
            "the flat \"stages\" lies 0.75 mm below the top of Q1, which is 0.95 mm high"
        );
        assert!(text.contains("0.2"));
    }
}

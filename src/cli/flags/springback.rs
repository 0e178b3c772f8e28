//! How the dies make up for springback: the flag, and the job with its line of progress.

use crate::cli::io::bar::Bar;
use crate::cli::io::kept::Fresh;
use crate::cli::io::source::Source;
use crate::cli::io::{kept, read, terminal};
use crate::cli::{Failure, Trouble};
use crate::diagnostic::{Diagnostic, Noted};
use crate::forming::pressing::{Effort, NoPressing, Pressing, Progress, Task};
use crate::job::{Job, Stopped};
use crate::part::Part;
use clap::{Args, ValueEnum};
use std::ops::ControlFlow;
use std::path::Path;

/// How the dies are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Springback {
    /// Calculate the pressing on the fine mesh and overbend the dies until the plate comes out as drawn: a second or two.
    Pressed,
    /// The same on the coarse mesh: an estimate.
    Quick,
    /// Each bend by its springback factor, no pressing calculated: at once. Dies of the bundled examples differ by 0.2 to 14 degrees from calculated ones; gaps are the drawn ones.
    BendByBend,
}

impl Springback {
    /// How much work the search may do; `None`: there is no search.
    pub fn effort(self) -> Option<Effort> {
        match self {
            Self::BendByBend => None,
            Self::Quick => Some(Effort::Quick),
            Self::Pressed => Some(Effort::Full),
        }
    }
}

/// The flag of verbs that make dies.
#[derive(Debug, Args)]
pub struct HowPressed {
    /// How the dies make up for springback: the pressed plate's gaps decide, the drawn ones where none is calculated.
    #[arg(long, value_enum, default_value = "pressed", value_name = "HOW")]
    pub springback: Springback,
    /// Whether an earlier result may be used.
    #[command(flatten)]
    pub fresh: Fresh,
}

/// Shows on a line how far a search is, and never ends it.
pub fn watching(
    line: &mut terminal::Line,
    effort: Effort,
) -> impl FnMut(&Progress) -> ControlFlow<()> + '_ {
    let mut bar = Bar::new(line, effort);
    move |progress| {
        bar.show(progress);
        ControlFlow::Continue(())
    }
}

/// The dies that make a part, with a line about the search for them.
fn found(
    part: &Part,
    effort: Effort,
    fresh: Fresh,
    line: &mut terminal::Line,
) -> Result<Pressing, NoPressing> {
    kept::search(&Task::of(part)?, effort, fresh, &mut watching(line, effort))
}

/// A search on the coarse mesh, for changes of a part that are tried.
fn quickly(
    line: &mut terminal::Line,
    fresh: Fresh,
) -> impl FnMut(&Task) -> Result<Pressing, NoPressing> + '_ {
    move |task| {
        kept::search(
            task,
            Effort::Quick,
            fresh,
            &mut watching(line, Effort::Quick),
        )
    }
}

fn ended(stopped: Stopped) -> Failure {
    Trouble::new(stopped.to_string()).into()
}

/// The pressing of a part alone, where one is asked for and there is one.
///
/// # Errors
/// When the search was stopped.
pub fn pressing(part: &Part, how: &HowPressed) -> Result<Option<Pressing>, Failure> {
    let Some(effort) = how.springback.effort() else {
        return Ok(None);
    };
    match found(part, effort, how.fresh, &mut terminal::Line::new()) {
        Err(NoPressing::Stopped) => Err(ended(Stopped)),
        found => Ok(found.ok()),
    }
}

/// Every analysis of a part; on a terminal a line says how far the pressing is.
///
/// # Errors
/// When the search was stopped.
pub fn job(part: Part, warnings: Vec<Diagnostic>, how: &HowPressed) -> Result<Job, Failure> {
    let part = Noted {
        value: part,
        notes: warnings,
    };
    let Some(effort) = how.springback.effort() else {
        return Ok(Job::run(part).mended());
    };
    let mut line = terminal::Line::new();
    let found = found(&part.value, effort, how.fresh, &mut line);
    line.show("gaps, dies and temperatures");
    let mut search = quickly(&mut line, how.fresh);
    Job::found(part, found, Some(&mut search)).map_err(ended)
}

/// Reads and checks a part file; the ways out of a refused one are pressed on the coarse mesh before they are told.
///
/// # Errors
/// As [`read::part`], and when a search was stopped.
pub fn part(path: &Path, how: &HowPressed) -> Result<(Part, Vec<Diagnostic>, Source), Failure> {
    if how.springback.effort().is_none() {
        return read::part(path);
    }
    let mut line = terminal::Line::new();
    let mut search = quickly(&mut line, how.fresh);
    read::part_or(path, Some(&mut search))
}

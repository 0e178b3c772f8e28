//! How the dies make up for springback: the flag, and the job with its line of progress.

use crate::cli::io::kept::Fresh;
use crate::cli::io::source::Source;
use crate::cli::io::{kept, read, terminal};
use crate::cli::{Failure, Trouble};
use crate::diagnostic::{Diagnostic, Noted};
use crate::forming::pressing::{Effort, NoPressing, Pressing, Progress, Stage, Task};
use crate::job::Job;
use crate::part::Part;
use clap::{Args, ValueEnum};
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::Path;

/// How the dies are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Springback {
    /// Calculate the pressing on the fine mesh and bend the dies until the plate comes out as drawn: seconds.
    Pressed,
    /// The same on the coarse mesh: an estimate.
    Quick,
    /// Each bend by its springback factor, no pressing calculated: at once, and less true.
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
    /// How the dies make up for springback.
    #[arg(long, value_enum, default_value = "pressed", value_name = "HOW")]
    pub springback: Springback,
    /// Whether an earlier result may be used.
    #[command(flatten)]
    pub fresh: Fresh,
}

/// Shows on a line how far a search is, and never ends it.
pub fn watching(line: &mut terminal::Line) -> impl FnMut(&Progress) -> ControlFlow<()> + '_ {
    |progress| {
        line.show(&progress_words(progress));
        ControlFlow::Continue(())
    }
}

/// How far a search is, in words for one line.
fn progress_words(progress: &Progress) -> String {
    let what = match progress.stage {
        Stage::Quick => "coarse mesh",
        Stage::Full => "fine mesh",
        Stage::Changes => "what inputs change",
    };
    let mut words = format!(
        "press {}, {what}, {:.2} mm to close",
        progress.press,
        progress.lifted_mm.max(0.0)
    );
    if let (Some(deg), Some(mm)) = (progress.worst_deg, progress.worst_mm) {
        let _ = write!(words, "; worst so far {deg:.2}°, {mm:.3} mm");
    }
    words
}

/// The dies that make a part, with a line about the search for them.
fn found(
    part: &Part,
    effort: Effort,
    fresh: Fresh,
    line: &mut terminal::Line,
) -> Result<Pressing, NoPressing> {
    kept::search(&Task::of(part)?, effort, fresh, &mut watching(line))
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
    let mut search =
        |task: &Task| kept::search(task, Effort::Quick, how.fresh, &mut watching(&mut line));
    Job::found(part, found, Some(&mut search))
        .map_err(|stopped| Failure::from(Trouble::new(stopped.to_string())))
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
    let mut search =
        |task: &Task| kept::search(task, Effort::Quick, how.fresh, &mut watching(&mut line));
    read::part_or(path, Some(&mut search))
}

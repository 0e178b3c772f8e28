//! `coldstep check`: can it be built, and how far is each board part from the metal?

use crate::change::Way;
use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::springback::{self, HowPressed};
use crate::cli::io::rewrite;
use crate::cli::io::source::Source;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, verdict};
use crate::document::Media;
use crate::document::defaults::defaults;
use crate::document::gaps::gaps;
use crate::document::press::came_out_flats;
use crate::result::{self, Found, Gaps, Verb};
use clap::Args;
use std::path::PathBuf;

/// Flags of `check`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep check plate.toml\n  \
    YES: \"starter plate\" can be made, walls within ...\n  \
    ...\n\n\
    The verdict is NO when the plate cannot be made like this, also for another reason than its gaps.",
    One::Verdict
))]
pub struct Check {
    /// Part file; `-` for standard input.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    /// Write advice N, numbered [N] in the answer, into the part file; its comments stay.
    #[arg(long, value_name = "N")]
    apply: Option<usize>,
}

impl Check {
    /// The change of the number that was asked for, written into the part file.
    fn applied(&self, source: &Source, ways: &[&Way]) -> Result<Answer, Failure> {
        rewrite::apply(&self.part, source, ways, self.apply.unwrap_or_default())
    }
}

impl Run for Check {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = match springback::part(&self.part, &self.how) {
            Err(Failure::Refused { source, findings }) if self.apply.is_some() => {
                let ways: Vec<_> = findings.iter().flat_map(|found| &found.ways).collect();
                return self.applied(&source, &ways);
            }
            other => other?,
        };
        let job = springback::job(part, warnings, &self.how)?;
        if self.apply.is_some() {
            let verdict = job.verdict();
            return self.applied(&source, &verdict.changes().collect::<Vec<_>>());
        }
        let (part, pressing) = (&job.part, job.pressing.as_ref());
        let mut said = gaps(part, &job.fit, pressing);
        if let Some(pressing) = pressing {
            said.heading(Media::ALL, "Pressing")
                .join(came_out_flats(pressing));
        }
        said.join(defaults(&part.defaults));
        let text = format!("\n{}", terminal::document(&said));
        let found = Found {
            gaps: Some(Gaps::of(&job)),
            press: Some(result::Press::of(&job)),
            ..Found::about(Verb::Check, &job, Some(&source))
        };
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

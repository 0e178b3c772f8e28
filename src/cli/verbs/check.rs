//! `coldstep check`: can it be built, and how far is each board part from the metal?

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::springback::{self, HowPressed};
use crate::cli::io::read;
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
}

impl Run for Check {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let job = springback::job(part, warnings, &self.how)?;
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

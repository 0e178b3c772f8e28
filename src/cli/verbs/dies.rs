//! `coldstep dies`: the pair that presses the plate.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, said, write};
use crate::cli::flags::springback;
use crate::cli::flags::springback::HowPressed;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, verdict};
use crate::document;
use crate::output::folder::die_files;
use crate::result::{self, Found, Verb};
use clap::Args;
use std::path::PathBuf;

/// Flags of `dies`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep dies plate.toml\n  \
    YES: \"starter plate\" can be made, walls within ...\n  \
    ...\n\n\
    With --out DIR it writes both blocks as STL, 3MF and STEP, and three pictures. The verdict is NO \
    when the plate cannot be made like this; the reasons say what would help.",
    One::Verdict
))]
pub struct Dies {
    /// Part file; `-` for standard input.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    #[command(flatten)]
    output: Output,
}

impl Run for Dies {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let job = springback::job(part, warnings, &self.how)?;
        let mut found = Found {
            dies: Some(result::Dies::of(&job, Some(&source))),
            ..Found::about(Verb::Dies, &job, Some(&source))
        };
        let document = document::dies::dies(&job);
        let text = if job.tooling.is_ok() {
            let written = write(&self.output, die_files(&job))?;
            found.files = listed(&written);
            said(
                &document,
                &written,
                "lower.stl, upper.stl, dies.3mf for both, lower.step, upper.step, dies.svg, states.svg and dies.png",
            )
        } else {
            terminal::document(&document)
        };
        let text = format!("\n{text}");
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

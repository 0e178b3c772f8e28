//! `coldstep press`: what comes out of the vise.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, said, write};
use crate::cli::flags::springback::{self, HowPressed, Springback};
use crate::cli::io::kept::Fresh;
use crate::cli::io::source::Source;
use crate::cli::io::{files, read, terminal};
use crate::cli::{Answer, Failure, Run, verdict};
use crate::document::press::{not_pressed, press};
use crate::forming::pressing::NoPressing;
use crate::job::Job;
use crate::output::folder::press_files;
use crate::result::catalogue::PRESS_FILES;
use crate::result::{self, Found, Verb};
use clap::Args;
use std::path::PathBuf;

/// Flags of `press`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep press plate.toml --quick\n  \
    YES, IF the fine mesh agrees: \"starter plate\" can be made, ...\n  \
    ...\n\n\
    It presses the sheet in section, measures what springback leaves short, overbends the dies and \
    presses again. With --out DIR it writes pressed.svg, force.svg, closing.svg and closing_frames.svg. \
    The verdict is NO when the plate cannot be made like this; the reasons say what would help.",
    One::Verdict
))]
pub struct Press {
    /// Part file; `-` for standard input.
    part: PathBuf,
    /// Coarse mesh only: an estimate in a few seconds.
    #[arg(long)]
    quick: bool,
    #[command(flatten)]
    fresh: Fresh,
    #[command(flatten)]
    output: Output,
}

impl Run for Press {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        if let Some(out) = &self.output.out {
            let names = PRESS_FILES.map(|(name, _)| name);
            files::may_write(out, &names, self.output.replace())?;
        }
        let how = HowPressed {
            springback: if self.quick {
                Springback::Quick
            } else {
                Springback::Pressed
            },
            fresh: self.fresh,
        };
        let job = springback::job(part, warnings, &how)?;
        let Some(pressing) = &job.pressing else {
            return Ok(without(&job, source));
        };
        let written = write(&self.output, Ok(press_files(&job.part, pressing)))?;
        let found = Found {
            files: listed(&written),
            ..found(&job, &source)
        };
        let text = said(
            &press(&job.part, pressing),
            &written,
            "pressed.svg, force.svg, closing.svg and closing_frames.svg",
        );
        let text = format!("\n{text}");
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

/// The document of the verb.
fn found(job: &Job, source: &Source) -> Found {
    Found {
        press: Some(result::Press::of(job)),
        ..Found::about(Verb::Press, job, Some(source))
    }
}

/// The answer where there is no pressing: nothing is bent, the plate cannot be pressed so, or the calculation came to no end.
fn without(job: &Job, source: Source) -> Answer {
    let reason = job.no_pressing.as_ref().unwrap_or(&NoPressing::Flat);
    let text = format!("\n{}", terminal::document(&not_pressed(reason)));
    let found = found(job, &source);
    verdict::answer(job, &text, &found, Some(source))
}

//! `coldstep blank`: what to cut, and where to bend it.

use crate::blank::blank_by;
use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, said, write};
use crate::cli::flags::printing::HowPrinted;
use crate::cli::flags::springback::{self, HowPressed};
use crate::cli::io::read;
use crate::cli::{Answer, Failure, Run};
use crate::document;
use crate::job::k_rule;
use crate::output::folder::blank_files;
use crate::result::{Finding, Found, PartRead, Verb};
use clap::Args;
use std::path::PathBuf;

/// Flags of `blank`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep blank plate.toml\n  \
    Cut 40.45 x 32.00 mm from 1 mm soft copper.\n  \
    ...\n\n\
    With --out DIR it writes template.pdf, blank.svg and blank.dxf, all at true size, and plate.step, \
    the formed plate. Print the template at 100 % and measure its rulers; if they are not 100 mm, say \
    what they are: --printer-scale 99.4x100.2",
    One::Part
))]
pub struct Blank {
    /// Part file; `-` for standard input.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    #[command(flatten)]
    printed: HowPrinted,
    #[command(flatten)]
    output: Output,
}

impl Run for Blank {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, mut warnings, source) = read::part(&self.part)?;
        // What keeps the dies from being made is no matter of the blank.
        let pressing = springback::pressing(&part, &self.how)?;
        let noted = blank_by(&part, &k_rule(&part, pressing.as_ref()));
        warnings.extend(noted.notes);
        let blank = noted.value;
        let written = write(
            &self.output,
            blank_files(&part, &blank, &self.printed.printing()),
        )?;
        let found = Found {
            part: Some(PartRead::of(&part)),
            blank: Some(blank.clone()),
            files: listed(&written),
            ..Found::new(Verb::Blank, true, Finding::all(&warnings, Some(&source)))
        };
        let text = said(
            &document::blank::blank(&part, &blank),
            &written,
            "template.pdf, blank.svg, blank.dxf and plate.step",
        );
        Ok(Answer {
            brief: text.split_inclusive('\n').take(1).collect(),
            text,
            document: found.to_json(),
            good: true,
            warnings,
            source: Some(source),
        })
    }
}

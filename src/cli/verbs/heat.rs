//! `coldstep heat`: what the new plate buys, and why.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{listed, said, write};
use crate::cli::flags::springback::{self, HowPressed};
use crate::cli::io::source::Source;
use crate::cli::io::{files, read, terminal};
use crate::cli::{Answer, Failure, Run, verdict};
use crate::document;
use crate::fit::Underside;
use crate::heat::heat;
use crate::job::{Job, underside};
use crate::output::folder::heat_files;
use crate::part::{DefaultUsed, Part};
use crate::result::catalogue::HEAT_FILES;
use crate::result::{self, Found, Verb};
use clap::Args;
use std::path::PathBuf;

/// Flags of `heat`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep heat plate.toml\n  \
    YES: \"starter plate\" can be made, walls within ...\n  \
    ...\n  \
    Temperatures inside the parts, °C\n  \
    ...\n\n\
    It needs heat_w for the parts that get hot and a [[heat_pipe]] that carries the heat away; with an \
    [old_plate] it says what the new plate changes. With --out DIR it writes heat_map.svg, heat_parts.svg, \
    heat_ladder.svg and heat_pads.svg. The verdict is NO when a part or a heat pipe exceeds its limit, or \
    when the plate cannot be made like this; a file that says nothing about heat is refused.",
    One::Verdict
))]
pub struct HeatVerb {
    /// Part file; `-` for standard input.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    #[command(flatten)]
    output: Output,
}

impl Run for HeatVerb {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        if let Some(out) = &self.output.out {
            let names = HEAT_FILES.map(|(name, _)| name);
            files::may_write(out, &names, self.output.replace())?;
        }
        let job = springback::job(part, warnings, &self.how)?;
        let (part, pressed) = (&job.part, job.pressing.is_some());
        let Some(heat) = &job.heat else {
            return without(&job, source);
        };
        let written = write(&self.output, Ok(heat_files(part, heat)))?;
        let found = Found {
            heat: Some(result::Heat::of(&job, Some(&source))),
            files: listed(&written),
            ..Found::about(Verb::Heat, &job, Some(&source))
        };
        let mut document = document::heat::heat(heat, pressed);
        document.join(document::defaults::defaults(&defaults(part)));
        let text = said(
            &document,
            &written,
            "heat_map.svg, heat_parts.svg, heat_ladder.svg and heat_pads.svg",
        );
        let text = format!("\n{text}");
        Ok(verdict::answer(&job, &text, &found, Some(source)))
    }
}

/// Where there are no temperatures: the verdict with the reasons; a file that says nothing about heat is refused.
fn without(job: &Job, source: Source) -> Result<Answer, Failure> {
    if job.no_heat.is_empty() {
        let underside = underside(&job.part, job.pressing.as_ref());
        let refused = heat(&job.part, &underside, Underside::drawn).err();
        return Err(Failure::Refused {
            source: Box::new(source),
            findings: refused.map_or_else(Vec::new, |refused| refused.0),
        });
    }
    let found = Found {
        heat: Some(result::Heat::of(job, Some(&source))),
        ..Found::about(Verb::Heat, job, Some(&source))
    };
    let text = terminal::document(&document::heat::no_temperatures(&job.no_heat));
    Ok(verdict::answer(
        job,
        &format!("\n{text}"),
        &found,
        Some(source),
    ))
}

/// Defaults that have to do with heat.
fn defaults(part: &Part) -> Vec<DefaultUsed> {
    const ABOUT: [&str; 10] = [
        "heat.",
        "heat_pipe",
        "old_plate",
        "junction_to",
        "conductivity",
        "contact",
        "void_percent",
        "effective",
        "heat_w",
        "evaporation",
    ];
    part.defaults
        .iter()
        .filter(|default| ABOUT.iter().any(|word| default.key.contains(word)))
        .cloned()
        .collect()
}

//! `coldstep new`: a part file to start from.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::io::files;
use crate::cli::io::files::{NewFile, Replace};
use crate::cli::io::source::{is_standard, shown};
use crate::cli::{Answer, Failure, Run, Trouble};
use crate::part::starter::{self, STARTER, Shape};
use crate::result::{Found, Verb};
use clap::builder::RangedU64ValueParser;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Flags of `new`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example:\n  \
    $ coldstep new plate.toml\n  \
    plate.toml is written: an invented plate, ...\n  \
    ...\n  \
    $ coldstep new bridge.toml --steps 2 --like up-down\n  \
    bridge.toml is written: ...\n  \
    ...\n\n\
    Its plate is invented, and `coldstep check` says that it can be made: change it line by line into yours.",
    One::Never
))]
pub struct New {
    /// Part file to write; `-` for standard output.
    file: PathBuf,
    /// Replace the file if there is one.
    #[arg(long)]
    force: bool,
    /// Draw a plate of so many steps instead, 1 to 4.
    #[arg(long, value_name = "N", value_parser = steps())]
    steps: Option<u8>,
    /// Which way they step, from left to right.
    #[arg(
        long,
        value_enum,
        default_value = "rising",
        value_name = "SHAPE",
        requires = "steps"
    )]
    like: Like,
}

/// How many steps there may be.
fn steps() -> RangedU64ValueParser<u8> {
    let (least, most) = starter::STEPS.into_inner();
    RangedU64ValueParser::new().range(u64::from(least)..=u64::from(most))
}

/// Which way the steps go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Like {
    /// Every step up.
    Rising,
    /// Every step down.
    Falling,
    /// The first one up, the next one down, and so on: with two steps the middle is high.
    UpDown,
    /// The first one down, the next one up, and so on: with two steps the middle is low.
    DownUp,
}

impl New {
    /// The part file.
    fn starter(&self) -> String {
        let shape = match self.like {
            Like::Rising => Shape::Rising,
            Like::Falling => Shape::Falling,
            Like::UpDown => Shape::UpDown,
            Like::DownUp => Shape::DownUp,
        };
        self.steps
            .map_or_else(|| STARTER.to_owned(), |steps| starter::of(shape, steps))
    }
}

impl Run for New {
    fn is_text_only(&self) -> bool {
        is_standard(&self.file)
    }

    fn run(&self) -> Result<Answer, Failure> {
        if is_standard(&self.file) {
            return Ok(Answer::product(self.starter()));
        }
        let file = shown(&self.file);
        let folder = match self.file.parent() {
            Some(parent) if parent != Path::new("") => parent,
            _ => Path::new("."),
        };
        let name = self.file.file_name().and_then(|name| name.to_str());
        let Some(name) = name.filter(|_| !self.file.is_dir()) else {
            return Err(
                Trouble::new(format!("{file} is a folder or no name for a file"))
                    .help("give a name such as plate.toml")
                    .file(file)
                    .into(),
            );
        };
        if !folder.is_dir() {
            return Err(
                Trouble::new(format!("there is no folder {}", shown(folder)))
                    .help("make the folder first, or leave it out to write here")
                    .file(file)
                    .into(),
            );
        }
        let starter = NewFile {
            name: name.to_owned(),
            bytes: self.starter().into_bytes(),
        };
        let replace = if self.force {
            Replace::Any
        } else {
            Replace::Nothing
        };
        files::write(folder, &[starter], replace)?;
        let about = if self.steps.is_some() {
            "an invented plate of this kind, with a word on most of what a part file may say"
        } else {
            "an invented plate, with a word on everything a part file may say"
        };
        Ok(Answer {
            brief: String::new(),
            text: format!(
                "{file} is written: {about}.\n\
                 \n\
                 Next:\n  \
                 1. coldstep check {file}\n     \
                 shows the gaps of the invented plate\n  \
                 2. Open {file} in a text editor and put in what your callipers say: sheet, flats,\n     \
                 board parts. Delete what you do not have.\n  \
                 3. coldstep check {file}\n     \
                 says whether every part of your board has its pad or its distance\n"
            ),
            document: Found {
                files: Some(vec![file.clone()]),
                ..Found::new(Verb::New, true, Vec::new())
            }
            .to_json(),
            good: true,
            warnings: Vec::new(),
            source: None,
        })
    }
}

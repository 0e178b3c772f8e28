//! `coldstep new`: a part file to start from.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::io::files;
use crate::cli::io::files::{NewFile, Replace};
use crate::cli::io::source::{is_standard, shown};
use crate::cli::{Answer, Failure, Run, Trouble};
use crate::part;
use crate::result::{Found, Verb};
use clap::Args;
use std::path::{Path, PathBuf};

/// Flags of `new`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example:\n  \
    $ coldstep new plate.toml\n  \
    plate.toml is written: an invented plate, with a word on everything a part file may say.\n  \
    ...",
    One::Never
))]
pub struct New {
    /// Part file to write; `-` for standard output.
    file: PathBuf,
    /// Replace the file if there is one.
    #[arg(long)]
    force: bool,
}

impl Run for New {
    fn is_text_only(&self) -> bool {
        is_standard(&self.file)
    }

    fn run(&self) -> Result<Answer, Failure> {
        if is_standard(&self.file) {
            return Ok(Answer::product(part::starter::STARTER));
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
            bytes: part::starter::STARTER.into(),
        };
        let replace = if self.force {
            Replace::Any
        } else {
            Replace::Nothing
        };
        files::write(folder, &[starter], replace)?;
        Ok(Answer {
            brief: String::new(),
            text: format!(
                "{file} is written: an invented plate, with a word on everything a part file may say.\n\
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

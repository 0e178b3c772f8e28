//! `coldstep make`: everything for one part into one folder.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::flags::output::new_files;
use crate::cli::flags::printing::HowPrinted;
use crate::cli::flags::springback;
use crate::cli::flags::springback::HowPressed;
use crate::cli::io::files;
use crate::cli::io::files::NewFile;
use crate::cli::io::open::open;
use crate::cli::io::read;
use crate::cli::io::source::is_standard;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, verdict};
use crate::document::answer::below_the_verdict;
use crate::output::folder::{folder, result};
use crate::result::catalogue::all_files;
use clap::Args;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Flags of `make`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep make plate.toml\n  \
    YES: \"starter plate\" can be made, walls within ...\n  \
    ...\n\n\
    The files go into out/NAME, after the name of the part file; report.html there shows them all, and \
    --open shows it in your browser.",
    One::Verdict
))]
pub struct Make {
    /// Part file; `-` for standard input.
    part: PathBuf,
    #[command(flatten)]
    how: HowPressed,
    #[command(flatten)]
    printed: HowPrinted,
    /// Folder for the files; made if it is missing. Default: out/NAME after the part file, out/part for standard input.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Replace files in it even if coldstep did not write them.
    #[arg(long)]
    force: bool,
    /// Show the report in your browser when it is written.
    #[arg(long)]
    open: bool,
}

impl Run for Make {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let job = springback::job(part, warnings, &self.how)?;
        let mut files = new_files(folder(&job, &self.printed.printing()))?;
        let out = self.out.clone().unwrap_or_else(|| default_out(&self.part));
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        let found = result(&job, &names, Some(&source));
        let mut answer = verdict::answer(&job, "", &found, Some(source));
        files.push(NewFile {
            name: "result.json".to_owned(),
            bytes: answer.document.clone().into_bytes(),
        });
        let replace = if self.force {
            files::Replace::Any
        } else {
            files::Replace::Ours
        };
        let all: Vec<&str> = all_files().map(|(name, _)| name).collect();
        let written = files::write_and_clear(&out, &files, &all, replace)?;
        let _ = write!(
            answer.text,
            "\n{}\nWRITTEN {} files; open {} first\n",
            terminal::summary(&below_the_verdict(&job)),
            written.len(),
            written.first().map_or("", String::as_str)
        );
        if self.open {
            open(written.first().map_or("", String::as_str));
        }
        Ok(answer)
    }
}

/// Name of the folder below `out` for a part file that has no name.
const UNNAMED: &str = "part";

/// out/NAME, where NAME is the part file's name without its ending.
fn default_out(part: &Path) -> PathBuf {
    if is_standard(part) {
        return Path::new("out").join(UNNAMED);
    }
    let stem = part.file_stem().map_or(UNNAMED.as_ref(), |stem| stem);
    Path::new("out").join(stem)
}

//! The command line: flags in, library call, words and files out. Nothing below knows it exists.
//!
//! A verb is one file with a `clap::Args` struct that implements [`Run`], one arm in [`args::Verb`] and
//! one line in its dispatch. It returns an [`Answer`] or a [`Failure`] and never prints: [`run`] does,
//! so that every verb treats `--json`, warnings, closed pipes and exit codes alike.

pub mod answer;
pub mod args;
pub mod flags;
pub mod io;
pub mod json;
pub mod verdict;
pub mod verbs;

pub use answer::{Answer, Exit, Failure, Run, Trouble};

use args::Cli;
use clap::Parser;
use flags::color::Color;
use io::{interrupt, render, terminal};
use std::ffi::OsString;
use std::io::{self as streams, ErrorKind};

/// Runs one command line, program name first, and returns its exit code.
pub fn run(args: impl IntoIterator<Item = OsString>) -> u8 {
    let args: Vec<OsString> = args.into_iter().collect();
    let cli = match Cli::try_parse_from(&args) {
        Ok(cli) => cli,
        Err(error) => {
            Color::asked(&args).choose();
            // Help and version come this way too.
            let exit = u8::try_from(error.exit_code()).unwrap_or(Exit::Trouble.code());
            return heard(error.print(), exit);
        }
    };
    interrupt::end_cleanly();
    cli.color.choose();
    if cli.quiet {
        terminal::be_quiet();
    }
    let (name, verb) = cli.verb.parts();
    let result = if cli.json && verb.is_text_only() {
        Err(
            Trouble::new("this goes to standard output as it is, not as a JSON document")
                .help("leave out --json")
                .into(),
        )
    } else {
        verb.run()
    };
    let (said, exit) = match &result {
        Ok(answer) => (
            match (cli.json, cli.quiet) {
                (true, _) => answer.document.clone(),
                (false, true) => answer.brief.clone(),
                (false, false) => answer.text.clone(),
            },
            answer.exit(),
        ),
        Err(failure) => (
            if cli.json {
                json::failure(name, failure)
            } else {
                String::new()
            },
            failure.exit(),
        ),
    };
    let said = terminal::say(&said);
    terminal::warn(&match &result {
        Ok(_) if cli.quiet => String::new(),
        Ok(answer) => render::warnings(answer),
        Err(failure) => render::failure(failure),
    });
    heard(said, exit.code())
}

/// The exit code of a run whose answer was written, or could not be.
fn heard(said: streams::Result<()>, code: u8) -> u8 {
    match said {
        Ok(()) => code,
        // A reader that has seen what it wanted needs no words, but who asks for the code learns that it was not the end.
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Exit::NobodyListens.code(),
        Err(error) => {
            let trouble = Trouble::new(format!("the answer could not be written: {error}"))
                .help("look at where the output goes, for example whether the disk is full");
            terminal::warn(&render::trouble(&trouble));
            Exit::Trouble.code()
        }
    }
}

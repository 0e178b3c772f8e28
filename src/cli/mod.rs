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
use io::{render, terminal};
use std::ffi::OsString;

/// Runs one command line, program name first, and returns its exit code.
pub fn run(args: impl IntoIterator<Item = OsString>) -> u8 {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version come this way too; where they cannot be printed nobody is listening.
            let _ = error.print();
            return u8::try_from(error.exit_code()).unwrap_or(Exit::Trouble.code());
        }
    };
    let (name, verb) = cli.verb.parts();
    let result = verb.run();
    let (said, exit) = match &result {
        Ok(answer) => (
            if cli.json {
                answer.document.clone()
            } else {
                answer.text.clone()
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
    let heard = terminal::say(&said);
    terminal::warn(&match &result {
        Ok(answer) => render::warnings(answer),
        Err(failure) => render::failure(failure),
    });
    match heard {
        Ok(()) => exit.code(),
        Err(error) => {
            let trouble = Trouble::new(format!("the answer could not be written: {error}"))
                .help("look at where the output goes, for example whether the disk is full");
            terminal::warn(&render::trouble(&trouble));
            Exit::Trouble.code()
        }
    }
}

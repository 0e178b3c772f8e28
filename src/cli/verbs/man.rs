//! `coldstep man`: the manual page of the program or of a verb.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::{Answer, Failure, Run, Trouble};
use clap::{Args, Command};

/// Flags of `man`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example:\n  \
    $ coldstep man check\n  \
    ...\n\n\
    To read it: coldstep man check | man -l -\n\
    To keep it: save it as coldstep-check.1, and the page without a verb as coldstep.1, in \
    ~/.local/share/man/man1.",
    One::Never
))]
pub struct Man {
    /// Verb that the page is about; without one it is about coldstep.
    verb: Option<String>,
}

impl Man {
    /// The page of a command line.
    pub fn of(&self, command: Command) -> Page<'_> {
        Page {
            verb: self.verb.as_deref(),
            command,
        }
    }
}

/// A page that is asked for, and the command line that it describes.
#[derive(Debug)]
pub struct Page<'a> {
    verb: Option<&'a str>,
    command: Command,
}

impl Run for Page<'_> {
    fn is_text_only(&self) -> bool {
        true
    }

    fn run(&self) -> Result<Answer, Failure> {
        // The page is a file: it says the version that other files say, and no commit.
        let mut command = self
            .command
            .clone()
            .version(env!("CARGO_PKG_VERSION"))
            .disable_help_subcommand(true);
        command.build();
        let about = match self.verb {
            None => &command,
            Some(verb) => command.find_subcommand(verb).ok_or_else(|| {
                let verbs = command.get_subcommands().map(Command::get_name);
                let verbs: Vec<&str> = verbs.collect();
                Trouble::new("there is no verb of this name")
                    .help(format!("write one of {}", verbs.join(", ")))
            })?,
        };
        let mut page = Vec::new();
        clap_mangen::Man::new(about.clone())
            .render(&mut page)
            .map_err(|error| {
                Trouble::new(format!("the page could not be made: {error}"))
                    .help("this is a fault of coldstep: please report it")
            })?;
        Ok(Answer::product(String::from_utf8_lossy(&page)))
    }
}

//! `coldstep completions`: what a shell needs to complete verbs and flags.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::{Answer, Failure, Run};
use clap::{Args, Command};
use clap_complete::{Shell, generate};

/// Flags of `completions`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example:\n  \
    $ coldstep completions bash\n  \
    ...\n\n\
    Save it where your shell looks: ~/.local/share/bash-completion/completions/coldstep for bash, \
    ~/.config/fish/completions/coldstep.fish for fish, _coldstep in a folder of $fpath for zsh; \
    PowerShell and Elvish take it in their start file.",
    One::Never
))]
pub struct Completions {
    /// Shell to complete in.
    shell: Shell,
}

impl Completions {
    /// The script for a command line.
    pub fn of(&self, command: Command) -> Script {
        Script {
            shell: self.shell,
            command,
        }
    }
}

/// A script that is asked for, and the command line that it completes.
#[derive(Debug)]
pub struct Script {
    shell: Shell,
    command: Command,
}

impl Run for Script {
    fn is_text_only(&self) -> bool {
        true
    }

    fn run(&self) -> Result<Answer, Failure> {
        let mut command = self.command.clone();
        let name = command.get_name().to_owned();
        let mut script = Vec::new();
        generate(self.shell, &mut command, name, &mut script);
        Ok(Answer::product(String::from_utf8_lossy(&script)))
    }
}

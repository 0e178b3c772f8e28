//! What may stand on the command line.

use super::Run;
use super::verbs::{blank, check, dies, heat, make, new, press, schema};
use crate::result;
use clap::{Parser, Subcommand};

/// Makes stepped cold plates for heat-pipe coolers: from calliper measurements to gaps, a flat blank and
/// press dies to print.
#[derive(Debug, Parser)]
#[command(
    version,
    arg_required_else_help = true,
    infer_subcommands = false,
    after_help = "Begin with `coldstep new plate.toml`, write your measurements into it, then run \
                  `coldstep check plate.toml`.\n\n\
                  Exit codes: 0 done; 1 the part is refused or a check fails; 2 usage or file trouble."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
    /// Print one JSON document instead of text.
    #[arg(long, global = true)]
    pub json: bool,
}

/// What coldstep can do.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Write a part file to start from.
    New(new::New),
    /// See how far every board part is from the plate, and whether its pad fits.
    Check(check::Check),
    /// See what flat blank to cut and where to bend it.
    Blank(blank::Blank),
    /// See what comes out of the vise, and what force it takes.
    Press(press::Press),
    /// See the die pair that presses it, and whether it opens, prints and fits the vise.
    Dies(dies::Dies),
    /// See what the new plate does to temperatures, and what would do more.
    Heat(heat::HeatVerb),
    /// Make everything into one folder: answer, pictures, blank, dies.
    Make(make::Make),
    /// Print the JSON Schema of what coldstep reads or writes.
    Schema(schema::Schema),
}

impl Verb {
    /// Its name, as in the JSON document, and the work behind it.
    pub fn parts(&self) -> (result::Verb, &dyn Run) {
        match self {
            Self::New(verb) => (result::Verb::New, verb),
            Self::Check(verb) => (result::Verb::Check, verb),
            Self::Blank(verb) => (result::Verb::Blank, verb),
            Self::Press(verb) => (result::Verb::Press, verb),
            Self::Dies(verb) => (result::Verb::Dies, verb),
            Self::Heat(verb) => (result::Verb::Heat, verb),
            Self::Make(verb) => (result::Verb::Make, verb),
            Self::Schema(verb) => (result::Verb::Schema, verb),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_flags_do_not_contradict_each_other() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_verb_has_an_example_in_its_help() {
        for verb in Cli::command().get_subcommands() {
            let help = verb.get_after_help().map(ToString::to_string);
            assert!(
                help.is_some_and(|help| help.contains("  $ coldstep ")),
                "{}",
                verb.get_name()
            );
        }
    }
}

//! What may stand on the command line.

use super::Run;
use super::flags::color::Color;
use super::flags::ending::{One, with_exit_codes};
use super::verbs::{blank, check, completions, dies, heat, make, man, new, press, schema};
use crate::result;
use clap::{CommandFactory, Parser, Subcommand};

/// What `--version` says: with the commit in a release that was built from a checkout. Nothing else says it.
const VERSION: &str = match option_env!("COLDSTEP_VERSION") {
    Some(version) => version,
    None => env!("CARGO_PKG_VERSION"),
};

/// Makes stepped cold plates for heat-pipe coolers: from calliper measurements to gaps, a flat blank and
/// press dies to print.
#[derive(Debug, Parser)]
#[command(
    version = VERSION,
    arg_required_else_help = true,
    infer_subcommands = false,
    max_term_width = 80,
    after_help = with_exit_codes(
        "Begin with `coldstep new plate.toml`, write your measurements into it, then run \
         `coldstep check plate.toml`.",
        One::Verdict
    )
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
    /// Print one JSON document instead of text.
    #[arg(long, global = true)]
    pub json: bool,
    /// Print only the line of the verdict, and errors.
    #[arg(long, global = true)]
    pub quiet: bool,
    /// Colour the verdict and headings.
    #[arg(
        long,
        global = true,
        value_enum,
        default_value = "auto",
        value_name = "WHEN"
    )]
    pub color: Color,
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
    /// Print the JSON Schema of a part file, for editors, or of what coldstep writes.
    Schema(schema::Schema),
    /// Print what completes verbs and flags in a shell.
    Completions(completions::Completions),
    /// Print the manual page of coldstep or of a verb.
    Man(man::Man),
}

impl Verb {
    /// Its name, as in the JSON document, and the work behind it.
    pub fn parts(&self) -> (result::Verb, Box<dyn Run + '_>) {
        match self {
            Self::New(verb) => (result::Verb::New, Box::new(verb)),
            Self::Check(verb) => (result::Verb::Check, Box::new(verb)),
            Self::Blank(verb) => (result::Verb::Blank, Box::new(verb)),
            Self::Press(verb) => (result::Verb::Press, Box::new(verb)),
            Self::Dies(verb) => (result::Verb::Dies, Box::new(verb)),
            Self::Heat(verb) => (result::Verb::Heat, Box::new(verb)),
            Self::Make(verb) => (result::Verb::Make, Box::new(verb)),
            Self::Schema(verb) => (result::Verb::Schema, Box::new(verb)),
            Self::Completions(verb) => {
                (result::Verb::Completions, Box::new(verb.of(Cli::command())))
            }
            Self::Man(verb) => (result::Verb::Man, Box::new(verb.of(Cli::command()))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_flags_do_not_contradict_each_other() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_verb_has_an_example_in_its_help_and_ends_with_the_exit_codes() {
        for verb in Cli::command().get_subcommands() {
            let help = verb.get_after_help().map(ToString::to_string);
            let help = help.unwrap_or_default();
            assert!(help.contains("  $ coldstep "), "{}", verb.get_name());
            let last = help.lines().last().unwrap_or_default();
            assert!(last.starts_with("Exit codes: 0 "), "{}", verb.get_name());
        }
    }
}

//! `coldstep schema`: what coldstep reads and writes, as JSON Schema.

use crate::cli::flags::ending::{One, with_exit_codes};
use crate::cli::{Answer, Failure, Run};
use crate::part;
use crate::result::schema::result_schema;
use clap::{Args, ValueEnum};

/// Flags of `schema`.
#[derive(Debug, Args)]
#[command(after_help = with_exit_codes(
    "Example:\n  \
    $ coldstep schema part\n  \
    {\n    \
    \"$schema\": \"https://json-schema.org/draft/2020-12/schema\",\n  \
    ...\n\n\
    Editors that know JSON Schema complete and check a part file with that of `part`. That of `result` \
    describes result.json and what every verb prints with --json.",
    One::Never
))]
pub struct Schema {
    /// Schema of what.
    of: Of,
}

/// What there is a schema of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Of {
    /// The part file.
    Part,
    /// The document of a run.
    Result,
}

impl Run for Schema {
    fn run(&self) -> Result<Answer, Failure> {
        let schema = match self.of {
            Of::Part => format!("{:#}\n", part::schema()),
            Of::Result => result_schema(),
        };
        Ok(Answer::product(schema))
    }
}

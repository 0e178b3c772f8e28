//! `coldstep schema`: what coldstep writes, as JSON Schema.

use crate::cli::{Answer, Failure, Run};
use crate::result::schema::result_schema;
use clap::{Args, ValueEnum};

/// Flags of `schema`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    $ coldstep schema result\n  \
    {\n    \
    \"$schema\": \"https://json-schema.org/draft/2020-12/schema\",\n  \
    ...\n\n\
    It describes result.json and what every verb prints with --json.")]
pub struct Schema {
    /// Schema of what.
    of: Of,
}

/// What there is a schema of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Of {
    /// The document of a run.
    Result,
}

impl Run for Schema {
    fn run(&self) -> Result<Answer, Failure> {
        let schema = match self.of {
            Of::Result => result_schema(),
        };
        Ok(Answer {
            text: schema.clone(),
            document: schema,
            good: true,
            warnings: Vec::new(),
            source: None,
        })
    }
}

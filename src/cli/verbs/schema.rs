//! `coldstep schema`: what coldstep reads, as JSON Schema for editors.

use crate::cli::{Answer, Failure, Run};
use crate::part;
use clap::{Args, ValueEnum};
use serde_json::json;

/// Flags of `schema`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    $ coldstep schema part\n  \
    {\n    \
    \"$schema\": \"https://json-schema.org/draft/2020-12/schema\",\n  \
    ...\n\n\
    Written into a file, editors that know JSON Schema complete and check a part file with it.")]
pub struct Schema {
    /// Schema of what.
    of: Of,
}

/// What there is a schema of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Of {
    /// The part file.
    Part,
}

impl Run for Schema {
    fn run(&self) -> Result<Answer, Failure> {
        let schema = match self.of {
            Of::Part => part::schema(),
        };
        Ok(Answer {
            text: format!("{schema:#}\n"),
            part: None,
            fields: vec![("json_schema", json!(schema))],
            good: true,
            warnings: Vec::new(),
            source: None,
        })
    }
}

//! Which of the two blocks.

use schemars::JsonSchema;
use serde::Serialize;

/// Which block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum DieSide {
    /// On the board's side of the plate.
    Lower,
    /// On the far side.
    Upper,
}

impl DieSide {
    /// Word for files and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Lower => "lower",
            Self::Upper => "upper",
        }
    }
}

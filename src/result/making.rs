//! What a maker does and measures: the steps of the build sheet as every medium has them.

use schemars::JsonSchema;
use serde::Serialize;

/// One number to measure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Measurement {
    /// What is measured.
    pub what: String,
    /// With what, and how.
    pub how: String,
    /// What it should be.
    pub expected_mm: f64,
    /// Least that is still good.
    pub from_mm: f64,
    /// Most that is still good.
    pub to_mm: f64,
    /// Why these limits.
    pub why: String,
}

/// A block of a step.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "kind")]
#[schemars(rename = "BuildBlock")]
pub enum Block {
    /// A paragraph.
    Text {
        /// What it says.
        text: String,
    },
    /// Points, one after the other.
    List {
        /// The points.
        items: Vec<String>,
    },
    /// A table.
    Table {
        /// What it shows, for those who cannot see it.
        caption: String,
        /// Heads of its columns.
        head: Vec<String>,
        /// Its rows, as long as the head.
        rows: Vec<Vec<String>>,
    },
    /// Something that can hurt somebody or something.
    Care {
        /// What it says.
        text: String,
    },
}

/// One step.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BuildStep {
    /// What is done.
    pub title: String,
    /// How.
    pub blocks: Vec<Block>,
}

/// All steps.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BuildSheet {
    /// Name of the sheet.
    pub title: String,
    /// Steps in their order.
    pub steps: Vec<BuildStep>,
}

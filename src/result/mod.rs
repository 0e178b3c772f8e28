//! What a run found, as one typed document, and the catalogue of the files that carry it.
//!
//! [`Found`] is the whole document that `make` writes as `result.json`. Every other verb writes the same tree with fewer of
//! its sections; nothing is assembled anywhere else.
//!
//! # Rules
//! - A unit stands in each name: `_mm`, `_deg`, `_n`, `_mpa`, `_w`, `_c`, `_k`, or in its description.
//! - Absent is what was not asked or not calculated; null is what does not exist, as the description of its field says.
//! - What may be missing as a whole says so itself: `state` of `press` and `heat`, `refused` of `dies`.
//! - Sentences end in `_text`; they are for people and may change. Programs read numbers, words of a kind and ids.

pub mod catalogue;
pub mod dies;
pub mod findings;
pub mod gaps;
pub mod heat;
pub mod json;
pub mod making;
pub mod part;
pub mod press;
pub mod schema;
pub mod source;

pub use dies::Dies;
pub use findings::Finding;
pub use gaps::Gaps;
pub use heat::Heat;
pub use json::to_json;
pub use making::{BuildSheet, Measurement};
pub use part::PartRead;
pub use press::Press;
pub use source::Source;

use crate::blank::Blank;
use crate::job::Job;
use crate::mark::MARK;
use crate::verdict::Verdict;
use schemars::JsonSchema;
use serde::Serialize;

/// Version of the document: grows when a field changes its meaning or goes away. A field may be added without.
pub const SCHEMA: u32 = 2;

/// What was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Verb {
    /// Write a part file to start from.
    New,
    /// Gaps.
    Check,
    /// Flat blank.
    Blank,
    /// What comes out of the vise.
    Press,
    /// Die pair.
    Dies,
    /// Temperatures.
    Heat,
    /// Everything.
    Make,
    /// A schema; has a document of this kind only when it fails.
    Schema,
    /// Completions for a shell; the same.
    Completions,
    /// A manual page; the same.
    Man,
}

/// What a run of coldstep found: `result.json` of `make` has all of it, the `--json` of each verb its own sections.
///
/// Lengths are mm, angles degrees, forces N, pressures MPa, temperatures °C and their differences K, heat W. Numbers are rounded
/// to six decimals. A section that is absent was not asked for.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "coldstep result")]
pub struct Found {
    /// Version of this document.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: u32,
    /// What was asked.
    pub verb: Verb,
    /// Says whose file it is: a later run may replace what carries it.
    #[schemars(extend("const" = MARK))]
    pub mark: &'static str,
    /// Whether there is an answer and it is no NO; false goes with an exit code other than 0.
    pub ok: bool,
    /// The part, as it was read. Absent: no part was read, or it is refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<PartRead>,
    /// Can the plate be made?
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Gaps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gaps: Option<Gaps>,
    /// The flat blank.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub blank: Option<Blank>,
    /// The die pair, or why there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dies: Option<Dies>,
    /// What comes out of the vise, or why that is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub press: Option<Press>,
    /// Temperatures, or why there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat: Option<Heat>,
    /// What to measure on the pressed plate, the number that matters most first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measurements: Option<Vec<Measurement>>,
    /// What the maker does, step by step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub build_sheet: Option<BuildSheet>,
    /// What to take care of in all of it, each one sentence.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub care: Option<Vec<String>>,
    /// Files that were written: paths, or names within the folder that this document lies in. Absent: none were.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub files: Option<Vec<String>>,
    /// What a person should know, in the order of the file and of the analyses.
    pub findings: Vec<Finding>,
}

impl Found {
    /// A document without sections.
    pub fn new(verb: Verb, ok: bool, findings: Vec<Finding>) -> Self {
        Self {
            schema: SCHEMA,
            verb,
            mark: MARK,
            ok,
            part: None,
            verdict: None,
            gaps: None,
            blank: None,
            dies: None,
            press: None,
            heat: None,
            measurements: None,
            build_sheet: None,
            care: None,
            files: None,
            findings,
        }
    }

    /// What every document about a part that can be computed with begins with: the part, the verdict, every finding.
    ///
    /// `source` is the part file: with it findings have their places.
    pub fn about(verb: Verb, job: &Job, source: Option<&Source>) -> Self {
        let verdict = job.verdict();
        // Why there is no die pair comes after all other findings.
        let no_dies = job.tooling.as_ref().err().into_iter().flatten();
        let findings = Finding::all(job.notes.iter().chain(no_dies), source);
        Self {
            part: Some(PartRead::of(&job.part)),
            verdict: Some(verdict.clone()),
            ..Self::new(verb, !verdict.is_no(), findings)
        }
    }

    /// Every analysis of a job.
    pub fn of(job: &Job, source: Option<&Source>) -> Self {
        Self {
            gaps: Some(Gaps::of(job)),
            blank: Some(job.blank.clone()),
            dies: Some(Dies::of(job, source)),
            press: Some(Press::of(job)),
            heat: Some(Heat::of(job, source)),
            ..Self::about(Verb::Make, job, source)
        }
    }

    /// The document as text.
    pub fn to_json(&self) -> String {
        to_json(self)
    }
}

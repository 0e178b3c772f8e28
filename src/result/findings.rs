//! What a person should know of a part or a run: one list in every document.

use super::source::Source;
use crate::diagnostic::{Diagnostic, Severity};
use schemars::JsonSchema;
use serde::Serialize;

/// Every id, and what its findings are about; those that begin with `part-` are found while a part file is read.
pub const IDS: &[(&str, &str)] = &[
    ("file", "a file or folder cannot be read or written"),
    ("part-syntax", "a line is not TOML"),
    ("part-unknown-key", "a key that coldstep does not know"),
    ("part-unknown-word", "a word that a key does not take"),
    ("part-unknown-name", "a name that nothing has"),
    ("part-same-name", "two things have one name"),
    ("part-missing", "something needed is not said"),
    ("part-type", "a value of another kind than its key takes"),
    (
        "part-text",
        "a text with letters or of a length that is not taken",
    ),
    ("part-range", "a number outside of what is taken"),
    (
        "part-tolerance",
        "a number whose plus-minus reaches below what can be",
    ),
    ("part-too-many", "more entries than coldstep takes"),
    (
        "part-unit",
        "lengths look as if they were in another unit than millimetres",
    ),
    ("part-said-twice", "two keys say the same thing"),
    ("part-contradiction", "two values cannot both be true"),
    ("part-backwards", "something ends before it begins"),
    (
        "part-outside",
        "something lies outside of what it belongs to",
    ),
    ("part-overlap", "two things are in one place"),
    (
        "part-below-board",
        "an extension plate would reach into the board",
    ),
    (
        "part-misplaced-step",
        "the first flat has a step, but no flat lies before it",
    ),
    (
        "part-flats-cross",
        "a flat begins before the one before it ends",
    ),
    (
        "part-flats-level",
        "two flats after each other lie at one height",
    ),
    (
        "part-flat-too-low",
        "a flat lies below the top of a part under it",
    ),
    (
        "part-step-unbendable",
        "a step cannot be bent with these numbers",
    ),
    (
        "part-radius-may-crack",
        "an inside radius is smaller than the metal likes",
    ),
    (
        "part-not-in-stock",
        "the stock table has no such metal in that temper",
    ),
    ("part-k-table", "a table of K-factors cannot be used"),
    (
        "part-measured-pairs",
        "measured pairs of a pad cannot be used",
    ),
    (
        "part-vise-too-strong",
        "the vise would press harder than bench vises do",
    ),
    ("part-outline", "the outline of the blank cannot be used"),
    ("part-thin-metal", "hardly any metal is left beside a hole"),
    (
        "part-change",
        "a change cannot be written into the part file",
    ),
    ("blank-k-uncertain", "the K-factor of a bend is uncertain"),
    ("blank-hole-in-bend", "a hole lies on a bend or a wall"),
    (
        "blank-hole-near-bend",
        "a hole lies so near a bend that it may distort",
    ),
    (
        "blank-corner-in-bend",
        "the outline has a corner inside a bend",
    ),
    (
        "springback-uncertain",
        "the springback of a bend is uncertain",
    ),
    ("press-nothing-bent", "the plate has no bends"),
    ("press-stopped", "somebody ended the search"),
    (
        "press-dies-are-shells",
        "the dies are printed so empty that they cannot be calculated",
    ),
    (
        "press-no-straight-wall",
        "no straight wall is left between two bends",
    ),
    (
        "press-came-to-no-end",
        "the pressing could not be calculated",
    ),
    (
        "press-vise-too-weak",
        "the vise ends the closing before the sheet is bent",
    ),
    (
        "press-dies-give-way",
        "the printed faces give way before the sheet is bent",
    ),
    (
        "press-not-gripped",
        "part of the sheet is not gripped and tips away",
    ),
    (
        "press-not-believed",
        "a guard refuses the calculated pressing",
    ),
    (
        "dies-size-error",
        "the size error of the printer is as large as the sheet is thick",
    ),
    ("dies-no-faces", "the faces of the dies do not exist"),
    (
        "dies-nose-too-sharp",
        "a nose would have no radius worth printing",
    ),
    ("dies-do-not-open", "the pair would not open"),
    (
        "dies-pins-late",
        "the pins engage only after the blank is touched",
    ),
    (
        "dies-no-pins",
        "there are no pins, because the end stops are off",
    ),
    (
        "dies-narrow-for-pins",
        "there are no pins, because the blocks are narrow",
    ),
    ("dies-no-marks", "a block has no room for engraved marks"),
    (
        "dies-fault",
        "a block cannot be meshed: a fault of coldstep",
    ),
    ("dies-bed-too-small", "a block fits the bed in no pose"),
    (
        "dies-rib-too-narrow",
        "a rib is narrower than the nozzle can print",
    ),
    (
        "dies-vise-too-small",
        "the open pair does not go into the vise",
    ),
    (
        "dies-nose-printed-rounder",
        "the nozzle prints a nose rounder than it is",
    ),
    ("heat-no-pipe", "there is no heat pipe"),
    ("heat-no-heat", "no part says what heat it makes"),
    (
        "heat-too-many-parts",
        "more parts make heat than can be solved together",
    ),
    ("heat-nowhere-to-go", "the heat of a part has nowhere to go"),
    ("heat-plate-cut", "a piece of the plate has no heat pipe"),
    ("heat-part-uncovered", "hardly any metal is above a part"),
    (
        "heat-pipe-touches-nothing",
        "a heat pipe touches no level metal",
    ),
    ("heat-unsolvable", "the temperatures cannot be calculated"),
    (
        "heat-no-state",
        "the temperatures cannot be calculated with these numbers",
    ),
    (
        "heat-old-pad-short",
        "a pad of the old plate does not reach across its gap",
    ),
    (
        "heat-pad-may-be-short",
        "a pad may not reach across its gap",
    ),
    ("heat-part-above-limit", "a part is above its limit"),
    (
        "heat-part-may-be-above-limit",
        "a part may be above its limit",
    ),
    ("heat-plate-heats-part", "the plate heats a part"),
    ("heat-pipe-heats-plate", "a heat pipe heats the plate"),
    ("heat-pipe-above-limit", "a heat pipe is above its limit"),
    (
        "heat-pipe-seat",
        "a heat pipe lies on less plate than is under it",
    ),
    (
        "heat-solved-in-layers",
        "a part is so narrow that the sheets were solved in layers",
    ),
    (
        "heat-spreading-high",
        "a part is so narrow that its spreading reads high",
    ),
    ("heat-grid", "the finest grid is not fine enough"),
];

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Finding {
    /// What it is about, in a word for programs; `schema/README.md` lists them all. Words may change, ids do not.
    pub id: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, one sentence without a full stop.
    pub message: String,
    /// Ways out, each one sentence.
    pub help: Vec<String>,
    /// File that it is about, as the user wrote its path. Absent: no file, or its name is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line in it, from 1. Absent: the file as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Column in that line, in characters, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
}

impl Finding {
    /// A finding with its place, where the file is known.
    pub fn of(finding: &Diagnostic, source: Option<&Source>) -> Self {
        let place = finding
            .span
            .as_ref()
            .zip(source)
            .map(|(span, source)| source.place(span.start));
        Self {
            id: finding.id,
            severity: finding.severity,
            message: finding.message.clone(),
            help: finding.help.clone(),
            file: source.map(|source| source.file.clone()),
            line: place.map(|(line, _)| line),
            column: place.map(|(_, column)| column),
        }
    }

    /// Many of them, in their order.
    pub fn all<'a>(
        findings: impl IntoIterator<Item = &'a Diagnostic>,
        source: Option<&Source>,
    ) -> Vec<Self> {
        findings
            .into_iter()
            .map(|finding| Self::of(finding, source))
            .collect()
    }
}

//! Where values stand in `result.json`: one place to change when the document moves them.

/// The verdict and its reasons.
pub const VERDICT: &str = "/verdict";
/// Name of the part.
pub const PART: &str = "/part/name";
/// What its file says about it.
pub const NOTE: &str = "/part/note";
/// Which plate the gaps are judged on, in words.
pub const GAPS_JUDGED_TEXT: &str = "/gaps/judged_text";
/// Board parts and their gaps.
pub const COMPONENTS: &str = "/gaps/components";
/// What must stay clear.
pub const OBSTACLES: &str = "/gaps/obstacles";
/// Cautions about gaps.
pub const GAP_CAUTIONS: &str = "/gaps/cautions";
/// Steps of the plate.
pub const STEPS: &str = "/part/steps";
/// What the part file leaves open.
pub const DEFAULTS: &str = "/part/defaults";
/// The sheet.
pub const SHEET: &str = "/part/sheet";
/// Findings of the part file and the analyses.
pub const FINDINGS: &str = "/findings";
/// Cautions about everything.
pub const CARE: &str = "/care";
/// The flat blank.
pub const BLANK: &str = "/blank";
/// The die pair.
pub const DIES: &str = "/dies";
/// The pressing.
pub const PRESS: &str = "/press";
/// Temperatures.
pub const HEAT: &str = "/heat";
/// Steps of the build sheet.
pub const BUILD_STEPS: &str = "/build_sheet/steps";

/// An entry of a list: `/components/3`.
pub fn entry(list: &str, number: usize) -> String {
    format!("{list}/{number}")
}

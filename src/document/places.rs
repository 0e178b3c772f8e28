//! Where values stand in `result.json`: one place to change when the document moves them.

/// The verdict and its reasons.
pub const VERDICT: &str = "/verdict";
/// Name of the part.
pub const PART: &str = "/part";
/// What its file says about it.
pub const NOTE: &str = "/note";
/// Which plate the gaps are judged on, in words.
pub const GAPS_JUDGED_TEXT: &str = "/gaps_judged_text";
/// Board parts and their gaps.
pub const COMPONENTS: &str = "/components";
/// What must stay clear.
pub const OBSTACLES: &str = "/obstacles";
/// Cautions about gaps.
pub const GAP_CAUTIONS: &str = "/cautions";
/// Steps of the plate.
pub const STEPS: &str = "/steps";
/// What the part file leaves open.
pub const DEFAULTS: &str = "/defaults";
/// The sheet.
pub const SHEET: &str = "/sheet";
/// Findings of the part file and the analyses.
pub const FINDINGS: &str = "/warnings";
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

//! Reasons of the verdict: what each is about, with the numbers that decided it.

use crate::change::Way;
use crate::fit;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// It can be made.
    Yes,
    /// It can be made if all conditions hold.
    YesIf,
    /// It cannot be made as written.
    No,
}

/// What a reason makes of the answer; worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Forces {
    /// A NO.
    No,
    /// A condition.
    If,
}

impl Forces {
    /// Stands before a reason.
    pub const fn word(self) -> &'static str {
        match self {
            Self::No => "NO",
            Self::If => "IF",
        }
    }
}

/// What a reason is about, with the numbers that decided it. Its name in `kebab-case` is the reason's stable `id`.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "id", rename_all = "kebab-case")]
#[expect(
    missing_docs,
    reason = "fields are named by what they are, with their units"
)]
pub enum Why {
    /// The plate cannot be pressed so.
    PressingRefused { what: String },
    /// The calculation came to no end.
    PressingUnknown { what: String },
    /// Nobody asked for a pressing.
    NotPressed,
    /// Angles, rises or lengths are missed.
    WallMissed {
        angle_deg: f64,
        rise_mm: f64,
        along_mm: f64,
        limits: Vec<String>,
    },
    /// Only inside radii are missed.
    RadiusMissed { radius_mm: f64, limits: Vec<String> },
    /// Even the most that the vise gives is too little.
    ViseTooWeak {
        needed_n: f64,
        bending_n: Option<f64>,
        gives_n: [f64; 2],
        ends_closing: bool,
    },
    /// Enough only with a greased screw.
    ViseGreasedOnly {
        needed_n: f64,
        bending_n: Option<f64>,
        gives_n: [f64; 2],
        ends_closing: bool,
    },
    /// Nobody says how hard the vise presses.
    ViseForceUnknown {
        needed_n: f64,
        bending_n: Option<f64>,
        assumed_n: Option<f64>,
        common_gives_n: [f64; 2],
    },
    /// Even a strong print gives way.
    NosesPressedIn {
        pressure_mpa: f64,
        bears_mpa: f64,
        infill_percent: f64,
    },
    /// A usual print gives way.
    NosesLikelyPressedIn {
        pressure_mpa: f64,
        bears_mpa: f64,
        infill_percent: f64,
    },
    /// A weak print gives way.
    NosesIfPrintedWell {
        pressure_mpa: f64,
        bears_mpa: f64,
        infill_percent: f64,
    },
    /// The outer face is stretched as far as a tensile bar bears.
    BendsMayCrack { strain: f64, breaks_at: f64 },
    /// There is no pair of dies.
    DiesRefused { what: String },
    /// Blocks longer than the jaws are wide.
    JawsTooNarrow { jaw_width_mm: f64, needed_mm: f64 },
    /// Blocks wider than the jaws are high.
    JawsTooLow { jaw_height_mm: f64, needed_mm: f64 },
    /// Nobody says how high the jaws are.
    JawHeightUnknown { needed_mm: f64 },
    /// There is no vise in the file.
    ViseUnknown {
        opening_mm: f64,
        jaw_width_mm: f64,
        jaw_height_mm: f64,
    },
    /// Nobody says what the printer takes: boxes of the blocks as they lie in their files.
    BedUnknown { blocks_mm: Vec<[f64; 3]> },
    /// A board part whose gap is not good.
    PartGap {
        part: String,
        found: fit::GapVerdict,
        gap_mm: Option<[f64; 2]>,
        clearance_mm: f64,
    },
    /// An obstacle that metal comes too near to.
    ObstacleNear {
        obstacle: String,
        clearance_mm: f64,
        wanted_mm: f64,
    },
    /// A board part above its limit; what it was with the old plate, where that is known.
    PartTooHot {
        part: String,
        inside_c: f64,
        limit_c: f64,
        before_c: Option<f64>,
    },
    /// A heat pipe above its limit.
    PipeTooHot {
        pipe: String,
        vapour_c: f64,
        limit_c: f64,
        before_c: Option<f64>,
    },
    /// A board part that keeps to its limit in the middle, but not over the whole range.
    PartMayBeTooHot {
        part: String,
        inside_c: f64,
        high_c: f64,
        limit_c: f64,
    },
    /// A board part whose temperature is not known, beside a limit.
    PartHeatUnknown { part: String, limit_c: f64 },
    /// The file asks about heat, and there is no answer.
    HeatUnknown { what: String },
    /// A warning about the part file itself.
    Remark { what: String },
    /// Only the coarse mesh was asked.
    Estimate,
}

/// Why the answer is not a plain YES.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Reason {
    /// What it makes of the answer.
    pub forces: Forces,
    /// What it is about.
    #[serde(flatten)]
    pub why: Why,
    /// One sentence without a full stop; of a condition the condition comes first.
    pub text: String,
    /// What must hold, to be read after "YES, IF"; `None` of a NO.
    pub condition: Option<String>,
    /// What would help, each one sentence.
    pub ways_out: Vec<String>,
    /// Those of them that are changes of the part file, in their order.
    #[serde(skip)]
    pub ways: Vec<Way>,
}

//! The maker's machines and wishes: printer, vise, and what the dies shall look like.

use super::words::Cheeks;
use crate::diagnostic::Span;
use crate::stock::Plastic;

pub use super::words::TiltWord as Tilt;

/// Radians in one turn.
const TURN: f64 = 2.0 * std::f64::consts::PI;

/// Efficiency of a vise's screw where the file says nothing. Common practice, no source; the power-screw formula
/// gives as much for friction coefficients of about 0.06 to 0.17 in thread and collar (`tests/reference_vise.rs`).
pub const SCREW_EFFICIENCY: [f64; 2] = [0.15, 0.35];

/// A firm pull with one hand. Common practice, no source.
pub const HAND_N: f64 = 200.0;

/// A common bench vise, for comparison where nobody says what the maker's gives: 4 mm to a turn, a handle of 150 mm, one
/// hand. Common practice, no source.
pub const COMMON_VISE: ViseForce = ViseForce::Screw {
    lead_mm: 4.0,
    handle_length_mm: COMMON_HANDLE_MM,
    handle_force_n: HAND_N,
    efficiency: SCREW_EFFICIENCY,
};
/// Its handle, from the axis of the spindle to the hand.
pub const COMMON_HANDLE_MM: f64 = 150.0;

/// Printer that makes the dies.
#[derive(Debug, Clone, PartialEq)]
pub struct Printer {
    /// Plastic.
    pub plastic: Plastic,
    /// Bed along x and y, and height; `None`: not checked.
    pub bed_mm: Option<[f64; 3]>,
    /// Nozzle, and width of one printed line.
    pub nozzle_mm: f64,
    /// Printed size minus drawn size over a whole dimension: half of it on each face.
    pub size_error_mm: f64,
    /// Printed length over drawn length, for long parts.
    pub length_scale: f64,
    /// Share of the inside that is filled.
    pub infill_percent: f64,
    /// Thickness of the solid walls around it.
    pub wall_mm: f64,
    /// Compressive yield stress that the maker measured on a block printed solid; `None`: the table's plastic.
    pub compressive_yield_mpa: Option<f64>,
    /// Young's modulus that the maker measured on a block printed solid; `None`: the table's plastic.
    pub youngs_mpa: Option<f64>,
    /// Place in the file, if given.
    pub span: Option<Span>,
}

/// Vise that presses the dies.
#[derive(Debug, Clone, PartialEq)]
pub struct Vise {
    /// Width of the jaws.
    pub jaw_width_mm: f64,
    /// Height of the jaws.
    pub jaw_height_mm: Option<f64>,
    /// Widest opening.
    pub opening_mm: f64,
    /// How hard it presses, if the file says.
    pub force: Option<ViseForce>,
    /// Place in the file.
    pub span: Span,
}

/// How hard a vise presses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ViseForce {
    /// As the file gives it: measured, or printed on the vise.
    Given {
        /// Force between the jaws.
        force_n: f64,
    },
    /// From its spindle and the hand that turns it.
    Screw {
        /// Advance for one turn.
        lead_mm: f64,
        /// From the axis of the spindle to the hand.
        handle_length_mm: f64,
        /// What the hand pulls with.
        handle_force_n: f64,
        /// Share of the work at the handle that reaches the jaws, least and most.
        efficiency: [f64; 2],
    },
}

impl ViseForce {
    /// Least and most force between the jaws, N.
    ///
    /// `F = 2π·η·F_handle·L / lead`: the work of one turn of the handle, less friction, is the work of the jaws
    /// over one lead.
    ///
    /// # Source
    /// Definition of the efficiency of a power screw, `e = F·l/(2πT)`: Mott, Machine Elements in Mechanical
    /// Design, 4th ed., eq. 17-7, p. 703.
    pub fn force_n(&self) -> [f64; 2] {
        match *self {
            Self::Given { force_n } => [force_n, force_n],
            Self::Screw {
                lead_mm,
                handle_length_mm,
                handle_force_n,
                efficiency,
            } => efficiency.map(|share| TURN * share * handle_force_n * handle_length_mm / lead_mm),
        }
    }
}

/// The likeliest of what lies between a least and a most force: the middle of their logarithms.
pub fn middle_n([least_n, most_n]: [f64; 2]) -> f64 {
    (least_n * most_n).sqrt()
}

impl Vise {
    /// Least and most force between the jaws, N; `None` when the file says nothing about it.
    pub fn force_n(&self) -> Option<[f64; 2]> {
        self.force.map(|force| force.force_n())
    }
}

/// What the dies shall look like.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "one switch for each feature of the part file"
)]
pub struct DieOptions {
    /// Free distance between closed faces beyond the sheet thickness.
    pub clearance_mm: f64,
    /// Least thickness of a block behind its face.
    pub base_mm: f64,
    /// How the part lies in the die.
    pub tilt: Tilt,
    /// Towers at both ends that locate the blank.
    pub end_stops: bool,
    /// Cheeks of the lower die.
    pub cheeks: Cheeks,
    /// Pins and holes that let the pair close only one way.
    pub pins: bool,
    /// Engraved letters and arrows.
    pub marks: bool,
    /// Ledges at both ends of the backs, for fingers, clamps or tape.
    pub handling_ledges: bool,
    /// By how much hollow corners are made tighter than the sheet's outside, so that they stay empty.
    pub corner_relief_mm: f64,
    /// Largest distance between an arc and the chords that stand for it in the mesh.
    pub chord_error_mm: f64,
    /// Coulomb's coefficient of the sheet on a die face.
    pub friction: f64,
    /// Place in the file, if given.
    pub span: Option<Span>,
}

//! The maker's machines and wishes: printer, vise, and what the dies shall look like.

use super::DefaultUsed;
use super::file::{Cheeks, DiesEntry, PrinterEntry, TiltWord, ViseEntry};
use super::reader::{At, Reading};
use crate::diagnostic::{Diagnostic, Span};
use crate::quantity::plain;
use crate::stock::Plastic;

pub use super::file::TiltWord as Tilt;

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
    /// Place in the file.
    pub span: Span,
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
    /// Place in the file, if given.
    pub span: Option<Span>,
}

const NO_SOURCE: &str = "common practice, no source";

fn or_default<T: Clone>(
    given: Option<&At<T>>,
    key: &str,
    value: T,
    shown: String,
    reason: &str,
    defaults: &mut Vec<DefaultUsed>,
) -> T {
    given.map_or_else(
        || {
            defaults.push(DefaultUsed {
                key: key.into(),
                value: shown,
                reason: reason.into(),
            });
            value
        },
        |at| at.value.clone(),
    )
}

/// Printer with defaults filled in.
pub fn printer(entry: Option<&PrinterEntry>, defaults: &mut Vec<DefaultUsed>) -> Printer {
    let none = PrinterEntry::default();
    let given = entry.unwrap_or(&none);
    let mut number = |at: &Option<At<f64>>, key: &str, value: f64, reason: &str| {
        or_default(at.as_ref(), key, value, plain(value), reason, defaults)
    };
    let nozzle_mm = number(&given.nozzle_mm, "printer.nozzle_mm", 0.4, NO_SOURCE);
    let size_error_mm = number(
        &given.size_error_mm,
        "printer.size_error_mm",
        0.0,
        "print a test block, measure it, and give measured minus drawn",
    );
    let infill_percent = number(
        &given.infill_percent,
        "printer.infill_percent",
        40.0,
        NO_SOURCE,
    );
    let wall_mm = number(&given.wall_mm, "printer.wall_mm", 2.0, NO_SOURCE);
    let length_scale = given.length_scale.as_ref().map_or(1.0, |at| at.value);
    let plastic = or_default(
        given.plastic.as_ref(),
        "printer.plastic",
        Plastic::Pla,
        "pla".into(),
        NO_SOURCE,
        defaults,
    );
    Printer {
        plastic,
        bed_mm: given.bed_mm.as_ref().map(|at| at.value),
        nozzle_mm,
        size_error_mm,
        length_scale,
        infill_percent,
        wall_mm,
        span: entry.map(|entry| entry.span.clone()),
    }
}

/// Vise, if the file has one.
pub fn vise(entry: Option<&ViseEntry>, reading: &mut Reading) -> Option<Vise> {
    let entry = entry?;
    let (Some(jaw_width), Some(opening)) = (&entry.jaw_width_mm, &entry.opening_mm) else {
        if reading.lacks(&entry.span, &["jaw_width_mm", "opening_mm"]) {
            reading.findings.push(
                Diagnostic::error("[vise] needs `jaw_width_mm` and `opening_mm`")
                    .at(&entry.span)
                    .help("measure both on the vise, or delete the table: then no vise is checked"),
            );
        }
        return None;
    };
    Some(Vise {
        jaw_width_mm: jaw_width.value,
        jaw_height_mm: entry.jaw_height_mm.as_ref().map(|at| at.value),
        opening_mm: opening.value,
        span: entry.span.clone(),
    })
}

/// Die options with defaults filled in.
pub fn dies(
    entry: Option<&DiesEntry>,
    thickness_mm: f64,
    defaults: &mut Vec<DefaultUsed>,
) -> DieOptions {
    let none = DiesEntry::default();
    let given = entry.unwrap_or(&none);
    let mut number = |at: &Option<At<f64>>, key: &str, value: f64, reason: &str| {
        or_default(at.as_ref(), key, value, plain(value), reason, defaults)
    };
    let clearance_mm = number(
        &given.clearance_mm,
        "dies.clearance_mm",
        0.05,
        "room for the sheet's own thickness tolerance; common practice, no source",
    );
    let base_mm = number(&given.base_mm, "dies.base_mm", 12.0, NO_SOURCE);
    let corner_relief_mm = number(
        &given.corner_relief_mm,
        "dies.corner_relief_mm",
        (0.5 * thickness_mm * 100.0).round() / 100.0,
        "half a sheet thickness; common practice, no source",
    );
    DieOptions {
        clearance_mm,
        base_mm,
        tilt: given.tilt.as_ref().map_or(TiltWord::Auto, |at| at.value),
        end_stops: given.end_stops.as_ref().is_none_or(|at| at.value),
        cheeks: given.cheeks.as_ref().map_or(Cheeks::Front, |at| at.value),
        pins: given.pins.as_ref().is_none_or(|at| at.value),
        marks: given.marks.as_ref().is_none_or(|at| at.value),
        handling_ledges: given.handling_ledges.as_ref().is_none_or(|at| at.value),
        corner_relief_mm,
        chord_error_mm: given.chord_error_mm.as_ref().map_or(0.01, |at| at.value),
        span: entry.map(|entry| entry.span.clone()),
    }
}

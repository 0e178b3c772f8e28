//! Flats and the steps between them.

use super::profile::Level;
use super::step::StepShape;
use crate::diagnostic::Span;
use crate::quantity::Toleranced;
use std::collections::BTreeMap;

/// A level stretch of the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Flat {
    /// Name.
    pub name: String,
    /// Plan extent and underside height.
    pub level: Level,
    /// Underside height as measured.
    pub underside_mm: Toleranced,
    /// Place in the file.
    pub span: Span,
}

/// How the sheet gets from one flat to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Solved shape; the rise is counted without sign.
    pub shape: StepShape,
    /// Next flat lies higher above the board.
    pub up: bool,
    /// Inside radii of first and second bend.
    pub inside_radius_mm: [f64; 2],
    /// They must come out of the press as drawn; else as they come, where the gaps bear it.
    pub keep_radius: bool,
    /// The file gave the wall angle and coldstep found where the next flat begins.
    pub run_was_solved: bool,
    /// Place in the file.
    pub span: Span,
}

/// Number of each flat by its name.
pub fn numbers(flats: &[Flat]) -> BTreeMap<&str, usize> {
    flats
        .iter()
        .enumerate()
        .map(|(number, flat)| (flat.name.as_str(), number))
        .collect()
}

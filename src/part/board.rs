//! What stands on the board under the plate: components, obstacles, and the extension plates above them.

use super::thermal::{Joint, PartHeat};
use super::words::Kind;
use crate::diagnostic::Span;
use crate::geometry::Footprint;
use crate::quantity::Toleranced;
use crate::stock::Pad;
use nalgebra::Point2;

/// What fills the gap above a component.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::large_enum_variant,
    reason = "one for each component, and most of them have a pad"
)]
pub enum Treatment {
    /// A thermal pad.
    Pad(Pad),
    /// Nothing: metal must keep this distance.
    Bare {
        /// Distance to keep.
        keep_out_mm: f64,
    },
}

impl Treatment {
    /// The pad, where there is one.
    pub const fn pad(&self) -> Option<&Pad> {
        match self {
            Self::Pad(pad) => Some(pad),
            Self::Bare { .. } => None,
        }
    }
}

/// A board part.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: Kind,
    /// Area it covers.
    pub footprint: Footprint,
    /// Centre of that area.
    pub centre: Point2<f64>,
    /// Height above the board.
    pub height_mm: Toleranced,
    /// Pad or bare.
    pub treatment: Treatment,
    /// What it has to do with heat.
    pub heat: PartHeat,
    /// Place in the file.
    pub span: Span,
}

/// A plate soldered under a flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Extension {
    /// Name.
    pub name: String,
    /// Number of the flat it hangs under.
    pub flat: usize,
    /// Area it covers.
    pub footprint: Footprint,
    /// Its underside above the board.
    pub underside_mm: f64,
    /// Its thickness.
    pub thickness_mm: Toleranced,
    /// Solder layer above it.
    pub solder_mm: f64,
    /// That layer, as heat sees it.
    pub joint: Joint,
    /// Place in the file.
    pub span: Span,
}

/// Something the plate must clear.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// Name.
    pub name: String,
    /// Area it covers.
    pub footprint: Footprint,
    /// Its lower end above the board.
    pub bottom_mm: f64,
    /// Its upper end above the board.
    pub top_mm: f64,
    /// Distance to keep.
    pub clearance_mm: f64,
    /// Place in the file.
    pub span: Span,
}

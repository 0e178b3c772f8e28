//! Plan view of the formed plate: outline with notches, tabs and round corners, and holes.

use super::words::Edge;
use crate::diagnostic::Span;
use crate::geometry::Loop;
use nalgebra::Point2;

/// A hole of the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// Name for people; "hole 2" when the file gives none.
    pub name: String,
    /// Its edge in plan, counter-clockwise.
    pub shape: Loop,
    /// Diameter of a round hole.
    pub diameter_mm: Option<f64>,
    /// Centre.
    pub centre: Point2<f64>,
    /// Place in the file.
    pub span: Span,
}

/// Extent of the strip along x and its width.
#[derive(Debug, Clone, Copy)]
pub struct PlanFrame {
    /// Start of the first flat.
    pub from_mm: f64,
    /// End of the last flat.
    pub to_mm: f64,
    /// Width.
    pub width_mm: f64,
}

impl PlanFrame {
    /// Ends of an edge in the sense in which its places are counted, and the outward direction.
    pub fn edge_range(&self, edge: Edge) -> (f64, f64) {
        match edge {
            Edge::Front | Edge::Back => (self.from_mm, self.to_mm),
            Edge::Left | Edge::Right => (0.0, self.width_mm),
        }
    }

    /// Point at `along` the edge, `out_mm` outside of it.
    pub fn on_edge(&self, edge: Edge, along: f64, out_mm: f64) -> Point2<f64> {
        match edge {
            Edge::Front => Point2::new(along, -out_mm),
            Edge::Back => Point2::new(along, self.width_mm + out_mm),
            Edge::Left => Point2::new(self.from_mm - out_mm, along),
            Edge::Right => Point2::new(self.to_mm + out_mm, along),
        }
    }
}

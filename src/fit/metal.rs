//! All metal of a part, ready for questions: the plate in plan and in section, and extension plates.

use crate::geometry::{Footprint, Loop, Piece};
use crate::part::{Part, ZoneKind};

/// Slabs narrower than this are nothing.
pub const LEAST_SLAB_MM: f64 = 1e-9;

/// All metal of a part.
pub struct PlateMetal {
    /// Pieces of the underside from left to right, with what they are.
    pub underside: Vec<(Piece, ZoneKind)>,
    /// Pieces of the top side from left to right.
    pub topside: Vec<Piece>,
    /// Outline and holes; inside by the even-odd rule.
    pub loops: Vec<Loop>,
    /// Extension plates.
    pub extensions: Vec<ExtensionBlock>,
    /// Edges of the extension plates.
    extension_edges: Vec<Loop>,
    /// Places along x where something of the metal itself changes.
    breaks_x: Vec<f64>,
}

/// An extension plate with its solder; level as drawn, as askew as its flat once pressed.
pub struct ExtensionBlock {
    /// Area it covers.
    pub area: Footprint,
    /// Where `underside_mm` and `topside_mm` are, along x.
    pub at_mm: f64,
    /// Its underside above the board.
    pub underside_mm: f64,
    /// Upper side of its solder: the underside of the plate.
    pub topside_mm: f64,
    /// How much both rise for each mm along x.
    pub rise: f64,
}

impl ExtensionBlock {
    /// Underside and upper side of the solder at `x`.
    pub fn sides_at(&self, x: f64) -> (f64, f64) {
        let up = self.rise * (x - self.at_mm);
        (self.underside_mm + up, self.topside_mm + up)
    }
}

impl PlateMetal {
    /// Collects the metal of a part as drawn.
    pub fn of(part: &Part) -> Self {
        let kinds = part.profile.zones.iter().map(|zone| zone.kind);
        let underside: Vec<_> = part.profile.underside.pieces().zip(kinds).collect();
        let topside: Vec<Piece> = part.profile.topside.pieces().collect();
        let extensions: Vec<ExtensionBlock> = part
            .extensions
            .iter()
            .map(|extension| ExtensionBlock {
                area: extension.footprint.clone(),
                at_mm: extension.footprint.bounds().0.x,
                rise: 0.0,
                underside_mm: extension.underside_mm,
                topside_mm: extension.underside_mm
                    + extension.thickness_mm.value
                    + extension.solder_mm,
            })
            .collect();
        Self::of_pieces(underside, topside, part.metal_loops(), extensions)
    }

    /// Metal between two sides, within loops in plan, with extension plates.
    pub fn of_pieces(
        underside: Vec<(Piece, ZoneKind)>,
        topside: Vec<Piece>,
        loops: Vec<Loop>,
        extensions: Vec<ExtensionBlock>,
    ) -> Self {
        let extension_edges: Vec<Loop> = extensions
            .iter()
            .map(|extension| extension.area.outline())
            .collect();
        let edges = loops.iter().chain(&extension_edges);
        let pieces = underside.iter().map(|(piece, _)| piece).chain(&topside);
        let breaks_x = edges
            .flat_map(Loop::breaks_x)
            .chain(
                extension_edges
                    .iter()
                    .flat_map(|edge| loops.iter().flat_map(|other| other.crossings_x(edge))),
            )
            .chain(pieces.flat_map(|piece| [piece.start.point.x, piece.end.point.x]))
            .collect();
        Self {
            underside,
            topside,
            loops,
            extensions,
            extension_edges,
            breaks_x,
        }
    }

    /// Places along x, in order, between which nothing changes its nature: what the footprint and the
    /// metal are bounded by, from front to back, stays the same, and so do flat, bend and wall.
    pub fn breaks_with(&self, footprint: &Footprint) -> Vec<f64> {
        let outline = footprint.outline();
        let mut breaks = self.breaks_x.clone();
        breaks.extend(outline.breaks_x());
        for edge in self.loops.iter().chain(&self.extension_edges) {
            breaks.extend(edge.crossings_x(&outline));
        }
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        breaks
    }
}

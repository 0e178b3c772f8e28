//! The formed plate as a body: the flat blank bent as drawn.
//!
//! A plate is cut flat and then bent, so its edges stand square to the sheet everywhere. Its faces are those of the
//! stretches of the strip: two flat or round ones, one thickness apart, and the walls between them along the edges of
//! the blank. Straight edges across the strip stay straight, those along it become arcs, slanting ones pieces of helix.
//!
//! The blank is longer or shorter than the sheet at mid-thickness by what its rule for K says of the bends; here each
//! bend has the length of its arc at mid-thickness, and places between go with it.

mod cut;

use crate::blank::{Blank, MapZone};
use crate::geometry::chain::arc_parts;
use crate::geometry::solid::{SolidError, solid};
use crate::geometry::{
    Body, BodyError, Boundary, Hop, Loop, LoopEdge, Mesh, Piece, Pose, Segment, Side,
};
use crate::part::Part;
use crate::quantity::Angle;
use cut::{Band, Region, cut};
use nalgebra::{Point2, Point3, Vector3};
use truck_modeling::Solid;

/// The plate with faces and edges as they are: round bends, helical edges.
pub fn body(part: &Part, blank: &Blank) -> Body {
    Formed::new(part, blank, None).body()
}

/// The plate as triangles.
///
/// # Units
/// - `chord_error_mm`: how far faces may stray from the true ones, above zero
///
/// # Errors
/// When faces do not close; a fault of coldstep.
pub fn mesh(part: &Part, blank: &Blank, chord_error_mm: f64) -> Result<Mesh, BodyError> {
    Formed::new(part, blank, Some(chord_error_mm)).body().mesh()
}

/// The plate as an exact solid.
///
/// # Errors
/// When faces do not close; a fault of coldstep.
pub fn exact(part: &Part, blank: &Blank) -> Result<Solid, SolidError> {
    solid(&body(part, blank))
}

/// Volume: the sheet's thickness times its area at mid-thickness (Pappus: in a bend the middle of the section is there).
pub fn volume_mm3(part: &Part, blank: &Blank) -> f64 {
    let formed = Formed::new(part, blank, None);
    let areas = formed.stretches.iter().zip(&formed.bands);
    let area_mm2: f64 = areas
        .map(|(stretch, band)| {
            let flat_mm2: f64 = band.regions.iter().map(Region::area_mm2).sum();
            flat_mm2 * stretch.mid_per_blank
        })
        .sum();
    area_mm2 * formed.thickness_mm
}

/// A stretch of the strip, or a facet of a bend.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    s_from_mm: f64,
    s_to_mm: f64,
    start: Pose,
    end: Pose,
    /// The piece of the mid-thickness chain in which it lies, and where that begins on the blank.
    piece: Piece,
    piece_from_mm: f64,
    /// Length at mid-thickness over length on the blank.
    mid_per_blank: f64,
    /// Whether it is a bend, and whether that is drawn round.
    form: Form,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    /// Flat or wall.
    Straight,
    /// Bend with its centre and its turn over this stretch.
    Round { centre: Point2<f64>, turn: Angle },
    /// Part of a bend drawn as if it were straight.
    Facet,
}

impl Stretch {
    /// Where the sheet is, `up_mm` above its middle. At its ends it gives what its neighbour gives.
    fn place(&self, flat: Point2<f64>, up_mm: f64) -> Point3<f64> {
        let pose = if flat.x == self.s_from_mm {
            self.start
        } else if flat.x == self.s_to_mm {
            self.end
        } else {
            let along = (flat.x - self.piece_from_mm) * self.mid_per_blank;
            self.piece.start.advanced(&self.piece.segment, along)
        };
        let point = pose.point + pose.left() * up_mm;
        Point3::new(point.x, flat.y, point.y)
    }

    /// An edge of the sheet `up_mm` above its middle.
    fn hop(&self, side: &Side, up_mm: f64, chord_error_mm: f64) -> Hop {
        let to_flat = side.edge.to();
        let to = self.place(to_flat, up_mm);
        match (side.edge, self.form) {
            (LoopEdge::Arc { centre, turn, .. }, _) => {
                let radius_mm = (side.from - centre).norm();
                let up = self.start.left();
                let axis = Vector3::new(up.x, 0.0, up.y);
                Hop::Arc {
                    to,
                    centre: self.place(centre, up_mm),
                    axis: if turn.rad() > 0.0 { axis } else { -axis },
                    turn_rad: turn.rad().abs(),
                    parts: arc_parts(radius_mm, turn, chord_error_mm),
                }
            }
            (LoopEdge::Line { .. }, Form::Round { centre, turn }) if side.from.x != to_flat.x => {
                let share = (to_flat.x - side.from.x) / (self.s_to_mm - self.s_from_mm);
                let turned = turn.rad() * share;
                // Turning left in the section, from x to z, is turning about -y.
                let axis = if turned > 0.0 {
                    -Vector3::y()
                } else {
                    Vector3::y()
                };
                let at = |y_mm: f64| Point3::new(centre.x, y_mm, centre.y);
                if side.from.y == to_flat.y {
                    Hop::Arc {
                        to,
                        centre: at(to_flat.y),
                        axis,
                        turn_rad: turned.abs(),
                        parts: 1,
                    }
                } else {
                    Hop::Helix {
                        to,
                        centre: at(side.from.y),
                        centre_to: at(to_flat.y),
                        axis,
                        turn_rad: turned.abs(),
                        parts: 1,
                    }
                }
            }
            (LoopEdge::Line { .. }, _) => Hop::Line(to),
        }
    }

    fn boundary(&self, ring: &Loop, up_mm: f64, chord_error_mm: f64) -> Boundary {
        Boundary {
            start: self.place(ring.start(), up_mm),
            hops: ring
                .sides()
                .map(|side| self.hop(&side, up_mm, chord_error_mm))
                .collect(),
        }
    }
}

/// Stretches and what of the blank lies on each.
struct Formed {
    stretches: Vec<Stretch>,
    bands: Vec<Band>,
    thickness_mm: f64,
    chord_error_mm: f64,
}

impl Formed {
    /// With a chord error bends become facets that stray no further.
    fn new(part: &Part, blank: &Blank, chord_error_mm: Option<f64>) -> Self {
        let thickness_mm = part.sheet.thickness_mm;
        let zones = blank.map.zones().iter().zip(&part.profile.zones);
        let stretches: Vec<Stretch> = zones
            .flat_map(|(flat, zone)| stretches(flat, zone.piece, thickness_mm, chord_error_mm))
            .collect();
        let lines: Vec<f64> = stretches
            .iter()
            .skip(1)
            .map(|stretch| stretch.s_from_mm)
            .collect();
        let bands = cut(&blank.metal_loops(), &lines);
        Self {
            stretches,
            bands,
            thickness_mm,
            chord_error_mm: chord_error_mm.unwrap_or(crate::blank::CHORD_ERROR_MM),
        }
    }

    fn body(&self) -> Body {
        let half_mm = self.thickness_mm / 2.0;
        let mut body = Body::default();
        for (stretch, band) in self.stretches.iter().zip(&self.bands) {
            for region in &band.regions {
                for (up_mm, is_top) in [(-half_mm, false), (half_mm, true)] {
                    let boundaries: Vec<Boundary> = region
                        .rings()
                        .map(|ring| {
                            let seen = stretch.boundary(ring, up_mm, self.chord_error_mm);
                            if is_top { seen } else { seen.reversed() }
                        })
                        .collect();
                    match stretch.form {
                        Form::Straight | Form::Facet => body.plane(boundaries),
                        Form::Round { centre, turn } => body.round(
                            boundaries,
                            Point3::new(centre.x, 0.0, centre.y),
                            Vector3::y(),
                            // Bent upwards the centre is above, so the top is the hollow face.
                            is_top != (turn.rad() > 0.0),
                        ),
                    }
                }
            }
            for side in &band.walls {
                self.wall(stretch, side, &mut body);
            }
        }
        body
    }

    /// The wall along an edge, square to the sheet.
    fn wall(&self, stretch: &Stretch, side: &Side, body: &mut Body) {
        let half_mm = self.thickness_mm / 2.0;
        let edge = |up_mm: f64| {
            let from = stretch.place(side.from, up_mm);
            (from, stretch.hop(side, up_mm, self.chord_error_mm))
        };
        let (low, high) = (edge(-half_mm), edge(half_mm));
        let bends_in_its_plane =
            matches!((stretch.form, low.1), (Form::Round { .. }, Hop::Arc { .. }));
        if bends_in_its_plane {
            body.plane(vec![Boundary {
                start: low.0,
                hops: vec![
                    low.1,
                    Hop::Line(high.1.to()),
                    high.1.back_to(high.0),
                    Hop::Line(low.0),
                ],
            }]);
        } else {
            body.ruled(low, high);
        }
    }
}

/// A zone of the strip as one stretch, or as facets.
fn stretches(
    flat: &MapZone,
    piece: Piece,
    thickness_mm: f64,
    chord_error_mm: Option<f64>,
) -> Vec<Stretch> {
    let length_mm = flat.length_mm();
    let mid_per_blank = piece.segment.length_mm() / length_mm;
    let (parts, form) = match (piece.segment, piece.centre(), chord_error_mm) {
        (Segment::Arc { radius_mm, turn }, Some(_), Some(error_mm)) => {
            let outside_mm = radius_mm + thickness_mm / 2.0;
            (arc_parts(outside_mm, turn, error_mm), Form::Facet)
        }
        (Segment::Arc { turn, .. }, Some(centre), None) => (1, Form::Round { centre, turn }),
        _ => (1, Form::Straight),
    };
    let share = |part: u32| f64::from(part) / f64::from(parts);
    let s_at = |part: u32| {
        if part == parts {
            flat.s_to_mm
        } else {
            flat.s_from_mm + length_mm * share(part)
        }
    };
    // The ends themselves, to the last bit: the neighbours have them too.
    let pose_at = |part: u32| match part {
        0 => piece.start,
        _ if part == parts => piece.end,
        _ => piece
            .start
            .advanced(&piece.segment, piece.segment.length_mm() * share(part)),
    };
    (0..parts)
        .map(|part| Stretch {
            s_from_mm: s_at(part),
            s_to_mm: s_at(part + 1),
            start: pose_at(part),
            end: pose_at(part + 1),
            piece,
            piece_from_mm: flat.s_from_mm,
            mid_per_blank,
            form,
        })
        .collect()
}

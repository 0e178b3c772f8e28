//! Exact solids as a STEP file (ISO 10303-21), millimetres.
//!
//! The kernel writes topology, planes and free-form geometry. Its arcs and round faces are rational splines that other
//! programs cannot measure or select as what they are, so circles, cylinders and cones are written here, from the
//! [`Body`] the solid was built of. Its header would carry the time of day and its preamble no name: both are ours.

use crate::geometry::solid::{SolidError, solid};
use crate::geometry::{Body, Boundary, Face, Hop};
use crate::mark::MARK;
use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use std::fmt::{Display, Formatter, Write as _};
use thiserror::Error;
use truck_modeling::{
    BoundedCurve as _, Curve, EuclideanSpace, ParametricCurve as _, Point3 as TruckPoint, Surface,
    Vector3 as TruckVector,
};
use truck_stepio::out::{
    DisplayByStep, StepCurve, StepDisplay, StepLength, StepModel, StepSurface, VectorAsDirection,
};
use truck_topology::compress::{CompressedEdge, CompressedFace, CompressedShell, CompressedSolid};

/// First entity of the solid itself; those before it are the preamble.
const FIRST_OF_SOLID: &str = "#16 = ";
/// Radii that differ by less than this share are those of a cylinder.
const SAME_RADIUS: f64 = 1e-12;

/// What the header says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepAbout<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// Name of the solid.
    pub title: &'a str,
    /// Its volume by a formula of its own, for whoever wants to check what was read.
    pub volume_mm3: f64,
}

/// Why a body was not written.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StepFileError {
    /// The body is no solid.
    #[error(transparent)]
    Solid(#[from] SolidError),
    /// The writer's text is not what was expected of it.
    #[error("the STEP writer gave no solid")]
    NoSolid,
}

/// Writes a body.
///
/// # Errors
/// When its faces do not bound a solid.
pub fn step(body: &Body, about: &StepAbout<'_>) -> Result<Vec<u8>, StepFileError> {
    let compressed = solid(body)?.compress();
    let hops = hops(body);
    let shells = compressed.boundaries.into_iter().map(|shell| {
        let ends = |vertices: (usize, usize)| {
            let at = |number: usize| shell.vertices.get(number).copied();
            at(vertices.0).zip(at(vertices.1))
        };
        let edges = shell
            .edges
            .into_iter()
            .map(|edge| CompressedEdge {
                vertices: edge.vertices,
                curve: match ends(edge.vertices).and_then(|ends| circle(&edge.curve, ends, &hops)) {
                    Some(circle) => Line::Circle(circle),
                    None => Line::Kernel(edge.curve),
                },
            })
            .collect();
        let faces = shell
            .faces
            .into_iter()
            .zip(&body.faces)
            .map(|(face, shape)| CompressedFace {
                boundaries: face.boundaries,
                orientation: face.orientation,
                surface: round(shape).unwrap_or(Skin::Kernel(face.surface)),
            })
            .collect();
        CompressedShell {
            vertices: shell.vertices,
            edges,
            faces,
        }
    });
    let exact = CompressedSolid {
        boundaries: shells.collect(),
    };
    let written = StepModel::from(&exact).to_string();
    let (_, entities) = written
        .split_once(FIRST_OF_SOLID)
        .ok_or(StepFileError::NoSolid)?;
    // Faces of a boundary representation are advanced faces; every one of ours has its edges and its surface.
    let entities = entities.replace(" FACE_SURFACE(", " ADVANCED_FACE(");
    let mut text = header(about);
    let _ = write!(
        text,
        "{FIRST_OF_SOLID}{entities}ENDSEC;\nEND-ISO-10303-21;\n"
    );
    Ok(text.into_bytes())
}

/// Header and what a solid needs around it: product, units, accuracy. Written after the printed examples of AP 214 that
/// every reader takes; the schema's short name and number are from memory.
fn header(about: &StepAbout<'_>) -> String {
    let (file, title) = (quoted(about.file), quoted(about.title));
    format!(
        "ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('{MARK}','{title}','volume {:?} mm3'),'2;1');
FILE_NAME('{file}','2000-01-01T00:00:00',(''),(''),'coldstep','coldstep','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));
ENDSEC;
DATA;
#1 = APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#2);
#2 = APPLICATION_CONTEXT('core data for automotive mechanical design processes');
#3 = SHAPE_DEFINITION_REPRESENTATION(#4,#10);
#4 = PRODUCT_DEFINITION_SHAPE('','',#5);
#5 = PRODUCT_DEFINITION('design','',#6,#9);
#6 = PRODUCT_DEFINITION_FORMATION('','',#7);
#7 = PRODUCT('{title}','{title}','',(#8));
#8 = PRODUCT_CONTEXT('',#2,'mechanical');
#9 = PRODUCT_DEFINITION_CONTEXT('part definition',#2,'design');
#10 = ADVANCED_BREP_SHAPE_REPRESENTATION('',(#16),#11);
#11 = (GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#15)) \
GLOBAL_UNIT_ASSIGNED_CONTEXT((#12,#13,#14)) REPRESENTATION_CONTEXT('',''));
#12 = (LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.));
#13 = (NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.));
#14 = (NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT());
#15 = UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#12,'distance_accuracy_value','');
",
        about.volume_mm3
    )
}

/// A text as ISO 10303-21 wants it between quotes: quotes and backslashes doubled, what is not ASCII by its code, control
/// characters left out.
fn quoted(text: &str) -> String {
    let mut made = String::with_capacity(text.len());
    for letter in text.chars().filter(|letter| !letter.is_control()) {
        match letter {
            '\'' => made.push_str("''"),
            '\\' => made.push_str("\\\\"),
            ' '..='~' => made.push(letter),
            _ => {
                let code = u32::from(letter);
                let _ = if code < 0x1_0000 {
                    write!(made, "\\X2\\{code:04X}\\X0\\")
                } else {
                    write!(made, "\\X4\\{code:08X}\\X0\\")
                };
            }
        }
    }
    made
}

/// Bits of both ends of an edge.
type Ends = ([u64; 3], [u64; 3]);

fn bits(coordinates: [f64; 3]) -> [u64; 3] {
    coordinates.map(|c| (c + 0.0).to_bits())
}

/// Every arc of a body by its ends, in the sense in which a face names it.
fn hops(body: &Body) -> BTreeMap<Ends, Vec<(Point3<f64>, Hop)>> {
    let mut found: BTreeMap<Ends, Vec<(Point3<f64>, Hop)>> = BTreeMap::new();
    let mut add = |from: Point3<f64>, hop: Hop| {
        if matches!(hop, Hop::Arc { .. }) {
            let ends = (bits(from.into()), bits(hop.to().into()));
            found.entry(ends).or_default().push((from, hop));
        }
    };
    for face in &body.faces {
        match face {
            Face::Plane { boundaries } | Face::Round { boundaries, .. } => {
                for (from, hop) in boundaries.iter().flat_map(Boundary::edges) {
                    add(from, hop);
                }
            }
            Face::Ruled {
                low_from,
                low,
                high_from,
                high,
            } => {
                add(*low_from, *low);
                add(*high_from, *high);
            }
        }
    }
    found
}

/// The circle of an edge that the kernel holds as a rational spline.
fn circle(
    curve: &Curve,
    ends: (TruckPoint, TruckPoint),
    hops: &BTreeMap<Ends, Vec<(Point3<f64>, Hop)>>,
) -> Option<Placed> {
    let Curve::NurbsCurve(spline) = curve else {
        return None;
    };
    let (begin, end) = spline.range_tuple();
    let middle: [f64; 3] = spline.subs(f64::midpoint(begin, end)).into();
    let middle = Point3::from(middle);
    let (from, to) = (bits(ends.0.into()), bits(ends.1.into()));
    let there = hops.get(&(from, to)).into_iter().flatten().copied();
    let back = hops.get(&(to, from)).into_iter().flatten();
    let back = back.map(|(from, hop)| (hop.to(), hop.back_to(*from)));
    let off = |(from, hop): &(Point3<f64>, Hop)| (hop.at_share(*from, 0.5) - middle).norm();
    let (from, hop) = there
        .chain(back)
        .min_by(|one, other| off(one).total_cmp(&off(other)))?;
    let Hop::Arc { centre, axis, .. } = hop else {
        return None;
    };
    let arm = from - centre;
    Some(Placed {
        centre,
        axis,
        ahead: arm.normalize(),
        radius_mm: arm.norm(),
    })
}

/// The cylinder or cone of a face, if it is one.
fn round(face: &Face) -> Option<Skin> {
    match face {
        Face::Round {
            boundaries,
            centre,
            axis,
            outwards,
        } => {
            let reach = boundaries.first()?.start - centre;
            let arm = reach - axis * reach.dot(axis);
            Some(Skin::Cylinder(
                Placed {
                    centre: *centre,
                    axis: *axis,
                    ahead: arm.normalize(),
                    radius_mm: arm.norm(),
                },
                *outwards,
            ))
        }
        Face::Ruled {
            low_from,
            low: Hop::Arc { centre, axis, .. },
            high_from,
            high: Hop::Arc { centre: above, .. },
        } => {
            let (arm, other) = (low_from - centre, high_from - above);
            let rise = above - centre;
            let height_mm = rise.norm();
            let along = rise.try_normalize(0.0)?;
            // Seen from outside, low runs to the right and high lies above it.
            let outwards = axis.cross(&arm).cross(&rise).dot(&arm) > 0.0;
            let (radius_mm, radius_high_mm) = (arm.norm(), other.norm());
            let grows_mm = radius_high_mm - radius_mm;
            let mut place = Placed {
                centre: *centre,
                axis: along,
                ahead: arm.normalize(),
                radius_mm,
            };
            if grows_mm.abs() <= SAME_RADIUS * radius_mm {
                return Some(Skin::Cylinder(place, outwards));
            }
            if grows_mm < 0.0 {
                place = Placed {
                    centre: *above,
                    axis: -along,
                    radius_mm: radius_high_mm,
                    ..place
                };
            }
            let half = Angle::between(height_mm, grows_mm.abs());
            Some(Skin::Cone(place, half, outwards))
        }
        Face::Plane { .. } | Face::Ruled { .. } => None,
    }
}

/// A circle in space, or what it sweeps along its axis.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Placed {
    centre: Point3<f64>,
    axis: Vector3<f64>,
    ahead: Vector3<f64>,
    radius_mm: f64,
}

/// Entities of a circle, cylinder or cone: itself, its placement, a point and two directions.
const PLACED_LENGTH: usize = 5;

impl Placed {
    fn write(&self, idx: usize, kind: &str, more: &str, f: &mut Formatter<'_>) -> std::fmt::Result {
        let (place, point, axis, ahead) = (idx + 1, idx + 2, idx + 3, idx + 4);
        let direction = |v: Vector3<f64>, idx: usize| {
            StepDisplay::new(VectorAsDirection(TruckVector::new(v.x, v.y, v.z)), idx)
        };
        writeln!(
            f,
            "#{idx} = {kind}('', #{place}, {:?}{more});\n#{place} = AXIS2_PLACEMENT_3D('', #{point}, #{axis}, #{ahead});",
            self.radius_mm
        )?;
        let centre: [f64; 3] = self.centre.into();
        Display::fmt(
            &StepDisplay::new(TruckPoint::from_vec(centre.into()), point),
            f,
        )?;
        Display::fmt(&direction(self.axis, axis), f)?;
        Display::fmt(&direction(self.ahead, ahead), f)
    }
}

/// Curve of an edge.
#[derive(Debug, Clone)]
enum Line {
    Kernel(Curve),
    Circle(Placed),
}

impl DisplayByStep for Line {
    fn fmt(&self, idx: usize, f: &mut Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Kernel(curve) => DisplayByStep::fmt(curve, idx, f),
            Self::Circle(circle) => circle.write(idx, "CIRCLE", "", f),
        }
    }
}

impl StepLength for Line {
    fn step_length(&self) -> usize {
        match self {
            Self::Kernel(curve) => curve.step_length(),
            Self::Circle(_) => PLACED_LENGTH,
        }
    }
}

impl StepCurve for Line {}

/// Surface of a face; round ones say whether outside is away from the axis.
#[derive(Debug, Clone)]
enum Skin {
    Kernel(Surface),
    Cylinder(Placed, bool),
    Cone(Placed, Angle, bool),
}

impl DisplayByStep for Skin {
    fn fmt(&self, idx: usize, f: &mut Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Kernel(surface) => DisplayByStep::fmt(surface, idx, f),
            Self::Cylinder(place, _) => place.write(idx, "CYLINDRICAL_SURFACE", "", f),
            Self::Cone(place, half, _) => {
                let half = format!(", {:?}", half.rad());
                place.write(idx, "CONICAL_SURFACE", &half, f)
            }
        }
    }
}

impl StepLength for Skin {
    fn step_length(&self) -> usize {
        match self {
            Self::Kernel(surface) => surface.step_length(),
            Self::Cylinder(..) | Self::Cone(..) => PLACED_LENGTH,
        }
    }
}

impl StepSurface for Skin {
    fn same_sense(&self) -> bool {
        match self {
            Self::Kernel(surface) => surface.same_sense(),
            Self::Cylinder(_, outwards) | Self::Cone(_, _, outwards) => *outwards,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dies::tooling;
    use crate::forming::compensate;
    use crate::part::{parse, starter::STARTER};

    #[test]
    fn names_are_quoted_as_the_standard_wants_it() {
        assert_eq!(quoted("plain <&> \"x\""), "plain <&> \"x\"");
        assert_eq!(quoted("'a\\b'"), "''a\\\\b''");
        assert_eq!(quoted("ü"), "\\X2\\00FC\\X0\\");
        assert_eq!(quoted("😀"), "\\X4\\0001F600\\X0\\");
        assert_eq!(quoted("a\n\0\u{85}b"), "ab");
    }

    /// Round faces of a die: its bends' arcs, two pins or sockets as cylinders with bevels as cones, all in halves.
    #[test]
    fn what_is_round_leaves_as_circles_cylinders_and_cones() {
        let part = parse(STARTER).unwrap().value;
        let pair = tooling(&part, &compensate(&part).value).unwrap().value;
        for block in &pair.blocks {
            let about = StepAbout {
                file: "x.step",
                title: "it's",
                volume_mm3: 1.5,
            };
            let bytes = step(&block.in_vise(), &about).unwrap();
            assert_eq!(bytes, step(&block.in_vise(), &about).unwrap());
            let head = String::from_utf8(bytes[..512].to_vec()).unwrap();
            assert!(head.contains(MARK) && head.contains("'it''s'"), "{head}");
            assert!(head.contains("'volume 1.5 mm3'"), "{head}");
            let text = String::from_utf8(bytes).unwrap();
            let count = |entity: &str| text.matches(&format!(" = {entity}(")).count();
            assert_eq!(count("ADVANCED_FACE"), block.solid_faces);
            let arcs = block.shape.face.arcs().count();
            assert_eq!(count("CYLINDRICAL_SURFACE"), arcs + 2 * 2);
            assert_eq!(count("CONICAL_SURFACE"), 2 * 2);
            assert!(!text.contains("SPLINE"), "nothing of a die is free-form");
        }
    }

    #[test]
    fn what_does_not_close_is_not_written() {
        let mut body = Body::default();
        let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]].map(|[x, y]| Point3::new(x, y, 0.0));
        body.plane(vec![Boundary::polygon(&corners)]);
        let about = StepAbout {
            file: "",
            title: "",
            volume_mm3: 0.0,
        };
        assert!(matches!(step(&body, &about), Err(StepFileError::Solid(_))));
    }
}

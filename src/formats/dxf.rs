//! The flat blank as a drawing exchange file for cutters: exact arcs, true size, named layers.

use crate::formats::dxf_frame::framed;
use crate::geometry::loops::{Loop, LoopEdge, Side};
use crate::mark::MARK;
use crate::quantity::Angle;
use ::dxf::entities::{Circle, Entity, EntityType, Line, LwPolyline};
use ::dxf::enums::{AcadVersion, DrawingUnits, Units};
use ::dxf::tables::{Layer, LineType};
use ::dxf::{Color, Drawing, LwPolylineVertex, Point};
use nalgebra::Point2;
use thiserror::Error;

/// Layer of the outer edge to be cut.
pub const OUTLINE_LAYER: &str = "outline";
/// Layer of the holes to be cut.
pub const HOLE_LAYER: &str = "hole";
/// Layer of the lines to bend along; not to be cut.
pub const BEND_LAYER: &str = "bend";
/// Layer of the lines where bends begin and end; not to be cut.
pub const TANGENT_LAYER: &str = "tangent";

/// Edges shorter than this are left out, mm: cutters stumble over points that lie on each other.
const SHORTEST_EDGE_MM: f64 = 1e-6;

/// A flat blank as it goes to the cutter. All coordinates in mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FlatDrawing {
    /// Outer edges, as a rule one.
    pub outline: Vec<Loop>,
    /// Holes.
    pub holes: Vec<Loop>,
    /// Bend lines, from point to point.
    pub bends: Vec<(Point2<f64>, Point2<f64>)>,
    /// Lines where bends begin and end; without any, their layer is left out.
    pub tangents: Vec<(Point2<f64>, Point2<f64>)>,
}

/// Why no file could be written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DxfError {
    /// There is nothing to cut.
    #[error("the blank has no outline")]
    NoOutline,
    /// A coordinate is not a number.
    #[error("a coordinate on layer '{layer}' is not finite")]
    NotFinite {
        /// Layer of the entity.
        layer: &'static str,
    },
    /// The writing crate refused.
    #[error("the drawing could not be written: {reason}")]
    Refused {
        /// Its words.
        reason: String,
    },
}

/// Writes a flat blank as DXF of the year 2000, units mm.
///
/// Full circles become circles, other loops closed polylines whose bulges are exact arcs.
///
/// # Errors
/// When there is no outline or a coordinate is not finite.
pub fn dxf(flat: &FlatDrawing) -> Result<Vec<u8>, DxfError> {
    if flat.outline.is_empty() {
        return Err(DxfError::NoOutline);
    }
    let mut file = Drawing::new();
    file.header.version = AcadVersion::R2000;
    file.header.default_drawing_units = Units::Millimeters;
    file.header.drawing_units = DrawingUnits::Metric;
    if let Some((low, high)) = extent(flat) {
        file.header.minimum_drawing_extents = Point::new(low.x, low.y, 0.0);
        file.header.maximum_drawing_extents = Point::new(high.x, high.y, 0.0);
    }
    // One long dash, one short; and short dashes. Lengths in mm, gaps negative.
    file.add_line_type(line_type(
        "longshort",
        "long and short",
        &[6.0, -1.0, 1.0, -1.0],
    ));
    file.add_line_type(line_type("dashes", "short dashes", &[1.0, -1.0]));
    file.add_layer(layer(OUTLINE_LAYER, PLAIN, "CONTINUOUS"));
    file.add_layer(layer(HOLE_LAYER, PLAIN, "CONTINUOUS"));
    file.add_layer(layer(BEND_LAYER, GREY, "longshort"));
    if !flat.tangents.is_empty() {
        file.add_layer(layer(TANGENT_LAYER, GREY, "dashes"));
    }

    for (loops, layer) in [(&flat.outline, OUTLINE_LAYER), (&flat.holes, HOLE_LAYER)] {
        for one in loops {
            if !one.edges().iter().all(LoopEdge::is_finite) {
                return Err(DxfError::NotFinite { layer });
            }
            add(&mut file, layer, closed(one));
        }
    }
    for (lines, layer) in [(&flat.bends, BEND_LAYER), (&flat.tangents, TANGENT_LAYER)] {
        for (from, to) in lines {
            if ![from.x, from.y, to.x, to.y].into_iter().all(f64::is_finite) {
                return Err(DxfError::NotFinite { layer });
            }
            add(
                &mut file,
                layer,
                EntityType::Line(Line::new(point(*from), point(*to))),
            );
        }
    }

    framed(file, MARK)
        .map(String::into_bytes)
        .map_err(|error| DxfError::Refused {
            reason: error.to_string(),
        })
}

/// Drawing colour number 7: black on white, white on black.
const PLAIN: u8 = 7;
/// Drawing colour number 8: grey.
const GREY: u8 = 8;
/// Line weight number that leaves the choice to the layer.
const WEIGHT_OF_LAYER: i16 = -1;

fn extent(flat: &FlatDrawing) -> Option<(Point2<f64>, Point2<f64>)> {
    flat.outline
        .iter()
        .map(Loop::bounds)
        .reduce(|(low, high), (other_low, other_high)| {
            (
                Point2::new(low.x.min(other_low.x), low.y.min(other_low.y)),
                Point2::new(high.x.max(other_high.x), high.y.max(other_high.y)),
            )
        })
}

fn layer(name: &str, colour: u8, line_type: &str) -> Layer {
    Layer {
        name: name.into(),
        color: Color::from_index(colour),
        line_type_name: line_type.into(),
        ..Layer::default()
    }
}

fn line_type(name: &str, description: &str, lengths_mm: &[f64]) -> LineType {
    LineType {
        name: name.into(),
        description: description.into(),
        element_count: i32::try_from(lengths_mm.len()).unwrap_or(0),
        total_pattern_length: lengths_mm.iter().map(|length| length.abs()).sum(),
        dash_dot_space_lengths: lengths_mm.to_vec(),
        ..LineType::default()
    }
}

fn add(file: &mut Drawing, layer: &str, specific: EntityType) {
    let mut entity = Entity::new(specific);
    entity.common.layer = layer.into();
    entity.common.lineweight_enum_value = WEIGHT_OF_LAYER;
    file.add_entity(entity);
}

fn point(at: Point2<f64>) -> Point {
    Point::new(at.x, at.y, 0.0)
}

fn closed(one: &Loop) -> EntityType {
    if let Some((centre, radius_mm)) = one.as_circle() {
        return EntityType::Circle(Circle::new(point(centre), radius_mm));
    }
    let mut polyline = LwPolyline::default();
    polyline.set_is_closed(true);
    for side in one
        .sides()
        .filter(|side| side.length_mm() > SHORTEST_EDGE_MM)
    {
        polyline.vertices.extend(vertices(&side));
    }
    EntityType::LwPolyline(polyline)
}

/// Beginning of an edge with its bulge, the tangent of a quarter of the turn. Arcs beyond a half turn
/// are cut in two, because some readers take no bulge above 1.
fn vertices(side: &Side) -> Vec<LwPolylineVertex> {
    let vertex = |at: Point2<f64>, turn: Angle| LwPolylineVertex {
        x: at.x,
        y: at.y,
        bulge: turn.half().half().tan(),
        ..LwPolylineVertex::default()
    };
    match side.edge {
        LoopEdge::Line { .. } => vec![vertex(side.from, Angle::ZERO)],
        LoopEdge::Arc { turn, .. } if turn.abs() <= Angle::deg(180.0) => {
            vec![vertex(side.from, turn)]
        }
        LoopEdge::Arc { turn, .. } => vec![
            vertex(side.from, turn.half()),
            vertex(side.turned(turn.half()), turn.half()),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formats::dxf_frame::CLOCKED;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn at(x: f64, y: f64) -> Point2<f64> {
        Point2::new(x, y)
    }

    fn blank() -> FlatDrawing {
        let corners = [at(0.0, 0.0), at(64.0, 0.0), at(64.0, 30.0), at(0.0, 30.0)];
        let slot = [
            at(40.0, 10.0),
            at(56.0, 10.0),
            at(56.0, 14.0),
            at(40.0, 14.0),
        ];
        FlatDrawing {
            outline: vec![Loop::rounded_polygon(&corners, &[3.0, 3.0, 0.0, 5.0]).unwrap()],
            holes: vec![
                Loop::circle(at(8.0, 8.0), 1.6),
                Loop::rounded_polygon(&slot, &[2.0; 4]).unwrap(),
            ],
            bends: vec![
                (at(22.0, 0.0), at(22.0, 30.0)),
                (at(31.0, 0.0), at(31.0, 30.0)),
            ],
            tangents: vec![(at(20.5, 0.0), at(20.5, 30.0))],
        }
    }

    fn read(bytes: &[u8]) -> Drawing {
        Drawing::load(&mut &*bytes).unwrap()
    }

    fn variable(bytes: &[u8], name: &str) -> Vec<String> {
        let text = std::str::from_utf8(bytes).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        let place = lines.iter().position(|line| *line == name).unwrap();
        lines[place + 1..place + 3]
            .iter()
            .map(|line| line.trim().into())
            .collect()
    }

    /// Exact area of a closed polyline from its vertices and bulges: an independent formula, with the
    /// included angle from the bulge and the radius from the chord.
    fn area_mm2(polyline: &LwPolyline) -> f64 {
        let next = polyline.vertices.iter().cycle().skip(1);
        polyline
            .vertices
            .iter()
            .zip(next)
            .map(|(a, b)| {
                let angle = 4.0 * a.bulge.atan();
                let chord = (b.x - a.x).hypot(b.y - a.y);
                let cap = if a.bulge == 0.0 {
                    0.0
                } else {
                    let radius = chord / 2.0 / (angle / 2.0).sin();
                    radius * radius * (angle - angle.sin()) / 2.0
                };
                (a.x * b.y - a.y * b.x) / 2.0 + cap
            })
            .sum()
    }

    #[test]
    fn a_reader_finds_layers_units_and_exact_shapes() {
        let flat = blank();
        let bytes = dxf(&flat).unwrap();
        let file = read(&bytes);
        assert_eq!(file.header.version, AcadVersion::R2000);
        assert_eq!(file.header.default_drawing_units, Units::Millimeters);
        assert_eq!(variable(&bytes, "$INSUNITS"), ["70", "4"]);
        assert_relative_eq!(file.header.maximum_drawing_extents.x, 64.0);
        let layers: Vec<(&str, &str)> = file
            .layers()
            .map(|layer| (layer.name.as_str(), layer.line_type_name.as_str()))
            .collect();
        for expected in [
            ("outline", "CONTINUOUS"),
            ("hole", "CONTINUOUS"),
            ("bend", "longshort"),
            ("tangent", "dashes"),
        ] {
            assert!(layers.contains(&expected), "{expected:?} in {layers:?}");
        }
        let mut found = Vec::new();
        for entity in file.entities() {
            let layer = entity.common.layer.as_str();
            match &entity.specific {
                EntityType::LwPolyline(polyline) => {
                    assert!(polyline.is_closed());
                    let original = if layer == "outline" {
                        &flat.outline[0]
                    } else {
                        &flat.holes[1]
                    };
                    assert_relative_eq!(area_mm2(polyline), original.area_mm2(), epsilon = 1e-8);
                    found.push((layer, "polyline"));
                }
                EntityType::Circle(circle) => {
                    assert_relative_eq!(circle.radius, 1.6);
                    assert_relative_eq!(circle.center.x, 8.0);
                    found.push((layer, "circle"));
                }
                EntityType::Line(line) => {
                    assert_relative_eq!((line.p2.y - line.p1.y).abs(), 30.0);
                    found.push((layer, "line"));
                }
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(
            found,
            [
                ("outline", "polyline"),
                ("hole", "circle"),
                ("hole", "polyline"),
                ("bend", "line"),
                ("bend", "line"),
                ("tangent", "line"),
            ]
        );
    }

    #[test]
    fn dashes_are_defined_as_their_elements_say() {
        let bytes = dxf(&blank()).unwrap();
        let file = read(&bytes);
        for name in ["longshort", "dashes"] {
            let line_type = file.line_types().find(|one| one.name == name).unwrap();
            let count = usize::try_from(line_type.element_count).unwrap();
            assert!(count > 0);
            assert_eq!(count, line_type.dash_dot_space_lengths.len());
            let total: f64 = line_type
                .dash_dot_space_lengths
                .iter()
                .map(|l| l.abs())
                .sum();
            assert_relative_eq!(total, line_type.total_pattern_length);
        }
    }

    #[test]
    fn a_blank_without_tangents_has_no_layer_for_them() {
        let flat = FlatDrawing {
            tangents: Vec::new(),
            ..blank()
        };
        let file = read(&dxf(&flat).unwrap());
        assert!(file.layers().all(|layer| layer.name != TANGENT_LAYER));
    }

    #[test]
    fn the_same_blank_gives_the_same_bytes_and_no_clock_is_inside() {
        let first = dxf(&blank()).unwrap();
        // The crate writes whole seconds and new identifiers: after a second both would differ.
        std::thread::sleep(std::time::Duration::from_millis(1100));
        assert_eq!(first, dxf(&blank()).unwrap());
        for (name, constant) in CLOCKED {
            assert_eq!(variable(&first, name)[1], constant, "{name}");
        }
        let text = String::from_utf8(first).unwrap();
        // Any day of the last or this century begins with 24 and has seven figures.
        let days = text
            .lines()
            .filter(|line| line.starts_with("24") && line.find('.') == Some(7));
        assert!(days.clone().count() >= 4);
        for day in days {
            assert_eq!(day, "2451545.0", "another Julian day");
        }
        for line in text.lines().filter(|line| line.matches('-').count() >= 4) {
            assert_eq!(line, "{00000000-0000-0000-0000-000000000000}");
        }
    }

    #[test]
    fn the_mark_is_the_first_pair() {
        let text = String::from_utf8(dxf(&blank()).unwrap()).unwrap();
        assert_eq!(text.lines().take(2).collect::<Vec<_>>(), ["999", MARK]);
        assert!(text.ends_with("EOF\r\n"));
    }

    #[test]
    fn what_cannot_be_cut_is_refused() {
        assert_eq!(dxf(&FlatDrawing::default()), Err(DxfError::NoOutline));
        let mut flat = blank();
        flat.bends.push((at(f64::NAN, 0.0), at(0.0, 0.0)));
        assert_eq!(dxf(&flat), Err(DxfError::NotFinite { layer: "bend" }));
        let mut flat = blank();
        flat.holes.push(Loop::circle(at(0.0, 0.0), f64::INFINITY));
        assert_eq!(dxf(&flat), Err(DxfError::NotFinite { layer: "hole" }));
    }

    proptest! {
        #[test]
        fn a_bulge_reproduces_its_arc(
            radius in 0.2f64..100.0, begin in -180.0f64..180.0, degrees in -359.0f64..359.0,
        ) {
            prop_assume!(degrees.abs() > 1.0);
            let (turn, centre) = (Angle::deg(degrees), at(3.0, -7.0));
            let on = |angle: Angle| centre + nalgebra::Vector2::new(angle.cos(), angle.sin()) * radius;
            let (from, to) = (on(Angle::deg(begin)), on(Angle::deg(begin) + turn));
            let shape = Loop::from_edges(vec![
                LoopEdge::Line { to: from },
                LoopEdge::Arc { to, centre, turn },
            ]).unwrap();
            let flat = FlatDrawing { outline: vec![shape.clone()], ..FlatDrawing::default() };
            let file = read(&dxf(&flat).unwrap());
            let entity = file.entities().next().unwrap();
            let EntityType::LwPolyline(polyline) = &entity.specific else { panic!("a polyline") };
            let next = polyline.vertices.iter().cycle().skip(1);
            for (a, b) in polyline.vertices.iter().zip(next).filter(|(a, _)| a.bulge != 0.0) {
                prop_assert!(a.bulge.abs() <= 1.0 + 1e-12);
                // The bulge is the sagitta over half the chord, to the right of the chord.
                let half = nalgebra::Vector2::new(b.x - a.x, b.y - a.y) / 2.0;
                let top = at(a.x, a.y) + half + nalgebra::Vector2::new(half.y, -half.x) * a.bulge;
                prop_assert!(((top - centre).norm() - radius).abs() < 1e-7);
            }
            prop_assert!((area_mm2(polyline) - shape.area_mm2()).abs() < 1e-5);
        }
    }
}

//! A body as an exact boundary-representation solid (truck), built by topology alone.
//!
//! Every vertex and edge of the [`Body`] becomes one vertex and edge of the solid, shared by the faces that
//! name it; no boolean operation is used. Arcs are exact (rational curves), walls are ruled surfaces; pieces of
//! helix are cubic splines, true to a millionth of a millimetre or better.

use super::{Body, Boundary, Face as BodyFace, Hop};
use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use thiserror::Error;
use truck_modeling::{
    BSplineCurve, Curve, Edge, EuclideanSpace, Face, KnotVec, Point3 as TruckPoint, Shell, Solid,
    Surface, Vertex, Wire,
};
use truck_modeling::{ShellCondition, builder};

/// Cubic pieces of a helix for each radian. A cubic that meets a function of s and its slope at both ends of h strays by
/// at most `h⁴/384` times the largest fourth derivative: here 2e-10 of the radius.
/// The bound is the usual one of cubic Hermite interpolation, from memory.
const PIECES_PER_RADIAN: f64 = 60.0;

/// Why a body could not become a solid.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SolidError {
    /// A plane face is not plane, or its boundary not closed.
    #[error("face {face} has no plane: {reason}")]
    NoPlane {
        /// Face number from 0.
        face: usize,
        /// The kernel's own words.
        reason: String,
    },
    /// The faces do not close.
    #[error("the faces do not bound a solid: {condition}")]
    NotClosed {
        /// The kernel's own words.
        condition: String,
    },
}

/// Vertices and edges made so far, by place.
#[derive(Default)]
struct Topology {
    vertices: BTreeMap<[u64; 3], Vertex>,
    edges: BTreeMap<EdgeKey, Edge>,
}

/// Both ends and the middle of an edge.
type EdgeKey = ([u64; 3], [u64; 3], [i64; 3]);

fn key(point: Point3<f64>) -> [u64; 3] {
    [point.x, point.y, point.z].map(|c| (c + 0.0).to_bits())
}

/// Middle of an edge to a nanometre: tells two edges between the same vertices apart.
#[expect(
    clippy::cast_possible_truncation,
    reason = "far inside the range of i64"
)]
fn middle_key(point: Point3<f64>) -> [i64; 3] {
    [point.x, point.y, point.z].map(|c| (c * 1e6).round() as i64)
}

fn truck(point: Point3<f64>) -> TruckPoint {
    TruckPoint::from_vec([point.x, point.y, point.z].into())
}

impl Topology {
    fn vertex(&mut self, point: Point3<f64>) -> Vertex {
        self.vertices
            .entry(key(point))
            .or_insert_with(|| builder::vertex(truck(point)))
            .clone()
    }

    fn edge(&mut self, from: Point3<f64>, hop: &Hop) -> Edge {
        let to = hop.to();
        let (a, b) = (key(from), key(to));
        let middle = middle_key(hop.at_share(from, 0.5));
        if let Some(edge) = self.edges.get(&(a, b, middle)) {
            return edge.clone();
        }
        if let Some(edge) = self.edges.get(&(b, a, middle)) {
            return edge.inverse();
        }
        let (start, end) = (self.vertex(from), self.vertex(to));
        let edge = match hop {
            Hop::Line(_) => builder::line(&start, &end),
            Hop::Arc { .. } => builder::circle_arc(&start, &end, truck(hop.at_share(from, 0.5))),
            Hop::Helix { turn_rad, .. } => Edge::new(
                &start,
                &end,
                Curve::BSplineCurve(spline(from, hop, *turn_rad)),
            ),
        };
        self.edges.insert((a, b, middle), edge.clone());
        edge
    }

    fn wire(&mut self, boundary: &Boundary) -> Wire {
        boundary
            .edges()
            .map(|(from, hop)| self.edge(from, &hop))
            .collect::<Vec<_>>()
            .into()
    }
}

/// Builds the solid.
///
/// # Errors
/// When a plane face is not plane or the faces do not close.
pub fn solid(body: &Body) -> Result<Solid, SolidError> {
    let mut topology = Topology::default();
    let mut faces = Vec::with_capacity(body.faces.len());
    for (number, shape) in body.faces.iter().enumerate() {
        faces.push(face(number, shape, &mut topology)?);
    }
    let shell: Shell = faces.into();
    let condition = shell.shell_condition();
    if condition != ShellCondition::Closed {
        return Err(SolidError::NotClosed {
            condition: format!("{condition:?}"),
        });
    }
    Solid::try_new(vec![shell]).map_err(|error| SolidError::NotClosed {
        condition: error.to_string(),
    })
}

fn face(number: usize, shape: &BodyFace, topology: &mut Topology) -> Result<Face, SolidError> {
    let plane = |wires: &[Wire]| {
        builder::try_attach_plane(wires).map_err(|error| SolidError::NoPlane {
            face: number,
            reason: error.to_string(),
        })
    };
    match shape {
        BodyFace::Round {
            boundaries,
            centre,
            axis,
            outwards,
        } => {
            let wires: Vec<Wire> = boundaries
                .iter()
                .map(|boundary| topology.wire(boundary))
                .collect();
            let surface = cylinder(boundaries, *centre, *axis, *outwards);
            Face::try_new(wires, surface).map_err(|error| SolidError::NoPlane {
                face: number,
                reason: error.to_string(),
            })
        }
        BodyFace::Plane { boundaries } => {
            let wires: Vec<Wire> = boundaries
                .iter()
                .map(|boundary| topology.wire(boundary))
                .collect();
            plane(&wires)
        }
        BodyFace::Ruled {
            low_from,
            low,
            high_from,
            high,
        } => {
            let (low_edge, high_edge) = (
                topology.edge(*low_from, low),
                topology.edge(*high_from, high),
            );
            let wire: Wire = vec![
                low_edge.clone(),
                topology.edge(low.to(), &Hop::Line(high.to())),
                high_edge.inverse(),
                topology.edge(*high_from, &Hop::Line(*low_from)),
            ]
            .into();
            if matches!((low, high), (Hop::Line(_), Hop::Line(_))) {
                return plane(&[wire]);
            }
            // The kernel makes the ruled surface; the boundary is ours, so that neighbours share it.
            let surface = builder::homotopy(&low_edge, &high_edge).surface();
            Face::try_new(vec![wire], surface).map_err(|error| SolidError::NoPlane {
                face: number,
                reason: error.to_string(),
            })
        }
    }
}

/// A hop at even speed as a cubic spline with continuous slope.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a small positive count"
)]
fn spline(from: Point3<f64>, hop: &Hop, turn_rad: f64) -> BSplineCurve<TruckPoint> {
    let pieces = (turn_rad * PIECES_PER_RADIAN).ceil().max(1.0) as u32;
    let share = |piece: u32| f64::from(piece) / f64::from(pieces);
    let slope = hop.tangent(from);
    // A hop turns its slope as it turns itself.
    let slope_at = |share: f64| match hop {
        Hop::Line(_) => slope,
        Hop::Arc { axis, turn_rad, .. } | Hop::Helix { axis, turn_rad, .. } => {
            let angle = Angle::rad_from(turn_rad * share);
            let along = axis * slope.dot(axis);
            let round = slope - along;
            along + round * angle.cos() + axis.cross(&round) * angle.sin()
        }
    };
    let reach = 1.0 / (3.0 * f64::from(pieces));
    let mut points = vec![from];
    let mut knots = vec![0.0; 4];
    for piece in 0..pieces {
        let (start, end) = (share(piece), share(piece + 1));
        points.push(hop.at_share(from, start) + slope_at(start) * reach);
        points.push(hop.at_share(from, end) - slope_at(end) * reach);
        knots.extend([end; 2]);
    }
    points.push(hop.to());
    knots.extend([1.0; 2]);
    BSplineCurve::new(
        KnotVec::from(knots),
        points.into_iter().map(truck).collect(),
    )
}

/// Part of a cylinder that holds all boundaries.
fn cylinder(
    boundaries: &[Boundary],
    centre: Point3<f64>,
    axis: Vector3<f64>,
    outwards: bool,
) -> Surface {
    let first = boundaries.first().map_or(centre, |boundary| boundary.start);
    let level = |point: Point3<f64>| (point - centre).dot(&axis);
    let ahead = first - centre - axis * level(first);
    let aside = axis.cross(&ahead);
    let (mut turns, mut levels) = ((0.0_f64, 0.0_f64), (f64::INFINITY, f64::NEG_INFINITY));
    for point in boundaries.iter().flat_map(Boundary::points) {
        let reach = point - centre;
        let turned = Angle::between(reach.dot(&ahead), reach.dot(&aside)).rad();
        turns = (turns.0.min(turned), turns.1.max(turned));
        levels = (levels.0.min(level(point)), levels.1.max(level(point)));
    }
    let place = |turned: f64, level: f64| {
        let angle = Angle::rad_from(turned);
        truck(centre + ahead * angle.cos() + aside * angle.sin() + axis * level)
    };
    let arc = |(from, to): (f64, f64), level: f64| {
        let ends = [from, to].map(|turned| builder::vertex(place(turned, level)));
        let [start, end] = &ends;
        builder::circle_arc(start, end, place(f64::midpoint(from, to), level))
    };
    let way = if outwards { turns } else { (turns.1, turns.0) };
    builder::homotopy(&arc(way, levels.0), &arc(way, levels.1)).surface()
}

//! A block as an exact boundary-representation solid (truck), built by topology alone.
//!
//! Every vertex and edge of the [`Body`] becomes one vertex and edge of the solid, shared by the faces that
//! name it; no boolean operation is used. Arcs are exact (rational curves), walls are ruled surfaces.

use crate::geometry::{Body, Boundary, Face as BodyFace, Hop};
use nalgebra::Point3;
use std::collections::BTreeMap;
use thiserror::Error;
use truck_modeling::{
    Edge, EuclideanSpace, Face, Point3 as TruckPoint, Shell, Solid, Vertex, Wire,
};
use truck_modeling::{ShellCondition, builder};

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

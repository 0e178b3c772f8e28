//! A die as an elastic block: its section between face and jaw, and how the face gives under pressure and friction.
//!
//! [`section`] meshes the section and gives the compliance of the face, [`modes`] keeps of it what is smooth.
//! [`super::press`] presses on it.
//!
//! # Valid for
//! Plane strain; small strains of a linear elastic print; the back stuck to a rigid jaw, the ends free.

#![allow(
    clippy::indexing_slicing,
    reason = "nodes, stations and modes are numbered by the mesh itself, never by input"
)]

pub mod modes;
pub mod section;

use crate::geometry::Chain;
use modes::Modes;
use section::{Mesh, Print, Side, compliance};

/// Stiffness of the rough printed face for itself, N/mm³. Common practice in contact of rough faces, no source for the
/// number: ridges of a few micrometres are pressed flat at some tens of MPa.
pub const LAYER_N_MM3: f64 = 50_000.0;

/// A pair of dies as blocks: what they are printed of and how they are calculated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Backing {
    /// What they are made of.
    pub print: Print,
    /// Least distance of face and back.
    pub base_mm: f64,
    /// How finely they are meshed.
    pub mesh: Mesh,
    /// Shapes in which each face gives.
    pub shapes: usize,
}

impl Backing {
    /// How a face gives; `None` when there is no such block.
    pub fn behind(&self, face: &Chain, side: Side) -> Option<Modes> {
        let (low, high) = face.bounds();
        let back_mm = match side {
            Side::Below => low.y - self.base_mm,
            Side::Above => high.y + self.base_mm,
        };
        let stations_mm = self.mesh.stations_mm(face);
        let compliance = compliance(face, side, back_mm, &self.print, &self.mesh, stations_mm)?;
        Modes::of(&compliance, self.shapes)
    }
}

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
use crate::stock::printed_block::{POISSON, PrintedBlock};
use modes::Modes;
use section::{Mesh, Print, Side, compliance};
use serde::{Deserialize, Serialize};

/// Stiffness of the rough printed face for itself, N/mm³. Own choice, no source: tops of the printed lines give a few
/// micrometres at some tens of MPa. At 20 000 angles move by 0.1 degrees and the peak pressure by 7 %.
pub const LAYER_N_MM3: f64 = 50_000.0;

/// A pair of dies as blocks: what they are printed of and how they are calculated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Backing {
    /// What they are made of.
    pub print: Print,
    /// Least distance of face and back.
    pub base_mm: f64,
    /// How far a block goes on, straight, beyond the ends of its face.
    pub beyond_mm: f64,
    /// How finely they are meshed.
    pub mesh: Mesh,
    /// Shapes in which each face gives.
    pub shapes: usize,
}

/// Shapes that a face is given. With 100 angles move by 0.1 degrees, rises by 1 µm and peaks by 8 %
/// (soft copper, 65 degrees).
pub const SHAPES: usize = 60;

impl Backing {
    /// Both blocks of a pair of a usual print, for a sheet of a thickness; they go on by their own height.
    pub fn of(block: &PrintedBlock, thickness_mm: f64) -> Self {
        Self {
            print: Print {
                wall_youngs_mpa: block.wall_youngs_mpa,
                infill_youngs_mpa: block.infill_youngs_mpa.usual,
                wall_mm: block.wall_mm,
                poisson: POISSON,
            },
            base_mm: block.base_mm,
            beyond_mm: block.base_mm,
            mesh: Mesh::for_sheet(thickness_mm),
            shapes: SHAPES,
        }
    }

    /// The same blocks of a print that is so many times as stiff.
    #[must_use]
    pub fn stiffer(mut self, times: f64) -> Self {
        self.print.wall_youngs_mpa *= times;
        self.print.infill_youngs_mpa *= times;
        self
    }

    /// How a face gives where it may be touched, between two places along it; `None` when there is no such block.
    pub fn behind(&self, face: &Chain, side: Side, touched_mm: [f64; 2]) -> Option<Modes> {
        let beyond_mm = self.beyond_mm;
        let begin = face.start.point - face.start.along() * beyond_mm;
        let mut whole = Chain::from_start(begin.x, begin.y, face.start.heading);
        whole.line(beyond_mm);
        whole.segments.extend(face.segments.iter().copied());
        whole.line(beyond_mm);
        let (low, high) = whole.bounds();
        let back_mm = match side {
            Side::Below => low.y - self.base_mm,
            Side::Above => high.y + self.base_mm,
        };
        let stations_mm = self.mesh.stations_mm(&whole);
        let mut compliance = compliance(
            &whole,
            side,
            back_mm,
            &self.print,
            &self.mesh,
            &stations_mm,
            touched_mm.map(|at| at + beyond_mm),
        )?;
        for station_mm in &mut compliance.stations_mm {
            *station_mm -= beyond_mm;
        }
        Modes::of(&compliance, self.shapes)
    }
}

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

//! The press: a plane-strain continuum of the strip between two dies, closing and letting go.
//!
//! Under construction: it is tested by itself, and nothing else uses it yet. The dies are still compensated
//! bend by bend, see [`super::compensate`].

#![allow(
    clippy::indexing_slicing,
    reason = "freedoms and nodes are numbered by the mesh itself, never by input; checked access in the \
              innermost loops would double their length"
)]

pub mod contact;
pub mod material;
pub mod run;
pub mod shape;
pub mod strip;

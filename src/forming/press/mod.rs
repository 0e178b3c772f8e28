//! The press: a plane-strain continuum of the strip between two dies, closing and letting go.
//!
//! [`problem`] sets one pressing up and runs it ([`run`]): a [`strip`] of elements of a [`material`] between two faces in
//! [`contact`]. [`measure`] looks at the result as a person would, [`guard`] decides whether it is believed.
//! [`super::pressing`] searches the dies with it.
//!
//! # Valid for
//! Plane strain: strips many times wider than thick. Dies whose faces give way each point by itself (a foundation), or
//! that are elastic blocks behind a thin layer ([`super::block`], small strains). Isotropic hardening. `tests/pressing/reference_press.rs` holds it against a general solver.

#![allow(
    clippy::inline_always,
    reason = "what runs in wide registers must be inlined into them"
)]
#![allow(
    clippy::indexing_slicing,
    reason = "freedoms and nodes are numbered by the mesh itself, never by input; checked access in the \
              innermost loops would double their length"
)]

pub mod balance;
mod bracket;
pub mod contact;
mod element;
pub mod failed;
pub mod guard;
pub mod material;
pub mod measure;
pub mod neighbour;
pub mod newton;
mod on_block;
pub mod problem;
mod release;
pub mod run;
pub mod shape;
mod slope;
mod softer;
pub mod strip;

//! Shapes: offsets, gaps, the blank, the formed plate and the dies.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod dies_of_examples;
mod formed_plate;
mod gaps;
mod offset_oracle;
mod reference_blank;
mod reference_dies;
#[path = "../sourced/published.rs"]
mod published;

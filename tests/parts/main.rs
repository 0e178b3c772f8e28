//! Part files: the bundled ones, damaged ones and random ones.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod advice_followed;
mod examples;
mod mutated_files;
#[path = "../common/random.rs"]
mod random;
mod random_parts;
mod part_design;
mod part_schema;

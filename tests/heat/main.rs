//! Temperatures: closed forms, what-ifs, random plates, and what the trade reports.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod heat_case;
mod heat_story;
mod heat_whatifs;
mod random_heat;
mod reference_heat;
#[path = "../sourced/published.rs"]
mod published;

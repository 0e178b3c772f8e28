//! Rules for the sources themselves.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod circles;
mod ids;
mod import_rule;
mod sources;

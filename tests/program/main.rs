//! The program as people and scripts use it.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod command_line;
mod contract;
mod conventions;
mod heat_verb;
mod kept_results;
mod make_verb;
mod media;
mod press_verb;
mod report_page;
mod runs;
mod showcase;
mod streams;
mod verdict;

//! What is said about a result, in order: the answer, and the steps of making. Media only set it.

pub mod answer;
pub mod build_sheet;

//! Sentences about results, each told once.

pub mod gaps;
pub mod heat;
pub mod press;

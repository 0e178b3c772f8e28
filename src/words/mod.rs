//! Sentences about results, each told once.

pub mod heat;
pub mod press;

//! The verbs, one file each: flags in, library call, answer out.

pub mod blank;
pub mod check;
pub mod completions;
pub mod dies;
pub mod heat;
pub mod make;
pub mod man;
pub mod new;
pub mod press;
pub mod schema;

//! The verbs, one file each: flags in, library call, answer out.

pub mod new;
pub mod check;
pub mod blank;
pub mod press;
pub mod schema;
pub mod dies;
pub mod heat;
pub mod make;

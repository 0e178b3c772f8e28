//! The press: a plane-strain continuum of the strip between two dies.

pub mod contact;
pub mod material;
pub mod run;
pub mod shape;
pub mod strip;

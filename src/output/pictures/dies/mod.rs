//! The die pair: in section, in its states, and as shaded solids.

pub(in crate::output) mod pair;
pub mod solids;
pub mod states;

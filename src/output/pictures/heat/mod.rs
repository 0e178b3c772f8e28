//! Temperatures: over the plate, before and after, rung by rung, and what a better pad brings.

pub mod compare;
pub mod ladder;
pub mod map;
pub mod pads;

//! The plate over the board: from the side and from above.

mod flat_band;
pub mod groups;
pub mod plan;
pub mod section;

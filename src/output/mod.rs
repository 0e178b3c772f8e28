//! What leaves the program: pictures, papers, the report, and the folder that holds them.
//!
//! Drawings are made once as a [`Drawing`](crate::draw::Drawing) in millimetres and then written in a format.

pub mod folder;
pub mod paper;
pub mod pictures;
pub mod report;
pub mod text;

pub use pictures::blank::{blank_sheet, flat_drawing};
pub use pictures::dies::states::{closed_pair, four_states};
pub use pictures::heat::compare::heat_compare;
pub use pictures::heat::ladder::heat_ladder;
pub use pictures::heat::map::heat_map;
pub use pictures::heat::pads::pad_chart;
pub use pictures::plate::plan::plan;
pub use pictures::plate::section::plate_over_parts;
pub use pictures::press::closing::{closing, closing_stills};
pub use pictures::press::force::force_curve;
pub use pictures::press::pressed::pressed_plate;

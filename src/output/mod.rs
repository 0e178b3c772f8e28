//! What leaves the program: values in, bytes out.
//!
//! Drawings are made once as a [`Drawing`] in millimetres and then written in a format.

pub mod animation;
pub mod blank_sheet;
pub mod build_sheet;
pub mod closing_pictures;
pub mod die_pictures;
mod die_section;
pub mod die_views;
pub mod dimension;
pub mod drawing;
pub mod dxf;
mod dxf_frame;
mod flat_band;
pub mod folder;
pub mod force_picture;
#[cfg(test)]
mod heat_cases;
pub mod heat_compare;
pub mod heat_ladder;
pub mod heat_map;
pub mod heat_words;
mod isotherms;
mod label_rows;
mod legend;
mod lettering;
pub mod paper;
mod part_groups;
#[cfg(test)]
pub(crate) mod picture_check;
pub mod pad_chart;
pub mod plan_picture;
pub mod png;
pub mod press_words;
pub mod pressed_picture;
pub mod report;
mod ruler;
pub mod section_picture;
pub mod step;
pub mod shaded;
pub mod stl;
pub mod style;
pub mod summary;
pub mod svg;
pub mod threemf;
mod view;

pub use blank_sheet::{blank_sheet, flat_drawing};
pub use closing_pictures::{closing, closing_stills};
pub use die_pictures::{closed_pair, four_states};
pub use dimension::{Dimension, Leader, LeaderEnd};
pub use drawing::{Anchor, Drawing, Item, Shape, Text};
pub use dxf::{DxfError, FlatDrawing, dxf};
pub use force_picture::force_curve;
pub use heat_compare::heat_compare;
pub use heat_ladder::heat_ladder;
pub use heat_map::heat_map;
pub use pad_chart::pad_chart;
pub use plan_picture::plan;
pub use pressed_picture::pressed_plate;
pub use section_picture::plate_over_parts;
pub use style::Role;
pub use svg::{SvgOptions, svg};

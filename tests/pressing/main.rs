//! Bending and pressing: metals, rules of the trade, the bent section, the press, vise and printed blocks.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss
)]

mod finer_mesh;
mod fragile;
mod ordinary_parts;
#[path = "../common/random.rs"]
mod random;
mod random_presses;
mod reference_bending;
mod reference_block;
mod reference_metals;
mod reference_press;
mod reference_press_closed_forms;
mod reference_press_on_blocks;
mod reference_printed_block;
mod reference_section;
mod reference_vise;
#[path = "../sourced/published.rs"]
mod published;

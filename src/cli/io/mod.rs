//! Files, the terminal, and what is kept between runs.

pub mod bar;
pub mod files;
pub mod interrupt;
pub mod kept;
pub mod open;
pub mod read;
pub mod render;
pub mod rewrite;
pub mod source;
pub mod terminal;

//! Files, the terminal, and what is kept between runs.

pub mod files;
pub mod kept;
pub mod read;
pub mod render;
pub mod rewrite;
pub mod source;
pub mod terminal;

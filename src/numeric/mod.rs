//! Numerics that know nothing of the trade: roots, banded and sparse equations, fields over cells.

#![allow(
    clippy::inline_always,
    reason = "what runs in wide registers must be inlined into them"
)]

#[allow(
    clippy::indexing_slicing,
    reason = "rows and columns are numbered by the equations themselves, never by input"
)]
pub mod band;
pub mod cells;
#[allow(clippy::indexing_slicing, reason = "as many rows as columns")]
pub mod columns;
#[allow(clippy::indexing_slicing, reason = "four of four")]
pub mod four;
pub mod gmres;
pub mod root;
pub mod shares;
#[allow(
    clippy::indexing_slicing,
    reason = "rows and columns are those of the equations themselves"
)]
pub mod sparse;
pub mod wide;

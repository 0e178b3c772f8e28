//! coldstep makes the stepped cold plate of a heat-pipe cooler: from calliper measurements to gaps, a flat
//! blank and a printable pair of press dies.
//!
//! One straight line runs through the library, and the modules stand in its order:
//!
//! 1. A person writes a part file. [`part`] reads it into a [`part::Part`] or into findings, each with its
//!    place and a way out, all at once. Numbers the file leaves out come from [`stock`], with their sources.
//! 2. The analyses look at the part and not at each other: [`blank`] unrolls the formed plate ([`plate`] is that
//!    plate as a body), [`forming`]
//!    finds the shape the die must force on the sheet, [`fit`] measures every gap, to the plate as drawn and,
//!    where the pressing was calculated, to the plate as the vise leaves it, and [`heat`] says how warm each part gets.
//! 3. [`dies`] turns the compensated strip into two blocks: a section first, then bodies whose faces meet
//!    edge to edge, then meshes and exact solids of the same bodies.
//! 4. [`verdict`] judges all of it: YES, YES under conditions, or NO, with reasons and ways out. [`job`] runs everything;
//!    [`output`] turns results into bytes. Only [`cli`] touches files and terminals.
//!
//! Lengths are millimetres, forces newtons, stresses MPa; degrees where people read, radians inside
//! formulas. Board top is z = 0, x runs along the strip, y across it.
//!
//! # The main job
//! ```
//! use coldstep::job::Job;
//!
//! let job = Job::read(coldstep::part::starter::STARTER).map_err(|findings| format!("{findings:?}"))?;
//! assert!(!job.verdict().is_no());
//! // How long is the blank, and how far is the first part from the plate?
//! assert!(job.blank.developed_length_mm > 40.0);
//! assert!(job.fit.components[0].gap_min_mm.is_some_and(|gap_mm| gap_mm > 0.7));
//! // Two blocks to print.
//! let tooling = job.tooling.map_err(|refusals| format!("{refusals:?}"))?;
//! assert_eq!(tooling.blocks.len(), 2);
//! # Ok::<(), String>(())
//! ```

pub mod mark;
pub mod numbers;
pub mod quantity;
pub mod diagnostic;
pub mod numeric;
pub mod geometry;
pub mod stock;
pub mod draw;
pub mod formats;
pub mod part;
pub mod blank;
pub mod plate;
pub mod forming;
pub mod fit;
pub mod conduction;
pub mod heat;
pub mod dies;
pub mod verdict;
pub mod job;
pub mod words;
pub mod result;
pub mod document;
pub mod output;
#[cfg(feature = "cli")]
pub mod cli;

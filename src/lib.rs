//! coldstep makes the stepped cold plate of a heat-pipe cooler: from calliper measurements to gaps, a flat
//! blank and a printable pair of press dies.
//!
//! One straight line runs through the library, and the modules stand in its order:
//!
//! 1. A person writes a part file, or a program makes a [`part::Design`]. [`part`] checks either into a
//!    [`part::Part`] or into findings, each with its place and a way out, all at once. Numbers that nobody gives
//!    come from [`stock`], with their sources; what is not known exactly stands in one list, [`part::uncertain`].
//! 2. The analyses look at the part and not at each other: [`blank`] unrolls the formed plate ([`plate`] is that
//!    plate as a body), [`forming`] finds the shape the die must force on the sheet, [`fit`] measures every gap, to
//!    the plate as drawn and, where the pressing was calculated, to the plate as the vise leaves it, and [`heat`]
//!    says how warm each part gets.
//! 3. [`dies`] turns the compensated strip into two blocks: a section first, then bodies whose faces meet
//!    edge to edge, then meshes and exact solids of the same bodies.
//! 4. [`job`] runs them all, and [`verdict`] answers from everything known: YES, YES under conditions, or NO.
//! 5. [`result`] is what a run found, as one typed document with a schema; [`document`] says it, each fact once;
//!    [`output`] sets it on pictures, paper and a page.
//!
//! Without the default feature `cli` the library has no terminal, no thread, no clock and no file: values in, values
//! and bytes out.
//!
//! Lengths are millimetres, forces newtons, stresses MPa; degrees where people read, radians inside
//! formulas. Board top is z = 0, x runs along the strip, y across it.
//!
//! # The main job
//! ```
//! use coldstep::job::Job;
//!
//! let job = Job::read(coldstep::part::starter::STARTER)?;
//! assert!(!job.verdict().is_no());
//! // How long is the blank, and how far is the first part from the plate?
//! assert!(job.blank.developed_length_mm > 40.0);
//! assert!(job.fit.components[0].gap_min_mm.is_some_and(|gap_mm| gap_mm > 0.7));
//! // Two blocks to print.
//! let tooling = job.tooling?;
//! assert_eq!(tooling.blocks.len(), 2);
//! # Ok::<(), coldstep::diagnostic::Refused>(())
//! ```
//!
//! # Gaps alone
//! ```
//! use coldstep::{fit, part};
//!
//! let part = part::parse(part::starter::STARTER)?.value;
//! let gaps = fit::fit(&part);
//! for component in &gaps.components {
//!     println!("{}: {:?} mm, {}", component.name, component.gap_min_mm, component.verdict_text);
//! }
//! assert!(gaps.is_good());
//! # Ok::<(), coldstep::diagnostic::Refused>(())
//! ```
//!
//! # Dies, without a calculated pressing
//! ```
//! use coldstep::{dies, forming, part};
//!
//! let part = part::parse(part::starter::STARTER)?.value;
//! let compensation = forming::compensate(&part).value;
//! let pair = dies::tooling(&part, &compensation)?.value;
//! assert!(pair.touching_height_mm > pair.closed_height_mm);
//! # Ok::<(), coldstep::diagnostic::Refused>(())
//! ```
//!
//! # Temperatures
//! ```
//! use coldstep::{fit::Underside, heat, part};
//!
//! let part = part::parse(part::starter::STARTER)?.value;
//! let heat = heat::heat(&part, &Underside::drawn(&part), Underside::drawn)?.value;
//! let hottest = heat.parts.iter().map(|part| part.inside_c.middle).fold(0.0, f64::max);
//! assert!(hottest > heat.air_c);
//! # Ok::<(), coldstep::diagnostic::Refused>(())
//! ```
//!
//! A part made by a program stands in [`part`].

#[doc(hidden)]
pub mod mark;
#[doc(hidden)]
pub mod numbers;
pub mod quantity;
pub mod change;
pub mod diagnostic;
#[doc(hidden)]
pub mod numeric;
pub mod geometry;
pub mod stock;
#[doc(hidden)]
pub mod draw;
pub mod formats;
pub mod part;
pub mod blank;
pub mod plate;
pub mod forming;
pub mod fit;
#[doc(hidden)]
pub mod conduction;
pub mod heat;
pub mod dies;
pub mod verdict;
pub mod job;
pub mod propose;
#[doc(hidden)]
pub mod words;
pub mod result;
pub mod document;
pub mod output;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;

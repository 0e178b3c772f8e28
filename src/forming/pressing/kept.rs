//! What a search found as bytes, and the key under which a later run of the same program may look it up.
//!
//! Every bit of every number is kept. What a task says itself (sheet, dies, drawn strip) is taken from the task and not
//! from the bytes; what is left must be a strip and dies that can be, or the bytes are not believed.

use super::{Effort, NoPressing, Pressing, StripOutline, Task};
use crate::forming::die_shape::NoShape;
use crate::forming::press::failed::Failed;
use crate::forming::press::guard::Doubt;
use crate::forming::press::problem::Problem;
use crate::geometry::{Chain, Segment};
use nalgebra::Point2;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// Larger coordinates and forces are not believed. Own choice: no part reaches a thousandth of it.
const LARGEST: f64 = 1e6;
/// Dies with a straight so many times as long as the drawn strip are not believed. Own choice.
const LONGEST: f64 = 2.0;
/// More changed inputs than a search asks for.
const MOST_CHANGES: usize = 16;

/// All ends of a search that come again whenever it is run again.
#[derive(Serialize, Deserialize)]
enum Kept {
    Pressed(Box<Pressing>),
    Shape(NoShape),
    Failed(Failed),
    Guard(Doubt),
}

impl Task {
    /// Bytes that two searches share only when they come to the same end in the same program; `None` when there are none.
    pub fn key(&self, effort: Effort) -> Option<Vec<u8>> {
        postcard::to_allocvec(&("search", effort, self)).ok()
    }

    /// What a search found as bytes; `None` for an end that says nothing about the task, such as being stopped.
    pub fn to_keep(found: &Result<Pressing, NoPressing>) -> Option<Vec<u8>> {
        let kept = match found {
            Ok(pressing) => Kept::Pressed(Box::new(pressing.clone())),
            Err(NoPressing::Shape(reason)) => Kept::Shape(*reason),
            Err(NoPressing::Failed(reason)) => Kept::Failed(*reason),
            Err(NoPressing::Guard(reason)) => Kept::Guard(reason.clone()),
            Err(NoPressing::Flat | NoPressing::Block(_) | NoPressing::Stopped) => return None,
        };
        postcard::to_allocvec(&kept).ok()
    }

    /// What a search for this task found, from its bytes; `None` when they cannot be that.
    pub fn from_kept(&self, bytes: &[u8]) -> Option<Result<Pressing, NoPressing>> {
        Some(match whole(bytes)? {
            Kept::Pressed(pressing) => Ok(self.own(*pressing)?),
            Kept::Shape(reason) => Err(NoPressing::Shape(reason)),
            Kept::Failed(Failed::Stopped) => return None,
            Kept::Failed(reason) => Err(NoPressing::Failed(reason)),
            Kept::Guard(reason) => Err(NoPressing::Guard(reason)),
        })
    }

    /// A kept pressing with everything that this task knows better; `None` when it is not of this task.
    fn own(&self, mut pressing: Pressing) -> Option<Pressing> {
        let mid = std::mem::replace(&mut pressing.problem.mid, self.base.mid.clone());
        let names_fit = pressing.flats.len() == self.flats.len()
            && pressing
                .flats
                .iter()
                .zip(&self.flats)
                .all(|(kept, drawn)| kept.name == drawn.name);
        let counts_fit = pressing.bends.len() == self.drawn_bends.len()
            && pressing.rises.len() == self.drawn.steps.len();
        let numbers = pressing
            .curve
            .iter()
            .flat_map(|point| [point.lifted_mm, point.force_n_per_mm])
            .chain(
                pressing
                    .frames
                    .iter()
                    .flat_map(|frame| [frame.lifted_mm, frame.force_n_per_mm]),
            )
            .chain(pressing.flats.iter().flat_map(|flat| {
                [
                    flat.height_error_mm,
                    flat.along_error_mm,
                    flat.slope_deg,
                    flat.bow_mm,
                ]
            }))
            .chain(pressing.bends.iter().flat_map(|bend| {
                [
                    bend.die_angle_deg,
                    bend.closed_angle_deg,
                    bend.released_angle_deg,
                    bend.die_nose_radius_mm,
                    bend.closed_inside_radius_mm,
                    bend.released_inside_radius_mm,
                ]
            }))
            .chain(pressing.bending_force_n_per_mm)
            .chain(pressing.force_assumed_n)
            .chain(pressing.range_by_gauge_deg)
            .chain(pressing.closing_deg_mm)
            .chain(pressing.rises.iter().map(|rise| rise.released_mm))
            .chain(pressing.sensitivities.iter().flat_map(|one| {
                let each = [
                    &one.angles_deg,
                    &one.rises_mm,
                    &one.heights_mm,
                    &one.radii_mm,
                ];
                let each = each.into_iter().flatten().copied();
                each.chain([
                    one.force_n_per_mm,
                    one.pressure_mpa,
                    one.angle_deg,
                    one.rise_mm,
                    one.radius_mm,
                ])
            }))
            .chain([
                pressing.max_force_n_per_mm,
                pressing.most_pressure_mpa,
                pressing.thinnest_mm,
                pressing.outer_strain,
                pressing.strength.needed_n,
            ]);
        let numbers_fit = numbers.into_iter().all(can_be);
        let changes_fit = pressing.sensitivities.len() <= MOST_CHANGES;
        let is_sound = names_fit
            && changes_fit
            && counts_fit
            && numbers_fit
            && !pressing.curve.is_empty()
            && !pressing.frames.is_empty()
            && is_strip(&pressing.released)
            && pressing.frames.iter().all(|frame| is_strip(&frame.strip))
            && self.is_die(&mid);
        if !is_sound {
            return None;
        }
        let mut problem = Problem {
            mid,
            ..self.base.clone()
        };
        if self.gives_n.is_none() && pressing.force_assumed_n.is_none() {
            problem.most_force_n_mm = f64::INFINITY;
        }
        Some(Pressing {
            drawn: self.base.mid.clone(),
            faces: problem.faces().ok()?,
            problem,
            ..pressing
        })
    }

    /// Whether a strip may lie in dies for this part: as many bends, nothing longer than it can be, nothing undercut.
    fn is_die(&self, mid: &Chain) -> bool {
        let longest_mm = LONGEST * self.base.mid.length_mm();
        let start = mid.start;
        let numbers = [start.point.x, start.point.y, start.heading.rad()];
        if !numbers.into_iter().all(can_be)
            || mid.arcs().count() != self.drawn_bends.len()
            || mid.segments.len() > self.base.mid.segments.len()
        {
            return false;
        }
        let lengths_are_right = mid.segments.iter().all(|segment| match *segment {
            Segment::Line { length_mm } => (0.0..=longest_mm).contains(&length_mm),
            Segment::Arc { radius_mm, turn } => {
                radius_mm > 0.0
                    && (0.0..=longest_mm).contains(&segment.length_mm())
                    && turn.abs().degrees() < 180.0
                    && turn.rad() != 0.0
            }
        });
        let (low, high) = mid.heading_range();
        lengths_are_right && low.degrees() > -90.0 && high.degrees() < 90.0
    }
}

/// A value whose bytes are these and no others.
fn whole<T: DeserializeOwned>(bytes: &[u8]) -> Option<T> {
    let (value, rest) = postcard::take_from_bytes(bytes).ok()?;
    rest.is_empty().then_some(value)
}

fn can_be(number: f64) -> bool {
    number.abs() <= LARGEST
}

fn is_strip(strip: &StripOutline) -> bool {
    let on_earth = |point: &Point2<f64>| can_be(point.x) && can_be(point.y);
    strip.under.len() == strip.top.len()
        && strip.under.len() > 1
        && strip.under.iter().chain(&strip.top).all(on_earth)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;
    use crate::part::{Part, parse, starter::STARTER};
    use proptest::prelude::*;
    use std::ops::ControlFlow;
    use std::sync::OnceLock;

    fn part() -> Part {
        parse(STARTER).unwrap().value
    }

    fn found() -> &'static Result<Pressing, NoPressing> {
        static FOUND: OnceLock<Result<Pressing, NoPressing>> = OnceLock::new();
        FOUND.get_or_init(|| {
            let task = Task::of(&part()).unwrap();
            task.search(Effort::Quick, &mut |_| ControlFlow::Continue(()))
        })
    }

    #[test]
    fn what_was_found_comes_back_whole() {
        let task = Task::of(&part()).unwrap();
        let bytes = Task::to_keep(found()).unwrap();
        assert_eq!(task.from_kept(&bytes).as_ref(), Some(found()));
        let back = task.from_kept(&bytes).unwrap().unwrap();
        assert_eq!(Task::to_keep(&Ok(back)).unwrap(), bytes);
        for reason in [
            NoPressing::Failed(Failed::NoBalance { lifted_mm: 0.1 }),
            NoPressing::Shape(NoShape::NoWall { step: 1 }),
            NoPressing::Guard(Doubt::Thin {
                thinnest_mm: f64::INFINITY,
            }),
        ] {
            let found = Err(reason);
            let bytes = Task::to_keep(&found).unwrap();
            assert_eq!(task.from_kept(&bytes), Some(found));
        }
        assert_eq!(Task::to_keep(&Err(NoPressing::Stopped)), None);
    }

    #[test]
    fn only_what_the_search_reads_is_in_its_key() {
        let key = |part: &Part, effort| Task::of(part).unwrap().key(effort).unwrap();
        let usual = key(&part(), Effort::Full);
        assert_ne!(usual, key(&part(), Effort::Quick));
        let mut other = part();
        other.components.clear();
        other.pads.clear();
        other.name = "another".to_owned();
        assert_eq!(usual, key(&other, Effort::Full));
        let different: [&dyn Fn(&mut Part); 9] = [
            &|part| part.sheet.thickness_plus_minus_mm = Some(0.0123),
            &|part| part.sheet.thickness_mm += 0.01,
            &|part| part.sheet.metal.youngs_mpa += 1.0,
            &|part| part.sheet.metal.proof_mpa += 1.0,
            &|part| part.dies.clearance_mm += 0.01,
            &|part| part.dies.friction += 0.01,
            &|part| part.steps[0].keep_radius = true,
            &|part| part.printer.wall_mm += 0.1,
            &|part| part.profile.bends[0].inside_radius_mm += 0.1,
        ];
        for (number, change) in different.iter().enumerate() {
            let mut other = part();
            change(&mut other);
            assert_ne!(usual, key(&other, Effort::Full), "{number}");
        }
    }

    #[test]
    fn a_result_of_other_flats_is_not_believed() {
        let bytes = Task::to_keep(found()).unwrap();
        let mut other = part();
        other.flats[0].name.push('x');
        assert!(Task::of(&other).unwrap().from_kept(&bytes).is_none());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Bytes that somebody made up: refused, or a plate that the rest of the program can go on with.
        #[test]
        fn made_up_bytes_do_no_harm(
            places in prop::collection::vec((0..1000usize, any::<u8>()), 1..4),
            early in any::<bool>(),
            cut in prop::option::of(0..1000usize),
        ) {
            let part = parse(STARTER).unwrap();
            let task = Task::of(&part.value).unwrap();
            let mut bytes = Task::to_keep(found()).unwrap();
            let count = bytes.len();
            for (place, value) in places {
                // Counts and lengths stand early, points in between, dies at the end.
                let at = if early {
                    place * place * place * count / 1_000_000_000
                } else {
                    count - place * count / 4000
                };
                bytes[at.min(count - 1)] = value;
            }
            if let Some(cut) = cut {
                bytes.truncate(cut * count / 1000);
            }
            if let Some(found) = task.from_kept(&bytes) {
                let job = Job::found(part, found, None);
                prop_assert!(job.is_ok());
                if let Ok(job) = job {
                    let _ = crate::output::folder::folder(&job, &crate::output::paper::Printing::default());
                }
            }
        }
    }
}

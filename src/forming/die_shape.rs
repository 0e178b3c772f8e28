//! The strip in the closed die by its corners: what a search for the right dies may change.
//!
//! Flats and walls are straight lines that meet in corners; each corner is rounded by an arc. Corners, not arcs,
//! carry the plan: a flat keeps the distance between its corners however far its bends are overbent.

use crate::geometry::{Chain, Segment};
use crate::quantity::Angle;
use serde::{Deserialize, Serialize};

/// One step between two flats.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DieStep {
    /// Turns of both bends; positive to the left.
    pub turns: [Angle; 2],
    /// Wanted radii at mid-thickness; made smaller where the wall is too short for both.
    pub mid_radii_mm: [f64; 2],
    /// Height between the corners of the step, square to the mean of the flats; positive to the left.
    pub rise_mm: f64,
}

/// A strip by its corners.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DieShape {
    start: Chain,
    /// Lengths of flats from corner to corner; the first and last from the strip's end, both changed alike so that
    /// the strip is as long as the blank.
    pub flats_mm: Vec<f64>,
    length_mm: f64,
    /// Steps from left to right.
    pub steps: Vec<DieStep>,
}

/// No strip has such corners.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error, Serialize, Deserialize)]
pub enum NoShape {
    /// The radii of two bends leave no wall.
    #[error("no straight wall is left between the bends of step {step}", step = .step + 1)]
    NoWall {
        /// Number of the step, from 0.
        step: usize,
    },
    /// The bends on both sides leave no flat.
    #[error("no flat is left before step {flat}", flat = .flat + 1)]
    NoFlat {
        /// Number of the flat, from 0.
        flat: usize,
    },
}

/// Radii are not made smaller than this share of what is wanted.
const LEAST_SHARE: f64 = 0.3;

/// Shorter walls are left out: a printer cannot make them, and a mesh in single precision cannot hold them.
const LEAST_WALL_MM: f64 = 1e-3;

/// Distance from a corner to where its arc begins.
pub(super) fn set_back_mm(mid_radius_mm: f64, turn: Angle) -> f64 {
    mid_radius_mm * turn.abs().half().tan()
}

impl DieShape {
    /// Corners of a drawn strip: arcs in pairs, one pair a step, lines between.
    pub fn of(mid: &Chain) -> Self {
        let mut flats_mm = vec![0.0];
        let mut steps: Vec<DieStep> = Vec::new();
        let mut first: Option<(f64, Angle)> = None;
        let mut wall_mm = 0.0;
        for segment in &mid.segments {
            match (*segment, first) {
                (Segment::Line { length_mm }, None) => {
                    if let Some(flat) = flats_mm.last_mut() {
                        *flat += length_mm;
                    }
                }
                (Segment::Line { length_mm }, Some(_)) => wall_mm += length_mm,
                (Segment::Arc { radius_mm, turn }, None) => {
                    if let Some(flat) = flats_mm.last_mut() {
                        *flat += set_back_mm(radius_mm, turn);
                    }
                    first = Some((radius_mm, turn));
                }
                (Segment::Arc { radius_mm, turn }, Some((before_mm, before))) => {
                    let corners_mm =
                        wall_mm + set_back_mm(before_mm, before) + set_back_mm(radius_mm, turn);
                    steps.push(DieStep {
                        turns: [before, turn],
                        mid_radii_mm: [before_mm, radius_mm],
                        rise_mm: corners_mm * (before - turn).half().sin(),
                    });
                    flats_mm.push(set_back_mm(radius_mm, turn));
                    first = None;
                    wall_mm = 0.0;
                }
            }
        }
        Self {
            start: Chain {
                start: mid.start,
                segments: Vec::new(),
            },
            flats_mm,
            length_mm: mid.length_mm(),
            steps,
        }
    }

    /// The chain at mid-thickness.
    ///
    /// # Errors
    /// When no straight is left between two bends.
    pub fn chain(&self) -> Result<Chain, NoShape> {
        let mut steps = self.steps.clone();
        let mut walls_mm = Vec::with_capacity(steps.len());
        for (number, step) in steps.iter_mut().enumerate() {
            let [first, second] = step.turns;
            let corners_mm = step.rise_mm / (first - second).half().sin();
            let taken_mm = |step: &DieStep| {
                set_back_mm(step.mid_radii_mm[0], first) + set_back_mm(step.mid_radii_mm[1], second)
            };
            let share = corners_mm / taken_mm(step);
            if share.is_nan() || share < LEAST_SHARE {
                return Err(NoShape::NoWall { step: number });
            }
            if share < 1.0 {
                step.mid_radii_mm = step.mid_radii_mm.map(|radius_mm| radius_mm * share);
            }
            walls_mm.push((corners_mm - taken_mm(step)).max(0.0));
        }
        let arcs_mm: f64 = steps
            .iter()
            .flat_map(|step| step.mid_radii_mm.iter().zip(&step.turns))
            .map(|(radius_mm, turn)| {
                radius_mm * turn.rad().abs() - 2.0 * set_back_mm(*radius_mm, *turn)
            })
            .sum();
        let straights_mm = walls_mm.iter().sum::<f64>()
            + steps
                .iter()
                .flat_map(|step| step.mid_radii_mm.iter().zip(&step.turns))
                .map(|(radius_mm, turn)| set_back_mm(*radius_mm, *turn))
                .sum::<f64>();
        let missing_mm =
            self.length_mm - self.flats_mm.iter().sum::<f64>() - straights_mm - arcs_mm;
        let last = self.flats_mm.len().saturating_sub(1);
        let mut chain = self.start.clone();
        for (number, whole_mm) in self.flats_mm.iter().enumerate() {
            let before_mm = number
                .checked_sub(1)
                .and_then(|before| steps.get(before))
                .map_or(0.0, |step| set_back_mm(step.mid_radii_mm[1], step.turns[1]));
            let after_mm = steps
                .get(number)
                .map_or(0.0, |step| set_back_mm(step.mid_radii_mm[0], step.turns[0]));
            let ends = f64::from(u8::from(number == 0) + u8::from(number == last));
            let flat_mm = whole_mm - before_mm - after_mm + 0.5 * ends * missing_mm;
            if flat_mm.is_nan() || flat_mm <= 0.0 {
                return Err(NoShape::NoFlat { flat: number });
            }
            chain.line(flat_mm);
            if let (Some(step), Some(wall_mm)) = (steps.get(number), walls_mm.get(number)) {
                chain.arc(step.mid_radii_mm[0], step.turns[0]);
                if *wall_mm > LEAST_WALL_MM {
                    chain.line(*wall_mm);
                }
                chain.arc(step.mid_radii_mm[1], step.turns[1]);
            }
        }
        Ok(chain)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn stairs() -> Chain {
        let mut mid = Chain::from_start(3.0, 1.0, Angle::ZERO);
        mid.line(9.0)
            .arc(1.5, Angle::deg(60.0))
            .line(1.0)
            .arc(2.5, Angle::deg(-60.0))
            .line(11.0)
            .arc(1.2, Angle::deg(-40.0))
            .arc(1.2, Angle::deg(40.0))
            .line(7.0);
        mid
    }

    #[test]
    fn corners_of_a_strip_give_the_strip_back() {
        let mid = stairs();
        let back = DieShape::of(&mid).chain().unwrap();
        assert_abs_diff_eq!(back.length_mm(), mid.length_mm(), epsilon = 1e-9);
        for share in [0.1, 0.33, 0.5, 0.7, 0.99] {
            let (one, other) = (
                back.at(share * mid.length_mm()),
                mid.at(share * mid.length_mm()),
            );
            assert_abs_diff_eq!(one.point, other.point, epsilon = 1e-9);
        }
    }

    #[test]
    fn overbending_keeps_rise_and_place_of_the_next_flat() {
        let mid = stairs();
        let mut shape = DieShape::of(&mid);
        shape.steps[0].turns = [Angle::deg(66.0), Angle::deg(-66.0)];
        let made = shape.chain().unwrap();
        let at_flat = |chain: &Chain| chain.at(19.0).point;
        assert_abs_diff_eq!(at_flat(&made).y, at_flat(&mid).y, epsilon = 1e-9);
        // The blank is what it was.
        assert_abs_diff_eq!(made.length_mm(), mid.length_mm(), epsilon = 1e-9);
    }

    #[test]
    fn a_wall_too_short_makes_its_radii_smaller_down_to_a_limit() {
        let mut shape = DieShape::of(&stairs());
        shape.steps[1].rise_mm *= 0.6;
        let tighter = shape.chain().unwrap();
        let smallest = tighter
            .segments
            .iter()
            .filter_map(|segment| match segment {
                Segment::Arc { radius_mm, .. } => Some(*radius_mm),
                Segment::Line { .. } => None,
            })
            .fold(f64::INFINITY, f64::min);
        assert_abs_diff_eq!(smallest, 1.2 * 0.6, epsilon = 1e-9);
        shape.steps[1].rise_mm *= 0.1;
        assert_eq!(shape.chain(), Err(NoShape::NoWall { step: 1 }));
    }
}

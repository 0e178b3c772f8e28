//! Guards: a run that breaks a law of mechanics, or common sense, is never used.

use super::contact::STIFFNESS_KEPT;
use super::measure::{MeasuredStrip, bent_at_mm, measure};
use super::problem::Problem;
use super::run::Pressed;
use super::strip::Strip;
use crate::geometry::{Chain, Segment};
use serde::{Deserialize, Serialize};

/// Work of the dies and work in the strip may differ by this share before a run is not believed. Own choice; usual runs
/// stay below a fifth of it.
const WORK_MISSING: f64 = 0.05;
/// A strip thinner than this share of the sheet anywhere is not believed.
const LEAST_THICKNESS: f64 = 0.6;
/// A drop of the closing force by more than this share of the largest is not believed. Own choice: a sheet that snaps
/// through loses some force.
const MOST_DROP: f64 = 0.6;
/// Dies that the vise leaves open by more than this, in thicknesses, need not have bent the sheet. Own choice.
const HARDLY_CLOSED: f64 = 0.2;
/// Dies that yield by more than this, in thicknesses, are what keeps a sheet from being bent. Own choice.
const PRESSED_IN: f64 = 0.5;
/// Dies are symmetric when turns and lengths differ by no more than this. Own choice.
const ALIKE_DEG: f64 = 0.5;
const ALIKE_MM: f64 = 0.05;
/// Symmetric dies must make bends that differ by no more than this. Own choice; usual runs stay below a tenth.
const UNEVEN_DEG: f64 = 0.5;

/// Why a run is not believed.
#[derive(Debug, Clone, PartialEq, thiserror::Error, Serialize, Deserialize)]
pub enum Doubt {
    /// The energies do not balance.
    #[error("the work done on the sheet and the work found in it differ by {percent:.1} %")]
    Work {
        /// Of the work done.
        percent: f64,
    },
    /// It had to be led from one shape to another.
    #[error("the sheet snaps from one shape to another while it is pressed")]
    Snaps,
    /// Too thin somewhere.
    #[error("the sheet would be {thinnest_mm:.2} mm thin somewhere")]
    Thin {
        /// Least thickness.
        thinnest_mm: f64,
    },
    /// The force falls.
    #[error("the closing force falls by {drop_n_mm:.0} N/mm from one step to the next")]
    Drop {
        /// Largest fall, N for each mm of width.
        drop_n_mm: f64,
    },
    /// Symmetric dies, unsymmetric plate.
    #[error("symmetric dies make bends that differ by {differ_deg:.1} degrees")]
    Uneven {
        /// Largest difference of bends that should be the same.
        differ_deg: f64,
    },
    /// The sheet is stronger than the vise.
    #[error(
        "the vise's force ends the closing {left_mm:.1} mm before the dies are closed, and the sheet is hardly bent"
    )]
    ForceEnds {
        /// How far the dies are still open.
        left_mm: f64,
    },
    /// The sheet is stronger than the dies.
    #[error(
        "the printed faces give way before the sheet is bent: {pressure_mpa:.0} MPa on them, they bear about {yield_mpa:.0} MPa"
    )]
    DiesGive {
        /// Largest pressure on a face.
        pressure_mpa: f64,
        /// What a face bears.
        yield_mpa: f64,
    },
    /// Its bends are not the dies'.
    #[error(
        "the pressed sheet does not have the drawn bends: part of it is not gripped and tips away"
    )]
    Unlike,
}

/// Measures a run, closed and let go, if it can be believed.
///
/// # Errors
/// The first guard that refuses it.
pub fn believed(
    problem: &Problem,
    strip: &Strip,
    pressed: &Pressed,
) -> Result<[MeasuredStrip; 2], Doubt> {
    let (stored, lost) = strip.work(&pressed.closed);
    let share = (stored + lost) / pressed.work_n - 1.0;
    if share.is_nan() || share.abs() > WORK_MISSING {
        return Err(Doubt::Work {
            percent: 100.0 * share.abs(),
        });
    }
    if pressed.drag_n > WORK_MISSING * pressed.work_n {
        return Err(Doubt::Snaps);
    }
    let (thinnest_mm, _) = strip.thinnest_and_outer(&pressed.released);
    if thinnest_mm.is_nan() || thinnest_mm < LEAST_THICKNESS * strip.thickness_mm {
        return Err(Doubt::Thin { thinnest_mm });
    }
    let drop_n_mm = pressed
        .curve
        .windows(2)
        .map(|pair| match pair {
            [before, after] => before.force_n_mm - after.force_n_mm,
            _ => 0.0,
        })
        .fold(0.0, f64::max);
    if drop_n_mm > MOST_DROP * pressed.largest_force_n_mm() {
        return Err(Doubt::Drop { drop_n_mm });
    }
    let unlike = || {
        let beyond_mm = (pressed.most_pressure_mpa - problem.die_yield_mpa)
            / (STIFFNESS_KEPT * problem.foundation_n_mm3);
        let left_mm = pressed
            .curve
            .last()
            .map_or(0.0, |point| point.lifted_mm - problem.end_mm);
        if pressed.force_limited && left_mm > HARDLY_CLOSED * problem.thickness_mm {
            Doubt::ForceEnds { left_mm }
        } else if beyond_mm > PRESSED_IN * problem.thickness_mm {
            Doubt::DiesGive {
                pressure_mpa: pressed.most_pressure_mpa,
                yield_mpa: problem.die_yield_mpa,
            }
        } else {
            Doubt::Unlike
        }
    };
    let places = bent_at_mm(strip, &pressed.closed, &problem.mid);
    let measured = |state| measure(strip, state, &problem.mid, &places).ok_or_else(unlike);
    let (closed, released) = (measured(&pressed.closed)?, measured(&pressed.released)?);
    if let Some(apart_deg) = alike_from_both_ends(&problem.mid) {
        let turns: Vec<f64> = released
            .bends
            .iter()
            .map(|bend| bend.turn.abs().degrees())
            .collect();
        let differ_deg = turns
            .iter()
            .zip(turns.iter().rev())
            .map(|(one, other)| (one - other).abs())
            .fold(0.0, f64::max);
        if differ_deg > UNEVEN_DEG + apart_deg {
            return Err(Doubt::Uneven { differ_deg });
        }
    }
    Ok([closed, released])
}

/// By how much the turns of a chain differ that is its own mirror image or turns into itself; `None` for any other.
fn alike_from_both_ends(mid: &Chain) -> Option<f64> {
    let pairs = || mid.segments.iter().zip(mid.segments.iter().rev());
    let mut apart_deg: f64 = 0.0;
    let (mut mirrored, mut turned) = (true, true);
    for pair in pairs() {
        match pair {
            (Segment::Line { length_mm: one }, Segment::Line { length_mm: other }) => {
                if (one - other).abs() > ALIKE_MM {
                    return None;
                }
            }
            (
                Segment::Arc {
                    radius_mm: one,
                    turn,
                },
                Segment::Arc {
                    radius_mm: other,
                    turn: back,
                },
            ) => {
                let apart = (turn.abs() - back.abs()).abs().degrees();
                if (one - other).abs() > ALIKE_MM || apart > ALIKE_DEG {
                    return None;
                }
                apart_deg = apart_deg.max(apart);
                mirrored &= turn.rad() * back.rad() > 0.0;
                turned &= turn.rad() * back.rad() < 0.0;
            }
            _ => return None,
        }
    }
    // The end must lean as the start does, or as its mirror image.
    let (start, end) = (mid.start.heading, mid.end().heading);
    let lean = if mirrored { start + end } else { start - end };
    ((mirrored || turned) && lean.abs().degrees() <= ALIKE_DEG).then_some(apart_deg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;

    fn chain(parts: &[(f64, f64, f64)], last_mm: f64) -> Chain {
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        for (line_mm, radius_mm, degrees) in parts {
            mid.line(*line_mm).arc(*radius_mm, Angle::deg(*degrees));
        }
        mid.line(last_mm);
        mid
    }

    #[test]
    fn steps_and_hats_are_alike_from_both_ends_and_others_are_not() {
        let step = chain(&[(8.0, 1.5, 40.0), (2.0, 1.5, -40.2)], 8.0);
        assert!((alike_from_both_ends(&step).unwrap() - 0.2).abs() < 1e-9);
        let hat = [
            (8.0, 1.5, 40.0),
            (2.0, 1.5, -40.0),
            (9.0, 1.5, -40.0),
            (2.0, 1.5, 40.0),
        ];
        assert_eq!(alike_from_both_ends(&chain(&hat, 8.0)), Some(0.0));
        assert_eq!(alike_from_both_ends(&chain(&hat, 8.2)), None);
        assert_eq!(
            alike_from_both_ends(&chain(&hat, 8.0).turned(step.start.point, Angle::deg(3.0))),
            None
        );
        let sharper = chain(&[(8.0, 1.5, 40.0), (2.0, 1.4, -40.0)], 8.0);
        assert_eq!(alike_from_both_ends(&sharper), None);
        // Stairs turn into themselves.
        let stairs = [
            (8.0, 1.5, 40.0),
            (2.0, 1.5, -40.0),
            (9.0, 1.5, 40.0),
            (2.0, 1.5, -40.0),
        ];
        assert_eq!(alike_from_both_ends(&chain(&stairs, 8.0)), Some(0.0));
    }
}

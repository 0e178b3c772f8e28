//! What the sheet does after pressing, and which die shape makes up for it.
//!
//! [`Compensation`] is the one thing other modules see: the mid-thickness chain that the closed die must
//! force on the sheet so that, let go, it becomes the drawn strip. How it was found stands inside.

pub mod die_shape;
pub mod block;
pub mod press;
pub mod pressing;
pub mod springback;
pub mod strength;

use crate::diagnostic::{Diagnostic, Noted};
use crate::geometry::Chain;
use crate::numbers::plain;
use crate::part::{Part, Tilt, ZoneKind};
use crate::quantity::Angle;
use schemars::JsonSchema;
use serde::Serialize;
use springback::Springback;

/// One bend, as drawn and as the die must make it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BendCompensation {
    /// Flats on either side.
    pub between: [String; 2],
    /// Bend angle of the drawing.
    pub target_angle_deg: f64,
    /// Inside radius of the drawing.
    pub target_inside_radius_mm: f64,
    /// Bend angle of the closed die.
    pub die_angle_deg: f64,
    /// Inside radius of the sheet in the closed die.
    pub die_inside_radius_mm: f64,
    /// Target angle over die angle.
    pub k_r: f64,
    /// Where the factor comes from.
    pub method: String,
}

/// The shape the closed die must give the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Compensation {
    /// Mid-thickness of the sheet in the closed die, first flat level, same start as the drawn strip.
    pub mid: Chain,
    /// Turn of that chain in the die, about its start.
    pub tilt: Angle,
    /// Bends from left to right.
    pub bends: Vec<BendCompensation>,
    /// How the shape was found, in words.
    pub model: String,
}

/// Free distance between the laid-in blank's end and the foot of a tower. Common practice, no source.
pub const STOP_CLEARANCE_MM: f64 = 0.3;

/// A face must lean at least this much against the closing direction. Engineering judgement, no source.
pub const STEEPEST_FACE_DEG: f64 = 88.0;

/// Turn of a strip in the die: level where that opens, else so that its steepest walls up and down lean alike.
pub fn tilt(mid: &Chain, wanted: Tilt) -> Angle {
    match wanted {
        Tilt::Level => Angle::ZERO,
        Tilt::Auto if mid.steepest_deg(Angle::ZERO) <= STEEPEST_FACE_DEG => Angle::ZERO,
        Tilt::Centred | Tilt::Auto => {
            let (low, high) = mid.heading_range();
            -(low + high).half()
        }
    }
}

/// Compensates each bend by itself: published factors where there are any, else a strip calculated fibre by fibre.
///
/// Arc length at mid-thickness is kept: the die's angle grows by 1/kR while its mid radius shrinks by kR.
/// Walls and flats keep their length, so after springback every flat lies at its drawn height.
///
/// # Valid for
/// A sheet that fills the die. A sheet pressed in a vise between printed dies does not quite: the released
/// bend is then rounder and flatter than this says.
pub fn compensate(part: &Part) -> Noted<Compensation> {
    let thickness_mm = part.sheet.thickness_mm;
    let metal = &part.sheet.metal;
    let mut mid = Chain {
        start: part.profile.mid.start,
        segments: Vec::new(),
    };
    let mut bends = Vec::new();
    let mut doubted = None;
    let mut notes: Vec<Diagnostic> = Vec::new();
    let mut methods: Vec<&'static str> = Vec::new();
    for zone in &part.profile.zones {
        let ZoneKind::Bend(step, which) = zone.kind else {
            mid.line(zone.piece.segment.length_mm());
            continue;
        };
        let Some(bend) = part
            .profile
            .bends
            .iter()
            .find(|bend| bend.step == step && bend.which == which)
        else {
            continue;
        };
        let springback = Springback::of(metal, bend.inside_radius_mm, thickness_mm);
        let target_mid_mm = bend.inside_radius_mm + thickness_mm / 2.0;
        let die_mid_mm = target_mid_mm * springback.k_r;
        let turn = Angle::rad_from(bend.turn.rad() / springback.k_r);
        mid.arc(die_mid_mm, turn);
        let flat = |number: usize| part.flats.get(number).map_or("", |flat| flat.name.as_str());
        if let Some(doubt) = &springback.doubt {
            let span = part.steps.get(step).map_or(0..0, |step| step.span.clone());
            // Both bends of a step say the same.
            if doubted != Some(step) {
                doubted = Some(step);
                notes.push(
                    Diagnostic::warning(format!(
                        "springback of the step from \"{}\" to \"{}\": {doubt}",
                        flat(step),
                        flat(step + 1)
                    ))
                    .id("springback-uncertain")
                    .at(&span)
                    .help("press a strip of the same sheet first and measure the angle it keeps"),
                );
            }
        }
        if !methods.contains(&springback.method.words()) {
            methods.push(springback.method.words());
        }
        bends.push(BendCompensation {
            between: [flat(step).to_owned(), flat(step + 1).to_owned()],
            target_angle_deg: bend.turn.abs().degrees(),
            target_inside_radius_mm: bend.inside_radius_mm,
            die_angle_deg: turn.abs().degrees(),
            die_inside_radius_mm: die_mid_mm - thickness_mm / 2.0,
            k_r: springback.k_r,
            method: springback.source(),
        });
    }
    let model = if methods.is_empty() {
        "no bends, nothing to compensate".to_owned()
    } else {
        format!(
            "each bend by itself, {} (sheet {} mm)",
            methods.join(" and "),
            plain(thickness_mm)
        )
    };
    Noted {
        value: Compensation {
            tilt: tilt(&mid, part.dies.tilt),
            mid,
            bends,
            model,
        },
        notes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{parse, starter::STARTER};
    use approx::assert_abs_diff_eq;

    #[test]
    fn arc_lengths_and_walls_are_kept_so_the_blank_fits_the_die() {
        let part = parse(STARTER).unwrap().value;
        let compensation = compensate(&part).value;
        assert_abs_diff_eq!(
            compensation.mid.length_mm(),
            part.profile.mid.length_mm(),
            epsilon = 1e-9
        );
        for bend in &compensation.bends {
            assert!(bend.die_angle_deg > bend.target_angle_deg);
            assert!(bend.die_inside_radius_mm < bend.target_inside_radius_mm);
        }
    }

    /// Letting go: each arc opens by its own factor at kept length. The flats must land on their heights.
    #[test]
    fn after_springback_the_flats_lie_at_their_drawn_heights() {
        let part = parse(STARTER).unwrap().value;
        let compensation = compensate(&part).value;
        let mut released = Chain {
            start: compensation.mid.start,
            segments: Vec::new(),
        };
        let mut factors = compensation.bends.iter().map(|bend| bend.k_r);
        for segment in &compensation.mid.segments {
            match *segment {
                crate::geometry::Segment::Line { length_mm } => released.line(length_mm),
                crate::geometry::Segment::Arc { radius_mm, turn } => {
                    let k_r = factors.next().unwrap();
                    released.arc(radius_mm / k_r, turn * k_r)
                }
            };
        }
        let (got, wanted) = (released.end(), part.profile.mid.end());
        assert_abs_diff_eq!(got.point.y, wanted.point.y, epsilon = 1e-9);
        assert_abs_diff_eq!(got.point.x, wanted.point.x, epsilon = 1e-9);
        assert_abs_diff_eq!(got.heading.rad(), 0.0, epsilon = 1e-12);
    }
}

//! The formed strip in section: flats, bends and walls along x, as one chain at mid-thickness.

use crate::geometry::chain::{Chain, OffsetError, Piece};
use crate::part::step::StepShape;
use crate::quantity::Angle;
use serde::Serialize;

/// What a stretch of the strip is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum ZoneKind {
    /// Level; number of the flat from 0.
    Flat(usize),
    /// Bend; number of the step and which of its two bends, both from 0.
    Bend(usize, usize),
    /// Straight wall; number of the step from 0.
    Wall(usize),
}

/// A stretch of the strip with its extent in plan and along the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Zone {
    /// What it is.
    pub kind: ZoneKind,
    /// The piece of the mid-thickness chain.
    pub piece: Piece,
}

/// One bend of the strip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bend {
    /// Step number from 0.
    pub step: usize,
    /// First (0) or second (1) bend of the step.
    pub which: usize,
    /// Inside radius, on the concave side.
    pub inside_radius_mm: f64,
    /// Angle bent through; positive bends the strip away from the board (upwards, towards +x).
    pub turn: Angle,
}

/// Level stretch: plan extent and height of the underside.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Level {
    /// Where it begins, along x.
    pub from_mm: f64,
    /// Where it ends, along x.
    pub to_mm: f64,
    /// Underside above the board.
    pub underside_mm: f64,
}

/// The formed strip in section.
#[derive(Debug, Clone, PartialEq)]
pub struct FormedProfile {
    /// Chain at mid-thickness, heading along +x, from the left end of the plate to the right.
    pub mid: Chain,
    /// Underside, half a thickness towards the board.
    pub underside: Chain,
    /// Top side, half a thickness away from the board.
    pub topside: Chain,
    /// Zones from left to right.
    pub zones: Vec<Zone>,
    /// Bends from left to right.
    pub bends: Vec<Bend>,
    /// Sheet thickness.
    pub thickness_mm: f64,
}

impl FormedProfile {
    /// Builds the strip from its levels and the steps between them.
    ///
    /// `steps` has one entry fewer than `levels`: the solved shape and both inside radii.
    ///
    /// # Errors
    /// Only if a radius is not above zero.
    pub fn build(
        levels: &[Level],
        steps: &[(StepShape, [f64; 2])],
        thickness_mm: f64,
    ) -> Result<Self, OffsetError> {
        let half_mm = thickness_mm / 2.0;
        let start = levels.first().map_or((0.0, 0.0), |level| {
            (level.from_mm, level.underside_mm + half_mm)
        });
        let mut mid = Chain::from_start(start.0, start.1, Angle::ZERO);
        let mut kinds = Vec::new();
        let mut bends = Vec::new();
        for (number, level) in levels.iter().enumerate() {
            mid.line(level.to_mm - level.from_mm);
            kinds.push(ZoneKind::Flat(number));
            let (Some((shape, radii)), Some(next)) = (steps.get(number), levels.get(number + 1))
            else {
                continue;
            };
            let up = if next.underside_mm > level.underside_mm {
                1.0
            } else {
                -1.0
            };
            let [first, second] = *radii;
            for (which, radius, turn) in
                [(0, first, shape.bend * up), (1, second, shape.bend * -up)]
            {
                mid.arc(radius + half_mm, turn);
                kinds.push(ZoneKind::Bend(number, which));
                bends.push(Bend {
                    step: number,
                    which,
                    inside_radius_mm: radius,
                    turn,
                });
                if which == 0 && shape.wall_mm > 0.0 {
                    mid.line(shape.wall_mm);
                    kinds.push(ZoneKind::Wall(number));
                }
            }
        }
        let zones = kinds
            .into_iter()
            .zip(mid.pieces())
            .map(|(kind, piece)| Zone { kind, piece })
            .collect();
        Ok(Self {
            underside: mid.offset(-half_mm)?,
            topside: mid.offset(half_mm)?,
            mid,
            zones,
            bends,
            thickness_mm,
        })
    }

    /// Left and right end in plan.
    pub fn extent_mm(&self) -> (f64, f64) {
        (self.mid.start.point.x, self.mid.end().point.x)
    }

    /// Zone that covers `x` at mid-thickness.
    pub fn zone_at(&self, x_mm: f64) -> Option<&Zone> {
        self.zones
            .iter()
            .find(|zone| x_mm <= zone.piece.end.point.x)
            .or(self.zones.last())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn profile() -> FormedProfile {
        let shape = StepShape::from_run(2.0, 4.0, 3.0).unwrap();
        FormedProfile::build(
            &[
                Level {
                    from_mm: 0.0,
                    to_mm: 10.0,
                    underside_mm: 3.0,
                },
                Level {
                    from_mm: 14.0,
                    to_mm: 20.0,
                    underside_mm: 5.0,
                },
            ],
            &[(shape, [1.0, 1.0])],
            1.0,
        )
        .unwrap()
    }

    #[test]
    fn the_second_flat_lies_where_the_file_puts_it() {
        let profile = profile();
        let end = profile.underside.end().point;
        assert_abs_diff_eq!(end.x, 20.0, epsilon = 1e-9);
        assert_abs_diff_eq!(end.y, 5.0, epsilon = 1e-9);
        assert_abs_diff_eq!(profile.underside.height_at(5.0), 3.0, epsilon = 1e-9);
        assert_abs_diff_eq!(profile.topside.height_at(18.0), 6.0, epsilon = 1e-9);
    }

    #[test]
    fn zones_follow_each_other_without_a_gap() {
        let profile = profile();
        assert_eq!(profile.zones.len(), 5);
        for pair in profile.zones.windows(2) {
            assert_abs_diff_eq!(
                pair[0].piece.end.point.x,
                pair[1].piece.start.point.x,
                epsilon = 1e-12
            );
        }
        assert_eq!(profile.zones[2].kind, ZoneKind::Wall(0));
    }
}

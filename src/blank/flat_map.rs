//! Where a place of the formed plate, seen from above, lies on the flat blank, and back.
//!
//! Only the position along the strip changes; the position across it, y, stays what it is. Plan places
//! are read at mid-thickness, so a bend seen from above ends where its tangent lines are.

use super::k_by_radius::KByRadius;
use crate::part::{FormedProfile, Part, ZoneKind};
use crate::quantity::Angle;
use crate::stock::KRule;
use nalgebra::Point2;

/// A wall that takes up less of the plan than this is vertical: all of it is seen at one place.
/// Far above the rounding of a sum of lengths, far below anything that can be cut.
const VERTICAL_MM: f64 = 1e-9;

/// One stretch of the strip in plan and on the blank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapZone {
    /// What it is.
    pub kind: ZoneKind,
    /// Where it begins in plan.
    pub x_from_mm: f64,
    /// Where it ends in plan.
    pub x_to_mm: f64,
    /// Where it begins on the blank.
    pub s_from_mm: f64,
    /// Where it ends on the blank.
    pub s_to_mm: f64,
    form: Form,
}

/// How a stretch gets flat.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    /// As it is.
    Level,
    /// Inclined, but straight.
    Sloping,
    /// Vertical: plan shows one place of it.
    Vertical,
    /// Round, level at its beginning.
    LevelFirst { mid_mm: f64, neutral_mm: f64 },
    /// Round, level at its end.
    LevelLast { mid_mm: f64, neutral_mm: f64 },
}

impl MapZone {
    /// Place on the blank of a plan place; on a flat also beyond its ends, elsewhere the nearer end.
    ///
    /// With ρ the radius at mid-thickness and φ the angle between level and the sheet at `x`:
    /// `sin φ = (distance of x from the level end) / ρ`, and on the blank that is `φ (R + K t)` from
    /// the level end. On a wall lengths grow by 1 / cos(wall angle).
    ///
    /// # Source
    /// Own derivation; `φ (R + K t)` is the bend allowance of Kalpakjian & Schmid, SI 6th ed. 2009,
    /// eq. 16.2, for the part of the bend up to `x`.
    pub fn s_of_x(&self, x_mm: f64) -> f64 {
        let held = x_mm.clamp(self.x_from_mm, self.x_to_mm);
        let turned = |along: f64, mid_mm: f64| Angle::from_sin_clamped(along / mid_mm).rad();
        let s_mm = match self.form {
            Form::Level => return self.s_from_mm + (x_mm - self.x_from_mm),
            Form::Vertical => self.s_from_mm,
            Form::Sloping => {
                let share = (held - self.x_from_mm) / (self.x_to_mm - self.x_from_mm);
                self.s_from_mm + (self.s_to_mm - self.s_from_mm) * share
            }
            Form::LevelFirst { mid_mm, neutral_mm } => {
                self.s_from_mm + turned(held - self.x_from_mm, mid_mm) * neutral_mm
            }
            Form::LevelLast { mid_mm, neutral_mm } => {
                self.s_to_mm - turned(self.x_to_mm - held, mid_mm) * neutral_mm
            }
        };
        s_mm.clamp(self.s_from_mm, self.s_to_mm)
    }

    /// Plan place of a place on the blank; on a flat also beyond its ends, elsewhere the nearer end.
    pub fn x_of_s(&self, s_mm: f64) -> f64 {
        let held = s_mm.clamp(self.s_from_mm, self.s_to_mm);
        let x_mm = match self.form {
            Form::Level => return self.x_from_mm + (s_mm - self.s_from_mm),
            Form::Vertical => self.x_from_mm,
            Form::Sloping => {
                let share = (held - self.s_from_mm) / (self.s_to_mm - self.s_from_mm);
                self.x_from_mm + (self.x_to_mm - self.x_from_mm) * share
            }
            Form::LevelFirst { mid_mm, neutral_mm } => {
                self.x_from_mm
                    + mid_mm * Angle::rad_from((held - self.s_from_mm) / neutral_mm).sin()
            }
            Form::LevelLast { mid_mm, neutral_mm } => {
                self.x_to_mm - mid_mm * Angle::rad_from((self.s_to_mm - held) / neutral_mm).sin()
            }
        };
        x_mm.clamp(self.x_from_mm, self.x_to_mm)
    }

    /// Length on the blank.
    pub fn length_mm(&self) -> f64 {
        self.s_to_mm - self.s_from_mm
    }

    /// Whether straight lines stay straight here.
    pub(super) fn keeps_lines_straight(&self) -> bool {
        matches!(self.form, Form::Level | Form::Sloping | Form::Vertical)
    }

    /// Whether shapes stay what they are here.
    pub(super) fn keeps_shapes(&self) -> bool {
        self.form == Form::Level
    }

    fn is_vertical(&self) -> bool {
        self.form == Form::Vertical
    }
}

/// The whole strip, formed and flat.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatMap {
    zones: Vec<MapZone>,
}

impl FlatMap {
    /// Lays a part flat by one rule for K. The blank's left end, where its outline begins, is s = 0.
    pub fn new(part: &Part, rule: &KRule) -> Self {
        let known = KByRadius::new(part, rule);
        let mut map = Self::of_profile(&part.profile, |radius_mm| known.k(radius_mm));
        let left_mm = map.s_of_x(part.outline.bounds().0.x);
        for zone in &mut map.zones {
            zone.s_from_mm -= left_mm;
            zone.s_to_mm -= left_mm;
        }
        map
    }

    /// Lays a strip flat; `k_of` gives K for an inside radius in mm. The strip's left end is s = 0.
    fn of_profile(profile: &FormedProfile, k_of: impl Fn(f64) -> f64) -> Self {
        let mut bends = profile.bends.iter();
        let (mut x_mm, _) = profile.extent_mm();
        let mut s_mm = 0.0;
        let zones = profile
            .zones
            .iter()
            .map(|zone| {
                let x_from_mm = x_mm;
                // Past 90 degrees by a rounding error the strip would go back: hold it.
                let x_to_mm = zone.piece.end.point.x.max(x_from_mm);
                let mut length_mm = zone.piece.segment.length_mm();
                let form = match zone.kind {
                    ZoneKind::Flat(_) => Form::Level,
                    ZoneKind::Wall(_) if x_to_mm - x_from_mm <= VERTICAL_MM => Form::Vertical,
                    ZoneKind::Wall(_) => Form::Sloping,
                    ZoneKind::Bend(_, which) => {
                        let radius_mm = bends.next().map_or(0.0, |bend| bend.inside_radius_mm);
                        let mid_mm = radius_mm + profile.thickness_mm / 2.0;
                        let neutral_mm = radius_mm + k_of(radius_mm) * profile.thickness_mm;
                        length_mm = zone.piece.segment.turn().abs().rad() * neutral_mm;
                        if which == 0 {
                            Form::LevelFirst { mid_mm, neutral_mm }
                        } else {
                            Form::LevelLast { mid_mm, neutral_mm }
                        }
                    }
                };
                let s_from_mm = s_mm;
                x_mm = x_to_mm;
                s_mm += length_mm;
                MapZone {
                    kind: zone.kind,
                    x_from_mm,
                    x_to_mm,
                    s_from_mm,
                    s_to_mm: s_mm,
                    form,
                }
            })
            .collect();
        Self { zones }
    }

    /// All stretches from left to right.
    pub fn zones(&self) -> &[MapZone] {
        &self.zones
    }

    /// Stretch that holds a plan place; at a vertical wall the bend before it.
    pub fn zone_at_x(&self, x_mm: f64) -> Option<&MapZone> {
        let next = self.zones.iter().skip(1).map(Some).chain([None]);
        self.zones
            .iter()
            .zip(next)
            .find(|(zone, next)| {
                // Both sides of a vertical wall lie at one place, but for rounding.
                let slack_mm = if next.is_some_and(MapZone::is_vertical) {
                    VERTICAL_MM
                } else {
                    0.0
                };
                x_mm <= zone.x_to_mm + slack_mm
            })
            .map(|(zone, _)| zone)
            .or(self.zones.last())
    }

    /// Place on the blank, from its left end, of a plan place.
    ///
    /// A vertical wall is seen from above at one place, which stands for the wall's beginning.
    pub fn s_of_x(&self, x_mm: f64) -> f64 {
        self.zone_at_x(x_mm).map_or(x_mm, |zone| zone.s_of_x(x_mm))
    }

    /// Plan place of a place on the blank.
    pub fn x_of_s(&self, s_mm: f64) -> f64 {
        self.zones
            .iter()
            .find(|zone| s_mm <= zone.s_to_mm)
            .or(self.zones.last())
            .map_or(s_mm, |zone| zone.x_of_s(s_mm))
    }

    /// A point in plan, on the blank.
    pub fn on_blank(&self, plan: Point2<f64>) -> Point2<f64> {
        Point2::new(self.s_of_x(plan.x), plan.y)
    }

    /// Length of the blank between two plan places.
    pub fn length_between_mm(&self, from_mm: f64, to_mm: f64) -> f64 {
        self.s_of_x(to_mm) - self.s_of_x(from_mm)
    }
}

/// Names of the flats on either side of a step.
pub(super) fn between(part: &Part, step: usize) -> [String; 2] {
    [step, step + 1].map(|number| {
        part.flats
            .get(number)
            .map_or_else(String::new, |flat| flat.name.clone())
    })
}

#[cfg(test)]
mod tests {
    use super::super::sample::{Stair, stairs};
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    /// Two flats of 10 mm, rise and angle as given, R = t = 1, K = 0.4.
    fn map(rise_mm: f64, wall_angle_deg: f64) -> FlatMap {
        FlatMap::new(
            &Stair::two_flats(rise_mm, wall_angle_deg).part(),
            &KRule::Explicit(0.4),
        )
    }

    #[test]
    fn half_the_angle_is_half_the_bend() {
        // First bend of a 60 degree step: at 30 degrees x = 10 + 1.5 sin 30, s = 10 + 1.4 (π/6).
        let map = map(4.0, 60.0);
        let third = std::f64::consts::PI / 6.0 * 1.4;
        assert_abs_diff_eq!(map.s_of_x(10.75), 10.0 + third, epsilon = 1e-12);
        // And the second bend mirrors the first.
        let bend = map.zones()[3];
        assert_eq!(bend.kind, ZoneKind::Bend(0, 1));
        assert_abs_diff_eq!(
            map.s_of_x(bend.x_to_mm - 0.75),
            bend.s_to_mm - third,
            epsilon = 1e-12
        );
    }

    #[test]
    fn a_wall_is_longer_than_it_looks_from_above() {
        let map = map(4.0, 60.0);
        let wall = map.zones()[2];
        assert_eq!(wall.kind, ZoneKind::Wall(0));
        let (x, step) = (f64::midpoint(wall.x_from_mm, wall.x_to_mm), 0.1);
        assert_abs_diff_eq!(
            map.s_of_x(x + step) - map.s_of_x(x),
            step / Angle::deg(60.0).cos(),
            epsilon = 1e-12
        );
    }

    #[test]
    fn a_vertical_wall_is_one_place_in_plan_and_stands_for_its_beginning() {
        let map = map(5.0, 90.0);
        let wall = map.zones()[2];
        assert_eq!(wall.kind, ZoneKind::Wall(0));
        assert_abs_diff_eq!(wall.length_mm(), 2.0, epsilon = 1e-12);
        for nearly in [-1e-12, 0.0, 1e-12] {
            // Near 90 degrees a hair in plan is much along the bend: sqrt(2e-12 · 1.5) · 1.4 / 1.5.
            assert_abs_diff_eq!(
                map.s_of_x(wall.x_from_mm + nearly),
                wall.s_from_mm,
                epsilon = 2e-6
            );
        }
        assert_abs_diff_eq!(
            map.s_of_x(wall.x_to_mm + 1e-6),
            wall.s_to_mm,
            epsilon = 2e-3
        );
        assert!(map.s_of_x(wall.x_to_mm + 1e-6) >= wall.s_to_mm);
        for s in [wall.s_from_mm, wall.s_from_mm + 1.0, wall.s_to_mm] {
            assert_abs_diff_eq!(map.x_of_s(s), wall.x_from_mm, epsilon = 1e-12);
        }
    }

    #[test]
    fn beyond_its_ends_the_strip_goes_on_level() {
        let map = map(4.0, 60.0);
        assert_abs_diff_eq!(map.s_of_x(-3.0), -3.0, epsilon = 1e-12);
        assert_abs_diff_eq!(map.x_of_s(-3.0), -3.0, epsilon = 1e-12);
        let end = map.zones()[4];
        assert_abs_diff_eq!(
            map.s_of_x(end.x_to_mm + 3.0),
            end.s_to_mm + 3.0,
            epsilon = 1e-12
        );
    }

    proptest! {
        #[test]
        fn the_map_is_monotone_and_leads_back(stair in stairs(), share in 0.0f64..1.0) {
            let part = stair.part();
            let map = FlatMap::new(&part, &part.sheet.k_rule);
            let (low, high) = part.profile.extent_mm();
            let mut before = f64::NEG_INFINITY;
            for number in 0..=500u32 {
                let s = map.s_of_x(low + (high - low) * f64::from(number) / 500.0);
                prop_assert!(s >= before);
                before = s;
            }
            let x = low + (high - low) * share;
            prop_assert!((map.x_of_s(map.s_of_x(x)) - x).abs() < 1e-9, "{x}");
            // The other way round a vertical wall is one place, and near it a place on the blank is
            // lost in the last digits of x: asked only where the sheet is flatter than 80 degrees.
            let s = map.s_of_x(high) * share;
            let steepness = (map.s_of_x(map.x_of_s(s) + 1e-4) - map.s_of_x(map.x_of_s(s) - 1e-4)) / 2e-4;
            if steepness < 5.0 {
                prop_assert!((map.s_of_x(map.x_of_s(s)) - s).abs() < 1e-9, "{s}");
            }
        }

        #[test]
        fn at_k_one_half_the_blank_is_as_long_as_the_middle_of_the_sheet(stair in stairs()) {
            let part = stair.part();
            let map = FlatMap::new(&part, &KRule::Explicit(0.5));
            // Independent of the map: the chain's own arc length, and its own points.
            let mid = &part.profile.mid;
            let (low, high) = part.profile.extent_mm();
            prop_assert!((map.length_between_mm(low, high) - mid.length_mm()).abs() < 1e-9);
            for number in 0..=40u32 {
                let along = mid.length_mm() * f64::from(number) / 40.0;
                prop_assert!((map.x_of_s(along) - mid.at(along).point.x).abs() < 1e-9);
            }
        }

        #[test]
        fn no_place_jumps_but_at_a_vertical_wall(stair in stairs(), share in 0.0f64..1.0) {
            let part = stair.part();
            let map = FlatMap::new(&part, &part.sheet.k_rule);
            for zone in map.zones() {
                // Each zone alone goes from its own beginning to its own end.
                prop_assert!((zone.s_of_x(zone.x_from_mm) - zone.s_from_mm).abs() < 1e-6);
                let ends_there = zone.s_of_x(zone.x_to_mm) - zone.s_to_mm;
                prop_assert!(ends_there.abs() < 1e-6 || zone.is_vertical());
                let s = zone.s_from_mm + zone.length_mm() * share;
                prop_assert!(zone.x_of_s(s) >= zone.x_from_mm && zone.x_of_s(s) <= zone.x_to_mm);
            }
        }
    }
}

//! Sheet used up by one bend: arc at the neutral line, setback, and the shop formulas for both.
//!
//! Three ways of saying the same thing are in use, and mixing them is the classic slip:
//! the *bend allowance* is the length of the bend itself, between its two tangent lines;
//! the *setback* is how far a tangent line lies from the outside corner;
//! the *compensation* v is what the sum of the outside legs must be shortened by.
//!
//! Lengths may be in any one unit, the formulas have no hidden one; names say mm because coldstep does.

use super::handbook_row::HandbookRow;
use crate::quantity::Angle;

/// Length of the neutral line through a bend, mm.
///
/// `L = α·(R + K·T)`, α in radians
///
/// # Units
/// - `inside_radius_mm`, `thickness_mm`: mm
/// - `k`: distance of the neutral line from the inside face over the thickness
/// - `bend`: the angle bent through
///
/// # Valid for
/// `bend` of 0 or more; no thinning of the sheet
///
/// # Source
/// Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, eq. 16.2.
pub fn bend_allowance_mm(inside_radius_mm: f64, thickness_mm: f64, k: f64, bend: Angle) -> f64 {
    bend.rad() * (inside_radius_mm + k * thickness_mm)
}

/// Distance from a tangent line of the bend to the corner where the outside faces meet, mm.
///
/// `SB = tan(α/2)·(R + T)`
///
/// # Units
/// As [`bend_allowance_mm`].
///
/// # Valid for
/// `bend` from 0 to below 180°, where the outside faces no longer meet
///
/// # Source
/// FAA-H-8083-31, fig. 4-124 and following.
pub fn outside_setback_mm(inside_radius_mm: f64, thickness_mm: f64, bend: Angle) -> f64 {
    bend.half().tan() * (inside_radius_mm + thickness_mm)
}

/// From this opening angle on DIN 6935 neglects the compensation.
/// DIN 6935 as printed in Tabellenbuch Metall.
pub const DIN_NEGLECTED_OPENING_DEG: f64 = 165.0;

/// Compensation v of DIN 6935, mm: flat length = sum of outside legs - v.
///
/// - opening up to 90°: `v = 2(r+s) − π·((180°−β)/180°)·(r + s·k/2)`
/// - opening 90° to 165°: `v = 2(r+s)·tan((180°−β)/2) − π·((180°−β)/180°)·(r + s·k/2)`
/// - opening from 165°: `v = 0`
///
/// Up to 90° the legs run to the outermost tangent of the bend, above that to the outside corner.
/// Trap: the sign. The standard itself adds its v, the table book subtracts this one.
/// Trap: at 165° the value drops to 0 with a jump; exact work uses [`bend_allowance_mm`].
///
/// # Units
/// - `inside_radius_mm`, `thickness_mm`: mm
/// - `k`: distance of the neutral line from the inside face over the *full* thickness, which is k/2 of the
///   standard
/// - `opening`: the angle left open, 180° for flat sheet
///
/// # Valid for
/// `opening` from 0 to 180°. Negative values are real and occur only below 65.4°.
///
/// # Source
/// DIN 6935 as printed in Tabellenbuch Metall.
pub fn din_compensation_v_mm(
    inside_radius_mm: f64,
    thickness_mm: f64,
    k: f64,
    opening: Angle,
) -> f64 {
    if opening >= Angle::deg(DIN_NEGLECTED_OPENING_DEG) {
        return 0.0;
    }
    let bend = Angle::deg(180.0) - opening;
    let arc_mm = bend_allowance_mm(inside_radius_mm, thickness_mm, k, bend);
    let legs_mm = if opening <= Angle::deg(90.0) {
        2.0 * (inside_radius_mm + thickness_mm)
    } else {
        2.0 * outside_setback_mm(inside_radius_mm, thickness_mm, bend)
    };
    legs_mm - arc_mm
}

/// Bend allowance in the handbook's own closed form, mm.
///
/// `L = (c·T + 1.57·R)·α/90°`
///
/// # Units
/// As [`bend_allowance_mm`]; c stands in [`HandbookRow::allowance_per_thickness`].
///
/// # Valid for
/// As the book states it; it gives no range of R/T. Its 1.57 is π/2 rounded down by 0.05 %.
///
/// # Source
/// Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34, and the factor for other angles there.
pub fn handbook_allowance_mm(
    inside_radius_mm: f64,
    thickness_mm: f64,
    row: HandbookRow,
    bend: Angle,
) -> f64 {
    (row.allowance_per_thickness() * thickness_mm + 1.57 * inside_radius_mm) * bend.degrees() / 90.0
}

/// Bend allowance of the aircraft sheet-metal formula, mm.
///
/// `BA = (0.01743·R + 0.0078·T)·N`, N in degrees; that is K = 0.447
///
/// # Units
/// As [`bend_allowance_mm`].
///
/// # Valid for
/// As the book states it; 0.01743 is π/180 rounded down by 0.13 %.
///
/// # Source
/// FAA-H-8083-31 (0.01743 from memory; the formula was read in a US Navy training manual, which prints 0.0173).
pub fn faa_allowance_mm(inside_radius_mm: f64, thickness_mm: f64, bend: Angle) -> f64 {
    (0.017_43 * inside_radius_mm + 0.0078 * thickness_mm) * bend.degrees()
}

/// Compensation of one 90° bend by the workshop rule `v = 0.43·r + 1.48·s`, mm.
///
/// # Units
/// `inside_radius_mm`, `thickness_mm`: mm
///
/// # Valid for
/// 90° bends; the rule states no range of r/s
///
/// # Source
/// Common practice, no source.
pub fn workshop_rule_v_mm(inside_radius_mm: f64, thickness_mm: f64) -> f64 {
    0.43 * inside_radius_mm + 1.48 * thickness_mm
}

/// Compensation of one 90° bend by the school rule `v = 0.5·r + 1.5·t`, mm.
///
/// # Units
/// `inside_radius_mm`, `thickness_mm`: mm
///
/// # Valid for
/// 90° bends; the rule states no range of r/t
///
/// # Source
/// Austrian metalwork textbook, ISBN 978-3-7100-2443-6, p. 206.
pub fn school_rule_v_mm(inside_radius_mm: f64, thickness_mm: f64) -> f64 {
    0.5 * inside_radius_mm + 1.5 * thickness_mm
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    #[test]
    fn flat_sheet_uses_nothing() {
        assert_eq!(bend_allowance_mm(3.0, 1.0, 0.4, Angle::ZERO), 0.0);
        assert_eq!(outside_setback_mm(3.0, 1.0, Angle::ZERO), 0.0);
        assert_eq!(din_compensation_v_mm(3.0, 1.0, 0.4, Angle::deg(180.0)), 0.0);
    }

    #[test]
    fn a_full_turn_is_the_circle_at_the_neutral_line() {
        // A tube rolled from sheet: circumference at mid-thickness.
        assert_relative_eq!(
            bend_allowance_mm(9.5, 1.0, 0.5, Angle::deg(360.0)),
            PI * 20.0
        );
    }

    #[test]
    fn a_right_angle_sets_back_by_radius_and_thickness() {
        assert_relative_eq!(outside_setback_mm(2.0, 1.0, Angle::deg(90.0)), 3.0);
    }

    #[test]
    fn compensation_drops_to_nothing_at_165_degrees() {
        assert!(din_compensation_v_mm(1.0, 1.0, 0.325, Angle::deg(164.99)) > 0.1);
        assert_eq!(
            din_compensation_v_mm(1.0, 1.0, 0.325, Angle::deg(165.0)),
            0.0
        );
    }

    #[test]
    fn handbook_and_plain_arc_differ_only_by_the_rounded_half_pi() {
        for row in HandbookRow::ALL {
            let book_mm = handbook_allowance_mm(2.0, 1.0, row, Angle::deg(90.0));
            let arc_mm = bend_allowance_mm(2.0, 1.0, row.k(), Angle::deg(90.0));
            assert_relative_eq!(arc_mm - book_mm, 2.0 * (PI / 2.0 - 1.57), epsilon = 1e-12);
        }
    }

    proptest! {
        #[test]
        fn two_bends_in_a_row_use_as_much_as_one(
            radius_mm in 0.0..50.0_f64, thickness_mm in 0.1..6.0_f64, k in 0.05..0.7_f64,
            one_deg in 0.0..90.0_f64, other_deg in 0.0..90.0_f64, row in 0..3_usize,
        ) {
            let (one, other) = (Angle::deg(one_deg), Angle::deg(other_deg));
            let allowance_mm = |bend| bend_allowance_mm(radius_mm, thickness_mm, k, bend);
            let whole_mm = allowance_mm(one + other);
            prop_assert!((allowance_mm(one) + allowance_mm(other) - whole_mm).abs() <= 1e-12 * (1.0 + whole_mm));
            if let Some(row) = HandbookRow::ALL.get(row) {
                let book_mm = |bend| handbook_allowance_mm(radius_mm, thickness_mm, *row, bend);
                let whole_mm = book_mm(one + other);
                prop_assert!((book_mm(one) + book_mm(other) - whole_mm).abs() <= 1e-12 * (1.0 + whole_mm));
            }
        }

        #[test]
        fn a_wider_or_further_bend_uses_more_sheet(
            radius_mm in 0.0..50.0_f64, thickness_mm in 0.1..6.0_f64, k in 0.05..0.7_f64,
            bend_deg in 1.0..170.0_f64, wider_mm in 0.001..5.0_f64,
        ) {
            let bend = Angle::deg(bend_deg);
            let further = Angle::deg(bend_deg + 1.0);
            let here_mm = bend_allowance_mm(radius_mm, thickness_mm, k, bend);
            prop_assert!(bend_allowance_mm(radius_mm + wider_mm, thickness_mm, k, bend) > here_mm);
            prop_assert!(bend_allowance_mm(radius_mm, thickness_mm, k, further) > here_mm);
            prop_assert!(
                outside_setback_mm(radius_mm + wider_mm, thickness_mm, bend)
                    > outside_setback_mm(radius_mm, thickness_mm, bend)
            );
        }

        #[test]
        fn compensation_is_legs_less_arc_on_both_sides_of_a_right_angle(
            radius_mm in 0.1..50.0_f64, thickness_mm in 0.1..6.0_f64, k in 0.05..0.5_f64,
        ) {
            // Both formulas of the standard meet at 90 degrees.
            let at_mm = din_compensation_v_mm(radius_mm, thickness_mm, k, Angle::deg(90.0));
            let past_mm = din_compensation_v_mm(radius_mm, thickness_mm, k, Angle::deg(90.0 + 1e-9));
            prop_assert!((at_mm - past_mm).abs() < 1e-7 * (radius_mm + thickness_mm));
        }

        #[test]
        fn shortening_is_never_negative_for_open_bends(
            radius_mm in 0.0..50.0_f64, thickness_mm in 0.1..6.0_f64, k in 0.0..0.5_f64,
            opening_deg in 65.409..180.0_f64,
        ) {
            prop_assert!(din_compensation_v_mm(radius_mm, thickness_mm, k, Angle::deg(opening_deg)) >= 0.0);
        }
    }
}

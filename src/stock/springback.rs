//! How much of a bend stays when the tool lets go: a printed table for sharp bends, a formula for wide ones.
//!
//! The two do not replace each other. Soft metal hardens in a sharp bend, so the formula with the metal's first
//! yield stress gives far too little springback at small r/s; the table covers that. At large r/s, or where the
//! table has no column, the formula with the flow stress reached in the bend is the better guide.

use super::table::held_flat;
use crate::numbers::plain;
use crate::quantity::Angle;
use serde::{Deserialize, Serialize};

/// Where the table was read.
pub const KR_SOURCE: &str =
    "springback factors kR as printed in Tabellenbuch Metall (column heads r2/s from memory)";

/// Metals of the kR table that coldstep's sheets come near to.
///
/// # Source
/// Rows E-Cu-R20, CuZn33-R29 and Al99.0 of the kR table, Tabellenbuch Metall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpringbackColumn {
    /// E-Cu-R20: soft copper of at least 200 MPa.
    SoftCopper,
    /// CuZn33-R29: brass of at least 290 MPa.
    Brass,
    /// Al99.0: unalloyed aluminium; the print names no temper.
    Aluminium,
}

/// (r2/s, kR for E-Cu-R20, CuZn33-R29, Al99.0). r2 is the inside radius wanted, s the thickness.
/// kR: Tabellenbuch Metall. r2/s: from memory; the print has as many entries per row.
const KR: [(f64, [f64; 3]); 11] = [
    (1.0, [0.98, 0.97, 0.99]),
    (1.6, [0.97, 0.97, 0.99]),
    (2.5, [0.97, 0.96, 0.99]),
    (4.0, [0.96, 0.95, 0.99]),
    (6.3, [0.95, 0.94, 0.98]),
    (10.0, [0.93, 0.93, 0.98]),
    (16.0, [0.90, 0.89, 0.97]),
    (25.0, [0.85, 0.86, 0.97]),
    (40.0, [0.79, 0.83, 0.96]),
    (63.0, [0.72, 0.77, 0.95]),
    (100.0, [0.60, 0.73, 0.93]),
];

/// Smallest r2/s of the table.
pub const KR_LEAST_RATIO: f64 = 1.0;

/// Largest r2/s of the table.
pub const KR_MOST_RATIO: f64 = 100.0;

impl SpringbackColumn {
    /// Every column.
    pub const ALL: [Self; 3] = [Self::SoftCopper, Self::Brass, Self::Aluminium];

    /// The metal as the table names it.
    pub const fn table_name(self) -> &'static str {
        match self {
            Self::SoftCopper => "E-Cu-R20",
            Self::Brass => "CuZn33-R29",
            Self::Aluminium => "Al99.0",
        }
    }

    fn of(self, row: [f64; 3]) -> f64 {
        let [copper, brass, aluminium] = row;
        match self {
            Self::SoftCopper => copper,
            Self::Brass => brass,
            Self::Aluminium => aluminium,
        }
    }
}

/// A springback factor read from the table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KrValue {
    /// Bend angle wanted over bend angle in the tool.
    pub k_r: f64,
    /// Whether r2/s lies inside the table; outside, the end value is held.
    pub in_range: bool,
}

/// Springback factor for a wanted inside radius over thickness, both in the same unit.
///
/// `kR = α2/α1 = (r1 + s/2)/(r2 + s/2)`; 1 in the tool, 2 after letting go
///
/// Between the printed ratios, which grow like powers of ten, kR is taken as straight over lg(r2/s).
/// That choice is ours.
///
/// # Valid for
/// [`KR_LEAST_RATIO`] to [`KR_MOST_RATIO`]; outside, the end value is held and `in_range` is false.
///
/// # Source
/// [`KR_SOURCE`].
pub fn k_r(column: SpringbackColumn, r2_over_s: f64) -> KrValue {
    let [first, rest @ ..] =
        KR.map(|(ratio, by_column)| (libm::log10(ratio), column.of(by_column)));
    let reading = held_flat(first, &rest, libm::log10(r2_over_s));
    KrValue {
        k_r: reading.value,
        in_range: reading.inside,
    }
}

/// Bend angle the tool must have so that `target` stays: `α1 = α2/kR`.
///
/// # Valid for
/// `k_r` above 0
///
/// # Source
/// [`KR_SOURCE`].
pub fn die_angle(target: Angle, k_r: f64) -> Angle {
    target * (1.0 / k_r)
}

/// Inside radius the tool must have so that `target_radius_mm` stays, mm: `r1 = kR·(r2 + s/2) − s/2`.
///
/// # Units
/// - `target_radius_mm`: r2, inside radius wanted, mm
/// - `thickness_mm`: s, mm
///
/// # Valid for
/// A result of 0 or more; below `r2/s = (1/kR − 1)/2` no tool is sharp enough and the result is negative.
///
/// # Source
/// The definition of kR (see [`k_r`]) solved for r1.
pub fn tool_radius_mm(target_radius_mm: f64, thickness_mm: f64, k_r: f64) -> f64 {
    k_r * (target_radius_mm + 0.5 * thickness_mm) - 0.5 * thickness_mm
}

/// The bend is too wide to leave a trace: the whole section stays elastic.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("bend radius {} mm leaves the sheet elastic, below {} mm it takes a set", plain(*.radius_mm), plain(*.largest_mm))]
pub struct NoYield {
    /// Radius at mid-thickness that was asked for.
    pub radius_mm: f64,
    /// Radius at mid-thickness at which the faces just begin to yield, `E·t/(2·Y)`.
    pub largest_mm: f64,
}

/// Curvature left after unloading, as a share of the curvature under the tool.
///
/// `κ_after / κ_under = 1 − 3x + 4x³`, `x = R·Y / (E·t)`
///
/// Where it comes from. A section of width b and thickness t carries strain κ·y at the distance y from
/// mid-thickness. Up to `c = Y/(E·κ)` it is elastic, beyond that the stress is Y. The bending moment is
///
/// `M = 2b·(∫₀ᶜ E·κ·y² dy + ∫꜀^(t/2) Y·y dy) = Y·b·(t²/4 − c²/3)`
///
/// Letting go takes this moment off again, and unloading is elastic: the curvature falls by `M/(E·I)` with
/// `I = b·t³/12`. With `R = 1/κ` and so `c = x·t`,
///
/// `κ_after/κ = 1 − 12·Y·R/(E·t³)·(t²/4 − x²t²/3) = 1 − 12x·(1/4 − x²/3) = 1 − 3x + 4x³`
///
/// # Units
/// - `radius_mm`: under the tool, at mid-thickness
/// - `thickness_mm`
/// - `yield_mpa`, `youngs_mpa`: plane-strain values for a bend much wider than thick
///
/// # Valid for
/// `x < ½` (at ½ only the faces yield), no work hardening. For hardening metal give the flow stress reached in
/// the bend, not the first yield.
///
/// # Errors
/// [`NoYield`] when the section stays elastic, or when the four numbers make no `x`.
///
/// # Source
/// Derived above. Cf. Gardiner (1957), Trans. ASME 79, 1–9 (cited; the equation there is from memory).
pub fn curvature_kept(
    radius_mm: f64,
    thickness_mm: f64,
    yield_mpa: f64,
    youngs_mpa: f64,
) -> Result<f64, NoYield> {
    let x = radius_mm * yield_mpa / (youngs_mpa * thickness_mm);
    if x < 0.5 {
        Ok(1.0 - 3.0 * x + 4.0 * x * x * x)
    } else {
        Err(NoYield {
            radius_mm,
            largest_mm: youngs_mpa * thickness_mm / (2.0 * yield_mpa),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn between_two_rows_kr_is_straight_over_the_logarithm() {
        // The geometric mean of 63 and 100 is halfway on a logarithmic scale.
        let middle = k_r(SpringbackColumn::SoftCopper, 6300.0_f64.sqrt());
        assert_relative_eq!(middle.k_r, f64::midpoint(0.72, 0.60), epsilon = 1e-12);
        assert!(middle.in_range);
    }

    #[test]
    fn outside_the_table_the_end_value_is_held_and_said() {
        for (ratio, held) in [(0.5, 0.98), (0.0, 0.98), (101.0, 0.60), (1e9, 0.60)] {
            assert_eq!(
                k_r(SpringbackColumn::SoftCopper, ratio),
                KrValue {
                    k_r: held,
                    in_range: false
                }
            );
        }
    }

    #[test]
    fn the_table_covers_its_stated_range() {
        for column in SpringbackColumn::ALL {
            for (ratio, inside) in [
                (KR_LEAST_RATIO, true),
                (KR_MOST_RATIO, true),
                (KR_LEAST_RATIO * 0.999, false),
                (KR_MOST_RATIO * 1.001, false),
            ] {
                assert_eq!(k_r(column, ratio).in_range, inside, "{column:?} {ratio}");
            }
        }
    }

    #[test]
    fn without_springback_the_tool_is_the_part() {
        assert_eq!(die_angle(Angle::deg(90.0), 1.0), Angle::deg(90.0));
        assert_relative_eq!(tool_radius_mm(3.0, 1.0, 1.0), 3.0);
    }

    #[test]
    fn a_sharp_bend_keeps_all_and_first_yield_keeps_nothing() {
        assert_relative_eq!(
            curvature_kept(1e-9, 1.0, 100.0, 100_000.0).unwrap(),
            1.0,
            epsilon = 1e-9
        );
        let largest_mm = 100_000.0 / 200.0;
        assert_relative_eq!(
            curvature_kept(largest_mm * (1.0 - 1e-9), 1.0, 100.0, 100_000.0).unwrap(),
            0.0,
            epsilon = 1e-8
        );
    }

    #[test]
    fn an_elastic_bend_is_refused_with_the_radius_that_would_do() {
        let refused = curvature_kept(60.0, 1.0, 1000.0, 102_600.0);
        assert_eq!(
            refused,
            Err(NoYield {
                radius_mm: 60.0,
                largest_mm: 51.3
            })
        );
        assert_eq!(
            refused.unwrap_err().to_string(),
            "bend radius 60 mm leaves the sheet elastic, below 51.3 mm it takes a set"
        );
        assert!(curvature_kept(f64::NAN, 1.0, 100.0, 100_000.0).is_err());
    }

    /// The moment summed slice by slice, unloaded elastically: no formula of this file is used.
    fn kept_by_slices(
        radius_mm: f64,
        thickness_mm: f64,
        yield_mpa: f64,
        youngs_mpa: f64,
        slices: u32,
    ) -> f64 {
        let height_mm = thickness_mm / f64::from(slices);
        let moment_n: f64 = (0..slices)
            .map(|slice| {
                let y_mm = (f64::from(slice) + 0.5) * height_mm - thickness_mm / 2.0;
                let stress_mpa = (youngs_mpa * y_mm / radius_mm).clamp(-yield_mpa, yield_mpa);
                stress_mpa * y_mm * height_mm
            })
            .sum();
        1.0 - moment_n / (youngs_mpa * thickness_mm.powi(3) / 12.0) * radius_mm
    }

    proptest! {
        #[test]
        fn the_formula_is_the_sum_over_the_section(
            x in 0.001..0.499_f64, thickness_mm in 0.2..5.0_f64, yield_mpa in 20.0..600.0_f64,
            youngs_mpa in 50_000.0..220_000.0_f64,
        ) {
            let radius_mm = x * youngs_mpa * thickness_mm / yield_mpa;
            let formula = curvature_kept(radius_mm, thickness_mm, yield_mpa, youngs_mpa).unwrap();
            let summed = kept_by_slices(radius_mm, thickness_mm, yield_mpa, youngs_mpa, 2000);
            // The midpoint rule over 2000 slices is good to a few parts in a million.
            prop_assert!((formula - summed).abs() < 1e-5, "{formula} {summed}");
        }

        #[test]
        fn a_wider_bend_keeps_less(radius_mm in 0.1..200.0_f64, wider in 1.001..2.0_f64) {
            let kept = |radius_mm| curvature_kept(radius_mm, 1.0, 120.0, 115_000.0).unwrap();
            prop_assert!(kept(radius_mm * wider) < kept(radius_mm));
            prop_assert!((0.0..1.0).contains(&kept(radius_mm)));
        }

        #[test]
        fn kr_never_grows_with_the_ratio(ratio in 0.1..300.0_f64, wider in 1.0..3.0_f64) {
            for column in SpringbackColumn::ALL {
                let (here, there) = (k_r(column, ratio).k_r, k_r(column, ratio * wider).k_r);
                prop_assert!(there <= here + 1e-12);
                prop_assert!(here > 0.0 && here < 1.0);
            }
        }

        #[test]
        fn angle_and_radius_of_the_tool_use_the_same_length_of_sheet(
            ratio in 1.0..100.0_f64, thickness_mm in 0.2..5.0_f64, target_deg in 1.0..90.0_f64,
        ) {
            // The mid-thickness arc neither stretches nor shrinks while the bend springs open.
            let radius_mm = ratio * thickness_mm;
            let target = Angle::deg(target_deg);
            let k_r = k_r(SpringbackColumn::Brass, ratio).k_r;
            let tool_mm = tool_radius_mm(radius_mm, thickness_mm, k_r) + 0.5 * thickness_mm;
            let in_tool_mm = die_angle(target, k_r).rad() * tool_mm;
            let after_mm = target.rad() * (radius_mm + 0.5 * thickness_mm);
            prop_assert!((in_tool_mm - after_mm).abs() < 1e-9 * after_mm);
        }
    }
}

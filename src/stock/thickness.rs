//! How far the thickness of bought strip may be off.

use super::metal::Material;
use serde::Serialize;

/// Where the rows were read.
pub const SOURCE: &str =
    "EN 1652, thickness tolerances of cold-rolled strip, as printed by a stockist";

/// Thickness tolerance of a strip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ThicknessTolerance {
    /// Half-width of the band around the nominal thickness, mm.
    pub plus_minus_mm: f64,
    /// Where it was read.
    pub source: &'static str,
}

/// Strips up to this width, mm, have the tighter of the two tolerances held here. EN 1652.
pub const NARROW_STRIP_MM: f64 = 350.0;

/// Widest strip held here, mm. EN 1652 goes further.
pub const WIDEST_STRIP_MM: f64 = 700.0;

/// Thinnest strip held here, mm: the first row begins above it. EN 1652.
pub const ABOVE_THICKNESS_MM: f64 = 0.1;

/// (thickness up to and including, mm; ± mm for narrow strip; ± mm for wide strip, where read). EN 1652.
const COPPER_ALLOY_STRIP: [(f64, f64, Option<f64>); 8] = [
    (0.2, 0.018, None),
    (0.3, 0.022, Some(0.03)),
    (0.4, 0.025, Some(0.04)),
    (0.5, 0.030, Some(0.05)),
    (0.8, 0.040, Some(0.06)),
    (1.2, 0.050, Some(0.07)),
    (1.8, 0.060, Some(0.08)),
    (2.5, 0.070, Some(0.09)),
];

/// Thickness tolerance of cold-rolled strip, by nominal thickness and width of the strip as bought.
///
/// # Units
/// `thickness_mm`, `strip_width_mm`: mm. The width is that of the strip the blank is cut from, not the blank's.
///
/// # Valid for
/// Copper and brass from above 0.1 to 2.5 mm thick and up to 700 mm wide (above 350 mm wide: from above 0.2 mm
/// thick). Elsewhere `None`, and `None` for aluminium, whose standard nobody has read here: measure the sheet.
///
/// # Source
/// [`SOURCE`].
pub fn thickness_tolerance_mm(
    material: Material,
    thickness_mm: f64,
    strip_width_mm: f64,
) -> Option<ThicknessTolerance> {
    let covered = material.is_copper_alloy()
        && thickness_mm > ABOVE_THICKNESS_MM
        && strip_width_mm > 0.0
        && strip_width_mm <= WIDEST_STRIP_MM;
    if !covered {
        return None;
    }
    let (_, narrow_mm, wide_mm) = COPPER_ALLOY_STRIP
        .iter()
        .find(|(up_to_mm, _, _)| thickness_mm <= *up_to_mm)?;
    let plus_minus_mm = if strip_width_mm <= NARROW_STRIP_MM {
        *narrow_mm
    } else {
        (*wide_mm)?
    };
    Some(ThicknessTolerance {
        plus_minus_mm,
        source: SOURCE,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn copper_mm(thickness_mm: f64, strip_width_mm: f64) -> Option<f64> {
        thickness_tolerance_mm(Material::Copper, thickness_mm, strip_width_mm)
            .map(|tolerance| tolerance.plus_minus_mm)
    }

    #[test]
    fn a_row_ends_with_its_own_thickness() {
        assert_eq!(copper_mm(0.8, 100.0), Some(0.040));
        assert_eq!(copper_mm(0.801, 100.0), Some(0.050));
        assert_eq!(copper_mm(1.0, 350.0), Some(0.050));
        assert_eq!(copper_mm(1.0, 350.1), Some(0.07));
    }

    #[test]
    fn brass_is_a_copper_alloy_and_aluminium_is_not() {
        for material in Material::ALL {
            assert_eq!(
                thickness_tolerance_mm(material, 1.0, 100.0).is_some(),
                !material.name().starts_with("aluminium")
            );
        }
    }

    #[test]
    fn beyond_the_rows_read_there_is_no_answer() {
        for (thickness_mm, width_mm) in [
            (0.1, 100.0),
            (2.51, 100.0),
            (1.0, 700.1),
            (0.15, 400.0),
            (1.0, 0.0),
            (f64::NAN, 100.0),
            (1.0, f64::NAN),
        ] {
            assert_eq!(copper_mm(thickness_mm, width_mm), None);
        }
    }

    proptest! {
        #[test]
        fn thicker_or_wider_strip_is_never_truer(thickness_mm in 0.21..2.5_f64, more in 1.0..3.0_f64) {
            let thicker_mm = (thickness_mm * more).min(2.5);
            prop_assert!(copper_mm(thickness_mm, 100.0) <= copper_mm(thicker_mm, 100.0));
            prop_assert!(copper_mm(thickness_mm, 100.0) < copper_mm(thickness_mm, 500.0));
        }
    }
}

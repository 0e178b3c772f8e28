//! General tolerances of shop dimensions, for lengths and angles that carry none of their own.
//!
//! Source of both tables: ISO 2768-1. Lengths: fine, medium, and coarse above 6 mm were read in printed
//! extracts of the standard; coarse up to 6 mm is from memory (one older print shows 0.15 and 0.2 mm there,
//! the values of the earlier national standard). Angles were read in one secondary extract.
//! Only the rows and classes coldstep needs are held here.

use crate::quantity::Angle;
use serde::{Deserialize, Serialize};

/// Where the numbers of this file come from, for outputs.
pub const SOURCE: &str = "ISO 2768-1, general tolerances for linear and angular dimensions";

/// Tolerance class of ISO 2768-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ToleranceClass {
    /// f
    Fine,
    /// m, the usual one for sheet parts.
    Medium,
    /// c
    Coarse,
}

impl ToleranceClass {
    /// Every class, finest first.
    pub const ALL: [Self; 3] = [Self::Fine, Self::Medium, Self::Coarse];

    /// The word a part file writes.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Medium => "medium",
            Self::Coarse => "coarse",
        }
    }

    /// The letter a drawing carries after "ISO 2768-".
    pub const fn letter(self) -> char {
        match self {
            Self::Fine => 'f',
            Self::Medium => 'm',
            Self::Coarse => 'c',
        }
    }

    fn of<T: Copy>(self, by_class: [T; 3]) -> T {
        let [fine, medium, coarse] = by_class;
        match self {
            Self::Fine => fine,
            Self::Medium => medium,
            Self::Coarse => coarse,
        }
    }
}

/// Smallest nominal size the linear table covers, mm. ISO 2768-1.
pub const LEAST_NOMINAL_MM: f64 = 0.5;

/// Largest nominal size held here, mm; the standard goes further.
pub const MOST_NOMINAL_MM: f64 = 1000.0;

/// (nominal size up to and including, mm; ± mm for f, m, c). ISO 2768-1, linear dimensions.
const LINEAR: [(f64, [f64; 3]); 6] = [
    (3.0, [0.05, 0.1, 0.2]), // c: from memory
    (6.0, [0.05, 0.1, 0.3]), // c: from memory
    (30.0, [0.1, 0.2, 0.5]),
    (120.0, [0.15, 0.3, 0.8]),
    (400.0, [0.2, 0.5, 1.2]),
    (MOST_NOMINAL_MM, [0.3, 0.8, 2.0]),
];

/// (shorter leg up to and including, mm; ± minutes of arc for f, m, c). ISO 2768-1, angular dimensions.
const ANGULAR: [(f64, [f64; 3]); 5] = [
    (10.0, [60.0, 60.0, 90.0]),
    (50.0, [30.0, 30.0, 60.0]),
    (120.0, [20.0, 20.0, 30.0]),
    (400.0, [10.0, 10.0, 15.0]),
    (f64::INFINITY, [5.0, 5.0, 10.0]),
];

/// Half-width of the general tolerance band of a length, mm.
///
/// # Valid for
/// `nominal_mm` from [`LEAST_NOMINAL_MM`] to [`MOST_NOMINAL_MM`]; elsewhere `None`.
///
/// # Source
/// ISO 2768-1; see the head of this file for what was read.
pub fn general_tolerance_mm(class: ToleranceClass, nominal_mm: f64) -> Option<f64> {
    if nominal_mm < LEAST_NOMINAL_MM {
        return None;
    }
    LINEAR
        .iter()
        .find(|(up_to_mm, _)| nominal_mm <= *up_to_mm)
        .map(|(_, plus_minus_mm)| class.of(*plus_minus_mm))
}

/// Half-width of the general tolerance band of an angle whose shorter leg is `shorter_leg_mm` long.
///
/// # Valid for
/// A leg longer than nothing; elsewhere `None`.
///
/// # Source
/// ISO 2768-1; see the head of this file for what was read.
pub fn general_angle_tolerance(class: ToleranceClass, shorter_leg_mm: f64) -> Option<Angle> {
    if shorter_leg_mm <= 0.0 {
        return None;
    }
    ANGULAR
        .iter()
        .find(|(up_to_mm, _)| shorter_leg_mm <= *up_to_mm)
        .map(|(_, minutes)| Angle::deg(class.of(*minutes) / 60.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn a_limit_belongs_to_the_row_below_it() {
        assert_eq!(
            general_tolerance_mm(ToleranceClass::Medium, 30.0),
            Some(0.2)
        );
        assert_eq!(
            general_tolerance_mm(ToleranceClass::Medium, 30.001),
            Some(0.3)
        );
    }

    #[test]
    fn outside_the_table_there_is_no_answer() {
        for nominal_mm in [0.49, 0.0, -35.0, 1000.1, f64::NAN, f64::INFINITY] {
            for class in ToleranceClass::ALL {
                assert_eq!(general_tolerance_mm(class, nominal_mm), None);
            }
        }
        assert_eq!(general_angle_tolerance(ToleranceClass::Fine, 0.0), None);
        assert_eq!(
            general_angle_tolerance(ToleranceClass::Fine, f64::NAN),
            None
        );
    }

    #[test]
    fn a_short_leg_may_lean_more() {
        let short = general_angle_tolerance(ToleranceClass::Medium, 8.0).map(Angle::degrees);
        let long = general_angle_tolerance(ToleranceClass::Medium, 80.0).map(Angle::degrees);
        assert_relative_eq!(short.unwrap_or_default(), 1.0);
        assert_relative_eq!(long.unwrap_or_default(), 1.0 / 3.0);
    }

    #[test]
    fn a_part_file_writes_the_class_by_its_name() {
        for class in ToleranceClass::ALL {
            let written = serde_json::to_value(class).ok();
            assert_eq!(written, Some(class.name().into()));
        }
    }

    proptest! {
        #[test]
        fn coarser_class_and_longer_part_never_tighten(nominal_mm in 0.5..1000.0_f64, longer in 1.0..2.0_f64) {
            let longer_mm = (nominal_mm * longer).min(MOST_NOMINAL_MM);
            for pair in ToleranceClass::ALL.windows(2) {
                if let [finer, coarser] = pair {
                    prop_assert!(general_tolerance_mm(*finer, nominal_mm) <= general_tolerance_mm(*coarser, nominal_mm));
                }
            }
            for class in ToleranceClass::ALL {
                prop_assert!(general_tolerance_mm(class, nominal_mm) <= general_tolerance_mm(class, longer_mm));
            }
        }
    }
}

//! One step: two opposite bends and the straight wall between two level flats.
//!
//! With mid-thickness radii ρ1 and ρ2, S = ρ1 + ρ2 = R1 + R2 + t, bend angle a and straight wall L:
//!
//! `rise = S (1 - cos a) + L sin a`, `run = S sin a + L cos a`, `L >= 0`
//!
//! # Source
//! Own derivation from two circles and their inner tangent; for R1 = R2 = R it is the offset-bend
//! geometry with S = 2R + t. Eliminating a: `L² = run² + rise² - 2 S rise`.

use crate::quantity::Angle;
use thiserror::Error;

/// A step that can be bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepShape {
    /// Height between the two flats, above zero.
    pub rise_mm: f64,
    /// Length between the end of one flat and the start of the next, along x.
    pub run_mm: f64,
    /// Angle bent through at each of the two bends, at most 90 degrees.
    pub bend: Angle,
    /// Straight part of the wall.
    pub wall_mm: f64,
}

/// Why a step cannot be bent, with the nearest that can.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum StepError {
    /// The two bends do not fit between the flats.
    #[error("the two bends need a run of {least_run_mm:.3} mm, the flats leave {run_mm:.3} mm")]
    RunTooShort {
        /// Run the flats leave.
        run_mm: f64,
        /// Least run for this rise, radii and thickness.
        least_run_mm: f64,
        /// Largest sum of both inside radii and the thickness that fits.
        largest_sum_mm: f64,
        /// Highest rise that this run, radii and thickness reach.
        highest_rise_mm: f64,
    },
    /// At this wall angle the two bends alone are higher than the rise.
    #[error(
        "two bends of {:.2} degrees alone rise {least_rise_mm:.3} mm, the step rises {rise_mm:.3} mm",
        bend.degrees()
    )]
    RiseTooLow {
        /// Rise between the flats.
        rise_mm: f64,
        /// Wall angle asked for.
        bend: Angle,
        /// Rise of the two bends without any straight wall.
        least_rise_mm: f64,
        /// Steepest wall that this rise, radii and thickness allow.
        steepest: Angle,
        /// Largest sum of both inside radii and the thickness that fits.
        largest_sum_mm: f64,
    },
}

/// Slack for rounding in numbers that people write with a few decimals.
const WRITTEN_SLACK_MM: f64 = 1e-9;

impl StepShape {
    /// Solves wall angle and straight wall from rise and run.
    ///
    /// `radii_sum_mm` is R1 + R2 + t. All lengths above zero.
    ///
    /// # Errors
    /// [`StepError::RunTooShort`] when the bends do not fit with a wall of at most 90 degrees.
    pub fn from_run(rise_mm: f64, run_mm: f64, radii_sum_mm: f64) -> Result<Self, StepError> {
        let sum = radii_sum_mm;
        // Up to 90 degrees a wall exists for every run >= S; a shorter run only reaches low rises.
        let least_run_mm = if rise_mm >= sum {
            sum
        } else {
            (2.0 * rise_mm * sum - rise_mm * rise_mm).max(0.0).sqrt()
        };
        if run_mm + WRITTEN_SLACK_MM < least_run_mm {
            return Err(StepError::RunTooShort {
                run_mm,
                least_run_mm,
                largest_sum_mm: if rise_mm >= run_mm {
                    run_mm
                } else {
                    (run_mm * run_mm + rise_mm * rise_mm) / (2.0 * rise_mm)
                },
                highest_rise_mm: sum - (sum * sum - run_mm * run_mm).max(0.0).sqrt(),
            });
        }
        let wall_mm = (run_mm * run_mm + rise_mm * rise_mm - 2.0 * sum * rise_mm)
            .max(0.0)
            .sqrt();
        let bend = Angle::between(wall_mm, sum) - Angle::between(run_mm, sum - rise_mm);
        Ok(Self {
            rise_mm,
            run_mm,
            bend,
            wall_mm,
        })
    }

    /// Solves run and straight wall from rise and wall angle (above 0, at most 90 degrees).
    ///
    /// # Errors
    /// [`StepError::RiseTooLow`] when the bends alone rise higher.
    pub fn from_wall_angle(
        rise_mm: f64,
        bend: Angle,
        radii_sum_mm: f64,
    ) -> Result<Self, StepError> {
        let sum = radii_sum_mm;
        let least_rise_mm = sum * (1.0 - bend.cos());
        if rise_mm + WRITTEN_SLACK_MM < least_rise_mm {
            return Err(StepError::RiseTooLow {
                rise_mm,
                bend,
                least_rise_mm,
                steepest: Angle::from_cos(1.0 - rise_mm / sum).unwrap_or(bend),
                largest_sum_mm: rise_mm / (1.0 - bend.cos()),
            });
        }
        let wall_mm = ((rise_mm - least_rise_mm) / bend.sin()).max(0.0);
        Ok(Self {
            rise_mm,
            run_mm: sum * bend.sin() + wall_mm * bend.cos(),
            bend,
            wall_mm,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    #[test]
    fn a_right_angle_step_of_two_bends_has_no_wall() {
        let step = StepShape::from_wall_angle(3.0, Angle::deg(90.0), 3.0).unwrap();
        assert_abs_diff_eq!(step.wall_mm, 0.0, epsilon = 1e-12);
        assert_abs_diff_eq!(step.run_mm, 3.0, epsilon = 1e-12);
    }

    #[test]
    fn too_short_a_run_names_what_would_fit() {
        // Rise 2, run 2, S = 3: the circles overlap.
        let Err(StepError::RunTooShort {
            least_run_mm,
            largest_sum_mm,
            highest_rise_mm,
            ..
        }) = StepShape::from_run(2.0, 2.0, 3.0)
        else {
            panic!("must be refused")
        };
        // Each way out really works, and a little less does not.
        assert!(StepShape::from_run(2.0, least_run_mm, 3.0).is_ok());
        assert!(StepShape::from_run(2.0, least_run_mm - 1e-6, 3.0).is_err());
        assert!(StepShape::from_run(2.0, 2.0, largest_sum_mm).is_ok());
        assert!(StepShape::from_run(2.0, 2.0, largest_sum_mm + 1e-6).is_err());
        assert!(StepShape::from_run(highest_rise_mm, 2.0, 3.0).is_ok());
        assert!(StepShape::from_run(highest_rise_mm + 1e-6, 2.0, 3.0).is_err());
    }

    #[test]
    fn too_steep_a_wall_names_the_steepest() {
        let Err(StepError::RiseTooLow {
            steepest,
            largest_sum_mm,
            least_rise_mm,
            ..
        }) = StepShape::from_wall_angle(1.0, Angle::deg(60.0), 3.0)
        else {
            panic!("must be refused")
        };
        assert!(StepShape::from_wall_angle(1.0, steepest, 3.0).is_ok());
        assert!(StepShape::from_wall_angle(1.0, steepest + Angle::deg(0.01), 3.0).is_err());
        assert!(StepShape::from_wall_angle(1.0, Angle::deg(60.0), largest_sum_mm).is_ok());
        assert!(StepShape::from_wall_angle(least_rise_mm, Angle::deg(60.0), 3.0).is_ok());
    }

    proptest! {
        #[test]
        fn run_and_wall_angle_are_two_ways_to_say_one_step(
            sum in 0.5f64..10.0, wall in 0.0f64..20.0, degrees in 2.0f64..90.0
        ) {
            let bend = Angle::deg(degrees);
            let rise = sum * (1.0 - bend.cos()) + wall * bend.sin();
            let by_angle = StepShape::from_wall_angle(rise, bend, sum).unwrap();
            let by_run = StepShape::from_run(rise, by_angle.run_mm, sum).unwrap();
            prop_assert!((by_angle.wall_mm - wall).abs() < 1e-9);
            prop_assert!((by_run.bend.degrees() - degrees).abs() < 1e-4);
            prop_assert!((by_run.wall_mm - wall).abs() < 1e-4);
        }

        #[test]
        fn what_is_accepted_meets_both_equations(
            rise in 0.05f64..30.0, run in 0.05f64..40.0, sum in 0.3f64..20.0
        ) {
            if let Ok(step) = StepShape::from_run(rise, run, sum) {
                let (sin, cos) = (step.bend.sin(), step.bend.cos());
                prop_assert!(step.bend.degrees() > 0.0 && step.bend.degrees() <= 90.0 + 1e-4);
                prop_assert!((sum * (1.0 - cos) + step.wall_mm * sin - rise).abs() < 1e-4);
                prop_assert!((sum * sin + step.wall_mm * cos - run).abs() < 1e-4);
            }
        }
    }
}

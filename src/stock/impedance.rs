//! Conductivity and contact resistance of a pad from impedances measured at several thicknesses.

use crate::numbers::plain;
use crate::quantity::Angle;
use serde::Serialize;
use thiserror::Error;

/// mm over W/(m·K), in mm²·K/W.
pub const MM_OVER_W_MK: f64 = 1000.0;

/// Half-width that each measured impedance has at the least, over its value. Own choice: heat and area of a home rig are
/// hardly known better, and what is wrong with all readings alike does not show as scatter.
pub const READING_ERROR_SHARE: f64 = 0.05;

/// Chance that the true value lies within the half-widths, from below one end to above the other.
pub const CONFIDENCE: f64 = 0.9;

/// Thicknesses nearer to each other than this are one. Callipers read no finer.
pub const LEAST_DIFFERENCE_MM: f64 = 0.01;

/// A slope with more uncertainty than this share of itself says nothing of the conductivity. Own choice.
pub const MOST_UNCERTAINTY_SHARE: f64 = 0.8;

/// A straight line through impedances over thickness: its slope is 1/k, at thickness 0 it meets the contact resistance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ImpedanceFit {
    /// 1000 over the slope, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Half-width of it at [`CONFIDENCE`], to first order.
    pub conductivity_plus_minus_w_mk: f64,
    /// Impedance at thickness 0, mm²·K/W: both faces together. Below 0 only within its half-width.
    pub contact_mm2k_w: f64,
    /// Half-width of it at [`CONFIDENCE`].
    pub contact_plus_minus_mm2k_w: f64,
    /// Mean of the measured thicknesses: there the line is known best, and what is wrong with its height does not depend
    /// on what is wrong with its slope.
    pub middle_mm: f64,
    /// Impedance of the line there, mm²·K/W.
    pub middle_mm2k_w: f64,
    /// Half-width of it at [`CONFIDENCE`].
    pub middle_plus_minus_mm2k_w: f64,
    /// Number of measured pairs.
    pub points: usize,
    /// Farthest measured impedance from the line, mm²·K/W.
    pub farthest_mm2k_w: f64,
    /// Where the half-widths come from.
    pub spread: SpreadFrom,
}

/// Where the half-widths of a line come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpreadFrom {
    /// How far the measured pairs lie from the line.
    Scatter,
    /// [`READING_ERROR_SHARE`] of each impedance: two pairs have no scatter, and more may lie on a line by luck.
    ReadingError,
}

/// Why measured pairs give no line.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ImpedanceError {
    /// Not two thicknesses.
    #[error(
        "the measured thicknesses are all the same, and one thickness cannot tell the pad from its faces"
    )]
    OneThickness,
    /// Thicker is not worse.
    #[error("the measured impedance does not grow with the thickness: {} mm²K/W for each mm", plain(*slope_mm2k_w_per_mm))]
    DoesNotGrow {
        /// Slope of the line.
        slope_mm2k_w_per_mm: f64,
    },
    /// The slope could be nearly anything.
    #[error(
        "the measured pairs scatter so much that they say nothing of the conductivity: \
         {slope_mm2k_w_per_mm:.0} ± {plus_minus_mm2k_w_per_mm:.0} mm²K/W for each mm"
    )]
    Scattered {
        /// Slope of the line.
        slope_mm2k_w_per_mm: f64,
        /// Half-width of it.
        plus_minus_mm2k_w_per_mm: f64,
    },
    /// A pad of no thickness would have less than no impedance.
    #[error(
        "the line through the measured pairs leaves less than nothing to the faces: \
         {contact_mm2k_w:.0} ± {plus_minus_mm2k_w:.0} mm²K/W at thickness 0"
    )]
    BelowZero {
        /// Impedance at thickness 0.
        contact_mm2k_w: f64,
        /// Half-width of it.
        plus_minus_mm2k_w: f64,
    },
}

impl ImpedanceFit {
    /// Least-squares line through pairs of pressed thickness in mm and impedance in mm²·K/W.
    ///
    /// # Errors
    /// When the pairs give no line, or one that no pad can have.
    ///
    /// # Source
    /// Impedance over thickness, slope and intercept: the way of ASTM D5470, from memory. Standard errors of slope and
    /// intercept: textbook linear regression, from memory.
    pub fn of(pairs: &[[f64; 2]]) -> Result<Self, ImpedanceError> {
        let count = pairs.len() as f64;
        let mean_mm = pairs.iter().map(|[mm, _]| mm).sum::<f64>() / count;
        let mean_mm2k_w = pairs.iter().map(|[_, impedance]| impedance).sum::<f64>() / count;
        let thicknesses = || pairs.iter().map(|[mm, _]| *mm);
        let spread_mm =
            thicknesses().fold(0.0, f64::max) - thicknesses().fold(f64::INFINITY, f64::min);
        if pairs.len() < 2 || spread_mm < LEAST_DIFFERENCE_MM * (1.0 - 1e-9) {
            return Err(ImpedanceError::OneThickness);
        }
        let squares_mm2: f64 = thicknesses()
            .map(|mm| (mm - mean_mm) * (mm - mean_mm))
            .sum();
        let slope = pairs
            .iter()
            .map(|[mm, impedance]| (mm - mean_mm) * (impedance - mean_mm2k_w))
            .sum::<f64>()
            / squares_mm2;
        if slope <= 0.0 {
            return Err(ImpedanceError::DoesNotGrow {
                slope_mm2k_w_per_mm: slope,
            });
        }
        let contact = mean_mm2k_w - slope * mean_mm;
        let misses = || {
            pairs
                .iter()
                .map(|[mm, impedance]| impedance - contact - slope * mm)
        };

        let mut spread = SpreadFrom::ReadingError;
        let mut half_widths = propagated(pairs, mean_mm, squares_mm2);
        let freedom = pairs.len().saturating_sub(2);
        if freedom > 0 {
            let scatter = (misses().map(|miss| miss * miss).sum::<f64>() / freedom as f64).sqrt();
            let of_slope = student_quantile(freedom) * scatter / squares_mm2.sqrt();
            // What is wrong with all readings alike stays, however well they lie on a line.
            if of_slope > half_widths[0] {
                spread = SpreadFrom::Scatter;
                let shift = (squares_mm2 / count + mean_mm * mean_mm).sqrt();
                half_widths = [
                    of_slope,
                    of_slope * shift,
                    of_slope * (squares_mm2 / count).sqrt(),
                ];
            }
        }
        let [of_slope, of_contact, of_middle] = half_widths;
        if of_slope > MOST_UNCERTAINTY_SHARE * slope {
            return Err(ImpedanceError::Scattered {
                slope_mm2k_w_per_mm: slope,
                plus_minus_mm2k_w_per_mm: of_slope,
            });
        }
        if contact + of_contact < 0.0 {
            return Err(ImpedanceError::BelowZero {
                contact_mm2k_w: contact,
                plus_minus_mm2k_w: of_contact,
            });
        }
        let conductivity_w_mk = MM_OVER_W_MK / slope;
        Ok(Self {
            conductivity_w_mk,
            conductivity_plus_minus_w_mk: conductivity_w_mk * of_slope / slope,
            contact_mm2k_w: contact,
            contact_plus_minus_mm2k_w: of_contact,
            middle_mm: mean_mm,
            middle_mm2k_w: mean_mm2k_w,
            middle_plus_minus_mm2k_w: of_middle,
            points: pairs.len(),
            farthest_mm2k_w: misses().map(f64::abs).fold(0.0, f64::max),
            spread,
        })
    }
}

/// Half-widths of slope, intercept and mean when each impedance has its own reading error and no other knows of it.
fn propagated(pairs: &[[f64; 2]], mean_mm: f64, squares_mm2: f64) -> [f64; 3] {
    let count = pairs.len() as f64;
    let weighted = |weight: &dyn Fn(f64) -> f64| {
        pairs
            .iter()
            .map(|[mm, impedance]| weight(*mm) * READING_ERROR_SHARE * impedance)
            .map(|error| error * error)
            .sum::<f64>()
            .sqrt()
    };
    [
        weighted(&|mm| (mm - mean_mm) / squares_mm2),
        weighted(&|mm| 1.0 / count - mean_mm * (mm - mean_mm) / squares_mm2),
        weighted(&|_| 1.0 / count),
    ]
}

/// Student's t below which [`CONFIDENCE`] of all |t| lie, for so many degrees of freedom.
///
/// # Valid for
/// 1 degree of freedom or more.
///
/// # Source
/// The finite sums for whole degrees of freedom (Abramowitz and Stegun 26.7.3 and 26.7.4, from memory; a test integrates
/// the density instead), inverted by halving.
pub fn student_quantile(freedom: usize) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    // Halving ends where no number lies between.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if share_within(middle, freedom) < CONFIDENCE {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Share of all |t| below `t`.
fn share_within(t: f64, freedom: usize) -> f64 {
    let angle = Angle::between((freedom as f64).sqrt(), t);
    let cos2 = angle.cos() * angle.cos();
    let odd = freedom % 2 == 1;
    // cos + 2/3 cos³ + … for odd, 1 + 1/2 cos² + … for even degrees of freedom.
    let mut term = if odd { angle.cos() } else { 1.0 };
    let mut sum = 0.0;
    let mut power = usize::from(odd);
    while power + 2 <= freedom {
        sum += term;
        power += 2;
        term *= cos2 * (power - 1) as f64 / power as f64;
    }
    if odd {
        2.0 / std::f64::consts::PI * (angle.rad() + angle.sin() * sum)
    } else {
        angle.sin() * sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    /// 240 mm²K/W for each mm, less than 3 mm²K/W off it.
    const FOUR: [[f64; 2]; 4] = [[0.5, 151.0], [1.0, 275.0], [1.5, 389.0], [2.0, 513.0]];

    #[test]
    fn four_pairs_by_hand() {
        // Sums about the means (1.25 mm, 332 mm²K/W): 300 over 1.25.
        let fit = ImpedanceFit::of(&FOUR).unwrap();
        assert_relative_eq!(fit.conductivity_w_mk, 4.166_67, epsilon = 1e-5);
        assert_relative_eq!(fit.contact_mm2k_w, 32.0, epsilon = 1e-9);
        assert_relative_eq!(fit.farthest_mm2k_w, 3.0, epsilon = 1e-9);
        assert_eq!(fit.points, 4);
        // Scatter alone, 2.92 × 3.16 / √1.25 = 8.26 for each mm, is less than reading errors make: 16.72.
        assert_eq!(fit.spread, SpreadFrom::ReadingError);
        assert_relative_eq!(
            fit.conductivity_plus_minus_w_mk,
            fit.conductivity_w_mk * 16.72 / 240.0,
            epsilon = 1e-3
        );
    }

    #[test]
    fn pairs_far_from_a_line_tell_their_own_spread() {
        let pairs = [[0.5, 130.0], [1.0, 300.0], [1.5, 365.0], [2.0, 535.0]];
        let fit = ImpedanceFit::of(&pairs).unwrap();
        assert_eq!(fit.spread, SpreadFrom::Scatter);
        // Slope 256, misses −10.5, 31.5, −31.5, 10.5: t 2.92 × √(2205 / 2) / √1.25.
        assert_relative_eq!(1000.0 / fit.conductivity_w_mk, 256.0, epsilon = 1e-9);
        let of_slope = 2.919_986 * (2205.0_f64 / 2.0).sqrt() / 1.25_f64.sqrt();
        assert_relative_eq!(
            fit.conductivity_plus_minus_w_mk,
            fit.conductivity_w_mk * of_slope / 256.0,
            epsilon = 1e-5
        );
        // At thickness 0, 1.25 mm from the mean: √(1/4 + 1.25²/1.25) of the scatter.
        assert_relative_eq!(
            fit.contact_plus_minus_mm2k_w,
            2.919_986 * (2205.0_f64 / 2.0).sqrt() * 1.5_f64.sqrt(),
            epsilon = 1e-3
        );
    }

    #[test]
    fn two_pairs_are_a_line_with_reading_errors() {
        let fit = ImpedanceFit::of(&[[1.0, 200.0], [2.0, 360.0]]).unwrap();
        assert_relative_eq!(fit.conductivity_w_mk, 6.25, epsilon = 1e-12);
        assert_relative_eq!(fit.contact_mm2k_w, 40.0, epsilon = 1e-9);
        assert_eq!(fit.spread, SpreadFrom::ReadingError);
        // Readings off by 10 and 18: their difference by √424; twice the first less the second by √(400 + 324).
        assert_relative_eq!(
            fit.conductivity_plus_minus_w_mk,
            6.25 * 424.0_f64.sqrt() / 160.0,
            epsilon = 1e-9
        );
        assert_relative_eq!(
            fit.contact_plus_minus_mm2k_w,
            724.0_f64.sqrt(),
            epsilon = 1e-9
        );
    }

    #[test]
    fn pairs_that_are_no_pad_say_why() {
        let refused = |pairs: &[[f64; 2]]| ImpedanceFit::of(pairs).unwrap_err();
        for pairs in [
            &[][..],
            &[[1.0, 200.0]],
            &[[1.0, 200.0], [1.0, 210.0]],
            &[[1.0, 200.0], [1.001, 210.0]],
        ] {
            assert_eq!(refused(pairs), ImpedanceError::OneThickness);
        }
        assert!(ImpedanceFit::of(&[[1.0, 200.0], [2.0, 360.0], [1.0, 210.0]]).is_ok());
        for far in [200.0, 150.0] {
            assert!(matches!(
                refused(&[[1.0, 200.0], [2.0, far]]),
                ImpedanceError::DoesNotGrow { .. }
            ));
        }
        assert!(matches!(
            refused(&[[1.0, 200.0], [2.0, 210.0]]),
            ImpedanceError::Scattered { .. }
        ));
        assert!(matches!(
            refused(&[[1.0, 100.0], [2.0, 400.0]]),
            ImpedanceError::BelowZero { .. }
        ));
    }

    #[test]
    fn students_t_holds_nine_tenths() {
        // Printed in every book of statistics, these from memory.
        for (freedom, t) in [(1, 6.314), (2, 2.920), (3, 2.353), (10, 1.812), (30, 1.697)] {
            assert_relative_eq!(student_quantile(freedom), t, epsilon = 5e-4);
        }
        // The density (1 + t²/ν)^(−(ν+1)/2), integrated to the quantile and, with t = √ν·tan, to infinity.
        for freedom in 1..=48usize {
            let nu = freedom as f64;
            let up_to = |angle: f64| {
                let n = 20_000;
                let at = |i: usize| {
                    let cos = libm::cos(angle * (i as f64 + 0.5) / n as f64);
                    libm::pow(cos, nu - 1.0)
                };
                (0..n).map(at).sum::<f64>() * angle / n as f64
            };
            let angle = libm::atan(student_quantile(freedom) / nu.sqrt());
            let share = up_to(angle) / up_to(std::f64::consts::FRAC_PI_2);
            assert_relative_eq!(share, CONFIDENCE, epsilon = 1e-6);
        }
    }

    proptest! {
        #[test]
        fn pairs_on_a_line_give_it_back(
            conductivity in 0.5..20.0_f64, contact in 0.0..200.0_f64,
            thicknesses in prop::collection::vec(0.2..5.0_f64, 2..50),
        ) {
            let pairs: Vec<_> =
                thicknesses.iter().map(|mm| [*mm, contact + 1000.0 * mm / conductivity]).collect();
            match ImpedanceFit::of(&pairs) {
                Ok(fit) => {
                    prop_assert!((fit.conductivity_w_mk / conductivity - 1.0).abs() < 1e-6);
                    prop_assert!((fit.contact_mm2k_w - contact).abs() < 1e-4 * (1.0 + contact));
                    prop_assert_eq!(fit.spread, SpreadFrom::ReadingError);
                    prop_assert!(fit.conductivity_plus_minus_w_mk > 0.0);
                    prop_assert!(fit.conductivity_plus_minus_w_mk < fit.conductivity_w_mk);
                }
                // Thicknesses close to each other.
                Err(error) => prop_assert!(
                    matches!(error, ImpedanceError::OneThickness | ImpedanceError::Scattered { .. }),
                    "{error}"
                ),
            }
        }
    }
}

//! Where a growing function passes zero: the search behind letting a bend go and behind a wanted radius.
//!
//! Both begin where the function is below zero and do not know how far to go; a sheet may stay elastic, and the
//! function level, for a good part of the way.

/// Looks at the function before the search gives up.
pub const MOST_STEPS: u32 = 80;

/// The search came to no end.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("no root was found in {steps} steps, {residual} of the way is left")]
pub struct NotConverged {
    /// Value where it ended, as a share of the value at 0.
    pub residual: f64,
    /// Looks taken.
    pub steps: u32,
}

/// Where a growing function passes 0, and what came with it there: regula falsi (Illinois).
///
/// # Units
/// - `at_zero`: its value at 0, below 0
/// - `first`: where it is looked at first, above 0
/// - `enough`: how near to 0 its value must come
///
/// # Errors
/// What `value` refuses, or [`NotConverged`].
///
/// # Source
/// Illinois variant of regula falsi: Dowell and Jarratt (1971), from memory.
pub fn rising_root<T, E: From<NotConverged>>(
    at_zero: f64,
    first: f64,
    enough: f64,
    mut value: impl FnMut(f64) -> Result<(f64, T), E>,
) -> Result<T, E> {
    let (mut low, mut high) = ((0.0, at_zero), None::<(f64, f64)>);
    let mut place = first;
    let mut error = at_zero;
    for _ in 0..MOST_STEPS {
        let (found, answer) = value(place)?;
        error = found;
        let width = high.map_or(f64::INFINITY, |(far, _): (f64, f64)| far - low.0);
        if error.abs() <= enough || width <= 1e-14 * place {
            return Ok(answer);
        }
        if error < 0.0 {
            let slope = (error - low.1) / (place - low.0);
            // An end that stays put counts half, so that it does not hold up the other.
            high = high.map(|(far, its)| (far, its / 2.0));
            low = (place, error);
            if high.is_none() {
                let on = place - error / slope;
                // No further than three times as far, also where the function is level.
                place = if on > place {
                    on.min(3.0 * place)
                } else {
                    3.0 * place
                };
                continue;
            }
        } else {
            if high.is_some() {
                low.1 /= 2.0;
            }
            high = Some((place, error));
        }
        if let Some((far, its)) = high {
            place = low.0 + (far - low.0) * low.1 / (low.1 - its);
        }
    }
    Err(E::from(NotConverged {
        residual: error / at_zero,
        steps: MOST_STEPS,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_root_of_a_growing_function_is_found_from_near_and_far() {
        for first in [1e-3, 0.5, 1.4, 2.0, 40.0] {
            let root = rising_root::<_, NotConverged>(-2.0, first, 1e-12, |x| Ok((x * x - 2.0, x)))
                .unwrap();
            assert_relative_eq!(root, 2f64.sqrt(), epsilon = 1e-11);
        }
        // Level at first, as the kept curvature of a sheet that is still elastic.
        let root = rising_root::<_, NotConverged>(-1.0, 0.1, 1e-12, |x| {
            Ok(((x - 5.0_f64).max(0.0) - 1.0, x))
        })
        .unwrap();
        assert_relative_eq!(root, 6.0, epsilon = 1e-11);
        assert_eq!(
            rising_root(-1.0, 1.0, 1e-12, |x| Ok((-1.0, x))),
            Err::<f64, _>(NotConverged {
                residual: 1.0,
                steps: MOST_STEPS
            })
        );
    }
}

//! A printed table read between its rows: straight lines inside, held flat outside.

/// One reading of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The value at the asked place, in the unit of the table's second column.
    pub value: f64,
    /// Whether the place lies between the first and the last row; outside, the end value is held.
    pub inside: bool,
}

/// Reads the table `first`, `rest…` of (place, value) rows at `place`.
///
/// Units are those of the table. The places must grow strictly; whoever builds the table checks that.
/// A place that is not a number reads as the first row, outside.
pub fn held_flat(first: (f64, f64), rest: &[(f64, f64)], place: f64) -> Reading {
    if place.is_nan() || place < first.0 {
        return Reading {
            value: first.1,
            inside: false,
        };
    }
    let mut before = first;
    for &after in rest {
        if place <= after.0 {
            let share = (place - before.0) / (after.0 - before.0);
            return Reading {
                value: before.1 * (1.0 - share) + after.1 * share,
                inside: true,
            };
        }
        before = after;
    }
    Reading {
        value: before.1,
        inside: place <= before.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const REST: [(f64, f64); 2] = [(2.0, 20.0), (4.0, 0.0)];

    fn read(place: f64) -> Reading {
        held_flat((1.0, 10.0), &REST, place)
    }

    #[test]
    fn rows_are_met_exactly() {
        for (place, value) in [(1.0, 10.0), (2.0, 20.0), (4.0, 0.0)] {
            assert_eq!(
                read(place),
                Reading {
                    value,
                    inside: true
                }
            );
        }
    }

    #[test]
    fn halfway_between_rows_lies_halfway_between_values() {
        assert_relative_eq!(read(1.5).value, 15.0);
        assert_relative_eq!(read(3.0).value, 10.0);
    }

    #[test]
    fn outside_the_end_value_is_held_and_said() {
        for (place, value) in [
            (0.99, 10.0),
            (f64::NEG_INFINITY, 10.0),
            (f64::NAN, 10.0),
            (4.01, 0.0),
            (f64::INFINITY, 0.0),
        ] {
            assert_eq!(
                read(place),
                Reading {
                    value,
                    inside: false
                }
            );
        }
    }

    #[test]
    fn a_single_row_covers_only_its_own_place() {
        assert!(held_flat((1.0, 7.0), &[], 1.0).inside);
        assert!(!held_flat((1.0, 7.0), &[], 1.1).inside);
    }

    proptest! {
        #[test]
        fn never_leaves_the_span_of_the_values(place in -10.0..10.0_f64) {
            prop_assert!((0.0..=20.0).contains(&read(place).value));
        }
    }
}

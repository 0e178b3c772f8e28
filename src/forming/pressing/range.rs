//! How far a pressed plate may be off, as long as nothing was measured on a first one.

use super::input::{PressInput, PressRange};
use super::{Pressing, Sensitivity};
use std::ops::Range;

/// Half of the 90 % range of a sum of independent inputs over the root of their squared half-widths, each input evenly likely
/// within its half-width: 1.645 standard deviations of a normal sum, `1.645/√3`. Central limit theorem; one input alone would
/// have 0.90.
const NINETY_PERCENT: f64 = 0.95;

impl Pressing {
    /// How far the plate may be off until a first one is measured; `None` where nothing is known of what inputs change.
    ///
    /// Changes of inputs are taken as proportional and as independent. An input that was changed both ways counts with half of
    /// the difference between both.
    ///
    /// # Valid for
    /// Half-widths as the list of what is not known exactly gives them; the press itself errs by [`Self::good_to_deg`] beside them. Large changes are not proportional.
    pub fn range(&self) -> Option<PressRange> {
        if self.sensitivities.is_empty() {
            return None;
        }
        let worst = |of: &dyn Fn(&Sensitivity) -> Vec<f64>| {
            self.half_ranges(of).into_iter().fold(0.0, f64::max)
        };
        Some(PressRange {
            angle_deg: worst(&|one| one.angles_deg.clone()),
            height_mm: worst(&|one| one.heights_mm.clone()),
            radius_mm: worst(&|one| one.radii_mm.clone()),
            force_n_per_mm: worst(&|one| vec![one.force_n_per_mm]),
            largest_cause: self.largest_cause(0..usize::MAX),
        })
    }

    /// Where the force ended the closing: whether a gauge between the backs would leave less open.
    pub fn gauge_ends_it_better(&self) -> bool {
        let by_force = self.range().map(|range| range.angle_deg);
        let both = by_force.zip(self.range_by_gauge_deg);
        both.is_some_and(|(by_force, by_gauge)| by_gauge < by_force)
    }

    /// Half of the 90 % range of each bend angle.
    pub(super) fn angle_ranges_deg(&self) -> Vec<f64> {
        self.half_ranges(&|one| one.angles_deg.clone())
    }

    fn half_ranges(&self, of: &dyn Fn(&Sensitivity) -> Vec<f64>) -> Vec<f64> {
        half_ranges(&self.sensitivities, of)
    }

    /// What moves the angles of some bends most.
    pub(super) fn largest_cause(&self, bends: Range<usize>) -> PressInput {
        let mut most = (PressInput::Print, 0.0);
        for (input, own) in half_widths(&self.sensitivities, &|one| one.angles_deg.clone()) {
            let among = own.iter().enumerate();
            let among = among.filter(|(bend, _)| bends.contains(bend));
            let half = among.fold(0.0, |most: f64, (_, half)| most.max(half.abs()));
            if half > most.1 {
                most = (input, half);
            }
        }
        most.0
    }
}

/// Half of the 90 % range of the worst bend angle; `None` where nothing is known.
pub(super) fn worst_angle_deg(all: &[Sensitivity]) -> Option<f64> {
    let each = half_ranges(all, &|one| one.angles_deg.clone());
    each.into_iter().reduce(f64::max)
}

/// Half of the 90 % ranges, place by place.
fn half_ranges(all: &[Sensitivity], of: &dyn Fn(&Sensitivity) -> Vec<f64>) -> Vec<f64> {
    let changes = half_widths(all, of);
    let count = changes.iter().map(|(_, own)| own.len()).max().unwrap_or(0);
    let place = |place: usize| {
        let squares = changes.iter().filter_map(|(_, own)| own.get(place));
        NINETY_PERCENT * squares.map(|half| half * half).sum::<f64>().sqrt()
    };
    (0..count).map(place).collect()
}

/// What each input changes to one side, place by place.
fn half_widths(
    all: &[Sensitivity],
    of: &dyn Fn(&Sensitivity) -> Vec<f64>,
) -> Vec<(PressInput, Vec<f64>)> {
    PressInput::ALL
        .into_iter()
        .filter_map(|input| {
            let mut own = all.iter().filter(|one| one.input == input).map(of);
            let first = own.next()?;
            Some((
                input,
                match own.next() {
                    None => first,
                    Some(other) => first
                        .iter()
                        .zip(&other)
                        .map(|(one, other)| (one - other) / 2.0)
                        .collect(),
                },
            ))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::pressed;
    use approx::assert_relative_eq;

    fn change(input: PressInput, angles_deg: &[f64]) -> Sensitivity {
        Sensitivity {
            input,
            change: String::new(),
            angle_deg: 0.0,
            rise_mm: 0.0,
            radius_mm: 0.0,
            force_n_per_mm: 0.0,
            pressure_mpa: 0.0,
            angles_deg: angles_deg.to_vec(),
            rises_mm: Vec::new(),
            heights_mm: vec![0.0, 0.1],
            radii_mm: Vec::new(),
        }
    }

    #[test]
    fn independent_changes_add_by_their_squares_and_both_ways_count_once() {
        let (_, mut pressing) = pressed();
        pressing.sensitivities = Vec::new();
        assert_eq!(pressing.range(), None);
        pressing.sensitivities = vec![
            change(PressInput::Thickness, &[0.3, 0.1]),
            change(PressInput::Print, &[-1.0, 0.0]),
            change(PressInput::Print, &[-0.2, 0.0]),
        ];
        let range = pressing.range().unwrap();
        assert_relative_eq!(range.angle_deg, 0.95 * 0.5, epsilon = 1e-12);
        // Both prints lift the second flat alike: no range from them.
        assert_relative_eq!(range.height_mm, 0.95 * 0.1, epsilon = 1e-12);
        assert_eq!(range.largest_cause, PressInput::Print);
    }
}

//! What is read off a press, and how it changes with what goes in.

use super::{NoPressing, Sensitivity, Task};
use crate::forming::press::balance::Setting;
use crate::forming::press::guard::{Doubt, believed};
use crate::forming::press::measure::MeasuredStrip;
use crate::forming::press::neighbour::CLOSER_MM;
use crate::forming::press::problem::{Beside, Fineness, Problem, Seen};
use crate::forming::press::run::{Pressed, Watch};
use nalgebra::DVector;

/// What is read off a press, or how that changes for each unit of an input.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Readings {
    /// Turns, rises and inner flats in the order of [`Task::variables`], degrees and mm.
    pub(super) variables: DVector<f64>,
    /// Inside radii of the bends.
    pub(super) radii_mm: DVector<f64>,
    /// How far the flats lie above the drawn heights.
    pub(super) heights_mm: DVector<f64>,
    /// Force when closed, N for each mm of width.
    pub(super) force_n_mm: f64,
    /// Largest pressure of the sheet on a die.
    pub(super) pressure_mpa: f64,
}

impl Readings {
    /// `self + share·other`.
    fn plus(&self, other: &Self, share: f64) -> Self {
        let sum = |one: &DVector<f64>, other: &DVector<f64>| one + other * share;
        Self {
            variables: sum(&self.variables, &other.variables),
            radii_mm: sum(&self.radii_mm, &other.radii_mm),
            heights_mm: sum(&self.heights_mm, &other.heights_mm),
            force_n_mm: self.force_n_mm + share * other.force_n_mm,
            pressure_mpa: self.pressure_mpa + share * other.pressure_mpa,
        }
    }

    /// The same for an input that is off by `share` units.
    pub(super) fn times(&self, share: f64) -> Self {
        self.plus(self, share - 1.0)
    }

    /// The change from another to here.
    fn less(&self, other: &Self) -> Self {
        self.plus(other, -1.0)
    }

    /// The change from `before` to here over the input's.
    fn slope_from(&self, before: &Self, over: f64) -> Self {
        self.less(before).times(1.0 / over)
    }
}

/// An input of a press that is off by next to nothing.
pub(super) struct Variation {
    /// The press with it.
    pub(super) problem: Problem,
    /// By how much it is off, in the input's unit.
    pub(super) by: f64,
}

/// How a press changes.
#[derive(Debug, Clone)]
pub(super) struct Slopes {
    /// For each unit of each varied input, at the same force where the force ended the closing and at the same place of the die
    /// where that did; `None` where there is no telling.
    pub(super) of_inputs: Vec<Option<Readings>>,
    /// The same at the same place of the die, whatever ended the closing.
    pub(super) in_place: Vec<Option<Readings>>,
    /// For each unit of the logarithm of the force; `None` where the force does not grow.
    pub(super) of_force: Option<Readings>,
    /// For each mm that the dies are closed further.
    pub(super) of_closing: Option<Readings>,
}

/// What inputs change.
#[derive(Default)]
pub(super) struct Learned {
    /// With the closing ended as it was.
    pub(super) as_pressed: Vec<Sensitivity>,
    /// With the closing ended by a gauge between the backs, where the force ended it.
    pub(super) by_gauge: Vec<Sensitivity>,
    /// The angle that changes most, for each mm that the dies are closed further.
    pub(super) closing_deg_mm: Option<f64>,
}

/// A press that is believed.
pub(super) struct Read {
    pub(super) setting: Setting,
    pub(super) pressed: Pressed,
    pub(super) closed: MeasuredStrip,
    pub(super) released: MeasuredStrip,
    pub(super) readings: Readings,
    pub(super) slopes: Slopes,
}

impl Task {
    /// Reads a measured strip; `None` when it has not the bends of the task.
    fn readings(
        &self,
        measured: &MeasuredStrip,
        force_n_mm: f64,
        pressure_mpa: f64,
    ) -> Option<Readings> {
        let radii = measured.bends.iter().map(|bend| bend.inside_radius_mm);
        Some(Readings {
            variables: self.measured_variables(measured)?,
            radii_mm: DVector::from_iterator(measured.bends.len(), radii),
            heights_mm: DVector::from_vec(self.heights_mm(measured)),
            force_n_mm,
            pressure_mpa,
        })
    }

    /// Presses a problem with its variations beside it, and reads what came of it.
    ///
    /// # Errors
    /// When there is no answer that is believed, or the watcher ends it.
    pub(super) fn press_varied(
        &self,
        problem: &Problem,
        variations: &[Variation],
        blocks_of: Option<&Setting>,
        fineness: Fineness,
        watch: &mut Watch<'_>,
    ) -> Result<Read, NoPressing> {
        let beside: Vec<Problem> = variations.iter().map(|one| one.problem.clone()).collect();
        let (setting, pressed, beside) =
            problem.press_beside(fineness, &beside, blocks_of, watch)?;
        let [closed, released] = believed(problem, &setting.strip, &pressed)?;
        let force_n_mm = pressed.curve.last().map_or(0.0, |point| point.force_n_mm);
        let readings = self
            .readings(&released, force_n_mm, pressed.most_pressure_mpa)
            .ok_or(Doubt::Unlike)?;
        let slopes = self.slopes(&readings, pressed.force_limited, &beside, variations);
        Ok(Read {
            setting,
            pressed,
            closed,
            released,
            readings,
            slopes,
        })
    }

    /// How a press changes with the inputs that were varied beside it.
    fn slopes(
        &self,
        here: &Readings,
        force_limited: bool,
        beside: &Beside,
        variations: &[Variation],
    ) -> Slopes {
        let read =
            |seen: &Seen| self.readings(&seen.released, seen.force_n_mm, seen.most_pressure_mpa);
        // For each N/mm that the die is closed further by.
        let closer = beside.closer.as_ref().and_then(read);
        let by_force = closer.as_ref().and_then(|closer| {
            let grown = closer.force_n_mm - here.force_n_mm;
            (grown > 0.0).then(|| closer.slope_from(here, grown))
        });
        let in_place: Vec<Option<Readings>> = variations
            .iter()
            .zip(&beside.each)
            .map(|(one, seen)| Some(read(seen.as_ref()?)?.slope_from(here, one.by)))
            .collect();
        let of_inputs = in_place
            .iter()
            .map(|slope| {
                let slope = slope.as_ref()?;
                if !force_limited {
                    return Some(slope.clone());
                }
                Some(slope.plus(by_force.as_ref()?, -slope.force_n_mm))
            })
            .collect();
        Slopes {
            of_inputs,
            in_place,
            of_force: by_force.map(|slope| slope.times(here.force_n_mm)),
            of_closing: closer.map(|closer| closer.slope_from(here, CLOSER_MM)),
        }
    }
}

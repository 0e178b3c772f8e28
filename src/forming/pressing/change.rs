//! What inputs change in the pressed plate: exact derivatives, each times how far its input may be off.

use super::readings::{Learned, Readings, Slopes, Variation};
use super::search::Trial;
use super::{NoPressing, PressInput, Progress, Sensitivity, Stage, Task, Watcher};
use crate::forming::press::balance::Setting;
use crate::forming::press::material::PressMetal;
use crate::forming::press::problem::{Fineness, Problem};
use crate::forming::press::run::Moment;
use crate::numbers::plain;
use crate::part::COMMON_VISE;
use crate::part::spread::{
    BACKS, DIE_CLEARANCE, DIE_STIFFNESS, FRICTION, HARDENING, STRENGTH, Spread, THICKNESS,
};
use crate::stock::printed_block::PrintSpread;

/// Slopes by the closing are those of this way, mm.
const CLOSER: f64 = 0.01;
/// Inputs are varied by this share of how far they may be off: far below what moves a kink, far above rounding.
const VARIED: f64 = 1e-4;
/// Logarithms are varied by this.
const VARIED_LOGARITHM: f64 = 1e-4;

/// Inputs that are varied beside a press.
pub(super) struct Inputs {
    pub(super) variations: Vec<Variation>,
    /// Of each, how far it may be off.
    changes: Vec<(PressInput, Vec<(String, f64)>)>,
}

/// An input, and by how much it may be off.
struct Case {
    input: PressInput,
    /// In words, and how much it is in units of the input; those of one input are told apart by their way.
    changes: Vec<(String, f64)>,
    variation: Variation,
}

impl Task {
    /// What thickness, flow stress, hardening, friction, clearance, print and force change, each by its half-width, on the
    /// quick model. `found` are the dies.
    ///
    /// Inputs whose change gives no answer are left out.
    ///
    /// # Errors
    /// When the watcher ends it.
    pub(super) fn sensitivities(
        &self,
        found: &Trial,
        watcher: &mut Watcher<'_>,
    ) -> Result<Learned, NoPressing> {
        let problem = &found.problem;
        let inputs = self.inputs(problem);
        let slopes = self.varied(problem, &inputs.variations, &found.setting, watcher)?;
        Ok(slopes.map_or_else(Learned::default, |slopes| {
            self.learned(problem, found.pressed.force_limited, inputs, slopes)
        }))
    }

    /// What is learned of the slopes of a press beside which inputs were varied.
    pub(super) fn learned(
        &self,
        problem: &Problem,
        force_limited: bool,
        inputs: Inputs,
        slopes: Slopes,
    ) -> Learned {
        let mut answer = Learned::default();
        let slopes_of = slopes.of_inputs.iter().zip(&slopes.in_place);
        for ((input, changes), (slope, in_place)) in inputs.changes.into_iter().zip(slopes_of) {
            for (change, by) in changes {
                if let Some(in_place) = in_place {
                    let changed = self.sensitivity(input, change.clone(), &in_place.times(by));
                    answer.by_gauge.push(changed);
                }
                if let Some(slope) = slope {
                    let changed = self.sensitivity(input, change, &slope.times(by));
                    answer.as_pressed.push(changed);
                }
            }
        }
        if let Some(slope) = slopes.of_force.filter(|_| force_limited) {
            for (change, by) in self.forces(problem) {
                let changed = self.sensitivity(PressInput::Force, change, &slope.times(by));
                answer.as_pressed.push(changed);
            }
        }
        answer.closing_deg_mm = slopes.of_closing.as_ref().map(|slope| {
            let further = slope.times(CLOSER);
            let changed = self.sensitivity(PressInput::Force, String::new(), &further);
            changed.angle_deg / CLOSER
        });
        match &slopes.of_closing {
            Some(slope) if force_limited => {
                let change = format!("backs {} mm nearer", BACKS.words());
                let changed =
                    self.sensitivity(PressInput::Force, change, &slope.times(BACKS.of(0.0)));
                answer.by_gauge.push(changed);
            }
            _ => answer.by_gauge.clear(),
        }
        answer
    }

    /// How a press of the quick model changes; `None` where there is no answer that is believed.
    fn varied(
        &self,
        problem: &Problem,
        variations: &[Variation],
        blocks_of: &Setting,
        watcher: &mut Watcher<'_>,
    ) -> Result<Option<Slopes>, NoPressing> {
        let mut progress = Progress {
            press: 1,
            stage: Stage::Changes,
            lifted_mm: 0.0,
            worst_deg: None,
            worst_mm: None,
        };
        let mut watch = |moment: &Moment<'_>| {
            progress.lifted_mm = moment.lifted_mm;
            watcher(&progress)
        };
        let fineness = Fineness::quick(&self.base.metal);
        match self.press_varied(problem, variations, Some(blocks_of), fineness, &mut watch) {
            Ok(read) => Ok(Some(read.slopes)),
            Err(NoPressing::Stopped) => Err(NoPressing::Stopped),
            Err(_) => Ok(None),
        }
    }

    /// The least and the most that the vise gives: in words, and by what logarithm that is more than the press has.
    fn forces(&self, found: &Problem) -> Vec<(String, f64)> {
        let ends_n = self.gives_n.unwrap_or_else(|| COMMON_VISE.force_n());
        let ways = ["vise as weak as it may be", "vise as hard as it may pull"];
        ways.into_iter()
            .zip(ends_n)
            .map(|(way, end_n)| {
                let more = libm::log(end_n / (found.most_force_n_mm * self.width_mm));
                (format!("{way}, {end_n:.0} N"), more)
            })
            .filter(|(_, more)| more.abs() > 0.01)
            .collect()
    }

    /// A change in words and numbers.
    fn sensitivity(&self, input: PressInput, change: String, moved: &Readings) -> Sensitivity {
        let drawn = Self::variables(&self.drawn);
        let is_bend = |row: usize| row < 3 * self.drawn.steps.len() && row % 3 != 2;
        let is_rise = |row: usize| row < 3 * self.drawn.steps.len() && row % 3 == 2;
        let rows = |is: &dyn Fn(usize) -> bool| -> Vec<f64> {
            let rows = (0..drawn.len()).filter(|row| is(*row));
            rows.filter_map(|row| moved.variables.get(row).copied())
                .collect()
        };
        let angles_deg = rows(&is_bend);
        let rises_mm = rows(&is_rise);
        let radii_mm: Vec<f64> = moved.radii_mm.iter().copied().collect();
        Sensitivity {
            input,
            change,
            angle_deg: largest(&angles_deg),
            rise_mm: largest(&rises_mm),
            radius_mm: largest(&radii_mm),
            force_n_per_mm: moved.force_n_mm,
            pressure_mpa: moved.pressure_mpa,
            angles_deg,
            rises_mm,
            heights_mm: moved.heights_mm.iter().copied().collect(),
            radii_mm,
        }
    }

    /// Inputs to vary beside a press.
    pub(super) fn inputs(&self, problem: &Problem) -> Inputs {
        let cases = self.cases(problem).into_iter();
        let (variations, changes) = cases
            .map(|case| (case.variation, (case.input, case.changes)))
            .unzip();
        Inputs {
            variations,
            changes,
        }
    }

    /// Inputs off by their half-widths, in words and as problems.
    fn cases(&self, found: &Problem) -> Vec<Case> {
        let changes = &self.changes;
        let thicker_mm = changes
            .thickness_plus_minus_mm
            .unwrap_or(THICKNESS.of(self.base.thickness_mm));
        let rougher = FRICTION.of(found.friction);
        let apart_mm = DIE_CLEARANCE.of(found.clearance_mm);
        let one = |input, words: String, off: f64, with: &dyn Fn(f64) -> Problem| Case {
            input,
            changes: vec![(words, off)],
            variation: Variation {
                problem: with(VARIED * off),
                by: VARIED * off,
            },
        };
        let share = |spread: &Spread| spread.of(1.0);
        let mut cases = vec![
            one(
                PressInput::Thickness,
                format!("sheet {} mm thicker", plain(thicker_mm)),
                thicker_mm,
                &|by| Problem {
                    thickness_mm: found.thickness_mm + by,
                    clearance_mm: found.clearance_mm - by,
                    ..found.clone()
                },
            ),
            one(
                PressInput::Strength,
                format!("sheet {} stronger", STRENGTH.words()),
                share(&STRENGTH),
                &|by| Problem {
                    metal: PressMetal::new(
                        changes.youngs_mpa,
                        changes.poisson,
                        &changes.law.scaled(1.0 + by),
                    ),
                    ..found.clone()
                },
            ),
            one(
                PressInput::Hardening,
                format!("sheet hardens by {} more", HARDENING.words()),
                share(&HARDENING),
                &|by| Problem {
                    metal: found.metal.hardening_more(1.0 + by),
                    ..found.clone()
                },
            ),
            one(
                PressInput::Friction,
                format!(
                    "friction {} in place of {}",
                    plain(found.friction + rougher),
                    plain(found.friction)
                ),
                rougher,
                &|by| Problem {
                    friction: found.friction + by,
                    ..found.clone()
                },
            ),
            one(
                PressInput::Clearance,
                format!("dies printed {} mm further apart", plain(apart_mm)),
                apart_mm,
                &|by| Problem {
                    clearance_mm: found.clearance_mm + by,
                    ..found.clone()
                },
            ),
        ];
        // As far as a print is known, and no further than its filling says.
        let print = self.block.nose_spread_n_mm3(self.base.thickness_mm);
        let least = 1.0 - share(&DIE_STIFFNESS);
        let ways = [
            ("less stiff", (print.weak / print.usual).min(least)),
            ("stiffer", (print.strong / print.usual).max(1.0 / least)),
        ];
        let more = 1.0 + VARIED_LOGARITHM;
        cases.push(Case {
            input: PressInput::Print,
            changes: ways
                .into_iter()
                .map(|(way, share)| {
                    let percent = 100.0 * share;
                    let words = format!("dies {way}: {percent:.0} % of a usual print");
                    (words, libm::log(share))
                })
                .collect(),
            variation: Variation {
                problem: Problem {
                    foundation_n_mm3: found.foundation_n_mm3 * more,
                    blocks: found.blocks.map(|blocks| blocks.stiffer(more)),
                    ..found.clone()
                },
                by: libm::log1p(VARIED_LOGARITHM),
            },
        });
        cases.extend(self.yields(found));
        cases
    }

    /// The pressure at which the noses yield; nothing where it is not known by range.
    fn yields(&self, found: &Problem) -> Option<Case> {
        let PrintSpread {
            weak,
            usual,
            strong,
        } = self.nose_limit();
        let changes: Vec<(String, f64)> = [weak, strong]
            .into_iter()
            .map(|one| (one / usual, one))
            .filter(|(share, _)| share.is_finite() && (share - 1.0).abs() > 1e-3)
            .map(|(share, mpa)| (format!("noses yield at {mpa:.0} MPa"), libm::log(share)))
            .collect();
        (!changes.is_empty()).then(|| Case {
            input: PressInput::PrintYield,
            changes,
            variation: Variation {
                problem: Problem {
                    die_yield_mpa: found.die_yield_mpa * (1.0 + VARIED_LOGARITHM),
                    ..found.clone()
                },
                by: libm::log1p(VARIED_LOGARITHM),
            },
        })
    }
}

/// The one that is furthest from zero.
fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most: f64, value| {
        if value.abs() > most.abs() {
            *value
        } else {
            most
        }
    })
}

//! What an input changes in the pressed plate.

use super::{NoPressing, Pressing, Progress, Sensitivity, Task, Watcher};
use crate::forming::press::failed::Failed;
use crate::forming::press::guard::believed;
use crate::forming::press::material::PressMetal;
use crate::forming::press::measure::MeasuredStrip;
use crate::forming::press::problem::{Fineness, Problem};
use crate::forming::press::run::Moment;
use crate::numbers::plain;
use crate::part::spread::{DIE_CLEARANCE, DIE_STIFFNESS, FRICTION, STRENGTH, THICKNESS};

impl Task {
    /// What thickness, yield stress, friction, clearance and die stiffness change, on the quick model.
    ///
    /// Inputs whose change gives no answer are left out.
    ///
    /// # Errors
    /// When the watcher ends it.
    pub fn sensitivities(
        &self,
        pressing: &Pressing,
        watcher: &mut Watcher<'_>,
    ) -> Result<Vec<Sensitivity>, NoPressing> {
        let found = &pressing.problem;
        let changes = &self.changes;
        let thicker_mm = changes
            .thickness_plus_minus_mm
            .unwrap_or(THICKNESS.of(self.base.thickness_mm));
        let rougher = found.friction + FRICTION.of(found.friction);
        let apart_mm = DIE_CLEARANCE.of(found.clearance_mm);
        let metal = |share: f64| {
            PressMetal::new(
                changes.youngs_mpa,
                changes.poisson,
                &changes.law.scaled(share),
            )
        };
        let hardest_n = self.gives_n.map(|[_, most_n]| most_n).filter(|most_n| {
            pressing.force_limited && *most_n > 1.01 * found.most_force_n_mm * self.width_mm
        });
        let harder = hardest_n.map(|most_n| {
            (
                format!("vise as hard as it may pull, {most_n:.0} N"),
                Problem {
                    most_force_n_mm: most_n / self.width_mm,
                    ..found.clone()
                },
            )
        });
        let cases = [
            (
                format!("sheet {} mm thicker", plain(thicker_mm)),
                Problem {
                    thickness_mm: found.thickness_mm + thicker_mm,
                    clearance_mm: found.clearance_mm - thicker_mm,
                    ..found.clone()
                },
            ),
            (
                format!("sheet {} stronger", STRENGTH.words()),
                Problem {
                    metal: metal(1.0 + STRENGTH.of(1.0)),
                    ..found.clone()
                },
            ),
            (
                format!(
                    "friction {} in place of {}",
                    plain(rougher),
                    plain(found.friction)
                ),
                Problem {
                    friction: rougher,
                    ..found.clone()
                },
            ),
            (
                format!("dies printed {} mm further apart", plain(apart_mm)),
                Problem {
                    clearance_mm: found.clearance_mm + apart_mm,
                    ..found.clone()
                },
            ),
            (
                format!("dies {} less stiff", DIE_STIFFNESS.words()),
                Problem {
                    foundation_n_mm3: (1.0 - DIE_STIFFNESS.of(1.0)) * found.foundation_n_mm3,
                    ..found.clone()
                },
            ),
        ];
        let mut press =
            |problem: &Problem, number: u32| -> Result<Option<(MeasuredStrip, f64)>, NoPressing> {
                let mut progress = Progress {
                    press: number,
                    full: false,
                    lifted_mm: 0.0,
                    worst_deg: None,
                    worst_mm: None,
                };
                let mut watch = |moment: &Moment<'_>| {
                    progress.lifted_mm = moment.lifted_mm;
                    watcher(&progress)
                };
                match problem.press(Fineness::QUICK, &mut watch) {
                    Err(Failed::Stopped) => Err(NoPressing::Stopped),
                    Err(_) => Ok(None),
                    Ok((strip, pressed)) => {
                        let measured = believed(problem, &strip, &pressed).ok();
                        let force_n_mm = pressed.largest_force_n_mm();
                        Ok(measured.map(|[_, released]| (released, force_n_mm)))
                    }
                }
            };
        let Some((usual, usual_force)) = press(found, 1)? else {
            return Ok(Vec::new());
        };
        let mut answer = Vec::new();
        for (number, (change, problem)) in (2..).zip(cases.into_iter().chain(harder)) {
            let Some((other, force)) = press(&problem, number)? else {
                continue;
            };
            let largest = |values: &mut dyn Iterator<Item = f64>| {
                values.fold(0.0, |most: f64, value| {
                    if value.abs() > most.abs() {
                        value
                    } else {
                        most
                    }
                })
            };
            answer.push(Sensitivity {
                change,
                angle_deg: largest(
                    &mut usual
                        .bends
                        .iter()
                        .zip(&other.bends)
                        .map(|(a, b)| b.turn.abs().degrees() - a.turn.abs().degrees()),
                ),
                rise_mm: largest(
                    &mut usual
                        .rises_mm
                        .iter()
                        .zip(&other.rises_mm)
                        .map(|(a, b)| b.abs() - a.abs()),
                ),
                radius_mm: largest(
                    &mut usual
                        .bends
                        .iter()
                        .zip(&other.bends)
                        .map(|(a, b)| b.inside_radius_mm - a.inside_radius_mm),
                ),
                force_n_per_mm: force - usual_force,
            });
        }
        Ok(answer)
    }
}

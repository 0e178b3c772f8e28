//! What an input changes in the pressed plate.

use super::search::Trial;
use super::{Effort, NoPressing, PressInput, Progress, Sensitivity, Stage, Task, Watcher};
use crate::forming::block::Backing;
use crate::forming::press::failed::Failed;
use crate::forming::press::guard::believed;
use crate::forming::press::material::PressMetal;
use crate::forming::press::measure::MeasuredStrip;
use crate::forming::press::problem::{Fineness, Problem};
use crate::forming::press::run::{Moment, Pressed};
use crate::numbers::plain;
use crate::part::spread::{DIE_CLEARANCE, DIE_STIFFNESS, FRICTION, STRENGTH, THICKNESS};

impl Task {
    /// What thickness, yield stress, friction, clearance, stiffness of the print and force change, on the quick model, each by
    /// its half-width. `best` is the press of the found dies, on the quick model where `effort` is.
    ///
    /// Inputs whose change gives no answer are left out.
    ///
    /// # Errors
    /// When the watcher ends it.
    pub(super) fn sensitivities(
        &self,
        best: &Trial,
        effort: Effort,
        watcher: &mut Watcher<'_>,
    ) -> Result<Vec<Sensitivity>, NoPressing> {
        let found = &best.problem;
        let before = match effort {
            Effort::Quick => Some(Came::of(&best.pressed, best.released.clone())),
            Effort::Full => pressed(found, 1, watcher)?,
        };
        let Some(before) = before else {
            return Ok(Vec::new());
        };
        let usual = &before.released;
        let mut cases = self.cases(found, best.pressed.force_limited);
        // Blocks are compared at the same force: their backs come nearer to each other before they give it.
        cases.push((
            PressInput::Blocks,
            "dies that give as whole blocks, not each place of a face by itself".to_owned(),
            Problem {
                blocks: Some(Backing::of(&self.block, found.thickness_mm)),
                most_force_n_mm: before.force_n_mm,
                end_mm: found.end_mm - found.thickness_mm,
                ..found.clone()
            },
        ));
        let usual_heights_mm = self.heights_mm(usual);
        let mut answer = Vec::new();
        for (number, (input, change, problem)) in (2..).zip(cases) {
            let Some(came) = pressed(&problem, number, watcher)? else {
                continue;
            };
            let other = &came.released;
            let bends = usual.bends.iter().zip(&other.bends);
            let angles_deg: Vec<f64> = bends
                .clone()
                .map(|(a, b)| b.turn.abs().degrees() - a.turn.abs().degrees())
                .collect();
            let radii_mm: Vec<f64> = bends
                .map(|(a, b)| b.inside_radius_mm - a.inside_radius_mm)
                .collect();
            let rises_mm = usual.rises_mm.iter().zip(&other.rises_mm);
            let rises_mm: Vec<f64> = rises_mm.map(|(a, b)| b.abs() - a.abs()).collect();
            let heights_mm = self.heights_mm(other);
            let heights_mm = usual_heights_mm.iter().zip(&heights_mm);
            answer.push(Sensitivity {
                input,
                change,
                angle_deg: largest(&angles_deg),
                rise_mm: largest(&rises_mm),
                radius_mm: largest(&radii_mm),
                force_n_per_mm: came.force_n_mm - before.force_n_mm,
                pressure_mpa: came.pressure_mpa - before.pressure_mpa,
                angles_deg,
                heights_mm: heights_mm.map(|(a, b)| b - a).collect(),
                radii_mm,
            });
        }
        Ok(answer)
    }

    /// Inputs off by their half-widths, in words and as problems.
    fn cases(&self, found: &Problem, force_limited: bool) -> Vec<(PressInput, String, Problem)> {
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
            force_limited && *most_n > 1.01 * found.most_force_n_mm * self.width_mm
        });
        let print = self.block.nose_spread_n_mm3(self.base.thickness_mm);
        let mut cases = vec![
            (
                PressInput::Thickness,
                format!("sheet {} mm thicker", plain(thicker_mm)),
                Problem {
                    thickness_mm: found.thickness_mm + thicker_mm,
                    clearance_mm: found.clearance_mm - thicker_mm,
                    ..found.clone()
                },
            ),
            (
                PressInput::Strength,
                format!("sheet {} stronger", STRENGTH.words()),
                Problem {
                    metal: metal(1.0 + STRENGTH.of(1.0)),
                    ..found.clone()
                },
            ),
            (
                PressInput::Friction,
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
                PressInput::Clearance,
                format!("dies printed {} mm further apart", plain(apart_mm)),
                Problem {
                    clearance_mm: found.clearance_mm + apart_mm,
                    ..found.clone()
                },
            ),
        ];
        // As far as a print is known, and no further than its filling says.
        let usual = found.foundation_n_mm3;
        let share = 1.0 - DIE_STIFFNESS.of(1.0);
        for (way, stiffness_n_mm3) in [
            ("less stiff", print.weak.min(share * usual)),
            ("stiffer", print.strong.max(usual / share)),
        ] {
            let percent = 100.0 * stiffness_n_mm3 / usual;
            cases.push((
                PressInput::Print,
                format!("dies {way}: {percent:.0} % of a usual print"),
                Problem {
                    foundation_n_mm3: stiffness_n_mm3,
                    ..found.clone()
                },
            ));
        }
        cases.extend(hardest_n.map(|most_n| {
            (
                PressInput::Force,
                format!("vise as hard as it may pull, {most_n:.0} N"),
                Problem {
                    most_force_n_mm: most_n / self.width_mm,
                    ..found.clone()
                },
            )
        }));
        cases
    }
}

/// What came out of one press.
struct Came {
    released: MeasuredStrip,
    force_n_mm: f64,
    pressure_mpa: f64,
}

impl Came {
    fn of(pressed: &Pressed, released: MeasuredStrip) -> Self {
        Self {
            released,
            force_n_mm: pressed.largest_force_n_mm(),
            pressure_mpa: pressed.most_pressure_mpa,
        }
    }
}

/// Presses on the quick model; `None` where there is no answer that is believed.
fn pressed(
    problem: &Problem,
    number: u32,
    watcher: &mut Watcher<'_>,
) -> Result<Option<Came>, NoPressing> {
    let mut progress = Progress {
        press: number,
        stage: Stage::Changes,
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
            Ok(measured.map(|[_, released]| Came::of(&pressed, released)))
        }
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

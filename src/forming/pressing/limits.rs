//! What keeps a pressing from its drawing, and ways out.

use super::refusals::{MORE_WALL, STRONGER_NOSES, STRONGER_VISE};
use super::search::Trial;
use super::{Limit, NoPressing, Task, radius_met_mm};
use crate::forming::die_shape::{DieShape, set_back_mm};
use crate::forming::press::measure::MeasuredStrip;

impl Task {
    /// Reasons why angles, rises or lengths are not met.
    pub(super) fn limits_met(
        &self,
        trial: &Trial,
        die: &DieShape,
        held_back: Option<NoPressing>,
    ) -> Vec<Limit> {
        let mut limits = Vec::new();
        let last = trial.pressed.curve.last();
        if trial.pressed.force_limited {
            limits.push(limit(
                format!(
                    "the vise's force of {:.0} N ends the closing {:.2} mm before the dies are closed",
                    self.base.most_force_n_mm * self.width_mm,
                    last.map_or(0.0, |point| point.lifted_mm - self.base.end_mm)
                ),
                STRONGER_VISE,
            ));
        }
        if trial.pressed.most_pressure_mpa > self.base.die_yield_mpa {
            limits.push(limit(
                format!(
                    "the noses are pressed in: {:.0} MPa on them, the printed plastic bears about {:.0} MPa",
                    trial.pressed.most_pressure_mpa, self.base.die_yield_mpa
                ),
                STRONGER_NOSES,
            ));
        }
        let radii_mm: Vec<[f64; 2]> = die.steps.iter().map(|step| step.mid_radii_mm).collect();
        if !self.opens(&self.shape(&(Self::variables(die) * 1.02), &radii_mm)) {
            limits.push(limit(
                "the dies cannot be overbent further: the pair would not open, or no straight wall would be left"
                    .to_owned(),
                &[
                    "turn the part in the die: tilt = \"auto\" or \"centred\" under [dies]",
                    MORE_WALL,
                ],
            ));
        }
        if let Some(error) = held_back {
            limits.push(limit(
                format!("further overbending gave no answer: {error}"),
                &["give the step more run"],
            ));
        }
        if limits.is_empty() {
            limits.push(limit(
                "the search did not come nearer in the presses it is given".to_owned(),
                &["press it, measure, and correct the part by what was measured"],
            ));
        }
        limits
    }

    /// Steps whose bends come out rounder or sharper than drawn; noses cannot help, or the search would have moved them.
    pub(super) fn radii_missed(&self, released: &MeasuredStrip) -> Vec<Limit> {
        let misses_mm = self.radius_misses_mm(released);
        let bends = &self.drawn_bends;
        let missed = bends
            .chunks(2)
            .zip(misses_mm.chunks(2))
            .filter(|(drawn, misses)| {
                drawn
                    .iter()
                    .zip(*misses)
                    .any(|(bend, miss_mm)| miss_mm.abs() > radius_met_mm(bend.turn))
            });
        missed
            .filter_map(|(drawn, misses_mm)| {
                let [first, second] = drawn else { return None };
                let name = |number: usize| self.flats.get(number).map_or("", |flat| &flat.name);
                let drawn_mm = [first, second].map(|bend| bend.inside_radius_mm);
                let [one, other] = misses_mm else { return None };
                let comes_mm = [drawn_mm[0] + one, drawn_mm[1] + other];
                let rounder = one + other > 0.0;
                // Upwards to the next tenth: a nose a little sharper than drawn then reaches it.
                let draw_mm = comes_mm.map(|radius_mm| libm::ceil(10.0 * radius_mm) / 10.0);
                let more_run_mm: f64 = [first, second]
                    .iter()
                    .zip(draw_mm.iter().zip(drawn_mm))
                    .map(|(bend, (draw, drawn))| set_back_mm(draw - drawn, bend.turn))
                    .sum();
                let pair = |radii_mm: [f64; 2]| {
                    let [one, other] = radii_mm.map(|radius_mm| format!("{radius_mm:.1}"));
                    if one == other { one } else { format!("{one} and {other}") }
                };
                let toml = match draw_mm.map(|radius_mm| format!("{radius_mm:.1}")) {
                    [one, other] if one == other => one,
                    [one, other] => format!("[{one}, {other}]"),
                };
                Some(limit(
                    format!(
                        "between \"{}\" and \"{}\" the inside radii come out at {} mm, drawn {} mm{}",
                        name(first.step),
                        name(first.step + 1),
                        pair(comes_mm),
                        pair(drawn_mm),
                        if rounder {
                            "; sharper noses would not change that, the sheet does not follow them"
                        } else {
                            ""
                        }
                    ),
                    &[&format!(
                        "draw that step with inside_radius_mm = {toml} and {:.1} mm {} run: the wall stays where it is",
                        more_run_mm.abs(),
                        if more_run_mm < 0.0 { "less" } else { "more" }
                    )],
                ))
            })
            .collect()
    }
}

fn limit(reason: String, help: &[&str]) -> Limit {
    Limit {
        reason,
        help: help.iter().map(|help| (*help).to_owned()).collect(),
    }
}

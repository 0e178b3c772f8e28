//! What keeps a pressing from its drawing, read off the pressed strip, and ways out.

use super::refusals::{MORE_WALL, STRONGER_VISE, stronger_noses};
use super::search::Trial;
use super::{Advice, HeldBack, Limit, Task, radius_met_mm};
use crate::forming::die_shape::DieShape;
use crate::forming::press::measure::MeasuredStrip;
use crate::part::advised::{Change, whole_degrees};
use crate::quantity::Angle;

/// A bend that is still so much flatter than its closed dies does not follow them. Own choice: springback and clearance take a
/// few percent, a sheet that bridges its noses from a tenth to a half.
const FOLLOWS: f64 = 0.9;
/// Both arcs take so much of the rise that no straight wall is left between them: radii are measured in the middle of a bend, and
/// its ends are rounder. Own choice.
const ALL_BEND: f64 = 0.6;
/// Steps of less than so many sheet thicknesses can be too low. Own choice: a wall as short as its sheet is thick is a block and
/// no lever.
const LOW_STEP: f64 = 2.0;
/// Noses that are pressed back by more than this share of the sheet thickness let the sheet bend less than they are turned, where
/// it does not follow them. Own choice.
const PRESSED_BACK: f64 = 0.15;
/// Beyond this angles are missed for other reasons than radii: nothing is said of these. Own choice.
const RADII_COUNT_DEG: f64 = 1.0;
/// Share of the angle that a joggle takes that is advised for it. Own choice: the gentler a step is drawn, the less the same sheet
/// takes of it. Of 0.3 mm that took 26 degrees between dies of 45, a step drawn with 23 came out at 20, with 18 at 18.
const ADVISED_ANGLE: f64 = 0.7;

/// What was found.
#[derive(Default)]
pub(super) struct Found {
    pub(super) limits: Vec<Limit>,
    pub(super) advice: Vec<Advice>,
    pub(super) radii_as_they_come: Vec<String>,
    /// A step is too low for its sheet: no force would help.
    pub(super) is_too_low: bool,
}

impl Found {
    fn limit(&mut self, reason: String, help: &[&str]) {
        self.limits.push(Limit {
            reason,
            help: help.iter().map(|help| (*help).to_owned()).collect(),
        });
    }

    /// A change that may help against the last limit.
    fn advise(&mut self, change: Change) {
        self.advice.push(Advice {
            limit: self.limits.len().saturating_sub(1),
            change,
        });
    }
}

/// One bend of a pressed step.
struct StepBend {
    drawn: Angle,
    die: Angle,
    closed: Angle,
    released: Angle,
    /// Of the let-go strip, at mid-thickness.
    mid_radius_mm: f64,
}

impl StepBend {
    /// It stays flatter than its closed dies and than drawn.
    fn bridges(&self) -> bool {
        self.closed.rad() < FOLLOWS * self.die.rad() && self.released.rad() < self.drawn.rad()
    }
}

impl Task {
    /// Reasons why angles, rises or lengths are not met.
    pub(super) fn limits_met(
        &self,
        trial: &Trial,
        die: &DieShape,
        held_back: Option<HeldBack>,
    ) -> Found {
        let mut found = Found::default();
        self.joggles(trial, &mut found);
        if !found.limits.is_empty() {
            found.is_too_low = true;
            // Force and noses do not decide there: more of them would bend it no further.
            return found;
        }
        let last = trial.pressed.curve.last();
        if trial.pressed.force_limited {
            found.limit(
                format!(
                    "{} of {:.0} N ends the closing {:.2} mm before the dies are closed",
                    if self.gives_n.is_some() {
                        "the vise's force"
                    } else {
                        "the least force of a common vise, taken because [vise] says none,"
                    },
                    self.base.most_force_n_mm * self.width_mm,
                    last.map_or(0.0, |point| point.lifted_mm - self.base.end_mm)
                ),
                STRONGER_VISE,
            );
        }
        if trial.pressed.most_pressure_mpa > self.base.die_yield_mpa {
            found.limit(
                format!(
                    "the noses are pressed in: {:.0} MPa on them, the printed plastic bears about {:.0} MPa",
                    trial.pressed.most_pressure_mpa, self.base.die_yield_mpa
                ),
                stronger_noses(self.block.infill_percent),
            );
        }
        self.pressed_back(trial, &mut found);
        let radii_mm: Vec<[f64; 2]> = die.steps.iter().map(|step| step.mid_radii_mm).collect();
        if !self.opens(&self.shape(&(Self::variables(die) * 1.02), &radii_mm)) {
            found.limit(
                "the dies cannot be overbent further: the pair would not open, or no straight wall would be left"
                    .to_owned(),
                &[
                    "turn the part in the die: tilt = \"auto\" or \"centred\" under [dies]",
                    MORE_WALL,
                ],
            );
        }
        match held_back {
            Some(HeldBack::Refused(error)) => found.limit(
                format!("further overbending gave no answer: {error}"),
                &["give the step more run"],
            ),
            Some(HeldBack::Ended(iterations)) => found.limit(
                format!(
                    "the search was ended after {iterations} iterations; these are the best dies it came to"
                ),
                &[MEASURE],
            ),
            None => {}
        }
        self.slipped(trial, &mut found);
        if found.limits.is_empty() {
            found.limit(self.short_of(trial), &[MEASURE]);
        }
        found
    }

    /// Bends of each step, with the number of the step.
    fn step_bends<'t>(&'t self, trial: &'t Trial) -> impl Iterator<Item = (usize, StepBend)> + 't {
        let dies = trial.problem.mid.arcs();
        let pressed = trial.closed.bends.iter().zip(&trial.released.bends);
        self.drawn_bends.iter().zip(pressed).zip(dies).map(
            |((drawn, (closed, released)), (_, die))| {
                let bend = StepBend {
                    drawn: drawn.turn.abs(),
                    die: die.abs(),
                    closed: closed.turn.abs(),
                    released: released.turn.abs(),
                    mid_radius_mm: released.inside_radius_mm + self.base.thickness_mm / 2.0,
                };
                (drawn.step, bend)
            },
        )
    }

    /// Steps too low for their sheet: both bends share one wall, so the force that bends one bends the other, and each end of
    /// the wall bears only as much moment as its length lets it. The state shows it: dies all but closed, both bends far flatter
    /// than they, and nothing straight left between two arcs.
    fn joggles(&self, trial: &Trial, found: &mut Found) {
        let t = self.base.thickness_mm;
        let is_down = trial
            .pressed
            .curve
            .last()
            .is_some_and(|point| point.lifted_mm <= 0.0);
        if !is_down {
            return;
        }
        for (number, rise_mm) in trial.released.rises_mm.iter().enumerate() {
            let own = self.step_bends(trial).filter(|(step, _)| *step == number);
            let own: Vec<StepBend> = own.map(|(_, bend)| bend).collect();
            let [first, second] = own.as_slice() else {
                continue;
            };
            let arcs_mm: f64 = own
                .iter()
                .map(|bend| bend.mid_radius_mm * (1.0 - bend.released.cos()))
                .sum();
            let drawn_mm = self
                .drawn
                .steps
                .get(number)
                .map_or(0.0, |s| s.rise_mm.abs());
            let is_low = drawn_mm < LOW_STEP * t && arcs_mm > ALL_BEND * rise_mm.abs();
            if !(is_low && first.bridges() && second.bridges()) {
                continue;
            }
            let taken = Angle::rad_from(f64::midpoint(first.released.rad(), second.released.rad()));
            let [from, to] = self.beside(number);
            found.limit(
                format!(
                    "the step from \"{from}\" to \"{to}\" is too low for its sheet: it rises {:.2} mm, {:.1} sheet thicknesses, so \
                     its two bends share one moment; between closed dies of {:.0} degrees the sheet takes {:.0} and stays round \
                     from flat to flat",
                    drawn_mm,
                    drawn_mm / t,
                    first.die.degrees(),
                    taken.degrees()
                ),
                &["use thinner sheet for such a low step"],
            );
            let wall_angle_deg = whole_degrees(Angle::rad_from(ADVISED_ANGLE * taken.rad()));
            found.advise(Change::WallAngle {
                step: number,
                wall_angle_deg,
            });
        }
    }

    /// Noses that do not yield, but are so soft that the sheet pushes them back.
    fn pressed_back(&self, trial: &Trial, found: &mut Found) {
        let pressure_mpa = trial.pressed.most_pressure_mpa;
        let back_mm = pressure_mpa / self.base.foundation_n_mm3;
        let yields = pressure_mpa > self.base.die_yield_mpa;
        let bridged = self.step_bends(trial).find(|(_, bend)| bend.bridges());
        let Some((step, bend)) = bridged else { return };
        if yields || back_mm < PRESSED_BACK * self.base.thickness_mm {
            return;
        }
        let [from, to] = self.beside(step);
        // Beyond that it is no small strain, and no number.
        let back = if back_mm < self.base.thickness_mm {
            format!("{back_mm:.2} mm")
        } else {
            "more than the sheet is thick".to_owned()
        };
        found.limit(
            format!(
                "the printed noses are too soft: {pressure_mpa:.0} MPa press them back by {back}, so between \"{from}\" and \
                 \"{to}\" closed dies of {:.0} degrees bend the sheet by {:.0}",
                bend.die.degrees(),
                bend.closed.degrees()
            ),
            stronger_noses(self.block.infill_percent),
        );
    }

    /// Flats between steps that come out too long or too short, where angles and rises are met.
    fn slipped(&self, trial: &Trial, found: &mut Found) {
        let turns_and_rises = 3 * self.drawn.steps.len();
        let mut missed = trial.miss.iter().enumerate();
        if missed.any(|(row, miss)| row < turns_and_rises && miss.abs() > 1.0) {
            return;
        }
        let Some(lengths_mm) = trial.released.inner_flats_mm() else {
            return;
        };
        let rows = trial.miss.iter().skip(turns_and_rises);
        let drawn_mm = self.drawn.flats_mm.iter().skip(1);
        for (number, (miss, (comes_mm, drawn_mm))) in
            rows.zip(lengths_mm.into_iter().zip(drawn_mm)).enumerate()
        {
            if miss.abs() > 1.0 {
                let name = self.flats.get(number + 1).map_or("", |flat| &flat.name);
                let off_mm = comes_mm - drawn_mm;
                found.limit(
                    format!(
                        "the sheet slips on the dies: \"{name}\" comes out {:.2} mm too {}, measured between its bends",
                        off_mm.abs(),
                        if off_mm > 0.0 { "long" } else { "short" }
                    ),
                    &[MEASURE],
                );
            }
        }
    }

    /// How far the worst bend stays behind its dies.
    fn short_of(&self, trial: &Trial) -> String {
        let off = |bend: &StepBend| (bend.released.rad() - bend.drawn.rad()).abs();
        let worst = self
            .step_bends(trial)
            .max_by(|(_, one), (_, other)| off(one).total_cmp(&off(other)));
        worst.map_or_else(String::new, |(step, bend)| {
            let [from, to] = self.beside(step);
            format!(
                "between \"{from}\" and \"{to}\" dies of {:.1} degrees leave {:.1} in place of {:.1}, and the presses that were \
                 tried came no nearer",
                bend.die.degrees(),
                bend.released.degrees(),
                bend.drawn.degrees()
            )
        })
    }

    /// Names of the flats beside a step.
    fn beside(&self, step: usize) -> [&str; 2] {
        [step, step + 1].map(|number| {
            let flat = self.flats.get(number);
            flat.map_or("", |flat| flat.name.as_str())
        })
    }

    /// Steps whose bends come out rounder or sharper than drawn; noses cannot help, or the search would have moved them. A
    /// limit where the step shall keep its radii, else only told. Where angles are far off it is no question of radii.
    pub(super) fn radii_missed(&self, released: &MeasuredStrip, found: &mut Found) {
        let misses_mm = self.radius_misses_mm(released);
        let steps = self
            .drawn_bends
            .chunks(2)
            .zip(released.bends.chunks(2))
            .zip(misses_mm.chunks(2));
        for ((drawn, pressed), misses_mm) in steps {
            let ([first, second], [one, other]) = (drawn, misses_mm) else {
                continue;
            };
            let bends = || drawn.iter().zip(pressed);
            let off_deg = bends()
                .map(|(drawn, bend)| (bend.turn.abs() - drawn.turn.abs()).abs().degrees())
                .fold(0.0, f64::max);
            let is_missed = drawn
                .iter()
                .zip(misses_mm)
                .any(|(bend, miss_mm)| miss_mm.abs() > radius_met_mm(bend.turn));
            if !is_missed || off_deg > RADII_COUNT_DEG {
                continue;
            }
            let drawn_mm = [first, second].map(|bend| bend.inside_radius_mm);
            let comes_mm = [drawn_mm[0] + one, drawn_mm[1] + other];
            let pair = |radii_mm: [f64; 2]| {
                let [one, other] = radii_mm.map(|radius_mm| format!("{radius_mm:.1}"));
                if one == other {
                    one
                } else {
                    format!("{one} and {other}")
                }
            };
            let [from, to] = self.beside(first.step);
            let told = format!(
                "between \"{from}\" and \"{to}\" the inside radii come out at {} mm, drawn {} mm",
                pair(comes_mm),
                pair(drawn_mm)
            );
            if !self.keeps_radius.get(first.step).copied().unwrap_or(false) {
                found.radii_as_they_come.push(told);
                continue;
            }
            let rounder = if one + other > 0.0 {
                "; sharper noses would not change that, the sheet does not follow them"
            } else {
                ""
            };
            found.limit(
                format!("{told}{rounder}"),
                &["or let them come as they come: keep_radius = false in that step"],
            );
            // Upwards to the next tenth: a nose a little sharper than drawn then reaches it.
            let inside_radius_mm = comes_mm.map(|radius_mm| libm::ceil(10.0 * radius_mm) / 10.0);
            found.advise(Change::InsideRadii {
                step: first.step,
                inside_radius_mm,
            });
        }
    }
}

/// What helps where only the real sheet knows.
const MEASURE: &str = "press it, measure, and correct the part by what was measured";

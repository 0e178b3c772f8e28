//! From the last press to what people read: the strip laid on the drawn one, numbers, reasons and ways out.

use super::search::{Trial, outline};
use super::{
    Effort, ForcePoint, Limit, NoPressing, PressedBend, PressedFlat, PressedRise, Pressing, Task,
    radius_met_mm, sharpest,
};
use crate::forming::die_shape::DieShape;
use crate::forming::press::measure::Measured;
use crate::forming::strength::{PressLoad, strength};
use crate::quantity::{Angle, plain};
use nalgebra::{Point2, Vector2};

/// How a let-go strip is laid on the drawn one.
struct Laying {
    turn: Angle,
    about: Point2<f64>,
    moved: Vector2<f64>,
}

impl Laying {
    /// Heights and slopes of all flats as near to the drawn ones as one turn and one lift can bring them, weighted by
    /// their lengths; along x nothing is moved.
    fn of(measured: &Measured, levels_mm: &[f64], lengths_mm: &[f64]) -> Self {
        let about = measured
            .flats
            .first()
            .map_or_else(Point2::origin, |flat| flat.middle);
        // First turn: mean slope; then least squares on what is left.
        let whole: f64 = lengths_mm.iter().sum();
        let slope = measured
            .flats
            .iter()
            .zip(lengths_mm)
            .map(|(flat, length)| flat.heading.rad() * length)
            .sum::<f64>()
            / whole;
        let mut turn = -slope;
        let mut lift = 0.0;
        for _ in 0..3 {
            let turned = Self {
                turn: Angle::rad_from(turn),
                about,
                moved: Vector2::zeros(),
            };
            // Rows: w (z + u + φ (x - x0) - z*)², w L²/12 (slope + φ)².
            let (mut a11, mut a12, mut a22, mut b1, mut b2) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for ((flat, length), level) in measured.flats.iter().zip(lengths_mm).zip(levels_mm) {
                let place = turned.place(flat.middle);
                let (x, z) = (place.x - about.x, level - place.y);
                let stiff = length * length * length / 12.0;
                a11 += length;
                a12 += length * x;
                a22 += length * x * x + stiff;
                b1 += length * z;
                b2 += length * x * z - stiff * (flat.heading.rad() + turn);
            }
            let det = a11 * a22 - a12 * a12;
            lift = (b1 * a22 - b2 * a12) / det;
            turn += (a11 * b2 - a12 * b1) / det;
        }
        Self {
            turn: Angle::rad_from(turn),
            about,
            moved: Vector2::new(0.0, lift),
        }
    }

    fn place(&self, point: Point2<f64>) -> Point2<f64> {
        let arm = point - self.about;
        let (sin, cos) = (self.turn.sin(), self.turn.cos());
        Point2::new(
            self.about.x + arm.x * cos - arm.y * sin + self.moved.x,
            self.about.y + arm.x * sin + arm.y * cos + self.moved.y,
        )
    }
}

impl Task<'_> {
    pub(super) fn outcome(
        &self,
        trial: Trial,
        die: &DieShape,
        effort: Effort,
        presses: [u32; 2],
        held_back: Option<NoPressing>,
    ) -> Pressing {
        let part = self.part;
        let t = part.sheet.thickness_mm;
        let name = |number: usize| part.flats.get(number).map_or("", |flat| flat.name.as_str());
        let die_arcs = trial.problem.mid.arcs();
        let bends = part
            .profile
            .bends
            .iter()
            .zip(trial.closed.bends.iter().zip(&trial.released.bends))
            .zip(die_arcs)
            .map(
                |((drawn, (closed, released)), (die_mid_mm, die_turn))| PressedBend {
                    between: [name(drawn.step).to_owned(), name(drawn.step + 1).to_owned()],
                    which: drawn.which,
                    target_angle_deg: drawn.turn.abs().degrees(),
                    die_angle_deg: die_turn.abs().degrees(),
                    closed_angle_deg: closed.turn.abs().degrees(),
                    released_angle_deg: released.turn.abs().degrees(),
                    target_inside_radius_mm: drawn.inside_radius_mm,
                    die_nose_radius_mm: die_mid_mm - f64::midpoint(t, part.dies.clearance_mm),
                    closed_inside_radius_mm: closed.inside_radius_mm,
                    released_inside_radius_mm: released.inside_radius_mm,
                },
            )
            .collect();
        let rises = self
            .drawn
            .steps
            .iter()
            .zip(&trial.released.rises_mm)
            .enumerate()
            .map(|(number, (step, released_mm))| PressedRise {
                between: [name(number).to_owned(), name(number + 1).to_owned()],
                target_mm: step.rise_mm,
                released_mm: *released_mm,
            })
            .collect();
        let levels_mm: Vec<f64> = part
            .flats
            .iter()
            .map(|flat| flat.level.underside_mm + t / 2.0)
            .collect();
        let lengths_mm: Vec<f64> = part
            .flats
            .iter()
            .map(|flat| flat.level.to_mm - flat.level.from_mm)
            .collect();
        let mut laying = Laying::of(&trial.released, &levels_mm, &lengths_mm);
        let laid = |laying: &Laying| {
            outline(&trial.strip, &trial.pressed.released.moved, |point| {
                laying.place(point)
            })
        };
        // Along x the middle between the ends lies on the drawn one: near enough for a picture.
        let (start, end) = (part.profile.mid.start.point, part.profile.mid.end().point);
        laying.moved.x = f64::midpoint(start.x, end.x) - laid(&laying).middle_x();
        let released = laid(&laying);
        let flats = trial
            .released
            .flats
            .iter()
            .zip(&levels_mm)
            .enumerate()
            .map(|(number, (flat, level_mm))| PressedFlat {
                name: name(number).to_owned(),
                height_error_mm: laying.place(flat.middle).y - level_mm,
                slope_deg: (flat.heading + laying.turn).degrees(),
                bow_mm: flat.bow_mm,
            })
            .collect();
        let max_force_n_per_mm = trial.pressed.largest_force_n_mm();
        let load = PressLoad {
            force_n_mm: max_force_n_per_mm,
            width_mm: part.width_mm,
            most_nose_pressure_mpa: trial.pressed.most_pressure_mpa,
            nose_half_width_mm: t,
            sharpest: sharpest(part),
        };
        let shape_met = trial.miss.amax() <= 1.0;
        let mut limits = if shape_met {
            Vec::new()
        } else {
            self.limits_met(&trial, die, held_back)
        };
        limits.extend(self.radii_missed(&trial.released));
        let faces = trial
            .problem
            .faces()
            .unwrap_or_else(|_| [trial.problem.mid.clone(), trial.problem.mid.clone()]);
        Pressing {
            converged: limits.is_empty(),
            shape_met,
            model: self.words(&trial, effort),
            limits,
            bends,
            rises,
            flats,
            curve: trial
                .pressed
                .curve
                .iter()
                .map(|point| ForcePoint {
                    lifted_mm: point.lifted_mm,
                    force_n_per_mm: point.force_n_mm,
                })
                .collect(),
            max_force_n_per_mm,
            force_limited: trial.pressed.force_limited,
            most_pressure_mpa: trial.pressed.most_pressure_mpa,
            thinnest_mm: trial.released.thinnest_mm,
            outer_strain: trial.released.outer_strain,
            strength: strength(&load, part.vise.as_ref(), &self.block),
            drawn: part.profile.mid.clone(),
            released,
            frames: trial.frames,
            faces,
            presses,
            problem: trial.problem,
        }
    }

    fn words(&self, trial: &Trial, effort: Effort) -> String {
        let mesh = format!(
            "{} x {} elements",
            trial.strip.columns - 1,
            trial.strip.rows - 1
        );
        let quality = match effort {
            Effort::Quick => "coarse mesh, an estimate",
            Effort::Full => "fine mesh",
        };
        format!(
            "pressing calculated in section, plane strain ({quality}, {mesh}); dies give way by {:.0} N/mm3 and yield at {:.0} MPa, friction {}",
            self.base.foundation_n_mm3,
            self.base.die_yield_mpa,
            plain(self.base.friction)
        )
    }

    fn limits_met(
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
                    self.base.most_force_n_mm * self.part.width_mm,
                    last.map_or(0.0, |point| point.lifted_mm - self.base.end_mm)
                ),
                &[
                    "use a stronger vise, a longer handle or a greased screw, and say so under [vise]",
                    "use thinner or softer sheet, or anneal it",
                    "press in two strokes with two pairs, a part of the steps in each",
                ],
            ));
        }
        if trial.pressed.most_pressure_mpa > self.base.die_yield_mpa {
            limits.push(limit(
                format!(
                    "the noses are pressed in: {:.0} MPa on them, the printed plastic bears about {:.0} MPa",
                    trial.pressed.most_pressure_mpa, self.base.die_yield_mpa
                ),
                &[
                    "print with more walls and more infill under the noses, or of a stronger plastic",
                    "lay a bent metal strip (a shim) under the nose",
                    "use larger inside radii, or softer or thinner sheet",
                ],
            ));
        }
        let radii_mm: Vec<[f64; 2]> = die.steps.iter().map(|step| step.mid_radii_mm).collect();
        if !self.opens(&self.shape(&(Self::variables(die) * 1.02), &radii_mm)) {
            limits.push(limit(
                "the dies cannot be overbent further: the pair would not open, or no straight wall would be left"
                    .to_owned(),
                &[
                    "turn the part in the die: tilt = \"auto\" or \"centred\" under [dies]",
                    "give the step more run, or smaller radii, so that a straight wall is left",
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
}

impl Task<'_> {
    /// Steps whose bends come out rounder or sharper than drawn; noses cannot help, or the search would have moved them.
    fn radii_missed(&self, released: &Measured) -> Vec<Limit> {
        let misses_mm = self.radius_misses_mm(released);
        let bends = &self.part.profile.bends;
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
                let name = |number: usize| self.part.flats.get(number).map_or("", |flat| &flat.name);
                let drawn_mm = [first, second].map(|bend| bend.inside_radius_mm);
                let [one, other] = misses_mm else { return None };
                let comes_mm = [drawn_mm[0] + one, drawn_mm[1] + other];
                let rounder = one + other > 0.0;
                // Upwards to the next tenth: a nose a little sharper than drawn then reaches it.
                let draw_mm = comes_mm.map(|radius_mm| libm::ceil(10.0 * radius_mm) / 10.0);
                let more_run_mm: f64 = [first, second]
                    .iter()
                    .zip(draw_mm.iter().zip(drawn_mm))
                    .map(|(bend, (draw, drawn))| (draw - drawn) * bend.turn.abs().half().tan())
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
                        "draw that step with inside_radius_mm = {toml} and {more_run_mm:.1} mm more run: the wall stays where it is"
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

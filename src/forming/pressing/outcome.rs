//! From the last press to what people read: the strip laid on the drawn one, and numbers.

use super::limits::Found;
use super::range::worst_angle_deg;
use super::readings::Learned;
use super::search::{Trial, frames, outline};
use super::{
    Effort, ForcePoint, HeldBack, PressedBend, PressedFlat, PressedRise, Pressing, Task, sharpest,
};
use crate::forming::die_shape::{DieShape, set_back_mm};
use crate::forming::press::measure::MeasuredStrip;
use crate::forming::press::run::Point;
use crate::forming::strength::{PressLoad, strength};
use crate::geometry::{Chain, Segment};
use crate::numbers::{plain, whole};
use crate::part::ZoneKind;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// How a let-go strip is laid on the drawn one.
struct Laying {
    turn: Angle,
    about: Point2<f64>,
    moved: Vector2<f64>,
}

impl Laying {
    /// Heights and slopes of all flats as near to the drawn ones as one turn and one lift can bring them, weighted by
    /// their lengths; along x nothing is moved, see [`Self::along`].
    fn of(measured: &MeasuredStrip, levels_mm: &[f64], lengths_mm: &[f64]) -> Self {
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

    /// Shifted along x so that the corners of the strip come as near to the drawn ones as one shift can bring them:
    /// the mean of what they miss, which is least squares.
    fn along(mut self, measured: &MeasuredStrip, mid: &Chain) -> Self {
        let corners = measured
            .flats
            .windows(2)
            .zip(&measured.walls)
            .flat_map(|(flats, wall)| match flats {
                [from, to] => [from.meets(wall), wall.meets(to)],
                _ => [None, None],
            });
        let misses: Vec<f64> = corners
            .zip(drawn_corners(mid))
            .filter_map(|(corner, drawn)| Some(drawn.x - self.place(corner?).x))
            .collect();
        if !misses.is_empty() {
            self.moved.x += misses.iter().sum::<f64>() / misses.len() as f64;
        }
        self
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

/// Where the straights beside each bend of a drawn strip meet, from left to right.
fn drawn_corners(mid: &Chain) -> impl Iterator<Item = Point2<f64>> + '_ {
    mid.pieces().filter_map(|piece| match piece.segment {
        Segment::Arc { radius_mm, turn } => {
            Some(piece.start.point + piece.start.along() * set_back_mm(radius_mm, turn))
        }
        Segment::Line { .. } => None,
    })
}

/// Force when the upper die first comes to a height, between the points of the curve.
fn force_at_mm(curve: &[Point], lifted_mm: f64) -> Option<f64> {
    curve.windows(2).find_map(|pair| match pair {
        [before, after] if before.lifted_mm > lifted_mm && after.lifted_mm <= lifted_mm => {
            let share = (before.lifted_mm - lifted_mm) / (before.lifted_mm - after.lifted_mm);
            Some(before.force_n_mm + share * (after.force_n_mm - before.force_n_mm))
        }
        _ => None,
    })
}

impl Task {
    /// How far the middles of the flats lie to the right of where they are drawn: the same places of the sheet, at
    /// mid-thickness.
    fn shifts_mm(&self, trial: &Trial, laying: &Laying) -> Vec<f64> {
        let strip = &trial.setting.strip;
        let moved = &trial.pressed.released.moved;
        let row: Vec<(f64, f64)> = strip
            .places_mm()
            .into_iter()
            .enumerate()
            .map(|(column, place_mm)| {
                let node = column * strip.rows + strip.rows / 2;
                (place_mm, laying.place(strip.place(moved, node)).x)
            })
            .collect();
        self.zones
            .iter()
            .filter(|zone| matches!(zone.kind, ZoneKind::Flat(_)))
            .map(|zone| {
                let place_mm = zone.piece.from_mm + zone.piece.segment.length_mm() / 2.0;
                row.windows(2)
                    .find_map(|pair| match *pair {
                        [(from, one), (to, other)] if place_mm <= to => {
                            Some(one + (other - one) * (place_mm - from) / (to - from))
                        }
                        _ => None,
                    })
                    .map_or(0.0, |x| x - zone.piece.middle().x)
            })
            .collect()
    }

    /// Heights and lengths of the drawn flats at mid-thickness.
    fn levels_mm(&self) -> (Vec<f64>, Vec<f64>) {
        let half_mm = self.base.thickness_mm / 2.0;
        let levels = self.flats.iter().map(|flat| &flat.level);
        levels
            .map(|level| (level.underside_mm + half_mm, level.to_mm - level.from_mm))
            .unzip()
    }

    /// How far above the drawn heights the flats of a let-go strip lie.
    pub(super) fn heights_mm(&self, released: &MeasuredStrip) -> Vec<f64> {
        let (levels_mm, lengths_mm) = self.levels_mm();
        let laying = Laying::of(released, &levels_mm, &lengths_mm);
        let flats = released.flats.iter().zip(&levels_mm);
        flats
            .map(|(flat, level_mm)| laying.place(flat.middle).y - level_mm)
            .collect()
    }

    pub(super) fn outcome(
        &self,
        trial: Trial,
        die: &DieShape,
        effort: Effort,
        presses: [u32; 2],
        learned: Learned,
        held_back: Option<HeldBack>,
    ) -> Pressing {
        let t = self.base.thickness_mm;
        let mid = &self.base.mid;
        let name = |number: usize| self.flats.get(number).map_or("", |flat| flat.name.as_str());
        let die_arcs = trial.problem.mid.arcs();
        let bends = self
            .drawn_bends
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
                    die_nose_radius_mm: die_mid_mm - f64::midpoint(t, self.base.clearance_mm),
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
        let (levels_mm, lengths_mm) = self.levels_mm();
        let laying =
            Laying::of(&trial.released, &levels_mm, &lengths_mm).along(&trial.released, mid);
        let released = outline(
            &trial.setting.strip,
            &trial.pressed.released.moved,
            |point| laying.place(point),
        );
        let flats = trial
            .released
            .flats
            .iter()
            .zip(&levels_mm)
            .zip(self.shifts_mm(&trial, &laying))
            .enumerate()
            .map(|(number, ((flat, level_mm), along_error_mm))| PressedFlat {
                name: name(number).to_owned(),
                height_error_mm: laying.place(flat.middle).y - level_mm,
                along_error_mm,
                slope_deg: (flat.heading + laying.turn).degrees(),
                bow_mm: flat.bow_mm,
            })
            .collect();
        let max_force_n_per_mm = trial.pressed.largest_force_n_mm();
        let bending_force_n_per_mm = force_at_mm(&trial.pressed.curve, 0.0);
        let load = PressLoad {
            force_n_mm: max_force_n_per_mm,
            width_mm: self.width_mm,
            bending_n_mm: bending_force_n_per_mm,
            most_nose_pressure_mpa: trial.pressed.most_pressure_mpa,
            nose_half_width_mm: t,
            sharpest: sharpest(&self.drawn_bends),
        };
        let shape_met = trial.miss.amax() <= 1.0;
        let mut found = if shape_met {
            Found::default()
        } else {
            self.limits_met(&trial, die, held_back)
        };
        self.radii_missed(&trial.released, &mut found);
        let Found {
            limits,
            advice,
            radii_as_they_come,
            is_too_low,
        } = found;
        let strength = strength(&load, self.gives_n, &self.block);
        let strength = match (trial.pressed.force_limited, shape_met) {
            (true, _) if is_too_low => strength.more_is_no_help(),
            (true, true) => strength.ended_as_meant(),
            (true, false) => strength.ended_early(),
            (false, _) => strength,
        };
        let faces = trial
            .problem
            .faces()
            .unwrap_or_else(|_| [trial.problem.mid.clone(), trial.problem.mid.clone()]);
        Pressing {
            converged: limits.is_empty(),
            shape_met,
            model: self.words(&trial, effort),
            limits,
            advice,
            fragile_walls: Vec::new(),
            radii_as_they_come,
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
            bending_force_n_per_mm,
            force_assumed_n: self.force_assumed_n(),
            force_limited: trial.pressed.force_limited,
            most_pressure_mpa: trial.pressed.most_pressure_mpa,
            thinnest_mm: trial.released.thinnest_mm,
            outer_strain: trial.released.outer_strain,
            strength,
            drawn: mid.clone(),
            released,
            frames: frames(&trial.setting.strip, &trial.moments),
            faces,
            presses,
            range_by_gauge_deg: worst_angle_deg(&learned.by_gauge),
            sensitivities: learned.as_pressed,
            closing_deg_mm: learned.closing_deg_mm,
            problem: trial.problem,
        }
    }

    fn words(&self, trial: &Trial, effort: Effort) -> String {
        let mesh = format!(
            "{} x {} elements",
            trial.setting.strip.columns - 1,
            trial.setting.strip.rows - 1
        );
        let quality = match effort {
            Effort::Quick => "coarse mesh, an estimate",
            Effort::Full => "fine mesh",
        };
        format!(
            "pressing calculated in section, plane strain ({quality}, {mesh}); dies give way as elastic blocks, filling of {} MPa, and yield at {:.0} MPa, friction {}",
            whole(self.block.infill_youngs_mpa.usual),
            self.base.die_yield_mpa,
            plain(self.base.friction)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::press::measure::BendShape;
    use crate::forming::press::shape::Straight;
    use approx::assert_abs_diff_eq;

    /// Two steps of different height: flats of 9, 11 and 7 mm.
    fn stairs() -> Chain {
        let mut mid = Chain::from_start(3.0, 1.0, Angle::ZERO);
        mid.line(9.0)
            .arc(1.5, Angle::deg(60.0))
            .line(1.0)
            .arc(2.5, Angle::deg(-60.0))
            .line(11.0)
            .arc(1.2, Angle::deg(-40.0))
            .line(0.5)
            .arc(1.2, Angle::deg(40.0))
            .line(7.0);
        mid
    }

    /// The straights of a strip, as if measured on it.
    fn measured(strip: &Chain) -> MeasuredStrip {
        let straights: Vec<Straight> = strip
            .pieces()
            .filter(|piece| matches!(piece.segment, Segment::Line { .. }))
            .map(|piece| Straight {
                middle: piece.middle(),
                heading: piece.start.heading,
                bow_mm: 0.0,
            })
            .collect();
        let every_other = |from: usize| straights.iter().skip(from).step_by(2).copied().collect();
        MeasuredStrip {
            bends: Vec::<BendShape>::new(),
            flats: every_other(0),
            walls: every_other(1),
            rises_mm: Vec::new(),
            thinnest_mm: 1.0,
            outer_strain: 0.0,
        }
    }

    fn laid(strip: &Chain) -> Laying {
        let drawn = measured(&stairs());
        let levels_mm: Vec<f64> = drawn.flats.iter().map(|flat| flat.middle.y).collect();
        let measured = measured(strip);
        Laying::of(&measured, &levels_mm, &[9.0, 11.0, 7.0]).along(&measured, &stairs())
    }

    #[test]
    fn a_strip_that_is_only_turned_and_moved_is_laid_back_where_it_is_drawn() {
        let moved = stairs()
            .turned(Point2::new(4.0, -2.0), Angle::deg(11.0))
            .moved(Vector2::new(31.0, -7.0));
        let laying = laid(&moved);
        for share in [0.0, 0.2, 0.45, 0.7, 1.0] {
            let place = |chain: &Chain| chain.at(share * chain.length_mm()).point;
            assert_abs_diff_eq!(
                laying.place(place(&moved)),
                place(&stairs()),
                epsilon = 1e-9
            );
        }
    }

    /// An end flat that is longer moves neither corners nor flats; a rounder bend between the same corners does not
    /// either. The middle between the ends would.
    #[test]
    fn ends_and_radii_do_not_shift_a_strip_whose_corners_are_right() {
        let drawn = stairs();
        // By hand: half of 60 degrees.
        let set_back_mm = |radius_mm: f64| radius_mm * Angle::deg(30.0).tan();
        let mut other = Chain::from_start(50.0, 1.0, Angle::ZERO);
        // The first bend of 3 mm in place of 1.5: its ends lie further from its corner.
        let further_mm = set_back_mm(3.0) - set_back_mm(1.5);
        other.line(9.0 - further_mm).arc(3.0, Angle::deg(60.0));
        other.line(1.0 - further_mm);
        for segment in drawn.segments.iter().skip(3) {
            match *segment {
                Segment::Line { length_mm } => other.line(length_mm),
                Segment::Arc { radius_mm, turn } => other.arc(radius_mm, turn),
            };
        }
        // The last flat 2 mm longer.
        other.line(2.0);
        let laying = laid(&other.joined());
        let start = laying.place(other.start.point);
        assert_abs_diff_eq!(start, drawn.start.point, epsilon = 1e-9);
        let end = laying.place(other.end().point);
        let wanted = drawn.end().point + Vector2::new(2.0, 0.0);
        assert_abs_diff_eq!(end, wanted, epsilon = 1e-9);
    }

    /// The flat between the steps 1 mm longer: what the corners miss is shared among all.
    #[test]
    fn what_the_corners_miss_adds_up_to_nothing() {
        let mut other = stairs();
        if let Some(Segment::Line { length_mm }) = other.segments.get_mut(4) {
            *length_mm += 1.0;
        }
        let laying = laid(&other);
        // Two corners before the longer flat, two behind it.
        let start = laying.place(other.start.point);
        assert_abs_diff_eq!(start.x, 3.0 - 0.5, epsilon = 1e-9);
        assert_abs_diff_eq!(
            laying.place(other.end().point).x,
            stairs().end().point.x + 0.5,
            epsilon = 1e-9
        );
    }
}

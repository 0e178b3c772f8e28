//! One pressing as a problem: closed mid-line, sheet, dies and vise in; a mesh between two faces out.

use super::balance::Setting;
use super::contact::Die;
use super::failed::{Failed, Impossible};
use super::material::PressMetal;
use super::measure::{MeasuredStrip, bent_at_mm, measure};
use super::neighbour::Carried;
use super::newton::Settings;
use super::run::{Pressed, Watch, press};
use super::strip::Strip;
use crate::forming::STOP_CLEARANCE_MM;
use crate::forming::block::section::Side;
use crate::forming::block::{Backing, LAYER_N_MM3};
use crate::geometry::closing::{lay_in, opening_at_touch};
use crate::geometry::relief::relieved;
use crate::geometry::{Chain, Segment};
use nalgebra::Vector2;
use serde::{Deserialize, Serialize};

/// Everything one pressing depends on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Mid-thickness of the sheet in the closed die, in the die's frame: the upper die moves along z.
    pub mid: Chain,
    /// Sheet thickness.
    pub thickness_mm: f64,
    /// Distance of the closed faces beyond the thickness.
    pub clearance_mm: f64,
    /// By how much hollow corners of the faces are tighter than the sheet's outside.
    pub corner_relief_mm: f64,
    /// The sheet's metal.
    pub metal: PressMetal,
    /// Coulomb's coefficient between sheet and die.
    pub friction: f64,
    /// Pressure for each millimetre that a face gives way, N/mm³.
    pub foundation_n_mm3: f64,
    /// The blocks behind the faces; none: all of a face gives as the foundation does.
    pub blocks: Option<Backing>,
    /// Pressure at which a face gives way for good, MPa.
    pub die_yield_mpa: f64,
    /// Force at which the closing ends, N for each mm of width; infinite: only the place ends it.
    pub most_force_n_mm: f64,
    /// Place at which it ends, above the drawn closed place.
    pub end_mm: f64,
    /// Towers stop the blank's ends, [`STOP_CLEARANCE_MM`] beyond where they are laid in.
    pub end_stops: bool,
}

/// How fine a mesh is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fineness {
    /// Elements through the thickness; an even number.
    pub layers: usize,
    /// Length of elements in the bends, in thicknesses.
    pub in_bends: f64,
    /// Length of elements far from any bend, in thicknesses.
    pub in_flats: f64,
    /// Closing step where nothing hinders, in thicknesses. Angles err in proportion to it, by up to 0.3 degrees at 0.2 and 0.05
    /// at 0.05; short steps take fewer iterations each and not more in all.
    pub step: f64,
    /// It may become so many times as long where the last steps foretell the next.
    pub lengthened: f64,
}

impl Fineness {
    /// What dies are judged by.
    pub const FULL: Self = Self {
        layers: 8,
        in_bends: 0.14,
        in_flats: 0.7,
        step: 0.035,
        lengthened: 6.0,
    };
    /// A first estimate, for searching.
    pub const QUICK: Self = Self {
        layers: 4,
        in_bends: 0.25,
        in_flats: 1.2,
        step: 0.05,
        lengthened: 4.0,
    };

    /// The same for a sheet: one that hardens little gathers its bending in short hinges, which four layers show 0.15 degrees and a
    /// thirtieth of a thickness of rise too flat.
    pub fn quick(metal: &PressMetal) -> Self {
        let layers = if metal.hardens_little() {
            6
        } else {
            Self::QUICK.layers
        };
        Self {
            layers,
            ..Self::QUICK
        }
    }
}

/// How far beyond each arc the mesh stays fine, in thicknesses. Own choice; tested by refinement.
const FINE_BEYOND: f64 = 1.0;
/// Growth of element lengths away from the bends, for each length of distance.
const GROWTH: f64 = 0.25;
/// Element lengths are looked up at this share of the finest.
const FINE_SAMPLE: f64 = 0.25;
/// Lands beyond the ends of the strip, as a share of its length: the blank lies further out than the pressed strip.
const LANDS: f64 = 0.3;
/// Closing steps of thicker sheets are those of this thickness.
const LARGEST_STEP_FOR_MM: f64 = 1.0;
/// Free distance between blank and faces at the start, mm.
const CLEAR_MM: f64 = 2e-3;
/// Fineness with which faces are followed for laying in, mm.
const FOLLOW_MM: f64 = 0.005;

impl Problem {
    /// Faces of the closed pair, lower first, with lands beyond the strip's ends.
    ///
    /// # Errors
    /// When a nose has no radius left.
    pub fn faces(&self) -> Result<[Chain; 2], Impossible> {
        let land_mm = LANDS * self.mid.length_mm();
        let start = self.mid.start;
        let begin = start.point - start.along() * land_mm;
        let mut whole = Chain::from_start(begin.x, begin.y, start.heading);
        whole.line(land_mm);
        whole.segments.extend(self.mid.segments.iter().copied());
        whole.line(land_mm);
        let whole = whole.joined();
        let arcs = whole.arcs().count();
        let half_mm = f64::midpoint(self.thickness_mm, self.clearance_mm);
        let face = |offset_mm: f64| {
            let parallel = whole.offset(offset_mm).map_err(|_| Impossible::NoNose)?;
            Ok(relieved(
                &parallel,
                0..arcs,
                -offset_mm.signum(),
                self.corner_relief_mm,
            )
            .0)
        };
        Ok([face(-half_mm)?, face(half_mm)?])
    }

    /// Places of the mesh's columns along the blank.
    fn columns(&self, fineness: Fineness) -> Vec<f64> {
        let length = self.mid.length_mm();
        let t = self.thickness_mm;
        let bends: Vec<(f64, f64)> = self
            .mid
            .pieces()
            .filter(|piece| matches!(piece.segment, Segment::Arc { .. }))
            .map(|piece| {
                let beyond = FINE_BEYOND * t;
                (
                    piece.from_mm - beyond,
                    piece.from_mm + piece.segment.length_mm() + beyond,
                )
            })
            .collect();
        let wanted = |at: f64| {
            let away = bends
                .iter()
                .map(|(from, to)| (from - at).max(at - to).max(0.0))
                .fold(f64::INFINITY, f64::min);
            (fineness.in_bends * t + GROWTH * away).min(fineness.in_flats * t)
        };
        // As many columns as the wanted lengths ask for, spread by them: alike from both ends, so that a symmetric blank
        // has a symmetric mesh.
        let pieces = libm::ceil(length / (FINE_SAMPLE * fineness.in_bends * t)).max(1.0);
        let piece_mm = length / pieces;
        let mut elements = vec![(0.0, 0.0)];
        let (mut number, mut sum) = (0.0, 0.0);
        while number < pieces {
            sum += piece_mm / wanted((number + 0.5) * piece_mm);
            number += 1.0;
            elements.push((sum, number * piece_mm));
        }
        let each = sum / libm::ceil(sum).max(1.0);
        let mut places = vec![0.0];
        for pair in elements.windows(2) {
            let [(before, from_mm), (after, to_mm)] = [pair[0], pair[1]];
            while places.len() as f64 * each <= after - 1e-9 * each {
                let share = (places.len() as f64 * each - before) / (after - before);
                places.push(from_mm + share * (to_mm - from_mm));
            }
        }
        places.push(length);
        places
    }

    /// Mesh of the blank as it is laid in, and both dies, the upper one where it touches.
    ///
    /// # Errors
    /// When there are no such dies.
    pub fn set_up(&self, fineness: Fineness) -> Result<Setting, Impossible> {
        self.set_up_on(&self.columns(fineness), fineness.layers, None)
    }

    /// The same beside another problem that differs by next to nothing, `base` set up as `like`: on as many columns, which lie
    /// at its own bends. On the other's columns they would move through the bends, and what a mesh errs with them.
    ///
    /// Its blocks are those of the other dies, as much stiffer as its print is: that their sections differ a little is left out.
    fn set_up_beside(
        &self,
        fineness: Fineness,
        base: &Self,
        like: &Setting,
    ) -> Result<Setting, Impossible> {
        let stiffer = match (&self.blocks, &base.blocks) {
            (Some(own), Some(other)) => own.print.wall_youngs_mpa / other.print.wall_youngs_mpa,
            _ => 1.0,
        };
        let mut columns_mm = self.columns(fineness);
        if columns_mm.len() != like.strip.columns {
            columns_mm = like.strip.places_mm();
        }
        self.set_up_on(&columns_mm, fineness.layers, Some((like, stiffer)))
    }

    fn set_up_on(
        &self,
        columns_mm: &[f64],
        layers: usize,
        blocks_of: Option<(&Setting, f64)>,
    ) -> Result<Setting, Impossible> {
        let [lower_face, upper_face] = self.faces()?;
        for face in [&lower_face, &upper_face] {
            let (low, high) = face.heading_range();
            if low.degrees() <= -90.0 || high.degrees() >= 90.0 {
                return Err(Impossible::Undercut);
            }
        }
        let t = self.thickness_mm;
        let laid = lay_in(&self.mid, &lower_face.flattened(FOLLOW_MM), t);
        let lifted_mm = opening_at_touch(&laid, &upper_face, FOLLOW_MM, t);
        let along = (laid.right - laid.left).normalize();
        // Just clear of both faces: nothing pushes before the upper die moves.
        let up = Vector2::new(-along.y, along.x);
        let strip = Strip::straight(
            laid.left + up * CLEAR_MM,
            along,
            columns_mm,
            t,
            layers,
            self.metal.clone(),
        );
        let (k, friction) = (self.foundation_n_mm3, self.friction);
        let die = |die: Die, face: &Chain, side, of: Option<(&Die, f64)>| {
            let die = die.yielding_at(self.die_yield_mpa);
            let Some(blocks) = &self.blocks else {
                return Ok(die);
            };
            if let Some((other, stiffer)) = of {
                return Ok(die.on_block_of(other, stiffer));
            }
            // Where the strip lies when it is laid in, and a little further: pressed, it is drawn in.
            let last = strip.reference.len().saturating_sub(1);
            let [from, to] = [0, last].map(|node| {
                let near = strip.reference.get(node).and_then(|at| die.near(*at));
                near.map_or(0.0, |near| near.along_mm)
            });
            let block = blocks
                .behind(face, side, [from - t, to + t])
                .ok_or(Impossible::NoBlock)?;
            Ok(die.on_block(block, LAYER_N_MM3))
        };
        let lower = die(
            Die::lower(&lower_face, k, friction),
            &lower_face,
            Side::Below,
            blocks_of.map(|(like, stiffer)| (&like.lower, stiffer)),
        )?;
        let mut upper = die(
            Die::upper(&upper_face, k, friction),
            &upper_face,
            Side::Above,
            blocks_of.map(|(like, stiffer)| (&like.upper, stiffer)),
        )?;
        upper.lifted_mm = lifted_mm + 2.0 * CLEAR_MM / along.x;
        Ok(Setting {
            stops: self.stops(&strip),
            strip,
            lower,
            upper,
        })
    }

    /// Where towers stop the ends of a strip as it is laid in. Upright: their draft of a few degrees is left out.
    fn stops(&self, strip: &Strip) -> Option<[f64; 2]> {
        let reach = |nodes: std::ops::Range<usize>| {
            let places = strip.reference.get(nodes).unwrap_or_default();
            places
                .iter()
                .map(|place| place.x)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
                    (low.min(x), high.max(x))
                })
        };
        let nodes = strip.reference.len();
        self.end_stops.then(|| {
            [
                reach(0..strip.rows).0 - STOP_CLEARANCE_MM,
                reach(nodes.saturating_sub(strip.rows)..nodes).1 + STOP_CLEARANCE_MM,
            ]
        })
    }

    /// Closes and lets go.
    ///
    /// # Errors
    /// Why there is no answer.
    pub fn press(
        &self,
        fineness: Fineness,
        watch: &mut Watch<'_>,
    ) -> Result<(Strip, Pressed), Failed> {
        let (setting, pressed, _) = self.press_beside(fineness, &[], None, watch)?;
        Ok((setting.strip, pressed))
    }

    /// Closes and lets go, and carries along problems that differ by next to nothing; see [`super::neighbour`].
    ///
    /// `blocks_of` are dies of nearly this shape and of the same print: theirs are taken as the blocks, which saves calculating
    /// them. A bend of the die that differs by a degree changes what comes out by one to four hundredths of that.
    ///
    /// # Errors
    /// Why there is no answer.
    pub fn press_beside(
        &self,
        fineness: Fineness,
        beside: &[Self],
        blocks_of: Option<&Setting>,
        watch: &mut Watch<'_>,
    ) -> Result<(Setting, Pressed, Beside), Failed> {
        let setting = self
            .set_up_on(
                &self.columns(fineness),
                fineness.layers,
                blocks_of.map(|like| (like, 1.0)),
            )
            .map_err(Failed::Impossible)?;
        let settings: Vec<Option<Setting>> = beside
            .iter()
            .map(|one| one.set_up_beside(fineness, self, &setting).ok())
            .collect();
        let carried: Vec<&Setting> = settings.iter().flatten().collect();
        let how = Settings {
            step_mm: fineness.step * self.thickness_mm.min(LARGEST_STEP_FOR_MM),
            lengthened: fineness.lengthened,
            most_force_n_mm: self.most_force_n_mm,
            end_mm: self.end_mm,
            ..Settings::default()
        };
        let pressed = press(&setting, &carried, &how, watch)?;
        let mut came = pressed.beside.iter();
        let each = beside.iter().zip(&settings).map(|(problem, setting)| {
            let (setting, came) = (setting.as_ref()?, came.next()?.as_ref()?);
            Seen::of(problem, &setting.strip, came)
        });
        let beside = Beside {
            each: each.collect(),
            closer: pressed
                .closer
                .as_ref()
                .and_then(|closer| Seen::of(self, &setting.strip, closer)),
        };
        Ok((setting, pressed, beside))
    }
}

/// What came of the problems beside one.
#[derive(Debug, Clone)]
pub struct Beside {
    /// Of each; `None` where it cannot be told.
    pub each: Vec<Option<Seen>>,
    /// Of the same problem, closed further by [`super::neighbour::CLOSER_MM`]; `None` where nothing is beside it.
    pub closer: Option<Seen>,
}

/// What is seen of a press beside another.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Strip after letting go.
    pub released: MeasuredStrip,
    /// Force on the upper die when closed, N for each mm of width.
    pub force_n_mm: f64,
    /// Largest contact pressure while closing.
    pub most_pressure_mpa: f64,
}

impl Seen {
    fn of(problem: &Problem, strip: &Strip, came: &Carried) -> Option<Self> {
        let places = bent_at_mm(strip, &came.closed, &problem.mid);
        Some(Self {
            released: measure(strip, &came.released, &problem.mid, &places)?,
            force_n_mm: came.force_n_mm,
            most_pressure_mpa: came.most_pressure_mpa,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::block::section::{Mesh, Print};
    use crate::forming::press::run::Moment;
    use crate::quantity::Angle;
    use crate::stock::flow::Hardening;
    use approx::assert_abs_diff_eq;
    use std::ops::ControlFlow;

    const RISE_MM: f64 = 2.0;
    /// First yield at 65 MPa.
    const SOFT: Hardening = Hardening::Swift {
        k_mpa: 315.0,
        prestrain: 0.019_342_250_66,
        n: 0.40,
    };

    /// A step of 45 degrees, t = R = 1; `sense` -1 steps down.
    fn step(left_mm: f64, right_mm: f64, sense: f64) -> Problem {
        let turn = Angle::deg(45.0 * sense);
        let wall = (RISE_MM - 3.0 * (1.0 - turn.cos())) / turn.abs().sin();
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        mid.line(left_mm)
            .arc(1.5, turn)
            .line(wall)
            .arc(1.5, -turn)
            .line(right_mm);
        Problem {
            mid,
            thickness_mm: 1.0,
            clearance_mm: 0.05,
            corner_relief_mm: 0.5,
            metal: PressMetal::new(117_000.0, 0.34, &SOFT),
            friction: 0.1,
            foundation_n_mm3: 2000.0,
            blocks: None,
            die_yield_mpa: f64::INFINITY,
            most_force_n_mm: f64::INFINITY,
            end_mm: 0.0,
            end_stops: false,
        }
    }

    fn pressed(problem: &Problem) -> (MeasuredStrip, MeasuredStrip, Pressed) {
        let mut watch = |_: &Moment<'_>| ControlFlow::Continue(());
        let (strip, pressed) = problem.press(Fineness::QUICK, &mut watch).unwrap();
        let places = bent_at_mm(&strip, &pressed.closed, &problem.mid);
        let [closed, released] = [&pressed.closed, &pressed.released]
            .map(|state| measure(&strip, state, &problem.mid, &places).unwrap());
        (closed, released, pressed)
    }

    /// The pair is point-symmetric; the blank is not laid in so, but closing makes up for it.
    #[test]
    fn a_point_symmetric_step_gives_equal_bends_that_spring_back() {
        let (closed, released, pressed) = pressed(&step(8.0, 8.0, 1.0));
        for state in [&closed, &released] {
            let [first, second] = [0, 1].map(|bend| state.bends[bend].turn.degrees());
            assert_abs_diff_eq!(first, -second, epsilon = 0.05);
        }
        let [closed_deg, kept_deg] =
            [&closed, &released].map(|state| state.bends[0].turn.degrees());
        // It fills the die nearly, and soft copper springs back by little, never forward.
        assert!((42.0..45.5).contains(&closed_deg), "{closed_deg}");
        assert!(
            (0.0..1.0).contains(&(closed_deg - kept_deg)),
            "{closed_deg} {kept_deg}"
        );
        assert!((released.rises_mm[0] - RISE_MM).abs() < 0.2);
        assert!(pressed.curve.last().unwrap().force_n_mm > 50.0);
        // Bent copper is thinner and stretched outside.
        assert!(released.thinnest_mm < 0.999 && released.outer_strain > 0.1);
    }

    #[test]
    fn a_mirrored_step_gives_the_mirror_image() {
        let (_, up, _) = pressed(&step(12.0, 7.0, 1.0));
        let (_, down, _) = pressed(&step(7.0, 12.0, -1.0));
        for (bend, mirrored) in up.bends.iter().zip(down.bends.iter().rev()) {
            let [one, other] = [bend, mirrored].map(|bend| bend.turn.degrees());
            assert_abs_diff_eq!(one, other, epsilon = 0.05);
            let [one, other] = [bend, mirrored].map(|bend| bend.inside_radius_mm);
            assert_abs_diff_eq!(one, other, epsilon = 0.03);
        }
        assert_abs_diff_eq!(up.rises_mm[0], -down.rises_mm[0], epsilon = 0.003);
    }

    /// A step on blocks that is its own mirror image turned over gives equal bends, and less than one on a hard foundation.
    #[test]
    fn blocks_give_evenly_and_more_than_a_hard_foundation() {
        let hard = pressed(&step(8.0, 8.0, 1.0)).1;
        let blocks = Backing {
            print: Print::solid(2000.0, 0.35),
            base_mm: 12.0,
            beyond_mm: 12.0,
            mesh: Mesh::for_sheet(1.0),
            shapes: 40,
        };
        let on_blocks = Problem {
            blocks: Some(blocks),
            ..step(8.0, 8.0, 1.0)
        };
        let (_, soft, run) = pressed(&on_blocks);
        let [first, second] = [0, 1].map(|bend| soft.bends[bend].turn.degrees());
        assert_abs_diff_eq!(first, -second, epsilon = 0.1);
        assert!(first < hard.bends[0].turn.degrees() - 0.3);
        assert!(run.most_pressure_mpa > 20.0);
        let nothing = Backing {
            base_mm: -20.0,
            ..blocks
        };
        let refused = Problem {
            blocks: Some(nothing),
            ..on_blocks
        };
        assert_eq!(
            refused.set_up(Fineness::QUICK).err(),
            Some(Impossible::NoBlock)
        );
    }

    #[test]
    fn a_softer_die_leaves_the_sheet_flatter() {
        let hard = pressed(&step(8.0, 8.0, 1.0)).1;
        let soft = Problem {
            foundation_n_mm3: 300.0,
            ..step(8.0, 8.0, 1.0)
        };
        let soft = pressed(&soft).1;
        assert!(soft.bends[0].turn.degrees() < hard.bends[0].turn.degrees() - 0.3);
    }

    /// Flats squeezed hard: forces that kept their direction tipped them over, more or less by the number of steps.
    #[test]
    fn the_way_of_letting_go_does_not_matter() {
        let problem = Problem {
            end_mm: -0.15,
            foundation_n_mm3: 1000.0,
            friction: 0.15,
            ..step(12.0, 12.0, 1.0)
        };
        let setting = problem.set_up(Fineness::QUICK).unwrap();
        let strip = &setting.strip;
        let released = [3, 16].map(|release_steps| {
            let settings = Settings {
                release_steps,
                step_mm: 0.2,
                end_mm: problem.end_mm,
                ..Settings::default()
            };
            let mut watch = |_: &Moment<'_>| ControlFlow::Continue(());
            let pressed = press(&setting, &[], &settings, &mut watch).unwrap();
            assert!(pressed.largest_force_n_mm() > 300.0);
            let places = bent_at_mm(strip, &pressed.closed, &problem.mid);
            let [closed, released] = [&pressed.closed, &pressed.released]
                .map(|state| measure(strip, state, &problem.mid, &places).unwrap());
            for (bend, kept) in closed.bends.iter().zip(&released.bends) {
                let opened_deg = (bend.turn.abs() - kept.turn.abs()).degrees();
                assert!((0.0..1.0).contains(&opened_deg), "{opened_deg}");
            }
            released
        });
        let [few, many] = &released;
        for (one, other) in few.bends.iter().zip(&many.bends) {
            assert_abs_diff_eq!(one.turn.degrees(), other.turn.degrees(), epsilon = 0.005);
        }
        assert_abs_diff_eq!(few.rises_mm[0], many.rises_mm[0], epsilon = 5e-4);
    }

    /// A blank on slippery, lopsided dies slides away downhill; a stop keeps its end.
    #[test]
    fn stops_keep_the_blank() {
        let slippery = Problem {
            friction: 0.0,
            end_stops: true,
            ..step(16.0, 5.0, 1.0)
        };
        let setting = slippery.set_up(Fineness::QUICK).unwrap();
        let strip = &setting.strip;
        let [left_mm, right_mm] = setting.stops.unwrap();
        let nearer_mm = STOP_CLEARANCE_MM - 0.1;
        let outwards_mm = |stops: Option<[f64; 2]>| {
            let settings = Settings {
                step_mm: 0.2,
                ..Settings::default()
            };
            let mut furthest: f64 = 0.0;
            let last = strip.reference.len() - 1;
            let mut watch = |moment: &Moment<'_>| {
                let x = |node: usize| strip.place(&moment.state.moved, node).x;
                for (node, top) in [(0, strip.rows - 1), (last + 1 - strip.rows, last)] {
                    furthest = furthest
                        .max(left_mm + STOP_CLEARANCE_MM - x(node).min(x(top)))
                        .max(x(node).max(x(top)) - right_mm + STOP_CLEARANCE_MM);
                }
                ControlFlow::Continue(())
            };
            let stopped = Setting {
                stops,
                ..setting.clone()
            };
            press(&stopped, &[], &settings, &mut watch).unwrap();
            furthest
        };
        let free_mm = outwards_mm(None);
        let stopped_mm = outwards_mm(Some([left_mm + nearer_mm, right_mm - nearer_mm]));
        assert!(free_mm > 0.2, "{free_mm}");
        assert!((0.09..0.12).contains(&stopped_mm), "{stopped_mm}");
    }

    fn beside(problem: &Problem, others: &[Problem]) -> (MeasuredStrip, Pressed, Beside) {
        let mut watch = |_: &Moment<'_>| ControlFlow::Continue(());
        let (setting, pressed, beside) = problem
            .press_beside(Fineness::QUICK, others, None, &mut watch)
            .unwrap();
        let places = bent_at_mm(&setting.strip, &pressed.closed, &problem.mid);
        let released = measure(&setting.strip, &pressed.released, &problem.mid, &places).unwrap();
        (released, pressed, beside)
    }

    /// Dimensional analysis: where stiffness of sheet and print, flow stress and force all grow alike, no length and no angle
    /// changes, and forces grow as they do. By itself each of them changes a lot.
    #[test]
    fn a_neighbour_that_is_stiffer_in_all_has_the_same_shape() {
        const MORE: f64 = 1e-5;
        let base = Problem {
            end_mm: -0.1,
            foundation_n_mm3: 700.0,
            ..step(12.0, 9.0, 1.0)
        };
        let harder = |youngs: f64, law: f64, print: f64| Problem {
            metal: PressMetal::new(117_000.0 * youngs, 0.34, &SOFT.scaled(law)),
            foundation_n_mm3: base.foundation_n_mm3 * print,
            ..base.clone()
        };
        let more = 1.0 + MORE;
        let others = [
            harder(more, more, more),
            harder(1.0, more, 1.0),
            harder(1.0, 1.0, more),
        ];
        let (here, pressed, beside) = beside(&base, &others);
        let force_n_mm = pressed.curve.last().unwrap().force_n_mm;
        let [all, law, print] = [0, 1, 2].map(|number: usize| {
            let seen = beside.each[number].as_ref().unwrap();
            let turn = seen.released.bends[0].turn - here.bends[0].turn;
            let rise_mm = seen.released.rises_mm[0] - here.rises_mm[0];
            let force = seen.force_n_mm / force_n_mm - 1.0;
            [turn.degrees(), rise_mm, force].map(|change| change / MORE)
        });
        assert_abs_diff_eq!(all[0], 0.0, epsilon = 0.02);
        assert_abs_diff_eq!(all[1], 0.0, epsilon = 0.002);
        assert_abs_diff_eq!(all[2], 1.0, epsilon = 1e-3);
        assert!(law[0] < -3.0 && print[0] > 3.0, "{law:?} {print:?}");
    }

    #[test]
    fn a_weak_vise_ends_the_closing_at_its_force() {
        let weak = Problem {
            most_force_n_mm: 40.0,
            ..step(8.0, 8.0, 1.0)
        };
        let (_, released, pressed) = pressed(&weak);
        assert!(pressed.force_limited);
        let last = pressed.curve.last().unwrap();
        assert!((39.0..41.0).contains(&last.force_n_mm) && last.lifted_mm > 0.0);
        assert!(released.bends[0].turn.degrees() < 43.0);
    }

    #[test]
    fn a_watcher_stops_a_run() {
        let mut left = 3;
        let mut watch = |_: &Moment<'_>| {
            left -= 1;
            if left == 0 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        };
        let stopped = step(8.0, 8.0, 1.0).press(Fineness::QUICK, &mut watch);
        assert_eq!(stopped.unwrap_err(), Failed::Stopped);
    }

    #[test]
    fn dies_that_cannot_be_are_refused() {
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        mid.line(8.0)
            .arc(1.5, Angle::deg(95.0))
            .line(2.0)
            .arc(1.5, Angle::deg(-95.0))
            .line(8.0);
        let steep = Problem {
            mid,
            ..step(8.0, 8.0, 1.0)
        };
        let refused = |problem: Problem| problem.set_up(Fineness::QUICK).err();
        assert_eq!(refused(steep), Some(Impossible::Undercut));
        let thick = Problem {
            thickness_mm: 4.0,
            ..step(8.0, 8.0, 1.0)
        };
        assert_eq!(refused(thick), Some(Impossible::NoNose));
    }
}

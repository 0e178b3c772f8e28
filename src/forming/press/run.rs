//! One pressing: closing in steps, Newton's method in each, then letting go.

use super::contact::Die;
use super::strip::{Blocks, Response, State, Strip};
use nalgebra::DVector;

/// How a pressing is carried out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// First and largest closing step.
    pub step_mm: f64,
    /// Smallest closing step before the run gives up.
    pub least_step_mm: f64,
    /// Closing ends at this force, N for each mm of width.
    pub most_force_n_mm: f64,
    /// Out-of-balance force that counts as balanced, as a share of the largest contact force.
    pub balance: f64,
    /// Parts in which the contact forces are taken away.
    pub release_steps: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            step_mm: 0.1,
            least_step_mm: 1e-5,
            most_force_n_mm: f64::INFINITY,
            balance: 1e-5,
            release_steps: 8,
        }
    }
}

/// One point of the force curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// How far the upper die still stands above its closed place.
    pub lifted_mm: f64,
    /// Force on it, N for each mm of width.
    pub force_n_mm: f64,
}

/// What came out.
#[derive(Debug, Clone)]
pub struct Pressed {
    /// Closed strip.
    pub closed: State,
    /// Strip after letting go.
    pub released: State,
    /// Force while closing.
    pub curve: Vec<Point>,
    /// Newton iterations in all.
    pub iterations: u32,
    /// Largest contact pressure while closing.
    pub most_pressure_mpa: f64,
}

/// Why a run gave no answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Failed {
    /// No step, however small, came to a balance.
    #[error("no balance found with the die {lifted_mm:.4} mm above its closed place")]
    NoBalance {
        /// Where it happened.
        lifted_mm: f64,
    },
    /// Letting go came to no balance.
    #[error("no balance found while letting go")]
    NoRelease,
}

/// Weak hold on every node against floating, N/mm for each mm of width; follows the strip step by step.
const HOLD_N_MM2: f64 = 1e-3;
/// Newton iterations before a step is halved.
const MOST_ITERATIONS: u32 = 25;
/// A step that took at most so many is followed by a longer one, one that took more by a shorter one.
const EASY_ITERATIONS: u32 = 6;
/// Longest move of a node in one iteration, in thicknesses.
const LONGEST_MOVE: f64 = 0.3;

/// Out-of-balance force of a state and its contact.
type Residual<'a> = dyn Fn(&DVector<f64>, &Response, &Contact) -> DVector<f64> + 'a;

/// Nodes of a face with the length of face each carries.
fn face(strip: &Strip, row: usize, moved: &DVector<f64>) -> Vec<(usize, f64)> {
    let node = |column: usize| column * strip.rows + row;
    (0..strip.columns)
        .map(|column| {
            let here = strip.place(moved, node(column));
            let to = |other: Option<usize>| {
                other
                    .filter(|other| *other < strip.columns)
                    .map_or(0.0, |other| {
                        (strip.place(moved, node(other)) - here).norm() / 2.0
                    })
            };
            (
                node(column),
                to(column.checked_sub(1)) + to(Some(column + 1)),
            )
        })
        .collect()
}

/// Where nodes of both faces stick.
#[derive(Debug, Clone)]
struct Grip {
    lower: Vec<Option<f64>>,
    upper: Vec<Option<f64>>,
}

struct Contact {
    force: DVector<f64>,
    grip: Grip,
    upper_force: f64,
    pressure_mpa: f64,
}

struct Press<'a> {
    strip: &'a Strip,
    lower: &'a Die,
    upper: Die,
}

impl Press<'_> {
    /// Contact forces at `moved`; adds their stiffness.
    fn contact(
        &self,
        moved: &DVector<f64>,
        faces: &[Vec<(usize, f64)>; 2],
        grip: &Grip,
        mut blocks: Option<&mut Blocks>,
    ) -> Contact {
        let mut answer = Contact {
            force: DVector::zeros(moved.len()),
            grip: Grip {
                lower: Vec::with_capacity(grip.lower.len()),
                upper: Vec::with_capacity(grip.upper.len()),
            },
            upper_force: 0.0,
            pressure_mpa: 0.0,
        };
        let [under, top] = faces;
        for (die, nodes, stuck, is_upper) in [
            (self.lower, under, &grip.lower, false),
            (&self.upper, top, &grip.upper, true),
        ] {
            for ((node, area), anchor) in nodes.iter().zip(stuck) {
                let push = die.push(self.strip.place(moved, *node), *area, *anchor);
                let kept = if is_upper {
                    &mut answer.grip.upper
                } else {
                    &mut answer.grip.lower
                };
                kept.push(push.map(|push| push.anchor_mm));
                let Some(push) = push else { continue };
                answer.force[2 * node] += push.force.x;
                answer.force[2 * node + 1] += push.force.y;
                answer.pressure_mpa = answer.pressure_mpa.max(push.pressure_mpa);
                if is_upper {
                    answer.upper_force -= push.force.y;
                }
                if let Some(blocks) = blocks.as_deref_mut() {
                    let (column, row) = (node / self.strip.rows, 2 * (node % self.strip.rows));
                    if let Some(block) = blocks.own.get_mut(column) {
                        let mut part = block.fixed_view_mut::<2, 2>(row, row);
                        part += push.stiffness;
                    }
                }
            }
        }
        answer
    }

    /// One closing step; the state and grip after it, or `None`.
    fn balanced(
        &self,
        state: &State,
        guess: &DVector<f64>,
        grip: &Grip,
        blocks: &mut Blocks,
        settings: &Settings,
        iterations: &mut u32,
    ) -> Option<(State, Contact)> {
        let faces = [
            face(self.strip, 0, &state.moved),
            face(self.strip, self.strip.rows - 1, &state.moved),
        ];
        let residual = |moved: &DVector<f64>, response: &Response, contact: &Contact| {
            &contact.force - &response.force - (moved - &state.moved) * HOLD_N_MM2
        };
        let mut moved = guess.clone();
        let mut best = f64::INFINITY;
        let mut stalled = 0;
        for _ in 0..MOST_ITERATIONS {
            *iterations += 1;
            let response = self.strip.respond(&moved, state, Some(blocks))?;
            let contact = self.contact(&moved, &faces, grip, Some(blocks));
            let out = residual(&moved, &response, &contact);
            let scale = contact.force.amax().max(1e-2);
            let miss = out.amax();
            if miss < settings.balance * scale {
                let after = State {
                    moved,
                    memory: response.memory,
                };
                return Some((after, contact));
            }
            if miss < 0.5 * best {
                best = miss;
                stalled = 0;
            } else {
                stalled += 1;
                if stalled > 10 {
                    return None;
                }
            }
            for block in &mut blocks.own {
                for i in 0..block.nrows() {
                    block[(i, i)] += HOLD_N_MM2;
                }
            }
            let mut step = blocks.solve(&out)?;
            let longest = step.amax();
            let limit = LONGEST_MOVE * self.strip.thickness_mm;
            if longest > limit {
                step *= limit / longest;
            }
            moved = self.searched(&moved, &step, &out, state, &faces, grip, &residual);
        }
        None
    }

    /// Line search on the work of the out-of-balance forces along the step.
    #[expect(clippy::too_many_arguments, reason = "one place, all of it needed")]
    fn searched(
        &self,
        moved: &DVector<f64>,
        step: &DVector<f64>,
        out: &DVector<f64>,
        state: &State,
        faces: &[Vec<(usize, f64)>; 2],
        grip: &Grip,
        residual: &Residual<'_>,
    ) -> DVector<f64> {
        let begin = out.dot(step);
        let mut share = 1.0;
        for _ in 0..6 {
            let tried = moved + step * share;
            if let Some(response) = self.strip.respond(&tried, state, None) {
                let contact = self.contact(&tried, faces, grip, None);
                let work = residual(&tried, &response, &contact).dot(step);
                if work.abs() <= 0.9 * begin.abs() || begin <= 0.0 {
                    return tried;
                }
                // Secant towards no work, kept within bounds.
                let next = share * begin / (begin - work);
                share = if next.is_finite() && next > 0.0 {
                    next.clamp(0.1 * share, 0.7 * share)
                } else {
                    0.5 * share
                };
            } else {
                share *= 0.3;
            }
        }
        moved + step * share
    }
}

/// Presses a strip: the upper die starts `upper.lifted_mm` above its closed place and comes down.
///
/// # Errors
/// When no balance is found; nothing of the run is returned then.
pub fn press(
    strip: &Strip,
    lower: &Die,
    upper: &Die,
    settings: &Settings,
) -> Result<Pressed, Failed> {
    let mut press = Press {
        strip,
        lower,
        upper: upper.clone(),
    };
    let mut state = strip.untouched();
    let mut blocks = strip.blocks();
    let nobody = vec![None; strip.columns];
    let mut grip = Grip {
        lower: nobody.clone(),
        upper: nobody,
    };
    let mut curve = Vec::new();
    let mut iterations = 0;
    let mut step_mm = settings.step_mm / 8.0;
    let mut last_move: Option<(DVector<f64>, f64)> = None;
    let mut contact_force = DVector::zeros(strip.freedoms());
    let mut most_pressure_mpa: f64 = 0.0;
    while press.upper.lifted_mm > 0.0 {
        let before_mm = press.upper.lifted_mm;
        let taken_mm = step_mm.min(before_mm);
        press.upper.lifted_mm = before_mm - taken_mm;
        // The last step's movement, scaled, is a good first guess.
        let guess = last_move.as_ref().map_or_else(
            || state.moved.clone(),
            |(moved, over_mm)| &state.moved + moved * (taken_mm / over_mm),
        );
        let begun = iterations;
        let found = press.balanced(
            &state,
            &guess,
            &grip,
            &mut blocks,
            settings,
            &mut iterations,
        );
        let found = found.or_else(|| {
            press.balanced(
                &state,
                &state.moved,
                &grip,
                &mut blocks,
                settings,
                &mut iterations,
            )
        });
        let Some((after, contact)) = found else {
            press.upper.lifted_mm = before_mm;
            step_mm = taken_mm / 2.0;
            if step_mm < settings.least_step_mm {
                return Err(Failed::NoBalance {
                    lifted_mm: before_mm,
                });
            }
            continue;
        };
        if contact.upper_force > settings.most_force_n_mm {
            // Too hard: come back and go slower, until the force is met closely.
            press.upper.lifted_mm = before_mm;
            step_mm = taken_mm / 2.0;
            if step_mm < settings.least_step_mm * 10.0 {
                break;
            }
            continue;
        }
        last_move = Some((&after.moved - &state.moved, taken_mm));
        state = after;
        grip = contact.grip;
        contact_force = contact.force;
        most_pressure_mpa = most_pressure_mpa.max(contact.pressure_mpa);
        curve.push(Point {
            lifted_mm: press.upper.lifted_mm,
            force_n_mm: contact.upper_force,
        });
        let eased = if iterations - begun <= EASY_ITERATIONS {
            1.4
        } else {
            0.8
        };
        step_mm = (taken_mm * eased).min(settings.step_mm);
    }
    let released = release(
        strip,
        &state,
        &contact_force,
        &mut blocks,
        settings,
        &mut iterations,
    )
    .ok_or(Failed::NoRelease)?;
    Ok(Pressed {
        closed: state,
        released,
        curve,
        iterations,
        most_pressure_mpa,
    })
}

/// Stiffness of the three freedoms that hold the strip while it is let go.
const HOLD_RELEASED_N_MM2: f64 = 1e9;
/// Smallest part of the contact forces taken away at once before the run gives up.
const LEAST_RELEASE: f64 = 1e-3;

/// Takes the frozen contact forces away, in smaller parts where need be; three freedoms hold the strip.
///
/// The forces balance each other, so the three carry nothing and the shape does not depend on where they are.
fn release(
    strip: &Strip,
    closed: &State,
    forces: &DVector<f64>,
    blocks: &mut Blocks,
    settings: &Settings,
    iterations: &mut u32,
) -> Option<State> {
    let largest = 1.0 / f64::from(settings.release_steps.max(1));
    let (mut left, mut part) = (1.0, largest);
    let mut state = closed.clone();
    while left > 0.0 {
        let target = if part < left { left - part } else { 0.0 };
        let found = under_load(
            strip,
            closed,
            &state,
            &(forces * target),
            forces,
            blocks,
            settings,
            iterations,
        );
        if let Some(after) = found {
            state = after;
            left = target;
            part = (part * 1.5).min(largest);
        } else {
            part /= 2.0;
            if part < LEAST_RELEASE {
                return None;
            }
        }
    }
    Some(state)
}

/// Balance under fixed loads with three freedoms held where they were when closed.
#[expect(clippy::too_many_arguments, reason = "one place, all of it needed")]
fn under_load(
    strip: &Strip,
    closed: &State,
    state: &State,
    load: &DVector<f64>,
    scale: &DVector<f64>,
    blocks: &mut Blocks,
    settings: &Settings,
    iterations: &mut u32,
) -> Option<State> {
    let middle = strip.rows / 2;
    let first = strip.columns / 4 * strip.rows + middle;
    let second = (3 * strip.columns / 4) * strip.rows + middle;
    let held = [2 * first, 2 * first + 1, 2 * second + 1];
    let mut moved = state.moved.clone();
    let enough = settings.balance * scale.amax().max(1e-2);
    for _ in 0..MOST_ITERATIONS {
        *iterations += 1;
        let response = strip.respond(&moved, state, Some(blocks))?;
        let mut out = load - &response.force;
        let mut miss = out.clone();
        for freedom in held {
            miss[freedom] = 0.0;
            out[freedom] -= HOLD_RELEASED_N_MM2 * (moved[freedom] - closed.moved[freedom]);
        }
        if miss.amax() < enough {
            return Some(State {
                moved,
                memory: response.memory,
            });
        }
        for freedom in held {
            let (column, row) = (freedom / (2 * strip.rows), freedom % (2 * strip.rows));
            if let Some(block) = blocks.own.get_mut(column) {
                block[(row, row)] += HOLD_RELEASED_N_MM2;
            }
        }
        let step = blocks.solve(&out)?;
        if step.amax() > LONGEST_MOVE * strip.thickness_mm {
            return None;
        }
        moved += step;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::press::material::Metal;
    use crate::forming::press::shape;
    use crate::geometry::Chain;
    use crate::quantity::Angle;
    use approx::assert_abs_diff_eq;
    use nalgebra::{Point2, Vector2};

    const FLAT_MM: f64 = 8.0;
    const RISE_MM: f64 = 2.0;

    /// A step of 45 degrees, t = R = 1, between equal flats; `side` -1 mirrors it.
    fn mid(side: f64) -> Chain {
        let turn = Angle::deg(45.0 * side);
        let wall = (RISE_MM - 3.0 * (1.0 - turn.cos())) / turn.abs().sin();
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        mid.line(FLAT_MM)
            .arc(1.5, turn)
            .line(wall)
            .arc(1.5, -turn)
            .line(FLAT_MM);
        mid
    }

    struct Measured {
        bends_deg: [f64; 2],
        rise_mm: f64,
        force_n_mm: f64,
    }

    /// Presses with the blank level between the two noses: everything is point-symmetric.
    fn pressed(side: f64, stiffness_n_mm3: f64) -> [Measured; 2] {
        let mid = mid(side);
        let metal = Metal::new(117_000.0, 0.34, 315.0, (65.0f64 / 315.0).powf(2.5), 0.40);
        let lower = Die::lower(&mid.offset(-0.5).unwrap(), stiffness_n_mm3, 0.1);
        let mut upper = Die::upper(&mid.offset(0.5).unwrap(), stiffness_n_mm3, 0.1);
        let length = mid.length_mm();
        let columns = 48;
        // Finer in the middle: a cubic that keeps both halves alike.
        let places: Vec<f64> = (0..=columns)
            .map(|i| {
                let u = 2.0 * f64::from(i) / f64::from(columns) - 1.0;
                length / 2.0 * (1.0 + 0.45 * u + 0.55 * u * u * u)
            })
            .collect();
        // The blank leans on both noses, its ends on the flats beyond: half its length up by sin of the lean.
        let reach = mid.end().point.x;
        let raised = |lean: f64| length / 2.0 * lean.sin() - 0.5 * (1.0 - lean.cos());
        let off_nose = |lean: f64| {
            let over = raised(lean) - (RISE_MM - 1.5);
            let beside = reach / 2.0 - (reach - FLAT_MM);
            lean.cos() * over - lean.sin() * beside
        };
        let (mut low, mut high) = (0.0, 0.5);
        for _ in 0..60 {
            let lean = f64::midpoint(low, high);
            if off_nose(lean) < 1.5 {
                low = lean;
            } else {
                high = lean;
            }
        }
        upper.lifted_mm = 2.0 * raised(low) - RISE_MM;
        let along = Vector2::new(low.cos(), side * low.sin());
        let up = Vector2::new(-along.y, along.x);
        let level = raised(low) - if side > 0.0 { 0.0 } else { RISE_MM };
        let start = Point2::new(reach / 2.0, level) - along * (length / 2.0) - up * 0.5;
        let strip = Strip::straight(start, along, &places, 1.0, 4, metal);
        let settings = Settings {
            step_mm: 0.2,
            release_steps: 4,
            ..Settings::default()
        };
        let pressed = press(&strip, &lower, &upper, &settings).unwrap();
        let force_n_mm = pressed.curve.last().unwrap().force_n_mm;
        [&pressed.closed, &pressed.released].map(|state| {
            let fit = |from: f64, to: f64| {
                shape::straight(&shape::stretch(&strip, state, 2, (from, to))).unwrap()
            };
            let left = fit(1.0, FLAT_MM - 2.0);
            let right = fit(length - FLAT_MM + 2.0, length - 1.0);
            let wall = fit(length / 2.0 - 0.4, length / 2.0 + 0.4);
            Measured {
                bends_deg: [left, right].map(|flat| (wall.heading - flat.heading).degrees()),
                rise_mm: shape::rise_mm(&left, &right),
                force_n_mm,
            }
        })
    }

    #[test]
    fn a_point_symmetric_step_gives_equal_bends_that_spring_back() {
        let [closed, released] = pressed(1.0, 5000.0);
        for state in [&closed, &released] {
            let [first, second] = state.bends_deg;
            assert_abs_diff_eq!(first, second, epsilon = 0.02);
        }
        let (closed_deg, kept_deg) = (closed.bends_deg[0], released.bends_deg[0]);
        // It fills the die nearly, and soft copper springs back by little, never forward.
        assert!((43.0..45.5).contains(&closed_deg), "{closed_deg}");
        assert!(
            (0.1..1.0).contains(&(closed_deg - kept_deg)),
            "{closed_deg} {kept_deg}"
        );
        assert!(
            (released.rise_mm - RISE_MM).abs() < 0.1,
            "{}",
            released.rise_mm
        );
        assert!(closed.force_n_mm > 50.0);
    }

    #[test]
    fn a_mirrored_step_gives_the_mirror_image() {
        let [_, up] = pressed(1.0, 5000.0);
        let [_, down] = pressed(-1.0, 5000.0);
        assert_abs_diff_eq!(up.bends_deg[0], -down.bends_deg[0], epsilon = 0.02);
        assert_abs_diff_eq!(up.rise_mm, -down.rise_mm, epsilon = 0.005);
    }

    #[test]
    fn a_softer_die_leaves_the_sheet_flatter() {
        let [_, hard] = pressed(1.0, 5000.0);
        let [_, soft] = pressed(1.0, 500.0);
        assert!(soft.bends_deg[0] < hard.bends_deg[0] - 0.3);
    }
}

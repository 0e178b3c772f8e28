//! One pressing: closing in steps, Newton's method in each, then letting go.

use super::contact::Die;
use super::strip::{Blocks, Response, State, Strip};
use nalgebra::{DVector, Point2};

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
const MOST_ITERATIONS: u32 = 30;
/// Longest move of a node in one iteration, in thicknesses.
const LONGEST_MOVE: f64 = 0.3;

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
            moved = self.searched(&moved, &step, &out, state, &faces, grip, &residual)?;
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
        residual: &dyn Fn(&DVector<f64>, &Response, &Contact) -> DVector<f64>,
    ) -> Option<DVector<f64>> {
        let begin = out.dot(step);
        let mut share = 1.0;
        for _ in 0..6 {
            let tried = moved + step * share;
            if let Some(response) = self.strip.respond(&tried, state, None) {
                let contact = self.contact(&tried, faces, grip, None);
                let work = residual(&tried, &response, &contact).dot(step);
                if work.abs() <= 0.9 * begin.abs() || begin <= 0.0 {
                    return Some(tried);
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
        Some(moved + step * share)
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
    let mut step_mm = settings.step_mm;
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
        let found = press
            .balanced(&state, &guess, &grip, &mut blocks, settings, &mut iterations)
            .or_else(|| {
                press.balanced(&state, &state.moved, &grip, &mut blocks, settings, &mut iterations)
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
        step_mm = (taken_mm * 1.4).min(settings.step_mm);
    }
    let released = release(strip, &state, &contact_force, &mut blocks, settings, &mut iterations)
        .ok_or(Failed::NoRelease)?;
    Ok(Pressed {
        closed: state,
        released,
        curve,
        iterations,
        most_pressure_mpa,
    })
}

/// Takes the frozen contact forces away in equal parts; three freedoms hold the strip in its place.
fn release(
    strip: &Strip,
    closed: &State,
    forces: &DVector<f64>,
    blocks: &mut Blocks,
    settings: &Settings,
    iterations: &mut u32,
) -> Option<State> {
    const RIGID: f64 = 1e9;
    let middle = strip.rows / 2;
    let first = strip.columns / 4 * strip.rows + middle;
    let second = (3 * strip.columns / 4) * strip.rows + middle;
    let held = [2 * first, 2 * first + 1, 2 * second + 1];
    let mut state = closed.clone();
    for part in (0..settings.release_steps).rev() {
        let load = forces * (f64::from(part) / f64::from(settings.release_steps));
        let mut moved = state.moved.clone();
        let mut after = None;
        for _ in 0..MOST_ITERATIONS {
            *iterations += 1;
            let response = strip.respond(&moved, &state, Some(blocks))?;
            let mut out = &load - &response.force;
            for freedom in held {
                out[freedom] -= RIGID * (moved[freedom] - closed.moved[freedom]);
            }
            let scale = forces.amax().max(1e-2);
            let free = held.iter().fold(out.clone(), |mut out, freedom| {
                out[*freedom] = 0.0;
                out
            });
            if free.amax() < settings.balance * scale {
                after = Some(State {
                    moved: moved.clone(),
                    memory: response.memory,
                });
                break;
            }
            for freedom in held {
                let (column, row) = (freedom / (2 * strip.rows), freedom % (2 * strip.rows));
                if let Some(block) = blocks.own.get_mut(column) {
                    block[(row, row)] += RIGID;
                }
            }
            moved += blocks.solve(&out)?;
        }
        state = after?;
    }
    Some(state)
}

/// Mid-thickness of a strip, from left to right.
pub fn mid_line(strip: &Strip, state: &State) -> Vec<Point2<f64>> {
    (0..strip.columns)
        .map(|column| {
            let low = strip.place(&state.moved, column * strip.rows);
            let high = strip.place(&state.moved, column * strip.rows + strip.rows - 1);
            nalgebra::center(&low, &high)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::press::material::Metal;
    use crate::geometry::Chain;
    use crate::quantity::Angle;
    use nalgebra::Vector2;

    #[test]
    fn trial() {
        let metal = Metal::new(117_000.0, 0.34, 315.0, (65.0f64 / 315.0).powf(2.5), 0.40);
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        let a = 60f64.to_radians();
        let wall = (3.0 - 3.0 * (1.0 - a.cos())) / a.sin();
        mid.line(10.0)
            .arc(1.5, Angle::deg(60.0))
            .line(wall)
            .arc(1.5, Angle::deg(-60.0))
            .line(10.0);
        let k: f64 = std::env::var("K").map_or(20000.0, |v| v.parse().unwrap());
        let layers: usize = std::env::var("LAYERS").map_or(6, |v| v.parse().unwrap());
        let fine: f64 = std::env::var("FINE").map_or(0.15, |v| v.parse().unwrap());
        let mut lo = mid.offset(-0.5).unwrap();
        lo.line(20.0);
        let lower = Die::lower(&lo, k, 0.1);
        let mut upper = Die::upper(&mid.offset(0.5).unwrap(), k, 0.1);
        let length = mid.length_mm();
        let end = mid.end().point;
        let (cx, cz) = (end.x / 2.0, end.y / 2.0);
        // Laid level on the high flat... start: tilted through the noses, as a rigid line.
        let laid = crate::dies::closing::lay_in(&mid, &mid.offset(-0.5).unwrap().flattened(0.001), 1.0);
        let along = (laid.right - laid.left).normalize();
        let _ = (cx, cz);
        let stroke = crate::dies::closing::opening_at_touch(&laid, &mid.offset(0.5).unwrap(), 0.001, 1.0);
        upper.lifted_mm = stroke;
        let mut places = vec![0.0];
        let centre = length / 2.0;
        while *places.last().unwrap() < length - 1e-9 {
            let s: f64 = *places.last().unwrap();
            let far = ((s - centre).abs() - 4.5).max(0.0);
            let h = (fine + 0.25 * far).min(0.8);
            places.push((s + h).min(length));
        }
        let strip = Strip::straight(laid.left, along, &places, 1.0, layers, metal);
        println!("{} columns, {} layers, stroke {stroke}", strip.columns, layers);
        let start = std::time::Instant::now();
        let settings = Settings {
            most_force_n_mm: 1500.0,
            ..Settings::default()
        };
        match press(&strip, &lower, &upper, &settings) {
            Ok(pressed) => {
                for p in pressed.curve.iter() {
                    println!("{:.4} {:.2}", p.lifted_mm, p.force_n_mm);
                }
                println!("iterations {} in {:?} pmax {}", pressed.iterations, start.elapsed(), pressed.most_pressure_mpa);
                for (name, state) in [("closed", &pressed.closed), ("released", &pressed.released)] {
                    let line = mid_line(&strip, state);
                    let heads: Vec<f64> = line.windows(2).map(|p| {
                        let d = p[1] - p[0];
                        d.y.atan2(d.x).to_degrees()
                    }).collect();
                    let most = heads.iter().copied().fold(f64::MIN, f64::max);
                    let first = heads[heads.len() / 12];
                    let last = heads[heads.len() * 11 / 12];
                    println!("{name}: steepest {most:.3}, first flat {first:.3}, last flat {last:.3}");
                    let u = Vector2::new(first.to_radians().cos(), first.to_radians().sin());
                    let rise = (line[line.len() - 4] - line[3]).dot(&Vector2::new(-u.y, u.x));
                    println!("rise {rise:.4}");
                }
            }
            Err(error) => println!("{error} after {:?}", start.elapsed()),
        }
    }
}

//! Letting go: the frozen contact forces are taken away, in smaller parts where need be.

use super::neighbour::{Neighbour, release_beside};
use super::newton::{Evaluated, Settings, newton};
use super::slope::{Rest, Slope, Ties, few};
use super::strip::{Stiffness, Strip, StripState};
use crate::numeric::band::Band;
use nalgebra::{DVector, Vector2};

/// Longest move of a node in one iteration, in thicknesses: long ends only turn.
const LONGEST_TURN: f64 = 1.0;
/// Stiffness of the three freedoms that hold the strip while it is let go.
const HOLD_RELEASED_N_MM2: f64 = 1e9;
/// Smallest part of the contact forces taken away at once before the run gives up.
const LEAST_RELEASE: f64 = 1e-3;

/// Takes the frozen contact forces away, in smaller parts where need be; three freedoms hold the strip. The forces turn
/// with the cross-sections they act on.
///
/// The forces balance each other when the strip is closed. While it opens they would not quite: what is missing is
/// spread over the whole strip, so the three freedoms carry nothing and the shape does not depend on where they are.
pub(super) fn release(
    strip: &Strip,
    closed: &StripState,
    forces: &DVector<f64>,
    neighbours: &mut [Neighbour<'_>],
    room: &mut Stiffness,
    settings: &Settings,
    iterations: &mut u32,
) -> Option<StripState> {
    let largest = 1.0 / f64::from(settings.release_steps.max(1));
    let (mut left, mut part) = (1.0, largest);
    let mut state = closed.clone();
    for one in neighbours.iter_mut() {
        one.state = one.closed.clone();
    }
    let enough = settings.balance * forces.amax().max(1e-2);
    let longest_mm = LONGEST_TURN * strip.thickness_mm;
    let mut last: Option<(DVector<f64>, f64)> = None;
    while left > 0.0 {
        let target = if part < left { left - part } else { 0.0 };
        let going = Letting::new(strip, closed, forces * target);
        let guess = last
            .as_ref()
            .map(|(moved, over)| &state.moved + moved * ((left - target) / over));
        let mut found = None;
        for guess in guess.iter().chain([&state.moved]) {
            found = newton(
                guess,
                longest_mm,
                room,
                iterations,
                |moved, room| going.evaluate(moved, &state, enough, Some(room)),
                |now, room| Some(Rest::Ties(going.stiffen(now, room))),
            );
            if found.is_some() {
                break;
            }
        }
        let Some(found) = found else {
            part /= 2.0;
            if part < LEAST_RELEASE {
                return None;
            }
            continue;
        };
        if !neighbours.is_empty() {
            let rest = Rest::Ties(going.stiffen(&found, room));
            release_beside(
                neighbours,
                Slope::of(&mut room.band, &rest).as_ref(),
                &state.moved,
                &found,
                |one, moved| {
                    Letting::new(one.strip(), &one.closed, &one.force * target)
                        .evaluate(moved, &one.state, 0.0, None)
                },
            );
        }
        last = Some((&found.moved - &state.moved, left - target));
        state = StripState {
            moved: found.moved,
            memory: found.response.memory,
        };
        left = target;
        part = (part * 1.5).min(largest);
    }
    Some(state)
}

/// A strip under loads made to balance each other, with three freedoms held where they were when closed.
struct Letting<'a> {
    strip: &'a Strip,
    closed: &'a StripState,
    load: DVector<f64>,
}

impl<'a> Letting<'a> {
    fn new(strip: &'a Strip, closed: &'a StripState, load: DVector<f64>) -> Self {
        Self {
            strip,
            closed,
            load,
        }
    }

    fn held(&self) -> [usize; 3] {
        let strip = self.strip;
        let middle = strip.rows / 2;
        let first = strip.columns / 4 * strip.rows + middle;
        let second = (3 * strip.columns / 4) * strip.rows + middle;
        [2 * first, 2 * first + 1, 2 * second + 1]
    }

    fn evaluate(
        &self,
        moved: &DVector<f64>,
        state: &StripState,
        enough: f64,
        room: Option<&mut Stiffness>,
    ) -> Option<Evaluated<(Turned, Ties)>> {
        let response = match room {
            Some(room) => self.strip.prepare(moved, state, room)?,
            None => self.strip.respond(moved, state, None)?,
        };
        let turned = Turned::with_columns(self.strip, self.closed, moved, &self.load);
        let (balanced, ties) = turned.balanced(self.strip, moved);
        let mut out = balanced - &response.force;
        for freedom in self.held() {
            out[freedom] -= HOLD_RELEASED_N_MM2 * (moved[freedom] - self.closed.moved[freedom]);
        }
        Some(Evaluated {
            moved: moved.clone(),
            response,
            extra: (turned, ties),
            out,
            enough,
        })
    }

    fn stiffen(&self, now: &Evaluated<(Turned, Ties)>, room: &mut Stiffness) -> Ties {
        let strip = self.strip;
        strip.stiffen(room);
        let (turned, ties) = &now.extra;
        turned.add_stiffness(strip, &mut room.band);
        for freedom in self.held() {
            room.band.add(freedom, freedom, HOLD_RELEASED_N_MM2);
        }
        ties.clone()
    }
}

/// Loads turned as the cross-sections they act on have turned since the strip was closed.
///
/// Forces that kept their direction would tip a squeezed flat over as soon as it leans a little.
struct Turned {
    load: DVector<f64>,
    /// For each column, how its turn grows with the place of its top node; with that of its bottom node it falls.
    turns: Vec<Vector2<f64>>,
}

impl Turned {
    fn with_columns(
        strip: &Strip,
        closed: &StripState,
        moved: &DVector<f64>,
        load: &DVector<f64>,
    ) -> Self {
        let mut turned = load.clone();
        let mut turns = Vec::with_capacity(strip.columns);
        for column in 0..strip.columns {
            let (first, last) = ends(strip, column);
            let across =
                |moved: &DVector<f64>| strip.place(moved, last) - strip.place(moved, first);
            let (before, now) = (across(&closed.moved), across(moved));
            let lengths = before.norm() * now.norm();
            let cos = before.dot(&now) / lengths;
            let sin = (before.x * now.y - before.y * now.x) / lengths;
            for node in first..=last {
                let (x, y) = (load[2 * node], load[2 * node + 1]);
                turned[2 * node] = cos * x - sin * y;
                turned[2 * node + 1] = sin * x + cos * y;
            }
            turns.push(Vector2::new(-now.y, now.x) / now.norm_squared());
        }
        Self {
            load: turned,
            turns,
        }
    }

    /// How the force on a node changes with the turn of its cross-section.
    fn swing(&self, node: usize) -> Vector2<f64> {
        Vector2::new(-self.load[2 * node + 1], self.load[2 * node])
    }

    /// The turning's part of the stiffness.
    fn add_stiffness(&self, strip: &Strip, band: &mut Band) {
        for (column, turns) in self.turns.iter().enumerate() {
            let (first, last) = ends(strip, column);
            for node in first..=last {
                let slope = self.swing(node) * turns.transpose();
                band.add_square(2 * node, 2 * last, &-slope);
                band.add_square(2 * node, 2 * first, &slope);
            }
        }
    }

    /// The loads with what they lack in balance of forces and moments spread evenly over the nodes, and how what is
    /// spread grows: two forces and the moment about the middle.
    fn balanced(&self, strip: &Strip, moved: &DVector<f64>) -> (DVector<f64>, Ties) {
        let count = strip.reference.len();
        let places: Vec<_> = (0..count).map(|node| strip.place(moved, node)).collect();
        let centre = places
            .iter()
            .map(|place| place.coords)
            .sum::<Vector2<f64>>()
            / count as f64;
        let inertia: f64 = places
            .iter()
            .map(|place| (place.coords - centre).norm_squared())
            .sum();
        let zero = || DVector::zeros(2 * count);
        let mut spreads = [zero(), zero(), zero()];
        let mut grows = [zero(), zero(), zero()];
        let mut lacks = [0.0; 3];
        for (column, turns) in self.turns.iter().enumerate() {
            let (first, last) = ends(strip, column);
            let mut swings = [0.0; 3];
            for node in first..=last {
                let arm = places[node].coords - centre;
                let force = Vector2::new(self.load[2 * node], self.load[2 * node + 1]);
                let swing = self.swing(node);
                for (all, one) in [(&mut lacks, force), (&mut swings, swing)] {
                    all[0] += one.x;
                    all[1] += one.y;
                    all[2] += arm.x * one.y - arm.y * one.x;
                }
                spreads[0][2 * node] = 1.0 / count as f64;
                spreads[1][2 * node + 1] = 1.0 / count as f64;
                spreads[2][2 * node] = -arm.y / inertia;
                spreads[2][2 * node + 1] = arm.x / inertia;
                // A moment grows when its force moves, too.
                grows[2][2 * node] += force.y;
                grows[2][2 * node + 1] -= force.x;
            }
            for (grows, swings) in grows.iter_mut().zip(swings) {
                for axis in 0..2 {
                    grows[2 * last + axis] += swings * turns[axis];
                    grows[2 * first + axis] -= swings * turns[axis];
                }
            }
        }
        let mut balanced = self.load.clone();
        for (spread, lack) in spreads.iter().zip(lacks) {
            balanced -= spread * lack;
        }
        let ties = spreads
            .into_iter()
            .zip(grows)
            .map(|(s, g)| [few(&s), few(&g)]);
        (balanced, ties.collect())
    }
}

/// First and last node of a column.
fn ends(strip: &Strip, column: usize) -> (usize, usize) {
    (column * strip.rows, (column + 1) * strip.rows - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::press::material::PressMetal;
    use crate::stock::flow::Hardening;
    use approx::assert_relative_eq;
    use nalgebra::{Matrix2, Point2};

    fn strip() -> Strip {
        let law = Hardening::Swift {
            k_mpa: 315.0,
            prestrain: 0.02,
            n: 0.4,
        };
        let places: Vec<f64> = (0..6).map(|column| 0.4 * f64::from(column)).collect();
        Strip::straight(
            Point2::new(1.0, 2.0),
            Vector2::new(0.8, 0.6),
            &places,
            1.0,
            2,
            PressMetal::new(117_000.0, 0.34, &law),
        )
    }

    /// Some vector that is nothing in particular.
    fn any(count: usize, seed: f64) -> DVector<f64> {
        DVector::from_fn(count, |at, _| {
            libm::sin(seed + 1.7 * at as f64 + 0.01 * (at * at) as f64)
        })
    }

    /// Loads whose lack of balance is spread balance each other.
    #[test]
    fn spread_loads_balance() {
        let strip = strip();
        let moved = any(strip.freedoms(), 0.3) * 0.05;
        let load = any(strip.freedoms(), 1.1) * 10.0;
        let turned = Turned::with_columns(&strip, &strip.untouched(), &moved, &load);
        let (balanced, _) = turned.balanced(&strip, &moved);
        let mut lacks = [0.0; 3];
        for node in 0..strip.reference.len() {
            let place = strip.place(&moved, node);
            let force = Vector2::new(balanced[2 * node], balanced[2 * node + 1]);
            lacks[0] += force.x;
            lacks[1] += force.y;
            lacks[2] += place.x * force.y - place.y * force.x;
        }
        for lack in lacks {
            assert!(lack.abs() < 1e-10, "{lacks:?}");
        }
    }

    /// A sheet that is turned as a whole takes its loads along.
    #[test]
    fn loads_turn_with_the_sheet() {
        let strip = strip();
        let (sin, cos) = 0.7f64.sin_cos();
        let turn = Matrix2::new(cos, -sin, sin, cos);
        let moved = DVector::from_iterator(
            strip.freedoms(),
            strip
                .reference
                .iter()
                .flat_map(|place| (turn * place.coords - place.coords).data.0[0]),
        );
        let load = any(strip.freedoms(), 0.5);
        let turned = Turned::with_columns(&strip, &strip.untouched(), &moved, &load).load;
        for node in 0..strip.reference.len() {
            let before = Vector2::new(load[2 * node], load[2 * node + 1]);
            let after = Vector2::new(turned[2 * node], turned[2 * node + 1]);
            assert_relative_eq!(turn * before, after, epsilon = 1e-12);
        }
    }

    /// Band and ties together are minus the slope of the balanced loads, for loads that nearly balance.
    #[test]
    fn stiffness_is_minus_the_slope_of_the_loads() {
        let strip = strip();
        let closed = strip.untouched();
        let count = strip.freedoms();
        let moved = any(count, 0.3) * 0.02;
        let load = any(count, 1.1) * 10.0;
        let (load, _) =
            Turned::with_columns(&strip, &closed, &moved, &load).balanced(&strip, &moved);
        let balanced = |moved: &DVector<f64>| {
            let turned = Turned::with_columns(&strip, &closed, moved, &load);
            turned.balanced(&strip, moved).0
        };
        let turned = Turned::with_columns(&strip, &closed, &moved, &load);
        let mut room = strip.stiffness();
        turned.add_stiffness(&strip, &mut room.band);
        let (_, ties) = turned.balanced(&strip, &moved);
        let (mut worst, mut largest): (f64, f64) = (0.0, 0.0);
        for freedom in 0..count {
            let mut step = DVector::zeros(count);
            step[freedom] = 1e-6;
            let slope = (balanced(&(&moved + &step)) - balanced(&(&moved - &step))) / 2e-6;
            let mut coded = DVector::from_fn(count, |row, _| room.band.at(row, freedom));
            for [spread, grows] in &ties {
                let grows = grows.iter().find(|(at, _)| *at == freedom);
                let grows = grows.map_or(0.0, |(_, grows)| *grows);
                for (row, spread) in spread {
                    coded[*row] += spread * grows;
                }
            }
            worst = worst.max((&coded + &slope).amax());
            largest = largest.max(slope.amax());
        }
        // What the turned loads lack changes the spread itself, too: left out, small.
        assert!(worst < 0.03 * largest, "{worst} of {largest}");
    }
}

//! A strip between two dies at one place of the closing: pushes on it, and its balance.

use super::contact::{Die, Held};
use super::newton::{Evaluated, Settings, newton};
use super::on_block::{Seat, Settled, Standing};
use super::slope::Rest;
use super::strip::{Stiffness, Strip, StripState};
use nalgebra::{DVector, Matrix2};

/// Weak hold on every node against floating, N/mm for each mm of width; follows the strip step by step.
const HOLD_N_MM2: f64 = 3e-4;
/// The same while the dies hardly hold the blank: it slides and tips between them, and where it comes to lie is found in few
/// iterations so. Own choice: angles move by 0.01 degrees; three times as much was counted as a snap in one of ten random presses.
const HOLD_LOOSE_N_MM2: f64 = 3e-3;
/// A contact force is small below this many times thickness times yield stress. Own choice: closing takes some six times
/// thickness times yield stress.
const LEAST_FORCE: f64 = 2.0;
/// Dies hardly hold the blank with less than this share of a small contact force.
const LOOSE: f64 = 0.01;
/// Longest move of a node in one iteration, in thicknesses.
const LONGEST_MOVE: f64 = 0.1;

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
pub(super) struct Grip {
    lower: Vec<Option<Held>>,
    upper: Vec<Option<Held>>,
    /// How far the shapes of both blocks are out.
    out: [DVector<f64>; 2],
}

impl Grip {
    /// Foretells where blocks come to a balance beside a press that went from `before` to `found`: as far from it as now.
    pub(super) fn foretell(&self, seats: &[Seat<'_>; 2], before: &Self, found: &Balance) {
        let (_, settled) = &found.extra;
        for (number, seat) in seats.iter().enumerate() {
            let apart = &self.out[number] - &before.out[number];
            seat.look_near(&settled[number].out + apart);
        }
    }
}

/// What dies and stops do to a strip.
pub(super) struct Contact {
    pub(super) force: DVector<f64>,
    pub(super) grip: Grip,
    pub(super) upper_force: f64,
    pub(super) pressure_mpa: f64,
    /// What the pushes on nodes add to the stiffness.
    pushes: Vec<(usize, Matrix2<f64>)>,
}

/// A strip between its dies in balance, or on the way there.
pub(super) type Balance = Evaluated<(Contact, [Settled; 2])>;

/// A strip and what it lies between, before the upper die comes down.
#[derive(Debug, Clone)]
pub struct Setting {
    /// The blank as it is laid in.
    pub strip: Strip,
    /// Lower die.
    pub lower: Die,
    /// Upper die where it touches.
    pub upper: Die,
    /// Places along x beyond which neither end of the strip can go.
    pub stops: Option<[f64; 2]>,
}

impl Setting {
    pub(super) fn press(&self) -> Press<'_> {
        Press::new(&self.strip, [&self.lower, &self.upper], self.stops)
    }
}

/// A strip and what presses it.
#[derive(Debug, Clone)]
pub(super) struct Press<'a> {
    pub(super) strip: &'a Strip,
    /// Weak hold on every node.
    pub(super) hold_n_mm2: f64,
    /// Smaller contact forces do not ask for a finer balance, N for each mm of width.
    least_force: f64,
    lower: &'a Die,
    pub(super) upper: Die,
    /// Places of stops beyond both ends.
    stops: Option<[f64; 2]>,
}

impl<'a> Press<'a> {
    /// `stops` are the places along x beyond which neither end can go.
    pub(super) fn new(
        strip: &'a Strip,
        [lower, upper]: [&'a Die; 2],
        stops: Option<[f64; 2]>,
    ) -> Self {
        Self {
            strip,
            hold_n_mm2: HOLD_LOOSE_N_MM2,
            least_force: LEAST_FORCE * strip.thickness_mm * strip.metal.first_yield_mpa(),
            lower,
            upper: upper.clone(),
            stops,
        }
    }

    /// The hold after a step that ended with a force: back to the weak one by and by.
    pub(super) fn ease_hold(&mut self, force_n_mm: f64) {
        let least = if force_n_mm < LOOSE * self.least_force {
            HOLD_LOOSE_N_MM2
        } else {
            HOLD_N_MM2
        };
        self.hold_n_mm2 = (self.hold_n_mm2 / 3.0).max(least);
    }

    /// Whether a stronger hold than that of a loose blank leads the sheet from one shape to another.
    pub(super) fn is_led(&self) -> bool {
        self.hold_n_mm2 > HOLD_LOOSE_N_MM2
    }

    /// Where nothing sticks and no block gives.
    pub(super) fn untouched(&self) -> Grip {
        let nobody = vec![None; self.strip.columns];
        Grip {
            lower: nobody.clone(),
            upper: nobody,
            out: [self.lower, &self.upper].map(|die| DVector::zeros(die.shapes())),
        }
    }

    /// Notes for nodes that do not touch where they stand before the step.
    ///
    /// Without this a node would be frictionless throughout the step in which it comes to lie on the die.
    pub(super) fn note_coming(&self, state: &StripState, grip: &mut Grip) {
        let top = self.strip.rows - 1;
        let [out_lower, out_upper] = &grip.out;
        for (die, row, held, out) in [
            (self.lower, 0, &mut grip.lower, out_lower),
            (&self.upper, top, &mut grip.upper, out_upper),
        ] {
            for (column, held) in held.iter_mut().enumerate() {
                if !matches!(held, Some(Held::At(_))) {
                    let node = column * self.strip.rows + row;
                    let place = self.strip.place(&state.moved, node);
                    *held = die.near_given(place, out).map(|near| Held::Coming {
                        gap_mm: near.gap_mm,
                        along_mm: near.along_mm,
                    });
                }
            }
        }
    }

    /// Both faces of the strip on their dies, as they stand when a step begins.
    pub(super) fn seats(&self, state: &StripState, grip: &Grip) -> [Seat<'_>; 2] {
        let place = |node: usize| self.strip.place(&state.moved, node);
        let seat = |die, row, held: &[Option<Held>], out| {
            let nodes = face(self.strip, row, &state.moved)
                .into_iter()
                .zip(held)
                .map(|((node, area_mm), held)| Standing {
                    node,
                    area_mm,
                    held: *held,
                });
            Seat::new(die, nodes.collect(), place, out)
        };
        let [under, top] = &grip.out;
        [
            seat(self.lower, 0, &grip.lower, under),
            seat(&self.upper, self.strip.rows - 1, &grip.upper, top),
        ]
    }

    /// Contact forces at `moved`, and both blocks in balance with them.
    fn contact(
        &self,
        moved: &DVector<f64>,
        [lower, upper]: &[Seat<'_>; 2],
    ) -> Option<(Contact, [Settled; 2])> {
        let place = |node: usize| self.strip.place(moved, node);
        let settled = [lower.settle(place)?, upper.settle(place)?];
        let [under, top] = &settled;
        let mut answer = Contact {
            force: DVector::zeros(moved.len()),
            grip: Grip {
                lower: Vec::with_capacity(under.pushes.len()),
                upper: Vec::with_capacity(top.pushes.len()),
                out: [under.out.clone(), top.out.clone()],
            },
            upper_force: 0.0,
            pressure_mpa: 0.0,
            pushes: Vec::new(),
        };
        for (seat, settled, is_upper) in [(lower, under, false), (upper, top, true)] {
            for (node, push) in seat.nodes().zip(&settled.pushes) {
                let kept = if is_upper {
                    &mut answer.grip.upper
                } else {
                    &mut answer.grip.lower
                };
                kept.push(push.map(|push| Held::At(push.anchor_mm)));
                let Some(push) = push else { continue };
                answer.force[2 * node] += push.force.x;
                answer.force[2 * node + 1] += push.force.y;
                answer.pressure_mpa = answer.pressure_mpa.max(push.pressure_mpa);
                if is_upper {
                    answer.upper_force -= push.force.y;
                }
                answer.pushes.push((node, push.stiffness));
            }
        }
        self.stop_ends(moved, &mut answer);
        Some((answer, settled))
    }

    /// Pushes of the stops on both ends, without friction; as stiff as the lower die.
    fn stop_ends(&self, moved: &DVector<f64>, answer: &mut Contact) {
        let Some([left_mm, right_mm]) = self.stops else {
            return;
        };
        let strip = self.strip;
        let last = strip.columns - 1;
        for (column, stop_mm, inwards) in [(0, left_mm, 1.0), (last, right_mm, -1.0)] {
            for row in 0..strip.rows {
                let node = column * strip.rows + row;
                let free_mm = inwards * (strip.place(moved, node).x - stop_mm);
                let (pressure, grows) = self.lower.stops(free_mm);
                let ends = 1.0 + f64::from(u8::from(row > 0 && row + 1 < strip.rows));
                let area_mm = 0.5 * ends * strip.thickness_mm / (strip.rows - 1) as f64;
                answer.force[2 * node] += inwards * pressure * area_mm;
                let stiffness = Matrix2::new(-grows * area_mm, 0.0, 0.0, 0.0);
                answer.pushes.push((node, stiffness));
            }
        }
    }

    /// Forces at `moved`, from where a step began; prepares the stiffness if there is room for it.
    pub(super) fn evaluate(
        &self,
        moved: &DVector<f64>,
        state: &StripState,
        seats: &[Seat<'_>; 2],
        balance: f64,
        room: Option<&mut Stiffness>,
    ) -> Option<Balance> {
        let response = match room {
            Some(room) => self.strip.prepare(moved, state, room)?,
            None => self.strip.respond(moved, state, None)?,
        };
        let (contact, settled) = self.contact(moved, seats)?;
        let out = &contact.force - &response.force - (moved - &state.moved) * self.hold_n_mm2;
        Some(Evaluated {
            moved: moved.clone(),
            enough: balance * contact.force.amax().max(self.least_force),
            response,
            out,
            extra: (contact, settled),
        })
    }

    /// The stiffness of what was evaluated last; what it has besides its band.
    pub(super) fn stiffen(
        &self,
        now: &Balance,
        [lower, upper]: &[Seat<'_>; 2],
        room: &mut Stiffness,
    ) -> Option<Rest> {
        self.strip.stiffen(room);
        let (contact, [under, top]) = &now.extra;
        for (node, push) in &contact.pushes {
            room.band.add_square(2 * node, 2 * node, push);
        }
        room.band.add_diagonal(self.hold_n_mm2);
        // What the give of the blocks takes off the pushes again.
        let place = |node: usize| self.strip.place(&now.moved, node);
        let softer = [lower.softer(under, place)?, upper.softer(top, place)?];
        for (freedom, less) in softer.iter().flat_map(|softer| softer.lone()) {
            room.band.add_square(freedom, freedom, &less);
        }
        Some(Rest::Softer(softer))
    }

    /// One closing step from a state, or `None`. The room is left as the balance found asks for its stiffness.
    pub(super) fn balanced(
        &self,
        state: &StripState,
        guess: &DVector<f64>,
        seats: &[Seat<'_>; 2],
        room: &mut Stiffness,
        settings: &Settings,
        iterations: &mut u32,
    ) -> Option<Balance> {
        let longest_mm = LONGEST_MOVE * self.strip.thickness_mm;
        newton(
            guess,
            longest_mm,
            room,
            iterations,
            |moved, room| self.evaluate(moved, state, seats, settings.balance, Some(room)),
            |now, room| self.stiffen(now, seats, room),
        )
    }
}

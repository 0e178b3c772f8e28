//! The strip as a structured mesh of four-node elements, and its internal forces and stiffness.

use super::element::{Corners, Shape, Stiff};
use super::material::{Memory, PressMetal};
use crate::numeric::band::Band;
use crate::numeric::wide::widely;
use nalgebra::{DVector, Point2, Vector2};

/// Mesh and material of a strip.
#[derive(Debug, Clone)]
pub struct Strip {
    /// Reference places of the nodes, column by column, from the underside up.
    pub reference: Vec<Point2<f64>>,
    /// Columns of nodes.
    pub columns: usize,
    /// Nodes in each column.
    pub rows: usize,
    /// Thickness of the flat sheet.
    pub thickness_mm: f64,
    /// Material.
    pub metal: PressMetal,
    /// Shape of the elements after each column but the last.
    shapes: Vec<Shape>,
}

/// Everything that changes: places of nodes and memory of points.
#[derive(Debug, Clone, PartialEq)]
pub struct StripState {
    /// Displacement of every node: x and z in turn.
    pub moved: DVector<f64>,
    /// Memory of the points of each element, column by column from the underside up.
    pub memory: Vec<Memory>,
}

/// Internal forces, stiffness and the memory that goes with them.
#[derive(Debug, Clone)]
pub struct Response {
    /// Internal force on every degree of freedom, N for each mm of width.
    pub force: DVector<f64>,
    /// Memory after the step.
    pub memory: Vec<Memory>,
}

impl Strip {
    /// A straight strip from `start` along a heading; `places_mm` are the columns along it, from 0.
    pub fn straight(
        start: Point2<f64>,
        along: Vector2<f64>,
        places_mm: &[f64],
        thickness_mm: f64,
        layers: usize,
        metal: PressMetal,
    ) -> Self {
        let up = Vector2::new(-along.y, along.x);
        let rows = layers + 1;
        let reference: Vec<Point2<f64>> = places_mm
            .iter()
            .flat_map(|place| {
                (0..rows).map(move |row| {
                    start + along * *place + up * (thickness_mm * row as f64 / layers as f64)
                })
            })
            .collect();
        let columns = places_mm.len();
        let place = |node: usize| reference.get(node).copied().unwrap_or_else(Point2::origin);
        let shapes = (1..columns)
            .map(|column| {
                let (first, second) = ((column - 1) * rows, column * rows);
                Shape::of(
                    &[first, first + 1, second, second + 1].map(place),
                    metal.poisson(),
                )
            })
            .collect();
        Self {
            reference,
            columns,
            rows,
            thickness_mm,
            metal,
            shapes,
        }
    }

    /// Degrees of freedom.
    pub fn freedoms(&self) -> usize {
        2 * self.reference.len()
    }

    /// Number of elements.
    fn elements(&self) -> usize {
        self.shapes.len() * (self.rows - 1)
    }

    /// First node of an element at its first column and at its second.
    fn nodes(&self, element: usize) -> [usize; 2] {
        let layers = self.rows - 1;
        let first = element / layers * self.rows + element % layers;
        [first, first + self.rows]
    }

    /// Displacements of an element's corners.
    fn corners(&self, moved: &DVector<f64>, element: usize) -> Corners {
        let [first, second] = self.nodes(element).map(|node| 2 * node);
        let at = |freedom: usize| [moved[freedom], moved[freedom + 1]];
        [at(first), at(first + 2), at(second), at(second + 2)]
    }

    /// The strip before anything happened.
    pub fn untouched(&self) -> StripState {
        StripState {
            moved: DVector::zeros(self.freedoms()),
            memory: vec![self.metal.untouched(); self.elements()],
        }
    }

    /// Places of the columns along the blank.
    pub fn places_mm(&self) -> Vec<f64> {
        let first = self.reference[0];
        (0..self.columns)
            .map(|column| (self.reference[column * self.rows] - first).norm())
            .collect()
    }

    /// Work stored elastically and work lost in plastic flow in the whole strip, N (N mm for each mm of width).
    pub fn work(&self, state: &StripState) -> (f64, f64) {
        let layers = self.rows - 1;
        let (mut stored, mut lost) = (0.0, 0.0);
        for (element, memory) in state.memory.iter().enumerate() {
            let moved = self.corners(&state.moved, element);
            let shape = &self.shapes[element / layers];
            let (kept, gone) = shape.work(&moved, memory, &self.metal);
            stored += kept;
            lost += gone;
        }
        (stored, lost)
    }

    /// Least thickness, mm, and largest natural strain along an outer face.
    pub fn thinnest_and_outer(&self, state: &StripState) -> (f64, f64) {
        let top = self.rows - 1;
        let thinnest = (0..self.columns)
            .map(|column| {
                let at = |row| self.place(&state.moved, column * self.rows + row);
                (at(top) - at(0)).norm()
            })
            .fold(f64::INFINITY, f64::min);
        let mut stretch: f64 = 1.0;
        for row in [0, top] {
            for column in 1..self.columns {
                let nodes = [(column - 1) * self.rows + row, column * self.rows + row];
                let [a, b] = nodes.map(|node| self.place(&state.moved, node));
                let [c, d] = nodes.map(|node| self.reference[node]);
                stretch = stretch.max((b - a).norm() / (d - c).norm());
            }
        }
        (thinnest, libm::log(stretch))
    }

    /// Room for a stiffness matrix.
    pub fn stiffness(&self) -> Stiffness {
        // A corner knows the upper corner of the next column.
        let reach = 2 * self.rows + 3;
        Stiffness {
            band: Band::new(self.freedoms(), reach),
            answers: vec![Stiff::default(); self.elements()],
        }
    }

    /// Place of a node.
    pub fn place(&self, moved: &DVector<f64>, node: usize) -> Point2<f64> {
        let reference = self
            .reference
            .get(node)
            .copied()
            .unwrap_or_else(Point2::origin);
        reference + Vector2::new(moved[2 * node], moved[2 * node + 1])
    }

    /// Internal forces at displacements `moved`, from the memory of `state`; adds stiffness if room is given.
    ///
    /// `None` when an element is turned inside out.
    pub fn respond(
        &self,
        moved: &DVector<f64>,
        state: &StripState,
        stiffness: Option<&mut Stiffness>,
    ) -> Option<Response> {
        let Some(room) = stiffness else {
            return widely(
                #[inline(always)]
                || self.answer(moved, state, None),
            );
        };
        let response = self.prepare(moved, state, room)?;
        self.stiffen(room);
        Some(response)
    }

    /// The same, but the stiffness is only prepared: [`Self::stiffen`] makes it. Where a balance is found, or a step
    /// was too long, nobody needs it.
    pub(super) fn prepare(
        &self,
        moved: &DVector<f64>,
        state: &StripState,
        room: &mut Stiffness,
    ) -> Option<Response> {
        widely(
            #[inline(always)]
            || self.answer(moved, state, Some(&mut room.answers)),
        )
    }

    /// Puts the stiffness of the last answer into the band.
    pub(super) fn stiffen(&self, room: &mut Stiffness) {
        widely(
            #[inline(always)]
            || self.fill(room),
        );
    }

    #[inline(always)]
    fn fill(&self, room: &mut Stiffness) {
        room.band.clear();
        for (element, stiff) in room.answers.iter().enumerate() {
            let [first, second] = self.nodes(element).map(|node| 2 * node);
            let stiffness = stiff.stiffness();
            let rows = (first..first + 4).chain(second..second + 4);
            for (row, [to_first, to_second]) in rows.zip(stiffness) {
                room.band.add_run(row, first, to_first.0);
                room.band.add_run(row, second, to_second.0);
            }
        }
    }

    /// Forces; what stiffness is made of goes into `answers`.
    #[inline(always)]
    fn answer(
        &self,
        moved: &DVector<f64>,
        state: &StripState,
        mut answers: Option<&mut [Stiff]>,
    ) -> Option<Response> {
        let layers = self.rows - 1;
        let mut memory = state.memory.clone();
        let mut nowhere = Stiff::default();
        let mut force = DVector::zeros(self.freedoms());
        for (element, memory) in memory.iter_mut().enumerate() {
            let corners = self.corners(moved, element);
            let room = match answers.as_deref_mut() {
                Some(answers) => &mut answers[element],
                None => &mut nowhere,
            };
            let shape = &self.shapes[element / layers];
            let forces = shape.respond(&corners, memory, &self.metal, room)?;
            for (node, forces) in self.nodes(element).into_iter().zip(forces.chunks_exact(4)) {
                for (sum, part) in force.as_mut_slice()[2 * node..].iter_mut().zip(forces) {
                    *sum += part;
                }
            }
        }
        Some(Response { force, memory })
    }
}

/// Room for the stiffness of a strip.
#[derive(Debug, Clone)]
pub struct Stiffness {
    /// The stiffness, once it was made.
    pub band: Band,
    /// What the elements answered last: from this the stiffness is made when it is needed.
    answers: Vec<Stiff>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::flow::Hardening;
    use approx::assert_relative_eq;

    /// First yield at 65 MPa.
    const SOFT: Hardening = Hardening::Swift {
        k_mpa: 315.0,
        prestrain: 0.019_342_250_66,
        n: 0.40,
    };

    fn soft() -> PressMetal {
        PressMetal::new(117_000.0, 0.34, &SOFT)
    }

    fn small() -> Strip {
        Strip::straight(
            Point2::new(0.3, -0.2),
            Vector2::new(0.8, 0.6),
            &[0.0, 0.4, 0.9, 1.2],
            0.5,
            2,
            soft(),
        )
    }

    /// A wavy displacement, large enough to yield.
    fn wavy(strip: &Strip, size: f64) -> DVector<f64> {
        DVector::from_iterator(
            strip.freedoms(),
            (0..strip.freedoms()).map(|i| size * (1.7 * i as f64).sin()),
        )
    }

    #[test]
    fn stiffness_is_the_slope_of_the_forces() {
        let strip = small();
        for size in [1e-5, 0.02] {
            // Start from a yielded state, then look at a further step.
            let state = strip.untouched();
            let first = wavy(&strip, size);
            let begun = StripState {
                memory: strip.respond(&first, &state, None).unwrap().memory,
                moved: first.clone(),
            };
            let moved = &first * 1.3 + wavy(&strip, size * 0.2);
            let mut room = strip.stiffness();
            strip.respond(&moved, &begun, Some(&mut room)).unwrap();
            let step = 1e-6 * size.max(1e-3);
            let force = |moved: &DVector<f64>| strip.respond(moved, &begun, None).unwrap().force;
            let mut worst: f64 = 0.0;
            let mut largest: f64 = 0.0;
            for j in 0..strip.freedoms() {
                let mut more = moved.clone();
                more[j] += step;
                let mut less = moved.clone();
                less[j] -= step;
                let slope = (force(&more) - force(&less)) / (2.0 * step);
                for i in 0..strip.freedoms() {
                    let coded = room.band.at(i, j);
                    worst = worst.max((coded - slope[i]).abs());
                    largest = largest.max(slope[i].abs());
                }
            }
            assert!(worst < 2e-5 * largest, "{worst} of {largest} at {size}");
        }
    }

    #[test]
    fn moving_and_turning_the_strip_makes_no_force() {
        let strip = small();
        let (sin, cos) = 0.9f64.sin_cos();
        let mut moved = DVector::zeros(strip.freedoms());
        for (node, place) in strip.reference.iter().enumerate() {
            let to = Point2::new(
                cos * place.x - sin * place.y + 3.0,
                sin * place.x + cos * place.y,
            );
            moved[2 * node] = to.x - place.x;
            moved[2 * node + 1] = to.y - place.y;
        }
        let response = strip.respond(&moved, &strip.untouched(), None).unwrap();
        assert!(response.force.amax() < 1e-8);
    }

    /// Pure bending: both end planes stay plane, the right one turns, nothing pulls.
    ///
    /// Gives moment for each mm of width and the state after each of the turns.
    fn bent(strip: &Strip, turns: &[f64]) -> Vec<(f64, f64)> {
        const STIFF: f64 = 1e7;
        let mut state = strip.untouched();
        let mut room = strip.stiffness();
        let mut moments = Vec::new();
        let mut before = state.moved.clone();
        for (number, turn) in turns.iter().enumerate() {
            let normals = [Vector2::x(), Vector2::new(turn.cos(), turn.sin())];
            // While loading, equal steps go on as before.
            let onward = number > 0 && number + 10 < turns.len();
            let mut moved = state.moved.clone();
            if onward {
                moved += &state.moved - &before;
            }
            before = state.moved.clone();
            let mut done = false;
            for _ in 0..60 {
                let response = strip
                    .respond(&moved, &state, Some(&mut room))
                    .unwrap_or_else(|| panic!("turned inside out at step {number}"));
                let mut out = -&response.force;
                let mut moment = 0.0;
                for (end, normal) in [0, strip.columns - 1].into_iter().zip(normals) {
                    let nodes: Vec<usize> =
                        (0..strip.rows).map(|row| end * strip.rows + row).collect();
                    let depth = |node: usize| strip.place(&moved, node).coords.dot(&normal);
                    let mean = nodes.iter().map(|n| depth(*n)).sum::<f64>() / nodes.len() as f64;
                    let along = Vector2::new(-normal.y, normal.x);
                    for (row, node) in nodes.iter().enumerate() {
                        let push = normal * (-STIFF * (depth(*node) - mean));
                        out[2 * node] += push.x;
                        out[2 * node + 1] += push.y;
                        if end > 0 {
                            // Pulled side counts positive: the upper side is pressed when the end turns left.
                            moment -=
                                push.dot(&normal) * strip.place(&moved, *node).coords.dot(&along);
                        }
                        for (other, other_node) in nodes.iter().enumerate() {
                            let share =
                                if row == other { 1.0 } else { 0.0 } - 1.0 / nodes.len() as f64;
                            let part = normal * normal.transpose() * (STIFF * share);
                            for (i, j) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                                room.band
                                    .add(2 * node + i, 2 * other_node + j, part[(i, j)]);
                            }
                        }
                    }
                }
                // Hold the left end in its place.
                for freedom in [0, 1] {
                    out[freedom] -= STIFF * moved[freedom];
                    room.band.add(freedom, freedom, STIFF);
                }
                if out.amax() < 1e-6 {
                    state = StripState {
                        moved: moved.clone(),
                        memory: response.memory,
                    };
                    let last = (strip.columns - 1) * strip.rows;
                    let thick = (strip.place(&moved, last)
                        - strip.place(&moved, last + strip.rows - 1))
                    .norm();
                    moments.push((moment, thick));
                    done = true;
                    break;
                }
                let factored = room.band.factored().unwrap();
                moved += DVector::from_vec(factored.solve(out.as_slice()).unwrap());
            }
            assert!(done, "no balance at a turn of {turn}");
        }
        moments
    }

    /// The same bits in wide registers and in narrow ones, bent as far as a step bends and pressed flat besides.
    #[test]
    fn wide_registers_give_the_same_bits() {
        let places: Vec<f64> = (0..9).map(|i| 0.15 * f64::from(i)).collect();
        let strip = Strip::straight(Point2::origin(), Vector2::x(), &places, 1.0, 6, soft());
        let mut state = strip.untouched();
        for step in 1..6 {
            let moved = DVector::from_fn(strip.freedoms(), |row, _| {
                let at = strip.reference[row / 2];
                let bent = 0.02 * f64::from(step) * (at.y - 0.5);
                let own = if row % 2 == 0 {
                    bent * at.x
                } else {
                    -0.3 * bent - 0.01 * at.x * at.x
                };
                own + 1e-4 * libm::sin(row as f64)
            });
            let wide = strip.respond(&moved, &state, None).unwrap();
            let narrow = strip.answer(&moved, &state, None).unwrap();
            assert_eq!(wide.force, narrow.force);
            assert_eq!(wide.memory, narrow.memory);
            let yielded = wide.memory.iter().any(|one| one.strain.all_above(0.0));
            assert!(step < 2 || yielded);
            state = StripState {
                moved,
                memory: wide.memory,
            };
        }
    }

    /// Moment while bending, thickness, and the curvature that letting go takes back.
    ///
    /// Values: a general finite-element solver, pure bending of a strip, run once outside of coldstep.
    #[test]
    fn pure_bending_agrees_with_a_general_solver() {
        let half_hard = PressMetal::new(
            117_000.0,
            0.34,
            &Hardening::Swift {
                k_mpa: 330.0,
                prestrain: (225.0f64 / 330.0).powf(1.0 / 0.12),
                n: 0.12,
            },
        );
        for (metal, curvature, moment, back, thickness) in [
            (soft(), 0.2079, 35.26, 0.003_24, None),
            (soft(), 0.4164, 43.62, 0.004_14, None),
            (soft(), 0.7017, 50.46, 0.005_15, Some(0.9744)),
            (half_hard, 0.2118, 73.38, 0.006_70, None),
        ] {
            const LENGTH_MM: f64 = 0.25;
            let places = [0.0, 0.0625, 0.125, 0.1875, LENGTH_MM];
            let strip = Strip::straight(Point2::origin(), Vector2::x(), &places, 1.0, 8, metal);
            let steps = 60u32;
            let mut turns: Vec<f64> = (1..=steps)
                .map(|i| curvature * LENGTH_MM * f64::from(i) / f64::from(steps))
                .collect();
            turns.extend((1..=10).map(|i| (curvature - back * f64::from(i) / 10.0) * LENGTH_MM));
            let got = bent(&strip, &turns);
            let (loaded, thick) = got[got.len() - 11];
            // Soft within 0.4 %, half-hard within 1.3 %.
            assert_relative_eq!(loaded, moment, max_relative = 0.015);
            // Bent back by that much, nearly no moment is left.
            let left = got[got.len() - 1].0;
            assert!(left.abs() < 0.03 * moment, "{curvature}: {left}");
            if let Some(thickness) = thickness {
                assert_relative_eq!(thick, thickness, max_relative = 0.005);
            }
        }
    }
}

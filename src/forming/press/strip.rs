//! The strip as a structured mesh of four-node elements, and its internal forces and stiffness.
//!
//! Elements are of the F-bar kind for plane strain: the in-plane gradient at each of the four points is
//! scaled so that its area change is that of the element's centre. They neither lock in plastic flow nor
//! hourglass; through-thickness refinement takes care of bending.
//!
//! # Source
//! E. A. de Souza Neto et al., "Design of simple low order finite elements for large strain analysis of
//! nearly incompressible solids", Int. J. Solids Structures 33 (1996) (from memory); the stiffness is tested
//! against finite differences of the forces.

use super::material::{Memory, PressMetal, Tangent};
use crate::numeric::blocks::Blocks;
use crate::numeric::shares::{cores, run_all};
use nalgebra::{DMatrix, DVector, Matrix2, Point2, SMatrix, SVector, Vector2};

/// Points per element.
const POINTS: usize = 4;
/// Place of the points of the 2 x 2 rule, 1/√3.
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// Shape-function slopes of one point, one row for each node.
type Slopes = SMatrix<f64, 4, 2>;

/// One element: its nodes and its slopes in the reference shape.
#[derive(Debug, Clone)]
struct Element {
    nodes: [usize; 4],
    points: [(Slopes, f64); POINTS],
    centre: Slopes,
}

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
    elements: Vec<Element>,
}

/// Everything that changes: places of nodes and memory of points.
#[derive(Debug, Clone, PartialEq)]
pub struct StripState {
    /// Displacement of every node: x and z in turn.
    pub moved: DVector<f64>,
    /// Memory of every point, element by element.
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

/// Elements that make a thread worth its start.
const LEAST_SHARE: usize = 250;
/// More threads bring little: the equations are solved by one.
const MOST_THREADS: usize = 8;

fn slopes_at(corners: &[Point2<f64>; 4], u: f64, v: f64) -> (Slopes, f64) {
    let local = Slopes::new(
        -(1.0 - v) / 4.0,
        -(1.0 - u) / 4.0,
        (1.0 - v) / 4.0,
        -(1.0 + u) / 4.0,
        (1.0 + v) / 4.0,
        (1.0 + u) / 4.0,
        -(1.0 + v) / 4.0,
        (1.0 - u) / 4.0,
    );
    let mut jacobian = Matrix2::zeros();
    for (corner, slope) in corners.iter().zip(local.row_iter()) {
        jacobian += corner.coords * slope;
    }
    let area = jacobian.determinant();
    let inverse = jacobian.try_inverse().unwrap_or_else(Matrix2::zeros);
    (local * inverse, area)
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
        let mut elements = Vec::new();
        for column in 0..columns.saturating_sub(1) {
            for row in 0..layers {
                let first = column * rows + row;
                let nodes = [first, first + rows, first + rows + 1, first + 1];
                let corners =
                    nodes.map(|n| reference.get(n).copied().unwrap_or_else(Point2::origin));
                let point = |u: f64, v: f64| slopes_at(&corners, u * GAUSS, v * GAUSS);
                elements.push(Element {
                    nodes,
                    points: [
                        point(-1.0, -1.0),
                        point(1.0, -1.0),
                        point(1.0, 1.0),
                        point(-1.0, 1.0),
                    ],
                    centre: slopes_at(&corners, 0.0, 0.0).0,
                });
            }
        }
        Self {
            reference,
            columns,
            rows,
            thickness_mm,
            metal,
            elements,
        }
    }

    /// Degrees of freedom.
    pub fn freedoms(&self) -> usize {
        2 * self.reference.len()
    }

    /// The strip before anything happened.
    pub fn untouched(&self) -> StripState {
        StripState {
            moved: DVector::zeros(self.freedoms()),
            memory: vec![Memory::default(); POINTS * self.elements.len()],
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
        let (mut stored, mut lost) = (0.0, 0.0);
        for (element, memory) in self.elements.iter().zip(state.memory.chunks_exact(POINTS)) {
            let mut at = SMatrix::<f64, 4, 2>::zeros();
            for (row, node) in element.nodes.iter().enumerate() {
                at[(row, 0)] = state.moved[2 * node];
                at[(row, 1)] = state.moved[2 * node + 1];
            }
            let gradient = |slopes: &Slopes| Matrix2::identity() + at.transpose() * slopes;
            let central_area = gradient(&element.centre).determinant();
            for ((slopes, weight), memory) in element.points.iter().zip(memory) {
                let own = gradient(slopes);
                let scaled = own * (central_area / own.determinant()).sqrt();
                let (kept, gone) = self.metal.work(&scaled, memory);
                stored += weight * kept;
                lost += weight * gone;
            }
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
        let size = 2 * self.rows;
        Stiffness {
            blocks: Blocks::new(self.columns, size),
            before: vec![DMatrix::zeros(size, size); self.columns.saturating_sub(1)],
            answers: Vec::new(),
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
        let threads = threads_for(self.elements.len());
        let Some(room) = stiffness else {
            return self.respond_on(threads, moved, state, None);
        };
        let response = self.respond_on(threads, moved, state, Some(room))?;
        self.stiffen_on(threads, room);
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
        let threads = threads_for(self.elements.len());
        self.respond_on(threads, moved, state, Some(room))
    }

    /// Puts the stiffness of the last answer into the blocks.
    pub(super) fn stiffen(&self, room: &mut Stiffness) {
        self.stiffen_on(threads_for(self.elements.len()), room);
    }

    /// Forces on a number of threads; prepares the stiffness if there is room for it.
    fn respond_on(
        &self,
        threads: usize,
        moved: &DVector<f64>,
        state: &StripState,
        stiffness: Option<&mut Stiffness>,
    ) -> Option<Response> {
        let (size, layers) = (2 * self.rows, self.rows - 1);
        let spans = self.columns - 1;
        let mut memory = vec![Memory::default(); state.memory.len()];
        // Forces of the elements between two columns on the first and on the second of them.
        let mut force = DVector::zeros(self.freedoms());
        let mut before = vec![0.0; spans * size];
        let each = spans.div_ceil(threads).max(1);
        let mut shares: Vec<Share<'_>> = self
            .elements
            .chunks(each * layers)
            .zip(state.memory.chunks(each * layers * POINTS))
            .zip(memory.chunks_mut(each * layers * POINTS))
            .zip(force.as_mut_slice().chunks_mut(each * size))
            .zip(before.chunks_mut(each * size))
            .map(|((((elements, old), memory), first), second)| Share {
                elements,
                old,
                memory,
                first,
                second,
                answers: None,
            })
            .collect();
        if let Some(room) = stiffness {
            room.answers.resize(self.elements.len(), Stiff::default());
            let rooms = room.answers.chunks_mut(each * layers);
            for (share, room) in shares.iter_mut().zip(rooms) {
                share.answers = Some(room);
            }
        }
        let shares = shares
            .into_iter()
            .map(|share| || self.respond_share(moved, share));
        let all_right = run_all(shares.collect())
            .into_iter()
            .all(|is_right| is_right);
        if !all_right {
            return None;
        }
        for (sum, part) in force.as_mut_slice().iter_mut().skip(size).zip(&before) {
            *sum += part;
        }
        Some(Response { force, memory })
    }

    /// The blocks of the last answer, on a number of threads.
    fn stiffen_on(&self, threads: usize, room: &mut Stiffness) {
        let layers = self.rows - 1;
        let each = (self.columns - 1).div_ceil(threads).max(1);
        // The last column belongs to no span.
        let Stiffness {
            blocks,
            before,
            answers,
        } = room;
        if let Some(last) = blocks.own.last_mut() {
            last.fill(0.0);
        }
        let rooms = answers
            .chunks(each * layers)
            .zip(blocks.own.chunks_mut(each))
            .zip(before.chunks_mut(each))
            .zip(blocks.next.chunks_mut(each))
            .zip(blocks.back.chunks_mut(each))
            .map(|((((answers, own), before), next), back)| {
                move || stiffen_share(layers, answers, [own, before, next, back])
            });
        run_all(rooms.collect());
        for (own, part) in blocks.own.iter_mut().skip(1).zip(before) {
            *own += &*part;
        }
    }

    /// The part of [`Self::respond`] between some neighbouring columns; false when an element is turned inside out.
    fn respond_share(&self, moved: &DVector<f64>, share: Share<'_>) -> bool {
        let (size, layers) = (2 * self.rows, self.rows - 1);
        let mut answers = share.answers;
        let elements = share.elements.iter().enumerate();
        for ((number, element), (old, kept)) in elements.zip(
            share
                .old
                .chunks_exact(POINTS)
                .zip(share.memory.chunks_exact_mut(POINTS)),
        ) {
            let mut at = SMatrix::<f64, 4, 2>::zeros();
            for (row, node) in element.nodes.iter().enumerate() {
                at[(row, 0)] = moved[2 * node];
                at[(row, 1)] = moved[2 * node + 1];
            }
            let room = answers.as_deref_mut().and_then(|all| all.get_mut(number));
            let Some(force) = element.respond(&at, old, &self.metal, kept, room) else {
                return false;
            };
            let (span, row) = (number / layers, 2 * (number % layers));
            for (a, (is_second, row)) in corners(row).into_iter().enumerate() {
                let side = if is_second {
                    &mut *share.second
                } else {
                    &mut *share.first
                };
                side[span * size + row] += force[2 * a];
                side[span * size + row + 1] += force[2 * a + 1];
            }
        }
        true
    }
}

/// What one thread works on: the elements between neighbouring columns, and where their answers go.
struct Share<'a> {
    elements: &'a [Element],
    old: &'a [Memory],
    memory: &'a mut [Memory],
    first: &'a mut [f64],
    second: &'a mut [f64],
    answers: Option<&'a mut [Stiff]>,
}

/// Threads that are worth it. The answer does not depend on them: each sum is taken in one order.
fn threads_for(elements: usize) -> usize {
    cores().min(elements / LEAST_SHARE).clamp(1, MOST_THREADS)
}

/// Corners of an element in turn, as whether they stand on the second column and in which row of a block: first column,
/// second, second one row up, first one row up.
fn corners(row: usize) -> [(bool, usize); 4] {
    [(false, row), (true, row), (true, row + 2), (false, row + 2)]
}

/// Room for the stiffness of a strip.
#[derive(Debug, Clone)]
pub struct Stiffness {
    /// The stiffness, once it was made.
    pub blocks: Blocks,
    /// What the elements before a column add to its own block, from the second column on.
    before: Vec<DMatrix<f64>>,
    /// What the elements answered last: from this the blocks are made when they are needed.
    answers: Vec<Stiff>,
}

/// What the stiffness of an element is made of.
#[derive(Debug, Clone, Copy, Default)]
struct Stiff {
    /// Slopes of its centre where it is now.
    central: Slopes,
    points: [StiffPoint; POINTS],
}

#[derive(Debug, Clone, Copy, Default)]
struct StiffPoint {
    /// Slopes where it is now.
    spatial: Slopes,
    stress: Matrix2<f64>,
    tangent: Tangent,
    share: f64,
}

/// Stiffness of an element: for each of its eight forces, by x and z of the four nodes.
type ElementStiffness = [[[f64; 4]; 2]; 8];

/// The blocks of some neighbouring columns: own, from the elements before, to the next and back.
fn stiffen_share(layers: usize, answers: &[Stiff], blocks: [&mut [DMatrix<f64>]; 4]) {
    let [own, before, next, back] = blocks;
    for block in own
        .iter_mut()
        .chain(before.iter_mut())
        .chain(next.iter_mut())
        .chain(back.iter_mut())
    {
        block.fill(0.0);
    }
    for (number, answer) in answers.iter().enumerate() {
        let mut stiffness = ElementStiffness::default();
        for point in &answer.points {
            add_stiffness(&mut stiffness, &answer.central, point);
        }
        let (span, row) = (number / layers, 2 * (number % layers));
        let corners = corners(row);
        for (a, (from_second, row)) in corners.into_iter().enumerate() {
            for (b, (to_second, column)) in corners.into_iter().enumerate() {
                let room = match (from_second, to_second) {
                    (false, false) => &mut *own,
                    (true, true) => &mut *before,
                    (false, true) => &mut *next,
                    (true, false) => &mut *back,
                };
                let block = &mut room[span];
                for i in 0..2 {
                    for k in 0..2 {
                        block[(row + i, column + k)] += stiffness[2 * a + i][k][b];
                    }
                }
            }
        }
    }
}

impl Element {
    /// Forces; the memory after the step goes into `memory`, what stiffness is made of into `stiff`.
    fn respond(
        &self,
        at: &SMatrix<f64, 4, 2>,
        old: &[Memory],
        metal: &PressMetal,
        memory: &mut [Memory],
        mut stiff: Option<&mut Stiff>,
    ) -> Option<SVector<f64, 8>> {
        let gradient = |slopes: &Slopes| Matrix2::identity() + at.transpose() * slopes;
        let central = gradient(&self.centre);
        let central_area = central.determinant();
        if central_area <= 0.0 {
            return None;
        }
        let central_slopes = self.centre * central.try_inverse()?;
        let mut force = SVector::<f64, 8>::zeros();
        if let Some(stiff) = stiff.as_deref_mut() {
            stiff.central = central_slopes;
        }
        let points = self.points.iter().zip(old).zip(memory);
        for (number, (((slopes, weight), old), kept)) in points.enumerate() {
            let own = gradient(slopes);
            let area = own.determinant();
            if area <= 0.0 {
                return None;
            }
            let scaled = own * (central_area / area).sqrt();
            let answer = metal.respond(&scaled, old)?;
            *kept = answer.memory;
            let spatial = slopes * own.try_inverse()?;
            let share = weight * area / central_area;
            // Kirchhoff stress of the scaled gradient over its area change is Cauchy stress.
            let pull = spatial * answer.stress * share;
            for a in 0..4 {
                force[2 * a] += pull[(a, 0)];
                force[2 * a + 1] += pull[(a, 1)];
            }
            if let Some(stiff) = stiff.as_deref_mut() {
                stiff.points[number] = StiffPoint {
                    spatial,
                    stress: answer.stress,
                    tangent: answer.tangent,
                    share,
                };
            }
        }
        Some(force)
    }
}

/// `K += share [ G a G + G q (G0 - G) ]`, `a = c + δ τ`, `q = (a : I - τ)/2` in plane strain.
fn add_stiffness(sum: &mut ElementStiffness, central: &Slopes, point: &StiffPoint) {
    let StiffPoint {
        spatial,
        stress,
        share,
        ..
    } = point;
    let mut whole = point.tangent.components();
    let mut swell = Matrix2::zeros();
    for (i, plane) in whole.iter_mut().enumerate() {
        for (j, row) in plane.iter_mut().enumerate() {
            for (k, line) in row.iter_mut().enumerate() {
                for (l, value) in line.iter_mut().enumerate() {
                    if i == k {
                        *value += stress[(j, l)];
                    }
                    if k == l {
                        swell[(i, j)] += *value;
                    }
                }
            }
        }
    }
    let swell = (swell - stress) * 0.5;
    // By node, so that the innermost loop takes all four at once.
    let by_node =
        |slopes: &Slopes| [0, 1].map(|axis| [0, 1, 2, 3].map(|node: usize| slopes[(node, axis)]));
    let [h0, h1] = by_node(spatial);
    let spread = by_node(&(central - spatial));
    // g_aj a_ijkl first, then times g_bl.
    for (a, (g0, g1)) in h0.into_iter().zip(h1).enumerate() {
        for (i, [row0, row1]) in whole.iter().enumerate() {
            let pull = g0 * swell[(i, 0)] + g1 * swell[(i, 1)];
            for (k, (c0, c1)) in row0.iter().zip(row1).enumerate() {
                let half = [g0 * c0[0] + g1 * c1[0], g0 * c0[1] + g1 * c1[1]];
                let (sum, spread) = (&mut sum[2 * a + i][k], &spread[k]);
                for b in 0..4 {
                    sum[b] += share * (half[0] * h0[b] + half[1] * h1[b] + pull * spread[b]);
                }
            }
        }
    }
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
            let width = 2 * strip.rows;
            for j in 0..strip.freedoms() {
                let mut more = moved.clone();
                more[j] += step;
                let mut less = moved.clone();
                less[j] -= step;
                let slope = (force(&more) - force(&less)) / (2.0 * step);
                for i in 0..strip.freedoms() {
                    let (ci, cj) = (i / width, j / width);
                    let (r, c) = (i % width, j % width);
                    let coded = if ci == cj {
                        room.blocks.own[ci][(r, c)]
                    } else if cj == ci + 1 {
                        room.blocks.next[ci][(r, c)]
                    } else if ci == cj + 1 {
                        room.blocks.back[cj][(r, c)]
                    } else {
                        0.0
                    };
                    worst = worst.max((coded - slope[i]).abs());
                    largest = largest.max(slope[i].abs());
                }
            }
            assert!(worst < 2e-5 * largest, "{worst} of {largest} at {size}");
        }
    }

    #[test]
    fn threads_change_no_bit() {
        let strip = small();
        let moved = wavy(&strip, 0.01);
        let answer = |threads: usize| {
            let mut room = strip.stiffness();
            let response = strip
                .respond_on(threads, &moved, &strip.untouched(), Some(&mut room))
                .unwrap();
            strip.stiffen_on(threads, &mut room);
            (
                response.force,
                room.blocks.own,
                room.blocks.next,
                room.blocks.back,
            )
        };
        let one = answer(1);
        for threads in 2..6 {
            assert_eq!(answer(threads), one, "{threads}");
        }
    }

    #[test]
    fn block_elimination_solves() {
        let strip = small();
        let mut room = strip.stiffness();
        let moved = wavy(&strip, 0.01);
        strip
            .respond(&moved, &strip.untouched(), Some(&mut room))
            .unwrap();
        for block in &mut room.blocks.own {
            for i in 0..block.nrows() {
                block[(i, i)] += 1000.0;
            }
        }
        let x = wavy(&strip, 1.0);
        let size = 2 * strip.rows;
        let mut right = DVector::zeros(x.len());
        for i in 0..strip.columns {
            let mut part = &room.blocks.own[i] * x.rows(i * size, size);
            if i > 0 {
                part += &room.blocks.back[i - 1] * x.rows((i - 1) * size, size);
            }
            if i + 1 < strip.columns {
                part += &room.blocks.next[i] * x.rows((i + 1) * size, size);
            }
            right.rows_mut(i * size, size).copy_from(&part);
        }
        assert_relative_eq!(room.blocks.solve(&right).unwrap(), x, epsilon = 1e-8);
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
                        for (other, _) in nodes.iter().enumerate() {
                            let share =
                                if row == other { 1.0 } else { 0.0 } - 1.0 / nodes.len() as f64;
                            let mut part =
                                room.blocks.own[end].fixed_view_mut::<2, 2>(2 * row, 2 * other);
                            part += normal * normal.transpose() * (STIFF * share);
                        }
                    }
                }
                // Hold the left end in its place.
                for (freedom, row) in [(0, 0), (1, 1)] {
                    out[freedom] -= STIFF * moved[freedom];
                    room.blocks.own[0][(row, row)] += STIFF;
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
                moved += room.blocks.solve(&out).unwrap();
            }
            assert!(done, "no balance at a turn of {turn}");
        }
        moments
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

//! One face of the strip on a die that is an elastic block: the face gives as a whole, [`Modes`], and each place of it by
//! itself, the layer of [`Die`].
//!
//! For given places of the strip's nodes the block is brought to its own balance first. With shapes ψ scaled so that a
//! unit of each stores ½, how far they are out, q, is where
//!
//! ```text
//! q + Σ ψᵀ·F(x − ψ·q) = 0
//! ```
//!
//! F the push on each node at x, ψ averaged over the length of face that a node carries: forces are spread, not points.
//! What the strip feels is as soft as the block, not as hard as the layer, so that Newton's method on the strip goes as on
//! a foundation; its tangent `P − P·ψ·(1 + ψᵀ·P·ψ)⁻¹·ψᵀ·P` is exact. A die without a block has no shapes and goes
//! through the same lines.
//!
//! # Valid for
//! Small strains of the block: its normals stay those of the drawn face, and shapes are taken where each node stands on the
//! face when a step begins.
//!
//! [`Modes`]: crate::forming::block::modes::Modes

use super::bracket::Bracket;
use super::contact::{Die, Held, Push};
use super::softer::{Inner, Softer, press_pairs};
use crate::numeric::columns::{along, combined, gram, outer};
use nalgebra::{DMatrix, DVector, Matrix2, Point2, Vector2};
use std::cell::RefCell;
use std::rc::Rc;

/// Newton iterations for the balance of a block.
const MOST_ITERATIONS: u32 = 20;
/// Shortenings of one of them.
const SEARCHES: u32 = 8;
/// A block gives in a step under the nodes that are no further away when it begins: those that come from further away meet a
/// face that does not, until the next step.
const WITHIN_MM: f64 = 0.1;
/// What may be out of balance, as a share of the largest load of a shape.
const BALANCE: f64 = 1e-9;
/// The same for a block that carries next to nothing, √(N/mm): far below any contact force that counts.
const LEAST_BALANCE: f64 = 1e-9;

/// A node of the strip that may touch a die.
#[derive(Debug, Clone, Copy)]
pub(super) struct Standing {
    /// Number in the strip.
    pub(super) node: usize,
    /// Length of face that it carries.
    pub(super) area_mm: f64,
    /// What it remembers of the face.
    pub(super) held: Option<Held>,
}

/// The nodes of one face of the strip and the die that they press on.
pub(super) struct Seat<'a> {
    die: &'a Die,
    nodes: Vec<Standing>,
    /// Nodes under which the block gives, by their number here.
    given: Vec<usize>,
    /// Shapes at those nodes, ψᵀ: a column for x and z of each in turn.
    shapes: DMatrix<f64>,
    /// ψψᵀ: how far each of those freedoms moves under a unit push on each.
    gives: DMatrix<f64>,
    /// By how much the face at each node is turned from where it was drawn.
    turns: Vec<Matrix2<f64>>,
    /// The last balance, where the next one is looked for.
    out: RefCell<DVector<f64>>,
    /// How balances grow from one of them on.
    grown: RefCell<Option<Grown>>,
}

/// How the balance of a block grows from one on.
struct Grown {
    /// How far each shape was out.
    out: DVector<f64>,
    /// Places of the freedoms that were pushed.
    places_mm: DVector<f64>,
    softer: Rc<Softer>,
}

/// A block in balance with the strip.
pub(super) struct Settled {
    /// How far each shape is out.
    pub(super) out: DVector<f64>,
    /// Push on each node.
    pub(super) pushes: Vec<Option<Push>>,
}

impl<'a> Seat<'a> {
    /// Seats nodes at their places; `out` is how far the die's shapes are out.
    pub(super) fn new(
        die: &'a Die,
        nodes: Vec<Standing>,
        place: impl Fn(usize) -> Point2<f64>,
        out: &DVector<f64>,
    ) -> Self {
        let mut turns = vec![Matrix2::identity(); nodes.len()];
        let mut given = Vec::new();
        let mut shapes = Vec::new();
        let nodes_at = nodes.iter().zip(&mut turns).enumerate();
        for (number, (standing, turn)) in nodes_at.filter(|_| die.shapes() > 0) {
            let near = match standing.held {
                Some(Held::At(along_mm)) => Some((along_mm, 0.0)),
                Some(Held::Coming { along_mm, gap_mm }) => Some((along_mm, gap_mm)),
                None => die
                    .near(place(standing.node))
                    .map(|near| (near.along_mm, near.gap_mm)),
            };
            if let Some((along_mm, gap_mm)) = near
                && gap_mm < WITHIN_MM
            {
                given.push(number);
                let (own, turned) = die.given_at(along_mm, standing.area_mm, out);
                shapes.push(own);
                *turn = turned;
            }
        }
        let mut columns = DMatrix::zeros(die.shapes(), 2 * given.len());
        for (number, own) in shapes.iter().enumerate() {
            columns.columns_mut(2 * number, 2).copy_from(own);
        }
        Self {
            die,
            nodes,
            given,
            gives: gram(&columns),
            shapes: columns,
            turns,
            out: RefCell::new(out.clone()),
            grown: RefCell::new(None),
        }
    }

    /// Looks for the next balance from a given place on.
    pub(super) fn look_near(&self, out: DVector<f64>) {
        self.out.replace(out);
    }

    /// Numbers of the nodes in the strip.
    pub(super) fn nodes(&self) -> impl Iterator<Item = usize> {
        self.nodes.iter().map(|standing| standing.node)
    }

    /// Push on a node whose face has moved by so much.
    fn push(
        &self,
        number: usize,
        place: &impl Fn(usize) -> Point2<f64>,
        given: Vector2<f64>,
    ) -> Option<Push> {
        let standing = self.nodes[number];
        let seen = place(standing.node) - given;
        let push = self.die.push(seen, standing.area_mm, standing.held)?;
        let turn = self.turns[number];
        Some(Push {
            force: turn * push.force,
            stiffness: turn * push.stiffness,
            ..push
        })
    }

    /// Renews the pushes on nodes under which the block gives.
    fn press_given(
        &self,
        place: &impl Fn(usize) -> Point2<f64>,
        out: &DVector<f64>,
        pushes: &mut [Option<Push>],
    ) {
        let moved = along(&self.shapes, out);
        for (row, number) in self.given.iter().enumerate() {
            let given = Vector2::new(moved[2 * row], moved[2 * row + 1]);
            pushes[*number] = self.push(*number, place, given);
        }
    }

    /// What is out of balance in each shape, and the largest load of one.
    fn missing(&self, out: &DVector<f64>, pushes: &[Option<Push>]) -> (DVector<f64>, f64) {
        let mut forces = DVector::zeros(self.shapes.ncols());
        for (row, push) in self.pushed(pushes) {
            forces.fixed_rows_mut::<2>(2 * row).copy_from(&push.force);
        }
        let loads = -combined(&self.shapes, &forces);
        let largest = if loads.is_empty() { 0.0 } else { loads.amax() };
        (loads - out, largest)
    }

    /// Pushes on the nodes under which the block gives, by their rows.
    fn pushed<'p>(&self, pushes: &'p [Option<Push>]) -> impl Iterator<Item = (usize, &'p Push)> {
        let given = self.given.iter().enumerate();
        given.filter_map(|(row, number)| Some((row, pushes[*number].as_ref()?)))
    }

    /// Where the balance for places of the nodes is looked for.
    fn foretold(&self, place: &impl Fn(usize) -> Point2<f64>) -> DVector<f64> {
        let grown = self.grown.borrow();
        let foretold = grown.as_ref().and_then(|grown| {
            let moved = grown.softer.places_mm(place) - &grown.places_mm;
            Some(&grown.out + grown.softer.out_by(&moved)?)
        });
        foretold.unwrap_or_else(|| self.out.borrow().clone())
    }

    /// Brings the block to its balance for places of the nodes; `None` when none is found.
    pub(super) fn settle(&self, place: impl Fn(usize) -> Point2<f64>) -> Option<Settled> {
        let mut out = self.foretold(&place);
        let numbers = 0..self.nodes.len();
        let mut pushes: Vec<Option<Push>> = numbers
            .map(|number| self.push(number, &place, Vector2::zeros()))
            .collect();
        self.press_given(&place, &out, &mut pushes);
        for _ in 0..MOST_ITERATIONS {
            let (missing, largest) = self.missing(&out, &pushes);
            if missing.is_empty() || missing.amax() <= BALANCE * largest + LEAST_BALANCE {
                self.out.borrow_mut().copy_from(&out);
                return Some(Settled { out, pushes });
            }
            let step = self.step(&pushes, &missing)?;
            let mut bracket = Bracket::from(missing.dot(&step));
            let mut share = 1.0;
            for _ in 0..=SEARCHES {
                let next = &out + &step * share;
                self.press_given(&place, &next, &mut pushes);
                let work = self.missing(&next, &pushes).0.dot(&step);
                match bracket.next_share(share, Some(work)) {
                    Some(another) => share = another,
                    None => break,
                }
            }
            out += step * share;
        }
        None
    }

    /// The nodes that are pushed.
    fn touching(&self, pushes: &[Option<Push>]) -> Touching {
        let freedoms = self
            .pushed(pushes)
            .flat_map(|(row, _)| [2 * row, 2 * row + 1]);
        Touching {
            freedoms: freedoms.collect(),
            pushed: self
                .pushed(pushes)
                .map(|(_, push)| push.stiffness)
                .collect(),
        }
    }

    /// `1 + P·ψψᵀ`.
    fn softened(&self, touching: &Touching) -> DMatrix<f64> {
        let own = &touching.freedoms;
        let gives = DMatrix::from_fn(own.len(), own.len(), |i, j| self.gives[(own[i], own[j])]);
        plus_one(touching.pressed(&gives))
    }

    /// `(1 + ψᵀ·P·ψ)⁻¹·missing`, by whichever is smaller: shapes, or freedoms that are pushed.
    fn step(&self, pushes: &[Option<Push>], missing: &DVector<f64>) -> Option<DVector<f64>> {
        let touching = self.touching(pushes);
        if touching.pushed.is_empty() {
            return Some(missing.clone());
        }
        let shapes = self.shapes.select_columns(&touching.freedoms);
        if touching.freedoms.len() > missing.len() {
            return touching.given(&shapes).lu().solve(missing);
        }
        let there = touching.pressed(&DMatrix::from_columns(&[along(&shapes, missing)]));
        let taken = self.softened(&touching).lu().solve(&there)?;
        Some(missing - combined(&shapes, &taken.column(0).into_owned()))
    }

    /// What the give of the block takes off the stiffness of the pushes, for places of the nodes; the next balances are looked for
    /// from there on.
    pub(super) fn softer(
        &self,
        settled: &Settled,
        place: impl Fn(usize) -> Point2<f64>,
    ) -> Option<Rc<Softer>> {
        let softer = Rc::new(self.softened_by(settled)?);
        self.grown.replace(Some(Grown {
            out: settled.out.clone(),
            places_mm: softer.places_mm(place),
            softer: Rc::clone(&softer),
        }));
        Some(softer)
    }

    fn softened_by(&self, settled: &Settled) -> Option<Softer> {
        let touching = self.touching(&settled.pushes);
        let shapes = self.shapes.select_columns(&touching.freedoms);
        let (count, rows) = shapes.shape();
        let freedoms = touching.freedoms.iter();
        let freedoms = freedoms.map(|row| 2 * self.nodes[self.given[row / 2]].node + row % 2);
        let lone = touching.pushed.iter().enumerate().map(|(node, push)| {
            let [x, z] = [0, 1].map(|axis| shapes.column(2 * node + axis));
            let across = x.dot(&z);
            let own = Matrix2::new(x.dot(&x), across, across, z.dot(&z));
            (Matrix2::identity() + push * own).lu().solve(push)
        });
        let lone = lone.collect::<Option<_>>()?;
        let inner = if rows == 0 {
            Inner::Nothing
        } else if count < rows {
            Inner::Shapes(touching.given(&shapes).lu())
        } else {
            Inner::Freedoms(self.softened(&touching).lu())
        };
        Some(Softer {
            freedoms: freedoms.collect(),
            lone,
            pushed: touching.pushed,
            shapes,
            inner,
        })
    }
}

/// The freedoms that are pushed, and how stiff the push on each pair of them is.
struct Touching {
    freedoms: Vec<usize>,
    pushed: Vec<Matrix2<f64>>,
}

impl Touching {
    /// `1 + ψᵀ·P·ψ`.
    fn given(&self, shapes: &DMatrix<f64>) -> DMatrix<f64> {
        let mut pressed = shapes.clone();
        for (number, push) in self.pushed.iter().enumerate() {
            let mut pair = pressed.fixed_columns_mut::<2>(2 * number);
            let product = &pair * push.transpose();
            pair.copy_from(&product);
        }
        plus_one(outer(shapes, &pressed))
    }

    /// `P·rows`.
    fn pressed(&self, rows: &DMatrix<f64>) -> DMatrix<f64> {
        let mut product = rows.clone();
        press_pairs(&self.pushed, product.as_mut_slice());
        product
    }
}

fn plus_one(mut matrix: DMatrix<f64>) -> DMatrix<f64> {
    for i in 0..matrix.nrows() {
        matrix[(i, i)] += 1.0;
    }
    matrix
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::block::section::{Mesh, Print, Side};
    use crate::forming::block::{Backing, LAYER_N_MM3};
    use crate::geometry::Chain;
    use crate::quantity::Angle;

    fn die(shapes: usize) -> (Die, Chain) {
        let mut face = Chain::from_start(0.0, 0.0, Angle::ZERO);
        face.line(6.0)
            .arc(1.2, Angle::deg(50.0))
            .line(1.0)
            .arc(1.2, Angle::deg(-50.0))
            .line(6.0);
        let backing = Backing {
            print: Print::solid(2000.0, 0.35),
            base_mm: 8.0,
            beyond_mm: 8.0,
            mesh: Mesh::for_sheet(1.6),
            shapes,
        };
        let block = backing
            .behind(&face, Side::Below, [1.0, face.length_mm() - 1.0])
            .unwrap();
        (
            Die::lower(&face, 700.0, 0.2).on_block(block, LAYER_N_MM3),
            face,
        )
    }

    /// Nodes along the nose and the flat beyond it, more or less deep in the drawn face; some stick, some slip, some hover.
    fn standing(face: &Chain) -> (Vec<Standing>, Vec<Point2<f64>>) {
        let places = (0..10).map(|node| {
            let along = 7.6 + 0.25 * f64::from(node);
            let pose = face.at(along);
            let depth = 0.04 + 0.004 * libm::sin(1.7 * f64::from(node)) - 0.3 * f64::from(node / 8);
            (along, pose.point - pose.left() * depth)
        });
        let (alongs, places): (Vec<f64>, Vec<_>) = places.unzip();
        let nodes = alongs.iter().enumerate().map(|(node, along)| Standing {
            node,
            area_mm: 0.25,
            held: (node % 3 > 0).then_some(Held::At(along + 0.004 * (node % 3) as f64 - 0.006)),
        });
        (nodes.collect(), places)
    }

    fn forces(seat: &Seat<'_>, places: &[Point2<f64>]) -> (DVector<f64>, Settled) {
        let settled = seat.settle(|node| places[node]).unwrap();
        let mut forces = DVector::zeros(2 * places.len());
        for (node, push) in settled.pushes.iter().enumerate() {
            if let Some(push) = push {
                forces[2 * node] = push.force.x;
                forces[2 * node + 1] = push.force.y;
            }
        }
        (forces, settled)
    }

    /// With fewer shapes than freedoms that are pushed and with more.
    #[test]
    fn stiffness_with_what_the_block_takes_off_is_minus_the_slope_of_the_pushes() {
        for shapes in [6, 40] {
            let (die, face) = die(shapes);
            let (nodes, places) = standing(&face);
            let mut out = DVector::zeros(shapes);
            out[0] = 0.2;
            let seat = Seat::new(&die, nodes, |node| places[node], &out);
            let (force, settled) = forces(&seat, &places);
            let touching = settled.pushes.iter().flatten().count();
            assert!((5..10).contains(&touching), "{touching}");
            let count = force.len();
            let mut coded = DMatrix::zeros(count, count);
            for (node, push) in settled.pushes.iter().enumerate() {
                if let Some(push) = push {
                    coded
                        .fixed_view_mut::<2, 2>(2 * node, 2 * node)
                        .copy_from(&push.stiffness);
                }
            }
            let hard = coded.amax();
            let softer = seat.softer(&settled, |node| places[node]).unwrap();
            for (freedom, less) in softer.lone() {
                let mut own = coded.fixed_view_mut::<2, 2>(freedom, freedom);
                own += less;
            }
            let freedoms: Vec<usize> = softer.freedoms().collect();
            for (at, column) in freedoms.iter().enumerate() {
                let mut there = DVector::zeros(freedoms.len());
                there[at] = 1.0;
                let less = softer.product(&there).unwrap();
                for (row, less) in freedoms.iter().zip(less.iter()) {
                    coded[(*row, *column)] -= less;
                }
            }
            for freedom in 0..count {
                let moved = |by: f64| {
                    let mut places = places.clone();
                    places[freedom / 2][freedom % 2] += by;
                    forces(&seat, &places).0
                };
                let slope = (moved(1e-7) - moved(-1e-7)) / 2e-7;
                let off = (coded.column(freedom) + slope).amax();
                assert!(off < 1e-4 * hard, "{shapes} {freedom}: {off} of {hard}");
            }
        }
    }

    #[test]
    fn a_block_that_gives_pushes_less_than_its_layer() {
        let (mut die, face) = die(40);
        die.friction = 0.0;
        let (nodes, places) = standing(&face);
        let seat = Seat::new(
            &die,
            nodes.clone(),
            |node| places[node],
            &DVector::zeros(40),
        );
        let (force, settled) = forces(&seat, &places);
        let alone: f64 = nodes
            .iter()
            .zip(&places)
            .filter_map(|(standing, place)| die.push(*place, standing.area_mm, None))
            .map(|push| push.force.norm())
            .sum();
        let pushed: f64 = (0..places.len())
            .map(|node| force.rows(2 * node, 2).norm())
            .sum();
        assert!(pushed > 0.0 && pushed < 0.2 * alone, "{pushed} of {alone}");
        // In balance: each shape is out as far as the pushes on the face load it.
        let (missing, largest) = seat.missing(&settled.out, &settled.pushes);
        assert!(missing.amax() <= 1e-8 * largest);
    }
}

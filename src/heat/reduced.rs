//! The plate as a few numbers: what each board part and each heat pipe does to every other.
//!
//! From one solution of the whole plate (see [`crate::conduction::plate::Answers`]) every what-if about pads, contacts, gaps, heats,
//! pipes and air is a small system of equations, one for each part and pipe.
//!
//! Heats, board, pipes and air stand in them as they are. Another resistance of a pad or joint changes what every port does
//! to every other in proportion to it (Tellegen's theorem, see [`Reduced::with_changes`]): to first order exactly, for its
//! size in second order wrong. `tests/heat/heat_whatifs.rs` says how much that is.

use super::lanes::Lanes;
use super::loads::{Packed, PartLoad, PipeLoad, Solution};
use crate::conduction::plate::{Answers, Cells};
use nalgebra::DMatrix;

/// With more ports than this a pad's or joint's change stands in series with its own heat only, which is then off by some
/// percent of what it does: the whole is as large as the cube of the ports.
const MOST_PORTS: usize = 64;

/// The plate as a few numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// Rise of each part's port for a watt from each part, pipes at zero, K/W.
    pub rise_k_w: DMatrix<f64>,
    /// How much of each pipe's temperature each part's port has.
    pub follows: DMatrix<f64>,
    /// Heat that leaves each pipe for a kelvin at each, parts adiabatic, W/K.
    pub between_w_k: DMatrix<f64>,
    changes: Vec<PortChange>,
    packed: Packed,
}

/// Change of the three matrices of [`Reduced`] for a K/W more at one port.
#[derive(Debug, Clone, PartialEq)]
pub struct PortChange {
    /// Of `rise_k_w`.
    pub rise_k_w: DMatrix<f64>,
    /// Of `follows`.
    pub follows: DMatrix<f64>,
    /// Of `between_w_k`.
    pub between_w_k: DMatrix<f64>,
}

fn pack(rise: &DMatrix<f64>, follows: &DMatrix<f64>, between: &DMatrix<f64>) -> Vec<f64> {
    // Symmetric: what stands below the diagonal in a row is what stands above it in the column.
    let lower = rise.column_iter().enumerate().flat_map(|(row, column)| {
        let entries: Vec<f64> = column.iter().take(row + 1).copied().collect();
        entries
    });
    lower
        .chain(follows.iter().copied())
        .chain(between.iter().copied())
        .collect()
}

impl Reduced {
    /// Reduces the answers of a plate whose parts all face metal; `None` when one does not. What pads and joints get more
    /// stands in series with their own heat only, see [`Self::with_changes`].
    pub fn of(cells: &Cells, answers: &Answers) -> Option<Self> {
        Self::of_flows(cells.parts, &answers.flows)
    }

    /// The same with what resistances of pads and joints do to it.
    ///
    /// `per_mm2` says for each port how much its resistance, K/W, grows for a mm²·K/W more under it, as its heat flows at
    /// present. What a part's pad gets more acts on its own heat as on all currents that run through it: with i and j the
    /// heat through each tie for a unit at two ports, what the one does to the other changes by Σ i·j·dr/area. For a pipe
    /// what lies in series with all its heat is left to the equations, and the rest stands here.
    ///
    /// # Source
    /// Tellegen's theorem for two states of a network, before and after: Σ over ports of (T'·I − T·I') = Σ over ties of
    /// i·i'·dr; to first order i' is the current before.
    #[must_use]
    pub fn with_changes(self, cells: &Cells, answers: &Answers, per_mm2: &[f64]) -> Self {
        let (parts, pipes) = self.follows.shape();
        let ports = parts + pipes;
        if ports > MOST_PORTS {
            return self;
        }
        // Temperatures of all ports for a watt from each part, pipes at zero, and for a kelvin at each pipe, no heat
        // from parts.
        let mut units = DMatrix::zeros(ports, ports);
        units
            .view_mut((0, 0), (parts, parts))
            .copy_from(&self.rise_k_w);
        units
            .view_mut((0, parts), (parts, pipes))
            .copy_from(&self.follows);
        units
            .view_mut((parts, parts), (pipes, pipes))
            .fill_with_identity();
        let changes: Vec<PortChange> = cells
            .ports
            .iter()
            .zip(per_mm2)
            .enumerate()
            .map(|(number, (port, per_mm2))| {
                let for_ports = DMatrix::from_fn(port.ties.len(), ports, |tie, other| {
                    let own = if other == number { 1.0 } else { 0.0 };
                    port.ties.get(tie).map_or(0.0, |tie| {
                        let field = answers.fields.get(other);
                        let at = field.and_then(|field| field.get(tie.node));
                        tie.conductance_w_k * (own - at.copied().unwrap_or(0.0))
                    })
                });
                let mut through = for_ports * &units;
                let in_series = through.row_sum();
                for (mut row, tie) in through.row_iter_mut().zip(&port.ties) {
                    row /= (tie.area_mm2 * per_mm2).sqrt();
                }
                let mut all = through.tr_mul(&through);
                if number >= parts {
                    all -= in_series.tr_mul(&in_series);
                }
                PortChange {
                    rise_k_w: all.view((0, 0), (parts, parts)).into_owned(),
                    follows: all.view((0, parts), (parts, pipes)).into_owned(),
                    between_w_k: -all.view((parts, parts), (pipes, pipes)),
                }
            })
            .collect();
        self.changed_by(changes)
    }

    fn changed_by(mut self, changes: Vec<PortChange>) -> Self {
        let columns: Vec<Vec<f64>> = changes
            .iter()
            .map(|change| pack(&change.rise_k_w, &change.follows, &change.between_w_k))
            .collect();
        self.packed.changes = (0..self.packed.base.len())
            .flat_map(|entry| {
                columns
                    .iter()
                    .map(move |column| column.get(entry).copied().unwrap_or(0.0))
            })
            .collect();
        self.changes = changes;
        self
    }

    /// What a K/W more at each port does, if that is known: parts, then pipes. What a pipe gets more stands in series with
    /// its heat besides.
    pub fn changes(&self) -> &[PortChange] {
        &self.changes
    }

    /// Reduces the heat from each port (row) for a kelvin at each (column), W/K; board parts come first.
    fn of_flows(parts: usize, flows: &[Vec<f64>]) -> Option<Self> {
        let ports = flows.len();
        let flow = |row: usize, column: usize| {
            let row = flows.get(row);
            row.and_then(|row| row.get(column)).copied().unwrap_or(0.0)
        };
        // Symmetric but for rounding.
        let even = |row: usize, column: usize| f64::midpoint(flow(row, column), flow(column, row));
        let own = DMatrix::from_fn(parts, parts, even);
        let cross = DMatrix::from_fn(parts, ports - parts, |row, column| {
            even(row, parts + column)
        });
        let pipes = DMatrix::from_fn(ports - parts, ports - parts, |row, column| {
            even(parts + row, parts + column)
        });
        let rise_k_w = if parts == 0 {
            own
        } else {
            own.cholesky()?.inverse()
        };
        let follows = -(&rise_k_w * &cross);
        let between_w_k = pipes + cross.transpose() * &follows;
        let (rise_k_w, between_w_k) = (symmetric(&rise_k_w), symmetric(&between_w_k));
        let packed = Packed {
            base: pack(&rise_k_w, &follows, &between_w_k),
            changes: Vec::new(),
        };
        Some(Self {
            rise_k_w,
            follows,
            between_w_k,
            changes: Vec::new(),
            packed,
        })
    }

    /// What the equations are made of.
    pub(super) fn packed(&self) -> &Packed {
        &self.packed
    }

    /// Solves one what-if; `None` when the numbers given make no solution.
    pub fn solve(&self, parts: &[PartLoad], pipes: &[PipeLoad]) -> Option<Solution> {
        let mut lanes = Lanes::<1>::of(&self.packed, self.follows.shape());
        lanes.put(0, parts.iter().copied(), pipes.iter().copied());
        if lanes.solve() != [true] {
            return None;
        }
        let of = |list: &[[f64; 1]]| -> Vec<f64> { list.iter().map(|[value]| *value).collect() };
        let top_k = of(&lanes.top_k);
        let pipe_ports_k = of(&lanes.pipe_ports_k);
        let into_pipe_w = of(&lanes.into_pipe_w());
        let vapour_k = pipe_ports_k
            .iter()
            .zip(&into_pipe_w)
            .zip(pipes)
            .map(|((port_k, heat_w), pipe)| port_k - heat_w * pipe.joint_change_k_w)
            .collect();
        Some(Solution {
            into_plate_w: of(&lanes.into_plate_w),
            inside_k: of(&lanes.inside_k),
            ports_k: top_k.iter().chain(&pipe_ports_k).copied().collect(),
            top_k,
            vapour_k,
            into_pipe_w,
        })
    }
}

/// Without what rounding made of a symmetric matrix.
fn symmetric(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    (matrix + matrix.transpose()) / 2.0
}

#[cfg(test)]
mod tests {
    use super::super::loads::{BoardPath, Holding};
    use super::*;
    use nalgebra::DVector;
    use proptest::prelude::*;

    /// Conductances between all ports and from each to the air, as the heat from each port for a kelvin at each.
    fn flows(ports: usize, numbers: &[f64]) -> Vec<Vec<f64>> {
        let mut numbers = numbers.iter().copied().cycle();
        let mut matrix = vec![vec![0.0; ports]; ports];
        for row in 0..ports {
            matrix[row][row] += 0.01 * numbers.next().unwrap();
            for column in 0..row {
                let conductance = numbers.next().unwrap();
                matrix[row][column] -= conductance;
                matrix[column][row] -= conductance;
                matrix[row][row] += conductance;
                matrix[column][column] += conductance;
            }
        }
        matrix
    }

    fn loads(
        [parts, pipes]: [usize; 2],
        with_board: bool,
        numbers: &[f64],
    ) -> (Vec<PartLoad>, Vec<PipeLoad>) {
        let mut numbers = numbers.iter().rev().copied().cycle();
        let mut next = || numbers.next().unwrap();
        let parts = (0..parts).map(|_| PartLoad {
            heat_w: 4.0 * next(),
            inside_k_w: 5.0 * next(),
            board: with_board.then(|| BoardPath {
                board_k: 60.0 * next(),
                resistance_k_w: 0.1 + 20.0 * next(),
            }),
            pad_change_k_w: 2.0 * next() - 0.5,
        });
        let parts = parts.collect();
        let pipes = (0..pipes).map(|number| PipeLoad {
            held_by: if number % 2 == 0 {
                Holding::Air {
                    resistance_k_w: next(),
                    other_heat_w: 50.0 * next(),
                }
            } else {
                Holding::Temperature {
                    above_air_k: 30.0 * next(),
                }
            },
            joint_change_k_w: 0.1 * next(),
        });
        (parts, pipes.collect())
    }

    /// Port temperatures from all equations at once, nothing reduced.
    fn ports_at_once(flows: &[Vec<f64>], parts: &[PartLoad], pipes: &[PipeLoad]) -> DVector<f64> {
        let ports = flows.len();
        let heat = DMatrix::from_fn(ports, ports, |row, column| flows[row][column]);
        let mut matrix = DMatrix::zeros(ports, ports);
        let mut side = DVector::zeros(ports);
        for (number, part) in parts.iter().enumerate() {
            if let Some(path) = part.board {
                // Port + heat × what lies between = inside; heat + (inside − board) / its way = heat made.
                let between = part.inside_k_w + part.pad_change_k_w + path.resistance_k_w;
                let row = heat.row(number) * between;
                matrix.row_mut(number).copy_from(&row);
                matrix[(number, number)] += 1.0;
                side[number] = path.board_k + path.resistance_k_w * part.heat_w;
            } else {
                matrix.row_mut(number).copy_from(&heat.row(number));
                side[number] = part.heat_w;
            }
        }
        for (number, pipe) in pipes.iter().enumerate() {
            let row = parts.len() + number;
            let (resistance, base) = match pipe.held_by {
                Holding::Temperature { above_air_k } => (0.0, above_air_k),
                Holding::Air {
                    resistance_k_w,
                    other_heat_w,
                } => (resistance_k_w, resistance_k_w * other_heat_w),
            };
            let slope = resistance + pipe.joint_change_k_w;
            matrix.row_mut(row).copy_from(&(heat.row(row) * slope));
            matrix[(row, row)] += 1.0;
            side[row] = base;
        }
        matrix.lu().solve(&side).unwrap()
    }

    proptest! {
        #[test]
        fn few_numbers_say_what_all_equations_say(
            parts in 0usize..9, pipes in 1usize..4, with_board: bool,
            numbers in prop::collection::vec(0.05f64..1.0, 40..80),
        ) {
            let flows = flows(parts + pipes, &numbers);
            let reduced = Reduced::of_flows(parts, &flows).unwrap();
            let (part_loads, pipe_loads) = loads([parts, pipes], with_board, &numbers);
            let state = reduced.solve(&part_loads, &pipe_loads).unwrap();
            let ports = ports_at_once(&flows, &part_loads, &pipe_loads);
            for (number, (got, wanted)) in state.ports_k.iter().zip(ports.iter()).enumerate() {
                // Tops lie above what was added to their pads.
                let more_k = part_loads.get(number).map_or(0.0, |load| {
                    load.pad_change_k_w * state.into_plate_w[number]
                });
                prop_assert!((got - wanted - more_k).abs() < 1e-7, "{got} {wanted} {more_k}");
            }
            // Heat from each port by the conductances themselves.
            for (row, flows) in flows.iter().enumerate() {
                let flow: f64 = flows.iter().zip(ports.iter()).map(|(flow, port)| flow * port).sum();
                let got = match row.checked_sub(parts) {
                    None => state.into_plate_w[row],
                    Some(pipe) => -state.into_pipe_w[pipe],
                };
                prop_assert!((got - flow).abs() < 1e-7, "{got} {flow}");
            }
        }

        #[test]
        fn a_what_if_has_the_same_bits_alone_and_beside_others(
            parts in 1usize..15, pipes in 1usize..4, with_board: bool,
            numbers in prop::collection::vec(0.05f64..1.0, 40..80),
        ) {
            let reduced = Reduced::of_flows(parts, &flows(parts + pipes, &numbers)).unwrap();
            let mut lanes = Lanes::<8>::of(&reduced.packed, reduced.follows.shape());
            let mut alone = Vec::new();
            for lane in 0..8 {
                let (part_loads, pipe_loads) = loads([parts, pipes], with_board, &numbers[lane..]);
                lanes.put(lane, part_loads.iter().copied(), pipe_loads.iter().copied());
                alone.push(reduced.solve(&part_loads, &pipe_loads).unwrap());
            }
            prop_assert_eq!(lanes.solve(), [true; 8]);
            for (lane, state) in alone.iter().enumerate() {
                for (side, own) in lanes.inside_k.iter().zip(&state.inside_k) {
                    prop_assert_eq!(side[lane].to_bits(), own.to_bits());
                }
            }
        }
    }

    #[test]
    fn what_has_no_answer_says_so_and_leaves_others_alone() {
        let reduced = Reduced::of_flows(2, &flows(3, &[0.3, 0.5])).unwrap();
        let (good, pipe) = loads([2, 1], true, &[0.4, 0.7]);
        // A way in to the board that is less than none, and one part of two without a board.
        let mut wrong = good.clone();
        wrong[0].pad_change_k_w = -1e3;
        let mut half = good.clone();
        half[1].board = None;
        let (no_board, _) = loads([2, 1], false, &[0.4, 0.7]);
        for bad in [&wrong, &half] {
            assert!(reduced.solve(bad, &pipe).is_none());
        }
        assert!(reduced.solve(&no_board, &pipe).is_some());
        let mut lanes = Lanes::<4>::of(&reduced.packed, reduced.follows.shape());
        for (lane, parts) in [&good, &wrong, &half, &no_board].into_iter().enumerate() {
            lanes.put(lane, parts.iter().copied(), pipe.iter().copied());
        }
        assert_eq!(lanes.solve(), [true, false, false, false]);
        let alone = reduced.solve(&good, &pipe).unwrap();
        assert_eq!(lanes.inside_k[0][0].to_bits(), alone.inside_k[0].to_bits());
    }
}

//! A plate solved: cells refined until nothing that is reported moves, and the few numbers that answer what-ifs.

use super::filling::Filling;
use super::loads::{PartLoad, PipeLoad, Solution};
use super::reduced::Reduced;
use crate::conduction::network::Unsolvable;
use crate::conduction::plate::{Answers, Cells, CutOff, Plate, Port};
use schemars::JsonSchema;

/// The first grid has cells of about this size, mm, but see [`MOST_FIRST_CELLS`].
const FIRST_MM: f64 = 1.0;
/// On the largest plates the first grid has this many cells.
const MOST_FIRST_CELLS: f64 = 12_000.0;
/// Each grid has cells this much smaller than the one before.
const FINER: f64 = 0.5;
/// No grid has more nodes than this.
const MOST_NODES: usize = 150_000;
/// Reported temperatures may move by this from one grid to the next, K.
pub const GRID_CHANGE_K: f64 = 0.1;
/// The filling under a part is told apart by gap in at most this many groups.
const GROUPS: usize = 8;
/// Gaps this near each other are one group, mm.
const SAME_GAP_MM: f64 = 0.01;

/// How fine the grid is, and what that is worth.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, JsonSchema)]
pub struct GridReport {
    /// About the size of a cell.
    pub cell_mm: f64,
    /// Nodes of the network.
    pub nodes: usize,
    /// Layers through each sheet.
    pub layers: usize,
    /// Largest change of a reported temperature from the grid before, K; infinite, null in JSON, of a first grid.
    #[schemars(with = "Option<f64>")]
    pub change_k: f64,
    /// Whether that is small enough.
    pub converged: bool,
    /// Heat in less heat out, W.
    pub imbalance_w: f64,
}

/// Ties of one gap under a part.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Group {
    gap_mm: f64,
    /// Sum of squared shares of the heat over areas, 1/mm².
    per_mm2: f64,
}

/// A plate solved.
pub struct Solved {
    /// Its cells.
    pub cells: Cells,
    /// Its answers.
    pub answers: Answers,
    /// Its few numbers.
    pub reduced: Reduced,
    /// How fine the grid is.
    pub grid: GridReport,
    /// The state that was asked for.
    pub state: Solution,
    /// Temperature of every node in that state, above air.
    pub field_k: Vec<f64>,
    groups: Vec<Vec<Group>>,
    /// For each heat pipe, sum of squared shares of its heat over areas, 1/mm².
    seats: Vec<f64>,
}

/// Why a plate has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoAnswer {
    /// Pieces of the plate that no heat pipe reaches.
    #[error("a piece of the plate is cut off from every heat pipe")]
    CutOff(Vec<CutOff>),
    /// No metal faces this part (by its number among those given).
    #[error("part {0} faces no metal")]
    Uncovered(usize),
    /// This heat pipe (by its number) touches no metal.
    #[error("heat pipe {0} touches no metal")]
    Unseated(usize),
    /// The equations have no solution.
    #[error(transparent)]
    Unsolvable(#[from] Unsolvable),
    /// The numbers given make no solution.
    #[error("the temperatures have no solution")]
    NoState,
}

impl Solved {
    /// Solves a plate on one grid.
    ///
    /// # Errors
    /// See [`NoAnswer`].
    pub fn on_grid(
        plate: &Plate<'_>,
        parts: &[PartLoad],
        pipes: &[PipeLoad],
        cell_mm: f64,
        layers: usize,
    ) -> Result<Self, NoAnswer> {
        Self::of_cells(
            Cells::of(plate, cell_mm, layers),
            parts,
            pipes,
            cell_mm,
            layers,
        )
    }

    fn of_cells(
        cells: Cells,
        parts: &[PartLoad],
        pipes: &[PipeLoad],
        cell_mm: f64,
        layers: usize,
    ) -> Result<Self, NoAnswer> {
        if let Some(port) = cells.ports.iter().position(|port| port.ties.is_empty()) {
            return Err(match port.checked_sub(cells.parts) {
                None => NoAnswer::Uncovered(port),
                Some(pipe) => NoAnswer::Unseated(pipe),
            });
        }
        if !cells.cut_off.is_empty() {
            return Err(NoAnswer::CutOff(cells.cut_off.clone()));
        }
        let answers = cells.answers()?;
        let reduced = Reduced::of(&cells, &answers).ok_or(NoAnswer::NoState)?;
        let state = reduced.solve(parts, pipes).ok_or(NoAnswer::NoState)?;
        let field_k = answers.field(&state.ports_k);
        let shares: Vec<Vec<f64>> = cells
            .ports
            .iter()
            .zip(&state.ports_k)
            .map(|(port, port_k)| shares(port, *port_k, &field_k))
            .collect();
        let groups = cells
            .ports
            .iter()
            .zip(&shares)
            .take(cells.parts)
            .map(|(port, shares)| groups(port, shares))
            .collect();
        let per_mm2: Vec<f64> = cells
            .ports
            .iter()
            .zip(&shares)
            .map(|(port, shares)| {
                let ties = port.ties.iter().zip(shares);
                ties.map(|(tie, share)| share * share / tie.area_mm2).sum()
            })
            .collect();
        let reduced = reduced.with_changes(&cells, &answers, &per_mm2);
        let seats = per_mm2.into_iter().skip(cells.parts).collect();
        let mut solved = Self {
            grid: GridReport {
                cell_mm,
                nodes: cells.network.nodes(),
                layers,
                change_k: f64::INFINITY,
                converged: false,
                imbalance_w: 0.0,
            },
            cells,
            answers,
            reduced,
            state,
            field_k,
            groups,
            seats,
        };
        solved.grid.imbalance_w = solved.imbalance_w();
        Ok(solved)
    }

    /// Solves a plate on finer and finer grids until inside temperatures move less than [`GRID_CHANGE_K`].
    ///
    /// # Errors
    /// See [`NoAnswer`].
    pub fn refined(
        plate: &Plate<'_>,
        parts: &[PartLoad],
        pipes: &[PipeLoad],
        layers: usize,
    ) -> Result<Self, NoAnswer> {
        let mut cell_mm = first_cell_mm(plate, layers);
        let mut solved = Self::on_grid(plate, parts, pipes, cell_mm, layers)?;
        loop {
            cell_mm *= FINER;
            let cells = Cells::of(plate, cell_mm, layers);
            if cells.network.nodes() > MOST_NODES {
                return Ok(solved);
            }
            let mut finer = Self::of_cells(cells, parts, pipes, cell_mm, layers)?;
            let now = finer.state.inside_k.iter();
            finer.grid.change_k = now
                .zip(&solved.state.inside_k)
                .map(|(now, before)| (now - before).abs())
                .fold(0.0, f64::max);
            finer.grid.converged = finer.grid.change_k < GRID_CHANGE_K;
            solved = finer;
            if solved.grid.converged {
                return Ok(solved);
            }
        }
    }

    /// Resistance that a part's filling has beyond that of the solution, K/W, with gaps wider by `wider_mm`.
    pub fn pad_change_k_w(&self, part: usize, before: Filling, now: Filling, wider_mm: f64) -> f64 {
        self.groups.get(part).map_or(0.0, |groups| {
            groups
                .iter()
                .map(|group| {
                    group.per_mm2
                        * (now.resistance_mm2k_w(group.gap_mm + wider_mm)
                            - before.resistance_mm2k_w(group.gap_mm))
                })
                .sum()
        })
    }

    /// Resistance that a joint of so much more resistance times area has, K/W.
    pub fn joint_change_k_w(&self, pipe: usize, more_mm2k_w: f64) -> f64 {
        self.seats.get(pipe).map_or(0.0, |per| per * more_mm2k_w)
    }

    /// Resistances of a part's contact and of all its filling, K/W, as they act on its heat.
    pub fn filling_k_w(&self, part: usize, filling: Filling) -> (f64, f64) {
        let none = Vec::new();
        let groups = self.groups.get(part).unwrap_or(&none);
        let per: f64 = groups.iter().map(|group| group.per_mm2).sum();
        let all = groups
            .iter()
            .map(|group| group.per_mm2 * filling.resistance_mm2k_w(group.gap_mm))
            .sum();
        (per * filling.contact_mm2k_w(), all)
    }

    /// Widest gap over a part that carries heat to speak of.
    pub fn widest_gap_mm(&self, part: usize) -> Option<f64> {
        let groups = self.groups.get(part)?;
        groups.iter().map(|group| group.gap_mm).reduce(f64::max)
    }

    /// Mean gap over a part, weighed by area.
    pub fn gap_mm(&self, part: usize) -> f64 {
        self.cells.ports.get(part).map_or(0.0, |port| {
            let volume: f64 = port.ties.iter().map(|tie| tie.area_mm2 * tie.gap_mm).sum();
            volume / port.area_mm2()
        })
    }

    /// Heat that the bare faces lose, W.
    pub fn lost_w(&self) -> f64 {
        self.cells
            .losses
            .iter()
            .map(|(node, conductance)| {
                conductance * self.field_k.get(*node).copied().unwrap_or(0.0)
            })
            .sum()
    }

    /// Heat from each port into the plate, W, summed over its ties.
    pub fn flows_w(&self) -> Vec<f64> {
        self.cells
            .ports
            .iter()
            .zip(&self.state.ports_k)
            .map(|(port, port_k)| {
                port.ties
                    .iter()
                    .map(|tie| {
                        let at = self.field_k.get(tie.node).copied().unwrap_or(0.0);
                        tie.conductance_w_k * (port_k - at)
                    })
                    .sum()
            })
            .collect()
    }

    /// Heat into the plate less heat out of it, from the field itself.
    fn imbalance_w(&self) -> f64 {
        let flows = self.flows_w();
        let given = |list: &[f64]| list.iter().sum::<f64>();
        let parts = flows.get(..self.cells.parts).unwrap_or(&[]);
        let into = given(&self.state.into_plate_w);
        // What the field carries, and that it carries what the parts give.
        let field = given(&flows) - self.lost_w();
        let handed = into - given(parts);
        if field.abs() > handed.abs() {
            field
        } else {
            handed
        }
    }
}

fn first_cell_mm(plate: &Plate<'_>, layers: usize) -> f64 {
    let (low, high) = plate
        .loops
        .first()
        .map(crate::geometry::Loop::bounds)
        .unwrap_or_default();
    let area = (high.x - low.x) * (high.y - low.y);
    FIRST_MM.max((area * layers as f64 / MOST_FIRST_CELLS).sqrt())
}

/// Heat that goes one way by this much of it is shared out as it goes.
const ONE_WAY: f64 = 0.9;

/// Share of a port's heat through each of its ties; by conductance where heat goes both ways.
fn shares(port: &Port, port_k: f64, field_k: &[f64]) -> Vec<f64> {
    let flows: Vec<f64> = port
        .ties
        .iter()
        .map(|tie| {
            let at = field_k.get(tie.node).copied().unwrap_or(0.0);
            tie.conductance_w_k * (port_k - at)
        })
        .collect();
    let sum: f64 = flows.iter().sum();
    let size: f64 = flows.iter().map(|flow| flow.abs()).sum();
    if sum.abs() > ONE_WAY * size && sum != 0.0 {
        return flows.iter().map(|flow| flow / sum).collect();
    }
    let all = port.conductance_w_k();
    port.ties
        .iter()
        .map(|tie| tie.conductance_w_k / all)
        .collect()
}

fn groups(port: &Port, shares: &[f64]) -> Vec<Group> {
    let mut ties: Vec<(f64, f64)> = port
        .ties
        .iter()
        .zip(shares)
        .map(|(tie, share)| (tie.gap_mm, share * share / tie.area_mm2))
        .collect();
    ties.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (Some(first), Some(last)) = (ties.first().copied(), ties.last().copied()) else {
        return Vec::new();
    };
    let width = ((last.0 - first.0) / GROUPS as f64).max(SAME_GAP_MM);
    let mut groups: Vec<Group> = Vec::new();
    let mut end_mm = f64::NEG_INFINITY;
    for (gap_mm, per_mm2) in ties {
        match groups.last_mut() {
            Some(group) if gap_mm <= end_mm => {
                let sum = group.per_mm2 + per_mm2;
                if sum > 0.0 {
                    group.gap_mm += (gap_mm - group.gap_mm) * per_mm2 / sum;
                }
                group.per_mm2 = sum;
            }
            _ => {
                end_mm = gap_mm + width;
                groups.push(Group { gap_mm, per_mm2 });
            }
        }
    }
    groups
}

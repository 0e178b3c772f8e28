//! The plate as a few numbers: what each board part and each heat pipe does to every other.
//!
//! From one solution of the whole plate (see [`super::plate::Answers`]) every what-if about pads, contacts, gaps, heats,
//! pipes and air is a small system of equations, one for each part and pipe. What-ifs of pads and joints keep the way
//! heat spreads over the pad; they are exact where nothing changes and wrong in second order where much does.

use super::plate::{Answers, Cells};
use nalgebra::{DMatrix, DVector};

/// What is asked of one board part; temperatures are above the air's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartLoad {
    /// Heat it makes.
    pub heat_w: f64,
    /// From its hottest inside to its top.
    pub inside_k_w: f64,
    /// Resistance to the board and the board's temperature; `None`: no heat goes there.
    pub board: Option<BoardPath>,
    /// Resistance of its pad beyond that of the solution, K/W.
    pub pad_change_k_w: f64,
}

/// The way into the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoardPath {
    /// Board above air.
    pub board_k: f64,
    /// From the inside of the part to the board.
    pub resistance_k_w: f64,
}

/// What a heat pipe does, air at nought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeLoad {
    /// What holds its vapour.
    pub held_by: Holding,
    /// Resistance of its joint beyond that of the solution, K/W.
    pub joint_change_k_w: f64,
}

/// What holds the vapour of a heat pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holding {
    /// A temperature above the air's.
    Temperature {
        /// The temperature above the air's.
        above_air_k: f64,
    },
    /// A resistance to the air, with other heat on the same pipe.
    Air {
        /// From vapour to air.
        resistance_k_w: f64,
        /// What something else puts into the pipe.
        other_heat_w: f64,
    },
}

/// Temperatures and heats of one what-if; temperatures above the air's.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Heat of each part that goes up into the plate.
    pub into_plate_w: Vec<f64>,
    /// Inside of each part.
    pub inside_k: Vec<f64>,
    /// Top of each part.
    pub top_k: Vec<f64>,
    /// Temperature that each port of the solution has: parts, then pipes.
    pub ports_k: Vec<f64>,
    /// Vapour of each pipe.
    pub vapour_k: Vec<f64>,
    /// Heat of the plate that each pipe takes.
    pub into_pipe_w: Vec<f64>,
}

/// The plate as a few numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// Rise of each part's port for a watt from each part, pipes at nought, K/W.
    pub rise_k_w: DMatrix<f64>,
    /// How much of each pipe's temperature each part's port has.
    pub follows: DMatrix<f64>,
    /// Heat that leaves each pipe for a kelvin at each, parts adiabatic, W/K.
    pub between_w_k: DMatrix<f64>,
}

impl Reduced {
    /// Reduces the answers of a plate whose parts all face metal; `None` when one does not.
    pub fn of(cells: &Cells, answers: &Answers) -> Option<Self> {
        let parts = cells.parts;
        let ports = cells.ports.len();
        let flow = |row: usize, column: usize| {
            let row = answers.flows.get(row);
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
        Some(Self {
            rise_k_w,
            follows,
            between_w_k,
        })
    }

    /// Solves one what-if; `None` when the numbers given make no solution.
    pub fn solve(&self, parts: &[PartLoad], pipes: &[PipeLoad]) -> Option<State> {
        // Each pipe: port temperature = slope × heat into it + base.
        let slope = DVector::from_iterator(
            pipes.len(),
            pipes.iter().map(|pipe| {
                pipe.joint_change_k_w
                    + match pipe.held_by {
                        Holding::Temperature { .. } => 0.0,
                        Holding::Air { resistance_k_w, .. } => resistance_k_w,
                    }
            }),
        );
        let base = DVector::from_iterator(
            pipes.len(),
            pipes.iter().map(|pipe| match pipe.held_by {
                Holding::Temperature { above_air_k } => above_air_k,
                Holding::Air {
                    resistance_k_w,
                    other_heat_w,
                } => resistance_k_w * other_heat_w,
            }),
        );
        // Port temperatures of the pipes = gain × (slope × taken heat + base).
        let mut gain = DMatrix::from_fn(pipes.len(), pipes.len(), |row, column| {
            let unit = if row == column { 1.0 } else { 0.0 };
            let slope = slope.get(row).copied().unwrap_or(0.0);
            unit + slope * self.between_w_k.get((row, column)).copied().unwrap_or(0.0)
        });
        if !gain.try_inverse_mut() {
            return None;
        }
        let floor = &gain * &base;
        // Heat of each part that makes it warm the pipes: gain × slope × followsᵀ.
        let mut warmed = self.follows.transpose();
        for (mut row, slope) in warmed.row_iter_mut().zip(slope.iter()) {
            row *= *slope;
        }
        let warmed = &gain * warmed;
        let heat = DVector::from_iterator(parts.len(), parts.iter().map(|part| part.heat_w));
        let into_plate = if parts.iter().any(|part| part.board.is_some()) {
            let mut matrix = &self.rise_k_w + &self.follows * &warmed;
            let mut side = -(&self.follows * &floor);
            for (number, part) in parts.iter().enumerate() {
                let path = part.board?;
                let series = part.inside_k_w + part.pad_change_k_w + path.resistance_k_w;
                *matrix.get_mut((number, number))? += series;
                *side.get_mut(number)? += path.board_k + path.resistance_k_w * part.heat_w;
            }
            matrix.cholesky()?.solve(&side)
        } else {
            heat
        };
        let pipe_ports = &warmed * &into_plate + floor;
        let part_ports = &self.rise_k_w * &into_plate + &self.follows * &pipe_ports;
        let into_pipe = self.follows.transpose() * &into_plate - &self.between_w_k * &pipe_ports;
        let ports = part_ports.iter().zip(into_plate.iter()).zip(parts);
        let top_k: Vec<f64> = ports
            .map(|((port_k, heat_w), part)| port_k + heat_w * part.pad_change_k_w)
            .collect();
        let inside_k = top_k
            .iter()
            .zip(into_plate.iter())
            .zip(parts)
            .map(|((top_k, heat_w), part)| top_k + heat_w * part.inside_k_w)
            .collect();
        let vapour_k = pipe_ports
            .iter()
            .zip(into_pipe.iter())
            .zip(pipes)
            .map(|((port_k, heat_w), pipe)| port_k - heat_w * pipe.joint_change_k_w)
            .collect();
        Some(State {
            into_plate_w: into_plate.iter().copied().collect(),
            inside_k,
            top_k,
            ports_k: part_ports
                .iter()
                .chain(pipe_ports.iter())
                .copied()
                .collect(),
            vapour_k,
            into_pipe_w: into_pipe.iter().copied().collect(),
        })
    }
}

//! What is asked of board parts and heat pipes, what comes out, and what the small equations are made of.

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

/// What a heat pipe does, air at zero.
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
pub struct Solution {
    /// Heat of each part that goes up into the plate.
    pub into_plate_w: Vec<f64>,
    /// Inside of each part.
    pub inside_k: Vec<f64>,
    /// Top of each part.
    pub top_k: Vec<f64>,
    /// Temperature of each port: tops of parts, then pipes below what was added to their joints.
    pub ports_k: Vec<f64>,
    /// Vapour of each pipe.
    pub vapour_k: Vec<f64>,
    /// Heat of the plate that each pipe takes.
    pub into_pipe_w: Vec<f64>,
}

/// What the equations are made of, in the order in which they take it: rows of the lower half of `rise_k_w`, columns of
/// `follows`, columns of `between_w_k`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Packed {
    /// With nothing changed.
    pub base: Vec<f64>,
    /// For each of them, how it changes with each port's resistance: parts, then pipes. When empty, what a part gets more
    /// stands in series with its own heat only.
    pub changes: Vec<f64>,
}

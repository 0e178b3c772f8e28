//! Why a pressing gave no answer.

use serde::{Deserialize, Serialize};

/// Why a problem cannot be set up.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error, Serialize, Deserialize)]
pub enum Impossible {
    /// A nose would have no radius.
    #[error("a nose of the die would have no radius left")]
    NoNose,
    /// The faces go back in x: the pair would not open.
    #[error("a face goes back on itself: the pair would not open")]
    Undercut,
    /// There is no block between a face and its back.
    #[error("a die has no block behind its face that could be calculated")]
    NoBlock,
}

/// Why a run gave no answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error, Serialize, Deserialize)]
pub enum Failed {
    /// No step, however small, came to a balance.
    #[error("no balance found with the die {lifted_mm:.4} mm above its closed place")]
    NoBalance {
        /// Where it happened.
        lifted_mm: f64,
    },
    /// It took more iterations than a press may.
    #[error(
        "{iterations} iterations, and the die still stands {lifted_mm:.2} mm above its closed place"
    )]
    TooLong {
        /// How many.
        iterations: u32,
        /// How far it came.
        lifted_mm: f64,
    },
    /// There are no such dies.
    #[error(transparent)]
    Impossible(#[from] Impossible),
    /// Somebody asked to stop.
    #[error("stopped")]
    Stopped,
    /// Letting go came to no balance.
    #[error("no balance found while letting go")]
    NoRelease,
}

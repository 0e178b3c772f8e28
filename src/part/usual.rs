//! What is taken where nobody says: distances, joints, parts, surroundings.

use super::words::{JointKind, Kind};

/// Free distance kept around a bare part when the file does not say. Common practice, no source.
pub const DEFAULT_KEEP_OUT_MM: f64 = 0.5;
/// Free distance kept around an obstacle when the file does not say. Common practice, no source.
pub const DEFAULT_OBSTACLE_CLEARANCE_MM: f64 = 0.5;
/// Solder layer between plate and extension plate when the file does not say. Common practice, no source.
pub const DEFAULT_SOLDER_MM: f64 = 0.1;

/// Air where the file does not say, °C: inside a case. Common practice, no source.
pub const DEFAULT_AIR_C: f64 = 30.0;
/// Natural convection and radiation of a small plate, W/(m²·K). From memory.
pub const DEFAULT_LOSS_W_M2K: f64 = 5.0;

/// Thickness in mm, conductivity in W/(m·K) and voids in % of a joint where the file does not say, and why these.
pub const fn usual_joint(kind: JointKind) -> (f64, f64, f64, &'static str) {
    match kind {
        JointKind::Solder => (
            0.1,
            20.0,
            10.0,
            "low-melting tin-bismuth solder, with the voids of hand work; from memory",
        ),
        JointKind::Paste => (0.05, 4.0, 0.0, "a usual thermal paste; from memory"),
        JointKind::Adhesive => (0.1, 1.0, 0.0, "a usual thermal adhesive; from memory"),
    }
}

/// From a part's inside to its top and into the board, K/W, by its kind. From memory: parts of a kind differ by a factor
/// of two.
pub const fn usual_junction_k_w(kind: Kind) -> [f64; 2] {
    match kind {
        Kind::PowerStage => [5.0, 3.0],
        Kind::Inductor => [4.0, 10.0],
        Kind::Memory => [4.0, 12.0],
        Kind::Capacitor => [10.0, 30.0],
        Kind::Other => [8.0, 20.0],
    }
}

/// Wall and sintered wick of a pipe where the file does not say, mm²·K/W. From memory.
pub const USUAL_EVAPORATION_MM2K_W: f64 = 30.0;

/// Sheet that is sold, mm. Common practice, no source.
pub const SOLD_MM: [f64; 10] = [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.5, 2.0];

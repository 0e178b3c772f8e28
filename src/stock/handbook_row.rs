//! Rows of the handbook by hardness of the sheet.

use serde::{Deserialize, Serialize};
use std::f64::consts::FRAC_PI_2;

/// Row of the three bend-allowance formulas, `L = c·T + 1.57·R` for 90°, by hardness of the sheet.
///
/// # Source
/// Machinery's Handbook, 31st ed., p. 1421, eq. 32, 33, 34.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HandbookRow {
    /// Soft brass and soft copper (eq. 32).
    Soft,
    /// Half-hard copper and brass, soft steel, aluminium (eq. 33).
    HalfHard,
    /// Bronze, hard copper, cold-rolled and spring steel (eq. 34).
    Hard,
}

impl HandbookRow {
    /// Every row, softest first.
    pub const ALL: [Self; 3] = [Self::Soft, Self::HalfHard, Self::Hard];

    /// Bend allowance of a 90° bend per thickness, without the radius term; a ratio.
    ///
    /// Source: Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34.
    pub const fn allowance_per_thickness(self) -> f64 {
        match self {
            Self::Soft => 0.55,
            Self::HalfHard => 0.64,
            Self::Hard => 0.71,
        }
    }

    /// K of this row: the arc of 90° at `K·T` is `c·T` longer than the inside arc, so `K = c / (π/2)`.
    ///
    /// The book rounds π/2 to 1.57, which moves a 90° bend by 0.0008 R; the book's own closed form is
    /// [`super::allowance::handbook_allowance_mm`].
    pub const fn k(self) -> f64 {
        self.allowance_per_thickness() / FRAC_PI_2
    }

    /// Where the row was read.
    pub const fn source(self) -> &'static str {
        match self {
            Self::Soft => {
                "Machinery's Handbook, 31st ed., p. 1421, eq. 32 (soft brass, soft copper)"
            }
            Self::HalfHard => {
                "Machinery's Handbook, 31st ed., p. 1421, eq. 33 (half-hard copper and brass, soft steel, aluminium)"
            }
            Self::Hard => {
                "Machinery's Handbook, 31st ed., p. 1421, eq. 34 (bronze, hard copper, cold-rolled and spring steel)"
            }
        }
    }
}

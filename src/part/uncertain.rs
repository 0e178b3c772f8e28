//! What is not known exactly: half-widths where nobody gave one, each with its reason.

use crate::quantity::{Toleranced, plain};

/// Half-width of a number whose writer gave none.
#[derive(Debug, Clone, Copy)]
pub enum Spread {
    /// Over the value.
    Share(f64),
    /// In the unit of the value.
    Absolute(f64),
}

impl Spread {
    fn of(self, value: f64) -> f64 {
        match self {
            Self::Share(share) => share * value,
            Self::Absolute(half_width) => half_width,
        }
    }

    /// The number with this half-width, unless it has its own.
    pub fn on(self, number: Toleranced) -> Toleranced {
        Toleranced {
            value: number.value,
            plus_minus: number.plus_minus.or(Some(self.of(number.value))),
        }
    }

    /// As told among the defaults.
    pub fn words(self) -> String {
        match self {
            Self::Share(share) => format!("{} %", plain(100.0 * share)),
            Self::Absolute(half_width) => plain(half_width),
        }
    }
}

/// Where the half-widths below come from.
pub const OWN_CHOICE: &str = "own choice";

// Half-widths where the file gives none. All of them are own choices, no source.

/// Heat of a part: mostly calculated, or read off a screen.
pub const HEAT: Spread = Spread::Share(0.2);
/// Resistances inside a part, given: a data sheet measures them on a board of its own.
pub const JUNCTION_GIVEN: Spread = Spread::Share(0.25);
/// Resistances inside a part, by its kind alone: they differ by a factor of two.
pub const JUNCTION_BY_KIND: Spread = Spread::Share(0.6);
/// A heat pipe's temperature: a thermocouple taped to it.
pub const PIPE_TEMPERATURE: Spread = Spread::Absolute(3.0);
/// Air.
pub const AIR: Spread = Spread::Absolute(2.0);
/// Board: it is not equally warm everywhere.
pub const BOARD: Spread = Spread::Absolute(10.0);
/// From a heat pipe to the air.
pub const TO_AIR: Spread = Spread::Share(0.15);
/// Heat that a pipe carries besides.
pub const OTHER_HEAT: Spread = Spread::Share(0.15);
/// Wall and wick of a pipe.
pub const EVAPORATION: Spread = Spread::Share(0.5);

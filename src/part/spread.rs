//! How far a number may be off where nobody says: one half-width for gaps, heat and press, with its reason and its source.

use crate::numbers::plain;
use crate::quantity::Toleranced;
use crate::stock::pad_heat::{CONTACT_SPREAD_SHARE, EFFECTIVE_SPREAD_SHARE, MEASURED_SPREAD_SHARE};

/// How large a half-width is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// Over the value.
    Share(f64),
    /// In the unit of the value.
    Absolute(f64),
}

/// Half-width of a number whose writer gave none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// How large it is.
    pub size: Size,
    /// Why this large.
    pub reason: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

impl Spread {
    const fn share(share: f64, reason: &'static str) -> Self {
        Self {
            size: Size::Share(share),
            reason,
            source: OWN_CHOICE,
        }
    }

    const fn absolute(half_width: f64, reason: &'static str) -> Self {
        Self {
            size: Size::Absolute(half_width),
            reason,
            source: OWN_CHOICE,
        }
    }

    /// For a value.
    pub fn of(&self, value: f64) -> f64 {
        match self.size {
            Size::Share(share) => share * value,
            Size::Absolute(half_width) => half_width,
        }
    }

    /// The number with this half-width, unless it has its own.
    pub fn on(&self, number: Toleranced) -> Toleranced {
        Toleranced {
            value: number.value,
            plus_minus: number.plus_minus.or(Some(self.of(number.value))),
        }
    }

    /// As told among the defaults.
    pub fn words(&self) -> String {
        match self.size {
            Size::Share(share) => format!("{} %", plain(100.0 * share)),
            Size::Absolute(half_width) => plain(half_width),
        }
    }
}

/// Where the half-widths below come from: nobody's book.
pub(super) const OWN_CHOICE: &str = "own choice";

/// A length under the callipers.
pub const LENGTH: Spread = Spread::absolute(0.05, "callipers held by hand on a soldered board, mm");
/// Heat of a part.
pub const HEAT: Spread = Spread::share(0.2, "mostly calculated, or read off a screen");
/// Resistances inside a part, given.
pub const JUNCTION_GIVEN: Spread =
    Spread::share(0.25, "a data sheet measures them on a board of its own");
/// Resistances inside a part, by its kind alone.
pub const JUNCTION_BY_KIND: Spread =
    Spread::share(0.6, "parts of a kind differ by a factor of two");
/// A heat pipe's temperature.
pub const PIPE_TEMPERATURE: Spread = Spread::absolute(3.0, "a thermocouple taped to it, K");
/// Air.
pub const AIR: Spread = Spread::absolute(2.0, "it is not equally warm everywhere, K");
/// Board.
pub const BOARD: Spread = Spread::absolute(10.0, "it is not equally warm everywhere, K");
/// From a heat pipe to the air.
pub const TO_AIR: Spread = Spread::share(0.15, "fins and fan differ from those of a data sheet");
/// Heat that a pipe carries besides.
pub const OTHER_HEAT: Spread = Spread::share(0.15, "mostly read off a screen");
/// Wall and wick of a pipe.
pub const EVAPORATION: Spread =
    Spread::share(0.5, "wicks differ, and pressing a pipe flat changes them");
/// Conductivity of a pad, measured.
pub const PAD_MEASURED: Spread = Spread::share(MEASURED_SPREAD_SHARE, "two impedances in a press");
/// Conductivity of a pad, from what the pack says; over what it says.
pub const PAD_PRINTED: Spread = Spread::share(
    EFFECTIVE_SPREAD_SHARE,
    "it reaches up to the printed value, a best case",
);
/// Contact of a pad's two faces.
pub const PAD_CONTACT: Spread = Spread::share(
    CONTACT_SPREAD_SHARE,
    "each face may have half of it or half as much again",
);
/// Sheet thickness, where the stock table knows no tolerance.
pub const THICKNESS: Spread = Spread::share(0.05, "a usual tolerance of thin sheet");
/// Flow stress of the sheet.
pub const STRENGTH: Spread =
    Spread::share(0.1, "sheets of one temper differ by more from mill to mill");
/// How much the sheet hardens beyond its first yield.
pub const HARDENING: Spread = Spread::share(
    0.2,
    "the curve goes through two or three numbers of a handbook",
);
/// Friction of the sheet on the dies.
pub const FRICTION: Spread = Spread {
    size: Size::Absolute(0.08),
    reason: "half of 0.04 to 0.20, what printed plastics rub from greased to dry",
    source: "tribometer, ABS, PC and PLA printed: Polymers 2023, 15(20), 4112 (abstract read)",
};
/// Free distance between the closed dies.
pub const DIE_CLEARANCE: Spread = Spread::absolute(0.05, "how true a print is, mm");
/// Distance of the backs at which a gauge stops the closing.
pub const BACKS: Spread = Spread::absolute(
    0.1,
    "callipers across two prints that are not the same height everywhere, mm",
);
/// Stiffness of the printed dies.
pub const DIE_STIFFNESS: Spread = Spread::share(
    0.5,
    "nobody publishes how stiff a maker's print is in compression; filling and warmth change it, and a face gives way not \
     everywhere alike",
);

//! What fills the gap between a board part and the plate, and how much heat it holds back.

use crate::stock::Pad;

/// Conductivity of still air at about 60 °C, W/(m·K). From memory: tables of air give 0.026 at 300 K and 0.030 at 350 K.
pub const AIR_W_MK: f64 = 0.028;
/// Parts and metal that touch still have this much air between them, mm. Own choice.
const LEAST_AIR_MM: f64 = 0.02;

/// What fills a gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Filling {
    /// A pad.
    Pad(PadFilling),
    /// Nothing but air.
    Air,
}

/// A pad in a gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadFilling {
    /// Thickness before it is pressed.
    pub thickness_mm: f64,
    /// Thinnest it can be pressed; it holds the plate up before it gets thinner.
    pub least_mm: f64,
    /// Effective conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Both contacts together, times area.
    pub contact_mm2k_w: f64,
}

impl PadFilling {
    /// A pad with the middle values of its conductivity and contact.
    pub fn of(pad: &Pad) -> Self {
        Self {
            thickness_mm: pad.thickness_mm,
            least_mm: pad.gap_window_mm().0,
            conductivity_w_mk: pad.heat.conductivity_w_mk.value,
            contact_mm2k_w: pad.heat.contact_mm2k_w.value,
        }
    }

    /// Its thickness in a gap.
    pub fn pressed_mm(&self, gap_mm: f64) -> f64 {
        gap_mm.max(self.least_mm).min(self.thickness_mm)
    }

    /// Its resistance in a gap times area, mm²K/W: contact, `1000·t/k`, and air where it does not reach across.
    ///
    /// # Source
    /// Layers in series; impedance = contact + t/k is the model of ASTM D5470.
    pub fn resistance_mm2k_w(&self, gap_mm: f64) -> f64 {
        let air_mm = (gap_mm - self.thickness_mm).max(0.0);
        self.contact_mm2k_w
            + 1000.0 * self.pressed_mm(gap_mm) / self.conductivity_w_mk
            + 1000.0 * air_mm / AIR_W_MK
    }
}

impl Filling {
    /// This pad, or air where there is none.
    pub fn of(pad: Option<&Pad>) -> Self {
        pad.map_or(Self::Air, |pad| Self::Pad(PadFilling::of(pad)))
    }

    /// Resistance in a gap times area, mm²K/W.
    pub fn resistance_mm2k_w(&self, gap_mm: f64) -> f64 {
        match self {
            Self::Pad(pad) => pad.resistance_mm2k_w(gap_mm),
            Self::Air => 1000.0 * gap_mm.max(LEAST_AIR_MM) / AIR_W_MK,
        }
    }

    /// The part of it that is contact, times area, mm²K/W.
    pub fn contact_mm2k_w(&self) -> f64 {
        match self {
            Self::Pad(pad) => pad.contact_mm2k_w,
            Self::Air => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn pad() -> PadFilling {
        PadFilling {
            thickness_mm: 1.0,
            least_mm: 0.6,
            conductivity_w_mk: 5.0,
            contact_mm2k_w: 40.0,
        }
    }

    #[test]
    fn a_pad_is_contact_and_thickness_and_air_where_it_does_not_reach() {
        let filling = Filling::Pad(pad());
        assert_relative_eq!(filling.resistance_mm2k_w(0.8), 40.0 + 160.0);
        // Too tight: the pad holds the plate up. Too wide: a tenth of air costs more than the whole pad.
        assert_relative_eq!(filling.resistance_mm2k_w(0.1), 40.0 + 120.0);
        assert_relative_eq!(
            filling.resistance_mm2k_w(1.1),
            40.0 + 200.0 + 100.0 / AIR_W_MK,
            epsilon = 1e-9
        );
        assert!(filling.resistance_mm2k_w(1.1) > 10.0 * filling.resistance_mm2k_w(1.0));
    }
}

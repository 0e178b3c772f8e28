//! What a pad does to heat: how well it conducts, and what its two faces add.

use super::impedance::{ImpedanceFit, MM_OVER_W_MK};
use crate::numbers::plain;
use crate::quantity::Toleranced;
use serde::Serialize;

/// How much of the printed conductivity a pressed pad has. Own choice: the printed value is usually a best case,
/// without its faces.
pub const EFFECTIVE_SHARE: f64 = 0.85;

/// Half-width of the effective conductivity over the printed one. Own choice: it reaches up to the printed value.
pub const EFFECTIVE_SPREAD_SHARE: f64 = 0.15;

/// Conductivity taken as printed where nothing is known of a pad, W/(m·K). Common practice, no source.
pub const UNKNOWN_PRINTED_W_MK: f64 = 3.0;

/// Both faces together where nothing is known of them, mm²·K/W. From memory: 20 a face is usual of soft pads.
pub const CONTACT_MM2K_W: f64 = 40.0;

/// Half-width of a contact resistance that came without one, over the value. Own choice: each face may have half of
/// it or half as much again.
pub const CONTACT_SPREAD_SHARE: f64 = 0.5;

/// Half-width of a measured conductivity that came without one, over the value. Own choice.
pub const MEASURED_SPREAD_SHARE: f64 = 0.1;

/// What a pad does to heat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PadHeat {
    /// Conductivity of the pressed pad between its faces, W/(m·K); always with its half-width.
    pub conductivity_w_mk: Toleranced,
    /// What both faces add together, mm²·K/W, 0 or more; always with its half-width.
    pub contact_mm2k_w: Toleranced,
    /// What the pack says, W/(m·K).
    pub printed_w_mk: Option<f64>,
    /// Line through measured impedances, where there are any.
    pub fit: Option<ImpedanceFit>,
    /// Where the numbers come from.
    pub source: String,
}

fn with_spread(given: Toleranced, share: f64) -> Toleranced {
    Toleranced {
        value: given.value,
        plus_minus: given.plus_minus.or(Some(share * given.value)),
    }
}

impl PadHeat {
    /// From what the pack says, a measured conductivity and a contact resistance, as far as they are known.
    ///
    /// What is not known is assumed, and `source` says so.
    ///
    /// # Units
    /// - `printed_w_mk`: W/(m·K), above 0
    /// - `effective_w_mk`: W/(m·K), above 0
    /// - `contact_mm2k_w`: mm²·K/W, both faces together, 0 or more
    pub fn known(
        printed_w_mk: Option<f64>,
        effective_w_mk: Option<Toleranced>,
        contact_mm2k_w: Option<Toleranced>,
    ) -> Self {
        let printed = printed_w_mk.unwrap_or(UNKNOWN_PRINTED_W_MK);
        let conductivity_w_mk = effective_w_mk.map_or(
            Toleranced {
                value: EFFECTIVE_SHARE * printed,
                plus_minus: Some(EFFECTIVE_SPREAD_SHARE * printed),
            },
            |given| with_spread(given, MEASURED_SPREAD_SHARE),
        );
        let contact = contact_mm2k_w.unwrap_or(Toleranced::exact(CONTACT_MM2K_W));
        let conductivity_source = match (effective_w_mk, printed_w_mk) {
            (Some(_), _) => "conductivity: part file".to_owned(),
            (None, Some(_)) => format!(
                "conductivity: {EFFECTIVE_SHARE} of the {} W/(m K) on the pack, which is usually a best case; own choice",
                plain(printed)
            ),
            (None, None) => format!(
                "conductivity: {EFFECTIVE_SHARE} of {} W/(m K); common practice, no source",
                plain(printed)
            ),
        };
        let contact_source = if contact_mm2k_w.is_some() {
            "faces: part file"
        } else {
            "faces: from memory, 20 mm²K/W each is usual of soft pads"
        };
        Self {
            conductivity_w_mk,
            contact_mm2k_w: with_spread(contact, CONTACT_SPREAD_SHARE),
            printed_w_mk,
            fit: None,
            source: format!("{conductivity_source}; {contact_source}"),
        }
    }

    /// From a line through measured impedances.
    ///
    /// A line that meets thickness 0 a little below 0, within its own uncertainty, leaves nothing to the faces.
    pub fn measured(fit: ImpedanceFit, printed_w_mk: Option<f64>) -> Self {
        let below_zero = fit.contact_mm2k_w < 0.0;
        let clamped = if below_zero {
            format!(
                "; its faces came out as {:.1} mm²K/W, within their uncertainty of 0, and are taken as 0",
                fit.contact_mm2k_w
            )
        } else {
            String::new()
        };
        let contact_mm2k_w = Toleranced {
            value: fit.contact_mm2k_w.max(0.0),
            // What of the band lies above 0.
            plus_minus: Some(
                (fit.contact_plus_minus_mm2k_w + fit.contact_mm2k_w.min(0.0)).max(0.0),
            ),
        };
        Self {
            conductivity_w_mk: Toleranced {
                value: fit.conductivity_w_mk,
                plus_minus: Some(fit.conductivity_plus_minus_w_mk),
            },
            contact_mm2k_w,
            printed_w_mk,
            source: format!(
                "straight line through {} measured impedances, best known at {:.2} mm: {:.0} ± {:.0} mm²K/W{clamped}",
                fit.points, fit.middle_mm, fit.middle_mm2k_w, fit.middle_plus_minus_mm2k_w
            ),
            fit: Some(fit),
        }
    }

    /// Impedance of the pad pressed to a thickness, mm²·K/W: `Rc + t / k`.
    ///
    /// Over an area in mm² it is the resistance in K/W.
    ///
    /// # Valid for
    /// A thickness of 0 mm or more.
    pub fn resistance_mm2k_w(&self, pressed_mm: f64) -> f64 {
        self.contact_mm2k_w.value + MM_OVER_W_MK * pressed_mm / self.conductivity_w_mk.value
    }
}

/// Thickness in mm at which two pads have the same impedance: `t* = (Rc_b − Rc_a) / (1/k_a − 1/k_b)`.
///
/// Below it the pad with the better faces is ahead, above it the one that conducts better. `None` where one pad is
/// ahead at every thickness, or both are alike.
pub fn crossing_mm(a: &PadHeat, b: &PadHeat) -> Option<f64> {
    let faces_mm2k_w = b.contact_mm2k_w.value - a.contact_mm2k_w.value;
    let body_mm2k_w_per_mm =
        MM_OVER_W_MK * (1.0 / a.conductivity_w_mk.value - 1.0 / b.conductivity_w_mk.value);
    let at_mm = faces_mm2k_w / body_mm2k_w_per_mm;
    (at_mm.is_finite() && at_mm > 0.0).then_some(at_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn pad(conductivity_w_mk: f64, contact_mm2k_w: f64) -> PadHeat {
        PadHeat::known(
            None,
            Some(Toleranced::exact(conductivity_w_mk)),
            Some(Toleranced::exact(contact_mm2k_w)),
        )
    }

    #[test]
    fn a_pad_over_an_area_has_its_hand_calculated_resistance() {
        // 1 mm of 6 W/(m·K) over 100 mm²: 0.001 m / (6 W/(m·K) × 0.0001 m²).
        assert_relative_eq!(
            pad(6.0, 0.0).resistance_mm2k_w(1.0) / 100.0,
            1.667,
            epsilon = 5e-4
        );
        assert_relative_eq!(
            pad(6.0, 0.0).resistance_mm2k_w(0.3) / 100.0,
            0.5,
            epsilon = 1e-12
        );
        assert_relative_eq!(pad(6.0, 40.0).resistance_mm2k_w(0.0), 40.0);
    }

    #[test]
    fn what_is_not_known_is_assumed_and_said() {
        let unknown = PadHeat::known(None, None, None);
        assert_relative_eq!(unknown.conductivity_w_mk.value, 2.55);
        assert_relative_eq!(unknown.conductivity_w_mk.plus_minus.unwrap(), 0.45);
        assert_eq!(
            unknown.contact_mm2k_w,
            Toleranced {
                value: 40.0,
                plus_minus: Some(20.0)
            }
        );
        assert_eq!(unknown.printed_w_mk, None);
        assert!(unknown.source.contains("no source") && unknown.source.contains("from memory"));

        let printed = PadHeat::known(Some(6.0), None, None);
        assert_relative_eq!(printed.conductivity_w_mk.value, 5.1);
        assert_relative_eq!(printed.conductivity_w_mk.plus_minus.unwrap(), 0.9);
        assert_eq!(printed.printed_w_mk, Some(6.0));
        assert!(printed.source.contains("own choice"));

        let given = Toleranced {
            value: 4.0,
            plus_minus: Some(0.2),
        };
        let measured = PadHeat::known(Some(6.0), Some(given), Some(Toleranced::exact(30.0)));
        assert_eq!(measured.conductivity_w_mk, given);
        assert_eq!(measured.contact_mm2k_w.plus_minus, Some(15.0));
        assert_eq!(measured.source, "conductivity: part file; faces: part file");
        assert_eq!(pad(4.0, 0.0).conductivity_w_mk.plus_minus, Some(0.4));
    }

    #[test]
    fn faces_a_little_below_nothing_are_nothing() {
        let fit =
            ImpedanceFit::of(&[[0.5, 120.0], [1.0, 249.0], [1.5, 366.0], [2.0, 497.0]]).unwrap();
        assert!(fit.contact_mm2k_w < 0.0, "{fit:?}");
        let over = fit.contact_plus_minus_mm2k_w + fit.contact_mm2k_w;
        let heat = PadHeat::measured(fit, Some(5.0));
        assert_eq!(heat.contact_mm2k_w.value, 0.0);
        assert_eq!(heat.contact_mm2k_w.plus_minus, Some(over));
        assert!(heat.source.contains("taken as 0"), "{}", heat.source);
    }

    #[test]
    fn a_worse_pad_with_better_faces_is_ahead_while_it_is_thin() {
        let (a, b) = (pad(3.0, 20.0), pad(6.0, 60.0));
        // 40 mm²K/W over (1/3 − 1/6) m·K/W.
        assert_relative_eq!(crossing_mm(&a, &b).unwrap(), 0.24, epsilon = 1e-12);
        assert_eq!(crossing_mm(&pad(3.0, 60.0), &pad(6.0, 20.0)), None);
        assert_eq!(crossing_mm(&a, &a), None);
    }

    proptest! {
        #[test]
        fn at_the_crossing_impedances_are_equal_and_on_its_sides_in_order(
            k in [0.5..20.0_f64, 0.5..20.0], contact in [0.0..200.0_f64, 0.0..200.0],
        ) {
            let (a, b) = (pad(k[0], contact[0]), pad(k[1], contact[1]));
            let ahead = |t: f64| a.resistance_mm2k_w(t) - b.resistance_mm2k_w(t);
            prop_assert_eq!(crossing_mm(&a, &b).is_some(), crossing_mm(&b, &a).is_some());
            if let Some(at_mm) = crossing_mm(&a, &b) {
                let size = a.resistance_mm2k_w(at_mm);
                prop_assert!(ahead(at_mm).abs() <= 1e-9 * size, "{} of {size}", ahead(at_mm));
                prop_assert!(ahead(0.5 * at_mm) * ahead(2.0 * at_mm) < 0.0);
            } else {
                prop_assert!(ahead(1e-3) * ahead(1e3) >= 0.0);
            }
        }

        #[test]
        fn equal_faces_never_cross_and_differ_at_every_thickness(
            k in 0.5..20.0_f64, better in 1.01..5.0_f64, contact in 0.0..200.0_f64, t in 0.01..10.0_f64,
        ) {
            let (a, b) = (pad(k, contact), pad(k * better, contact));
            prop_assert_eq!(crossing_mm(&a, &b), None);
            prop_assert!(a.resistance_mm2k_w(t) > b.resistance_mm2k_w(t));
        }
    }
}

//! Thermal pads: which gaps a pad of some thickness can fill.

use super::PadHeat;
use crate::numbers::plain;
use serde::Serialize;

/// Thicknesses most pads are sold in, mm. Common practice, no source.
const STOCK_THICKNESSES_MM: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0];

/// Least compression at which a soft pad wets both faces, %. Generic, from memory: data sheets differ.
pub const STOCK_COMPRESSION_MIN_PERCENT: f64 = 10.0;

/// Most compression a soft pad takes without pressing hard on the component, %. Generic, from memory.
pub const STOCK_COMPRESSION_MAX_PERCENT: f64 = 50.0;

/// Where the stock series comes from.
pub const STOCK_SOURCE: &str =
    "thickness: common practice, no source; compression 10 to 50 %: generic, from memory";

/// Gaps are sums and differences of lengths; a miss below this is rounding of the sum, mm.
const ROUNDING_MM: f64 = 1e-9;

/// A thermal pad.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pad {
    /// For people.
    pub name: String,
    /// Thickness before it is pressed, mm.
    pub thickness_mm: f64,
    /// Least compression at which it works, % of its thickness.
    pub compression_min_percent: f64,
    /// Most compression it may see, % of its thickness.
    pub compression_max_percent: f64,
    /// Where the numbers were read.
    pub source: String,
    /// From the generic series, not one the user has at hand.
    pub from_stock: bool,
    /// What it does to heat.
    pub heat: PadHeat,
}

/// Whether a pad fills a gap that tolerances let vary.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "verdict")]
pub enum PadFit {
    /// Compressed within its limits over the whole range of the gap.
    Fits {
        /// Compression at the widest gap, %.
        least_percent: f64,
        /// Compression at the narrowest gap, %.
        most_percent: f64,
    },
    /// Pressed too little at the widest gap, or not touching at all.
    TooThin {
        /// Widest gap, mm.
        gap_max_mm: f64,
        /// Widest gap this pad fills, mm.
        fills_up_to_mm: f64,
        /// Whether the pad at least reaches across the widest gap.
        touches: bool,
    },
    /// Pressed too hard at the narrowest gap.
    TooThick {
        /// Narrowest gap, mm.
        gap_min_mm: f64,
        /// Narrowest gap this pad may be pressed into, mm.
        fills_down_to_mm: f64,
    },
    /// Both at once: the gap varies by more than the pad gives.
    GapTooUneven {
        /// By how much the gap varies, mm.
        varies_by_mm: f64,
        /// By how much it may vary with this pad, mm.
        may_vary_by_mm: f64,
    },
}

impl PadFit {
    /// Whether the pad can be used.
    pub const fn fits(&self) -> bool {
        matches!(self, Self::Fits { .. })
    }
}

impl Pad {
    /// A pad of the generic series.
    fn stock(thickness_mm: f64) -> Self {
        Self {
            name: format!("pad {} mm", plain(thickness_mm)),
            thickness_mm,
            compression_min_percent: STOCK_COMPRESSION_MIN_PERCENT,
            compression_max_percent: STOCK_COMPRESSION_MAX_PERCENT,
            source: STOCK_SOURCE.into(),
            from_stock: true,
            heat: PadHeat::known(None, None, None),
        }
    }

    /// The generic series, thinnest first. See [`STOCK_SOURCE`].
    pub fn stock_series() -> Vec<Self> {
        STOCK_THICKNESSES_MM.map(Self::stock).into()
    }

    /// Narrowest and widest gap this pad fills, mm: `t·(1 − c/100)` at its most and its least compression c.
    pub fn gap_window_mm(&self) -> (f64, f64) {
        let pressed_mm = |percent: f64| self.thickness_mm * (1.0 - percent / 100.0);
        (
            pressed_mm(self.compression_max_percent),
            pressed_mm(self.compression_min_percent),
        )
    }

    /// Compression in a gap, % of the thickness; negative where the pad does not reach across.
    ///
    /// # Valid for
    /// A thickness above 0.
    pub fn compression_percent(&self, gap_mm: f64) -> f64 {
        (1.0 - gap_mm / self.thickness_mm) * 100.0
    }

    /// Judges the pad against the narrowest and the widest gap that tolerances allow, mm.
    ///
    /// # Valid for
    /// `gap_min_mm <= gap_max_mm`; a negative gap is metal inside the component and always too narrow.
    pub fn fits(&self, gap_min_mm: f64, gap_max_mm: f64) -> PadFit {
        let (fills_down_to_mm, fills_up_to_mm) = self.gap_window_mm();
        let too_thin = gap_max_mm > fills_up_to_mm + ROUNDING_MM;
        let too_thick = gap_min_mm < fills_down_to_mm - ROUNDING_MM;
        match (too_thin, too_thick) {
            (false, false) => PadFit::Fits {
                least_percent: self.compression_percent(gap_max_mm),
                most_percent: self.compression_percent(gap_min_mm),
            },
            (true, false) => PadFit::TooThin {
                gap_max_mm,
                fills_up_to_mm,
                touches: gap_max_mm < self.thickness_mm,
            },
            (false, true) => PadFit::TooThick {
                gap_min_mm,
                fills_down_to_mm,
            },
            (true, true) => PadFit::GapTooUneven {
                varies_by_mm: gap_max_mm - gap_min_mm,
                may_vary_by_mm: fills_up_to_mm - fills_down_to_mm,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn two_mm() -> Pad {
        Pad {
            name: "two".into(),
            thickness_mm: 2.0,
            compression_min_percent: 10.0,
            compression_max_percent: 40.0,
            source: "given by the user".into(),
            from_stock: false,
            heat: PadHeat::known(None, None, None),
        }
    }

    #[test]
    fn the_window_is_what_is_left_of_the_thickness() {
        let (least_mm, most_mm) = two_mm().gap_window_mm();
        assert_relative_eq!(least_mm, 1.2);
        assert_relative_eq!(most_mm, 1.8);
    }

    #[test]
    fn each_verdict_has_its_gap() {
        let pad = two_mm();
        let PadFit::Fits {
            least_percent,
            most_percent,
        } = pad.fits(1.5, 1.7)
        else {
            panic!("must fit")
        };
        assert_relative_eq!(least_percent, 15.0, epsilon = 1e-9);
        assert_relative_eq!(most_percent, 25.0, epsilon = 1e-9);
        assert!(matches!(
            pad.fits(1.5, 1.9),
            PadFit::TooThin { touches: true, .. }
        ));
        assert!(matches!(
            pad.fits(1.5, 2.1),
            PadFit::TooThin { touches: false, .. }
        ));
        assert!(matches!(pad.fits(1.1, 1.7), PadFit::TooThick { .. }));
        assert!(matches!(pad.fits(-0.2, 0.1), PadFit::TooThick { .. }));
        assert!(matches!(
            pad.fits(1.1, 1.9),
            PadFit::GapTooUneven { varies_by_mm, may_vary_by_mm }
                if (varies_by_mm - 0.8).abs() < 1e-12 && (may_vary_by_mm - 0.6).abs() < 1e-12
        ));
    }

    #[test]
    fn a_gap_on_the_very_limit_fits_though_sums_round() {
        // 0.1 + 0.2 is a hair above 0.3 in binary.
        let pad = Pad {
            thickness_mm: 0.3,
            compression_min_percent: 0.0,
            ..two_mm()
        };
        assert!(pad.fits(0.2, 0.1 + 0.2).fits());
    }

    #[test]
    fn the_series_grows_and_covers_its_range_without_holes() {
        let series = Pad::stock_series();
        for pair in series.windows(2) {
            let [thinner, thicker] = pair else { continue };
            assert!(thinner.thickness_mm < thicker.thickness_mm);
        }
        // From 1 mm up neighbouring windows overlap: any single gap there has a pad.
        let gap_has_a_pad = |gap_mm: f64| series.iter().any(|pad| pad.fits(gap_mm, gap_mm).fits());
        for tenth in 5..=27 {
            let gap_mm = f64::from(tenth) / 10.0;
            assert_eq!(
                gap_has_a_pad(gap_mm),
                (0.25..=0.45).contains(&gap_mm) || gap_mm >= 0.5,
                "{gap_mm}"
            );
        }
        assert!(!gap_has_a_pad(0.47));
        assert!(!gap_has_a_pad(2.8));
    }

    proptest! {
        #[test]
        fn a_pad_fits_exactly_the_gaps_inside_its_window(
            thickness_mm in 0.3..5.0_f64, least in 0.0..30.0_f64, more in 1.0..50.0_f64,
            low in 0.0..1.0_f64, high in 0.0..1.0_f64,
        ) {
            let pad = Pad {
                thickness_mm,
                compression_min_percent: least,
                compression_max_percent: least + more,
                ..two_mm()
            };
            let (from_mm, to_mm) = pad.gap_window_mm();
            let at = |share: f64| from_mm + (to_mm - from_mm) * share;
            let (low, high) = (low.min(high), low.max(high));
            prop_assert!(pad.fits(at(low), at(high)).fits());
            let too_thin = matches!(pad.fits(at(low), at(1.01)), PadFit::TooThin { .. });
            prop_assert!(too_thin);
            let too_thick = matches!(pad.fits(at(-0.01), at(high)), PadFit::TooThick { .. });
            prop_assert!(too_thick);
            let uneven = matches!(pad.fits(at(-0.01), at(1.01)), PadFit::GapTooUneven { .. });
            prop_assert!(uneven);
        }
    }
}

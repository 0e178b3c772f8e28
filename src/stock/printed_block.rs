//! A printed block under local pressure: how far its face gives way, and what breaks it.
//!
//! A block is a solid wall under its face, infill below, and a rigid jaw behind. The wall has the numbers of the
//! plastic, the infill those of a cellular solid. Little of this is published for a maker's printer: every number
//! comes for a weak, a usual and a strong print, and a block of one's own, printed and measured, is worth more than
//! all of them.

use super::plastic::{Plastic, PlasticData};
use super::sourced::Sourced;
use crate::numbers::plain;
use crate::quantity::Angle;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Poisson's ratio of plastic and infill. From memory: rigid plastics lie between 0.33 and 0.40.
pub const POISSON: f64 = 0.35;

/// How fast a pressed strip widens with depth, mm to each side for each mm down.
///
/// Chosen once, against the meshed blocks of `tests/pressing/reference_printed_block.rs`; nothing else is fitted.
pub const SPREADING: f64 = 0.55;

/// Emptier blocks are shells: their walls bend like plates, which is not calculated here. Own judgement.
pub const LEAST_INFILL_PERCENT: f64 = 5.0;

/// Compressive yield stress of what is printed solid, over that of the plastic moulded.
///
/// - weak: PETG printed full and upright bears 1/1.5 = 0.67 of what it bears once it is melted together (Amza et al.,
///   Polymers 2021, 13, 562: +50 % in compression; abstract read, the share computed here)
/// - strong: what ASA built upright keeps of lying, 0.71 to 0.97 (Iacob et al., ETASR 2025, 12739: 3.26 to 29.09 %
///   weaker, infill 50 to 100 %; abstract read, shares computed here)
/// - usual: the middle of those two ends
///
/// Take care: tests of prints often read a maximum where the material gave way before, which is too high.
const YIELD_SHARE: PrintSpread = PrintSpread {
    weak: 0.67,
    usual: 0.84,
    strong: 0.97,
};

/// Exponent of `E_infill = E·φⁿ`, φ the filled share.
///
/// 2 is that of open cells whose walls bend, with the factor 1: Gibson & Ashby, Cellular Solids, 2nd ed. 1997, from
/// memory. 1 is the upper bound, every wall in line with the load. 3 is that of honeycombs pressed across their
/// cells (same book, from memory).
const STIFFNESS_EXPONENT: PrintSpread = PrintSpread {
    weak: 3.0,
    usual: 2.0,
    strong: 1.0,
};

/// Exponent of `crush = yield·φᵐ` of a usual and of a strong print, φ the filled share.
///
/// Measured: printed PLA bears 13.7 to 17.0 MPa at 20 % and 36.4 to 36.9 MPa at 50 % (one infill pattern throughout), 18.9
/// to 21.7 and 38.0 to 52.0 (two or four stacked stretches of it), each the largest load over the whole cross-section
/// (Sci. Rep. 2025, s41598-025-94446-8, Table 4, read). These pieces have a skin that stands along the load and bears its
/// share; how many lines it has was not seen. A nose has no such skin below it, so its share is taken off: on pieces of
/// 12.7 mm across, usual for such tests, one line of 0.4 mm is 12 % of the section, two are 24 % (computed here).
///
/// - usual, 1.25: with the skin of one or two lines it comes within 25 % of every row of one pattern, on both sides;
///   chosen here, halfway between 1 and the 3/2 of open cells whose walls bend (Gibson & Ashby, Cellular Solids, 2nd ed.
///   1997, from memory)
/// - strong, 1: every wall in line with the load, the upper bound; the same as if the measured pieces had no skin
const CRUSH_EXPONENT: [f64; 2] = [1.25, 1.0];

/// Crushing stress of a bare lattice over the yield stress of what is printed: the infill of a weak print, MPa/MPa.
///
/// `c·φᵐ`, c 0.25, m 1.54, up to a share of 0.62; from there a straight line to the full block.
///
/// Gyroid cells of PLA without any skin keep 1 to 12 % of what a solid print bears, for cells of 4, 5 and 10 mm and walls
/// of 0.4, 0.6 and 0.8 mm ("Influence of the cell size and wall thickness on the compressive behaviour of FFF PLA gyroid
/// structures", abstract read). Cells of size L with walls w fill 3.09·w/L (surface of a gyroid, from memory): 12.4 % for
/// 10 and 0.4 mm, 62 % for 4 and 0.8 mm. The law goes through both ends, taken as the ends of the range (computed here).
/// Open cells whose walls bend would have 0.3 and 3/2 (Gibson & Ashby, as above).
fn bare_lattice(filled: f64) -> f64 {
    const DENSEST: f64 = 0.62;
    let thin = 0.25 * libm::pow(filled.min(DENSEST), 1.54);
    let towards_full = ((filled - DENSEST) / (1.0 - DENSEST)).max(0.0);
    thin + (1.0 - thin) * towards_full
}

/// Crushing stress of infill over the yield stress of what is printed.
fn infill_crush_share(filled: f64) -> PrintSpread {
    let [usual, strong] = CRUSH_EXPONENT;
    PrintSpread {
        weak: bare_lattice(filled),
        usual: libm::pow(filled, usual),
        strong: libm::pow(filled, strong),
    }
}

/// One number for a weak, a usual and a strong print.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PrintSpread {
    /// Layers that hold badly, infill that lies across the load.
    pub weak: f64,
    /// What to calculate with.
    pub usual: f64,
    /// As good as printing gets.
    pub strong: f64,
}

impl PrintSpread {
    /// The same number for every print.
    pub const fn same(value: f64) -> Self {
        Self {
            weak: value,
            usual: value,
            strong: value,
        }
    }

    /// Each of the three by itself.
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        self.with(self, |one, _| f(one))
    }

    /// Each of the three together with that of another.
    #[must_use]
    pub fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self {
            weak: f(self.weak, other.weak),
            usual: f(self.usual, other.usual),
            strong: f(self.strong, other.strong),
        }
    }
}

/// What a maker measured on a block printed solid, in place of the table's plastic.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeasuredPlastic {
    /// Young's modulus in compression.
    pub youngs_mpa: Option<f64>,
    /// Compressive yield stress.
    pub compressive_yield_mpa: Option<f64>,
}

/// Why there is no such block.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoBlock {
    /// A shell, or no share at all.
    #[error("a block with {} % infill is not calculated: from {} to 100 %", plain(*infill_percent), plain(*least_percent))]
    Infill {
        /// What was asked for.
        infill_percent: f64,
        /// Least that is calculated.
        least_percent: f64,
    },
    /// A length or stress that no block has.
    #[error("{what} of {} is no size or stiffness of a block", plain(*value))]
    Size {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
    },
}

/// A printed block on a rigid jaw, pressed from above.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PrintedBlock {
    /// Solid wall under the face; at most the whole block.
    pub wall_mm: f64,
    /// Filled share of the inside.
    pub infill_percent: f64,
    /// Face to jaw.
    pub base_mm: f64,
    /// Young's modulus of the wall.
    pub wall_youngs_mpa: f64,
    /// Effective Young's modulus of the infill: `E·φⁿ`, n 3, 2, 1.
    pub infill_youngs_mpa: PrintSpread,
    /// Pressure at which the printed face yields in plain compression; a nose is held in, see [`held_in`].
    pub surface_yield_mpa: PrintSpread,
    /// Pressure at which the infill is crushed, without any skin beside it; decides under wide flats.
    pub infill_crush_mpa: PrintSpread,
    /// Where the numbers come from.
    pub sources: Vec<Sourced>,
}

impl PrintedBlock {
    /// A block of a plastic, with what the maker measured where there is anything.
    ///
    /// # Errors
    /// A block that is a shell, or numbers that are none.
    pub fn new(
        plastic: Plastic,
        measured: MeasuredPlastic,
        wall_mm: f64,
        infill_percent: f64,
        base_mm: f64,
    ) -> Result<Self, NoBlock> {
        if !(LEAST_INFILL_PERCENT..=100.0).contains(&infill_percent) {
            return Err(NoBlock::Infill {
                infill_percent,
                least_percent: LEAST_INFILL_PERCENT,
            });
        }
        let PlasticData {
            youngs_mpa,
            compressive_yield_mpa,
            most_compressive_yield_mpa,
            sources: known,
            ..
        } = plastic.data();
        let wall_youngs_mpa = measured.youngs_mpa.unwrap_or(youngs_mpa);
        // A weak print of the weakest plastic of its kind, a strong one of the strongest.
        let surface_yield_mpa = measured.compressive_yield_mpa.map_or_else(
            || {
                let moulded_mpa = PrintSpread {
                    weak: compressive_yield_mpa,
                    usual: f64::midpoint(compressive_yield_mpa, most_compressive_yield_mpa),
                    strong: most_compressive_yield_mpa,
                };
                moulded_mpa.with(YIELD_SHARE, |yields_mpa, share| yields_mpa * share)
            },
            PrintSpread::same,
        );
        for (what, value, least) in [
            ("a wall", wall_mm, 0.0),
            ("a base", base_mm, f64::MIN_POSITIVE),
            ("a Young's modulus", wall_youngs_mpa, f64::MIN_POSITIVE),
            ("a yield stress", surface_yield_mpa.weak, f64::MIN_POSITIVE),
        ] {
            if !(value.is_finite() && value >= least) {
                return Err(NoBlock::Size { what, value });
            }
        }
        let filled = infill_percent / 100.0;
        let read = |what: &'static str, given: Option<f64>| match given {
            Some(value) => Sourced::new(
                what,
                format!("the part file: {} MPa, measured on a print", plain(value)),
            ),
            None => known
                .iter()
                .find(|sourced| sourced.what == what)
                .cloned()
                .unwrap_or_else(|| Sourced::new(what, "from memory")),
        };
        let sources = vec![
            read("Young's modulus", measured.youngs_mpa),
            read("compressive yield stress", measured.compressive_yield_mpa),
            Sourced::new(
                "share of it that a print reaches",
                if measured.compressive_yield_mpa.is_some() {
                    "all of it: measured on a print"
                } else {
                    "67 % of the low end, 84 % of the middle, 97 % of the high end: PETG as printed against remelted \
                     (Polymers 2021, 13, 562), ASA built upright against lying (ETASR 2025, 12739); abstracts read, shares \
                     computed here"
                },
            ),
            Sourced::new(
                "infill",
                "stiffness as filled share to the power 3, 2, 1: Gibson & Ashby, Cellular Solids, 2nd ed. 1997, from \
                 memory, and bounds of our own; strength as a bare gyroid lattice that keeps 1 to 12 % (abstract read), and \
                 as filled share to the power 1.25 and 1: printed PLA at 20 and 50 % infill, its skin taken off (Sci. Rep. \
                 2025, s41598-025-94446-8, Table 4, read; skin of one or two lines assumed)",
            ),
        ];
        Ok(Self {
            wall_mm: wall_mm.min(base_mm),
            infill_percent,
            base_mm,
            wall_youngs_mpa,
            infill_youngs_mpa: STIFFNESS_EXPONENT
                .map(|exponent| wall_youngs_mpa * libm::pow(filled, exponent)),
            surface_yield_mpa,
            infill_crush_mpa: infill_crush_share(filled)
                .with(surface_yield_mpa, |share, yields_mpa| share * yields_mpa),
            sources,
        })
    }

    /// Foundation stiffness under a strip of pressure of a usual print: [`Self::nose_spread_n_mm3`].
    pub fn nose_n_mm3(&self, half_width_mm: f64) -> f64 {
        self.nose_spread_n_mm3(half_width_mm).usual
    }

    /// Pressure over mean settlement of the face under a strip of pressure, as a nose leaves it, N/mm³.
    ///
    /// A pressure p over a strip of half width a is carried at depth z by a half width a + s·z, so its stress is
    /// `p·a/(a + s·z)`, and in plane strain it shortens each layer by that over `E' = E/(1 − ν²)`. A stiff wall on
    /// soft infill spreads pressure further than one block would: seen from the infill the wall is as thick as
    /// infill of the same bending stiffness `E·h³`, `h = w·(E_wall/E_infill)^(1/3)` (the method of equivalent
    /// thicknesses, Odemark 1949, from memory). Both integrated, with wall w and whole height H:
    ///
    /// ```text
    /// δ/p = (a/s) [ ln(1 + s·w/a)/E'_wall + (ln(1 + s·(h + H − w)/a) − ln(1 + s·h/a))/E'_infill ]
    /// ```
    ///
    /// For a wide strip this becomes [`Self::flat_n_mm3`], for a block of one material h = w and the wall is gone.
    ///
    /// # Units
    /// - `half_width_mm`: half of what is pressed. A nose touches about as far as the sheet is thick: take
    ///   the sheet thickness when nothing better is known; below 0.01 mm it is taken as that.
    ///
    /// # Valid for
    /// Elastic blocks at least twice as long as high. Against meshes with half widths of 0.5 to 2 mm, walls of 0.8
    /// to 4 mm and blocks of 6 to 20 mm the stiffness is 14 % too low to 15 % too high from 15 % infill on, 18 % too
    /// low to 31 % too high at [`LEAST_INFILL_PERCENT`] (`tests/pressing/reference_printed_block.rs`). What the infill really
    /// is counts for more. Side faces have walls too, which are left out: a real block is stiffer.
    ///
    /// # Source
    /// Derived above; [`SPREADING`] chosen against meshes.
    pub fn nose_spread_n_mm3(&self, half_width_mm: f64) -> PrintSpread {
        let (a, s) = (half_width_mm.max(LEAST_HALF_WIDTH_MM), SPREADING);
        let (wall, rest) = (self.wall_mm, self.base_mm - self.wall_mm);
        self.infill_youngs_mpa.map(|infill_mpa| {
            let h = self.equivalent_mm(infill_mpa);
            // ln(1 + s (h + rest)/a) - ln(1 + s h/a), without the loss of digits.
            let below = libm::log1p(s * rest / (a + s * h));
            let settled = a / s
                * (libm::log1p(s * wall / a) / plane(self.wall_youngs_mpa)
                    + below / plane(infill_mpa));
            1.0 / settled
        })
    }

    /// Stiffness under wide flats of a usual print: [`Self::flat_spread_n_mm3`].
    pub fn flat_n_mm3(&self) -> f64 {
        self.flat_spread_n_mm3().usual
    }

    /// Pressure over settlement where the whole face is pressed evenly, N/mm³.
    ///
    /// `δ/p = w/E'_wall + (H − w)/E'_infill`: a column, in plane strain, its sides free to move. It is many times
    /// softer for each MPa than a nose, because no pressure is lost with depth.
    ///
    /// # Valid for
    /// Elastic blocks pressed all over. Stuck to its jaw a block of 16 to 80 mm length is 1.1 to 1.3 times as stiff
    /// (same meshes): short blocks press outwards at their sides.
    ///
    /// # Source
    /// Definition.
    pub fn flat_spread_n_mm3(&self) -> PrintSpread {
        self.infill_youngs_mpa.map(|infill_mpa| {
            1.0 / (self.wall_mm / plane(self.wall_youngs_mpa)
                + (self.base_mm - self.wall_mm) / plane(infill_mpa))
        })
    }

    /// Pressure of a nose at which the infill below its wall is crushed, MPa.
    ///
    /// What the wall spreads as in [`Self::nose_spread_n_mm3`], `crush·(1 + s·h/a)`; infinite when all is wall or filled.
    ///
    /// # Valid for
    /// A wall that bears what it spreads. No source: own derivation.
    pub fn nose_crush_mpa(&self, half_width_mm: f64) -> PrintSpread {
        if self.wall_mm >= self.base_mm || self.infill_percent >= 100.0 {
            return PrintSpread::same(f64::INFINITY);
        }
        let a = half_width_mm.max(LEAST_HALF_WIDTH_MM);
        self.infill_crush_mpa
            .with(self.infill_youngs_mpa, |crush_mpa, infill_mpa| {
                crush_mpa * (1.0 + SPREADING * self.equivalent_mm(infill_mpa) / a)
            })
    }

    /// Pressure of a nose at which the face yields or the infill below gives way, whichever is first, MPa.
    ///
    /// `turn` is the angle through which the sheet bends around the nose. The plastic beside a narrow strip of pressure
    /// holds it in: the face of a wedge yields at [`held_in`] times its uniaxial yield stress.
    pub fn nose_limit_mpa(&self, half_width_mm: f64, turn: Angle) -> PrintSpread {
        self.surface_yield_mpa
            .map(|yields_mpa| yields_mpa * held_in(turn))
            .with(self.nose_crush_mpa(half_width_mm), f64::min)
    }

    /// Thickness of infill that bends like the wall, mm.
    fn equivalent_mm(&self, infill_mpa: f64) -> f64 {
        self.wall_mm * libm::cbrt(self.wall_youngs_mpa / infill_mpa)
    }
}

/// Pressure at which the blunt tip of a wedge yields, over its uniaxial yield stress: `2/√3 (1 + α)`, α half of the
/// angle that is left of the wedge when a sheet turns around it, `(180° − turn)/2`.
///
/// 2.97 for a flat face, 2.36 for a turn of 60 degrees, 2.06 for 90.
///
/// # Source
/// Slip lines in a truncated wedge, rigid and ideally plastic, plane strain, no friction: Hill, The Mathematical Theory
/// of Plasticity (from memory); for a flat face it is Prandtl's `(2 + π)/√3`.
pub fn held_in(turn: Angle) -> f64 {
    let alpha = f64::midpoint(std::f64::consts::PI, -turn.abs().rad()).max(0.0);
    2.0 / 3f64.sqrt() * (1.0 + alpha)
}

/// Narrower strips are taken as this wide: a sharp edge is blunt in plastic, mm.
const LEAST_HALF_WIDTH_MM: f64 = 0.01;

/// Plane-strain modulus.
fn plane(youngs_mpa: f64) -> f64 {
    youngs_mpa / (1.0 - POISSON * POISSON)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn block(wall_mm: f64, infill_percent: f64, base_mm: f64) -> PrintedBlock {
        PrintedBlock::new(
            Plastic::Pla,
            MeasuredPlastic::default(),
            wall_mm,
            infill_percent,
            base_mm,
        )
        .unwrap()
    }

    #[test]
    fn a_common_block_by_hand() {
        let block = block(2.0, 40.0, 12.0);
        assert_relative_eq!(block.infill_youngs_mpa.weak, 224.0, epsilon = 1e-9);
        assert_relative_eq!(block.infill_youngs_mpa.usual, 560.0, epsilon = 1e-9);
        assert_relative_eq!(block.infill_youngs_mpa.strong, 1400.0, epsilon = 1e-9);
        // h = 2 (3500/560)^(1/3) = 3.684; E' = 3988.6 and 638.2 MPa.
        // (ln 2.1 / 3988.6 + (ln(1 + 0.55 · 13.684) - ln(1 + 0.55 · 3.684))/638.2)/0.55
        assert_relative_eq!(block.nose_n_mm3(1.0), 304.0, epsilon = 0.05);
        // 2/3988.6 + 10/638.2
        assert_relative_eq!(block.flat_n_mm3(), 61.84, epsilon = 0.01);
        // 0.67 · 55, 0.84 · 67.5, 0.97 · 80.
        assert_relative_eq!(block.surface_yield_mpa.weak, 36.85, epsilon = 1e-9);
        assert_relative_eq!(block.surface_yield_mpa.usual, 56.7, epsilon = 1e-9);
        assert_relative_eq!(block.surface_yield_mpa.strong, 77.6, epsilon = 1e-9);
        // 56.7 · 0.4^1.25
        assert_relative_eq!(block.infill_crush_mpa.usual, 18.037, epsilon = 1e-3);
        // · (1 + 0.55 · 3.684)
        assert_relative_eq!(block.nose_crush_mpa(1.0).usual, 54.58, epsilon = 0.01);
        assert_eq!(
            block.nose_limit_mpa(1.0, Angle::deg(60.0)).usual,
            block.nose_crush_mpa(1.0).usual
        );
        // Under a sharp nose the face goes first.
        assert_relative_eq!(
            block.nose_limit_mpa(0.05, Angle::deg(60.0)).usual,
            56.7 * 2.0 / 3f64.sqrt() * (1.0 + 60f64.to_radians()),
            epsilon = 1e-9
        );
    }

    #[test]
    fn a_flat_face_is_held_in_as_prandtl_says() {
        let prandtl = (2.0 + std::f64::consts::PI) / 3f64.sqrt();
        assert_relative_eq!(held_in(Angle::ZERO), prandtl, epsilon = 1e-12);
        assert!(held_in(Angle::deg(90.0)) < held_in(Angle::deg(-30.0)));
    }

    #[test]
    fn a_full_block_has_no_wall() {
        let full = block(2.0, 100.0, 12.0);
        assert_eq!(full.infill_youngs_mpa, PrintSpread::same(3500.0));
        for (wall_mm, a_mm) in [(0.0, 0.5), (5.0, 1.0), (30.0, 2.0)] {
            let other = block(wall_mm, 100.0, 12.0);
            assert_relative_eq!(
                other.nose_n_mm3(a_mm),
                full.nose_n_mm3(a_mm),
                max_relative = 1e-12
            );
        }
        // All wall is the same as full, whatever the infill would be.
        assert_relative_eq!(
            block(12.0, 10.0, 12.0).nose_n_mm3(1.0),
            full.nose_n_mm3(1.0),
            max_relative = 1e-12
        );
        assert_relative_eq!(
            block(12.0, 10.0, 12.0)
                .nose_limit_mpa(1.0, Angle::deg(60.0))
                .usual,
            56.7 * held_in(Angle::deg(60.0)),
            epsilon = 1e-9
        );
    }

    #[test]
    fn a_wide_strip_is_a_flat() {
        let block = block(2.0, 40.0, 12.0);
        assert_relative_eq!(
            block.nose_n_mm3(1e7),
            block.flat_n_mm3(),
            max_relative = 1e-5
        );
    }

    #[test]
    fn without_a_wall_a_nose_presses_on_infill() {
        let bare = block(0.0, 40.0, 12.0);
        assert_eq!(bare.nose_crush_mpa(1.0), bare.infill_crush_mpa);
        assert_eq!(
            bare.nose_limit_mpa(1.0, Angle::deg(60.0)),
            bare.infill_crush_mpa
        );
    }

    #[test]
    fn what_was_measured_takes_the_place_of_the_table() {
        let measured = MeasuredPlastic {
            youngs_mpa: Some(2800.0),
            compressive_yield_mpa: Some(62.0),
        };
        let block = PrintedBlock::new(Plastic::Pla, measured, 2.0, 50.0, 12.0).unwrap();
        assert_eq!(block.surface_yield_mpa, PrintSpread::same(62.0));
        assert_eq!(block.infill_youngs_mpa.usual, 700.0);
        let sources = format!("{:?}", block.sources);
        assert!(
            sources.contains("2800 MPa") && sources.contains("62 MPa"),
            "{sources}"
        );
        assert!(!sources.contains("55 to 80"), "{sources}");
    }

    /// What a printed test piece bears over its whole cross-section: a skin of so many lines of 0.4 mm on a piece of
    /// 12.7 mm, and the infill inside.
    fn piece_mpa(infill_percent: f64, lines: f64) -> PrintSpread {
        let inside = 1.0 - 2.0 * 0.4 * lines / 12.7;
        let skin = 1.0 - inside * inside;
        let block = block(2.0, infill_percent, 12.0);
        block
            .surface_yield_mpa
            .with(block.infill_crush_mpa, |solid, infill| {
                skin * solid + (1.0 - skin) * infill
            })
    }

    /// Printed PLA with skin (Sci. Rep. 2025, s41598-025-94446-8, Table 4): rows of one pattern and of two and four
    /// stacked stretches of one pattern. The number of skin lines is not known: one and two are looked at.
    #[test]
    fn the_spread_holds_what_was_measured_on_pieces_with_skin() {
        let one_pattern = [(20.0, [17.0, 13.7, 16.5]), (50.0, [36.4, 36.6, 36.9])];
        for (percent, measured_mpa) in one_pattern {
            for lines in [1.0, 2.0] {
                let piece = piece_mpa(percent, lines);
                let mean_mpa = measured_mpa.iter().sum::<f64>() / 3.0;
                assert_relative_eq!(piece.usual, mean_mpa, max_relative = 0.25);
                for one_mpa in measured_mpa {
                    assert!(piece.weak < one_mpa && one_mpa < piece.strong, "{piece:?}");
                }
            }
        }
        for (percent, low_mpa, high_mpa) in [(20.0, 18.9, 21.7), (50.0, 38.0, 52.0)] {
            assert!(piece_mpa(percent, 1.0).weak < low_mpa);
            // Beyond two lines nobody knows: the best of all pieces lies 8 % above a strong print with two.
            assert!(piece_mpa(percent, 2.0).strong > high_mpa / 1.1, "{percent}");
        }
    }

    /// Bare gyroid keeps 1 to 12 % of a solid print; cells of 10 mm with walls of 0.4 mm to 4 mm with 0.8 mm.
    #[test]
    fn the_spread_holds_a_bare_lattice() {
        for (cell_mm, wall_mm, kept) in [(10.0, 0.4, 0.01), (4.0, 0.8, 0.12)] {
            let percent = 100.0 * 3.09 * wall_mm / cell_mm;
            let block = block(2.0, percent, 12.0);
            let shares = block
                .infill_crush_mpa
                .with(block.surface_yield_mpa, |infill, solid| infill / solid);
            // Read to the whole percent.
            assert!((shares.weak - kept).abs() < 0.005, "{percent} {shares:?}");
            assert!(shares.usual > kept);
        }
        // A full block is no lattice.
        assert_relative_eq!(bare_lattice(1.0), 1.0);
    }

    /// As they were printed: PETG bears 0.67 of what it bears melted together, ASA upright 0.71 to 0.97 of lying.
    #[test]
    fn a_print_keeps_what_was_measured_of_its_plastic() {
        for plastic in Plastic::ALL {
            let data = plastic.data();
            let of = |infill| {
                PrintedBlock::new(plastic, MeasuredPlastic::default(), 2.0, infill, 12.0).unwrap()
            };
            let yields_mpa = of(100.0).surface_yield_mpa;
            assert!(yields_mpa.weak <= data.compressive_yield_mpa / 1.5 * 1.01);
            assert!(yields_mpa.strong <= 0.9674 * data.most_compressive_yield_mpa * 1.01);
            assert!(yields_mpa.weak < yields_mpa.usual && yields_mpa.usual < yields_mpa.strong);
        }
    }

    #[test]
    fn shells_and_nonsense_are_no_blocks() {
        let of = |wall, infill, base| {
            PrintedBlock::new(
                Plastic::Petg,
                MeasuredPlastic::default(),
                wall,
                infill,
                base,
            )
        };
        for percent in [0.0, 4.9, 101.0, -3.0, f64::NAN, f64::INFINITY] {
            assert!(
                matches!(of(2.0, percent, 12.0), Err(NoBlock::Infill { .. })),
                "{percent}"
            );
        }
        for (wall, base) in [
            (-1.0, 12.0),
            (2.0, 0.0),
            (f64::NAN, 12.0),
            (2.0, f64::INFINITY),
        ] {
            assert!(
                matches!(of(wall, 20.0, base), Err(NoBlock::Size { .. })),
                "{wall} {base}"
            );
        }
        assert_eq!(
            of(2.0, 0.0, 12.0).unwrap_err().to_string(),
            "a block with 0 % infill is not calculated: from 5 to 100 %"
        );
    }

    proptest! {
        #[test]
        fn stiffness_follows_what_is_printed(
            wall in 0.0f64..6.0, infill in 5.0f64..95.0, base in 5.0f64..30.0, a in 0.05f64..20.0
        ) {
            let this = block(wall, infill, base);
            let k = this.nose_spread_n_mm3(a);
            prop_assert!(k.weak > 0.0 && k.weak <= k.usual && k.usual <= k.strong);
            // A nose is stiffer than a flat, and a narrower nose stiffer than a wide one.
            prop_assert!(k.usual > this.flat_n_mm3());
            prop_assert!(this.nose_n_mm3(a / 2.0) > k.usual);
            // More wall, more infill, less height: stiffer and not weaker.
            prop_assert!(block(wall + 0.5, infill, base).nose_n_mm3(a) >= k.usual * (1.0 - 1e-12));
            prop_assert!(block(wall, infill + 5.0, base).nose_n_mm3(a) >= k.usual);
            prop_assert!(block(wall, infill, base + 2.0).nose_n_mm3(a) <= k.usual);
            let limit = this.nose_limit_mpa(a, Angle::deg(45.0));
            prop_assert!(limit.weak <= limit.usual && limit.usual <= limit.strong);
        }
    }
}

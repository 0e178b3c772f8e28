//! Whether vise and printed dies bear a pressing: force against the vise, nose pressure against the print.
//!
//! The pressing itself comes from elsewhere; here it is a few numbers. All judgements carry a weak, a usual and a
//! strong print, because nobody knows which one the maker has.

use crate::part::Part;
use crate::quantity::Angle;
use crate::stock::PrintSpread;
use crate::stock::printed_block::{MeasuredPlastic, NoBlock, PrintedBlock, held_in};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How long printed dies keep their shape, as far as anybody has said.
const SETTLING: &str = "Polymer dies that bent 1 mm aluminium over a V settled during about the first five strokes \
                        (Metals 2021, 11(8), 1256; abstract read, not the paper), so measure the plate after the first \
                        strokes, not only after one";

/// A pressing at its hardest moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressLoad {
    /// Largest closing force, for each mm of width.
    pub force_n_mm: f64,
    /// Force for each mm of width when the dies stand at their drawn closed place; `None`: never there.
    pub bending_n_mm: Option<f64>,
    /// Width of the sheet across the strip.
    pub width_mm: f64,
    /// Largest pressure of sheet on die.
    pub most_nose_pressure_mpa: f64,
    /// Half of what that pressure covers along the strip; the sheet thickness when nothing better is known.
    pub nose_half_width_mm: f64,
    /// Largest bend angle: the sharpest nose.
    pub sharpest: Angle,
}

/// What vise and dies say to a pressing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strength {
    /// Largest closing force over the whole width.
    pub needed_n: f64,
    /// Force over the whole width that is enough to bend: the dies stand at their drawn closed place then, sheet and clearance
    /// between their faces, and more grips the flats. `None`: they never come there.
    pub bending_n: Option<f64>,
    /// Against the vise; `None` when the part file does not say how hard it presses.
    pub vise: Option<ViseCheck>,
    /// Against the print; `None` when nothing presses on a nose.
    pub nose: Option<NoseCheck>,
    /// How long the dies last, for people.
    pub die_life: String,
}

/// Force needed and force there is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ViseCheck {
    /// Force over the whole width.
    pub needed_n: f64,
    /// Least and most the vise gives.
    pub gives_n: [f64; 2],
    /// Needed over least, and over most: the share of the vise's force that is used.
    pub share: [f64; 2],
    /// Judgement.
    pub verdict: VerdictOnVise,
}

/// Whether the vise is strong enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictOnVise {
    /// Even the least it gives is enough.
    Enough,
    /// Enough only with a well greased screw.
    Perhaps,
    /// Even the most it gives is too little.
    TooWeak,
}

impl ViseCheck {
    /// Compares the force needed with the least and most that the vise gives, all in N.
    pub fn of(gives_n: [f64; 2], needed_n: f64) -> Self {
        let [least_n, most_n] = gives_n;
        Self {
            needed_n,
            gives_n,
            share: gives_n.map(|gives_n| needed_n / gives_n),
            verdict: if needed_n <= least_n {
                VerdictOnVise::Enough
            } else if needed_n <= most_n {
                VerdictOnVise::Perhaps
            } else {
                VerdictOnVise::TooWeak
            },
        }
    }
}

impl Strength {
    /// More force would not help: it is enough, although it is met only nearly.
    #[must_use]
    pub fn more_is_no_help(mut self) -> Self {
        if let Some(vise) = &mut self.vise {
            vise.verdict = VerdictOnVise::Enough;
        }
        self
    }

    /// The middle of what the vise gives ended the closing, and the dies are shaped for just that: it is enough where its least
    /// bends the sheet too.
    #[must_use]
    pub fn ended_as_meant(mut self) -> Self {
        if let Some(vise) = &mut self.vise {
            let [least_n, most_n] = vise.gives_n;
            let is_known = most_n - least_n < 1.0;
            let bends = self.bending_n.is_some_and(|bending_n| bending_n <= least_n);
            vise.verdict = if is_known || bends {
                VerdictOnVise::Enough
            } else {
                VerdictOnVise::Perhaps
            };
        }
        self
    }

    /// The middle of what the vise gives ended the closing too early: only what it gives beyond that can help.
    #[must_use]
    pub fn ended_early(mut self) -> Self {
        if let Some(vise) = &mut self.vise {
            let [least_n, most_n] = vise.gives_n;
            vise.verdict = if most_n > least_n {
                VerdictOnVise::Perhaps
            } else {
                VerdictOnVise::TooWeak
            };
        }
        self
    }
}

/// Pressure on the hardest pressed nose, and what the print bears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NoseCheck {
    /// Largest pressure.
    pub pressure_mpa: f64,
    /// Pressure at which the printed face yields.
    pub surface_yield_mpa: PrintSpread,
    /// Pressure on the face at which the infill below the wall is crushed; `None` in a block that is all wall.
    pub infill_crush_mpa: Option<PrintSpread>,
    /// The lower of the two over the pressure: above 1 it holds.
    pub safety: PrintSpread,
    /// What gives way first in a usual print.
    pub first_to_go: NosePlace,
    /// By how much a nose stays pressed in: order of magnitude.
    pub set_mm: PrintSpread,
    /// Judgement.
    pub verdict: VerdictOnNose,
}

/// Where a nose gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NosePlace {
    /// The printed face.
    Surface,
    /// The infill under the wall.
    Infill,
}

/// Whether the noses bear the pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictOnNose {
    /// Even a weak print holds.
    Holds,
    /// A usual print holds, a weak one is pressed in.
    HoldsIfPrintedWell,
    /// A usual print is pressed in, a strong one holds.
    LikelyPressedIn,
    /// Even a strong print is pressed in.
    PressedIn,
}

impl NoseCheck {
    /// Compares the pressure on a nose with what the block bears; `None` when nothing presses.
    ///
    /// The set is the settlement of all pressure above the limit, `(p − p_limit)/k`: a face that has yielded does
    /// not spring back from it. Order of magnitude; own estimate, no source.
    ///
    /// # Valid for
    /// A short load at room temperature. Plastic creeps under a load that stays on; that is not counted.
    pub fn of(
        block: &PrintedBlock,
        pressure_mpa: f64,
        half_width_mm: f64,
        sharpest: Angle,
    ) -> Option<Self> {
        if pressure_mpa.is_nan() || pressure_mpa <= 0.0 {
            return None;
        }
        let limit_mpa = block.nose_limit_mpa(half_width_mm, sharpest);
        let crush_mpa = block.nose_crush_mpa(half_width_mm);
        let surface_mpa = block
            .surface_yield_mpa
            .map(|yields_mpa| yields_mpa * held_in(sharpest));
        let safety = limit_mpa.map(|limit_mpa| limit_mpa / pressure_mpa);
        let set_mm = limit_mpa.with(
            block.nose_spread_n_mm3(half_width_mm),
            |limit_mpa, stiffness_n_mm3| (pressure_mpa - limit_mpa).max(0.0) / stiffness_n_mm3,
        );
        Some(Self {
            pressure_mpa,
            surface_yield_mpa: surface_mpa,
            infill_crush_mpa: crush_mpa.usual.is_finite().then_some(crush_mpa),
            safety,
            first_to_go: if crush_mpa.usual < surface_mpa.usual {
                NosePlace::Infill
            } else {
                NosePlace::Surface
            },
            set_mm,
            verdict: if safety.weak >= 1.0 {
                VerdictOnNose::Holds
            } else if safety.usual >= 1.0 {
                VerdictOnNose::HoldsIfPrintedWell
            } else if safety.strong >= 1.0 {
                VerdictOnNose::LikelyPressedIn
            } else {
                VerdictOnNose::PressedIn
            },
        })
    }

    /// How long the dies last, in words.
    fn die_life(&self) -> String {
        let way_out = match self.first_to_go {
            NosePlace::Surface => "larger radii or a stronger plastic help",
            NosePlace::Infill => "more infill or thicker walls help",
        };
        match self.verdict {
            VerdictOnNose::Holds => format!("The noses hold even if printed badly. {SETTLING}."),
            VerdictOnNose::HoldsIfPrintedWell => format!(
                "The noses hold if the layers hold well, else they are pressed in by about {:.2} mm; {way_out}. {SETTLING}.",
                self.set_mm.weak
            ),
            VerdictOnNose::LikelyPressedIn => format!(
                "The noses are likely pressed in by about {:.2} mm in the first strokes and more in later ones; {way_out}. \
                 {SETTLING}.",
                self.set_mm.usual
            ),
            VerdictOnNose::PressedIn => format!(
                "Even well printed noses are pressed in in the first stroke, by {:.2} mm or more; {way_out}.",
                self.set_mm.strong
            ),
        }
    }
}

/// Natural strain at which a tensile bar of a metal breaks: `ln(1 + A)`, A its elongation.
///
/// # Valid for
/// A first look. A bent edge is held together by the metal beneath and often bears more; burrs, scratches and narrow
/// strips bear less. No source: common practice.
pub fn breaking_strain(elongation_percent: f64) -> f64 {
    libm::log1p(elongation_percent / 100.0)
}

/// The printed blocks of a part's dies, behind their faces.
///
/// # Errors
/// Blocks that are shells.
pub fn printed_block(part: &Part) -> Result<PrintedBlock, NoBlock> {
    let printer = &part.printer;
    PrintedBlock::new(
        printer.plastic,
        MeasuredPlastic {
            youngs_mpa: printer.youngs_mpa,
            compressive_yield_mpa: printer.compressive_yield_mpa,
        },
        printer.wall_mm,
        printer.infill_percent,
        part.dies.base_mm,
    )
}

/// Judges a pressing by the least and most force of the vise (N; `None`: not known) and by the print.
pub fn strength(load: &PressLoad, gives_n: Option<[f64; 2]>, block: &PrintedBlock) -> Strength {
    let needed_n = load.force_n_mm * load.width_mm;
    let nose = NoseCheck::of(
        block,
        load.most_nose_pressure_mpa,
        load.nose_half_width_mm,
        load.sharpest,
    );
    Strength {
        needed_n,
        bending_n: load
            .bending_n_mm
            .map(|force_n_mm| force_n_mm * load.width_mm),
        vise: gives_n.map(|gives_n| ViseCheck::of(gives_n, needed_n)),
        die_life: nose.map_or_else(
            || "Nothing presses on the noses.".to_owned(),
            |nose| nose.die_life(),
        ),
        nose,
    }
}

/// Least and most opening of a single V over sheet thickness that [`v_bend`] answers for. Common practice, no source.
const V_OPENINGS: std::ops::RangeInclusive<f64> = 6.0..=12.0;

/// Where [`v_bend`] comes from.
pub const V_BEND_SOURCE: &str = "F = C·Rm·b·s²/W, C = 1 + 4·s/W up to W/s = 10, else 1: German handbook rule for V dies, \
                                 as printed in an exercise sheet of the trade";

/// Handbook force of air bending in a single V.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct VBend {
    /// Force for each mm of width.
    pub force_n_mm: f64,
    /// Factor C.
    pub factor: f64,
}

/// Handbook force of air bending in a single V, for orientation: what one bend takes before it touches the bottom.
///
/// `F/b = C·Rm·s²/W`, `C = 1 + 4·s/W` up to `W/s = 10`, else 1; the rule jumps there, from 1.4 to 1.
///
/// # Units
/// - `opening_mm`: width W of the V between its edges
///
/// # Valid for
/// One V of opening 6 to 12 thicknesses, bent in the air. A step is no V: its two bends share a wall and are pressed
/// home at the end, which takes several times as much. `None` outside.
///
/// # Source
/// [`V_BEND_SOURCE`]. English handbooks print a factor of 1.2 to 1.33 throughout (course notes citing Kalpakjian &
/// Schmid 2003).
pub fn v_bend(tensile_mpa: f64, thickness_mm: f64, opening_mm: f64) -> Option<VBend> {
    let ratio = opening_mm / thickness_mm;
    if !(V_OPENINGS.contains(&ratio) && thickness_mm > 0.0 && tensile_mpa > 0.0) {
        return None;
    }
    let factor = if ratio <= 10.0 {
        1.0 + 4.0 / ratio
    } else {
        1.0
    };
    Some(VBend {
        force_n_mm: factor * tensile_mpa * thickness_mm / ratio,
        factor,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{Vise, ViseForce, parse, starter::STARTER};
    use crate::stock::Plastic;
    use approx::assert_relative_eq;

    fn vise(force: Option<ViseForce>) -> Vise {
        Vise {
            jaw_width_mm: 100.0,
            jaw_height_mm: None,
            opening_mm: 120.0,
            force,
            span: 0..0,
        }
    }

    fn screw() -> Vise {
        vise(Some(ViseForce::Screw {
            lead_mm: 5.0,
            handle_length_mm: 200.0,
            handle_force_n: 200.0,
            efficiency: [0.15, 0.35],
        }))
    }

    fn block(infill_percent: f64) -> PrintedBlock {
        PrintedBlock::new(
            Plastic::Pla,
            MeasuredPlastic::default(),
            2.0,
            infill_percent,
            12.0,
        )
        .unwrap()
    }

    fn load(pressure_mpa: f64) -> PressLoad {
        PressLoad {
            force_n_mm: 200.0,
            bending_n_mm: Some(120.0),
            width_mm: 32.0,
            most_nose_pressure_mpa: pressure_mpa,
            nose_half_width_mm: 1.0,
            sharpest: Angle::deg(60.0),
        }
    }

    #[test]
    fn force_is_judged_against_both_ends_of_the_vise() {
        for (needed_n, verdict) in [
            (7000.0, VerdictOnVise::Enough),
            (10_000.0, VerdictOnVise::Perhaps),
            (18_000.0, VerdictOnVise::TooWeak),
        ] {
            let check = ViseCheck::of(screw().force_n().unwrap(), needed_n);
            assert_eq!(check.verdict, verdict);
            assert_relative_eq!(check.share[0], needed_n / 7539.8, max_relative = 1e-4);
            assert_relative_eq!(check.share[1], needed_n / 17_592.9, max_relative = 1e-4);
        }
        assert_eq!(vise(None).force_n(), None);
    }

    #[test]
    fn a_closing_that_ended_early_had_not_enough() {
        let spread = [
            (Some(screw()), VerdictOnVise::Perhaps),
            (None, VerdictOnVise::Enough),
        ];
        for (vise, verdict) in spread {
            let gives_n = vise.as_ref().and_then(Vise::force_n);
            let strength = strength(&load(10.0), gives_n, &block(100.0)).ended_early();
            assert_eq!(
                strength
                    .vise
                    .map_or(VerdictOnVise::Enough, |vise| vise.verdict),
                verdict
            );
        }
    }

    #[test]
    fn a_closing_that_its_force_ends_as_meant_had_enough() {
        let nearly = [6390.0, 6390.0];
        let strength = strength(&load(10.0), Some(nearly), &block(100.0));
        assert_eq!(strength.vise.unwrap().verdict, VerdictOnVise::TooWeak);
        let meant = strength.ended_as_meant();
        assert_eq!(meant.vise.unwrap().verdict, VerdictOnVise::Enough);
    }

    #[test]
    fn pressure_is_judged_against_the_print() {
        // 100 %: 36.85, 56.7 and 77.6 MPa of the face, 2.364 times as much held in by a turn of 60 degrees.
        for (pressure_mpa, verdict) in [
            (87.0, VerdictOnNose::Holds),
            (134.0, VerdictOnNose::HoldsIfPrintedWell),
            (183.0, VerdictOnNose::LikelyPressedIn),
            (184.0, VerdictOnNose::PressedIn),
        ] {
            let check = NoseCheck::of(&block(100.0), pressure_mpa, 1.0, Angle::deg(60.0)).unwrap();
            assert_eq!(check.verdict, verdict, "{pressure_mpa}");
            assert_eq!(check.first_to_go, NosePlace::Surface);
            assert_relative_eq!(
                check.safety.usual,
                56.7 * 2.364 / pressure_mpa,
                max_relative = 1e-3
            );
        }
        // 40 % and a wall of 2 mm: the infill goes first, at 54.58 MPa.
        let check = NoseCheck::of(&block(40.0), 70.0, 1.0, Angle::deg(60.0)).unwrap();
        assert_eq!(check.first_to_go, NosePlace::Infill);
        assert_eq!(check.verdict, VerdictOnNose::LikelyPressedIn);
        assert_relative_eq!(check.safety.usual, 0.7797, epsilon = 1e-3);
        // (70 - 54.58) MPa over 304 N/mm3.
        assert_relative_eq!(check.set_mm.usual, 0.0507, epsilon = 1e-4);
        assert!(check.set_mm.weak > check.set_mm.usual && check.set_mm.strong == 0.0);
    }

    #[test]
    fn a_nose_that_holds_keeps_no_set() {
        let check = NoseCheck::of(&block(100.0), 20.0, 1.0, Angle::deg(60.0)).unwrap();
        assert_eq!(check.set_mm, PrintSpread::same(0.0));
    }

    #[test]
    fn nothing_pressing_is_no_check() {
        for nothing in [0.0, -1.0, f64::NAN] {
            assert_eq!(
                NoseCheck::of(&block(40.0), nothing, 1.0, Angle::deg(60.0)),
                None
            );
        }
        let strength = strength(&load(0.0), None, &block(40.0));
        assert_eq!((strength.vise, strength.nose), (None, None));
        assert_eq!(
            (strength.needed_n, strength.bending_n),
            (6400.0, Some(3840.0))
        );
        assert!(strength.die_life.starts_with("Nothing"));
    }

    #[test]
    fn words_say_what_to_do() {
        let words = |infill_percent: f64, pressure_mpa: f64| {
            strength(
                &load(pressure_mpa),
                screw().force_n(),
                &block(infill_percent),
            )
            .die_life
        };
        assert!(words(100.0, 20.0).contains("five strokes"));
        assert!(words(40.0, 40.0).contains("more infill"));
        assert!(words(100.0, 120.0).contains("larger radii"));
        assert!(words(100.0, 190.0).contains("in the first stroke,"));
    }

    #[test]
    fn all_of_it_can_be_written_as_json() {
        for infill_percent in [40.0, 100.0] {
            let strength = strength(&load(40.0), screw().force_n(), &block(infill_percent));
            let json = serde_json::to_value(&strength).unwrap();
            assert_eq!(json["vise"]["verdict"], "enough");
            assert!(json["nose"]["safety"]["weak"].is_f64());
        }
        let all_wall =
            PrintedBlock::new(Plastic::Pla, MeasuredPlastic::default(), 12.0, 40.0, 12.0).unwrap();
        let json = serde_json::to_value(strength(&load(40.0), None, &all_wall)).unwrap();
        assert!(json["nose"]["infill_crush_mpa"].is_null());
    }

    #[test]
    fn a_part_has_its_block() {
        let part = parse(STARTER).unwrap().value;
        assert_eq!(printed_block(&part), Ok(block(100.0)));
        let mut shell = part.clone();
        shell.printer.infill_percent = 0.0;
        assert!(matches!(
            printed_block(&shell),
            Err(NoBlock::Infill { infill_percent, .. }) if infill_percent == 0.0
        ));
        let measured = parse(&STARTER.replace("# wall_mm = 2.0", "compressive_yield_mpa = 70.0"))
            .unwrap()
            .value;
        assert_eq!(
            printed_block(&measured).unwrap().surface_yield_mpa,
            PrintSpread::same(70.0)
        );
    }

    #[test]
    fn a_v_is_answered_in_its_range_only() {
        for (opening_mm, answered) in [(5.9, false), (6.0, true), (12.0, true), (12.1, false)] {
            assert_eq!(
                v_bend(220.0, 1.0, opening_mm).is_some(),
                answered,
                "{opening_mm}"
            );
        }
        for (tensile_mpa, thickness_mm, opening_mm) in [
            (220.0, 0.0, 8.0),
            (f64::NAN, 1.0, 8.0),
            (220.0, -1.0, -8.0),
            (220.0, 1.0, f64::NAN),
        ] {
            assert_eq!(v_bend(tensile_mpa, thickness_mm, opening_mm), None);
        }
        // Similar dies: twice the thickness and opening, twice the force for each mm.
        let (one, two) = (
            v_bend(220.0, 1.0, 8.0).unwrap(),
            v_bend(220.0, 2.0, 16.0).unwrap(),
        );
        assert_relative_eq!(two.force_n_mm, 2.0 * one.force_n_mm);
        assert_eq!(v_bend(220.0, 1.0, 11.0).unwrap().factor, 1.0);
    }
}

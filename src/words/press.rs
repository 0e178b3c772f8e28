//! What a calculated pressing says, in sentences: for the terminal, the summary and the pictures.

use crate::forming::pressing::{ANGLE_MET_DEG, LENGTH_MET_MM, Pressing};
use crate::forming::strength::{NoseCheck, NosePlace, V_BEND_SOURCE, VBend, ViseCheck, v_bend};
use crate::numbers::{hundredths_up, plain, tenths_up};
use crate::part::spread::BACKS;
use crate::part::{Part, ViseForce, middle_n};

/// How far an estimate on the coarse mesh may be off.
pub const QUICK_ERROR: &str = "The coarse mesh gives an estimate: on twenty varied presses its angles lie within \
                               0.2 degrees and its rises within 0.03 mm of a far finer mesh. Let the fine mesh judge \
                               before you print dies.";

/// Why bows stay. That printers are hardly truer than that is common practice, no source.
pub const BOWS: &str = "A bow is left by the bends beside it. Gaps count it; the dies are not crowned against it, because \
                        printed faces are hardly truer than a bow is high.";

/// Goes with every answer about a pressing. Common practice, no source.
pub const CAUTION: &str = "Press with eye protection and keep fingers out of the jaws: printed plastic can burst. \
                           Local rules come first.";

/// How the pressed plate is put on the cooler to measure its gaps.
pub const LAYING: &str = "The pressed plate is laid over the board as near to the drawn one as a stiff piece can be: \
                          whatever holds it on the cooler may lay it otherwise.";

/// Which plate the gaps are judged on.
pub fn gaps_judged(part: &Part, pressing: Option<&Pressing>) -> String {
    match pressing {
        Some(pressing) => format!(
            "Judged by the plate as the vise leaves it, calculated on the {} mesh.{}",
            if is_estimate(pressing) {
                "coarse"
            } else {
                "fine"
            },
            if pressing.converged {
                ""
            } else {
                " It does not come out as drawn: what helps the pressing helps the gaps."
            }
        ),
        None if part.steps.is_empty() => {
            "Judged by the plate as drawn: nothing is bent.".to_owned()
        }
        None => "Judged by the plate as drawn: no pressing was calculated, so what the vise leaves missing is not in \
                 the gaps."
            .to_owned(),
    }
}

/// Whether only the coarse mesh was asked.
pub fn is_estimate(pressing: &Pressing) -> bool {
    pressing.is_estimate()
}

/// Whether the plate comes out as drawn, one sentence; whether it is good enough the verdict says.
pub fn comes_out(pressing: &Pressing) -> String {
    let estimate = if is_estimate(pressing) {
        ", by an estimate"
    } else {
        ""
    };
    if pressing.converged && pressing.radii_as_they_come.is_empty() {
        format!("The plate comes out as drawn{estimate}.")
    } else if pressing.converged {
        format!(
            "Angles, rises and flats come out as drawn{estimate}; inside radii as they come, up to {:.1} mm off, which the gaps \
             count.",
            pressing.worst_radius_mm()
        )
    } else if pressing.only_radii_missed() {
        format!(
            "Angles, rises and flats come out as drawn{estimate}, but bends up to {:.1} mm rounder or sharper.",
            pressing.worst_radius_mm()
        )
    } else if pressing.worst_angle_deg() <= ANGLE_MET_DEG
        && pressing.worst_rise_mm() <= LENGTH_MET_MM
    {
        format!(
            "Angles and rises come out as drawn{estimate}, but a flat between two steps is more than {} mm too long or too \
             short.",
            plain(LENGTH_MET_MM)
        )
    } else {
        format!("The plate does not come out as drawn{estimate}.")
    }
}

/// How far the plate may be off until a first one is measured; empty: not known.
pub fn range(pressing: &Pressing) -> String {
    pressing.range().map_or_else(String::new, |range| {
        format!(
            "Until a first pressing is measured: angles within ±{}°, heights of the flats within ±{} mm, inside radii within \
             ±{} mm of that (90 % range). Most of it: {}.",
            tenths_up(range.angle_deg),
            hundredths_up(range.height_mm),
            tenths_up(range.radius_mm),
            range.largest_cause.words()
        )
    })
}

/// How far the worst angle and rise are off, beside what counts as met.
pub fn worst(pressing: &Pressing) -> String {
    format!(
        "As calculated, good to about {}°, off by at most: angles {:.2}° ({}° counts as met), rises {:.3} mm, rounding of corners {:.3} mm ({} mm).",
        pressing.good_to_deg(),
        pressing.worst_angle_deg(),
        plain(ANGLE_MET_DEG),
        pressing.worst_rise_mm(),
        pressing.worst_rounding_mm(),
        plain(LENGTH_MET_MM)
    )
}

/// Share of the thickness that the thinnest place has lost.
pub fn thinning_percent(part: &Part, pressing: &Pressing) -> f64 {
    100.0 * (1.0 - pressing.thinnest_mm / part.sheet.thickness_mm)
}

/// Natural strain at which a tensile bar of the sheet breaks: `ln(1 + A)`, A its elongation.
///
/// # Valid for
/// A first look. A bent edge is held together by the metal beneath and often bears more; burrs, scratches and narrow
/// strips bear less. No source: common practice.
pub fn breaking_strain(part: &Part) -> f64 {
    crate::forming::strength::breaking_strain(part.sheet.metal.elongation_percent)
}

/// Thinning, and outer strain against what the metal bears.
pub fn stretch(part: &Part, pressing: &Pressing) -> String {
    let limit = breaking_strain(part);
    let share = 100.0 * pressing.outer_strain / limit;
    format!(
        "The sheet is {:.3} mm thin at its thinnest place ({:.1} % less than {} mm). Its outer face is stretched by a \
         natural strain of {:.3}, {share:.0} % of the {limit:.3} at which a tensile bar of it breaks{}: an estimate, cracks \
         start earlier at cut, scratched or bad edges.",
        pressing.thinnest_mm,
        thinning_percent(part, pressing),
        plain(part.sheet.thickness_mm),
        pressing.outer_strain,
        if share >= 100.0 {
            "; EXPECT CRACKS, use a larger inside radius or a softer temper"
        } else {
            ""
        }
    )
}

/// Force of the pressing against the vise.
pub fn force(part: &Part, pressing: &Pressing) -> String {
    let needed = format!(
        "{:.0} N for each mm of width, {:.0} N in all{}",
        pressing.max_force_n_per_mm,
        pressing.strength.needed_n,
        bending(pressing)
    );
    let vise = match (&pressing.strength.vise, &part.vise) {
        // The vise's force ended the closing: what was needed is what it gives.
        (Some(check), _) if pressing.force_limited && pressing.converged => format!(
            "{}, and the dies are shaped for {}, {}: pull no harder",
            gives(check),
            middle(check),
            if pressing.curve.last().is_some_and(|last| last.lifted_mm <= 0.0) {
                "which closes them as drawn and begins to grip the flats"
            } else {
                "which does not quite close them"
            }
        ),
        (Some(check), _) if pressing.force_limited => format!(
            "{}, and {} ends the closing before the dies are closed: TOO WEAK unless its screw is clean and greased",
            gives(check),
            middle(check)
        ),
        (Some(check), _) => vise(check),
        (None, Some(_)) if pressing.force_assumed_n.is_some() && pressing.force_limited => {
            "the part file does not say how hard the vise presses, so the dies are shaped for the least of a common one: add \
             its force under [vise], and pull no harder"
                .into()
        }
        (None, Some(_)) => {
            "the part file does not say how hard the vise presses: add its force under [vise]"
                .into()
        }
        (None, None) if pressing.force_assumed_n.is_some() && pressing.force_limited => {
            "no [vise] in the part file, so the dies are shaped for the least force of a common one: pull no harder".into()
        }
        (None, None) => "not checked against a vise: no [vise] in the part file".into(),
    };
    format!("{needed}; {vise}.{}", stop(pressing))
}

/// A way of the upper die that callipers and prints leave open, mm. Own choice.
const LEFT_OPEN_MM: f64 = 0.05;

/// What ends the pressing, and how far the backs are apart then.
pub fn until(part: &Part, pressing: Option<&Pressing>, end_mm: f64) -> String {
    let Some(pressing) = pressing else {
        return format!("Press until the backs are {end_mm:.2} mm apart.");
    };
    let costs = pressing.closing_deg_mm.map_or_else(String::new, |deg_mm| {
        let costs_deg = tenths_up((LEFT_OPEN_MM * deg_mm).abs());
        format!(
            " {} mm more or less are up to {costs_deg}° of wall.",
            plain(LEFT_OPEN_MM)
        )
    });
    if !pressing.force_limited || pressing.gauge_ends_it_better() {
        return format!(
            "Press until the backs are {end_mm:.2} mm apart, by a gauge between them, not by the handle.{costs}"
        );
    }
    let pull = if pressing.force_assumed_n.is_some() {
        "Pull with the least force of a common vise, because the part file does not say how hard yours presses,"
    } else {
        match part.vise.as_ref().and_then(|vise| vise.force) {
            Some(ViseForce::Screw { .. }) => "Pull as hard as the part file says (handle_force_n)",
            _ => "Press with the force that the part file gives",
        }
    };
    format!(
        "{pull} and no harder: the handle ends it, not a gauge. The backs are then about {end_mm:.2} mm apart.{costs}"
    )
}

/// What ends the closing best, by the ranges that each way leaves; empty where the dies are closed.
fn stop(pressing: &Pressing) -> String {
    let (Some(range), Some(gauge_deg)) = (pressing.range(), pressing.range_by_gauge_deg) else {
        return String::new();
    };
    let off_mm = BACKS.words();
    let [by_force, by_gauge] = [range.angle_deg, gauge_deg].map(tenths_up);
    if pressing.gauge_ends_it_better() {
        format!(
            " Let a gauge between the backs end it, not the force: with one that is {off_mm} mm off walls come within \
             ±{by_gauge}°, by the force within ±{by_force}°."
        )
    } else {
        format!(
            " Let the force end it, not a gauge: walls then come within ±{by_force}°, with a gauge between the backs that is \
             {off_mm} mm off within ±{by_gauge}°."
        )
    }
}

/// What is enough to bend, beside what closes the dies.
fn bending(pressing: &Pressing) -> String {
    pressing
        .strength
        .bending_n
        .map_or_else(String::new, |bending_n| {
            format!(
                " (enough to bend are {bending_n:.0} N: the dies then stand at their drawn closed place, and more grips the \
                 flats)"
            )
        })
}

/// Opening of the V that the handbook force is given for, in thicknesses. Common practice, no source.
const V_OPENING: f64 = 8.0;

/// Handbook force of one bend of the sheet in the air, over a V of eight thicknesses.
pub fn handbook_v(part: &Part) -> Option<VBend> {
    let thickness_mm = part.sheet.thickness_mm;
    v_bend(
        part.sheet.metal.tensile_mpa,
        thickness_mm,
        V_OPENING * thickness_mm,
    )
}

/// The same in a sentence, and why it is not the force of the dies; empty where there is none.
pub fn handbook_force(part: &Part) -> String {
    handbook_v(part).map_or_else(String::new, |v| {
        format!(
            "For orientation: one bend of this sheet in the air, over a V that is {} mm wide, takes about {:.0} N for each mm \
             ({V_BEND_SOURCE}); a step is no V and is pressed home.",
            plain(V_OPENING * part.sheet.thickness_mm),
            v.force_n_mm
        )
    })
}

fn gives(check: &ViseCheck) -> String {
    let [low, high] = check.gives_n;
    if high - low < 1.0 {
        format!("the vise gives {low:.0} N")
    } else {
        format!("the vise gives {low:.0} to {high:.0} N")
    }
}

/// The force that dies are shaped for.
fn middle(check: &ViseCheck) -> String {
    let [low, high] = check.gives_n;
    if high - low < 1.0 {
        "that".to_owned()
    } else {
        format!("the middle of it, {:.0} N", middle_n(check.gives_n))
    }
}

fn vise(check: &ViseCheck) -> String {
    use crate::forming::strength::VerdictOnVise::{Enough, Perhaps, TooWeak};
    let words = match check.verdict {
        Enough => "enough",
        Perhaps => "enough only with a clean, greased screw",
        TooWeak => "TOO WEAK",
    };
    format!("{}: {words}", gives(check))
}

/// Pressure on the noses against what the print bears.
pub fn noses(pressing: &Pressing) -> String {
    pressing
        .strength
        .nose
        .as_ref()
        .map_or_else(|| "Nothing presses on the noses.".to_owned(), nose)
}

fn nose(check: &NoseCheck) -> String {
    use crate::forming::strength::VerdictOnNose::{
        Holds, HoldsIfPrintedWell, LikelyPressedIn, PressedIn,
    };
    let words = match check.verdict {
        Holds => "holds",
        HoldsIfPrintedWell => "holds if printed well",
        LikelyPressedIn => "LIKELY PRESSED IN",
        PressedIn => "PRESSED IN",
    };
    let place = match check.first_to_go {
        NosePlace::Surface => "the printed face",
        NosePlace::Infill => "the infill below the wall",
    };
    format!(
        "{:.0} MPa on the hardest pressed nose; {place} gives way first, safety {:.2} for a weak print, {:.2} for a usual one, \
         {:.2} for a strong one: {words}.",
        check.pressure_mpa, check.safety.weak, check.safety.usual, check.safety.strong
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::pressed;

    #[test]
    fn it_is_said_what_was_met() {
        let (part, mut pressing) = pressed();
        pressing.radii_as_they_come.clear();
        assert!(comes_out(&pressing).ends_with("as drawn, by an estimate."));
        pressing.presses = [3, 2];
        assert!(comes_out(&pressing).ends_with("as drawn."));
        pressing.converged = false;
        assert!(comes_out(&pressing).contains("mm rounder or sharper"));
        pressing.shape_met = false;
        assert!(comes_out(&pressing).contains("a flat between two steps"));
        pressing.bends[0].released_angle_deg += 2.0;
        assert!(comes_out(&pressing).starts_with("The plate does not"));
        pressing.outer_strain = 1.0;
        assert!(stretch(&part, &pressing).contains("EXPECT CRACKS"));
    }

    #[test]
    fn it_is_said_what_ends_the_closing_best() {
        let (part, mut pressing) = pressed();
        let by_force_deg = pressing.range().unwrap().angle_deg;
        pressing.range_by_gauge_deg = None;
        assert_eq!(stop(&pressing), "");
        pressing.range_by_gauge_deg = Some(by_force_deg + 0.5);
        assert!(force(&part, &pressing).contains("Let the force end it, not a gauge"));
        pressing.range_by_gauge_deg = Some(by_force_deg - 0.1);
        assert!(force(&part, &pressing).contains("Let a gauge between the backs end it"));
    }
}

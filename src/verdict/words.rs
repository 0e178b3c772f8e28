//! The words of the verdict: headline, reasons, ways out.

use super::reason::{Forces, Reason, Why};
use crate::fit::{self, Cause, ComponentFit};
use crate::forming::pressing::Pressing;
use crate::numbers::{hundredths_up, plain, tenths_up};
use crate::part::COMMON_HANDLE_MM;

/// Pads named among the ways out; the JSON document has them all.
const PADS_SHOWN: usize = 3;
/// Limits of a pressing named in a reason; all stand beside the pressing.
const LIMITS_SHOWN: usize = 1;

/// The answer in one sentence.
pub(super) fn headline(name: &str, reasons: &[Reason], range: Option<&str>) -> String {
    let made = range.map_or_else(
        || format!("\"{name}\" can be made"),
        |range| format!("\"{name}\" can be made, {range}"),
    );
    let conditions: Vec<&str> = reasons
        .iter()
        .filter_map(|reason| reason.condition.as_deref())
        .collect();
    match (reasons.len() - conditions.len(), conditions.split_first()) {
        (0, None) => format!("YES: {made}."),
        (0, Some((first, []))) => format!("YES, IF {first}: {made}."),
        (0, Some((first, more))) => format!("YES, IF {first}: {made}. {} more below.", more.len()),
        (1, _) => format!("NO: \"{name}\" cannot be made like this, for one reason:"),
        (count, _) => format!("NO: \"{name}\" cannot be made like this, for {count} reasons:"),
    }
}

/// How far the plate may be off until a first one is measured, for the headline.
pub(super) fn range(pressing: &Pressing) -> Option<String> {
    pressing.range().map(|range| {
        format!(
            "walls within ±{}°, flats within ±{} mm until a first pressing is measured",
            tenths_up(range.angle_deg),
            hundredths_up(range.height_mm)
        )
    })
}

/// Condition and sentence of a reason. A condition has its number first, what it comes from after.
pub(super) fn of(forces: Forces, why: &Why) -> (Option<String>, String) {
    let (fact, condition) = both(why);
    match (forces, condition) {
        (Forces::No, _) => (None, fact),
        (Forces::If, None) => (Some(fact.clone()), fact),
        (Forces::If, Some(condition)) => {
            let text = format!("{condition}: {fact}");
            (Some(condition), text)
        }
    }
}

/// What is so, and what must hold where that is no NO.
fn both(why: &Why) -> (String, Option<String>) {
    match why {
        Why::PressingRefused { what } | Why::DiesRefused { what } => (what.clone(), None),
        Why::PressingUnknown { what } => (
            what.clone(),
            Some("a trial pressing comes out as drawn".into()),
        ),
        Why::NotPressed => (
            "not pressed, so what springback leaves missing, the force and the load on the noses are not known; on the bundled examples \
             calculated dies are bent 0.2 to 14 degrees further"
                .into(),
            Some("a trial pressing comes out as drawn".into()),
        ),
        Why::WallMissed { .. } | Why::RadiusMissed { .. } => missed(why),
        Why::ViseTooWeak { .. } | Why::ViseGreasedOnly { .. } | Why::ViseForceUnknown { .. } => {
            vise(why)
        }
        Why::NosesPressedIn { .. }
        | Why::NosesLikelyPressedIn { .. }
        | Why::NosesIfPrintedWell { .. } => noses(why),
        Why::BendsMayCrack { strain, breaks_at } => (
            format!(
                "its outer face is stretched by a natural strain of {strain:.3}, a tensile bar of it breaks at {breaks_at:.3}"
            ),
            Some(format!(
                "the sheet does not crack at a strain of {strain:.3}"
            )),
        ),
        Why::JawsTooNarrow { .. }
        | Why::JawsTooLow { .. }
        | Why::JawHeightUnknown { .. }
        | Why::ViseUnknown { .. }
        | Why::BedUnknown { .. } => machines(why),
        // Their words come from the gaps.
        Why::PartGap { part, .. } => (part.clone(), None),
        Why::ObstacleNear { obstacle, .. } => (obstacle.clone(), None),
        Why::PartTooHot { .. }
        | Why::PipeTooHot { .. }
        | Why::PartMayBeTooHot { .. }
        | Why::PartHeatUnknown { .. }
        | Why::HeatUnknown { .. } => heat(why),
        Why::Remark { what } => (
            what.clone(),
            Some("the warnings about the part file do no harm".into()),
        ),
        Why::Estimate => (
            "this pressing is an estimate on the coarse mesh; on twenty varied presses it lay within 0.2 degrees and \
             0.03 mm of a far finer one"
                .into(),
            Some("the fine mesh agrees".into()),
        ),
    }
}

fn missed(why: &Why) -> (String, Option<String>) {
    let (limits, off, good_enough) = match why {
        Why::WallMissed {
            angle_deg,
            rise_mm,
            along_mm,
            limits,
        } => (
            limits,
            format!(
                "the pressed plate misses the drawing: angles by up to {angle_deg:.1} degrees, rises by up to {rise_mm:.2} mm, \
                 places along the strip by up to {along_mm:.2} mm"
            ),
            format!(
                "angles up to {angle_deg:.1} degrees and lengths up to {:.2} mm off are good enough",
                rise_mm.max(*along_mm)
            ),
        ),
        Why::RadiusMissed { radius_mm, limits } => (
            limits,
            format!(
                "the pressed plate misses inside radii by up to {radius_mm:.1} mm, everything else comes out as drawn"
            ),
            format!("inside radii up to {radius_mm:.1} mm off are good enough"),
        ),
        _ => return (String::new(), None),
    };
    let limits: Vec<&str> = limits
        .iter()
        .take(LIMITS_SHOWN)
        .map(String::as_str)
        .collect();
    let because = if limits.is_empty() {
        String::new()
    } else {
        format!("; {}", limits.join("; "))
    };
    (format!("{off}{because}"), Some(good_enough))
}

/// A force in kN: whole ones from ten on, tenths below.
fn kilonewtons(force_n: f64, round: fn(f64) -> f64) -> String {
    let kilonewtons = force_n / 1000.0;
    if kilonewtons >= 10.0 {
        plain(round(kilonewtons))
    } else {
        plain(round(10.0 * kilonewtons) / 10.0)
    }
}

/// What a vise gives, rounded down.
fn gives([least_n, most_n]: [f64; 2]) -> String {
    let [least, most] = [least_n, most_n].map(|force_n| kilonewtons(force_n, libm::floor));
    if least == most {
        format!("{least} kN")
    } else {
        format!("{least} to {most} kN")
    }
}

/// What is needed, rounded up.
fn needs(needed_n: f64) -> String {
    format!("{} kN", kilonewtons(needed_n, libm::ceil))
}

/// What is enough to bend, beside what closes the dies.
fn bends(bending_n: Option<f64>) -> String {
    bending_n.map_or_else(String::new, |bending_n| {
        format!(" ({} are enough to bend)", needs(bending_n))
    })
}

fn vise(why: &Why) -> (String, Option<String>) {
    match *why {
        Why::ViseTooWeak {
            needed_n,
            bending_n,
            gives_n,
            ends_closing,
        } => (
            if ends_closing {
                format!(
                    "the vise is too weak: it gives {}, and that ends the closing before the dies are closed",
                    gives(gives_n)
                )
            } else {
                format!(
                    "the vise is too weak: it gives {}, {} are needed{}",
                    gives(gives_n),
                    needs(needed_n),
                    bends(bending_n)
                )
            },
            None,
        ),
        Why::ViseGreasedOnly {
            needed_n,
            bending_n,
            gives_n: [least_n, most_n],
            ends_closing,
        } => {
            let greased = gives([most_n, most_n]);
            let dry = gives([least_n, least_n]);
            if ends_closing {
                (
                    format!("the {dry} of a dry one end the closing before the dies are closed"),
                    Some(format!(
                        "the vise's screw is clean and greased (it then gives up to {greased})"
                    )),
                )
            } else {
                (
                    format!(
                        "{} are needed{}, a dry one gives {dry}",
                        needs(needed_n),
                        bends(bending_n)
                    ),
                    Some(format!(
                        "the vise's screw is clean and greased (it then gives up to {greased})"
                    )),
                )
            }
        }
        Why::ViseForceUnknown {
            needed_n,
            bending_n,
            assumed_n,
            common_gives_n: [low_n, high_n],
        } => (
            format!(
                "the part file does not say how hard it presses{}{}",
                if assumed_n.is_some() {
                    ", so the dies are shaped for the least of a common one"
                } else {
                    ""
                },
                bends(bending_n)
            ),
            Some(format!(
                "your vise gives {} (a common one with a {} mm handle gives {:.0} to {:.0}, common practice, no source)",
                needs(needed_n),
                plain(COMMON_HANDLE_MM),
                libm::floor(low_n / 1000.0),
                libm::floor(high_n / 1000.0)
            )),
        ),
        _ => (String::new(), None),
    }
}

fn noses(why: &Why) -> (String, Option<String>) {
    let (pressure_mpa, bears_mpa, print) = match *why {
        Why::NosesPressedIn {
            pressure_mpa,
            bears_mpa,
            ..
        } => (pressure_mpa, bears_mpa, "even a strong"),
        Why::NosesLikelyPressedIn {
            pressure_mpa,
            bears_mpa,
            ..
        } => (pressure_mpa, bears_mpa, "a usual"),
        Why::NosesIfPrintedWell {
            pressure_mpa,
            bears_mpa,
            ..
        } => (pressure_mpa, bears_mpa, "a weak"),
        _ => return (String::new(), None),
    };
    let bears = format!("{print} print {bears_mpa:.0}");
    (
        if matches!(why, Why::NosesPressedIn { .. }) {
            format!(
                "the noses are pressed in: {pressure_mpa:.0} MPa on the hardest pressed one, they bear less ({bears})"
            )
        } else {
            "else the hardest pressed one gives way, and the plate comes out rounder".into()
        },
        Some(format!("the noses bear {pressure_mpa:.0} MPa ({bears})")),
    )
}

/// A length that must be there, rounded up to whole millimetres.
fn up(needed_mm: f64) -> String {
    plain(libm::ceil(needed_mm))
}

fn machines(why: &Why) -> (String, Option<String>) {
    match why {
        Why::JawsTooNarrow {
            jaw_width_mm,
            needed_mm,
        } => (
            format!(
                "the blocks are {needed_mm:.1} mm long, the jaws only {} mm wide",
                plain(*jaw_width_mm)
            ),
            Some(format!(
                "a stiff steel bar, {} mm long, stands between each block and its jaw",
                up(*needed_mm)
            )),
        ),
        Why::JawsTooLow {
            jaw_height_mm,
            needed_mm,
        } => (
            format!(
                "the blocks are {needed_mm:.1} mm wide across the strip, the jaws only {} mm high",
                plain(*jaw_height_mm)
            ),
            Some(format!(
                "a stiff steel plate, {} mm high, stands between each block and its jaw",
                up(*needed_mm)
            )),
        ),
        Why::JawHeightUnknown { needed_mm } => (
            "the part file does not say how high they are".into(),
            Some(format!(
                "the jaws of your vise are {} mm high",
                up(*needed_mm)
            )),
        ),
        Why::ViseUnknown {
            opening_mm,
            jaw_width_mm,
            jaw_height_mm,
        } => (
            "the part file has no [vise]".into(),
            Some(format!(
                "your vise opens {} mm and its jaws are {} mm wide and {} mm high",
                up(*opening_mm),
                up(*jaw_width_mm),
                up(*jaw_height_mm)
            )),
        ),
        Why::BedUnknown { blocks_mm } => {
            let boxes: Vec<String> = blocks_mm
                .iter()
                .map(|box_mm| box_mm.map(up).join(" x "))
                .collect();
            (
                "the part file does not say how large its bed is".into(),
                Some(format!("your printer takes {} mm", boxes.join(" and "))),
            )
        }
        _ => (String::new(), None),
    }
}

/// Degrees in whole numbers, or in tenths where whole ones would not tell two apart.
fn apart([one_c, other_c]: [f64; 2]) -> [String; 2] {
    let whole = [one_c, other_c].map(|c| format!("{c:.0}"));
    if whole[0] == whole[1] {
        [one_c, other_c].map(|c| format!("{c:.1}"))
    } else {
        whole
    }
}

fn heat(why: &Why) -> (String, Option<String>) {
    let before = |before_c: Option<f64>| {
        before_c
            .filter(|c| c.is_finite())
            .map_or_else(String::new, |c| format!(" (before {c:.0} °C)"))
    };
    match why {
        Why::PartTooHot {
            part,
            inside_c,
            limit_c,
            before_c,
        } => {
            let [inside, _] = apart([*inside_c, *limit_c]);
            let limit = plain(*limit_c);
            (
                format!(
                    "{part} comes to {inside} °C{}, its limit is {limit} °C",
                    before(*before_c)
                ),
                None,
            )
        }
        Why::PipeTooHot {
            pipe,
            vapour_c,
            limit_c,
            before_c,
        } => {
            let [vapour, _] = apart([*vapour_c, *limit_c]);
            let limit = plain(*limit_c);
            (
                format!(
                    "the heat pipe \"{pipe}\" comes to {vapour} °C{}, its limit is {limit} °C",
                    before(*before_c)
                ),
                None,
            )
        }
        Why::PartMayBeTooHot {
            part,
            inside_c,
            high_c,
            limit_c,
        } => {
            let [high, _] = apart([*high_c, *limit_c]);
            let limit = plain(*limit_c);
            (
                format!(
                    "{inside_c:.0} °C are expected, but the range of what is not known exactly reaches to {high} °C"
                ),
                Some(format!("{part} stays below its limit of {limit} °C")),
            )
        }
        Why::PartHeatUnknown { part, limit_c } => (
            "how warm it gets is not known".into(),
            Some(format!(
                "{part} stays below its limit of {} °C",
                plain(*limit_c)
            )),
        ),
        Why::HeatUnknown { what } => (
            format!("no temperatures: {what}"),
            Some("all parts stay cool enough".into()),
        ),
        _ => (String::new(), None),
    }
}

/// Ways out of reasons that bring none of their own.
pub(super) fn ways_out(why: &Why) -> Vec<String> {
    let list: &[&str] = match why {
        Why::NotPressed => &[
            "let the pressing be calculated: --springback pressed, or quick for an estimate",
            "or press a strip of the same sheet in the same dies first, and measure it",
        ],
        Why::ViseTooWeak { .. } => &[
            "use a stronger vise, a longer handle or a greased screw, and say so under [vise]",
            "use thinner or softer sheet, or anneal it",
        ],
        Why::ViseGreasedOnly { .. } => &[
            "clean and grease screw and collar, and say so: efficiency = [0.25, 0.35] under [vise]",
            "or use a longer handle, or a stronger vise",
        ],
        Why::ViseForceUnknown { .. } => &[
            "give screw_lead_mm and handle_length_mm under [vise], or force_n: the dies are then shaped for what it gives, \
             which is often less",
        ],
        Why::NosesPressedIn { infill_percent, .. }
        | Why::NosesLikelyPressedIn { infill_percent, .. }
        | Why::NosesIfPrintedWell { infill_percent, .. } => {
            if *infill_percent < 100.0 {
                &[
                    "print with more walls and more infill under the noses, or of a stronger plastic",
                    "or lay a bent metal strip (a shim) under the nose",
                ]
            } else {
                &[
                    "print them of a stronger plastic",
                    "or lay a bent metal strip (a shim) under the nose",
                ]
            }
        }
        Why::BendsMayCrack { .. } => &["use a larger inside radius or a softer temper"],
        Why::JawsTooLow { .. } => &["use a vise with higher jaws, or a press"],
        Why::JawHeightUnknown { .. } => &["measure it and give jaw_height_mm under [vise]"],
        Why::ViseUnknown { .. } => {
            &["measure jaw_width_mm, jaw_height_mm and opening_mm and give them under [vise]"]
        }
        Why::BedUnknown { .. } => &["give bed_mm under [printer]"],
        Why::PartTooHot { .. } | Why::PartMayBeTooHot { .. } => &[
            "see what brings most in the list of improvements; more power needs more than a plate",
        ],
        Why::PipeTooHot { .. } => &[
            "less heat, a better cooler, or another pipe: a heat pipe above its limit dries out or bursts",
        ],
        Why::PartHeatUnknown { .. } => {
            &["let metal or the board take its heat: give it a pad, or board_c under [heat]"]
        }
        Why::Estimate => &["let the fine mesh judge before you print dies: --springback pressed"],
        Why::PressingRefused { .. }
        | Why::PressingUnknown { .. }
        | Why::WallMissed { .. }
        | Why::RadiusMissed { .. }
        | Why::DiesRefused { .. }
        | Why::PartGap { .. }
        | Why::ObstacleNear { .. }
        | Why::HeatUnknown { .. }
        | Why::JawsTooNarrow { .. }
        | Why::Remark { .. } => &[],
    };
    list.iter().map(|one| (*one).to_owned()).collect()
}

/// Sentence and ways out of what does not fit.
pub(super) fn misfit(
    name: &str,
    trouble: &str,
    cause: Option<&Cause>,
    way_out: String,
) -> (String, Vec<String>) {
    let mut text = format!("{name}: {trouble}");
    let mut ways_out = Vec::new();
    if let Some(cause) = cause {
        text.push_str("; ");
        text.push_str(&cause.text);
        ways_out.push(cause.way_out.clone());
    }
    if !way_out.is_empty() {
        ways_out.push(way_out);
    }
    (text, ways_out)
}

/// What would help a part whose gap is not good; empty when it is.
pub fn way_out(component: &ComponentFit) -> String {
    use fit::GapVerdict::{
        Clear, GapUneven, NotCovered, PadFits, PadTooThick, PadTooThin, TooClose, Touches,
    };
    let pads = shown_pads(component);
    match component.verdict {
        PadTooThin | PadTooThick | GapUneven if !pads.is_empty() => format!("would fit: {pads}"),
        PadTooThin => "lower the flat over it, or use a thicker pad".into(),
        PadTooThick => "raise the flat over it, or use a thinner pad".into(),
        GapUneven => "keep the bend away from it, or use a thicker, softer pad".into(),
        TooClose | Touches => {
            "raise the flat over it, move the bend or the edge away, or cut a notch or a hole"
                .into()
        }
        NotCovered => {
            "let a flat or a tab reach over it, or give it keep_out_mm instead of a pad".into()
        }
        PadFits | Clear => String::new(),
    }
}

/// Pads that would fit, the first of them by name.
pub fn shown_pads(component: &ComponentFit) -> String {
    let shown: Vec<&str> = component
        .fitting_pads
        .iter()
        .take(PADS_SHOWN)
        .map(String::as_str)
        .collect();
    let more = component.fitting_pads.len() - shown.len();
    if more == 0 {
        shown.join(", ")
    } else {
        format!("{} and {more} more", shown.join(", "))
    }
}

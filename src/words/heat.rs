//! What calculated temperatures say, in sentences: for the terminal, the summary and the pictures.

use crate::heat::whatif::PAYS_K;
use crate::heat::{Heat, Ladder, PadCurve, PartTemperature, Range, RungKind};
use crate::numbers::{hundredths, plain, tenths, whole};
use std::fmt::Write as _;

/// Goes with every answer about temperatures. Common practice, no source.
pub const CAUTIONS: [&str; 5] = [
    "These are estimates from what the part file says, not a safety case: measure before you trust them.",
    "Stay within the limits that the makers of the board parts give; a limit in the part file is only what was written there.",
    "Watch temperatures when the power is first switched on, and cut the power at once if one runs away.",
    "A better plate is no leave to draw more power: supply, board and other parts have limits of their own.",
    "Metal burns you at 60 °C without looking hot: let it cool before you touch it.",
];

/// Stands where ranges are shown.
pub const RANGES: &str = "In brackets: the 90 % range, from draws of the uncertain inputs.";

/// A temperature in whole degrees.
pub fn celsius(c: f64) -> String {
    if c.is_finite() {
        format!("{} °C", whole(c))
    } else {
        "not known".to_owned()
    }
}

/// What a rung of a ladder is about; `pipes_given` as in [`Ladder`].
pub const fn step_words(step: RungKind, pipes_given: bool) -> &'static str {
    match step {
        RungKind::Floor if pipes_given => "pipes above the air, as given",
        _ => step.words(),
    }
}

/// Whether a plate, its pads or the way it is fixed can change a rung.
pub const fn plate_changes(step: RungKind) -> bool {
    match step {
        RungKind::Contact
        | RungKind::Pad
        | RungKind::Plate
        | RungKind::Others
        | RungKind::Joint => true,
        RungKind::Inside | RungKind::Evaporation | RungKind::Cooler | RungKind::Floor => false,
    }
}

/// What does the plate buy? One sentence about the part that needs help most, and one about limits.
pub fn verdict(heat: &Heat) -> String {
    let Some(part) = heat.focus() else {
        return "No board part makes heat.".to_owned();
    };
    [Some(bought(part)), Some(limits(heat, part)), in_doubt(heat)]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" ")
}

/// From where to where one part comes.
pub fn bought(part: &PartTemperature) -> String {
    let name = &part.name;
    let now = part.inside_c;
    if !now.middle.is_finite() {
        return format!("How warm {name} gets is not known: nothing takes its heat.");
    }
    let Some((old, difference)) = part
        .old_inside_c
        .filter(|old| old.middle.is_finite())
        .zip(part.difference_k)
    else {
        return format!(
            "{name} comes to {}{}.",
            celsius(now.middle),
            draws(now, |low, high| format!(
                "{} to {} °C",
                whole(low),
                whole(high)
            ))
        );
    };
    let change_k = difference.middle;
    // Rounded numbers must agree with each other, and small changes need their decimal.
    let agree = (old.middle.round() + change_k.round() - now.middle.round()).abs() < 0.5;
    let number = if agree && change_k.abs() >= 2.95 {
        whole
    } else {
        tenths
    };
    let (verb, word) = if change_k <= 0.0 {
        ("comes", "less")
    } else {
        ("goes", "more")
    };
    let from_to = format!(
        "{name} {verb} from {} °C to {} °C: {} K {word}",
        number(old.middle),
        number(now.middle),
        number(change_k.abs())
    );
    if difference.low < 0.0 && difference.high > 0.0 {
        return format!(
            "{from_to}, but that may be nothing (90 % range from {} K less to {} K more).",
            tenths(-difference.low),
            tenths(difference.high)
        );
    }
    let near = difference.low.abs().min(difference.high.abs());
    let far = difference.low.abs().max(difference.high.abs());
    format!(
        "{from_to}{}.",
        draws(
            Range {
                middle: change_k,
                low: near,
                high: far
            },
            |low, high| format!("{} to {} K", number(low), number(high))
        )
    )
}

/// The range in brackets, where there is one.
fn draws(range: Range, words: impl Fn(f64, f64) -> String) -> String {
    if range.high > range.low {
        format!(" (90 % range {})", words(range.low, range.high))
    } else {
        String::new()
    }
}

fn limits(heat: &Heat, focus: &PartTemperature) -> String {
    let parts = heat
        .parts
        .iter()
        .filter(|part| part.above_limit)
        .map(|part| (&part.name, part.inside_c.middle, part.limit_c));
    let pipes = heat
        .pipes
        .iter()
        .filter(|pipe| pipe.above_limit)
        .map(|pipe| (&pipe.name, pipe.vapour_c, pipe.limit_c));
    let above: Vec<String> = parts
        .chain(pipes)
        .filter_map(|(name, is_c, limit_c)| {
            let limit_c = limit_c?;
            Some(format!(
                "{name} by {} K (limit {} °C)",
                tenths(is_c - limit_c),
                plain(limit_c)
            ))
        })
        .collect();
    if !above.is_empty() {
        return format!("ABOVE THE LIMIT: {}.", above.join(", "));
    }
    match focus.limit_c {
        Some(limit_c) => format!(
            "It stays {} K below its limit of {} °C{}.",
            tenths(limit_c - focus.inside_c.middle),
            plain(limit_c),
            if heat
                .parts
                .iter()
                .filter(|part| part.limit_c.is_some())
                .count()
                > 1
            {
                "; all other parts are further from theirs"
            } else {
                ""
            }
        ),
        None => "The part file gives no limit to judge this by.".to_owned(),
    }
}

/// Parts that are below their limit, but whose 90 % range is not.
fn in_doubt(heat: &Heat) -> Option<String> {
    let names: Vec<&str> = heat
        .parts
        .iter()
        .filter(|part| {
            !part.above_limit
                && part
                    .limit_c
                    .is_some_and(|limit_c| part.inside_c.high > limit_c)
        })
        .map(|part| part.name.as_str())
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "IN DOUBT: at the warm end of the draws {} above the limit: {}.",
            if names.len() == 1 {
                "one is"
            } else {
                "these are"
            },
            names.join(", ")
        )
    })
}

/// Which resistance dominates for the part that needs help most, and whether the plate can change it.
pub fn dominates(heat: &Heat) -> String {
    let Some(part) = heat.focus() else {
        return "No board part makes heat.".to_owned();
    };
    let name = &part.name;
    let Some(ladder) = &part.ladder else {
        return format!("No metal is above {name}: the plate does nothing for it.");
    };
    let all_k = ladder.inside_c - ladder.air_c;
    let largest = |wanted: &dyn Fn(RungKind) -> bool| {
        ladder
            .rungs
            .iter()
            .filter(|rung| wanted(rung.step))
            .max_by(|a, b| a.kelvin.total_cmp(&b.kelvin))
    };
    let Some(most) = largest(&|_| true).filter(|most| most.kelvin > 0.0) else {
        return format!("{name} is no warmer than the air.");
    };
    let words = |step| step_words(step, ladder.pipes_given);
    let mut text = format!(
        "Of the {} K that {name} is above the air, most is \"{}\": {} K.",
        tenths(all_k),
        words(most.step),
        tenths(most.kelvin)
    );
    if part.into_plate_w < 0.0 {
        let _ = write!(
            text,
            " The plate is warmer than {name} and heats it: {} W flow down into it.",
            hundredths(-part.into_plate_w)
        );
        return text;
    }
    if plate_changes(most.step) {
        text.push_str(" That is for the plate and its pads to change.");
        return text;
    }
    text.push_str(match most.step {
        RungKind::Inside => " No plate changes that: it lies inside the part.",
        _ => " No plate changes that: it lies in pipes and cooler.",
    });
    if let Some(next) =
        largest(&plate_changes).filter(|next| next.kelvin >= LEAST_K && next.step != most.step)
    {
        let _ = write!(
            text,
            " Of what plate and pads can change, most is \"{}\": {} K.",
            words(next.step),
            tenths(next.kelvin)
        );
    }
    text
}

/// Rungs below this are not worth words, K.
const LEAST_K: f64 = 0.05;

/// Is a better pad worth it for the part that needs help most?
pub fn pad_advice(heat: &Heat) -> String {
    let Some(part) = heat.focus() else {
        return "No board part makes heat.".to_owned();
    };
    let Some(curve) = &part.pad_curve else {
        return format!("No pad lies between {} and the plate.", part.name);
    };
    if part.into_plate_w < 0.0 {
        return format!(
            "NO: the plate is warmer than {} and heats it, so a better pad brings nothing.",
            part.name
        );
    }
    let best_w_mk = heat.chart_w_mk.last().copied();
    let mut text = advice(&part.name, curve, best_w_mk.unwrap_or(f64::INFINITY));
    if let Some(old) = &part.old_pad_curve {
        let _ = write!(
            text,
            " Under the old plate, with {} mm of pad, better pads could bring {} K.",
            hundredths(old.pressed_mm),
            tenths((old.now_c - old.floor_c).max(0.0))
        );
    }
    text
}

/// What the pads of a part's ladders are made of: pressed thickness, conductivity and faces, which hold back apart.
pub fn pads_pressed(part: &PartTemperature) -> Option<String> {
    let of = |curve: &PadCurve| {
        format!(
            "{} mm pressed, {}, faces {} mm²K/W",
            hundredths(curve.pressed_mm),
            conductivity(curve.now_w_mk),
            whole(curve.contact_mm2k_w)
        )
    };
    let new = part.pad_curve.as_ref().map(of);
    let old = part.old_pad_curve.as_ref().map(of);
    match (old, new) {
        (Some(old), Some(new)) => Some(format!(
            "Pad of the old plate: {old}; of the new plate: {new}."
        )),
        (Some(old), None) => Some(format!("Pad of the old plate: {old}.")),
        (None, Some(new)) => Some(format!("Pad: {new}.")),
        (None, None) => None,
    }
}

fn advice(name: &str, curve: &PadCurve, best_w_mk: f64) -> String {
    let open_k = curve.now_c - curve.floor_c;
    let now = conductivity(curve.now_w_mk);
    let pays_k = plain(PAYS_K);
    if open_k < PAYS_K {
        return format!(
            "NO better pad is worth it: with {now} {name} is at {} °C, and even a perfect pad (contact resistance only) \
             brings only {} K.",
            tenths(curve.now_c),
            hundredths(open_k.max(0.0))
        );
    }
    let end = match curve.pays_until_w_mk {
        Some(until) if until <= best_w_mk => format!(
            "It stops paying at {}: beyond that all better ones together bring less than {pays_k} K.",
            conductivity(until)
        ),
        _ => format!(
            "Up to {}, as far as pads go here, it does not stop paying: more than {pays_k} K is always left.",
            conductivity(best_w_mk)
        ),
    };
    format!(
        "A better pad helps: with {now} {name} is at {} °C, a perfect pad (contact resistance only) would bring it to \
         {} °C, {} K less. {end}",
        tenths(curve.now_c),
        tenths(curve.floor_c),
        tenths(open_k)
    )
}

/// A conductivity with sensible digits.
pub fn conductivity(w_mk: f64) -> String {
    if w_mk < 9.95 {
        format!("{} W/(m K)", tenths(w_mk))
    } else {
        format!("{} W/(m K)", whole(w_mk))
    }
}

/// What would tell pad, faces, thickness and plate apart: each holds heat back, so one temperature proves none.
pub fn tell_apart(heat: &Heat) -> Vec<String> {
    let mut list = vec![
        "One temperature does not say which of them holds the heat back: pad, its faces, its thickness or the plate. These \
         measurements tell them apart."
            .to_owned(),
    ];
    let Some(part) = heat.focus() else {
        return list;
    };
    let name = &part.name;
    if let Some(old) = part.old_inside_c.filter(|old| old.middle.is_finite()) {
        list.push(format!(
            "First of all the old plate, while it is still there: {}. Where that does not agree, mend the part file before \
             you believe anything of the new plate.",
            match part.old_top_c {
                Some(top_c) => format!(
                    "the top of {name} is expected at {} °C, its inside at {} °C",
                    tenths(top_c),
                    tenths(old.middle)
                ),
                None => format!("{name} is expected at {} °C inside", tenths(old.middle)),
            }
        ));
    }
    if let Some((ladder, curve)) = part.ladder.as_ref().zip(part.pad_curve.as_ref()) {
        list.extend(pad_or_plate(part, ladder, curve));
    }
    if !heat.pipes.is_empty() {
        let pipes: Vec<String> = heat
            .pipes
            .iter()
            .map(|pipe| format!("{} {} °C", pipe.name, tenths(pipe.vapour_c)))
            .collect();
        list.push(format!(
            "Pipes and cooler: a thermocouple on each heat pipe beside the plate. Expected: {}. If the pipes are off by as \
             much as the parts, it is the cooler or the air and not the plate.",
            pipes.join(", ")
        ));
    }
    list
}

/// Share of a part's heat that must go through its pad before a measurement there tells anything.
const LEAST_SHARE: f64 = 0.1;

/// What tells pad, faces, thickness and plate apart over one part.
fn pad_or_plate(part: &PartTemperature, ladder: &Ladder, curve: &PadCurve) -> Vec<String> {
    let name = &part.name;
    let heat_w = part.into_plate_w;
    let kelvin = |step: RungKind| {
        let rungs = ladder.rungs.iter().filter(|rung| rung.step == step);
        rungs.map(|rung| rung.kelvin).sum::<f64>()
    };
    let (faces_k, pad_k) = (kelvin(RungKind::Contact), kelvin(RungKind::Pad));
    let thickness = format!(
        "Thickness: open the cooler after some hours under pressure and measure the pressed pad over {name} with a calliper. \
         Expected: {} mm.",
        hundredths(curve.pressed_mm)
    );
    if heat_w < LEAST_SHARE * part.heat_w.max(1e-6) {
        return vec![
            thickness,
            format!(
                "Hardly any heat goes up through the pad of {name}: measure pad, faces and plate over a part whose heat does go \
                 that way."
            ),
        ];
    }
    let per_watt = |k: f64| format!("{} K/W", hundredths(k / heat_w));
    let plate_k: f64 = [
        RungKind::Plate,
        RungKind::Others,
        RungKind::Joint,
        RungKind::Evaporation,
    ]
    .into_iter()
    .map(kelvin)
    .sum();
    vec![
        format!(
            "{thickness} Each 0.1 mm more costs about {} K.",
            tenths(0.1 * pad_k / curve.pressed_mm.max(0.01))
        ),
        format!(
            "Pad with its faces: a thermocouple on the top of {name}, one on the metal above it, at known heat. Their difference \
             over the heat is pad and faces. Expected: {} K at {} W, {}.",
            tenths(faces_k + pad_k),
            hundredths(heat_w),
            per_watt(faces_k + pad_k)
        ),
        format!(
            "Pad against faces: the same with a second thickness of the same pad. What grows with the thickness is the pad, what \
             is left at no thickness is the faces (after ASTM D5470). Expected: pad {}, faces {}.",
            per_watt(pad_k),
            per_watt(faces_k)
        ),
        format!(
            "Plate: a thermocouple on the metal above {name}, one on the metal beside the nearest heat pipe. From the metal above \
             {name} into the vapour of the pipes {} K are expected, {} K of them from the heat of other parts.",
            tenths(plate_k),
            tenths(kelvin(RungKind::Others))
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::heat::{case, warm};

    fn part(old: Option<f64>, now: f64, spread: [f64; 2]) -> PartTemperature {
        let exact = |middle| Range {
            middle,
            low: middle,
            high: middle,
        };
        let mut part = case("full").heat.parts[0].clone();
        "Q2".clone_into(&mut part.name);
        part.inside_c = exact(now);
        part.old_inside_c = old.map(exact);
        part.difference_k = old.map(|old| Range {
            middle: now - old,
            low: spread[0],
            high: spread[1],
        });
        part
    }

    #[test]
    fn what_the_plate_buys_is_one_sentence() {
        for (old, now, spread, words) in [
            (
                Some(95.2),
                86.1,
                [-11.1, -7.2],
                "Q2 comes from 95 °C to 86 °C: 9 K less (90 % range 7 to 11 K).",
            ),
            // Whole numbers would not agree with each other.
            (
                Some(95.4),
                86.6,
                [-11.1, -7.2],
                "Q2 comes from 95.4 °C to 86.6 °C: 8.8 K less (90 % range 7.2 to 11.1 K).",
            ),
            (
                Some(73.4),
                74.4,
                [0.4, 1.8],
                "Q2 goes from 73.4 °C to 74.4 °C: 1.0 K more (90 % range 0.4 to 1.8 K).",
            ),
            (
                Some(80.0),
                79.0,
                [-2.5, 0.5],
                "Q2 comes from 80.0 °C to 79.0 °C: 1.0 K less, but that may be nothing (90 % range from 2.5 K less to 0.5 K more).",
            ),
            (None, 86.1, [0.0, 0.0], "Q2 comes to 86 °C."),
            (
                None,
                f64::NAN,
                [0.0, 0.0],
                "How warm Q2 gets is not known: nothing takes its heat.",
            ),
        ] {
            assert_eq!(bought(&part(old, now, spread)), words);
        }
    }

    #[test]
    fn a_limit_that_is_not_kept_is_said_first_and_loud() {
        let mut heat = case("full").heat.clone();
        assert!(verdict(&heat).contains("below its limit of 95 °C"));
        heat.parts[0].limit_c = Some(heat.parts[0].inside_c.middle - 4.0);
        heat.parts[0].above_limit = true;
        heat.pipes[1].limit_c = Some(heat.pipes[1].vapour_c - 1.5);
        heat.pipes[1].above_limit = true;
        let words = verdict(&heat);
        assert!(words.contains("ABOVE THE LIMIT: Q1 by 4.0 K"), "{words}");
        assert!(words.contains("pipe 2 by 1.5 K"), "{words}");
        let mut heat = case("full").heat.clone();
        heat.parts[1].limit_c = Some(heat.parts[1].inside_c.high - 0.1);
        assert!(verdict(&heat).contains("IN DOUBT"));
        assert!(verdict(&case("no limits").heat).contains("no limit to judge this by"));
        heat.parts.clear();
        assert_eq!(verdict(&heat), "No board part makes heat.");
    }

    #[test]
    fn it_is_said_whether_the_plate_can_change_what_dominates() {
        let words = dominates(&case("too hot").heat);
        assert!(words.contains("most is \"pad\""), "{words}");
        assert!(words.contains("for the plate and its pads to change"));
        let words = dominates(&case("held").heat);
        assert!(
            words.contains("\"pipes above the air, as given\""),
            "{words}"
        );
        assert!(
            words.contains("No plate changes that") && words.contains("Of what plate and pads")
        );
        assert!(dominates(&case("hot pipe").heat).contains("flow down into it"));
        let mut heat = case("full").heat.clone();
        heat.parts[heat.focus].ladder = None;
        assert!(dominates(&heat).contains("No metal is above"));
    }

    #[test]
    fn advice_on_pads_follows_the_curve() {
        let full = case("full");
        let mut heat = full.heat.clone();
        let focus = heat.focus;
        let curve = heat.parts[focus].pad_curve.as_mut().unwrap();
        (curve.now_c, curve.floor_c) = (90.0, 89.3);
        assert!(pad_advice(&heat).starts_with("NO better pad"));
        assert!(pad_advice(&heat).contains("brings only 0.70 K"));
        let curve = heat.parts[focus].pad_curve.as_mut().unwrap();
        (curve.floor_c, curve.pays_until_w_mk) = (80.0, Some(12.3));
        let words = pad_advice(&heat);
        assert!(
            words.starts_with("A better pad helps") && words.contains("stops paying at 12 W/(m K)")
        );
        for until in [Some(90.0), None] {
            heat.parts[focus]
                .pad_curve
                .as_mut()
                .unwrap()
                .pays_until_w_mk = until;
            assert!(pad_advice(&heat).contains("it does not stop paying"));
        }
        heat.parts[focus].into_plate_w = -0.2;
        assert!(pad_advice(&heat).starts_with("NO: the plate is warmer"));
        heat.parts[focus].pad_curve = None;
        assert!(pad_advice(&heat).starts_with("No pad lies between"));
    }

    #[test]
    fn nothing_is_claimed_without_what_would_tell_it_apart() {
        for warm in warm() {
            let list = tell_apart(&warm.heat);
            assert!(list[0].contains("One temperature does not say"));
            let all = list.join(" ");
            assert!(!all.contains("NaN") && !all.contains("inf"), "{all}");
            for pipe in &warm.heat.pipes {
                assert!(all.contains(&format!("{} {} °C", pipe.name, tenths(pipe.vapour_c))));
            }
            let focus = warm.heat.focus().unwrap();
            if focus.into_plate_w > 0.5 * focus.heat_w {
                assert!(all.contains("ASTM D5470") && all.contains("calliper"));
            }
            assert_eq!(
                all.contains("the old plate, while it is still there"),
                focus.old_inside_c.is_some()
            );
        }
        // Pad and faces add up to what the first thermocouples show.
        let heat = &case("full").heat;
        let part = heat.focus().unwrap();
        let ladder = part.ladder.as_ref().unwrap();
        let of = |step| {
            ladder
                .rungs
                .iter()
                .find(|rung| rung.step == step)
                .unwrap()
                .kelvin
        };
        let words = format!("{} K at", tenths(of(RungKind::Pad) + of(RungKind::Contact)));
        assert!(tell_apart(heat).join(" ").contains(&words));
    }
}

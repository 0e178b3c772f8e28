//! What calculated temperatures say, in sentences: for the terminal, the summary and the pictures.

use crate::heat::whatif::PAYS_K;
use crate::heat::{Heat, Ladder, PadCurve, PartTemperature, Range, Step};
use crate::output::lettering::{hundredths, signless_nought};
use crate::quantity::plain;

/// Goes with every answer about temperatures. Common practice, no source.
pub const CAUTIONS: [&str; 5] = [
    "These are estimates from what the part file says, not a safety case: measure before you trust them.",
    "Stay within the limits that the makers of the board parts give; a limit in the part file is only what was written there.",
    "Watch temperatures when the power is first switched on, and cut the power at once if one runs away.",
    "A better plate is no leave to draw more power: supply, board and other parts have limits of their own.",
    "Metal that feels nothing can burn: let it cool before you touch it.",
];

/// A temperature in whole degrees.
pub fn celsius(c: f64) -> String {
    if c.is_finite() {
        format!("{} °C", whole(c))
    } else {
        "not known".to_owned()
    }
}

/// A number without decimals.
pub fn whole(value: f64) -> String {
    signless_nought(format!("{value:.0}"))
}

/// A number with one decimal.
pub fn tenths(value: f64) -> String {
    signless_nought(format!("{value:.1}"))
}

/// What a rung of a ladder is about; `pipes_given` as in [`Ladder`].
pub const fn step_words(step: Step, pipes_given: bool) -> &'static str {
    match step {
        Step::Floor if pipes_given => "pipes above the air, as given",
        _ => step.words(),
    }
}

/// Whether a plate, its pads or the way it is fixed can change a rung.
pub const fn plate_changes(step: Step) -> bool {
    match step {
        Step::Contact | Step::Pad | Step::Plate | Step::Others | Step::Joint => true,
        Step::Inside | Step::Evaporation | Step::Cooler | Step::Floor => false,
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
            "{from_to}, but that may be nothing (between {} K less and {} K more in nine of ten draws).",
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
        format!(" ({} in nine of ten draws)", words(range.low, range.high))
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
                "; all others are further from theirs"
            } else {
                ""
            }
        ),
        None => "The part file gives no limit to judge this by.".to_owned(),
    }
}

/// Parts that are below their limit, but not in nine of ten draws.
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
    let largest = |wanted: &dyn Fn(Step) -> bool| {
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
        text.push_str(&format!(
            " The plate is warmer than {name} and heats it: {} W flow down into it.",
            tenths(-part.into_plate_w)
        ));
        return text;
    }
    if plate_changes(most.step) {
        text.push_str(" That is for the plate and its pads to change.");
        return text;
    }
    text.push_str(match most.step {
        Step::Inside => " No plate changes that: it lies inside the part.",
        _ => " No plate changes that: it lies in pipes and cooler.",
    });
    if let Some(next) =
        largest(&plate_changes).filter(|next| next.kelvin >= LEAST_K && next.step != most.step)
    {
        text.push_str(&format!(
            " Of what plate and pads can change, most is \"{}\": {} K.",
            words(next.step),
            tenths(next.kelvin)
        ));
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
    let mut text = advice(&part.name, curve);
    if let Some(old) = &part.old_pad_curve {
        let old_k = old.now_c - old.floor_c;
        text.push_str(&format!(
            " Under the old plate, with {} mm of pad, better pads could bring {} K.",
            hundredths(old.pressed_mm),
            tenths(old_k)
        ));
    }
    text
}

fn advice(name: &str, curve: &PadCurve) -> String {
    let open_k = curve.now_c - curve.floor_c;
    let now = conductivity(curve.now_w_mk);
    if open_k < PAYS_K {
        return format!(
            "NO better pad is worth it: with {now} {name} is at {} °C, and even pads that hold nothing back but at their \
             faces bring {} K.",
            tenths(curve.now_c),
            tenths(open_k.max(0.0))
        );
    }
    let end = match curve.pays_until_w_mk {
        Some(until) => format!(
            "beyond {} all better ones together bring less than {} K",
            conductivity(until),
            plain(PAYS_K)
        ),
        None => format!(
            "no pad on the market is past the point where {} K is left",
            plain(PAYS_K)
        ),
    };
    format!(
        "A better pad helps: pads that hold nothing back but at their faces would bring {name} from {} to {} °C, {} K; with \
         {now} it is on the way there, and {end}.",
        tenths(curve.now_c),
        tenths(curve.floor_c),
        tenths(open_k)
    )
}

/// A conductivity with sensible digits.
pub fn conductivity(w_mk: f64) -> String {
    if w_mk < 9.95 {
        format!("{} W/(m K)", plain((w_mk * 10.0).round() / 10.0))
    } else {
        format!("{} W/(m K)", whole(w_mk))
    }
}

/// What would tell pad, faces, thickness and plate apart: each holds heat back alike, so one temperature proves none.
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
    let pads = part.ladder.as_ref().zip(part.pad_curve.as_ref());
    let kelvin = |ladder: &Ladder, step: Step| {
        ladder
            .rungs
            .iter()
            .filter(|rung| rung.step == step)
            .map(|rung| rung.kelvin)
            .sum::<f64>()
    };
    if let Some((ladder, curve)) = pads {
        let (faces_k, pad_k) = (kelvin(ladder, Step::Contact), kelvin(ladder, Step::Pad));
        let heat_w = part.into_plate_w;
        list.push(format!(
            "Thickness: open the cooler after some hours under pressure and measure the pressed pad over {name} with a \
             calliper. Expected: {} mm. Each 0.1 mm more holds back {} K more.",
            hundredths(curve.pressed_mm),
            hundredths(0.1 * pad_k / curve.pressed_mm.max(0.01))
        ));
        let per_watt = |k: f64| {
            if heat_w.abs() > 1e-6 {
                format!("{} K/W", hundredths(k / heat_w))
            } else {
                "nothing".to_owned()
            }
        };
        list.push(format!(
            "Pad with its faces: a thermocouple on the top of {name}, one on the metal above it, at known heat. Their \
             difference over the heat is pad and faces. Expected: {} K at {} W, {}.",
            tenths(faces_k + pad_k),
            hundredths(heat_w),
            per_watt(faces_k + pad_k)
        ));
        list.push(format!(
            "Pad against faces: the same with a second thickness of the same pad. What grows with the thickness is the pad, \
             what is left at no thickness is the faces (after ASTM D5470). Expected: pad {}, faces {}.",
            per_watt(pad_k),
            per_watt(faces_k)
        ));
        list.push(format!(
            "Plate: a thermocouple on the metal above {name}, one on the metal beside the nearest heat pipe. From that metal \
             into the pipes' vapour {} K are expected, {} of them from the heat of other parts.",
            tenths(
                [Step::Plate, Step::Others, Step::Joint, Step::Evaporation]
                    .into_iter()
                    .map(|step| kelvin(ladder, step))
                    .sum()
            ),
            tenths(kelvin(ladder, Step::Others))
        ));
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

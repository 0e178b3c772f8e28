//! What is said about heat beside its numbers: why there is no answer, and what a person should know of one.

use super::filling::Filling;
use super::found::{Heat, PartTemperature};
use super::model::{Case, Setup, TOO_NARROW, over_plate_mm2};
use super::solved::NoAnswer;
use crate::diagnostic::{Diagnostic, Findings};
use crate::numbers::plain;
use crate::part::Part;

/// More parts with heat than this are refused: each is a right-hand side of its own.
pub const MOST_HEATED: usize = 200;

/// A heat pipe that touches less than this share of the plate under it is told.
const SEATED: f64 = 0.9;

/// A pad that stays short of its gap in so many of 100 draws is told. Own choice: the tail of the ranges.
const SHORT_PERCENT: f64 = 5.0;

/// What keeps the question from having an answer, before anything is solved.
pub(super) fn refusals(setup: &Setup<'_>) -> Findings {
    let part = setup.part;
    let mut findings = Findings::default();
    if part.thermal.pipes.is_empty() {
        findings.push(
            Diagnostic::error("there is no heat pipe: the plate's heat has nowhere to go").id("heat-no-pipe").help(
                "add a [[heat_pipe]] with its place on the plate, and temperature_c (measured on it while it works) or to_air_k_w",
            ),
        );
    }
    if setup.heated.is_empty() {
        findings.push(
            Diagnostic::error("no component says what heat it makes")
                .id("heat-no-heat")
                .help("add heat_w, in watts, to each [[component]] that gets hot"),
        );
    }
    if setup.heated.len() > MOST_HEATED {
        findings.push(
            Diagnostic::error(format!(
                "{} components make heat, more than the {MOST_HEATED} that can be solved together",
                setup.heated.len()
            ))
            .id("heat-too-many-parts")
            .help("leave heat_w away from those that make little, or join neighbours into one"),
        );
    }
    for number in &setup.heated {
        let Some(component) = part.components.get(*number) else {
            continue;
        };
        let makes_heat = component.heat.heat_w.is_some_and(|heat| heat.value > 0.0);
        if makes_heat && part.thermal.board_c.is_none() && !setup.is_covered(component) {
            findings.push(
                Diagnostic::error(format!(
                    "{} makes {} W, but no metal is above it and no heat goes into the board",
                    component.name,
                    plain(component.heat.heat_w.map_or(0.0, |heat| heat.value))
                ))
                .id("heat-nowhere-to-go")
                .at(&component.span)
                .help("let a flat, a tab or an extension plate reach over it")
                .help("or give [heat] a board_c, so that it is cooled through the board"),
            );
        }
    }
    findings
}

/// Why a plate has no answer, as a finding.
pub(super) fn no_answer(
    setup: &Setup<'_>,
    case: &Case<'_>,
    reason: &NoAnswer,
    which: &str,
) -> Diagnostic {
    let part = setup.part;
    match reason {
        NoAnswer::CutOff(pieces) => {
            let places: Vec<String> = pieces
                .iter()
                .take(3)
                .map(|piece| {
                    format!(
                        "{:.0} mm² around x = {:.1} mm, y = {:.1} mm",
                        piece.area_mm2, piece.x_mm, piece.y_mm
                    )
                })
                .collect();
            Diagnostic::error(format!(
                "the {which} is cut in two: no heat pipe reaches {}",
                places.join("; ")
            ))
            .id("heat-plate-cut")
            .help("make the notch or hole that cuts it shorter, or lay a heat pipe on that piece")
        }
        NoAnswer::Uncovered(port) => {
            let component = case
                .over
                .get(*port)
                .and_then(|over| part.components.get(over.component));
            let name = component.map_or("a part", |component| component.name.as_str());
            let finding = Diagnostic::error(format!(
                "hardly any metal of the {which} is above {name}"
            ))
            .id("heat-part-uncovered")
            .help("let a flat, a tab or an extension plate reach over it, or leave heat_w away");
            match component {
                Some(component) => finding.at(&component.span),
                None => finding,
            }
        }
        NoAnswer::Unseated(number) => {
            let pipe = part.thermal.pipes.get(*number);
            let name = pipe.map_or("?", |pipe| pipe.name.as_str());
            let finding = Diagnostic::error(format!(
                "the heat pipe \"{name}\" touches no level metal of the {which}"
            ))
            .id("heat-pipe-touches-nothing")
            .help("lay it over a flat: a pipe lies on the highest flat that its place covers");
            match pipe {
                Some(pipe) => finding.at(&pipe.span),
                None => finding,
            }
        }
        NoAnswer::Unsolvable(reason) => Diagnostic::error(format!(
            "the temperatures of the {which} cannot be calculated: {reason}"
        ))
        .id("heat-unsolvable")
        .help("this should not happen: look for parts or pipes with extreme numbers"),
        NoAnswer::NoState => Diagnostic::error(format!(
            "the temperatures of the {which} cannot be calculated with these numbers"
        ))
        .id("heat-no-state")
        .help("look for resistances or conductivities that are far from all others"),
    }
}

/// Old pads that do not reach across their gaps.
pub(super) fn short_pads(setup: &Setup<'_>, old: &Case<'_>, heat: &Heat, findings: &mut Findings) {
    for over in &old.over {
        let one = heat.parts.get(setup.place_of(over.component));
        let Some((component, gap_mm)) = setup
            .part
            .components
            .get(over.component)
            .zip(one.and_then(|one| one.old_gap_mm))
        else {
            continue;
        };
        if let Filling::Pad(pad) = over.filling
            && gap_mm > pad.thickness_mm + 1e-9
        {
            findings.push(
                Diagnostic::warning(format!(
                    "the old pad over {} is {} mm thick and does not reach across its gap of {} mm: air is assumed between",
                    component.name,
                    plain(pad.thickness_mm),
                    plain(gap_mm)
                )).id("heat-old-pad-short")
                .at(&component.span)
                .help("look at old_pad, old_gap_mm and the old plate's underside_mm"),
            );
        }
    }
}

/// Pads that may not reach across their gaps, in one finding.
pub(super) fn may_stay_short(part: &Part, heat: &Heat, findings: &mut Findings) {
    let short: Vec<(&PartTemperature, f64)> = heat
        .parts
        .iter()
        .filter_map(|one| Some((one, one.pad_short_percent?)))
        .filter(|(_, percent)| *percent >= SHORT_PERCENT)
        .collect();
    let Some((first, _)) = short.first() else {
        return;
    };
    let names: Vec<&str> = short.iter().map(|(one, _)| one.name.as_str()).collect();
    let named = match names.as_slice() {
        [a, b, c, rest @ ..] if rest.len() > 1 => format!("{a}, {b}, {c} and {} more", rest.len()),
        names => names.join(", "),
    };
    let most = short
        .iter()
        .map(|(_, percent)| *percent)
        .fold(0.0, f64::max);
    let finding = Diagnostic::note(format!(
        "with what is open of the heights, the pad over {named} does not reach across its gap in {}{most:.0} of 100 draws",
        if short.len() > 1 { "up to " } else { "" }
    )).id("heat-pad-may-be-short")
    .help("measure the heights of part and flat more closely, or take a thicker pad: a tenth of a millimetre of air holds back more than a millimetre of pad");
    let component = part
        .components
        .iter()
        .find(|known| known.name == first.name);
    findings.push(match component {
        Some(component) => finding.at(&component.span),
        None => finding,
    });
}

/// What a person should know about the answer.
pub(super) fn notes(setup: &Setup<'_>, new: &Case<'_>, heat: &Heat, findings: &mut Findings) {
    let part = setup.part;
    for one in &heat.parts {
        let component = part.components.iter().find(|known| known.name == one.name);
        let Some(component) = component else { continue };
        if let Some(limit_c) = one.limit_c
            && one.above_limit
        {
            findings.push(
                Diagnostic::warning(format!(
                    "{} comes to {:.0} °C, above its limit of {} °C",
                    one.name,
                    one.inside_c.middle,
                    plain(limit_c)
                )).id("heat-part-above-limit")
                .at(&component.span)
                .help("see what brings most in the list of improvements; more power needs more than a plate"),
            );
        } else if let Some(limit_c) = one.limit_c
            && one.inside_c.high > limit_c
        {
            findings.push(
                Diagnostic::note(format!(
                    "{} may exceed its limit of {} °C: its 90 % range is {:.0} to {:.0} °C",
                    one.name,
                    plain(limit_c),
                    one.inside_c.low,
                    one.inside_c.high
                ))
                .id("heat-part-may-be-above-limit")
                .at(&component.span),
            );
        }
        if one.into_plate_w < 0.0 {
            findings.push(
                Diagnostic::warning(format!(
                    "the plate heats {} instead of cooling it: {:.1} W flow into it from above",
                    one.name, -one.into_plate_w
                )).id("heat-plate-heats-part")
                .at(&component.span)
                .help("its heat pipes or its board are hotter than it is: look at temperature_c, other_heat_w and board_c"),
            );
        }
    }
    may_stay_short(part, heat, findings);
    for (one, pipe) in heat.pipes.iter().zip(&part.thermal.pipes) {
        // What bare faces lose may well come from the pipes.
        if -one.from_plate_w > heat.plate.lost_w {
            findings.push(
                Diagnostic::warning(format!(
                    "the heat pipe \"{}\" is hotter than the plate under it: it gives {:.1} W to the plate",
                    one.name, -one.from_plate_w
                )).id("heat-pipe-heats-plate")
                .at(&pipe.span)
                .help("look at its temperature_c, or at other_heat_w and to_air_k_w: parts cannot be cooled below their pipes"),
            );
        }
        if let Some(limit_c) = one.limit_c
            && one.above_limit
        {
            findings.push(
                Diagnostic::warning(format!(
                    "the heat pipe \"{}\" comes to {:.0} °C, above its limit of {} °C",
                    one.name,
                    one.vapour_c,
                    plain(limit_c)
                )).id("heat-pipe-above-limit")
                .at(&pipe.span)
                .help("less heat, a better cooler, or another pipe: a heat pipe above its limit dries out or bursts"),
            );
        }
        let wanted_mm2 = over_plate_mm2(part, pipe);
        if one.seat_mm2 < SEATED * wanted_mm2 {
            findings.push(
                Diagnostic::note(format!(
                    "the heat pipe \"{}\" lies on {:.0} of the {:.0} mm² of plate under it: only the highest flat carries it",
                    one.name, one.seat_mm2, wanted_mm2
                )).id("heat-pipe-seat")
                .at(&pipe.span),
            );
        }
    }
    for (number, widths) in &new.narrow {
        let Some(component) = part.components.get(*number) else {
            continue;
        };
        findings.push(if *widths < TOO_NARROW {
            Diagnostic::note(format!(
                "{} is only {widths:.1} sheet thicknesses wide: the sheets were solved in {} layers",
                component.name, heat.plate.grid.layers
            )).id("heat-solved-in-layers")
            .at(&component.span)
        } else {
            Diagnostic::note(format!(
                "{} is only {widths:.1} sheet thicknesses wide: its spreading in the plate reads up to 7 % high",
                component.name
            )).id("heat-spreading-high")
            .at(&component.span)
        });
    }
    for (plate, which) in [(Some(&heat.plate), "new"), (heat.old_plate.as_ref(), "old")] {
        let Some(plate) = plate else { continue };
        if !plate.grid.converged {
            findings.push(
                Diagnostic::warning(format!(
                    "temperatures of the {which} plate still moved by {:.2} K on the finest grid",
                    plate.grid.change_k
                ))
                .id("heat-grid"),
            );
        }
    }
}

//! Soldering order, fitting over the board, first power-up.

use super::BuildStep;
use super::prepare::joined_by;
use crate::job::Job;
use crate::numbers::{hundredths, plain};
use crate::part::{JointKind, Treatment};
use crate::words;

/// Joining the plate to extension plates and heat pipes.
pub fn solder(job: &Job) -> BuildStep {
    let part = &job.part;
    let named = |kind| joined_by(part, kind);
    let soldered = named(JointKind::Solder);
    let mut items = Vec::new();
    for extension in &part.extensions {
        items.push(format!(
            "{}: tin both faces, clamp it under its flat, solder layer {} mm, underside then {} mm above the board. First, \
             before the plate sees a pipe, and with the alloy that melts highest.",
            extension.name,
            hundredths(extension.solder_mm),
            hundredths(extension.underside_mm)
        ));
    }
    if !part.extensions.is_empty() {
        items.push(
            "Let it cool, wash the flux off, measure the underside of every extension plate again."
                .to_owned(),
        );
    }
    if !soldered.is_empty() {
        items.push(format!(
            "{}: clean, thin paste, clamp, heat from the plate's side until the paste flows all along, take the heat away at \
             once. The alloy melts lower than that of extension plates and of every joint that must stay shut.",
            soldered.join(", ")
        ));
    }
    let others: Vec<&str> = named(JointKind::Paste)
        .into_iter()
        .chain(named(JointKind::Adhesive))
        .collect();
    if !others.is_empty() {
        items.push(format!(
            "{}: only after everything is soldered and cold.",
            others.join(", ")
        ));
    }
    let step = BuildStep::new("Solder, in this order");
    let step = if items.is_empty() {
        step.text("The part file names no extension plate and no heat pipe: join the plate as the old one was joined.")
    } else {
        step.list(items)
    };
    step.text(
        "The order is what counts: highest melting first, and nothing is heated again to where an earlier joint opens. \
         coldstep does not calculate this heating yet: go by a thermocouple on the pipe.",
    )
    .care(
        "A heat pipe is a closed vessel: overheated it bursts. Keep below what its maker allows, heat slowly, a thermocouple \
         on the pipe, eye protection, face away. Flux fumes harm: extract them. Hot metal does not look hot.",
    )
}

/// Fitting over the board.
pub fn fit(job: &Job) -> BuildStep {
    let mut rows = Vec::new();
    for (component, fit) in job.part.components.iter().zip(&job.fit.components) {
        let Some([least, most]) = fit.judged_gap_mm() else {
            continue;
        };
        let gap = if most - least < 0.005 {
            hundredths(least)
        } else {
            format!("{} to {}", hundredths(least), hundredths(most))
        };
        let (filling, good) = match &component.treatment {
            Treatment::Pad(pad) => {
                let (low, high) = pad.gap_window_mm();
                (
                    pad.name.clone(),
                    format!("{} to {}", hundredths(low), hundredths(high)),
                )
            }
            Treatment::Bare { keep_out_mm } => (
                "bare".to_owned(),
                format!("{} or more", hundredths(*keep_out_mm)),
            ),
        };
        rows.push(vec![component.name.clone(), gap, filling, good]);
    }
    BuildStep::new("Fit it over the board")
        .list(vec![
            "Power off, supply unplugged, board discharged.".to_owned(),
            "Without pads first: a pea of soft modelling clay wrapped in film on every part, fit the cooler, take it off, \
             measure how thin each pea is. That is the true gap (common practice, no source)."
                .to_owned(),
        ])
        .table(
            "Gaps expected and good, mm",
            &["part", "gap expected, mm", "filled with", "good, mm"],
            rows,
        )
        .list(vec![
            "Then cut pads to the parts, pull both films off, lay them on the parts, fit the cooler once and straight.".to_owned(),
            "Tighten screws crosswise, a little at a time; look from the side that nothing else carries the plate.".to_owned(),
            "Before power: measure between plate and supply with an ohmmeter; a beep means take it off again.".to_owned(),
        ])
        .care("Bare metal over bare parts shorts them: every gap is checked on the real board before it runs.")
}

/// First power-up.
pub fn power_up(job: &Job) -> BuildStep {
    let mut items = vec![
        "A thermocouple on the hottest part you can reach and on a heat pipe, no load, hand on the switch.".to_owned(),
        "Load in steps, some minutes each; write temperatures down.".to_owned(),
    ];
    let mut rows = Vec::new();
    if let Some(heat) = &job.heat {
        for part in &heat.parts {
            rows.push(vec![
                part.name.clone(),
                format!(
                    "{:.0} ({:.0} to {:.0})",
                    part.inside_c.middle, part.inside_c.low, part.inside_c.high
                ),
                part.limit_c.map_or_else(|| "not given".to_owned(), plain),
            ]);
        }
    }
    items.push(
        "Switch off at once when a temperature passes its limit, climbs without an end, or something smells.".to_owned(),
    );
    items.push(
        "After a day of use: screws again, pads look from the side, temperatures once more."
            .to_owned(),
    );
    let mut step = BuildStep::new("First power-up").list(items);
    if let Some(heat) = &job.heat {
        step = step.text(words::heat::dominates(heat));
    }
    step
        .table(
            "Temperatures expected inside the parts, °C",
            &["part", "expected inside, °C (range)", "limit, °C"],
            rows,
        )
        .care(
            "Keep to the limits that the makers of board and parts give, to your local rules, and let someone licensed do what \
             must be done by them.",
        )
}

//! Heat pipes: where they lie on the plate, what joins them to it, and where their heat goes.

use super::assumed::{Assumed, JointGiven, joint};
use super::entry::HeatPipeEntry;
use super::names::distinct_names;
use super::overlap::{SLACK_MM, truly_overlap};
use super::section::Reading;
use crate::diagnostic::Diagnostic;
use crate::geometry::{Footprint, Loop, y_intervals};
use crate::numbers::plain;
use crate::part::spread::{EVAPORATION, OTHER_HEAT, PIPE_TEMPERATURE, TO_AIR};
use crate::part::thermal::{HeatPipe, Sink};
use crate::part::usual::USUAL_EVAPORATION_MM2K_W;
use crate::part::words::JointKind;
use crate::quantity::{Angle, Toleranced};
use nalgebra::Point2;

/// Checks all heat pipes as far as they need no plate.
pub fn pipes(
    entries: &[HeatPipeEntry],
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Vec<HeatPipe> {
    distinct_names(
        "heat pipe",
        entries.iter().filter_map(|e| e.name.as_ref()),
        reading,
    );
    let pipes: Vec<HeatPipe> = entries
        .iter()
        .filter_map(|entry| pipe(entry, reading, assumed))
        .collect();
    for (number, one) in pipes.iter().enumerate() {
        let before = pipes.iter().take(number);
        let overlapped = before
            .rev()
            .find(|other| truly_overlap(&other.footprint, &one.footprint));
        if let Some(other) = overlapped {
            reading.findings.push(
                Diagnostic::error(format!(
                    "the heat pipes \"{}\" and \"{}\" lie on one spot",
                    one.name, other.name
                ))
                .id("part-overlap")
                .at(&one.span)
                .also(&other.span, "the other one")
                .help(
                    "look at x_mm, y_mm and size_mm of both: two pipes cannot touch the same metal",
                ),
            );
        }
    }
    pipes
}

fn pipe(entry: &HeatPipeEntry, reading: &mut Reading, assumed: &mut Assumed) -> Option<HeatPipe> {
    let name = entry.name.as_ref().map_or("", |at| at.value.as_str());
    let kind = entry.joint.as_ref().map_or_else(
        || {
            assumed.add(
                "heat_pipe.joint",
                Some(name),
                "solder".into(),
                "common practice, no source",
            );
            JointKind::Solder
        },
        |at| at.value,
    );
    let joint = joint(
        &JointGiven {
            kind,
            thickness_mm: (
                "heat_pipe.joint_mm",
                entry.joint_mm.as_ref().map(|at| at.value),
            ),
            conductivity_w_mk: (
                "heat_pipe.joint_conductivity_w_mk",
                entry.joint_conductivity_w_mk.as_ref(),
            ),
            void_percent: ("heat_pipe.void_percent", entry.void_percent.as_ref()),
        },
        name,
        assumed,
    );
    let sink = sink(entry, name, reading, assumed);
    let size_mm = entry.size_mm.as_ref().map(|at| at.value);
    let evaporation_mm2k_w = evaporation(entry, name, size_mm, reading, assumed);
    let footprint = Footprint::rectangle(
        Point2::new(entry.x_mm.as_ref()?.value, entry.y_mm.as_ref()?.value),
        size_mm?,
        Angle::deg(entry.rotation_deg.as_ref().map_or(0.0, |at| at.value)),
    );
    Some(HeatPipe {
        name: entry.name.as_ref()?.value.clone(),
        footprint,
        joint,
        evaporation_mm2k_w: evaporation_mm2k_w?,
        sink: sink?,
        limit_c: entry.limit_c.as_ref().map(|at| at.value),
        span: entry.span.clone(),
    })
}

/// Wall and wick: of an area, of the whole seat, or as usual.
fn evaporation(
    entry: &HeatPipeEntry,
    name: &str,
    size_mm: Option<[f64; 2]>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Option<Toleranced> {
    match (&entry.evaporation_mm2k_w, &entry.evaporation_k_w) {
        (Some(of_area), Some(of_seat)) => {
            reading.findings.push(
                Diagnostic::error(
                    "this heat pipe has both `evaporation_mm2k_w` and `evaporation_k_w`",
                ).id("part-said-twice")
                .at(&of_seat.span)
                .also(&of_area.span, "the other one")
                .help("keep evaporation_k_w for the whole seat, or evaporation_mm2k_w for each mm² of it"),
            );
            None
        }
        (Some(of_area), None) => Some(assumed.spread(
            "heat_pipe.evaporation_mm2k_w",
            Some(name),
            of_area.value,
            EVAPORATION,
        )),
        (None, Some(of_seat)) => {
            let [length_mm, width_mm] = size_mm?;
            let area_mm2 = length_mm * width_mm;
            let given = assumed.spread(
                "heat_pipe.evaporation_k_w",
                Some(name),
                of_seat.value,
                EVAPORATION,
            );
            if of_seat.value.plus_minus.is_none() {
                assumed.open("heat_pipe.evaporation_mm2k_w", Some(name), EVAPORATION);
            }
            Some(Toleranced {
                value: given.value * area_mm2,
                plus_minus: given.plus_minus.map(|half_width| half_width * area_mm2),
            })
        }
        (None, None) => {
            assumed.add(
                "heat_pipe.evaporation_mm2k_w",
                Some(name),
                format!(
                    "{} ± {}",
                    plain(USUAL_EVAPORATION_MM2K_W),
                    EVAPORATION.words()
                ),
                "sintered wick, with the pipe's wall; from memory",
            );
            assumed.open("heat_pipe.evaporation_mm2k_w", Some(name), EVAPORATION);
            let usual = Toleranced::exact(USUAL_EVAPORATION_MM2K_W);
            Some(EVAPORATION.on(usual))
        }
    }
}

/// Where the pipe's heat goes: exactly one of the two ways must be said.
fn sink(
    entry: &HeatPipeEntry,
    name: &str,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Option<Sink> {
    if let (Some(other_heat), None) = (&entry.other_heat_w, &entry.to_air_k_w)
        && reading.lacks(&entry.span, &["to_air_k_w"])
    {
        reading.findings.push(
            Diagnostic::error("this heat pipe has `other_heat_w` but no `to_air_k_w`").id("part-missing")
                .at(&other_heat.span)
                .help("add to_air_k_w = 0.25: how much warmer than the air the pipe gets for each watt")
                .help("or delete other_heat_w: a measured temperature_c knows of all heat already"),
        );
        return None;
    }
    match (&entry.temperature_c, &entry.to_air_k_w) {
        (Some(temperature), Some(to_air)) => {
            reading.findings.push(
                Diagnostic::error("this heat pipe has both `temperature_c` and `to_air_k_w`").id("part-said-twice")
                    .at(&to_air.span)
                    .also(&temperature.span, "the other one")
                    .help("keep temperature_c if it was measured on the pipe at work, to_air_k_w if it was not"),
            );
            None
        }
        (Some(temperature), None) => Some(Sink::Held {
            temperature_c: assumed.spread(
                "heat_pipe.temperature_c",
                Some(name),
                temperature.value,
                PIPE_TEMPERATURE,
            ),
        }),
        (None, Some(to_air)) => {
            let resistance_k_w =
                assumed.spread("heat_pipe.to_air_k_w", Some(name), to_air.value, TO_AIR);
            let other_heat_w = if let Some(at) = &entry.other_heat_w {
                assumed.spread("heat_pipe.other_heat_w", Some(name), at.value, OTHER_HEAT)
            } else {
                assumed.add(
                    "heat_pipe.other_heat_w",
                    Some(name),
                    "0".into(),
                    "nothing else heats the pipe; give what the chip puts into it",
                );
                assumed.open("heat_pipe.other_heat_w", Some(name), OTHER_HEAT);
                OTHER_HEAT.on(Toleranced::exact(0.0))
            };
            Some(Sink::ToAir {
                resistance_k_w,
                other_heat_w,
            })
        }
        (None, None) => {
            if reading.lacks(&entry.span, &["temperature_c", "to_air_k_w"]) {
                reading.findings.push(
                    Diagnostic::error("this heat pipe does not say where its heat goes").id("part-missing")
                        .at(&entry.span)
                        .help("add temperature_c = 60.0, measured on the pipe at work")
                        .help("or to_air_k_w = 0.25 and other_heat_w = 65.0: its way to the air, and what else it carries"),
                );
            }
            None
        }
    }
}

/// Says which pipes do not lie over the plate at all.
pub fn over_plate(pipes: &[HeatPipe], outline: &Loop, reading: &mut Reading) {
    let (low, high) = outline.bounds();
    let plate = [outline.clone()];
    for pipe in pipes {
        if meet(&pipe.footprint, &plate) {
            continue;
        }
        let (pipe_low, pipe_high) = pipe.footprint.bounds();
        reading.findings.push(
            Diagnostic::error(format!(
                "this heat pipe lies beside the plate: it covers x {} to {}, y {} to {}, the plate x {} to {}, y {} to {}",
                plain(pipe_low.x),
                plain(pipe_high.x),
                plain(pipe_low.y),
                plain(pipe_high.y),
                plain(low.x),
                plain(high.x),
                plain(low.y),
                plain(high.y)
            )).id("part-outside")
            .at(&pipe.span)
            .help("x_mm and y_mm are the middle of its flat face, in the plate's own x and y; size_mm is along x, along y"),
        );
    }
}

/// Whether a footprint covers any of a plate.
fn meet(footprint: &Footprint, plate: &[Loop; 1]) -> bool {
    let edge = footprint.outline();
    let [outline] = plate;
    let mut places = edge.breaks_x();
    places.extend(outline.breaks_x());
    places.extend(edge.crossings_x(outline));
    places.sort_by(f64::total_cmp);
    places.windows(2).any(|pair| {
        let [from, to] = pair else { return false };
        if to - from < SLACK_MM {
            return false;
        }
        // Between two places nothing changes its order, so the middle speaks for all.
        let middle = 0.5 * (from + to);
        footprint.y_interval(middle).is_some_and(|(low, high)| {
            y_intervals(middle, plate)
                .iter()
                .any(|(from, to)| from.max(low) + SLACK_MM < to.min(high))
        })
    })
}

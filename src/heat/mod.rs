//! What the plate does to temperatures: steady conduction from the inside of each board part to the heat pipes.
//!
//! The formed plate is laid flat ([`unfold`](crate::conduction::unfold)) and cut into cells ([`grid`](crate::conduction::grid)); sheets, solder, pads and joints become a
//! network of conductances ([`plate`](crate::conduction::plate)) that is factorised once ([`network`](crate::conduction::network)). Its answers to every part and pipe are a few
//! numbers ([`reduced`]) from which what-ifs ([`whatif`]), the ladder of each part ([`ladder`]) and a hundred thousand draws
//! of everything that is not known exactly ([`draws`]) follow.
//!
//! # What is left out
//! Radiation and air flow but for one number for bare faces; the board but for one temperature; heat between parts through
//! the board; a part's top is one temperature. Sources narrower than four thicknesses of the sheet they heat make the
//! spreading in it read 2 to 7 % high; narrower than two the sheet is solved in layers (`tests/heat/reference_heat.rs`).

pub mod draws;
pub mod filling;
mod findings;
mod found;
pub mod ladder;
pub mod lanes;
pub mod loads;
pub mod map;
pub mod model;
pub mod reduced;
pub mod solved;
pub mod whatif;

pub use draws::Range;
pub use findings::MOST_HEATED;
pub use found::{Crossing, Heat, PadUse, PartTemperature, PipeTemperature, PlateHeat};
pub use ladder::{Ladder, Rung, RungKind};
pub use solved::GridReport;
pub use whatif::{Improvement, PadCurve};

use crate::conduction::plate::Port;
use crate::diagnostic::{Noted, Refused};
use crate::fit::Underside;
use crate::part::{Component, Part};
use crate::stock::Pad;
use findings::{no_answer, notes, refusals, short_pads};
use map::plate_map;
use model::{Case, Setup, Values};
use solved::Solved;
use whatif::{Plated, Widened};

/// With more parts than this only the one in focus gets its pad curve: each is a hundred solutions.
const MOST_CURVES: usize = 40;

/// Whether a part file asks about heat at all.
pub fn is_asked(part: &Part) -> bool {
    !part.thermal.pipes.is_empty()
        || part
            .components
            .iter()
            .any(|component| component.heat.heat_w.is_some())
}

/// Temperatures with the new plate and, where the file has one, with the old plate.
///
/// `underside` is that of the plate as it will be; `drawn` gives the underside of a changed part for what-ifs.
///
/// # Errors
/// Everything that keeps the question from having an answer.
pub fn heat(
    part: &Part,
    underside: &Underside,
    drawn: fn(&Part) -> Underside,
) -> Result<Noted<Heat>, Refused> {
    let setup = Setup::new(part, underside);
    let mut findings = refusals(&setup);
    if findings.has_errors() {
        return Err(findings.into_sorted().into());
    }
    let new = setup.new_case();
    let old = setup.old_case();
    let values = setup.middle();
    let solve = |case: &Case<'_>| {
        let parts = setup.part_loads(&case.over, &values, None);
        let pipes = setup.pipe_loads(&values, None);
        Solved::refined(&case.plate, &parts, &pipes, case.layers)
    };
    let solved = match solve(&new) {
        Ok(solved) => solved,
        Err(reason) => {
            findings.push(no_answer(&setup, &new, &reason, "plate"));
            return Err(findings.into_sorted().into());
        }
    };
    let old_solved = match old.as_ref().map(solve).transpose() {
        Ok(solved) => solved,
        Err(reason) => {
            if let Some(old) = &old {
                findings.push(no_answer(&setup, old, &reason, "old plate"));
            }
            return Err(findings.into_sorted().into());
        }
    };
    let heat = assemble(
        &setup,
        &values,
        (&new, &solved),
        old.as_ref().zip(old_solved.as_ref()),
        drawn,
    );
    notes(&setup, &new, &heat, &mut findings);
    if let Some(old) = &old {
        short_pads(&setup, old, &heat, &mut findings);
    }
    Ok(Noted {
        value: heat,
        notes: findings.into_sorted(),
    })
}

fn assemble(
    setup: &Setup<'_>,
    values: &Values,
    (new, solved): (&Case<'_>, &Solved),
    old: Option<(&Case<'_>, &Solved)>,
    drawn: fn(&Part) -> Underside,
) -> Heat {
    let part = setup.part;
    let draws = draws::draws_for(solved.cells.ports.len());
    let new_plate = Plated { case: new, solved };
    let old_plate = old.map(|(case, solved)| Plated { case, solved });
    let study = draws::draw(
        setup,
        new_plate.drawable(),
        old_plate.map(|plate| plate.drawable()),
        draws,
    );
    let short = draws::short_shares(setup, new_plate.drawable());
    let mut parts: Vec<PartTemperature> = setup
        .heated
        .iter()
        .filter_map(|number| part.components.get(*number).map(|one| (*number, one)))
        .map(|(number, component)| {
            part_temperature(
                setup,
                values,
                (number, component),
                new_plate,
                old_plate,
                (&study, &short),
            )
        })
        .collect();
    let focus = focus(&parts);
    let all_curves = parts.len() <= MOST_CURVES;
    for (place, one) in parts.iter_mut().enumerate() {
        if !all_curves && place != focus {
            continue;
        }
        let Some(number) = setup.heated.get(place) else {
            continue;
        };
        let curve = |plate: Plated<'_>| {
            let port = port_of(plate.case, *number)?;
            plate.pad_curve(setup, values, port)
        };
        let [now, before] = [Some(new_plate), old_plate].map(|plate| plate.and_then(curve));
        (one.pad_curve, one.old_pad_curve) = (now, before);
    }
    let improvements = setup
        .heated
        .get(focus)
        .and_then(|component| {
            let port = port_of(new, *component)?;
            let wider = whatif::wider_flats(part, *component);
            let undersides: Vec<Underside> = wider.iter().map(|(_, part)| drawn(part)).collect();
            let drawn_now = drawn(part);
            let widened = Widened {
                before: Setup::new(part, &drawn_now),
                wider: wider
                    .iter()
                    .zip(&undersides)
                    .map(|((what, wider), underside)| (what.clone(), Setup::new(wider, underside)))
                    .collect(),
            };
            Some(new_plate.improvements(setup, values, port, &widened))
        })
        .unwrap_or_default();
    Heat {
        air_c: values.air_c,
        board_c: values.board_c,
        parts,
        focus,
        pipes: pipe_temperatures(setup, values, solved, old.map(|(_, solved)| solved)),
        improvements,
        pads: pad_uses(&setup.pads),
        chart_w_mk: whatif::CHART_W_MK.to_vec(),
        plate: plate_heat(solved),
        old_plate: old.map(|(_, solved)| plate_heat(solved)),
        draws,
        map: plate_map(solved, values.air_c),
        old_map: old.map(|(_, solved)| plate_map(solved, values.air_c)),
    }
}

fn port_of(case: &Case<'_>, component: usize) -> Option<usize> {
    case.over
        .iter()
        .position(|over| over.component == component)
}

/// A part that only the board cools, °C: its inside above the board is all its heat through that way.
fn board_alone_c(values: &Values, place: usize) -> Option<f64> {
    let heat_w = values.heat_w.get(place)?;
    let to_board = values.to_board_k_w.get(place)?;
    Some(values.board_c? + heat_w * to_board)
}

fn part_temperature(
    setup: &Setup<'_>,
    values: &Values,
    (number, component): (usize, &Component),
    new: Plated<'_>,
    old: Option<Plated<'_>>,
    (study, short): (&draws::Drawn, &[f64]),
) -> PartTemperature {
    let place = setup.place_of(number);
    let port = port_of(new.case, number);
    let old_port = old.and_then(|old| Some((old, port_of(old.case, number)?)));
    let inside = |plate: Plated<'_>, port: usize| {
        let inside_k = plate.solved.state.inside_k.get(port).copied();
        inside_k.unwrap_or(f64::NAN) + values.air_c
    };
    let top = |plate: Plated<'_>, port: usize| {
        let top_k = plate.solved.state.top_k.get(port).copied();
        top_k.map(|top_k| top_k + values.air_c)
    };
    let alone_c = board_alone_c(values, place);
    let cooled_alone = port.is_none() || (old.is_some() && old_port.is_none());
    let alone_draws = if cooled_alone {
        draws::draw_simple(setup, |values| board_alone_c(values, place))
    } else {
        Vec::new()
    };
    let alone = alone_c.map(|alone_c| Range::of(alone_c, &alone_draws));
    // Where one plate leaves it to the board, the first stream of draws is the same in both.
    let alone_draws = alone_draws.get(..draws::STREAM).unwrap_or(&[]);
    let new_draws = port
        .and_then(|port| study.new_c.get(port))
        .map_or(alone_draws, Vec::as_slice);
    let old_draws = old_port
        .and_then(|(_, port)| study.old_c.get(port))
        .map_or(alone_draws, Vec::as_slice);
    let inside_c = port.map_or_else(
        || alone.unwrap_or(Range::of(f64::NAN, &[])),
        |port| Range::of(inside(new, port), new_draws),
    );
    let old_inside_c = old.and_then(|_| {
        old_port.map_or_else(
            || alone,
            |(old, port)| Some(Range::of(inside(old, port), old_draws)),
        )
    });
    let difference_k = old_inside_c.map(|old_inside_c| {
        let each: Vec<f64> = new_draws
            .iter()
            .zip(old_draws)
            .map(|(new_c, old_c)| new_c - old_c)
            .collect();
        Range::of(inside_c.middle - old_inside_c.middle, &each)
    });
    let limit_c = component.heat.limit_c;
    PartTemperature {
        name: component.name.clone(),
        heat_w: values.heat_w.get(place).copied().unwrap_or(0.0),
        limit_c,
        inside_c,
        old_inside_c,
        difference_k,
        top_c: port.and_then(|port| top(new, port)),
        old_top_c: old_port.and_then(|(old, port)| top(old, port)),
        into_plate_w: port
            .and_then(|port| new.solved.state.into_plate_w.get(port).copied())
            .unwrap_or(0.0),
        gap_mm: port.map(|port| new.solved.gap_mm(port)),
        pad_short_percent: port
            .and_then(|port| short.get(port))
            .map(|share| 100.0 * share),
        old_gap_mm: old_port.map(|(old, port)| old.solved.gap_mm(port)),
        ladder: port.and_then(|port| ladder::ladder(setup, new.case, new.solved, values, port)),
        old_ladder: old_port
            .and_then(|(old, port)| ladder::ladder(setup, old.case, old.solved, values, port)),
        pad_curve: None,
        old_pad_curve: None,
        above_limit: limit_c.is_some_and(|limit_c| inside_c.middle > limit_c),
    }
}

/// Nearest to its limit, or hottest where none has one.
fn focus(parts: &[PartTemperature]) -> usize {
    let any_limit = parts.iter().any(|part| part.limit_c.is_some());
    parts
        .iter()
        .enumerate()
        .filter_map(|(number, part)| {
            let inside_c = part.inside_c.middle;
            let need = if any_limit {
                inside_c - part.limit_c?
            } else {
                inside_c
            };
            need.is_finite().then_some((number, need))
        })
        .max_by(|(_, a), (_, b)| a.total_cmp(b))
        .map_or(0, |(number, _)| number)
}

fn pipe_temperatures(
    setup: &Setup<'_>,
    values: &Values,
    solved: &Solved,
    old: Option<&Solved>,
) -> Vec<PipeTemperature> {
    setup
        .part
        .thermal
        .pipes
        .iter()
        .enumerate()
        .map(|(number, pipe)| {
            let vapour = |solved: &Solved| {
                let vapour_k = solved.state.vapour_k.get(number).copied();
                vapour_k.unwrap_or(f64::NAN) + values.air_c
            };
            let vapour_c = vapour(solved);
            PipeTemperature {
                name: pipe.name.clone(),
                vapour_c,
                old_vapour_c: old.map(vapour),
                from_plate_w: solved.state.into_pipe_w.get(number).copied().unwrap_or(0.0),
                seat_mm2: solved
                    .cells
                    .ports
                    .get(solved.cells.parts + number)
                    .map_or(0.0, Port::area_mm2),
                limit_c: pipe.limit_c,
                above_limit: pipe.limit_c.is_some_and(|limit_c| vapour_c > limit_c),
            }
        })
        .collect()
}

fn pad_uses(pads: &[&Pad]) -> Vec<PadUse> {
    pads.iter()
        .enumerate()
        .map(|(number, pad)| PadUse {
            name: pad.name.clone(),
            thickness_mm: pad.thickness_mm,
            printed_w_mk: pad.heat.printed_w_mk,
            conductivity_w_mk: pad.heat.conductivity_w_mk.value,
            conductivity_plus_minus_w_mk: pad.heat.conductivity_w_mk.plus_minus.unwrap_or(0.0),
            contact_mm2k_w: pad.heat.contact_mm2k_w.value,
            contact_plus_minus_mm2k_w: pad.heat.contact_mm2k_w.plus_minus.unwrap_or(0.0),
            crossings: pads
                .iter()
                .skip(number + 1)
                .filter(|other| other.heat != pad.heat)
                .map(|other| Crossing {
                    with: other.name.clone(),
                    thickness_mm: crate::stock::pad_heat::crossing_mm(&pad.heat, &other.heat),
                })
                .collect(),
            source: pad.heat.source.clone(),
        })
        .collect()
}

fn plate_heat(solved: &Solved) -> PlateHeat {
    PlateHeat {
        grid: solved.grid,
        from_parts_w: solved.state.into_plate_w.iter().sum(),
        into_pipes_w: solved.state.into_pipe_w.iter().sum(),
        lost_w: solved.lost_w(),
    }
}

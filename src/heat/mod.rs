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
pub mod ladder;
pub mod lanes;
pub mod loads;
pub mod map;
pub mod model;
pub mod reduced;
pub mod solved;
pub mod whatif;

pub use draws::Range;
pub use ladder::{Ladder, Rung, RungKind};
pub use solved::GridReport;
pub use whatif::{Improvement, PadCurve};

use crate::conduction::plate::Port;
use crate::diagnostic::{Diagnostic, Findings, Noted, Refused};
use crate::fit::Underside;
use crate::numeric::cells::CellMap;
use crate::part::{Component, Part};
use crate::quantity::plain;
use crate::stock::Pad;
use map::plate_map;
use model::{Case, Setup, TOO_NARROW, Values};
use schemars::JsonSchema;
use serde::Serialize;
use solved::{NoAnswer, Solved};
use whatif::{Plated, Widened};

/// More parts with heat than this are refused: each is a right-hand side of its own.
pub const MOST_HEATED: usize = 200;

/// With more parts than this only the one in focus gets its pad curve: each is a hundred solutions.
const MOST_CURVES: usize = 40;

/// A heat pipe that touches less than this share of the plate under it is told.
const SEATED: f64 = 0.9;

/// A pad that stays short of its gap in so many of 100 draws is told. Own choice: the tail of the ranges.
const SHORT_PERCENT: f64 = 5.0;

/// One board part, before and after.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PartTemperature {
    /// Name.
    pub name: String,
    /// Heat it makes.
    pub heat_w: f64,
    /// How warm its inside may be, °C, if the file says.
    pub limit_c: Option<f64>,
    /// Inside, °C, with the new plate.
    pub inside_c: Range,
    /// Inside, °C, with the old plate. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_inside_c: Option<Range>,
    /// New less old, K. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference_k: Option<Range>,
    /// Top, °C, with the new plate; `None` where no metal is above it.
    pub top_c: Option<f64>,
    /// Top, °C, with the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_top_c: Option<f64>,
    /// Heat that goes up into the new plate.
    pub into_plate_w: f64,
    /// Mean gap to the new plate.
    pub gap_mm: Option<f64>,
    /// Share of the draws in which its pad does not reach across the gap to the new plate somewhere.
    pub pad_short_percent: Option<f64>,
    /// Mean gap to the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_gap_mm: Option<f64>,
    /// Where the degrees go with the new plate.
    pub ladder: Option<Ladder>,
    /// Where they went with the old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_ladder: Option<Ladder>,
    /// Temperature against the conductivity of its pad, new plate. Absent: it has no pad, or the board has many parts and this
    /// is not the one in focus.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pad_curve: Option<PadCurve>,
    /// The same, old plate. Absent: no old plate, or no metal of it above.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_pad_curve: Option<PadCurve>,
    /// Whether its middle is above its limit.
    pub above_limit: bool,
}

/// One heat pipe.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PipeTemperature {
    /// Name.
    pub name: String,
    /// Vapour, °C, with the new plate.
    pub vapour_c: f64,
    /// Vapour, °C, with the old plate. Absent: no old plate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_vapour_c: Option<f64>,
    /// Heat that it takes from the new plate.
    pub from_plate_w: f64,
    /// Area on which it lies on the new plate.
    pub seat_mm2: f64,
    /// How warm it may be, °C.
    pub limit_c: Option<f64>,
    /// Whether it is warmer.
    pub above_limit: bool,
}

/// What is known of one pad, and where it is used.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PadUse {
    /// Name.
    pub name: String,
    /// Thickness before it is pressed.
    pub thickness_mm: f64,
    /// What the pack says, W/(m·K).
    pub printed_w_mk: Option<f64>,
    /// What it conducts pressed, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Half-width of that.
    pub conductivity_plus_minus_w_mk: f64,
    /// Both faces together, mm²·K/W.
    pub contact_mm2k_w: f64,
    /// Half-width of that.
    pub contact_plus_minus_mm2k_w: f64,
    /// Thickness at which it and each pad after it in the list hold back alike.
    pub crossings: Vec<Crossing>,
    /// Where the numbers come from.
    pub source: String,
}

/// The thickness at which two pads hold back alike.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Crossing {
    /// The other pad.
    pub with: String,
    /// That thickness; `None`: one is ahead at every thickness.
    pub thickness_mm: Option<f64>,
}

/// How a plate was solved, and what it does with all the heat.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlateHeat {
    /// How fine the grid is.
    pub grid: GridReport,
    /// Heat that enters the plate from parts.
    pub from_parts_w: f64,
    /// Heat that heat pipes take.
    pub into_pipes_w: f64,
    /// Heat that bare faces lose.
    pub lost_w: f64,
}

/// Temperatures of a part's board, before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heat {
    /// Air, °C.
    pub air_c: f64,
    /// Board, °C; `None`: no heat goes into it.
    pub board_c: Option<f64>,
    /// Parts that make heat, in the order of the file.
    pub parts: Vec<PartTemperature>,
    /// Number of the part that needs help most: nearest to its limit, or hottest where there are no limits.
    pub focus: usize,
    /// Heat pipes in the order of the file.
    pub pipes: Vec<PipeTemperature>,
    /// What to improve next for that part, best first.
    pub improvements: Vec<Improvement>,
    /// Pads over the parts.
    pub pads: Vec<PadUse>,
    /// Conductivities of all pad curves, W/(m·K).
    pub chart_w_mk: Vec<f64>,
    /// The new plate.
    pub plate: PlateHeat,
    /// The old plate.
    pub old_plate: Option<PlateHeat>,
    /// How many draws the ranges are from.
    pub draws: usize,
    /// Temperatures over the new plate.
    #[serde(skip)]
    pub map: CellMap,
    /// Temperatures over the old plate.
    #[serde(skip)]
    pub old_map: Option<CellMap>,
}

impl Heat {
    /// Whether every part and pipe keeps to its limit.
    pub fn is_good(&self) -> bool {
        !self.parts.iter().any(|part| part.above_limit)
            && !self.pipes.iter().any(|pipe| pipe.above_limit)
    }

    /// The part that needs help most.
    pub fn focus(&self) -> Option<&PartTemperature> {
        self.parts.get(self.focus)
    }
}

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

/// What keeps the question from having an answer, before anything is solved.
fn refusals(setup: &Setup<'_>) -> Findings {
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
fn no_answer(setup: &Setup<'_>, case: &Case<'_>, reason: &NoAnswer, which: &str) -> Diagnostic {
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
fn short_pads(setup: &Setup<'_>, old: &Case<'_>, heat: &Heat, findings: &mut Findings) {
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
        if let filling::Filling::Pad(pad) = over.filling
            && gap_mm > pad.thickness_mm + 1e-9
        {
            findings.push(
                Diagnostic::warning(format!(
                    "the old pad over {} is {} mm thick and does not reach across its gap of {} mm: air is reckoned between",
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
fn may_stay_short(part: &Part, heat: &Heat, findings: &mut Findings) {
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
fn notes(setup: &Setup<'_>, new: &Case<'_>, heat: &Heat, findings: &mut Findings) {
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
                    "{} may come above its limit of {} °C: nine in ten draws lie between {:.0} and {:.0} °C",
                    one.name,
                    plain(limit_c),
                    one.inside_c.low,
                    one.inside_c.high
                )).id("heat-part-may-be-above-limit")
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
        let wanted_mm2 = model::over_plate_mm2(part, pipe);
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

//! Checks what the part says of heat, and fills in what it leaves out.

use super::assumed::Assumed;
use super::entry::{ComponentEntry, Entries, HeatEntry, OldPlateEntry};
use super::pads_at_hand::PadsAtHand;
use super::section::{At, FILE, Reading};
use crate::diagnostic::Diagnostic;
use crate::numbers::plain;
use crate::part::spread::{AIR, BOARD, HEAT, JUNCTION_BY_KIND, JUNCTION_GIVEN};
use crate::part::thermal::{OldOver, OldPlate, PartHeat};
use crate::part::usual::{DEFAULT_AIR_C, DEFAULT_LOSS_W_M2K, usual_junction_k_w};
use crate::part::words::{Kind, SheetMaterial};
use crate::quantity::Toleranced;
use crate::stock::{Material, Metal};

const JUNCTION_REASON: &str =
    "by its kind, from memory; parts of a kind differ by a factor of two: look into the data sheet";

/// Whether the file asks anything about heat.
pub fn asks(file: &Entries) -> bool {
    !file.heat_pipes.is_empty() || file.components.iter().any(|entry| entry.heat_w.is_some())
}

/// What `[heat]` says, or would: air, board, loss of bare faces.
pub fn surroundings(
    entry: Option<&HeatEntry>,
    assumed: &mut Assumed,
) -> (Toleranced, Option<Toleranced>, f64) {
    let none = HeatEntry::default();
    let given = entry.unwrap_or(&none);
    let air_c = if let Some(at) = &given.air_c {
        assumed.spread("heat.air_c", None, at.value, AIR)
    } else {
        assumed.add(
            "heat.air_c",
            None,
            format!("{} ± {}", plain(DEFAULT_AIR_C), AIR.words()),
            "air inside a case; common practice, no source",
        );
        assumed.open("heat.air_c", None, AIR);
        AIR.on(Toleranced::exact(DEFAULT_AIR_C))
    };
    let board_c = given
        .board_c
        .as_ref()
        .map(|at| assumed.spread("heat.board_c", None, at.value, BOARD));
    if board_c.is_none() {
        assumed.add(
            "heat.board_c",
            None,
            "none".into(),
            "no heat flows into the board; measure it away from the hot parts",
        );
    }
    let loss_w_m2k = given.loss_w_m2k.as_ref().map_or_else(
        || {
            assumed.add(
                "heat.loss_w_m2k",
                None,
                plain(DEFAULT_LOSS_W_M2K),
                "natural convection and radiation of a small plate; from memory",
            );
            DEFAULT_LOSS_W_M2K
        },
        |at| at.value,
    );
    (air_c, board_c, loss_w_m2k)
}

/// What the file says of the old plate.
pub fn old_plate(
    entry: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Option<OldPlate> {
    let entry = entry?;
    let material = match &entry.material {
        Some(at) => at.value,
        None => SheetMaterial::Stock(Material::Copper),
    };
    let stock = match material {
        SheetMaterial::Stock(material) => Metal::tempers(material)
            .first()
            .and_then(|temper| Metal::stock(material, *temper))
            .map(|metal| (material.trade_name().to_owned(), metal.conductivity_w_mk)),
        SheetMaterial::Own => None,
    };
    let given = entry.conductivity_w_mk.as_ref().map(|at| at.value);
    if let (None, Some(material)) = (&stock, &entry.material)
        && given.is_none()
        && reading.lacks(&entry.span, &["conductivity_w_mk"])
    {
        reading.findings.push(
            Diagnostic::error("an old plate of a metal of your own needs `conductivity_w_mk`").id("part-missing")
                .at(&material.span)
                .help("add conductivity_w_mk = 390.0 below [old_plate], or name a material of the stock table"),
        );
    }
    if entry.material.is_none()
        && given.is_none()
        && let Some((name, conductivity_w_mk)) = &stock
    {
        assumed.add(
            "old_plate.material",
            None,
            format!("{name}, {} W/(m K)", plain(*conductivity_w_mk)),
            "most cold plates are; common practice, no source",
        );
    }
    // A conductivity alone does not say which metal it is.
    let name = match (&entry.material, given) {
        (None, Some(conductivity_w_mk)) => {
            format!("metal of {} W/(m K)", plain(conductivity_w_mk))
        }
        _ => stock
            .as_ref()
            .map_or_else(|| "own material".to_owned(), |(name, _)| name.clone()),
    };
    Some(OldPlate {
        name,
        conductivity_w_mk: given.or(stock.map(|(_, conductivity_w_mk)| conductivity_w_mk))?,
        thickness_mm: entry.thickness_mm.as_ref()?.value,
        underside_mm: entry.underside_mm.as_ref().map(|at| at.value),
        span: entry.span.clone(),
    })
}

/// What a board part has to do with heat.
pub fn part_heat(
    entry: &ComponentEntry,
    pads: PadsAtHand<'_>,
    old_plate: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> PartHeat {
    let name = entry.name.as_ref().map(|at| at.value.as_str());
    let kind = entry.kind.as_ref().map_or(Kind::Other, |at| at.value);
    let heat_w = entry
        .heat_w
        .as_ref()
        .map(|at| assumed.spread("heat_w", name, at.value, HEAT));
    let mut junction = |key: &str, at: Option<&At<Toleranced>>, usual: f64| {
        if let Some(at) = at {
            return assumed.spread(key, name, at.value, JUNCTION_GIVEN);
        }
        // Where no heat is made, nobody needs to know.
        if heat_w.is_some() {
            let value = format!("{} ± {}", plain(usual), JUNCTION_BY_KIND.words());
            assumed.add(key, name, value, JUNCTION_REASON);
        }
        assumed.open(key, name, JUNCTION_BY_KIND);
        JUNCTION_BY_KIND.on(Toleranced::exact(usual))
    };
    let [to_top, to_board] = usual_junction_k_w(kind);
    let junction_to_top_k_w = junction(
        "junction_to_top_k_w",
        entry.junction_to_top_k_w.as_ref(),
        to_top,
    );
    let junction_to_board_k_w = junction(
        "junction_to_board_k_w",
        entry.junction_to_board_k_w.as_ref(),
        to_board,
    );
    PartHeat {
        heat_w,
        limit_c: entry.limit_c.as_ref().map(|at| at.value),
        junction_to_top_k_w,
        junction_to_board_k_w,
        old: old_over(entry, pads, old_plate, reading, assumed),
    }
}

/// What the old plate had over a part.
fn old_over(
    entry: &ComponentEntry,
    pads: PadsAtHand<'_>,
    old_plate: Option<&OldPlateEntry>,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> OldOver {
    let Some(plate) = old_plate else {
        let written = [
            entry.old_pad.as_ref().map(|at| (&at.span, "old_pad")),
            entry.old_gap_mm.as_ref().map(|at| (&at.span, "old_gap_mm")),
        ];
        if let Some((span, key)) = written.into_iter().flatten().next()
            && reading.lacks(&FILE, &["old_plate"])
        {
            reading.findings.push(
                Diagnostic::error(format!(
                    "this component has `{key}`, but the part file has no [old_plate]"
                ))
                .id("part-missing")
                .at(span)
                .help("add [old_plate] and below it thickness_mm = 0.8: it was under that plate")
                .help("or delete old_pad and old_gap_mm: then no old plate is compared"),
            );
        }
        return OldOver::default();
    };
    let pad = entry
        .old_pad
        .as_ref()
        .and_then(|wanted| pads.called(wanted, reading));
    if let Some(pad) = &pad {
        assumed.stock_pad(pad);
    }
    let gap_mm = match (&entry.old_gap_mm, &plate.underside_mm, &entry.height_mm) {
        (Some(given), _, _) => Some(given.value),
        (None, Some(underside), Some(height)) => {
            let gap_mm = less(underside.value, height.value);
            if let (Some(old_pad), true) = (&entry.old_pad, gap_mm.value <= 0.0) {
                reading.findings.push(
                    Diagnostic::error(format!(
                        "the old plate's underside, {} mm above the board, leaves this component, {} mm high, no gap for a pad",
                        plain(underside.value.value),
                        plain(height.value.value)
                    )).id("part-contradiction")
                    .at(&old_pad.span)
                    .also(&underside.span, "the old plate's underside")
                    .help("give the gap that was here, old_gap_mm = 1.6: the old plate had more than one level")
                    .help("or measure underside_mm and height_mm again"),
                );
            }
            // What stands higher than the plate stood beside it, or in a hole of it.
            (gap_mm.value > 0.0).then_some(gap_mm)
        }
        (None, underside, _) => {
            if let (Some(old_pad), None) = (&entry.old_pad, underside)
                && reading.lacks(&entry.span, &["old_gap_mm"])
                && reading.lacks(&plate.span, &["underside_mm"])
            {
                reading.findings.push(
                    Diagnostic::error("how far this component was below the old plate is not said").id("part-missing")
                        .at(&old_pad.span)
                        .help("add old_gap_mm = 1.6 to this component")
                        .help("or underside_mm = 3.0 to [old_plate], if it was level: its height is then taken off"),
                );
            }
            None
        }
    };
    OldOver { pad, gap_mm }
}

/// One measured number less another; half-widths add as those of two that do not know of each other.
fn less(one: Toleranced, other: Toleranced) -> Toleranced {
    let both = [one.plus_minus, other.plus_minus];
    Toleranced {
        value: one.value - other.value,
        plus_minus: both.iter().any(Option::is_some).then(|| {
            let squares = both
                .iter()
                .flatten()
                .map(|half_width| half_width * half_width);
            squares.sum::<f64>().sqrt()
        }),
    }
}

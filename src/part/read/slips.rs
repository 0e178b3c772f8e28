//! Slips that make many findings at once, or none at all: the one question that they should have been.

use super::section::Reading;
use crate::change::{Edit, Value, Way};
use crate::diagnostic::{Diagnostic, NOWHERE, Severity, Span};
use crate::numbers::plain;
use crate::part::design::Design;
use crate::part::places::Places;
use crate::part::value::Said;
use crate::quantity::Toleranced;

/// Millimetres of an inch.
const INCH_MM: f64 = 25.4;
/// Millimetres of a centimetre.
const CM_MM: f64 = 10.0;
/// A sheet that is no thicker, read in millimetres, is a foil: no plate is made of it. 3.2 mm in inches.
const FOIL_MM: f64 = 0.126;
/// Heights that are all lower, read in millimetres, are hardly there. 12.7 mm in inches.
const FLAT_MM: f64 = 0.5;
/// A board on which all places are nearer, read in millimetres, is no board. 300 mm in inches.
const SMALL_MM: f64 = 12.0;
/// Narrower plates may be meant in centimetres: 200 mm.
const NARROW_MM: f64 = 20.0;
/// Radii and distances to keep that are smaller are scaled with the rest: 6 mm in inches. Larger ones were left from a file in
/// millimetres.
const SMALL_RADIUS_MM: f64 = 0.25;

/// What a wrong unit is the cause of.
const OF_PLACES: [&str; 6] = [
    "part-outline",
    "part-outside",
    "part-step-unbendable",
    "part-flats-level",
    "part-backwards",
    "part-thin-metal",
];

/// Puts one question in place of the findings that a slip made.
pub fn asked(design: &Design, places: &Places, reading: &mut Reading) {
    let question = inches(design, places).or_else(|| centimetres(design, places));
    let Some((question, explains)) = question else {
        return;
    };
    let changed: Vec<&Span> = (question.ways.iter().flat_map(|way| &way.edits))
        .filter_map(|edit| places.value(&edit.table, edit.number, &edit.key))
        .collect();
    // Of ranges only those of the values that would be others.
    let explained = |found: &Diagnostic| {
        explains.contains(&found.id)
            || found.id == "part-range"
                && (found.span.as_ref()).is_none_or(|span| changed.contains(&span))
    };
    let severity = if reading.findings.replace(explained) {
        Severity::Error
    } else {
        Severity::Warning
    };
    reading.findings.push(Diagnostic {
        severity,
        ..question
    });
}

fn place<'p>(places: &'p Places, table: &str, key: &str) -> &'p Span {
    places.value(table, 0, key).unwrap_or(&NOWHERE)
}

/// Whether every length is one of a board in inches.
fn inches(design: &Design, places: &Places) -> Option<(Diagnostic, &'static [&'static str])> {
    let thickness_mm = design.sheet.as_ref()?.thickness_mm?.value;
    let width_mm = design.plate.as_ref()?.width_mm?;
    let value = |number: Option<Toleranced>| number.map(|number| number.value);
    let parts = &design.components;
    let heights: Vec<f64> = (parts.iter().filter_map(|part| value(part.height_mm)))
        .chain(
            design
                .flats
                .iter()
                .filter_map(|flat| value(flat.underside_mm)),
        )
        .collect();
    let ends = design
        .flats
        .iter()
        .flat_map(|flat| [flat.from_mm, flat.to_mm]);
    let along: Vec<f64> = (parts.iter().flat_map(|part| [part.x_mm, part.y_mm]))
        .chain(ends)
        .flatten()
        .chain(parts.iter().filter_map(|part| part.size_mm).flatten())
        .collect();
    let are_few = heights.len() < 3 || along.len() < 4;
    let is_foil = (0.01..=FOIL_MM).contains(&thickness_mm);
    let is_small =
        (0.2..=SMALL_MM).contains(&width_mm) && along.iter().all(|place| place.abs() <= SMALL_MM);
    let is_flat = heights
        .iter()
        .all(|height| (0.0..=FLAT_MM).contains(height));
    if are_few || !(is_foil && is_small && is_flat) {
        return None;
    }
    let question = Diagnostic::warning(format!(
        "a sheet of {} mm, a plate {} mm wide, no height above {} mm: are these lengths in inches?",
        plain(thickness_mm),
        plain(width_mm),
        plain(FLAT_MM)
    ))
    .id("part-unit")
    .at(place(places, "sheet", "thickness_mm"))
    .way(Way::new(
        "write all lengths of board and plate in millimetres, 25.4 to the inch",
        in_millimetres(design),
    ));
    Some((question, &OF_PLACES))
}

/// Every length of board and plate times 25.4; pads, printer and vise have sizes of the trade, in millimetres anyway.
fn in_millimetres(design: &Design) -> Vec<Edit> {
    const SCALED: [&str; 9] = [
        "sheet",
        "plate",
        "flat",
        "hole",
        "notch",
        "tab",
        "component",
        "extension",
        "obstacle",
    ];
    let mut edits = Vec::new();
    let mut number = 0;
    let mut last = "";
    for (table, keys) in design.said() {
        number = if table.name == last { number + 1 } else { 0 };
        last = table.name;
        if !SCALED.contains(&table.name) {
            continue;
        }
        for (key, said) in keys {
            match said {
                Said::Value(value) => edits.extend(scaled(table.name, number, key.name, &value)),
                Said::Table(inside) => {
                    edits.extend(inside.into_iter().filter_map(|(inner, said)| {
                        let Said::Value(value) = said else {
                            return None;
                        };
                        let path = format!("{}.{}", key.name, inner.name);
                        scaled(table.name, number, &path, &value)
                    }));
                }
            }
        }
    }
    edits
}

fn scaled(table: &str, number: usize, key: &str, value: &Value) -> Option<Edit> {
    if !key.ends_with("_mm") || key == "old_gap_mm" {
        return None;
    }
    // To the thousandth of a millimetre.
    let mm = |inches: &f64| libm::round(1e3 * INCH_MM * inches) / 1e3;
    let is_kept = ["radius", "keep_out", "clearance"]
        .iter()
        .any(|word| key.contains(word));
    let value = match value {
        Value::Number(number) if is_kept && *number > SMALL_RADIUS_MM => return None,
        Value::Number(number) => Value::Number(mm(number)),
        Value::Toleranced(number) => Value::Toleranced(Toleranced {
            value: mm(&number.value),
            plus_minus: number.plus_minus.as_ref().map(mm),
        }),
        Value::Numbers(list) if is_kept && list.iter().any(|one| *one > SMALL_RADIUS_MM) => {
            return None;
        }
        Value::Numbers(list) => Value::Numbers(list.iter().map(mm).collect()),
        Value::Pairs(list) => Value::Pairs(
            list.iter()
                .map(|pair| [mm(&pair[0]), mm(&pair[1])])
                .collect(),
        ),
        Value::Text(_) | Value::Switch(_) => return None,
    };
    Some(Edit::new(table, number, key, value))
}

/// Whether the plate is so narrow that it ends before most of what is under it, and ten times as wide would hold it all.
fn centimetres(design: &Design, places: &Places) -> Option<(Diagnostic, &'static [&'static str])> {
    let width_mm = design.plate.as_ref()?.width_mm?;
    let wide_mm = libm::round(1e4 * CM_MM * width_mm) / 1e4;
    let across: Vec<f64> = (design.components.iter().filter_map(|part| part.y_mm))
        .chain(design.holes.iter().filter_map(|hole| hole.y_mm))
        .collect();
    let beyond = across.iter().filter(|y_mm| **y_mm > width_mm).count();
    let would_hold = across.iter().all(|y_mm| (0.0..=wide_mm).contains(y_mm));
    if !(width_mm > 0.0 && width_mm < NARROW_MM && would_hold) || 2 * beyond <= across.len() {
        return None;
    }
    let question = Diagnostic::warning(format!(
        "a plate {} mm wide ends before most of what it should cover: is its width in centimetres?",
        plain(width_mm)
    ))
    .id("part-unit")
    .at(place(places, "plate", "width_mm"))
    .way(Way::new(
        format!("make the plate {} mm wide", plain(wide_mm)),
        vec![Edit::new("plate", 0, "width_mm", wide_mm)],
    ));
    Some((
        question,
        &["part-outline", "part-outside", "part-thin-metal"],
    ))
}

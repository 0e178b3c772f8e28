//! Checks what stands on the board under the plate: components, obstacles, and the extension plates above them.

use super::assumed::{Assumed, JointGiven, joint};
use super::entry::{ComponentEntry, ExtensionEntry, ObstacleEntry, OldPlateEntry};
use super::heat;
use super::names::{distinct_names, listed, nobody_called};
use super::overlap::{SLACK_MM, truly_overlap};
use super::pads_at_hand::PadsAtHand;
use super::section::{At, Reading};
use crate::change::{Edit, Way};
use crate::diagnostic::{Diagnostic, Span};
use crate::geometry::Footprint;
use crate::numbers::{hundredth_above, hundredth_below, plain};
use crate::part::usual::{DEFAULT_KEEP_OUT_MM, DEFAULT_OBSTACLE_CLEARANCE_MM, DEFAULT_SOLDER_MM};
use crate::part::words::{JointKind, Kind};
use crate::part::{Component, DefaultUsed, Extension, Flat, Obstacle, Treatment};
use crate::quantity::Angle;
use nalgebra::Point2;
use std::collections::BTreeMap;

fn footprint(
    what: &str,
    span: &Span,
    place: (Option<&At<f64>>, Option<&At<f64>>),
    size: Option<&At<[f64; 2]>>,
    diameter: Option<&At<f64>>,
    rotation: Option<&At<f64>>,
    reading: &mut Reading,
) -> Option<(Footprint, Point2<f64>)> {
    let shape = match (size, diameter) {
        (Some(_), Some(diameter)) => {
            reading.findings.push(
                Diagnostic::error(format!("this {what} has both `size_mm` and `diameter_mm`"))
                    .id("part-said-twice")
                    .at(&diameter.span)
                    .help("keep size_mm for a rectangular one, diameter_mm for a round one"),
            );
            return None;
        }
        (None, None) => {
            if reading.lacks(span, &["size_mm", "diameter_mm"]) {
                reading.findings.push(
                    Diagnostic::error(format!("this {what} has no size"))
                        .id("part-missing")
                        .at(span)
                        .help("add size_mm = [6.0, 5.0] (along x, along y), or diameter_mm = 8.0"),
                );
            }
            return None;
        }
        (size, diameter) => (size, diameter),
    };
    let centre = Point2::new(place.0?.value, place.1?.value);
    let footprint = match shape {
        (Some(size), _) => Footprint::rectangle(
            centre,
            size.value,
            Angle::deg(rotation.map_or(0.0, |at| at.value)),
        ),
        (None, Some(diameter)) => Footprint::Disc {
            centre,
            radius_mm: diameter.value / 2.0,
        },
        (None, None) => return None,
    };
    Some((footprint, centre))
}

/// Checks all components.
pub fn components(
    entries: &[ComponentEntry],
    pads: PadsAtHand<'_>,
    old_plate: Option<&OldPlateEntry>,
    reading: &mut Reading,
    (defaults, assumed): (&mut Vec<DefaultUsed>, &mut Assumed),
) -> Vec<Component> {
    distinct_names(
        "component",
        entries.iter().filter_map(|e| e.name.as_ref()),
        reading,
    );
    let mut components = Vec::new();
    let mut bare_by_default = Vec::new();
    for entry in entries {
        let treatment = treatment(entry, pads, reading, &mut bare_by_default);
        if let Some(Treatment::Pad(pad)) = &treatment {
            assumed.stock_pad(pad);
        }
        let heat = heat::part_heat(entry, pads, old_plate, reading, assumed);
        let shape = footprint(
            "component",
            &entry.span,
            (entry.x_mm.as_ref(), entry.y_mm.as_ref()),
            entry.size_mm.as_ref(),
            entry.diameter_mm.as_ref(),
            entry.rotation_deg.as_ref(),
            reading,
        );
        let (Some((footprint, centre)), Some(treatment), Some(name), Some(height)) =
            (shape, treatment, &entry.name, &entry.height_mm)
        else {
            continue;
        };
        components.push(Component {
            name: name.value.clone(),
            kind: entry.kind.as_ref().map_or(Kind::Other, |at| at.value),
            footprint,
            centre,
            height_mm: height.value,
            treatment,
            heat,
            span: entry.span.clone(),
        });
    }
    if !bare_by_default.is_empty() {
        defaults.push(DefaultUsed {
            key: format!("keep_out_mm of {}", listed(&bare_by_default)),
            value: plain(DEFAULT_KEEP_OUT_MM),
            reason: "neither pad nor keep_out_mm given; common practice, no source".into(),
        });
    }
    overlaps(&components, reading);
    components
}

fn treatment(
    entry: &ComponentEntry,
    pads: PadsAtHand<'_>,
    reading: &mut Reading,
    bare_by_default: &mut Vec<String>,
) -> Option<Treatment> {
    match (&entry.pad, &entry.keep_out_mm) {
        (Some(_), Some(keep_out)) => {
            reading.findings.push(
                Diagnostic::error("this component has both a `pad` and a `keep_out_mm`")
                    .id("part-contradiction")
                    .at(&keep_out.span)
                    .help(
                        "keep the pad if metal shall cool it, keep_out_mm if metal must stay away",
                    ),
            );
            None
        }
        (Some(wanted), None) => pads.called(wanted, reading).map(Treatment::Pad),
        (None, Some(keep_out)) => Some(Treatment::Bare {
            keep_out_mm: keep_out.value,
        }),
        (None, None) => {
            bare_by_default.extend(entry.name.as_ref().map(|at| at.value.clone()));
            Some(Treatment::Bare {
                keep_out_mm: DEFAULT_KEEP_OUT_MM,
            })
        }
    }
}

/// Warns of components that stand in each other: mostly a slip in x or y.
fn overlaps(components: &[Component], reading: &mut Reading) {
    let boxes: Vec<_> = components.iter().map(|c| c.footprint.bounds()).collect();
    let mut order: Vec<usize> = (0..components.len()).collect();
    order.sort_by(|a, b| {
        let low = |i: &usize| boxes.get(*i).map_or(0.0, |(low, _)| low.x);
        low(a).total_cmp(&low(b))
    });
    let mut warned = 0;
    for (position, i) in order.iter().enumerate() {
        let (Some(one), Some((low, high))) = (components.get(*i), boxes.get(*i)) else {
            continue;
        };
        for k in order.iter().skip(position + 1) {
            let (Some(other), Some((other_low, other_high))) = (components.get(*k), boxes.get(*k))
            else {
                continue;
            };
            if other_low.x > high.x - SLACK_MM {
                break;
            }
            let in_y = other_low.y < high.y - SLACK_MM && low.y < other_high.y - SLACK_MM;
            if !in_y || !truly_overlap(&one.footprint, &other.footprint) || warned >= 20 {
                continue;
            }
            warned += 1;
            let (first, second) = if i < k { (one, other) } else { (other, one) };
            reading.findings.push(
                Diagnostic::warning(format!(
                    "{} and {} stand in each other in plan",
                    second.name, first.name
                ))
                .id("part-overlap")
                .at(&second.span)
                .also(&first.span, "the other one")
                .help("look at x_mm, y_mm and size_mm of both"),
            );
        }
    }
}

/// Checks all extension plates against the flats they hang under.
pub fn extensions(
    entries: &[ExtensionEntry],
    flats: &[Flat],
    width_mm: f64,
    reading: &mut Reading,
    (defaults, assumed): (&mut Vec<DefaultUsed>, &mut Assumed),
) -> Vec<Extension> {
    distinct_names(
        "extension",
        entries.iter().filter_map(|e| e.name.as_ref()),
        reading,
    );
    let numbers = crate::part::strip::numbers(flats);
    let mut extensions: Vec<Extension> = Vec::new();
    for (number, entry) in entries.iter().enumerate() {
        let numbered = (number, entry);
        let Some(extension) = extension(numbered, flats, &numbers, width_mm, reading, assumed)
        else {
            continue;
        };
        if entry.solder_mm.is_none() {
            defaults.push(DefaultUsed {
                key: format!("extension \"{}\" solder_mm", extension.name),
                value: plain(DEFAULT_SOLDER_MM),
                reason: "solder layer; common practice, no source".into(),
            });
        }
        if let Some(other) = extensions
            .iter()
            .find(|other| truly_overlap(&other.footprint, &extension.footprint))
        {
            reading.findings.push(
                Diagnostic::error(format!(
                    "extension plates {} and {} overlap",
                    extension.name, other.name
                ))
                .id("part-overlap")
                .at(&extension.span)
                .also(&other.span, "the other one")
                .help("make one of them smaller, or one thicker plate of both"),
            );
            continue;
        }
        extensions.push(extension);
    }
    extensions
}

/// The plate made smaller, or the flat longer.
fn kept_on_flat(
    (extension, flat): (usize, usize),
    [low, high]: [f64; 2],
    limits: [f64; 2],
    axis: &str,
) -> Vec<Way> {
    let keys = match axis {
        "x" => ["from_mm", "to_mm"],
        _ => ["y_from_mm", "y_to_mm"],
    };
    let limits = [hundredth_above(limits[0]), hundredth_below(limits[1])];
    let kept = [low.max(limits[0]), high.min(limits[1])];
    let edits = |table: &str, number: usize, keys: [&str; 2], values: [f64; 2]| {
        let pairs = keys.into_iter().zip(values);
        pairs
            .map(|(key, value)| Edit::new(table, number, key, value))
            .collect::<Vec<_>>()
    };
    let mut ways = Vec::new();
    if kept[0] < kept[1] {
        let mut edits = edits("extension", extension, keys, kept);
        edits.retain(|edit| edit.value != Some(low.into()) && edit.value != Some(high.into()));
        ways.push(Way::new(
            format!(
                "let it reach from {axis} = {} to {} mm",
                plain(kept[0]),
                plain(kept[1])
            ),
            edits,
        ));
    }
    if axis == "x" && high > limits[1] {
        ways.push(Way::new(
            format!("let the flat reach to {} mm", plain(high)),
            vec![Edit::new("flat", flat, "to_mm", high)],
        ));
    }
    if axis == "x" && low < limits[0] {
        ways.push(Way::new(
            format!("let the flat begin at {} mm", plain(low)),
            vec![Edit::new("flat", flat, "from_mm", low)],
        ));
    }
    if axis == "y" && high > limits[1] {
        ways.push(Way::new(
            format!("make the plate {} mm wide", plain(high)),
            vec![Edit::new("plate", 0, "width_mm", high)],
        ));
    }
    ways
}

fn extension(
    (extension_number, entry): (usize, &ExtensionEntry),
    flats: &[Flat],
    numbers: &BTreeMap<&str, usize>,
    width_mm: f64,
    reading: &mut Reading,
    assumed: &mut Assumed,
) -> Option<Extension> {
    let wanted = entry.flat.as_ref()?;
    let Some(flat) = numbers
        .get(wanted.value.as_str())
        .and_then(|number| flats.get(*number).map(|flat| (*number, flat)))
    else {
        let known: Vec<&str> = numbers.keys().copied().collect();
        nobody_called("flat", wanted, &known, "flats of this part", reading);
        return None;
    };
    let (number, flat) = flat;
    let (from, to) = (entry.from_mm.as_ref()?, entry.to_mm.as_ref()?);
    let (y_from, y_to) = (entry.y_from_mm.as_ref()?, entry.y_to_mm.as_ref()?);
    let mut good = true;
    for (low, high, from_limit, to_limit, axis) in [
        (from, to, flat.level.from_mm, flat.level.to_mm, "x"),
        (y_from, y_to, 0.0, width_mm, "y"),
    ] {
        if low.value >= high.value {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "this extension plate has no length along {axis}: from {} mm to {} mm",
                    plain(low.value),
                    plain(high.value)
                ))
                .id("part-backwards")
                .at(&high.span)
                .help("let the first place be smaller than the second"),
            );
        } else if low.value < from_limit - SLACK_MM || high.value > to_limit + SLACK_MM {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "this extension plate reaches from {axis} = {} mm to {} mm, the flat \"{}\" only from {} mm to {} mm",
                    plain(low.value),
                    plain(high.value),
                    flat.name,
                    plain(from_limit),
                    plain(to_limit)
                )).id("part-outside")
                .at(&low.span)
                .ways(kept_on_flat(
                    (extension_number, number),
                    [low.value, high.value],
                    [from_limit, to_limit],
                    axis,
                ))
                .help("keep it on the level part of one flat: it cannot be soldered over a bend"),
            );
        }
    }
    let thickness = entry.thickness_mm.as_ref()?;
    let solder_mm = entry
        .solder_mm
        .as_ref()
        .map_or(DEFAULT_SOLDER_MM, |at| at.value);
    let underside_mm = flat.level.underside_mm - solder_mm - thickness.value.value;
    if underside_mm <= 0.0 {
        good = false;
        reading.findings.push(
            Diagnostic::error(format!(
                "this extension plate would reach {} mm below the board's top face",
                plain(-underside_mm)
            ))
            .id("part-below-board")
            .at(&thickness.span)
            .help(format!(
                "the flat \"{}\" lies {} mm above the board: use a plate thinner than that",
                flat.name,
                plain(flat.level.underside_mm)
            )),
        );
    }
    let name = entry.name.as_ref()?;
    let joint = joint(
        &JointGiven {
            kind: JointKind::Solder,
            thickness_mm: ("extension.solder_mm", Some(solder_mm)),
            conductivity_w_mk: (
                "extension.solder_conductivity_w_mk",
                entry.solder_conductivity_w_mk.as_ref(),
            ),
            void_percent: ("extension.void_percent", entry.void_percent.as_ref()),
        },
        &name.value,
        assumed,
    );
    good.then(|| Extension {
        name: name.value.clone(),
        flat: number,
        footprint: Footprint::between(
            Point2::new(from.value, y_from.value),
            Point2::new(to.value, y_to.value),
        ),
        underside_mm,
        thickness_mm: thickness.value,
        solder_mm,
        joint,
        span: entry.span.clone(),
    })
}

/// Checks all obstacles.
pub fn obstacles(
    entries: &[ObstacleEntry],
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Vec<Obstacle> {
    distinct_names(
        "obstacle",
        entries.iter().filter_map(|e| e.name.as_ref()),
        reading,
    );
    let mut obstacles = Vec::new();
    for entry in entries {
        let shape = footprint(
            "obstacle",
            &entry.span,
            (entry.x_mm.as_ref(), entry.y_mm.as_ref()),
            entry.size_mm.as_ref(),
            entry.diameter_mm.as_ref(),
            entry.rotation_deg.as_ref(),
            reading,
        );
        let (Some((footprint, _)), Some(name), Some(top)) = (shape, &entry.name, &entry.top_mm)
        else {
            continue;
        };
        let bottom_mm = entry.bottom_mm.as_ref().map_or(0.0, |at| at.value);
        if bottom_mm >= top.value {
            reading.findings.push(
                Diagnostic::error(format!(
                    "this obstacle ends at {} mm, below where it begins, {} mm",
                    plain(top.value),
                    plain(bottom_mm)
                )).id("part-backwards")
                .at(&top.span)
                .help("heights count from the board's top face: let top_mm be above bottom_mm (0 if not given)"),
            );
            continue;
        }
        if entry.clearance_mm.is_none() {
            defaults.push(DefaultUsed {
                key: format!("obstacle \"{}\" clearance_mm", name.value),
                value: plain(DEFAULT_OBSTACLE_CLEARANCE_MM),
                reason: "common practice, no source".into(),
            });
        }
        obstacles.push(Obstacle {
            name: name.value.clone(),
            footprint,
            bottom_mm,
            top_mm: top.value,
            clearance_mm: entry
                .clearance_mm
                .as_ref()
                .map_or(DEFAULT_OBSTACLE_CLEARANCE_MM, |at| at.value),
            span: entry.span.clone(),
        });
    }
    obstacles
}

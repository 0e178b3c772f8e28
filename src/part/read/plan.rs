//! Checks the plan view of the formed plate: outline with notches, tabs and round corners, and holes.

use super::entry::{Entries, HoleEntry, NotchEntry, TabEntry};
use super::section::Reading;
use crate::change::{Edit, Way};
use crate::diagnostic::{Diagnostic, Span};
use crate::geometry::{Loop, RoundingError, self_crossing};
use crate::numbers::{hundredth_below, plain};
use crate::part::plan::{Hole, PlanFrame};
use crate::part::words::Edge;
use nalgebra::Point2;

/// Narrowest bridge of metal left beside a hole, in sheet thicknesses. Common practice, no source.
const LEAST_BRIDGE_THICKNESSES: f64 = 1.0;
/// Written decimals may miss an edge by this much.
const SLACK_MM: f64 = 1e-6;
/// Fineness with which curved edges are tested against each other.
const TEST_CHORD_MM: f64 = 0.02;

/// A notch (`out_mm` below zero) or tab (above zero) on an edge.
struct Bite<'a> {
    from: f64,
    to: f64,
    out_mm: f64,
    span: &'a Span,
}

/// Builds the outline; `None` when it cannot be used.
pub fn outline(file: &Entries, frame: PlanFrame, reading: &mut Reading) -> Option<Loop> {
    let plate = file.plate.as_ref()?;
    let corner_radius = plate.corner_radius_mm.as_ref();
    let radius_mm = corner_radius.map_or(0.0, |at| at.value);
    let (points, rounded, span) = if let Some(explicit) = &plate.outline_mm {
        let biting = file
            .notches
            .iter()
            .map(|notch| &notch.span)
            .chain(file.tabs.iter().map(|tab| &tab.span))
            .next();
        if let Some(span) = biting {
            reading.findings.push(
                Diagnostic::error("a notch or tab cannot be added to an explicit `outline_mm`")
                    .id("part-contradiction")
                    .at(span)
                    .also(&explicit.span, "the outline")
                    .help(
                        "draw it into outline_mm, or delete outline_mm and keep notches and tabs",
                    ),
            );
            return None;
        }
        let points = explicit_points(&explicit.value, frame, &explicit.span, reading)?;
        let rounded = vec![true; points.len()];
        (points, rounded, &explicit.span)
    } else {
        let (points, rounded) = bitten_rectangle(file, frame, reading)?;
        (points, rounded, &plate.span)
    };
    if let Some((first, second)) = self_crossing(&points) {
        let corner = |number: usize| {
            points.get(number).map_or(String::new(), |p| {
                format!("({}, {})", plain(p.x), plain(p.y))
            })
        };
        reading.findings.push(
            Diagnostic::error(format!(
                "the outline crosses itself: the edge from {} meets the edge from {}",
                corner(first),
                corner(second)
            )).id("part-outline")
            .at(span)
            .help("let notches end before they meet, and list outline points in order around the plate"),
        );
        return None;
    }
    let radii: Vec<f64> = rounded
        .iter()
        .map(|rounded| if *rounded { radius_mm } else { 0.0 })
        .collect();
    match Loop::rounded_polygon(&points, &radii) {
        Ok(shape) => Some(shape),
        Err(error) => {
            let place = corner_radius.map_or(span, |at| &at.span);
            let finding = Diagnostic::error(format!("the corners cannot be rounded: {error}"))
                .id("part-outline")
                .at(place);
            reading.findings.push(match error {
                RoundingError::DoesNotFit { largest_mm, .. } => {
                    let largest_mm = hundredth_below(largest_mm);
                    finding.way(Way::new(
                        format!("use a corner radius of {} mm", plain(largest_mm)),
                        vec![Edit::new("plate", 0, "corner_radius_mm", largest_mm)],
                    ))
                }
                _ => finding.help("use a smaller corner_radius_mm"),
            });
            None
        }
    }
}

fn explicit_points(
    written: &[[f64; 2]],
    frame: PlanFrame,
    span: &Span,
    reading: &mut Reading,
) -> Option<Vec<Point2<f64>>> {
    let mut points: Vec<Point2<f64>> = written.iter().map(|[x, y]| Point2::new(*x, *y)).collect();
    points.dedup();
    if points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    if points.len() < 3 || points.len() > 500 {
        reading.findings.push(
            Diagnostic::error(format!(
                "an outline needs 3 to 500 different corners, this one has {}",
                points.len()
            )).id("part-outline")
            .at(span)
            .help("list the corners in order around the plate: outline_mm = [[0, 0], [40, 0], [40, 30], [0, 30]]"),
        );
        return None;
    }
    if let Some(outside) = points.iter().find(|p| {
        p.x < frame.from_mm - SLACK_MM
            || p.x > frame.to_mm + SLACK_MM
            || p.y < -SLACK_MM
            || p.y > frame.width_mm + SLACK_MM
    }) {
        reading.findings.push(
            Diagnostic::error(format!(
                "the outline corner ({}, {}) lies outside the strip, x {} to {}, y 0 to {}",
                plain(outside.x),
                plain(outside.y),
                plain(frame.from_mm),
                plain(frame.to_mm),
                plain(frame.width_mm)
            ))
            .id("part-outside")
            .at(span)
            .help("make the first or last flat longer, or width_mm larger, or move the corner"),
        );
        return None;
    }
    if Loop::polygon(&points).area_mm2() < 0.0 {
        points.reverse();
    }
    Some(points)
}

/// Rectangle with notches and tabs, counter-clockwise from the front left corner.
///
/// Also says which vertices are corners of the plate itself and may be rounded.
fn bitten_rectangle(
    file: &Entries,
    frame: PlanFrame,
    reading: &mut Reading,
) -> Option<(Vec<Point2<f64>>, Vec<bool>)> {
    let mut corners: Vec<(Point2<f64>, bool)> = Vec::new();
    let mut good = true;
    for edge in [Edge::Front, Edge::Right, Edge::Back, Edge::Left] {
        let (low, high) = frame.edge_range(edge);
        let backwards = matches!(edge, Edge::Back | Edge::Left);
        let Some(mut bites) = bites_on(edge, &file.notches, &file.tabs, frame, reading) else {
            good = false;
            continue;
        };
        if backwards {
            bites.reverse();
        }
        let begin = if backwards { high } else { low };
        corners.push((frame.on_edge(edge, begin, 0.0), true));
        for bite in bites {
            let (from, to) = if backwards {
                (bite.to, bite.from)
            } else {
                (bite.from, bite.to)
            };
            for (along, out_mm) in [
                (from, 0.0),
                (from, bite.out_mm),
                (to, bite.out_mm),
                (to, 0.0),
            ] {
                corners.push((frame.on_edge(edge, along, out_mm), false));
            }
        }
    }
    good.then(|| tidied(corners).into_iter().unzip())
}

/// Removes doubled points and points on straight edges or on spikes, one by one, until none is left.
fn tidied(mut corners: Vec<(Point2<f64>, bool)>) -> Vec<(Point2<f64>, bool)> {
    let idle = |corners: &[(Point2<f64>, bool)], i: usize| {
        let count = corners.len();
        let at = |k: usize| corners.get(k % count).map(|corner| corner.0);
        let (Some(before), Some(this), Some(next)) = (at(i + count - 1), at(i), at(i + 1)) else {
            return false;
        };
        let (into, out) = (this - before, next - this);
        out.norm() < SLACK_MM || (into.x * out.y - into.y * out.x).abs() < SLACK_MM * SLACK_MM
    };
    while corners.len() > 3
        && let Some(i) = (0..corners.len()).find(|i| idle(&corners, *i))
    {
        corners.remove(i);
    }
    corners
}

fn bites_on<'a>(
    edge: Edge,
    notches: &'a [NotchEntry],
    tabs: &'a [TabEntry],
    frame: PlanFrame,
    reading: &mut Reading,
) -> Option<Vec<Bite<'a>>> {
    let mut bites = Vec::new();
    let mut good = true;
    let notched = notches
        .iter()
        .map(|n| (&n.edge, &n.from_mm, &n.to_mm, &n.depth_mm, -1.0, &n.span));
    let tabbed = tabs
        .iter()
        .map(|t| (&t.edge, &t.from_mm, &t.to_mm, &t.length_mm, 1.0, &t.span));
    for (on, from, to, size, sign, span) in notched.chain(tabbed) {
        let (Some(on), Some(from), Some(to), Some(size)) = (on, from, to, size) else {
            good = false;
            continue;
        };
        if on.value != edge {
            continue;
        }
        let (low, high) = frame.edge_range(edge);
        let word = if sign < 0.0 { "notch" } else { "tab" };
        if from.value >= to.value {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "this {word} runs backwards or has no width: from {} mm to {} mm",
                    plain(from.value),
                    plain(to.value)
                ))
                .id("part-backwards")
                .at(&to.span)
                .help("let from_mm be smaller than to_mm"),
            );
        } else if from.value < low - SLACK_MM || to.value > high + SLACK_MM {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "this {word} reaches from {} mm to {} mm, the edge only from {} mm to {} mm",
                    plain(from.value),
                    plain(to.value),
                    plain(low),
                    plain(high)
                )).id("part-outside")
                .at(span)
                .help("along the front and back edge places count in x, along the left and right edge in y"),
            );
        } else {
            bites.push(Bite {
                from: from.value.max(low),
                to: to.value.min(high),
                out_mm: sign * size.value,
                span,
            });
        }
    }
    bites.sort_by(|a, b| a.from.total_cmp(&b.from));
    for pair in bites.windows(2) {
        if let [first, second] = pair
            && second.from < first.to + SLACK_MM
        {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "two notches or tabs on one edge overlap or touch at {} mm",
                    plain(second.from)
                ))
                .id("part-overlap")
                .at(second.span)
                .also(first.span, "the other one")
                .help("make one of the two, or leave some edge between them"),
            );
        }
    }
    good.then_some(bites)
}

/// Builds all holes that can be used, and says what is wrong with the others.
pub fn holes(
    entries: &[HoleEntry],
    outline: Option<&Loop>,
    thickness_mm: f64,
    reading: &mut Reading,
) -> Vec<Hole> {
    let mut holes: Vec<Hole> = Vec::new();
    for (number, entry) in entries.iter().enumerate() {
        let Some(hole) = hole(number, entry, reading) else {
            continue;
        };
        let points = hole.shape.flattened(TEST_CHORD_MM);
        if let Some(outline) = outline {
            let bridge_mm = points
                .iter()
                .map(|point| outline.distance_to(*point))
                .fold(f64::INFINITY, f64::min);
            if !points.iter().all(|point| outline.contains(*point)) {
                let turned = swapped(number, entry)
                    .filter(|(other, _)| {
                        let points = other.flattened(TEST_CHORD_MM);
                        points.iter().all(|point| outline.contains(*point))
                    })
                    .map(|(_, way)| way);
                reading.findings.push(
                    Diagnostic::error(format!(
                        "{} at ({}, {}) does not lie inside the outline",
                        hole.name,
                        plain(hole.centre.x),
                        plain(hole.centre.y)
                    ))
                    .id("part-outside")
                    .at(&hole.span)
                    .ways(turned)
                    .help(
                        "move it inside, make it smaller, or cut it as a [[notch]] from the edge",
                    ),
                );
                continue;
            }
            thin_bridge(&hole, bridge_mm, "the edge", thickness_mm, reading);
        }
        let mut clashes = false;
        for other in &holes {
            let apart_mm = points
                .iter()
                .map(|point| other.shape.distance_to(*point))
                .fold(f64::INFINITY, f64::min);
            let inside = points.iter().any(|point| other.shape.contains(*point))
                || other
                    .shape
                    .flattened(TEST_CHORD_MM)
                    .iter()
                    .any(|point| hole.shape.contains(*point));
            if inside {
                clashes = true;
                reading.findings.push(
                    Diagnostic::error(format!("{} overlaps {}", hole.name, other.name))
                        .id("part-overlap")
                        .at(&hole.span)
                        .also(&other.span, "the other hole")
                        .help("move one of them, or make one hole of both"),
                );
            } else {
                thin_bridge(&hole, apart_mm, &other.name, thickness_mm, reading);
            }
        }
        if !clashes {
            holes.push(hole);
        }
    }
    holes
}

fn thin_bridge(hole: &Hole, left_mm: f64, beside: &str, thickness_mm: f64, reading: &mut Reading) {
    let least_mm = LEAST_BRIDGE_THICKNESSES * thickness_mm;
    if left_mm < least_mm {
        reading.findings.push(
            Diagnostic::warning(format!(
                "only {left_mm:.2} mm of metal are left between {} and {beside}",
                hole.name
            ))
            .id("part-thin-metal")
            .at(&hole.span)
            .help(format!(
                "leave at least one sheet thickness, {} mm (common practice, no source)",
                plain(least_mm)
            )),
        );
    }
}

/// The hole with x and y swapped.
fn swapped(number: usize, entry: &HoleEntry) -> Option<(Loop, Way)> {
    let (x, y) = (entry.x_mm.as_ref()?.value, entry.y_mm.as_ref()?.value);
    let size = entry.size_mm.as_ref().map(|at| at.value);
    let sides = size.or(entry.diameter_mm.as_ref().map(|at| [at.value; 2]))?;
    let half = sides.map(|side| side / 2.0);
    let shape = Loop::rectangle(
        Point2::new(y - half[0], x - half[1]),
        Point2::new(y + half[0], x + half[1]),
    );
    let edit = |key: &str, value: f64| Edit::new("hole", number, key, value);
    let edits = vec![edit("x_mm", y), edit("y_mm", x)];
    Some((
        shape,
        Way::new("are x and y swapped? then swap them", edits),
    ))
}

fn hole(number: usize, entry: &HoleEntry, reading: &mut Reading) -> Option<Hole> {
    let name = entry.name.as_ref().map_or_else(
        || format!("hole {}", number + 1),
        |at| format!("hole \"{}\"", at.value),
    );
    let shape_span = &entry.span;
    let (x, y) = (entry.x_mm.as_ref()?.value, entry.y_mm.as_ref()?.value);
    let centre = Point2::new(x, y);
    let (shape, diameter_mm) = match (&entry.diameter_mm, &entry.size_mm) {
        (Some(diameter), None) => (
            Loop::circle(centre, diameter.value / 2.0),
            Some(diameter.value),
        ),
        (None, Some(size)) => {
            let [a, b] = size.value.map(|side| side / 2.0);
            (
                Loop::rectangle(Point2::new(x - a, y - b), Point2::new(x + a, y + b)),
                None,
            )
        }
        (Some(_), Some(size)) => {
            reading.findings.push(
                Diagnostic::error("this hole has both `diameter_mm` and `size_mm`")
                    .id("part-said-twice")
                    .at(&size.span)
                    .help("keep diameter_mm for a round hole, size_mm for a rectangular one"),
            );
            return None;
        }
        (None, None) => {
            if reading.lacks(shape_span, &["diameter_mm", "size_mm"]) {
                reading.findings.push(
                    Diagnostic::error("this hole has no size")
                        .id("part-missing")
                        .at(shape_span)
                        .help("add diameter_mm = 3.2, or size_mm = [6.0, 4.0]"),
                );
            }
            return None;
        }
    };
    Some(Hole {
        name,
        shape,
        diameter_mm,
        centre,
        span: shape_span.clone(),
    })
}

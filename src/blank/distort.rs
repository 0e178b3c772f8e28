//! Holes and notch corners that bending would spoil.

use super::flat_map::{FlatMap, MapZone, between};
use crate::diagnostic::{Diagnostic, Findings};
use crate::numbers::{hundredth_above, hundredth_below, plain};
use crate::part::{Hole, Part, ZoneKind};

/// Sheet thicknesses that belong between a hole's edge and a bend, besides the inside radius.
/// Common practice, no source.
const KEPT_THICKNESSES: f64 = 2.0;

/// Distances below this are none; a corner nearer than this to a tangent line is beside the bend.
const TOUCHING_MM: f64 = 1e-6;

/// Plan extent of a step with what holes must keep from it.
struct StepExtent<'a> {
    number: usize,
    first: &'a MapZone,
    second: &'a MapZone,
    /// To be kept free on its left and on its right.
    free_mm: [f64; 2],
}

/// Warns of every hole and outline corner that bending would spoil.
pub(super) fn warn(part: &Part, map: &FlatMap, findings: &mut Findings) {
    let steps = steps(part, map);
    for step in &steps {
        for hole in &part.holes {
            warn_of_hole(hole, step, &steps, part, findings);
        }
        warn_of_corners(step, part, findings);
    }
}

fn steps<'a>(part: &Part, map: &'a FlatMap) -> Vec<StepExtent<'a>> {
    let bend = |step: usize, which: usize| {
        map.zones()
            .iter()
            .find(|zone| zone.kind == ZoneKind::Bend(step, which))
    };
    part.steps
        .iter()
        .enumerate()
        .filter_map(|(number, step)| {
            Some(StepExtent {
                number,
                first: bend(number, 0)?,
                second: bend(number, 1)?,
                free_mm: step
                    .inside_radius_mm
                    .map(|radius_mm| KEPT_THICKNESSES * part.sheet.thickness_mm + radius_mm),
            })
        })
        .collect()
}

impl StepExtent<'_> {
    fn left_mm(&self) -> f64 {
        self.first.x_from_mm
    }

    fn right_mm(&self) -> f64 {
        self.second.x_to_mm
    }
}

/// Lengths upwards, so that a reader who moves by what is printed moves far enough.
fn rounded_up(value_mm: f64) -> String {
    plain(hundredth_above(value_mm))
}

fn warn_of_hole(
    hole: &Hole,
    step: &StepExtent<'_>,
    steps: &[StepExtent<'_>],
    part: &Part,
    findings: &mut Findings,
) {
    let (low, high) = hole.shape.bounds();
    let (low_mm, high_mm) = (low.x, high.x);
    let [from, to] = between(part, step.number);
    let finding =
        if high_mm >= step.left_mm() - TOUCHING_MM && low_mm <= step.right_mm() + TOUCHING_MM {
            let on_wall = low_mm > step.first.x_to_mm + TOUCHING_MM
                && high_mm < step.second.x_from_mm - TOUCHING_MM;
            let place = if on_wall { "wall" } else { "bend" };
            Diagnostic::warning(format!(
                "{} lies on the {place} between \"{from}\" and \"{to}\": it distorts when bent",
                hole.name
            ))
            .id("blank-hole-in-bend")
            .help("or cut it after bending")
        } else {
            let (distance_mm, free_mm) = if high_mm < step.left_mm() {
                (step.left_mm() - high_mm, step.free_mm[0])
            } else {
                (low_mm - step.right_mm(), step.free_mm[1])
            };
            if distance_mm >= free_mm - TOUCHING_MM {
                return;
            }
            Diagnostic::warning(format!(
                "{} lies {distance_mm:.2} mm from the bend between \"{from}\" and \"{to}\": \
             nearer than {} mm a hole may distort",
                hole.name,
                plain(free_mm)
            ))
            .id("blank-hole-near-bend")
            .help("or cut it after bending")
        };
    let mut finding = finding.at(&hole.span);
    let way_out = way_out((low_mm, high_mm), step, steps, part);
    finding.help.insert(0, way_out);
    findings.push(finding);
}

/// How far to move a hole, or how small it must be, to be clear of this step and its neighbours.
fn way_out(
    (low_mm, high_mm): (f64, f64),
    step: &StepExtent<'_>,
    steps: &[StepExtent<'_>],
    part: &Part,
) -> String {
    // Stretch of each flat beside the step on which a hole keeps its distance from both bends.
    let free = |flat: usize| {
        let level = part.flats.get(flat)?.level;
        let before = flat.checked_sub(1).and_then(|number| steps.get(number));
        let from_mm = before.map_or(level.from_mm, |step| step.right_mm() + step.free_mm[1]);
        let to_mm = steps
            .get(flat)
            .map_or(level.to_mm, |step| step.left_mm() - step.free_mm[0]);
        Some((from_mm, to_mm))
    };
    let length_mm = high_mm - low_mm;
    let fits = |(from_mm, to_mm): &(f64, f64)| to_mm - from_mm >= length_mm - TOUCHING_MM;
    let left = free(step.number);
    let right = free(step.number + 1);
    let rule = format!(
        "{} sheet thicknesses and the inside radius from the bend; common practice, no source",
        plain(KEPT_THICKNESSES)
    );
    let ways: Vec<String> = [
        left.filter(fits)
            .map(|(_, to_mm)| (high_mm - to_mm, "left")),
        right
            .filter(fits)
            .map(|(from_mm, _)| (from_mm - low_mm, "right")),
    ]
    .into_iter()
    .flatten()
    .map(|(by_mm, side)| format!("{} mm to the {side}", rounded_up(by_mm)))
    .collect();
    if ways.is_empty() {
        let longest_mm = [left, right]
            .into_iter()
            .flatten()
            .map(|(from_mm, to_mm)| to_mm - from_mm)
            .fold(0.0, f64::max);
        if longest_mm > TOUCHING_MM {
            format!(
                "make it at most {:.2} mm long along the strip and move it off the bend ({rule})",
                hundredth_below(longest_mm)
            )
        } else {
            format!("the flats beside it are too short for any hole ({rule})")
        }
    } else {
        format!("move it at least {} ({rule})", ways.join(" or "))
    }
}

/// Warns once for each step whose bends hold corners of the outline.
fn warn_of_corners(step: &StepExtent<'_>, part: &Part, findings: &mut Findings) {
    let mut places_mm: Vec<f64> = part
        .outline
        .edges()
        .iter()
        .map(|edge| edge.to().x)
        .filter(|x| {
            [step.first, step.second]
                .iter()
                .any(|bend| *x > bend.x_from_mm + TOUCHING_MM && *x < bend.x_to_mm - TOUCHING_MM)
        })
        .collect();
    places_mm.sort_by(f64::total_cmp);
    places_mm.dedup_by(|a, b| (*a - *b).abs() < TOUCHING_MM);
    if places_mm.is_empty() {
        return;
    }
    let [from, to] = between(part, step.number);
    let listed: Vec<String> = places_mm.iter().map(|x| plain(*x)).collect();
    let finding = Diagnostic::warning(format!(
        "the outline has a corner inside the bend between \"{from}\" and \"{to}\", at x = {} mm: \
         it distorts when bent and may tear there",
        listed.join(", ")
    ))
    .id("blank-corner-in-bend")
    .help(format!(
        "let notches, tabs and roundings end before x = {:.2} mm or after x = {:.2} mm",
        step.left_mm(),
        step.right_mm()
    ));
    findings.push(match part.steps.get(step.number) {
        Some(written) => finding.at(&written.span),
        None => finding,
    });
}

#[cfg(test)]
mod tests {
    use super::super::blank;
    use super::super::sample::{SampleStep, Stair};
    use super::*;

    fn notes(stair: &Stair) -> Vec<Diagnostic> {
        blank(&stair.part()).notes
    }

    /// A round hole of 2 mm, in the middle across.
    fn hole(x_mm: f64) -> String {
        format!("[[hole]]\nname = \"a\"\nx_mm = {x_mm}\ny_mm = 5.0\ndiameter_mm = 2.0\n")
    }

    /// Two flats of 10 mm, R = t = 1: a hole keeps 3 mm.
    fn with_hole(x_mm: f64) -> Stair {
        Stair::two_flats(4.0, 60.0).with(&hole(x_mm))
    }

    #[test]
    fn a_hole_on_a_bend_and_one_that_touches_it_distort() {
        for x in [10.5, 9.0, 11.9] {
            let notes = notes(&with_hole(x));
            let [note] = notes.as_slice() else {
                panic!("{x}: {notes:#?}")
            };
            assert!(
                note.message.contains("distorts when bent"),
                "{}",
                note.message
            );
            assert!(note.message.contains("bend between"), "{}", note.message);
            assert!(note.span.is_some());
        }
    }

    #[test]
    fn a_hole_near_a_bend_is_told_how_far_to_move_and_then_is_well() {
        // Edge at 8.2, bend at 10: 1.8 mm of 3 mm.
        let found = notes(&with_hole(7.2));
        let [note] = found.as_slice() else {
            panic!("{found:#?}")
        };
        assert!(
            note.message.contains("1.80 mm from the bend"),
            "{}",
            note.message
        );
        let moved: f64 = note.help[0]
            .split_once("at least ")
            .and_then(|(_, rest)| rest.split_once(" mm to the left"))
            .map(|(number, _)| number.parse().unwrap())
            .unwrap();
        assert!((1.2..1.22).contains(&moved), "{moved}");
        assert_eq!(notes(&with_hole(7.2 - moved)), []);
        assert_eq!(notes(&with_hole(7.2 - moved + 0.02)).len(), 1);
    }

    #[test]
    fn the_way_to_the_right_is_just_as_good() {
        let found = notes(&with_hole(10.5));
        let moved: f64 = found[0].help[0]
            .split_once(" or ")
            .and_then(|(_, rest)| rest.split_once(" mm to the right"))
            .map(|(number, _)| number.parse().unwrap())
            .unwrap();
        assert_eq!(notes(&with_hole(10.5 + moved)), []);
        assert_eq!(notes(&with_hole(10.5 + moved - 0.02)).len(), 1);
    }

    #[test]
    fn a_hole_on_a_long_wall_is_named_so_and_a_vertical_wall_does_no_harm() {
        let long = Stair::two_flats(14.0, 45.0);
        let middle = f64::midpoint(10.0, long.plan_mm()[1].0);
        let found = notes(&long.with(&hole(middle)));
        assert!(found[0].message.contains("lies on the wall"), "{found:#?}");
        // Rise 5, S = 3: vertical wall at x = 11.5.
        for x in [11.5, 11.5 - 1.0, 11.5 + 1.0] {
            let stair = Stair::two_flats(5.0, 90.0).with(&hole(x));
            assert_eq!(notes(&stair).len(), 1, "{x}");
            assert!(blank(&stair.part()).value.area_mm2 > 0.0);
        }
    }

    #[test]
    fn between_two_steps_too_close_the_hole_must_shrink() {
        // Middle flat of 7 mm, 3 mm to be kept at either end: 1 mm is left, the hole has 2 mm.
        let mut stair = Stair::two_flats(4.0, 60.0);
        stair.flats_mm = vec![6.5, 7.0, 6.5];
        let back = SampleStep {
            up: false,
            ..stair.steps[0]
        };
        stair.steps.push(back);
        let middle = stair.plan_mm()[1].0 + 3.5;
        // The outer flats leave 3.5 mm each, so moving there is what it offers.
        let found = notes(&stair.clone().with(&hole(middle)));
        assert_eq!(found.len(), 2, "{found:#?}");
        assert!(found[0].help[0].contains("to the left"), "{found:#?}");
        assert!(!found[0].help[0].contains("to the right"), "{found:#?}");
        // With short outer flats there is no place for it at all.
        stair.flats_mm = vec![4.0, 7.0, 4.0];
        let middle = stair.plan_mm()[1].0 + 3.5;
        let found = notes(&stair.with(&hole(middle)));
        assert_eq!(found.len(), 2, "{found:#?}");
        assert!(
            found[0].help[0].contains("at most 1.00 mm long"),
            "{found:#?}"
        );
    }

    #[test]
    fn a_notch_that_ends_inside_a_bend_is_reported_once() {
        let notch = |to_mm: f64| {
            Stair::two_flats(4.0, 60.0).with(&format!(
                "[[notch]]\nedge = \"front\"\nfrom_mm = 6.0\nto_mm = {to_mm}\ndepth_mm = 2.0\n"
            ))
        };
        let found = notes(&notch(10.5));
        let [note] = found.as_slice() else {
            panic!("{found:#?}")
        };
        assert!(note.message.contains("x = 10.5 mm"), "{}", note.message);
        // Up to the tangent line, or over the whole step onto the next flat: nothing to say.
        assert_eq!(notes(&notch(10.0)), []);
        assert_eq!(notes(&notch(18.0)), []);
    }
}

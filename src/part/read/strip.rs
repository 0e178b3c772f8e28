//! Checks flats and steps: order, run or wall angle, and what to change when a step cannot be bent.

use super::entry::{FlatEntry, SheetEntry};
use super::names::distinct_names;
use super::section::{At, Reading};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::plain;
use crate::part::profile::Level;
use crate::part::step::{StepError, StepShape};
use crate::part::strip::{Flat, Step};
use crate::quantity::{Angle, RADIUS_MM, THICKNESS_MM};
use crate::stock::Metal;

/// Flats that differ by less are one flat.
const LEAST_RISE_MM: f64 = 0.05;
/// Shortest flat that is worth a name.
const LEAST_FLAT_MM: f64 = 0.1;
/// Two ways of saying where a flat begins may differ by a rounded decimal.
const SAME_PLACE_MM: f64 = 0.005;

/// Checks all flats; `None` when one of them cannot be used (the findings say why).
///
/// The flats come without steps when only a step cannot be bent: where the plate lies is known then.
pub fn check(
    flats: &[FlatEntry],
    sheet: Option<&SheetEntry>,
    thickness_mm: Option<f64>,
    metal: Option<&Metal>,
    reading: &mut Reading,
) -> Option<(Vec<Flat>, Option<Vec<Step>>)> {
    names_differ(flats, reading);
    let before = reading.findings.len();
    check_places(flats, reading);
    if reading.findings.len() > before {
        return None;
    }
    let thickness_mm = thickness_mm?;
    let default_radius_mm = sheet
        .and_then(|sheet| sheet.inside_radius_mm.as_ref())
        .map_or(thickness_mm, |at| at.value);
    let mut built: Vec<Flat> = Vec::new();
    let mut steps = Vec::new();
    let mut good = true;
    for entry in flats {
        let (name, to, underside) = (
            entry.name.as_ref()?,
            entry.to_mm.as_ref()?,
            entry.underside_mm.as_ref()?,
        );
        let from_mm = match built.last() {
            None => entry.from_mm.as_ref()?.value,
            Some(last) => {
                if let Some((step, from_mm)) =
                    step(entry, last, default_radius_mm, thickness_mm, metal, reading)
                {
                    steps.push(step);
                    from_mm
                } else {
                    good = false;
                    // Go on as if the step were there, so that later steps are looked at too.
                    entry
                        .from_mm
                        .as_ref()
                        .map_or(last.level.to_mm, |at| at.value)
                }
            }
        };
        if good && to.value - from_mm < LEAST_FLAT_MM {
            good = false;
            reading.findings.push(
                Diagnostic::error(format!(
                    "the flat \"{}\" begins at x = {} mm and would end at {} mm",
                    name.value,
                    plain(from_mm),
                    plain(to.value)
                ))
                .id("part-backwards")
                .at(&to.span)
                .help(format!(
                    "let it end at {} mm or more, or make the step before it shorter",
                    plain(from_mm + LEAST_FLAT_MM)
                )),
            );
        }
        built.push(Flat {
            name: name.value.clone(),
            level: Level {
                from_mm,
                to_mm: to.value,
                underside_mm: underside.value.value,
            },
            underside_mm: underside.value,
            span: entry.span.clone(),
        });
    }
    Some((built, good.then_some(steps)))
}

fn names_differ(flats: &[FlatEntry], reading: &mut Reading) {
    distinct_names(
        "flat",
        flats.iter().filter_map(|flat| flat.name.as_ref()),
        reading,
    );
}

/// What can be said of the places alone, before any bend is solved.
fn check_places(flats: &[FlatEntry], reading: &mut Reading) {
    let mut last: Option<&FlatEntry> = None;
    for flat in flats {
        let angle = flat
            .step
            .as_ref()
            .and_then(|step| step.wall_angle_deg.as_ref());
        if last.is_none() {
            if flat.from_mm.is_none() && reading.lacks(&flat.span, &["from_mm"]) {
                reading.findings.push(
                    Diagnostic::error("the first flat has no `from_mm`")
                        .id("part-missing")
                        .at(&flat.span)
                        .help("say where the plate begins along x: from_mm = 0.0"),
                );
            }
            if let Some(step) = &flat.step {
                reading.findings.push(
                    Diagnostic::error("the first flat has a `step`, but no flat lies before it")
                        .id("part-misplaced-step")
                        .at(&step.span)
                        .help("move the step to the flat it leads to"),
                );
            }
        } else if flat.from_mm.is_none()
            && angle.is_none()
            && reading.lacks(&flat.span, &["from_mm"])
            && flat
                .step
                .as_ref()
                .is_none_or(|step| reading.lacks(&step.span, &["wall_angle_deg"]))
        {
            reading.findings.push(
                Diagnostic::error("nothing says where this flat begins")
                    .id("part-missing")
                    .at(&flat.span)
                    .help("give from_mm, and coldstep finds the wall angle")
                    .help("or give step = { wall_angle_deg = 60.0 }, and coldstep finds from_mm"),
            );
        }
        if let (Some(from), Some(to)) = (&flat.from_mm, &flat.to_mm)
            && to.value - from.value < LEAST_FLAT_MM
        {
            let words = if to.value < from.value {
                "this flat runs backwards"
            } else {
                "this flat has no length"
            };
            reading.findings.push(
                Diagnostic::error(format!(
                    "{words}: from {} mm to {} mm",
                    plain(from.value),
                    plain(to.value)
                ))
                .id("part-backwards")
                .at(&to.span)
                .help(if to.value < from.value {
                    "swap from_mm and to_mm: x grows from the first flat to the last".to_owned()
                } else {
                    format!("make it at least {} mm long", plain(LEAST_FLAT_MM))
                }),
            );
        }
        if let Some(before) = last {
            check_pair(before, flat, reading);
        }
        last = Some(flat);
    }
}

fn check_pair(before: &FlatEntry, flat: &FlatEntry, reading: &mut Reading) {
    if let (Some(end), Some(begin)) = (&before.to_mm, &flat.from_mm)
        && begin.value <= end.value
    {
        reading.findings.push(
            Diagnostic::error(format!(
                "this flat begins at {} mm, but the flat before it ends only at {} mm",
                plain(begin.value),
                plain(end.value)
            ))
            .id("part-flats-cross")
            .at(&begin.span)
            .also(&end.span, "ends here")
            .help("list the flats from left to right and leave a run for the bends between them"),
        );
    }
    if let (Some(low), Some(high)) = (&before.underside_mm, &flat.underside_mm)
        && (high.value.value - low.value.value).abs() < LEAST_RISE_MM
    {
        reading.findings.push(
            Diagnostic::error(format!(
                "this flat lies at the same height as the one before it, {} mm",
                plain(high.value.value)
            ))
            .id("part-flats-level")
            .at(&high.span)
            .also(&low.span, "the one before")
            .help(format!(
                "make one flat of the two, or let their undersides differ by at least {} mm",
                plain(LEAST_RISE_MM)
            )),
        );
    }
}

fn step(
    entry: &FlatEntry,
    last: &Flat,
    default_radius_mm: f64,
    thickness_mm: f64,
    metal: Option<&Metal>,
    reading: &mut Reading,
) -> Option<(Step, f64)> {
    let underside = entry.underside_mm.as_ref()?;
    let rise_mm = underside.value.value - last.level.underside_mm;
    let written = entry.step.as_ref();
    let radii = written
        .and_then(|step| step.inside_radius_mm.as_ref())
        .map_or([default_radius_mm; 2], |at| at.value.0);
    let radii_sum_mm = radii.iter().sum::<f64>() + thickness_mm;
    let angle = written.and_then(|step| step.wall_angle_deg.as_ref());
    let span = written.map_or(&entry.span, |step| &step.span).clone();
    let solved = match (angle, &entry.from_mm) {
        (Some(angle), _) => {
            StepShape::from_wall_angle(rise_mm.abs(), Angle::deg(angle.value), radii_sum_mm)
        }
        (None, Some(from)) => {
            StepShape::from_run(rise_mm.abs(), from.value - last.level.to_mm, radii_sum_mm)
        }
        (None, None) => return None,
    };
    let shape = match solved {
        Ok(shape) => shape,
        Err(error) => {
            let place = angle
                .map(|at| &at.span)
                .or(entry.from_mm.as_ref().map(|at| &at.span))
                .unwrap_or(&span);
            reading.findings.push(cannot_bend(
                error,
                (&last.name, entry.name.as_ref()),
                radii,
                thickness_mm,
                place,
            ));
            return None;
        }
    };
    let from_mm = last.level.to_mm + shape.run_mm;
    if let (Some(angle), Some(from)) = (angle, &entry.from_mm)
        && (from.value - from_mm).abs() > SAME_PLACE_MM
    {
        reading.findings.push(
            Diagnostic::error(format!(
                "a wall of {} degrees lets this flat begin at {:.3} mm, but from_mm says {} mm",
                plain(angle.value),
                from_mm,
                plain(from.value)
            ))
            .id("part-contradiction")
            .at(&from.span)
            .also(&angle.span, "the wall angle")
            .help("delete from_mm to keep the angle, or delete wall_angle_deg to keep the place"),
        );
        return None;
    }
    warn_of_cracks(radii, thickness_mm, metal, &span, reading);
    Some((
        Step {
            shape,
            up: rise_mm > 0.0,
            inside_radius_mm: radii,
            keep_radius: written
                .and_then(|step| step.keep_radius.as_ref())
                .is_some_and(|at| at.value),
            run_was_solved: angle.is_some(),
            span,
        },
        from_mm,
    ))
}

fn warn_of_cracks(
    radii: [f64; 2],
    thickness_mm: f64,
    metal: Option<&Metal>,
    span: &Span,
    reading: &mut Reading,
) {
    let Some(metal) = metal else { return };
    let least_mm = metal.min_radius_ratio * thickness_mm;
    let tightest_mm = radii.iter().copied().fold(f64::INFINITY, f64::min);
    if tightest_mm + SAME_PLACE_MM < least_mm {
        reading.findings.push(
            Diagnostic::warning(format!(
                "an inside radius of {} mm may crack {}: at least {} mm is advised",
                plain(tightest_mm),
                metal.name,
                plain(least_mm)
            ))
            .id("part-radius-may-crack")
            .at(span)
            .help("use a larger radius, a softer temper, or anneal the sheet first")
            .help("bend across the rolling direction, not along it"),
        );
    }
}

/// The nearest step that can be bent, in numbers.
fn cannot_bend(
    error: StepError,
    between: (&str, Option<&At<String>>),
    radii: [f64; 2],
    thickness_mm: f64,
    place: &Span,
) -> Diagnostic {
    let (from, to) = (
        between.0,
        between.1.map_or("the next", |at| at.value.as_str()),
    );
    let finding = Diagnostic::error(format!(
        "the step from \"{from}\" to \"{to}\" cannot be bent: {error}"
    ))
    .id("part-step-unbendable")
    .at(place);
    // Ways out are rounded to the safe side, so that a reader who copies one succeeds.
    let up = |value: f64| plain((value * 1000.0 - 1e-6).ceil() / 1000.0);
    let down = |value: f64| plain((value * 1000.0 + 1e-6).floor() / 1000.0);
    let (largest_sum_mm, finding) = match error {
        StepError::RunTooShort {
            least_run_mm,
            largest_sum_mm,
            highest_rise_mm,
            ..
        } => {
            let finding = finding.help(format!(
                "leave a run of at least {} mm between the two flats",
                up(least_run_mm)
            ));
            let finding = if highest_rise_mm >= LEAST_RISE_MM {
                finding.help(format!(
                    "or rise at most {} mm over this run",
                    down(highest_rise_mm)
                ))
            } else {
                finding
            };
            (largest_sum_mm, finding)
        }
        StepError::RiseTooLow {
            steepest,
            largest_sum_mm,
            least_rise_mm,
            ..
        } => (
            largest_sum_mm,
            finding
                .help(format!(
                    "use a wall of at most {} degrees",
                    plain((steepest.degrees() * 100.0).floor() / 100.0)
                ))
                .help(format!("or rise at least {} mm", up(least_rise_mm))),
        ),
    };
    let radius_mm = (largest_sum_mm - thickness_mm) / 2.0;
    let finding = if radius_mm >= RADIUS_MM.least {
        finding.help(format!(
            "or an inside radius of at most {} mm on both bends",
            down(radius_mm)
        ))
    } else {
        finding.help("no inside radius is small enough for this sheet thickness")
    };
    let thinner_mm = largest_sum_mm - radii.iter().sum::<f64>();
    if thinner_mm >= THICKNESS_MM.least {
        finding.help(format!("or a sheet of at most {} mm", down(thinner_mm)))
    } else {
        finding.help("no sheet is thin enough for these radii")
    }
}

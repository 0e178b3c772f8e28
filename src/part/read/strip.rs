//! Checks flats and steps: order, run or wall angle, and what to change when a step cannot be bent.

use super::entry::{FlatEntry, SheetEntry};
use super::names::distinct_names;
use super::section::Reading;
use crate::change::{Edit, Way};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::{hundredth_above, hundredth_below, nearest_hundredth, plain};
use crate::part::profile::Level;
use crate::part::step::{StepError, StepShape};
use crate::part::strip::{Flat, Step};
use crate::part::usual::SOLD_MM;
use crate::quantity::{Angle, RADIUS_MM};
use crate::stock::Metal;

/// Flats that differ by less are one flat.
const LEAST_RISE_MM: f64 = 0.05;
/// Shortest flat that is worth a name.
const LEAST_FLAT_MM: f64 = 0.1;
/// A flat that can be gripped beside a bend, for advice. Own choice.
const SHORT_FLAT_MM: f64 = 8.0;
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
    for (number, entry) in flats.iter().enumerate() {
        let (name, to, underside) = (
            entry.name.as_ref()?,
            entry.to_mm.as_ref()?,
            entry.underside_mm.as_ref()?,
        );
        let from_mm = match built.last() {
            None => entry.from_mm.as_ref()?.value,
            Some(last) => {
                let to_it = (number, entry);
                if let Some((step, from_mm)) =
                    step(to_it, last, default_radius_mm, thickness_mm, metal, reading)
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
                .way(Way::new(
                    format!(
                        "let it end at {} mm",
                        plain(hundredth_above(from_mm + SHORT_FLAT_MM))
                    ),
                    vec![Edit::new(
                        "flat",
                        number,
                        "to_mm",
                        hundredth_above(from_mm + SHORT_FLAT_MM),
                    )],
                ))
                .help("or make the step before it shorter"),
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
    for (number, flat) in flats.iter().enumerate() {
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
                .way(if to.value < from.value {
                    Way::new(
                        "swap from_mm and to_mm: x grows from the first flat to the last",
                        vec![
                            Edit::new("flat", number, "from_mm", to.value),
                            Edit::new("flat", number, "to_mm", from.value),
                        ],
                    )
                } else {
                    let end_mm = hundredth_above(from.value + SHORT_FLAT_MM);
                    Way::new(
                        format!("let it end at {} mm", plain(end_mm)),
                        vec![Edit::new("flat", number, "to_mm", end_mm)],
                    )
                })
                .help(format!(
                    "it must be at least {} mm long",
                    plain(LEAST_FLAT_MM)
                )),
            );
        }
        if let Some(before) = last {
            check_pair(before, (number, flat), reading);
        }
        last = Some(flat);
    }
}

fn check_pair(before: &FlatEntry, (number, flat): (usize, &FlatEntry), reading: &mut Reading) {
    if let (Some(end), Some(begin)) = (&before.to_mm, &flat.from_mm)
        && begin.value <= end.value
    {
        let heights = before.underside_mm.as_ref().zip(flat.underside_mm.as_ref());
        let rise_mm = heights.map_or(SHORT_FLAT_MM, |(low, high)| {
            (high.value.value - low.value.value).abs()
        });
        // A wall of 45 degrees and its bends, or so.
        let ways = [2.0, 4.0].into_iter().flat_map(|runs| {
            let run_mm = runs * rise_mm + 1.0;
            let (later_mm, earlier_mm) = (
                hundredth_above(end.value + run_mm),
                hundredth_below(begin.value - run_mm),
            );
            [
                Way::new(
                    format!("let it begin at {} mm", plain(later_mm)),
                    vec![Edit::new("flat", number, "from_mm", later_mm)],
                ),
                Way::new(
                    format!("let the flat before it end at {} mm", plain(earlier_mm)),
                    vec![Edit::new("flat", number - 1, "to_mm", earlier_mm)],
                ),
            ]
        });
        let finding = Diagnostic::error(format!(
            "this flat begins at {} mm, but the flat before it ends only at {} mm",
            plain(begin.value),
            plain(end.value)
        ))
        .id("part-flats-cross")
        .at(&begin.span)
        .also(&end.span, "ends here")
        .help("list the flats from left to right and leave a run for the bends between them");
        reading.findings.push(finding.ways(ways));
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
    (number, entry): (usize, &FlatEntry),
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
            let unbendable = Unbendable {
                error,
                number,
                last,
                entry,
                radii,
                thickness_mm,
            };
            reading.findings.push(unbendable.finding(place));
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
            .way(Way::new(
                "delete from_mm to keep the angle",
                vec![Edit::without("flat", number, "from_mm")],
            ))
            .way(Way::new(
                "or delete wall_angle_deg to keep the place",
                vec![Edit::without("flat", number, "step.wall_angle_deg")],
            )),
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

/// A step that cannot be bent, and what is around it.
struct Unbendable<'a> {
    error: StepError,
    /// Number of the flat that it leads to.
    number: usize,
    last: &'a Flat,
    entry: &'a FlatEntry,
    radii: [f64; 2],
    thickness_mm: f64,
}

/// More run or less rise than the least that does, so that a wall is left to press. Own choice.
const MORE: [f64; 4] = [1.0, 1.15, 1.4, 1.8];

impl Unbendable<'_> {
    fn edit(&self, key: &str, value: f64) -> Edit {
        Edit::new("flat", self.number, key, value)
    }

    /// The nearest step that can be bent, in numbers.
    fn finding(&self, place: &Span) -> Diagnostic {
        let to = (self.entry.name.as_ref()).map_or("the next", |at| at.value.as_str());
        let finding = Diagnostic::error(format!(
            "the step from \"{}\" to \"{to}\" cannot be bent: {}",
            self.last.name, self.error
        ))
        .id("part-step-unbendable")
        .at(place);
        let (ways, largest_sum_mm) = match self.error {
            StepError::RunTooShort {
                run_mm,
                least_run_mm,
                largest_sum_mm,
                highest_rise_mm,
            } => {
                let runs = self.runs(run_mm, least_run_mm);
                ([runs, self.rises(highest_rise_mm)], largest_sum_mm)
            }
            StepError::RiseTooLow {
                steepest,
                largest_sum_mm,
                least_rise_mm,
                ..
            } => {
                let walls = self.walls(steepest);
                ([walls, self.rises(least_rise_mm)], largest_sum_mm)
            }
        };
        let finding = ways.into_iter().fold(finding, Diagnostic::ways);
        let finding = self.radii(largest_sum_mm, finding);
        self.sheets(largest_sum_mm, finding)
    }

    /// More run: the next flat begins later, or this one ends earlier.
    fn runs(&self, run_mm: f64, least_run_mm: f64) -> Vec<Way> {
        let mut ways = Vec::new();
        for more in MORE {
            let wanted_mm = more * least_run_mm;
            let (end_mm, begin_mm) = (self.last.level.to_mm, self.last.level.to_mm + run_mm);
            let words =
                |run_mm: f64| format!("leave a run of {} mm between the two flats", plain(run_mm));
            let later_mm = hundredth_above(end_mm + wanted_mm);
            ways.push(Way::new(
                words(later_mm - end_mm),
                vec![self.edit("from_mm", later_mm)],
            ));
            let earlier_mm = hundredth_below(begin_mm - wanted_mm);
            ways.push(Way::new(
                words(begin_mm - earlier_mm),
                vec![Edit::new("flat", self.number - 1, "to_mm", earlier_mm)],
            ));
            let missing_mm = wanted_mm - run_mm;
            let (half_later_mm, half_earlier_mm) = (
                hundredth_above(begin_mm + missing_mm / 2.0),
                hundredth_below(end_mm - missing_mm / 2.0),
            );
            ways.push(Way::new(
                words(half_later_mm - half_earlier_mm),
                vec![
                    Edit::new("flat", self.number - 1, "to_mm", half_earlier_mm),
                    self.edit("from_mm", half_later_mm),
                ],
            ));
        }
        ways
    }

    /// Another rise: this flat or the one before lies elsewhere.
    fn rises(&self, limit_mm: f64) -> Vec<Way> {
        let Some(next) = &self.entry.underside_mm else {
            return Vec::new();
        };
        let (before_mm, after_mm) = (self.last.level.underside_mm, next.value.value);
        let is_too_high = (after_mm - before_mm).abs() > limit_mm;
        let rise_mm = if is_too_high {
            hundredth_below(limit_mm)
        } else {
            hundredth_above(limit_mm)
        };
        if rise_mm < LEAST_RISE_MM {
            return Vec::new();
        }
        let sign = if after_mm > before_mm { 1.0 } else { -1.0 };
        let words = format!("let the step rise {} mm", plain(rise_mm));
        [
            (self.number, before_mm + sign * rise_mm),
            (self.number - 1, after_mm - sign * rise_mm),
        ]
        .into_iter()
        .filter(|(_, height_mm)| *height_mm >= 0.0)
        .map(|(flat, height_mm)| {
            let height = Edit::new("flat", flat, "underside_mm", nearest_hundredth(height_mm));
            Way::new(words.clone(), vec![height])
        })
        .collect()
    }

    /// Less steep walls.
    fn walls(&self, steepest: Angle) -> Vec<Way> {
        MORE.iter()
            .map(|more| libm::floor(steepest.degrees() / more))
            .filter(|degrees| *degrees >= 1.0)
            .map(|degrees| {
                let angle = self.edit("step.wall_angle_deg", degrees);
                let is_there = self.entry.from_mm.is_some();
                let from = is_there.then(|| Edit::without("flat", self.number, "from_mm"));
                Way::new(
                    format!("use a wall of {} degrees", plain(degrees)),
                    std::iter::once(angle).chain(from).collect(),
                )
            })
            .collect()
    }

    /// Tighter bends.
    fn radii(&self, largest_sum_mm: f64, finding: Diagnostic) -> Diagnostic {
        let largest_mm = (largest_sum_mm - self.thickness_mm) / 2.0;
        if largest_mm < RADIUS_MM.least {
            return finding.help("no inside radius is small enough for this sheet thickness");
        }
        let radii_mm = MORE.map(|more| hundredth_below(largest_mm / more));
        let radii_mm = radii_mm
            .into_iter()
            .filter(|radius_mm| *radius_mm >= RADIUS_MM.least);
        finding.ways(radii_mm.map(|radius_mm| {
            Way::new(
                format!(
                    "use an inside radius of {} mm on both bends",
                    plain(radius_mm)
                ),
                vec![self.edit("step.inside_radius_mm", radius_mm)],
            )
        }))
    }

    /// Thinner sheet that is sold.
    fn sheets(&self, largest_sum_mm: f64, finding: Diagnostic) -> Diagnostic {
        let thinner_mm = largest_sum_mm - self.radii.iter().sum::<f64>();
        let fits = |sold_mm: &&f64| **sold_mm <= thinner_mm;
        let Some(sold_mm) = SOLD_MM.iter().rev().find(fits) else {
            return finding.help("no sheet is thin enough for these radii");
        };
        finding.way(Way::new(
            format!("take sheet of {} mm", plain(*sold_mm)),
            vec![Edit::new("sheet", 0, "thickness_mm", *sold_mm)],
        ))
    }
}

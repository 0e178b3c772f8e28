//! From entries to a [`Part`]: everything that only makes sense together, all findings at once.

use super::assumed::Assumed;
use super::entry::{Entries, FlatEntry, SheetEntry};
use super::pads_at_hand::PadsAtHand;
use super::section::Reading;
use super::{board, equipment, heat, heat_pipe, pad, plan, sheet, strip};
use crate::change::{Edit, Way};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::{hundredth_above, nearest_hundredth, plain};
use crate::part::plan::PlanFrame;
use crate::part::{
    Component, DefaultUsed, Design, Flat, FormedProfile, Part, Sheet, Step, Thermal, Treatment,
};
use crate::stock::thickness_tolerance_mm;

/// A pad under a flat is about so thick of what it was, for advice: in the middle of what most take.
const PRESSED_SHARE: f64 = 0.75;

/// The part, as far as it can be used; what is wrong with it is in the [`Reading`].
pub fn part(file: &Entries, reading: &mut Reading) -> Option<Part> {
    let mut defaults = Vec::new();
    let thickness = file
        .sheet
        .as_ref()
        .and_then(|sheet| sheet.thickness_mm.as_ref())
        .map(|at| at.value);
    let width_mm = file
        .plate
        .as_ref()
        .and_then(|plate| plate.width_mm.as_ref())
        .map(|at| at.value);
    let metal = sheet::metal(file, reading, &mut defaults);
    let k_rule = sheet::k_rule(file.sheet.as_ref(), reading, &mut defaults);
    let strip = strip::check(
        &file.flats,
        file.sheet.as_ref(),
        thickness.map(|thickness| thickness.value),
        metal.as_ref(),
        reading,
    );
    let mut assumed = Assumed::default();
    let pads = pad::pads(&file.pads, reading, (&mut defaults, &mut assumed));
    let components = board::components(
        &file.components,
        PadsAtHand {
            entries: &file.pads,
            pads: &pads,
        },
        file.old_plate.as_ref(),
        reading,
        (&mut defaults, &mut assumed),
    );
    let (air_c, board_c, loss_w_m2k) = heat::surroundings(file.heat.as_ref(), &mut assumed);
    let pipes = heat_pipe::pipes(&file.heat_pipes, reading, &mut assumed);
    let old_plate = heat::old_plate(file.old_plate.as_ref(), reading, &mut assumed);
    let obstacles = board::obstacles(&file.obstacles, reading, &mut defaults);
    let printer = equipment::printer(file.printer.as_ref(), &mut defaults);
    let vise = equipment::vise(file.vise.as_ref(), reading, &mut defaults);

    as_the_board_asks(file, &components, reading);
    let (thickness, width_mm, (flats, steps)) = (thickness?, width_mm?, strip?);
    if steps.is_none() {
        below_parts((&flats, width_mm), &components, &file.flats, reading);
    }
    let thickness_mm = thickness.value;
    let dies = equipment::dies(file.dies.as_ref(), thickness_mm, &mut defaults);
    let frame = PlanFrame {
        from_mm: flats.first()?.level.from_mm,
        to_mm: flats.last()?.level.to_mm,
        width_mm,
    };
    let outline = plan::outline(file, frame, reading);
    let holes = plan::holes(&file.holes, outline.as_ref(), thickness_mm, reading);
    around_holes(file, &components, reading);
    let extensions = board::extensions(
        &file.extensions,
        &flats,
        width_mm,
        reading,
        (&mut defaults, &mut assumed),
    );
    if let Some(outline) = &outline {
        heat_pipe::over_plate(&pipes, outline, reading);
    }
    let (outline, steps) = (outline?, steps?);

    // Tabs at the ends lengthen the end flats; an outline that stops short shortens the plate.
    let (low, high) = outline.bounds();
    let mut levels: Vec<_> = flats.iter().map(|flat| flat.level).collect();
    if let Some(first) = levels.first_mut() {
        first.from_mm = first.from_mm.min(low.x);
    }
    if let Some(last) = levels.last_mut() {
        last.to_mm = last.to_mm.max(high.x);
    }
    let shapes: Vec<_> = steps
        .iter()
        .map(|step| (step.shape, step.inside_radius_mm))
        .collect();
    let profile = match FormedProfile::build(&levels, &shapes, thickness_mm) {
        Ok(profile) => profile,
        Err(error) => {
            reading.findings.push(
                Diagnostic::error(error.to_string())
                    .id("part-step-unbendable")
                    .help("use a larger inside radius"),
            );
            return None;
        }
    };
    default_radius(file.sheet.as_ref(), &steps, thickness_mm, &mut defaults);
    let metal = metal?;
    let thickness_plus_minus_mm = thickness.plus_minus.or_else(|| {
        let band = thickness_tolerance_mm(metal.material?, thickness_mm, width_mm)?;
        defaults.push(DefaultUsed {
            key: "sheet.thickness_mm plus_minus".into(),
            value: plain(band.plus_minus_mm),
            reason: band.source.into(),
        });
        Some(band.plus_minus_mm)
    });
    let spreads_assumed = assumed.spreads();
    if heat::asks(file) {
        defaults.extend(assumed.into_rows());
    }
    let name = file
        .part
        .as_ref()
        .and_then(|part| part.name.as_ref())
        .map_or_else(|| "plate".to_owned(), |at| at.value.clone());
    Some(Part {
        name,
        note: file
            .part
            .as_ref()
            .and_then(|part| part.note.as_ref())
            .map(|at| at.value.clone()),
        sheet: Sheet {
            metal,
            thickness_mm,
            thickness_plus_minus_mm,
            k_rule: k_rule?,
            grain: file
                .sheet
                .as_ref()
                .and_then(|sheet| sheet.grain.as_ref())
                .map(|at| at.value),
        },
        width_mm,
        flats,
        steps,
        profile,
        outline,
        holes,
        components,
        extensions,
        obstacles,
        pads,
        printer,
        vise,
        dies,
        thermal: Thermal {
            air_c,
            board_c,
            loss_w_m2k,
            pipes,
            old_plate,
            span: file.heat.as_ref().map(|entry| entry.span.clone()),
        },
        // Filled in by the reader, who has it.
        said: Design::default(),
        defaults,
        spreads_assumed,
    })
}

/// So many flats get heights from what is under them, for a step that cannot be bent.
const MOST_HEIGHTS: usize = 8;

/// Places and heights of flats that what is under them asks for, where the strip is refused.
fn as_the_board_asks(file: &Entries, components: &[Component], reading: &mut Reading) {
    let refused = ["part-step-unbendable", "part-backwards", "part-flats-level"];
    let mut heights = Vec::new();
    for (number, flat) in file.flats.iter().enumerate().take(MOST_HEIGHTS) {
        let (Some(name), Some(to), Some(now)) = (&flat.name, &flat.to_mm, &flat.underside_mm)
        else {
            continue;
        };
        let before = number
            .checked_sub(1)
            .and_then(|before| file.flats.get(before));
        let from_mm = (flat.from_mm.as_ref()).map(|at| at.value);
        let from_mm = from_mm.or_else(|| Some(before?.to_mm.as_ref()?.value));
        let highest = components
            .iter()
            .filter(|part| {
                let (low, high) = part.footprint.bounds();
                from_mm.is_some_and(|from_mm| from_mm < high.x) && low.x < to.value
            })
            .filter_map(|part| Some((part, part.treatment.pad()?)))
            .max_by(|(one, _), (other, _)| one.height_mm.value.total_cmp(&other.height_mm.value));
        let Some((part, pad)) = highest else { continue };
        let (least_mm, most_mm) = pad.gap_window_mm();
        let height_mm = part.height_mm.value + f64::midpoint(least_mm, most_mm);
        let height_mm = nearest_hundredth(height_mm);
        let drawn_mm = now.value.value - part.height_mm.value;
        if (least_mm..=most_mm).contains(&drawn_mm) {
            continue;
        }
        let edit = Edit::new("flat", number, "underside_mm", height_mm);
        let words = format!(
            "let \"{}\" lie at {} mm, where the pad on {} fits",
            name.value,
            plain(height_mm),
            part.name
        );
        heights.push(Way::new(words, vec![edit]));
    }
    let ends = ends(file, components);
    reading.findings.more_ways(|finding| match finding.id {
        "part-backwards" => (ends.iter())
            .filter(|(span, _)| finding.span.as_ref() == Some(span))
            .map(|(_, way)| way.clone())
            .collect(),
        id if refused.contains(&id) => heights.clone(),
        _ => Vec::new(),
    });
}

/// A last flat that reaches around a hole outside of the plate.
fn around_holes(file: &Entries, components: &[Component], reading: &mut Reading) {
    let last = ends(file, components).pop().map(|(_, way)| way);
    let is_hole = |finding: &Diagnostic| {
        let span = finding.span.as_ref();
        file.holes.iter().any(|hole| Some(&hole.span) == span)
    };
    reading.findings.more_ways(|finding| match finding.id {
        "part-outside" if is_hole(finding) => last.iter().cloned().collect(),
        _ => Vec::new(),
    });
}

/// Where flats could end: before the next one, or beyond all that is under the last one.
fn ends(file: &Entries, components: &[Component]) -> Vec<(Span, Way)> {
    let holes = file.holes.iter().filter_map(|hole| {
        let size = hole.size_mm.as_ref().map(|at| at.value[0]);
        let size_mm = size.or(hole.diameter_mm.as_ref().map(|at| at.value))?;
        Some(hole.x_mm.as_ref()?.value + size_mm / 2.0 + BESIDE_HOLE_MM)
    });
    let parts = components.iter().map(|part| part.footprint.bounds().1.x);
    let beyond_mm = holes.chain(parts).fold(f64::NEG_INFINITY, f64::max);
    let mut ends = Vec::new();
    for (number, flat) in file.flats.iter().enumerate() {
        let Some(to) = &flat.to_mm else { continue };
        let next = file.flats.get(number + 1).map(|next| {
            let heights = next.underside_mm.as_ref().zip(flat.underside_mm.as_ref());
            let rise_mm = heights.map(|(one, other)| (one.value.value - other.value.value).abs());
            // A wall of 45 degrees and its bends, or so.
            Some(next.from_mm.as_ref()?.value - 2.0 * rise_mm? - 1.0)
        });
        let end_mm = match next {
            None => Some(beyond_mm),
            Some(before_next) => before_next,
        };
        if let Some(end_mm) = end_mm.filter(|mm| mm.is_finite()) {
            let end_mm = hundredth_above(end_mm);
            let edit = Edit::new("flat", number, "to_mm", end_mm);
            let words = format!("let it end at {} mm", plain(end_mm));
            ends.push((to.span.clone(), Way::new(words, vec![edit])));
        }
    }
    ends
}

/// Metal left beside a hole by advice, mm. Own choice.
const BESIDE_HOLE_MM: f64 = 2.0;

/// Flats that lie below the top of a part under them: of a part that is refused, no gap is measured, and such a flat is likely
/// the reason.
fn below_parts(
    (flats, width_mm): (&[Flat], f64),
    components: &[Component],
    entries: &[FlatEntry],
    reading: &mut Reading,
) {
    for (number, (flat, entry)) in flats.iter().zip(entries).enumerate() {
        let level = flat.level;
        // Of equal ones the first.
        let deepest = components
            .iter()
            .rev()
            .filter(|part| {
                let (low, high) = part.footprint.bounds();
                let is_under = low.x < level.to_mm && level.from_mm < high.x;
                is_under && low.y < width_mm && 0.0 < high.y
            })
            .max_by(|one, other| one.height_mm.value.total_cmp(&other.height_mm.value));
        let Some(part) = deepest else { continue };
        let top_mm = part.height_mm.value;
        if level.underside_mm >= top_mm {
            continue;
        }
        let room_mm = match &part.treatment {
            Treatment::Bare { keep_out_mm } => *keep_out_mm,
            Treatment::Pad(pad) => pad.thickness_mm * PRESSED_SHARE,
        };
        let clears_mm = hundredth_above(top_mm + room_mm);
        let place = entry
            .underside_mm
            .as_ref()
            .map_or(&entry.span, |at| &at.span);
        reading.findings.push(
            Diagnostic::error(format!(
                "the flat \"{}\" lies {} mm below the top of {}, which is {} mm high",
                flat.name,
                plain(top_mm - level.underside_mm),
                part.name,
                plain(top_mm)
            ))
            .id("part-flat-too-low")
            .at(place)
            .also(&part.span, "this part")
            .way(Way::new(
                format!(
                    "let its underside lie at {} mm: that clears it",
                    plain(clears_mm)
                ),
                vec![Edit::new("flat", number, "underside_mm", clears_mm)],
            )),
        );
    }
}

fn default_radius(
    sheet: Option<&SheetEntry>,
    steps: &[Step],
    thickness_mm: f64,
    defaults: &mut Vec<DefaultUsed>,
) {
    let given = sheet.is_some_and(|sheet| sheet.inside_radius_mm.is_some());
    if !given && !steps.is_empty() {
        defaults.push(DefaultUsed {
            key: "sheet.inside_radius_mm".into(),
            value: plain(thickness_mm),
            reason: "one sheet thickness, where a step gives none; common practice, no source"
                .into(),
        });
    }
}

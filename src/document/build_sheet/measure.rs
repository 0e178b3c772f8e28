//! What to measure on the pressed plate: three numbers, what they should be, and how far off is still good.

use super::BuildStep;
use crate::fit::{rise_room, room};
use crate::job::Job;
use crate::numbers::hundredths;
use crate::result::making::Measurement;
use crate::stock::tolerance::{ToleranceClass, general_tolerance_mm};

/// How many numbers are measured.
const HOW_MANY: usize = 3;
/// A bow up to this is what every printed die leaves. Common practice, no source.
const USUAL_BOW_MM: f64 = 0.1;

/// The numbers to measure, the one that matters most first.
pub fn measurements(job: &Job) -> Vec<Measurement> {
    let mut found = rises(job);
    found.truncate(HOW_MANY - 1);
    found.push(length(job));
    let mut flats = flatness(job).into_iter();
    while found.len() < HOW_MANY {
        let Some(next) = flats.next() else { break };
        found.push(next);
    }
    found
}

/// Rises of all steps, the one with the least room first.
fn rises(job: &Job) -> Vec<Measurement> {
    let rooms = room(&job.part, &job.fit);
    let mut found: Vec<(f64, Measurement)> = rooms
        .windows(2)
        .zip(&job.part.steps)
        .enumerate()
        .filter_map(|(number, (pair, step))| {
            let [before, after] = pair else { return None };
            let pressed = job.pressing.as_ref().and_then(|p| p.rises.get(number));
            let drawn_mm = step.shape.rise_mm;
            // Measured without sign, whichever flat is the higher one.
            let way = if step.up { 1.0 } else { -1.0 };
            let expected_mm = pressed.map_or(drawn_mm, |rise| rise.released_mm * way);
            let [lower, higher] = rise_room(before, after);
            let [lower, higher] = if step.up { [lower, higher] } else { [higher, lower] };
            let most_mm = expected_mm.abs();
            let [lower_mm, higher_mm] = [lower, higher].map(|room| room.unwrap_or(most_mm).min(most_mm));
            Some((
                lower_mm.min(higher_mm),
                Measurement {
                    what: format!("step from \"{}\" to \"{}\"", before.name, after.name),
                    how: "depth rod of the calipers from the higher flat's top to the lower one's, in the middle of both"
                        .to_owned(),
                    expected_mm,
                    from_mm: expected_mm - lower_mm,
                    to_mm: expected_mm + higher_mm,
                    why: "beyond, a pad or a distance over the board is no longer good".to_owned(),
                },
            ))
        })
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, one)| one).collect()
}

/// Length over all of the formed plate.
fn length(job: &Job) -> Measurement {
    let (low, high) = job.part.outline.bounds();
    let moved_mm = job.pressing.as_ref().map_or(0.0, |pressing| {
        let ends = (pressing.flats.first(), pressing.flats.last());
        match ends {
            (Some(first), Some(last)) => last.along_error_mm - first.along_error_mm,
            _ => 0.0,
        }
    });
    let expected_mm = high.x - low.x + moved_mm;
    let room_mm = general_tolerance_mm(ToleranceClass::Medium, expected_mm).unwrap_or(0.1);
    Measurement {
        what: "length over all".to_owned(),
        how: "calipers along the strip, both ends level".to_owned(),
        expected_mm,
        from_mm: expected_mm - room_mm,
        to_mm: expected_mm + room_mm + job.blank.spread_mm,
        why: "a usual workshop tolerance (ISO 2768-1, medium), and above what was left for filing"
            .to_owned(),
    }
}

/// Bows of the flats, the widest part of the plate first.
fn flatness(job: &Job) -> Vec<Measurement> {
    let rooms = room(&job.part, &job.fit);
    let mut flats: Vec<(usize, f64)> = job
        .part
        .flats
        .iter()
        .enumerate()
        .map(|(number, flat)| (number, flat.level.to_mm - flat.level.from_mm))
        .collect();
    flats.sort_by(|a, b| b.1.total_cmp(&a.1));
    flats
        .into_iter()
        .filter_map(|(number, _)| {
            let flat = job.part.flats.get(number)?;
            let bow_mm = job
                .pressing
                .as_ref()
                .and_then(|pressing| pressing.flats.get(number))
                .map_or(0.0, |flat| flat.bow_mm);
            let room = rooms.get(number);
            let room_mm = room
                .and_then(|room| match (room.down_mm, room.up_mm) {
                    (Some(down), Some(up)) => Some(down.min(up)),
                    (one, other) => one.or(other),
                })
                .unwrap_or(USUAL_BOW_MM)
                .max(USUAL_BOW_MM);
            Some(Measurement {
                what: format!("bow of \"{}\"", flat.name),
                how: "feeler gauge between the flat and a straight edge laid along the strip"
                    .to_owned(),
                expected_mm: bow_mm,
                from_mm: 0.0,
                to_mm: bow_mm + room_mm,
                why: "beyond, a pad on it is pressed too little or too hard".to_owned(),
            })
        })
        .collect()
}

/// Opening the pair and measuring.
pub fn open_and_measure(job: &Job) -> Option<BuildStep> {
    if job.part.steps.is_empty() || job.tooling.is_err() {
        return None;
    }
    let rows = measurements(job)
        .into_iter()
        .map(|one| {
            vec![
                one.what,
                hundredths(one.expected_mm),
                format!("{} to {}", hundredths(one.from_mm), hundredths(one.to_mm)),
                one.how,
                one.why,
            ]
        })
        .collect();
    let source = if job.pressing.is_some() {
        "Expected is what the calculated pressing leaves after springing open."
    } else {
        "Expected is the drawn size: no pressing was calculated."
    };
    Some(
        BuildStep::new("Open and measure")
            .text(format!(
                "Let the plate spring open, do not bend it by hand. {source} All in mm."
            ))
            .table(
                "Three numbers to measure",
                &["measure", "expected", "good from, to", "how", "why"],
                rows,
            )
            .list(vec![
                "Outside on the first plate: press once more and measure again. Still outside: write down what you measured, \
                 change size_error_mm, clearance_mm or the temper in the part file to what is true, and make the dies again."
                    .to_owned(),
                "Look at every bend from outside with a lens: no cracks, no orange skin across the bend.".to_owned(),
                "Write the three numbers on the plate: they are worth more than any calculation.".to_owned(),
            ]),
    )
}

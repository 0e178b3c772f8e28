//! Laying in and pressing: force, turns of the handle, when to stop.

use super::BuildStep;
use crate::blank::Direction;
use crate::dies::Tooling;
use crate::job::Job;
use crate::numbers::plain;
use crate::part::ViseForce;
use crate::words;

/// Frictions from which on faces are waxed, and dry. Of 0.04 greased to 0.20 dry (Polymers 2023, 15(20), 4112; abstract read) the
/// third and the last part; where waxed faces lie in between is common practice, no source.
const WAXED: f64 = 0.08;
const DRY: f64 = 0.18;

fn pair(job: &Job) -> Option<&Tooling> {
    if job.part.steps.is_empty() {
        return None;
    }
    job.tooling.as_ref().ok()
}

/// Laying the blank in.
pub fn lay_in(job: &Job) -> Option<BuildStep> {
    pair(job)?;
    let mut items = vec![
        "Lower die on the fixed jaw's side or on the bench, working face up. Wipe faces and blank clean.".to_owned(),
        slide(job.part.dies.friction),
        "Blank with \"up\" away from the lower die, its left end at the left end of the die.".to_owned(),
    ];
    if let Some(first) = job.blank.bends.first() {
        items.push(format!(
            "Check the way round: its first bend from the left goes {}.",
            match first.direction {
                Direction::Up => "up",
                Direction::Down => "down",
            }
        ));
    }
    if job.part.dies.end_stops {
        items.push("Push it between the end stops: it lies free, without bending and without play you can see.".to_owned());
    }
    if job.part.dies.pins {
        items
            .push("Set the upper die on: its pins find their holes only one way round.".to_owned());
    }
    Some(BuildStep::new("Lay the blank in").list(items))
}

/// What the faces are rubbed with so that the sheet slides as it was taken to.
fn slide(friction: f64) -> String {
    let how = if friction < WAXED {
        "Grease both working faces thinly"
    } else if friction < DRY {
        "Rub both working faces thinly with candle wax"
    } else {
        "Leave both working faces dry"
    };
    format!("{how}: a friction of {} is taken.", plain(friction))
}

/// Pressing.
pub fn press(job: &Job) -> Option<BuildStep> {
    let backs = job.backs_of(pair(job)?);
    let travel_mm = backs.travel_mm();
    let items = vec![
        format!(
            "The pair touches the blank when its backs are {:.2} mm apart. Both jaws flat on the backs, the pair in the middle \
             of the jaws.",
            backs.touching_mm
        ),
        format!(
            "Close slowly, {travel_mm:.2} mm of travel{}.",
            turns(job, travel_mm)
        ),
        format!(
            "STOP there: {} Note what you measure.",
            words::press::until(&job.part, job.pressing.as_ref(), backs.end_mm)
        ),
        "Measure the backs with the calipers left and right, and front and back. More than 0.2 mm difference: open, centre the \
         pair, press again."
            .to_owned(),
        "Stop at once when something cracks, splits or slips aside.".to_owned(),
        "Hold for a few seconds, then open.".to_owned(),
    ];
    let mut step = BuildStep::new("Press");
    if let Some(pressing) = &job.pressing {
        step = step.text(format!(
            "Expected force: {}",
            words::press::force(&job.part, pressing)
        ));
        step = step.list(items);
        step = step.text(format!(
            "Dies: {} {}",
            words::press::noses(pressing),
            pressing.strength.die_life
        ));
    } else {
        step = step
            .text("No pressing was calculated: force and what springback leaves are not known. Go slowly.")
            .list(items);
    }
    Some(step.care(
        "Printed dies can burst under load: eye protection, face out of line, fingers out of the jaws, nobody beside the vise.",
    ))
}

/// ", about 1.4 turns of the handle" where the screw is known.
fn turns(job: &Job, travel_mm: f64) -> String {
    match job.part.vise.as_ref().and_then(|vise| vise.force) {
        Some(ViseForce::Screw {
            lead_mm,
            handle_length_mm,
            handle_force_n,
            ..
        }) => format!(
            ": {:.1} turns of the handle at {lead_mm} mm for a turn, the last of them with up to {handle_force_n:.0} N at \
             {handle_length_mm:.0} mm",
            travel_mm / lead_mm
        ),
        _ => String::new(),
    }
}

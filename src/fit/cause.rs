//! What the vise has to do with a gap that would be good as drawn: why, in plain words, and a way out.

use super::gap::Facing;
use super::measured::{Gaps, facing_words};
use super::verdict::GapVerdict;
use crate::part::{Part, ZoneKind};
use schemars::JsonSchema;
use serde::Serialize;

/// The nearest metal counts as straight above when the shortest way and the way up differ by no more. Own choice: a
/// tenth of what a calliper shows.
const STRAIGHT_UP_MM: f64 = 0.005;
/// Ends every way out that guesses the next pressing from this one.
const OR_MEASURE: &str = "or press one, measure it, and correct the part file by what it misses";

/// Why a gap that is good as drawn is not once pressed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Cause {
    /// What the vise does, one sentence without a full stop.
    pub text: String,
    /// What would help.
    pub way_out: String,
}

impl Cause {
    /// Reason and way out in one line.
    pub fn line(&self) -> String {
        format!("{}: {}", self.text, self.way_out)
    }
}

/// A length as people read it: hundredths, or more decimals where hundredths would show none.
fn length(mm: f64) -> String {
    let written = |decimals: usize| format!("{:.decimals$}", mm.abs());
    let shown = (2..=6)
        .map(written)
        .find(|text| text.bytes().any(|byte| (b'1'..=b'9').contains(&byte)))
        .unwrap_or_else(|| written(2));
    format!("{shown} mm")
}

/// Why `verdict` is not good on the pressed plate; `None` when it is.
pub(super) fn of_component(
    part: &Part,
    verdict: GapVerdict,
    drawn: &Gaps,
    pressed: &Gaps,
) -> Option<Cause> {
    if verdict.is_good() {
        return None;
    }
    let both = drawn.covered.as_ref().zip(pressed.covered.as_ref());
    let nearer = || of_obstacle(drawn.clearance_mm, pressed.clearance_mm);
    Some(match (verdict, both) {
        (GapVerdict::PadTooThin, Some((before, after))) => {
            lies(part, after.facing_max, after.max_mm - before.max_mm)
        }
        (GapVerdict::PadTooThick, Some((before, after))) => {
            lies(part, after.facing, after.min_mm - before.min_mm)
        }
        (GapVerdict::TooClose | GapVerdict::Touches, Some((before, after)))
            if after.min_mm < before.min_mm
                && after.min_mm - pressed.clearance_mm <= STRAIGHT_UP_MM =>
        {
            lies(part, after.facing, after.min_mm - before.min_mm)
        }
        (GapVerdict::GapUneven, Some((before, after))) => Cause {
            text: format!(
                "pressed, the metal over it stands askew: the gap varies by {}, as drawn by {}",
                length(after.max_mm - after.min_mm),
                length(before.max_mm - before.min_mm)
            ),
            way_out: format!("use a thicker, softer pad, {OR_MEASURE}"),
        },
        (GapVerdict::NotCovered, _) => Cause {
            text: "pressed, the edge of the plate moves away from over it".into(),
            way_out: format!("let the plate reach further over it, {OR_MEASURE}"),
        },
        _ => nearer(),
    })
}

/// Metal lies higher (`up_mm` above 0) or lower than drawn.
fn lies(part: &Part, facing: Facing, up_mm: f64) -> Cause {
    let (is, draw) = if up_mm < 0.0 {
        ("lower", "higher")
    } else {
        ("higher", "lower")
    };
    let by = length(up_mm);
    let what = facing_words(part, facing);
    let way_out = match facing {
        Facing::Zone(ZoneKind::Flat(_)) => format!("draw that flat {by} {draw}, {OR_MEASURE}"),
        Facing::Extension(_) => format!("draw the flat it hangs under {by} {draw}, {OR_MEASURE}"),
        Facing::Zone(ZoneKind::Bend(..) | ZoneKind::Wall(_)) => {
            format!(
                "move the step away from it, or draw the flat beside it {by} {draw}, {OR_MEASURE}"
            )
        }
    };
    Cause {
        text: format!("pressed, the {what} lies {by} {is} over it than drawn"),
        way_out,
    }
}

/// Metal comes nearer than drawn, in any direction.
pub(super) fn of_obstacle(drawn_mm: f64, pressed_mm: f64) -> Cause {
    let by = length(drawn_mm - pressed_mm);
    Cause {
        text: format!("pressed, metal comes {by} nearer to it than drawn"),
        way_out: format!("draw the metal beside it {by} further away, {OR_MEASURE}"),
    }
}

//! How far each flat may lie off before a gap under it is no longer good.

use super::{ComponentFit, Fit};
use crate::part::{Component, Part, Treatment};
use serde::Serialize;

/// How far one flat may lie lower or higher.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatRoom {
    /// Name of the flat.
    pub name: String,
    /// It may lie this much nearer to the board; `None`: nothing is under it.
    pub down_mm: Option<f64>,
    /// It may lie this much further from the board; `None`: nothing needs it near.
    pub up_mm: Option<f64>,
}

/// Room of every flat, from left to right, by the gaps that [`Fit::judged`] names; zero where a gap is not good already.
///
/// A part counts for each flat that lies over some of it, and under a wall or bend for the flats beside. Heights alone:
/// obstacles beside the plate and what the file trusts its heights to are not in it.
pub fn room(part: &Part, fit: &Fit) -> Vec<FlatRoom> {
    let mut rooms: Vec<FlatRoom> = part
        .flats
        .iter()
        .map(|flat| FlatRoom {
            name: flat.name.clone(),
            down_mm: None,
            up_mm: None,
        })
        .collect();
    for (component, fit) in part.components.iter().zip(&fit.components) {
        let [down, up] = room_under(component, fit);
        let (low, high) = component.footprint.bounds();
        let over = part.flats.iter().enumerate().filter(|(number, flat)| {
            // A flat reaches half way into the steps beside it.
            let before = number.checked_sub(1).and_then(|n| part.flats.get(n));
            let after = part.flats.get(number + 1);
            let from = before.map_or(f64::NEG_INFINITY, |before| {
                f64::midpoint(before.level.to_mm, flat.level.from_mm)
            });
            let to = after.map_or(f64::INFINITY, |after| {
                f64::midpoint(flat.level.to_mm, after.level.from_mm)
            });
            low.x < to && from < high.x
        });
        for (number, _) in over {
            if let Some(room) = rooms.get_mut(number) {
                room.down_mm = smaller(room.down_mm, down);
                room.up_mm = smaller(room.up_mm, up);
            }
        }
    }
    rooms
}

/// How far a rise may be off, lower and higher, whichever of its two flats the cooler holds.
pub fn rise_room(before: &FlatRoom, after: &FlatRoom) -> [Option<f64>; 2] {
    [
        smaller(after.down_mm, before.up_mm),
        smaller(after.up_mm, before.down_mm),
    ]
}

fn smaller(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

/// Room between the metal over a component and where it would be wrong: down, up.
fn room_under(component: &Component, fit: &ComponentFit) -> [Option<f64>; 2] {
    let Some([least_mm, most_mm]) = fit.judged_gap_mm() else {
        return [None, None];
    };
    match &component.treatment {
        Treatment::Pad(pad) => {
            let (low_mm, high_mm) = pad.gap_window_mm();
            [
                Some((least_mm - low_mm).max(0.0)),
                Some((high_mm - most_mm).max(0.0)),
            ]
        }
        Treatment::Bare { keep_out_mm } => [
            Some((fit.judged_clearance_mm() - keep_out_mm).max(0.0)),
            None,
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::fit;
    use crate::part::{parse, starter::STARTER};
    use approx::assert_relative_eq;

    /// A flat moved by a little less than its room is good still, by a little more it is not.
    #[test]
    fn room_ends_where_gaps_turn_bad() {
        let base = parse(STARTER).unwrap().value;
        let rooms = room(&base, &fit(&base));
        assert_eq!(rooms.len(), base.flats.len());
        let moved = |number: usize, by_mm: f64| {
            let mut lines: Vec<String> = STARTER.lines().map(str::to_owned).collect();
            let line = lines
                .iter_mut()
                .filter(|line| line.starts_with("underside_mm"))
                .nth(number)
                .unwrap();
            let was: f64 = base.flats[number].level.underside_mm;
            *line = format!("underside_mm = {}", was + by_mm);
            let part = parse(&lines.join("\n")).unwrap().value;
            fit(&part).bad_components().count() == 0
        };
        let mut tried = 0;
        for (number, room) in rooms.iter().enumerate() {
            for (room_mm, way) in [(room.down_mm, -1.0), (room.up_mm, 1.0)] {
                let Some(room_mm) = room_mm.filter(|mm| *mm > 0.02) else {
                    continue;
                };
                assert!(moved(number, way * (room_mm - 0.01)), "{room:?}");
                assert!(!moved(number, way * (room_mm + 0.01)), "{room:?}");
                tried += 1;
            }
        }
        assert!(tried >= 3, "{rooms:?}");
    }

    #[test]
    fn a_rise_is_bound_by_both_its_flats() {
        let flat = |down, up| FlatRoom {
            name: String::new(),
            down_mm: down,
            up_mm: up,
        };
        let [lower, higher] = rise_room(&flat(Some(0.1), Some(0.2)), &flat(Some(0.3), None));
        assert_relative_eq!(lower.unwrap(), 0.2);
        assert_relative_eq!(higher.unwrap(), 0.1);
    }
}

//! Footprints of board parts as they are drawn, with their names inside.

use crate::draw::drawing::{Anchor, Text};
use crate::draw::lettering::{PITCH, SMALL_MM, TEXT_MM, width_mm};
use crate::draw::view::View;
use crate::geometry::{Footprint, Loop};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// Lines of text for the inside of a footprint, level or upright, if they fit.
pub(super) fn name_in(
    view: &View,
    lines: &[String],
    (low, high): (Point2<f64>, Point2<f64>),
    footprint: &Footprint,
) -> Option<Vec<Text>> {
    let share = match footprint {
        Footprint::Disc { .. } => 0.7,
        Footprint::Rectangle {
            corners: [a, b, ..],
        } if (b.x - a.x).abs() < 1e-6 || (b.y - a.y).abs() < 1e-6 => 1.0,
        Footprint::Rectangle { .. } => 0.5,
    };
    let room = (high - low) * (share * view.scale);
    let middle = view.point(nalgebra::center(&low, &high));
    for (size_mm, upright) in [
        (TEXT_MM, false),
        (SMALL_MM, false),
        (TEXT_MM, true),
        (SMALL_MM, true),
    ] {
        let (along, across) = if upright {
            (room.y, room.x)
        } else {
            (room.x, room.y)
        };
        let longest = lines
            .iter()
            .map(|line| width_mm(line, size_mm))
            .fold(0.0, f64::max);
        let pitch_mm = size_mm * PITCH;
        let stack_mm = lines.len() as f64 * pitch_mm;
        if longest + 0.6 > along || stack_mm > across {
            continue;
        }
        let turn = if upright {
            Angle::deg(90.0)
        } else {
            Angle::ZERO
        };
        let down = if upright {
            Vector2::new(1.0, 0.0)
        } else {
            Vector2::new(0.0, -1.0)
        };
        let texts = lines.iter().enumerate().map(|(number, line)| {
            let below = number as f64 * pitch_mm - stack_mm / 2.0 + 0.5 * pitch_mm;
            // Half the height of capitals brings the base line under the middle.
            let mut text = Text::new(middle + down * (below + 0.35 * size_mm), size_mm, line)
                .anchored(Anchor::Middle);
            text.rotate = turn;
            text
        });
        return Some(texts.collect());
    }
    None
}

/// A footprint as it is drawn.
pub(super) fn footprint_loop(footprint: &Footprint, view: &View) -> Loop {
    match footprint {
        Footprint::Disc { centre, radius_mm } => {
            Loop::circle(view.point(*centre), radius_mm * view.scale)
        }
        Footprint::Rectangle { corners } => {
            Loop::polygon(&corners.map(|corner| view.point(corner)))
        }
    }
}

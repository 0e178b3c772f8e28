//! Engraved marks: L for lower, U for upper, and an arrow towards the last flat.

use super::block::Marks;
use super::role::DieSide;

/// Engraving depth. Common practice, no source.
const DEPTH_MM: f64 = 0.6;
/// Largest and smallest letter.
const LETTER_MM: (f64, f64) = (4.0, 8.0);
/// Width of letter, gap and arrow, in letter heights.
const WIDTH: f64 = 2.1;

const L: &[[f64; 2]] = &[
    [0.0, 0.0],
    [0.6, 0.0],
    [0.6, 0.2],
    [0.2, 0.2],
    [0.2, 1.0],
    [0.0, 1.0],
];
const U: &[[f64; 2]] = &[
    [0.0, 0.0],
    [0.6, 0.0],
    [0.6, 1.0],
    [0.4, 1.0],
    [0.4, 0.2],
    [0.2, 0.2],
    [0.2, 1.0],
    [0.0, 1.0],
];
/// Points to the right; starts at 1.0, one letter and a gap after the letter's left edge.
const ARROW: &[[f64; 2]] = &[
    [1.0, 0.4],
    [1.7, 0.4],
    [1.7, 0.2],
    [2.1, 0.5],
    [1.7, 0.8],
    [1.7, 0.6],
    [1.0, 0.6],
];

/// Marks in the band of solid material between the back and the lowest point of the face.
///
/// Seen from the marked side, x runs to the left. `None` when the band has no room.
pub fn marks(role: DieSide, back_mm: f64, base_mm: f64, x_mm: (f64, f64)) -> Option<Marks> {
    let size_mm = (base_mm - 4.0).min(LETTER_MM.1);
    if size_mm < LETTER_MM.0 || x_mm.1 - x_mm.0 < WIDTH * size_mm + 4.0 {
        return None;
    }
    let middle_x = f64::midpoint(x_mm.0, x_mm.1);
    let foot = back_mm + (base_mm - size_mm) / 2.0;
    // u to the right as seen, from the left edge of the letter.
    let place = |[u, v]: [f64; 2]| [middle_x - (u - WIDTH / 2.0) * size_mm, foot + v * size_mm];
    // The lower block's own x runs towards the last flat; the upper block's runs away from it.
    let (letter, arrow_left) = match role {
        DieSide::Lower => (L, true),
        DieSide::Upper => (U, false),
    };
    let mut arrow: Vec<[f64; 2]> = ARROW
        .iter()
        .map(|[u, v]| if arrow_left { [3.1 - u, *v] } else { [*u, *v] })
        .collect();
    if arrow_left {
        // Mirroring turns the polygon round.
        arrow.reverse();
    }
    Some(Marks {
        polygons: vec![
            letter.iter().copied().map(place).collect(),
            arrow.into_iter().map(place).collect(),
        ],
        depth_mm: DEPTH_MM,
    })
}

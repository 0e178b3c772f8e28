//! Bend lines as they are drawn or scribed on the blank: only where there is metal.

use super::Blank;
use crate::geometry::{Loop, y_intervals};
use serde::Serialize;

/// Stretches of metal shorter than this are left out: corners that the line just touches.
const SHORTEST_MM: f64 = 1e-6;

/// A straight piece of a line across the blank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LineAcross {
    /// From the left end of the blank.
    pub s_mm: f64,
    /// Where it begins across the blank.
    pub y_from_mm: f64,
    /// Where it ends.
    pub y_to_mm: f64,
}

/// The lines of one bend.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BendLine {
    /// Number of the bend in [`Blank::bends`], from 0.
    pub bend: usize,
    /// First tangent line, in pieces where notches or holes cut it.
    pub start: Vec<LineAcross>,
    /// Middle of the bend.
    pub centre: Vec<LineAcross>,
    /// Second tangent line.
    pub end: Vec<LineAcross>,
}

/// Centre line and tangent lines of every bend, clipped to the metal.
pub fn bend_lines(blank: &Blank) -> Vec<BendLine> {
    let metal = blank.metal_loops();
    blank
        .bends
        .iter()
        .enumerate()
        .map(|(number, bend)| BendLine {
            bend: number,
            start: on_metal(bend.start_mm, &metal),
            centre: on_metal(bend.centre_mm, &metal),
            end: on_metal(bend.end_mm, &metal),
        })
        .collect()
}

fn on_metal(s_mm: f64, metal: &[Loop]) -> Vec<LineAcross> {
    y_intervals(s_mm, metal)
        .into_iter()
        .filter(|(low, high)| high - low > SHORTEST_MM)
        .map(|(y_from_mm, y_to_mm)| LineAcross {
            s_mm,
            y_from_mm,
            y_to_mm,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::blank;
    use super::super::sample::Stair;
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_plain_plate_is_scribed_from_edge_to_edge() {
        let blank = blank(&Stair::two_flats(4.0, 60.0).part()).value;
        let lines = bend_lines(&blank);
        assert_eq!(lines.len(), 2);
        for (line, bend) in lines.iter().zip(&blank.bends) {
            for (pieces, s) in [
                (&line.start, bend.start_mm),
                (&line.centre, bend.centre_mm),
                (&line.end, bend.end_mm),
            ] {
                let [piece] = pieces.as_slice() else {
                    panic!("{pieces:?}")
                };
                assert_eq!((piece.s_mm, piece.y_from_mm, piece.y_to_mm), (s, 0.0, 10.0));
            }
        }
    }

    #[test]
    fn a_notch_and_a_hole_interrupt_the_lines_they_cross() {
        // The step begins at x = 10: the notch takes the first tangent line only, 3 mm deep; a hole of
        // 2 mm by 4 mm with its middle there takes a piece from its middle.
        let stair = Stair::two_flats(4.0, 60.0).with(
            "[[notch]]\nedge = \"front\"\nfrom_mm = 8.0\nto_mm = 10.2\ndepth_mm = 3.0\n\
             [[hole]]\nname = \"a\"\nx_mm = 9.2\ny_mm = 6.5\nsize_mm = [2.0, 4.0]\n",
        );
        let blank = blank(&stair.part()).value;
        let lines = bend_lines(&blank);
        let spans = |pieces: &[LineAcross]| -> Vec<f64> {
            pieces
                .iter()
                .flat_map(|piece| [piece.y_from_mm, piece.y_to_mm])
                .collect()
        };
        for (got, expected) in spans(&lines[0].start)
            .into_iter()
            .zip([3.0, 4.5, 8.5, 10.0])
        {
            assert_abs_diff_eq!(got, expected, epsilon = 1e-12);
        }
        assert_eq!(lines[0].start.len(), 2);
        assert_eq!(spans(&lines[0].centre), [0.0, 10.0]);
        assert_eq!(spans(&lines[1].start), [0.0, 10.0]);
    }
}

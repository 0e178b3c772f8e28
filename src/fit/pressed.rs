//! The metal as it came out of the vise: the let-go strip in place of the drawn one, and with it what hangs on its
//! flats and what is cut into it.
//!
//! In section the two faces are taken as they were calculated, point by point. Where a wall leans over the upright,
//! the lower face is seen from below and the upper one from above, so the pocket under it counts as metal. In plan
//! every flat carries its edges and holes along with it as one stiff piece; between two flats they are spread evenly.

use super::metal::{ExtensionBlock, LEAST_SLAB_MM, PlateMetal};
use crate::geometry::{Footprint, Loop, LoopEdge, Piece, Pose, Segment, Side};
use crate::part::{Extension, Part, ZoneKind};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// Shifts along x that differ by less move a round edge as one. Far below what can be cut.
const SAME_SHIFT_MM: f64 = 1e-9;
/// Round edges that lie over flats which move apart become this many straight lines for a full turn: less than
/// 0.002 mm from a circle of 10 mm.
const PARTS_PER_TURN: f64 = 128.0;

/// The strip as the vise leaves it, laid on the drawn one.
#[derive(Debug, Clone, Copy)]
pub struct PressedStrip<'a> {
    /// Underside, left to right.
    pub under: &'a [Point2<f64>],
    /// Top side, left to right.
    pub top: &'a [Point2<f64>],
    /// How far each flat lies to the right of where it is drawn, from left to right.
    pub along_mm: &'a [f64],
}

impl PlateMetal {
    /// Collects the metal of a part whose strip came out of the vise like this.
    pub fn pressed(part: &Part, strip: &PressedStrip<'_>) -> Self {
        let shifts = Shifts::of(part, strip.along_mm);
        // The outline ends the plate, not the last point of a face.
        let beyond_mm = part.sheet.thickness_mm;
        let underside = envelope(strip.under, Seen::FromBelow, beyond_mm);
        let topside = envelope(strip.top, Seen::FromAbove, beyond_mm);
        let extensions = part
            .extensions
            .iter()
            .map(|extension| hung(extension, &underside, &shifts))
            .collect();
        let kinds: Vec<(f64, ZoneKind)> = part
            .profile
            .underside
            .pieces()
            .zip(&part.profile.zones)
            .map(|(piece, zone)| (piece.end.point.x, zone.kind))
            .collect();
        let kind_at = |x: f64| {
            kinds
                .iter()
                .find(|(end, _)| x <= *end)
                .or(kinds.last())
                .map_or(ZoneKind::Flat(0), |(_, kind)| *kind)
        };
        let underside = underside
            .into_iter()
            .map(|piece| (piece, kind_at(piece.middle().x)))
            .collect();
        let loops = part
            .metal_loops()
            .iter()
            .map(|shape| shifts.loop_moved(shape))
            .collect();
        Self::of_pieces(underside, topside, loops, extensions)
    }
}

/// From where a face is looked at.
#[derive(Clone, Copy, PartialEq)]
enum Seen {
    FromBelow,
    FromAbove,
}

fn line(from: Point2<f64>, to: Point2<f64>) -> Piece {
    let way = to - from;
    let heading = Angle::between(way.x, way.y);
    Piece {
        start: Pose {
            point: from,
            heading,
        },
        end: Pose { point: to, heading },
        segment: Segment::Line {
            length_mm: way.norm(),
        },
        from_mm: 0.0,
    }
}

/// What is seen of a face, as straight pieces from left to right whose x grows; straight on beyond both ends.
fn envelope(face: &[Point2<f64>], seen: Seen, beyond_mm: f64) -> Vec<Piece> {
    let mut points = face.to_vec();
    if let [first, second, ..] = face
        && let Some(way) = (first - second).try_normalize(0.0)
    {
        points.insert(0, first + way * beyond_mm);
    }
    if let [.., before, last] = face
        && let Some(way) = (last - before).try_normalize(0.0)
    {
        points.push(last + way * beyond_mm);
    }
    let segments: Vec<Piece> = points
        .windows(2)
        .filter_map(|pair| match *pair {
            // Where the face leans over it runs backwards.
            [from, to] if to.x - from.x > LEAST_SLAB_MM => Some(line(from, to)),
            [from, to] if from.x - to.x > LEAST_SLAB_MM => Some(line(to, from)),
            _ => None,
        })
        .collect();
    let mut places: Vec<f64> = points.iter().map(|point| point.x).collect();
    places.sort_by(f64::total_cmp);
    places
        .windows(2)
        .filter_map(|pair| {
            let [from, to] = *pair else { return None };
            if to - from <= LEAST_SLAB_MM {
                return None;
            }
            let middle = f64::midpoint(from, to);
            let over = segments
                .iter()
                .filter(|piece| (piece.start.point.x..=piece.end.point.x).contains(&middle));
            let height = |piece: &&Piece| piece.height_at(middle);
            let of = match seen {
                Seen::FromBelow => over.min_by(|a, b| height(a).total_cmp(&height(b))),
                Seen::FromAbove => over.max_by(|a, b| height(a).total_cmp(&height(b))),
            }?;
            Some(line(
                Point2::new(from, of.height_at(from)),
                Point2::new(to, of.height_at(to)),
            ))
        })
        .collect()
}

/// An extension plate under its pressed flat: it follows the straight line that fits the flat's underside best over it.
fn hung(extension: &Extension, underside: &[Piece], shifts: &Shifts) -> ExtensionBlock {
    let by = shifts.of_flat(extension.flat);
    let (low, high) = extension.footprint.bounds();
    let (low, high) = (low + Vector2::new(by, 0.0), high + Vector2::new(by, 0.0));
    let at_mm = f64::midpoint(low.x, high.x);
    let length = high.x - low.x;
    // Least squares of the heights: mean, and moment about the middle over that of the line, L³/12.
    let (mut area, mut moment) = (0.0, 0.0);
    for piece in underside {
        let from = piece.start.point.x.max(low.x);
        let to = piece.end.point.x.min(high.x);
        if to > from {
            let (begin, end) = (piece.height_at(from), piece.height_at(to));
            let (left, right) = (from - at_mm, to - at_mm);
            area += (to - from) * f64::midpoint(begin, end);
            // A line times a line: Simpson's rule is exact.
            moment +=
                (to - from) / 6.0 * (begin * left + (begin + end) * (left + right) + end * right);
        }
    }
    let rise = 12.0 * moment / (length * length * length);
    let topside_mm = area / length;
    let deep_mm = extension.thickness_mm.value + extension.solder_mm;
    ExtensionBlock {
        area: Footprint::between(low, high),
        at_mm,
        underside_mm: topside_mm - deep_mm * libm::hypot(1.0, rise),
        topside_mm,
        rise,
    }
}

/// Where the places of the drawing lie on the pressed plate, along x.
struct Shifts {
    /// Drawn place and shift, from left to right; both ends of every flat.
    knots: Vec<(f64, f64)>,
    flats: Vec<f64>,
}

impl Shifts {
    fn of(part: &Part, along_mm: &[f64]) -> Self {
        let knots = part
            .flats
            .iter()
            .zip(along_mm)
            .flat_map(|(flat, by)| [(flat.level.from_mm, *by), (flat.level.to_mm, *by)])
            .collect();
        Self {
            knots,
            flats: along_mm.to_vec(),
        }
    }

    fn of_flat(&self, number: usize) -> f64 {
        self.flats.get(number).copied().unwrap_or(0.0)
    }

    fn at(&self, x: f64) -> f64 {
        let after = self.knots.iter().find(|(place, _)| x <= *place);
        let before = self.knots.iter().rev().find(|(place, _)| *place < x);
        match (before, after) {
            (Some((from, one)), Some((to, other))) if to - from > LEAST_SLAB_MM => {
                one + (other - one) * (x - from) / (to - from)
            }
            (_, Some((_, by))) | (Some((_, by)), None) => *by,
            (None, None) => 0.0,
        }
    }

    fn moved(&self, point: Point2<f64>) -> Point2<f64> {
        Point2::new(point.x + self.at(point.x), point.y)
    }

    fn loop_moved(&self, shape: &Loop) -> Loop {
        Loop::from_known_edges(
            shape
                .sides()
                .flat_map(|side| self.side_moved(&side))
                .collect(),
        )
    }

    fn side_moved(&self, side: &Side) -> Vec<LoopEdge> {
        let (low, high) = side.bounds();
        let inside = || {
            self.knots
                .iter()
                .map(|(place, _)| *place)
                .filter(|place| low.x < *place && *place < high.x)
        };
        let by = self.at(low.x);
        let stiff = inside()
            .chain([high.x])
            .all(|place| (self.at(place) - by).abs() < SAME_SHIFT_MM);
        if stiff {
            return vec![side.edge.moved(Vector2::new(by, 0.0))];
        }
        match side.edge {
            LoopEdge::Line { to } => {
                let way = to - side.from;
                let mut shares: Vec<f64> = inside()
                    .map(|place| (place - side.from.x) / way.x)
                    .collect();
                shares.sort_by(f64::total_cmp);
                shares
                    .into_iter()
                    .chain([1.0])
                    .map(|share| LoopEdge::Line {
                        to: self.moved(side.from + way * share),
                    })
                    .collect()
            }
            LoopEdge::Arc { to, turn, .. } => {
                let parts = (turn.rad().abs() / std::f64::consts::TAU * PARTS_PER_TURN)
                    .ceil()
                    .max(1.0);
                let mut edges = Vec::new();
                let mut number = 1.0;
                while number < parts {
                    edges.push(LoopEdge::Line {
                        to: self.moved(side.turned(turn * (number / parts))),
                    });
                    number += 1.0;
                }
                edges.push(LoopEdge::Line { to: self.moved(to) });
                edges
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn points(places: &[(f64, f64)]) -> Vec<Point2<f64>> {
        places.iter().map(|(x, z)| Point2::new(*x, *z)).collect()
    }

    fn height(pieces: &[Piece], x: f64) -> f64 {
        pieces
            .iter()
            .find(|piece| (piece.start.point.x..=piece.end.point.x).contains(&x))
            .unwrap()
            .height_at(x)
    }

    #[test]
    fn a_wall_that_leans_over_is_seen_from_below_and_from_above() {
        // Up to (5, 1), back to (4, 3), on to the right: the face runs over x = 4.5 three times.
        let face = points(&[(0.0, 1.0), (5.0, 1.0), (4.0, 3.0), (9.0, 3.0)]);
        let below = envelope(&face, Seen::FromBelow, 0.5);
        assert_abs_diff_eq!(height(&below, 4.5), 1.0, epsilon = 1e-12);
        assert_abs_diff_eq!(height(&below, 5.5), 3.0, epsilon = 1e-12);
        let above = envelope(&face, Seen::FromAbove, 0.5);
        assert_abs_diff_eq!(height(&above, 3.5), 1.0, epsilon = 1e-12);
        assert_abs_diff_eq!(height(&above, 4.5), 3.0, epsilon = 1e-12);
        for seen in [below, above] {
            for pair in seen.windows(2) {
                assert_eq!(pair[0].end.point.x, pair[1].start.point.x);
            }
            assert_abs_diff_eq!(seen[0].start.point.x, -0.5, epsilon = 1e-12);
            assert_abs_diff_eq!(seen.last().unwrap().end.point.x, 9.5, epsilon = 1e-12);
        }
    }

    #[test]
    fn edges_move_with_their_flat_and_are_spread_between_two() {
        let shifts = Shifts {
            knots: vec![(0.0, -0.1), (10.0, -0.1), (14.0, 0.3), (20.0, 0.3)],
            flats: vec![-0.1, 0.3],
        };
        for (x, wanted) in [
            (-3.0, -0.1),
            (4.0, -0.1),
            (12.0, 0.1),
            (17.0, 0.3),
            (25.0, 0.3),
        ] {
            assert_abs_diff_eq!(shifts.at(x), wanted, epsilon = 1e-12);
        }
        // A round hole over one flat stays round.
        let hole = Loop::circle(Point2::new(5.0, 5.0), 2.0);
        let (centre, radius_mm) = shifts.loop_moved(&hole).as_circle().unwrap();
        assert_abs_diff_eq!(centre, Point2::new(4.9, 5.0), epsilon = 1e-12);
        assert_abs_diff_eq!(radius_mm, 2.0, epsilon = 1e-12);
        // The outline becomes 20.4 long; its edge front to back stays where it belongs.
        let outline = Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(20.0, 8.0));
        let moved = shifts.loop_moved(&outline);
        let (low, high) = moved.bounds();
        assert_abs_diff_eq!(low, Point2::new(-0.1, 0.0), epsilon = 1e-12);
        assert_abs_diff_eq!(high, Point2::new(20.3, 8.0), epsilon = 1e-12);
        assert_abs_diff_eq!(moved.area_mm2(), 20.4 * 8.0, epsilon = 1e-9);
        // A disc over the step grows with it: half of it by 0.4 mm in 4.
        let disc = Loop::circle(Point2::new(12.0, 4.0), 1.0);
        let grown = shifts.loop_moved(&disc);
        assert_abs_diff_eq!(
            grown.area_mm2(),
            std::f64::consts::PI * 1.1,
            epsilon = 0.005
        );
    }
}

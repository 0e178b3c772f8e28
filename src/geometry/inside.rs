//! Where a loop lies: crossings with a line and with another loop, inside and outside, distance,
//! self-crossing.

use crate::geometry::loops::{Loop, LoopEdge, Side};
use crate::geometry::segments::{lines_meet, to_segment};
use crate::quantity::Angle;
use nalgebra::Point2;
use std::f64::consts::PI;

/// Stretches of the vertical line at `x_mm` that lie inside, lowest first.
///
/// Several loops count even-odd: a loop inside another is a hole. Lines and arcs are met exactly, and
/// a corner on the line counts once (an edge owns its left end, not its right one), so crossings
/// always pair up. A loop of which the line touches only a corner or an arc's side gives nothing.
pub fn y_intervals(x_mm: f64, loops: &[Loop]) -> Vec<(f64, f64)> {
    let mut heights: Vec<f64> = loops.iter().flat_map(|one| crossings(one, x_mm)).collect();
    heights.sort_by(f64::total_cmp);
    // Two crossings at one height leave and enter at once: a corner, or two loops that touch.
    let mut kept: Vec<f64> = Vec::new();
    for height in heights {
        if kept.last() == Some(&height) {
            kept.pop();
        } else {
            kept.push(height);
        }
    }
    kept.chunks_exact(2)
        .filter_map(|pair| match *pair {
            [low, high] => Some((low, high)),
            _ => None,
        })
        .collect()
}

/// Heights at which a loop crosses the vertical line at `x_mm`: always an even number of them.
fn crossings(of: &Loop, x_mm: f64) -> Vec<f64> {
    let mut heights = Vec::new();
    for side in of.sides() {
        match side.edge {
            LoopEdge::Line { to } => {
                if (side.from.x <= x_mm) != (to.x <= x_mm) {
                    let share = (x_mm - side.from.x) / (to.x - side.from.x);
                    heights.push(side.from.y + (to.y - side.from.y) * share);
                }
            }
            LoopEdge::Arc { centre, .. } => arc_crossings(&side, centre, x_mm, &mut heights),
        }
    }
    heights
}

/// An arc in stretches on which x only grows or only falls, each treated like a line.
fn arc_crossings(side: &Side, centre: Point2<f64>, x_mm: f64, heights: &mut Vec<f64>) {
    let LoopEdge::Arc { to, turn, .. } = side.edge else {
        return;
    };
    let arm = side.from - centre;
    let radius_mm = arm.norm();
    let begin = Angle::between(arm.x, arm.y).rad();
    let mut from_x = side.from.x;
    let mut from_turn = begin;
    for (to_x, to_turn) in extremes_x(side).chain([(to.x, begin + turn.rad())]) {
        if (from_x <= x_mm) != (to_x <= x_mm) {
            let across = x_mm - centre.x;
            let root = (radius_mm * radius_mm - across * across).max(0.0).sqrt();
            let upper = Angle::rad_from(f64::midpoint(from_turn, to_turn)).sin() > 0.0;
            heights.push(if upper {
                centre.y + root
            } else {
                centre.y - root
            });
        }
        (from_x, from_turn) = (to_x, to_turn);
    }
}

/// Where an arc turns back along x: place and direction from its centre in rad; nothing for a line.
fn extremes_x(side: &Side) -> impl Iterator<Item = (f64, f64)> + use<> {
    let (centre_x, radius_mm) = match side.edge {
        LoopEdge::Line { .. } => (0.0, 0.0),
        LoopEdge::Arc { centre, .. } => (centre.x, (side.from - centre).norm()),
    };
    side.passes(PI).into_iter().map(move |half_turns| {
        let even = half_turns.rem_euclid(2.0) < 0.5;
        let x = centre_x + if even { radius_mm } else { -radius_mm };
        (x, half_turns * PI)
    })
}

impl Loop {
    /// Places along x where an edge ends or turns back.
    ///
    /// Between two of them that follow each other, the loop crosses an upright line equally often.
    pub fn breaks_x(&self) -> Vec<f64> {
        self.sides()
            .flat_map(|side| extremes_x(&side).map(|(x, _)| x).chain([side.from.x]))
            .collect()
    }

    /// Places along x where an edge of this loop crosses one of the other.
    ///
    /// Between two places of this list and of both [`Loop::breaks_x`], the loops cross an upright line
    /// in one and the same order. A place too many may be among them: an arc counts as its whole
    /// circle within its box.
    pub fn crossings_x(&self, other: &Self) -> Vec<f64> {
        let others: Vec<(Side, Bounds)> = other.sides().map(|side| (side, side.bounds())).collect();
        let around = other.bounds();
        let mut places = Vec::new();
        for side in self.sides() {
            let bounds = side.bounds();
            if common_x(bounds, around).is_none() {
                continue;
            }
            for (other, others_bounds) in &others {
                if let Some((from, to)) = common_x(bounds, *others_bounds) {
                    let meet = carriers_meet(&side, other).into_iter().flatten();
                    places.extend(meet.filter(|x| (from..=to).contains(x)));
                }
            }
        }
        places
    }

    /// Whether a point lies inside; on the edge either answer may come, see [`Loop::distance_to`].
    pub fn contains(&self, point: Point2<f64>) -> bool {
        let above = crossings(self, point.x)
            .into_iter()
            .filter(|height| *height > point.y)
            .count();
        above % 2 == 1
    }

    /// Distance in mm from a point to the nearest point of the edge, inside or outside.
    pub fn distance_to(&self, point: Point2<f64>) -> f64 {
        self.sides()
            .map(|side| side_distance(&side, point))
            .fold(f64::INFINITY, f64::min)
    }
}

/// Lower left and upper right corner of an upright box.
type Bounds = (Point2<f64>, Point2<f64>);

/// Edges that miss each other by no more than this may count as meeting.
const MEETING_MM: f64 = 1e-9;

/// Stretch along x that two boxes share, if they meet.
fn common_x(one: Bounds, other: Bounds) -> Option<(f64, f64)> {
    let apart_in_y = one.0.y > other.1.y + MEETING_MM || other.0.y > one.1.y + MEETING_MM;
    let from = one.0.x.max(other.0.x) - MEETING_MM;
    let to = one.1.x.min(other.1.x) + MEETING_MM;
    (from <= to && !apart_in_y).then_some((from, to))
}

/// x where the whole lines or circles meet on which two edges lie; none where they run along each other.
fn carriers_meet(one: &Side, other: &Side) -> [Option<f64>; 2] {
    match (one.edge, other.edge) {
        (LoopEdge::Line { to }, LoopEdge::Line { to: others_to }) => {
            let (along, others_along) = (to - one.from, others_to - other.from);
            let parallel = along.perp(&others_along);
            let share = (other.from - one.from).perp(&others_along) / parallel;
            [
                (parallel != 0.0).then(|| one.from.x + along.x * share),
                None,
            ]
        }
        (LoopEdge::Line { .. }, LoopEdge::Arc { .. }) => line_meets_circle(one, other),
        (LoopEdge::Arc { .. }, LoopEdge::Line { .. }) => line_meets_circle(other, one),
        (LoopEdge::Arc { centre, .. }, LoopEdge::Arc { centre: others, .. }) => {
            let (radius_mm, others_radius_mm) =
                ((one.from - centre).norm(), (other.from - others).norm());
            let between = others - centre;
            let apart = between.norm();
            if apart == 0.0 {
                return [None; 2];
            }
            // From this centre towards the other to the chord that both circles share.
            let squares = (radius_mm - others_radius_mm) * (radius_mm + others_radius_mm);
            let reach = f64::midpoint(apart, squares / apart);
            let half_chord = half_chord(radius_mm, reach);
            let toward = between / apart;
            let ways = half_chord.map(|half| [-half, half]);
            places(ways, |half| centre.x + toward.x * reach - toward.y * half)
        }
    }
}

fn line_meets_circle(line: &Side, arc: &Side) -> [Option<f64>; 2] {
    let LoopEdge::Arc { centre, .. } = arc.edge else {
        return [None; 2];
    };
    let along = line.edge.to() - line.from;
    let length = along.norm();
    if length == 0.0 {
        return [None; 2];
    }
    let toward = along / length;
    let arm = centre - line.from;
    let half = half_chord((arc.from - centre).norm(), toward.perp(&arm));
    let ways = half.map(|half| [-half, half]);
    places(ways, |half| {
        line.from.x + toward.x * (toward.dot(&arm) + half)
    })
}

/// Half of the chord that lies `away_mm` from the centre of a circle; none when it misses the circle.
fn half_chord(radius_mm: f64, away_mm: f64) -> Option<f64> {
    let square = (radius_mm - away_mm) * (radius_mm + away_mm);
    (square >= 0.0).then(|| square.sqrt())
}

fn places(ways: Option<[f64; 2]>, place: impl Fn(f64) -> f64) -> [Option<f64>; 2] {
    ways.map_or([None; 2], |both| both.map(|way| Some(place(way))))
}

fn side_distance(side: &Side, point: Point2<f64>) -> f64 {
    let to = side.edge.to();
    match side.edge {
        LoopEdge::Line { .. } => to_segment(point, side.from, to),
        LoopEdge::Arc { centre, turn, .. } => {
            let (arm, reach) = (side.from - centre, point - centre);
            // Angle from the beginning of the arc to the point, counted the way the arc turns.
            let way = turn.rad().signum();
            let to_point = Angle::between(arm.dot(&reach), arm.perp(&reach)).rad() * way;
            if to_point.rem_euclid(2.0 * PI) <= turn.rad().abs() {
                (reach.norm() - arm.norm()).abs()
            } else {
                (point - side.from).norm().min((point - to).norm())
            }
        }
    }
}

/// First pair of lines of a closed polygon that cross or touch; `None` when the polygon is simple.
///
/// Line n runs from point n to the next. Neighbours may share their corner but not fold back onto
/// each other. Every pair is tried: made for outlines of some thousand points, not millions.
pub fn self_crossing(points: &[Point2<f64>]) -> Option<(usize, usize)> {
    let lines: Vec<(Point2<f64>, Point2<f64>)> = points
        .iter()
        .copied()
        .zip(points.iter().copied().cycle().skip(1))
        .collect();
    for (first, one) in lines.iter().enumerate() {
        for (second, other) in lines.iter().enumerate().skip(first + 1) {
            let follows = second == first + 1;
            let precedes = first == 0 && second + 1 == lines.len();
            let meet = if follows || precedes {
                let (before, after) = if follows { (one, other) } else { (other, one) };
                let (arriving, leaving) = (before.1 - before.0, after.1 - after.0);
                arriving.perp(&leaving) == 0.0 && arriving.dot(&leaving) < 0.0
            } else {
                lines_meet(*one, *other)
            };
            if meet {
                return Some((first, second));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(x: f64, y: f64) -> Point2<f64> {
        Point2::new(x, y)
    }

    #[test]
    fn a_plate_with_a_hole_gives_two_stretches() {
        let loops = [
            Loop::rectangle(at(0.0, 0.0), at(10.0, 6.0)),
            Loop::circle(at(5.0, 3.0), 2.0),
        ];
        assert_eq!(y_intervals(5.0, &loops), [(0.0, 1.0), (5.0, 6.0)]);
        assert_eq!(y_intervals(1.0, &loops), [(0.0, 6.0)]);
        assert_eq!(y_intervals(11.0, &loops), []);
    }

    #[test]
    fn corners_on_the_line_count_once() {
        // Left and right corners of a lozenge, and the line through its top and bottom corner.
        let lozenge = [Loop::polygon(&[
            at(-2.0, 0.0),
            at(0.0, -1.0),
            at(2.0, 0.0),
            at(0.0, 1.0),
        ])];
        assert_eq!(y_intervals(-2.0, &lozenge), []);
        assert_eq!(y_intervals(0.0, &lozenge), [(-1.0, 1.0)]);
        assert_eq!(y_intervals(2.0, &lozenge), []);
        // An edge that lies in the line: the rectangle owns its left edge and not its right one.
        let upright = [Loop::rectangle(at(0.0, 0.0), at(1.0, 1.0))];
        assert_eq!(y_intervals(0.0, &upright), [(0.0, 1.0)]);
        assert_eq!(y_intervals(1.0, &upright), []);
        // Sides of a circle touch the line without lying on both sides of it.
        let circle = [Loop::circle(at(0.0, 0.0), 1.0)];
        assert_eq!(y_intervals(1.0, &circle), []);
        assert_eq!(y_intervals(-1.0, &circle), []);
    }

    #[test]
    fn a_bow_tie_crosses_itself_and_a_square_does_not() {
        let square = [at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0)];
        assert_eq!(self_crossing(&square), None);
        let bow_tie = [at(0.0, 0.0), at(1.0, 1.0), at(1.0, 0.0), at(0.0, 1.0)];
        assert_eq!(self_crossing(&bow_tie), Some((0, 2)));
        let folded = [at(0.0, 0.0), at(2.0, 0.0), at(1.0, 0.0), at(1.0, 1.0)];
        assert_eq!(self_crossing(&folded), Some((0, 1)));
        let folded_last = [
            at(2.0, 0.0),
            at(1.0, 0.0),
            at(1.0, 1.0),
            at(0.0, 1.0),
            at(0.0, 0.0),
        ];
        assert_eq!(self_crossing(&folded_last), Some((0, 4)));
        let touching = [
            at(0.0, 0.0),
            at(4.0, 0.0),
            at(4.0, 2.0),
            at(2.0, 0.0),
            at(0.0, 2.0),
        ];
        assert_eq!(self_crossing(&touching), Some((0, 2)));
        assert_eq!(self_crossing(&[]), None);
    }

    fn any_shape() -> impl Strategy<Value = Loop> {
        let radii = prop::collection::vec(4.0f64..12.0, 3..9);
        (radii, 0.0f64..0.99, -20.0f64..20.0, any::<bool>()).prop_map(
            |(distances, share, shift, turned)| {
                let count = distances.len() as f64;
                let points: Vec<Point2<f64>> = distances
                    .iter()
                    .enumerate()
                    .map(|(index, distance)| {
                        let angle = Angle::deg(360.0 * index as f64 / count);
                        at(shift + distance * angle.cos(), distance * angle.sin())
                    })
                    .collect();
                let mut radii = vec![share * 3.0; points.len()];
                let shape = loop {
                    match Loop::rounded_polygon(&points, &radii) {
                        Ok(shape) => break shape,
                        Err(crate::geometry::RoundingError::DoesNotFit {
                            vertex,
                            largest_mm,
                            ..
                        }) => radii[vertex] = largest_mm * 0.999,
                        Err(other) => panic!("{other}"),
                    }
                };
                if turned { shape.reversed() } else { shape }
            },
        )
    }

    /// Turns of a fine polygon round a point: an independent way to tell inside from outside.
    fn winding(points: &[Point2<f64>], about: Point2<f64>) -> f64 {
        let total: f64 = points
            .iter()
            .zip(points.iter().cycle().skip(1))
            .map(|(a, b)| {
                let (a, b) = (a - about, b - about);
                a.perp(&b).atan2(a.dot(&b))
            })
            .sum();
        (total / (2.0 * PI)).round()
    }

    proptest! {
        #[test]
        fn inside_means_wound_round(shape in any_shape(), x in -35.0f64..35.0, y in -13.0f64..13.0) {
            let point = at(x, y);
            prop_assume!(shape.distance_to(point) > 1e-3);
            let wound = winding(&shape.flattened(1e-5), point) != 0.0;
            prop_assert_eq!(shape.contains(point), wound);
        }

        #[test]
        fn corners_and_arc_ends_never_leave_a_crossing_alone(shape in any_shape()) {
            let xs: Vec<f64> = shape.edges().iter().map(|edge| edge.to().x)
                .chain([shape.bounds().0.x, shape.bounds().1.x]).collect();
            for x in xs {
                prop_assert_eq!(crossings(&shape, x).len() % 2, 0);
                for (low, high) in y_intervals(x, std::slice::from_ref(&shape)) {
                    // Where a line runs along an edge, the middle of a stretch may lie on it.
                    let middle = at(x, f64::midpoint(low, high));
                    prop_assert!(shape.contains(middle) || shape.distance_to(middle) < 1e-9);
                }
            }
        }

        /// Which loop an upright line meets, from below, is the same all over a stretch without a place.
        #[test]
        fn between_the_places_two_loops_keep_their_order(
            one in any_shape(), other in any_shape(), disc in any::<bool>(), up in -9.0f64..9.0
        ) {
            let other = if disc { Loop::circle(at(one.start().x, up), up.abs()) } else { other };
            let order = |x: f64| {
                let mut met: Vec<(f64, usize)> = [&one, &other].into_iter().enumerate()
                    .flat_map(|(which, shape)| crossings(shape, x).into_iter().map(move |y| (y, which)))
                    .collect();
                met.sort_by(|a, b| a.0.total_cmp(&b.0));
                met.into_iter().map(|(_, which)| which).collect::<Vec<_>>()
            };
            let mut breaks = [one.breaks_x(), other.breaks_x(), one.crossings_x(&other)].concat();
            breaks.sort_by(f64::total_cmp);
            for pair in breaks.windows(2).filter(|pair| pair[1] - pair[0] > 1e-6) {
                let part = |share: f64| order(pair[0] + (pair[1] - pair[0]) * share);
                for share in [0.001, 0.3, 0.999] {
                    prop_assert_eq!(part(share), part(0.5));
                }
            }
            let mut back = other.crossings_x(&one);
            let mut there = one.crossings_x(&other);
            back.sort_by(f64::total_cmp);
            there.sort_by(f64::total_cmp);
            prop_assert_eq!(there.len(), back.len());
        }

        #[test]
        fn distance_is_that_to_the_nearest_point(shape in any_shape(), x in -35.0f64..35.0, y in -13.0f64..13.0) {
            let point = at(x, y);
            let nearest = shape.flattened(1e-6).iter()
                .map(|on| (on - point).norm()).fold(f64::MAX, f64::min);
            // Points of the flattening lie on the loop, so none is nearer than the distance.
            prop_assert!(shape.distance_to(point) <= nearest + 1e-9);
            // And no point nearer than the distance has crossed the edge.
            let reach = shape.distance_to(point) * 0.999;
            for quarter in 0..8 {
                let way = Angle::deg(45.0 * f64::from(quarter));
                let near = point + nalgebra::Vector2::new(way.cos(), way.sin()) * reach;
                prop_assert_eq!(shape.contains(near), shape.contains(point));
            }
        }

        #[test]
        fn rounded_stars_do_not_cross_themselves(shape in any_shape()) {
            prop_assert_eq!(self_crossing(&shape.flattened(0.1)), None);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn stretches_add_up_to_the_area(shape in any_shape()) {
            let hole = Loop::circle(shape.start(), 1.5);
            let (low, high) = (shape.bounds().0.x - 2.0, shape.bounds().1.x + 2.0);
            let loops = [shape, hole];
            let strips = 20_000u32;
            let step = (high - low) / f64::from(strips);
            let inside = |of: &[Loop]| -> f64 {
                (0..strips).map(|strip| {
                    let x = low + (f64::from(strip) + 0.5) * step;
                    y_intervals(x, of).iter().map(|(a, b)| b - a).sum::<f64>() * step
                }).sum()
            };
            prop_assert!((inside(&loops[..1]) - loops[0].area_mm2().abs()).abs() < 2e-2);
            // Even-odd: the union less what both share, counted from the loops one by one.
            let both: f64 = (0..strips).map(|strip| {
                let x = low + (f64::from(strip) + 0.5) * step;
                let (one, two) = (y_intervals(x, &loops[..1]), y_intervals(x, &loops[1..]));
                one.iter().flat_map(|a| two.iter().map(move |b| (a.1.min(b.1) - a.0.max(b.0)).max(0.0)))
                    .sum::<f64>() * step
            }).sum();
            let expected = loops[0].area_mm2().abs() + loops[1].area_mm2() - 2.0 * both;
            prop_assert!((inside(&loops) - expected).abs() < 4e-2);
        }
    }
}

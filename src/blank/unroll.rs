//! A closed shape of the plan, laid onto the flat blank.
//!
//! Lines along and across the strip stay exact straight lines, whatever they cross. What lies on a flat
//! keeps its shape exactly. Everything else is cut where one stretch of the strip ends and the next
//! begins, and follows its true curve there as a polyline within a chord error.

use super::flat_map::{FlatMap, MapZone};
use crate::geometry::chain::arc_parts;
use crate::geometry::{Loop, LoopEdge, Side};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};
use std::f64::consts::TAU;

/// Points nearer than this are one point, and lines that drift by less are straight along or across.
const SAME_PLACE_MM: f64 = 1e-9;
/// Shares of an edge nearer than this are one place on it.
const SAME_SHARE: f64 = 1e-12;
/// The curve is compared with a chord at three places only; half the error asked for is allowed there.
const CHECKED_SHARE: f64 = 0.5;
/// An edge is halved no more often: its last parts are then far shorter than [`SAME_PLACE_MM`].
const MOST_HALVINGS: u32 = 48;

/// Lays `shape`, drawn in plan, onto the blank; it keeps its sense of rotation.
///
/// # Units
/// - `chord_error_mm`: how far a polyline may stray from the true curve, above zero
pub(super) fn unrolled(shape: &Loop, map: &FlatMap, chord_error_mm: f64) -> Loop {
    let mut path = Path {
        edges: Vec::new(),
        at: map.on_blank(shape.start()),
    };
    for side in shape.sides() {
        let to = side.edge.to();
        let along = to - side.from;
        let is_line = matches!(side.edge, LoopEdge::Line { .. });
        if is_line && (along.x.abs() <= SAME_PLACE_MM || along.y.abs() <= SAME_PLACE_MM) {
            path.line(map.on_blank(to));
        } else if let Some(zone) = flat_under(&side, map) {
            path.push(side.edge.moved(shift_of(zone)));
        } else {
            curved(&side, map, chord_error_mm, &mut path);
            path.line(map.on_blank(to));
        }
    }
    // A shape always encloses something, so at least one edge is there.
    Loop::from_known_edges(path.edges)
}

/// Edges on the blank so far.
struct Path {
    edges: Vec<LoopEdge>,
    at: Point2<f64>,
}

impl Path {
    fn line(&mut self, to: Point2<f64>) {
        if (to - self.at).norm() > SAME_PLACE_MM {
            self.push(LoopEdge::Line { to });
        }
    }

    fn push(&mut self, edge: LoopEdge) {
        self.at = edge.to();
        self.edges.push(edge);
    }
}

/// How far a flat is moved along the strip.
fn shift_of(zone: &MapZone) -> Vector2<f64> {
    Vector2::new(zone.s_from_mm - zone.x_from_mm, 0.0)
}

/// The flat on which all of an edge lies.
fn flat_under<'a>(side: &Side, map: &'a FlatMap) -> Option<&'a MapZone> {
    let (mut low, mut high) = (side.from.x, side.from.x);
    side.reach(|point| {
        low = low.min(point.x);
        high = high.max(point.x);
    });
    map.zones().iter().find(|zone| {
        zone.keeps_shapes()
            && low >= zone.x_from_mm - SAME_PLACE_MM
            && high <= zone.x_to_mm + SAME_PLACE_MM
    })
}

/// Point at a share of the way along an edge.
fn point_at(side: &Side, share: f64) -> Point2<f64> {
    match side.edge {
        LoopEdge::Line { to } => side.from + (to - side.from) * share,
        LoopEdge::Arc { turn, .. } => side.turned(turn * share),
    }
}

/// Shares of the way at which an edge meets the line across the strip at `x_mm`.
fn shares_at(side: &Side, x_mm: f64) -> Vec<f64> {
    match side.edge {
        LoopEdge::Line { to } => vec![(x_mm - side.from.x) / (to.x - side.from.x)],
        LoopEdge::Arc { centre, turn, .. } => {
            let arm = side.from - centre;
            let Some(meets) = Angle::from_cos((x_mm - centre.x) / arm.norm()) else {
                return Vec::new();
            };
            let begin = Angle::between(arm.x, arm.y).rad();
            [meets.rad(), -meets.rad()]
                .into_iter()
                .map(|at| ((at - begin) * turn.rad().signum()).rem_euclid(TAU) / turn.rad().abs())
                .collect()
        }
    }
}

/// An edge that crosses stretches of the strip or lies in a bend or wall.
fn curved(side: &Side, map: &FlatMap, chord_error_mm: f64, path: &mut Path) {
    let mut cuts: Vec<f64> = map
        .zones()
        .iter()
        .skip(1)
        .flat_map(|zone| shares_at(side, zone.x_from_mm))
        .filter(|share| *share > 0.0 && *share < 1.0)
        .chain([0.0, 1.0])
        .collect();
    cuts.sort_by(f64::total_cmp);
    for pair in cuts.windows(2) {
        let &[from, to] = pair else { continue };
        if to - from <= SAME_SHARE {
            continue;
        }
        let middle = point_at(side, f64::midpoint(from, to));
        if let Some(zone) = map.zone_at_x(middle.x) {
            stretch(side, (from, to), zone, chord_error_mm, path);
        }
    }
}

/// The part of an edge, between two shares of its way, that lies on one stretch of the strip.
fn stretch(
    side: &Side,
    (from, to): (f64, f64),
    zone: &MapZone,
    chord_error_mm: f64,
    path: &mut Path,
) {
    let place = |share: f64| {
        let plan = point_at(side, share);
        Point2::new(zone.s_of_x(plan.x), plan.y)
    };
    // Past a vertical wall, which has no share of the plan, this line is the wall.
    path.line(place(from));
    match side.edge {
        LoopEdge::Line { .. } if zone.keeps_lines_straight() => path.line(place(to)),
        LoopEdge::Arc { centre, turn, .. } if zone.keeps_shapes() => {
            path.push(LoopEdge::Arc {
                to: place(to),
                centre: centre + shift_of(zone),
                turn: turn * (to - from),
            });
        }
        LoopEdge::Line { .. } | LoopEdge::Arc { .. } => {
            let parts = match side.edge {
                LoopEdge::Line { .. } => 1,
                LoopEdge::Arc { centre, turn, .. } => {
                    let radius_mm = (side.from - centre).norm();
                    arc_parts(radius_mm, turn * (to - from), chord_error_mm)
                }
            };
            let share = |part: u32| from + (to - from) * f64::from(part) / f64::from(parts);
            for part in 0..parts {
                halved(
                    &place,
                    (share(part), share(part + 1)),
                    chord_error_mm * CHECKED_SHARE,
                    MOST_HALVINGS,
                    path,
                );
            }
        }
    }
}

/// Adds chords from the path's end to `to`, halving until the curve lies within `error_mm` of them.
fn halved(
    place: &impl Fn(f64) -> Point2<f64>,
    (from, to): (f64, f64),
    error_mm: f64,
    halvings_left: u32,
    path: &mut Path,
) {
    let (begin, end) = (place(from), place(to));
    let strays = [0.25, 0.5, 0.75]
        .into_iter()
        .any(|share| distance_to_chord(place(from + (to - from) * share), begin, end) > error_mm);
    if strays && halvings_left > 0 {
        let middle = f64::midpoint(from, to);
        halved(place, (from, middle), error_mm, halvings_left - 1, path);
        halved(place, (middle, to), error_mm, halvings_left - 1, path);
    } else {
        path.line(end);
    }
}

fn distance_to_chord(point: Point2<f64>, begin: Point2<f64>, end: Point2<f64>) -> f64 {
    let (along, reach) = (end - begin, point - begin);
    let squared = along.norm_squared();
    let share = if squared > 0.0 {
        (reach.dot(&along) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (reach - along * share).norm()
}

#[cfg(test)]
mod tests {
    use super::super::sample::{Stair, stairs};
    use super::*;
    use crate::geometry::self_crossing;
    use crate::stock::KRule;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    fn map(stair: &Stair) -> FlatMap {
        FlatMap::new(&stair.part(), &KRule::Explicit(0.4))
    }

    /// Two flats of 10 mm, 60 degree step between x = 10 and about 14.
    fn step() -> FlatMap {
        map(&Stair::two_flats(4.0, 60.0))
    }

    #[test]
    fn a_rectangle_across_everything_keeps_four_edges() {
        let map = step();
        let shape = Loop::rectangle(Point2::new(2.0, 1.0), Point2::new(18.0, 9.0));
        let flat = unrolled(&shape, &map, 0.005);
        assert_eq!(flat.edges().len(), 4);
        assert_abs_diff_eq!(
            flat.area_mm2(),
            8.0 * map.length_between_mm(2.0, 18.0),
            epsilon = 1e-9
        );
    }

    #[test]
    fn a_circle_on_a_flat_stays_a_circle() {
        let map = step();
        let beyond = map.zones()[4];
        let centre = Point2::new(beyond.x_from_mm + 5.0, 5.0);
        let flat = unrolled(&Loop::circle(centre, 1.6), &map, 0.005);
        let (at, radius_mm) = flat.as_circle().unwrap();
        assert_abs_diff_eq!(radius_mm, 1.6, epsilon = 1e-12);
        assert_abs_diff_eq!(at.x, beyond.s_from_mm + 5.0, epsilon = 1e-12);
        assert_abs_diff_eq!(at.y, 5.0, epsilon = 1e-12);
    }

    #[test]
    fn a_circle_half_on_a_flat_keeps_that_half_as_an_arc() {
        let map = step();
        let flat = unrolled(&Loop::circle(Point2::new(10.0, 5.0), 0.8), &map, 0.005);
        let (arcs, lines): (Vec<&LoopEdge>, Vec<&LoopEdge>) = flat
            .edges()
            .iter()
            .partition(|edge| matches!(edge, LoopEdge::Arc { .. }));
        let turned: f64 = arcs
            .iter()
            .map(|edge| match edge {
                LoopEdge::Arc { turn, .. } => turn.degrees(),
                LoopEdge::Line { .. } => 0.0,
            })
            .sum();
        assert_abs_diff_eq!(turned, 180.0, epsilon = 1e-9);
        assert!(lines.len() > 4);
        assert!(Loop::from_edges(flat.edges().to_vec()).is_ok());
    }

    #[test]
    fn a_slanted_line_on_a_wall_stays_one_line() {
        // Step of 45 degrees with a long wall; a triangle wholly on it becomes a longer triangle.
        let map = map(&Stair::two_flats(12.0, 45.0));
        let wall = map.zones()[2];
        let x = wall.x_from_mm;
        let shape = Loop::polygon(&[
            Point2::new(x + 1.0, 2.0),
            Point2::new(x + 5.0, 2.0),
            Point2::new(x + 3.0, 6.0),
        ]);
        let flat = unrolled(&shape, &map, 0.005);
        assert_eq!(flat.edges().len(), 3);
        assert_abs_diff_eq!(
            flat.area_mm2(),
            shape.area_mm2() * std::f64::consts::SQRT_2,
            epsilon = 1e-9
        );
    }

    #[test]
    fn a_shape_over_a_vertical_wall_gets_the_whole_wall() {
        // Rise 5, S = 3: the wall is 2 mm high and takes no plan.
        let map = map(&Stair::two_flats(5.0, 90.0));
        let wall = map.zones()[2];
        for centre in [wall.x_from_mm, wall.x_from_mm + 0.3, wall.x_from_mm - 2.0] {
            let flat = unrolled(&Loop::circle(Point2::new(centre, 5.0), 2.5), &map, 0.005);
            assert_eq!(self_crossing(&flat.flattened(0.01)), None);
            // At the beginning and the end of the wall it is as wide as the circle is there.
            let across = wall.x_from_mm - centre;
            let width = 2.0 * (2.5f64 * 2.5 - across * across).sqrt();
            for s in [wall.s_from_mm + 1e-6, wall.s_to_mm - 1e-6] {
                let [(low, high)] =
                    crate::geometry::y_intervals(s, std::slice::from_ref(&flat))[..]
                else {
                    panic!("one stretch at {s}")
                };
                assert_abs_diff_eq!(high - low, width, epsilon = 1e-3);
            }
        }
        // A shape that ends at the wall ends at the wall's beginning.
        let shape = Loop::rectangle(Point2::new(2.0, 1.0), Point2::new(wall.x_from_mm, 3.0));
        let flat = unrolled(&shape, &map, 0.005);
        assert_abs_diff_eq!(flat.bounds().1.x, wall.s_from_mm, epsilon = 1e-9);
    }

    #[test]
    fn the_chord_error_is_kept_at_every_setting() {
        // Independent of the chords: the true place of a point of the circle, by the map alone.
        let map = step();
        let circle = Loop::circle(Point2::new(12.0, 5.0), 3.5);
        for exponent in 1..=10i32 {
            let chord_error_mm = 10f64.powi(-exponent);
            let flat = unrolled(&circle, &map, chord_error_mm);
            // The finest settings have many chords; fewer places keep the check quick.
            let places = if exponent < 7 { 720u32 } else { 36 };
            for number in 0..places {
                let at = Angle::deg((f64::from(number) + 0.37) * 360.0 / f64::from(places));
                let plan = Point2::new(12.0 + 3.5 * at.cos(), 5.0 + 3.5 * at.sin());
                let off_mm = flat.distance_to(map.on_blank(plan));
                assert!(
                    off_mm <= chord_error_mm + 1e-12,
                    "{off_mm} of {chord_error_mm}"
                );
            }
        }
    }

    proptest! {
        #[test]
        fn any_polygon_stays_simple_and_keeps_its_sense(
            stair in stairs(),
            reaches in prop::collection::vec((0.2f64..1.0, 0.0f64..1.0), 5..12),
        ) {
            let part = stair.part();
            let map = FlatMap::new(&part, &part.sheet.k_rule);
            let (low, high) = part.profile.extent_mm();
            let (middle, half) = (f64::midpoint(low, high), (high - low) / 2.0);
            let count = reaches.len() as f64;
            // A star about the middle: any corner distances, corners in order of their angle.
            let points: Vec<Point2<f64>> = reaches.iter().enumerate().map(|(index, (reach, shift))| {
                let at = Angle::deg(360.0 * (index as f64 + 0.8 * shift) / count);
                Point2::new(middle + half * reach * at.cos(), 8.0 * reach * at.sin())
            }).collect();
            let shape = Loop::polygon(&points);
            let flat = unrolled(&shape, &map, 0.005);
            prop_assert!(Loop::from_edges(flat.edges().to_vec()).is_ok());
            prop_assert_eq!(self_crossing(&flat.flattened(0.01)), None);
            prop_assert!(flat.area_mm2() > 0.0);
            for edge in flat.edges() {
                prop_assert!(edge.to().x >= map.s_of_x(low) - 1e-9);
                prop_assert!(edge.to().x <= map.s_of_x(high) + 1e-9);
            }
            // Corners lie where the map puts them.
            for point in &points {
                prop_assert!(flat.distance_to(map.on_blank(*point)) < 1e-9);
            }
        }

        #[test]
        fn the_area_is_the_sum_of_stretched_strips(
            stair in stairs(), share in 0.1f64..0.9, radius in 0.5f64..6.0,
        ) {
            let part = stair.part();
            let map = FlatMap::new(&part, &part.sheet.k_rule);
            let (low, high) = part.profile.extent_mm();
            let centre = low + (high - low) * share;
            let flat = unrolled(&Loop::circle(Point2::new(centre, 0.0), radius), &map, 1e-4);
            // Own sum over thin strips of the blank: width of the circle at the plan place of each.
            let (from, to) = (map.s_of_x(centre - radius), map.s_of_x(centre + radius));
            let strips = 20_000u32;
            let step = (to - from) / f64::from(strips);
            let area: f64 = (0..strips).map(|strip| {
                let x = map.x_of_s(from + step * (f64::from(strip) + 0.5));
                2.0 * (radius * radius - (x - centre).powi(2)).max(0.0).sqrt() * step
            }).sum();
            // Chord error times perimeter, and the strips' own error.
            prop_assert!((flat.area_mm2() - area).abs() < 1e-4 * flat.perimeter_mm() + 1e-2);
        }
    }
}

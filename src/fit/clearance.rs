//! Shortest distance from a standing prism (a component, an obstacle) to the metal, in any direction.
//!
//! The metal is followed along underside, mid-thickness and top side. At each place along x the distance
//! in plan is exact; along x the best of many places is refined by golden section. Accuracy: 1e-4 mm on
//! smooth faces; on a cut edge that only its middle faces, a quarter of the thickness at worst.

use super::gap::Metal;
use crate::geometry::{Chain, Footprint, Piece, y_intervals};

/// Places looked at along each piece before refining.
const PLACES_PER_PIECE: u32 = 24;
/// Steps to each side of an edge where metal begins.
const BESIDE_EDGE_MM: f64 = 1e-7;
/// Golden section steps: each keeps 0.618 of the interval.
const REFINEMENTS: u32 = 48;
/// Fineness of cut edges for distances in plan.
const EDGE_CHORD_MM: f64 = 0.005;

/// Shortest distance between metal and the prism over `footprint` from `z.0` to `z.1`; 0 when they touch.
///
/// Infinite when there is no metal at all.
pub fn shortest(footprint: &Footprint, z: (f64, f64), metal: &Metal) -> f64 {
    let mut best = f64::INFINITY;
    for (area, underside_mm) in &metal.extensions {
        best = best.min(to_extension(footprint, z, area, *underside_mm));
    }
    let (low, high) = footprint.bounds();
    for chain in [
        &metal.profile.underside,
        &metal.profile.topside,
        &metal.profile.mid,
    ] {
        best = along(chain, footprint, z, metal, (low.x, high.x), best);
    }
    best
}

fn to_extension(
    footprint: &Footprint,
    (bottom, top): (f64, f64),
    area: &Footprint,
    underside_mm: f64,
) -> f64 {
    // The extension plate reaches up to the plate above it, so only its underside counts from below.
    let down = (underside_mm - top).max(0.0);
    let _ = bottom;
    let (low, high) = area.bounds();
    let at = |x: f64| footprint.distance_to_stretch(x, low.y, high.y);
    libm::hypot(golden(at, low.x, high.x), down)
}

fn along(
    chain: &Chain,
    footprint: &Footprint,
    z: (f64, f64),
    metal: &Metal,
    (from_x, to_x): (f64, f64),
    mut best: f64,
) -> f64 {
    for piece in chain.pieces() {
        let (a, b) = (piece.start.point.x, piece.end.point.x);
        // Nothing of this piece can be nearer than what is known.
        if a - to_x > best || from_x - b > best {
            continue;
        }
        if b - a < BESIDE_EDGE_MM {
            let (low, high) = ordered(piece.start.point.y, piece.end.point.y);
            let down = (low - z.1).max(z.0 - high).max(0.0);
            let beside = in_plan(footprint, metal, f64::midpoint(a, b));
            best = best.min(libm::hypot(beside, down));
            continue;
        }
        let distance = |x: f64| distance_at(&piece, x, footprint, z, metal);
        let mut places: Vec<f64> = (0..=PLACES_PER_PIECE)
            .map(|i| a + (b - a) * f64::from(i) / f64::from(PLACES_PER_PIECE))
            .chain(
                metal
                    .breaks_x
                    .iter()
                    .chain(&footprint.breaks_x())
                    .flat_map(|x| [x - BESIDE_EDGE_MM, *x, x + BESIDE_EDGE_MM])
                    .filter(|x| (a..=b).contains(x)),
            )
            .collect();
        places.sort_by(f64::total_cmp);
        let found: Vec<f64> = places.iter().map(|x| distance(*x)).collect();
        let Some((index, nearest)) = found
            .iter()
            .enumerate()
            .min_by(|one, other| one.1.total_cmp(other.1))
        else {
            continue;
        };
        best = best.min(*nearest);
        let before = places.get(index.saturating_sub(1)).copied().unwrap_or(a);
        let after = places.get(index + 1).copied().unwrap_or(b);
        best = best.min(golden(distance, before, after));
    }
    best
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    (a.min(b), a.max(b))
}

fn distance_at(
    piece: &Piece,
    x: f64,
    footprint: &Footprint,
    (bottom, top): (f64, f64),
    metal: &Metal,
) -> f64 {
    let height = piece.height_at(x);
    let down = (height - top).max(bottom - height).max(0.0);
    libm::hypot(in_plan(footprint, metal, x), down)
}

/// Distance in plan to the metal on the line x = `x`; infinite when there is none.
fn in_plan(footprint: &Footprint, metal: &Metal, x: f64) -> f64 {
    y_intervals(x, &metal.loops)
        .into_iter()
        .map(|(low, high)| footprint.distance_to_stretch(x, low, high))
        .fold(f64::INFINITY, f64::min)
}

/// Least value on an interval on which the function has one valley.
fn golden(value: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const KEPT: f64 = 0.618_033_988_749_894_8;
    let mut left = high - KEPT * (high - low);
    let mut right = low + KEPT * (high - low);
    let (mut at_left, mut at_right) = (value(left), value(right));
    let mut best = at_left.min(at_right).min(value(low)).min(value(high));
    for _ in 0..REFINEMENTS {
        if at_left < at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - KEPT * (high - low);
            at_left = value(left);
            best = best.min(at_left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + KEPT * (high - low);
            at_right = value(right);
            best = best.min(at_right);
        }
    }
    best
}

/// Distance in plan from a footprint to the nearest cut edge of the plate; 0 when an edge crosses it.
pub fn to_edges(footprint: &Footprint, metal: &Metal) -> f64 {
    let mut best = f64::INFINITY;
    for shape in &metal.loops {
        let points = shape.flattened(EDGE_CHORD_MM);
        let next = points.iter().cycle().skip(1);
        for (from, to) in points.iter().zip(next) {
            best = best.min(footprint.distance_to_segment(*from, *to));
        }
    }
    best
}

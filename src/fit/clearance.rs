//! Shortest distance from a standing prism (a component, an obstacle) to the metal, in any direction.
//!
//! Along x the metal is cut into slabs in which nothing changes its nature. At one x the distance is
//! exact: in plan from the footprint to the metal's stretch along y, upright from the prism to the sheet
//! between its two sides. Within a slab it is looked at in a few places; where it may dip between
//! two of them, golden section finds the lowest.

use super::metal::{ExtensionBlock, LEAST_SLAB_MM, PlateMetal};
use crate::geometry::{Footprint, Piece, y_intervals};

/// Parts of a slab between the places looked at before refining.
const PARTS_PER_SLAB: u32 = 8;
/// How far inside a slab its end is looked at in plan: an edge that begins or ends there has two answers.
const INSIDE_SLAB_MM: f64 = 1e-10;
/// Distances that differ by less count as equal.
const EQUAL_MM: f64 = 1e-12;
/// Share of a part by which one looks beside a place, to see which way the distance falls.
const BESIDE: f64 = 1e-6;
/// Golden section steps: each keeps 0.618 of the interval.
const REFINEMENTS: u32 = 48;
/// Fineness of cut edges for distances in plan.
const EDGE_CHORD_MM: f64 = 0.005;

/// Shortest distance between metal and the prism over `footprint` from `z.0` to `z.1`; 0 when they touch.
///
/// Infinite when there is no metal at all.
pub fn shortest(footprint: &Footprint, z: (f64, f64), metal: &PlateMetal) -> f64 {
    let breaks = metal.breaks_with(footprint);
    let mut slabs: Vec<Slab<'_>> = breaks
        .windows(2)
        .filter_map(|pair| match *pair {
            [from, to] if to - from > LEAST_SLAB_MM => Slab::between(from, to, footprint, z, metal),
            _ => None,
        })
        .collect();
    slabs.sort_by(|one, other| one.at_least_mm.total_cmp(&other.at_least_mm));
    let mut best = metal
        .extensions
        .iter()
        .map(|extension| to_extension(footprint, z, extension))
        .fold(f64::INFINITY, f64::min);
    for slab in slabs {
        if slab.at_least_mm >= best {
            break;
        }
        best = slab.nearest(best);
    }
    best
}

fn to_extension(footprint: &Footprint, z: (f64, f64), extension: &ExtensionBlock) -> f64 {
    let (low, high) = extension.area.bounds();
    // Both parts have one valley along x and rise ever more steeply from it, and so has what they make together.
    let distance = |x: f64| {
        libm::hypot(
            footprint.distance_to_stretch(x, low.y, high.y),
            apart(z, extension.sides_at(x)),
        )
    };
    golden(distance, low.x, high.x)
}

/// Distance between two stretches of one line; 0 when they overlap.
fn apart(one: (f64, f64), other: (f64, f64)) -> f64 {
    (other.0 - one.1).max(one.0 - other.1).max(0.0)
}

/// Metal between two places along x, as one prism sees it.
struct Slab<'a> {
    from: f64,
    to: f64,
    underside: &'a Piece,
    topside: &'a Piece,
    footprint: &'a Footprint,
    /// Lower and upper end of the prism.
    z: (f64, f64),
    metal: &'a PlateMetal,
    /// No metal of the slab is nearer.
    at_least_mm: f64,
}

impl<'a> Slab<'a> {
    fn between(
        from: f64,
        to: f64,
        footprint: &'a Footprint,
        z: (f64, f64),
        metal: &'a PlateMetal,
    ) -> Option<Self> {
        let middle = f64::midpoint(from, to);
        let over = |piece: &&Piece| (piece.start.point.x..=piece.end.point.x).contains(&middle);
        let mut slab = Self {
            from,
            to,
            underside: metal.underside.iter().map(|(piece, _)| piece).find(over)?,
            topside: metal.topside.iter().find(over)?,
            footprint,
            z,
            metal,
            at_least_mm: 0.0,
        };
        slab.at_least_mm = slab.at_least(from, to);
        Some(slab)
    }

    /// What no metal between two places of the slab can be nearer than.
    fn at_least(&self, from: f64, to: f64) -> f64 {
        let (low, high) = self.footprint.bounds();
        let lowest = self
            .underside
            .height_at(from)
            .min(self.underside.height_at(to));
        let highest = self.topside.height_at(from).max(self.topside.height_at(to));
        libm::hypot(
            apart((low.x, high.x), (from, to)),
            apart(self.z, (lowest, highest)),
        )
    }

    /// Distance at one x; infinite when there is no metal.
    fn distance(&self, x: f64) -> f64 {
        let inside = x
            .max(self.from + INSIDE_SLAB_MM)
            .min(self.to - INSIDE_SLAB_MM);
        let in_plan = y_intervals(inside, &self.metal.loops)
            .into_iter()
            .map(|(low, high)| self.footprint.distance_to_stretch(inside, low, high))
            .fold(f64::INFINITY, f64::min);
        let sheet = (self.underside.height_at(x), self.topside.height_at(x));
        libm::hypot(in_plan, apart(self.z, sheet))
    }

    /// The shortest distance of the slab, or `best` when that is shorter.
    fn nearest(&self, mut best: f64) -> f64 {
        let step = (self.to - self.from) / f64::from(PARTS_PER_SLAB);
        let places: Vec<(f64, f64)> = (0..=PARTS_PER_SLAB)
            .map(|number| (self.from + step * f64::from(number)).min(self.to))
            .map(|x| (x, self.distance(x)))
            .collect();
        best = places.iter().fold(best, |best, (_, at)| best.min(*at));
        for pair in places.windows(2) {
            if let [from, to] = *pair
                && self.at_least(from.0, to.0) < best
                && self.may_dip(from, to, step * BESIDE)
            {
                best = best.min(golden(|x| self.distance(x), from.0, to.0));
            }
        }
        best
    }

    /// Whether the distance may be lower between two places than at both: it rises from neither towards
    /// the other, and is not level.
    fn may_dip(&self, from: (f64, f64), to: (f64, f64), beside: f64) -> bool {
        let rise_from = self.distance(from.0 + beside) - from.1;
        let rise_to = self.distance(to.0 - beside) - to.1;
        let level = [rise_from, rise_to, to.1 - from.1]
            .iter()
            .all(|rise| rise.abs() <= EQUAL_MM);
        rise_from <= EQUAL_MM && rise_to <= EQUAL_MM && !level
    }
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
pub fn to_edges(footprint: &Footprint, metal: &PlateMetal) -> f64 {
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

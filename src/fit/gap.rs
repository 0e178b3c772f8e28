//! Vertical gap over a footprint: plate, bends, walls and extension plates that face it.
//!
//! The covered area is cut into slabs along x in which nothing changes its nature; in each slab the gap
//! is integrated by five-point Gauss quadrature, and its extremes lie at the slab's ends, because flats,
//! bends and walls only rise or only fall within a slab.

use super::metal::{LEAST_SLAB_MM, PlateMetal};
use crate::geometry::{Footprint, y_intervals};
use crate::part::ZoneKind;
use nalgebra::Point2;

/// Slabs are no wider than this share of the footprint, so that the quadrature follows curved edges.
const SLABS_PER_FOOTPRINT: f64 = 32.0;
/// Where an extreme of a slab is drawn: this share of its half width from the middle.
const BESIDE_END: f64 = 1.0 - 1e-6;

/// Gauss-Legendre nodes and weights on -1..1, five points.
/// Source: Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.4, n = 5 (from memory;
/// the test integrates a polynomial of degree nine with them exactly).
const GAUSS: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// What faces a component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facing {
    /// The plate itself.
    Zone(ZoneKind),
    /// An extension plate, by number.
    Extension(usize),
}

/// Gap over the covered part of a footprint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covered {
    /// Covered area.
    pub area_mm2: f64,
    /// Smallest gap.
    pub min_mm: f64,
    /// Where it is.
    pub min_at: Point2<f64>,
    /// What faces the component there.
    pub facing: Facing,
    /// Mean gap.
    pub mean_mm: f64,
    /// Largest gap.
    pub max_mm: f64,
    /// What faces the component there.
    pub facing_max: Facing,
}

/// Gap between the top of a footprint at `top_mm` and the metal above it; `None` when nothing is above.
pub fn over(footprint: &Footprint, top_mm: f64, metal: &PlateMetal) -> Option<Covered> {
    let (low, high) = footprint.bounds();
    let mut breaks = metal.breaks_with(footprint);
    breaks.retain(|x| (low.x..=high.x).contains(x));
    let step = (high.x - low.x) / SLABS_PER_FOOTPRINT;
    let mut x = low.x;
    while x < high.x {
        breaks.push(x);
        x += step.max(LEAST_SLAB_MM);
    }
    breaks.push(high.x);
    breaks.sort_by(f64::total_cmp);

    let mut total = Total::default();
    for pair in breaks.windows(2) {
        if let [from, to] = *pair
            && to - from > LEAST_SLAB_MM
        {
            slab(footprint, top_mm, metal, (from, to), &mut total);
        }
    }
    total.finished()
}

#[derive(Default)]
struct Total {
    area_mm2: f64,
    volume_mm3: f64,
    least: Option<(f64, Point2<f64>, Facing)>,
    most: Option<(f64, Facing)>,
}

impl Total {
    fn take(&mut self, gap_mm: f64, facing: Facing, at: impl FnOnce() -> Point2<f64>) {
        if self.least.is_none_or(|(least, ..)| gap_mm < least) {
            self.least = Some((gap_mm, at(), facing));
        }
        if self.most.is_none_or(|(most, _)| gap_mm > most) {
            self.most = Some((gap_mm, facing));
        }
    }

    fn finished(self) -> Option<Covered> {
        let (min_mm, min_at, facing) = self.least?;
        let (max_mm, facing_max) = self.most?;
        (self.area_mm2 > 0.0).then_some(Covered {
            area_mm2: self.area_mm2,
            min_mm,
            min_at,
            facing,
            mean_mm: self.volume_mm3 / self.area_mm2,
            max_mm,
            facing_max,
        })
    }
}

fn slab(
    footprint: &Footprint,
    top_mm: f64,
    metal: &PlateMetal,
    (from, to): (f64, f64),
    total: &mut Total,
) {
    let middle = f64::midpoint(from, to);
    let half = (to - from) / 2.0;
    let zone = metal
        .underside
        .iter()
        .find(|(piece, _)| (piece.start.point.x..=piece.end.point.x).contains(&middle));
    let facing_at = |under: Option<usize>, x: f64| match under {
        Some(number) => metal
            .extensions
            .get(number)
            .map(|extension| (extension.sides_at(x).0, Facing::Extension(number))),
        None => zone.map(|(piece, kind)| (piece.height_at(x), Facing::Zone(*kind))),
    };
    for (node, weight) in GAUSS {
        let x = middle + half * node;
        for stretch in stretches_at(footprint, metal, x) {
            if let Some((underside, _)) = facing_at(stretch.under, x) {
                let area = weight * half * (stretch.high - stretch.low);
                total.area_mm2 += area;
                total.volume_mm3 += area * (underside - top_mm);
            }
        }
    }
    for (index, stretch) in stretches_at(footprint, metal, middle).iter().enumerate() {
        for end in [from, to] {
            if let Some((underside, facing)) = facing_at(stretch.under, end) {
                // The same stretch lies over the whole slab, but not at the same y.
                total.take(underside - top_mm, facing, || {
                    let beside = middle + (end - middle) * BESIDE_END;
                    let there = stretches_at(footprint, metal, beside);
                    let there = there.get(index).unwrap_or(stretch);
                    Point2::new(end, f64::midpoint(there.low, there.high))
                });
            }
        }
    }
}

/// A covered stretch along y.
pub struct GapStretch {
    /// Front end.
    pub low: f64,
    /// Back end.
    pub high: f64,
    /// Number of the extension plate that covers it; `None` under the bare plate.
    pub under: Option<usize>,
}

/// Covered stretches at `x`: under extension plates, and under the bare plate.
pub fn stretches_at(footprint: &Footprint, metal: &PlateMetal, x: f64) -> Vec<GapStretch> {
    let Some((from, to)) = footprint.y_interval(x) else {
        return Vec::new();
    };
    let clip = |(low, high): (f64, f64)| {
        let (low, high) = (low.max(from), high.min(to));
        (high > low).then_some((low, high))
    };
    let mut plate: Vec<(f64, f64)> = y_intervals(x, &metal.loops)
        .into_iter()
        .filter_map(clip)
        .collect();
    let mut stretches = Vec::new();
    for (number, extension) in metal.extensions.iter().enumerate() {
        let Some((low, high)) = extension.area.y_interval(x).and_then(clip) else {
            continue;
        };
        stretches.push(GapStretch {
            low,
            high,
            under: Some(number),
        });
        plate = plate
            .into_iter()
            .flat_map(|(a, b)| [(a, b.min(low)), (a.max(high), b)])
            .filter(|(a, b)| b > a)
            .collect();
    }
    stretches.extend(plate.into_iter().map(|(low, high)| GapStretch {
        low,
        high,
        under: None,
    }));
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn five_points_integrate_degree_nine_exactly() {
        for degree in 0..=9 {
            let sum: f64 = GAUSS.iter().map(|(x, w)| w * x.powi(degree)).sum();
            let exact = if degree % 2 == 0 {
                2.0 / f64::from(degree + 1)
            } else {
                0.0
            };
            assert_relative_eq!(sum, exact, epsilon = 1e-14);
        }
    }
}

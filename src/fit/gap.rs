//! Vertical gap over a footprint: plate, bends, walls and extension plates that face it.
//!
//! The covered area is cut into slabs along x in which nothing changes its nature; in each slab the gap
//! is integrated by five-point Gauss quadrature, and its extremes lie at the slab's ends, because flats,
//! bends and walls only rise or only fall within a slab.

use crate::geometry::{Footprint, Loop, Piece, y_intervals};
use crate::part::{FormedProfile, Part, ZoneKind};
use nalgebra::Point2;

/// Where a curved edge enters a slab is not resolved finer than this share of the footprint.
const SLABS_PER_FOOTPRINT: f64 = 32.0;
/// Slabs narrower than this are nothing.
const LEAST_SLAB_MM: f64 = 1e-9;

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

/// All metal of a part, ready for questions.
pub struct Metal {
    /// Formed strip.
    pub profile: FormedProfile,
    /// Pieces of the underside that advance in x, with what they are.
    pub underside: Vec<(Piece, ZoneKind)>,
    /// Outline and holes; inside by the even-odd rule.
    pub loops: Vec<Loop>,
    /// Places along x where the outline or a hole has a corner or an extreme.
    pub breaks_x: Vec<f64>,
    /// Extension plates: area and underside height.
    pub extensions: Vec<(Footprint, f64)>,
}

impl Metal {
    /// Collects the metal of a part.
    pub fn of(part: &Part) -> Self {
        let loops = part.metal_loops();
        let mut breaks_x: Vec<f64> = loops
            .iter()
            .flat_map(|shape| {
                let (low, high) = shape.bounds();
                shape
                    .sides()
                    .map(|side| side.from.x)
                    .chain([low.x, high.x])
                    .collect::<Vec<_>>()
            })
            .collect();
        breaks_x.sort_by(f64::total_cmp);
        breaks_x.dedup();
        let kinds = part.profile.zones.iter().map(|zone| zone.kind);
        Self {
            underside: part.profile.underside.pieces().zip(kinds).collect(),
            profile: part.profile.clone(),
            loops,
            breaks_x,
            extensions: part
                .extensions
                .iter()
                .map(|extension| (extension.footprint.clone(), extension.underside_mm))
                .collect(),
        }
    }
}

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
}

/// Gap between the top of a footprint at `top_mm` and the metal above it; `None` when nothing is above.
pub fn over(footprint: &Footprint, top_mm: f64, metal: &Metal) -> Option<Covered> {
    let (low, high) = footprint.bounds();
    let mut breaks: Vec<f64> = footprint
        .breaks_x()
        .into_iter()
        .chain(metal.breaks_x.iter().copied())
        .chain(
            metal
                .underside
                .iter()
                .flat_map(|(piece, _)| [piece.start.point.x, piece.end.point.x]),
        )
        .chain(
            metal
                .extensions
                .iter()
                .flat_map(|(area, _)| area.breaks_x()),
        )
        .filter(|x| (low.x..=high.x).contains(x))
        .collect();
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
    most: Option<f64>,
}

impl Total {
    fn take(&mut self, gap_mm: f64, at: Point2<f64>, facing: Facing) {
        if self.least.is_none_or(|(least, ..)| gap_mm < least) {
            self.least = Some((gap_mm, at, facing));
        }
        self.most = Some(self.most.map_or(gap_mm, |most| most.max(gap_mm)));
    }

    fn finished(self) -> Option<Covered> {
        let (min_mm, min_at, facing) = self.least?;
        (self.area_mm2 > 0.0).then_some(Covered {
            area_mm2: self.area_mm2,
            min_mm,
            min_at,
            facing,
            mean_mm: self.volume_mm3 / self.area_mm2,
            max_mm: self.most?,
        })
    }
}

fn slab(
    footprint: &Footprint,
    top_mm: f64,
    metal: &Metal,
    (from, to): (f64, f64),
    total: &mut Total,
) {
    let middle = f64::midpoint(from, to);
    let half = (to - from) / 2.0;
    let zone = metal
        .underside
        .iter()
        .find(|(piece, _)| (piece.start.point.x..=piece.end.point.x).contains(&middle));
    for (node, weight) in GAUSS {
        let x = middle + half * node;
        let stretches = stretches_at(footprint, metal, x);
        for (facing, low, high) in &stretches {
            let underside = match facing {
                Facing::Extension(number) => {
                    metal.extensions.get(*number).map(|(_, height)| *height)
                }
                Facing::Zone(_) => zone.map(|(piece, _)| piece.height_at(x)),
            };
            if let Some(underside) = underside {
                let area = weight * half * (high - low);
                total.area_mm2 += area;
                total.volume_mm3 += area * (underside - top_mm);
            }
        }
        if node == 0.0 {
            for (facing, low, high) in stretches {
                let y = f64::midpoint(low, high);
                match (facing, zone) {
                    (Facing::Extension(number), _) => {
                        if let Some((_, height)) = metal.extensions.get(number) {
                            total.take(height - top_mm, Point2::new(x, y), facing);
                        }
                    }
                    (Facing::Zone(_), Some((piece, kind))) => {
                        for end in [from, to] {
                            let gap_mm = piece.height_at(end) - top_mm;
                            total.take(gap_mm, Point2::new(end, y), Facing::Zone(*kind));
                        }
                    }
                    (Facing::Zone(_), None) => {}
                }
            }
        }
    }
}

/// Covered stretches at `x`: under extension plates, and under the bare plate.
fn stretches_at(footprint: &Footprint, metal: &Metal, x: f64) -> Vec<(Facing, f64, f64)> {
    let Some((from, to)) = footprint.y_interval(x) else {
        return Vec::new();
    };
    let clip = |low: f64, high: f64| {
        let (low, high) = (low.max(from), high.min(to));
        (high > low).then_some((low, high))
    };
    let mut plate: Vec<(f64, f64)> = y_intervals(x, &metal.loops)
        .into_iter()
        .filter_map(|(low, high)| clip(low, high))
        .collect();
    let mut stretches = Vec::new();
    for (number, (area, _)) in metal.extensions.iter().enumerate() {
        let Some((low, high)) = area.y_interval(x).and_then(|(low, high)| clip(low, high)) else {
            continue;
        };
        stretches.push((Facing::Extension(number), low, high));
        plate = plate
            .into_iter()
            .flat_map(|(a, b)| [(a, b.min(low)), (a.max(high), b)])
            .filter(|(a, b)| b > a)
            .collect();
    }
    // The zone is the caller's: within one slab it is the same for every stretch.
    stretches.extend(
        plate
            .into_iter()
            .map(|(low, high)| (Facing::Zone(ZoneKind::Flat(0)), low, high)),
    );
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

//! What is measured on the pressed strip, as a person would: directions of flats and walls, rises, inside radii.
//!
//! Every place is one of the material: length along the blank. A strip that has slid in the die is measured
//! where the die has bent it, [`bent_at_mm`].

use super::shape::{Straight, rise_mm, straight};
use super::strip::{Strip, StripState};
use crate::geometry::{Chain, Segment};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// How far from a bend's end a flat counts as straight, in thicknesses. Own choice: bending fades within about one
/// thickness. A wall is taken whole, as a protractor would lie on it.
const TRIM: f64 = 1.0;
/// Least share of a flat that is fitted, however short it is.
const LEAST_SHARE: f64 = 0.4;
/// Least length of a wall that is fitted, in thicknesses.
const LEAST_WALL: f64 = 0.5;
/// The inside radius is the mean one between these shares of the bend's turn. Own choice: its middle half.
const RADIUS_BETWEEN: (f64, f64) = (0.25, 0.75);

/// One bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendShape {
    /// Turn from the straight before it to the straight after it; positive to the left.
    pub turn: Angle,
    /// Inside radius over the middle half of the turn.
    pub inside_radius_mm: f64,
    /// Where the sheet has turned by half, along the blank.
    pub middle_mm: f64,
}

/// One pressed strip, closed or let go.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredStrip {
    /// Bends from left to right.
    pub bends: Vec<BendShape>,
    /// Flats from left to right.
    pub flats: Vec<Straight>,
    /// Walls from left to right.
    pub walls: Vec<Straight>,
    /// Height of each flat over the one before it, square to the mean of both.
    pub rises_mm: Vec<f64>,
    /// Least thickness.
    pub thinnest_mm: f64,
    /// Largest stretch of an outer fibre, as natural strain.
    pub outer_strain: f64,
}

impl MeasuredStrip {
    /// Lengths of the flats between two steps, from corner to corner.
    pub fn inner_flats_mm(&self) -> Option<Vec<f64>> {
        let inner = self.flats.get(1..self.flats.len().saturating_sub(1))?;
        inner
            .iter()
            .zip(self.walls.windows(2))
            .map(|(flat, walls)| {
                let (from, to) = (flat.meets(&walls[0])?, flat.meets(&walls[1])?);
                Some((to - from).norm())
            })
            .collect()
    }
}

/// One row of nodes followed along the strip.
struct Row {
    points: Vec<Point2<f64>>,
    /// Directions between neighbouring points, without jumps.
    headings: Vec<f64>,
}

impl Row {
    fn new(strip: &Strip, state: &StripState, row: usize) -> Self {
        let points: Vec<_> = (0..strip.columns)
            .map(|column| strip.place(&state.moved, column * strip.rows + row))
            .collect();
        let headings = points
            .windows(2)
            .map(|pair| {
                let step = pair[1] - pair[0];
                libm::atan2(step.y, step.x)
            })
            .collect();
        Self { points, headings }
    }
}

/// Where on the blank a closed strip lies in the middle of each bend of the dies.
pub fn bent_at_mm(strip: &Strip, closed: &StripState, mid: &Chain) -> Vec<f64> {
    let places = strip.places_mm();
    let row = Row::new(strip, closed, strip.rows / 2);
    let nearest = |wanted: Point2<f64>| {
        let mut best = (f64::INFINITY, 0.0);
        for (place, point) in places.windows(2).zip(row.points.windows(2)) {
            let cell = point[1] - point[0];
            let share = (wanted - point[0]).dot(&cell) / cell.norm_squared();
            let share = share.clamp(0.0, 1.0);
            let away = (point[0] + cell * share - wanted).norm();
            if away < best.0 {
                best = (away, place[0] + share * (place[1] - place[0]));
            }
        }
        best.1
    };
    mid.pieces()
        .filter(|piece| matches!(piece.segment, Segment::Arc { .. }))
        .map(|piece| nearest(piece.middle()))
        .collect()
}

/// Measures a strip whose bends are those of `mid`, arcs in pairs, one pair a step, with their middles at places of the
/// blank.
///
/// `None` when a flat or wall cannot be found, or the strip has turned over.
pub fn measure(
    strip: &Strip,
    state: &StripState,
    mid: &Chain,
    bent_at_mm: &[f64],
) -> Option<MeasuredStrip> {
    let t = strip.thickness_mm;
    let places = strip.places_mm();
    let length_mm = mid.length_mm();
    let arcs: Vec<(f64, f64, f64)> = mid
        .pieces()
        .filter_map(|piece| match piece.segment {
            Segment::Arc { turn, .. } => Some((piece.segment.length_mm(), turn.rad().signum())),
            Segment::Line { .. } => None,
        })
        .zip(bent_at_mm)
        .map(|((length_mm, sense), at)| (at - length_mm / 2.0, at + length_mm / 2.0, sense))
        .collect();
    let middle_row = Row::new(strip, state, strip.rows / 2);
    let fit =
        |from_mm: f64, to_mm: f64| straight(&weighted(&places, &middle_row.points, from_mm, to_mm));

    // Straights in turn: flat, wall, flat, wall, ... , flat.
    let mut straights = Vec::with_capacity(arcs.len() + 1);
    for number in 0..=arcs.len() {
        let from = number.checked_sub(1).and_then(|before| arcs.get(before));
        let to = arcs.get(number);
        let (mut begin, mut end) = (
            from.map_or(0.0, |arc| arc.1),
            to.map_or(length_mm, |arc| arc.0),
        );
        let whole = end - begin;
        let is_wall = number % 2 == 1;
        let least = if is_wall {
            LEAST_WALL * t
        } else {
            LEAST_SHARE * whole
        };
        let trim = |has_bend: bool| if has_bend && !is_wall { TRIM * t } else { 0.0 };
        begin += trim(from.is_some());
        end -= trim(to.is_some());
        if end - begin < least {
            let centre = f64::midpoint(begin, end);
            (begin, end) = (centre - least / 2.0, centre + least / 2.0);
        }
        straights.push(fit(begin.max(0.0), end.min(length_mm))?);
    }

    let bends = arcs
        .iter()
        .zip(straights.windows(2))
        .zip(neighbours(&arcs, length_mm))
        .map(|((arc, pair), (begin, end))| {
            let (before, after) = (pair[0].heading.rad(), pair[1].heading.rad());
            // The inside is on top of a bend to the left.
            let inside = Row::new(strip, state, if arc.2 > 0.0 { strip.rows - 1 } else { 0 });
            let crossing = |share: f64| {
                crossing(
                    &places,
                    &inside,
                    before + share * (after - before),
                    arc.2,
                    (begin, end),
                )
            };
            let (from, to) = (crossing(RADIUS_BETWEEN.0)?, crossing(RADIUS_BETWEEN.1)?);
            let turned = (RADIUS_BETWEEN.1 - RADIUS_BETWEEN.0) * (after - before).abs();
            Some(BendShape {
                turn: Angle::rad_from(after - before),
                inside_radius_mm: (to.1 - from.1) / turned,
                middle_mm: crossing(0.5)?.0,
            })
        })
        .collect::<Option<Vec<_>>>()?;
    let flats: Vec<Straight> = straights.iter().step_by(2).copied().collect();
    let walls = straights.iter().skip(1).step_by(2).copied().collect();
    let rises_mm = flats
        .windows(2)
        .map(|pair| rise_mm(&pair[0], &pair[1]))
        .collect();
    let (thinnest_mm, outer_strain) = strip.thinnest_and_outer(state);
    Some(MeasuredStrip {
        bends,
        flats,
        walls,
        rises_mm,
        thinnest_mm,
        outer_strain,
    })
}

/// For each arc the stretch in which its turn is looked for: to the middles of the straights beside it.
fn neighbours(arcs: &[(f64, f64, f64)], length_mm: f64) -> Vec<(f64, f64)> {
    (0..arcs.len())
        .map(|number| {
            let begin = number
                .checked_sub(1)
                .and_then(|before| arcs.get(before))
                .map_or(0.0, |before| f64::midpoint(before.1, arcs[number].0));
            let end = arcs
                .get(number + 1)
                .map_or(length_mm, |next| f64::midpoint(arcs[number].1, next.0));
            (begin, end)
        })
        .collect()
}

/// Points of a stretch with the length that each stands for.
fn weighted(
    places: &[f64],
    points: &[Point2<f64>],
    from_mm: f64,
    to_mm: f64,
) -> Vec<(Point2<f64>, f64)> {
    // Cells between neighbouring columns, cut to the stretch, each as its middle.
    places
        .windows(2)
        .zip(points.windows(2))
        .filter_map(|(place, point)| {
            let (begin, end) = (place[0].max(from_mm), place[1].min(to_mm));
            let share = (f64::midpoint(begin, end) - place[0]) / (place[1] - place[0]);
            (end > begin).then(|| (point[0] + (point[1] - point[0]) * share, end - begin))
        })
        .collect()
}

/// Where a row first has the direction `wanted`: place along the blank and length along the row.
fn crossing(
    places: &[f64],
    row: &Row,
    wanted: f64,
    sense: f64,
    (begin_mm, end_mm): (f64, f64),
) -> Option<(f64, f64)> {
    let mut length = 0.0;
    let mut before: Option<(f64, f64, f64)> = None;
    for ((place, point), heading) in places
        .windows(2)
        .zip(row.points.windows(2))
        .zip(&row.headings)
    {
        let cell: Vector2<f64> = point[1] - point[0];
        let at = (
            f64::midpoint(place[0], place[1]),
            length + cell.norm() / 2.0,
        );
        length += cell.norm();
        if at.0 < begin_mm {
            continue;
        }
        if at.0 > end_mm {
            return None;
        }
        let short = sense * (wanted - heading);
        if short <= 0.0 {
            let Some((last, place, along)) = before else {
                return Some(at);
            };
            let share = last / (last - short);
            return Some((
                place + (at.0 - place) * share,
                along + (at.1 - along) * share,
            ));
        }
        before = Some((short, at.0, at.1));
    }
    None
}

//! The flat blank as a thin body cut at stations along its length, so that it can be bent station by station.
//!
//! Outline and holes stay what they are: between two stations the metal is a set of trapezes, and every edge of the
//! outline becomes a wall.

use crate::blank::Blank;
use nalgebra::Point2;
use std::collections::BTreeMap;

/// Arcs of outline and holes are drawn with chords this true, mm: a fifth of a pixel on a usual screen.
const CHORD_MM: f64 = 0.05;
/// Places along the blank closer than this are one station, mm.
const ONE_STATION_MM: f64 = 0.02;
/// Stations besides those of corners: enough for round bends, own choice.
const EVEN_STATIONS: u32 = 110;
/// Corners of the outline that turn by less than this belong to an arc: no upright line, as cosine of 25 degrees.
const STRAIGHT_ON: f64 = 0.906;

/// A corner: number of its station, place across the blank in mm, and whether it is on the top face.
pub type Corner = (usize, f64, bool);

/// The cut blank.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetMesh {
    /// Stations along the blank, from its left end, mm.
    pub stations_mm: Vec<f64>,
    /// Corners.
    pub corners: Vec<Corner>,
    /// Triangles, three corners each.
    pub triangles: Vec<[u32; 3]>,
    /// Lines to draw, two corners each.
    pub lines: Vec<[u32; 2]>,
    known: BTreeMap<(usize, i64, bool), u32>,
}

/// An edge of outline or hole between stations: station and place across at both ends.
type Edge = [(usize, f64); 2];

impl SheetMesh {
    /// Cuts a blank.
    pub fn of(blank: &Blank) -> Self {
        let loops: Vec<Vec<Point2<f64>>> = blank
            .metal_loops()
            .iter()
            .map(|one| one.flattened(CHORD_MM))
            .collect();
        let mut mesh = Self {
            stations_mm: stations(blank, &loops),
            ..Self::default()
        };
        let mut edges: Vec<Edge> = Vec::new();
        for points in &loops {
            mesh.walls(points, &mut edges);
        }
        mesh.faces(&edges);
        mesh
    }

    fn nearest(&self, s_mm: f64) -> usize {
        let after = self.stations_mm.partition_point(|station| *station < s_mm);
        let before = after.saturating_sub(1);
        let away = |number: usize| {
            self.stations_mm
                .get(number)
                .map_or(f64::INFINITY, |station| (station - s_mm).abs())
        };
        if away(before) <= away(after) {
            before
        } else {
            after
        }
    }

    fn corner(&mut self, (station, y_mm): (usize, f64), top: bool) -> u32 {
        // A thousandth of a millimetre: what falls together there is one corner.
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a blank is some metres wide at most"
        )]
        let key = (station, (y_mm * 1000.0).round() as i64, top);
        let next = u32::try_from(self.corners.len()).unwrap_or(u32::MAX);
        let corners = &mut self.corners;
        *self.known.entry(key).or_insert_with(|| {
            corners.push((station, y_mm, top));
            next
        })
    }

    fn quad(&mut self, [a, b, c, d]: [u32; 4]) {
        for triangle in [[a, b, c], [a, c, d]] {
            let [p, q, r] = triangle;
            if p != q && q != r && r != p {
                self.triangles.push(triangle);
            }
        }
    }

    /// Walls along one closed run of points, with their lines; leaves its edges cut at stations.
    fn walls(&mut self, points: &[Point2<f64>], edges: &mut Vec<Edge>) {
        let next = points.iter().cycle().skip(1);
        let after = points.iter().cycle().skip(2);
        for ((from, to), then) in points.iter().zip(next).zip(after) {
            let ends = [from, to].map(|point| (self.nearest(point.x), point.y));
            for edge in self.cut(ends) {
                let [a, b] = edge;
                let corners = [
                    self.corner(a, false),
                    self.corner(b, false),
                    self.corner(b, true),
                    self.corner(a, true),
                ];
                self.quad(corners);
                let [low, low_next, high_next, high] = corners;
                self.lines.extend([[low, low_next], [high, high_next]]);
                edges.push(edge);
            }
            let (one, other) = (to - from, then - to);
            let lengths = one.norm() * other.norm();
            if lengths > 0.0 && one.dot(&other) < STRAIGHT_ON * lengths {
                let [_, end] = ends;
                let upright = [self.corner(end, false), self.corner(end, true)];
                self.lines.push(upright);
            }
        }
    }

    /// An edge in pieces from station to station.
    fn cut(&self, [from, to]: Edge) -> Vec<Edge> {
        let (first, last) = (from.0.min(to.0), from.0.max(to.0));
        let at = |station: usize| -> (usize, f64) {
            if station == from.0 {
                return from;
            }
            if station == to.0 {
                return to;
            }
            let place = |number: usize| self.stations_mm.get(number).copied().unwrap_or_default();
            let share = (place(station) - place(from.0)) / (place(to.0) - place(from.0));
            (station, from.1 + (to.1 - from.1) * share)
        };
        if first == last {
            return vec![[from, to]];
        }
        let pieces = (first..last).map(|station| [at(station), at(station + 1)]);
        if from.0 < to.0 {
            pieces.collect()
        } else {
            pieces.map(|[a, b]| [b, a]).collect()
        }
    }

    /// Top and underside: between two stations the edges bound the metal in pairs.
    fn faces(&mut self, edges: &[Edge]) {
        let mut columns: BTreeMap<usize, Vec<[f64; 2]>> = BTreeMap::new();
        for [a, b] in edges {
            let (left, right) = if a.0 < b.0 { (a, b) } else { (b, a) };
            if left.0 != right.0 {
                columns.entry(left.0).or_default().push([left.1, right.1]);
            }
        }
        for (station, mut column) in columns {
            column.sort_by(|one, other| {
                let middle = |[left, right]: &[f64; 2]| left + right;
                middle(one).total_cmp(&middle(other))
            });
            for pair in column.chunks_exact(2) {
                let [[low, low_next], [high, high_next]] = pair else {
                    continue;
                };
                for top in [false, true] {
                    let corners = [
                        self.corner((station, *low), top),
                        self.corner((station + 1, *low_next), top),
                        self.corner((station + 1, *high_next), top),
                        self.corner((station, *high), top),
                    ];
                    self.quad(corners);
                }
            }
        }
    }
}

/// Every corner of the outline, where bends begin and end, and even steps between.
fn stations(blank: &Blank, loops: &[Vec<Point2<f64>>]) -> Vec<f64> {
    let length_mm = blank.developed_length_mm;
    let mut places: Vec<f64> = loops.iter().flatten().map(|point| point.x).collect();
    let ends = blank.stretches.iter().map(|stretch| stretch.start_mm);
    let inside = |s_mm: &f64| (0.0..=length_mm).contains(s_mm);
    places.extend(ends.filter(inside));
    let even = (0..=EVEN_STATIONS).map(|n| length_mm * f64::from(n) / f64::from(EVEN_STATIONS));
    places.extend(even);
    places.sort_by(f64::total_cmp);
    places.dedup_by(|next, kept| *next - *kept < ONE_STATION_MM);
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blank::blank;
    use crate::output::pictures::fixtures::check::parts;
    use nalgebra::Point3;

    /// The faces cover the metal and nothing else: holes, notches and tabs stay what they are.
    #[test]
    fn each_face_has_the_area_of_the_blank_and_the_walls_its_perimeter() {
        for (name, part) in parts() {
            let blank = blank(&part).value;
            let mesh = SheetMesh::of(&blank);
            let at = |corner: u32| {
                let (station, y_mm, top) = mesh.corners[corner as usize];
                Point3::new(mesh.stations_mm[station], y_mm, f64::from(u8::from(top)))
            };
            let (mut level_mm2, mut walls_mm2) = (0.0, 0.0);
            for [a, b, c] in &mesh.triangles {
                let normal = (at(*b) - at(*a)).cross(&(at(*c) - at(*a))) / 2.0;
                let level = at(*a).z == at(*b).z && at(*b).z == at(*c).z;
                *(if level {
                    &mut level_mm2
                } else {
                    &mut walls_mm2
                }) += normal.norm();
            }
            let loops = blank.metal_loops();
            let wanted_mm2 = loops[0].area_mm2().abs()
                - loops[1..]
                    .iter()
                    .map(|one| one.area_mm2().abs())
                    .sum::<f64>();
            let perimeter_mm: f64 = loops.iter().map(crate::geometry::Loop::perimeter_mm).sum();
            assert!(
                (level_mm2 / 2.0 - wanted_mm2).abs() < 0.005 * wanted_mm2,
                "{name}: {level_mm2} {wanted_mm2}"
            );
            // One millimetre thick here, so that area is length.
            assert!(
                (walls_mm2 - perimeter_mm).abs() < 0.01 * perimeter_mm,
                "{name}: {walls_mm2} {perimeter_mm}"
            );
        }
    }
}

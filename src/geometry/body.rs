//! A small boundary description of a body: plane faces with holes, and ruled faces between two edges.
//!
//! It is written once and realised twice: as a triangle mesh here (arcs flattened once per edge, corners
//! shared), and as an exact solid in [`super::solid`]. Two faces share an edge when they name the same
//! points: nothing is sewn together afterwards.

use super::boundary::{Boundary, Hop};
use super::mesh::{Mesh, OpenMesh, PointBook};
use crate::numbers::plain;
use crate::quantity::Angle;
use earcut::Earcut;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeSet;
use thiserror::Error;

/// One face of a body, seen from outside.
#[derive(Debug, Clone, PartialEq)]
pub enum Face {
    /// A plane with its outer boundary counter-clockwise and holes clockwise.
    Plane {
        /// Outer boundary first.
        boundaries: Vec<Boundary>,
    },
    /// Straight lines between two edges of one kind; outside is on the left of `low` seen towards `high`
    /// from above: the normal is (along low) x (low to high).
    Ruled {
        /// Where the first edge begins.
        low_from: Point3<f64>,
        /// The first edge.
        low: Hop,
        /// Where the second edge begins.
        high_from: Point3<f64>,
        /// The second edge, in the same sense.
        high: Hop,
    },
    /// Part of a cylinder that reaches round less than half of it, boundaries as those of a plane. Between its
    /// boundaries a mesh of it has no corners: where it shall be round, cut it into strips along the axis.
    Round {
        /// Outer boundary first.
        boundaries: Vec<Boundary>,
        /// A point of the axis.
        centre: Point3<f64>,
        /// Unit direction of the axis.
        axis: Vector3<f64>,
        /// Whether outside is away from the axis.
        outwards: bool,
    },
}

/// Why a body could not become a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum BodyError {
    /// A plane face could not be cut into triangles that cover it.
    #[error("face {face} could not be cut into triangles: {} mm2 are not covered", plain(*missing_mm2))]
    NotCovered {
        /// Face number from 0.
        face: usize,
        /// Area missing.
        missing_mm2: f64,
    },
    /// The triangles do not close.
    #[error(transparent)]
    Open(#[from] OpenMesh),
}

/// A body as the list of its faces.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Body {
    /// Faces in the order in which they were added.
    pub faces: Vec<Face>,
}

impl Body {
    /// Adds a plane face.
    pub fn plane(&mut self, boundaries: Vec<Boundary>) {
        self.faces.push(Face::Plane { boundaries });
    }

    /// Adds a part of a cylinder.
    pub fn round(
        &mut self,
        boundaries: Vec<Boundary>,
        centre: Point3<f64>,
        axis: Vector3<f64>,
        outwards: bool,
    ) {
        self.faces.push(Face::Round {
            boundaries,
            centre,
            axis,
            outwards,
        });
    }

    /// Adds a ruled face.
    pub fn ruled(&mut self, low: (Point3<f64>, Hop), high: (Point3<f64>, Hop)) {
        self.faces.push(Face::Ruled {
            low_from: low.0,
            low: low.1,
            high_from: high.0,
            high: high.1,
        });
    }

    /// Adds the wall between a boundary and its copy shifted by `by`; outside is to the right of the
    /// boundary's direction, seen against `by`.
    pub fn wall(&mut self, low: &Boundary, high: &Boundary) {
        for ((low_from, low), (high_from, high)) in low.edges().zip(high.edges()) {
            self.ruled((low_from, low), (high_from, high));
        }
    }

    /// The body sent through a shift, a turn or both; `turn` is what it does to directions. It must not mirror.
    #[must_use]
    pub fn placed(
        &self,
        place: &impl Fn(Point3<f64>) -> Point3<f64>,
        turn: &impl Fn(Vector3<f64>) -> Vector3<f64>,
    ) -> Self {
        let all = |boundaries: &[Boundary]| -> Vec<Boundary> {
            boundaries
                .iter()
                .map(|boundary| boundary.placed(place, turn))
                .collect()
        };
        let faces = self.faces.iter().map(|face| match face {
            Face::Plane { boundaries } => Face::Plane {
                boundaries: all(boundaries),
            },
            Face::Ruled {
                low_from,
                low,
                high_from,
                high,
            } => Face::Ruled {
                low_from: place(*low_from),
                low: low.placed(place, turn),
                high_from: place(*high_from),
                high: high.placed(place, turn),
            },
            Face::Round {
                boundaries,
                centre,
                axis,
                outwards,
            } => Face::Round {
                boundaries: all(boundaries),
                centre: place(*centre),
                axis: turn(*axis),
                outwards: *outwards,
            },
        });
        Self {
            faces: faces.collect(),
        }
    }

    /// Triangles of the whole body.
    ///
    /// # Errors
    /// When a face cannot be covered, or the faces do not close.
    pub fn mesh(&self) -> Result<Mesh, BodyError> {
        let mut book = PointBook::default();
        let mut triangles = Vec::new();
        let mut earcut = Earcut::new();
        for (face, shape) in self.faces.iter().enumerate() {
            match shape {
                Face::Plane { boundaries } => {
                    let rings: Vec<Vec<Point3<f64>>> =
                        boundaries.iter().map(Boundary::points).collect();
                    let normal = rings
                        .first()
                        .map_or_else(Vector3::zeros, |ring| newell(ring));
                    let flat = flattening(&normal);
                    cover(face, &rings, &flat, &mut book, &mut triangles, &mut earcut)?;
                }
                Face::Round {
                    boundaries,
                    centre,
                    axis,
                    outwards,
                } => {
                    let rings: Vec<Vec<Point3<f64>>> =
                        boundaries.iter().map(Boundary::points).collect();
                    let flat = unrolling(&rings, *centre, *axis, *outwards);
                    cover(face, &rings, &flat, &mut book, &mut triangles, &mut earcut)?;
                }
                Face::Ruled {
                    low_from,
                    low,
                    high_from,
                    high,
                } => {
                    let mut before = (book.number(*low_from), book.number(*high_from));
                    for (a, b) in low
                        .points(*low_from)
                        .into_iter()
                        .zip(high.points(*high_from))
                    {
                        let after = (book.number(a), book.number(b));
                        triangles.push([before.0, after.0, after.1]);
                        triangles.push([before.0, after.1, before.1]);
                        before = after;
                    }
                }
            }
        }
        let mesh = Mesh {
            vertices: book.points,
            triangles,
        };
        mesh.check_closed()?;
        Ok(mesh)
    }
}

/// Uncovered area that rounding explains, as a share of the face.
const COVER_SLACK: f64 = 1e-9;

/// Covers the rings with triangles in the flat picture `flat` of their face.
fn cover(
    face: usize,
    rings: &[Vec<Point3<f64>>],
    flat: &dyn Fn(&Point3<f64>) -> [f64; 2],
    book: &mut PointBook,
    triangles: &mut Vec<[u32; 3]>,
    earcut: &mut Earcut<f64>,
) -> Result<(), BodyError> {
    let mut holes: Vec<u32> = Vec::new();
    let mut numbers: Vec<u32> = Vec::new();
    let mut plan: Vec<[f64; 2]> = Vec::new();
    for ring in rings {
        if !numbers.is_empty() {
            holes.push(u32::try_from(numbers.len()).unwrap_or(u32::MAX));
        }
        for point in ring {
            numbers.push(book.number(*point));
            plan.push(flat(point));
        }
    }
    let mut corners: Vec<u32> = Vec::new();
    earcut.earcut(plan.iter().copied(), &holes, &mut corners);
    let area = |[a, b, c]: [[f64; 2]; 3]| {
        ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2.0
    };
    let place = |i: u32| plan.get(i as usize).copied().unwrap_or_default();
    let mut covered_mm2 = 0.0;
    let mut turned: Vec<[u32; 3]> = Vec::with_capacity(corners.len() / 3);
    for corner in corners.chunks_exact(3) {
        let [a, b, c] = *corner else { continue };
        let size = area([a, b, c].map(place));
        covered_mm2 += size.abs();
        // Triangles turn as the outer boundary does.
        turned.push(if size < 0.0 { [a, c, b] } else { [a, b, c] });
    }
    with_all_corners(&mut turned, rings);
    without_slivers(&mut turned, &place);
    let number = |i: u32| numbers.get(i as usize).copied().unwrap_or_default();
    triangles.extend(turned.iter().map(|corner| corner.map(number)));
    let wanted_mm2: f64 = rings
        .iter()
        .map(|ring| {
            let corners: Vec<[f64; 2]> = ring.iter().map(flat).collect();
            shoelace(&corners)
        })
        .sum();
    let missing_mm2 = wanted_mm2 - covered_mm2;
    if missing_mm2.abs() > COVER_SLACK * wanted_mm2.abs().max(1.0) {
        return Err(BodyError::NotCovered { face, missing_mm2 });
    }
    Ok(())
}

/// Puts corners back that ear clipping leaves out because they lie on the straight way between their neighbours: another
/// face has a corner there.
fn with_all_corners(triangles: &mut Vec<[u32; 3]>, rings: &[Vec<Point3<f64>>]) {
    let used: BTreeSet<u32> = triangles.iter().flatten().copied().collect();
    let mut begin = 0;
    for ring in rings {
        let count = u32::try_from(ring.len()).unwrap_or(u32::MAX);
        let corner = |k: u32| begin + k % count.max(1);
        // From a corner that is used over those that are not to the next that is.
        for from in (0..count).filter(|k| used.contains(&corner(*k))) {
            let left_out: Vec<u32> = (from + 1..from + count)
                .map(corner)
                .take_while(|number| !used.contains(number))
                .collect();
            let Some(last) = left_out.last().copied() else {
                continue;
            };
            let (a, b) = (corner(from), corner(last - begin + 1));
            let across = triangles
                .iter()
                .enumerate()
                .find_map(|(number, [p, q, r])| {
                    let turns = [[*p, *q, *r], [*q, *r, *p], [*r, *p, *q]];
                    let far = turns.into_iter().find(|[x, y, _]| (*x, *y) == (a, b))?;
                    Some((number, far))
                });
            let Some((number, [_, _, far])) = across else {
                continue;
            };
            triangles.swap_remove(number);
            let way: Vec<u32> = [a].into_iter().chain(left_out).chain([b]).collect();
            for pair in way.windows(2) {
                if let &[x, y] = pair {
                    triangles.push([x, y, far]);
                }
            }
        }
        begin += count;
    }
}

/// Triangles lower than this have no area in single precision, mm.
const LEAST_HEIGHT_MM: f64 = 1e-4;

/// Turns triangles of three corners on one line, which ear clipping leaves where corners of different loops line up:
/// the middle corner is joined to the far corner of the neighbour across the long side.
fn without_slivers(triangles: &mut [[u32; 3]], place: &impl Fn(u32) -> [f64; 2]) {
    let length = |a: u32, b: u32| {
        let ([ax, ay], [bx, by]) = (place(a), place(b));
        ((bx - ax) * (bx - ax) + (by - ay) * (by - ay)).sqrt()
    };
    let height = |[a, b, c]: [u32; 3]| {
        let ([ax, ay], [bx, by], [cx, cy]) = (place(a), place(b), place(c));
        let twice = ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)).abs();
        twice / length(a, b).max(length(b, c)).max(length(c, a))
    };
    for number in 0..triangles.len() {
        let Some(&[p, q, r]) = triangles.get(number) else {
            continue;
        };
        if height([p, q, r]) >= LEAST_HEIGHT_MM {
            continue;
        }
        // Long side from `a` to `b`, the middle corner opposite.
        let [(a, b, middle), ..] = {
            let mut sides = [(p, q, r), (q, r, p), (r, p, q)];
            sides.sort_by(|x, y| length(y.0, y.1).total_cmp(&length(x.0, x.1)));
            sides
        };
        let across = triangles.iter().position(|other| {
            let [x, y, z] = *other;
            [(x, y), (y, z), (z, x)].contains(&(b, a))
        });
        let Some((across, far)) = across.and_then(|across| {
            let other = triangles.get(across)?;
            let far = other
                .iter()
                .copied()
                .find(|corner| *corner != a && *corner != b)?;
            Some((across, far))
        }) else {
            continue;
        };
        let made = [[a, far, middle], [far, b, middle]];
        if made
            .iter()
            .all(|triangle| height(*triangle) >= LEAST_HEIGHT_MM)
        {
            for (slot, triangle) in [(number, made[0]), (across, made[1])] {
                if let Some(slot) = triangles.get_mut(slot) {
                    *slot = triangle;
                }
            }
        }
    }
}

/// Vector area of a closed polygon (Newell's sum).
fn newell(ring: &[Point3<f64>]) -> Vector3<f64> {
    let origin = ring.first().copied().unwrap_or_else(Point3::origin);
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|(a, b)| (a - origin).cross(&(b - origin)) / 2.0)
        .sum()
}

/// Area of a closed polygon, positive counter-clockwise.
fn shoelace(ring: &[[f64; 2]]) -> f64 {
    let [x0, y0] = ring.first().copied().unwrap_or_default();
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|([ax, ay], [bx, by])| ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0)) / 2.0)
        .sum()
}

/// Lays a cylinder flat: along the way round and along the axis, keeping the sense of turning seen from outside.
fn unrolling(
    rings: &[Vec<Point3<f64>>],
    centre: Point3<f64>,
    axis: Vector3<f64>,
    outwards: bool,
) -> impl Fn(&Point3<f64>) -> [f64; 2] + use<> {
    let arm = |point: &Point3<f64>| {
        let reach = point - centre;
        reach - axis * reach.dot(&axis)
    };
    let first = rings.first().and_then(|ring| ring.first());
    let ahead = first.map_or_else(Vector3::zeros, arm);
    let radius_mm = ahead.norm();
    let aside = axis.cross(&ahead);
    move |point| {
        let reach = point - centre;
        let turned = Angle::between(reach.dot(&ahead), reach.dot(&aside)).rad();
        let [u, v] = [turned * radius_mm, reach.dot(&axis)];
        if outwards { [u, v] } else { [v, u] }
    }
}

/// Drops the axis along which the normal is longest, keeping the sense of turning.
fn flattening(normal: &Vector3<f64>) -> impl Fn(&Point3<f64>) -> [f64; 2] + use<> {
    let size = normal.abs();
    let axis = if size.x >= size.y && size.x >= size.z {
        0
    } else if size.y >= size.z {
        1
    } else {
        2
    };
    let positive = match axis {
        0 => normal.x > 0.0,
        1 => normal.y > 0.0,
        _ => normal.z > 0.0,
    };
    move |p| {
        let [u, v] = match axis {
            0 => [p.y, p.z],
            1 => [p.z, p.x],
            _ => [p.x, p.y],
        };
        if positive { [u, v] } else { [v, u] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square whose corners 0, 1, 2 lie on one line, as two triangles of which one has no area.
    #[test]
    fn a_sliver_is_turned_onto_its_neighbour() {
        let places = [[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [1.0, 2.0]];
        let mut triangles = [[0, 1, 2], [0, 2, 3]];
        without_slivers(&mut triangles, &|i| places[i as usize]);
        let area = |[a, b, c]: [u32; 3]| {
            let [a, b, c] = [a, b, c].map(|i: u32| places[i as usize]);
            ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2.0
        };
        // Both turn alike and cover what was covered.
        for triangle in triangles {
            assert!((area(triangle) - 1.0).abs() < 1e-12, "{triangles:?}");
        }
    }
    use crate::geometry::chain::arc_parts;
    use crate::quantity::Angle;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    /// A circle about the z axis as two half arcs, counter-clockwise.
    fn circle(centre: Point3<f64>, radius: f64, parts: u32) -> Boundary {
        let right = centre + Vector3::new(radius, 0.0, 0.0);
        let left = centre - Vector3::new(radius, 0.0, 0.0);
        let half = |to| Hop::Arc {
            to,
            centre,
            axis: Vector3::z(),
            turn_rad: PI,
            parts,
        };
        Boundary {
            start: right,
            hops: vec![half(left), half(right)],
        }
    }

    fn box_corners(z: f64) -> [Point3<f64>; 4] {
        [
            Point3::new(0.0, 0.0, z),
            Point3::new(10.0, 0.0, z),
            Point3::new(10.0, 8.0, z),
            Point3::new(0.0, 8.0, z),
        ]
    }

    #[test]
    fn a_box_with_a_blind_hole_closes_and_has_its_volume() {
        let parts = arc_parts(2.0, Angle::rad_from(PI), 1e-4);
        let mut body = Body::default();
        let (floor, lid) = (box_corners(0.0), box_corners(5.0));
        let floor_loop = Boundary::polygon(&floor);
        let lid_loop = Boundary::polygon(&lid);
        body.plane(vec![floor_loop.reversed()]);
        let mouth = circle(Point3::new(5.0, 4.0, 5.0), 2.0, parts);
        let bottom = circle(Point3::new(5.0, 4.0, 2.0), 2.0, parts);
        body.plane(vec![lid_loop.clone(), mouth.reversed()]);
        body.wall(&floor_loop, &lid_loop);
        // The wall of a hole is seen from inside.
        body.wall(&mouth, &bottom);
        body.plane(vec![bottom]);
        let mesh = body.mesh().unwrap();
        assert_relative_eq!(
            mesh.volume_mm3(),
            400.0 - PI * 4.0 * 3.0,
            max_relative = 1e-4
        );
        // Lid up nothing hangs over; lid down the bottom of the hole does.
        assert_relative_eq!(mesh.overhang_mm2(&Vector3::z()), 0.0);
        assert_relative_eq!(
            mesh.overhang_mm2(&-Vector3::z()),
            PI * 4.0,
            max_relative = 1e-3
        );
    }

    #[test]
    fn a_face_that_is_missing_is_an_open_edge() {
        let mut body = Body::default();
        let (floor, lid) = (
            Boundary::polygon(&box_corners(0.0)),
            Boundary::polygon(&box_corners(5.0)),
        );
        body.plane(vec![floor.reversed()]);
        body.wall(&floor, &lid);
        assert!(matches!(body.mesh(), Err(BodyError::Open(_))));
    }
}

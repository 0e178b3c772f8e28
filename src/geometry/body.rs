//! A small boundary description of a body: plane faces with holes, and ruled faces between two edges.
//!
//! It is written once and realised twice: as a triangle mesh here (arcs flattened once per edge, corners
//! shared), and as an exact solid in [`crate::dies`]. Two faces share an edge when they name the same
//! points: nothing is sewn together afterwards.

use super::mesh::{Mesh, OpenMesh, PointBook};
use earcut::Earcut;
use nalgebra::{Point3, Vector3};
use thiserror::Error;

/// One edge of a face's boundary, beginning where the one before it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hop {
    /// Straight to a point.
    Line(Point3<f64>),
    /// Round a centre to a point.
    Arc {
        /// Where it ends.
        to: Point3<f64>,
        /// Centre.
        centre: Point3<f64>,
        /// Unit axis; the arc turns counter-clockwise about it.
        axis: Vector3<f64>,
        /// Angle turned through, above 0, below a full turn, radians.
        turn_rad: f64,
        /// Chords that stand for it in a mesh.
        parts: u32,
    },
}

impl Hop {
    /// Where it ends.
    pub fn to(&self) -> Point3<f64> {
        match self {
            Self::Line(to) | Self::Arc { to, .. } => *to,
        }
    }

    /// The same way back, to `from`.
    #[must_use]
    pub fn back_to(&self, from: Point3<f64>) -> Self {
        match *self {
            Self::Line(_) => Self::Line(from),
            Self::Arc {
                centre,
                axis,
                turn_rad,
                parts,
                ..
            } => Self::Arc {
                to: from,
                centre,
                axis: -axis,
                turn_rad,
                parts,
            },
        }
    }

    /// Shifted by a vector.
    #[must_use]
    pub fn moved(&self, by: Vector3<f64>) -> Self {
        match *self {
            Self::Line(to) => Self::Line(to + by),
            Self::Arc {
                to,
                centre,
                axis,
                turn_rad,
                parts,
            } => Self::Arc {
                to: to + by,
                centre: centre + by,
                axis,
                turn_rad,
                parts,
            },
        }
    }

    /// Point at a share of an arc, or of a line.
    pub fn at_share(&self, from: Point3<f64>, share: f64) -> Point3<f64> {
        match self {
            Self::Line(to) => from + (to - from) * share,
            Self::Arc {
                centre,
                axis,
                turn_rad,
                ..
            } => {
                let arm = from - centre;
                let angle = crate::quantity::Angle::rad_from(turn_rad * share);
                centre + arm * angle.cos() + axis.cross(&arm) * angle.sin()
            }
        }
    }

    /// Points after `from`, up to and with the end.
    ///
    /// An arc is always walked from the same of its two ends, so that both faces at an edge get the
    /// same points to the last bit.
    fn points(&self, from: Point3<f64>) -> Vec<Point3<f64>> {
        match *self {
            Self::Line(to) => vec![to],
            Self::Arc { to, parts, .. } => {
                let forward = (from.x, from.y, from.z) <= (to.x, to.y, to.z);
                let share = |part: u32| f64::from(part) / f64::from(parts);
                let mut inner: Vec<Point3<f64>> = if forward {
                    (1..parts)
                        .map(|part| self.at_share(from, share(part)))
                        .collect()
                } else {
                    let back = self.back_to(from);
                    (1..parts)
                        .rev()
                        .map(|part| back.at_share(to, share(part)))
                        .collect()
                };
                inner.push(to);
                inner
            }
        }
    }
}

/// A closed boundary: where it starts, and hops that lead back there.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// Where it starts and ends.
    pub start: Point3<f64>,
    /// Its edges.
    pub hops: Vec<Hop>,
}

impl Boundary {
    /// A polygon.
    pub fn polygon(points: &[Point3<f64>]) -> Self {
        let start = points.first().copied().unwrap_or_else(Point3::origin);
        Self {
            start,
            hops: points
                .iter()
                .skip(1)
                .chain(points.first())
                .map(|point| Hop::Line(*point))
                .collect(),
        }
    }

    /// The same boundary walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let starts = std::iter::once(self.start).chain(self.hops.iter().map(Hop::to));
        let mut hops: Vec<Hop> = self
            .hops
            .iter()
            .zip(starts)
            .map(|(hop, from)| hop.back_to(from))
            .collect();
        hops.reverse();
        Self {
            start: self.start,
            hops,
        }
    }

    /// Shifted by a vector.
    #[must_use]
    pub fn moved(&self, by: Vector3<f64>) -> Self {
        Self {
            start: self.start + by,
            hops: self.hops.iter().map(|hop| hop.moved(by)).collect(),
        }
    }

    /// Every hop with the point where it begins.
    pub fn edges(&self) -> impl Iterator<Item = (Point3<f64>, Hop)> + '_ {
        let starts = std::iter::once(self.start).chain(self.hops.iter().map(Hop::to));
        starts.zip(self.hops.iter().copied())
    }

    fn points(&self) -> Vec<Point3<f64>> {
        self.edges()
            .flat_map(|(from, hop)| hop.points(from))
            .collect()
    }
}

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
}

/// Why a body could not become a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum BodyError {
    /// A plane face could not be cut into triangles that cover it.
    #[error("face {face} could not be cut into triangles: {missing_mm2} mm2 are not covered")]
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
                    plane_triangles(face, boundaries, &mut book, &mut triangles, &mut earcut)?;
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

fn plane_triangles(
    face: usize,
    boundaries: &[Boundary],
    book: &mut PointBook,
    triangles: &mut Vec<[u32; 3]>,
    earcut: &mut Earcut<f64>,
) -> Result<(), BodyError> {
    let rings: Vec<Vec<Point3<f64>>> = boundaries.iter().map(Boundary::points).collect();
    let normal = rings
        .first()
        .map_or_else(Vector3::zeros, |ring| newell(ring));
    let flat = flattening(&normal);
    let mut holes: Vec<u32> = Vec::new();
    let mut numbers: Vec<u32> = Vec::new();
    let mut plan: Vec<[f64; 2]> = Vec::new();
    for ring in &rings {
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
    without_slivers(&mut turned, &place);
    let number = |i: u32| numbers.get(i as usize).copied().unwrap_or_default();
    triangles.extend(turned.iter().map(|corner| corner.map(number)));
    let wanted_mm2: f64 = rings
        .iter()
        .map(|ring| newell(ring).dot(&normal.normalize()))
        .sum::<f64>();
    let missing_mm2 = wanted_mm2 - covered_mm2;
    if missing_mm2.abs() > COVER_SLACK * wanted_mm2.abs().max(1.0) {
        return Err(BodyError::NotCovered { face, missing_mm2 });
    }
    Ok(())
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

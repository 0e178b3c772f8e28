//! Triangle meshes with shared corners: volume, closedness, poses.

use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;
use thiserror::Error;

/// Triangles over shared corners; each triangle turns left seen from outside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    /// Corners, mm.
    pub vertices: Vec<Point3<f64>>,
    /// Three corner numbers each.
    pub triangles: Vec<[u32; 3]>,
}

/// Why a mesh does not bound a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum OpenMesh {
    /// A triangle names a corner that does not exist.
    #[error("triangle {triangle} names a corner that does not exist")]
    MissingVertex {
        /// Triangle number from 0.
        triangle: usize,
    },
    /// A triangle uses one corner twice.
    #[error("triangle {triangle} uses one corner twice")]
    Collapsed {
        /// Triangle number from 0.
        triangle: usize,
    },
    /// A directed edge belongs to more than one triangle.
    #[error("the edge from corner {from} to corner {to} is used twice in the same direction")]
    Doubled {
        /// First corner.
        from: u32,
        /// Second corner.
        to: u32,
    },
    /// A directed edge has no twin.
    #[error("the edge from corner {from} to corner {to} has no neighbour")]
    Open {
        /// First corner.
        from: u32,
        /// Second corner.
        to: u32,
    },
}

impl Mesh {
    /// Checks that every directed edge occurs once and has exactly one twin in the other direction.
    ///
    /// # Errors
    /// The first edge or triangle that breaks the rule.
    pub fn check_closed(&self) -> Result<(), OpenMesh> {
        let mut edges: Vec<(u32, u32)> = Vec::with_capacity(3 * self.triangles.len());
        for (triangle, [a, b, c]) in self.triangles.iter().copied().enumerate() {
            if [a, b, c].iter().any(|v| *v as usize >= self.vertices.len()) {
                return Err(OpenMesh::MissingVertex { triangle });
            }
            if a == b || b == c || c == a {
                return Err(OpenMesh::Collapsed { triangle });
            }
            edges.extend([(a, b), (b, c), (c, a)]);
        }
        edges.sort_unstable();
        for pair in edges.windows(2) {
            if let [one, other] = pair
                && one == other
            {
                return Err(OpenMesh::Doubled {
                    from: one.0,
                    to: one.1,
                });
            }
        }
        for (from, to) in &edges {
            if edges.binary_search(&(*to, *from)).is_err() {
                return Err(OpenMesh::Open {
                    from: *from,
                    to: *to,
                });
            }
        }
        Ok(())
    }

    /// Corners of every triangle in turn.
    pub fn corners(&self) -> impl Iterator<Item = [Point3<f64>; 3]> + '_ {
        self.triangles.iter().filter_map(|[a, b, c]| {
            let at = |i: u32| self.vertices.get(i as usize).copied();
            Some([at(*a)?, at(*b)?, at(*c)?])
        })
    }

    /// Enclosed volume of a closed mesh: sum of signed tetrahedra, about the first corner.
    pub fn volume_mm3(&self) -> f64 {
        let Some(origin) = self.vertices.first() else {
            return 0.0;
        };
        self.corners()
            .map(|[a, b, c]| (a - origin).cross(&(b - origin)).dot(&(c - origin)) / 6.0)
            .sum()
    }

    /// Surface area.
    pub fn area_mm2(&self) -> f64 {
        self.corners()
            .map(|[a, b, c]| (b - a).cross(&(c - a)).norm() / 2.0)
            .sum()
    }

    /// Smallest axis-parallel box: (low corner, high corner).
    pub fn bounds(&self) -> (Point3<f64>, Point3<f64>) {
        let mut points = self.vertices.iter();
        let first = points.next().copied().unwrap_or_else(Point3::origin);
        points.fold((first, first), |(low, high), p| (low.inf(p), high.sup(p)))
    }

    /// Area that faces down more steeply than 45 degrees, without what lies on the bed.
    ///
    /// "Down" is along `-up`; the bed is the lowest plane across `up`.
    pub fn overhang_mm2(&self, up: &Vector3<f64>) -> f64 {
        const ON_BED_MM: f64 = 1e-6;
        let bed = self
            .vertices
            .iter()
            .map(|vertex| vertex.coords.dot(up))
            .fold(f64::INFINITY, f64::min);
        let steep = -std::f64::consts::FRAC_1_SQRT_2 - 1e-9;
        self.corners()
            .filter_map(|[a, b, c]| {
                let normal = (b - a).cross(&(c - a));
                let size = normal.norm();
                let on_bed = [a, b, c]
                    .iter()
                    .all(|corner| corner.coords.dot(up) < bed + ON_BED_MM);
                (size > 0.0 && !on_bed && normal.dot(up) / size < steep).then_some(size / 2.0)
            })
            // The sum of nothing is -0.
            .sum::<f64>()
            + 0.0
    }

    /// The mesh with every corner sent through `place`, which must not mirror.
    #[must_use]
    pub fn mapped(&self, place: impl Fn(&Point3<f64>) -> Point3<f64>) -> Self {
        Self {
            vertices: self.vertices.iter().map(place).collect(),
            triangles: self.triangles.clone(),
        }
    }
}

/// Gives every distinct point one number; equal means equal to the last bit.
#[derive(Debug, Default)]
pub struct PointBook {
    numbers: BTreeMap<[u64; 3], u32>,
    /// Points in the order of their numbers.
    pub points: Vec<Point3<f64>>,
}

impl PointBook {
    /// Number of a point.
    pub fn number(&mut self, point: Point3<f64>) -> u32 {
        // Adding zero turns -0 into 0, which is the same place.
        let point = Point3::new(point.x + 0.0, point.y + 0.0, point.z + 0.0);
        let key = [point.x.to_bits(), point.y.to_bits(), point.z.to_bits()];
        let next = u32::try_from(self.points.len()).unwrap_or(u32::MAX);
        *self.numbers.entry(key).or_insert_with(|| {
            self.points.push(point);
            next
        })
    }
}

/// Corner of a unit cube, for tests of what reads and writes meshes.
#[cfg(test)]
pub(crate) fn tetrahedron() -> Mesh {
    Mesh {
        vertices: vec![
            Point3::new(0.0, 0.0, 0.0),
            Point3::new(1.0, 0.0, 0.0),
            Point3::new(0.0, 1.0, 0.0),
            Point3::new(0.0, 0.0, 1.0),
        ],
        triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_tetrahedron_is_closed_and_has_a_sixth_of_the_cube() {
        let mesh = tetrahedron();
        assert_eq!(mesh.check_closed(), Ok(()));
        assert_relative_eq!(mesh.volume_mm3(), 1.0 / 6.0);
    }

    #[test]
    fn a_missing_or_turned_triangle_is_found() {
        let mut open = tetrahedron();
        open.triangles.pop();
        assert!(matches!(open.check_closed(), Err(OpenMesh::Open { .. })));
        let mut turned = tetrahedron();
        turned.triangles[0] = [0, 1, 2];
        assert!(matches!(
            turned.check_closed(),
            Err(OpenMesh::Doubled { .. })
        ));
    }
}

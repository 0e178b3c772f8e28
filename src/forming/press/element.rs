//! A four-node element: forces and stiffness from the displacements of its corners.
//!
//! Elements are of the F-bar kind for plane strain: the in-plane gradient at each of the four points is
//! scaled so that its area change is that of the element's centre. They neither lock in plastic flow nor
//! hourglass; through-thickness refinement takes care of bending. The four points go through the formulas side by side.
//!
//! # Source
//! E. A. de Souza Neto et al., "Design of simple low order finite elements for large strain analysis of
//! nearly incompressible solids", Int. J. Solids Structures 33 (1996) (from memory); the stiffness is tested
//! against finite differences of the forces.

use super::material::{Memory, PressMetal};
use crate::numeric::four::Four;
use nalgebra::{Matrix2, Point2, SMatrix};

/// Places of the four points of the 2 x 2 rule, `±1/√3`.
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// Two numbers of each corner: at the first column below and above, at the second below and above.
pub(super) type Corners = [[f64; 2]; 4];
/// Forces on the corners, x and z of each in turn.
pub(super) type Forces = [f64; 8];
/// For each of the eight forces how it grows with each of the eight displacements.
pub(super) type ElementStiffness = [[f64; 8]; 8];

/// What elements of one shape have in common: their slopes in the reference shape.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    /// Slopes of the corners' shape functions at the four points.
    points: [[Four; 2]; 4],
    /// Areas of the points.
    areas: Four,
    centre: Corners,
}

/// What the stiffness of an element is made of.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Stiff {
    /// Slopes of the centre and of the points where they are now.
    centre: Corners,
    points: [[Four; 2]; 4],
    /// Stress and tangent, times the points' areas.
    stress: [Four; 3],
    tangent: [Four; 6],
}

/// Slopes of the corners' shape functions at a place of the unit square, and the area there.
fn slopes_at(corners: &[Point2<f64>; 4], u: f64, v: f64) -> (Corners, f64) {
    let local = SMatrix::<f64, 4, 2>::new(
        -(1.0 - v) / 4.0,
        -(1.0 - u) / 4.0,
        -(1.0 + v) / 4.0,
        (1.0 - u) / 4.0,
        (1.0 - v) / 4.0,
        -(1.0 + u) / 4.0,
        (1.0 + v) / 4.0,
        (1.0 + u) / 4.0,
    );
    let mut jacobian = Matrix2::zeros();
    for (corner, slope) in corners.iter().zip(local.row_iter()) {
        jacobian += corner.coords * slope;
    }
    let area = jacobian.determinant();
    let inverse = jacobian.try_inverse().unwrap_or_else(Matrix2::zeros);
    let slopes = local * inverse;
    (
        [0, 1, 2, 3].map(|corner: usize| [slopes[(corner, 0)], slopes[(corner, 1)]]),
        area,
    )
}

/// `1 + Σ u gᵀ` at the four points.
#[inline]
fn gradient(moved: &Corners, slopes: &[[Four; 2]; 4]) -> [[Four; 2]; 2] {
    let [zero, one] = [0.0, 1.0].map(Four::all);
    let mut gradient = [[one, zero], [zero, one]];
    for (moved, slopes) in moved.iter().zip(slopes) {
        for (row, moved) in gradient.iter_mut().zip(moved) {
            for (sum, slope) in row.iter_mut().zip(slopes) {
                *sum += *moved * *slope;
            }
        }
    }
    gradient
}

/// The same at the centre.
#[inline]
fn central_gradient(moved: &Corners, slopes: &Corners) -> [[f64; 2]; 2] {
    let mut gradient = [[1.0, 0.0], [0.0, 1.0]];
    for (moved, slopes) in moved.iter().zip(slopes) {
        for (row, moved) in gradient.iter_mut().zip(moved) {
            for (sum, slope) in row.iter_mut().zip(slopes) {
                *sum += moved * slope;
            }
        }
    }
    gradient
}

impl Shape {
    /// Of an element with these corners.
    pub(super) fn of(corners: &[Point2<f64>; 4]) -> Self {
        let at = |u: f64, v: f64| slopes_at(corners, u * GAUSS, v * GAUSS);
        let points = [at(-1.0, -1.0), at(-1.0, 1.0), at(1.0, -1.0), at(1.0, 1.0)];
        let slope = |corner: usize, axis: usize| Four(points.map(|(slopes, _)| slopes[corner][axis]));
        Self {
            points: [0, 1, 2, 3].map(|corner| [slope(corner, 0), slope(corner, 1)]),
            areas: Four(points.map(|(_, area)| area)),
            centre: slopes_at(corners, 0.0, 0.0).0,
        }
    }

    /// Gradients of the four points, scaled to the area change of the centre.
    fn scaled(&self, moved: &Corners) -> [[Four; 2]; 2] {
        let [[c11, c12], [c21, c22]] = central_gradient(moved, &self.centre);
        let own = gradient(moved, &self.points);
        let [[f11, f12], [f21, f22]] = own;
        let scale = (Four::all(c11 * c22 - c12 * c21) / (f11 * f22 - f12 * f21)).sqrt();
        own.map(|row| row.map(|value| value * scale))
    }

    /// Work stored elastically and work lost in plastic flow, N (N mm for each mm of width).
    pub(super) fn work(&self, moved: &Corners, memory: &Memory, metal: &PressMetal) -> (f64, f64) {
        let (stored, lost) = metal.work(self.scaled(moved), memory);
        ((self.areas * stored).sum(), (self.areas * lost).sum())
    }

    /// Forces and the memory after the step; what stiffness is made of goes into `stiff`.
    ///
    /// `None` when the element is turned inside out.
    #[inline]
    pub(super) fn respond(
        &self,
        moved: &Corners,
        old: &Memory,
        metal: &PressMetal,
        stiff: Option<&mut Stiff>,
    ) -> Option<(Forces, Memory)> {
        let [[c11, c12], [c21, c22]] = central_gradient(moved, &self.centre);
        let central_area = c11 * c22 - c12 * c21;
        let own = gradient(moved, &self.points);
        let [[f11, f12], [f21, f22]] = own;
        let area = f11 * f22 - f12 * f21;
        if !(central_area > 0.0 && area.all_above(0.0)) {
            return None;
        }
        let inverse = Four::all(1.0) / area;
        let scale = (central_area * inverse).sqrt();
        let answer = metal.respond(own.map(|row| row.map(|value| value * scale)), old)?;
        let [b11, b12, b21, b22] = [f22, -f12, -f21, f11].map(|value| value * inverse);
        let slopes = self
            .points
            .map(|[x, z]| [x * b11 + z * b21, x * b12 + z * b22]);
        // Kirchhoff stress of the scaled gradient over its area change is Cauchy stress.
        let shrunk = 1.0 / central_area;
        let share = self.areas * area * Four::all(shrunk);
        let stress = answer.stress.map(|value| value * share);
        let mut force = [0.0; 8];
        for ([x, z], force) in slopes.iter().zip(force.as_chunks_mut::<2>().0) {
            force[0] = (*x * stress[0] + *z * stress[2]).sum();
            force[1] = (*x * stress[2] + *z * stress[1]).sum();
        }
        if let Some(stiff) = stiff {
            let [b11, b12, b21, b22] = [c22, -c12, -c21, c11].map(|value| value * shrunk);
            *stiff = Stiff {
                centre: self
                    .centre
                    .map(|[x, z]| [x * b11 + z * b21, x * b12 + z * b22]),
                points: slopes,
                stress,
                tangent: answer.tangent.map(|value| value * share),
            };
        }
        Some((force, answer.memory))
    }
}

impl Stiff {
    /// `K = Σ [ G (a - q ⊗ 1) G ] + Σ [ G q ] G0`, `a = c + δ τ`, `q = c : I/2` in plane strain.
    pub(super) fn stiffness(&self) -> ElementStiffness {
        let [c1111, c2222, c1122, c1112, c2212, c1212] = self.tangent;
        let [t11, t22, t12] = self.stress;
        let [q11, q22, q12] = [c1111 + c1122, c2222 + c1122, c1112 + c2212].map(|q| 0.5 * q);
        // First force's axis, slope's axis, then for both axes of the other corner's slope by those of its displacement.
        let whole = [
            [
                [
                    [c1111 + t11 - q11, c1112],
                    [c1112 + t12, c1122 - q11],
                ],
                [
                    [c1112 + t12 - q12, c1212],
                    [c1212 + t22, c2212 - q12],
                ],
            ],
            [
                [
                    [c1112 - q12, c1212 + t11],
                    [c1212, c2212 + t12 - q12],
                ],
                [
                    [c1122 - q22, c2212 + t12],
                    [c2212, c2222 + t22 - q22],
                ],
            ],
        ];
        let mut sum = ElementStiffness::default();
        for (corner, [x, z]) in self.points.iter().enumerate() {
            let pulls = [(*x * q11 + *z * q12).sum(), (*x * q12 + *z * q22).sum()];
            for (axis, pull) in pulls.into_iter().enumerate() {
                let row = &mut sum[2 * corner + axis];
                for (room, slopes) in row.as_chunks_mut::<2>().0.iter_mut().zip(&self.centre) {
                    *room = slopes.map(|slope| pull * slope);
                }
            }
        }
        for point in 0..4 {
            let pairs = whole.map(|plane| {
                plane.map(|row| row.map(|pair| pair.map(|value: Four| value.0[point])))
            });
            let slopes = self.points.map(|pair| pair.map(|slope| slope.0[point]));
            add_point(&mut sum, &slopes, &pairs);
        }
        sum
    }
}

/// Adds what one point does for every pair of corners.
#[inline]
fn add_point(sum: &mut ElementStiffness, slopes: &Corners, whole: &[[[[f64; 2]; 2]; 2]; 2]) {
    for ([x, z], rows) in slopes.iter().zip(sum.as_chunks_mut::<2>().0) {
        for (row, [by_x, by_z]) in rows.iter_mut().zip(whole) {
            let half = [0, 1].map(|l: usize| [0, 1].map(|k: usize| x * by_x[l][k] + z * by_z[l][k]));
            for (room, [x, z]) in row.as_chunks_mut::<2>().0.iter_mut().zip(slopes) {
                for (k, room) in room.iter_mut().enumerate() {
                    *room += half[0][k] * x + half[1][k] * z;
                }
            }
        }
    }
}

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
        let scaled = [[f11 * scale, f12 * scale], [f21 * scale, f22 * scale]];
        let answer = metal.respond(scaled, old)?;
        let (b11, b22) = (f22 * inverse, f11 * inverse);
        let (b12, b21) = (-(f12 * inverse), -(f21 * inverse));
        let mut slopes = self.points;
        for [x, z] in &mut slopes {
            (*x, *z) = (*x * b11 + *z * b21, *x * b12 + *z * b22);
        }
        // Kirchhoff stress of the scaled gradient over its area change is Cauchy stress.
        let shrunk = 1.0 / central_area;
        let share = self.areas * area * Four::all(shrunk);
        let [t11, t22, t12] = answer.stress;
        let stress = [t11 * share, t22 * share, t12 * share];
        let mut force = [0.0; 8];
        for ([x, z], force) in slopes.iter().zip(force.as_chunks_mut::<2>().0) {
            force[0] = (*x * stress[0] + *z * stress[2]).sum();
            force[1] = (*x * stress[2] + *z * stress[1]).sum();
        }
        if let Some(stiff) = stiff {
            stiff.points = slopes;
            stiff.stress = stress;
            for (room, value) in stiff.tangent.iter_mut().zip(&answer.tangent) {
                *room = *value * share;
            }
            for (room, [x, z]) in stiff.centre.iter_mut().zip(&self.centre) {
                *room = [
                    shrunk * (x * c22 - z * c21),
                    shrunk * (z * c11 - x * c12),
                ];
            }
        }
        Some((force, answer.memory))
    }
}

impl Stiff {
    /// `K = Σ [ G (a - q ⊗ 1) G ] + Σ [ G q ] G0`, `a = c + δ τ`, `q = c : I/2` in plane strain.
    pub(super) fn stiffness(&self) -> ElementStiffness {
        let [c1111, c2222, c1122, c1112, c2212, c1212] = self.tangent;
        let [t11, t22, t12] = self.stress;
        let (q11, q22, q12) = (
            0.5 * (c1111 + c1122),
            0.5 * (c2222 + c1122),
            0.5 * (c1112 + c2212),
        );
        // Of the first force: its axis and its slope's axis, then the axis of the other slope; pairs by the axis of the other
        // corner's displacement.
        let whole = [
            [c1111 + t11 - q11, c1112],
            [c1112 + t12, c1122 - q11],
            [c1112 + t12 - q12, c1212],
            [c1212 + t22, c2212 - q12],
            [c1112 - q12, c1212 + t11],
            [c1212, c2212 + t12 - q12],
            [c1122 - q22, c2212 + t12],
            [c2212, c2222 + t22 - q22],
        ];
        let mut points = [StiffPoint::default(); 4];
        for (number, [first, second]) in whole.iter().enumerate() {
            let both = first.0.into_iter().zip(second.0);
            for (point, (first, second)) in points.iter_mut().zip(both) {
                point.whole[number] = [first, second];
            }
        }
        for (corner, [x, z]) in self.points.iter().enumerate() {
            for (point, (x, z)) in points.iter_mut().zip(x.0.into_iter().zip(z.0)) {
                point.slopes[corner] = [[x, x], [z, z]];
            }
        }
        let mut sum = ElementStiffness::default();
        for (number, row) in sum.iter_mut().enumerate() {
            let (corner, axis) = (number / 2, number % 2);
            let [x, z] = self.points[corner];
            let [by_x, by_z] = if axis == 0 { [q11, q12] } else { [q12, q22] };
            let pull = (x * by_x + z * by_z).sum();
            let mut pairs = [[0.0; 2]; 4];
            for (pair, [x, z]) in pairs.iter_mut().zip(&self.centre) {
                *pair = [pull * x, pull * z];
            }
            for point in &points {
                point.add(corner, axis, &mut pairs);
            }
            let [[a, b], [c, d], [e, f], [g, h]] = pairs;
            *row = [a, b, c, d, e, f, g, h];
        }
        sum
    }
}

/// One point's share in the stiffness.
#[derive(Clone, Copy, Default)]
struct StiffPoint {
    whole: [[f64; 2]; 8],
    /// Slopes of each corner, each twice.
    slopes: [[[f64; 2]; 2]; 4],
}

impl StiffPoint {
    /// Adds how a force grows with the displacements of every corner.
    #[inline]
    fn add(&self, corner: usize, axis: usize, pairs: &mut Corners) {
        let [x, z] = self.slopes[corner];
        let [xx, xz, zx, zz] = if axis == 0 {
            [self.whole[0], self.whole[1], self.whole[2], self.whole[3]]
        } else {
            [self.whole[4], self.whole[5], self.whole[6], self.whole[7]]
        };
        let by_x = [x[0] * xx[0] + z[0] * zx[0], x[1] * xx[1] + z[1] * zx[1]];
        let by_z = [x[0] * xz[0] + z[0] * zz[0], x[1] * xz[1] + z[1] * zz[1]];
        for (pair, [x, z]) in pairs.iter_mut().zip(&self.slopes) {
            pair[0] += by_x[0] * x[0] + by_z[0] * z[0];
            pair[1] += by_x[1] * x[1] + by_z[1] * z[1];
        }
    }
}

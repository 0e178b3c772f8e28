//! A four-node element: forces and stiffness from the displacements of its corners.
//!
//! Elements are of the F-bar kind for plane strain: the in-plane gradient at each of the four points is
//! scaled so that its area change is that of the element's centre. They neither lock in plastic flow nor
//! hourglass. The four points go through the formulas side by side.
//!
//! Two things go wrong when such elements bend by a curvature κ. Their straight edges shear, by κ times the distance from
//! the middle, which makes a sheet stiffer by `G·a²·t/12` for elements of the length a. And within a layer of the height h the
//! change of area does not follow, which makes it softer by `(E' − G)·h²·t/12`, E' = 2G/(1 − ν). Of the shear a share s is
//! kept, `s² = (1 + ν)/(1 − ν)·(h/a)²`, so that both cancel: while elastic, flats are as stiff as they are however long their
//! elements. Short elements, where that is above 1, keep it whole.
//!
//! # Source
//! E. A. de Souza Neto et al., "Design of simple low order finite elements for large strain analysis of
//! nearly incompressible solids", Int. J. Solids Structures 33 (1996) (from memory); the stiffness is tested
//! against finite differences of the forces. The share is derived here, and bending is tested against closed forms
//! (`tests/pressing/reference_press_closed_forms.rs`).

use super::material::{Memory, PressMetal};
use crate::numeric::four::Four;
use nalgebra::{Matrix2, Point2, SMatrix, Vector2};

/// Places of the four points of the 2 x 2 rule, `±1/√3`.
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// Two numbers of each corner: at the first column below and above, at the second below and above.
pub(super) type Corners = [[f64; 2]; 4];
/// Forces on the corners, x and z of each in turn.
pub(super) type Forces = [f64; 8];
/// For each of the eight forces how it grows with each of the eight displacements.
/// At the corners of the first column and at those of the second.
pub(super) type ElementStiffness = [[Four; 2]; 8];

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
#[inline(always)]
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
#[inline(always)]
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
    /// Of an element with these corners, of a metal with this Poisson's ratio; the first and the third lie along the sheet.
    pub(super) fn of(corners: &[Point2<f64>; 4], poisson: f64) -> Self {
        let at = |u: f64, v: f64| slopes_at(corners, u * GAUSS, v * GAUSS);
        let points = [at(-1.0, -1.0), at(-1.0, 1.0), at(1.0, -1.0), at(1.0, 1.0)];
        let centre = slopes_at(corners, 0.0, 0.0).0;
        let [along, up] = [corners[2] - corners[0], corners[1] - corners[0]];
        let whole = ((1.0 + poisson) / (1.0 - poisson)).sqrt();
        let sheared = (whole * up.norm() / along.norm()).min(1.0);
        let along = along.normalize();
        let across = Vector2::new(-along.y, along.x);
        // Along the sheet the point's own slope; across it, part of the way from the centre's.
        let slope = |corner: usize, axis: usize| {
            let central = across.dot(&Vector2::from(centre[corner]));
            Four(points.map(|(slopes, _)| {
                let own = Vector2::from(slopes[corner]);
                let through = central + sheared * (across.dot(&own) - central);
                along[axis] * along.dot(&own) + across[axis] * through
            }))
        };
        Self {
            points: [0, 1, 2, 3].map(|corner| [slope(corner, 0), slope(corner, 1)]),
            areas: Four(points.map(|(_, area)| area)),
            centre,
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

    /// Forces; the memory becomes the one after the step, and what stiffness is made of goes into `stiff`.
    ///
    /// `None` when the element is turned inside out.
    #[inline(always)]
    pub(super) fn respond(
        &self,
        moved: &Corners,
        memory: &mut Memory,
        metal: &PressMetal,
        stiff: &mut Stiff,
    ) -> Option<Forces> {
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
        let answer = metal.respond(scaled, memory)?;
        let (b11, b22) = (f22 * inverse, f11 * inverse);
        let (b12, b21) = (-(f12 * inverse), -(f21 * inverse));
        // Kirchhoff stress of the scaled gradient over its area change is Cauchy stress.
        let shrunk = 1.0 / central_area;
        let share = self.areas * area * Four::all(shrunk);
        let [t11, t22, t12] = answer.stress;
        let stress = [t11 * share, t22 * share, t12 * share];
        stiff.stress = stress;
        for (room, value) in stiff.tangent.iter_mut().zip(&answer.tangent) {
            *room = *value * share;
        }
        for (room, [x, z]) in stiff.centre.iter_mut().zip(&self.centre) {
            *room = [shrunk * (x * c22 - z * c21), shrunk * (z * c11 - x * c12)];
        }
        let mut force = [0.0; 8];
        let rooms = force.as_chunks_mut::<2>().0.iter_mut();
        for ((force, room), [x, z]) in rooms.zip(&mut stiff.points).zip(&self.points) {
            let (x, z) = (*x * b11 + *z * b21, *x * b12 + *z * b22);
            *room = [x, z];
            *force = [
                (x * stress[0] + z * stress[2]).sum(),
                (x * stress[2] + z * stress[1]).sum(),
            ];
        }
        Some(force)
    }
}

impl Stiff {
    /// `K = Σ [ G (a - q ⊗ 1) G ] + Σ [ G q ] G0`, `a = c + δ τ`, `q = c : I/2` in plane strain.
    #[inline(always)]
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
                point.whole[number / 4][number % 4] = [first, second];
            }
        }
        let [a, b, c, d] = &self.points;
        for (point, room) in points.iter_mut().enumerate() {
            room.first = [twice(a[0], b[0], point), twice(a[1], b[1], point)];
            room.second = [twice(c[0], d[0], point), twice(c[1], d[1], point)];
        }
        let [a, b, c, d] = self.centre;
        let centre = [
            Four([a[0], a[1], b[0], b[1]]),
            Four([c[0], c[1], d[0], d[1]]),
        ];
        let mut sum = ElementStiffness::default();
        for (rows, [x, z]) in sum.as_chunks_mut::<2>().0.iter_mut().zip(&self.points) {
            let along = (*x * q11 + *z * q12).sum();
            let up = (*x * q12 + *z * q22).sum();
            let mut own = [along * centre[0], along * centre[1]];
            let mut other = [up * centre[0], up * centre[1]];
            for (point, (x, z)) in points.iter().zip(x.0.into_iter().zip(z.0)) {
                let [xx, xz, zx, zz] = &point.whole[0];
                point.add(&mut own, mixed(x, xx, z, zx), mixed(x, xz, z, zz));
                let [xx, xz, zx, zz] = &point.whole[1];
                point.add(&mut other, mixed(x, xx, z, zx), mixed(x, xz, z, zz));
            }
            *rows = [own, other];
        }
        sum
    }
}

/// A number of two corners at one point, each twice.
#[inline(always)]
fn twice(first: Four, second: Four, point: usize) -> Four {
    let (first, second) = (first.0[point], second.0[point]);
    Four([first, first, second, second])
}

/// `x a + z b` of pairs, twice.
#[inline(always)]
fn mixed(x: f64, a: &[f64; 2], z: f64, b: &[f64; 2]) -> Four {
    let (first, second) = (x * a[0] + z * b[0], x * a[1] + z * b[1]);
    Four([first, second, first, second])
}

/// One point's share in the stiffness.
#[derive(Clone, Copy, Default)]
struct StiffPoint {
    /// For both axes of the first force.
    whole: [[[f64; 2]; 4]; 2],
    /// Slopes of the corners at the first column along both axes, each twice.
    first: [Four; 2],
    /// The same at the second column.
    second: [Four; 2],
}

impl StiffPoint {
    /// Adds how a force grows with the displacements of every corner.
    #[inline(always)]
    fn add(&self, row: &mut [Four; 2], by_x: Four, by_z: Four) {
        let ([ax, az], [bx, bz]) = (self.first, self.second);
        row[0] += by_x * ax + by_z * az;
        row[1] += by_x * bx + by_z * bz;
    }
}

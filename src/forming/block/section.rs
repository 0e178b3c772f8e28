//! The section of a block between its face and its back, in finite elements.
//!
//! Columns of nodes stand upright at stations along the face and reach to the back. Elements are biquadratic with nine
//! nodes: they bend without locking and stay good when a steep face makes parallelograms of them.
//!
//! # Source
//! Lagrange elements and plane strain: O. C. Zienkiewicz & R. L. Taylor, The Finite Element Method (from memory); the
//! answers are held against closed forms and an independent program in `tests/pressing/reference_block.rs`.

use crate::geometry::{Chain, Segment};
use crate::numeric::sparse::Symmetric;
use nalgebra::{DMatrix, Matrix2, Point2, SMatrix, Vector2};
use serde::{Deserialize, Serialize};

/// Nodes of an element in one direction, and in all.
const ALONG: usize = 3;
const NODES: usize = ALONG * ALONG;
/// Places and weights of Gauss's rule with three points: √(3/5), 5/9, 8/9.
const GAUSS: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];
/// How closely the face is followed where the depth of a wall is measured, mm.
const FOLLOW_MM: f64 = 0.005;
/// A linear traction along an edge of length 1 as forces on its three nodes: the part that is 1 at its first end.
const EDGE_LOAD: [f64; ALONG] = [1.0 / 6.0, 1.0 / 3.0, 0.0];

/// What a block is made of: a wall below the face, infill behind it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Print {
    /// Young's modulus of the wall, MPa.
    pub wall_youngs_mpa: f64,
    /// Young's modulus of what is behind it, MPa.
    pub infill_youngs_mpa: f64,
    /// Thickness of the wall, measured square to the face.
    pub wall_mm: f64,
    /// Poisson's ratio of both.
    pub poisson: f64,
}

impl Print {
    /// The same all over.
    pub const fn solid(youngs_mpa: f64, poisson: f64) -> Self {
        Self {
            wall_youngs_mpa: youngs_mpa,
            infill_youngs_mpa: youngs_mpa,
            wall_mm: 0.0,
            poisson,
        }
    }

    fn youngs_mpa(&self, depth_mm: f64) -> f64 {
        if depth_mm < self.wall_mm {
            self.wall_youngs_mpa
        } else {
            self.infill_youngs_mpa
        }
    }
}

/// Which side of its face a block is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The lower die.
    Below,
    /// The upper die.
    Above,
}

/// How finely a block is meshed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mesh {
    /// Length of elements along the face in and beside its arcs.
    pub finest_mm: f64,
    /// How far beyond an arc they stay so.
    pub beyond_mm: f64,
    /// Longer by this for each length of distance from there.
    pub growth: f64,
    /// Longest along the face.
    pub coarsest_mm: f64,
    /// Height of the first element below the face over [`Self::finest_mm`].
    pub first: f64,
    /// Height of each next element over that of the one before.
    pub deeper: f64,
}

impl Mesh {
    /// Fine enough for noses that a sheet of a thickness is bent round: half of it changes angles by 0.03 degrees.
    pub fn for_sheet(thickness_mm: f64) -> Self {
        Self {
            finest_mm: 0.25 * thickness_mm,
            beyond_mm: 1.25 * thickness_mm,
            growth: 0.4,
            coarsest_mm: 2.0 * thickness_mm,
            first: 1.0,
            deeper: 1.5,
        }
    }

    /// Places along a face where columns stand: alike from both ends.
    pub fn stations_mm(&self, face: &Chain) -> Vec<f64> {
        let length_mm = face.length_mm();
        let arcs: Vec<_> = face
            .pieces()
            .filter(|piece| matches!(piece.segment, Segment::Arc { .. }))
            .map(|piece| (piece.from_mm, piece.from_mm + piece.segment.length_mm()))
            .collect();
        let wanted_mm = |at: f64| {
            let away = arcs
                .iter()
                .map(|(from, to)| (from - at).max(at - to).max(0.0))
                .fold(f64::INFINITY, f64::min);
            let away = (away - self.beyond_mm).max(0.0);
            (self.finest_mm + self.growth * away).min(self.coarsest_mm)
        };
        // How many elements there are up to each of many places, then evenly many of them.
        let pieces = libm::ceil(4.0 * length_mm / self.finest_mm).max(1.0);
        let piece_mm = length_mm / pieces;
        let mut sums = vec![0.0];
        let mut sum = 0.0;
        while (sums.len() as f64) < pieces + 0.5 {
            let middle = (sums.len() as f64 - 0.5) * piece_mm;
            sum += piece_mm / wanted_mm(middle);
            sums.push(sum);
        }
        let each = sum / libm::ceil(sum).max(1.0);
        let mut stations = vec![0.0];
        for (number, pair) in sums.windows(2).enumerate() {
            let (before, after) = (pair[0], pair[1]);
            while stations.len() as f64 * each <= after - 1e-9 * each {
                let share = (stations.len() as f64 * each - before) / (after - before);
                stations.push((number as f64 + share) * piece_mm);
            }
        }
        stations.push(length_mm);
        stations
    }

    /// Depths of rows of nodes as shares of the whole depth, from 0 on the face to 1 at the back.
    fn rows(&self, depth_mm: f64) -> Vec<f64> {
        let mut edges = vec![0.0];
        let (mut at, mut height) = (0.0, self.first * self.finest_mm);
        while at < depth_mm {
            at += height;
            height *= self.deeper;
            edges.push(at);
        }
        let mut rows = vec![0.0];
        for pair in edges.windows(2) {
            rows.push(f64::midpoint(pair[0], pair[1]) / at);
            rows.push(pair[1] / at);
        }
        rows
    }
}

/// How the face of a block gives: traction in, displacement out, both linear between stations.
#[derive(Debug, Clone, PartialEq)]
pub struct Compliance {
    /// Stations along the face.
    pub stations_mm: Vec<f64>,
    /// For the traction 1 MPa that falls from one station to zero at its neighbours, x and z of each station in turn:
    /// the displacement of the face weighted with each of the same shapes, mm² for each MPa. Symmetric.
    pub weighted: DMatrix<f64>,
}

/// Distance of a place from a polyline.
fn distance_mm(line: &[Point2<f64>], place: Point2<f64>) -> f64 {
    line.windows(2)
        .map(|pair| {
            let (from, along) = (pair[0], pair[1] - pair[0]);
            let share = (place - from).dot(&along) / along.norm_squared();
            (place - from - along * share.clamp(0.0, 1.0)).norm()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Value and slope of the three Lagrange polynomials over −1, 0, 1.
fn lagrange(u: f64) -> [(f64, f64); ALONG] {
    [
        (u * (u - 1.0) / 2.0, u - 0.5),
        (1.0 - u * u, -2.0 * u),
        (u * (u + 1.0) / 2.0, u + 0.5),
    ]
}

/// Slopes of the nine shape functions at a place of an element, and the area that a unit of the square stands for.
fn slopes_at(
    nodes: &[Point2<f64>; NODES],
    u: f64,
    v: f64,
) -> Option<(SMatrix<f64, NODES, 2>, f64)> {
    let (us, vs) = (lagrange(u), lagrange(v));
    let local = SMatrix::<f64, NODES, 2>::from_fn(|node, axis| {
        let ((a, da), (b, db)) = (us[node / ALONG], vs[node % ALONG]);
        if axis == 0 { da * b } else { a * db }
    });
    let mut jacobian = Matrix2::zeros();
    for (node, slope) in nodes.iter().zip(local.row_iter()) {
        jacobian += node.coords * slope;
    }
    Some((
        local * jacobian.try_inverse()?,
        jacobian.determinant().abs(),
    ))
}

/// Stiffness of one element in plane strain; `youngs_mpa` at a place.
fn element(
    nodes: &[Point2<f64>; NODES],
    poisson: f64,
    youngs_mpa: impl Fn(Point2<f64>) -> f64,
) -> Option<SMatrix<f64, { 2 * NODES }, { 2 * NODES }>> {
    let mut stiffness = SMatrix::<f64, { 2 * NODES }, { 2 * NODES }>::zeros();
    for (u, along) in GAUSS {
        for (v, across) in GAUSS {
            let (slopes, area) = slopes_at(nodes, u, v)?;
            let (us, vs) = (lagrange(u), lagrange(v));
            let place: Vector2<f64> = nodes
                .iter()
                .enumerate()
                .map(|(node, place)| place.coords * (us[node / ALONG].0 * vs[node % ALONG].0))
                .sum();
            let youngs = youngs_mpa(Point2::from(place));
            let shear = youngs / (2.0 * (1.0 + poisson));
            let lame = 2.0 * shear * poisson / (1.0 - 2.0 * poisson);
            let weight = along * across * area;
            for a in 0..NODES {
                let (ax, az) = (slopes[(a, 0)], slopes[(a, 1)]);
                for b in 0..NODES {
                    let (bx, bz) = (slopes[(b, 0)], slopes[(b, 1)]);
                    let both = shear * (ax * bx + az * bz);
                    let sum = lame + shear;
                    stiffness[(2 * a, 2 * b)] += weight * (sum * ax * bx + both);
                    stiffness[(2 * a + 1, 2 * b + 1)] += weight * (sum * az * bz + both);
                    stiffness[(2 * a, 2 * b + 1)] += weight * (lame * ax * bz + shear * az * bx);
                    stiffness[(2 * a + 1, 2 * b)] += weight * (lame * az * bx + shear * ax * bz);
                }
            }
        }
    }
    Some(stiffness)
}

/// How the face of a block gives whose back, at the height `back_mm`, is held. It ends at the first and last station;
/// loads stand, and answers are given, between the stations about `touched_mm`.
///
/// Loads are tractions along the face, never points: under a point the face of an elastic body gives without limit.
///
/// # Errors
/// `None` when the face goes back in x or reaches the back, or the numbers are no stiffness.
pub fn compliance(
    face: &Chain,
    side: Side,
    back_mm: f64,
    print: &Print,
    mesh: &Mesh,
    stations_mm: &[f64],
    touched_mm: [f64; 2],
) -> Option<Compliance> {
    let columns: Vec<Point2<f64>> = stations_mm
        .windows(2)
        .flat_map(|pair| [pair[0], f64::midpoint(pair[0], pair[1])])
        .chain(stations_mm.last().copied())
        .map(|along| face.at(along).point)
        .collect();
    let deepest_mm = columns
        .iter()
        .map(|top| (top.y - back_mm).abs())
        .fold(0.0, f64::max);
    let is_section = columns.windows(2).all(|pair| pair[0].x < pair[1].x)
        && columns.iter().all(|top| match side {
            Side::Below => top.y > back_mm,
            Side::Above => top.y < back_mm,
        });
    if !is_section {
        return None;
    }
    let shares = mesh.rows(deepest_mm);
    // The back does not move: its row has no unknowns.
    let free = shares.len() - 1;
    let place = |column: usize, row: usize| {
        let top = columns[column];
        Point2::new(top.x, top.y + (back_mm - top.y) * shares[row])
    };
    let drawn = face.flattened(FOLLOW_MM);
    let is_same = print.wall_youngs_mpa == print.infill_youngs_mpa || print.wall_mm <= 0.0;
    let youngs_mpa = |place: Point2<f64>| {
        if is_same {
            return print.infill_youngs_mpa;
        }
        print.youngs_mpa(distance_mm(&drawn, place))
    };
    let mut stiffness = Symmetric::new(2 * columns.len() * free);
    for first in (0..columns.len() - 1).step_by(2) {
        for top in (0..free).step_by(2) {
            let node = |node: usize| (first + node / ALONG, top + node % ALONG);
            let nodes = std::array::from_fn(|number| {
                let (column, row) = node(number);
                place(column, row)
            });
            let part = element(&nodes, print.poisson, youngs_mpa)?;
            let freedom = |number: usize| {
                let (column, row) = node(number / 2);
                (row < free).then_some(2 * (column * free + row) + number % 2)
            };
            for i in 0..2 * NODES {
                for j in 0..2 * NODES {
                    if let (Some(row), Some(column)) = (freedom(i), freedom(j)) {
                        stiffness.add(row, column, part[(i, j)]);
                    }
                }
            }
        }
    }
    let factor = stiffness.factorise().ok()?;
    let [from_mm, to_mm] = touched_mm;
    let first = stations_mm
        .partition_point(|at| *at <= from_mm)
        .saturating_sub(1);
    let last = stations_mm.partition_point(|at| *at < to_mm);
    let touched = stations_mm.get(first..=last.min(stations_mm.len() - 1))?;
    let stations = touched.len();
    // Nodes of the face below the loads, and what stands on each of them.
    let freedom = |node: usize, axis: usize| 2 * (2 * first + node) * free + axis;
    let mut on_face = DMatrix::zeros(2 * (2 * stations - 1), 2 * stations);
    for (number, pair) in touched.windows(2).enumerate() {
        let length_mm = pair[1] - pair[0];
        for (node, share) in EDGE_LOAD.into_iter().enumerate() {
            for axis in 0..2 {
                let (near, far) = (2 * number + node, 2 * number + 2 - node);
                on_face[(2 * near + axis, 2 * number + axis)] += share * length_mm;
                on_face[(2 * far + axis, 2 * number + 2 + axis)] += share * length_mm;
            }
        }
    }
    let loaded: Vec<usize> = (0..on_face.nrows())
        .map(|row| freedom(row / 2, row % 2))
        .collect();
    let moved = factor.solve_at(&loaded, &on_face);
    let weighted = on_face.tr_mul(&moved);
    let weighted = (&weighted + weighted.transpose()) * 0.5;
    Some(Compliance {
        stations_mm: touched.to_vec(),
        weighted,
    })
}

//! The give of a printed block against meshed blocks: plane strain, a wall over infill on a rigid jaw, a strip of
//! even pressure on top. The mesh is written here and shares nothing with the formula but Poisson's ratio.

use coldstep::stock::Plastic;
use coldstep::stock::printed_block::{
    LEAST_INFILL_PERCENT, MeasuredPlastic, POISSON, PrintedBlock,
};

/// Cells on half the strip, and in as much of the wall.
const CELLS: f64 = 3.0;
/// Each next cell away from strip and wall is longer by this.
const GROWTH: f64 = 1.2;

/// A block to be meshed.
#[derive(Debug, Clone, Copy)]
struct Block {
    half_width_mm: f64,
    /// Half of its length; the middle is a plane of symmetry, the end is free.
    half_length_mm: f64,
    wall_mm: f64,
    base_mm: f64,
    wall_youngs_mpa: f64,
    infill_youngs_mpa: f64,
    /// Stuck to the jaw, or sliding on it.
    stuck: bool,
}

/// Places from `from` to `to`: cells of about `first`, then growing.
fn places(from: f64, to: f64, first: f64, growth: f64) -> Vec<f64> {
    let mut sizes = Vec::new();
    let mut size = first;
    while sizes.iter().sum::<f64>() < (to - from) * (1.0 - 1e-9) {
        sizes.push(size);
        size *= growth;
    }
    let scale = (to - from) / sizes.iter().sum::<f64>();
    let mut at = from;
    std::iter::once(from)
        .chain(sizes.into_iter().map(|size| {
            at += size * scale;
            at
        }))
        .collect()
}

/// Stiffness of one bilinear cell in plane strain, 2 x 2 Gauss points, corners counter-clockwise.
fn cell(dx: f64, dz: f64, youngs: f64) -> [[f64; 8]; 8] {
    let c = youngs / ((1.0 + POISSON) * (1.0 - 2.0 * POISSON));
    let (along, across, shear) = (
        c * (1.0 - POISSON),
        c * POISSON,
        c * (1.0 - 2.0 * POISSON) / 2.0,
    );
    let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
    let mut stiffness = [[0.0; 8]; 8];
    for (p, q) in corners {
        let (xi, eta) = (p / f64::sqrt(3.0), q / f64::sqrt(3.0));
        let slopes = corners.map(|(s, t): (f64, f64)| {
            (
                s * (1.0 + t * eta) / (2.0 * dx),
                t * (1.0 + s * xi) / (2.0 * dz),
            )
        });
        let weight = dx * dz / 4.0;
        for (i, (ix, iz)) in slopes.into_iter().enumerate() {
            for (j, (jx, jz)) in slopes.into_iter().enumerate() {
                stiffness[2 * i][2 * j] += weight * (ix * along * jx + iz * shear * jz);
                stiffness[2 * i][2 * j + 1] += weight * (ix * across * jz + iz * shear * jx);
                stiffness[2 * i + 1][2 * j] += weight * (iz * across * jx + ix * shear * jz);
                stiffness[2 * i + 1][2 * j + 1] += weight * (iz * along * jz + ix * shear * jx);
            }
        }
    }
    stiffness
}

/// A symmetric matrix of which only the band below the diagonal is kept.
struct Banded {
    band: usize,
    values: Vec<f64>,
}

impl Banded {
    fn at(&mut self, row: usize, column: usize) -> &mut f64 {
        &mut self.values[row * self.band + column + self.band - 1 - row]
    }

    fn first(&self, row: usize) -> usize {
        row.saturating_sub(self.band - 1)
    }

    /// Solves by Cholesky's method.
    fn solve(mut self, mut right: Vec<f64>) -> Vec<f64> {
        for row in 0..right.len() {
            for column in self.first(row)..=row {
                let from = self.first(row).max(self.first(column));
                let (a, b) = (
                    row * self.band + self.band - 1 - row,
                    column * self.band + self.band - 1 - column,
                );
                let known: f64 = self.values[a + from..a + column]
                    .iter()
                    .zip(&self.values[b + from..b + column])
                    .map(|(p, q)| p * q)
                    .sum();
                let rest = *self.at(row, column) - known;
                *self.at(row, column) = if row == column {
                    rest.sqrt()
                } else {
                    rest / *self.at(column, column)
                };
            }
        }
        for row in 0..right.len() {
            for column in self.first(row)..row {
                right[row] -= *self.at(row, column) * right[column];
            }
            right[row] /= *self.at(row, row);
        }
        for row in (0..right.len()).rev() {
            right[row] /= *self.at(row, row);
            for column in self.first(row)..row {
                right[column] -= *self.at(row, column) * right[row];
            }
        }
        right
    }
}

impl Block {
    /// A long block.
    fn of(block: &PrintedBlock, half_width_mm: f64) -> Self {
        Self {
            half_width_mm,
            half_length_mm: half_width_mm + 4.0 * block.base_mm,
            wall_mm: block.wall_mm,
            base_mm: block.base_mm,
            wall_youngs_mpa: block.wall_youngs_mpa,
            infill_youngs_mpa: block.infill_youngs_mpa.usual,
            stuck: true,
        }
    }

    /// Mean settlement of the pressed strip under 1 MPa, mm, with `cells` on half the strip.
    fn settled_mm(&self, cells: f64) -> f64 {
        let a = self.half_width_mm;
        let fine = a.min(self.wall_mm) / cells;
        let mut xs = places(0.0, a, a / cells / 2.0, 1.0);
        let strip = xs.len();
        if self.half_length_mm > a {
            xs.extend(&places(a, self.half_length_mm, fine, GROWTH)[1..]);
        }
        let mut zs = places(0.0, self.wall_mm, fine, 1.0);
        if self.base_mm > self.wall_mm {
            zs.extend(&places(self.wall_mm, self.base_mm, fine, GROWTH)[1..]);
        }
        let deep = zs.len();
        let count = 2 * xs.len() * deep;
        let band = 2 * deep + 4;
        let mut matrix = Banded {
            band,
            values: vec![0.0; count * band],
        };
        for x in 0..xs.len() - 1 {
            for z in 0..deep - 1 {
                let in_wall = zs[z + 1] < self.wall_mm * (1.0 + 1e-9);
                let youngs = if in_wall {
                    self.wall_youngs_mpa
                } else {
                    self.infill_youngs_mpa
                };
                let stiffness = cell(xs[x + 1] - xs[x], zs[z + 1] - zs[z], youngs);
                let corner = x * deep + z;
                let nodes = [corner, corner + deep, corner + deep + 1, corner + 1];
                for i in 0..8 {
                    for j in 0..8 {
                        let (row, column) = (2 * nodes[i / 2] + i % 2, 2 * nodes[j / 2] + j % 2);
                        if row >= column {
                            *matrix.at(row, column) += stiffness[i][j];
                        }
                    }
                }
            }
        }
        let held = 1e9 * self.wall_youngs_mpa;
        for x in 0..xs.len() {
            let foot = 2 * (x * deep + deep - 1);
            *matrix.at(foot + 1, foot + 1) += held;
            if self.stuck {
                *matrix.at(foot, foot) += held;
            }
        }
        for z in 0..deep {
            *matrix.at(2 * z, 2 * z) += held;
        }
        let mut load = vec![0.0; count];
        for x in 0..strip - 1 {
            let half = (xs[x + 1] - xs[x]) / 2.0;
            load[2 * x * deep + 1] += half;
            load[2 * (x + 1) * deep + 1] += half;
        }
        let moved = matrix.solve(load.clone());
        moved.iter().zip(&load).map(|(u, f)| u * f).sum::<f64>() / a
    }
}

fn printed(wall_mm: f64, infill_percent: f64, base_mm: f64) -> PrintedBlock {
    PrintedBlock::new(
        Plastic::Pla,
        MeasuredPlastic::default(),
        wall_mm,
        infill_percent,
        base_mm,
    )
    .unwrap()
}

/// Least and most of formula over mesh, stiffness.
fn compared(infills_percent: &[f64]) -> (f64, f64) {
    let mut range = (f64::INFINITY, 0.0_f64);
    for half_width_mm in [0.5, 1.0, 2.0] {
        for wall_mm in [0.8, 2.0, 4.0] {
            for base_mm in [6.0, 12.0, 20.0] {
                for infill_percent in infills_percent {
                    let block = printed(wall_mm, *infill_percent, base_mm);
                    let mesh_mm = Block::of(&block, half_width_mm).settled_mm(CELLS);
                    let ratio = block.nose_n_mm3(half_width_mm) * mesh_mm;
                    range = (range.0.min(ratio), range.1.max(ratio));
                }
            }
        }
    }
    range
}

#[test]
fn the_mesh_itself_is_right() {
    let block = printed(2.0, 40.0, 12.0);
    // A column of one material that slides on its jaw: E' all the way down.
    let even = Block {
        half_width_mm: 5.0,
        half_length_mm: 5.0,
        infill_youngs_mpa: block.wall_youngs_mpa,
        stuck: false,
        ..Block::of(&block, 5.0)
    };
    let by_hand_mm = 12.0 * (1.0 - POISSON * POISSON) / block.wall_youngs_mpa;
    assert!((even.settled_mm(2.0) / by_hand_mm - 1.0).abs() < 1e-6);
    // Twice as fine, and twice as long: nearly the same.
    let usual = Block::of(&block, 1.0);
    let longer = Block {
        half_length_mm: 2.0 * usual.half_length_mm,
        ..usual
    };
    let settled_mm = usual.settled_mm(CELLS);
    assert!((usual.settled_mm(2.0 * CELLS) / settled_mm - 1.0).abs() < 0.01);
    assert!((longer.settled_mm(CELLS) / settled_mm - 1.0).abs() < 0.005);
}

/// What the doc comment promises from 15 % infill on.
#[test]
fn a_nose_presses_into_the_block_as_into_its_mesh() {
    let (least, most) = compared(&[15.0, 40.0, 100.0]);
    println!("formula over mesh, stiffness: {least:.3} to {most:.3}");
    assert!(least > 0.86 && most < 1.16, "{least} {most}");
}

/// And for the emptiest.
#[test]
fn an_almost_empty_block_is_within_a_third_of_its_mesh() {
    let (least, most) = compared(&[LEAST_INFILL_PERCENT]);
    println!("formula over mesh, stiffness: {least:.3} to {most:.3}");
    assert!(least > 0.82 && most < 1.32, "{least} {most}");
}

/// The whole face pressed, stuck to the jaw: the column is softer, by what the doc comment says.
#[test]
fn a_flat_presses_into_the_block_as_into_its_mesh() {
    let block = printed(2.0, 40.0, 12.0);
    for half_length_mm in [8.0, 20.0, 40.0] {
        let mesh = Block {
            half_length_mm,
            ..Block::of(&block, half_length_mm)
        };
        let ratio = 1.0 / (block.flat_n_mm3() * mesh.settled_mm(2.0));
        println!("mesh over formula, {half_length_mm} mm: {ratio:.3}");
        assert!((1.1..1.3).contains(&ratio), "{half_length_mm} {ratio}");
    }
}

//! What is smooth of a face's give, as a few dozen shapes; the rest as a give of each place by itself.
//!
//! ```text
//! w(s) = c·t(s) + Σ (λ_j − c)·φ_j(s)·∫ φ_j·t ds
//! ```
//!
//! for the traction t: shapes φ_j with `∫ φ_i·φ_j ds = δ_ij` are the ones that give most, λ_j how much, and c is half of what
//! the first shape left out gives. All that is left out gives between nothing and 2c, so this is off by at most c for
//! every traction, and not at all for the shapes that are kept.
//!
//! # Source
//! Eigenvectors of the compliance, weighted by lengths along the face; c by the bound above. Derived here.

use super::section::Compliance;
use crate::numeric::columns;
use nalgebra::{DMatrix, SymmetricEigen, Vector2};

/// Shapes in which a face gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Modes {
    stations_mm: Vec<f64>,
    /// Shapes, one in each row: x and z of each station in turn.
    shapes: DMatrix<f64>,
    /// For each shape its integral from the first station to each.
    sums: DMatrix<f64>,
    /// Give of each shape, mm for each MPa, without [`Self::local_mm_mpa`].
    gives_mm_mpa: Vec<f64>,
    /// Give of each place by itself, c.
    pub local_mm_mpa: f64,
}

/// Adds what a station has, so many times.
fn add(sum: &mut DMatrix<f64>, values: &DMatrix<f64>, station: usize, times: f64) {
    let long = 2 * values.nrows();
    let own = values.as_slice().chunks_exact(long.max(1)).nth(station);
    columns::add(sum.as_mut_slice(), times, own.unwrap_or_default());
}

/// x and z of a station when each shape is out so many times.
fn out_at(out: &[f64], values: &DMatrix<f64>, station: usize) -> Vector2<f64> {
    let count = values.nrows();
    let own = values
        .as_slice()
        .chunks_exact(count.max(1))
        .skip(2 * station);
    let mut axes = own.map(|axis| columns::dot(axis, out));
    Vector2::new(axes.next().unwrap_or(0.0), axes.next().unwrap_or(0.0))
}

/// Integrals of a product of two shapes that fall from a station to its neighbours: banded, the same in x and z.
fn lengths(stations_mm: &[f64]) -> DMatrix<f64> {
    let mut lengths = DMatrix::zeros(stations_mm.len(), stations_mm.len());
    for (i, pair) in stations_mm.windows(2).enumerate() {
        let length_mm = pair[1] - pair[0];
        lengths[(i, i)] += length_mm / 3.0;
        lengths[(i + 1, i + 1)] += length_mm / 3.0;
        lengths[(i, i + 1)] += length_mm / 6.0;
        lengths[(i + 1, i)] += length_mm / 6.0;
    }
    lengths
}

impl Modes {
    /// At most `most` shapes of a face; `None` when the compliance is none.
    pub fn of(compliance: &Compliance, most: usize) -> Option<Self> {
        let stations = compliance.stations_mm.len();
        let lower = lengths(&compliance.stations_mm).cholesky()?.unpack();
        // Both axes: with `L Lᵀ` of the lengths the shapes are eigenvectors of `L⁻¹ C L⁻ᵀ`.
        let reduce = |full: &DMatrix<f64>| {
            let mut reduced = full.clone();
            for axis in 0..2 {
                let rows = DMatrix::from_fn(stations, full.ncols(), |i, j| full[(2 * i + axis, j)]);
                let solved = lower.solve_lower_triangular(&rows)?;
                for i in 0..stations {
                    reduced.row_mut(2 * i + axis).copy_from(&solved.row(i));
                }
            }
            Some(reduced)
        };
        let half = reduce(&compliance.weighted)?;
        let own = reduce(&half.transpose())?;
        let own = (&own + own.transpose()) * 0.5;
        let solved = SymmetricEigen::try_new(own, f64::EPSILON, 0)?;
        let mut order: Vec<usize> = (0..2 * stations).collect();
        order.sort_by(|a, b| {
            solved.eigenvalues[*b]
                .total_cmp(&solved.eigenvalues[*a])
                .then(a.cmp(b))
        });
        let kept = most.min(order.len());
        let local_mm_mpa = order
            .get(kept)
            .map_or(0.0, |next| solved.eigenvalues[*next].max(0.0) / 2.0);
        let across = lower.transpose();
        let mut shapes = DMatrix::zeros(kept, 2 * stations);
        for (column, number) in order.iter().take(kept).enumerate() {
            for axis in 0..2 {
                let part = DMatrix::from_fn(stations, 1, |i, _| {
                    solved.eigenvectors[(2 * i + axis, *number)]
                });
                let shape = across.solve_upper_triangular(&part)?;
                for i in 0..stations {
                    shapes[(column, 2 * i + axis)] = shape[i];
                }
            }
        }
        let gives_mm_mpa = order
            .iter()
            .take(kept)
            .map(|number| solved.eigenvalues[*number] - local_mm_mpa);
        let mut sums = DMatrix::zeros(kept, 2 * stations);
        for (i, pair) in compliance.stations_mm.windows(2).enumerate() {
            let half_mm = (pair[1] - pair[0]) / 2.0;
            for axis in 0..2 {
                let (from, to) = (2 * i + axis, 2 * i + 2 + axis);
                for j in 0..kept {
                    sums[(j, to)] =
                        sums[(j, from)] + half_mm * (shapes[(j, from)] + shapes[(j, to)]);
                }
            }
        }
        Some(Self {
            stations_mm: compliance.stations_mm.clone(),
            shapes,
            sums,
            gives_mm_mpa: gives_mm_mpa.collect(),
            local_mm_mpa,
        })
    }

    /// The same give by shapes as far out as stores ½ in each: 1 for each, mm for each MPa.
    #[must_use]
    pub fn storing_half(mut self) -> Self {
        let scales: Vec<f64> = self
            .gives_mm_mpa
            .iter()
            .map(|g| g.max(0.0).sqrt())
            .collect();
        for table in [&mut self.shapes, &mut self.sums] {
            for mut station in table.column_iter_mut() {
                for (value, scale) in station.iter_mut().zip(&scales) {
                    *value *= scale;
                }
            }
        }
        self.gives_mm_mpa.fill(1.0);
        self
    }

    /// The shapes of the same block of a print that is so many times as stiff.
    #[must_use]
    pub fn stiffer(mut self, times: f64) -> Self {
        for gives in &mut self.gives_mm_mpa {
            *gives /= times;
        }
        self.local_mm_mpa /= times;
        self
    }

    /// How many shapes.
    pub fn count(&self) -> usize {
        self.gives_mm_mpa.len()
    }

    /// Give of each shape beyond [`Self::local_mm_mpa`], mm for each MPa.
    pub fn gives_mm_mpa(&self) -> &[f64] {
        &self.gives_mm_mpa
    }

    /// Shapes averaged over a length of the face about a place, x and z in two columns; the ends go on as they are.
    ///
    /// A force spread over that length loads each shape by its product with this, and this is how the length moves.
    pub fn averaged(&self, along_mm: f64, length_mm: f64) -> DMatrix<f64> {
        let mut mean = DMatrix::zeros(self.count(), 2);
        if length_mm <= 0.0 {
            let (number, share, _) = self.between(along_mm);
            let share = share.clamp(0.0, 1.0);
            add(&mut mean, &self.shapes, number, 1.0 - share);
            add(&mut mean, &self.shapes, number + 1, share);
            return mean;
        }
        self.add_summed(&mut mean, along_mm + length_mm / 2.0, 1.0 / length_mm);
        self.add_summed(&mut mean, along_mm - length_mm / 2.0, -1.0 / length_mm);
        mean
    }

    /// How the face moves at a place when each shape is out so many times.
    pub fn with(&self, out: &[f64], along_mm: f64) -> Vector2<f64> {
        let (number, share, _) = self.between(along_mm);
        let share = share.clamp(0.0, 1.0);
        out_at(out, &self.shapes, number) * (1.0 - share)
            + out_at(out, &self.shapes, number + 1) * share
    }

    /// How fast the mean of that over a length changes when the length moves along: from half of it before to half of it behind.
    pub fn averaged_slope_with(&self, out: &[f64], along_mm: f64, length_mm: f64) -> Vector2<f64> {
        let summed = |place: f64| {
            let mut sum = Vector2::zeros();
            for (table, station, times) in self.summed(along_mm + place * length_mm) {
                sum += out_at(out, table, station) * times;
            }
            sum
        };
        (summed(-1.0) - summed(0.0) * 2.0 + summed(1.0)) / (length_mm * length_mm)
    }

    /// Between which stations a place is, and its share of the way.
    fn between(&self, along_mm: f64) -> (usize, f64, f64) {
        let last = self.stations_mm.len().saturating_sub(2);
        let number = self
            .stations_mm
            .partition_point(|station| *station <= along_mm)
            .saturating_sub(1)
            .min(last);
        let (from, to) = (self.stations_mm[number], self.stations_mm[number + 1]);
        (number, (along_mm - from) / (to - from), to - from)
    }

    /// Adds shapes summed from the first station to a place, so many times.
    fn add_summed(&self, sum: &mut DMatrix<f64>, along_mm: f64, times: f64) {
        for (table, station, share) in self.summed(along_mm) {
            add(sum, table, station, times * share);
        }
    }

    /// Shapes summed from the first station to a place: stations of tables, each so many times.
    fn summed(&self, along_mm: f64) -> [(&DMatrix<f64>, usize, f64); 3] {
        let (number, share, length_mm) = self.between(along_mm);
        let within = share.clamp(0.0, 1.0);
        // Beyond the ends it goes on as at the end.
        let beyond = share - within;
        let next = within * within / 2.0 + if share < 0.0 { 0.0 } else { beyond };
        let first = within - within * within / 2.0 + if share < 0.0 { beyond } else { 0.0 };
        [
            (&self.sums, number, 1.0),
            (&self.shapes, number, first * length_mm),
            (&self.shapes, number + 1, next * length_mm),
        ]
    }

    /// How the face moves at a place under tractions given at the stations, MPa: x and z of each in turn.
    pub fn moved_by(&self, traction_mpa: &[f64], along_mm: f64) -> Vector2<f64> {
        let mut moved = self.at_traction(traction_mpa, along_mm) * self.local_mm_mpa;
        let here = self.averaged(along_mm, 0.0);
        for (j, gives) in self.gives_mm_mpa.iter().enumerate() {
            let load: f64 = self
                .stations_mm
                .windows(2)
                .enumerate()
                .map(|(i, pair)| {
                    let length_mm = pair[1] - pair[0];
                    let both = |axis: usize| {
                        let (a, b) = (2 * i + axis, 2 * i + 2 + axis);
                        let (p, q) = (self.shapes[(j, a)], self.shapes[(j, b)]);
                        let (s, t) = (traction_mpa[a], traction_mpa[b]);
                        (p * s + q * t) / 3.0 + (p * t + q * s) / 6.0
                    };
                    length_mm * (both(0) + both(1))
                })
                .sum();
            moved += Vector2::new(here[(j, 0)], here[(j, 1)]) * (gives * load);
        }
        moved
    }

    fn at_traction(&self, traction_mpa: &[f64], along_mm: f64) -> Vector2<f64> {
        let (number, share, _) = self.between(along_mm);
        let share = share.clamp(0.0, 1.0);
        let at =
            |station: usize| Vector2::new(traction_mpa[2 * station], traction_mpa[2 * station + 1]);
        at(number) * (1.0 - share) + at(number + 1) * share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::block::section::{Mesh, Print, Side, compliance};
    use crate::geometry::Chain;
    use crate::quantity::Angle;
    use approx::assert_relative_eq;

    fn step() -> Compliance {
        let mut face = Chain::from_start(0.0, 0.0, Angle::ZERO);
        face.line(6.0)
            .arc(1.0, Angle::deg(50.0))
            .line(1.0)
            .arc(1.0, Angle::deg(-50.0))
            .line(6.0);
        let mesh = Mesh {
            finest_mm: 0.3,
            beyond_mm: 0.5,
            growth: 0.4,
            coarsest_mm: 1.0,
            first: 1.0,
            deeper: 1.6,
        };
        let stations = mesh.stations_mm(&face);
        let print = Print::solid(2000.0, 0.35);
        compliance(
            &face,
            Side::Below,
            -8.0,
            &print,
            &mesh,
            &stations,
            [0.0, face.length_mm()],
        )
        .unwrap()
    }

    /// With every shape the field is the projection of what was meshed, with fewer it is off by no more than c.
    #[test]
    fn shapes_left_out_cost_no_more_than_is_said() {
        let compliance = step();
        let stations = compliance.stations_mm.len();
        let traction: Vec<f64> = (0..2 * stations)
            .map(|i| libm::sin(0.9 * (i * i) as f64) * 30.0)
            .collect();
        let all = Modes::of(&compliance, 2 * stations).unwrap();
        assert_eq!((all.count(), all.local_mm_mpa), (2 * stations, 0.0));
        let weight = lengths(&compliance.stations_mm);
        let field = |modes: &Modes| -> Vec<Vector2<f64>> {
            compliance
                .stations_mm
                .iter()
                .map(|along| modes.moved_by(&traction, *along))
                .collect()
        };
        let norm = |field: &[Vector2<f64>]| {
            let mut sum = 0.0;
            for i in 0..stations {
                for j in 0..stations {
                    sum += weight[(i, j)] * field[i].dot(&field[j]);
                }
            }
            sum.sqrt()
        };
        let whole = field(&all);
        // Weighted with the shapes of the stations it is what the section answered.
        for i in 0..stations {
            let weighted: Vector2<f64> = (0..stations).map(|j| whole[j] * weight[(i, j)]).sum();
            for axis in 0..2 {
                let meshed: f64 = (0..2 * stations)
                    .map(|j| compliance.weighted[(2 * i + axis, j)] * traction[j])
                    .sum();
                assert_relative_eq!(weighted[axis], meshed, epsilon = 1e-9);
            }
        }
        let loads: Vec<_> = traction
            .chunks_exact(2)
            .map(|t| Vector2::new(t[0], t[1]))
            .collect();
        for most in [10, 30, 60] {
            let few = Modes::of(&compliance, most).unwrap();
            let off: Vec<_> = field(&few).iter().zip(&whole).map(|(a, b)| a - b).collect();
            assert!(norm(&off) <= few.local_mm_mpa * norm(&loads) * (1.0 + 1e-9));
            assert!(few.local_mm_mpa < 0.3 * few.gives_mm_mpa()[0]);
        }
    }

    #[test]
    fn averages_are_those_of_the_shapes() {
        let modes = Modes::of(&step(), 12).unwrap();
        for (along, length) in [
            (3.0, 0.7),
            (7.1, 0.05),
            (0.1, 0.8),
            (14.9, 1.0),
            (-1.0, 0.4),
        ] {
            let parts = 4000;
            let mut mean = DMatrix::zeros(12, 2);
            for part in 0..parts {
                let share = (f64::from(part) + 0.5) / f64::from(parts);
                mean += modes.averaged(along + (share - 0.5) * length, 0.0) / f64::from(parts);
            }
            assert_relative_eq!(modes.averaged(along, length), mean, epsilon = 1e-5);
        }
    }
}

//! A point of the sheet: finite-strain plasticity after von Mises in plane strain.
//!
//! Logarithmic elastic strains and a multiplicative split: the elastic left Cauchy-Green tensor of the step
//! is returned along its own principal axes, which makes the finite-strain return a small-strain one.
//!
//! # Source
//! The scheme is the one of J. C. Simo, "Algorithms for static and dynamic multiplicative plasticity…",
//! Computer Methods in Applied Mechanics and Engineering 99 (1992) (from memory); the formulas below are
//! derived anew and their tangent is tested against finite differences.

use crate::stock::flow::Hardening;
use nalgebra::Matrix2;
use serde::{Deserialize, Serialize};

/// Strain up to which the flow curve is tabulated; beyond it the stress stays on its last slope.
const MOST_STRAIN: f64 = 3.0;
/// Parts of the table, equal in the root of the strain: fine where the curve is steep.
const TABLE_PARTS: usize = 1024;

/// A hardening law as a table of stresses and slopes with cubics between them.
///
/// A power costs more than all the rest of a point's answer; the cubics miss it by at most five millionths of
/// the stress (tested).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct FlowTable {
    /// Strain, stress (MPa) and slope (MPa) of each entry.
    entries: Vec<[f64; 3]>,
    /// Work lost in plastic flow up to each entry, N mm/mm³.
    lost: Vec<f64>,
}

impl FlowTable {
    fn new(law: &Hardening) -> Self {
        let entries = (0..=TABLE_PARTS).map(|number| {
            let share = number as f64 / TABLE_PARTS as f64;
            let strain = MOST_STRAIN * share * share;
            let (stress, slope) = law.flow(strain);
            [strain, stress, slope]
        });
        Self::through(entries.collect())
    }

    /// Through strains, stresses and slopes.
    fn through(entries: Vec<[f64; 3]>) -> Self {
        let mut sum = 0.0;
        let mut lost = vec![0.0];
        for pair in entries.windows(2) {
            let ([x0, y0, m0], [x1, y1, m1]): ([f64; 3], [f64; 3]) = (pair[0], pair[1]);
            let width = x1 - x0;
            sum += width * (f64::midpoint(y0, y1) + width * (m0 - m1) / 12.0);
            lost.push(sum);
        }
        Self { entries, lost }
    }

    /// Number of the part of the table that holds a strain.
    fn part_of(strain: f64) -> usize {
        let place = (strain.max(0.0) / MOST_STRAIN).sqrt() * TABLE_PARTS as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and limited to the table"
        )]
        let number = place as usize;
        number.min(TABLE_PARTS - 1)
    }

    /// Work lost in plastic flow up to a strain, N mm/mm³.
    fn lost_at(&self, strain: f64) -> f64 {
        let number = Self::part_of(strain);
        let [x0, y0, _] = self.entries[number];
        self.lost[number] + (strain - x0) * f64::midpoint(y0, self.at(strain).0)
    }

    /// Stress and slope at a strain, MPa.
    fn at(&self, strain: f64) -> (f64, f64) {
        let number = Self::part_of(strain);
        let [x0, y0, m0] = self.entries[number];
        let [x1, y1, m1] = self.entries[number + 1];
        if strain >= MOST_STRAIN {
            return (y1 + m1 * (strain - x1), m1);
        }
        let width = x1 - x0;
        let u = (strain - x0) / width;
        let chord = (y1 - y0) / width;
        // y = y0 + w u (m0 + u (3c - 2 m0 - m1 + u (m0 + m1 - 2c)))
        let second = 3.0 * chord - 2.0 * m0 - m1;
        let third = m0 + m1 - 2.0 * chord;
        (
            y0 + width * u * (m0 + u * (second + u * third)),
            m0 + u * (2.0 * second + 3.0 * u * third),
        )
    }
}

/// Elastic constants and hardening of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PressMetal {
    /// Bulk modulus, MPa.
    pub bulk_mpa: f64,
    /// Shear modulus, MPa.
    pub shear_mpa: f64,
    flow: FlowTable,
}

impl PressMetal {
    /// From Young's modulus, Poisson's ratio and a hardening law.
    pub fn new(youngs_mpa: f64, poisson: f64, law: &Hardening) -> Self {
        Self {
            bulk_mpa: youngs_mpa / (3.0 * (1.0 - 2.0 * poisson)),
            shear_mpa: youngs_mpa / (2.0 * (1.0 + poisson)),
            flow: FlowTable::new(law),
        }
    }

    /// The same metal that yields first where it did and hardens so many times as much.
    #[must_use]
    pub fn hardening_more(&self, times: f64) -> Self {
        let first_mpa = self.first_yield_mpa();
        let entries = self.flow.entries.iter().map(|[strain, stress, slope]| {
            [
                *strain,
                first_mpa + times * (stress - first_mpa),
                times * slope,
            ]
        });
        Self {
            flow: FlowTable::through(entries.collect()),
            ..self.clone()
        }
    }
}

/// What a point remembers: inverse plastic metric (in plane and across) and equivalent plastic strain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Memory {
    /// In-plane part of the inverse plastic right Cauchy-Green tensor.
    pub plastic_inverse: Matrix2<f64>,
    /// Its part across the plane.
    pub plastic_inverse_zz: f64,
    /// Equivalent plastic strain.
    pub strain: f64,
}

impl Default for Memory {
    fn default() -> Self {
        Self {
            plastic_inverse: Matrix2::identity(),
            plastic_inverse_zz: 1.0,
            strain: 0.0,
        }
    }
}

/// Answer of a point to a deformation gradient.
#[derive(Debug, Clone, Copy)]
pub struct Answer {
    /// Kirchhoff stress in the plane, MPa.
    pub stress: Matrix2<f64>,
    /// Tangent of the Lie rate of Kirchhoff stress: `[ij][kl]` with 11, 22, 12 (tensor shear), MPa.
    pub tangent: Tangent,
    /// Memory after the step.
    pub memory: Memory,
}

/// Fourth-order tensor with minor symmetries in the plane.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tangent {
    /// First axis of the principal frame.
    first: [f64; 2],
    /// Second axis.
    second: [f64; 2],
    /// Normal components in that frame.
    normal: [[f64; 2]; 2],
    /// Shear component in that frame.
    shear: f64,
}

impl Tangent {
    /// All sixteen components, `c[i][j][k][l]`; nine of them differ.
    pub fn components(&self) -> [[[[f64; 2]; 2]; 2]; 2] {
        let [a, b] = [self.first, self.second];
        // 11, 12 and 22 of each.
        let e1 = [a[0] * a[0], a[0] * a[1], a[1] * a[1]];
        let e2 = [b[0] * b[0], b[0] * b[1], b[1] * b[1]];
        let mixed = [
            a[0] * b[0] + b[0] * a[0],
            a[0] * b[1] + b[0] * a[1],
            a[1] * b[1] + b[1] * a[1],
        ];
        let [[d11, d12], [d21, d22]] = self.normal;
        let mut nine = [[0.0; 3]; 3];
        for (row, ((own1, own2), own_mixed)) in nine.iter_mut().zip(e1.iter().zip(e2).zip(mixed)) {
            let (p, q, r, s) = (d11 * own1, d12 * own1, d21 * own2, d22 * own2);
            let t = self.shear * own_mixed;
            for (value, ((e1, e2), mixed)) in row.iter_mut().zip(e1.iter().zip(e2).zip(mixed)) {
                *value = p * e1 + q * e2 + r * e1 + s * e2 + t * mixed;
            }
        }
        let [c11, c12, c22] = nine.map(|[c11, c12, c22]| [[c11, c12], [c12, c22]]);
        [[c11, c12], [c12, c22]]
    }
}

/// Axis of the larger principal value, cosine and sine: half of the angle whose cosine and sine are given
/// times `size`. Without functions of an angle, and without loss near a half turn.
fn half_turned(cos: f64, sin: f64, size: f64) -> [f64; 2] {
    if size <= 0.0 {
        return [1.0, 0.0];
    }
    let (cos, sin) = (cos / size, sin / size);
    if cos >= 0.0 {
        let own = (0.5 * (1.0 + cos)).sqrt();
        [own, 0.5 * sin / own]
    } else {
        let other = (0.5 * (1.0 - cos)).sqrt();
        [
            0.5 * sin.abs() / other,
            if sin < 0.0 { -other } else { other },
        ]
    }
}

/// Most steps of the scalar return; it converges quadratically.
const RETURN_STEPS: u32 = 30;
/// Relative difference of principal stretches below which they count as equal.
const EQUAL_STRETCHES: f64 = 1e-7;

impl PressMetal {
    /// Stress at which it yields first, MPa.
    pub fn first_yield_mpa(&self) -> f64 {
        self.flow.at(0.0).0
    }

    /// Work stored elastically and work lost in plastic flow, N mm/mm³, at a gradient that has been answered.
    pub fn work(&self, gradient: &Matrix2<f64>, memory: &Memory) -> (f64, f64) {
        let left = gradient * memory.plastic_inverse * gradient.transpose();
        let (mean, half) = (
            f64::midpoint(left.m11, left.m22),
            (left.m11 - left.m22) / 2.0,
        );
        let radius = (half * half + left.m12 * left.m12).sqrt();
        let strains =
            [mean + radius, mean - radius, memory.plastic_inverse_zz].map(|x| 0.5 * libm::log(x));
        let volume = strains[0] + strains[1] + strains[2];
        let squares: f64 = strains
            .iter()
            .map(|e| (e - volume / 3.0) * (e - volume / 3.0))
            .sum();
        (
            0.5 * self.bulk_mpa * volume * volume + self.shear_mpa * squares,
            self.flow.lost_at(memory.strain),
        )
    }

    /// Stress and tangent for a total in-plane deformation gradient, from a memory.
    ///
    /// `None` when the gradient cannot be: not finite, or turned inside out.
    pub fn respond(&self, gradient: &Matrix2<f64>, memory: &Memory) -> Option<Answer> {
        let trial = gradient * memory.plastic_inverse * gradient.transpose();
        if !(trial.iter().all(|c| c.is_finite()) && gradient.determinant() > 0.0) {
            return None;
        }
        // Principal stretches squared and their axes, by the double angle.
        let (mean, half) = (
            f64::midpoint(trial.m11, trial.m22),
            (trial.m11 - trial.m22) / 2.0,
        );
        let radius = (half * half + trial.m12 * trial.m12).sqrt();
        let (x1, x2) = (mean + radius, mean - radius);
        let first = half_turned(half, trial.m12, radius);
        let second = [-first[1], first[0]];
        let x3 = memory.plastic_inverse_zz;
        if x1 <= 0.0 || x2 <= 0.0 {
            return None;
        }
        let strains = [x1, x2, x3].map(|x| 0.5 * libm::log(x));
        let (k, g) = (self.bulk_mpa, self.shear_mpa);
        let volume = strains[0] + strains[1] + strains[2];
        let deviator = strains.map(|e| 2.0 * g * (e - volume / 3.0));
        let norm =
            (deviator[0] * deviator[0] + deviator[1] * deviator[1] + deviator[2] * deviator[2])
                .sqrt();
        let mises = 1.5f64.sqrt() * norm;
        let pressure = k * volume;
        let (mut flow, mut slope) = self.flow.at(memory.strain);
        let mut after = *memory;
        let (kept, stiff_dev, stiff_normal, elastic) = if mises <= flow {
            (1.0, 2.0 * g, 0.0, strains)
        } else {
            let mut step = 0.0;
            for _ in 0..RETURN_STEPS {
                let miss = mises - 3.0 * g * step - flow;
                if miss.abs() < 1e-10 * flow {
                    break;
                }
                step = (step + miss / (3.0 * g + slope)).max(0.0);
                (flow, slope) = self.flow.at(memory.strain + step);
            }
            after.strain += step;
            let kept = 1.0 - 3.0 * g * step / mises;
            let direction = deviator.map(|s| s / norm);
            let plastic = direction.map(|n| 1.5f64.sqrt() * step * n);
            let normal = 2.0 * g * (1.0 / (1.0 + slope / (3.0 * g)) - (1.0 - kept));
            let elastic = [
                strains[0] - plastic[0],
                strains[1] - plastic[1],
                strains[2] - plastic[2],
            ];
            (kept, 2.0 * g * kept, normal, elastic)
        };
        let stresses = deviator.map(|s| pressure + kept * s);
        let unit = if norm > 0.0 {
            deviator.map(|s| s / norm)
        } else {
            [0.0; 3]
        };
        // Slope of principal stresses over trial strains, then the Lie rate's correction.
        let slope = |a: usize, na: f64, b: usize, nb: f64| {
            let same = if a == b { 1.0 } else { 0.0 };
            k + stiff_dev * (same - 1.0 / 3.0) - stiff_normal * na * nb
        };
        let [n1, n2, _] = unit;
        let (s1, s2) = (stresses[0], stresses[1]);
        let (d11, d12) = (slope(0, n1, 0, n1), slope(0, n1, 1, n2));
        let d22 = slope(1, n2, 1, n2);
        let shear = if (x1 - x2).abs() > EQUAL_STRETCHES * (x1 + x2) {
            (s1 * x2 - s2 * x1) / (x1 - x2)
        } else {
            0.5 * (0.5 * (d11 + d22) - d12) - 0.5 * (s1 + s2)
        };
        let outer = |axis: [f64; 2], size: f64| {
            Matrix2::new(
                size * axis[0] * axis[0],
                size * axis[0] * axis[1],
                size * axis[1] * axis[0],
                size * axis[1] * axis[1],
            )
        };
        if after.strain > memory.strain {
            let back = gradient.try_inverse()?;
            let elastic_left = outer(first, libm::exp(2.0 * elastic[0]))
                + outer(second, libm::exp(2.0 * elastic[1]));
            after.plastic_inverse = back * elastic_left * back.transpose();
            after.plastic_inverse_zz = libm::exp(2.0 * elastic[2]);
        }
        Some(Answer {
            stress: outer(first, s1) + outer(second, s2),
            tangent: Tangent {
                first,
                second,
                normal: [[d11 - 2.0 * s1, d12], [d12, d22 - 2.0 * s2]],
                shear,
            },
            memory: after,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// First yield at 65 MPa.
    const SOFT: Hardening = Hardening::Swift {
        k_mpa: 315.0,
        prestrain: 0.019_342_250_66,
        n: 0.40,
    };

    #[test]
    fn the_table_is_the_law() {
        let steep = Hardening::Swift {
            k_mpa: 530.0,
            prestrain: 1e-4,
            n: 0.44,
        };
        let voce = Hardening::Voce {
            yield_mpa: 60.0,
            saturation_mpa: 250.0,
            rate: 9.0,
        };
        for law in [SOFT, steep, voce, Hardening::Ideal { yield_mpa: 80.0 }] {
            let table = FlowTable::new(&law);
            for i in 0..4000 {
                let strain = 2.9 * (f64::from(i) / 4000.0).powi(3);
                let (stress, slope) = table.at(strain);
                assert_relative_eq!(stress, law.stress_mpa(strain), max_relative = 5e-6);
                assert_relative_eq!(
                    slope,
                    law.slope_mpa(strain),
                    max_relative = 2e-3,
                    epsilon = 1e-9
                );
            }
        }
    }

    #[test]
    fn half_an_angle_needs_no_angle() {
        for i in -20..=20 {
            let half = 1.57 * f64::from(i) / 20.0;
            let [cos, sin] = half_turned(3.0 * (2.0 * half).cos(), 3.0 * (2.0 * half).sin(), 3.0);
            let same = cos * half.cos() + sin * half.sin();
            assert_relative_eq!(same.abs(), 1.0, epsilon = 1e-12);
        }
    }

    fn soft() -> PressMetal {
        PressMetal::new(117_000.0, 0.34, &SOFT)
    }

    /// Wide tension: before yield the plane-strain modulus, after it 2/√3 of the uniaxial law.
    #[test]
    fn wide_tension_follows_the_law() {
        let metal = soft();
        let stretched = |strain: f64| {
            // Free edges through the thickness: find the thinning that leaves no stress across.
            let (mut low, mut high) = (-2.0 * strain - 0.01, 0.01f64);
            let mut found = 0.0;
            for _ in 0..80 {
                let thin = f64::midpoint(low, high);
                let f = Matrix2::new(strain.exp(), 0.0, 0.0, thin.exp());
                // One small step would not be monotonic plastic flow: go there in parts.
                let mut memory = Memory::default();
                let mut answer = None;
                for part in 1..=200 {
                    let share = f64::from(part) / 200.0;
                    let f = Matrix2::new((strain * share).exp(), 0.0, 0.0, (thin * share).exp());
                    let got = metal.respond(&f, &memory).unwrap();
                    memory = got.memory;
                    answer = Some(got);
                }
                let _ = f;
                let got = answer.unwrap();
                found = got.stress[(0, 0)];
                if got.stress[(1, 1)] > 0.0 {
                    high = thin;
                } else {
                    low = thin;
                }
            }
            found
        };
        let elastic = stretched(1e-4);
        assert_relative_eq!(
            elastic,
            1e-4 * 117_000.0 / (1.0 - 0.34 * 0.34),
            max_relative = 1e-3
        );
        let strain = 0.2;
        let equivalent = 2.0 / 3f64.sqrt() * strain;
        let law = 315.0 * (0.019_342_250_66 + equivalent).powf(0.40);
        assert_relative_eq!(
            stretched(strain),
            2.0 / 3f64.sqrt() * law,
            max_relative = 5e-3
        );
    }

    /// Turning the material turns the stress and nothing else.
    #[test]
    fn a_rigid_rotation_only_turns_the_stress() {
        let metal = soft();
        let f = Matrix2::new(1.05, 0.03, -0.02, 0.97);
        let (sin, cos) = 0.7f64.sin_cos();
        let turn = Matrix2::new(cos, -sin, sin, cos);
        let plain = metal.respond(&f, &Memory::default()).unwrap();
        let turned = metal.respond(&(turn * f), &Memory::default()).unwrap();
        assert_relative_eq!(
            turned.stress,
            turn * plain.stress * turn.transpose(),
            epsilon = 1e-9
        );
        assert_relative_eq!(
            turned.memory.plastic_inverse,
            plain.memory.plastic_inverse,
            epsilon = 1e-12
        );
    }
}

//! A point of the sheet: finite-strain plasticity after von Mises in plane strain.
//!
//! Logarithmic elastic strains and a multiplicative split: the elastic left Cauchy-Green tensor of the step
//! is returned along its own principal axes, which makes the finite-strain return a small-strain one.
//!
//! # Source
//! The scheme is the one of J. C. Simo, "Algorithms for static and dynamic multiplicative plasticity…",
//! Computer Methods in Applied Mechanics and Engineering 99 (1992) (from memory); the formulas below are
//! derived anew and their tangent is tested against finite differences.

use crate::quantity::Angle;
use nalgebra::Matrix2;

/// Elastic constants and hardening of the sheet, MPa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metal {
    /// Bulk modulus.
    pub bulk_mpa: f64,
    /// Shear modulus.
    pub shear_mpa: f64,
    /// Swift's K.
    pub k_mpa: f64,
    /// Swift's prestrain.
    pub prestrain: f64,
    /// Swift's exponent.
    pub n: f64,
}

impl Metal {
    /// From Young's modulus, Poisson's ratio and the Swift law `K (ε0 + ε)^n`.
    pub fn new(youngs_mpa: f64, poisson: f64, k_mpa: f64, prestrain: f64, n: f64) -> Self {
        Self {
            bulk_mpa: youngs_mpa / (3.0 * (1.0 - 2.0 * poisson)),
            shear_mpa: youngs_mpa / (2.0 * (1.0 + poisson)),
            k_mpa,
            prestrain,
            n,
        }
    }

    /// Yield stress and its slope at an equivalent plastic strain.
    fn yield_at(&self, strain: f64) -> (f64, f64) {
        let base = self.prestrain + strain;
        let stress = self.k_mpa * libm::pow(base, self.n);
        (stress, self.n * stress / base)
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
#[derive(Debug, Clone, Copy)]
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
    /// All sixteen components, `c[i][j][k][l]`.
    pub fn components(&self) -> [[[[f64; 2]; 2]; 2]; 2] {
        let axes = [self.first, self.second];
        let outer =
            |a: [f64; 2], b: [f64; 2]| [[a[0] * b[0], a[0] * b[1]], [a[1] * b[0], a[1] * b[1]]];
        let [e1, e2] = axes.map(|axis| outer(axis, axis));
        let (p, q) = (outer(axes[0], axes[1]), outer(axes[1], axes[0]));
        let mixed = [
            [p[0][0] + q[0][0], p[0][1] + q[0][1]],
            [p[1][0] + q[1][0], p[1][1] + q[1][1]],
        ];
        let [[d11, d12], [d21, d22]] = self.normal;
        let at = |i: usize, j: usize, k: usize, l: usize| {
            let pick = |m: &[[f64; 2]; 2], r: usize, c: usize| match (r, c) {
                (0, 0) => m[0][0],
                (0, _) => m[0][1],
                (_, 0) => m[1][0],
                _ => m[1][1],
            };
            d11 * pick(&e1, i, j) * pick(&e1, k, l)
                + d12 * pick(&e1, i, j) * pick(&e2, k, l)
                + d21 * pick(&e2, i, j) * pick(&e1, k, l)
                + d22 * pick(&e2, i, j) * pick(&e2, k, l)
                + self.shear * pick(&mixed, i, j) * pick(&mixed, k, l)
        };
        let row = |i, j, k| [at(i, j, k, 0), at(i, j, k, 1)];
        let plane = |i, j| [row(i, j, 0), row(i, j, 1)];
        [[plane(0, 0), plane(0, 1)], [plane(1, 0), plane(1, 1)]]
    }
}

/// Most steps of the scalar return; it converges quadratically.
const RETURN_STEPS: u32 = 30;
/// Relative difference of principal stretches below which they count as equal.
const EQUAL_STRETCHES: f64 = 1e-7;

impl Metal {
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
        let axis = Angle::rad_from(0.5 * libm::atan2(trial.m12, half));
        let x3 = memory.plastic_inverse_zz;
        if x1 <= 0.0 || x2 <= 0.0 {
            return None;
        }
        let strains = [x1, x2, x3].map(|x| 0.5 * libm::log(x));
        let first = [axis.cos(), axis.sin()];
        let second = [-axis.sin(), axis.cos()];
        let (k, g) = (self.bulk_mpa, self.shear_mpa);
        let volume = strains[0] + strains[1] + strains[2];
        let deviator = strains.map(|e| 2.0 * g * (e - volume / 3.0));
        let norm =
            (deviator[0] * deviator[0] + deviator[1] * deviator[1] + deviator[2] * deviator[2])
                .sqrt();
        let mises = 1.5f64.sqrt() * norm;
        let pressure = k * volume;
        let (flow, _) = self.yield_at(memory.strain);
        let mut after = *memory;
        let (kept, stiff_dev, stiff_normal, elastic) = if mises <= flow {
            (1.0, 2.0 * g, 0.0, strains)
        } else {
            let mut step = 0.0;
            for _ in 0..RETURN_STEPS {
                let (flow, slope) = self.yield_at(memory.strain + step);
                let miss = mises - 3.0 * g * step - flow;
                step = (step + miss / (3.0 * g + slope)).max(0.0);
                if miss.abs() < 1e-10 * flow {
                    break;
                }
            }
            after.strain += step;
            let (_, slope) = self.yield_at(after.strain);
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

    fn soft() -> Metal {
        Metal::new(117_000.0, 0.34, 315.0, (65.0f64 / 315.0).powf(2.5), 0.40)
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
        let law = 315.0 * (metal.prestrain + equivalent).powf(0.40);
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

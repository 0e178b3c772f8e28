//! Four points of the sheet side by side: finite-strain plasticity after von Mises in plane strain.
//!
//! Logarithmic elastic strains and a multiplicative split: the elastic left Cauchy-Green tensor of the step
//! is returned along its own principal axes, which makes the finite-strain return a small-strain one.
//!
//! # Source
//! The scheme is the one of J. C. Simo, "Algorithms for static and dynamic multiplicative plasticity…",
//! Computer Methods in Applied Mechanics and Engineering 99 (1992) (from memory); the formulas below are
//! derived anew and their tangent is tested against finite differences.

use crate::numeric::four::Four;
use crate::stock::flow::Hardening;
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
    /// Strain where each part begins and the coefficients of its cubic, MPa, from the constant on. The last part goes on
    /// straight beyond the table.
    parts: Vec<[f64; 5]>,
    /// Work lost in plastic flow up to each part, N mm/mm³.
    lost: Vec<f64>,
}

impl FlowTable {
    fn new(law: &Hardening) -> Self {
        let entries: Vec<[f64; 3]> = (0..=TABLE_PARTS)
            .map(|number| {
                let share = number as f64 / TABLE_PARTS as f64;
                let strain = MOST_STRAIN * share * share;
                let (stress, slope) = law.flow(strain);
                [strain, stress, slope]
            })
            .collect();
        let mut sum = 0.0;
        let (mut parts, mut lost) = (Vec::new(), vec![0.0]);
        for pair in entries.windows(2) {
            let ([x0, y0, m0], [x1, y1, m1]): ([f64; 3], [f64; 3]) = (pair[0], pair[1]);
            let width = x1 - x0;
            let chord = (y1 - y0) / width;
            // y = y0 + w u (m0 + u (3c - 2 m0 - m1 + u (m0 + m1 - 2c))), u = (x - x0)/w
            let second = (3.0 * chord - 2.0 * m0 - m1) / width;
            let third = (m0 + m1 - 2.0 * chord) / (width * width);
            parts.push([x0, y0, m0, second, third]);
            sum += width * (f64::midpoint(y0, y1) + width * (m0 - m1) / 12.0);
            lost.push(sum);
        }
        parts.extend(entries.last().map(|[x, y, m]| [*x, *y, *m, 0.0, 0.0]));
        Self { parts, lost }
    }

    /// Number of the part of the table that holds a strain.
    #[inline(always)]
    fn part_of(strain: f64) -> usize {
        let place = (strain.max(0.0) * (1.0 / MOST_STRAIN)).sqrt() * TABLE_PARTS as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and limited to the table"
        )]
        let number = place as usize;
        number.min(TABLE_PARTS)
    }

    /// Work lost in plastic flow up to a strain, N mm/mm³.
    fn lost_at(&self, strain: f64) -> f64 {
        let number = Self::part_of(strain);
        let [x0, y0, ..] = self.parts[number];
        self.lost[number] + (strain - x0) * f64::midpoint(y0, self.at(strain).0)
    }

    /// Stress and slope at a strain, MPa.
    #[inline(always)]
    fn at(&self, strain: f64) -> (f64, f64) {
        let [from, stress, slope, second, third] = self.parts[Self::part_of(strain)];
        let on = strain - from;
        (
            stress + on * (slope + on * (second + on * third)),
            slope + on * (2.0 * second + 3.0 * on * third),
        )
    }
}

/// Plastic strains of bending between which it shows how much a sheet hardens.
const BENT: [f64; 2] = [0.02, 0.1];
/// A sheet whose flow stress grows by less than this between them hardens little. Own choice: of what is in stock, soft sheet
/// grows by two fifths and more, harder one by a sixth at most.
const HARDENS_LITTLE: f64 = 1.25;

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

    /// Whether the sheet hardens little: its bends gather in short hinges, and which node comes to touch first decides more.
    pub fn hardens_little(&self) -> bool {
        let [from, to] = BENT.map(|strain| self.flow.at(strain).0);
        to < HARDENS_LITTLE * from
    }

    /// The same metal that yields first where it did and hardens so many times as much.
    #[must_use]
    pub fn hardening_more(&self, times: f64) -> Self {
        let first_mpa = self.first_yield_mpa();
        let more = |strain: f64, stress: f64| {
            // The same of stresses and of work, which goes with the strain.
            let first = first_mpa * strain;
            first + times * (stress - first)
        };
        let mut flow = self.flow.clone();
        for ([strain, stress, rest @ ..], lost) in flow.parts.iter_mut().zip(&mut flow.lost) {
            *stress = more(1.0, *stress);
            *lost = more(*strain, *lost);
            for rest in rest {
                *rest *= times;
            }
        }
        Self {
            flow,
            ..self.clone()
        }
    }
}

/// What four points remember.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Memory {
    /// Inverse plastic right Cauchy-Green tensor in the plane: 11, 22 and 12.
    pub plastic_inverse: [Four; 3],
    /// Natural elastic strain across the plane.
    pub strain_across: Four,
    /// Equivalent plastic strain.
    pub strain: Four,
    /// Stress at which it flows on, and how that grows with the strain, MPa.
    pub flow: [Four; 2],
}

/// Answer of four points to their deformation gradients.
#[derive(Debug, Clone, Copy)]
pub struct Answer {
    /// Kirchhoff stress in the plane, MPa: 11, 22 and 12.
    pub stress: [Four; 3],
    /// Tangent of its Lie rate, MPa: 1111, 2222, 1122, 1112, 2212 and 1212. It has minor and major symmetry.
    pub tangent: [Four; 6],
}

/// Most steps of the scalar return; it converges quadratically.
const RETURN_STEPS: u32 = 30;
/// How closely the flow stress is met, as a share of it.
const FLOW_MET: f64 = 1e-10;
/// Relative difference of principal stretches below which they count as equal.
const EQUAL_STRETCHES: f64 = 1e-7;

/// Principal values of symmetric tensors in the plane, larger first, and twice the angle of their axes: tensors are
/// `½(x₁+x₂)·I + ½(x₁−x₂)·N`, `N = [[cos, sin], [sin, −cos]]`.
struct Principal {
    values: [Four; 2],
    cos: Four,
    sin: Four,
}

impl Principal {
    #[inline(always)]
    fn of([t11, t22, t12]: [Four; 3]) -> Self {
        let (mean, half) = (0.5 * (t11 + t22), 0.5 * (t11 - t22));
        let radius = (half * half + t12 * t12).sqrt();
        let is_turned = radius.above(Four::all(0.0));
        let one = Four::all(1.0);
        let inverse = one / radius.where_or(is_turned, one);
        Self {
            values: [mean + radius, mean - radius],
            cos: (half * inverse).where_or(is_turned, one),
            sin: t12 * inverse,
        }
    }

    /// The tensor with other values along the same axes: 11, 22 and 12.
    #[inline(always)]
    fn tensor(&self, [x1, x2]: [Four; 2]) -> [Four; 3] {
        let (mean, half) = (0.5 * (x1 + x2), 0.5 * (x1 - x2));
        let [cos, sin] = [half * self.cos, half * self.sin];
        [mean + cos, mean - cos, sin]
    }
}

/// `G·T·Gᵀ` of symmetric tensors.
#[inline(always)]
fn carried([[g11, g12], [g21, g22]]: [[Four; 2]; 2], [t11, t22, t12]: [Four; 3]) -> [Four; 3] {
    let first = [g11 * t11 + g12 * t12, g11 * t12 + g12 * t22];
    let second = [g21 * t11 + g22 * t12, g21 * t12 + g22 * t22];
    [
        first[0] * g11 + first[1] * g12,
        second[0] * g21 + second[1] * g22,
        first[0] * g21 + first[1] * g22,
    ]
}

/// How far points flow in a step.
struct Flowed {
    /// Growth of the equivalent plastic strain.
    step: Four,
    /// The same over the stress that there would be without it, 1/MPa.
    over_mises: Four,
    /// What it takes off the tangent along the deviator, over the deviator's square, 1/MPa.
    softer: Four,
    /// Flow stress and its slope afterwards, MPa.
    flow: [Four; 2],
}

impl PressMetal {
    /// Poisson's ratio.
    pub fn poisson(&self) -> f64 {
        let (bulk, shear) = (3.0 * self.bulk_mpa, 2.0 * self.shear_mpa);
        (bulk - shear) / (2.0 * bulk + shear)
    }

    /// Stress at which it yields first, MPa.
    pub fn first_yield_mpa(&self) -> f64 {
        self.flow.at(0.0).0
    }

    /// Four points before anything happened.
    pub fn untouched(&self) -> Memory {
        let (flow, slope) = self.flow.at(0.0);
        let [zero, one] = [0.0, 1.0].map(Four::all);
        Memory {
            plastic_inverse: [one, one, zero],
            strain_across: zero,
            strain: zero,
            flow: [flow, slope].map(Four::all),
        }
    }

    /// Work stored elastically and work lost in plastic flow, N mm/mm³, at gradients that have been answered.
    pub fn work(&self, gradient: [[Four; 2]; 2], memory: &Memory) -> (Four, Four) {
        let [x1, x2] = Principal::of(carried(gradient, memory.plastic_inverse)).values;
        let strains = [
            0.5 * x1.logarithm(),
            0.5 * x2.logarithm(),
            memory.strain_across,
        ];
        let volume = strains[0] + strains[1] + strains[2];
        let [a, b, c] = strains.map(|strain| strain - 1.0 / 3.0 * volume);
        (
            0.5 * self.bulk_mpa * volume * volume + self.shear_mpa * (a * a + b * b + c * c),
            memory.strain.map(|strain| self.flow.lost_at(strain)),
        )
    }

    /// Stress and tangent for total in-plane deformation gradients; the memory becomes the one after the step.
    ///
    /// `None` when a gradient cannot be: not finite, or flat.
    #[inline(always)]
    pub fn respond(&self, gradient: [[Four; 2]; 2], memory: &mut Memory) -> Option<Answer> {
        let trial = Principal::of(carried(gradient, memory.plastic_inverse));
        let [x1, x2] = trial.values;
        if !(x2.all_above(0.0) && (-x1).all_above(f64::NEG_INFINITY)) {
            return None;
        }
        let (e1, e2, e3) = (
            0.5 * x1.logarithm(),
            0.5 * x2.logarithm(),
            memory.strain_across,
        );
        let (k, g) = (self.bulk_mpa, self.shear_mpa);
        let volume = e1 + e2 + e3;
        let third = 1.0 / 3.0 * volume;
        let d1 = 2.0 * g * (e1 - third);
        let d2 = 2.0 * g * (e2 - third);
        let d3 = 2.0 * g * (e3 - third);
        let square = d1 * d1 + d2 * d2 + d3 * d3;
        let (mut kept, mut softer) = (Four::all(1.0), Four::all(0.0));
        let flows = (1.5 * square).above(memory.flow[0] * memory.flow[0]);
        if flows != [false; 4] {
            let flowed = self.flowed(square, flows, memory);
            kept = kept - 3.0 * g * flowed.over_mises;
            softer = flowed.softer;
            let plastic = 1.5 * flowed.over_mises;
            let (e1, e2) = (e1 - plastic * d1, e2 - plastic * d2);
            let (a, b) = ((e1 + e1).exponential(), (e2 + e2).exponential());
            let [[g11, g12], [g21, g22]] = gradient;
            let inverse = Four::all(1.0) / (g11 * g22 - g12 * g21);
            let back = [
                [g22 * inverse, -(g12 * inverse)],
                [-(g21 * inverse), g11 * inverse],
            ];
            let plastic_inverse = carried(back, trial.tensor([a, b]));
            for (kept, new) in memory.plastic_inverse.iter_mut().zip(plastic_inverse) {
                *kept = new.where_or(flows, *kept);
            }
            memory.strain_across = e3 - plastic * d3;
            memory.strain += flowed.step;
            memory.flow = flowed.flow;
        }
        let (s1, s2) = (k * volume + kept * d1, k * volume + kept * d2);
        // Slope of principal stresses over trial strains.
        let hard = 2.0 * g * kept;
        let across = Four::all(k) - 1.0 / 3.0 * hard;
        let d11 = across + hard - softer * d1 * d1;
        let d12 = across - softer * d1 * d2;
        let d22 = across + hard - softer * d2 * d2;
        let apart = x1 - x2;
        let is_apart = apart.above(EQUAL_STRETCHES * (x1 + x2));
        let shear = ((s1 * x2 - s2 * x1) / apart.where_or(is_apart, Four::all(1.0)))
            .where_or(is_apart, 0.5 * (0.5 * (d11 + d22) - d12) - 0.5 * (s1 + s2));
        Some(Answer {
            stress: trial.tensor([s1, s2]),
            tangent: tangent(&trial, [d11 - (s1 + s1), d12, d22 - (s2 + s2)], shear),
        })
    }

    /// Plastic flow of those points that flow; `square` is that of the deviator without it.
    #[inline(always)]
    fn flowed(&self, square: Four, flows: [bool; 4], memory: &Memory) -> Flowed {
        let (hard, zero) = (3.0 * self.shear_mpa, Four::all(0.0));
        let mises = (1.5 * square).sqrt();
        let mut step = zero;
        let [mut flow, mut slope] = memory.flow;
        for _ in 0..RETURN_STEPS {
            let miss = mises - hard * step - flow;
            let off = miss.above(FLOW_MET * flow);
            let beyond = (-miss).above(FLOW_MET * flow);
            let next = step + miss / (Four::all(hard) + slope);
            let mut is_met = true;
            for point in 0..4 {
                if flows[point] && (off[point] || beyond[point]) {
                    is_met = false;
                    step.0[point] = next.0[point].max(0.0);
                    (flow.0[point], slope.0[point]) =
                        self.flow.at(memory.strain.0[point] + step.0[point]);
                }
            }
            if is_met {
                break;
            }
        }
        let over_mises = (step / mises).where_or(flows, zero);
        let normal = Four::all(hard) / (Four::all(hard) + slope) - hard * over_mises;
        Flowed {
            step,
            over_mises,
            softer: (2.0 * self.shear_mpa * normal / square).where_or(flows, zero),
            flow: [flow, slope],
        }
    }
}

/// A fourth-order tensor from its normal components 1111, 1122 and 2222 in a principal frame and its shear there.
///
/// With `M = [[−sin, cos], [cos, sin]]`: `α I⊗I + β (I⊗N + N⊗I) + γ N⊗N + shear M⊗M`.
#[inline(always)]
fn tangent(frame: &Principal, [d11, d12, d22]: [Four; 3], shear: Four) -> [Four; 6] {
    let Principal { cos, sin, .. } = *frame;
    let whole = d11 + d22;
    let alpha = 0.25 * (whole + d12 + d12);
    let beta = 0.25 * (d11 - d22);
    let gamma = 0.25 * (whole - d12 - d12);
    let (cos2, sin2) = (cos * cos, sin * sin);
    let round = gamma * cos2 + shear * sin2;
    let (along, aslant) = (beta * cos, beta * sin);
    let mixed = (gamma - shear) * (cos * sin);
    [
        alpha + round + along + along,
        alpha + round - along - along,
        alpha - round,
        aslant + mixed,
        aslant - mixed,
        gamma * sin2 + shear * cos2,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::Matrix2;

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
                let mut memory = metal.untouched();
                let mut answer = None;
                for part in 1..=200 {
                    let share = f64::from(part) / 200.0;
                    let f = Matrix2::new((strain * share).exp(), 0.0, 0.0, (thin * share).exp());
                    answer = metal.respond(four(&f), &mut memory);
                }
                let _ = f;
                let got = answer.unwrap();
                let [along, across, _] = got.stress;
                found = along.0[0];
                if across.0[0] > 0.0 {
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

    /// Four times the same gradient.
    fn four(f: &Matrix2<f64>) -> [[Four; 2]; 2] {
        [[f.m11, f.m12], [f.m21, f.m22]].map(|row| row.map(Four::all))
    }

    fn tensor([t11, t22, t12]: [Four; 3]) -> Matrix2<f64> {
        Matrix2::new(t11.0[0], t12.0[1], t12.0[2], t22.0[3])
    }

    /// Turning the material turns the stress and nothing else.
    #[test]
    fn a_rigid_rotation_only_turns_the_stress() {
        let metal = soft();
        let f = Matrix2::new(1.05, 0.03, -0.02, 0.97);
        let (sin, cos) = 0.7f64.sin_cos();
        let turn = Matrix2::new(cos, -sin, sin, cos);
        let answer = |f: &Matrix2<f64>| {
            let mut memory = metal.untouched();
            (metal.respond(four(f), &mut memory).unwrap(), memory)
        };
        let ((plain, before), (turned, after)) = (answer(&f), answer(&(turn * f)));
        assert_relative_eq!(
            tensor(turned.stress),
            turn * tensor(plain.stress) * turn.transpose(),
            epsilon = 1e-9
        );
        assert_relative_eq!(
            tensor(after.plastic_inverse),
            tensor(before.plastic_inverse),
            epsilon = 1e-12
        );
    }

    /// What a point answers does not depend on those beside it: one at rest, one elastic, one that flows, one that flows
    /// far.
    #[test]
    fn points_do_not_know_each_other() {
        let metal = soft();
        let sizes = [0.0, 1e-5, 0.02, 0.4];
        let at = |size: Four| {
            let one = Four::all(1.0);
            let f = [[one + size, 0.3 * size], [-0.2 * size, one - 0.9 * size]];
            let mut memory = metal.untouched();
            metal.respond(f, &mut memory).unwrap();
            let further = f.map(|row| row.map(|value| 1.01 * value));
            (metal.respond(further, &mut memory).unwrap(), memory)
        };
        let (together, memory) = at(Four(sizes));
        for (point, size) in sizes.into_iter().enumerate() {
            let (alone, own) = at(Four::all(size));
            for (together, alone) in [
                (&together.stress[..], &alone.stress[..]),
                (&together.tangent[..], &alone.tangent[..]),
                (&memory.plastic_inverse[..], &own.plastic_inverse[..]),
            ] {
                for (together, alone) in together.iter().zip(alone) {
                    assert_eq!(together.0[point], alone.0[0]);
                }
            }
        }
    }

    #[test]
    fn what_cannot_be_has_no_answer() {
        let metal = soft();
        let answer = |f: Matrix2<f64>| metal.respond(four(&f), &mut metal.untouched());
        assert!(answer(Matrix2::new(1.0, 0.0, 0.0, 0.0)).is_none());
        assert!(answer(Matrix2::new(f64::NAN, 0.0, 0.0, 1.0)).is_none());
        assert!(answer(Matrix2::new(f64::INFINITY, 0.0, 0.0, 1.0)).is_none());
    }
}

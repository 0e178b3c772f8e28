//! One fibre of a bent sheet: what stress it carries after everything that was done to it.
//!
//! The sheet is bent across a great width, so no fibre gets wider or narrower (plane strain). What the fibre
//! resists with is then the difference between the stress along it and the stress through the sheet.

use super::flow::Hardening;

/// Plane-strain factor between yield stress in tension and across a wide bend, 2/√3.
///
/// Source: von Mises' condition without strain across the width; own derivation, as in every book on bending.
pub const WIDE_BEND: f64 = 1.154_700_538_379_251_7;

/// Change of the plastic strain below which the solver stops; the next step would be some squares smaller.
const SMALLEST_STRAIN: f64 = 1e-10;

/// Steps of the solver at most; it converges from one side, usually in three.
const MOST_STEPS: u32 = 60;

/// What the sheet is made of, seen by a fibre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FibreLaw {
    plane_mpa: f64,
    hardening: Hardening,
    kinematic_share: f64,
    first_yield_mpa: f64,
}

impl FibreLaw {
    /// Joins elasticity and flow.
    ///
    /// # Units
    /// - `plane_mpa`: Young's modulus of a wide sheet, `E/(1 − ν²)`
    /// - `hardening`: flow stress in tension
    /// - `kinematic_share`: share of the hardening, 0 to 1, that shifts the elastic range instead of widening it.
    ///   0 is isotropic hardening: after bending, the fibre bears as much the other way round. With 1 the elastic
    ///   range keeps its width, so unloading meets yield early (Bauschinger effect).
    pub fn new(plane_mpa: f64, hardening: Hardening, kinematic_share: f64) -> Self {
        Self {
            plane_mpa,
            hardening,
            kinematic_share,
            first_yield_mpa: hardening.first_yield_mpa(),
        }
    }

    /// Young's modulus of a wide sheet, MPa.
    pub const fn plane_mpa(&self) -> f64 {
        self.plane_mpa
    }

    /// Stress of a wide sheet at first yield, MPa.
    pub fn first_yield_mpa(&self) -> f64 {
        WIDE_BEND * self.first_yield_mpa
    }

    /// The same metal with another kinematic share.
    #[must_use]
    pub fn with_kinematic_share(self, kinematic_share: f64) -> Self {
        Self {
            kinematic_share,
            ..self
        }
    }
}

/// What a fibre remembers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fibre {
    plastic_strain: f64,
    worked: f64,
    /// Flow stress in tension after that work; kept because a power costs more than all the rest.
    flow_mpa: f64,
    back_mpa: f64,
}

/// A fibre under a strain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strained {
    /// What it remembers from now on.
    pub fibre: Fibre,
    /// Stress along it less stress through the sheet, MPa.
    pub stress_mpa: f64,
    /// How fast that grows with strain, MPa.
    pub slope_mpa: f64,
}

impl Fibre {
    /// A fibre to which nothing was done yet.
    pub const fn fresh(law: &FibreLaw) -> Self {
        Self {
            plastic_strain: 0.0,
            worked: 0.0,
            flow_mpa: law.first_yield_mpa,
            back_mpa: 0.0,
        }
    }

    /// Sum of all lasting strain whatever its sign, as a tensile test counts it.
    pub const fn worked(&self) -> f64 {
        self.worked
    }

    /// Strains the fibre, straight from where it stands, to a total logarithmic strain along it.
    ///
    /// Elastic strain and lasting strain add up. The lasting strain grows by as much as brings the stress back to
    /// the edge of the elastic range, which has grown by then:
    ///
    /// `|trial − back| − E'·Δ/W − W·(Y(w + Δ) − Y(w))·f = W·(Y₀ + (1 − f)·(Y(w + Δ) − Y₀))`
    ///
    /// with Δ the growth of `worked`, w its value so far, f the kinematic share, W [`WIDE_BEND`]. Strained one way
    /// only, the fibre follows the tensile curve whatever f.
    ///
    /// # Source
    /// Return mapping of one stress component; own derivation. Newton's steps start from the answer without
    /// hardening, which lies above; the equation is convex for a curve that bends down, so they cannot run away.
    pub fn strained(&self, strain: f64, law: &FibreLaw) -> Strained {
        let FibreLaw {
            plane_mpa,
            hardening,
            kinematic_share,
            first_yield_mpa: first_mpa,
        } = *law;
        let trial_mpa = plane_mpa * (strain - self.plastic_strain);
        let beyond_mpa = trial_mpa - self.back_mpa;
        let so_far_mpa = self.flow_mpa;
        let width_mpa =
            WIDE_BEND * (first_mpa + (1.0 - kinematic_share) * (so_far_mpa - first_mpa));
        let excess_mpa = beyond_mpa.abs() - width_mpa;
        // A strain that is no number stays elastic and shows up in the stress.
        if excess_mpa.is_nan() || excess_mpa <= 0.0 {
            return Strained {
                fibre: *self,
                stress_mpa: trial_mpa,
                slope_mpa: plane_mpa,
            };
        }
        let stiffness_mpa = plane_mpa / WIDE_BEND;
        let mut worked_more = excess_mpa / stiffness_mpa;
        let (mut flow_mpa, mut slope_mpa) = hardening.flow(self.worked + worked_more);
        for _ in 0..MOST_STEPS {
            let left_mpa =
                excess_mpa - stiffness_mpa * worked_more - WIDE_BEND * (flow_mpa - so_far_mpa);
            let step = left_mpa / (stiffness_mpa + WIDE_BEND * slope_mpa);
            worked_more = (worked_more + step).max(0.0);
            if step.abs() < SMALLEST_STRAIN {
                break;
            }
            (flow_mpa, slope_mpa) = hardening.flow(self.worked + worked_more);
        }
        let sign = if beyond_mpa < 0.0 { -1.0 } else { 1.0 };
        let fibre = Self {
            plastic_strain: self.plastic_strain + sign * worked_more / WIDE_BEND,
            worked: self.worked + worked_more,
            flow_mpa,
            back_mpa: self.back_mpa + sign * WIDE_BEND * kinematic_share * (flow_mpa - so_far_mpa),
        };
        let plastic_mpa = WIDE_BEND * WIDE_BEND * slope_mpa;
        Strained {
            fibre,
            stress_mpa: plane_mpa * (strain - fibre.plastic_strain),
            slope_mpa: plane_mpa * plastic_mpa / (plane_mpa + plastic_mpa),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn law(kinematic_share: f64) -> FibreLaw {
        let hardening = Hardening::Swift {
            k_mpa: 315.0,
            prestrain: 0.0193,
            n: 0.4,
        };
        FibreLaw::new(130_000.0, hardening, kinematic_share)
    }

    #[test]
    fn below_yield_the_fibre_forgets() {
        let law = law(0.3);
        let first = WIDE_BEND * law.hardening.first_yield_mpa() / law.plane_mpa;
        let strained = Fibre::fresh(&law).strained(0.999 * first, &law);
        assert_eq!(strained.fibre, Fibre::fresh(&law));
        assert_eq!(strained.stress_mpa, law.plane_mpa * (0.999 * first));
        assert!(
            Fibre::fresh(&law)
                .strained(1.001 * first, &law)
                .fibre
                .worked
                > 0.0
        );
    }

    /// Where reverse yielding begins: after the whole elastic range, as wide as the kinematic share leaves it.
    #[test]
    fn the_elastic_range_is_as_wide_as_the_share_says() {
        for share in [0.0, 0.5, 1.0] {
            let law = law(share);
            let bent = Fibre::fresh(&law).strained(0.1, &law);
            let (first, now) = (
                law.hardening.first_yield_mpa(),
                law.hardening.stress_mpa(bent.fibre.worked),
            );
            let range = 2.0 * WIDE_BEND * (first + (1.0 - share) * (now - first)) / law.plane_mpa;
            assert_eq!(
                bent.fibre.strained(0.1 - 0.9999 * range, &law).fibre,
                bent.fibre
            );
            assert_ne!(
                bent.fibre.strained(0.1 - 1.0001 * range, &law).fibre,
                bent.fibre
            );
        }
    }

    #[test]
    fn no_number_stays_no_number() {
        assert!(
            Fibre::fresh(&law(0.0))
                .strained(f64::NAN, &law(0.0))
                .stress_mpa
                .is_nan()
        );
    }

    proptest! {
        #[test]
        fn strained_one_way_the_fibre_follows_the_tensile_curve(
            strain in 0.001..1.5_f64, share in 0.0..1.0_f64, turned in proptest::bool::ANY,
        ) {
            let law = law(share);
            let sign = if turned { -1.0 } else { 1.0 };
            // The whole way at once, and in ten parts.
            let at_once = Fibre::fresh(&law).strained(sign * strain, &law);
            let mut fibre = Fibre::fresh(&law);
            let mut stress_mpa = 0.0;
            for part in 1..=10 {
                let strained = fibre.strained(sign * strain * f64::from(part) / 10.0, &law);
                (fibre, stress_mpa) = (strained.fibre, strained.stress_mpa);
            }
            let curve_mpa = WIDE_BEND * law.hardening.stress_mpa(at_once.fibre.worked);
            prop_assert!((at_once.stress_mpa * sign / curve_mpa - 1.0).abs() < 1e-7);
            prop_assert!((stress_mpa / at_once.stress_mpa - 1.0).abs() < 1e-7);
        }

        #[test]
        fn the_slope_is_that_of_the_stress(
            first in -0.3..0.3_f64, then in -0.3..0.3_f64, share in 0.0..1.0_f64,
        ) {
            let law = law(share);
            let fibre = Fibre::fresh(&law).strained(first, &law).fibre;
            let step = 1e-7;
            let [below, here, above] = [-step, 0.0, step].map(|by| fibre.strained(then + by, &law));
            // Not across the very edge of the elastic range.
            let same_side = (below.fibre == fibre) == (above.fibre == fibre);
            prop_assume!(same_side);
            let rise_mpa = (above.stress_mpa - below.stress_mpa) / (2.0 * step);
            prop_assert!((here.slope_mpa - rise_mpa).abs() < 2e-3 * rise_mpa.abs().max(1.0),
                "{} {rise_mpa}", here.slope_mpa);
        }
    }

    #[test]
    fn reversed_without_kinematic_share_it_bears_as_much_the_other_way() {
        let law = law(0.0);
        let there = Fibre::fresh(&law).strained(0.05, &law);
        let back = there.fibre.strained(0.0, &law);
        assert_relative_eq!(
            -back.stress_mpa,
            WIDE_BEND * law.hardening.stress_mpa(back.fibre.worked),
            max_relative = 1e-9
        );
        assert!(-back.stress_mpa > there.stress_mpa);
    }
}

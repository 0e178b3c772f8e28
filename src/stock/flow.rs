//! How a metal's flow stress grows with plastic strain: hardening laws, and the Swift law through the three
//! numbers of a tensile test.
//!
//! A data sheet prints the 0.2 % proof stress and the tensile strength; where the strip begins to neck it prints
//! rarely. [`swift`] takes all three. Where the three contradict each other it says what comes of it;
//! [`annealed`] is the way out that keeps both strengths.

use crate::numbers::plain;
use serde::Serialize;

/// Plastic strain at which the proof stress is read: the 0.2 % of Rp0.2.
const PROOF_STRAIN: f64 = 0.002;

/// Least prestrain of a Swift law: keeps first yield above zero and the first slope finite.
/// Own choice; an annealed metal with n = 0.3 then yields first at half of its proof stress or less.
pub const LEAST_PRESTRAIN: f64 = 1e-4;

/// Largest prestrain that is looked for; rolling to a ten-thousandth of the thickness gives 9. Own choice.
const MOST_PRESTRAIN: f64 = 10.0;

/// Steps of the bisections: each halves the interval, 60 reach the last bit.
const BISECTIONS: u32 = 60;

/// True flow stress over true plastic strain, both as in a tensile test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hardening {
    /// `K·(prestrain + ε)ⁿ`; Hollomon's law is the one with no prestrain.
    ///
    /// Source: Swift (1952), from memory.
    Swift {
        /// K, MPa.
        k_mpa: f64,
        /// What the metal has behind it already, as plastic strain; above 0.
        prestrain: f64,
        /// Exponent n.
        n: f64,
    },
    /// `saturation − (saturation − yield)·exp(−rate·ε)`
    ///
    /// Source: Voce (1948), from memory.
    Voce {
        /// First yield, MPa.
        yield_mpa: f64,
        /// Stress it comes near to, MPa.
        saturation_mpa: f64,
        /// How fast, per unit of strain.
        rate: f64,
    },
    /// No hardening.
    Ideal {
        /// Yield stress, MPa.
        yield_mpa: f64,
    },
}

impl Hardening {
    /// Flow stress, MPa, and its slope over plastic strain, MPa; both cost one power together.
    pub fn flow(&self, plastic_strain: f64) -> (f64, f64) {
        match *self {
            Self::Swift {
                k_mpa,
                prestrain,
                n,
            } => {
                let strain = prestrain + plastic_strain;
                let stress_mpa = k_mpa * libm::pow(strain, n);
                (stress_mpa, n * stress_mpa / strain)
            }
            Self::Voce {
                yield_mpa,
                saturation_mpa,
                rate,
            } => {
                let short_mpa = (saturation_mpa - yield_mpa) * libm::exp(-rate * plastic_strain);
                (saturation_mpa - short_mpa, rate * short_mpa)
            }
            Self::Ideal { yield_mpa } => (yield_mpa, 0.0),
        }
    }

    /// The same law with all stresses multiplied by `share`.
    #[must_use]
    pub fn scaled(&self, share: f64) -> Self {
        match *self {
            Self::Swift {
                k_mpa,
                prestrain,
                n,
            } => Self::Swift {
                k_mpa: share * k_mpa,
                prestrain,
                n,
            },
            Self::Voce {
                yield_mpa,
                saturation_mpa,
                rate,
            } => Self::Voce {
                yield_mpa: share * yield_mpa,
                saturation_mpa: share * saturation_mpa,
                rate,
            },
            Self::Ideal { yield_mpa } => Self::Ideal {
                yield_mpa: share * yield_mpa,
            },
        }
    }

    /// True flow stress, MPa, after a true plastic strain of 0 or more.
    pub fn stress_mpa(&self, plastic_strain: f64) -> f64 {
        self.flow(plastic_strain).0
    }

    /// How fast the flow stress grows there, MPa per unit of strain.
    pub fn slope_mpa(&self, plastic_strain: f64) -> f64 {
        self.flow(plastic_strain).1
    }

    /// Stress at which the elastic range ends, MPa.
    pub fn first_yield_mpa(&self) -> f64 {
        self.stress_mpa(0.0)
    }

    /// 0.2 % proof stress of a strip that follows the law, MPa.
    pub fn proof_mpa(&self) -> f64 {
        self.stress_mpa(PROOF_STRAIN)
    }

    /// True strain at which a strip in tension begins to neck: where the slope has fallen to the stress.
    ///
    /// Elastic strain is neglected; it is some thousandths at most.
    ///
    /// # Source
    /// Considère's condition `dσ/dε = σ`, solved for each law: `n − prestrain` for Swift,
    /// `ln((1 + rate)·(saturation − yield)/saturation)/rate` for Voce. Own derivation.
    pub fn uniform_strain(&self) -> f64 {
        match *self {
            Self::Swift { prestrain, n, .. } => (n - prestrain).max(0.0),
            Self::Voce {
                yield_mpa,
                saturation_mpa,
                rate,
            } => {
                let grows = (1.0 + rate) * (saturation_mpa - yield_mpa) / saturation_mpa;
                if grows > 1.0 {
                    libm::log(grows) / rate
                } else {
                    0.0
                }
            }
            Self::Ideal { .. } => 0.0,
        }
    }

    /// Tensile strength of a strip that follows the law, MPa: stress where it begins to neck, on the first section.
    ///
    /// For Hollomon's law this is `K·(n/e)ⁿ`.
    pub fn tensile_mpa(&self) -> f64 {
        let strain = self.uniform_strain();
        self.stress_mpa(strain) * libm::exp(-strain)
    }

    /// The law in words, with its numbers.
    pub fn words(&self) -> String {
        match *self {
            Self::Swift {
                k_mpa,
                prestrain,
                n,
            } => format!("{k_mpa:.0} MPa x ({prestrain:.4} + strain)^{n:.3}"),
            Self::Voce {
                yield_mpa,
                saturation_mpa,
                rate,
            } => format!("{yield_mpa:.0} MPa rising to {saturation_mpa:.0} MPa at rate {rate:.1}"),
            Self::Ideal { yield_mpa } => format!("{yield_mpa:.0} MPa throughout"),
        }
    }
}

/// Why no Swift law goes through the numbers.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Nothing is left to harden.
    #[error("a proof stress of {} MPa leaves no hardening below a tensile strength of {} MPa", plain(*proof_mpa), plain(*tensile_mpa))]
    NoHardening {
        /// 0.2 % proof stress, MPa.
        proof_mpa: f64,
        /// Tensile strength, MPa.
        tensile_mpa: f64,
    },
    /// The strip would neck before the proof stress is read.
    #[error("a uniform elongation of {} % ends before the 0.2 % of the proof stress", plain(*uniform_percent))]
    NoUniformPart {
        /// Uniform elongation, %.
        uniform_percent: f64,
    },
}

/// A Swift law through the numbers of a tensile test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwiftFit {
    /// The law.
    pub law: Hardening,
    /// Whether it meets the proof stress that was asked for; tensile strength and uniform strain it always meets.
    pub meets_proof: bool,
}

/// Proof stress of the Swift law that necks at `uniform_strain` with tensile strength 1.
fn relative_proof(prestrain: f64, uniform_strain: f64) -> f64 {
    let n = prestrain + uniform_strain;
    libm::exp(uniform_strain + n * libm::log((prestrain + PROOF_STRAIN) / n))
}

/// The Swift law that necks at `uniform_strain` with the tensile strength given.
fn necking_at(prestrain: f64, uniform_strain: f64, tensile_mpa: f64) -> Hardening {
    let n = prestrain + uniform_strain;
    Hardening::Swift {
        k_mpa: tensile_mpa * libm::exp(uniform_strain - n * libm::log(n)),
        prestrain,
        n,
    }
}

fn strengths_leave_hardening(proof_mpa: f64, tensile_mpa: f64) -> Result<(), FitError> {
    // Written so that no number at all is refused too.
    if proof_mpa > 0.0 && proof_mpa < tensile_mpa && tensile_mpa.is_finite() {
        Ok(())
    } else {
        Err(FitError::NoHardening {
            proof_mpa,
            tensile_mpa,
        })
    }
}

/// The Swift law through proof stress, tensile strength and uniform elongation.
///
/// With e the true uniform strain `ln(1 + Ag)`: `n = prestrain + e` (Considère), `K·nⁿ = Rm·(1 + Ag)` and
/// `K·(prestrain + 0.002)ⁿ = Rp0.2`. The proof stress that follows from a prestrain grows with it, from the one of
/// [`LEAST_PRESTRAIN`] up to nearly Rm, so a bisection finds it. A metal whose proof stress lies lower still gets the
/// least prestrain, K and n by the other two, and `meets_proof` false; [`Hardening::proof_mpa`] says what comes of it.
///
/// # Units
/// - `uniform_percent`: elongation at which necking begins, Ag, % of the first length
///
/// # Errors
/// [`FitError`] when there is nothing to harden, or the uniform part is shorter than 0.2 %.
///
/// # Source
/// Own derivation from Considère's condition.
pub fn swift(proof_mpa: f64, tensile_mpa: f64, uniform_percent: f64) -> Result<SwiftFit, FitError> {
    strengths_leave_hardening(proof_mpa, tensile_mpa)?;
    let uniform_strain = libm::log1p(uniform_percent / 100.0);
    if !(uniform_strain > PROOF_STRAIN && uniform_strain.is_finite()) {
        return Err(FitError::NoUniformPart { uniform_percent });
    }
    let wanted = proof_mpa / tensile_mpa;
    let (mut low, mut high) = (LEAST_PRESTRAIN, MOST_PRESTRAIN);
    if relative_proof(high, uniform_strain) < wanted {
        return Err(FitError::NoHardening {
            proof_mpa,
            tensile_mpa,
        });
    }
    let meets_proof = relative_proof(low, uniform_strain) <= wanted;
    if meets_proof {
        for _ in 0..BISECTIONS {
            // Halves the ratio: prestrains range over five powers of ten.
            let middle = (low * high).sqrt();
            if relative_proof(middle, uniform_strain) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
    }
    Ok(SwiftFit {
        law: necking_at(low, uniform_strain, tensile_mpa),
        meets_proof,
    })
}

/// The Swift law of a metal with next to no prestrain through both its strengths; where it necks follows from them.
///
/// `Rp0.2/Rm = exp(e)·((prestrain + 0.002)/n)ⁿ` with `n = prestrain + e` falls as e grows, so a bisection finds e.
///
/// # Errors
/// [`FitError::NoHardening`] unless the proof stress lies below the tensile strength.
///
/// # Source
/// Own derivation, from the same conditions as [`swift`].
pub fn annealed(proof_mpa: f64, tensile_mpa: f64) -> Result<Hardening, FitError> {
    strengths_leave_hardening(proof_mpa, tensile_mpa)?;
    let wanted = proof_mpa / tensile_mpa;
    // At the upper end the proof stress is below a ten-thousandth of the tensile strength.
    let (mut low, mut high) = (PROOF_STRAIN, 3.0);
    for _ in 0..BISECTIONS {
        let middle = f64::midpoint(low, high);
        if relative_proof(LEAST_PRESTRAIN, middle) > wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(necking_at(LEAST_PRESTRAIN, high, tensile_mpa))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn every_law() -> [Hardening; 3] {
        [
            Hardening::Swift {
                k_mpa: 400.0,
                prestrain: 0.01,
                n: 0.3,
            },
            Hardening::Voce {
                yield_mpa: 80.0,
                saturation_mpa: 260.0,
                rate: 9.0,
            },
            Hardening::Ideal { yield_mpa: 65.0 },
        ]
    }

    #[test]
    fn slopes_are_those_of_the_stress() {
        for law in every_law() {
            for strain in [0.0, 0.002, 0.05, 0.8] {
                let step = 1e-6;
                let rise =
                    law.stress_mpa(strain + step) - law.stress_mpa(strain - step.min(strain));
                assert_relative_eq!(
                    law.slope_mpa(strain),
                    rise / (step + step.min(strain)),
                    max_relative = 1e-3
                );
            }
        }
    }

    /// The load a strip carries, stress over the section it has left, is greatest where it begins to neck.
    #[test]
    fn no_strain_carries_more_than_the_tensile_strength() {
        for law in every_law() {
            let load_mpa = |strain: f64| law.stress_mpa(strain) * (-strain).exp();
            let most_mpa = (0..40_000)
                .map(|step| load_mpa(f64::from(step) * 1e-4))
                .fold(0.0, f64::max);
            assert_relative_eq!(law.tensile_mpa(), most_mpa, max_relative = 1e-6);
        }
    }

    #[test]
    fn a_metal_too_soft_for_its_uniform_strain_is_flagged() {
        // Even without any prestrain n = 0.2 gives 0.398 exp(0.2) of the tensile strength at 0.2 %.
        let fit = swift(28.0, 80.0, 100.0 * (0.2f64.exp() - 1.0)).unwrap();
        assert!(!fit.meets_proof);
        assert_relative_eq!(fit.law.tensile_mpa(), 80.0, max_relative = 1e-12);
        assert!((38.0..41.0).contains(&fit.law.proof_mpa()), "{fit:?}");
        let both = annealed(28.0, 80.0).unwrap();
        assert_relative_eq!(both.proof_mpa(), 28.0, max_relative = 1e-12);
        assert_relative_eq!(both.tensile_mpa(), 80.0, max_relative = 1e-12);
        assert!(both.uniform_strain() > 0.2);
    }

    #[test]
    fn numbers_that_leave_nothing_to_harden_are_refused() {
        for (proof_mpa, tensile_mpa) in [
            (200.0, 200.0),
            (201.0, 200.0),
            (f64::NAN, 200.0),
            (0.0, 1.0),
        ] {
            assert!(matches!(
                swift(proof_mpa, tensile_mpa, 10.0),
                Err(FitError::NoHardening { .. })
            ));
            assert!(annealed(proof_mpa, tensile_mpa).is_err());
        }
        for uniform_percent in [0.0, 0.1, -3.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                swift(100.0, 200.0, uniform_percent),
                Err(FitError::NoUniformPart { .. })
            ));
        }
        assert_eq!(
            swift(200.0, 200.0, 5.0).unwrap_err().to_string(),
            "a proof stress of 200 MPa leaves no hardening below a tensile strength of 200 MPa"
        );
    }

    proptest! {
        #[test]
        fn the_fit_goes_through_its_three_numbers(
            tensile_mpa in 60.0..900.0_f64, share in 0.1..0.98_f64, uniform_percent in 0.5..60.0_f64,
        ) {
            let fit = swift(share * tensile_mpa, tensile_mpa, uniform_percent).unwrap();
            prop_assert!((fit.law.tensile_mpa() / tensile_mpa - 1.0).abs() < 1e-9);
            let uniform = libm::log1p(uniform_percent / 100.0);
            prop_assert!((fit.law.uniform_strain() - uniform).abs() < 1e-9);
            let proof = fit.law.proof_mpa() / tensile_mpa;
            if fit.meets_proof {
                prop_assert!((proof - share).abs() < 1e-9, "{proof} {share}");
            } else {
                prop_assert!(proof > share);
            }
        }

        #[test]
        fn without_prestrain_both_strengths_are_met(tensile_mpa in 60.0..900.0_f64, share in 0.02..0.98_f64) {
            let law = annealed(share * tensile_mpa, tensile_mpa).unwrap();
            prop_assert!((law.tensile_mpa() / tensile_mpa - 1.0).abs() < 1e-9);
            prop_assert!((law.proof_mpa() / tensile_mpa - share).abs() < 1e-9);
        }
    }
}

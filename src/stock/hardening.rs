//! The hardening law of a sheet metal, from the strengths its grade stands for.
//!
//! A law needs three numbers and a grade has two: proof stress and tensile strength. The third, how far the strip
//! stretches evenly before it necks, is published for few of them. Where it is assumed, the assumption is named, and
//! where the three contradict each other both strengths are kept and the third gives way.

use super::flow::{Hardening, annealed, swift};
use super::metal::{Material, Metal, Temper};
use crate::numbers::plain;
use serde::Serialize;

/// Uniform elongation as a share of the elongation after fracture, where nothing better is known.
/// Own assumption, no source: worked sheet necks early, and half of what is measured after fracture is the neck.
const UNIFORM_SHARE: f64 = 0.5;

/// Necking strain of annealed copper. Hollomon's law K 530 MPa, n 0.44 gives a tensile strength of 238 MPa there,
/// which strip of this grade has; the other printed pair, 315 MPa and 0.54, gives 132 MPa.
const COPPER_SOFT_UNIFORM: Uniform = Uniform::hollomon(
    0.44,
    "Callister, Fundamentals of Materials Science and Engineering, 2nd ed., p. 199: annealed copper n 0.44, necks at \
     that true strain",
);

/// Necking strain of soft aluminium.
const ALUMINIUM_SOFT_UNIFORM: Uniform = Uniform::hollomon(
    0.20,
    "Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, table 2.3: 1100-O n 0.20, necks \
     at that true strain",
);

/// Necking strain of soft brass with 30 % zinc.
const BRASS_SOFT_UNIFORM: Uniform = Uniform::hollomon(
    0.49,
    "Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, table 2.3: brass 70-30 annealed \
     n 0.49, necks at that true strain",
);

/// The same for 37 % zinc.
const BRASS_37_SOFT_UNIFORM: Uniform = Uniform::hollomon(
    0.49,
    "taken as for brass with 30 % zinc: Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. \
     2009, table 2.3, n 0.49",
);

/// How far a strip stretches evenly.
struct Uniform {
    true_strain: f64,
    source: &'static str,
}

impl Uniform {
    /// A metal that follows Hollomon's law necks at the true strain n (Considère).
    const fn hollomon(n: f64, source: &'static str) -> Self {
        Self {
            true_strain: n,
            source,
        }
    }

    fn of(metal: &Metal) -> Self {
        match (metal.material, metal.temper) {
            (Some(Material::Copper), Some(Temper::Soft)) => COPPER_SOFT_UNIFORM,
            (Some(Material::Aluminium1050), Some(Temper::Soft)) => ALUMINIUM_SOFT_UNIFORM,
            (Some(Material::BrassCuZn30), Some(Temper::Soft)) => BRASS_SOFT_UNIFORM,
            (Some(Material::BrassCuZn37), Some(Temper::Soft)) => BRASS_37_SOFT_UNIFORM,
            _ => Self {
                true_strain: libm::log1p(UNIFORM_SHARE * metal.elongation_percent / 100.0),
                source: "uniform elongation taken as half of the elongation after fracture; own assumption, no source",
            },
        }
    }
}

/// A hardening law and what it makes of the numbers it was made from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MetalFlow {
    /// The law.
    pub law: Hardening,
    /// 0.2 % proof stress of the law, MPa.
    pub proof_mpa: f64,
    /// Tensile strength of the law, MPa.
    pub tensile_mpa: f64,
    /// Elongation at which a strip that follows the law begins to neck, %.
    pub uniform_percent: f64,
    /// Where the third number comes from; the strengths have their own sources.
    pub source: String,
}

impl MetalFlow {
    fn new(law: Hardening, source: String) -> Self {
        Self {
            law,
            proof_mpa: law.proof_mpa(),
            tensile_mpa: law.tensile_mpa(),
            uniform_percent: 100.0 * libm::expm1(law.uniform_strain()),
            source,
        }
    }
}

impl Metal {
    /// Hardening law through proof stress and tensile strength of the metal.
    ///
    /// A Swift law that necks where a source or an assumption says. If no such law has so low a proof stress, one
    /// without prestrain through both strengths. If nothing is left to harden, the mean of both strengths throughout.
    ///
    /// # Source
    /// [`swift`] and [`annealed`]; the answer names where its third number was read.
    pub fn hardening(&self) -> MetalFlow {
        let uniform = Uniform::of(self);
        let uniform_percent = 100.0 * libm::expm1(uniform.true_strain);
        match swift(self.proof_mpa, self.tensile_mpa, uniform_percent) {
            Ok(fit) if fit.meets_proof => MetalFlow::new(fit.law, uniform.source.to_owned()),
            Ok(fit) => annealed(self.proof_mpa, self.tensile_mpa).map_or_else(
                |_| self.without_hardening("the two strengths contradict each other"),
                |law| {
                    MetalFlow::new(
                        law,
                        format!(
                            "necking strain from the two strengths, as of a metal without prestrain: a true strain of {} \
                             ({}) would put the proof stress at {:.0} MPa",
                            plain(uniform.true_strain),
                            uniform.source,
                            fit.law.proof_mpa()
                        ),
                    )
                },
            ),
            Err(why) => self.without_hardening(&why.to_string()),
        }
    }

    fn without_hardening(&self, why: &str) -> MetalFlow {
        MetalFlow::new(
            Hardening::Ideal {
                yield_mpa: f64::midpoint(self.proof_mpa, self.tensile_mpa),
            },
            format!("mean of proof stress and tensile strength throughout: {why}"),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::metal::tests::every_metal;

    /// Share by which a law may miss the strengths it was made from; rounding of the fit.
    const STRENGTH_MISSED: f64 = 1e-6;

    #[test]
    fn every_stock_metal_has_a_law_through_both_its_strengths() {
        for metal in every_metal() {
            let flow = metal.hardening();
            assert!(matches!(flow.law, Hardening::Swift { .. }), "{flow:?}");
            for (got, wanted) in [
                (flow.proof_mpa, metal.proof_mpa),
                (flow.tensile_mpa, metal.tensile_mpa),
            ] {
                assert!(
                    (got / wanted - 1.0).abs() < STRENGTH_MISSED,
                    "{} {flow:?}",
                    metal.name
                );
            }
            assert!(!flow.source.is_empty());
        }
    }

    /// Up to a tenth of strain; where both are worked further the assumed uniform elongations decide, not the grades.
    #[test]
    fn harder_tempers_flow_at_higher_stress() {
        for material in Material::ALL {
            let laws: Vec<Hardening> = Metal::tempers(material)
                .iter()
                .filter_map(|temper| Some(Metal::stock(material, *temper)?.hardening().law))
                .collect();
            for pair in laws.windows(2) {
                for strain in [0.0, 0.002, 0.02, 0.1] {
                    assert!(
                        pair[0].stress_mpa(strain) < pair[1].stress_mpa(strain),
                        "{material:?} {strain}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_law_is_found_for_any_numbers_a_part_file_may_hold() {
        let copper = Metal::stock(Material::Copper, Temper::Soft).unwrap();
        for (proof_mpa, tensile_mpa, elongation_percent, ideal) in [
            (200.0, 200.0, 10.0, true),
            (1.0, 3000.0, 10.0, false),
            (2999.0, 3000.0, 80.0, true),
            (100.0, 200.0, 0.01, true),
            (100.0, 101.0, 5.0, false),
        ] {
            let flow = Metal {
                material: None,
                proof_mpa,
                tensile_mpa,
                elongation_percent,
                ..copper.clone()
            }
            .hardening();
            assert_eq!(
                matches!(flow.law, Hardening::Ideal { .. }),
                ideal,
                "{flow:?}"
            );
            if ideal {
                assert_eq!(flow.proof_mpa, f64::midpoint(proof_mpa, tensile_mpa));
                assert!(flow.source.starts_with("mean of"), "{flow:?}");
            } else {
                assert!(
                    (flow.proof_mpa / proof_mpa - 1.0).abs() < STRENGTH_MISSED,
                    "{flow:?}"
                );
                assert!(
                    (flow.tensile_mpa / tensile_mpa - 1.0).abs() < STRENGTH_MISSED,
                    "{flow:?}"
                );
            }
        }
    }

    /// A uniform elongation that contradicts the strengths gives way, and the answer says what it would have meant.
    #[test]
    fn soft_aluminium_keeps_its_strengths_and_says_what_gave_way() {
        let metal = Metal::stock(Material::Aluminium1050, Temper::Soft).unwrap();
        let flow = metal.hardening();
        assert!(flow.uniform_percent > 22.2, "{flow:?}");
        assert!(
            flow.source.contains("would put the proof stress at 39 MPa"),
            "{flow:?}"
        );
    }
}

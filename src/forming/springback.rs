//! Springback of one bend: the published factor where there is one, else an ideal-plastic section.

use crate::quantity::plain;
use crate::stock::Metal;
use crate::stock::springback::{KR_SOURCE, SpringbackColumn, curvature_kept, k_r};

/// Plane-strain factor between yield stress in tension and across a wide bend, 2/√3 (von Mises).
const WIDE_BEND: f64 = 1.154_700_538_379_251_7;

/// Steps of the bisection: each halves the interval, 60 reach the last bit.
const BISECTIONS: u32 = 60;

/// How a springback factor was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Read from the published table.
    Table(SpringbackColumn),
    /// Ideal-plastic section with a mean flow stress.
    Section {
        /// Flow stress of a wide bend.
        flow_stress_mpa: f64,
    },
}

impl Method {
    /// For the head line of an output.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Table(_) => "with published springback factors",
            Self::Section { .. } => "with an ideal-plastic section model",
        }
    }
}

/// Springback of one bend.
#[derive(Debug, Clone, PartialEq)]
pub struct Springback {
    /// Bend angle kept over bend angle in the die.
    pub k_r: f64,
    /// How it was found.
    pub method: Method,
    /// Why it may be off, if it may.
    pub doubt: Option<String>,
}

impl Springback {
    /// Springback of a bend to `inside_radius_mm`, wanted after letting go.
    pub fn of(metal: &Metal, inside_radius_mm: f64, thickness_mm: f64) -> Self {
        let ratio = inside_radius_mm / thickness_mm;
        if let Some(column) = metal.springback_column {
            let read = k_r(column, ratio);
            if read.in_range || ratio < 1.0 {
                return Self {
                    k_r: read.k_r,
                    method: Method::Table(column),
                    doubt: (!read.in_range).then(|| {
                        format!(
                            "the published table begins at radius = thickness; its first factor, {}, is used for a radius of {} thicknesses",
                            plain(read.k_r),
                            plain(ratio)
                        )
                    }),
                };
            }
        }
        let flow_stress_mpa = WIDE_BEND * f64::midpoint(metal.proof_mpa, metal.tensile_mpa);
        let plane_mpa = metal.youngs_mpa / (1.0 - metal.poisson * metal.poisson);
        let target_mid_mm = inside_radius_mm + thickness_mm / 2.0;
        Self {
            k_r: section_k_r(target_mid_mm, thickness_mm, flow_stress_mpa, plane_mpa),
            method: Method::Section { flow_stress_mpa },
            doubt: Some(
                "no published factor for this sheet; an ideal-plastic section with the mean of proof stress and tensile strength is used, which may be off by a degree or more".into(),
            ),
        }
    }

    /// Full source for tables.
    pub fn source(&self) -> String {
        match self.method {
            Method::Table(column) => {
                format!("kR table, row {} ({KR_SOURCE})", column.table_name())
            }
            Method::Section { flow_stress_mpa } => {
                format!("ideal-plastic section, flow stress {flow_stress_mpa:.0} MPa")
            }
        }
    }
}

/// kR of an ideal-plastic section: mid radius in the die over mid radius kept, at kept arc length.
///
/// Solves `1/ρ_kept = (1 - 3x + 4x³)/ρ_die`, `x = ρ_die Y/(E' t)`, for ρ_die by bisection: the right side
/// falls from infinity to 0 at x = 1/2, so there is always exactly one answer.
///
/// # Source
/// [`curvature_kept`].
fn section_k_r(kept_mid_mm: f64, thickness_mm: f64, yield_mpa: f64, plane_mpa: f64) -> f64 {
    let kept = |die_mid_mm: f64| {
        curvature_kept(die_mid_mm, thickness_mm, yield_mpa, plane_mpa).unwrap_or(0.0) / die_mid_mm
    };
    let (mut low, mut high) = (0.0, kept_mid_mm);
    for _ in 0..BISECTIONS {
        let middle = f64::midpoint(low, high);
        if kept(middle) > 1.0 / kept_mid_mm {
            low = middle;
        } else {
            high = middle;
        }
    }
    high / kept_mid_mm
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::{Material, Temper};
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn soft_copper_uses_the_published_factor() {
        let copper = Metal::stock(Material::Copper, Temper::Soft).unwrap();
        let bend = Springback::of(&copper, 1.0, 1.0);
        assert_eq!(bend.k_r, 0.98);
        assert_eq!(bend.doubt, None);
        assert!(Springback::of(&copper, 0.5, 1.0).doubt.is_some());
    }

    #[test]
    fn harder_copper_springs_further() {
        let k = |temper| {
            let metal = Metal::stock(Material::Copper, temper).unwrap();
            Springback::of(&metal, 3.0, 1.0).k_r
        };
        assert!(k(Temper::Hard) < k(Temper::HalfHard));
        assert!(k(Temper::HalfHard) < 1.0);
    }

    proptest! {
        /// Bending in the found die and letting go by the forward formula gives the wanted radius.
        #[test]
        fn the_section_model_is_solved(
            kept in 0.6f64..80.0, thickness in 0.3f64..2.0, yield_mpa in 50.0f64..400.0
        ) {
            let plane = 130_000.0;
            let die_mid = kept * section_k_r(kept, thickness, yield_mpa, plane);
            let share = curvature_kept(die_mid, thickness, yield_mpa, plane).unwrap();
            assert_relative_eq!(die_mid / share, kept, max_relative = 1e-9);
        }
    }
}

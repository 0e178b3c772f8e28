//! Plastics that dies are printed from.
//!
//! Values are for solid plastic. A printed die is weaker: shells and infill decide how much.

use super::sourced::Sourced;
use serde::{Deserialize, Serialize};

/// A plastic a maker's printer melts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Plastic {
    /// Polylactic acid.
    Pla,
    /// Glycol-modified polyethylene terephthalate.
    Petg,
    /// Acrylonitrile butadiene styrene.
    Abs,
    /// Acrylonitrile styrene acrylate.
    Asa,
}

/// What the die design needs to know of a plastic.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlasticData {
    /// Density of the solid plastic, g/cm³; filament weight comes from it.
    pub density_g_cm3: f64,
    /// Young's modulus of the solid plastic, MPa.
    pub youngs_mpa: f64,
    /// Compressive yield stress of the solid plastic, MPa; low end of the range where there is one.
    pub compressive_yield_mpa: f64,
    /// High end of that range, MPa.
    pub most_compressive_yield_mpa: f64,
    /// Above this the die softens under load, °C; low end of the heat-deflection range at 0.45 MPa.
    pub heat_limit_c: f64,
    /// Where each number was read.
    pub sources: Vec<Sourced>,
}

/// Study of bulk plastics; read for PLA, PETG and ABS.
const BULK_STUDY: &str = "Processes 2025, 13(9), 2733";

impl Plastic {
    /// Every plastic.
    pub const ALL: [Self; 4] = [Self::Pla, Self::Petg, Self::Abs, Self::Asa];

    /// The word a part file writes.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pla => "pla",
            Self::Petg => "petg",
            Self::Abs => "abs",
            Self::Asa => "asa",
        }
    }

    /// What the trade calls it, for people.
    pub const fn trade_name(self) -> &'static str {
        match self {
            Self::Pla => "PLA",
            Self::Petg => "PETG",
            Self::Abs => "ABS",
            Self::Asa => "ASA",
        }
    }

    /// Its numbers, with where each was read.
    pub fn data(self) -> PlasticData {
        // Density, compressive yield and heat limit: from memory, generic for the plastic.
        // Young's modulus: BULK_STUDY, but for ASA from memory.
        let (density_g_cm3, youngs_mpa, yield_mpa, heat_limit_c) = match self {
            Self::Pla => (1.24, 3500.0, [55.0, 80.0], 52.0),
            Self::Petg => (1.27, 2000.0, [40.0, 55.0], 68.0),
            Self::Abs => (1.04, 2100.0, [35.0, 50.0], 85.0),
            Self::Asa => (1.07, 2000.0, [35.0, 50.0], 90.0),
        };
        let [compressive_yield_mpa, most_compressive_yield_mpa] = yield_mpa;
        let compressive_yield = match self {
            Self::Pla => "from memory: 55 to 80 MPa",
            Self::Petg => "from memory: 40 to 55 MPa",
            Self::Abs => "from memory: 35 to 50 MPa",
            Self::Asa => "from memory: taken as for ABS",
        };
        let heat = match self {
            Self::Pla => "from memory: low end of 52 to 58 °C, heat deflection at 0.45 MPa",
            Self::Petg => "from memory: low end of 68 to 72 °C, heat deflection at 0.45 MPa",
            Self::Abs => "from memory: low end of 85 to 98 °C, heat deflection at 0.45 MPa",
            Self::Asa => "from memory: low end of 90 to 100 °C, heat deflection at 0.45 MPa",
        };
        let youngs = match self {
            Self::Asa => "from memory",
            Self::Pla | Self::Petg | Self::Abs => BULK_STUDY,
        };
        PlasticData {
            density_g_cm3,
            youngs_mpa,
            compressive_yield_mpa,
            most_compressive_yield_mpa,
            heat_limit_c,
            sources: vec![
                Sourced::new("density", "from memory"),
                Sourced::new("Young's modulus", youngs),
                Sourced::new("compressive yield stress", compressive_yield),
                Sourced::new("heat limit", heat),
            ],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_file_writes_plastics_in_small_letters() {
        for plastic in Plastic::ALL {
            let written = serde_json::Value::from(plastic.name());
            assert_eq!(serde_json::to_value(plastic).unwrap(), written);
            assert_eq!(serde_json::from_value::<Plastic>(written).unwrap(), plastic);
        }
    }

    #[test]
    fn numbers_are_those_of_solid_plastics() {
        for plastic in Plastic::ALL {
            let data = plastic.data();
            // Wide bands that any unfilled printing plastic lies in; they catch a slipped unit.
            assert!((0.9..1.5).contains(&data.density_g_cm3), "{plastic:?}");
            assert!((1000.0..5000.0).contains(&data.youngs_mpa), "{plastic:?}");
            assert!(
                (20.0..100.0).contains(&data.compressive_yield_mpa),
                "{plastic:?}"
            );
            assert!((45.0..120.0).contains(&data.heat_limit_c), "{plastic:?}");
        }
    }

    #[test]
    fn a_source_that_prints_a_range_prints_the_numbers_used() {
        for plastic in Plastic::ALL {
            let data = plastic.data();
            let yields_mpa = [data.compressive_yield_mpa, data.most_compressive_yield_mpa];
            for (what, says) in [
                (
                    "compressive yield stress",
                    format!("memory: {} to {} MPa", yields_mpa[0], yields_mpa[1]),
                ),
                ("heat limit", format!("low end of {} to", data.heat_limit_c)),
            ] {
                let source = data
                    .sources
                    .iter()
                    .find(|sourced| sourced.what == what)
                    .map_or("", |sourced| sourced.source.as_str());
                assert!(
                    source.contains(&says) || source.contains("as for ABS"),
                    "{plastic:?}: {source}"
                );
            }
        }
    }

    #[test]
    fn heat_softens_pla_first() {
        let pla_c = Plastic::Pla.data().heat_limit_c;
        for other in [Plastic::Petg, Plastic::Abs, Plastic::Asa] {
            assert!(pla_c < other.data().heat_limit_c, "{other:?}");
        }
    }
}

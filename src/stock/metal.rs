//! Sheet metals by material and temper, with the place every number was read.
//!
//! Standards give ranges; a calculation needs one number. Which one was taken stands with each grade.

use super::handbook_row::HandbookRow;
use super::sourced::Sourced;
use super::springback::SpringbackColumn;
use serde::{Deserialize, Serialize};

/// A sheet material a maker can buy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Tough-pitch copper, Cu-ETP.
    Copper,
    /// Unalloyed aluminium, EN AW-1050A.
    #[serde(rename = "aluminium-1050")]
    Aluminium1050,
    /// Aluminium with 2.5 % magnesium, EN AW-5052.
    #[serde(rename = "aluminium-5052")]
    Aluminium5052,
    /// Brass with 30 % zinc.
    #[serde(rename = "brass-cuzn30")]
    BrassCuZn30,
    /// Brass with 37 % zinc.
    #[serde(rename = "brass-cuzn37")]
    BrassCuZn37,
}

impl Material {
    /// Every material.
    pub const ALL: [Self; 5] = [
        Self::Copper,
        Self::Aluminium1050,
        Self::Aluminium5052,
        Self::BrassCuZn30,
        Self::BrassCuZn37,
    ];

    /// The word a part file writes.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Aluminium1050 => "aluminium-1050",
            Self::Aluminium5052 => "aluminium-5052",
            Self::BrassCuZn30 => "brass-cuzn30",
            Self::BrassCuZn37 => "brass-cuzn37",
        }
    }

    /// What the trade calls it, for people.
    pub const fn trade_name(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Aluminium1050 => "aluminium 1050",
            Self::Aluminium5052 => "aluminium 5052",
            Self::BrassCuZn30 => "brass CuZn30",
            Self::BrassCuZn37 => "brass CuZn37",
        }
    }

    /// Copper and its alloys: one set of strip standards.
    pub const fn is_copper_alloy(self) -> bool {
        matches!(self, Self::Copper | Self::BrassCuZn30 | Self::BrassCuZn37)
    }
}

/// How hard the sheet was rolled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Temper {
    /// Annealed; O of aluminium.
    Soft,
    /// H01 of copper, H32 of aluminium 5052.
    QuarterHard,
    /// H02 of copper, H14 of aluminium 1050.
    HalfHard,
    /// H04 of copper.
    Hard,
}

impl Temper {
    /// Every temper, softest first.
    pub const ALL: [Self; 4] = [Self::Soft, Self::QuarterHard, Self::HalfHard, Self::Hard];

    /// The word a part file writes.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Soft => "soft",
            Self::QuarterHard => "quarter-hard",
            Self::HalfHard => "half-hard",
            Self::Hard => "hard",
        }
    }
}

/// One sheet metal: what the analyses need to know of it.
///
/// The fields are open so that a part file may replace single numbers; whoever does adds a [`Sourced`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Metal {
    /// For people: "aluminium 1050, half-hard".
    pub name: String,
    /// What it is; `None` for a material of the user's own.
    pub material: Option<Material>,
    /// How hard; `None` when the user gave strengths instead of a temper.
    pub temper: Option<Temper>,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus, MPa.
    pub youngs_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// 0.2 % proof stress Rp0.2, MPa; a representative value of the grade.
    pub proof_mpa: f64,
    /// Tensile strength Rm, MPa; a representative value of the grade.
    pub tensile_mpa: f64,
    /// Elongation after fracture, %; a representative or least value of the grade.
    pub elongation_percent: f64,
    /// Thermal conductivity at room temperature, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Smallest inside radius over thickness that a 90° bend takes without cracking, in the worse rolling direction.
    pub min_radius_ratio: f64,
    /// Row of the handbook's bend-allowance formulas.
    pub handbook_row: HandbookRow,
    /// Column of the springback table; `None` where the table has none for this grade.
    pub springback_column: Option<SpringbackColumn>,
    /// Where each number was read.
    pub sources: Vec<Sourced>,
}

impl Metal {
    /// A metal in one of its [`Metal::tempers`]; `None` for a temper coldstep has no numbers for.
    pub fn stock(material: Material, temper: Temper) -> Option<Self> {
        let grade = Grade::of(material, temper)?;
        let body = Body::of(material);
        Some(Self {
            name: format!("{} {}", temper.name(), material.trade_name()),
            material: Some(material),
            temper: Some(temper),
            density_kg_m3: body.density_kg_m3,
            youngs_mpa: body.youngs_mpa,
            poisson: body.poisson,
            proof_mpa: grade.proof_mpa,
            tensile_mpa: grade.tensile_mpa,
            elongation_percent: grade.elongation_percent,
            conductivity_w_mk: body.conductivity_w_mk,
            min_radius_ratio: grade.min_radius_ratio,
            handbook_row: grade.handbook_row,
            springback_column: grade.springback_column,
            sources: vec![
                Sourced::new("density, elasticity, conductivity", body.source),
                Sourced::new("strength and elongation", grade.strength_source),
                Sourced::new("minimum bend radius", grade.radius_source),
                Sourced::new("bend-allowance row", handbook_source(material, temper)),
                Sourced::new(
                    "springback column",
                    springback_source(material, grade.springback_column),
                ),
            ],
        })
    }

    /// Tempers a material has numbers for, softest first.
    pub const fn tempers(material: Material) -> &'static [Temper] {
        match material {
            Material::Copper => &Temper::ALL,
            Material::Aluminium1050 => &[Temper::Soft, Temper::HalfHard],
            Material::Aluminium5052 => &[Temper::Soft, Temper::QuarterHard],
            Material::BrassCuZn30 | Material::BrassCuZn37 => &[Temper::Soft, Temper::Hard],
        }
    }
}

/// What no rolling changes.
struct Body {
    density_kg_m3: f64,
    youngs_mpa: f64,
    poisson: f64,
    conductivity_w_mk: f64,
    source: &'static str,
}

impl Body {
    const fn of(material: Material) -> Self {
        match material {
            Material::Copper => Self {
                density_kg_m3: 8940.0,
                youngs_mpa: 115_000.0,
                poisson: 0.34,
                conductivity_w_mk: 390.0,
                source: "Cu-ETP data sheet of a copper mill",
            },
            Material::Aluminium1050 => Self {
                density_kg_m3: 2700.0,
                youngs_mpa: 69_000.0,
                poisson: 0.33,
                conductivity_w_mk: 229.0,
                source: "from memory",
            },
            Material::Aluminium5052 => Self {
                density_kg_m3: 2680.0,
                youngs_mpa: 70_000.0,
                poisson: 0.33,
                conductivity_w_mk: 138.0,
                source: "from memory",
            },
            Material::BrassCuZn30 => Self {
                density_kg_m3: 8530.0,
                youngs_mpa: 110_000.0,
                poisson: 0.34,
                conductivity_w_mk: 120.0,
                source: "from memory",
            },
            Material::BrassCuZn37 => Self {
                density_kg_m3: 8440.0,
                youngs_mpa: 106_500.0,
                poisson: 0.34,
                conductivity_w_mk: 118.0,
                source: "from memory; middle of the remembered ranges 103 to 110 GPa and 116 to 120 W/(m·K)",
            },
        }
    }
}

/// What rolling decides.
struct Grade {
    proof_mpa: f64,
    tensile_mpa: f64,
    elongation_percent: f64,
    strength_source: &'static str,
    min_radius_ratio: f64,
    radius_source: &'static str,
    handbook_row: HandbookRow,
    springback_column: Option<SpringbackColumn>,
}

/// Half-hard copper (255 to 315 MPa) reaches past EN temper R240 into R290, so both hard tempers use R290.
const COPPER_R290_RADIUS: &str =
    "Cu-ETP data sheet of a copper mill: R290, strip up to 0.5 mm, 90° along the rolling direction";
/// The print gives the annealed and the hard end only; half-hard brass is therefore not in stock.
const BRASS_STRENGTH: &str = "Copper Development Association, Publication 120 (2004), table 16";
const BRASS_RADIUS: &str = "Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, table 16.3: \
     low-leaded brass, soft 0, hard 2T";

impl Grade {
    const fn of(material: Material, temper: Temper) -> Option<Self> {
        Some(match (material, temper) {
            (Material::Copper, Temper::Soft) => Self {
                proof_mpa: 70.0,
                tensile_mpa: 240.0,
                elongation_percent: 33.0,
                strength_source: "EN 1652 temper R220 on copper-mill data sheets: middle of Rm 220 to 260, least A 33; \
                     proof stress: informative value of ASTM B152 annealed there, R220 itself says only 140 at most",
                min_radius_ratio: 0.0,
                radius_source: "Cu-ETP data sheet of a copper mill: R220, strip up to 0.5 mm, folds flat; \
                     taken for thicker sheet too",
                handbook_row: HandbookRow::Soft,
                springback_column: Some(SpringbackColumn::SoftCopper),
            },
            (Material::Copper, Temper::QuarterHard) => Self {
                proof_mpa: 220.0,
                tensile_mpa: 262.5,
                elongation_percent: 23.0,
                strength_source: "ASTM B152 temper H01 on copper-mill data sheets: middle of Rm 235 to 290, \
                     informative proof stress and elongation",
                min_radius_ratio: 0.35,
                radius_source: "Cu-ETP data sheet of a copper mill: R240, 5 mm sheet crack-free from 0.35",
                handbook_row: HandbookRow::HalfHard,
                springback_column: None,
            },
            (Material::Copper, Temper::HalfHard) => Self {
                proof_mpa: 255.0,
                tensile_mpa: 285.0,
                elongation_percent: 20.0,
                strength_source: "ASTM B152 temper H02 on copper-mill data sheets: middle of Rm 255 to 315, \
                     informative proof stress and elongation",
                min_radius_ratio: 0.5,
                radius_source: COPPER_R290_RADIUS,
                handbook_row: HandbookRow::HalfHard,
                springback_column: None,
            },
            (Material::Copper, Temper::Hard) => Self {
                proof_mpa: 310.0,
                tensile_mpa: 327.5,
                elongation_percent: 9.0,
                strength_source: "ASTM B152 temper H04 on copper-mill data sheets: middle of Rm 295 to 360, \
                     informative proof stress and elongation",
                min_radius_ratio: 0.5,
                radius_source: COPPER_R290_RADIUS,
                handbook_row: HandbookRow::Hard,
                springback_column: None,
            },
            (Material::Aluminium1050, Temper::Soft) => Self {
                proof_mpa: 28.0,
                tensile_mpa: 80.0,
                elongation_percent: 22.0,
                strength_source: "from memory: middle of Rm 65 to 95 and least elongation of EN 485-2; typical proof stress",
                min_radius_ratio: 0.0,
                radius_source: "Kalpakjian & Schmid, Manufacturing Engineering and Technology, SI 6th ed. 2009, \
                     table 16.3: soft aluminium alloys 0",
                handbook_row: HandbookRow::HalfHard,
                springback_column: Some(SpringbackColumn::Aluminium),
            },
            (Material::Aluminium1050, Temper::HalfHard) => Self {
                proof_mpa: 103.0,
                tensile_mpa: 125.0,
                elongation_percent: 4.0,
                strength_source: "from memory: H14, middle of Rm 105 to 145 and least elongation of EN 485-2; \
                     typical proof stress",
                min_radius_ratio: 1.0,
                radius_source: "taken as for the stronger 5052-H32 in FAA AC 43.13-1B, table 4-6",
                handbook_row: HandbookRow::HalfHard,
                springback_column: None,
            },
            (Material::Aluminium5052, Temper::Soft) => Self {
                proof_mpa: 90.0,
                tensile_mpa: 192.5,
                elongation_percent: 25.0,
                strength_source: "from memory: middle of Rm 170 to 215 of EN 485-2; typical proof stress and elongation",
                min_radius_ratio: 1.0,
                radius_source: "FAA AC 43.13-1B, table 4-6: 5052-O, 0.064 in, the larger of 0 to 1t",
                handbook_row: HandbookRow::HalfHard,
                springback_column: None,
            },
            (Material::Aluminium5052, Temper::QuarterHard) => Self {
                proof_mpa: 193.0,
                tensile_mpa: 235.0,
                elongation_percent: 12.0,
                strength_source: "from memory: H32, middle of Rm 210 to 260 of EN 485-2; typical proof stress and elongation",
                min_radius_ratio: 1.0,
                radius_source: "FAA AC 43.13-1B, table 4-6: 5052-H32, 0.064 in, the larger of 1/2 to 1t",
                handbook_row: HandbookRow::HalfHard,
                springback_column: None,
            },
            (Material::BrassCuZn30, Temper::Soft) => Self {
                proof_mpa: 125.0,
                tensile_mpa: 325.0,
                elongation_percent: 70.0,
                strength_source: BRASS_STRENGTH,
                min_radius_ratio: 0.0,
                radius_source: BRASS_RADIUS,
                handbook_row: HandbookRow::Soft,
                springback_column: Some(SpringbackColumn::Brass),
            },
            (Material::BrassCuZn30, Temper::Hard) => Self {
                proof_mpa: 450.0,
                tensile_mpa: 540.0,
                elongation_percent: 15.0,
                strength_source: BRASS_STRENGTH,
                min_radius_ratio: 2.0,
                radius_source: BRASS_RADIUS,
                handbook_row: HandbookRow::Hard,
                springback_column: None,
            },
            (Material::BrassCuZn37, Temper::Soft) => Self {
                proof_mpa: 125.0,
                tensile_mpa: 355.0,
                elongation_percent: 55.0,
                strength_source: BRASS_STRENGTH,
                min_radius_ratio: 0.0,
                radius_source: BRASS_RADIUS,
                handbook_row: HandbookRow::Soft,
                springback_column: Some(SpringbackColumn::Brass),
            },
            (Material::BrassCuZn37, Temper::Hard) => Self {
                proof_mpa: 550.0,
                tensile_mpa: 585.0,
                elongation_percent: 7.0,
                strength_source: BRASS_STRENGTH,
                min_radius_ratio: 2.0,
                radius_source: BRASS_RADIUS,
                handbook_row: HandbookRow::Hard,
                springback_column: None,
            },
            _ => return None,
        })
    }
}

/// Whether the handbook names the grade, or coldstep had to choose.
const fn handbook_source(material: Material, temper: Temper) -> &'static str {
    match (material, temper) {
        (Material::Copper, Temper::QuarterHard) => {
            "Machinery's Handbook, 31st ed., p. 1421; it names no quarter-hard copper, half-hard is taken"
        }
        (Material::BrassCuZn30 | Material::BrassCuZn37, Temper::Hard) => {
            "Machinery's Handbook, 31st ed., p. 1421; it names no hard brass, the row of hard copper is taken"
        }
        _ => "Machinery's Handbook, 31st ed., p. 1421",
    }
}

/// Whether the springback table names the grade, or coldstep took its neighbour.
fn springback_source(material: Material, column: Option<SpringbackColumn>) -> String {
    let Some(column) = column else {
        return "the springback table of Tabellenbuch Metall has no column for this grade".into();
    };
    let neighbour = match material {
        Material::Copper => "",
        Material::Aluminium1050 | Material::Aluminium5052 => {
            ", taken as the neighbour of this metal; the print names no temper"
        }
        Material::BrassCuZn30 | Material::BrassCuZn37 => ", taken as the neighbour of this alloy",
    };
    format!(
        "Tabellenbuch Metall, column {}{neighbour}",
        column.table_name()
    )
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::quantity::{DENSITY_KG_M3, POISSON, STRESS_MPA, YOUNGS_MPA};

    /// Every metal of the stock table in every temper it is sold in.
    pub fn every_metal() -> impl Iterator<Item = Metal> {
        Material::ALL.into_iter().flat_map(|material| {
            Metal::tempers(material)
                .iter()
                .filter_map(move |temper| Metal::stock(material, *temper))
        })
    }

    #[test]
    fn exactly_the_listed_tempers_are_in_stock() {
        for material in Material::ALL {
            for temper in Temper::ALL {
                assert_eq!(
                    Metal::stock(material, temper).is_some(),
                    Metal::tempers(material).contains(&temper),
                    "{material:?} {temper:?}"
                );
            }
        }
    }

    #[test]
    fn numbers_are_ones_a_part_file_could_have_written() {
        for metal in every_metal() {
            for (allowed, value) in [
                (DENSITY_KG_M3, metal.density_kg_m3),
                (YOUNGS_MPA, metal.youngs_mpa),
                (POISSON, metal.poisson),
                (STRESS_MPA, metal.proof_mpa),
                (STRESS_MPA, metal.tensile_mpa),
            ] {
                assert_eq!(allowed.objection(value), None, "{}", metal.name);
            }
            assert!(metal.proof_mpa < metal.tensile_mpa, "{}", metal.name);
        }
    }

    #[test]
    fn rolling_makes_stronger_less_ductile_and_no_sharper_bend() {
        for material in Material::ALL {
            let grades: Vec<Metal> = Metal::tempers(material)
                .iter()
                .filter_map(|temper| Metal::stock(material, *temper))
                .collect();
            for pair in grades.windows(2) {
                let [softer, harder] = pair else { continue };
                assert!(softer.proof_mpa < harder.proof_mpa, "{}", harder.name);
                assert!(softer.tensile_mpa < harder.tensile_mpa, "{}", harder.name);
                assert!(
                    softer.elongation_percent > harder.elongation_percent,
                    "{}",
                    harder.name
                );
                assert!(
                    softer.min_radius_ratio <= harder.min_radius_ratio,
                    "{}",
                    harder.name
                );
                assert!(
                    softer.handbook_row.k() <= harder.handbook_row.k(),
                    "{}",
                    harder.name
                );
            }
        }
    }

    #[test]
    fn every_number_says_where_it_was_read() {
        for metal in every_metal() {
            assert_eq!(metal.sources.len(), 5, "{}", metal.name);
            assert!(
                metal
                    .sources
                    .iter()
                    .all(|sourced| !sourced.source.is_empty())
            );
            // Nobody opened a book for the aluminium strengths: the output must say so.
            let remembered = metal.sources.iter().any(|sourced| {
                sourced.what.starts_with("strength") && sourced.source.starts_with("from memory")
            });
            assert_eq!(
                remembered,
                metal
                    .material
                    .is_some_and(|material| !material.is_copper_alloy()),
                "{}",
                metal.name
            );
        }
    }

    #[test]
    fn a_part_file_writes_materials_and_tempers_by_their_names() {
        for material in Material::ALL {
            let written = serde_json::Value::from(material.name());
            assert_eq!(serde_json::to_value(material).unwrap(), written);
            assert_eq!(
                serde_json::from_value::<Material>(written).unwrap(),
                material
            );
        }
        for temper in Temper::ALL {
            let written = serde_json::Value::from(temper.name());
            assert_eq!(serde_json::to_value(temper).unwrap(), written);
            assert_eq!(serde_json::from_value::<Temper>(written).unwrap(), temper);
        }
    }
}

//! The sheet: metal with overrides or the user's own, and the rule for K.

use super::entry::{Entries, MaterialEntry, SheetEntry};
use super::section::{At, Reading};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::plain;
use crate::part::DefaultUsed;
use crate::part::words::{KRuleWord, SheetMaterial};
use crate::stock::{HandbookRow, KRule, Material, Metal, Sourced, Temper};

/// Poisson's ratio of a material of one's own that gives none. Usual for ductile metals; from memory.
const OWN_POISSON: f64 = 0.33;
/// Least inside radius over thickness of one that gives none. Common practice, no source.
const OWN_MIN_RADIUS_RATIO: f64 = 1.0;

/// Metal of the sheet; `None` when it cannot be used.
pub fn metal(
    file: &Entries,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<Metal> {
    let sheet = file.sheet.as_ref()?;
    let material = sheet.material.as_ref()?;
    let mut metal = match material.value {
        SheetMaterial::Stock(stock) => from_stock(stock, sheet, reading, defaults)?,
        SheetMaterial::Own => own(file.material.as_ref(), sheet, reading, defaults)?,
    };
    if let Some(entry) = &file.material {
        overridden(&mut metal, entry);
        stronger_than_it_yields(&metal, entry, reading);
    }
    Some(metal)
}

fn from_stock(
    material: Material,
    sheet: &SheetEntry,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<Metal> {
    let temper = sheet.temper.as_ref().map_or_else(
        || {
            defaults.push(DefaultUsed {
                key: "sheet.temper".into(),
                value: "soft".into(),
                reason: "forms best; make sure that the sheet really is soft, or anneal it".into(),
            });
            Temper::Soft
        },
        |at| at.value,
    );
    let stock = Metal::stock(material, temper);
    if stock.is_none() {
        let known: Vec<&str> = Metal::tempers(material).iter().map(|t| t.name()).collect();
        let span = sheet
            .temper
            .as_ref()
            .map(|at| &at.span)
            .or(sheet.material.as_ref().map(|at| &at.span))
            .unwrap_or(&sheet.span);
        reading.findings.push(
            Diagnostic::error(format!(
                "the stock table has no {} {}",
                temper.name(),
                material.name()
            )).id("part-not-in-stock")
            .at(span)
            .help(format!("it has: {}", known.join(", ")))
            .help("or write material = \"own\" and give the numbers of your sheet in a [material] table"),
        );
    }
    stock
}

/// A material of the user's own: what no default can stand for must be there.
fn own(
    entry: Option<&MaterialEntry>,
    sheet: &SheetEntry,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<Metal> {
    let none = MaterialEntry::default();
    let given = entry.unwrap_or(&none);
    let needed = [
        ("density_kg_m3", &given.density_kg_m3),
        ("youngs_mpa", &given.youngs_mpa),
        ("proof_mpa", &given.proof_mpa),
        ("tensile_mpa", &given.tensile_mpa),
        ("elongation_percent", &given.elongation_percent),
        ("conductivity_w_mk", &given.conductivity_w_mk),
    ];
    let missing: Vec<&str> = needed
        .iter()
        .filter(|(_, at)| at.is_none())
        .map(|(key, _)| *key)
        .collect();
    if !missing.is_empty() {
        if !reading.forgive_missing {
            let span = entry
                .map(|entry| &entry.span)
                .or(sheet.material.as_ref().map(|at| &at.span))
                .unwrap_or(&sheet.span);
            reading.findings.push(
                Diagnostic::error(format!(
                    "a material of your own needs {} under [material]",
                    missing.join(", ")
                )).id("part-missing")
                .at(span)
                .help("copy them from the data sheet of your sheet, or name a material of the stock table"),
            );
        }
        return None;
    }
    let number = |at: &Option<At<f64>>| at.as_ref().map_or(0.0, |at| at.value);
    let mut default = |key: &str, value: String, reason: &str| {
        defaults.push(DefaultUsed {
            key: format!("material.{key}"),
            value,
            reason: reason.into(),
        });
    };
    if given.poisson.is_none() {
        default(
            "poisson",
            plain(OWN_POISSON),
            "usual for ductile metals; from memory",
        );
    }
    if given.min_radius_ratio.is_none() {
        default(
            "min_radius_ratio",
            plain(OWN_MIN_RADIUS_RATIO),
            "one sheet thickness; common practice, no source",
        );
    }
    if given.handbook_row.is_none() {
        default("handbook_row", "half-hard".into(), "the middle row");
    }
    Some(Metal {
        name: given
            .name
            .as_ref()
            .map_or_else(|| "own material".to_owned(), |at| at.value.clone()),
        material: None,
        temper: sheet.temper.as_ref().map(|at| at.value),
        density_kg_m3: number(&given.density_kg_m3),
        youngs_mpa: number(&given.youngs_mpa),
        poisson: OWN_POISSON,
        proof_mpa: number(&given.proof_mpa),
        tensile_mpa: number(&given.tensile_mpa),
        elongation_percent: number(&given.elongation_percent),
        conductivity_w_mk: number(&given.conductivity_w_mk),
        min_radius_ratio: OWN_MIN_RADIUS_RATIO,
        handbook_row: HandbookRow::HalfHard,
        springback_column: None,
        sources: Vec::new(),
    })
}

/// Replaces single numbers of a metal by those of the file.
fn overridden(metal: &mut Metal, entry: &MaterialEntry) {
    if let Some(name) = &entry.name {
        metal.name.clone_from(&name.value);
    }
    for (given, number, what) in [
        (&entry.density_kg_m3, &mut metal.density_kg_m3, "density"),
        (&entry.youngs_mpa, &mut metal.youngs_mpa, "Young's modulus"),
        (&entry.poisson, &mut metal.poisson, "Poisson's ratio"),
        (&entry.proof_mpa, &mut metal.proof_mpa, "proof stress"),
        (
            &entry.tensile_mpa,
            &mut metal.tensile_mpa,
            "tensile strength",
        ),
        (
            &entry.elongation_percent,
            &mut metal.elongation_percent,
            "elongation",
        ),
        (
            &entry.conductivity_w_mk,
            &mut metal.conductivity_w_mk,
            "conductivity",
        ),
        (
            &entry.min_radius_ratio,
            &mut metal.min_radius_ratio,
            "minimum inside radius",
        ),
    ] {
        if let Some(at) = given {
            *number = at.value;
            metal.sources.insert(0, Sourced::new(what, "part file"));
        }
    }
    if let Some(row) = &entry.handbook_row {
        metal.handbook_row = row.value;
        metal
            .sources
            .insert(0, Sourced::new("bend-allowance row", "part file"));
    }
    // Springback tables are made for the stock material; other strength needs the section model.
    if entry.proof_mpa.is_some() || entry.youngs_mpa.is_some() || entry.tensile_mpa.is_some() {
        metal.springback_column = None;
    }
}

fn stronger_than_it_yields(metal: &Metal, entry: &MaterialEntry, reading: &mut Reading) {
    if metal.tensile_mpa >= metal.proof_mpa {
        return;
    }
    let span = entry
        .tensile_mpa
        .as_ref()
        .or(entry.proof_mpa.as_ref())
        .map_or(&entry.span, |at| &at.span);
    reading.findings.push(
        Diagnostic::error(format!(
            "a tensile strength of {} MPa lies below the proof stress of {} MPa",
            plain(metal.tensile_mpa),
            plain(metal.proof_mpa)
        ))
        .id("part-contradiction")
        .at(span)
        .help("give both proof_mpa and tensile_mpa of your sheet"),
    );
}

/// The rule for K; `None` when the file's own cannot be used.
pub fn k_rule(
    sheet: Option<&SheetEntry>,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<KRule> {
    let sheet = sheet?;
    one_rule(sheet, reading);
    if let Some(k) = &sheet.k_factor {
        return Some(KRule::Explicit(k.value));
    }
    if let Some(table) = &sheet.k_table {
        let points = table.value.iter().map(|[ratio, k]| (*ratio, *k)).collect();
        return match KRule::table(points) {
            Ok(rule) => Some(rule),
            Err(error) => {
                reading.findings.push(
                    Diagnostic::error(format!("this K table cannot be used: {error}")).id("part-k-table")
                        .at(&table.span)
                        .help("list pairs of (radius / thickness, K) with growing ratios: k_table = [[0.5, 0.30], [1.0, 0.35], [3.0, 0.42]]"),
                );
                None
            }
        };
    }
    let Some(word) = &sheet.k_rule else {
        defaults.push(DefaultUsed {
            key: "sheet.k_rule".into(),
            value: "din-6935".into(),
            reason: "depends on radius over thickness; the blank lists what other rules give"
                .into(),
        });
        return Some(KRule::Din6935);
    };
    Some(match word.value {
        KRuleWord::Din6935 => KRule::Din6935,
        KRuleWord::Handbook => KRule::Handbook,
        KRuleWord::TwoValue => KRule::TwoValue,
        KRuleWord::Simulated => KRule::Simulated,
    })
}

/// Says that two keys tell how to find K.
fn one_rule(sheet: &SheetEntry, reading: &mut Reading) {
    let rules: Vec<(&Span, &str)> = [
        sheet.k_rule.as_ref().map(|at| (&at.span, "k_rule")),
        sheet.k_factor.as_ref().map(|at| (&at.span, "k_factor")),
        sheet.k_table.as_ref().map(|at| (&at.span, "k_table")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if let [(first, first_key), (second, second_key), ..] = rules.as_slice() {
        reading.findings.push(
            Diagnostic::error(format!(
                "both `{first_key}` and `{second_key}` say how to find K"
            ))
            .id("part-said-twice")
            .at(second)
            .also(first, "the other one")
            .help("keep one of k_rule, k_factor and k_table"),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::part::parse;
    use crate::part::starter::STARTER;

    const OWN: &str = "[material]\nname = \"tinplate\"\ndensity_kg_m3 = 7850.0\nyoungs_mpa = 205000.0\n\
        proof_mpa = 230.0\ntensile_mpa = 330.0\nelongation_percent = 25.0\nconductivity_w_mk = 50.0\n";

    #[test]
    fn a_material_of_ones_own_is_taken_with_its_numbers() {
        let text = STARTER.replace("\"copper\"", "\"own\"") + OWN;
        let part = parse(&text).unwrap().value;
        assert_eq!(part.sheet.metal.name, "tinplate");
        assert_eq!(part.sheet.metal.density_kg_m3, 7850.0);
        assert_eq!(part.sheet.thickness_plus_minus_mm, None);
        let defaults: Vec<&str> = part.defaults.iter().map(|d| d.key.as_str()).collect();
        assert!(defaults.contains(&"material.poisson"));
    }

    #[test]
    fn what_is_missing_of_it_is_listed() {
        let text =
            STARTER.replace("\"copper\"", "\"own\"") + &OWN.replace("youngs_mpa = 205000.0\n", "");
        let findings = parse(&text).unwrap_err();
        assert!(
            findings
                .iter()
                .any(|f| f.message.contains("needs youngs_mpa")),
            "{findings:?}"
        );
    }

    #[test]
    fn one_number_of_a_stock_metal_can_be_replaced() {
        let text = STARTER.to_owned() + "[material]\nproof_mpa = 110.0\n";
        let metal = parse(&text).unwrap().value.sheet.metal;
        assert_eq!(metal.proof_mpa, 110.0);
        assert_eq!(metal.springback_column, None);
        assert_eq!(metal.sources[0].source, "part file");
    }
}

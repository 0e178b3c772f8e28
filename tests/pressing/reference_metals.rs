//! Sheet metals and strip tolerances against what standards and data sheets print.

use crate::published::{Published, agrees};
use coldstep::stock::metal::{Material, Metal, Temper};
use coldstep::stock::thickness::thickness_tolerance_mm;

#[test]
fn tensile_strength_of_copper_lies_in_the_printed_range() {
    for (temper, source, least_mpa, most_mpa) in [
        (Temper::Soft, "EN 1652, temper R220", 220.0, 260.0),
        (Temper::QuarterHard, "ASTM B152, temper H01", 235.0, 290.0),
        (Temper::HalfHard, "ASTM B152, temper H02", 255.0, 315.0),
        (Temper::Hard, "ASTM B152, temper H04", 295.0, 360.0),
    ] {
        agrees(
            Metal::stock(Material::Copper, temper).unwrap().tensile_mpa,
            &Published {
                source,
                value: f64::midpoint(least_mpa, most_mpa),
                within: (most_mpa - least_mpa) / 2.0,
            },
        );
    }
}

#[test]
fn proof_stress_of_copper_keeps_the_printed_limits() {
    let proof_mpa = |temper| Metal::stock(Material::Copper, temper).unwrap().proof_mpa;
    assert!(proof_mpa(Temper::Soft) <= 140.0, "EN 1652, temper R220");
    // Annealed tough-pitch strip, Smithells Metals Reference Book, 8th ed., table 22.7: 54 MPa.
    assert!(proof_mpa(Temper::Soft) >= 54.0);
    assert!(
        proof_mpa(Temper::QuarterHard) >= 180.0,
        "EN 1652, temper R240"
    );
    assert!(proof_mpa(Temper::Hard) >= 250.0, "EN 1652, temper R290");
}

#[test]
fn copper_itself_agrees_with_a_second_source() {
    let copper = Metal::stock(Material::Copper, Temper::Soft).unwrap();
    agrees(
        copper.youngs_mpa,
        &Published {
            source: "Smithells Metals Reference Book, 8th ed., table 22.7: 117 GPa; mills print 115",
            value: 117_000.0,
            within: 2000.0,
        },
    );
    agrees(
        copper.conductivity_w_mk,
        &Published {
            source: "copper industry fact sheet (2001): 394 at 20 °C, 385 at 100 °C",
            value: 389.5,
            within: 4.5,
        },
    );
    agrees(
        copper.density_kg_m3,
        &Published {
            source: "copper industry fact sheet (2001): 8.92 typical",
            value: 8920.0,
            within: 30.0,
        },
    );
}

#[test]
fn brass_is_as_printed() {
    for (material, temper, proof_mpa, tensile_mpa, elongation_percent) in [
        (Material::BrassCuZn30, Temper::Soft, 125.0, 325.0, 70.0),
        (Material::BrassCuZn30, Temper::Hard, 450.0, 540.0, 15.0),
        (Material::BrassCuZn37, Temper::Soft, 125.0, 355.0, 55.0),
        (Material::BrassCuZn37, Temper::Hard, 550.0, 585.0, 7.0),
    ] {
        let brass = Metal::stock(material, temper).unwrap();
        for (got, value) in [
            (brass.proof_mpa, proof_mpa),
            (brass.tensile_mpa, tensile_mpa),
            (brass.elongation_percent, elongation_percent),
        ] {
            agrees(
                got,
                &Published {
                    source: "Copper Development Association, Publication 120 (2004), table 16",
                    value,
                    within: 0.0,
                },
            );
        }
    }
}

#[test]
fn minimum_radius_is_as_printed() {
    for (material, temper, source, value) in [
        (
            Material::BrassCuZn30,
            Temper::Hard,
            "Kalpakjian & Schmid, SI 6th ed. 2009, table 16.3: hard brass 2T",
            2.0,
        ),
        (
            Material::Aluminium5052,
            Temper::QuarterHard,
            "FAA AC 43.13-1B, table 4-6: 5052-H32 at 0.064 in, up to 1t",
            1.0,
        ),
        (
            Material::Copper,
            Temper::QuarterHard,
            "Cu-ETP data sheet of a copper mill: R240, 5 mm, crack-free from 0.35",
            0.35,
        ),
    ] {
        agrees(
            Metal::stock(material, temper).unwrap().min_radius_ratio,
            &Published {
                source,
                value,
                within: 0.0,
            },
        );
    }
}

#[test]
fn strip_thickness_tolerance_is_as_printed() {
    for (thickness_mm, narrow_mm, wide_mm) in [
        (0.25, 0.022, 0.03),
        (0.5, 0.030, 0.05),
        (0.6, 0.040, 0.06),
        (1.0, 0.050, 0.07),
        (1.5, 0.060, 0.08),
        (2.0, 0.070, 0.09),
    ] {
        for (width_mm, value) in [(200.0, narrow_mm), (500.0, wide_mm)] {
            agrees(
                thickness_tolerance_mm(Material::Copper, thickness_mm, width_mm)
                    .unwrap()
                    .plus_minus_mm,
                &Published {
                    source: "EN 1652, cold-rolled strip, as printed by a stockist",
                    value,
                    within: 0.0,
                },
            );
        }
    }
}

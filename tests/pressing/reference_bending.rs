//! Bending rules, springback and shop tolerances against what books print.
//!
//! "Computed from the formula of …" marks a number worked out by hand from the published formula, apart from
//! this program; the other numbers stand in print.

// A test that cannot go on has failed: here that is what this is for.
use crate::published::{Published, agrees};
use approx::assert_relative_eq;
use coldstep::quantity::Angle;
use coldstep::stock::HandbookRow;
use coldstep::stock::allowance::{
    bend_allowance_mm, din_compensation_v_mm, faa_allowance_mm, handbook_allowance_mm,
    outside_setback_mm, school_rule_v_mm, workshop_rule_v_mm,
};
use coldstep::stock::k_factor::{KRule, din_k};
use coldstep::stock::metal::{Material, Metal, Temper};
use coldstep::stock::springback::{
    SpringbackColumn, curvature_kept, die_angle, k_r, tool_radius_mm,
};
use coldstep::stock::tolerance::{ToleranceClass, general_angle_tolerance, general_tolerance_mm};

const DIN_COMPUTED: &str = "computed from the formula of DIN 6935";
const DIN_BOOK: &str = "DIN 6935 as printed in Tabellenbuch Metall, worked example";
const HANDBOOK: &str = "Machinery's Handbook, 31st ed., p. 1421, worked example";
const KR_BOOK: &str = "Tabellenbuch Metall, table of springback factors";

/// Neither of the rules asked here looks at the metal.
fn soft_copper() -> Metal {
    Metal::stock(Material::Copper, Temper::Soft).unwrap()
}

/// DIN compensation with the k of the standard itself.
fn din_v_mm(radius_mm: f64, thickness_mm: f64, opening_deg: f64) -> f64 {
    let k = KRule::Din6935
        .k_factor(radius_mm, thickness_mm, &soft_copper())
        .k;
    din_compensation_v_mm(radius_mm, thickness_mm, k, Angle::deg(opening_deg))
}

#[test]
fn din_k_follows_the_logarithm_up_to_the_middle_of_the_sheet() {
    for (ratio, value) in [
        (0.5, 0.4995),
        (0.8, 0.6015),
        (1.0, 0.6500),
        (1.5, 0.7380),
        (2.0, 0.8005),
        (3.0, 0.8886),
        (4.0, 0.9510),
        (5.0, 0.9995),
        (5.1, 1.0),
        (100.0, 1.0),
    ] {
        agrees(
            din_k(ratio),
            &Published {
                source: DIN_COMPUTED,
                value,
                within: 0.000_05,
            },
        );
    }
}

#[test]
fn din_compensation_of_a_right_angle() {
    for (radius_mm, thickness_mm, value) in [
        (1.0, 1.0, 1.9187),
        (0.5, 0.5, 0.9593),
        (1.0, 0.5, 1.1148),
        (1.6, 1.0, 2.0961),
        (2.0, 1.0, 2.2297),
        (3.0, 1.0, 2.5897),
        (2.5, 1.5, 3.1766),
        (1.0, 2.0, 3.6446),
        (6.0, 1.0, 3.7898),
    ] {
        agrees(
            din_v_mm(radius_mm, thickness_mm, 90.0),
            &Published {
                source: DIN_COMPUTED,
                value,
                within: 0.000_05,
            },
        );
    }
}

#[test]
fn din_compensation_of_other_openings() {
    for (opening_deg, value) in [
        (30.0, 0.5312),
        (120.0, 0.9219),
        (135.0, 0.6162),
        (150.0, 0.3780),
    ] {
        agrees(
            din_v_mm(1.0, 1.0, opening_deg),
            &Published {
                source: DIN_COMPUTED,
                value,
                within: 0.000_05,
            },
        );
    }
    assert_eq!(din_v_mm(1.0, 1.0, 170.0), 0.0);
}

#[test]
fn din_worked_example_with_the_k_it_prints() {
    // Legs 16 and 21 mm, r = 6, s = 5, opening 60 degrees, k = 0.7 in half thicknesses.
    let v_mm = din_compensation_v_mm(6.0, 5.0, 0.7 / 2.0, Angle::deg(60.0));
    agrees(
        v_mm,
        &Published {
            source: DIN_BOOK,
            value: 5.77,
            within: 0.005,
        },
    );
    agrees(
        16.0 + 21.0 - v_mm,
        &Published {
            source: DIN_BOOK,
            value: 31.23,
            within: 0.005,
        },
    );
}

#[test]
fn din_worked_example_with_the_k_of_the_formula() {
    agrees(
        din_k(6.0 / 5.0),
        &Published {
            source: "DIN 6935 as printed in Tabellenbuch Metall, worked example (0.689, digits cut off)",
            value: 0.689,
            within: 0.001,
        },
    );
    agrees(
        din_v_mm(6.0, 5.0, 60.0),
        &Published {
            source: DIN_COMPUTED,
            value: 5.823,
            within: 0.0005,
        },
    );
    agrees(
        16.0 + 21.0 - din_v_mm(6.0, 5.0, 60.0),
        &Published {
            source: DIN_COMPUTED,
            value: 31.18,
            within: 0.005,
        },
    );
}

#[test]
fn din_compensation_changes_sign_where_the_standard_says() {
    // Neutral line in the middle and a radius so large that the thickness no longer counts.
    let v_mm = |opening_deg| din_compensation_v_mm(1e9, 1.0, 0.5, Angle::deg(opening_deg));
    let (mut negative_deg, mut positive_deg) = (10.0, 90.0);
    assert!(v_mm(negative_deg) < 0.0 && v_mm(positive_deg) > 0.0);
    for _ in 0..60 {
        let middle_deg = f64::midpoint(negative_deg, positive_deg);
        if v_mm(middle_deg) < 0.0 {
            negative_deg = middle_deg;
        } else {
            positive_deg = middle_deg;
        }
    }
    agrees(
        negative_deg,
        &Published {
            source: "DIN 6935 as printed in Tabellenbuch Metall: 65°24'30\"",
            value: 65.0 + 24.0 / 60.0 + 30.0 / 3600.0,
            within: 0.5 / 3600.0,
        },
    );
    assert_relative_eq!(
        negative_deg,
        180.0 * (1.0 - 2.0 / std::f64::consts::PI),
        epsilon = 1e-6
    );
}

#[test]
fn two_bends_by_school_rule_and_by_din() {
    // Legs 50, 40 and 30 mm, r = t = 1 mm.
    agrees(
        50.0 + 40.0 + 30.0 - 2.0 * school_rule_v_mm(1.0, 1.0),
        &Published {
            source: "Austrian metalwork textbook, ISBN 978-3-7100-2443-6, p. 206, worked example",
            value: 116.0,
            within: 0.5,
        },
    );
    agrees(
        50.0 + 40.0 + 30.0 - 2.0 * din_v_mm(1.0, 1.0, 90.0),
        &Published {
            source: DIN_COMPUTED,
            value: 116.163,
            within: 0.0005,
        },
    );
}

#[test]
fn two_bends_by_the_workshop_rule() {
    // r = 7, s = 3.18, legs 655 mm in all; the example cuts digits off and rounds the length up.
    let v_mm = workshop_rule_v_mm(7.0, 3.18);
    agrees(
        v_mm,
        &Published {
            source: "workshop rule v = 0.43 r + 1.48 s, worked example (7.71, digits cut off)",
            value: 7.71,
            within: 0.01,
        },
    );
    agrees(
        (655.0 - 2.0 * v_mm).ceil(),
        &Published {
            source: "workshop rule v = 0.43 r + 1.48 s, worked example, rounded up to full mm",
            value: 640.0,
            within: 0.0,
        },
    );
}

#[test]
fn handbook_rows_for_unit_radius_and_thickness() {
    for (row, length, k) in [
        (HandbookRow::Soft, 2.120, 0.350),
        (HandbookRow::HalfHard, 2.210, 0.407),
        (HandbookRow::Hard, 2.280, 0.452),
    ] {
        agrees(
            handbook_allowance_mm(1.0, 1.0, row, Angle::deg(90.0)),
            &Published {
                source: "computed from Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34",
                value: length,
                within: 0.0005,
            },
        );
        agrees(
            row.k(),
            &Published {
                source: "computed from Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34",
                value: k,
                within: 0.0005,
            },
        );
    }
}

#[test]
fn handbook_worked_example() {
    // Half-hard sheet 0.125 in thick, all lengths in inches.
    let row = HandbookRow::HalfHard;
    let half_turn = handbook_allowance_mm(0.375, 0.125, row, Angle::deg(180.0));
    let sixty = handbook_allowance_mm(0.625, 0.125, row, Angle::deg(60.0));
    agrees(
        half_turn,
        &Published {
            source: "Machinery's Handbook, 31st ed., p. 1421, worked example (1.3375, printed 1.338)",
            value: 1.3375,
            within: 0.000_05,
        },
    );
    agrees(
        sixty,
        &Published {
            source: "Machinery's Handbook, 31st ed., p. 1421, worked example (0.7075, printed 0.707)",
            value: 0.7075,
            within: 0.000_05,
        },
    );
    agrees(
        half_turn + sixty + 3.5,
        &Published {
            source: HANDBOOK,
            value: 5.545,
            within: 0.0005,
        },
    );
}

#[test]
fn aircraft_channel() {
    // R 0.16, T 0.040, legs 1, 2 and 1 in, two right angles; all lengths in inches.
    let right = Angle::deg(90.0);
    let setback = outside_setback_mm(0.16, 0.040, right);
    agrees(
        setback,
        &Published {
            source: "FAA-H-8083-31, U-channel example",
            value: 0.200,
            within: 0.0005,
        },
    );
    let flats = [1.0 - setback, 2.0 - 2.0 * setback, 1.0 - setback];
    for (flat, value) in flats.into_iter().zip([0.8, 1.6, 0.8]) {
        agrees(
            flat,
            &Published {
                source: "FAA-H-8083-31, U-channel example",
                value,
                within: 0.0005,
            },
        );
    }
    let bend = faa_allowance_mm(0.16, 0.040, right);
    agrees(
        bend,
        &Published {
            source: "computed from BA = (0.01743 R + 0.0078 T) N",
            value: 0.279_07,
            within: 0.000_005,
        },
    );
    agrees(
        flats.iter().sum::<f64>() + 2.0 * bend,
        &Published {
            source: "computed from BA = (0.01743 R + 0.0078 T) N",
            value: 3.758,
            within: 0.0005,
        },
    );
}

#[test]
fn aircraft_setbacks_of_open_and_closed_angles() {
    for (bend_deg, factor, setback) in [(45.0, 0.414_21, 0.130), (135.0, 2.4142, 0.758)] {
        let got = outside_setback_mm(0.25, 0.064, Angle::deg(bend_deg));
        agrees(
            got,
            &Published {
                source: "FAA AC 43.13-1B, p. 4-14, worked example",
                value: setback,
                within: 0.0005,
            },
        );
        agrees(
            got / (0.25 + 0.064),
            &Published {
                source: "FAA AC 43.13-1B, p. 4-14, K of the setback",
                value: factor,
                within: 0.000_05,
            },
        );
    }
}

#[test]
fn two_value_rule_in_a_worked_bend() {
    // R 4.75, t 3.2 mm, 60 degrees, straight legs 38 and 25 mm.
    let k = KRule::TwoValue.k_factor(4.75, 3.2, &soft_copper()).k;
    let arc_mm = bend_allowance_mm(4.75, 3.2, k, Angle::deg(60.0));
    agrees(
        arc_mm,
        &Published {
            source: "computed from L = α(R + kT), k = 0.33; also Groover, Fundamentals of Modern Manufacturing, from memory",
            value: 6.08,
            within: 0.005,
        },
    );
    agrees(
        38.0 + 25.0 + arc_mm,
        &Published {
            source: "computed from L = α(R + kT), k = 0.33; also Groover, Fundamentals of Modern Manufacturing, from memory",
            value: 69.08,
            within: 0.005,
        },
    );
}

#[test]
fn springback_factors_at_the_printed_ratios() {
    let ratios = [1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0];
    for (column, printed) in [
        (
            SpringbackColumn::SoftCopper,
            [
                0.98, 0.97, 0.97, 0.96, 0.95, 0.93, 0.90, 0.85, 0.79, 0.72, 0.60,
            ],
        ),
        (
            SpringbackColumn::Brass,
            [
                0.97, 0.97, 0.96, 0.95, 0.94, 0.93, 0.89, 0.86, 0.83, 0.77, 0.73,
            ],
        ),
        (
            SpringbackColumn::Aluminium,
            [
                0.99, 0.99, 0.99, 0.99, 0.98, 0.98, 0.97, 0.97, 0.96, 0.95, 0.93,
            ],
        ),
    ] {
        for (ratio, value) in ratios.into_iter().zip(printed) {
            let got = k_r(column, ratio);
            assert!(got.in_range, "{column:?} at {ratio}");
            agrees(
                got.k_r,
                &Published {
                    source: KR_BOOK,
                    value,
                    within: 1e-12,
                },
            );
        }
    }
}

#[test]
fn springback_of_soft_copper_in_the_tool() {
    for (ratio, value) in [(1.0, 91.84), (10.0, 96.77), (25.0, 105.88), (100.0, 150.00)] {
        let factor = k_r(SpringbackColumn::SoftCopper, ratio).k_r;
        agrees(
            die_angle(Angle::deg(90.0), factor).degrees(),
            &Published {
                source: "computed from the springback table of Tabellenbuch Metall",
                value,
                within: 0.005,
            },
        );
    }
    agrees(
        tool_radius_mm(10.0, 1.0, k_r(SpringbackColumn::SoftCopper, 10.0).k_r),
        &Published {
            source: "computed from the springback table of Tabellenbuch Metall",
            value: 9.265,
            within: 0.0005,
        },
    );
}

#[test]
fn ideal_plastic_springback() {
    let source =
        "computed from 1 - 3x + 4x³ (Gardiner 1957, Trans. ASME 79, 1-9, equation from memory)";
    // R 100, T 1 mm, Y 140 MPa, E 117 GPa.
    let kept = curvature_kept(100.0, 1.0, 140.0, 117_000.0).unwrap();
    agrees(
        kept,
        &Published {
            source,
            value: 0.647_88,
            within: 0.000_005,
        },
    );
    agrees(
        100.0 / kept,
        &Published {
            source,
            value: 154.35,
            within: 0.005,
        },
    );
    // R 0.5 in, T 0.0359 in, Y 40 ksi, E 29 000 ksi.
    let kept = curvature_kept(0.5, 0.0359, 40.0, 29_000.0).unwrap();
    agrees(
        0.5 / kept,
        &Published {
            source,
            value: 0.5306,
            within: 0.000_05,
        },
    );
}

#[test]
fn ideal_plastic_springback_has_its_limits() {
    let kept = |x: f64| curvature_kept(x * 1000.0, 1.0, 100.0, 100_000.0);
    assert_relative_eq!(kept(1e-12).unwrap(), 1.0, epsilon = 1e-11);
    assert_relative_eq!(kept(0.5 - 1e-9).unwrap(), 0.0, epsilon = 1e-8);
    assert_relative_eq!(kept(0.6).unwrap_err().largest_mm, 500.0);
}

#[test]
fn general_tolerances_of_medium_shop_work() {
    for (nominal_mm, value) in [(35.0, 0.3), (130.0, 0.5)] {
        agrees(
            general_tolerance_mm(ToleranceClass::Medium, nominal_mm).unwrap(),
            &Published {
                source: "ISO 2768-1, class m, worked example",
                value,
                within: 0.0,
            },
        );
    }
}

#[test]
fn general_tolerances_row_by_row() {
    for (nominal_mm, fine, medium) in [
        (2.0, 0.05, 0.1),
        (5.0, 0.05, 0.1),
        (20.0, 0.1, 0.2),
        (100.0, 0.15, 0.3),
        (300.0, 0.2, 0.5),
        (700.0, 0.3, 0.8),
    ] {
        for (class, value) in [
            (ToleranceClass::Fine, fine),
            (ToleranceClass::Medium, medium),
        ] {
            agrees(
                general_tolerance_mm(class, nominal_mm).unwrap(),
                &Published {
                    source: "ISO 2768-1, linear dimensions, classes f and m",
                    value,
                    within: 0.0,
                },
            );
        }
    }
    for (leg_mm, minutes) in [
        (8.0, 60.0),
        (40.0, 30.0),
        (100.0, 20.0),
        (200.0, 10.0),
        (500.0, 5.0),
    ] {
        agrees(
            general_angle_tolerance(ToleranceClass::Medium, leg_mm)
                .unwrap()
                .degrees()
                * 60.0,
            &Published {
                source: "ISO 2768-1, angular dimensions, classes f and m, as printed in one extract",
                value: minutes,
                within: 1e-9,
            },
        );
    }
}

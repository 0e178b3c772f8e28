//! Flat blanks of whole part files against worked examples and hand computation.
//!
//! "Own derivation, computed" marks a number worked out from the stated formulas apart from this
//! program; the others stand in print or come from a printed formula.

use crate::published::{Published, agrees};
use coldstep::blank::{Blank, Direction, blank};
use coldstep::diagnostic::{Refused, Severity};
use coldstep::part::parse;
use std::f64::consts::FRAC_PI_2;

const STAIR: &str = "own derivation, computed: L from rise = S (1 - cos a) + L sin a with S = 2R + t, \
     run = S sin a + L cos a, flat length L + 2 a (R + K t)";

/// A plate of two flats in 1 mm copper with R = 1 mm.
///
/// `sheet` holds the temper and how K is found; the first flat is `first_mm` long, the second
/// `second_mm`, behind a step of the given rise, angle and run.
fn two_flats(
    sheet: &str,
    (first_mm, second_mm): (f64, f64),
    rise_mm: f64,
    wall_angle_deg: f64,
    run_mm: f64,
) -> Result<Blank, Refused> {
    let text = format!(
        r#"
[sheet]
material = "copper"
thickness_mm = 1.0
inside_radius_mm = 1.0
{sheet}

[plate]
width_mm = 20.0

[[flat]]
name = "low"
from_mm = 0.0
to_mm = {first_mm}
underside_mm = 2.0

[[flat]]
name = "high"
to_mm = {to_mm}
underside_mm = {underside_mm}
step = {{ wall_angle_deg = {wall_angle_deg} }}

[[component]]
name = "U1"
x_mm = 2.0
y_mm = 10.0
size_mm = [2.0, 2.0]
height_mm = 1.0
"#,
        to_mm = first_mm + run_mm + second_mm,
        underside_mm = 2.0 + rise_mm,
    );
    Ok(blank(&parse(&text)?.value).value)
}

#[test]
fn stairs_of_three_angles() {
    // R = t = 1, so S = 3; K = 0.33. Last printed digits: 1e-5 for lengths, 1e-3 for the run of 90.
    for (angle_deg, rise, wall, run, flat, run_within) in [
        (45.0, 2.0, 1.58579, 3.24264, 3.67495, 0.000_005),
        (90.0, 3.0, 0.0, 3.0, 4.17832, 0.0005),
        (30.0, 2.0, 3.19615, 4.26795, 4.58893, 0.000_005),
    ] {
        let blank = two_flats(
            "temper = \"soft\"\nk_factor = 0.33",
            (10.0, 10.0),
            rise,
            angle_deg,
            run,
        )
        .unwrap();
        let check = |got: f64, value: f64, within: f64| {
            agrees(
                got,
                &Published {
                    source: STAIR,
                    value,
                    within,
                },
            );
        };
        let [first, second] = blank.bends.as_slice() else {
            panic!("{:#?}", blank.bends)
        };
        check(second.start_mm - first.end_mm, wall, 0.000_005);
        // The step on the blank: from where the first flat ends to where the second begins.
        check(second.end_mm - first.start_mm, flat, 0.000_005);
        let plan = |s_mm: f64| blank.map.x_of_s(s_mm);
        check(plan(second.end_mm) - plan(first.start_mm), run, run_within);
        check(first.start_mm, 10.0, 1e-12);
        // The last flat is 10 mm but for the run as printed above.
        check(blank.developed_length_mm, 20.0 + flat, 0.000_01);
        check(first.angle_deg, angle_deg, 1e-9);
        assert_eq!(
            (first.direction, second.direction),
            (Direction::Up, Direction::Down)
        );
    }
}

/// Legs 50, 40 and 30 mm measured outside, r = t = 1 mm, two right angles.
///
/// The textbook bends them to a U; a stair bends the second one the other way, which changes no
/// length along the sheet. Outside legs of the stair, each to where the outside faces meet, one
/// R + t = 2 mm beyond the tangent line: the first flat is 50 - 2 = 48 mm long, the last 30 - 2 = 28 mm.
/// The middle leg reaches from the underside of the low flat to the top side of the high flat, 40 mm:
/// its straight wall is 40 - 2·2 = 36 mm and the undersides differ by 40 - t = 39 mm, which is
/// S + L = 3 + 36. Each bend of 90 degrees takes S / 2 of the plan, so the run is S = 3 mm.
fn legs_50_40_30() -> Result<Blank, Refused> {
    two_flats("temper = \"soft\"", (48.0, 28.0), 39.0, 90.0, 3.0)
}

#[test]
fn three_legs_by_din() {
    agrees(
        legs_50_40_30().unwrap().developed_length_mm,
        &Published {
            source: "computed from the formula of DIN 6935: 50 + 40 + 30 - 2 · 1.9187",
            value: 116.16,
            within: 0.005,
        },
    );
}

#[test]
fn three_legs_as_a_textbook_rounds_them() {
    let blank = legs_50_40_30().unwrap();
    agrees(
        blank.developed_length_mm,
        &Published {
            source: "Austrian metalwork textbook, ISBN 978-3-7100-2443-6, p. 206, worked example",
            value: 116.0,
            within: 0.5,
        },
    );
    // The outside legs come back from the blank: flat or wall and the setbacks beside it.
    let [first, second] = blank.bends.as_slice() else {
        panic!("{:#?}", blank.bends)
    };
    for (got, value) in [
        (first.start_mm + first.setback_mm, 50.0),
        (
            first.setback_mm + second.start_mm - first.end_mm + second.setback_mm,
            40.0,
        ),
        (
            second.setback_mm + blank.developed_length_mm - second.end_mm,
            30.0,
        ),
    ] {
        agrees(
            got,
            &Published {
                source: "Austrian metalwork textbook, ISBN 978-3-7100-2443-6, p. 206, worked example",
                value,
                within: 1e-9,
            },
        );
    }
}

#[test]
fn right_angles_in_copper_by_the_handbook_rows() {
    // The book writes 1.57 for π/2; coldstep puts its K on the exact arc, 0.0008 R longer.
    let rounding_of_the_book = FRAC_PI_2 - 1.57;
    for (temper, value, k) in [
        ("soft", 2.120, 0.350),
        ("half-hard", 2.210, 0.407),
        ("hard", 2.280, 0.452),
    ] {
        let sheet = format!("temper = \"{temper}\"\nk_rule = \"handbook\"");
        let blank = two_flats(&sheet, (10.0, 10.0), 6.0, 90.0, 3.0).unwrap();
        assert!(!blank.k_rule.is_default);
        assert_eq!(blank.k_rule.name, "handbook");
        assert_eq!(blank.bends.len(), 2);
        for bend in &blank.bends {
            agrees(
                bend.allowance_mm,
                &Published {
                    source: "computed from Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34",
                    value,
                    within: 0.000_05 + rounding_of_the_book,
                },
            );
            agrees(
                bend.k_factor,
                &Published {
                    source: "computed from Machinery's Handbook, 31st ed., p. 1421, eq. 32 to 34",
                    value: k,
                    within: 0.0005,
                },
            );
            agrees(
                bend.end_mm - bend.start_mm,
                &Published {
                    source: "the bend lies between its tangent lines",
                    value: bend.allowance_mm,
                    within: 1e-12,
                },
            );
        }
    }
}

#[test]
fn two_rules_differ_by_what_their_books_say() {
    // Two right angles, R = t = 1: K 0.325 by DIN, 0.33 by the two-value rule, soft copper row 0.35.
    let blank = legs_50_40_30().unwrap();
    let length_by = |name: &str| {
        blank
            .other_rules
            .iter()
            .find(|rule| rule.name == name)
            .map(|rule| rule.developed_length_mm)
            .unwrap()
    };
    for (name, value, within) in [
        // 112 + 2 · 2.0813, 112 + 2 · (π/2) 1.33, 112 + 2 · 2.120.
        ("din-6935", 116.1626, 0.000_05),
        ("two-value", 116.1783, 0.000_05),
        ("handbook", 116.240, 0.0005 + 2.0 * (FRAC_PI_2 - 1.57)),
    ] {
        agrees(
            length_by(name),
            &Published {
                source: "computed by hand from the formula of the rule",
                value,
                within,
            },
        );
    }
    agrees(
        blank.spread_mm,
        &Published {
            source: "computed by hand: 112 + 2 (0.55 + π/2) less 116.1626",
            value: 0.0790,
            within: 0.000_05,
        },
    );
}

#[test]
fn every_example_can_be_laid_flat() {
    for entry in std::fs::read_dir("examples").unwrap() {
        let path = entry.unwrap().path();
        let part = parse(&std::fs::read_to_string(&path).unwrap())
            .unwrap()
            .value;
        let noted = blank(&part);
        // A hole of an example may lie near a bend; then the reader is told what to do.
        for note in &noted.notes {
            assert_eq!(note.severity, Severity::Warning, "{}", path.display());
            assert!(note.span.is_some() && !note.help.is_empty(), "{note:#?}");
        }
        let blank = noted.value;
        let holes: f64 = blank.holes.iter().map(|hole| hole.shape.area_mm2()).sum();
        assert!((blank.outline.area_mm2() - holes - blank.area_mm2).abs() < 1e-9);
        assert!(blank.area_mm2 < blank.rectangle_mm.iter().product::<f64>());
        // Bending only takes length in plan.
        let (low, high) = part.outline.bounds();
        assert!(blank.developed_length_mm > high.x - low.x);
    }
}

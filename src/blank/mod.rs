//! The flat blank: what to cut before anything is bent.
//!
//! Places along the blank, s, are measured from its left end, which is the left end of the formed
//! plate; places across it, y, are those of the plan. Bends are seen from above, the side away from
//! the board.

mod bend_lines;
mod distort;
mod flat_map;
mod k_by_radius;
#[cfg(test)]
mod sample;
mod unroll;

pub use bend_lines::{BendLine, LineAcross, bend_lines};
pub use flat_map::{FlatMap, MapZone};

use crate::diagnostic::{Diagnostic, Findings, Noted};
use crate::geometry::Loop;
use crate::part::{Part, ZoneKind};
use crate::stock::KRule;
use crate::stock::allowance::outside_setback_mm;
use flat_map::between;
use k_by_radius::KByRadius;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};
use unroll::unrolled;

/// How far a curved edge of the blank may stray from its true place where it crosses a bend.
/// Own choice: a small part of what a saw or file leaves.
pub const CHORD_ERROR_MM: f64 = 0.005;

/// Which way the sheet beyond a bend goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// Away from the board.
    Up,
    /// Towards the board.
    Down,
}

/// One bend on the blank.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BlankBend {
    /// Number of its step, from 1.
    pub step: usize,
    /// Flats on either side of its step.
    pub between: [String; 2],
    /// Which way it is bent, seen from left to right.
    pub direction: Direction,
    /// Angle bent through.
    pub angle_deg: f64,
    /// Radius on its concave side.
    pub inside_radius_mm: f64,
    /// Distance of the neutral line from the inside face over the thickness.
    pub k_factor: f64,
    /// Length of the bend on the blank.
    pub allowance_mm: f64,
    /// Distance from a tangent line to the corner where the outside faces would meet.
    pub setback_mm: f64,
    /// First tangent line, from the left end of the blank.
    pub start_mm: f64,
    /// Middle of the bend, from the left end of the blank.
    pub centre_mm: f64,
    /// Second tangent line, from the left end of the blank.
    pub end_mm: f64,
}

/// What a stretch of the blank becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum StretchKind {
    /// Stays level.
    Flat,
    /// Is bent.
    Bend,
    /// Stays straight and stands inclined.
    Wall,
}

/// One stretch of the blank, from left to right.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BlankStretch {
    /// What it becomes.
    pub kind: StretchKind,
    /// The flat, or the two flats between which it lies.
    pub name: String,
    /// Where it begins, from the left end of the blank.
    pub start_mm: f64,
    /// Where it ends.
    pub end_mm: f64,
    /// Its length; all of them add up to the developed length.
    pub length_mm: f64,
}

/// A hole on the blank.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BlankHole {
    /// Name.
    pub name: String,
    /// Its edge.
    #[serde(rename = "shape_mm", serialize_with = "as_points")]
    #[schemars(with = "Vec<[f64; 2]>")]
    pub shape: Loop,
    /// Diameter, when the hole is round on the blank.
    pub diameter_mm: Option<f64>,
    /// Where its plan centre lies on the blank: along, across.
    pub centre_mm: [f64; 2],
}

/// The rule for K that was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct KUsed {
    /// Its word.
    pub name: &'static str,
    /// The rule in words.
    pub text: &'static str,
    /// The part file did not say, coldstep chose.
    pub is_default: bool,
    /// A calculated pressing of the plate itself says it.
    #[serde(skip)]
    pub is_pressed: bool,
    /// Where it was read.
    pub source: &'static str,
}

/// Developed length by one rule for K.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OtherRule {
    /// Its word.
    pub name: &'static str,
    /// What the blank's length would be.
    pub developed_length_mm: f64,
    /// That less the length by the rule used.
    pub difference_mm: f64,
    /// Where it was read.
    pub source: &'static str,
}

/// The flat blank.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Blank {
    /// Length along the strip, tabs at the ends included.
    pub developed_length_mm: f64,
    /// Width across the strip, tabs at the sides included.
    pub width_mm: f64,
    /// Smallest rectangle it can be cut from with its length along the rectangle's: length, width.
    pub rectangle_mm: [f64; 2],
    /// Area without holes, one face.
    pub area_mm2: f64,
    /// Mass.
    pub mass_g: f64,
    /// The rule for K.
    pub k_rule: KUsed,
    /// Developed length by every published rule, by the simulated one and by the one used.
    pub other_rules: Vec<OtherRule>,
    /// Longest less shortest of the published rules and the one used: books disagree by this much, so leave it for
    /// filing. The simulated rule counts when it is the one used.
    pub spread_mm: f64,
    /// Bends from left to right.
    pub bends: Vec<BlankBend>,
    /// Flats, bends and walls from left to right.
    pub stretches: Vec<BlankStretch>,
    /// Outline, counter-clockwise. Written as corners of a polygon within [`CHORD_ERROR_MM`].
    #[serde(rename = "outline_mm", serialize_with = "as_points")]
    #[schemars(with = "Vec<[f64; 2]>")]
    pub outline: Loop,
    /// Holes in the order of the file.
    pub holes: Vec<BlankHole>,
    /// Formed plan to blank and back.
    #[serde(skip)]
    pub map: FlatMap,
}

impl Blank {
    /// Outline and holes as loops, outline first: inside by the even-odd rule is metal.
    pub fn metal_loops(&self) -> Vec<Loop> {
        std::iter::once(self.outline.clone())
            .chain(self.holes.iter().map(|hole| hole.shape.clone()))
            .collect()
    }
}

fn as_points<S: Serializer>(shape: &Loop, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(
        shape
            .flattened(CHORD_ERROR_MM)
            .iter()
            .map(|point| [point.x, point.y]),
    )
}

/// Lays the part flat by the rule for K that its file asks for.
pub fn blank(part: &Part) -> Noted<Blank> {
    blank_by(part, &part.sheet.k_rule)
}

/// Lays the part flat by a rule for K.
pub fn blank_by(part: &Part, used: &KRule) -> Noted<Blank> {
    let mut findings = Findings::default();
    let map = FlatMap::new(part, used);
    let outline = unrolled(&part.outline, &map, CHORD_ERROR_MM);
    let (low, high) = outline.bounds();
    let developed_length_mm = high.x - low.x;
    let width_mm = high.y - low.y;
    let holes: Vec<BlankHole> = part
        .holes
        .iter()
        .map(|hole| {
            let shape = unrolled(&hole.shape, &map, CHORD_ERROR_MM);
            let centre = map.on_blank(hole.centre);
            BlankHole {
                name: hole.name.clone(),
                // A round hole that crosses a bend is not round on the blank.
                diameter_mm: hole.diameter_mm.filter(|_| shape.as_circle().is_some()),
                shape,
                centre_mm: [centre.x, centre.y],
            }
        })
        .collect();
    let area_mm2 = outline.area_mm2() - holes.iter().map(|hole| hole.shape.area_mm2()).sum::<f64>();
    let other_rules = other_rules(part, used, developed_length_mm);
    let counts =
        |rule: &&OtherRule| rule.name != KRule::Simulated.name() || rule.name == used.name();
    let lengths = || {
        other_rules
            .iter()
            .filter(counts)
            .map(|rule| rule.developed_length_mm)
    };
    let spread_mm = lengths().fold(f64::MIN, f64::max) - lengths().fold(f64::MAX, f64::min);
    let known = KByRadius::new(part, used);
    k_notes(part, &known, &mut findings);
    distort::warn(part, &map, &mut findings);
    let value = Blank {
        developed_length_mm,
        width_mm,
        rectangle_mm: [developed_length_mm, width_mm],
        area_mm2,
        // mm³ times kg/m³ is a millionth of a gram.
        mass_g: area_mm2 * part.sheet.thickness_mm * part.sheet.metal.density_kg_m3 * 1e-6,
        k_rule: KUsed {
            name: used.name(),
            text: used.words(),
            is_default: part.leaves_k_open(),
            is_pressed: matches!(used, KRule::Pressed(_)),
            source: used.source(part.sheet.metal.handbook_row),
        },
        other_rules,
        spread_mm,
        bends: bends(part, &map, &known, developed_length_mm),
        stretches: stretches(part, &map, developed_length_mm),
        outline,
        holes,
        map,
    };
    Noted {
        value,
        notes: findings.into_sorted(),
    }
}

/// The published rules, the simulated one, and the one used if it is none of them.
fn other_rules(part: &Part, used: &KRule, used_mm: f64) -> Vec<OtherRule> {
    let (low, high) = part.outline.bounds();
    let known = [
        KRule::Din6935,
        KRule::Handbook,
        KRule::TwoValue,
        KRule::Simulated,
    ];
    let own = (!known.contains(used)).then(|| used.clone());
    known
        .into_iter()
        .chain(own)
        .map(|rule| {
            let developed_length_mm = FlatMap::new(part, &rule).length_between_mm(low.x, high.x);
            OtherRule {
                name: rule.name(),
                developed_length_mm,
                difference_mm: developed_length_mm - used_mm,
                source: rule.source(part.sheet.metal.handbook_row),
            }
        })
        .collect()
}

fn bends(part: &Part, map: &FlatMap, known: &KByRadius, length_mm: f64) -> Vec<BlankBend> {
    let thickness_mm = part.sheet.thickness_mm;
    let zones = map
        .zones()
        .iter()
        .filter(|zone| matches!(zone.kind, ZoneKind::Bend(..)));
    part.profile
        .bends
        .iter()
        .zip(zones)
        // An outline of its own may end before the last bends, or begin after the first.
        .filter(|(_, zone)| zone.s_to_mm > 0.0 && zone.s_from_mm < length_mm)
        .map(|(bend, zone)| BlankBend {
            step: bend.step + 1,
            between: between(part, bend.step),
            direction: if bend.turn.rad() > 0.0 {
                Direction::Up
            } else {
                Direction::Down
            },
            angle_deg: bend.turn.abs().degrees(),
            inside_radius_mm: bend.inside_radius_mm,
            k_factor: known.k(bend.inside_radius_mm),
            allowance_mm: zone.length_mm(),
            setback_mm: outside_setback_mm(bend.inside_radius_mm, thickness_mm, bend.turn.abs()),
            start_mm: zone.s_from_mm,
            centre_mm: f64::midpoint(zone.s_from_mm, zone.s_to_mm),
            end_mm: zone.s_to_mm,
        })
        .collect()
}

fn stretches(part: &Part, map: &FlatMap, length_mm: f64) -> Vec<BlankStretch> {
    let step_name = |step| between(part, step).join(" to ");
    map.zones()
        .iter()
        .map(|zone| {
            let (kind, name) = match zone.kind {
                ZoneKind::Flat(number) => {
                    let [name, _] = between(part, number);
                    (StretchKind::Flat, name)
                }
                ZoneKind::Bend(step, _) => (StretchKind::Bend, step_name(step)),
                ZoneKind::Wall(step) => (StretchKind::Wall, step_name(step)),
            };
            let start_mm = zone.s_from_mm.clamp(0.0, length_mm);
            let end_mm = zone.s_to_mm.clamp(0.0, length_mm);
            BlankStretch {
                kind,
                name,
                start_mm,
                end_mm,
                length_mm: end_mm - start_mm,
            }
        })
        .filter(|stretch| stretch.length_mm > 0.0)
        .collect()
}

/// Passes on what a rule for K says about being used past its range, once for each step.
fn k_notes(part: &Part, known: &KByRadius, findings: &mut Findings) {
    for (number, step) in part.steps.iter().enumerate() {
        let mut said: Option<String> = None;
        for radius_mm in step.inside_radius_mm {
            let Some(note) = known.at(radius_mm).and_then(|k| k.note.as_ref()) else {
                continue;
            };
            if said.as_ref() != Some(note) {
                let [from, to] = between(part, number);
                findings.push(
                    Diagnostic::warning(format!(
                        "the K-factor of the step from \"{from}\" to \"{to}\" is uncertain: {note}"
                    ))
                    .id("blank-k-uncertain")
                    .at(&step.span)
                    .help(
                        "leave more length for filing, or bend a test strip and give its k_factor",
                    ),
                );
            }
            said = Some(note.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::sample::{Stair, stairs};
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    #[test]
    fn tabs_lengthen_and_widen_the_blank() {
        let plain = blank(&Stair::two_flats(4.0, 60.0).part()).value;
        let stair = Stair::two_flats(4.0, 60.0).with(
            "[[tab]]\nedge = \"left\"\nfrom_mm = 2.0\nto_mm = 6.0\nlength_mm = 3.0\n\
             [[tab]]\nedge = \"front\"\nfrom_mm = 2.0\nto_mm = 6.0\nlength_mm = 1.5\n",
        );
        let tabbed = blank(&stair.part()).value;
        assert_abs_diff_eq!(
            tabbed.developed_length_mm,
            plain.developed_length_mm + 3.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(tabbed.width_mm, 11.5, epsilon = 1e-9);
        assert_abs_diff_eq!(
            tabbed.area_mm2,
            plain.area_mm2 + 4.0 * 3.0 + 4.0 * 1.5,
            epsilon = 1e-9
        );
        // Places count from the end of the tab.
        assert_abs_diff_eq!(tabbed.outline.bounds().0.x, 0.0, epsilon = 1e-12);
        assert_abs_diff_eq!(tabbed.bends[0].start_mm, 13.0, epsilon = 1e-9);
        // Smallest rectangle: as long and as wide as what is cut from it.
        assert_eq!(
            tabbed.rectangle_mm,
            [tabbed.developed_length_mm, tabbed.width_mm]
        );
    }

    #[test]
    fn an_outline_that_stops_short_shortens_the_blank() {
        // From x = 4 to the far end, 10 mm wide.
        let stair = Stair::two_flats(4.0, 60.0);
        let whole = blank(&stair.part()).value;
        let end = stair.plan_mm()[1].1;
        let text = stair.text().replace(
            "width_mm = 10\n",
            &format!("width_mm = 10\noutline_mm = [[4, 0], [{end}, 0], [{end}, 10], [4, 10]]\n"),
        );
        let short = blank(&crate::part::parse(&text).unwrap().value).value;
        assert_abs_diff_eq!(
            short.developed_length_mm,
            whole.developed_length_mm - 4.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(
            short.bends[0].start_mm,
            whole.bends[0].start_mm - 4.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(short.stretches[0].length_mm, 6.0, epsilon = 1e-9);
        // Nothing but the second flat: no bend is left, and all rules agree.
        let from = stair.plan_mm()[1].0 + 1.0;
        let text = stair.text().replace(
            "width_mm = 10\n",
            &format!(
                "width_mm = 10\noutline_mm = [[{from}, 0], [{end}, 0], [{end}, 10], [{from}, 10]]\n"
            ),
        );
        let flat = blank(&crate::part::parse(&text).unwrap().value).value;
        assert_abs_diff_eq!(flat.developed_length_mm, 9.0, epsilon = 1e-9);
        assert!(flat.bends.is_empty());
        assert_abs_diff_eq!(flat.spread_mm, 0.0, epsilon = 1e-9);
    }

    #[test]
    fn mass_is_volume_times_density() {
        // 10 mm wide and 1 mm thick, worked out in cm and g/cm3.
        let part = Stair::two_flats(4.0, 60.0).part();
        let blank = blank(&part).value;
        let volume_cm3 = blank.developed_length_mm / 10.0 * 1.0 * 0.1;
        assert_abs_diff_eq!(
            blank.mass_g,
            volume_cm3 * part.sheet.metal.density_kg_m3 / 1000.0,
            epsilon = 1e-9
        );
    }

    #[test]
    fn every_rule_is_compared_with_the_one_used() {
        let mut stair = Stair::two_flats(4.0, 90.0);
        stair.sheet = "k_factor = 0.45".into();
        let with_own = blank(&stair.part()).value;
        assert!(!with_own.k_rule.is_default);
        let names: Vec<&str> = with_own.other_rules.iter().map(|rule| rule.name).collect();
        assert_eq!(
            names,
            ["din-6935", "handbook", "two-value", "simulated", "explicit"]
        );
        let metal = stair.part().sheet.metal;
        let simulated = KRule::Simulated.k_factor(1.0, 1.0, &metal).k;
        // Two right angles of 1 mm sheet: lengths differ by π times the difference of the K.
        for (rule, k) in
            with_own
                .other_rules
                .iter()
                .zip([0.325, 0.55 / (PI / 2.0), 0.33, simulated, 0.45])
        {
            assert_abs_diff_eq!(rule.difference_mm, PI * (k - 0.45), epsilon = 1e-9);
            assert_abs_diff_eq!(
                rule.developed_length_mm,
                with_own.developed_length_mm + rule.difference_mm,
                epsilon = 1e-9
            );
        }
        assert_abs_diff_eq!(with_own.spread_mm, PI * (0.45 - 0.325), epsilon = 1e-9);
        stair.sheet.clear();
        let by_default = blank(&stair.part()).value;
        assert!(by_default.k_rule.is_default);
        assert_eq!(by_default.other_rules.len(), 4);
        // The simulated rule is not published; the spread counts it only where it is used.
        assert_abs_diff_eq!(
            by_default.spread_mm,
            PI * (0.55 / (PI / 2.0) - 0.325),
            epsilon = 1e-9
        );
        stair.sheet = "k_rule = \"simulated\"".into();
        let with_simulated = blank(&stair.part()).value;
        assert_eq!(with_simulated.k_rule.name, "simulated");
        assert_eq!(with_simulated.other_rules.len(), 4);
        assert_abs_diff_eq!(with_simulated.bends[0].k_factor, simulated, epsilon = 1e-12);
        assert_abs_diff_eq!(
            with_simulated.spread_mm,
            PI * (simulated - 0.325),
            epsilon = 1e-9
        );
    }

    #[test]
    fn up_and_down_say_where_the_sheet_goes() {
        let mut stair = Stair::two_flats(4.0, 60.0);
        let directions = |stair: &Stair| -> Vec<Direction> {
            let blank = blank(&stair.part()).value;
            blank.bends.iter().map(|bend| bend.direction).collect()
        };
        assert_eq!(directions(&stair), [Direction::Up, Direction::Down]);
        stair.steps[0].up = false;
        assert_eq!(directions(&stair), [Direction::Down, Direction::Up]);
    }

    #[test]
    fn a_rule_past_its_range_says_so_once_for_each_step() {
        let mut stair = Stair::two_flats(4.0, 60.0);
        stair.steps[0].radii_mm = [0.3, 0.3];
        let noted = blank(&stair.part());
        let [note] = noted.notes.as_slice() else {
            panic!("{:#?}", noted.notes)
        };
        assert!(note.message.contains("DIN 6935"), "{}", note.message);
        assert!(note.span.is_some());
        stair.sheet = "k_factor = 0.4".into();
        assert_eq!(blank(&stair.part()).notes, []);
    }

    #[test]
    fn json_carries_the_promised_names() {
        let stair = Stair::two_flats(4.0, 60.0)
            .with("[[hole]]\nname = \"a\"\nx_mm = 4.0\ny_mm = 5.0\ndiameter_mm = 2.0\n");
        let value = serde_json::to_value(blank(&stair.part()).value).unwrap();
        for key in [
            "developed_length_mm",
            "width_mm",
            "area_mm2",
            "mass_g",
            "spread_mm",
        ] {
            assert!(value[key].is_f64(), "{key}");
        }
        for key in [
            "angle_deg",
            "inside_radius_mm",
            "k_factor",
            "allowance_mm",
            "start_mm",
            "centre_mm",
            "end_mm",
            "setback_mm",
        ] {
            assert!(value["bends"][0][key].is_f64(), "{key}");
        }
        assert_eq!(value["bends"][0]["direction"], "up");
        assert_eq!(value["outline_mm"].as_array().unwrap().len(), 4);
        assert_eq!(value["holes"][0]["diameter_mm"], 2.0);
        assert_eq!(value["k_rule"]["name"], "din-6935");
    }

    proptest! {
        #[test]
        fn the_length_is_the_sum_of_flats_walls_and_bends(stair in stairs(), k in 0.1f64..0.6) {
            let mut stair = stair;
            stair.sheet = format!("k_factor = {k}");
            let blank = blank(&stair.part()).value;
            // From the measures that made the stair, not from anything the program solved.
            let steps: f64 = stair.steps.iter().map(|step| {
                let [one, two] = step.radii_mm;
                let neutral = one + two + 2.0 * k * stair.thickness_mm;
                step.wall_mm + step.wall_angle_deg.to_radians() * neutral
            }).sum();
            let sum = stair.flats_mm.iter().sum::<f64>() + steps;
            prop_assert!((blank.developed_length_mm - sum).abs() < 1e-6);
            let stretches: f64 = blank.stretches.iter().map(|stretch| stretch.length_mm).sum();
            prop_assert!((blank.developed_length_mm - stretches).abs() < 1e-9);
            prop_assert_eq!(blank.bends.len(), 2 * stair.steps.len());
            // A plain rectangle is as large as length times width.
            let area = blank.developed_length_mm * stair.width_mm;
            prop_assert!((blank.area_mm2 - area).abs() < 1e-6);
            prop_assert_eq!(blank.outline.edges().len(), 4);
        }

        #[test]
        fn a_hole_on_a_flat_keeps_its_size_and_one_anywhere_changes_the_area_little_by_little(
            stair in stairs(), flat in 0usize..5, share in 0.0f64..1.0,
        ) {
            let plan = stair.plan_mm();
            let (from, to) = plan[flat % plan.len()];
            let hole = |x: f64| format!(
                "[[hole]]\nname = \"a\"\nx_mm = {x}\ny_mm = {}\nsize_mm = [1.0, 2.0]\n",
                stair.width_mm / 2.0,
            );
            let on_flat = stair.clone().with(&hole(from + 0.5 + (to - from - 1.0) * share));
            let laid = blank(&on_flat.part()).value;
            let (low, high) = laid.holes[0].shape.bounds();
            prop_assert!((high.x - low.x - 1.0).abs() < 1e-9);
            prop_assert!((high.y - low.y - 2.0).abs() < 1e-9);
            prop_assert_eq!(laid.holes[0].shape.edges().len(), 4);

            let (low, high) = (plan[0].0 + 0.6, plan[plan.len() - 1].1 - 0.6);
            let x = low + (high - low) * share;
            let step = 1e-4;
            let area = |x: f64| {
                let part = stair.clone().with(&hole(x)).part();
                let blank = blank(&part).value;
                (blank.area_mm2, blank.developed_length_mm * stair.width_mm)
            };
            let ((one, whole), (two, _)) = (area(x), area(x + step));
            // Never more than the rectangle; nearly the same a hair further on, unless an edge of the
            // hole passes a wall at 89 degrees or more, which then counts in one leap.
            prop_assert!(one < whole);
            let steep = stair.steps.iter().any(|step| step.wall_angle_deg > 85.0);
            if !steep {
                // At most 2 mm of hole edge, stretched by 1 / cos 85 and by the neutral line.
                prop_assert!((one - two).abs() < 2.0 * 2.0 * 2.0 * step / 85f64.to_radians().cos());
            }
        }
    }
}

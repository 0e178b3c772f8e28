//! A thousand random parts that can be bent: every die mesh closes, volumes agree, nothing panics.

use coldstep::dies::tooling;
use coldstep::formats::stl::stl;
use coldstep::forming::compensate;
use coldstep::geometry::solid::solid;
use coldstep::part::parse;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};
use std::fmt::Write as _;

const CASES: u32 = 1000;

#[derive(Debug, Clone)]
struct Step {
    up: bool,
    degrees: f64,
    wall_mm: f64,
    ratios: [f64; 2],
    flat_mm: f64,
    by_run: bool,
}

#[derive(Debug, Clone)]
struct Recipe {
    metal: (&'static str, &'static str),
    thickness_mm: f64,
    width_mm: f64,
    first_mm: f64,
    steps: Vec<Step>,
    clearance_mm: f64,
    size_error_mm: f64,
    relief_mm: f64,
    base_mm: f64,
    tilt: &'static str,
    cheeks: &'static str,
    switches: [bool; 4],
    hole: bool,
    tab: bool,
}

fn step() -> impl Strategy<Value = Step> {
    (
        any::<bool>(),
        20.0f64..90.0,
        0.0f64..6.0,
        [0.5f64..4.0, 0.5f64..4.0],
        4.0f64..25.0,
        any::<bool>(),
    )
        .prop_map(|(up, degrees, wall_mm, ratios, flat_mm, by_run)| Step {
            up,
            degrees,
            wall_mm,
            ratios,
            flat_mm,
            by_run,
        })
}

fn recipe() -> impl Strategy<Value = Recipe> {
    let metals = prop::sample::select(vec![
        ("copper", "soft"),
        ("copper", "quarter-hard"),
        ("copper", "half-hard"),
        ("copper", "hard"),
        ("aluminium-1050", "soft"),
        ("aluminium-5052", "quarter-hard"),
        ("brass-cuzn30", "soft"),
        ("brass-cuzn37", "hard"),
    ]);
    let dies = (
        0.0f64..0.15,
        -0.05f64..0.15,
        0.0f64..0.8,
        6.0f64..20.0,
        prop::sample::select(vec!["auto", "centred"]),
        prop::sample::select(vec!["front", "both", "none"]),
        any::<[bool; 4]>(),
    );
    (
        metals,
        0.3f64..2.0,
        6.0f64..80.0,
        4.0f64..25.0,
        prop::collection::vec(step(), 0..5),
        dies,
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(
            |(metal, thickness_mm, width_mm, first_mm, steps, dies, hole, tab)| Recipe {
                metal,
                thickness_mm,
                width_mm,
                first_mm,
                steps,
                clearance_mm: dies.0,
                size_error_mm: dies.1,
                relief_mm: dies.2,
                base_mm: dies.3,
                tilt: dies.4,
                cheeks: dies.5,
                switches: dies.6,
                hole,
                tab,
            },
        )
}

/// Writes the part file. Heights start high enough that no step goes below the board.
fn write(recipe: &Recipe) -> String {
    let t = recipe.thickness_mm;
    let (mut x, mut z) = (recipe.first_mm, 60.0);
    let mut text = format!(
        "[sheet]\nmaterial = \"{}\"\ntemper = \"{}\"\nthickness_mm = {t}\n[plate]\nwidth_mm = {}\n\
         [[component]]\nname = \"C\"\nx_mm = 2.0\ny_mm = 2.0\nsize_mm = [1.0, 1.0]\nheight_mm = 1.0\n\
         [[flat]]\nname = \"f0\"\nfrom_mm = 0.0\nto_mm = {x}\nunderside_mm = {z}\n",
        recipe.metal.0, recipe.metal.1, recipe.width_mm
    );
    for (number, step) in recipe.steps.iter().enumerate() {
        let radii = step.ratios.map(|ratio| ratio * t);
        let sum = radii[0] + radii[1] + t;
        let (sin, cos) = step.degrees.to_radians().sin_cos();
        let rise = sum * (1.0 - cos) + step.wall_mm * sin + 0.06;
        let wall = (rise - sum * (1.0 - cos)) / sin;
        let run = sum * sin + wall * cos;
        z += if step.up { rise } else { -rise };
        let from = x + run;
        x = from + step.flat_mm;
        let place = if step.by_run {
            format!("from_mm = {from}\n")
        } else {
            String::new()
        };
        let angle = if step.by_run {
            String::new()
        } else {
            format!("wall_angle_deg = {}, ", step.degrees)
        };
        write!(
            text,
            "[[flat]]\nname = \"f{}\"\n{place}to_mm = {x}\nunderside_mm = {z}\nstep = {{ {angle}inside_radius_mm = [{}, {}] }}\n",
            number + 1,
            radii[0],
            radii[1]
        )
        .unwrap();
    }
    if recipe.hole {
        text += "[[hole]]\nx_mm = 2.0\ny_mm = 3.0\ndiameter_mm = 1.0\n";
    }
    if recipe.tab {
        text += "[[tab]]\nedge = \"left\"\nfrom_mm = 1.0\nto_mm = 4.0\nlength_mm = 3.0\n";
    }
    let [stops, pins, marks, ledges] = recipe.switches;
    write!(
        text,
        "[printer]\nsize_error_mm = {}\n[dies]\nclearance_mm = {}\ncorner_relief_mm = {}\nbase_mm = {}\ntilt = \"{}\"\n\
         cheeks = \"{}\"\nend_stops = {stops}\npins = {pins}\nmarks = {marks}\nhandling_ledges = {ledges}\n",
        recipe.size_error_mm,
        recipe.clearance_mm,
        recipe.relief_mm,
        recipe.base_mm,
        recipe.tilt,
        recipe.cheeks
    )
    .unwrap();
    text
}

#[test]
fn a_thousand_parts_become_closed_dies_of_the_right_volume() {
    let config = Config {
        cases: CASES,
        failure_persistence: None,
        ..Config::default()
    };
    let mut runner =
        TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let made = std::cell::Cell::new(0u32);
    let refused = std::cell::RefCell::new(std::collections::BTreeMap::<String, u32>::new());
    runner
        .run(&recipe(), |recipe| {
            let text = write(&recipe);
            let part = parse(&text)
                .map_err(|findings| TestCaseError::fail(format!("{findings:#?}\n{text}")))?
                .value;
            coldstep::fit::fit(&part);
            coldstep::blank::blank(&part);
            let compensation = compensate(&part).value;
            let tooling = match tooling(&part, &compensation) {
                Ok(tooling) => tooling.value,
                Err(reasons) => {
                    // A refusal names its reason and a way out, and is not our own fault.
                    for reason in reasons {
                        prop_assert!(!reason.help.is_empty(), "{reason:?}");
                        prop_assert!(!reason.message.contains("cannot be built"), "{reason:?}");
                        let kind: String = reason
                            .message
                            .chars()
                            .filter(|c| !c.is_ascii_digit())
                            .take(30)
                            .collect();
                        *refused.borrow_mut().entry(kind).or_default() += 1;
                    }
                    return Ok(());
                }
            };
            made.set(made.get() + 1);
            for block in &tooling.blocks {
                prop_assert_eq!(block.mesh.check_closed(), Ok(()));
                let share = block.volume_mm3 / block.exact_volume_mm3 - 1.0;
                prop_assert!(
                    share.abs() < 1e-3,
                    "{} is off by {share}\n{text}",
                    block.role.word()
                );
                if let Err(error) = solid(&block.shape.body()) {
                    return Err(TestCaseError::fail(format!("{error}\n{text}")));
                }
                if let Err(error) = stl(&block.mesh, "x") {
                    return Err(TestCaseError::fail(format!("{error}\n{text}")));
                }
            }
            Ok(())
        })
        .unwrap_or_else(|error| panic!("{error}"));
    println!("{} made, refused: {:?}", made.get(), refused.borrow());
    // Refusals are for what cannot open; most random parts can.
    assert!(made.get() > CASES * 3 / 4, "only {} were made", made.get());
}

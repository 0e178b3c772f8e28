//! The formed plate as a body: closed, of the volume that Pappus gives, and cut as the blank is.

use coldstep::blank::blank;
use coldstep::job::Job;
use coldstep::output::folder::{blank_files, die_files};
use coldstep::output::paper::Printing;
use coldstep::part::{Part, parse};
use coldstep::plate;
use coldstep::stock::KRule;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};
use std::fmt::Write as _;

fn from(text: &str) -> Part {
    parse(text)
        .unwrap_or_else(|findings| panic!("{findings:#?}\n{text}"))
        .value
}

fn examples() -> Vec<(String, Part)> {
    ["examples", "tests/heavy/parts"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| {
            (
                path.display().to_string(),
                from(&std::fs::read_to_string(&path).unwrap()),
            )
        })
        .collect()
}

/// Volume that meshes lead to when their chords get shorter and shorter.
///
/// A chord polygon misses an arc by a series in even powers of the chord's length (sin x = x - x³/6 + ...), so meshes of
/// a fourth of the chord error, half the chords, combine to ever higher orders (Richardson).
fn meshed_mm3(part: &Part, chord_errors_mm: [f64; 3]) -> [f64; 3] {
    let blank = blank(part).value;
    chord_errors_mm.map(|error_mm| plate::mesh(part, &blank, error_mm).unwrap().volume_mm3())
}

/// Chords of the mesh stray this far from the arcs they stand for.
const MESH_MM: f64 = 0.02;

#[test]
fn every_example_is_closed_as_mesh_and_as_solid() {
    let all = examples();
    assert!(all.len() >= 5);
    for (name, part) in all {
        let blank = blank(&part).value;
        let exact_mm3 = plate::volume_mm3(&part, &blank);
        let mesh = plate::mesh(&part, &blank, MESH_MM).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(mesh.check_closed(), Ok(()), "{name}");
        assert!((mesh.volume_mm3() / exact_mm3 - 1.0).abs() < 2e-3, "{name}");
        let solid = plate::exact(&part, &blank).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(solid.boundaries().len(), 1, "{name}");
        // The mesh lies where the plate lies; curves that cross a bend are chords on the blank.
        let (low, high) = mesh.bounds();
        let (plan_low, plan_high) = part.outline.bounds();
        for (is, wanted) in [
            (low.x, plan_low.x),
            (low.y, plan_low.y),
            (high.x, plan_high.x),
            (high.y, plan_high.y),
        ] {
            assert!((is - wanted).abs() <= MESH_MM, "{name}: {is} and {wanted}");
        }
        let lowest = part
            .flats
            .iter()
            .map(|flat| flat.level.underside_mm)
            .fold(f64::INFINITY, f64::min);
        assert!((low.z - lowest).abs() < 1e-9, "{name}");
    }
}

/// A strip of one step without holes: width, thickness and mid-thickness length say its volume, by hand.
#[test]
fn a_plain_strip_has_thickness_times_length_times_width() {
    let part = from(
        "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\n[plate]\nwidth_mm = 10.0\n\
         [[component]]\nname = \"C\"\nx_mm = 2.0\ny_mm = 2.0\nsize_mm = [1.0, 1.0]\nheight_mm = 1.0\n\
         [[flat]]\nname = \"a\"\nfrom_mm = 0.0\nto_mm = 10.0\nunderside_mm = 3.0\n\
         [[flat]]\nname = \"b\"\nto_mm = 30.0\nunderside_mm = 8.0\nstep = { wall_angle_deg = 90.0, inside_radius_mm = [1.5, 1.5] }\n",
    );
    let blank = blank(&part).value;
    // Both bends take 2 mm of mid radius: a wall of 5 - 4 = 1, two quarter arcs, a second flat of 30 - 10 - 4 = 16.
    let wanted = 10.0 * (10.0 + 16.0 + 1.0 + std::f64::consts::PI * 2.0);
    let is = plate::volume_mm3(&part, &blank);
    assert!((is / wanted - 1.0).abs() < 1e-9, "{is} and {wanted}");
}

/// Whatever K says of the blank, the plate bent from it is the same.
#[test]
fn the_plate_does_not_depend_on_the_rule_for_k() {
    let (_, mut part) = examples()
        .into_iter()
        .find(|(name, _)| name.contains("single"))
        .unwrap();
    let volumes: Vec<f64> = [0.33, 0.5]
        .into_iter()
        .map(|k| {
            part.sheet.k_rule = KRule::Explicit(k);
            plate::volume_mm3(&part, &blank(&part).value)
        })
        .collect();
    assert!((volumes[0] / volumes[1] - 1.0).abs() < 1e-9, "{volumes:?}");
}

#[derive(Debug, Clone)]
struct Recipe {
    thickness_mm: f64,
    radius: f64,
    degrees: f64,
    up: bool,
    round_mm: f64,
    holes: Vec<(f64, f64)>,
    notch: Option<(f64, f64)>,
    tab: bool,
    on_line: bool,
}

fn recipe() -> impl Strategy<Value = Recipe> {
    (
        (0.3f64..1.5, 1.0f64..3.0, 20.0f64..=90.0, any::<bool>()),
        prop::sample::select(vec![0.0, 1.0]),
        prop::collection::vec((0.0f64..1.0, 0.6f64..3.0), 0..3),
        prop::option::of((0.0f64..1.0, 1.0f64..6.0)),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(|(bend, round_mm, holes, notch, tab, on_line)| Recipe {
            thickness_mm: bend.0,
            radius: bend.1 * bend.0,
            degrees: bend.2,
            up: bend.3,
            round_mm,
            holes,
            notch,
            tab,
            on_line,
        })
}

/// Two flats with holes and a notch anywhere along the strip, bends and walls among it; some end on a tangent line.
fn write(recipe: &Recipe) -> String {
    let sum = 2.0 * recipe.radius + recipe.thickness_mm;
    let (sin, cos) = recipe.degrees.to_radians().sin_cos();
    let rise = sum * (1.0 - cos) + 2.0 * sin;
    let (first, second) = if recipe.up {
        (3.0, 3.0 + rise)
    } else {
        (3.0 + rise, 3.0)
    };
    let end = 50.0;
    let mut text = format!(
        "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = {}\n[plate]\nwidth_mm = 40.0\ncorner_radius_mm = {}\n\
         [[component]]\nname = \"C\"\nx_mm = 2.0\ny_mm = 2.0\nsize_mm = [1.0, 1.0]\nheight_mm = 1.0\n\
         [[flat]]\nname = \"a\"\nfrom_mm = 0.0\nto_mm = 20.0\nunderside_mm = {first}\n\
         [[flat]]\nname = \"b\"\nto_mm = {end}\nunderside_mm = {second}\nstep = {{ wall_angle_deg = {}, inside_radius_mm = [{}, {}] }}\n",
        recipe.thickness_mm, recipe.round_mm, recipe.degrees, recipe.radius, recipe.radius
    );
    for (number, (share, radius)) in recipe.holes.iter().enumerate() {
        // On the line: the edge of the hole touches the beginning of the first bend.
        let x = if recipe.on_line {
            20.0 - radius
        } else {
            8.0 + 30.0 * share
        };
        let y = 16.0 + 12.0 * number as f64;
        write!(
            text,
            "[[hole]]\nx_mm = {x}\ny_mm = {y}\ndiameter_mm = {}\n",
            2.0 * radius
        )
        .unwrap();
    }
    if let Some((share, long)) = recipe.notch {
        let from = if recipe.on_line {
            20.0
        } else {
            5.0 + 30.0 * share
        };
        write!(
            text,
            "[[notch]]\nedge = \"front\"\nfrom_mm = {from}\nto_mm = {}\ndepth_mm = 4.0\n",
            from + long
        )
        .unwrap();
    }
    if recipe.tab {
        text += "[[tab]]\nedge = \"left\"\nfrom_mm = 10.0\nto_mm = 14.0\nlength_mm = 3.0\n";
    }
    text
}

#[test]
fn random_plates_close_and_have_the_volume_of_pappus() {
    let config = Config {
        cases: 150,
        failure_persistence: None,
        ..Config::default()
    };
    let mut runner =
        TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    runner
        .run(&recipe(), |recipe| {
            let text = write(&recipe);
            let part = parse(&text)
                .map_err(|findings| TestCaseError::fail(format!("{findings:#?}\n{text}")))?
                .value;
            let blank = blank(&part).value;
            let exact_mm3 = plate::volume_mm3(&part, &blank);
            // Thickness times area at mid-thickness, where blank and middle have the same length: K = 1/2.
            let mut halved = part.clone();
            halved.sheet.k_rule = KRule::Explicit(0.5);
            let area_mm2 = coldstep::blank::blank(&halved).value.area_mm2;
            let by_blank = area_mm2 * recipe.thickness_mm;
            // Chords of curves that cross a bend differ a little from rule to rule.
            let slack = if recipe.holes.is_empty() { 1e-9 } else { 2e-4 };
            prop_assert!(
                (exact_mm3 / by_blank - 1.0).abs() < slack,
                "{exact_mm3} {by_blank}\n{text}"
            );
            let coarse = plate::mesh(&part, &blank, 0.01)
                .map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
            prop_assert!(
                (coarse.volume_mm3() / exact_mm3 - 1.0).abs() < 2e-3,
                "{text}"
            );
            let solid = plate::exact(&part, &blank)
                .map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
            prop_assert_eq!(solid.boundaries().len(), 1);
            Ok(())
        })
        .unwrap_or_else(|error| panic!("{error}"));
}

/// The mesh is the plate: its volume runs towards that of Pappus as the square of its chords.
#[test]
fn finer_meshes_run_towards_the_volume_of_pappus() {
    for (name, part) in examples() {
        let exact_mm3 = plate::volume_mm3(&part, &blank(&part).value);
        let [coarse, finer, finest] =
            meshed_mm3(&part, [1e-2, 1e-3, 1e-5]).map(|v| (v / exact_mm3 - 1.0).abs());
        assert!(
            finer < coarse && finest < finer && finest < 2e-6,
            "{name}: {coarse:e} {finer:e} {finest:e}"
        );
    }
}

fn scaled(factor: f64) -> String {
    let size = |mm: f64| mm * factor;
    format!(
        "[part]\nname = \"'; DROP \\\\ \\\"<&>\\\" ü 日本 😀\"\n[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = {}\n[plate]\nwidth_mm = {}\n\
         [[component]]\nname = \"C\"\nx_mm = 0.1\ny_mm = 0.1\nsize_mm = [0.2, 0.2]\nheight_mm = 0.3\n\
         [[flat]]\nname = \"a\"\nfrom_mm = 0.0\nto_mm = {}\nunderside_mm = 3.0\n\
         [[flat]]\nname = \"b\"\nto_mm = {}\nunderside_mm = {}\nstep = {{ wall_angle_deg = 45.0, inside_radius_mm = [{}, {}] }}\n\
         [[hole]]\nx_mm = {}\ny_mm = {}\ndiameter_mm = {}\n[dies]\nend_stops = false\npins = false\n",
        size(0.1).clamp(0.2, 3.0),
        size(1.5).max(3.0),
        size(0.6),
        size(2.0),
        3.0 + size(0.25),
        size(0.15).max(0.2),
        size(0.15).max(0.2),
        size(1.6),
        size(1.0),
        size(0.3)
    )
}

#[test]
fn small_and_large_parts_with_hostile_names_are_written_alike_every_time() {
    for factor in [1.0, 300.0] {
        let text = scaled(factor);
        let make = || {
            let job = Job::run(parse(&text).unwrap_or_else(|f| panic!("{f:#?}\n{text}")));
            let mut files = blank_files(&job.part, &job.blank, &Printing::default()).unwrap();
            files.extend(die_files(&job).unwrap());
            (job, files)
        };
        let (job, files) = make();
        assert!(job.tooling.is_ok(), "{factor}: {:#?}", job.tooling.err());
        assert_eq!(files, make().1);
        for name in ["plate.step", "lower.step", "upper.step"] {
            let file = files.iter().find(|file| file.name == name).unwrap();
            let text = std::str::from_utf8(&file.bytes).unwrap();
            assert!(text.is_ascii());
            assert!(text.contains("''; DROP \\\\ \"<&>\" \\X2\\00FC\\X0\\ \\X2\\65E5\\X0\\\\X2\\672C\\X0\\ \\X4\\0001F600\\X0\\"), "{}", &text[..600]);
            // Every entity that is named is there once.
            let made: Vec<usize> = text
                .lines()
                .filter_map(|line| line.strip_prefix('#')?.split(' ').next()?.parse().ok())
                .collect();
            let mut sorted = made.clone();
            sorted.sort_unstable();
            sorted.dedup();
            assert_eq!(sorted.len(), made.len());
            for named in text.split('#').skip(1) {
                let number: usize = named
                    .split(|c: char| !c.is_ascii_digit())
                    .next()
                    .unwrap()
                    .parse()
                    .unwrap();
                assert!(sorted.binary_search(&number).is_ok(), "{name}: #{number}");
            }
        }
    }
}

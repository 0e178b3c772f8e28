//! Ten thousand damaged part files: whatever is written, coldstep answers and never panics.

use coldstep::part::parse;
use coldstep::part::starter::STARTER;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};

const CASES: u32 = 10_000;

/// What a slip of the pen, a bad editor or malice may put in place of a value.
const VALUES: &[&str] = &[
    "nan",
    "inf",
    "-inf",
    "0",
    "-0.0",
    "-1",
    "1e300",
    "1e-300",
    "99999999999999999999",
    "0x10",
    "1,5",
    "\"\"",
    "\"x\"",
    "true",
    "[]",
    "[1]",
    "[1, 2]",
    "[[1, 2], [3, 4], [5, 0]]",
    "{}",
    "{ value = 1 }",
    "{ value = nan, plus_minus = -1 }",
    "2026-11-25",
    "\"\\u0000\"",
    "\"soft 1.0\"",
    "90",
    "90.0",
    "0.05",
    "40",
    "\"centred\"",
    "\"none\"",
    "500",
    "6.0",
    "0.1",
    "1000",
    "-1000",
    "[[0.5, 151.0], [1.0, 275.0]]",
    "{ value = 4.0, plus_minus = 4.0 }",
    "\"paste\"",
    "\"pad 2 mm\"",
];

/// Lines that may turn up anywhere.
const LINES: &[&str] = &[
    "[sheet]",
    "[[flat]]",
    "[[hole]]",
    "[[component]]",
    "[dies]",
    "[dies",
    "x_mm = ",
    "= 3",
    "\u{feff}",
    "\0",
    "tilt = \"centred\"",
    "cheeks = \"both\"",
    "end_stops = false",
    "size_error_mm = 1.0",
    "length_scale = 0.9",
    "step = { wall_angle_deg = 90.0, inside_radius_mm = 0.05 }",
    "outline_mm = [[0, 0], [9, 0], [0, 9], [9, 9]]",
    "k_table = [[1, 0.3], [1, 0.4]]",
    "[[tab]]\nedge = \"left\"\nfrom_mm = 0\nto_mm = 3\nlength_mm = 1000",
    "[[notch]]\nedge = \"front\"\nfrom_mm = 0\nto_mm = 3\ndepth_mm = 900",
    "[heat]",
    "[old_plate]\nthickness_mm = 0.8",
    "[[heat_pipe]]\nname = \"p\"\nx_mm = 20\ny_mm = 10\nsize_mm = [60, 8]\ntemperature_c = 60",
    "measured = [[0.5, 151.0], [1.0, 275.0], [1.0, 280.0]]",
    "heat_w = { value = 3.0, plus_minus = 0.5 }",
    "old_pad = \"pad 2 mm\"",
    "to_air_k_w = 0.3",
    "void_percent = 94.9",
    "a.b.c.d = 1",
    "[a.b]",
    "ß = \"ü\"",
];

#[derive(Debug, Clone)]
enum Damage {
    Value(usize, usize),
    Scale(usize, f64),
    Drop(usize),
    Double(usize),
    Swap(usize, usize),
    Insert(usize, usize),
    Cut(usize),
    Letter(usize, char),
}

fn damage() -> impl Strategy<Value = Damage> {
    let place = 0usize..10_000;
    prop_oneof![
        6 => (place.clone(), 0..VALUES.len()).prop_map(|(a, b)| Damage::Value(a, b)),
        14 => (place.clone(), prop::sample::select(vec![0.3, 0.8, 0.95, 1.05, 1.2, 2.0, 7.0]))
            .prop_map(|(a, b)| Damage::Scale(a, b)),
        2 => place.clone().prop_map(Damage::Drop),
        1 => place.clone().prop_map(Damage::Double),
        1 => (place.clone(), place.clone()).prop_map(|(a, b)| Damage::Swap(a, b)),
        2 => (place.clone(), 0..LINES.len()).prop_map(|(a, b)| Damage::Insert(a, b)),
        1 => place.clone().prop_map(Damage::Cut),
        2 => (place, any::<char>()).prop_map(|(a, b)| Damage::Letter(a, b)),
    ]
}

/// A line that gives a key a plain number.
fn number_of(line: &str) -> Option<(String, f64)> {
    let (key, rest) = line.split_once(" = ")?;
    let value = rest.split('#').next()?.trim().parse().ok()?;
    Some((key.to_owned(), value))
}

fn damaged(source: &str, damages: &[Damage]) -> String {
    let mut lines: Vec<String> = source.lines().map(str::to_owned).collect();
    for damage in damages {
        let count = lines.len().max(1);
        match *damage {
            Damage::Value(at, value) => {
                let keyed: Vec<usize> = (0..lines.len())
                    .filter(|i| lines[*i].contains(" = ") && !lines[*i].starts_with('#'))
                    .collect();
                if !keyed.is_empty() {
                    let line = &mut lines[keyed[at % keyed.len()]];
                    let key = line.split(" = ").next().unwrap_or("").to_owned();
                    *line = format!("{key} = {}", VALUES[value]);
                }
            }
            Damage::Scale(at, factor) => {
                let numbers: Vec<usize> = (0..lines.len())
                    .filter(|i| number_of(&lines[*i]).is_some())
                    .collect();
                if !numbers.is_empty() {
                    let line = &mut lines[numbers[at % numbers.len()]];
                    let (key, value) = number_of(line).unwrap();
                    *line = format!("{key} = {}", value * factor);
                }
            }
            Damage::Drop(at) if !lines.is_empty() => {
                lines.remove(at % count);
            }
            Damage::Double(at) if !lines.is_empty() => {
                let line = lines[at % count].clone();
                lines.insert(at % count, line);
            }
            Damage::Swap(a, b) if !lines.is_empty() => lines.swap(a % count, b % count),
            Damage::Insert(at, line) => lines.insert(at % count, LINES[line].to_owned()),
            Damage::Cut(at) => {
                let text = lines.join("\n");
                let cut: String = text.chars().take(at % (text.len() + 1)).collect();
                lines = cut.lines().map(str::to_owned).collect();
            }
            Damage::Letter(at, letter) if !lines.is_empty() => {
                let line = &mut lines[at % count];
                let place = at % (line.chars().count() + 1);
                *line = line
                    .chars()
                    .take(place)
                    .chain([letter])
                    .chain(line.chars().skip(place + 1))
                    .collect();
            }
            _ => {}
        }
    }
    lines.join("\n")
}

/// Temperatures take a third of a second: every so many good parts get theirs. `COLDSTEP_HEAT_EVERY=1` asks for all.
const HEAT_EVERY: u32 = 60;

fn heat_has_an_answer_or_a_reason(part: &coldstep::part::Part) -> Result<(), TestCaseError> {
    use coldstep::fit::Underside;
    match coldstep::heat::heat(part, &Underside::drawn(part), Underside::drawn) {
        Ok(heat) => {
            for one in &heat.value.parts {
                prop_assert!(one.inside_c.middle.is_finite(), "{one:?}");
                prop_assert!(one.inside_c.low <= one.inside_c.high, "{one:?}");
            }
            prop_assert!(heat.value.plate.grid.imbalance_w.abs() < 1e-6);
        }
        Err(findings) => {
            prop_assert!(!findings.is_empty());
            for finding in findings {
                prop_assert!(!finding.help.is_empty(), "no way out: {finding:?}");
            }
        }
    }
    Ok(())
}

#[test]
fn ten_thousand_damaged_files_never_panic() {
    let mut sources = vec![STARTER.to_owned()];
    let mut paths: Vec<_> = std::fs::read_dir("examples")
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    sources.extend(
        paths
            .iter()
            .map(|path| std::fs::read_to_string(path).unwrap()),
    );

    let config = Config {
        cases: CASES,
        failure_persistence: None,
        ..Config::default()
    };
    let mut runner =
        TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let given = std::env::var("COLDSTEP_HEAT_EVERY");
    let heat_every: u32 = given.map_or(HEAT_EVERY, |every| every.parse().unwrap());
    let taken = std::cell::Cell::new(0u32);
    let strategy = (0..sources.len(), prop::collection::vec(damage(), 1..4));
    runner
        .run(&strategy, |(which, damages)| {
            let text = damaged(&sources[which], &damages);
            match parse(&text) {
                Err(findings) => {
                    prop_assert!(!findings.is_empty());
                    for finding in &findings {
                        prop_assert!(!finding.message.is_empty());
                        if let Some(span) = &finding.span {
                            prop_assert!(
                                span.start <= span.end && span.end <= text.len(),
                                "{finding:?}"
                            );
                        }
                    }
                    let errors = findings
                        .iter()
                        .filter(|f| f.severity == coldstep::diagnostic::Severity::Error);
                    prop_assert!(
                        errors.clone().count() > 0,
                        "refused without an error: {findings:#?}\n{text}"
                    );
                    for error in errors {
                        prop_assert!(!error.help.is_empty(), "no way out: {error:?}");
                    }
                }
                Ok(part) => {
                    taken.set(taken.get() + 1);
                    let part = part.value;
                    coldstep::fit::fit(&part);
                    coldstep::blank::blank(&part);
                    if taken.get().is_multiple_of(heat_every) {
                        heat_has_an_answer_or_a_reason(&part)?;
                    }
                    let compensation = coldstep::forming::compensate(&part).value;
                    if let Err(refusals) = coldstep::dies::tooling(&part, &compensation) {
                        for refusal in refusals {
                            prop_assert!(
                                !refusal.message.contains("cannot be built"),
                                "{refusal:?}\n{text}"
                            );
                        }
                    }
                }
            }
            Ok(())
        })
        .unwrap_or_else(|error| panic!("{error}"));
    println!("{} of {CASES} were still good parts", taken.get());
    // The damage must be real, and must not always hit the syntax alone.
    assert!(
        (CASES / 50..CASES * 3 / 4).contains(&taken.get()),
        "{}",
        taken.get()
    );
}

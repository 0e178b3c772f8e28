//! `coldstep heat` as a user runs it: answer, JSON, pictures, and files that cannot be answered.

use crate::runs::{Ran, home_with, run};
use serde_json::Value;
use std::fs;
use std::path::Path;

const PICTURES: [&str; 4] = [
    "heat_ladder.svg",
    "heat_map.svg",
    "heat_pads.svg",
    "heat_parts.svg",
];

fn example() -> &'static str {
    include_str!("../../examples/three-levels.toml")
}

/// `make` into `out`, bend by bend.
#[track_caller]
fn made_in(home: &Path) -> Ran {
    let flags = ["--out", "out", "--springback", "bend-by-bend"];
    let ran = run(home, &[&["make", "part.toml"], flags.as_slice()].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    ran
}

fn heat_of(text: &str) -> Ran {
    run(home_with(text).path(), &["heat", "part.toml"])
}

/// The example with one piece replaced.
fn with(from: &str, to: &str) -> String {
    assert_eq!(example().matches(from).count(), 1, "{from}");
    example().replace(from, to)
}

/// The example without the tables of one name.
fn without(table: &str) -> String {
    let mut kept = String::new();
    let mut dropping = false;
    for line in example().lines() {
        if line.starts_with('[') {
            dropping = line.starts_with(table);
        }
        if !dropping {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    assert_ne!(kept.len(), example().len(), "{table}");
    kept
}

#[test]
fn the_answer_comes_first_and_the_pictures_are_written() {
    let home = home_with(example());
    let ran = run(home.path(), &["heat", "part.toml", "--out", "out"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("heat_text", ran.out);
    let mut names: Vec<String> = fs::read_dir(home.path().join("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, PICTURES);
    for name in PICTURES {
        let text = fs::read_to_string(home.path().join("out").join(name)).unwrap();
        roxmltree::Document::parse(&text).unwrap();
        assert!(text.len() < 400_000, "{name}: {}", text.len());
    }
    // Again: the same bytes.
    let before: Vec<Vec<u8>> = PICTURES
        .map(|name| fs::read(home.path().join("out").join(name)).unwrap())
        .into();
    let again = run(home.path(), &["heat", "part.toml", "--out", "out"]);
    assert_eq!(again.out, ran.out);
    let after: Vec<Vec<u8>> = PICTURES
        .map(|name| fs::read(home.path().join("out").join(name)).unwrap())
        .into();
    assert!(before == after);
}

#[test]
fn the_document_has_every_number_and_they_fit_together() {
    let home = home_with(example());
    let document = run(home.path(), &["heat", "part.toml", "--json"]).document();
    assert_eq!(document["ok"], true);
    let document = &document["heat"];
    assert_eq!(document["state"], "calculated");
    assert_eq!(document["gaps_of"], "pressed");
    let number = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("{value}"));
    let parts = document["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 7);
    for part in parts {
        let [new, old, change] = ["inside_c", "old_inside_c", "difference_k"].map(|key| &part[key]);
        for range in [new, old, change] {
            assert!(number(&range["low"]) <= number(&range["middle"]));
            assert!(number(&range["middle"]) <= number(&range["high"]));
        }
        let difference = number(&new["middle"]) - number(&old["middle"]);
        assert!((difference - number(&change["middle"])).abs() < 2e-6);
        let rungs = part["ladder"]["rungs"].as_array().unwrap();
        let sum: f64 = rungs.iter().map(|rung| number(&rung["kelvin"])).sum();
        assert!((sum - number(&new["middle"]) + number(&document["air_c"])).abs() < 1e-5);
        assert!(part["pad_curve"]["inside_c"].as_array().unwrap().len() > 10);
    }
    for plate in [&document["plate"], &document["old_plate"]] {
        assert_eq!(plate["grid"]["converged"], true);
        assert!(number(&plate["grid"]["change_k"]) < 0.1);
        assert!(number(&plate["grid"]["imbalance_w"]).abs() <= 1e-6);
        let [from, into, lost] =
            ["from_parts_w", "into_pipes_w", "lost_w"].map(|key| number(&plate[key]));
        assert!((from - into - lost).abs() < 1e-5, "{from} {into} {lost}");
    }
    assert!(document["improvements"].as_array().unwrap().len() >= 5);
    assert!(!document["cautions"].as_array().unwrap().is_empty());
}

#[test]
fn make_has_the_same_temperatures_in_its_document_and_its_pages() {
    let home = home_with(example());
    made_in(home.path());
    let text = fs::read_to_string(home.path().join("out/result.json")).unwrap();
    let made: Value = serde_json::from_str(&text).unwrap();
    let drawn = [
        "heat",
        "part.toml",
        "--springback",
        "bend-by-bend",
        "--json",
    ];
    let asked = run(home.path(), &drawn).document();
    assert_eq!(made["heat"]["parts"], asked["heat"]["parts"]);
    assert_eq!(made["heat"]["improvements"], asked["heat"]["improvements"]);
    let verdict = asked["heat"]["answer_text"].as_str().unwrap();
    let summary = fs::read_to_string(home.path().join("out/summary.txt")).unwrap();
    // The summary breaks its lines.
    let summary = summary.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(summary.contains(verdict), "{summary}");
    let page = fs::read_to_string(home.path().join("out/report.html")).unwrap();
    for name in PICTURES {
        assert!(home.path().join("out").join(name).exists(), "{name}");
        assert!(page.contains(name), "{name}");
    }
    assert!(page.contains(">Temperatures</h2>"));
}

#[test]
fn make_goes_on_without_temperatures_where_there_is_no_answer() {
    let home = home_with(&without("[[heat_pipe]]"));
    let ran = made_in(home.path());
    assert!(
        ran.err.contains("no temperatures: there is no heat pipe"),
        "{}",
        ran.err
    );
    assert!(!home.path().join("out/heat_map.svg").exists());
}

/// What is wrong, where it stands, and a way out, each with the words that must be said.
#[test]
fn what_cannot_be_answered_is_refused_with_a_way_out() {
    let off_the_plate =
        with("x_mm = 7.0\ny_mm = 8.0", "x_mm = -20.0\ny_mm = 8.0").replace("board_c", "# board_c");
    let cut = with(
        "edge = \"front\"\nfrom_mm = 19.5\nto_mm = 25.5\ndepth_mm = 5.0",
        "edge = \"front\"\nfrom_mm = 19.5\nto_mm = 25.5\ndepth_mm = 39.0",
    );
    for (what, text, said, place) in [
        (
            "no sink",
            without("[[heat_pipe]]"),
            "there is no heat pipe",
            false,
        ),
        (
            "no heat",
            example()
                .lines()
                .filter(|line| !line.starts_with("heat_w"))
                .collect::<Vec<_>>()
                .join("\n"),
            "no component says what heat it makes",
            false,
        ),
        (
            "negative heat",
            with("heat_w = 4.0", "heat_w = -4.0"),
            "cannot be negative: -4 W",
            true,
        ),
        (
            "zero conductivity",
            with("[heat]", "[material]\nconductivity_w_mk = 0.0\n\n[heat]"),
            "below the least",
            true,
        ),
        (
            "off the plate",
            off_the_plate,
            "Q1 makes 3.5 W, but no metal is above it",
            true,
        ),
        ("nearly cut in two", cut, "", false),
    ] {
        let ran = heat_of(&text);
        if said.is_empty() {
            // A bridge is left: it must have an answer, whatever it is.
            assert!(ran.code == 0 || ran.code == 1, "{what}: {}", ran.err);
            continue;
        }
        // What is refused has no answer; where only the temperatures are missing, the verdict says so. A part that lies
        // beside the plate has no gap either.
        let beside = what == "off the plate";
        let is_refused = place && !beside;
        assert_eq!(ran.code, i32::from(place), "{what}: {}", ran.err);
        if is_refused {
            assert_eq!(ran.out, "", "{what}");
        } else {
            let verdict = if beside { "NO: " } else { "YES, IF " };
            assert!(ran.out.starts_with(verdict), "{what}: {}", ran.out);
            assert!(ran.out.contains("No temperatures: "), "{what}: {}", ran.out);
        }
        assert!(ran.err.contains(said), "{what}: {}", ran.err);
        assert!(ran.err.contains("help:"), "{what}: {}", ran.err);
        assert_eq!(ran.err.contains("part.toml:"), place, "{what}: {}", ran.err);
    }
}

#[test]
fn a_limit_and_a_pipe_hotter_than_the_parts_are_findings_in_plain_words() {
    let ran = heat_of(&example().replace("limit_c = 95.0", "limit_c = 50.0"));
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("above its limit of 50 °C"), "{}", ran.err);
    assert!(ran.out.contains("ABOVE"), "{}", ran.out);

    let hot = example()
        .replace("other_heat_w = 45.0", "other_heat_w = 300.0")
        .replace("other_heat_w = 55.0", "other_heat_w = 300.0");
    let ran = heat_of(&hot);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(
        ran.err.contains("is hotter than the plate under it"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("the plate heats"), "{}", ran.err);
    assert!(ran.err.contains("above its limit of 100 °C"), "{}", ran.err);
}

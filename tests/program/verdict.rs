//! One verdict: headline, page, summary, document and exit code of every verb agree, over all combinations of what is known.

use crate::contract::agreed;
use crate::runs::run;
use coldstep::cli;
use coldstep::document::answer::summary;
use coldstep::forming::pressing::{Effort, Limit, Pressing, Task};
use coldstep::forming::strength::{VerdictOnNose, ViseCheck};
use coldstep::heat::{Heat, Range};
use coldstep::job::Job;
use coldstep::output::report::report;
use coldstep::output::text;
use coldstep::part::{parse, starter::STARTER};
use coldstep::result::{Found, Verb};
use coldstep::verdict::{Forces, State};
use serde_json::Value;
use std::fs;
use std::ops::ControlFlow;

/// An invented plate in one step; what varies stands in braces.
fn text(width_mm: f64, height_mm: f64, vise: &str) -> String {
    format!(
        "[part]\nname = \"tried plate\"\n\
         [sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 2.5\n\
         [plate]\nwidth_mm = {width_mm}\n\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 16.5\nunderside_mm = 1.75\n\
         [[flat]]\nname = \"high\"\nfrom_mm = 21.5\nto_mm = 40.0\nunderside_mm = 3.9\n\
         [[component]]\nname = \"Q1\"\nx_mm = 5\ny_mm = 8\nsize_mm = [5, 6]\nheight_mm = {height_mm}\n\
         [printer]\nplastic = \"pla\"\nbed_mm = [420, 420, 450]\n{vise}\n"
    )
}

fn vise(jaws: &str, force: &str) -> String {
    format!("[vise]\nopening_mm = 140\n{jaws}\n{force}")
}

/// What comes out of the vise, pressed once.
fn pressed() -> Pressing {
    let strong = vise("jaw_width_mm = 125\njaw_height_mm = 50", "force_n = 8000");
    let part = parse(&text(32.0, 0.5, &strong)).unwrap().value;
    let task = Task::of(&part).unwrap();
    let mut pressing = task
        .find(Effort::Quick, &mut |_| ControlFlow::Continue(()))
        .unwrap();
    assert!(pressing.converged);
    // As if the fine mesh had been asked, and the print were strong.
    pressing.presses = [12, 3];
    pressing.strength.nose.as_mut().unwrap().verdict = VerdictOnNose::Holds;
    pressing.force_limited = false;
    pressing
}

/// Temperatures of one part, calculated once.
fn heated() -> Heat {
    let mut heat = Job::read(STARTER).unwrap().heat.unwrap();
    heat.parts.truncate(1);
    heat.pipes.clear();
    heat.improvements.clear();
    heat.focus = 0;
    heat
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Pressed {
    Not,
    Meets,
    MissesRadii,
    MissesLittle,
    MissesFar,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Force {
    NoVise,
    Unknown,
    Weak,
    Greased,
    Strong,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Heated {
    NotAsked,
    Cool,
    Near,
    Over,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Jaws {
    Good,
    Unknown,
    Low,
    FarTooLow,
}

const PRESSED: [Pressed; 5] = [
    Pressed::Not,
    Pressed::Meets,
    Pressed::MissesRadii,
    Pressed::MissesLittle,
    Pressed::MissesFar,
];
const FORCE: [Force; 5] = [
    Force::NoVise,
    Force::Unknown,
    Force::Weak,
    Force::Greased,
    Force::Strong,
];
const HEATED: [Heated; 4] = [Heated::NotAsked, Heated::Cool, Heated::Near, Heated::Over];
const JAWS: [Jaws; 4] = [Jaws::Good, Jaws::Unknown, Jaws::Low, Jaws::FarTooLow];

fn missed(pressing: &mut Pressing, angle_deg: f64, shape_met: bool) {
    pressing.converged = false;
    pressing.shape_met = shape_met;
    let bend = &mut pressing.bends[0];
    bend.released_angle_deg = bend.target_angle_deg - angle_deg;
    bend.released_inside_radius_mm += 1.0;
    pressing.limits = vec![Limit {
        reason: "it was made to miss".into(),
        help: vec!["press it and measure".into()],
    }];
}

/// One job, as the library would come to it, and what its verdict must be.
fn made(
    base: &(Pressing, Heat),
    (pressed, force, fits, heated, jaws): (Pressed, Force, bool, Heated, Jaws),
) -> (Job, State) {
    let jaw = match jaws {
        Jaws::Good => "jaw_width_mm = 125\njaw_height_mm = 50",
        Jaws::Unknown => "jaw_width_mm = 125",
        Jaws::Low => "jaw_width_mm = 125\njaw_height_mm = 25",
        Jaws::FarTooLow => "jaw_width_mm = 125\njaw_height_mm = 12",
    };
    let needed_n = base.0.strength.needed_n;
    let (table, gives_n) = match force {
        Force::NoVise => (String::new(), None),
        Force::Unknown => (vise(jaw, ""), None),
        Force::Weak => (vise(jaw, "force_n = 500"), Some([500.0; 2])),
        Force::Greased => (vise(jaw, ""), Some([500.0, 2.0 * needed_n])),
        Force::Strong => (vise(jaw, "force_n = 40000"), Some([40e3; 2])),
    };
    let part = parse(&text(32.0, if fits { 0.5 } else { 3.0 }, &table)).unwrap();
    let mut pressing = base.0.clone();
    pressing.strength.vise = gives_n.map(|n| ViseCheck::of(n, needed_n));
    match pressed {
        Pressed::Not | Pressed::Meets => {}
        Pressed::MissesRadii => missed(&mut pressing, 0.0, true),
        Pressed::MissesLittle => missed(&mut pressing, 0.4, false),
        Pressed::MissesFar => missed(&mut pressing, 28.0, false),
    }
    let mut job = if pressed == Pressed::Not {
        Job::run(part)
    } else {
        Job::found(part, Ok(pressing), None).unwrap()
    };
    if heated != Heated::NotAsked {
        let mut heat = base.1.clone();
        let one = &mut heat.parts[0];
        one.inside_c = Range {
            middle: 80.0,
            low: 75.0,
            high: 85.0,
        };
        let limit_c = match heated {
            Heated::Over => 79.0,
            Heated::Near => 84.0,
            _ => 95.0,
        };
        one.limit_c = Some(limit_c);
        one.above_limit = limit_c < 80.0;
        job.heat = Some(heat);
    }
    let is_pressed = pressed != Pressed::Not;
    let has_vise = force != Force::NoVise;
    let no = !fits
        || heated == Heated::Over
        || (has_vise && jaws == Jaws::FarTooLow)
        || pressed == Pressed::MissesFar
        || (is_pressed && force == Force::Weak);
    let open = !is_pressed
        || pressed != Pressed::Meets
        || !matches!(force, Force::Strong)
        || heated == Heated::Near
        || jaws != Jaws::Good;
    let state = match (no, open) {
        (true, _) => State::No,
        (false, true) => State::YesIf,
        (false, false) => State::Yes,
    };
    (job, state)
}

fn state_word(state: State) -> &'static str {
    match state {
        State::Yes => "yes",
        State::YesIf => "yes-if",
        State::No => "no",
    }
}

/// Everything that tells the verdict of one job tells the same.
fn agrees(what: &str, job: &Job, expected: State) {
    let verdict = job.verdict();
    assert_eq!(verdict.state, expected, "{what}: {verdict:#?}");
    let head = match expected {
        State::Yes => "YES: \"",
        State::YesIf => "YES, IF ",
        State::No => "NO: \"",
    };
    let headline = verdict.headline.as_str();
    assert!(headline.starts_with(head), "{what}: {headline}");
    assert!(verdict.reasons.is_sorted_by_key(|reason| reason.forces));
    let count = verdict.that_force(Forces::No).count();
    assert_eq!(expected == State::No, count > 0, "{what}");
    if expected == State::YesIf {
        let first = verdict.reasons[0].condition.as_deref().unwrap();
        assert!(headline.contains(first), "{what}: {headline}");
    }
    let text = text::summary(&summary(job));
    assert_eq!(text.lines().next(), Some(headline), "{what}");

    let page = String::from_utf8(report(job, &[])).unwrap();
    let class = match expected {
        State::Yes => "class=\"answer\"",
        State::YesIf => "class=\"answer if\"",
        State::No => "class=\"answer no\"",
    };
    assert!(page.contains(class), "{what}");
    let shown = headline.replace('"', "&quot;").replace('\'', "&apos;");
    assert!(page.contains(&shown), "{what}: {headline}");

    let answer = cli::verdict::answer(job, "", &Found::about(Verb::Check, job, None), None);
    assert_eq!(answer.exit().code(), u8::from(expected == State::No));
    // The stream takes the colours away where nobody wants them.
    let said = anstream::adapter::strip_str(&answer.text).to_string();
    assert_eq!(said.lines().next(), Some(headline), "{what}");
    let document: Value = serde_json::from_str(&answer.document).unwrap();
    agreed(&document);
    assert_eq!(document["ok"], expected != State::No, "{what}");
    let told = &document["verdict"];
    assert_eq!(told["state"], state_word(expected), "{what}");
    assert_eq!(told["headline"], headline, "{what}");
    let reasons = told["reasons"].as_array().unwrap();
    assert_eq!(reasons.len(), verdict.reasons.len());
    for reason in reasons {
        assert!(reason["id"].is_string() && reason["text"].is_string());
        assert_eq!(reason["condition"].is_string(), reason["forces"] == "if");
        assert!(
            !reason["ways_out"].as_array().unwrap().is_empty(),
            "{reason}"
        );
    }
}

#[test]
fn all_combinations_are_told_the_same_everywhere() {
    let base = (pressed(), heated());
    let mut seen = [0; 3];
    let mut number = 0;
    for pressed in PRESSED {
        for force in FORCE {
            for fits in [true, false] {
                // Jaws and heat run through all pairs beside the others.
                for _ in 0..2 {
                    let jaws = JAWS[(number / 4 + number) % 4];
                    let heated = HEATED[number % 4];
                    number += 1;
                    let case = (pressed, force, fits, heated, jaws);
                    let (job, state) = made(&base, case);
                    agrees(&format!("{case:?}"), &job, state);
                    seen[state as usize] += 1;
                }
            }
        }
    }
    // The one in which nothing is open, too.
    let case = (
        Pressed::Meets,
        Force::Strong,
        true,
        Heated::Cool,
        Jaws::Good,
    );
    let (job, state) = made(&base, case);
    assert_eq!(state, State::Yes);
    agrees("all good", &job, state);
    assert!(number >= 60);
    assert!(seen[1] > 10 && seen[2] > 10, "{seen:?}");
}

/// Every verb with its flags for the same pressing.
const VERBS: [&[&str]; 5] = [
    &["check", "p.toml", "--springback", "quick"],
    &["dies", "p.toml", "--springback", "quick"],
    &["press", "p.toml", "--quick"],
    &["heat", "p.toml", "--springback", "quick"],
    &["make", "p.toml", "--springback", "quick", "--out", "x"],
];

/// What all verbs of the real program say of a part.
#[track_caller]
fn told(source: &str) -> Value {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("p.toml"), source).unwrap();
    let asks_heat = source.contains("heat_w");
    let mut all: Vec<(Value, i32)> = Vec::new();
    for args in VERBS {
        if args[0] == "heat" && !asks_heat {
            continue;
        }
        let ran = run(home.path(), args);
        let json = run(home.path(), &[args, &["--json"]].concat());
        assert_eq!(ran.code, json.code, "{args:?}");
        let document = json.document();
        assert_eq!(document["ok"], ran.code == 0, "{args:?}");
        let verdict = document["verdict"].clone();
        let headline = verdict["headline"].as_str().unwrap();
        assert_eq!(ran.out.lines().next(), Some(headline), "{args:?}");
        let second = ran.out.lines().skip(1);
        for line in second {
            let contradicts = ["YES:", "YES, IF", "NO:", "Yes:", "No:"];
            assert!(
                !contradicts.iter().any(|word| line.starts_with(word)),
                "{line}"
            );
        }
        all.push((verdict, ran.code));
    }
    let (verdict, code) = all.pop().unwrap();
    for other in &all {
        assert_eq!(*other, (verdict.clone(), code));
    }
    assert_eq!(code == 1, verdict["state"] == "no");
    let read = |name: &str| fs::read_to_string(home.path().join("x").join(name)).unwrap();
    let result: Value = serde_json::from_str(&read("result.json")).unwrap();
    assert_eq!(result["verdict"], verdict);
    let headline = verdict["headline"].as_str().unwrap();
    assert_eq!(read("summary.txt").lines().next(), Some(headline));
    let class = match verdict["state"].as_str().unwrap() {
        "yes" => "class=\"answer\"",
        "yes-if" => "class=\"answer if\"",
        _ => "class=\"answer no\"",
    };
    assert!(read("report.html").contains(class));
    verdict
}

fn ids(verdict: &Value) -> Vec<&str> {
    let reasons = verdict["reasons"].as_array().unwrap();
    reasons
        .iter()
        .map(|reason| reason["id"].as_str().unwrap())
        .collect()
}

const WIDE_JAWS: &str = "jaw_width_mm = 125\njaw_height_mm = 160";

/// A wall that hardly bends, because its vise is too weak for it.
#[test]
fn a_missed_wall_and_a_weak_vise_are_a_no() {
    let weak = told(&text(32.0, 0.5, &vise(WIDE_JAWS, "force_n = 900")));
    assert_eq!(weak["state"], "no");
    assert_eq!(ids(&weak)[..2], ["vise-too-weak", "wall-missed"]);
    assert!(weak["reasons"][1]["angle_deg"].as_f64().unwrap() > 10.0);
}

#[test]
fn noses_that_are_pressed_in_are_no_yes() {
    let soft = text(32.0, 0.5, &vise(WIDE_JAWS, "force_n = 60000"))
        .replace("[vise]", "compressive_yield_mpa = 20\n[vise]");
    let soft = told(&soft);
    assert_eq!(soft["state"], "no");
    assert!(ids(&soft).contains(&"noses-pressed-in"), "{soft}");
    // So soft that the noses are pressed back before they yield.
    let hollow = text(32.0, 0.5, &vise(WIDE_JAWS, "force_n = 60000")).replace(
        "[vise]",
        "infill_percent = 20\nyoungs_mpa = 60\ncompressive_yield_mpa = 200\n[vise]",
    );
    let hollow = told(&hollow);
    assert_eq!(hollow["state"], "no");
    let limit = hollow["reasons"][0]["limits"][0].as_str().unwrap();
    assert!(limit.contains("noses are too soft"), "{limit}");
    let way_out = hollow["reasons"][0]["ways_out"][0].as_str().unwrap();
    assert!(way_out.contains("infill_percent = 100"), "{way_out}");
}

#[test]
fn a_force_that_nobody_gave_is_the_first_condition() {
    let unknown = told(&text(22.0, 0.5, &vise(WIDE_JAWS, "")));
    assert_eq!(unknown["state"], "yes-if");
    assert_eq!(ids(&unknown)[0], "vise-force-unknown");
    let headline = unknown["headline"].as_str().unwrap();
    let needed = unknown["reasons"][0]["needed_n"].as_f64().unwrap();
    // The least of a common one: it is enough for this plate.
    assert!((7000.0..7100.0).contains(&needed), "{needed}");
    let start = format!(
        "YES, IF your vise gives {:.1} kN (a common one ",
        (needed / 100.0).ceil() / 10.0
    );
    assert!(headline.starts_with(&start), "{headline}");
}

#[test]
fn a_plate_wider_than_the_jaws_are_high_is_no_yes() {
    let jaws =
        |jaws: &str, width_mm: f64| told(&text(width_mm, 0.5, &vise(jaws, "force_n = 90000")));
    let low = jaws("jaw_width_mm = 125\njaw_height_mm = 20", 32.0);
    assert_eq!(low["state"], "yes-if");
    assert!(ids(&low).contains(&"jaws-too-low"), "{low}");
    let lower = jaws("jaw_width_mm = 125\njaw_height_mm = 15", 32.0);
    assert_eq!(lower["state"], "no");
    assert_eq!(ids(&lower)[0], "jaws-too-low");
    let wide = jaws("jaw_width_mm = 100", 146.0);
    assert_eq!(wide["state"], "yes-if");
    let unknown = ids(&wide).iter().position(|id| *id == "jaw-height-unknown");
    let needed = wide["reasons"][unknown.unwrap()]["needed_mm"].as_f64();
    assert!(needed.unwrap() > 146.0);
}

/// With heat, so that all five verbs are asked.
#[test]
fn heat_above_a_limit_is_a_no_of_every_verb() {
    let hot = STARTER.replace("heat_w = 3.0", "heat_w = 3.0\nlimit_c = 41.0");
    assert_ne!(hot, STARTER, "the starter has such a part");
    let hot = told(&hot);
    assert_eq!(hot["state"], "no");
    assert!(ids(&hot).contains(&"part-too-hot"), "{hot}");
    assert_eq!(told(STARTER)["state"], "yes-if");
}

#[test]
fn a_plate_without_a_step_asks_for_no_vise() {
    let flat = text(32.0, 0.5, "");
    let (head, rest) = flat.split_once("[[flat]]\nname = \"high\"").unwrap();
    let (_, rest) = rest.split_once("[[component]]").unwrap();
    let flat = told(&format!("{head}[[component]]{rest}"));
    assert_eq!(flat["state"], "yes");
    assert_eq!(ids(&flat), Vec::<&str>::new());
}

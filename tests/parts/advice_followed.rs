//! Refused parts whose first advice is followed to its end: it leads to a plate whose gaps are good, in two rounds at most.
//!
//! A handful by default. `COLDSTEP_ADVICE=200 cargo test --test parts advice -- --nocapture` follows 200 and prints the share.

use crate::random::Random;
use coldstep::change::Way;
use coldstep::diagnostic::Severity;
use coldstep::job::Job;
use coldstep::part::edit::set;
use coldstep::part::parse;
use coldstep::part::starter::STARTER;
use coldstep::propose;
use coldstep::verdict::{Forces, Why};
use std::fmt::Write as _;

/// Rounds that advice may take.
const ROUNDS: usize = 2;
/// Share that must be led out. 51 of the first 60 were: of the others most have two slips of the pen, one of which no single change
/// of the part file mends.
const LED_OUT: f64 = 0.8;

/// Keys that are changed: angles, runs, heights, radii, walls.
const KEYS: [&str; 6] = [
    "from_mm",
    "to_mm",
    "underside_mm",
    "height_mm",
    "inside_radius_mm",
    "step",
];
const FACTORS: [f64; 8] = [0.3, 0.6, 0.85, 0.93, 1.07, 1.2, 1.6, 3.0];

/// The first number of a line times a factor, in hundredths.
fn scaled(line: &str, factor: f64) -> Option<String> {
    let at = line.find('=')?;
    let begin = at + line[at..].find(|c: char| c.is_ascii_digit())?;
    let end = begin
        + line[begin..]
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(line.len() - begin);
    let number: f64 = line[begin..end].parse().ok()?;
    let number = (100.0 * factor * number).round() / 100.0;
    Some(format!("{}{number:?}{}", &line[..begin], &line[end..]))
}

fn changed(random: &mut Random, source: &str) -> String {
    let mut lines: Vec<String> = source.lines().map(str::to_owned).collect();
    let places: Vec<usize> = (0..lines.len())
        .filter(|at| {
            KEYS.iter()
                .any(|key| lines[*at].starts_with(&format!("{key} =")))
        })
        .collect();
    let changes = if random.share() < 0.7 { 1 } else { 2 };
    for _ in 0..changes {
        let at = *random.pick(&places);
        let factor = *random.pick(&FACTORS);
        if let Some(line) = scaled(&lines[at], factor) {
            lines[at] = line;
        }
    }
    lines.join("\n") + "\n"
}

/// Whether a plate is held up by its strip, its dies or its gaps; and the first advice then.
fn first_advice(source: &str) -> Option<(String, Option<Way>)> {
    match parse(source) {
        Err(refused) => {
            let refused = propose::tried(source, refused, None).unwrap();
            let said = refused.to_string();
            for (number, text) in numbers(&said) {
                assert!(number <= 4, "too many decimals: {text} in {said}");
            }
            let errors = refused.iter().filter(|one| one.severity == Severity::Error);
            let way = errors.flat_map(|one| &one.ways).next().cloned();
            Some((said, way))
        }
        Ok(part) => {
            let verdict = Job::run(part).mended().verdict();
            let held_up = verdict.that_force(Forces::No).any(|reason| {
                matches!(
                    reason.why,
                    Why::PartGap { .. } | Why::ObstacleNear { .. } | Why::DiesRefused { .. }
                )
            });
            let said = verdict
                .reasons
                .iter()
                .map(|reason| format!("{}\n  {}\n", reason.text, reason.ways_out.join("\n  ")));
            held_up.then(|| (said.collect(), verdict.changes().next().cloned()))
        }
    }
}

/// Numbers of a text with their decimals counted.
fn numbers(text: &str) -> Vec<(usize, &str)> {
    text.split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter_map(|word| Some((word.trim_end_matches('.').split_once('.')?.1.len(), word)))
        .collect()
}

#[test]
fn the_first_advice_leads_out_in_two_rounds() {
    let wanted = std::env::var("COLDSTEP_ADVICE").ok();
    let wanted: usize = wanted.and_then(|count| count.parse().ok()).unwrap_or(16);
    let examples = [
        STARTER,
        include_str!("../../examples/single-step.toml"),
        include_str!("../../examples/three-levels.toml"),
        include_str!("../../examples/extension-plate.toml"),
    ];
    let mut random = Random(0x5eed_0fad_71ce);
    let (mut followed, mut led_out, mut without) = (0, 0, 0);
    let mut rounds = [0; ROUNDS];
    while followed < wanted {
        let example = *random.pick(&examples);
        let begun = changed(&mut random, example);
        let Some(first) = first_advice(&begun) else {
            continue;
        };
        followed += 1;
        let mut story = format!("{}\n", first.0);
        let mut source = begun;
        let mut advice = Some(first);
        for ended in &mut rounds {
            let Some((_, Some(way))) = advice.clone() else {
                break;
            };
            source = set(&source, &way.edits).unwrap();
            advice = first_advice(&source);
            match &advice {
                Some((said, _)) => writeln!(story, "--> {}\n{said}", way.words).unwrap(),
                None => *ended += 1,
            }
            if advice.is_none() {
                break;
            }
        }
        match advice {
            None => led_out += 1,
            Some((_, way)) => {
                without += usize::from(way.is_none());
                println!("NOT LED OUT ({followed}):\n{story}");
            }
        }
    }
    let share = f64::from(led_out) / followed as f64;
    println!(
        "{led_out} of {followed} refused parts are led out ({:.0} %): {} in one round, {} in two; {without} end without advice",
        100.0 * share,
        rounds[0],
        rounds[1]
    );
    assert!(share >= LED_OUT, "{share}");
}

/// The starter with these texts replaced, and the first advice on it.
fn asked(changes: &[(&str, &str)]) -> String {
    let text = changes.iter().fold(STARTER.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    first_advice(&text).unwrap().0
}

#[test]
fn a_slip_that_makes_many_findings_is_one_question() {
    let one = asked(&[("x_mm = 27.0\ny_mm = 8.0", "x_mm = 8.0\ny_mm = 27.0")]);
    assert!(one.contains("[1] are x and y of L1 swapped?"), "{one}");
    let off = asked(&[("x_mm = 27.0\ny_mm = 8.0", "x_mm = 8.0\ny_mm = 37.0")]);
    assert!(!off.contains("are x and y of 5"), "{off}");
    let narrow = asked(&[("width_mm = 32.0", "width_mm = 3.2")]);
    assert!(narrow.contains("is its width in centimetres?"), "{narrow}");
    assert!(
        narrow.contains("[1] make the plate 32 mm wide: [plate]: width_mm = 32.0"),
        "{narrow}"
    );
    assert!(!narrow.contains("corner"), "{narrow}");
    // A low board is no board in inches.
    let low = asked(&[
        ("value = 0.95", "value = 0.15"),
        ("value = 3.1", "value = 0.19"),
    ]);
    assert!(!low.contains("inches"), "{low}");
}

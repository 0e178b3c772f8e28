//! A part as plain values: written as a file and read again, checked as a file is, and changed inside a file.

use coldstep::diagnostic::{Diagnostic, Refused};
use coldstep::part::edit::{Edit, set};
use coldstep::part::starter::STARTER;
use coldstep::part::value::{Key, Said, Shape, Takes, Value};
use coldstep::part::{Design, Part, design, parse, read};
use coldstep::quantity::Toleranced;
use std::fmt::Write as _;

const CASES: u64 = 1000;

/// A fixed stream of random numbers: the upper half of a linear congruential generator.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        u32::try_from(self.0 >> 32).unwrap()
    }

    fn below(&mut self, most: usize) -> usize {
        self.roll() as usize % most
    }

    fn one_in(&mut self, most: usize) -> bool {
        self.below(most) == 0
    }

    /// A number: mostly within the range of its key, now and then any there is.
    fn number(&mut self, takes: Takes) -> f64 {
        let share = f64::from(self.roll()) / f64::from(u32::MAX);
        match (takes, self.below(12)) {
            (_, 0) => f64::from_bits(u64::from(self.roll()) << 32 | u64::from(self.roll())),
            (_, 1) => share * 1e-6,
            (
                Takes::Within(a) | Takes::Measured(a, _) | Takes::Banded(a, _) | Takes::Pairs(a, _),
                n,
            ) => {
                let number = a.least + share * (a.most - a.least);
                if n < 6 {
                    (number * 100.0).round() / 100.0
                } else {
                    number
                }
            }
            _ => share,
        }
    }

    /// What is no number equals nothing, also not itself.
    fn finite(&mut self, takes: Takes) -> f64 {
        loop {
            let number = self.number(takes);
            if number.is_finite() {
                return number;
            }
        }
    }

    fn text(&mut self) -> String {
        const LETTERS: [&str; 16] = [
            "Q", "1", " ", "\"", "'", "\\", "ß", "µ", "漢", "🙂", "#", "=", "\u{7f}", "\t", "\n",
            "\\u0041",
        ];
        let plain = self.one_in(2);
        let count = self.below(9);
        (0..count)
            .map(|_| LETTERS[self.below(if plain { 2 } else { LETTERS.len() })])
            .chain(["x"])
            .collect()
    }

    fn said(&mut self, key: &'static Key) -> Said {
        let takes = key.takes;
        Said::Value(match key.shape {
            Shape::Number => Value::Number(self.finite(takes)),
            Shape::Toleranced => {
                let value = self.finite(takes);
                let plus_minus = self.one_in(2).then(|| self.finite(takes));
                Value::Toleranced(Toleranced { value, plus_minus })
            }
            Shape::Text => Value::Text(self.text()),
            Shape::Word(words) => Value::Text(words[self.below(words.len())].to_owned()),
            Shape::Switch => Value::Switch(self.one_in(2)),
            Shape::Numbers(count) => {
                Value::Numbers((0..count).map(|_| self.finite(takes)).collect())
            }
            Shape::OneOrTwo => match self.below(2) {
                0 => Value::Number(self.finite(takes)),
                _ => Value::Numbers(vec![self.finite(takes), self.finite(takes)]),
            },
            Shape::Pairs => {
                let count = self.below(5);
                let pair = |dice: &mut Self| [dice.finite(takes), dice.finite(takes)];
                Value::Pairs((0..count).map(|_| pair(self)).collect())
            }
            Shape::Table(keys) => return Said::Table(self.keys(keys)),
        })
    }

    fn keys(&mut self, keys: &'static [Key]) -> Vec<(&'static Key, Said)> {
        let often = 1 + self.below(4);
        keys.iter()
            .filter_map(|key| {
                let there = key.needed.is_some() && !self.one_in(20) || self.one_in(often);
                there.then(|| (key, self.said(key)))
            })
            .collect()
    }
}

/// TOML by the letter: every character that is not plain is written as its number.
fn toml(said: &Said) -> String {
    let list = |numbers: &[f64]| {
        let numbers: Vec<String> = numbers.iter().map(|n| format!("{n:?}")).collect();
        format!("[{}]", numbers.join(", "))
    };
    match said {
        Said::Table(keys) => {
            let keys: Vec<String> = keys
                .iter()
                .map(|(key, said)| format!("{} = {}", key.name, toml(said)))
                .collect();
            format!("{{ {} }}", keys.join(", "))
        }
        Said::Value(Value::Number(number)) => format!("{number:?}"),
        Said::Value(Value::Toleranced(number)) => match number.plus_minus {
            None => format!("{:?}", number.value),
            Some(plus_minus) => {
                format!(
                    "{{ plus_minus = {plus_minus:?}, value = {:?} }}",
                    number.value
                )
            }
        },
        Said::Value(Value::Text(text)) => {
            let letters: String = text
                .chars()
                .map(|c| match c {
                    'a'..='z' | 'A'..='Z' | '0'..='9' | '-' | ' ' => c.to_string(),
                    c => format!("\\U{:08X}", u32::from(c)),
                })
                .collect();
            format!("\"{letters}\"")
        }
        Said::Value(Value::Switch(switch)) => switch.to_string(),
        Said::Value(Value::Numbers(numbers)) => list(numbers),
        Said::Value(Value::Pairs(pairs)) => {
            let pairs: Vec<String> = pairs.iter().map(|pair| list(pair)).collect();
            format!("[{}]", pairs.join(", "))
        }
    }
}

/// What is said of a random part, and the design that is read of it.
fn random(seed: u64) -> (Design, String) {
    let mut dice = Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    for _ in 0..4 {
        dice.roll();
    }
    let mut said = Vec::new();
    let often = 1 + dice.below(3);
    for table in Design::TABLES {
        let count = match table.most {
            None => usize::from(table.needed.is_some() || dice.one_in(often)),
            Some(_) => dice.below(4) + usize::from(table.needed.is_some()),
        };
        for _ in 0..count {
            said.push((table, dice.keys(table.keys)));
        }
    }
    let mut text = String::new();
    for (table, keys) in &said {
        writeln!(text, "{}", table.title()).unwrap();
        for (key, said) in keys {
            writeln!(text, "{} = {}", key.name, toml(said)).unwrap();
        }
    }
    let design = read(&text).design;
    assert_eq!(design.said(), said, "{text}");
    (design, text)
}

fn placeless(findings: Vec<Diagnostic>) -> Vec<Diagnostic> {
    findings
        .into_iter()
        .map(Diagnostic::without_place)
        .collect()
}

/// Part and notes, or findings, all without places.
fn outcome(result: Result<coldstep::diagnostic::Noted<Part>, Refused>) -> String {
    match result {
        Ok(part) => {
            let shown = format!("{:?}", part.value);
            let mut bare = String::new();
            let mut rest = shown.as_str();
            while let Some(at) = rest.find("span: ") {
                bare += &rest[..at + 6];
                let after = &rest[at + 6..];
                let end = after.find([',', '}']).unwrap();
                bare += if after.starts_with("None") {
                    "None"
                } else {
                    "some"
                };
                rest = &after[end..];
            }
            format!("{bare}{rest}\n{:#?}", placeless(part.notes))
        }
        Err(findings) => format!("{:#?}", placeless(findings.0)),
    }
}

fn examples() -> Vec<String> {
    let mut texts = vec![STARTER.to_owned()];
    for folder in ["examples", "tests/heavy/parts", "tests/heavy/paper/parts"] {
        let paths = std::fs::read_dir(folder).unwrap();
        let mut paths: Vec<_> = paths.map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        let toml = |path: &&std::path::PathBuf| path.extension().is_some_and(|e| e == "toml");
        texts.extend(
            paths
                .iter()
                .filter(toml)
                .map(|path| std::fs::read_to_string(path).unwrap()),
        );
    }
    texts
}

#[test]
fn a_thousand_random_designs_are_written_and_read_again() {
    let mut odd_names = 0;
    for seed in 0..CASES {
        let (design, _) = random(seed);
        let written = design.to_toml();
        let again = read(&written);
        assert_eq!(again.design, design, "{written}");
        odd_names += usize::from(written.contains('\\'));
    }
    assert!(odd_names > 100, "{odd_names}");
}

#[test]
fn a_program_is_told_what_a_file_is_told() {
    let mut findings = 0;
    for seed in 0..CASES {
        let (design, _) = random(seed);
        let by_program = Part::of(&design);
        let by_file = parse(&design.to_toml());
        findings += by_program.as_ref().err().map_or(0, |refused| refused.len());
        assert_eq!(
            outcome(by_program),
            outcome(by_file),
            "{}",
            design.to_toml()
        );
    }
    assert!(findings > 1000, "{findings}");
}

#[test]
fn the_examples_made_by_a_program_are_the_same_parts() {
    let texts = examples();
    assert!(texts.len() > 8);
    for text in texts {
        let design = read(&text).design;
        let by_file = parse(&text);
        assert!(by_file.is_ok());
        let by_program = Part::of(&design);
        let notes = &by_program.as_ref().unwrap().notes;
        assert!(
            notes
                .iter()
                .all(|note| note.span.is_none() && note.related.is_empty())
        );
        assert_eq!(outcome(by_program), outcome(by_file));
        assert_eq!(outcome(parse(&design.to_toml())), outcome(parse(&text)));
    }
}

#[test]
fn later_findings_of_a_program_made_part_have_no_place() {
    // A step whose springback is doubtful, and dies that no bed holds.
    let text = STARTER
        .replace(
            "bed_mm = [220.0, 220.0, 250.0]",
            "bed_mm = [20.0, 20.0, 20.0]",
        )
        .replace("jaw_width_mm = 125.0", "jaw_width_mm = 10.0");
    let design = read(&text).design;
    let [by_file, by_program] = [parse(&text), Part::of(&design)].map(|part| part.unwrap().value);
    let findings = |part: &Part| {
        let compensation = coldstep::forming::compensate(part);
        let mut found = compensation.notes.clone();
        match coldstep::dies::tooling(part, &compensation.value) {
            Ok(tooling) => found.extend(tooling.notes),
            Err(refusals) => found.extend(refusals),
        }
        found
    };
    let [by_file, by_program] = [findings(&by_file), findings(&by_program)];
    assert!(by_file.iter().any(|finding| finding.span.is_some()));
    assert!(by_program.iter().all(|finding| finding.span.is_none()));
    assert_eq!(placeless(by_file), placeless(by_program));
}

fn good() -> Design {
    read(STARTER).design
}

fn messages(design: &Design) -> Vec<String> {
    let findings = Part::of(design).unwrap_err();
    for finding in &findings {
        assert!(
            finding.span.is_none() && finding.related.is_empty(),
            "{finding:?}"
        );
        assert!(!finding.help.is_empty(), "{finding:?}");
    }
    findings
        .into_iter()
        .map(|finding| finding.message)
        .collect()
}

#[test]
fn what_no_file_would_say_is_refused_too() {
    let mut design = good();
    design.flats[0].to_mm = Some(f64::NAN);
    design.components[0].height_mm = Some(Toleranced::exact(f64::INFINITY));
    design.components[1].name = Some("a".repeat(10_000));
    design.components[2].name = Some("L\n1".into());
    design.components[3].heat_w = Some(Toleranced {
        value: 1.0,
        plus_minus: Some(2.0),
    });
    design.plate.as_mut().unwrap().width_mm = Some(-1.0);
    assert_eq!(
        messages(&design),
        [
            "a plate width cannot be negative: -1 mm",
            "a place on the board cannot be 'nan' (not a number)",
            "a height above the board cannot be infinite",
            "`name` is longer than 60 characters",
            "`name` holds a control character (a line break or a tab, for example)",
            "`heat_w` of 1 ± 2 could be as little as -1",
        ]
    );
    let mut crossing = good();
    crossing.flats[1].from_mm = Some(10.0);
    assert!(
        messages(&crossing)[0]
            .contains("begins at 10 mm, but the flat before it ends only at 16.5 mm")
    );
    let mut many = good();
    many.components = vec![many.components[0].clone(); 10_000];
    assert_eq!(
        messages(&many),
        ["10000 [[component]] tables; coldstep takes at most 2000"]
    );
    assert_eq!(
        messages(&Design::default()),
        [
            "the part file has no [sheet]",
            "the part file has no [plate]",
            "the part file has no [[flat]]",
            "the part file has no [[component]]",
        ]
    );
    let empty = Design {
        flats: vec![design::Flat::default()],
        ..good()
    };
    assert_eq!(messages(&empty)[0], "this [[flat]] has no `name`");
}

#[test]
fn places_are_where_the_values_stand() {
    let file = read(STARTER);
    let text = |span: Option<&std::ops::Range<usize>>| span.map(|span| &STARTER[span.clone()]);
    assert_eq!(text(file.places.value("flat", 1, "to_mm")), Some("40.0"));
    assert_eq!(text(file.places.table("flat", 1)), Some("[[flat]]"));
    assert_eq!(file.places.value("flat", 2, "to_mm"), None);
    assert_eq!(file.findings(), []);
}

/// Values of a file that one can be written over, each with another that its key takes too.
fn changes(design: &Design) -> Vec<Edit> {
    let mut changes = Vec::new();
    let mut counts = std::collections::BTreeMap::new();
    for (table, keys) in design.said() {
        let count = counts.entry(table.name).or_insert(0);
        for (key, said) in keys {
            let value = match (said, key.takes) {
                (Said::Value(Value::Number(n)), Takes::Within(a)) => {
                    Value::Number(if n == a.most {
                        a.least
                    } else {
                        0.5 * (n + a.most)
                    })
                }
                (
                    Said::Value(Value::Toleranced(t)),
                    Takes::Measured(a, _) | Takes::Banded(a, _),
                ) => Value::Number(0.5 * (t.value + a.most)),
                (Said::Value(Value::Text(_)), Takes::Name) => "it's \"new\" \\ µ".into(),
                (Said::Value(Value::Switch(switch)), _) => (!switch).into(),
                _ => continue,
            };
            let mut change = Edit::new(table.name, *count, key.name, true);
            change.value = Some(value);
            changes.push(change);
        }
        *count += 1;
    }
    changes
}

#[test]
fn a_change_in_a_file_changes_its_line_alone() {
    let mut tried = 0;
    for text in examples() {
        for text in [
            text.clone(),
            text.replace('\n', "\r\n"),
            text.trim_end().to_owned(),
        ] {
            assert_eq!(set(&text, &[]).as_ref(), Ok(&text), "nothing changed");
            let file = read(&text);
            for change in changes(&file.design) {
                let edited = set(&text, std::slice::from_ref(&change)).unwrap();
                let at = file
                    .places
                    .value(&change.table, change.number, &change.key)
                    .unwrap();
                let line = text[..at.start].matches('\n').count();
                let (old, new): (Vec<_>, Vec<_>) =
                    (text.split('\n').collect(), edited.split('\n').collect());
                assert_eq!(old.len(), new.len(), "{change:?}");
                let differ: Vec<usize> = (0..old.len()).filter(|i| old[*i] != new[*i]).collect();
                assert_eq!(differ, [line], "{change:?}");
                // On that line the value alone: key and comment stay.
                let rest = old[line].split_once('#').map_or("", |(_, rest)| rest);
                assert!(new[line].ends_with(rest), "{}", new[line]);
                assert!(new[line].starts_with(change.key.as_str()), "{}", new[line]);
                tried += 1;
            }
        }
    }
    assert!(tried > 1000, "{tried}");
}

#[test]
fn what_is_written_is_what_was_asked_for() {
    let edited = set(
        STARTER,
        &[
            Edit::new("flat", 1, "to_mm", 41.05),
            Edit::new("component", 2, "height_mm", 3.2),
            Edit::new(
                "component",
                0,
                "height_mm",
                Toleranced {
                    value: 1.0,
                    plus_minus: Some(0.02),
                },
            ),
            Edit::new("component", 4, "heat_w", 0.25),
            Edit::new("flat", 1, "step.inside_radius_mm", 1.5),
            Edit::new("material", 0, "proof_mpa", 80.0),
            Edit {
                value: None,
                ..Edit::new("component", 1, "old_gap_mm", 0.0)
            },
        ],
    )
    .unwrap();
    let mut wanted = good();
    wanted.flats[1].to_mm = Some(41.05);
    wanted.components[2].height_mm = Some(Toleranced {
        value: 3.2,
        plus_minus: Some(0.1),
    });
    wanted.components[0].height_mm = Some(Toleranced {
        value: 1.0,
        plus_minus: Some(0.02),
    });
    wanted.components[4].heat_w = Some(Toleranced::exact(0.25));
    wanted.flats[1].step = Some(design::Step {
        wall_angle_deg: None,
        inside_radius_mm: Some(coldstep::part::value::Radii([1.5; 2])),
        keep_radius: None,
    });
    wanted.material = Some(design::Material {
        proof_mpa: Some(80.0),
        ..Default::default()
    });
    wanted.components[1].old_gap_mm = None;
    assert_eq!(read(&edited).design, wanted, "{edited}");
    // No comment is lost but that on the line that was taken away, which had none.
    for line in STARTER.lines().filter(|line| line.contains('#')) {
        let comment = &line[line.find('#').unwrap()..];
        assert!(edited.contains(comment), "{comment}");
    }
}

#[test]
fn tables_written_in_one_line_can_be_changed_too() {
    let text = "flat = [{ name = \"a\", from_mm = 0, to_mm = 9 }, { name = \"b\", to_mm = 20 }] # all\nplate = { width_mm = 20 }\n";
    let edited = set(
        text,
        &[
            Edit::new("flat", 1, "to_mm", 21.5),
            Edit::new("plate", 0, "width_mm", 25.0),
        ],
    )
    .unwrap();
    assert_eq!(
        edited,
        text.replace("to_mm = 20 ", "to_mm = 21.5 ")
            .replace("width_mm = 20", "width_mm = 25.0")
    );
}

#[test]
fn changes_that_cannot_be_are_refused_with_kind_words() {
    let refused = |change: Edit| {
        let findings = set(STARTER, &[change]).unwrap_err();
        let [finding] = &findings[..] else {
            panic!("one finding: {findings:#?}")
        };
        assert!(finding.span.is_none());
        format!("{}; {}", finding.message, finding.help.join("; "))
    };
    for (change, words) in [
        (
            Edit::new("flats", 0, "to_mm", 1.0),
            vec!["no table `flats`", "did you mean `flat`?"],
        ),
        (
            Edit::new("flat", 0, "tomm", 1.0),
            vec!["[[flat]] has no key `tomm`", "did you mean `to_mm`?"],
        ),
        (
            Edit::new("flat", 0, "step", 1.0),
            vec!["`step` of `flat` is a table with keys of its own"],
        ),
        (
            Edit::new("flat", 0, "name.x", 1.0),
            vec!["[[flat]] has no key `name.x`"],
        ),
        (
            Edit::new("flat", 2, "to_mm", 50.0),
            vec!["has 2 [[flat]]", "number 2 counted from 0"],
        ),
        (Edit::new("notch", 0, "to_mm", 5.0), vec!["no [[notch]]"]),
        (
            Edit::new("flat", 0, "to_mm", f64::NAN),
            vec!["cannot be 'nan'"],
        ),
        (
            Edit::new("flat", 0, "to_mm", 1e9),
            vec!["above the most", "give a place on the board from"],
        ),
        (
            Edit::new("flat", 0, "to_mm", "far"),
            vec!["`to_mm` should be a number, found a text"],
        ),
        (
            Edit::new("component", 0, "kind", "coil"),
            vec!["`kind` does not know \"coil\""],
        ),
        (
            Edit::new("component", 0, "name", "a\nb"),
            vec!["control character"],
        ),
        (
            Edit {
                value: None,
                ..Edit::new("flat", 0, "to_mm", 0.0)
            },
            vec!["this [[flat]] has no `to_mm`"],
        ),
    ] {
        let said = refused(change);
        for words in words {
            assert!(said.contains(words), "\"{words}\" not in: {said}");
        }
    }
    // All at once, and a file that is no TOML is refused as it is read.
    let two = [
        Edit::new("flats", 0, "to_mm", 1.0),
        Edit::new("flat", 0, "tomm", 1.0),
    ];
    assert_eq!(set(STARTER, &two).unwrap_err().len(), 2);
    let broken = "[flat\nto_mm = 1,5\n";
    assert!(
        !set(broken, &[Edit::new("flat", 0, "to_mm", 1.0)])
            .unwrap_err()
            .is_empty()
    );
}

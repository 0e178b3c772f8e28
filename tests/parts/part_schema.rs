//! The JSON Schema of the part file, asked by an independent validator.

use coldstep::part::starter::STARTER;
use coldstep::part::{parse, schema};
use jsonschema::Validator;
use serde_json::Value;

const CHECKED_IN: &str = "schema/part.json";

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).unwrap()
}

/// A part file as the JSON that editors see of it.
fn json(text: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap()
}

/// The starter with its commented lines switched on.
fn switched_on() -> String {
    let lines = STARTER.lines().map(|line| {
        let bare = line.strip_prefix("# ").unwrap_or(line);
        let is_key = bare.starts_with('[')
            || bare
                .split_once(" = ")
                .is_some_and(|(key, _)| key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'));
        if is_key { bare } else { line }
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn good_files() -> Vec<(String, String)> {
    let mut files = vec![
        ("the starter".to_owned(), STARTER.to_owned()),
        ("the starter, all of it".to_owned(), switched_on()),
    ];
    for folder in ["examples", "tests/heavy/parts", "tests/heavy/paper/parts"] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "toml") {
                let text = std::fs::read_to_string(&path).unwrap();
                files.push((path.display().to_string(), text));
            }
        }
    }
    assert!(files.len() > 8, "{}", files.len());
    files
}

#[test]
fn the_checked_in_schema_is_the_one_that_is_printed() {
    let printed = format!("{:#}\n", schema());
    let checked_in = std::fs::read_to_string(CHECKED_IN).unwrap_or_default();
    assert!(
        checked_in == printed,
        "{CHECKED_IN} is old; renew it: cargo run -- schema part > {CHECKED_IN}"
    );
}

#[test]
fn it_is_a_schema() {
    jsonschema::draft202012::meta::validate(&schema()).unwrap();
}

#[test]
fn good_part_files_keep_to_it() {
    let validator = validator();
    for (name, text) in good_files() {
        let json = json(&text);
        let errors: Vec<String> = validator
            .iter_errors(&json)
            .map(|error| format!("{}: {error}", error.instance_path))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}

#[test]
fn broken_ones_do_not_and_coldstep_refuses_them_too() {
    let validator = validator();
    let all = switched_on();
    for (from, to) in [
        // Wrong words.
        ("material = \"copper\" ", "material = \"cooper\" "),
        ("kind = \"power-stage\"", "kind = \"power_stage\""),
        ("tilt = \"auto\"", "tilt = \"Auto\""),
        // Wrong keys and tables.
        ("width_mm = 32.0", "widht_mm = 32.0"),
        ("[heat]", "[heta]"),
        ("0.95, plus_minus = 0.05", "0.95, plusminus = 0.05"),
        // Out of range.
        ("thickness_mm = 1.0\ninside", "thickness_mm = 10.0\ninside"),
        ("height_mm = { value = 0.95", "height_mm = { value = -0.95"),
        ("0.95, plus_minus = 0.05", "0.95, plus_minus = 50"),
        ("bed_mm = [220.0, 220.0, 250.0]", "bed_mm = [220.0, 220.0]"),
        (
            "bed_mm = [220.0, 220.0, 250.0]",
            "bed_mm = [220.0, 220.0, 1.0]",
        ),
        ("measured = [[1.0, 275.0]", "measured = [[1.0, 0.0]"),
        ("measured = [[1.0, 275.0]", "measured = [[1.0, 275.0, 3.0]"),
        // Wrong types.
        ("x_mm = 36.0", "x_mm = \"36.0\""),
        ("pins = true", "pins = 1"),
        ("name = \"Q2\"", "name = 2"),
        // Names.
        ("name = \"Q2\"", "name = \" \""),
        ("name = \"Q2\"", "name = \"Q\\t2\""),
        (
            "name = \"Q2\"",
            "name = \"a name of more than sixty characters is longer than any drawing\"",
        ),
        // Missing.
        ("name = \"Q2\"", ""),
        ("material = \"copper\" ", "# "),
    ] {
        assert!(all.contains(from), "{from}");
        let broken = all.replacen(from, to, 1);
        assert!(
            !validator.is_valid(&json(&broken)),
            "{to} keeps to the schema"
        );
        assert!(parse(&broken).is_err(), "{to} is taken by coldstep");
    }
    // Whole tables missing.
    for text in ["", "[sheet]\nmaterial = \"copper\"\nthickness_mm = 1.0\n"] {
        assert!(!validator.is_valid(&json(text)));
    }
}

/// At both ends of every range and a little outside, schema and coldstep say the same of every number.
#[test]
fn ranges_are_those_of_the_reader() {
    use coldstep::part::value::{Shape, Takes};
    use coldstep::part::{Design, read};
    let validator = validator();
    let mut asked = 0;
    for table in Design::TABLES {
        for key in table.keys {
            let (Shape::Number, Takes::Within(allowed)) = (key.shape, key.takes) else {
                continue;
            };
            for (value, inside) in [
                (allowed.least, true),
                (allowed.most, true),
                (allowed.least - 1e-9, false),
                (allowed.most + 1e-9 * allowed.most, false),
            ] {
                let text = format!("{}\n{} = {value:?}\n", table.title(), key.name);
                let instance = json(&text);
                // Only this key counts: what else the file lacks is said elsewhere.
                let path = format!("/{}/{}", table.name, key.name);
                let path = match table.most {
                    Some(_) => path.replacen(table.name, &format!("{}/0", table.name), 1),
                    None => path,
                };
                let errors = validator.iter_errors(&instance);
                let said = errors
                    .filter(|error| error.instance_path.to_string() == path)
                    .count();
                assert_eq!(said == 0, inside, "{text}");
                let about = |place: &std::ops::Range<usize>| text.get(place.clone());
                let found = read(&text).findings();
                let refused = found.iter().any(|finding| {
                    finding.span.as_ref().and_then(about) == Some(format!("{value:?}").as_str())
                });
                assert_eq!(!refused, inside, "{text}{found:#?}");
                asked += 1;
            }
        }
    }
    assert!(asked > 200, "{asked}");
}

#[test]
fn every_key_and_table_has_a_sentence() {
    for table in coldstep::part::Design::TABLES {
        assert!(table.about.ends_with(['.', ';']), "{}", table.name);
        for key in table.keys {
            assert!(
                key.about.len() > 8 && key.about.ends_with('.'),
                "{}",
                key.name
            );
        }
    }
}

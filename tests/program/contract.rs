//! The JSON document keeps to its schema: that schema is the one checked in, an independent validator reads every document of
//! these tests with it, and a document made wrong is refused.

use crate::runs::{home_with, run};
use coldstep::part::starter::STARTER;
use coldstep::result::findings::IDS;
use coldstep::result::schema::result_schema;
use jsonschema::Validator;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use std::fs;
use std::sync::OnceLock;

const SCHEMA: &str = include_str!("../../schema/result.json");
const EXAMPLES: [&str; 3] = ["extension-plate", "single-step", "three-levels"];

fn example(name: &str) -> String {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    fs::read_to_string(format!("{folder}/{name}.toml")).unwrap()
}

/// Definitions that others add keys to: they alone cannot say what is too much.
fn added_to(schema: &Value, found: &mut BTreeSet<String>) {
    if let Value::Object(map) = schema
        && let Some(Value::String(name)) = map.get("$ref")
        && map.contains_key("properties")
    {
        found.insert(name.rsplit('/').next().unwrap().to_owned());
    }
    match schema {
        Value::Object(map) => map.values().for_each(|one| added_to(one, found)),
        Value::Array(list) => list.iter().for_each(|one| added_to(one, found)),
        _ => {}
    }
}

/// Refuses keys that are not described. Readers should not: a key may be added without a new version.
fn strict(schema: &mut Value) {
    match schema {
        Value::Array(list) => list.iter_mut().for_each(strict),
        Value::Object(map) => strict_object(map),
        _ => {}
    }
}

fn strict_object(map: &mut Map<String, Value>) {
    let is_object = map.contains_key("properties");
    let has_more = ["$ref", "oneOf", "anyOf"]
        .iter()
        .any(|key| map.contains_key(*key));
    for (key, inner) in map.iter_mut() {
        match key.as_str() {
            "properties" => {
                let properties = inner.as_object_mut().unwrap();
                properties.values_mut().for_each(strict);
            }
            // Branches of an object that has keys of its own are judged together with it.
            "oneOf" | "anyOf" if is_object => {}
            "$defs" => {}
            _ => strict(inner),
        }
    }
    if is_object {
        let key = if has_more {
            "unevaluatedProperties"
        } else {
            "additionalProperties"
        };
        map.insert(key.to_owned(), Value::Bool(false));
    }
}

fn validator() -> &'static Validator {
    static ONCE: OnceLock<Validator> = OnceLock::new();
    ONCE.get_or_init(|| {
        let mut schema: Value = serde_json::from_str(SCHEMA).unwrap();
        let mut open = BTreeSet::new();
        added_to(&schema, &mut open);
        assert!(open.contains("Pressed"), "{open:?}");
        strict(&mut schema);
        for (name, definition) in schema["$defs"].as_object_mut().unwrap() {
            if open.contains(name) {
                let properties = definition["properties"].as_object_mut().unwrap();
                properties.values_mut().for_each(strict);
            } else {
                strict(definition);
            }
        }
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        jsonschema::draft202012::new(&schema).unwrap()
    })
}

/// What is wrong with a document, one line each.
fn faults(document: &Value) -> Vec<String> {
    validator()
        .iter_errors(document)
        .map(|error| {
            let said: String = error.to_string().chars().take(300).collect();
            format!("{}: {said}", error.instance_path)
        })
        .collect()
}

/// A document keeps to the schema, has this version, and says nothing that the schema does not know.
#[track_caller]
pub fn agreed(document: &Value) {
    let faults = faults(document);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!(document["schema"], 2);
    for finding in document["findings"].as_array().unwrap() {
        assert!(IDS.iter().any(|(id, _)| finding["id"] == *id), "{finding}");
    }
}

#[test]
fn the_schema_checked_in_is_that_of_the_types() {
    let now: Value = serde_json::from_str(&result_schema()).unwrap();
    let checked_in: Value = serde_json::from_str(SCHEMA).unwrap();
    assert!(
        now == checked_in,
        "renew it: cargo run -- schema result > schema/result.json"
    );
    let home = tempfile::tempdir().unwrap();
    let ran = run(home.path(), &["schema", "result"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(serde_json::from_str::<Value>(&ran.out).unwrap(), now);
}

#[test]
fn every_key_of_the_schema_is_described() {
    fn without(schema: &Value, place: &str, found: &mut Vec<String>) {
        match schema {
            Value::Object(map) => {
                for (key, inner) in map {
                    let place = format!("{place}/{key}");
                    if key == "properties" {
                        for (name, one) in inner.as_object().unwrap() {
                            // A tag is described by its branch.
                            if one.get("description").is_none() && one.get("const").is_none() {
                                found.push(format!("{place}/{name}"));
                            }
                        }
                    }
                    without(inner, &place, found);
                }
            }
            Value::Array(list) => list.iter().for_each(|one| without(one, place, found)),
            _ => {}
        }
    }
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let mut found = Vec::new();
    without(&schema, "", &mut found);
    // Numbers of a reason are named by what they are, with their units; its text says the rest.
    found.retain(|place| !place.starts_with("/$defs/Reason/oneOf/"));
    assert_eq!(found, Vec::<String>::new());
    assert!(!SCHEMA.contains("`None`"), "null in JSON");
}

/// Every verb on every example; quick where that is asked for, else bend by bend.
#[test]
fn every_verb_keeps_to_it_on_every_example() {
    for name in EXAMPLES {
        let home = home_with(&example(name));
        for args in [
            &["check", "part.toml"] as &[&str],
            &["check", "part.toml", "--springback", "bend-by-bend"],
            &["blank", "part.toml", "--out", "b"],
            &["dies", "part.toml", "--springback", "bend-by-bend"],
            &["heat", "part.toml"],
            &["make", "part.toml", "--springback", "bend-by-bend"],
            &["make", "part.toml", "--springback", "quick"],
        ] {
            let args = [args, &["--json"]].concat();
            let ran = run(home.path(), &args);
            assert!(ran.code < 2, "{name}: {args:?}: {}", ran.err);
            let document = ran.document();
            assert_eq!(document["verb"], args[0]);
            assert_eq!(document["ok"], ran.code == 0);
            assert_eq!(document["mark"], "written by coldstep");
        }
    }
}

#[test]
fn a_verb_writes_a_slice_of_what_make_writes() {
    let home = home_with(&example("single-step"));
    let quick = ["--springback", "quick", "--json"];
    let of = |verb: &str, flags: &[&str]| {
        let args = [&[verb, "part.toml"], flags].concat();
        run(home.path(), &args).document()
    };
    let make = of("make", &quick);
    for (verb, flags) in [
        ("check", &quick as &[&str]),
        ("dies", &quick),
        ("heat", &quick),
        ("press", &["--quick", "--json"]),
        ("blank", &quick),
    ] {
        let slice = of(verb, flags);
        let own = slice.as_object().unwrap();
        let mut sections = 0;
        for (key, value) in own {
            // Without the pressing there are fewer findings.
            if matches!(key.as_str(), "verb" | "files") || verb == "blank" && key == "findings" {
                continue;
            }
            assert_eq!(&make[key], value, "{verb}: {key}");
            sections += 1;
        }
        assert!(sections > 4, "{verb}: {sections}");
    }
    let changes = make["press"]["sensitivities"].as_array().unwrap();
    assert!(changes.len() >= 5, "{changes:?}");
    assert!(make["press"]["range"]["angle_deg"].as_f64().unwrap() > 0.1);
}

/// What was not asked or could not be done says so; nothing is empty or null in its place.
#[test]
fn what_is_not_there_says_why() {
    let home = home_with(STARTER);
    let drawn = ["--springback", "bend-by-bend", "--json"];
    let made = |home: &tempfile::TempDir| {
        let args = [&["make", "part.toml"] as &[&str], &drawn].concat();
        run(home.path(), &args).document()
    };
    let document = made(&home);
    assert_eq!(document["press"]["state"], "not-calculated");
    assert!(document["press"]["reason"].is_string());
    assert_eq!(document["press"].as_object().unwrap().len(), 2);
    let mut bare: toml::Table = toml::from_str(&example("single-step")).unwrap();
    for key in ["heat_pipe", "old_plate", "heat"] {
        bare.remove(key);
    }
    for part in bare["component"].as_array_mut().unwrap() {
        part.as_table_mut().unwrap().retain(|key, _| {
            !(key.starts_with("heat")
                || key.starts_with("junction")
                || key.starts_with("old")
                || key == "limit_c")
        });
    }
    let printer = bare["printer"].as_table_mut().unwrap();
    printer.insert("bed_mm".to_owned(), vec![20.0; 3].into());
    let home = home_with(&toml::to_string(&bare).unwrap());
    let document = made(&home);
    assert_eq!(document["heat"], json!({ "state": "not-asked" }));
    let refused = document["dies"]["refused"].as_array().unwrap();
    assert!(!refused.is_empty());
    let findings = document["findings"].as_array().unwrap();
    for finding in refused {
        assert!(findings.contains(finding), "{finding}");
    }
}

/// The library alone writes what the program writes.
#[test]
fn the_library_writes_the_same_bytes() {
    use coldstep::job::Job;
    use coldstep::output::folder::{folder, result};
    use coldstep::output::paper::Printing;
    use coldstep::result::Source;
    let home = home_with(STARTER);
    let args = ["make", "part.toml", "--springback", "bend-by-bend"];
    let ran = run(home.path(), &args);
    assert!(ran.code < 2, "{}", ran.err);
    let written = fs::read_to_string(home.path().join("out/part/result.json")).unwrap();
    let job = Job::read(STARTER).unwrap();
    let files = folder(&job, &Printing::default()).unwrap();
    let names: Vec<&str> = files.iter().map(|file| file.name).collect();
    let source = Source::new("part.toml", STARTER);
    assert!(result(&job, &names, Some(&source)).to_json() == written);
}

#[test]
fn a_document_made_wrong_is_refused() {
    let home = home_with(&example("single-step"));
    let args = ["make", "part.toml", "--springback", "quick", "--json"];
    let good = run(home.path(), &args).document();
    let wrong = |pointer: &str, edit: &dyn Fn(&mut Value)| {
        let mut document = good.clone();
        edit(document.pointer_mut(pointer).unwrap());
        assert_ne!(document, good);
        let faults = faults(&document);
        assert!(!faults.is_empty(), "{pointer} is taken");
    };
    let take = |key: &'static str| {
        move |value: &mut Value| {
            value.as_object_mut().unwrap().remove(key).unwrap();
        }
    };
    let add = |value: &mut Value| {
        value["not_described"] = json!(1);
    };
    wrong("", &take("schema"));
    wrong("", &take("findings"));
    wrong("/schema", &|value| *value = json!(1));
    wrong("/verb", &|value| *value = json!("mkae"));
    wrong("/verdict/state", &|value| *value = json!("maybe"));
    wrong("/verdict/reasons/0/id", &|value| *value = json!("because"));
    wrong("/gaps/components/0", &take("gap_min_mm"));
    wrong("/gaps/components/0/clearance_mm", &|value| {
        *value = Value::Null;
    });
    wrong("/gaps/components/0/verdict", &|value| {
        *value = json!("good");
    });
    wrong("/press", &take("state"));
    wrong("/press", &take("bends"));
    wrong("/press/state", &|value| *value = json!("refused"));
    wrong("/press/section/closed", &take("top_mm"));
    wrong("/press/section/closed/top_mm/0", &|value| {
        *value = json!([1.0]);
    });
    wrong("/heat/parts/0/inside_c", &take("middle"));
    wrong("/dies/blocks/0/role", &|value| *value = json!("middle"));
    wrong("/blank/outline_mm/0/0", &|value| *value = json!("1.0"));
    for pointer in [
        "",
        "/part",
        "/part/sheet",
        "/verdict",
        "/verdict/reasons/0",
        "/gaps",
        "/gaps/components/0",
        "/blank",
        "/dies",
        "/dies/blocks/0/print",
        "/press",
        "/press/strength",
        "/press/bends/0",
        "/heat",
        "/heat/parts/0",
        "/build_sheet/steps/0/blocks/0",
    ] {
        wrong(pointer, &add);
    }
}

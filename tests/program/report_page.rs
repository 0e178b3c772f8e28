//! The report says nothing that `result.json` does not: every marked value is read back and compared.

use crate::contract::agreed;
use crate::runs::run;
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;
use std::fs;

/// Fixed words with a digit in them that are no result.
const FIXED: [&str; 4] = ["100 %", "3D", "dies.3mf", "z = 0"];

struct Made {
    page: String,
    json: Value,
}

/// Makes a part and reads page and document back.
#[track_caller]
fn made(source: &str, springback: &str) -> Made {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("part.toml"), source).unwrap();
    let args = [
        "make",
        "part.toml",
        "--springback",
        springback,
        "--out",
        "x",
    ];
    let ran = run(home.path(), &args);
    assert!(ran.code < 2, "{}{}", ran.out, ran.err);
    let read = |name: &str| fs::read_to_string(home.path().join("x").join(name)).unwrap();
    let json = serde_json::from_str(&read("result.json")).unwrap();
    agreed(&json);
    Made {
        page: read("report.html"),
        json,
    }
}

fn example(name: &str) -> String {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    fs::read_to_string(format!("{folder}/{name}.toml")).unwrap()
}

/// The page as XML; its document type is the one of HTML and says nothing.
fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).expect("well-formed as XML")
}

/// All words of an element, those of what lies within it too.
fn words(node: Node) -> String {
    node.descendants()
        .filter(Node::is_text)
        .filter_map(|text| text.text())
        .collect()
}

/// Whether a text shows a value of the document: a number to the digits that are shown, a sentence letter by letter.
fn shows(shown: &str, value: &Value) -> Result<(), String> {
    match value {
        Value::String(text) if text == shown => Ok(()),
        Value::Number(number) => {
            let number = number.as_f64().unwrap();
            let read: f64 = shown.parse().map_err(|e| format!("{shown:?}: {e}"))?;
            let decimals = shown.split_once('.').map_or(0, |(_, rest)| rest.len());
            let half = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap());
            // The document is rounded itself, to six decimals.
            if (read - number).abs() <= half + 1e-6 {
                Ok(())
            } else {
                Err(format!("{shown} stands for {number}"))
            }
        }
        other => Err(format!("{shown:?} stands for {other}")),
    }
}

/// Compares everything; gives how many marked elements there were.
#[track_caller]
fn compared(made: &Made) -> usize {
    let document = parsed(&made.page);
    let mut count = 0;
    for node in document.descendants() {
        let Some(pointer) = node.attribute("data-json") else {
            continue;
        };
        let value = made.json.pointer(pointer);
        let value = value.unwrap_or_else(|| panic!("{pointer} is not in result.json"));
        shows(&words(node), value).unwrap_or_else(|why| panic!("{pointer}: {why}"));
        count += 1;
    }
    count
}

/// No digit stands anywhere but in marked elements, drawings and fixed words.
#[track_caller]
fn no_stray_digit(page: &str) {
    let document = parsed(page);
    for text in document.descendants().filter(Node::is_text) {
        let apart = text.ancestors().any(|node| {
            node.has_attribute("data-json")
                || matches!(
                    node.tag_name().name(),
                    "svg" | "script" | "style" | "title" | "code"
                )
        });
        let mut said = text.text().unwrap().to_owned();
        for fixed in FIXED {
            said = said.replace(fixed, "");
        }
        assert!(
            apart || !said.bytes().any(|byte| byte.is_ascii_digit()),
            "{said:?} is not marked"
        );
    }
}

#[test]
fn every_number_and_sentence_of_the_page_stands_in_the_document() {
    for name in ["single-step", "three-levels", "extension-plate"] {
        let made = made(&example(name), "bend-by-bend");
        let count = compared(&made);
        assert!(count > 150, "{name}: {count}");
        no_stray_digit(&made.page);
    }
}

#[test]
fn so_does_what_a_pressing_adds() {
    let made = made(&example("single-step"), "quick");
    assert_eq!(made.json["press"]["state"], "calculated");
    assert!(made.page.contains("data-json=\"/press/force_text\""));
    assert!(compared(&made) > 200);
    no_stray_digit(&made.page);
}

/// Refused by the gaps, refused by the printer, without heat, without vise, flat: each has its page.
#[test]
fn every_kind_of_answer_has_its_page() {
    let single = example("single-step");
    let changed = |from: &str, to: &str| {
        let text = single.replacen(from, to, 1);
        assert_ne!(text, single, "{from}");
        text
    };
    let no_heat: String = {
        let document: toml::Table = toml::from_str(&single).unwrap();
        let mut document = document;
        document.remove("heat_pipe");
        document.remove("old_plate");
        document.remove("heat");
        for part in document["component"].as_array_mut().unwrap() {
            for key in [
                "heat_w",
                "limit_c",
                "junction_to_top_k_w",
                "junction_to_board_k_w",
                "old_pad",
                "old_gap_mm",
            ] {
                part.as_table_mut().unwrap().remove(key);
            }
        }
        toml::to_string(&document).unwrap()
    };
    let no_vise: String = {
        let mut document: toml::Table = toml::from_str(&single).unwrap();
        document.remove("vise");
        toml::to_string(&document).unwrap()
    };
    let tiny_bed: String = {
        let mut document: toml::Table = toml::from_str(&single).unwrap();
        let printer = document["printer"].as_table_mut().unwrap();
        printer.insert(
            "bed_mm".to_owned(),
            toml::Value::Array(vec![toml::Value::Float(20.0); 3]),
        );
        toml::to_string(&document).unwrap()
    };
    let cases = [
        (
            "hostile name",
            changed(
                "name = ",
                "name = '</script><img src=x onerror=alert(1)> \u{2028}' # ",
            ),
        ),
        ("no heat", no_heat),
        ("no vise", no_vise),
        ("tiny bed", tiny_bed),
    ];
    for (name, source) in cases {
        let made = made(&source, "bend-by-bend");
        let count = compared(&made);
        no_stray_digit(&made.page);
        let has = |id: &str| made.page.contains(&format!("<section id=\"{id}\""));
        assert!(has("gaps") && has("blank") && has("files"), "{name}");
        assert_eq!(has("temperatures"), name != "no heat", "{name}");
        let refused = name == "tiny bed";
        let class = if refused { "answer no" } else { "answer if" };
        assert!(made.page.contains(&format!("class=\"{class}\"")), "{name}");
        assert_eq!(made.page.contains("<canvas"), !refused, "{name}");
        assert!(!made.page.contains("<img"), "{name}");
        if refused {
            assert!(made.page.contains("data-json=\"/verdict/reasons/0/text\""));
        }
        assert!(count > 60, "{name}: {count}");
    }
}

/// The comparison itself refuses what is off by one in the last digit shown.
#[test]
fn a_wrong_digit_is_seen() {
    assert!(shows("1.25", &Value::from(1.2512)).is_ok());
    assert!(shows("1.26", &Value::from(1.2512)).is_err());
    assert!(shows("1.2", &Value::from("1.2 ")).is_err());
    assert!(shows("-0.10", &Value::from(0.1)).is_err());
}

//! blank, dies and make as a user runs them: answers, JSON, files, and what they leave alone.

use crate::runs::{self, run};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn json(home: &Path, args: &[&str]) -> Value {
    run(home, args).document()
}

fn home_with(example: &str) -> tempfile::TempDir {
    runs::home_with(&fs::read_to_string(format!("examples/{example}.toml")).unwrap())
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect()
}

#[test]
fn blank_json_has_the_promised_fields() {
    let home = home_with("three-levels");
    let blank = json(home.path(), &["blank", "part.toml", "--json"]);
    assert!(blank.get("files").is_none(), "nothing was written");
    let blank = &blank["blank"];
    let length = blank["developed_length_mm"].as_f64().unwrap();
    assert!(length > 60.0);
    assert!(blank["width_mm"].as_f64().unwrap() > 40.0);
    let bends = blank["bends"].as_array().unwrap();
    assert_eq!(bends.len(), 4);
    for bend in bends {
        for key in [
            "angle_deg",
            "inside_radius_mm",
            "k_factor",
            "allowance_mm",
            "start_mm",
            "end_mm",
        ] {
            assert!(bend[key].is_f64(), "{key}");
        }
        let (start, end) = (
            bend["start_mm"].as_f64().unwrap(),
            bend["end_mm"].as_f64().unwrap(),
        );
        let allowance = bend["allowance_mm"].as_f64().unwrap();
        assert!((end - start - allowance).abs() < 2e-6);
    }
    assert_eq!(
        files(home.path()).len(),
        1,
        "nothing is written without --out"
    );
}

#[test]
fn dies_json_has_the_promised_fields_and_speaks_of_the_files_it_wrote() {
    let home = home_with("single-step");
    let dies = json(home.path(), &["dies", "part.toml", "--json", "--out", "d"]);
    assert!(dies["files"].as_array().unwrap().len() > 3);
    let dies = &dies["dies"];
    let blocks = dies["blocks"].as_array().unwrap();
    assert_eq!(blocks.len(), 2);
    for (block, role) in blocks.iter().zip(["lower", "upper"]) {
        assert_eq!(block["role"], role);
        let bytes = fs::read(home.path().join("d").join(block["file"].as_str().unwrap())).unwrap();
        let mesh = stl_io::read_stl(&mut std::io::Cursor::new(&bytes)).unwrap();
        mesh.validate().unwrap();
        assert_eq!(
            mesh.faces.len() as u64,
            block["triangles"].as_u64().unwrap()
        );
        // Volume of the file's own triangles, in the file's own precision.
        let volume: f64 = mesh
            .faces
            .iter()
            .map(|face| {
                let [a, b, c] = face.vertices.map(|v| {
                    let p: [f32; 3] = mesh.vertices[v].into();
                    p.map(f64::from)
                });
                (a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                    + a[2] * (b[0] * c[1] - b[1] * c[0]))
                    / 6.0
            })
            .sum();
        let said = block["volume_mm3"].as_f64().unwrap();
        assert!((volume / said - 1.0).abs() < 1e-5);
        let exact = block["exact_volume_mm3"].as_f64().unwrap();
        assert!((said / exact - 1.0).abs() < 1e-3);
        assert_eq!(block["size_mm"].as_array().unwrap().len(), 3);
    }
    let compensation = dies["compensation"].as_array().unwrap();
    assert_eq!(compensation.len(), 2);
    for bend in compensation {
        let number = |key: &str| bend[key].as_f64().unwrap();
        assert!(number("die_angle_deg") > number("target_angle_deg"));
        // The press overbends; radii of the dies are those of the drawing, or smaller.
        assert!(number("die_inside_radius_mm") < number("target_inside_radius_mm") + 1e-6);
    }
}

#[test]
fn make_writes_everything_and_the_same_bytes_again() {
    let home = home_with("three-levels");
    let quick = ["make", "part.toml", "--springback", "quick"];
    let first = run(home.path(), &quick);
    assert_eq!(first.code, 0, "{}{}", first.out, first.err);
    assert!(first.out.starts_with("YES, IF "), "{}", first.out);
    let folder = home.path().join("out/part");
    let once = files(&folder);
    let names: Vec<&str> = once.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "blank.dxf",
            "blank.svg",
            "build_sheet.pdf",
            "closing.svg",
            "closing_frames.svg",
            "dies.3mf",
            "dies.png",
            "dies.svg",
            "force.svg",
            "heat_ladder.svg",
            "heat_map.svg",
            "heat_pads.svg",
            "heat_parts.svg",
            "lower.step",
            "lower.stl",
            "plan.svg",
            "plate.step",
            "pressed.svg",
            "report.html",
            "result.json",
            "section.pdf",
            "section.svg",
            "states.svg",
            "summary.txt",
            "template.pdf",
            "upper.step",
            "upper.stl",
        ]
    );
    let page = String::from_utf8(once["report.html"].clone()).unwrap();
    for name in names.iter().filter(|name| **name != "report.html") {
        assert!(page.contains(&format!("href=\"{name}\"")), "{name}");
    }
    assert_eq!(run(home.path(), &quick).code, 0);
    assert_eq!(files(&folder), once);
    // Elsewhere, too: no path and no clock is in any file.
    let other = home_with("three-levels");
    let elsewhere: Vec<&str> = quick.into_iter().chain(["--out", "x"]).collect();
    assert_eq!(run(other.path(), &elsewhere).code, 0);
    assert_eq!(files(&other.path().join("x")), once);
}

#[test]
fn make_json_is_the_file_it_writes() {
    let home = home_with("extension-plate");
    let ran = run(home.path(), &["make", "part.toml", "--json", "--out", "x"]);
    assert_eq!(ran.code, 0);
    assert_eq!(
        ran.out.as_bytes(),
        files(&home.path().join("x"))["result.json"]
    );
    let value = ran.document();
    assert_eq!(value["verb"], "make");
    // What a verb says of its own is the same.
    for (verb, sections) in [
        ("blank", &["part", "blank"] as &[&str]),
        ("dies", &["part", "verdict", "dies", "findings"]),
    ] {
        let asked = json(home.path(), &[verb, "part.toml", "--json"]);
        for section in sections {
            assert!(value[section].is_object() || value[section].is_array());
            assert_eq!(value[section], asked[section], "{verb}: {section}");
        }
    }
}

#[test]
fn a_part_without_a_die_pair_still_gets_its_answer_and_loses_old_dies() {
    let home = home_with("single-step");
    assert_eq!(
        run(
            home.path(),
            &["make", "part.toml", "--springback", "bend-by-bend"]
        )
        .code,
        0
    );
    let path = home.path().join("part.toml");
    let small = fs::read_to_string(&path)
        .unwrap()
        .replace("opening_mm = 140.0", "opening_mm = 20.0");
    fs::write(&path, small).unwrap();
    let ran = run(
        home.path(),
        &["make", "part.toml", "--springback", "bend-by-bend"],
    );
    assert_eq!(ran.code, 1);
    assert!(ran.out.starts_with("NO: "), "{}", ran.out);
    assert!(ran.err.contains("the vise opens 20 mm"), "{}", ran.err);
    let left = files(&home.path().join("out/part"));
    assert!(left.contains_key("blank.dxf"));
    assert!(
        !left.contains_key("lower.stl"),
        "an old die beside a new blank would mislead"
    );
    assert_eq!(
        run(
            home.path(),
            &["dies", "part.toml", "--springback", "bend-by-bend"]
        )
        .code,
        1
    );
}

#[test]
fn a_refused_part_writes_nothing() {
    let home = home_with("single-step");
    let path = home.path().join("part.toml");
    let bad = fs::read_to_string(&path)
        .unwrap()
        .replace("from_mm = 21.0", "from_mm = 16.5");
    fs::write(&path, bad).unwrap();
    for verb in ["make", "blank", "dies", "check"] {
        let ran = run(home.path(), &[verb, "part.toml", "--json"]);
        assert_eq!(ran.code, 1);
        assert!(ran.err.contains("part.toml:25:11"), "{}", ran.err);
        let value = ran.document();
        assert_eq!(value["ok"], false);
    }
    assert_eq!(files(home.path()).len(), 1);
}

#[test]
fn files_of_others_are_left_alone() {
    let home = home_with("single-step");
    fs::create_dir(home.path().join("x")).unwrap();
    fs::write(home.path().join("x/lower.stl"), "solid somebody's own").unwrap();
    fs::write(home.path().join("x/notes.txt"), "mine").unwrap();
    let before = files(&home.path().join("x"));
    let ran = run(
        home.path(),
        &["make", "part.toml", "--out", "x", "--springback", "quick"],
    );
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("x/lower.stl exists already"),
        "{}",
        ran.err
    );
    assert_eq!(files(&home.path().join("x")), before);
    let forced = run(
        home.path(),
        &[
            "make",
            "part.toml",
            "--out",
            "x",
            "--force",
            "--springback",
            "quick",
        ],
    );
    assert_eq!(forced.code, 0);
    assert_eq!(files(&home.path().join("x"))["notes.txt"], b"mine");

    fs::write(home.path().join("file"), "").unwrap();
    let ran = run(home.path(), &["make", "part.toml", "--out", "file"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("file is a file"), "{}", ran.err);
}

#[test]
fn odd_names_do_no_harm() {
    let home = home_with("single-step");
    let path = home.path().join("part.toml");
    let odd = fs::read_to_string(&path)
        .unwrap()
        .replace("name = \"single step\"", "name = '</svg><script>\"&ü 冷'")
        .replace("name = \"C1\"", "name = '<b>&\"'");
    fs::write(home.path().join("a b 'ü'.toml"), odd).unwrap();
    let ran = run(
        home.path(),
        &["make", "a b 'ü'.toml", "--springback", "quick"],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    for (name, bytes) in files(&home.path().join("out/a b 'ü'")) {
        let text = String::from_utf8_lossy(&bytes);
        let is = |ending: &str| name.strip_suffix(ending).is_some();
        if is(".svg") || is(".html") {
            // The page has scripts of its own; the name's is none of them.
            assert!(
                !text.contains("<script>\"") && !text.contains("<b>"),
                "{name}"
            );
        }
        if is(".svg") {
            roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        }
    }
}

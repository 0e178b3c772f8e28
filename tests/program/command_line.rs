//! The program as people and scripts use it: answers, exit codes, JSON, and files that are no part files.

use crate::runs::{KEPT, Ran, run, verbs};
use assert_cmd::Command;
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A folder with the starter as `plate.toml`.
fn started() -> TempDir {
    let home = tempfile::tempdir().unwrap();
    assert_eq!(run(home.path(), &["new", "plate.toml"]).code, 0);
    home
}

fn starter() -> &'static str {
    coldstep::part::starter::STARTER
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// Checks bytes that are no usable part file, with and without `--json`.
fn refused(bytes: &[u8], code: i32) -> Ran {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("p.toml"), bytes).unwrap();
    let json = run(home.path(), &["check", "p.toml", "--json"]);
    assert_eq!(json.code, code, "{}", json.err);
    let document = json.document();
    assert_eq!(document["ok"], false);
    assert_eq!(document["verb"], "check");
    let errors = document["findings"].as_array().unwrap();
    assert!(!errors.is_empty());
    for error in errors {
        assert_eq!(error["file"], "p.toml");
        assert!(!error["message"].as_str().unwrap().is_empty());
        assert!(!error["help"].as_array().unwrap().is_empty(), "{error}");
    }
    let ran = run(home.path(), &["check", "p.toml"]);
    assert_eq!(ran.code, code);
    assert_eq!(ran.out, "");
    assert_eq!(ran.err, json.err, "findings go to stderr either way");
    assert!(ran.err.contains("help: "), "{}", ran.err);
    assert_eq!(names(home.path()), ["p.toml"], "nothing is written");
    ran
}

/// The starter with one line replaced.
fn with(from: &str, to: &str) -> String {
    assert_eq!(starter().matches(from).count(), 1, "{from}");
    starter().replace(from, to)
}

#[test]
fn the_examples_in_every_help_are_true() {
    let home = tempfile::tempdir().unwrap();
    let help = run(home.path(), &["--help"]).out;
    let listed = verbs(&help);
    assert!(listed.starts_with(&["new", "check"]), "{listed:?}");
    for verb in listed {
        let home = tempfile::tempdir().unwrap();
        let help = run(home.path(), &[verb, "--help"]).out;
        let mut lines = help.lines().peekable();
        let mut tried = 0;
        while let Some(line) = lines.next() {
            let Some(command) = line.strip_prefix("  $ coldstep ") else {
                continue;
            };
            if verb != "new" && tried == 0 {
                run(home.path(), &["new", "plate.toml"]);
            }
            tried += 1;
            let args: Vec<&str> = command.split_whitespace().collect();
            let ran = run(home.path(), &args);
            assert_eq!(ran.code, 0, "{command}: {}", ran.err);
            let mut said = ran.out.lines();
            while let Some(expected) = lines.next_if(|line| line.starts_with("  ")) {
                let expected = expected.trim_start();
                if expected == "..." {
                    break;
                }
                let line = said.next().map_or("", str::trim_start);
                match expected.strip_suffix(" ...") {
                    Some(beginning) => assert!(line.starts_with(beginning), "{command}: {line}"),
                    None => assert_eq!(line, expected, "{command}"),
                }
            }
        }
        assert!(tried > 0, "{verb} has no example");
    }
}

#[test]
fn a_new_user_gets_from_nothing_to_a_good_check() {
    let home = tempfile::tempdir().unwrap();
    let ran = run(home.path(), &["new", "plate.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("coldstep check plate.toml"));
    assert_eq!(names(home.path()), ["plate.toml"]);
    assert_eq!(
        fs::read_to_string(home.path().join("plate.toml")).unwrap(),
        starter()
    );
    let ran = run(home.path(), &["check", "plate.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(names(home.path()), ["plate.toml"], "check writes nothing");
}

#[test]
fn check_answers_first() {
    let home = started();
    let ran = run(home.path(), &["check", "plate.toml"]);
    insta::assert_snapshot!("check_good", ran.out);
    let bad = starter()
        .replace("{ value = 0.95, plus_minus = 0.05 }", "0.4")
        .replace("{ value = 3.1, plus_minus = 0.1 }", "4.2")
        .replace("keep_out_mm = 0.4 ", "keep_out_mm = 2.4 ")
        + "\n[[obstacle]]\nname = \"post\"\nx_mm = 30.0\ny_mm = 16.0\ndiameter_mm = 2.5\ntop_mm = 8.0\n";
    fs::write(home.path().join("misfit.toml"), bad).unwrap();
    let ran = run(home.path(), &["check", "misfit.toml"]);
    assert_eq!(ran.code, 1);
    insta::assert_snapshot!("check_misfit", ran.out);
}

/// The same plate, drawn the same: a vise that cannot close the dies makes another one of it.
#[test]
fn a_pressing_that_misses_by_much_changes_the_verdict() {
    let home = started();
    let weak = with("screw_lead_mm = 5.0 ", "force_n = 1500.0 ")
        .replace("\nhandle_length_mm", "\n# handle_length_mm");
    fs::write(home.path().join("weak.toml"), weak).unwrap();
    let ran = run(home.path(), &["check", "weak.toml"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.out.starts_with("NO: "), "{}", ran.out);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "Judged by the plate as the vise leaves it, calculated on the fine mesh.",
        "; pressed, the flat \"chokes\" lies ",
        " higher over it than drawn",
        " lower, or press one, measure it, and correct the part file",
        "│ pressed min │",
    ] {
        assert!(said.contains(words), "{words}: {}", ran.out);
    }
    let document = run(home.path(), &["check", "weak.toml", "--json"]).document();
    assert_eq!(document["ok"], false);
    assert_eq!(document["gaps"]["judged"], "pressed");
    let number = |value: &Value| value.as_f64().unwrap();
    let flats = document["press"]["flats"].as_array().unwrap();
    let mut bad = 0;
    for part in document["gaps"]["components"].as_array().unwrap() {
        let as_drawn = if part["name"] == "C1" {
            "clear"
        } else {
            "pad-fits"
        };
        assert_eq!(part["drawn_verdict"], as_drawn, "{part}");
        bad += usize::from(part["pressed_cause"]["text"].is_string());
        // Under a flat the mean gap is off by what the flat is off, but for its bow and slope.
        let faces = part["facing"].as_str().unwrap();
        if let Some(flat) = flats
            .iter()
            .find(|flat| faces == format!("flat \"{}\"", flat["name"].as_str().unwrap()))
        {
            let off = number(&part["pressed_gap_mean_mm"]) - number(&part["gap_mean_mm"]);
            assert!(
                (off - number(&flat["height_error_mm"])).abs() <= 2.0 * number(&flat["bow_mm"]),
                "{part}"
            );
        }
    }
    assert!(bad > 0);
    // Asked for no pressing, the drawn plate is judged, and says so.
    let drawn = ["check", "weak.toml", "--springback", "bend-by-bend"];
    let ran = run(home.path(), &drawn);
    assert_eq!(ran.code, 0, "{}", ran.out);
    assert!(
        ran.out
            .contains("Judged by the plate as drawn: no pressing was calculated"),
        "{}",
        ran.out
    );
    assert!(!ran.out.contains("pressed min"));
    // make: the same answer, with the reason in its first lines.
    let make = ["make", "weak.toml", "--springback", "quick"];
    let ran = run(home.path(), &make);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.out.starts_with("NO: "), "{}", ran.out);
    assert!(
        ran.out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("; pressed, the flat \"chokes\" lies "),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("  pressed min  "), "{}", ran.out);
}

#[test]
fn check_as_json_has_every_number() {
    let home = started();
    let ran = run(home.path(), &["--json", "check", "plate.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let check = ran.document();
    assert_eq!(check["verb"], "check");
    assert_eq!(check["part"]["name"], "starter plate");
    assert_eq!(check["ok"], true);
    let components = check["gaps"]["components"].as_array().unwrap();
    assert_eq!(components.len(), 5);
    let first = &components[0];
    assert_eq!(first["name"], "Q1");
    assert_eq!(first["kind"], "power-stage");
    // Underside 1.75 over a height of 0.95.
    assert_eq!(first["gap_min_mm"], 0.8);
    assert_eq!(first["gap_mean_mm"], 0.8);
    assert_eq!(first["verdict"], "pad-fits");
    // The plate comes out as drawn: so do its gaps.
    assert_eq!(check["gaps"]["judged"], "pressed");
    for key in [
        "pressed_gap_min_mm",
        "pressed_gap_mean_mm",
        "pressed_gap_max_mm",
        "pressed_clearance_mm",
    ] {
        let pressed = first[key].as_f64().unwrap();
        assert!((pressed - 0.8).abs() < 0.05, "{key}: {pressed}");
    }
    assert_eq!(first["pressed_covered_percent"], 100.0);
    let step = &check["part"]["steps"][0];
    assert_eq!(
        (&step["from"], &step["to"]),
        (&"stages".into(), &"chokes".into())
    );
    assert_eq!(step["rise_mm"], 2.15);
    assert_eq!(step["next_from_mm"], 21.5);
    assert!(
        check["part"]["defaults"]
            .as_array()
            .unwrap()
            .iter()
            .any(|d| d["key"] == "sheet.k_rule")
    );
    assert_eq!(check["gaps"]["obstacles"], Value::Array(vec![]));
    assert_eq!(check["findings"], Value::Array(vec![]));
    // No number has more than six decimals.
    for number in ran.out.split(|c: char| !(c.is_ascii_digit() || c == '.')) {
        if let Some((_, decimals)) = number.split_once('.') {
            assert!(decimals.len() <= 6, "{number}");
        }
    }
}

#[test]
fn warnings_go_to_stderr_and_into_the_document() {
    let home = started();
    let cracked = with("inside_radius_mm = 2.5 ", "inside_radius_mm = 0.4 ")
        .replace("temper = \"soft\" ", "temper = \"hard\" ");
    fs::write(home.path().join("w.toml"), cracked).unwrap();
    let args = ["check", "w.toml", "--springback", "bend-by-bend", "--json"];
    let ran = run(home.path(), &args);
    assert_eq!(ran.code, 0, "a warning does not refuse: {}", ran.err);
    assert!(ran.err.starts_with("warning: "), "{}", ran.err);
    let warnings = ran.document()["findings"].clone();
    assert!(
        warnings[0]["message"]
            .as_str()
            .unwrap()
            .contains("may crack"),
        "{warnings}"
    );
    assert!(warnings[0]["line"].as_u64().unwrap() > 20);
}

#[test]
fn usage_trouble_is_2_and_help_is_0() {
    let home = started();
    for args in [
        &[] as &[&str],
        &["chekc", "plate.toml"],
        &["check"],
        &["check", "plate.toml", "extra"],
        &["check", "plate.toml", "--jsn"],
        &["new"],
    ] {
        let ran = run(home.path(), args);
        assert_eq!(ran.code, 2, "{args:?}");
        assert!(!ran.err.is_empty(), "{args:?}");
    }
    for args in [
        &["--help"] as &[&str],
        &["--version"],
        &["check", "--help"],
        &["help", "new"],
    ] {
        let ran = run(home.path(), args);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
    }
}

#[test]
fn new_never_overwrites_by_itself() {
    let home = started();
    let path = home.path().join("plate.toml");
    // Even a file that carries the program's name: people edit it.
    fs::write(&path, "# coldstep, edited for hours").unwrap();
    let ran = run(home.path(), &["new", "plate.toml"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("exists already") && ran.err.contains("--force"),
        "{}",
        ran.err
    );
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        "# coldstep, edited for hours"
    );
    let ran = run(home.path(), &["new", "plate.toml", "--force", "--json"]);
    assert_eq!(ran.code, 0);
    assert_eq!(ran.document()["files"][0], "plate.toml");
    assert_eq!(fs::read_to_string(&path).unwrap(), starter());
    assert_eq!(names(home.path()), ["plate.toml"]);
}

#[test]
fn new_says_why_it_cannot_write() {
    let home = started();
    fs::create_dir(home.path().join("folder")).unwrap();
    for (file, words) in [
        ("folder", "folder"),
        ("..", "folder"),
        ("nowhere/plate.toml", "no folder nowhere"),
        ("plate.toml/below.toml", "no folder plate.toml"),
    ] {
        for flags in [&[] as &[&str], &["--force"]] {
            let ran = run(home.path(), &[&["new", file], flags].concat());
            assert_eq!(ran.code, 2, "{file}");
            assert!(ran.err.contains(words), "{file}: {}", ran.err);
            assert!(ran.err.contains("help: "), "{file}: {}", ran.err);
        }
    }
    assert_eq!(names(home.path()), ["folder", "plate.toml"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_takes_no_files_is_named() {
    let home = started();
    // Takes no files from anybody, not even from an administrator.
    let ran = run(home.path(), &["new", "/proc/plate.toml"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("could not write into /proc"),
        "{}",
        ran.err
    );
    assert!(!ran.err.contains(".coldstep-"), "{}", ran.err);
}

#[test]
fn a_missing_file_is_not_a_riddle() {
    let home = started();
    let ran = run(home.path(), &["check", "plate"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("did you mean plate.toml?"), "{}", ran.err);
    let ran = run(home.path(), &["check", "other.toml", "--json"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("coldstep new other.toml"), "{}", ran.err);
    assert_eq!(ran.document()["findings"][0]["file"], "other.toml");
}

#[test]
fn what_is_no_regular_file_is_refused_without_waiting() {
    let home = started();
    let ran = run(home.path(), &["check", "."]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("is a folder"), "{}", ran.err);
    if cfg!(target_os = "linux") {
        let ran = run(home.path(), &["check", "/dev/zero"]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("device or a pipe"), "{}", ran.err);
        let pipe: PathBuf = home.path().join("pipe");
        let made = std::process::Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap();
        assert!(made.success());
        let ran = run(home.path(), &["check", "pipe"]);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("device or a pipe"), "{}", ran.err);
    }
}

#[test]
fn a_huge_file_is_refused_by_its_size() {
    let home = tempfile::tempdir().unwrap();
    let file = fs::File::create(home.path().join("film.toml")).unwrap();
    file.set_len(100 * 1024 * 1024).unwrap();
    let ran = run(home.path(), &["check", "film.toml"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("100 MiB") && ran.err.contains("at most 1 MiB"),
        "{}",
        ran.err
    );
    // The longest file that is read at all, and one byte more.
    let mut text = starter().to_owned();
    text.push('#');
    text.push_str(&"x".repeat(1024 * 1024 - text.len()));
    fs::write(home.path().join("long.toml"), &text).unwrap();
    assert_eq!(run(home.path(), &["check", "long.toml"]).code, 0);
    text.push('x');
    fs::write(home.path().join("long.toml"), &text).unwrap();
    assert_eq!(run(home.path(), &["check", "long.toml"]).code, 2);
}

#[test]
fn what_is_no_utf8_text_is_named_with_its_place() {
    assert!(refused(b"", 2).err.contains("p.toml is empty"));
    let ran = refused(b"[part]\nname = \"25 \xB5m\"\n", 2);
    assert!(ran.err.contains("0xB5 in line 2, column 12"), "{}", ran.err);
    let ran = refused(b"[part]\nname = \"a\0b\"\n", 2);
    assert!(
        ran.err.contains("zero byte in line 2, column 10"),
        "{}",
        ran.err
    );
    assert!(refused(b"\xFF\xFE[\0p\0", 2).err.contains("UTF-16"));
}

#[test]
fn a_byte_order_mark_changes_nothing() {
    let home = started();
    let plain = run(home.path(), &["check", "plate.toml"]).out;
    fs::write(
        home.path().join("plate.toml"),
        format!("\u{feff}{}", starter()),
    )
    .unwrap();
    assert_eq!(run(home.path(), &["check", "plate.toml"]).out, plain);
    let ran = refused("\u{feff}colour = 1\n".as_bytes(), 1);
    assert!(ran.err.contains("p.toml:1:1\n"), "{}", ran.err);
}

#[test]
fn windows_line_ends_keep_places() {
    let text = with("width_mm = 32.0", "width_mm = -32.0");
    let unix = refused(text.as_bytes(), 1).err;
    assert!(unix.contains("-->"), "{unix}");
    assert_eq!(refused(text.replace('\n', "\r\n").as_bytes(), 1).err, unix);
}

#[test]
fn numbers_that_are_none_are_refused() {
    for (value, words) in [
        ("1,0", "decimal comma"),
        ("nan", "'nan'"),
        ("inf", "infinite"),
        ("-inf", "infinite"),
        ("-1.0", "negative"),
        ("0", "below the least"),
        ("1e300", "above the most"),
        ("1e999", ""),
        ("99999999999999999999999999", ""),
        ("\"1.0\"", "found a text"),
        ("\"1 mm\"", "found a text"),
        ("[1.0]", "found a list"),
        ("true", "found true/false"),
        ("1979-05-27", "found a date"),
        ("", "has no value"),
    ] {
        let text = with(
            "thickness_mm = 1.0\ninside",
            &format!("thickness_mm = {value}\ninside"),
        );
        let ran = refused(text.as_bytes(), 1);
        assert!(ran.err.contains("p.toml:16:"), "{value}: {}", ran.err);
        assert!(ran.err.contains(words), "{value}: {}", ran.err);
        assert!(
            ran.err.ends_with("p.toml is refused: 1 error\n"),
            "{value}: {}",
            ran.err
        );
    }
}

#[test]
fn slips_are_named_with_the_way_out() {
    for (from, to, words) in [
        (
            "corner_radius_mm",
            "corner_radus_mm",
            "did you mean `corner_radius_mm`?",
        ),
        ("[plate]", "[palte]", "did you mean `plate`?"),
        ("\"copper\"", "\"coper\"", "did you mean \"copper\"?"),
        (
            "from_mm = 21.5",
            "from_mm = 16.0",
            "the flat before it ends only at 16.5 mm",
        ),
        ("to_mm = 40.0", "to_mm = 20.0", "[1] let it end at 39.6 mm"),
        ("from_mm = 21.5", "from_mm = 18.0", "[1] leave a run of "),
        (
            "x_mm = 36.0\ny_mm = 16.0\ndiameter_mm = 3.2",
            "x_mm = 60.0\ny_mm = 16.0\ndiameter_mm = 3.2",
            "does not lie inside the outline",
        ),
        (
            "name = \"Q2\"",
            "name = \"Q1\"",
            "two components are called \"Q1\"",
        ),
        ("[[hole]]", "[hole]", "write [[hole]] with double brackets"),
        ("[vise] ", "[[vise]] ", "write [vise], in single brackets"),
    ] {
        let ran = refused(with(from, to).as_bytes(), 1);
        assert!(ran.err.contains(words), "{to}: {}", ran.err);
    }
}

#[test]
fn a_value_that_was_refused_is_not_missing_as_well() {
    for (from, to) in [
        ("from_mm = 0.0", "from_mm = nan"),
        ("from_mm = 21.5", "from_mm = \"21\""),
        ("jaw_width_mm = 125.0", "jaw_width_mm = 0.0"),
        (
            "compression_percent = [10, 40]",
            "compression_percent = [40, 10]",
        ),
        (
            "thickness_mm = 1.0\ncompression",
            "thickness_mm = nan\ncompression",
        ),
        (
            "size_mm = [7.0, 7.0]\nheight_mm = { value = 3.1, plus_minus = 0.1 }\npad = \"soft 1.0\"\nheat_w = 1.0\nold_pad = \"pad 2 mm\"\nold_gap_mm = 1.5\n\n[[component]]\nname = \"L2\"",
            "size_mm = [7.0]\nheight_mm = 3.1\npad = \"soft 1.0\"\n\n[[component]]\nname = \"L2\"",
        ),
        ("diameter_mm = 3.2", "diameter_mm = -3.2"),
    ] {
        let ran = refused(with(from, to).as_bytes(), 1);
        assert!(
            ran.err.ends_with("is refused: 1 error\n"),
            "{to}: {}",
            ran.err
        );
    }
}

#[test]
fn an_empty_list_is_no_plate() {
    for (bytes, words) in [
        (&b"# nothing yet\n"[..], "no [sheet]"),
        (b"flat = []\ncomponent = []\n", "no [[flat]]"),
        (b"\n\n   \n", "no [[component]]"),
    ] {
        let ran = refused(bytes, 1);
        assert!(ran.err.contains(words), "{}", ran.err);
    }
}

#[test]
fn ten_thousand_components_are_counted_not_drawn() {
    let mut text = starter().to_owned();
    for i in 0..10_000 {
        let _ = write!(
            text,
            "\n[[component]]\nname=\"N{i}\"\nx_mm=1\ny_mm=1\nheight_mm=1"
        );
    }
    let ran = refused(text.as_bytes(), 1);
    assert!(
        ran.err
            .contains("10005 [[component]] tables; coldstep takes at most 2000"),
        "{}",
        ran.err
    );
    assert!(ran.err.len() < 1000);
}

#[test]
fn a_thousand_findings_show_fifty() {
    let keys: Vec<String> = (0..1000).map(|i| format!("key{i} = 1")).collect();
    let text = keys.join("\n");
    let ran = refused(text.as_bytes(), 1);
    assert_eq!(ran.err.matches("error: ").count(), 50);
    assert!(ran.err.contains("and 954 more"), "{}", ran.err);
    assert!(
        ran.err.ends_with("is refused: 1004 errors\n"),
        "{}",
        ran.err
    );
}

#[test]
fn nested_without_end_is_refused_without_falling_over() {
    for text in [
        format!("a = {}", "[".repeat(100_000)),
        format!("a = {}1{}", "{a=".repeat(100_000), "}".repeat(100_000)),
        format!("{}a = 1", "a.".repeat(100_000)),
        format!("[{}a]", "a.".repeat(100_000)),
        format!("[sheet]\nmaterial = \"{}\"", "x".repeat(100_000)),
    ] {
        let ran = refused(text.as_bytes(), 1);
        // At most fifty findings on lines that are cut to the width.
        assert!(ran.err.len() < 20_000, "{}", ran.err.len());
    }
}

#[test]
fn control_characters_do_not_reach_the_terminal() {
    let ran = refused(
        b"\"\\u001b[31m\" = 1\n[sheet]\nmaterial = \"\x1b[31mred\"\n",
        1,
    );
    assert!(!ran.err.contains('\u{1b}'), "{}", ran.err.escape_debug());
}

/// Eight different mistakes, and what they look like to the person who made them.
#[test]
fn all_findings_come_at_once() {
    let ran = refused(include_bytes!("hostile/eight-mistakes.toml"), 1);
    assert_eq!(ran.err.matches("error: ").count(), 8, "{}", ran.err);
    insta::assert_snapshot!("eight_mistakes", ran.err);
}

#[test]
fn all_syntax_errors_come_at_once() {
    let ran = refused(include_bytes!("hostile/not-toml.toml"), 1);
    insta::assert_snapshot!("not_toml", ran.err);
}

#[test]
fn colours_only_where_wanted() {
    let home = started();
    fs::write(home.path().join("bad.toml"), "x = 1").unwrap();
    let err = |vars: &[(&str, &str)]| {
        let output = Command::cargo_bin("coldstep")
            .unwrap()
            .current_dir(home.path())
            .args(["check", "bad.toml"])
            .env_remove("NO_COLOR")
            .env(KEPT[0], KEPT[1])
            .envs(vars.iter().copied())
            .output()
            .unwrap();
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(!err(&[]).contains('\u{1b}'), "a pipe gets none");
    assert!(err(&[("CLICOLOR_FORCE", "1")]).contains('\u{1b}'), "forced");
    assert!(!err(&[("NO_COLOR", "1"), ("TERM", "xterm-256color")]).contains('\u{1b}'));
}

//! What people expect of every command line: help, colours, quiet, version, completions, manual pages, Ctrl-C.

use crate::runs::{Ran, program, run, verbs};
use coldstep::part::starter::STARTER;
use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Output, Stdio};
use std::time::Duration;
use tempfile::TempDir;

const VERBS: [&str; 10] = [
    "new",
    "check",
    "blank",
    "press",
    "dies",
    "heat",
    "make",
    "schema",
    "completions",
    "man",
];
const QUICKLY: [&str; 2] = ["--springback", "bend-by-bend"];

/// A folder with the starter, as `plate.toml`.
fn started() -> TempDir {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("plate.toml"), STARTER).unwrap();
    home
}

fn said(output: Output) -> (Option<i32>, String, String) {
    let Ran { code, out, err } = Ran::of(output, &[]);
    (Some(code), out, err)
}

#[test]
fn every_help_fits_eighty_columns_and_ends_with_the_exit_codes() {
    let home = tempfile::tempdir().unwrap();
    let top = run(home.path(), &["--help"]).out;
    insta::assert_snapshot!("help", top);
    assert_eq!(verbs(&top), VERBS);
    for verb in VERBS {
        let help = run(home.path(), &[verb, "--help"]).out;
        insta::assert_snapshot!(format!("help_{verb}"), help);
    }
    for args in [&["--help"] as &[&str], &["-h"]]
        .into_iter()
        .map(<[&str]>::to_vec)
        .chain(
            VERBS
                .iter()
                .flat_map(|verb| [vec![*verb, "--help"], vec![*verb, "-h"]]),
        )
    {
        let help = run(home.path(), &args).out;
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
        }
        let end = help.rsplit("\n\n").next().unwrap();
        assert!(end.starts_with("Exit codes: 0 done;"), "{args:?}: {end}");
        assert!(end.split_whitespace().any(|word| word == "141"), "{end}");
    }
}

#[test]
fn a_narrow_terminal_gets_narrow_help() {
    let home = tempfile::tempdir().unwrap();
    for columns in ["0", "1", "20", "40", "many"] {
        for args in [&["--help"] as &[&str]]
            .into_iter()
            .map(<[&str]>::to_vec)
            .chain(VERBS.map(|verb| vec![verb, "--help"]))
            .chain([
                vec!["chekc"],
                vec!["check"],
                vec!["make", "x", "--springback", "soft"],
            ])
        {
            let output = program(home.path())
                .env("COLUMNS", columns)
                .args(&args)
                .output()
                .unwrap();
            let (code, out, err) = said(output);
            let good = args.contains(&"--help");
            assert_eq!(
                code,
                Some(if good { 0 } else { 2 }),
                "{columns} {args:?}: {err}"
            );
            assert!(!err.contains("panicked"), "{err}");
            if good && columns == "40" {
                // Words, flags and values stay whole; prose does not run on.
                let widest = out.lines().map(|line| line.chars().count()).max();
                assert!(widest.unwrap() <= 60, "{args:?}: {out}");
            }
        }
    }
}

#[test]
fn colours_go_to_verdict_and_headings_where_they_are_asked_for() {
    let home = started();
    let verbs: [&[&str]; 3] = [
        &["check", "plate.toml", QUICKLY[0], QUICKLY[1]],
        &["make", "plate.toml", QUICKLY[0], QUICKLY[1]],
        &["heat", "plate.toml", QUICKLY[0], QUICKLY[1]],
    ];
    for args in verbs {
        let with = |flags: &[&str], vars: &[(&str, &str)]| {
            let output = program(home.path())
                .args(args)
                .args(flags)
                .envs(vars.iter().copied())
                .output()
                .unwrap();
            assert_eq!(output.status.code(), Some(0), "{args:?} {flags:?}");
            String::from_utf8(output.stdout).unwrap()
        };
        let plain = with(&[], &[]);
        assert!(!plain.contains('\u{1b}'), "a pipe gets none");
        let colored = with(&["--color", "always"], &[]);
        assert!(
            colored.starts_with("\u{1b}[1m\u{1b}[33mYES, IF\u{1b}[0m "),
            "{}",
            colored.escape_debug()
        );
        // Nothing else is changed, and few words are coloured.
        assert_eq!(anstream::adapter::strip_str(&colored).to_string(), plain);
        assert!(colored.matches('\u{1b}').count() < 40);
        assert_eq!(with(&["--color=never"], &[("CLICOLOR_FORCE", "1")]), plain);
        assert_eq!(with(&["--color", "auto"], &[("NO_COLOR", "1")]), plain);
        assert_eq!(with(&["--color", "always"], &[("NO_COLOR", "1")]), colored);
        let json = with(&["--json", "--color", "always"], &[]);
        assert!(!json.contains('\u{1b}'));
    }
    for name in fs::read_dir(home.path().join("out/plate")).unwrap() {
        let path = name.unwrap().path();
        let text = path
            .extension()
            .is_some_and(|ending| ["txt", "md", "json"].iter().any(|e| ending == *e));
        if text {
            assert!(!fs::read(&path).unwrap().contains(&0x1b), "{path:?}");
        }
    }
    // The flag also holds where the command line says nothing else that is understood.
    for (flag, colored) in [("always", true), ("never", false)] {
        let output = program(home.path())
            .args(["chekc", "--color", flag])
            .output()
            .unwrap();
        let (code, _, err) = said(output);
        assert_eq!((code, err.contains('\u{1b}')), (Some(2), colored), "{err}");
    }
}

/// Colours are asked for, and the part's name would like to bring its own.
#[test]
fn names_of_a_part_bring_no_colours() {
    let home = tempfile::tempdir().unwrap();
    for name in ["\\u001b[31mred", "\\u009b31mred"] {
        let text = STARTER.replace("starter plate", name);
        fs::write(home.path().join("p.toml"), text).unwrap();
        let args = [
            "check", "p.toml", QUICKLY[0], QUICKLY[1], "--color", "always",
        ];
        let ran = run(home.path(), &args);
        assert!(!ran.out.contains("[31mred") && !ran.err.contains("\u{1b}[31mred"));
        assert!(!ran.out.contains('\u{9b}') && !ran.err.contains('\u{9b}'));
    }
}

#[test]
fn quiet_leaves_the_line_of_the_verdict_and_errors() {
    let home = started();
    for args in [
        &["check", "plate.toml", QUICKLY[0], QUICKLY[1]] as &[&str],
        &["dies", "plate.toml", QUICKLY[0], QUICKLY[1]],
        &["heat", "plate.toml", QUICKLY[0], QUICKLY[1]],
        &["make", "plate.toml", QUICKLY[0], QUICKLY[1]],
        &["blank", "plate.toml"],
    ] {
        let all = run(home.path(), args);
        let quiet = run(home.path(), &[&["--quiet"], args].concat());
        assert_eq!((quiet.code, quiet.err.as_str()), (0, ""));
        let first = all.out.lines().next().unwrap();
        assert_eq!(quiet.out, format!("{first}\n"), "{args:?}");
    }
    let ran = run(home.path(), &["new", "other.toml", "--quiet"]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    // A warning is left out, an error is not; what was asked for as text or document is there.
    let cracked = STARTER
        .replace("inside_radius_mm = 2.5 ", "inside_radius_mm = 0.4 ")
        .replace("temper = \"soft\" ", "temper = \"hard\" ");
    fs::write(home.path().join("w.toml"), cracked).unwrap();
    let args = ["check", "w.toml", QUICKLY[0], QUICKLY[1]];
    assert!(run(home.path(), &args).err.contains("warning: "));
    assert_eq!(
        run(home.path(), &[&args[..], &["--quiet"]].concat()).err,
        ""
    );
    let ran = run(home.path(), &["check", "none.toml", "--quiet"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("there is no file none.toml"),
        "{}",
        ran.err
    );
    let schema = run(home.path(), &["schema", "part"]).out;
    assert_eq!(run(home.path(), &["schema", "part", "--quiet"]).out, schema);
    assert_eq!(run(home.path(), &["new", "-", "--quiet"]).out, STARTER);
    let json = run(home.path(), &["blank", "plate.toml", "--quiet", "--json"]);
    assert_eq!(
        json.out,
        run(home.path(), &["blank", "plate.toml", "--json"]).out
    );
}

#[path = "../../build.rs"]
#[allow(dead_code)]
mod build;

/// Programs for tests are built without the commit; what a release asks git is asked here, of a repository of our own.
#[test]
fn the_version_names_the_commit_of_a_checkout_only() {
    let home = tempfile::tempdir().unwrap();
    let ran = run(home.path(), &["--version"]);
    assert_eq!(
        ran.out,
        concat!("coldstep ", env!("CARGO_PKG_VERSION"), "\n")
    );
    assert_eq!(build::commit(home.path()), None, "a tarball");
    let git = |args: &[&str]| {
        let ran = std::process::Command::new("git")
            .args([
                "-c",
                "user.name=x",
                "-c",
                "user.email=x",
                "-c",
                "commit.gpgsign=false",
            ])
            .args(args)
            .current_dir(home.path())
            .output();
        ran.is_ok_and(|output| output.status.success())
    };
    if !git(&["init", "-q"]) {
        // No git on this machine: then there is no commit either, as the line before says.
        return;
    }
    fs::write(home.path().join("Cargo.toml"), "x").unwrap();
    assert_eq!(
        build::commit(home.path()),
        None,
        "inside somebody's repository"
    );
    assert!(git(&["add", "Cargo.toml"]));
    assert_eq!(build::commit(home.path()), None, "no commit yet");
    assert!(git(&["commit", "-q", "-m", "x", "--no-verify"]));
    let commit = build::commit(home.path()).unwrap();
    let hash = commit.strip_prefix("commit ").unwrap();
    assert!(
        hash.len() >= 12 && hash.bytes().all(|b| b.is_ascii_hexdigit()),
        "{commit}"
    );
    fs::write(home.path().join("Cargo.toml"), "y").unwrap();
    assert_eq!(
        build::commit(home.path()),
        Some(format!("{commit}, changed since"))
    );
}

#[test]
fn completions_know_every_verb_and_manual_pages_every_flag() {
    let home = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ran = run(home.path(), &["completions", shell]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        for word in VERBS.into_iter().chain(["springback", "printer-scale"]) {
            assert!(ran.out.contains(word), "{shell}: {word}");
        }
        // Generators for the other two know no values of flags.
        if ["bash", "zsh", "fish"].contains(&shell) {
            assert!(ran.out.contains("bend-by-bend"), "{shell}");
        }
        let json = run(home.path(), &["completions", shell, "--json"]);
        assert_eq!((json.code, &json.document()["ok"]), (2, &false.into()));
    }
    let page = run(home.path(), &["man"]).out;
    assert!(page.contains(".TH coldstep 1"), "{page}");
    for verb in VERBS {
        assert!(page.contains(&format!("coldstep\\-{verb}(1)")), "{verb}");
        let ran = run(home.path(), &["man", verb]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        let title = format!(".TH coldstep-{verb} 1");
        assert!(ran.out.contains(&title), "{}", ran.out);
        assert!(ran.out.contains("\\-\\-json") && ran.out.contains("Exit codes: 0 done;"));
    }
    assert!(
        run(home.path(), &["man", "make"])
            .out
            .contains("\\-\\-printer\\-scale")
    );
    for verb in ["chekc", "\u{1b}[31m", "help"] {
        let ran = run(home.path(), &["man", verb]);
        assert_eq!(ran.code, 2);
        assert!(
            ran.err.contains("help: write one of new, check, "),
            "{}",
            ran.err
        );
        assert!(!ran.err.contains('\u{1b}'));
    }
}

/// Every kind of starter that can be asked for can be made; those of four steps also as they are pressed.
#[test]
fn every_kind_of_starter_checks_well() {
    let home = tempfile::tempdir().unwrap();
    let mut seen = BTreeSet::new();
    for like in ["rising", "falling", "up-down", "down-up"] {
        for steps in ["1", "2", "3", "4"] {
            let args = ["new", "p.toml", "--force", "--steps", steps, "--like", like];
            let ran = run(home.path(), &args);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""));
            let ran = run(home.path(), &["check", "p.toml", QUICKLY[0], QUICKLY[1]]);
            assert_eq!(
                (ran.code, ran.err.as_str()),
                (0, ""),
                "{like} {steps}: {}",
                ran.out
            );
            assert!(ran.out.starts_with("YES"), "{like} {steps}: {}", ran.out);
            if steps == "4" {
                let ran = run(home.path(), &["check", "p.toml"]);
                assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{like}: {}", ran.out);
                assert!(ran.out.starts_with("YES"), "{like}: {}", ran.out);
            }
            seen.insert(fs::read_to_string(home.path().join("p.toml")).unwrap());
        }
    }
    // With one step there is only up and down.
    assert_eq!(seen.len(), 14);
    let default = run(home.path(), &["new", "-", "--steps", "2"]).out;
    assert_eq!(
        run(
            home.path(),
            &["new", "-", "--steps", "2", "--like", "rising"]
        )
        .out,
        default
    );
    let ran = run(
        home.path(),
        &[
            "new", "p.toml", "--force", "--steps", "3", "--like", "up-down",
        ],
    );
    assert!(
        ran.out
            .starts_with("p.toml is written: an invented plate of this kind"),
        "{}",
        ran.out
    );
    for args in [&["check", "p.toml"] as &[&str], &["make", "p.toml"]] {
        let ran = run(home.path(), args);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
        assert!(ran.out.starts_with("YES"), "{}", ran.out);
    }
    for args in [
        &["--steps", "0"] as &[&str],
        &["--steps", "5"],
        &["--steps", "-1"],
        &["--steps", "many"],
        &["--like", "falling"],
        &["--steps", "2", "--like", "low"],
    ] {
        let ran = run(home.path(), &[&["new", "q.toml"], args].concat());
        assert_eq!(ran.code, 2, "{args:?}");
        assert!(!home.path().join("q.toml").exists());
    }
}

/// The program with Ctrl-C as a terminal has it: one that is started in the background inherits that it is ignored, and keeps to that.
#[cfg(unix)]
fn listening(folder: &Path) -> std::process::Command {
    let plain = program(folder);
    if !cfg!(target_os = "linux") {
        return plain;
    }
    let mut listening = std::process::Command::new("env");
    listening
        .arg("--default-signal=INT")
        .arg(plain.get_program());
    listening.current_dir(folder);
    for (name, value) in plain.get_envs() {
        match value {
            Some(value) => listening.env(name, value),
            None => listening.env_remove(name),
        };
    }
    listening
}

/// Lets a run read a part from a pipe: once it reads it, it also listens to Ctrl-C.
#[cfg(unix)]
fn reading(folder: &Path, args: &[&str]) -> Child {
    let mut child = listening(folder)
        .env("COLDSTEP_KEPT", "off")
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // More than a pipe holds: when it is written, somebody has begun to read.
    let mut text = STARTER.to_owned() + "# ";
    text.push_str(&"x".repeat(200_000));
    text.push('\n');
    child
        .stdin
        .as_mut()
        .unwrap()
        .write_all(text.as_bytes())
        .unwrap();
    child
}

#[cfg(unix)]
fn interrupt(child: &Child) {
    let sent = std::process::Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(sent.success());
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_with_130_and_nothing_written() {
    let home = tempfile::tempdir().unwrap();
    // While it waits for its part, and while it presses: that takes longer than the tenth of a second.
    for presses in [false, true] {
        let mut child = reading(home.path(), &["make", "-"]);
        if presses {
            drop(child.stdin.take());
            std::thread::sleep(Duration::from_millis(100));
        }
        interrupt(&child);
        let (code, out, err) = said(child.wait_with_output().unwrap());
        assert_eq!((code, out.as_str(), err.as_str()), (Some(130), "", ""));
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    }
}

/// Wherever it comes, also between two files: all files are there or none, and nothing half written.
#[cfg(unix)]
#[test]
fn ctrl_c_leaves_all_files_or_none() {
    let home = tempfile::tempdir().unwrap();
    let args = ["make", "-", QUICKLY[0], QUICKLY[1]];
    let mut child = reading(home.path(), &args);
    drop(child.stdin.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let names = |folder: &Path| -> BTreeSet<String> {
        fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect()
    };
    let all = names(&home.path().join("out/part"));
    assert!(all.len() > 20);
    let mut codes = BTreeSet::new();
    for round in 0..24 {
        let out = home.path().join("out");
        if out.exists() {
            fs::remove_dir_all(&out).unwrap();
        }
        let mut child = reading(home.path(), &args);
        drop(child.stdin.take());
        // From the first sign of writing on, a little later each time.
        let folder = out.join("part");
        while !folder.exists() && child.try_wait().unwrap().is_none() {
            std::thread::sleep(Duration::from_micros(200));
        }
        std::thread::sleep(Duration::from_micros(500 * round));
        // It may have ended by itself.
        let _ = std::process::Command::new("kill")
            .args(["-INT", &child.id().to_string()])
            .stderr(Stdio::null())
            .status();
        let code = child.wait().unwrap().code();
        assert!(matches!(code, Some(0 | 130)), "{code:?}");
        codes.insert(code);
        assert_eq!(names(&folder), all, "round {round}");
    }
    assert!(codes.contains(&Some(130)), "it never came in time");
}

/// The system's opener is one of our own, or none.
#[cfg(target_os = "linux")]
#[test]
fn open_shows_the_report_and_its_failure_is_no_error() {
    use std::os::unix::fs::PermissionsExt;
    let home = started();
    let tools = home.path().join("tools");
    fs::create_dir(&tools).unwrap();
    let make = |flags: &[&str]| {
        let output = program(home.path())
            .env("PATH", &tools)
            .args(["make", "plate.toml", "--open"])
            .args(QUICKLY)
            .args(flags)
            .output()
            .unwrap();
        let (code, out, err) = said(output);
        assert_eq!(code, Some(0), "{err}");
        assert!(out.starts_with("YES") || out.starts_with('{'), "{out}");
        err
    };
    let note = "note: out/plate/report.html could not be shown: ";
    let err = make(&[]);
    assert!(err.starts_with(note) && err.lines().count() == 1, "{err}");
    assert!(err.contains("there is no program for it"), "{err}");
    assert!(make(&["--json"]).starts_with(note));
    assert_eq!(make(&["--quiet"]), "");
    let opener = tools.join("xdg-open");
    let write = |script: &str| {
        fs::write(&opener, script).unwrap();
        fs::set_permissions(&opener, fs::Permissions::from_mode(0o755)).unwrap();
    };
    write("#!/bin/sh\nexit 3\n");
    assert!(make(&[]).contains("failed; open it in a browser yourself"));
    let shown = home.path().join("shown");
    write(&format!("#!/bin/sh\necho \"$@\" > '{}'\n", shown.display()));
    assert_eq!(make(&[]), "");
    let mut path = String::new();
    fs::File::open(shown)
        .unwrap()
        .read_to_string(&mut path)
        .unwrap();
    let report = home
        .path()
        .canonicalize()
        .unwrap()
        .join("out/plate/report.html");
    assert_eq!(path.trim_end(), report.to_str().unwrap());
}

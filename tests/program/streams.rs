//! Standard input in place of a part file, standard output in place of a file, and what goes wrong with either.

use crate::runs::{Ran, program, run};
use coldstep::part::starter::STARTER;
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::Path;
use std::process::{Child, Stdio};

/// Runs the program with something on its standard input, which may be more than it reads.
#[track_caller]
fn fed(folder: &Path, args: &[&str], feed: impl FnOnce(&mut Child)) -> Ran {
    let mut child = program(folder)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    feed(&mut child);
    drop(child.stdin.take());
    let output = child.wait_with_output().unwrap();
    Ran::of(output, args)
}

#[track_caller]
fn piped(folder: &Path, args: &[&str], text: &[u8]) -> Ran {
    fed(folder, args, |child| {
        let mut input = child.stdin.take().unwrap();
        input.write_all(text).unwrap();
    })
}

const QUICKLY: [&str; 2] = ["--springback", "bend-by-bend"];

#[test]
fn every_verb_on_a_part_reads_it_from_standard_input() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("plate.toml"), STARTER).unwrap();
    for (verb, flags) in [
        ("check", &QUICKLY as &[&str]),
        ("blank", &[]),
        ("press", &["--quick"]),
        ("dies", &QUICKLY),
        ("heat", &[]),
    ] {
        let of = |part| [&[verb, part], flags].concat();
        let file = run(home.path(), &of("plate.toml"));
        let ran = piped(home.path(), &of("-"), STARTER.as_bytes());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{verb}");
        assert_eq!(ran.out, file.out, "{verb}");
    }
}

#[test]
fn files_of_a_piped_part_are_those_of_the_part_file() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("part.toml"), STARTER).unwrap();
    let file = run(
        home.path(),
        &[&["make", "part.toml", "--out", "file"], &QUICKLY[..]].concat(),
    );
    assert_eq!(file.code, 0, "{}", file.err);
    let ran = piped(
        home.path(),
        &[&["make", "-"], &QUICKLY[..]].concat(),
        STARTER.as_bytes(),
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.contains("open out/part/report.html first"),
        "{}",
        ran.out
    );
    let mut count = 0;
    for entry in fs::read_dir(home.path().join("file")).unwrap() {
        let path = entry.unwrap().path();
        let other = home.path().join("out/part").join(path.file_name().unwrap());
        assert!(
            fs::read(&path).unwrap() == fs::read(other).unwrap(),
            "{path:?}"
        );
        count += 1;
    }
    assert!(count > 20, "{count}");
    let dies = [&["dies", "-", "--out", "pair"], &QUICKLY[..]].concat();
    let ran = piped(home.path(), &dies, STARTER.as_bytes());
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(home.path().join("pair/lower.stl").is_file());
}

#[test]
fn what_comes_in_is_refused_like_a_file() {
    let home = tempfile::tempdir().unwrap();
    for (bytes, code, words) in [
        (
            &b""[..],
            2,
            "error: standard input is empty\nhelp: `coldstep new plate.toml` writes",
        ),
        (b"\xFF\xFE[\0p\0", 2, "standard input is written in UTF-16"),
        (b"x = 1\n", 1, "--> standard input:1:1\n"),
        (b"\x1b[31m = 1\n", 1, "standard input is refused"),
    ] {
        let ran = piped(home.path(), &["check", "-"], bytes);
        assert_eq!(ran.code, code, "{}", ran.err);
        assert_eq!(ran.out, "");
        assert!(ran.err.contains(words), "{}", ran.err);
        assert!(!ran.err.contains('\u{1b}'), "{}", ran.err.escape_debug());
        let json = piped(home.path(), &["check", "-", "--json"], bytes);
        assert_eq!(json.document()["findings"][0]["file"], "standard input");
    }
    // The way out that an empty pipe is told works as it stands.
    assert_eq!(run(home.path(), &["new", "plate.toml"]).code, 0);
}

/// A hundred megabytes, then no end at all: the program stops reading.
#[test]
fn more_than_a_part_file_is_not_waited_for() {
    let home = tempfile::tempdir().unwrap();
    let mut taken = 0_usize;
    let ran = fed(home.path(), &["make", "-"], |child| {
        let mut input = child.stdin.take().unwrap();
        let mebibyte = vec![b'#'; 1 << 20];
        let refused = loop {
            match input.write(&mebibyte) {
                Ok(bytes) => taken += bytes,
                Err(error) => break error,
            }
            assert!(taken < 100 << 20, "it reads without end");
        };
        assert_eq!(refused.kind(), ErrorKind::BrokenPipe);
    });
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("standard input is more than 1 MiB long, a part file is at most 1 MiB"),
        "{}",
        ran.err
    );
    assert!(taken < 4 << 20, "{taken} bytes were taken");
    assert_eq!(
        fs::read_dir(home.path()).unwrap().count(),
        0,
        "nothing is written"
    );
    // The longest that is taken.
    let mut text = STARTER.to_owned() + "#";
    text.push_str(&"x".repeat((1 << 20) - text.len()));
    assert_eq!(piped(home.path(), &["blank", "-"], text.as_bytes()).code, 0);
    text.push('x');
    let ran = fed(home.path(), &["blank", "-"], |child| {
        // The program may be gone before the last byte.
        let _ = child.stdin.take().unwrap().write_all(text.as_bytes());
    });
    assert_eq!(ran.code, 2);
}

#[test]
fn new_writes_the_starter_to_standard_output() {
    let home = tempfile::tempdir().unwrap();
    let ran = run(home.path(), &["new", "-"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out, STARTER);
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    let ran = run(home.path(), &["new", "-", "--json"]);
    assert_eq!(ran.code, 2);
    assert_eq!(ran.document()["findings"][0]["help"][0], "leave out --json");
    // A file of this name can be had.
    assert_eq!(run(home.path(), &["new", "./-"]).code, 0);
    assert_eq!(run(home.path(), &["blank", "./-"]).code, 0);
}

/// The reader goes away before the first byte is written: quietly, and not as if all had been read.
#[test]
fn a_closed_pipe_ends_quietly_and_not_well() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("plate.toml"), STARTER).unwrap();
    for args in [
        &["blank", "plate.toml"] as &[&str],
        &["blank", "plate.toml", "--json"],
        &["new", "-"],
        &["schema", "result"],
        &["--help"],
        &["--version"],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = program(home.path())
            .args(args)
            .stdout(Stdio::from(writer))
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(141), "{args:?}");
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_the_answer_is_trouble() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("plate.toml"), STARTER).unwrap();
    for args in [
        &["blank", "plate.toml"] as &[&str],
        &["new", "-"],
        &["--help"],
    ] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full");
        let output = program(home.path())
            .args(args)
            .stdout(Stdio::from(full.unwrap()))
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.contains("could not be written"), "{args:?}: {said}");
    }
}

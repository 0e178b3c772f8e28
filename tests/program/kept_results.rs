//! Results of searches that are kept: same bytes as calculated ones, and only where nothing they depend on has changed.

use crate::runs::{KEPT, run, run_keeping};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// A folder with a part file and one for results.
struct Home(tempfile::TempDir);

impl Home {
    fn new() -> Self {
        let home = Self(tempfile::tempdir().unwrap());
        assert_eq!(run(home.0.path(), &["new", "plate.toml"]).code, 0);
        home
    }

    fn kept(&self) -> PathBuf {
        self.0.path().join("kept")
    }

    fn ran(&self, args: &[&str]) -> crate::runs::Ran {
        run_keeping(self.0.path(), self.kept().to_str().unwrap(), args)
    }

    /// Changes the part file.
    fn edit(&self, from: &str, to: &str) {
        let file = self.0.path().join("plate.toml");
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.contains(from), "{from}");
        fs::write(file, text.replacen(from, to, 1)).unwrap();
    }

    fn results(&self) -> Vec<PathBuf> {
        fs::read_dir(self.kept()).map_or_else(
            |_| Vec::new(),
            |entries| entries.map(|entry| entry.unwrap().path()).collect(),
        )
    }

    /// How many results were written by a run, and what it said.
    fn written_by(&self, work: impl FnOnce() -> String) -> (usize, String) {
        let long_ago = SystemTime::UNIX_EPOCH + Duration::from_secs(86_400);
        for path in self.results() {
            let file = File::options().write(true).open(path).unwrap();
            file.set_modified(long_ago).unwrap();
        }
        let said = work();
        let is_new = |path: &PathBuf| fs::metadata(path).unwrap().modified().unwrap() != long_ago;
        (
            self.results().iter().filter(|path| is_new(path)).count(),
            said,
        )
    }

    fn told(&self, args: &[&str]) -> (usize, String) {
        self.written_by(|| {
            let ran = self.ran(args);
            format!("{}\n{}\n{}", ran.code, ran.out, ran.err)
        })
    }
}

fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.clone(), fs::read(path).unwrap()))
        .collect()
}

#[test]
fn kept_and_calculated_results_give_the_same_bytes() {
    let home = Home::new();
    let out = home.0.path().join("out");
    let make = [
        "make",
        "plate.toml",
        "--springback",
        "quick",
        "--out",
        "out",
    ];
    let (written, said) = home.told(&make);
    assert_eq!(written, 1, "{said}");
    let first = files(&out);
    assert!(first.len() > 10);

    assert_eq!(home.told(&make), (0, said.clone()));
    assert!(files(&out) == first, "read again");
    let fresh: Vec<&str> = make.iter().copied().chain(["--fresh"]).collect();
    assert_eq!(home.told(&fresh), (1, said.clone()));
    assert!(files(&out) == first, "calculated again");

    // Damaged in the middle, then cut short.
    let result = home.results().pop().unwrap();
    let whole = fs::read(&result).unwrap();
    let mut bent = whole.clone();
    bent[whole.len() / 2] ^= 1;
    for damaged in [bent.as_slice(), &whole[..whole.len() / 2], b""] {
        fs::write(&result, damaged).unwrap();
        assert_eq!(home.told(&make), (1, said.clone()));
        assert!(files(&out) == first, "calculated in place of a damaged one");
        assert!(fs::read(&result).unwrap() == whole);
    }

    // Other verbs find the same search.
    for verb in [
        &["check", "plate.toml", "--springback", "quick", "--json"] as &[&str],
        &["dies", "plate.toml", "--springback", "quick", "--json"],
        &["heat", "plate.toml", "--springback", "quick", "--json"],
        &["press", "plate.toml", "--quick", "--json"],
    ] {
        let (written, said) = home.told(verb);
        assert_eq!(written, 0, "{verb:?}: {said}");
        assert_eq!(home.told(verb), (0, said.clone()), "{verb:?}");
        assert_eq!(home.ran(verb).document()["part"]["name"], "starter plate");
        let fresh: Vec<&str> = verb.iter().copied().chain(["--fresh"]).collect();
        assert_eq!(home.told(&fresh), (1, said), "{verb:?}");
    }
}

#[test]
fn only_what_the_search_reads_asks_for_a_new_one() {
    let home = Home::new();
    let check = ["check", "plate.toml"];
    assert_eq!(home.told(&check).0, 1);
    home.edit("height_mm = 1.3", "height_mm = 1.25");
    assert_eq!(home.told(&check).0, 0, "height of a component");
    home.edit("thickness_mm = 1.0", "thickness_mm = 0.9");
    // The search, and those that were made to see what its advice brings.
    let thinner = home.told(&check).0;
    assert!(thinner >= 1, "thickness of the sheet");
    home.edit("thickness_mm = 0.9", "thickness_mm = 1.0");
    assert_eq!(home.told(&check).0, 0, "back to the first");
    assert_eq!(home.results().len(), 1 + thinner);
}

#[test]
fn nothing_is_kept_where_nobody_wants_it() {
    let home = Home::new();
    let off = run_keeping(home.0.path(), "off", &["check", "plate.toml"]);
    assert_eq!(off.code, 0);
    assert!(!home.0.path().join("off").exists());
    // A file where the folder should be: no trouble, and not a word about it.
    fs::write(home.0.path().join("file"), "mine").unwrap();
    let in_the_way = run_keeping(home.0.path(), "file", &["check", "plate.toml"]);
    assert_eq!(
        (in_the_way.code, in_the_way.out, in_the_way.err),
        (off.code, off.out, off.err)
    );
    assert_eq!(fs::read(home.0.path().join("file")).unwrap(), b"mine");
}

/// A program with one byte more is another one.
#[cfg(target_os = "linux")]
#[test]
fn another_program_believes_nothing() {
    let home = Home::new();
    let args = ["check", "plate.toml"];
    assert_eq!(home.told(&args).0, 1);
    let other = home.0.path().join("other-program");
    fs::copy(assert_cmd::cargo::cargo_bin("coldstep"), &other).unwrap();
    let mut file = File::options().append(true).open(&other).unwrap();
    std::io::Write::write_all(&mut file, b"\0").unwrap();
    drop(file);
    let run = || {
        let output = std::process::Command::new(&other)
            .current_dir(home.0.path())
            .env(KEPT[0], home.kept())
            .args(args)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        String::from_utf8(output.stdout).unwrap()
    };
    let (written, said) = home.written_by(run);
    assert_eq!(written, 1);
    assert_eq!(home.written_by(run), (0, said));
    assert_eq!(home.results().len(), 2);
}

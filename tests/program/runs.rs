//! The program as a pipe sees it: arguments in, exit code and both streams out.

use crate::contract::agreed;
use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use std::process::Output;
use std::time::Duration;
use tempfile::TempDir;

/// A run that hangs fails its test, not the whole suite.
const LONGEST: Duration = Duration::from_secs(300);

/// Where runs of all tests keep what they found: not in anybody's home.
pub const KEPT: [&str; 2] = [
    "COLDSTEP_KEPT",
    concat!(env!("CARGO_TARGET_TMPDIR"), "/kept"),
];

/// A folder with `part.toml` of this text.
pub fn home_with(text: &str) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("part.toml"), text).unwrap();
    home
}

/// What a run left behind.
pub struct Ran {
    /// Exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// Of a run that came to an end of its own.
    #[track_caller]
    pub fn of(output: Output, args: &[&str]) -> Self {
        let ran = Self {
            code: output.status.code().expect("no signal"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        };
        assert!(!ran.err.contains("panicked"), "{args:?}: {}", ran.err);
        ran
    }

    /// The one JSON document on standard output.
    #[track_caller]
    pub fn document(&self) -> Value {
        let value: Value =
            serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}", self.out));
        agreed(&value);
        value
    }
}

/// The program in a folder, whatever the terminal of the tests is like; for what [`run`] does not ask.
pub fn program(folder: &Path) -> std::process::Command {
    let mut program = std::process::Command::new(assert_cmd::cargo::cargo_bin("coldstep"));
    program
        .current_dir(folder)
        .env_remove("COLUMNS")
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .env(KEPT[0], KEPT[1]);
    program
}

/// Runs the program in a folder, whatever the terminal of the tests is like.
#[track_caller]
pub fn run(folder: &Path, args: &[&str]) -> Ran {
    run_keeping(folder, KEPT[1], args)
}

/// The same with its own folder for what searches found.
#[track_caller]
pub fn run_keeping(folder: &Path, kept: &str, args: &[&str]) -> Ran {
    let output = Command::cargo_bin("coldstep")
        .unwrap()
        .current_dir(folder)
        .env_remove("COLUMNS")
        .env_remove("CLICOLOR_FORCE")
        .env(KEPT[0], kept)
        .args(args)
        .timeout(LONGEST)
        .output()
        .unwrap();
    Ran::of(output, args)
}

/// The verbs that a help lists, without the help itself.
pub fn verbs(help: &str) -> Vec<&str> {
    help.lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        // Further lines of a description stand further in.
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|verb| *verb != "help")
        .collect()
}

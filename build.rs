//! Tells the program which commit it is built from, for `--version` alone.
//!
//! Only a release asks: a program for tests would be built again after every commit. Without git, or from files that no
//! repository keeps (a tarball, a registry), there is no commit, and nothing goes wrong.

// Cargo is told on standard output; a build without a commit is a good build.
#![allow(clippy::print_stdout)]

use std::env;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let home = env::var_os("CARGO_MANIFEST_DIR").map_or_else(PathBuf::new, PathBuf::from);
    if env::var_os("PROFILE").is_none_or(|profile| profile != "release") {
        return;
    }
    for path in ["src", "Cargo.toml", "Cargo.lock"] {
        println!("cargo::rerun-if-changed={path}");
    }
    let Some(commit) = commit(&home) else { return };
    // Grows with every commit and every change of branch.
    if let Some(log) = git(&home, &["rev-parse", "--git-path", "logs/HEAD"])
        && home.join(&log).is_file()
    {
        println!("cargo::rerun-if-changed={log}");
    }
    let version = env::var("CARGO_PKG_VERSION").unwrap_or_default();
    println!("cargo::rustc-env=COLDSTEP_VERSION={version} ({commit})");
}

/// The commit of a checkout, `commit 0123456789ab`, with a word where files differ from it; `None` where the folder is no
/// checkout, also where it merely lies inside somebody's repository.
pub fn commit(home: &Path) -> Option<String> {
    git(home, &["ls-files", "--error-unmatch", "Cargo.toml"])?;
    let commit = git(home, &["rev-parse", "--short=12", "HEAD"])?;
    if commit.is_empty() || !commit.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let sources = ["src", "build.rs", "Cargo.toml", "Cargo.lock"];
    let status = [&["status", "--porcelain", "--"][..], &sources].concat();
    let changed = git(home, &status).is_none_or(|files| !files.is_empty());
    let word = if changed { ", changed since" } else { "" };
    Some(format!("commit {commit}{word}"))
}

/// What git says; `None` where it fails or is not there.
fn git(home: &Path, args: &[&str]) -> Option<String> {
    let output = Command::new("git")
        .args(args)
        .current_dir(home)
        // Looking must not write: two builds may look at once.
        .env("GIT_OPTIONAL_LOCKS", "0")
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .output()
        .ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| said.trim().to_owned())
}

//! The line through the program has one direction: a module imports only what stands above it.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

use std::path::Path;

/// The modules of the library from the bottom up.
const ORDER: [&str; 16] = [
    "quantity",
    "diagnostic",
    "geometry",
    "stock",
    "part",
    "blank",
    "plate",
    "forming",
    "fit",
    "heat",
    "solder",
    "dies",
    "verdict",
    "job",
    "output",
    "cli",
];
/// Analyses that stand side by side.
const SIBLINGS: [&str; 6] = ["blank", "forming", "fit", "heat", "solder", "dies"];
/// Siblings that may use another's result types (never its functions), and why.
const ALLOWED: [(&str, &str); 2] = [
    // Die faces follow the section that forming has compensated for springback.
    ("dies", "forming"),
    // Heat crosses the gaps that fit has measured.
    ("heat", "fit"),
];
/// What belongs to the command line alone: terminals, files, clocks, the environment.
const CLI_ONLY: [&str; 11] = [
    "clap",
    "anstream",
    "annotate_snippets",
    "comfy_table",
    "terminal_size",
    "tempfile",
    "std::fs",
    "std::time",
    "std::env",
    "std::process",
    "std::io",
];

/// Code without comments and without the tests at its end.
fn bare(text: &str) -> String {
    text.split("#[cfg(test)]")
        .next()
        .unwrap_or("")
        .lines()
        .map(|line| line.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

/// All paths that begin with `root::`, groups in braces written out.
fn paths(code: &str, root: &str) -> Vec<Vec<String>> {
    let head = format!("{root}::");
    code.match_indices(&head)
        .filter(|(at, _)| {
            !code[..*at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':')
        })
        .flat_map(|(at, _)| tree(&mut code[at + head.len()..].chars().peekable()))
        .collect()
}

fn tree(rest: &mut std::iter::Peekable<std::str::Chars<'_>>) -> Vec<Vec<String>> {
    while rest.next_if(|c| c.is_whitespace()).is_some() {}
    if rest.next_if_eq(&'{').is_some() {
        let mut all = Vec::new();
        loop {
            all.extend(tree(rest));
            // Over `as name` and white space to the next branch.
            while rest.next_if(|c| !matches!(c, ',' | '}')).is_some() {}
            if rest.next() != Some(',') {
                return all;
            }
        }
    }
    let mut name = String::new();
    while let Some(c) = rest.next_if(|c| c.is_alphanumeric() || matches!(c, '_' | '*')) {
        name.push(c);
    }
    if name.is_empty() {
        return Vec::new();
    }
    if rest.next_if_eq(&':').is_some() && rest.next_if_eq(&':').is_some() {
        let branches = tree(rest);
        if !branches.is_empty() {
            return branches
                .into_iter()
                .map(|branch| [vec![name.clone()], branch].concat())
                .collect();
        }
    }
    vec![vec![name]]
}

/// What breaks the rule in one file; `file` is its path below `src/`.
fn breaches(file: &str, text: &str) -> Vec<String> {
    let code = bare(text);
    let top = file.split('/').next().unwrap_or("");
    let module = top.strip_suffix(".rs").unwrap_or(top);
    if matches!(module, "lib" | "main") {
        return Vec::new();
    }
    let place = |name: &str| ORDER.iter().position(|known| *known == name);
    let Some(here) = place(module) else {
        return vec![format!("{file}: `{module}` has no place in the order")];
    };
    let mut found = Vec::new();
    // How this file spells the crate: by name, and by climbing.
    let depth = file.matches('/').count() + usize::from(!file.ends_with("/mod.rs"));
    let climbing = vec!["super"; depth].join("::");
    for path in ["crate", climbing.as_str()]
        .iter()
        .flat_map(|root| paths(&code, root))
    {
        let Some(there) = place(&path[0]) else {
            continue;
        };
        let shown = path.join("::");
        let other = ORDER[there];
        if there > here {
            found.push(format!(
                "{file}: {module} imports {shown}, which stands above it"
            ));
        } else if there < here && SIBLINGS.contains(&module) && SIBLINGS.contains(&other) {
            let is_type = path
                .iter()
                .any(|name| name.starts_with(|c: char| c.is_ascii_uppercase()));
            if !(is_type && ALLOWED.contains(&(module, other))) {
                found.push(format!("{file}: {module} imports {shown} of its sibling"));
            }
        }
    }
    if module != "cli" {
        let std_paths = paths(&code, "std")
            .into_iter()
            .map(|path| format!("std::{}", path.join("::")));
        let used: Vec<String> = std_paths
            .chain(
                CLI_ONLY
                    .iter()
                    .filter(|name| !name.contains(':'))
                    .filter_map(|name| {
                        let uses = !paths(&code, name).is_empty()
                            || code.contains(&format!("use {name};"));
                        uses.then(|| (*name).to_owned())
                    }),
            )
            .collect();
        for name in used {
            // Bytes in memory are no file.
            if name.starts_with("std::io::Cursor") {
                continue;
            }
            if CLI_ONLY
                .iter()
                .any(|only| name == *only || name.starts_with(&format!("{only}::")))
            {
                found.push(format!("{file}: {name} belongs below src/cli/"));
            }
        }
    }
    found
}

fn sources(folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, files);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let name = path.strip_prefix("src").unwrap().to_str().unwrap();
            files.push((
                name.replace('\\', "/"),
                std::fs::read_to_string(&path).unwrap(),
            ));
        }
    }
}

#[test]
fn every_module_imports_only_what_stands_above_it() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    assert!(files.len() > 20);
    let found: Vec<String> = files
        .iter()
        .flat_map(|(file, text)| breaches(file, text))
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn planted_breaches_are_found() {
    for (file, code) in [
        ("stock/pad.rs", "use crate::part::Part;"),
        (
            "stock/pad.rs",
            "use crate::{\n    quantity::plain,\n    fit,\n};",
        ),
        ("stock/mod.rs", "use super::part::Part;"),
        ("stock/pad.rs", "use super::super::part::Part;"),
        ("stock/pad.rs", "fn f() { crate::cli::run([]); }"),
        ("quantity.rs", "use super::geometry::Loop;"),
        ("forming/force.rs", "use crate::blank::develop;"),
        ("blank/mod.rs", "use crate::forming::Section;"),
        ("dies/mod.rs", "use crate::forming::{Section, simulate};"),
        ("dies/mod.rs", "use crate::fit::Fit;"),
        ("dies/mod.rs", "use crate::verdict::Verdict;"),
        ("verdict/words.rs", "use crate::job::Job;"),
        ("output/svg.rs", "use std::fs;"),
        ("output/svg.rs", "use std::{fmt, fs::File};"),
        ("output/svg.rs", "fn f() { std::time::Instant::now(); }"),
        ("part/mod.rs", "use clap::Args;"),
        ("part/mod.rs", "anstream::println!(\"x\");"),
        ("helpers/mod.rs", ""),
    ] {
        assert_eq!(
            breaches(file, code).len(),
            1,
            "{file}: {code}: {:?}",
            breaches(file, code)
        );
    }
}

#[test]
fn what_is_allowed_is_not_found() {
    for (file, code) in [
        (
            "part/mod.rs",
            "use crate::stock::{KRule, Metal};\nuse crate::quantity::plain as p;",
        ),
        (
            "part/board.rs",
            "use super::reader::At;\nuse crate::part::step::StepShape;",
        ),
        (
            "dies/mod.rs",
            "use crate::forming::{Section, section::Face};",
        ),
        (
            "part/mod.rs",
            "// use crate::cli::run;\n#[cfg(test)]\nmod tests { use crate::fit; }",
        ),
        (
            "cli/files.rs",
            "use std::fs;\nuse clap::Args;\nuse crate::output::svg;",
        ),
        (
            "stock/pad.rs",
            "use std::collections::BTreeMap;\nuse std::fmt::{self, Write as _};",
        ),
    ] {
        assert_eq!(breaches(file, code), Vec::<String>::new(), "{file}: {code}");
    }
}

/// Functions of the platform's mathematics library: their last bits differ from machine to machine.
const NOT_THE_SAME_EVERYWHERE: [&str; 12] = [
    ".hypot(",
    ".powi(",
    ".powf(",
    ".ln(",
    ".exp(",
    ".log10(",
    ".log2(",
    ".atan2(",
    ".cbrt(",
    ".sin_cos(",
    ".asin(",
    ".acos(",
];

/// `sin`, `cos` and `tan` cannot be told from those of `Angle` by their text; the others can.
#[test]
fn no_bit_depends_on_the_machine() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let mut found = Vec::new();
    for (file, text) in &files {
        for (number, line) in bare(text).lines().enumerate() {
            for function in NOT_THE_SAME_EVERYWHERE {
                if line.contains(function) {
                    found.push(format!("{file}:{}: {function}", number + 1));
                }
            }
        }
    }
    assert!(files.len() > 20, "the sources were found");
    assert_eq!(found, Vec::<String>::new(), "use Angle or libm");
}

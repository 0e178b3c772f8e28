//! The line through the program has one direction: a module imports only what stands above it.

use crate::sources::{code, library, paths};

/// The modules of the library from the bottom up.
const ORDER: [&str; 28] = [
    "mark",
    "numbers",
    "quantity",
    "change",
    "diagnostic",
    "numeric",
    "geometry",
    "stock",
    "draw",
    "formats",
    "part",
    "blank",
    "plate",
    "forming",
    "fit",
    "conduction",
    "heat",
    "solder",
    "dies",
    "verdict",
    "job",
    "tryout",
    "propose",
    "words",
    "result",
    "document",
    "output",
    "cli",
];
/// Analyses that stand side by side.
const SIBLINGS: [&str; 7] = [
    "blank",
    "forming",
    "fit",
    "conduction",
    "heat",
    "solder",
    "dies",
];
/// Siblings that may use another's result types (never its functions), and why.
const ALLOWED: [(&str, &str); 2] = [
    // Die faces follow the section that forming has compensated for springback.
    ("dies", "forming"),
    // Heat crosses the gaps that fit has measured.
    ("heat", "fit"),
];
/// Siblings that may use all of another: temperatures and soldering solve the same network.
const BUILT_ON: [(&str, &str); 2] = [("heat", "conduction"), ("solder", "conduction")];
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

/// What breaks the rule in one file; `file` is its path below `src/`.
fn breaches(file: &str, text: &str) -> Vec<String> {
    let code = code(text).text;
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
            let pair = (module, other);
            if !(BUILT_ON.contains(&pair) || is_type && ALLOWED.contains(&pair)) {
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
            if ["std::io::Cursor", "std::io::Write", "std::io::Result"]
                .iter()
                .any(|bytes| name.starts_with(bytes))
            {
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

#[test]
fn every_module_imports_only_what_stands_above_it() {
    let found: Vec<String> = library()
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
            "use crate::{\n    numbers::plain,\n    fit,\n};",
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
        ("dies/mod.rs", "use crate::conduction::Network;"),
        ("conduction/mod.rs", "use crate::heat::Heat;"),
        ("conduction/mod.rs", "use crate::fit::Underside;"),
        (
            "stock/mod.rs",
            "#[cfg(test)]\nmod sample;\nuse crate::part::Part;",
        ),
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
            "use crate::stock::{KRule, Metal};\nuse crate::numbers::plain as p;",
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
            "heat/model.rs",
            "use crate::conduction::{Network, solve};\nuse crate::fit::Underside;",
        ),
        ("solder/mod.rs", "use crate::conduction::solve;"),
        (
            "stock/pad.rs",
            "const TEXT: &str = \"use crate::part::Part;\";",
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
    let mut found = Vec::new();
    for (file, text) in library() {
        for (number, line) in code(&text).text.lines().enumerate() {
            for function in NOT_THE_SAME_EVERYWHERE {
                if line.contains(function) {
                    found.push(format!("{file}:{}: {function}", number + 1));
                }
            }
        }
    }
    assert_eq!(found, Vec::<String>::new(), "use Angle or libm");
}

/// Threads stand in one place, behind a feature: a library without it has none.
#[test]
fn threads_are_started_in_one_file() {
    let start: Vec<String> = library()
        .into_iter()
        .filter(|(file, text)| {
            !file.starts_with("cli/")
                && !paths(&code(text).text, "std")
                    .into_iter()
                    .all(|path| path[0] != "thread")
        })
        .map(|(file, _)| file)
        .collect();
    assert_eq!(start, ["numeric/shares.rs"]);
}

/// Plain types of the part stand below the reading of its file.
#[test]
fn plain_types_know_no_file() {
    let know_files: Vec<String> = library()
        .into_iter()
        .filter(|(file, text)| {
            let plain = file.starts_with("part/")
                && !file.starts_with("part/read/")
                && file != "part/mod.rs";
            let text = code(text).text;
            let through = |root: &str| !paths(&text, root).is_empty();
            plain && (through("crate::part::read") || through("super::read"))
        })
        .map(|(file, _)| file)
        .collect();
    // A change is written into a file, and that file is read again.
    assert_eq!(know_files, ["part/edit.rs"]);
}

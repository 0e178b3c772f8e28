//! No files use each other in a circle: each can be read, moved and tested with what stands below it.
//!
//! A file uses another when it imports or names something that is defined there. A name that a `mod.rs` hands on belongs
//! to the file that defines it. Tests do not count. A `mod.rs` that only hands on names of its own files does not use them.

use crate::sources::{Import, code, imports, library, mentions, paths};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// Circles that are still to be opened, each with its files in order. A new one fails, and so does one that is gone: take it
/// out of the list.
const STILL_THERE: &[&[&str]] = &[
    &["blank/distort.rs", "blank/mod.rs"],
    &["dies/marks.rs", "dies/mod.rs"],
    &["fit/cause.rs", "fit/mod.rs"],
    &[
        "output/report/blank.rs",
        "output/report/die_view.rs",
        "output/report/gaps.rs",
        "output/report/mod.rs",
        "output/report/pictures.rs",
        "output/report/pressing.rs",
        "output/report/steps.rs",
        "output/report/temperatures.rs",
    ],
    &["verdict.rs", "verdict/words.rs"],
];

/// A path of modules below the crate.
type Place = Vec<String>;

/// One source file.
struct Source {
    file: String,
    place: Place,
    imports: Vec<Import>,
    /// Without imports.
    rest: String,
}

struct Sources {
    all: Vec<Source>,
    by_place: BTreeMap<Place, usize>,
}

/// Which file uses which, and through what names.
type Uses = BTreeMap<(String, String), BTreeSet<String>>;

/// The module that a file is.
fn place(file: &str) -> Place {
    let path = file.strip_suffix(".rs").unwrap_or(file);
    path.strip_suffix("/mod")
        .unwrap_or(path)
        .split('/')
        .map(str::to_owned)
        .collect()
}

impl Sources {
    /// Files by their path below `src/`.
    fn new<S: AsRef<str>>(files: &[(S, S)]) -> Self {
        let mut all = Vec::new();
        let mut tests_only = Vec::new();
        for (file, text) in files {
            let (file, text) = (file.as_ref(), text.as_ref());
            // They hold no more than the list of modules, and nobody can import from them.
            if matches!(file, "lib.rs" | "main.rs") {
                continue;
            }
            let place = place(file);
            let code = code(text);
            tests_only.extend(
                code.test_modules
                    .into_iter()
                    .map(|name| [place.clone(), vec![name]].concat()),
            );
            let (imports, rest) = imports(&code.text);
            all.push(Source {
                file: file.to_owned(),
                place,
                imports,
                rest,
            });
        }
        all.retain(|source| !tests_only.iter().any(|gone| source.place.starts_with(gone)));
        let by_place = all
            .iter()
            .enumerate()
            .map(|(at, source)| (source.place.clone(), at))
            .collect();
        Self { all, by_place }
    }

    /// A path from the crate's root, or none where it leads out of the crate.
    fn absolute(&self, source: &Source, path: &[String]) -> Option<Place> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => Some(rest.to_vec()),
            "self" => Some([&source.place, rest].concat()),
            "super" => {
                let climbs = path.iter().take_while(|name| *name == "super").count();
                let kept = source.place.len().checked_sub(climbs)?;
                Some([&source.place[..kept], &path[climbs..]].concat())
            }
            _ => {
                let child = [source.place.as_slice(), std::slice::from_ref(first)].concat();
                self.by_place
                    .contains_key(&child)
                    .then(|| [child, rest.to_vec()].concat())
            }
        }
    }

    /// The file that defines what a path from the root names.
    fn definer(&self, path: &[String], hops: u8) -> Option<&Source> {
        let depth = (1..=path.len())
            .rev()
            .find(|depth| self.by_place.contains_key(&path[..*depth]))?;
        let source = &self.all[self.by_place[&path[..depth]]];
        let handed_on = path.get(depth).and_then(|name| {
            let import = source.imports.iter().find(|one| one.name == *name)?;
            let path = self.absolute(source, &import.path)?;
            self.definer(&path, hops.checked_sub(1)?)
        });
        Some(handed_on.unwrap_or(source))
    }

    /// What one file names, as paths from the root.
    fn named_by(&self, source: &Source) -> Vec<Place> {
        let mut named = Vec::new();
        let mut roots: BTreeMap<&str, Place> = BTreeMap::new();
        for root in ["crate", "self", "super"] {
            roots.insert(root, vec![root.to_owned()]);
        }
        for child in self.by_place.keys() {
            if let Some((name, above)) = child.split_last()
                && *above == source.place
            {
                roots.insert(name, vec![name.clone()]);
            }
        }
        for import in &source.imports {
            let Some(path) = self.absolute(source, &import.path) else {
                continue;
            };
            let is_own = import.is_public
                && path.starts_with(&source.place)
                && path.len() > source.place.len();
            if self.by_place.contains_key(&path) {
                roots.insert(&import.name, import.path.clone());
            }
            if !is_own || mentions(&source.rest, &import.name) {
                named.push(path);
            }
        }
        for (root, stands_for) in roots {
            for path in paths(&source.rest, root) {
                named.extend(self.absolute(source, &[stands_for.clone(), path].concat()));
            }
        }
        named
    }

    fn uses(&self) -> Uses {
        let mut uses = Uses::new();
        for source in &self.all {
            for path in self.named_by(source) {
                if let Some(other) = self.definer(&path, 8)
                    && other.file != source.file
                {
                    uses.entry((source.file.clone(), other.file.clone()))
                        .or_default()
                        .insert(path.join("::"));
                }
            }
        }
        uses
    }
}

/// All files that a file uses, by way of others too.
fn reached<'a>(next: &BTreeMap<&'a str, Vec<&'a str>>, from: &str) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(file) = open.pop() {
        for other in next.get(file).into_iter().flatten() {
            if found.insert(*other) {
                open.push(other);
            }
        }
    }
    found
}

/// Every largest set of files of which each uses all others, at least by way of others.
fn circles(uses: &Uses) -> BTreeSet<Vec<&str>> {
    let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (file, other) in uses.keys() {
        next.entry(file).or_default().push(other);
    }
    let reach: BTreeMap<&str, BTreeSet<&str>> = next
        .keys()
        .map(|file| (*file, reached(&next, file)))
        .collect();
    reach
        .iter()
        .filter(|(file, others)| others.contains(*file))
        .map(|(file, others)| {
            let back = |other: &&&str| reach.get(**other).is_some_and(|all| all.contains(file));
            others.iter().filter(back).copied().collect()
        })
        .collect()
}

/// Who uses whom in a circle, and through what.
fn told(uses: &Uses, circle: &[&str]) -> String {
    let mut text = String::new();
    for ((file, other), through) in uses {
        if circle.contains(&file.as_str()) && circle.contains(&other.as_str()) {
            let names: Vec<&str> = through.iter().map(String::as_str).collect();
            let _ = writeln!(text, "    {file} uses {other}: {}", names.join(", "));
        }
    }
    text
}

/// What differs between the circles there are and those that are known.
fn differences(uses: &Uses, known: &[&[&str]]) -> String {
    let found = circles(uses);
    let known: BTreeSet<Vec<&str>> = known.iter().map(|circle| circle.to_vec()).collect();
    let mut text = String::new();
    for circle in found.difference(&known) {
        let _ = writeln!(text, "new: &{circle:?},\n{}", told(uses, circle));
    }
    for circle in known.difference(&found) {
        let _ = writeln!(text, "gone, take it out of the list: &{circle:?},");
    }
    text
}

/// `cargo test --test house circle -- --nocapture` prints what closes each of those that are still there.
#[test]
fn no_files_use_each_other_in_a_circle() {
    let uses = Sources::new(&library()).uses();
    for circle in circles(&uses) {
        println!("{circle:?}\n{}", told(&uses, &circle));
    }
    let text = differences(&uses, STILL_THERE);
    assert!(text.is_empty(), "\n{text}");
}

/// Circles of made-up files.
#[track_caller]
fn finds(files: &[(&str, &str)], expected: &[&[&str]]) {
    let uses = Sources::new(files).uses();
    let expected: BTreeSet<Vec<&str>> = expected.iter().map(|circle| circle.to_vec()).collect();
    assert_eq!(circles(&uses), expected, "{uses:#?}");
}

#[test]
fn planted_circles_are_found() {
    // By import and by name in code, through the crate's root and by climbing.
    finds(
        &[
            ("a/x.rs", "use super::y::Y;"),
            ("a/y.rs", "fn f() { crate::a::x::g() }"),
        ],
        &[&["a/x.rs", "a/y.rs"]],
    );
    // Through a third, beside another circle that shares none of their files.
    finds(
        &[
            ("a.rs", "use crate::b::B;"),
            ("b.rs", "use crate::{quantity::Angle, c::C as D};"),
            ("c.rs", "use crate::a::A;\nuse crate::d;"),
            ("d.rs", "fn f(e: crate::e::E) {}"),
            ("e.rs", "use super::d::{self, D};"),
            ("quantity.rs", "use std::fmt;"),
        ],
        &[&["a.rs", "b.rs", "c.rs"], &["d.rs", "e.rs"]],
    );
    // Through names that a mod.rs hands on, under another name too, and on from there.
    finds(
        &[
            (
                "a/mod.rs",
                "mod x;\nmod y;\npub use x::X;\npub use y::{Y as Z};",
            ),
            ("a/x.rs", "use super::Z;"),
            ("a/y.rs", "use crate::b::X;"),
            ("b.rs", "pub use crate::a::X;"),
        ],
        &[&["a/x.rs", "a/y.rs"]],
    );
    // Through a module that was imported by itself.
    finds(
        &[
            ("a/mod.rs", "mod x;\npub use x::X;"),
            ("a/x.rs", "use crate::b::B;"),
            ("b.rs", "use crate::a;\nfn f(x: a::X) {}"),
        ],
        &[&["a/x.rs", "b.rs"]],
    );
    // A file that uses what stands in its mod.rs, which calls it: by path, by import, and by a name it also hands on.
    for text in [
        "mod x;\npub struct A;\nfn f() { x::f() }",
        "mod x;\nuse x::f;\npub struct A;",
        "mod x;\npub use x::X;\npub struct A { x: X }",
        "mod x;\npub use x::f;\npub struct A;\nfn g() { f() }",
        "mod x;\npub struct A;\nfn g() { self::x::f() }",
    ] {
        finds(
            &[("a/mod.rs", text), ("a/x.rs", "use super::A;")],
            &[&["a/mod.rs", "a/x.rs"]],
        );
    }
}

#[test]
fn what_is_no_circle_is_not_found() {
    // A mod.rs that hands on, and files that use each other through it in one direction.
    finds(
        &[
            (
                "a/mod.rs",
                "pub mod x;\nmod y;\npub use x::{X, make};\npub use y::Y;\npub struct A;\nfn f(a: A) { a.make(1) }",
            ),
            ("a/x.rs", "use super::Y;\nuse super::A;"),
            ("a/y.rs", "use crate::a::A;"),
            ("b.rs", "use crate::a::{X, Y, A, y};"),
        ],
        &[],
    );
    // Tests, comments and texts.
    finds(
        &[
            (
                "a/mod.rs",
                "mod x;\n#[cfg(test)]\nmod sample;\n#[cfg(test)]\nuse x::X;\npub struct A;",
            ),
            ("a/sample.rs", "use super::A;\nuse crate::b::B;"),
            (
                "a/x.rs",
                "use super::A; // crate::b::B\nconst B: &str = \"crate::b::B\";\n#[cfg(test)]\nmod tests { use crate::b::B; }",
            ),
            ("b.rs", "use crate::a::A;\nuse crate::a::x::X;"),
            ("main.rs", "use coldstep::cli;"),
        ],
        &[],
    );
}

#[test]
fn a_circle_is_told_with_what_closes_it_and_the_list_is_kept_short() {
    let uses = Sources::new(&[
        ("a.rs", "use crate::b::{B, C};"),
        ("b.rs", "use super::a::A;\nuse crate::d::D;"),
        ("d.rs", ""),
    ])
    .uses();
    assert_eq!(
        differences(&uses, &[]),
        "new: &[\"a.rs\", \"b.rs\"],\n    a.rs uses b.rs: b::B, b::C\n    b.rs uses a.rs: a::A\n\n"
    );
    assert_eq!(differences(&uses, &[&["a.rs", "b.rs"]]), "");
    assert_eq!(
        differences(&uses, &[&["a.rs", "b.rs"], &["b.rs", "d.rs"]]),
        "gone, take it out of the list: &[\"b.rs\", \"d.rs\"],\n"
    );
}

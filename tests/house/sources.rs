//! The sources of the library as the house rules read them: code without comments, texts and tests, and the paths in it.
//!
//! This is no parser of the language: it knows what `rustfmt` leaves standing here.

use std::iter::Peekable;
use std::path::Path;
use std::str::Chars;

/// Code that the library is built from, and what it says of files that are built for tests only.
pub struct Code {
    /// On the same lines as in the file.
    pub text: String,
    /// Names of `#[cfg(test)] mod name;`.
    pub test_modules: Vec<String>,
}

/// Code without comments, without what stands in texts, and without everything under `#[cfg(test)]`.
pub fn code(text: &str) -> Code {
    without_tests(&without_words(text))
}

/// Every comment gone, every text and every character empty.
fn without_words(text: &str) -> String {
    let all: Vec<char> = text.chars().collect();
    let is = |at: usize, c: char| all.get(at) == Some(&c);
    let mut out = String::new();
    let mut at = 0;
    while at < all.len() {
        let from = at;
        let after_name = out.ends_with(|c: char| c.is_alphanumeric() || c == '_');
        if is(at, '/') && is(at + 1, '/') {
            while at < all.len() && !is(at, '\n') {
                at += 1;
            }
            continue;
        }
        if is(at, '/') && is(at + 1, '*') {
            let mut depth = 1;
            at += 2;
            while at < all.len() && depth > 0 {
                if is(at, '*') && is(at + 1, '/') {
                    (depth, at) = (depth - 1, at + 2);
                } else if is(at, '/') && is(at + 1, '*') {
                    (depth, at) = (depth + 1, at + 2);
                } else {
                    at += 1;
                }
            }
        } else if let Some(hashes) = raw_hashes(&all[at..]).filter(|_| !after_name) {
            // `r##"` … `"##`; the `b` of bytes stands before and stays.
            at += 2 + hashes;
            while at < all.len() && !(is(at, '"') && (1..=hashes).all(|h| is(at + h, '#'))) {
                at += 1;
            }
            at += 1 + hashes;
            out.push_str("\"\"");
        } else if is(at, '"') {
            at += 1;
            while at < all.len() && !is(at, '"') {
                at += 1 + usize::from(is(at, '\\'));
            }
            at += 1;
            out.push_str("\"\"");
        } else if is(at, '\'') && (is(at + 1, '\\') || is(at + 2, '\'')) {
            at += 2 + usize::from(is(at + 1, '\\'));
            while at < all.len() && !is(at, '\'') {
                at += 1;
            }
            at += 1;
            out.push_str("' '");
        } else {
            out.push(all[at]);
            at += 1;
            continue;
        }
        let lines = all[from..at.min(all.len())].iter();
        out.extend(lines.filter(|c| **c == '\n'));
    }
    out
}

/// How many `#` a raw text that starts here has.
fn raw_hashes(rest: &[char]) -> Option<usize> {
    let after = rest.strip_prefix(&['r'])?;
    let hashes = after.iter().take_while(|c| **c == '#').count();
    (after.get(hashes) == Some(&'"')).then_some(hashes)
}

fn without_tests(bare: &str) -> Code {
    const MARK: &str = "#[cfg(test)]";
    let mut test_modules = Vec::new();
    let mut text = String::new();
    let mut rest = bare;
    while let Some((before, item)) = rest.split_once(MARK) {
        text.push_str(before);
        let end = item_end(item);
        let (gone, after) = item.split_at(end);
        text.extend(gone.chars().filter(|c| *c == '\n'));
        if let Some((_, name)) = gone
            .strip_suffix(';')
            .and_then(|line| line.rsplit_once("mod "))
        {
            test_modules.push(name.trim().to_owned());
        }
        rest = after;
    }
    text.push_str(rest);
    Code { text, test_modules }
}

/// Where the item after an attribute ends: behind its `;` or its last brace.
fn item_end(item: &str) -> usize {
    let mut depth = 0_i32;
    let mut braces = 0_i32;
    for (at, c) in item.char_indices() {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            '{' => braces += 1,
            '}' => {
                braces -= 1;
                if braces <= 0 {
                    return at + 1;
                }
            }
            ';' if depth == 0 && braces == 0 => return at + 1,
            _ => {}
        }
    }
    item.len()
}

/// Whether a name may end before or begin behind this piece of code.
fn in_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// All paths that begin with `root::`, without it, groups in braces written out.
pub fn paths(code: &str, root: &str) -> Vec<Vec<String>> {
    let head = format!("{root}::");
    code.match_indices(&head)
        .filter(|(at, _)| !code[..*at].ends_with(|c: char| in_name(c) || c == ':'))
        // `pub(in path)` imports nothing.
        .filter(|(at, _)| !code[..*at].ends_with("(in "))
        .flat_map(|(at, _)| tree(&mut code[at + head.len()..].chars().peekable()))
        .map(|(path, _)| path)
        .collect()
}

/// A path and the name it gets, which is its last one unless `as` gives another.
type Named = (Vec<String>, String);

fn tree(rest: &mut Peekable<Chars<'_>>) -> Vec<Named> {
    skip_space(rest);
    if rest.next_if_eq(&'{').is_some() {
        let mut all = Vec::new();
        loop {
            all.extend(tree(rest));
            // To the next branch.
            while rest.next_if(|c| !matches!(c, ',' | '}')).is_some() {}
            if rest.next() != Some(',') {
                return all;
            }
        }
    }
    let name = word(rest);
    if name.is_empty() {
        return Vec::new();
    }
    if rest.next_if_eq(&':').is_some() && rest.next_if_eq(&':').is_some() {
        let branches = tree(rest);
        if !branches.is_empty() {
            return branches
                .into_iter()
                .map(|(mut branch, bound)| {
                    // `part::{self}` is `part`, and called so.
                    let is_self = branch == ["self"];
                    let bound = if bound == "self" { name.clone() } else { bound };
                    branch.truncate(if is_self { 0 } else { branch.len() });
                    ([vec![name.clone()], branch].concat(), bound)
                })
                .collect();
        }
    }
    skip_space(rest);
    let mut ahead = rest.clone();
    let bound = if word(&mut ahead) == "as" {
        skip_space(&mut ahead);
        word(&mut ahead)
    } else {
        name.clone()
    };
    vec![(vec![name], bound)]
}

fn skip_space(rest: &mut Peekable<Chars<'_>>) {
    while rest.next_if(|c| c.is_whitespace()).is_some() {}
}

fn word(rest: &mut Peekable<Chars<'_>>) -> String {
    let mut name = String::new();
    while let Some(c) = rest.next_if(|c| in_name(*c) || *c == '*') {
        name.push(c);
    }
    name
}

/// One name that a `use` brings into a file.
#[derive(Debug, PartialEq)]
pub struct Import {
    pub path: Vec<String>,
    /// What the file calls it.
    pub name: String,
    /// Handed on, to all or to some.
    pub is_public: bool,
}

/// All imports of a file, and its code without them.
pub fn imports(code: &str) -> (Vec<Import>, String) {
    let mut found = Vec::new();
    let mut left = String::new();
    let mut rest = code;
    while let Some(at) = rest
        .match_indices("use ")
        .map(|(at, _)| at)
        .find(|at| !rest[..*at].ends_with(|c: char| !c.is_whitespace()))
    {
        let (before, from) = rest.split_at(at);
        let statement = from.split(';').next().unwrap_or("");
        let line = before.rsplit('\n').next().unwrap_or("");
        let is_public = line.trim_start().starts_with("pub");
        for (path, name) in tree(&mut statement["use ".len()..].chars().peekable()) {
            found.push(Import {
                path,
                name,
                is_public,
            });
        }
        left.push_str(before);
        rest = &from[statement.len()..];
    }
    left.push_str(rest);
    (found, left)
}

/// Whether code calls a function or names a type, constant or macro.
pub fn mentions(code: &str, name: &str) -> bool {
    let is_function = name.starts_with(|c: char| c.is_ascii_lowercase());
    code.match_indices(name).any(|(at, _)| {
        let (before, after) = (&code[..at], &code[at + name.len()..]);
        let is_whole = !before.ends_with(in_name) && !after.starts_with(in_name);
        is_whole
            && (!is_function
                || !before.ends_with(['.', ':'])
                    && !before.ends_with("fn ")
                    && after.starts_with(['(', '!']))
    })
}

/// Every source file below `src/`: its path from there, and its text.
pub fn library() -> Vec<(String, String)> {
    let mut files = Vec::new();
    below(Path::new("src"), &mut files);
    assert!(files.len() > 20, "the sources were found");
    files.sort();
    files
}

fn below(folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            below(&path, files);
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
fn words_and_tests_are_no_code() {
    for (text, bare) in [
        ("a // b\nc", "a \nc"),
        ("a /* b /* c */\n */ d", "a \n d"),
        (
            r#"x("// {", 'a', '\'', b"\"", r"\")"#,
            r#"x("", ' ', ' ', b"", "")"#,
        ),
        ("r#\"a\"b\n\"# c", "\"\"\n c"),
        ("fn f<'a>(x: &'a str) {}", "fn f<'a>(x: &'a str) {}"),
        ("for\"x\"", "for\"\""),
        (
            "#[cfg(test)]\n#[allow(x)]\nfn f(a: [u8; 2]) { { } }\nuse b;",
            "\n\n\nuse b;",
        ),
        ("#[cfg(test)]\nmod sample;\nmod next;", "\n\nmod next;"),
        ("a\n#[cfg(test)]\nmod tests { fn g() {} }\nb", "a\n\n\nb"),
    ] {
        assert_eq!(code(text).text, bare, "{text}");
    }
    assert_eq!(code("#[cfg(test)]\nmod sample;").test_modules, ["sample"]);
    assert_eq!(
        code("#[cfg(test)]\nmod tests { mod a; }").test_modules,
        [""; 0]
    );
}

#[test]
fn imports_are_taken_apart() {
    let (found, left) = imports(
        "mod a;\npub use a::{B, c as d};\npub(crate) use super::E;\nfn f() {\n    use crate::{\n        g::{self, h},\n    };\n    reuse (x);\n}",
    );
    let shown: Vec<String> = found
        .iter()
        .map(|one| {
            let public = if one.is_public { "pub " } else { "" };
            format!("{public}{} = {}", one.name, one.path.join("::"))
        })
        .collect();
    assert_eq!(
        shown,
        [
            "pub B = a::B",
            "pub d = a::c",
            "pub E = super::E",
            "g = crate::g",
            "h = crate::g::h"
        ]
    );
    assert!(!left.contains("::"), "{left}");
    assert!(left.contains("reuse (x)"), "{left}");
}

#[test]
fn names_are_found_where_they_are_used() {
    for (code, name) in [
        ("x: Cause,", "Cause"),
        ("room(3)", "room"),
        ("words! {}", "words"),
    ] {
        assert!(!mentions("", name) && mentions(code, name), "{code}");
    }
    for (code, name) in [
        ("x: Causes, BeCause", "Cause"),
        ("self.room(3)", "room"),
        ("fn room(x: u8)", "room"),
        ("bedroom(3)", "room"),
        ("room: 3", "room"),
    ] {
        assert!(!mentions(code, name), "{code}");
    }
}

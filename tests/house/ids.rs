//! Every finding has an id that is listed, and every listed id is given to a finding.

use crate::sources::library;
use coldstep::result::findings::IDS;
use std::collections::BTreeSet;

const LISTED: &str = include_str!("../../schema/README.md");

/// Texts in quotes behind each `marker`.
fn quoted<'a>(text: &'a str, marker: &str) -> Vec<&'a str> {
    text.match_indices(marker)
        .filter_map(|(at, _)| text[at + marker.len()..].split_once('"'))
        .map(|(id, _)| id)
        .collect()
}

#[test]
fn ids_are_listed_in_the_types_and_for_readers() {
    let ids: BTreeSet<&str> = IDS.iter().map(|(id, _)| *id).collect();
    assert_eq!(ids.len(), IDS.len(), "each stands once");
    let rows: Vec<String> = IDS
        .iter()
        .map(|(id, about)| format!("| `{id}` | {about} |"))
        .collect();
    let listed: Vec<&str> = LISTED
        .lines()
        .filter(|line| line.starts_with("| `"))
        .collect();
    assert_eq!(listed, rows, "renew the table of schema/README.md");
    for id in ids {
        assert!(
            id.bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte == b'-'),
            "{id}"
        );
    }
}

#[test]
fn every_id_in_the_sources_is_listed_and_every_listed_one_is_used() {
    let mut used = BTreeSet::new();
    let mut without = Vec::new();
    for (file, text) in library() {
        if file == "result/findings.rs" {
            continue;
        }
        let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
        let given = quoted(text, ".id(\"");
        let made: usize = ["error(", "warning(", "note("]
            .iter()
            .map(|way| text.matches(&format!("Diagnostic::{way}")).count())
            .sum();
        if made > given.len() {
            without.push(file.clone());
        }
        used.extend(given.into_iter().map(str::to_owned));
        used.extend(
            quoted(text, "=> \"press-")
                .into_iter()
                .map(|id| format!("press-{id}")),
        );
        let of_files = quoted(text, "const FILE: &str = \"");
        used.extend(of_files.into_iter().map(str::to_owned));
    }
    assert_eq!(without, Vec::<String>::new(), "findings without an id");
    let listed: BTreeSet<String> = IDS.iter().map(|(id, _)| (*id).to_owned()).collect();
    assert_eq!(used, listed);
}

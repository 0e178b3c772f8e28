//! Names: each used once, and what is said of one that nothing has.

use super::section::{At, Reading};
use super::spelling::nearest;
use crate::diagnostic::Diagnostic;
use std::collections::BTreeMap;

/// Says where names are used twice: reports and drawings refer to things by name.
pub fn distinct_names<'a>(
    what: &str,
    names: impl Iterator<Item = &'a At<String>>,
    reading: &mut Reading,
) {
    let mut seen: BTreeMap<&str, &At<String>> = BTreeMap::new();
    for name in names {
        if let Some(first) = seen.get(name.value.as_str()) {
            reading.findings.push(
                Diagnostic::error(format!("two {what}s are called \"{}\"", name.value))
                    .id("part-same-name")
                    .at(&name.span)
                    .also(&first.span, "the first one")
                    .help("give each its own name: reports and drawings use it"),
            );
        } else {
            seen.insert(name.value.as_str(), name);
        }
    }
}

/// A name that nothing has, with the nearest that something has.
pub fn nobody_called(
    what: &str,
    wanted: &At<String>,
    names: &[&str],
    lead: &str,
    reading: &mut Reading,
) {
    let finding = Diagnostic::error(format!("no {what} is called \"{}\"", wanted.value))
        .id("part-unknown-name")
        .at(&wanted.span);
    let finding = match nearest(&wanted.value, names) {
        Some(near) => finding.help(format!("did you mean \"{near}\"?")),
        None => finding,
    };
    reading
        .findings
        .push(finding.help(format!("{lead}: {}", names.join(", "))));
}

/// Names in one line, the first few of many.
pub fn listed(names: &[String]) -> String {
    match names {
        [a, b, c, rest @ ..] if !rest.is_empty() => {
            format!("{a}, {b}, {c} and {} more", rest.len())
        }
        names => names.join(", "),
    }
}

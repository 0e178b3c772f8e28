//! Whether a value is one that its key takes; the same for a file and for a program.

use crate::diagnostic::{Diagnostic, Findings, Span};
use crate::numbers::plain;
use crate::part::value::{Key, LONGEST_NAME, LONGEST_NOTE, Takes, Value};
use crate::quantity::{Allowed, Toleranced};

/// Reports what of a value its key does not take; true when it takes all.
pub fn good(value: &Value, key: &Key, span: &Span, findings: &mut Findings) -> bool {
    match (value, key.takes) {
        (Value::Text(text), Takes::Name) => name(text, key.name, span, findings),
        (Value::Text(text), Takes::Note) => note(text, key.name, span, findings),
        (Value::Number(number), Takes::Within(allowed)) => {
            within(findings, *number, span, &allowed)
        }
        (Value::Numbers(numbers), Takes::Within(allowed)) => {
            all_within(findings, numbers, span, &allowed)
        }
        (Value::Pairs(pairs), Takes::Within(allowed)) => {
            all_within(findings, pairs.as_flattened(), span, &allowed)
        }
        (Value::Pairs(pairs), Takes::Pairs(first, second)) => pairs.iter().all(|[one, other]| {
            within(findings, *one, span, &first) & within(findings, *other, span, &second)
        }),
        (Value::Toleranced(number), Takes::Measured(allowed, tolerance)) => {
            measured(*number, span, (&allowed, &tolerance), findings)
        }
        (Value::Toleranced(number), Takes::Banded(allowed, tolerance)) => {
            measured(*number, span, (&allowed, &tolerance), findings)
                && banded(*number, key.name, span, &allowed, findings)
        }
        // The type has been looked at, and every value of it is taken.
        _ => true,
    }
}

/// A name: short, without control characters, not empty.
fn name(text: &str, key: &str, span: &Span, findings: &mut Findings) -> bool {
    let objection = if text.trim().is_empty() {
        "is empty"
    } else if text.chars().any(char::is_control) {
        "holds a control character (a line break or a tab, for example)"
    } else if text.chars().count() > LONGEST_NAME {
        "is longer than 60 characters"
    } else {
        return true;
    };
    findings.push(
        Diagnostic::error(format!("`{key}` {objection}"))
            .id("part-text")
            .at(span)
            .help("give a short text on one line, at most 60 characters"),
    );
    false
}

fn note(text: &str, key: &str, span: &Span, findings: &mut Findings) -> bool {
    if text.chars().count() <= LONGEST_NOTE {
        return true;
    }
    findings.push(
        Diagnostic::error(format!("`{key}` is longer than 1000 characters"))
            .id("part-text")
            .at(span)
            .help("shorten it; a # comment in the file may be as long as you like"),
    );
    false
}

/// A number and its tolerance, both within their ranges.
fn measured(
    number: Toleranced,
    span: &Span,
    (allowed, tolerance): (&Allowed, &Allowed),
    findings: &mut Findings,
) -> bool {
    within(findings, number.value, span, allowed)
        & number
            .plus_minus
            .is_none_or(|plus_minus| within(findings, plus_minus, span, tolerance))
}

/// A number that may not leave its range within its tolerance.
///
/// A conductivity of 3 ± 3 could be nothing, and what is calculated with it anything.
fn banded(
    number: Toleranced,
    key: &str,
    span: &Span,
    allowed: &Allowed,
    findings: &mut Findings,
) -> bool {
    let plus_minus = number.plus_minus.unwrap_or(0.0);
    if number.value - plus_minus >= allowed.least {
        return true;
    }
    findings.push(
        Diagnostic::error(format!(
            "`{key}` of {} ± {} could be as little as {}",
            plain(number.value),
            plain(plus_minus),
            plain(number.value - plus_minus)
        ))
        .id("part-tolerance")
        .at(span)
        .help(format!(
            "{} cannot be below {}{}: let plus_minus be smaller",
            allowed.what,
            plain(allowed.least),
            allowed.unit_after_space()
        )),
    );
    false
}

/// Reports a number outside its range; true when it is inside.
fn within(findings: &mut Findings, value: f64, span: &Span, allowed: &Allowed) -> bool {
    let Some(objection) = allowed.objection(value) else {
        return true;
    };
    let unit = allowed.unit_after_space();
    let mut finding = Diagnostic::error(objection)
        .id("part-range")
        .at(span)
        .help(format!(
            "give {} from {} to {}{unit}",
            allowed.what,
            plain(allowed.least),
            plain(allowed.most)
        ));
    let share = value / 100.0;
    let is_share = allowed.unit.is_empty() && allowed.most <= 1.0;
    if is_share && value > 1.0 && allowed.objection(share).is_none() {
        finding = finding.help(format!(
            "{} % is written {}, a share and not a percentage",
            plain(value),
            plain(share)
        ));
    }
    findings.push(finding);
    false
}

/// Like [`within`] for several numbers of one value.
fn all_within(findings: &mut Findings, values: &[f64], span: &Span, allowed: &Allowed) -> bool {
    values
        .iter()
        .all(|value| within(findings, *value, span, allowed))
}

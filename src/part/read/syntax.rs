//! Syntax errors in the words of the part file.

use super::spelling::printable;
use crate::diagnostic::Diagnostic;

/// A syntax error in the words of the part file, where the line shows what was meant.
pub fn syntax_finding(source: &str, error: &toml::de::Error) -> Diagnostic {
    const SHAPE: &str =
        "one `key = value` a line, texts in \"quotes\", tables as [name] or [[name]]";
    let span = error.span().unwrap_or(0..0);
    let line_start = source
        .get(..span.start)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |at| at + 1);
    let line = source
        .get(line_start..)
        .and_then(|rest| rest.lines().next())
        .unwrap_or("");
    let said = error.message().lines().next().unwrap_or("unreadable");
    let said = said.strip_suffix(", expected nothing").unwrap_or(said);
    let key_and_value = line.split_once('=').map(|(key, value)| {
        let value = value.split('#').next().unwrap_or("");
        (printable(key.trim()), printable(value.trim()))
    });
    if let Some((key, value)) = &key_and_value {
        let decimal_comma = value.split_once(',').is_some_and(|(whole, rest)| {
            let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
            digits(whole.trim_start_matches('-')) && digits(rest)
        });
        if decimal_comma {
            return Diagnostic::error(format!("`{key}` has a decimal comma"))
                .id("part-syntax")
                .at(&span)
                .help(format!(
                    "write a decimal point: {key} = {}",
                    value.replace(',', ".")
                ));
        }
        if said.starts_with("duplicate key") {
            return Diagnostic::error(format!("`{key}` is given twice"))
                .id("part-syntax")
                .at(&span)
                .help("keep one of the two lines, or begin the next table between them");
        }
        if value.is_empty() {
            return Diagnostic::error(format!("`{key}` has no value"))
                .id("part-syntax")
                .at(&span)
                .help("give it a value, or delete the line");
        }
        if said.starts_with("string values must be quoted") {
            return Diagnostic::error(format!("`{key}` has a text without quotes"))
                .id("part-syntax")
                .at(&span)
                .help(format!("put a text in quotes: {key} = \"{value}\""))
                .help("or write a number with digits and a decimal point only, no unit");
        }
    }
    let finding = Diagnostic::error(format!("not TOML: {said}"))
        .id("part-syntax")
        .at(&span);
    if said.starts_with("invalid basic string") {
        return finding
            .help(
                "close the text with a quotation mark on its own line, without control characters",
            )
            .help("inside quotes a backslash is written twice");
    }
    finding.help(SHAPE)
}

//! Findings for people: place, excerpt, caret, ways out.

use super::source::Source;
use super::terminal;
use crate::cli::answer::{Answer, Failure, Trouble};
use crate::diagnostic::{Diagnostic, Severity, Span};
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use std::fmt::Write as _;

/// Findings shown at once; a file that is wrong throughout is repaired from the top anyway.
const MOST_SHOWN: usize = 50;

/// What a person should look at although there is an answer.
pub fn warnings(answer: &Answer) -> String {
    findings(
        &answer.warnings,
        answer.source.as_ref().unwrap_or(&Source::new("", "")),
        terminal::warning_width(),
    )
}

/// Why there is no answer.
pub fn failure(failure: &Failure) -> String {
    match failure {
        Failure::Trouble(trouble) => self::trouble(trouble),
        Failure::Refused { source, findings } => {
            let mut text = self::findings(findings, source, terminal::warning_width());
            let errors = count(findings, Severity::Error);
            let _ = writeln!(
                text,
                "{} is refused: {}",
                source.file,
                if errors == 1 {
                    "1 error".to_owned()
                } else {
                    format!("{errors} errors")
                }
            );
            text
        }
    }
}

/// File trouble: message and ways out.
pub fn trouble(trouble: &Trouble) -> String {
    let title = Level::ERROR.primary_title(&trouble.message);
    with_help(&Renderer::styled(), Group::with_title(title), &trouble.help)
}

/// All findings, one below the other.
pub fn findings(findings: &[Diagnostic], source: &Source, width: usize) -> String {
    let renderer = Renderer::styled().term_width(width);
    let mut text = String::new();
    for finding in findings.iter().take(MOST_SHOWN) {
        text.push_str(&with_help(&renderer, shown(finding, source), &finding.help));
        text.push('\n');
    }
    if let Some(rest @ 1..) = findings.len().checked_sub(MOST_SHOWN) {
        let _ = writeln!(
            text,
            "and {rest} more; these are the first {MOST_SHOWN} in the order of the file\n"
        );
    }
    text
}

fn count(findings: &[Diagnostic], severity: Severity) -> usize {
    findings
        .iter()
        .filter(|finding| finding.severity == severity)
        .count()
}

/// A message and its ways out, each on its own line at the margin.
fn with_help(renderer: &Renderer, message: Group<'_>, help: &[String]) -> String {
    let mut text = renderer.render(&[message]);
    text.push('\n');
    for help in help {
        let help = Group::with_title(Level::HELP.secondary_title(help));
        text.push_str(&renderer.render(&[help]));
        text.push('\n');
    }
    text
}

fn shown<'a>(finding: &'a Diagnostic, source: &'a Source) -> Group<'a> {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = Group::with_title(level.primary_title(&finding.message));
    match &finding.span {
        None if source.file.is_empty() => title,
        None => title.element(Origin::path(&source.file)),
        Some(span) => title.element(excerpt(finding, span, source)),
    }
}

/// The lines of all places of a finding, with what lies between them folded away.
fn excerpt<'a>(
    finding: &'a Diagnostic,
    span: &Span,
    source: &'a Source,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let primary = on_one_line(span, source);
    let related: Vec<(Span, &str)> = finding
        .related
        .iter()
        .map(|(span, words)| (on_one_line(span, source), words.as_str()))
        .collect();
    let (mut from, mut to) = (primary.start, primary.end);
    for (span, _) in &related {
        from = from.min(span.start);
        to = to.max(span.end);
    }
    let from = source.line_around(from).start;
    let to = source.line_around(to).end;
    let moved = |span: &Span| span.start - from..span.end - from;
    let annotation = AnnotationKind::Primary.span(moved(&primary));
    let annotation = match &finding.label {
        Some(label) => annotation.label(label),
        None => annotation,
    };
    Snippet::source(source.text.get(from..to).unwrap_or(""))
        .line_start(source.place(from).0)
        .path(&source.file)
        .annotation(annotation)
        .annotations(
            related
                .into_iter()
                .map(|(span, words)| AnnotationKind::Context.span(moved(&span)).label(words)),
        )
}

/// A span that exists, cuts no character and stays on its first line.
fn on_one_line(span: &Span, source: &Source) -> Span {
    let line = source.line_around(span.start);
    let start = source.clamped(span.start).min(line.end);
    let end = source.clamped(span.end).clamp(start, line.end);
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn plain(finding: &Diagnostic, source: &Source) -> String {
        anstream::adapter::strip_str(&findings(std::slice::from_ref(finding), source, 100))
            .to_string()
    }

    #[test]
    fn place_excerpt_and_every_way_out_are_shown() {
        let source = Source::new("plate.toml", "a = 1\n\nb = \"µ\" # c\n");
        let finding = Diagnostic::warning("two of them")
            .at(&(16..17))
            .label("here")
            .also(&(0..1), "the first")
            .help("delete one")
            .help("or both");
        assert_eq!(
            plain(&finding, &source),
            "warning: two of them\n \
             --> plate.toml:3:9\n  \
             |\n\
             1 | a = 1\n  \
             | - the first\n\
             2 |\n\
             3 | b = \"µ\" # c\n  \
             |         ^ here\n\
             help: delete one\n\
             help: or both\n\n"
        );
    }

    #[test]
    fn a_long_line_does_not_flood_the_terminal() {
        let line = format!("note = {}", "é".repeat(100_000));
        let source = Source::new("f", line.clone());
        for span in [0..4, 5_000..5_001, 7..line.len(), 0..line.len()] {
            let text = plain(&Diagnostic::error("long").at(&span), &source);
            assert!(text.len() < 1000, "{}: {}", text.len(), text);
        }
    }

    #[test]
    fn a_span_over_many_lines_shows_the_first() {
        let source = Source::new("f", "x = [\n1,\n2,\n3,\n]\n");
        let text = plain(&Diagnostic::error("long").at(&(4..18)), &source);
        assert!(text.contains("x = ["), "{text}");
        assert!(!text.contains("2,"), "{text}");
    }

    #[test]
    fn beyond_fifty_the_rest_is_counted() {
        let source = Source::new("f", "x");
        let many = |count| vec![Diagnostic::error("wrong").at(&(0..1)); count];
        let shown = |count| findings(&many(count), &source, 100);
        assert_eq!(shown(50).matches("wrong").count(), 50);
        assert!(!shown(50).contains("more"));
        assert_eq!(shown(53).matches("wrong").count(), 50);
        assert!(shown(53).contains("and 3 more"));
    }

    proptest! {
        /// Spans that lie outside, run backwards or cut a character are drawn somewhere, without panic.
        #[test]
        fn odd_spans_are_drawn(
            text in "[a-c =\"\n\r\té€😀\u{0}\u{1b}\u{300}]{0,40}",
            places in prop::collection::vec((0_usize..80, 0_usize..80), 3),
            width in 10_usize..120,
        ) {
            let source = Source::new("f", text);
            let span = |i: usize| places[i].0..places[i].1;
            let finding = Diagnostic::error("odd")
                .at(&span(0))
                .label("here")
                .also(&span(1), "one")
                .also(&span(2), "two");
            let shown = findings(&[finding], &source, width);
            prop_assert!(shown.contains("odd"));
            let escapes = anstream::adapter::strip_str(&shown).to_string().contains('\x1b');
            prop_assert!(!escapes);
            let end = findings(&[Diagnostic::error("end").at(&(usize::MAX..usize::MAX))], &source, width);
            prop_assert!(end.contains("end"));
        }
    }
}

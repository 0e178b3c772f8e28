//! Part files that somebody's cat walked over: taken or refused with a reason, never a panic.

use coldstep::diagnostic::Severity;
use coldstep::part::{parse, starter::STARTER};
use proptest::prelude::*;

/// Values that fit no key, or a wrong one.
const ODD: [&str; 16] = [
    "nan",
    "-inf",
    "1e300",
    "-1",
    "0",
    "\"\"",
    "\"x\"",
    "true",
    "[]",
    "[[]]",
    "{}",
    "[1, 2, 3]",
    "{ value = 1.0 }",
    "{ value = nan, plus_minus = -1 }",
    "1,0",
    "",
];

fn reasoned(source: &str) -> Result<(), TestCaseError> {
    match parse(source) {
        Ok(part) => {
            // What is taken can be computed with.
            let fit = coldstep::fit::fit(&part.value);
            prop_assert_eq!(fit.components.len(), part.value.components.len());
        }
        Err(findings) => {
            let errors = findings.iter().filter(|f| f.severity == Severity::Error);
            prop_assert!(errors.count() > 0, "refused without a reason:\n{source}");
            for finding in &findings {
                prop_assert!(
                    !finding.help.is_empty(),
                    "no way out: {finding:?}\n{source}"
                );
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    /// Lines of the starter go missing, change places or get odd values.
    #[test]
    fn a_battered_starter_is_taken_or_refused_with_a_reason(
        blows in prop::collection::vec((any::<prop::sample::Index>(), 0..3, any::<prop::sample::Index>()), 1..6),
        uncomment in any::<bool>(),
    ) {
        let mut lines: Vec<String> = STARTER
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(bare) if uncomment && (bare.contains(" = ") || bare.starts_with("[[")) => bare.to_owned(),
                _ => line.to_owned(),
            })
            .collect();
        for (place, blow, other) in blows {
            let at = place.index(lines.len());
            match blow {
                0 => {
                    lines.remove(at);
                }
                1 => {
                    let other = other.index(lines.len());
                    lines.swap(at, other);
                }
                _ => {
                    if let Some((key, _)) = lines[at].clone().split_once('=') {
                        lines[at] = format!("{key}= {}", ODD[other.index(ODD.len())]);
                    }
                }
            }
        }
        reasoned(&lines.join("\n"))?;
    }

    #[test]
    fn a_cut_starter_is_taken_or_refused_with_a_reason(at in any::<prop::sample::Index>()) {
        let cut = at.index(STARTER.len());
        if let Some(source) = STARTER.get(..cut) {
            reasoned(source)?;
        }
    }

    #[test]
    fn any_text_is_refused_with_a_reason(text in any::<String>()) {
        prop_assert!(parse(&text).is_err());
        reasoned(&text)?;
    }
}

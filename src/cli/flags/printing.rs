//! How templates are printed: flags.

use crate::output::paper::{Paper, Printing};
use clap::{Args, ValueEnum};

/// Readings of a ruler of 100 mm that a paper printer can explain, mm.
const BELIEVED_MM: std::ops::RangeInclusive<f64> = 90.0..=110.0;

/// Paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperWord {
    /// A4 or Letter, whichever takes fewer pages.
    Auto,
    /// 210 x 297 mm.
    A4,
    /// 8.5 x 11 inches.
    Letter,
}

/// The flags of verbs that write a template.
#[derive(Debug, Args)]
pub struct HowPrinted {
    /// Paper of the template.
    #[arg(long, value_enum, default_value = "auto", value_name = "PAPER")]
    paper: PaperWord,
    /// What the printed 100 mm rulers measure, mm: 99.4, or 99.4x100.2 for across x up the page.
    #[arg(long, value_name = "MM", value_parser = readings, default_value = "100", hide_default_value = true)]
    printer_scale: [f64; 2],
}

impl HowPrinted {
    /// The same for the library.
    pub fn printing(&self) -> Printing {
        Printing {
            paper: match self.paper {
                PaperWord::Auto => Paper::Auto,
                PaperWord::A4 => Paper::A4,
                PaperWord::Letter => Paper::Letter,
            },
            ruler_measures_mm: self.printer_scale,
        }
    }
}

/// One reading, or one across and one up.
fn readings(text: &str) -> Result<[f64; 2], String> {
    let mut parts = text.split('x');
    let one = |part: &str| {
        let part = part.trim();
        let value: f64 = part.parse().map_err(|_| {
            let point = if part.contains(',') {
                "; write a point, not a comma"
            } else {
                ""
            };
            format!("\"{part}\" is no number{point}: write what the rulers measure in mm, as 99.4 or 99.4x100.2")
        })?;
        if BELIEVED_MM.contains(&value) {
            Ok(value)
        } else if (0.9..=1.1).contains(&value) {
            Err(format!(
                "{part} looks like a factor: write what the 100 mm ruler measures, {}",
                crate::numbers::plain((value * 1e5).round() / 1e3)
            ))
        } else {
            Err(format!(
                "a ruler of 100 mm that measures {part} mm was not printed at 100 %: print again at actual size, without fitting to the page"
            ))
        }
    };
    let across = one(parts.next().unwrap_or(""))?;
    let up = parts.next().map_or(Ok(across), one)?;
    if parts.next().is_some() {
        return Err("write one number, or two with an x between them, as 99.4x100.2".to_owned());
    }
    Ok([across, up])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_one_number_or_two() {
        assert_eq!(readings("99.4"), Ok([99.4, 99.4]));
        assert_eq!(readings("99.4x100.2"), Ok([99.4, 100.2]));
        for (text, words) in [
            ("0.994", "measures, 99.4"),
            ("99,4", "a point"),
            ("50", "at actual size"),
            ("1x2x3", "looks like a factor"),
            ("99x100x101", "two with an x"),
            ("", "is no number"),
            ("nan", "actual size"),
            ("99.4x", "is no number"),
        ] {
            let refused = readings(text).unwrap_err();
            assert!(refused.contains(words), "{text}: {refused}");
        }
        // A factor of 1 is what it looks like.
        assert!(readings("1").unwrap_err().contains("measures, 100"));
    }
}

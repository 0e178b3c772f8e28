//! How numbers are written: one rule for rounding, signs and groups of digits.

use crate::quantity::plain;

/// How many digits of a number are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Digits {
    /// So many decimals.
    Fixed(usize),
    /// So many decimals and always a sign: a miss, a change.
    Signed(usize),
    /// As a person would write it, without trailing zeros: what the part file says.
    Plain,
}

impl Digits {
    /// The number as text; a zero has no sign. `None` for what is no finite number.
    pub fn write(self, value: f64) -> Option<String> {
        value.is_finite().then(|| match self {
            Self::Fixed(decimals) => unsigned_zero(format!("{value:.decimals$}")),
            Self::Signed(decimals) => signed(value, decimals),
            Self::Plain => plain(value),
        })
    }
}

/// A number without decimals.
pub fn whole(value: f64) -> String {
    unsigned_zero(format!("{value:.0}"))
}

/// A number with one decimal.
pub fn tenths(value: f64) -> String {
    unsigned_zero(format!("{value:.1}"))
}

/// A distance to the hundredth of a millimetre.
pub fn hundredths(mm: f64) -> String {
    unsigned_zero(format!("{mm:.2}"))
}

/// A size: to the hundredth, from 20 mm on to the tenth.
pub fn size(mm: f64) -> String {
    if mm.abs() < 19.995 {
        hundredths(mm)
    } else {
        unsigned_zero(format!("{mm:.1}"))
    }
}

/// A number that rounds to zero has no sign.
pub fn unsigned_zero(text: String) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// A miss with its sign; none where it rounds to zero.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    if text.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) {
        text
    } else {
        format!("{:.decimals$}", 0.0)
    }
}

/// A count, with a space before each three digits.
pub fn count(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_sensible_digits() {
        assert_eq!(hundredths(0.8), "0.80");
        assert_eq!(hundredths(-0.001), "0.00");
        assert_eq!(hundredths(-0.3), "-0.30");
        assert_eq!(size(4.5), "4.50");
        assert_eq!(size(19.999), "20.0");
        assert_eq!(size(123.456), "123.5");
    }

    #[test]
    fn a_sign_stands_only_before_something() {
        assert_eq!(signed(0.004, 3), "+0.004");
        assert_eq!(signed(-0.0004, 3), "0.000");
        assert_eq!(signed(-1.25, 1), "-1.2");
    }

    #[test]
    fn zero_has_one_spelling() {
        for digits in [Digits::Fixed(2), Digits::Signed(2)] {
            assert_eq!(digits.write(-0.001).as_deref(), Some("0.00"));
            assert_eq!(digits.write(-0.0).as_deref(), Some("0.00"));
        }
        assert_eq!(Digits::Plain.write(-0.0).as_deref(), Some("0"));
        assert_eq!(Digits::Signed(1).write(1.25).as_deref(), Some("+1.2"));
        assert_eq!(Digits::Fixed(1).write(f64::INFINITY), None);
    }

    #[test]
    fn counts_are_grouped() {
        assert_eq!(count(7), "7");
        assert_eq!(count(15_000), "15 000");
        assert_eq!(count(1_234_567), "1 234 567");
    }
}

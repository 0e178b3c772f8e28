//! How many digits of a number are shown: the one place where a document rounds.

use crate::numbers::{plain, signed, unsigned_zero};

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

#[cfg(test)]
mod tests {
    use super::*;

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
}

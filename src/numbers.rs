//! How numbers are written: one rule for rounding, signs and groups of digits.

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

/// A half-width, rounded up to the tenth: a range is never told narrower than it is.
pub fn tenths_up(half: f64) -> String {
    tenths(libm::ceil(10.0 * half - 1e-9) / 10.0)
}

/// A half-width, rounded up to the hundredth.
pub fn hundredths_up(half: f64) -> String {
    hundredths(libm::ceil(100.0 * half - 1e-9) / 100.0)
}

/// Less than this beyond a hundredth is noise of the arithmetic.
const NOISE: f64 = 1e-6;

/// The nearest hundredth, as a person writes a length.
pub fn nearest_hundredth(mm: f64) -> f64 {
    libm::round(100.0 * mm) / 100.0
}

/// The hundredth at or above, for a limit that a number must not stay below.
pub fn hundredth_above(mm: f64) -> f64 {
    libm::ceil(100.0 * mm - NOISE) / 100.0
}

/// The hundredth at or below, for a limit that a number must not exceed.
pub fn hundredth_below(mm: f64) -> f64 {
    libm::floor(100.0 * mm + NOISE) / 100.0
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

/// A number as a person would write it: up to four decimals, no trailing zeros, powers of ten when huge.
pub fn plain(value: f64) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    if value != 0.0 && (value.abs() >= 1e7 || value.abs() < 1e-4) {
        return format!("{value:e}");
    }
    four_decimals(value)
}

/// Up to four decimals without trailing zeros: a ten-thousandth of a millimetre.
pub fn four_decimals(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    unsigned_zero(text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_people_write_them() {
        assert_eq!(plain(1.0), "1");
        assert_eq!(plain(0.125), "0.125");
        assert_eq!(plain(-0.000_000_1), "-1e-7");
        assert_eq!(plain(1e300), "1e300");
        assert_eq!(plain(0.0), "0");
    }

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
    fn half_widths_are_rounded_up() {
        assert_eq!(tenths_up(1.21), "1.3");
        assert_eq!(tenths_up(1.2), "1.2");
        assert_eq!(hundredths_up(0.031), "0.04");
        assert_eq!(hundredths_up(0.0), "0.00");
    }

    #[test]
    fn a_sign_stands_only_before_something() {
        assert_eq!(signed(0.004, 3), "+0.004");
        assert_eq!(signed(-0.0004, 3), "0.000");
        assert_eq!(signed(-1.25, 1), "-1.2");
    }

    #[test]
    fn counts_are_grouped() {
        assert_eq!(count(7), "7");
        assert_eq!(count(15_000), "15 000");
        assert_eq!(count(1_234_567), "1 234 567");
    }
}

//! Four numbers that go through the same formulas side by side.
//!
//! Only sums, products, quotients and roots, each rounded by itself: the same bits on every machine.

use std::array;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// Four numbers.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Four(pub [f64; 4]);

impl Four {
    /// Four times the same.
    #[inline(always)]
    pub const fn all(value: f64) -> Self {
        Self([value; 4])
    }

    /// Each by itself through a function.
    #[inline(always)]
    #[must_use]
    pub fn map(self, function: impl Fn(f64) -> f64) -> Self {
        let [a, b, c, d] = self.0;
        Self([function(a), function(b), function(c), function(d)])
    }

    /// Square root of each.
    #[inline(always)]
    #[must_use]
    pub fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    /// Sum of the four.
    #[inline(always)]
    pub fn sum(self) -> f64 {
        let [a, b, c, d] = self.0;
        (a + c) + (b + d)
    }

    /// Whether each is above another.
    #[inline(always)]
    pub fn above(self, other: Self) -> [bool; 4] {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        [a > e, b > f, c > g, d > h]
    }

    /// Whether all are above a number; not when one of them is none.
    #[inline(always)]
    pub fn all_above(self, least: f64) -> bool {
        let [a, b, c, d] = self.above(Self::all(least));
        a & b & c & d
    }

    /// Each where the choice says so, the other's elsewhere.
    #[inline(always)]
    #[must_use]
    pub fn where_or(self, choice: [bool; 4], other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        let either = |first: bool, own: f64, other: f64| if first { own } else { other };
        let [first, second, third, fourth] = choice;
        Self([
            either(first, a, e),
            either(second, b, f),
            either(third, c, g),
            either(fourth, d, h),
        ])
    }

    /// Natural logarithm of each, to 5e-16 of it.
    ///
    /// Near 1 the series `2 (s + s³/3 + s⁵/5 …)`, `s = (x − 1)/(x + 1)`, as far as it counts; elsewhere `libm`.
    #[inline(always)]
    #[must_use]
    pub fn logarithm(self) -> Self {
        /// Where nine terms are enough: the tenth is below 1e-17 of the sum.
        const NEAR: [f64; 2] = [0.8, 1.25];
        let one = Self::all(1.0);
        let s = (self - one) / (self + one);
        let z = s * s;
        let mut sum = Self::all(1.0 / 17.0);
        for odd in [15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0] {
            sum = sum * z + Self::all(1.0 / odd);
        }
        let near = (s + s) * sum;
        if self.all_above(NEAR[0]) && (-self).all_above(-NEAR[1]) {
            return near;
        }
        Self(array::from_fn(|i| {
            if self.0[i] > NEAR[0] && self.0[i] < NEAR[1] {
                near.0[i]
            } else {
                libm::log(self.0[i])
            }
        }))
    }

    /// Exponential of each, to 5e-16 of it.
    ///
    /// Near 0 its power series as far as it counts; elsewhere `libm`.
    #[inline(always)]
    #[must_use]
    pub fn exponential(self) -> Self {
        /// Where eight terms beyond the 1 are enough: the ninth is below 1e-17.
        const NEAR: f64 = 0.04;
        let mut sum = Self::all(1.0 / 40_320.0);
        for factorial in [5040.0, 720.0, 120.0, 24.0, 6.0, 2.0, 1.0, 1.0] {
            sum = sum * self + Self::all(1.0 / factorial);
        }
        if self.all_above(-NEAR) && (-self).all_above(-NEAR) {
            return sum;
        }
        Self(array::from_fn(|i| {
            if self.0[i].abs() < NEAR {
                sum.0[i]
            } else {
                libm::exp(self.0[i])
            }
        }))
    }
}

impl Add for Four {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        Self([a + e, b + f, c + g, d + h])
    }
}

impl AddAssign for Four {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Four {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        Self([a - e, b - f, c - g, d - h])
    }
}

impl Neg for Four {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.map(|x| -x)
    }
}

impl Mul for Four {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        Self([a * e, b * f, c * g, d * h])
    }
}

impl Mul<Four> for f64 {
    type Output = Four;
    #[inline(always)]
    fn mul(self, other: Four) -> Four {
        Four::all(self) * other
    }
}

impl Div for Four {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        Self([a / e, b / f, c / g, d / h])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact to the last bits, and never by how many of the four are near.
    #[test]
    fn logarithm_and_exponential_agree_with_libm() {
        for i in 0..40_000 {
            let x = 0.5 + 1e-4 * f64::from(i);
            let [own, other] = Four([x, 1.0 + 1e-3 * x, 1.1, 0.9]).logarithm().0[..2] else {
                panic!()
            };
            for (x, own) in [(x, own), (1.0 + 1e-3 * x, other)] {
                let expected = libm::log(x);
                let off = (own - expected).abs();
                assert!(off <= 5e-16 * expected.abs(), "{x}: {own} {expected}");
                assert_eq!(Four::all(x).logarithm().0[3], own);
            }
            let x = 2e-5 * f64::from(i - 20_000);
            let own = Four([x, 0.0, 0.01, -0.01]).exponential().0[0];
            let expected = libm::exp(x);
            assert!(
                (own - expected).abs() <= 5e-16 * expected,
                "{x}: {own} {expected}"
            );
            assert_eq!(Four::all(x).exponential().0[3], own);
        }
        assert_eq!(Four::all(1.0).logarithm(), Four::all(0.0));
        assert_eq!(Four::all(0.0).exponential(), Four::all(1.0));
        assert!(Four::all(-1.0).logarithm().0[0].is_nan());
    }
}

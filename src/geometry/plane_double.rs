//! Floats with twice the digits: an unevaluated sum of two floats, about 32 decimal digits.
//!
//! The error-free sum is Knuth's (The Art of Computer Programming, volume 2, 4.2.2), the error-free
//! product Dekker's (Numerische Mathematik 18, 1971).

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A float and what was rounded off it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Double {
    high: f64,
    low: f64,
}

impl Double {
    pub(super) const ZERO: Self = Self { high: 0.0, low: 0.0 };

    /// The exact difference of two floats.
    #[inline]
    pub(super) fn difference(a: f64, b: f64) -> Self {
        Self::sum(a, -b)
    }

    /// The exact sum of two floats.
    #[inline]
    pub(super) fn sum(a: f64, b: f64) -> Self {
        let high = a + b;
        let part = high - a;
        Self { high, low: (a - (high - part)) + (b - part) }
    }

    /// The exact product of two floats.
    #[inline]
    pub(super) fn product(a: f64, b: f64) -> Self {
        let high = a * b;
        let (a_high, a_low) = halves(a);
        let (b_high, b_low) = halves(b);
        let low = a_low * b_low - (((high - a_high * b_high) - a_low * b_high) - a_high * b_low);
        Self { high, low }
    }

    /// The product, its two parts not normalised: good enough for a sum.
    #[inline]
    pub(super) fn times(self, other: Self) -> Self {
        let product = Self::product(self.high, other.high);
        let crossed = self.high * other.low + self.low * other.high;
        Self { high: product.high, low: product.low + crossed }
    }

    /// The sum with a float.
    #[inline]
    pub(super) fn plus(self, other: f64) -> Self {
        let sum = Self::sum(self.high, other);
        Self::sum(sum.high, sum.low + self.low)
    }

    /// The larger part: the float nearest to it.
    pub(super) const fn high(self) -> f64 {
        self.high
    }

    /// The smaller part.
    pub(super) const fn low(self) -> f64 {
        self.low
    }

    /// The nearest float.
    pub(super) fn to_f64(self) -> f64 {
        self.high + self.low
    }
}

/// A float as the sum of two floats of 26 bits.
#[inline]
fn halves(value: f64) -> (f64, f64) {
    let wide = 134_217_729.0 * value;
    let high = wide - (wide - value);
    (high, value - high)
}

impl From<f64> for Double {
    fn from(high: f64) -> Self {
        Self { high, low: 0.0 }
    }
}

impl Add for Double {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let high = Self::sum(self.high, other.high);
        let low = Self::sum(self.low, other.low);
        let carried = Self::sum(high.high, high.low + low.high);
        Self::sum(carried.high, carried.low + low.low)
    }
}

impl Neg for Double {
    type Output = Self;

    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Sub for Double {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Double {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let product = self.times(other);
        Self::sum(product.high, product.low)
    }
}

impl Div for Double {
    type Output = Self;

    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        let rest = self - other * Self::from(first);
        let second = rest.high / other.high;
        let rest = rest - other * Self::from(second);
        Self::sum(first, second) + Self::from(rest.high / other.high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_lost_in_a_sum_or_a_product() {
        let tiny = 2_f64.powi(-60);
        assert_eq!(Double::sum(1.0, tiny), Double { high: 1.0, low: tiny });
        let near = 1.0 + f64::EPSILON;
        // (1 + e)² = 1 + 2e + e².
        let square = Double::product(near, near);
        assert_eq!(square, Double { high: 1.0 + 2.0 * f64::EPSILON, low: f64::EPSILON.powi(2) });
    }

    #[test]
    fn a_third_three_times_is_one_to_thirty_digits() {
        let third = Double::from(1.0) / Double::from(3.0);
        let rest = third * Double::from(3.0) - Double::from(1.0);
        assert!(rest.to_f64().abs() < 1e-31);
        assert!((third - Double::from(1.0 / 3.0)).to_f64().abs() > 1e-18);
    }
}

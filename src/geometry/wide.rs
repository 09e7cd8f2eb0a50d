//! Whole numbers, products and roots wider than 128 bits, exact.

use std::cmp::Ordering;
use std::ops::{Add, Mul, Neg, Sub};

/// Compares `a·b` with `c·d` without overflow.
pub(super) fn compare_products(a: u128, b: u128, c: u128, d: u128) -> Ordering {
    wide(a, b).cmp(&wide(c, d))
}

/// `a·b` as (high, low) halves.
fn wide(a: u128, b: u128) -> (u128, u128) {
    let (low, high) = a.carrying_mul(b, 0);
    (high, low)
}

/// Compares `a·b` with `c·d` without overflow.
pub(super) fn compare_signed(a: i128, b: i128, c: i128, d: i128) -> Ordering {
    let size = i128::unsigned_abs;
    let sizes = || compare_products(size(a), size(b), size(c), size(d));
    match (a.signum() * b.signum(), c.signum() * d.signum()) {
        (1, 1) => sizes(),
        (-1, -1) => sizes().reverse(),
        (one, other) => one.cmp(&other),
    }
}

/// Words of 64 bits in a [`Wide`].
const WORDS: usize = 8;

/// A whole number of 512 bits in two's complement, lowest word first. Overflow is not checked: the
/// caller proves the range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Wide([u64; WORDS]);

impl Wide {
    pub(super) const ZERO: Self = Self([0; WORDS]);
    pub(super) const ONE: Self = Self([1, 0, 0, 0, 0, 0, 0, 0]);

    const fn negative(self) -> bool {
        self.0[WORDS - 1] >> 63 == 1
    }

    /// The nearest float, to within the last bit.
    pub(super) fn to_f64(self) -> f64 {
        if self.negative() {
            return -(-self).to_f64();
        }
        let top = self.0.iter().rposition(|&word| word != 0).unwrap_or(0).max(1);
        let high = (u128::from(self.0[top]) << 64) | u128::from(self.0[top - 1]);
        let words = i32::try_from(top - 1).unwrap_or(0);
        #[expect(clippy::cast_precision_loss, reason = "the nearest float is what is asked for")]
        let high = high as f64;
        high * 64_f64.exp2().powi(words)
    }
}

impl From<i128> for Wide {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "taken in words")]
    fn from(whole: i128) -> Self {
        let mut words = [if whole < 0 { u64::MAX } else { 0 }; WORDS];
        words[0] = whole as u64;
        words[1] = (whole >> 64) as u64;
        Self(words)
    }
}

impl Add for Wide {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let (mut sum, mut carry) = ([0; WORDS], false);
        for (word, (one, other)) in sum.iter_mut().zip(self.0.iter().zip(other.0)) {
            let (low, first) = one.overflowing_add(other);
            let (low, second) = low.overflowing_add(u64::from(carry));
            (*word, carry) = (low, first || second);
        }
        Self(sum)
    }
}

impl Neg for Wide {
    type Output = Self;

    fn neg(self) -> Self {
        Self(self.0.map(|word| !word)) + Self::from(1)
    }
}

impl Sub for Wide {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Wide {
    type Output = Self;

    /// The low 512 bits of the product. In two's complement they are the product as long as it fits.
    fn mul(self, other: Self) -> Self {
        let mut product = [0; WORDS];
        for (low, &one) in self.0.iter().enumerate() {
            let mut carry = 0;
            for (word, &other) in product[low..].iter_mut().zip(&other.0) {
                let (below, above) = one.carrying_mul_add(other, *word, carry);
                (*word, carry) = (below, above);
            }
        }
        Self(product)
    }
}

impl Ord for Wide {
    fn cmp(&self, other: &Self) -> Ordering {
        let words = || self.0.iter().rev().cmp(other.0.iter().rev());
        other.negative().cmp(&self.negative()).then_with(words)
    }
}

impl PartialOrd for Wide {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The smallest whole number not below `whole·√(numerator/denominator)`, exact: a root rounded up.
/// `u64::MAX` where the root is larger than that.
///
/// # Panics
/// When the denominator is zero.
#[must_use]
pub fn root_up(whole: u64, numerator: u128, denominator: u128) -> u64 {
    assert!(denominator > 0, "a fraction has a denominator");
    let square = u128::from(whole).pow(2);
    let reaches = |root: u64| {
        compare_products(u128::from(root).pow(2), denominator, square, numerator) != Ordering::Less
    };
    if reaches(0) {
        return 0;
    }
    let (mut below, mut above) = (0, u64::MAX);
    while above - below > 1 {
        let middle = below + (above - below) / 2;
        if reaches(middle) { above = middle } else { below = middle }
    }
    above
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_beyond_128_bits_are_compared() {
        let big = u128::MAX;
        assert_eq!(compare_products(big, big, big, big - 1), Ordering::Greater);
        assert_eq!(compare_products(big, 2, 2, big), Ordering::Equal);
        assert_eq!(compare_products(1 << 100, 1 << 60, 1 << 101, 1 << 60), Ordering::Less);
    }

    #[test]
    fn wide_numbers_follow_the_narrow_ones() {
        let some = [0, 1, -1, 7, -12, 1 << 40, -(1 << 60), (1 << 62) + 12_345, i128::MAX >> 64];
        for a in some {
            for b in some {
                let [wide_a, wide_b] = [a, b].map(Wide::from);
                assert_eq!(wide_a + wide_b, Wide::from(a + b));
                assert_eq!(wide_a - wide_b, Wide::from(a - b));
                assert_eq!(wide_a * wide_b, Wide::from(a * b));
                assert_eq!(wide_a.cmp(&wide_b), a.cmp(&b));
            }
            let near = crate::float(a);
            assert!((Wide::from(a).to_f64() - near).abs() <= near.abs() * 1e-15);
        }
    }

    #[test]
    fn wide_numbers_reach_past_400_bits() {
        let big = Wide::from(i128::MAX);
        let one = Wide::from(1);
        // (m + 1)(m − 1) = m² − 1, three times over.
        let square = big * big;
        assert_eq!((big + one) * (big - one), square - one);
        assert_eq!((square + one) * (square - one), square * square - one);
        assert!(square * big > square && -(square * big) < -square);
        let size = crate::float(i128::MAX).powi(3);
        assert!(((square * big).to_f64() / size - 1.0).abs() < 1e-14);
        assert!(((-(square * big)).to_f64() / size + 1.0).abs() < 1e-14);
    }

    #[test]
    fn signed_products_are_compared_by_their_value() {
        for (a, b, c, d) in [(2, 3, -2, 3), (-5, 4, -3, 4), (0, -7, 0, 9), (-6, -6, 5, 7)] {
            assert_eq!(compare_signed(a, b, c, d), (a * b).cmp(&(c * d)));
        }
        let big = i128::MAX;
        assert_eq!(compare_signed(-big, big, -big, big - 1), Ordering::Less);
    }

    #[test]
    fn a_root_is_the_smallest_whole_number_that_reaches() {
        assert_eq!(root_up(0, 5, 1), 0);
        assert_eq!(root_up(10, 1, 1), 10);
        assert_eq!(root_up(10, 2, 1), 15);
        assert_eq!(root_up(3, 25, 9), 5);
        assert_eq!(root_up(3, 26, 9), 6);
        // 2^63 as a float would hide the last bit.
        assert_eq!(root_up((1 << 62) + 1, 4, 1), (1 << 63) + 2);
        assert_eq!(root_up(u64::MAX, u128::MAX, 1), u64::MAX);
    }

    #[test]
    fn every_small_root_agrees_with_squaring() {
        for whole in 0..40_u64 {
            for (numerator, denominator) in [(8, 1), (5, 4), (16, 13), (1, 12)] {
                let root = u128::from(root_up(whole, numerator, denominator));
                let target = u128::from(whole * whole) * numerator;
                assert!(root * root * denominator >= target);
                assert!(root == 0 || (root - 1) * (root - 1) * denominator < target);
            }
        }
    }
}

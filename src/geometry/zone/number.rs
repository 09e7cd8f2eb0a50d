//! The three kinds of number a zone is worked out in: floats to find it, 128 bits to prove it, and
//! 512 bits where 128 are too few.

use std::cmp::Ordering;
use std::ops::{Add, Mul, Neg, Sub};

use crate::float;
use crate::wide::{Wide, compare_signed};

/// What the exchange needs a number to do.
pub(super) trait Number:
    Copy
    + std::fmt::Debug
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
{
    /// 0.
    const NOTHING: Self;
    /// 1.
    const ONE: Self;

    /// Compares `a·b` with `c·d`.
    fn compare_products(a: Self, b: Self, c: Self, d: Self) -> Ordering;

    /// The nearest float, or the one next to it.
    fn near(self) -> f64;

    /// The sign: −1, 0 or 1.
    fn side(self) -> i8 {
        if self > Self::NOTHING {
            1
        } else if self < Self::NOTHING {
            -1
        } else {
            0
        }
    }

    /// The absolute value.
    fn size(self) -> Self {
        if self < Self::NOTHING { -self } else { self }
    }

    /// Times 1, 0 or −1.
    fn times(self, side: i8) -> Self {
        match side.signum() {
            1 => self,
            -1 => -self,
            _ => Self::NOTHING,
        }
    }
}

impl Number for f64 {
    const NOTHING: Self = 0.0;
    const ONE: Self = 1.0;

    fn compare_products(a: Self, b: Self, c: Self, d: Self) -> Ordering {
        (a * b).partial_cmp(&(c * d)).unwrap_or(Ordering::Equal)
    }

    fn near(self) -> f64 {
        self
    }
}

impl Number for i128 {
    const NOTHING: Self = 0;
    const ONE: Self = 1;

    fn compare_products(a: Self, b: Self, c: Self, d: Self) -> Ordering {
        match (a.checked_mul(b), c.checked_mul(d)) {
            (Some(one), Some(other)) => one.cmp(&other),
            _ => compare_signed(a, b, c, d),
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "the nearest float is what is asked for")]
    fn near(self) -> f64 {
        // Nearly the same in one instruction where the number fits.
        i64::try_from(self).map_or_else(|_| float(self), |whole| whole as f64)
    }
}

impl Number for Wide {
    const NOTHING: Self = Self::ZERO;
    const ONE: Self = Self::ONE;

    fn compare_products(a: Self, b: Self, c: Self, d: Self) -> Ordering {
        (a * b).cmp(&(c * d))
    }

    fn near(self) -> f64 {
        self.to_f64()
    }
}

/// A place and a height, relative to one point of the set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct At<T> {
    pub(super) x: T,
    pub(super) y: T,
    pub(super) z: T,
}

/// Twice the area of a triangle, positive counter-clockwise, 0 on a line.
pub(super) fn turn<T: Number>(a: At<T>, b: At<T>, c: At<T>) -> T {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

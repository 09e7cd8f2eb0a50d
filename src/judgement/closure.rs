//! Position 0, or the master, touched again at the end.

use super::uncertainty::root;
use crate::geometry::root_up;
use crate::quantity::{Figure, Length};

/// How far a return may be off: the largest of a quarter of the tolerance, three standard
/// uncertainties of a difference of two readings (3·√2·u) and two resolutions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closure {
    /// The tolerance T of the check: [`super::Limits::half_width`].
    pub tolerance: Figure,
    /// The standard uncertainty of one reading.
    pub u: Length,
    /// The resolution of the gauge.
    pub resolution: Length,
}

impl Closure {
    /// Whether a return that differs by so much is fine; exact, a tie is fine.
    #[must_use]
    pub fn holds(self, difference: Length) -> bool {
        let off = difference.picometres().unsigned_abs();
        let resolutions = self.resolution.picometres().unsigned_abs().saturating_mul(2);
        Figure::new(4 * i128::from(off), 1) <= self.tolerance
            || off <= resolutions
            // off ≤ √18·u, that is off/√18 ≤ u, and u is whole.
            || root_up(off, 1, 18) <= self.u.picometres().unsigned_abs()
    }

    /// The limit for show, rounded up to a picometre.
    #[must_use]
    pub fn limit(self) -> Length {
        let quarter = i64::try_from((self.tolerance / 4).ceil()).unwrap_or(i64::MAX);
        let twice = self.resolution.picometres().saturating_mul(2);
        root(self.u, 18, 1).max(Length::from_picometres(quarter.max(twice)))
    }

    /// Whether the limit is at most half of the tolerance. If not, this gauge cannot check its own
    /// return.
    #[must_use]
    pub fn checks_its_own_return(self) -> bool {
        // 3·√2·u ≤ T/2, that is √72·u·(denominator of T) ≤ numerator of T, which is whole.
        let squared = self.tolerance.denominator().unsigned_abs().saturating_pow(2);
        let needed = root_up(self.u.picometres().unsigned_abs(), squared.saturating_mul(72), 1);
        Figure::from(self.resolution) * 4 <= self.tolerance
            && i128::from(needed) <= self.tolerance.numerator()
    }
}

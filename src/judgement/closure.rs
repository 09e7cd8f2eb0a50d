//! Position 0, or the master, touched again at the end.

use super::budget::Coverage;
use super::doubt::Part;
use super::uncertainty::root;
use quantity::{Figure, Length};

/// How far a return may be off.
///
/// Two touches on one spot differ by their scatter alone: what all touches have in common is the same
/// in both. So the limit of the noise is `c = max(t·√2·s, 2·q)`, t = 3, below 30 degrees of freedom
/// Student's t for 99.73 %. Up to a quarter of the tolerance nobody is asked either; how much it was
/// off counts in the uncertainty all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closure {
    /// The tolerance T of the check: [`super::Limits::half_width`].
    pub tolerance: Figure,
    /// The standard uncertainty of coming back to one spot.
    pub scatter: Part,
    /// The resolution of the gauge.
    pub resolution: Length,
}

impl Closure {
    /// Whether a return that differs by so much asks nobody; a tie does not.
    #[must_use]
    pub fn holds(self, difference: Length) -> bool {
        let off = difference.picometres().unsigned_abs();
        let steps = self.resolution.picometres().unsigned_abs().saturating_mul(2);
        Figure::new(4 * i128::from(off), 1) <= self.tolerance
            || off <= steps
            || u128::from(off).pow(2).saturating_mul(10_000) <= self.squared()
    }

    /// The limit for show, rounded up to a picometre.
    #[must_use]
    pub fn limit(self) -> Length {
        let quarter = i64::try_from((self.tolerance / 4).ceil()).unwrap_or(i64::MAX);
        self.of_the_noise().max(Length::from_picometres(quarter))
    }

    /// `c`, rounded up to a picometre: how far the noise alone brings a return off.
    #[must_use]
    pub fn of_the_noise(self) -> Length {
        let twice = Length::from_picometres(self.resolution.picometres().saturating_mul(2));
        root(Length::from_picometres(1), self.squared(), 10_000).max(twice)
    }

    /// Whether that is at most half of the tolerance. If not, this gauge cannot check its own return.
    #[must_use]
    pub fn checks_its_own_return(self) -> bool {
        let numerator = self.tolerance.numerator().unsigned_abs();
        let denominator = self.tolerance.denominator().unsigned_abs();
        // 2·c ≤ T, squared.
        let four = self.squared().saturating_mul(4).saturating_mul(denominator.saturating_pow(2));
        Figure::from(self.resolution) * 4 <= self.tolerance
            && four <= numerator.saturating_pow(2).saturating_mul(10_000)
    }

    /// 10 000·(t·√2·s)², t being in hundredths.
    fn squared(self) -> u128 {
        let t = u128::from(Coverage::of_a_return(self.scatter.freedom).hundredths());
        self.scatter.square.saturating_mul(2 * t * t)
    }
}

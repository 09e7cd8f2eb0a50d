//! The check for drift: position 0, or the master, touched again at the end.

use super::budget::Coverage;
use super::doubt::Part;
use super::threshold::Times;
use super::uncertainty::root;
use quantity::{Figure, Length};

/// How far a repeated touch may differ from the first.
///
/// Two touches on one spot differ by their scatter alone: what all touches have in common is the same
/// in both. So the limit by noise is `c = max(t·√2·s, 2·q)`, where t = `times`, usually 3, and below 30
/// degrees of freedom so much more as Student's t for 99.73 % is more than 3. Differences up to a quarter of the tolerance also raise no question; the
/// uncertainty includes the difference in every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closure {
    /// The tolerance T of the check: [`super::Limits::half_width`].
    pub tolerance: Figure,
    /// The standard uncertainty of a repeated touch on one spot.
    pub scatter: Part,
    /// The resolution of the gauge.
    pub resolution: Length,
    /// How many √2·s a difference may be: [`super::Traps::returns`].
    pub times: Times,
}

/// By how much squares are larger than those of lengths: (100·300)², since t is the product of two
/// factors in hundredths, divided by 3.
const UNDER: u128 = 900_000_000;

impl Closure {
    /// Whether this difference raises no question. At the limit itself it does.
    #[must_use]
    pub fn holds(self, difference: Length) -> bool {
        let off = difference.picometres().unsigned_abs();
        let steps = self.resolution.picometres().unsigned_abs().saturating_mul(2);
        Figure::new(4 * i128::from(off), 1) <= self.tolerance
            || off <= steps
            || u128::from(off).pow(2).saturating_mul(UNDER) <= self.squared()
    }

    /// The limit for display, rounded up to a picometre.
    #[must_use]
    pub fn limit(self) -> Length {
        let quarter = i64::try_from((self.tolerance / 4).ceil()).unwrap_or(i64::MAX);
        self.of_the_noise().max(Length::from_picometres(quarter))
    }

    /// `c`, rounded up to a picometre: the largest difference that noise alone explains.
    #[must_use]
    pub fn of_the_noise(self) -> Length {
        let twice = Length::from_picometres(self.resolution.picometres().saturating_mul(2));
        root(Length::from_picometres(1), self.squared(), UNDER).max(twice)
    }

    /// Whether `c` is at most half of the tolerance. If not, this gauge cannot check for drift.
    #[must_use]
    pub fn checks_its_own_return(self) -> bool {
        let numerator = self.tolerance.numerator().unsigned_abs();
        let denominator = self.tolerance.denominator().unsigned_abs();
        // 2·c ≤ T, squared.
        let four = self.squared().saturating_mul(4).saturating_mul(denominator.saturating_pow(2));
        Figure::from(self.resolution) * 4 <= self.tolerance
            && four <= numerator.saturating_pow(2).saturating_mul(UNDER)
    }

    /// [`UNDER`] times (t·√2·s)².
    fn squared(self) -> u128 {
        let student = Coverage::of_a_return(self.scatter.freedom).hundredths();
        let t = u128::from(student) * u128::from(self.times.hundredths());
        self.scatter.square.saturating_mul(2 * t * t)
    }
}

//! The uncertainty of a length against a master, and of the difference of two lengths.
//!
//! Squares of standard uncertainties add (GUM, JCGM 100:2008, 5.1.2; from memory). Each square is
//! rounded up to a whole square picometre, and the root to a whole picometre.

use num_rational::Ratio;

use super::budget::Budget;
use super::decision::{Limits, Word, decide};
use super::doubt::{Doubt, Known, Named, Part, Share};
use quantity::{Figure, Length};

/// The standard uncertainty of a master that states none: 10 µin (common practice, no source).
pub const ASSUMED_MASTER: Length = Length::from_picometres(254_000);

/// What temperature does to a length. The uncertainties are standard ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heat {
    /// The whole length; of two lengths the longer.
    pub length: Length,
    /// The expansion of the part, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// The uncertainty of its expansion relative to that of what it is compared with, per degree Celsius.
    pub expansion_u: (Ratio<i128>, Known),
    /// The known difference of the two expansions, per degree Celsius; zero where it was corrected for.
    pub unlike: Ratio<i128>,
    /// The uncertainty of the difference of the two temperatures, in degrees Celsius.
    pub between_c: (Ratio<i128>, Known),
    /// How far both may be from 20 °C, in degrees Celsius.
    pub off_20_c: (Ratio<i128>, Known),
}

impl Heat {
    /// Of a size that is too small for it to matter.
    pub const NONE: Self = Self {
        length: Length::ZERO,
        expansion: Ratio::ZERO,
        expansion_u: (Ratio::ZERO, Known::Stated),
        unlike: Ratio::ZERO,
        between_c: (Ratio::ZERO, Known::Stated),
        off_20_c: (Ratio::ZERO, Known::Stated),
    };

    /// `(L·α·u_dT)²`, `(L·θ·u_dα)²` and `(L·θ·Δα)²`.
    fn shares(self) -> [(Share, Part); 3] {
        let (off, off_known) = self.off_20_c;
        let (unsure, unsure_known) = self.expansion_u;
        let share = |share, known| {
            let square = share_of(self.length, share);
            // A product with zero rests on no assumption.
            let known = if square == 0 { Known::Stated } else { known };
            Part { square, known, ..Part::stated(Length::ZERO) }
        };
        [
            (Share::Temperature, share(self.expansion * self.between_c.0, self.between_c.1)),
            (Share::Expansion, share(unsure * off, unsure_known.max(off_known))),
            (Share::Temperature, share(self.unlike * off, off_known)),
        ]
    }
}

/// The shares of the uncertainty of a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LengthShares {
    /// Of one reading.
    pub reading: Doubt,
    /// How many touches at each position are averaged, those of all tries together.
    pub touches: u32,
    /// How many touches on the master the zero is the mean of, one for each try; 0 without a master.
    pub masters: u32,
    /// The uncertainty of the master's size; `None` where no master is touched.
    pub master: Option<Part>,
    /// How far the zero may be off, to either side.
    pub zero: Figure,
    /// The influence of temperature on part and master.
    pub heat: Heat,
}

impl LengthShares {
    /// `k·√(max(s²/t, q²/12) + max(s²/m, q²/12) + 2·rest² + zero²/3 + u_master² + heat)`, with t touches at
    /// a position and m on the master; without a master, its shares are left out. More positions do not
    /// lower it: each is another place, and what they have in common stays.
    #[must_use]
    pub fn budget(self) -> Budget {
        let counts = [self.touches, self.masters].into_iter().filter(|count| *count > 0);
        let budget = counts.fold(Budget::default(), |budget, count| {
            with_all(budget, [self.reading.mean(count), self.reading.remains()])
        });
        let budget = budget.with(Share::Walk, of_zero(self.zero), 1, 1);
        let budget = with_all(budget, self.master.map(|part| (Share::Master, part)));
        with_all(budget, self.heat.shares())
    }
}

/// How one of the two lengths of a difference was touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TouchedLength {
    /// Of one reading.
    pub reading: Doubt,
    /// How many touches its mean is taken from.
    pub touches: u32,
    /// How many touches on the master its zero is taken from; 0 without a master.
    pub masters: u32,
    /// How far the zero may be off, to either side.
    pub zero: Figure,
    /// The uncertainty of its master; `None` where no master is touched, or where both lengths have the
    /// same master, whose size cancels.
    pub master: Option<Part>,
}

/// The standard uncertainties of the face offsets of the bearings, left and right; the mean of each side is
/// added.
pub type Offsets = [Vec<Part>; 2];

/// The shares of the uncertainty of a difference of two lengths:
/// `k·√(Σ max(s²/n, q²/12) + Σ max(s²/m, q²/12) + Σ rest² + Σ zero²/3 + heat + Σ u_off²/n_off)`. The
/// first four sums are over both lengths, each with n touches and m touches on its master; the last is
/// over both sides.
#[must_use]
pub fn of_difference(lengths: [TouchedLength; 2], heat: Heat, offsets: Option<Offsets>) -> Budget {
    let budget = of_heat(Budget::default(), heat);
    let budget = lengths.into_iter().fold(budget, of_one_size);
    offsets.into_iter().flatten().fold(budget, |budget, side| {
        let count = u32::try_from(side.len()).unwrap_or(u32::MAX).saturating_pow(2);
        side.iter().fold(budget, |budget, part| budget.with(Share::Offset, *part, 1, count))
    })
}

/// Adds the shares of one of several sizes of which a figure is made:
/// `max(s²/n, q²/12) + max(s²/m, q²/12) + rest² + zero²/3 + u_master²`, with n touches and m on the master.
#[must_use]
pub fn of_one_size(budget: Budget, one: TouchedLength) -> Budget {
    let means = [one.touches, one.masters].into_iter().filter(|count| *count > 0);
    let budget = with_all(budget, means.map(|count| of_mean(&one.reading, count)));
    let budget = with_all(budget, [one.reading.remains()]);
    let budget = budget.with(Share::Walk, of_zero(one.zero), 1, 1);
    with_all(budget, one.master.map(|part| (Share::Master, part)))
}

/// The same of a size that stands on its master by itself: what does not average is in the touch on the part
/// and in that on the master.
#[must_use]
pub fn of_size_by_itself(budget: Budget, one: TouchedLength) -> Budget {
    let budget = of_one_size(budget, one);
    if one.masters > 0 { with_all(budget, [one.reading.remains()]) } else { budget }
}

/// Adds what heat does to one size.
#[must_use]
pub fn of_heat(budget: Budget, heat: Heat) -> Budget {
    with_all(budget, heat.shares())
}

fn with_all<P: Into<Named>>(budget: Budget, parts: impl IntoIterator<Item = P>) -> Budget {
    parts.into_iter().fold(budget, |budget, part| budget.adding(part.into(), 1, 1))
}

/// The scatter of a mean, never below that of the last place: where all touches show the same count,
/// rounding does not average.
fn of_mean(reading: &Doubt, count: u32) -> Named {
    let scatter = reading.mean(count);
    if scatter.part.square >= reading.last_place() {
        return scatter;
    }
    Named::of(Share::Resolution, Part { square: reading.last_place(), ..scatter.part })
}

/// The uncertainty of a zero that may be off by `half` to either side: half/√3.
fn of_zero(half: Figure) -> Part {
    let half = i64::try_from(half.ceil()).unwrap_or(i64::MAX);
    Part::within(Length::from_picometres(half), Known::Stated)
}

/// How far a repeated touch on the master differed; with several tries, the worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Walk {
    /// Closing minus opening touch.
    pub farthest: Length,
    /// The largest difference that noise alone explains.
    pub noise: Length,
}

impl Walk {
    /// Whether the verdict on `value` is withheld: the difference is over half the tolerance, or it is more
    /// than noise and the uncertainty, which includes it, reaches a limit.
    #[must_use]
    pub fn withholds(self, value: Figure, uncertainty: Length, limits: Limits) -> bool {
        let off = Figure::from(self.farthest).abs();
        let far = off * 2 > limits.half_width();
        let seen = off > Figure::from(self.noise);
        far || (seen && decide(value, uncertainty, limits).guarded == Word::Undecided)
    }
}

/// `(length·share)²`. Where that does not fit, `length·share` is rounded up first; where even that does
/// not fit, the largest number is used.
fn share_of(length: Length, share: Ratio<i128>) -> u128 {
    let reduced = Ratio::new(i128::from(length.picometres()), *share.denom());
    let below = reduced.denom().unsigned_abs();
    let above = reduced.numer().checked_mul(*share.numer()).map(i128::unsigned_abs);
    let Some(above) = above else { return u128::MAX };
    let whole = || above.div_ceil(below).saturating_pow(2);
    let squares = above.checked_pow(2).zip(below.checked_pow(2));
    squares.map_or_else(whole, |(above, below)| above.div_ceil(below))
}

#[cfg(test)]
mod tests;

//! The uncertainty of a length against a master, and of the difference of two lengths.
//!
//! Squares of standard uncertainties add (GUM, JCGM 100:2008, 5.1.2; from memory). Each square is
//! rounded up to a whole square picometre, and the root to a whole picometre.

use num_rational::Ratio;

use super::budget::Budget;
use super::decision::{Limits, Word, decide};
use super::doubt::{Doubt, Known, Part};
use quantity::{Figure, Length};

/// How well a master is known where nobody states it: 10 µin (common practice, no source).
pub const ASSUMED_MASTER: Length = Length::from_picometres(254_000);

/// What heat does to a length, standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heat {
    /// The whole length: of two the longer.
    pub length: Length,
    /// Its expansion, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// Of its expansion against that of what it is compared with, per degree Celsius.
    pub expansion_u: (Ratio<i128>, Known),
    /// By how much the two expansions are known to differ, per degree Celsius; zero where that was
    /// taken out.
    pub unlike: Ratio<i128>,
    /// Of the difference of the two temperatures, degrees Celsius.
    pub between_c: (Ratio<i128>, Known),
    /// How far both may be from 20 °C, degrees Celsius.
    pub off_20_c: (Ratio<i128>, Known),
}

impl Heat {
    /// `(L·α·u_dT)²`, `(L·θ·u_dα)²` and `(L·θ·Δα)²`.
    fn shares(self) -> [Part; 3] {
        let (off, off_known) = self.off_20_c;
        let (unsure, unsure_known) = self.expansion_u;
        let share = |share, known| {
            let square = share_of(self.length, share);
            // Of what is multiplied by nothing, nothing is assumed.
            let known = if square == 0 { Known::Stated } else { known };
            Part { square, known, ..Part::stated(Length::ZERO) }
        };
        [
            share(self.expansion * self.between_c.0, self.between_c.1),
            share(unsure * off, unsure_known.max(off_known)),
            share(self.unlike * off, off_known),
        ]
    }
}

/// What the uncertainty of a length is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OfLength {
    /// Of one reading.
    pub reading: Doubt,
    /// Touches at each position that are averaged, those of several tries too.
    pub touches: u32,
    /// How many touches on the master its zero is averaged from, one of each try; 0 without one.
    pub masters: u32,
    /// How well the size of the master is known; `None` where none is touched.
    pub master: Option<Part>,
    /// How far the zero may be off: it lies anywhere within ± this.
    pub zero: Figure,
    /// Heat of part and master.
    pub heat: Heat,
}

impl OfLength {
    /// `k·√(max(s²/t, q²/12) + max(s²/m, q²/12) + 2·rest² + zero²/3 + u_master² + heat)`, t touches at
    /// a position and m on the master; without one its half falls away. More positions do not lower
    /// it: they lie at different places, and what they have in common stays.
    #[must_use]
    pub fn budget(self) -> Budget {
        let counts = [self.touches, self.masters].into_iter().filter(|count| *count > 0);
        let budget = counts.fold(Budget::default(), |budget, count| {
            budget.with(self.reading.averaged(count), 1, 1).with(self.reading.rest(), 1, 1)
        });
        let budget = budget.with(of_zero(self.zero), 1, 1);
        let budget = self.master.into_iter().fold(budget, |budget, part| budget.with(part, 1, 1));
        with_all(budget, self.heat.shares())
    }
}

/// How one of the two lengths of a difference was touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TouchedLength {
    /// Of one reading.
    pub reading: Doubt,
    /// Touches that its mean is taken from.
    pub touches: u32,
    /// Touches on the master that its zero is taken from; 0 without a master.
    pub masters: u32,
    /// How far the zero may be off: it lies anywhere within ± this.
    pub zero: Figure,
    /// How well its master is known; `None` where none is touched, or both have the same one, whose
    /// size cancels.
    pub master: Option<Part>,
}

/// Face offsets of the bearings on either side, whose means are added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offsets {
    /// Standard uncertainty of one offset; `None` where nobody states it, so that it counts as
    /// exact.
    pub u: Option<Length>,
    /// How many there are on the left and on the right.
    pub counts: [u32; 2],
}

/// Of a difference of two lengths:
/// `k·√(Σ max(s²/n, q²/12) + Σ max(s²/m, q²/12) + Σ rest² + Σ zero²/3 + heat + Σ u_off²/n_off)`, the
/// first four sums over both lengths, n touches and m touches on the master each, the last one over
/// both sides.
#[must_use]
pub fn of_difference(lengths: [TouchedLength; 2], heat: Heat, offsets: Option<Offsets>) -> Budget {
    let mut budget = with_all(Budget::default(), heat.shares());
    for one in lengths {
        let means = [one.touches, one.masters].into_iter().filter(|count| *count > 0);
        budget = with_all(budget, means.map(|count| of_mean(&one.reading, count)));
        budget = with_all(budget, [one.reading.rest(), of_zero(one.zero)]);
        budget = with_all(budget, one.master);
    }
    let of_one = |u: Option<Length>| u.map_or(Part::assumed(Length::ZERO), Part::stated);
    let sides = offsets.into_iter().flat_map(|all| all.counts.map(|count| (of_one(all.u), count)));
    let sides = sides.filter(|(_, count)| *count > 0);
    sides.fold(budget, |budget, (part, count)| budget.with(part, 1, count))
}

fn with_all(budget: Budget, parts: impl IntoIterator<Item = Part>) -> Budget {
    parts.into_iter().fold(budget, |budget, part| budget.with(part, 1, 1))
}

/// The scatter of a mean, never below the last place: rounding does not average where all touches
/// show the same count.
fn of_mean(reading: &Doubt, count: u32) -> Part {
    let scatter = reading.averaged(count);
    Part { square: scatter.square.max(reading.last_place()), ..scatter }
}

/// The walk of a zero, evenly within its limits: walk/√3.
fn of_zero(half: Figure) -> Part {
    let half = i64::try_from(half.ceil()).unwrap_or(i64::MAX);
    Part::within(Length::from_picometres(half), Known::Stated)
}

/// How far the touches on a master came back different, of several tries the worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Walk {
    /// Closing minus opening touch.
    pub farthest: Length,
    /// How far the noise alone brings a return off.
    pub noise: Length,
}

impl Walk {
    /// Whether a verdict on `value` is withheld for it: the walk is over half the tolerance; or it is
    /// beyond the noise, and U with its share reaches a limit.
    #[must_use]
    pub fn withholds(self, value: Figure, uncertainty: Length, limits: Limits) -> bool {
        let off = Figure::from(self.farthest).abs();
        let far = off * 2 > limits.half_width();
        let seen = off > Figure::from(self.noise);
        far || (seen && decide(value, uncertainty, limits).guarded == Word::Undecided)
    }
}

/// `(length·share)²`; where that does not fit, of `length·share` rounded up; the most there is where
/// not even that does.
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

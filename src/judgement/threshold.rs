//! The thresholds of the traps: how large something must be before it is asked about, or withholds a
//! verdict. A plan may set them for a check; each has its usual value.

use quantity::Figure;

/// A factor of a limit, exact to a hundredth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Times(u32);

impl Times {
    /// A factor of so many hundredths.
    #[must_use]
    pub const fn of_hundredths(hundredths: u32) -> Self {
        Self(hundredths)
    }

    /// The factor in hundredths.
    #[must_use]
    pub const fn hundredths(self) -> u32 {
        self.0
    }

    /// The square of the factor in hundredths: 10 000 times its square.
    #[must_use]
    pub fn square_of_hundredths(self) -> u128 {
        u128::from(self.0).pow(2)
    }

    /// So many times a figure.
    #[must_use]
    pub fn of(self, figure: Figure) -> Figure {
        figure * i64::from(self.0) / 100
    }

    /// The factor as a number, for hints to a person.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        f64::from(self.0) / 100.0
    }
}

/// The thresholds of the traps of one check, each a factor of something that is known of its gauge, its
/// readings or its tolerance. u is the standard uncertainty of a reading, s the scatter of a touch on one
/// spot, T the tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Traps {
    /// Times u, and at least T: a touch further off all others is asked for again.
    pub wild: Times,
    /// Times s, for three touches on one spot: a larger span is made anew. For other numbers of touches it
    /// is larger or smaller in the same proportion as usual.
    pub spread: Times,
    /// Times √2·s, and at least two steps of the gauge: position 0 or the master further off than that did
    /// not come back. A scatter that few readings show counts for more, as usual.
    pub returns: Times,
    /// Times s: a last touch further off the first one of the same surface shows a drift.
    pub drift: Times,
    /// Times s: a middle touch further off the line between them shows that it is not even.
    pub bow: Times,
    /// Times T: more heat than that withholds a length, and a rate that comes to more in five minutes calls.
    pub heat: Times,
    /// Times T, and at least 0.002 in: a size further off its nominal may be another part.
    pub wrong_part: Times,
    /// Times u, and at least T/4: high minus low that changes by more when the part is set back half a turn
    /// is dirt.
    pub dirt: Times,
    /// Times u, and at least T/2: tries further apart at a position are not of the same metal.
    pub tries: Times,
    /// Times the scatter of a seating: seatings of a bar further apart than that moved.
    pub seatings: Times,
    /// Times a step of the gauge: high and low that change places are asked about where both ranges are
    /// wider.
    pub turned: Times,
}

impl Default for Traps {
    /// What is usual: worked out by simulation and by hand, or from memory of the trade.
    fn default() -> Self {
        let times = Times::of_hundredths;
        Self {
            wild: times(600),
            spread: times(470),
            returns: times(300),
            drift: times(420),
            bow: times(310),
            heat: times(10),
            wrong_part: times(1000),
            dirt: times(400),
            tries: times(600),
            seatings: times(350),
            turned: times(400),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_is_exact() {
        assert_eq!(Times::of_hundredths(10).of(Figure::new(7, 3)), Figure::new(7, 30));
        assert_eq!(Times::of_hundredths(420).square_of_hundredths(), 176_400);
        assert!((Times::of_hundredths(310).to_f64() - 3.1).abs() < 1e-12);
    }
}

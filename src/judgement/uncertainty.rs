//! Expanded uncertainties, k = 2, rounded up to a whole picometre in whole numbers.
//!
//! The law of propagation of the GUM (JCGM 100:2008, 5.1.2; from memory): squares of standard
//! uncertainties add, each with the square of its factor. `u` is the standard uncertainty of one
//! reading, all in; touches are taken as independent.

use num_rational::Ratio;

use crate::geometry::root_up;
use crate::quantity::Length;

/// Of a largest minus a smallest reading: 2·√2·u.
#[must_use]
pub fn of_range(u: Length) -> Length {
    root(u, 8, 1)
}

/// Of a minimum zone: 2·u·√Σw², `weights_squared` being that of the zone.
#[must_use]
pub fn of_zone(u: Length, weights_squared: Ratio<i128>) -> Length {
    let part = |part: &i128| part.unsigned_abs();
    // 2·u is taken first, so that the fraction keeps its 126 bits.
    let doubled = Length::from_picometres(u.picometres().saturating_mul(2));
    root(doubled, part(weights_squared.numer()), part(weights_squared.denom()))
}

/// Of a runout: 2·√(2·u² + stand² + (2·seating)² + bar²), `u` being the repeatability of the gauge,
/// `seating` the standard uncertainty per axis of one seating, `bar` that of the test bar's own
/// runout.
#[must_use]
pub fn of_turn(u: Length, stand: Length, seating: Length, bar: Length) -> Length {
    let parts = [(8, u), (4, stand), (16, seating), (4, bar)];
    let squares = parts.map(|(factor, part)| {
        u128::from(part.picometres().unsigned_abs()).pow(2).saturating_mul(factor)
    });
    root(Length::from_picometres(1), squares.into_iter().fold(0, u128::saturating_add), 1)
}

/// What the uncertainty of a total reading by the first wave alone is made of; all standard
/// uncertainties.
#[derive(Debug, Clone, Copy)]
pub struct FirstWave {
    /// Of one touch: its repeatability.
    pub touch: Length,
    /// Equally spaced touches of each turn.
    pub touches: u32,
    /// Of one seating, per axis.
    pub seating: Length,
    /// How many seatings the figure is the mean of.
    pub seatings: u32,
    /// Of the stand.
    pub stand: Length,
    /// Of the total reading of the bar itself; zero where it was split off.
    pub bar: Length,
    /// What averaging touches on one spot never goes below: that of a readout.
    pub readout: Length,
}

impl FirstWave {
    /// `2·√(4·(seating² + 2/N·touch²)/m + stand² + bar²)`, m seatings of N touches each: twice the
    /// eccentricity, whose axes carry `2/N` of the variance of a touch.
    #[must_use]
    pub fn expanded(&self) -> Length {
        let (touches, seatings) = (self.touches.max(1).into(), self.seatings.max(1).into());
        let each: u128 = u128::saturating_mul(touches, seatings);
        let parts = [
            (self.seating, touches.saturating_mul(16)),
            (self.touch, 32),
            (self.stand, each.saturating_mul(4)),
            (self.bar, each.saturating_mul(4)),
        ];
        let squares = parts.map(|(part, factor)| square(part).saturating_mul(factor));
        root(ONE, squares.into_iter().fold(0, u128::saturating_add), each)
    }
}

impl FirstWave {
    /// Of the range of the mean of m turns, mark by mark:
    /// `2·√(2·max(s²/m, readout²) + stand² + (2·seating)²/m + bar²)`.
    #[must_use]
    pub fn expanded_range(&self) -> Length {
        let m: u128 = self.seatings.max(1).into();
        let touch = square(self.touch).max(square(self.readout).saturating_mul(m));
        let parts = [
            (touch, 8),
            (square(self.seating), 16),
            (square(self.stand), m.saturating_mul(4)),
            (square(self.bar), m.saturating_mul(4)),
        ];
        let squares = parts.map(|(part, factor)| part.saturating_mul(factor));
        root(ONE, squares.into_iter().fold(0, u128::saturating_add), m)
    }
}

/// Standard uncertainty of one seating per axis where the plan states none (common practice, no
/// source): 0.00001 in.
#[must_use]
pub const fn assumed_seating() -> Length {
    Length::from_picometres(254_000)
}

/// Of a figure taken on a straight line through two others, `share` of the way from the first to
/// the second: `√((share − 1)²·first² + share²·second²)`, both expanded and independent.
#[must_use]
pub fn of_predicted(first: Length, second: Length, share: Ratio<i128>) -> Length {
    let part = |length: Length, times: i128| {
        square(length).saturating_mul(times.unsigned_abs().saturating_pow(2))
    };
    let (times, over) = (*share.numer(), *share.denom());
    let sum = part(first, times - over).saturating_add(part(second, times));
    root(ONE, sum, over.unsigned_abs().saturating_pow(2))
}

/// Of what a least-squares line through readings at some places rises over `span`: 2·u·span/√Sxx.
/// `squares` is Sxx, the sum of squares of the places about their mean, in the unit of `span`.
#[must_use]
pub fn of_slope(u: Length, span: u64, squares: Ratio<i128>) -> Option<Length> {
    let (parts, sum) = (squares.denom().unsigned_abs(), squares.numer().unsigned_abs());
    let four = u128::from(span).checked_pow(2)?.checked_mul(4)?.checked_mul(parts)?;
    (sum > 0).then(|| root(u, four, sum))
}

/// The standard uncertainty of a diameter on a cone: `√(u² + (rate·station)²)`, `station` being the
/// standard uncertainty of the distance it was touched at.
#[must_use]
pub fn on_a_cone(u: Length, station: Length, rate: Ratio<i128>) -> Length {
    let square = |length: Length| u128::from(length.picometres().unsigned_abs()).pow(2);
    let (over, under) = (rate.numer().unsigned_abs(), rate.denom().unsigned_abs());
    let whole = under.saturating_mul(under);
    let both = square(u)
        .saturating_mul(whole)
        .saturating_add(square(station).saturating_mul(over).saturating_mul(over));
    root(Length::from_picometres(1), both, whole)
}

/// The standard uncertainty assumed for a gauge that states none: resolution/√12, a reading being
/// anywhere within its last place, rounded up to a picometre.
#[must_use]
pub fn assumed_reading(resolution: Length) -> Length {
    root(resolution, 1, 12)
}

/// How far touches on one spot scatter: the stated repeatability, at least resolution/√12. A
/// repeatability from rounded readings already holds the rounding, so the larger counts, not both.
#[must_use]
pub fn spread(repeatability: Option<Length>, resolution: Length) -> Length {
    assumed_reading(resolution).max(repeatability.unwrap_or(Length::ZERO))
}

/// A root that already is in picometres.
const ONE: Length = Length::from_picometres(1);

fn square(length: Length) -> u128 {
    u128::from(length.picometres().unsigned_abs()).saturating_pow(2)
}

/// `length·√(numerator/denominator)`, rounded up.
pub(super) fn root(length: Length, numerator: u128, denominator: u128) -> Length {
    let whole = root_up(length.picometres().unsigned_abs(), numerator, denominator);
    Length::from_picometres(i64::try_from(whole).unwrap_or(i64::MAX))
}

//! Uncertainties worked out in whole numbers and rounded up to a whole picometre.
//!
//! The law of propagation of the GUM (JCGM 100:2008, 5.1.2; from memory): squares of standard
//! uncertainties add, each with the square of its factor. `u` is the standard uncertainty of one
//! reading, everything included; touches are taken as independent.

use num_rational::Ratio;

use super::budget::Budget;
use super::doubt::{Named, Part, Share};
use geometry::root_up;
use quantity::Length;

/// The expanded uncertainty (k = 2) of a largest minus a smallest reading: 2·√2·u.
#[must_use]
pub fn of_range(u: Length) -> Length {
    root(u, 8, 1)
}

/// The expanded uncertainty (k = 2) of a minimum zone: 2·u·√Σw², with `weights_squared` for Σw².
#[must_use]
pub fn of_zone(u: Length, weights_squared: Ratio<i128>) -> Length {
    let part = |part: &i128| part.unsigned_abs();
    // 2·u comes first, so that the fraction keeps its 126 bits.
    let doubled = Length::from_picometres(u.picometres().saturating_mul(2));
    root(doubled, part(weights_squared.numer()), part(weights_squared.denom()))
}

/// The shares of the uncertainty of the total reading of a turn, all standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TurnShares {
    /// The scatter of one touch.
    pub touch: Named,
    /// The stand.
    pub stand: Part,
    /// One seating, per axis.
    pub seating: Part,
    /// The bar's own total reading.
    pub bar: Part,
}

impl TurnShares {
    /// `k·√(2·touch² + stand² + (2·seating)² + bar²)`.
    #[must_use]
    pub fn budget(self) -> Budget {
        let budget = Budget::default().adding(self.touch, 2, 1);
        let budget = budget.with(Share::Stand, self.stand, 1, 1);
        budget.with(Share::Seating, self.seating, 4, 1).with(Share::Bar, self.bar, 1, 1)
    }
}

/// The shares of the uncertainty of a total reading by the first wave alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstWaveShares {
    /// The shares of one turn; the bar's is zero where the bar was split off.
    pub turn: TurnShares,
    /// Equally spaced touches of each turn.
    pub touches: u32,
    /// How many seatings the figure is the mean of.
    pub seatings: u32,
    /// The limit below which averaging touches on one spot does not go: that of the readout.
    pub readout: Length,
}

impl FirstWaveShares {
    /// `k·√(4·(seating² + 2/N·touch²)/m + stand² + bar²)` for m seatings of N touches each. The total
    /// reading is twice the eccentricity, and each axis of that carries `2/N` of the variance of a touch.
    #[must_use]
    pub fn budget(&self) -> Budget {
        let each = self.touches.max(1).saturating_mul(self.seatings.max(1));
        self.beside_the_touches().adding(self.turn.touch, 8, each)
    }

    /// The uncertainty of the range of the mean of m turns, mark by mark:
    /// `k·√(2·max(touch²/m, readout²) + stand² + (2·seating)²/m + bar²)`.
    #[must_use]
    pub fn budget_of_range(&self) -> Budget {
        let m = self.seatings.max(1);
        let least = square(self.readout).saturating_mul(m.into());
        let touch = self.turn.touch;
        let touch = if least > touch.part.square {
            Named::of(Share::Resolution, Part { square: least, ..touch.part })
        } else {
            touch
        };
        self.beside_the_touches().adding(touch, 2, m)
    }

    fn beside_the_touches(&self) -> Budget {
        let TurnShares { stand, seating, bar, .. } = self.turn;
        let budget = Budget::default().with(Share::Seating, seating, 4, self.seatings);
        budget.with(Share::Stand, stand, 1, 1).with(Share::Bar, bar, 1, 1)
    }
}

/// The standard uncertainty of one seating per axis where the plan states none: 0.00001 in (common
/// practice, no source).
#[must_use]
pub const fn assumed_seating() -> Length {
    Length::from_picometres(254_000)
}

/// The uncertainty of a figure on a straight line through two others, `share` of the way from the first
/// to the second: `√((share − 1)²·first² + share²·second²)`, both expanded and independent.
#[must_use]
pub fn of_predicted(first: Length, second: Length, share: Ratio<i128>) -> Length {
    let part = |length: Length, times: i128| {
        square(length).saturating_mul(times.unsigned_abs().saturating_pow(2))
    };
    let (times, over) = (*share.numer(), *share.denom());
    let sum = part(first, times - over).saturating_add(part(second, times));
    root(ONE, sum, over.unsigned_abs().saturating_pow(2))
}

/// For a least-squares line through readings at some places: the weight of the square of one reading's
/// uncertainty in that of the rise over `span`, span²/Sxx. `squares` is Sxx, the sum of squares of the
/// places about their mean, in the unit of `span`. `None` where all readings are at one place.
#[must_use]
pub fn weight_of_slope(span: u64, squares: Ratio<i128>) -> Option<Ratio<i128>> {
    let over = i128::from(span).checked_pow(2)?.checked_mul(*squares.denom())?;
    (*squares.numer() > 0).then(|| Ratio::new(over, *squares.numer()))
}

/// What an uncertain station adds to the uncertainty of a diameter on a cone: rate·station, rounded up
/// to a picometre. `station` is the uncertainty of where the diameter was touched.
#[must_use]
pub fn on_a_cone(station: Length, rate: Ratio<i128>) -> Length {
    let (over, under) = (rate.numer().unsigned_abs(), rate.denom().unsigned_abs());
    root(station, over.saturating_mul(over), under.saturating_mul(under))
}

/// The standard uncertainty assumed for a gauge that states none: resolution/√12, rounded up to a
/// picometre. A reading may be anywhere within its last place.
#[must_use]
pub fn assumed_reading(resolution: Length) -> Length {
    root(resolution, 1, 12)
}

/// How far touches on one spot scatter: the stated repeatability, at least resolution/√12. A stated
/// repeatability comes from rounded readings and includes the rounding, so the larger counts, not both.
#[must_use]
pub fn spread(repeatability: Option<Length>, resolution: Length) -> Length {
    assumed_reading(resolution).max(repeatability.unwrap_or(Length::ZERO))
}

/// The unit of a root that is in picometres already.
const ONE: Length = Length::from_picometres(1);

fn square(length: Length) -> u128 {
    u128::from(length.picometres().unsigned_abs()).saturating_pow(2)
}

/// `length·√(numerator/denominator)`, rounded up.
pub(super) fn root(length: Length, numerator: u128, denominator: u128) -> Length {
    let whole = root_up(length.picometres().unsigned_abs(), numerator, denominator);
    Length::from_picometres(i64::try_from(whole).unwrap_or(i64::MAX))
}

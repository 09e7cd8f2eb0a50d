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

/// Of a length: 2·u, or 2·√2·u where the touch on a master is subtracted. Averaging touches never
/// lowers it, for what they have in common stays.
#[must_use]
pub fn of_length(u: Length, mastered: bool) -> Length {
    if mastered { of_range(u) } else { root(u, 4, 1) }
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

/// `length·√(numerator/denominator)`, rounded up.
pub(super) fn root(length: Length, numerator: u128, denominator: u128) -> Length {
    let whole = root_up(length.picometres().unsigned_abs(), numerator, denominator);
    Length::from_picometres(i64::try_from(whole).unwrap_or(i64::MAX))
}

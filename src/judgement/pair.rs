//! The uncertainty of the difference of two lengths.
//!
//! Squares of standard uncertainties add (GUM, JCGM 100:2008, 5.1.2; from memory). Each square is
//! rounded up to a whole square picometre, and the root to a whole picometre.

use num_rational::Ratio;

use super::uncertainty::root;
use crate::quantity::Length;

/// How one of the two lengths was touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TouchedLength {
    /// Standard uncertainty of one reading.
    pub u: Length,
    /// Touches of one try that its mean is taken from; more tries do not lower the uncertainty.
    pub touches: u32,
    /// Touches on the master that its zero is taken from; 0 without a master.
    pub masters: u32,
}

/// What heat does to two rings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heat {
    /// The longer of the two lengths.
    pub length: Length,
    /// Expansion of the rings, per degree Celsius.
    pub expansion: Ratio<i128>,
    /// Standard uncertainty of the difference of their expansions, per degree Celsius.
    pub expansion_u: Ratio<i128>,
    /// Standard uncertainty of the difference of their temperatures, degrees Celsius.
    pub between_c: Ratio<i128>,
    /// How far they may be from 20 °C, degrees Celsius.
    pub off_20_c: Ratio<i128>,
}

/// Face offsets of the bearings on either side, whose means are added.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offsets {
    /// Standard uncertainty of one offset.
    pub u: Length,
    /// How many there are on the left and on the right.
    pub counts: [u32; 2],
}

/// Of a difference of two lengths, expanded, k = 2, rounded up to a whole picometre:
/// `2·√(Σ u²/n + Σ u²/m + (L·α·u_dT)² + (L·θ·u_dα)² + Σ u_off²/n_off)`, the first two sums over
/// both lengths, n touches and m touches on the master each, the last one over both sides.
#[must_use]
pub fn of_difference(lengths: [TouchedLength; 2], heat: Heat, offsets: Option<Offsets>) -> Length {
    let touches = lengths.iter().flat_map(|one| [(one.u, one.touches), (one.u, one.masters)]);
    let sides = offsets.iter().flat_map(|all| all.counts.map(|count| (all.u, count)));
    let means = touches.chain(sides).map(|(u, count)| of_mean(u, count));
    let warm = [heat.expansion * heat.between_c, heat.expansion_u * heat.off_20_c];
    let squares = means.chain(warm.map(|share| share_of(heat.length, share)));
    let sum = squares.fold(0, u128::saturating_add);
    root(Length::from_picometres(1), sum.saturating_mul(4), 1)
}

/// `u²/count`; nothing of nothing.
fn of_mean(u: Length, count: u32) -> u128 {
    let square = u128::from(u.picometres().unsigned_abs()).pow(2);
    if count == 0 { 0 } else { square.div_ceil(u128::from(count)) }
}

/// `(length·share)²`, the most there is where that does not fit.
fn share_of(length: Length, share: Ratio<i128>) -> u128 {
    let whole = i128::from(length.picometres());
    let reduced = Ratio::new(whole, *share.denom());
    let numerator = reduced.numer().checked_mul(*share.numer()).map(i128::unsigned_abs);
    let numerator = numerator.and_then(|numerator| numerator.checked_pow(2));
    let denominator = reduced.denom().unsigned_abs().checked_pow(2);
    numerator.zip(denominator).map_or(u128::MAX, |(above, below)| above.div_ceil(below))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn um(text: &str) -> Length {
        Length::parse(text, Unit::Micrometre).unwrap()
    }

    fn heat(length: &str) -> Heat {
        Heat {
            length: um(length),
            expansion: Ratio::new(115, 10_000_000),
            expansion_u: Ratio::new(1, 1_000_000),
            between_c: Ratio::new(1, 5),
            off_20_c: Ratio::from_integer(1),
        }
    }

    fn touched(u: &str, touches: u32, masters: u32) -> TouchedLength {
        TouchedLength { u: um(u), touches, masters }
    }

    #[test]
    fn without_heat_and_master_the_touches_are_all() {
        // 2·√(3²/9 + 4²/16) µm = 2·√2 µm, rounded up.
        let found = of_difference([touched("3", 9, 0), touched("4", 16, 0)], heat("0"), None);
        assert_eq!(found.picometres(), 2_828_428);
        // With masters: 2·√(1 + 1 + 9/1 + 16/2).
        let found = of_difference([touched("3", 9, 1), touched("4", 16, 2)], heat("0"), None);
        assert_eq!(found.picometres(), 8_717_798);
    }

    #[test]
    fn heat_alone() {
        // 100 mm: 0.1·11.5e-6·0.2 = 0.23 µm and 0.1·1e-6·1 = 0.1 µm; 2·√(0.0529 + 0.01) µm.
        let found = of_difference([touched("0", 1, 0); 2], heat("100000"), None);
        assert_eq!(found.picometres(), 501_598);
    }

    #[test]
    fn offsets_alone() {
        // 2·√(0.2²/2 + 0.2²/2) = 0.4 µm.
        let offsets = Offsets { u: um("0.2"), counts: [2, 2] };
        let found = of_difference([touched("0", 1, 0); 2], heat("0"), Some(offsets));
        assert_eq!(found, um("0.4"));
    }

    #[test]
    fn what_does_not_fit_is_never_small() {
        let mut hot = heat("10000000");
        hot.expansion = Ratio::new(i128::MAX / 7, 3);
        hot.between_c = Ratio::from_integer(1);
        let found = of_difference([touched("1", 1, 0); 2], hot, None);
        assert_eq!(found.picometres(), i64::MAX);
    }
}

//! Floats as whole numbers, for the exact path.
//!
//! A file holds decimals. Where every number of an axis is the float of a decimal with at most 15
//! digits and at most 15 of them behind the point, the decimals are meant: the axis is counted in the
//! smallest power of ten that holds them all. Otherwise the floats are taken as they are and counted in
//! a power of two. Each axis has its own step, since a zone does not depend on scales.

use super::number::{At, Number};
use crate::wide::Wide;

/// Most places behind the point that count as a decimal.
const MOST_PLACES: usize = 15;
/// A decimal with more units than this cannot be told from its neighbours as a float.
const MOST_UNITS: f64 = 1_125_899_906_842_624.0; // 2^50
/// Powers of ten, exact.
const TENS: [f64; MOST_PLACES + 1] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// Spreads of positions and heights, in bits, for which 128 bits hold every intermediate result.
const NARROW: [u32; 2] = [32, 58];
/// Spread in bits for which 512 bits hold every intermediate result: a weight stays below 2^194, a sum
/// of heights below 2^293, and the product of the two, which is compared, below 2^489.
const WIDE_BITS: u32 = 96;

/// What one whole number of an axis stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// A power of ten, by its places behind the point.
    Decimal(usize),
    /// A power of two.
    Binary(i32),
}

impl Step {
    /// The length of `count` steps, as a float.
    pub(super) fn times(self, count: f64) -> f64 {
        match self {
            Self::Decimal(places) => count / TENS[places],
            // In two halves: a power of two alone may be below the smallest float.
            Self::Binary(power) => {
                count * f64::from(power / 2).exp2() * f64::from(power - power / 2).exp2()
            }
        }
    }
}

/// Points on a lattice, relative to the first value of each axis.
#[derive(Debug)]
pub(super) enum Lattice {
    Narrow(Vec<At<i128>>),
    Wide(Vec<At<Wide>>),
}

/// The points as whole numbers relative to the first of them, and the steps along x, y and z. `None`
/// when the smallest and the largest number of an axis are too far apart: about 13 decimal orders for
/// numbers that use all 53 bits, 28 for whole ones.
pub(super) fn lattice(columns: [&[f64]; 3]) -> Option<(Lattice, [Step; 3])> {
    let [x, y, z] = columns;
    let [(x, in_x), (y, in_y), (z, in_z)] = [axis(x)?, axis(y)?, axis(z)?];
    let bits = [&x, &y, &z].map(|axis| spread_bits(axis));
    let steps = [in_x, in_y, in_z];
    let points = x.into_iter().zip(y).zip(z).map(|((x, y), z)| At { x, y, z });
    if bits[0] <= NARROW[0] && bits[1] <= NARROW[0] && bits[2] <= NARROW[1] {
        return Some((Lattice::Narrow(points.collect()), steps));
    }
    let wide = |at: At<i128>| At { x: at.x.into(), y: at.y.into(), z: at.z.into() };
    let fits = bits.iter().all(|&bits| bits <= WIDE_BITS);
    fits.then(|| (Lattice::Wide(points.map(wide).collect()), steps))
}

/// The number of bits of the largest difference.
fn spread_bits(axis: &[i128]) -> u32 {
    let high = axis.iter().max().copied().unwrap_or(0);
    let low = axis.iter().min().copied().unwrap_or(0);
    128 - (high - low).leading_zeros()
}

/// One axis, relative to its first number.
fn axis(values: &[f64]) -> Option<(Vec<i128>, Step)> {
    let (mut whole, step) = decimals(values).or_else(|| binaries(values))?;
    let first = *whole.first()?;
    for value in &mut whole {
        *value -= first;
    }
    Some((whole, step))
}

fn decimals(values: &[f64]) -> Option<(Vec<i128>, Step)> {
    let mut places = 0;
    for &value in values {
        while units(value, places).is_none() {
            places += 1;
            if places > MOST_PLACES {
                return None;
            }
        }
    }
    let whole: Option<Vec<i128>> = values.iter().map(|&value| units(value, places)).collect();
    whole.map(|whole| (whole, Step::Decimal(places)))
}

/// The decimal with `places` digits behind the point whose float is `value`, in units of its last
/// place. The whole number and the power of ten are both exact floats, so their quotient is the float
/// of the decimal.
#[expect(clippy::float_cmp, reason = "it is the same float or another one")]
#[expect(clippy::cast_possible_truncation, reason = "checked against 2^50")]
fn units(value: f64, places: usize) -> Option<i128> {
    let units = (value * TENS[places]).round();
    (units.abs() <= MOST_UNITS && units / TENS[places] == value).then_some(units as i128)
}

fn binaries(values: &[f64]) -> Option<(Vec<i128>, Step)> {
    let parts: Option<Vec<(i128, i32)>> = values.iter().map(|&value| parts(value)).collect();
    let parts = parts?;
    let used = || parts.iter().filter(|part| part.0 != 0);
    let step = used().map(|part| part.1).min().unwrap_or(0);
    let mut whole = Vec::with_capacity(parts.len());
    for &(units, power) in &parts {
        let shift = if units == 0 { 0 } else { u32::try_from(power - step).ok()? };
        let bits = 128 - units.unsigned_abs().leading_zeros();
        if bits + shift >= WIDE_BITS {
            return None;
        }
        whole.push(units << shift);
    }
    Some((whole, Step::Binary(step)))
}

/// A float as an odd whole number (or 0) times a power of two; `None` when it is not finite.
fn parts(value: f64) -> Option<(i128, i32)> {
    if !value.is_finite() {
        return None;
    }
    let bits = value.to_bits();
    let exponent = i32::try_from(bits >> 52 & 0x7ff).ok()?;
    let fraction = i128::from(bits & ((1 << 52) - 1));
    let (units, power) =
        if exponent == 0 { (fraction, -1074) } else { (fraction | 1 << 52, exponent - 1075) };
    if units == 0 {
        return Some((0, 0));
    }
    let odd = units.trailing_zeros();
    let signed = if value < 0.0 { -(units >> odd) } else { units >> odd };
    Some((signed, power + i32::try_from(odd).ok()?))
}

/// A lattice plane `a·x + b·y + c ± half`, converted to the units of the floats.
pub(super) fn in_units(plane: super::basis::Plane, steps: [Step; 3]) -> super::basis::Plane {
    let [x, y, z] = steps;
    super::basis::Plane {
        a: z.times(plane.a) / x.times(1.0),
        b: z.times(plane.b) / y.times(1.0),
        c: z.times(plane.c),
        half: z.times(plane.half),
    }
}

/// The whole numbers of a place as nearby floats.
pub(super) fn near<T: Number>(at: At<T>) -> At<f64> {
    At { x: at.x.near(), y: at.y.near(), z: at.z.near() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_of_a_file_are_counted_in_their_last_place() {
        let (whole, step) = axis(&[0.1, 0.2, -0.35, 12.0]).unwrap();
        assert_eq!((whole, step), (vec![0, 10, -45, 1190], Step::Decimal(2)));
        assert!((step.times(1190.0) - 11.9).abs() < 1e-15);
        assert_eq!(axis(&[123_456.789_012_345]).unwrap().1, Step::Decimal(9));
        assert_eq!(axis(&[1e8, 1e8 + 0.5]).unwrap(), (vec![0, 5], Step::Decimal(1)));
    }

    #[test]
    fn other_floats_are_counted_in_a_power_of_two() {
        let third = 1.0 / 3.0;
        let (whole, step) = axis(&[third, 2.0 * third, 0.0]).unwrap();
        let units = 6_004_799_503_160_661_i128;
        assert_eq!((whole, step), (vec![0, units, -units], Step::Binary(-54)));
        assert!((step.times(6_004_799_503_160_661.0) - third).abs() < 1e-300);
        // Every bit of the smallest and of the largest must fit.
        assert!(axis(&[third, third * 2_f64.powi(40)]).is_some());
        assert_eq!(axis(&[third, third * 2_f64.powi(45)]), None);
        assert_eq!(axis(&[1.0, f64::NAN]), None);
        assert_eq!(axis(&[f64::MAX]).unwrap().0, vec![0]);
        assert_eq!(axis(&[f64::MIN_POSITIVE / 4.0, 0.0]).unwrap().0, vec![0, -1]);
    }

    #[test]
    fn the_range_decides_between_128_and_512_bits() {
        let narrow = [0.0, 1.0, 4_294_967_295.0];
        let wide = [0.0, 1.0, 4_294_967_296.0];
        let kind = |x: &[f64]| lattice([x, &narrow, &narrow]).unwrap().0;
        assert!(matches!(kind(&narrow), Lattice::Narrow(_)));
        assert!(matches!(kind(&wide), Lattice::Wide(_)));
    }
}

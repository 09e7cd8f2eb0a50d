//! Numbers with more digits than one float or one word holds, against whole numbers that do.

use std::cmp::Ordering;

use super::*;
use crate::plane_double::Double;
use crate::wide::{Wide, compare_signed};

/// A whole number that a float holds.
fn whole() -> impl Strategy<Value = i64> {
    prop_oneof![-(1_i64 << 53)..=1 << 53, -1_000_i64..1_000]
}

/// A sum of two floats as a whole number.
fn exactly(double: Double) -> i128 {
    #[expect(clippy::cast_possible_truncation, reason = "both parts are whole and below 2^107")]
    let whole = |part: f64| part as i128;
    whole(double.high()) + whole(double.low())
}

fn as_float(value: i64) -> f64 {
    float(value.into())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn sums_and_products_of_floats_lose_nothing(a in whole(), b in whole()) {
        let (one, other) = (as_float(a), as_float(b));
        prop_assert_eq!(exactly(Double::sum(one, other)), i128::from(a) + i128::from(b));
        prop_assert_eq!(exactly(Double::difference(one, other)), i128::from(a) - i128::from(b));
        prop_assert_eq!(exactly(Double::product(one, other)), i128::from(a) * i128::from(b));
        prop_assert_eq!(exactly(-Double::product(one, other)), -i128::from(a) * i128::from(b));
    }

    #[test]
    fn doubles_keep_thirty_digits(a in whole(), b in whole(), c in 1_i64..1 << 40) {
        let [one, other, third] = [a, b, c].map(|value| Double::from(as_float(value)));
        // (a·b + a·c) / c, in whole numbers and in doubles.
        let product = one * other + one * third;
        let exact = i128::from(a) * i128::from(b) + i128::from(a) * i128::from(c);
        let off = (exactly(product) - exact).unsigned_abs();
        prop_assert!(off <= exact.unsigned_abs() >> 98, "{off} of {exact}");
        let quotient = product / third;
        let back = quotient * third - product;
        prop_assert!(back.to_f64().abs() <= product.to_f64().abs() * 1e-30, "{}", back.to_f64());
        prop_assert_eq!((one - one).to_f64().to_bits(), 0.0_f64.to_bits());
        prop_assert_eq!(exactly(one.plus(as_float(b))), i128::from(a) + i128::from(b));
    }

    #[test]
    fn wide_numbers_calculate_as_narrow_ones(a in any::<i64>(), b in any::<i64>(), c in any::<i64>()) {
        let [one, other, third] = [a, b, c].map(|value| Wide::from(i128::from(value)));
        let [a, b, c] = [a, b, c].map(i128::from);
        prop_assert_eq!(one + other, Wide::from(a + b));
        prop_assert_eq!(one - other, Wide::from(a - b));
        prop_assert_eq!(one * other, Wide::from(a * b));
        prop_assert_eq!(-one, Wide::from(-a));
        prop_assert_eq!(one.cmp(&other), a.cmp(&b));
        // Beyond 128 bits: (a·b)·c compared with a·(b·c), and its float.
        prop_assert_eq!((one * other) * third, one * (other * third));
        let size = float(a) * float(b) * float(c);
        let told = ((one * other) * third).to_f64();
        prop_assert!((told - size).abs() <= 4.0 * f64::EPSILON * size.abs(), "{told} {size}");
        prop_assert_eq!(compare_signed(a, b, c, a), (a * b).cmp(&(c * a)));
    }

    #[test]
    fn a_root_up_reaches_and_one_less_does_not(
        whole in any::<u32>(), numerator in 0_u128..1 << 60, denominator in 1_u128..1 << 60,
    ) {
        let root = root_up(whole.into(), numerator, denominator);
        prop_assume!(root < 1 << 60);
        // whole²·numerator ≤ root²·denominator, in wide numbers.
        let wide = |value: u128| Wide::from(i128::try_from(value).unwrap());
        let square = wide(u128::from(whole).pow(2)) * wide(numerator);
        let reaches = |root: u64| (wide(u128::from(root).pow(2)) * wide(denominator)).cmp(&square) != Ordering::Less;
        prop_assert!(reaches(root) && (root == 0 || !reaches(root - 1)), "{root}");
    }
}

/// The narrowest of all pairs of parallel lines through whole stations, as fractions: each pair of
/// stations gives a slope.
fn narrowest(stations: &[(i64, i64)]) -> Option<Figure> {
    let pairs = stations.iter().flat_map(|from| stations.iter().map(move |to| (from, to)));
    let widths = pairs.filter(|(from, to)| to.0 > from.0).map(|(from, to)| {
        let (run, rise) = (i128::from(to.0 - from.0), i128::from(to.1 - from.1));
        let off = |&(x, z): &(i64, i64)| i128::from(z) * run - rise * i128::from(x);
        let (low, high) = stations
            .iter()
            .map(off)
            .fold((i128::MAX, i128::MIN), |(low, high), rest| (low.min(rest), high.max(rest)));
        Figure::new(high - low, run)
    });
    widths.min()
}

proptest! {
    /// The zone of a line by fractions over every pair, and that of the same points as a face whose
    /// places lie twice beside the line.
    #[test]
    fn a_straightness_is_a_flatness_of_two_rows(raw in prop::collection::vec((0_i64..40, -30_i64..30), 3..9)) {
        let Some(expected) = narrowest(&raw) else { return Ok(()) };
        let floats: Vec<(f64, f64)> = raw.iter().map(|&(x, z)| (as_float(x), as_float(z))).collect();
        let zone = straightness_zone(&floats).unwrap();
        prop_assert!((zone.width - expected.to_f64()).abs() < 1e-9);
        // Two equal rows make a face: its zone is that of the row, exactly.
        let face: Vec<Point> = [0, 1_000].into_iter().flat_map(|y| raw.iter().map(move |&(x, z)| point(x, y, z))).collect();
        prop_assert_eq!(minimum_zone(&face).unwrap().width, expected);
    }
}

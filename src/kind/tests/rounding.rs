//! How floats become figures, and numbers of a plan become words.

use super::*;
use crate::judged::{number, rounded, rounded_up, thousandths};
use num_rational::Ratio;

/// To the nearest thousandth of a picometre, and never farther than half of one.
#[test]
fn a_float_becomes_the_nearest_thousandth_of_a_picometre() {
    for (float, over) in [
        (0.0, 0),
        (-0.0, 0),
        (1.0, 1_000),
        (-1.5, -1_500),
        (0.000_4, 0),
        (0.000_6, 1),
        (-0.000_6, -1),
        (2_540_000.123_4, 2_540_000_123),
        (1e15, 1_000_000_000_000_000_000),
    ] {
        assert_eq!(thousandths(float), Some(Figure::new(over, 1000)), "{float}");
    }
    for none in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(thousandths(none), None);
    }
    for step in 0..2_000 {
        let float = f64::from(step) * 1_234.567_89 - 1e6;
        let off = thousandths(float).unwrap().to_f64() - float;
        assert!(off.abs() <= 0.000_500_001, "{float}: {off}");
    }
}

/// How far something may be off is never told smaller, and by less than a thousandth larger; what a float
/// is off by itself is no thousandth.
#[test]
fn what_an_angle_may_be_off_by_is_rounded_up() {
    for step in 0..4_000 {
        let float = f64::from(step) * 0.012_345_67;
        let up = rounded_up(float).get();
        assert!((-1e-8..0.001).contains(&(up - float)), "{float}: {up}");
        let near = rounded(float).get();
        assert!((near - float).abs() <= 0.000_500_001, "{float}: {near}");
    }
    for exact in [0.001, 0.1, 0.3, 22.5, 179.999, 180.0] {
        near(rounded_up(exact).get(), exact, 1e-12);
        near(rounded_up(exact + 1e-12).get(), exact, 1e-12);
        near(rounded_up(exact + 1e-6).get(), exact + 0.001, 1e-12);
    }
    near(rounded_up(-3.0).get(), 0.0, 1e-12);
}

/// As short as it can be written, to six places.
#[test]
fn a_number_of_a_plan_is_written_as_short_as_it_is() {
    for (over, under, text) in [
        (1, 2, "0.5"),
        (1, 1, "1"),
        (20, 1, "20"),
        (1, 5, "0.2"),
        (-3, 4, "-0.75"),
        (0, 7, "0"),
        (1, 3, "0.333333"),
        (2, 3, "0.666667"),
        (1, 1_000_000, "0.000001"),
        (123_456_789, 1_000, "123456.789"),
    ] {
        assert_eq!(number(Ratio::new(over, under)), text);
    }
}

/// The share of a turn between two marks in which a sample was taken, for any taps and any sample: worked
/// out tap by tap.
#[test]
fn a_sample_has_turned_as_far_as_the_taps_about_it_say() {
    let at_us = [7, 1_000_007, 1_600_007, 4_000_007, 4_000_107, 9_999_999];
    let taps = crate::Taps { at_us: at_us.to_vec(), samples: 9 };
    for (part, two) in (0..).zip(at_us.windows(2)) {
        let long = two[1] - two[0];
        for share in [0, 1, 3, 5, 9] {
            let at = two[0] + long * share / 10;
            let [since, long] = [at - two[0], long].map(|us| f64::from(u32::try_from(us).unwrap()));
            let expected = 72.0 * (f64::from(part) + since / long);
            near(taps.turned_deg(at).unwrap(), expected, 1e-9);
        }
    }
    near(taps.turned_deg(9_999_999).unwrap(), 0.0, 1e-9);
    assert_eq!((taps.turned_deg(6), taps.turned_deg(10_000_000)), (None, None));
    // The quickest part took 100 µs, the slowest 5.999892 s.
    assert_eq!(taps.slowest(), Some((4, 59_998.92)));
}

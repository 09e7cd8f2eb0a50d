//! How much noise alone makes a total reading too large, against order statistics worked out here.

use super::*;
use crate::Turn;

/// The mean of the highest of so many equal touches, in their spread: ∫ 1 − Φⁿ above zero, minus
/// ∫ Φⁿ below it.
fn highest_of(count: i32) -> f64 {
    let step = 1e-3;
    let mut below: f64 = 0.0;
    let mut sum = 0.0;
    for at in -8_000_i32..8_000 {
        let x = (f64::from(at) + 0.5) * step;
        below += (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt() * step;
        let all = below.min(1.0).powi(count);
        sum += if x > 0.0 { 1.0 - all } else { -all } * step;
    }
    sum
}

fn turn(positions: u32) -> Check {
    Check { setup: Holding::Turning, positions, radii: Vec::new(), ..check(Turn::default()) }
}

fn reads_high(check: &Check, readings: &[i64]) -> f64 {
    let series = Series { reading: doubt(None), ..series(check, readings) };
    microinch(Figure::from(judged(&series).reads_high.unwrap()))
}

/// Three times 0.6 steps are 1.8 of them: what lies one step off an end is near it, two steps are not.
#[test]
fn noise_raises_the_highest_and_lowers_the_lowest_of_those_near_them() {
    let check = turn(12);
    for (readings, high, low) in [
        ([9, 5, 5, 5, 5, 5, -9, 5, 5, 5, 5, 5], 1, 1),
        ([9, 8, 5, 5, 5, 5, -9, 5, 5, 5, 5, 5], 2, 1),
        ([9, 8, 8, 7, 5, 5, -9, 5, 5, 5, 5, 5], 3, 1),
        ([9, 7, 7, 7, 7, 7, -9, -8, -8, -8, -9, -9], 1, 6),
        ([9, 9, 9, 9, 9, -9, -9, -8, -8, -8, -9, -9], 5, 7),
        ([9, 9, 9, 9, 9, 9, 9, 9, 8, 8, 8, -9], 11, 1),
        ([0; 12], 12, 12),
    ] {
        let expected = 6.0 * (highest_of(high) + highest_of(low));
        near(reads_high(&check, &readings), expected, 0.012 * expected + 0.01);
    }
}

/// Of several circles only the largest counts.
#[test]
fn noise_is_that_of_the_circle_that_is_judged() {
    let two = Check { radii: vec![inch("1"), inch("2")], ..turn(6) };
    let readings = [4, 4, 4, 4, 4, 4, 9, 0, 0, 0, 0, 0];
    near(reads_high(&two, &readings), 6.0 * highest_of(5), 0.1);
}

/// What the low-pass leaves of noise is √(22.6/N) of it, at about 65 places that do not hang together.
#[test]
fn a_streamed_turn_reads_high_by_what_the_low_pass_leaves() {
    // Of 48 samples each is a place.
    for (samples, amplitude) in [(48, 50.0), (360, 50.0), (360, 1000.0), (720, 200.0)] {
        let check = turn(samples);
        let sine = |at: u32| {
            let deg = 360.0 * f64::from(at) / f64::from(samples);
            #[expect(clippy::cast_possible_truncation, reason = "some hundred steps")]
            let steps = (amplitude * deg.to_radians().sin()).round() as i64;
            steps
        };
        let readings: Vec<i64> = (0..samples).map(sine).collect();
        let left = 6.0 * (22.6 / f64::from(samples)).sqrt();
        // Within three of them of the top of a sine of that height, in samples and in places.
        let share = (1.0 - 3.0 * left / (amplitude * 10.0)).acos() / std::f64::consts::PI;
        #[expect(clippy::cast_possible_truncation, reason = "up to 65")]
        let places = (share * f64::from(samples.min(65))).ceil() as i32;
        let [fewer, more] = [-1, 1].map(|by| 2.0 * left * highest_of((places + by).max(1)));
        let found = reads_high(&check, &readings);
        assert!((0.985 * fewer..=1.015 * more).contains(&found), "{fewer} {found} {more}");
    }
}

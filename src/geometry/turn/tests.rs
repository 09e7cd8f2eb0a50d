//! The figures of the examples are invented; they were computed by an independent program.

use super::*;
use crate::count;
use proptest::prelude::*;

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// A nose pilot, touched every 15 degrees, in 0.00001 in.
const NOSE: [i8; 24] =
    [-1, -1, 0, 1, 2, 2, 2, 1, 0, 0, 0, 1, 2, 3, 2, 1, 0, -2, -3, -3, -3, -3, -2, -2];

#[test]
fn a_nose_pilot_is_eccentric_oval_and_lobed() {
    let readings = NOSE.map(f64::from);
    let turn = EvenTurn::new(24, 4).unwrap();
    let waves = turn.waves(&readings).unwrap();
    near(total_reading(&readings), 6.0, 0.0);
    for (order, amplitude) in [(1, 2.057), (2, 1.343), (3, 0.869), (4, 0.083)] {
        near(waves.wave(order).unwrap().amplitude(), amplitude, 5.1e-4);
    }
    near(waves.wave(1).unwrap().high_deg(), 129.9, 0.05);
    let oval: Vec<f64> = waves.wave(2).unwrap().high_spots_deg().collect();
    near(oval[0], 35.8, 0.05);
    near(oval[1], 215.8, 0.05);
    near(waves.wave(3).unwrap().high_deg(), 80.8, 0.05);
    near(total_reading(&waves.residuals(&turn.angles_deg(), &readings, 1)), 4.181, 5e-4);

    let ecc = waves.eccentricity(0.6).unwrap();
    near(ecc.offset.total_reading(), 4.113, 5e-4);
    near(2.0 * ecc.u_towards_deg, 9.7, 0.05);
    near(ecc.u_amount, (2.0_f64 / 24.0).sqrt() * 0.6, 1e-15);
    near(ecc.offset.opposite().towards_deg(), 309.9, 0.05);
    assert_eq!(
        low_pass_even(&readings, WAVES_KEPT),
        Err(TurnError::TooFew { order: 15, angles: 24 }),
        "touches by hand hold nothing to filter"
    );
}

/// The same pilot streamed: 300 samples with noise by formula, to 0.00001 in.
fn stream() -> (Vec<f64>, Vec<f64>) {
    let of = |k: i64| {
        let t = 1.2 * f64::from(i32::try_from(k).unwrap());
        let wave = |high: f64, order: f64| (order * (t - high).to_radians()).cos();
        let form = 2.2 * wave(130.0, 1.0) + 1.4 * wave(35.0, 2.0);
        let noise = (((k * k * 37 + k * 11) % 101 - 50) * 4 * 254_000).div_euclid(101);
        (t, (form + f64::from(i32::try_from(noise).unwrap()) / 254_000.0).round())
    };
    (0..300).map(of).unzip()
}

#[test]
fn a_streamed_turn_is_judged_after_the_low_pass() {
    let (angles, readings) = stream();
    near(total_reading(&readings), 9.0, 0.0);
    let even = low_pass_even(&readings, WAVES_KEPT).unwrap();
    near(total_reading(&even), 6.581, 5e-4);
    // The same by weights, and with samples in any order.
    let by_weights = low_pass(&angles, &readings, WAVES_KEPT).unwrap();
    let mut turned: Vec<(f64, f64)> = angles.iter().copied().zip(readings).collect();
    turned.rotate_left(77);
    turned.reverse();
    let (angles, readings): (Vec<f64>, Vec<f64>) = turned.into_iter().unzip();
    let mut any_order = low_pass(&angles, &readings, WAVES_KEPT).unwrap();
    any_order.reverse();
    any_order.rotate_right(77);
    for ((one, other), third) in even.iter().zip(&by_weights).zip(&any_order) {
        near(*one, *other, 1e-12);
        near(*one, *third, 1e-12);
    }
}

#[test]
fn the_low_pass_leaves_half_at_fifteen_and_97_percent_of_three() {
    for (order, left) in [(0, 1.0), (3, 0.9727), (15, 0.5), (45, 0.001_953)] {
        let wave = |t: f64| 7.0 + (count(order) * t.to_radians()).cos();
        let angles: Vec<f64> = (0..300).map(|k| 1.2 * count(k)).collect();
        let readings: Vec<f64> = angles.iter().map(|t| wave(*t)).collect();
        near(low_pass_even(&readings, 15).unwrap()[0], 7.0 + left, 5.1e-5);
        // Time-even samples of a hand that slows down and speeds up: the pitch varies by half.
        let uneven: Vec<f64> = angles.iter().map(|t| t + 28.0 * t.to_radians().sin()).collect();
        let readings: Vec<f64> = uneven.iter().map(|t| wave(*t)).collect();
        near(low_pass(&uneven, &readings, 15).unwrap()[0], 7.0 + left, 5e-3);
    }
}

#[test]
fn the_low_pass_leaves_as_much_of_a_wave_however_few_samples_carry_it() {
    // 2^-(k/15)² as documented; a kernel cut from the Gaussian would leave 0.95 of 15 waves on 31.
    for samples in [31_usize, 32, 36, 45, 60, 104, 105, 106, 120] {
        for order in [1_usize, 3, 9, 15] {
            let phase = |k: usize| std::f64::consts::TAU * count(order * k) / count(samples);
            let readings: Vec<f64> = (0..samples).map(|k| 4.0 + phase(k).cos()).collect();
            let smooth = low_pass_even(&readings, 15).unwrap();
            let left = (-(count(order) / 15.0).powi(2)).exp2();
            near(smooth[0], 4.0 + left, 1e-9);
            near(smooth[1], 4.0 + left * phase(1).cos(), 1e-9);
        }
    }
}

#[test]
fn the_low_pass_leaves_a_quarter_of_the_noise() {
    // One sample of 1: the filter's weights; noise falls by the root of the sum of their squares.
    // 0.27 by an independent program.
    let mut readings = vec![0.0; 300];
    readings[17] = 1.0;
    let weights = low_pass_even(&readings, 15).unwrap();
    near(weights.iter().map(|w| w * w).sum::<f64>().sqrt(), 0.274, 5e-4);
    near(weights.iter().sum::<f64>(), 1.0, 1e-14);
}

/// A test bar at 3 in with the marks at 90, 120 and 240 left out, in 0.00001 in.
const ANGLES: [f64; 9] = [0.0, 30.0, 60.0, 150.0, 180.0, 210.0, 270.0, 300.0, 330.0];
const BAR: [f64; 9] = [0.0, 3.0, 5.0, 4.0, 2.0, -1.0, -7.0, -7.0, -4.0];

#[test]
fn missing_marks_allow_the_orders_their_gaps_carry() {
    assert_eq!(highest_order(&ANGLES), 1);
    let waves = waves_at(&ANGLES, &BAR, 1).unwrap();
    let ecc = waves.eccentricity(0.6).unwrap();
    near(ecc.offset.amount(), 6.891, 5e-4);
    near(ecc.offset.total_reading(), 13.782, 5e-4);
    near(ecc.offset.towards_deg(), 100.3, 0.05);
    // Fewer touches know less than the square root of 2/12 of a full turn would.
    assert!(ecc.u_amount > (2.0_f64 / 12.0).sqrt() * 0.6);
    assert_eq!(waves_at(&ANGLES, &BAR, 2), Err(TurnError::Gap { order: 2, gap_deg: 90.0 }));
    assert_eq!(
        TurnError::Gap { order: 2, gap_deg: 90.0 }.to_string(),
        "order 2 needs every gap below 90.0 deg, one is 90.0"
    );
}

#[test]
fn what_cannot_be_told_is_refused() {
    let few = TurnError::TooFew { order: 2, angles: 4 };
    assert_eq!(waves_at(&[0.0, 90.0, 180.0, 270.0], &[0.0; 4], 2), Err(few));
    assert_eq!(EvenTurn::new(4, 2).err(), Some(few));
    assert_eq!(few.to_string(), "order 2 needs 5 angles, there are 4");
    // Touched twice is not touched at two angles.
    let twice = [0.0, 0.0, 120.0, 480.0, 240.0];
    assert_eq!(waves_at(&twice, &[0.0; 5], 2), Err(TurnError::TooFew { order: 2, angles: 3 }));
    assert_eq!(EvenTurn::new(0, 0).err(), Some(TurnError::TooFew { order: 0, angles: 0 }));
    let lengths = TurnError::Lengths { expected: 12, given: 2 };
    assert_eq!(EvenTurn::new(12, 1).unwrap().waves(&[1.0, 2.0]), Err(lengths));
    assert_eq!(waves_at(&[0.0; 12], &[0.0; 2], 1), Err(lengths));
    let mut readings = [1.0; 12];
    readings[5] = f64::NAN;
    assert_eq!(EvenTurn::new(12, 1).unwrap().waves(&readings), Err(TurnError::NotANumber));
    assert_eq!(low_pass_even(&[f64::INFINITY; 99], 15), Err(TurnError::NotANumber));
    assert_eq!(highest_order(&[]), 0);
}

#[test]
fn no_eccentricity_points_nowhere() {
    let ecc = EvenTurn::new(8, 1).unwrap().waves(&[3.0; 8]).unwrap().eccentricity(0.1).unwrap();
    assert!(ecc.offset.amount() < 1e-15);
    near(ecc.u_towards_deg, 180.0, 0.0);
}

/// Orders by the plain sum, each angle worked out for itself: good to 1e-13 of the readings.
fn plain(readings: &[f64], order: usize) -> (f64, f64) {
    let length = count(readings.len());
    let part = |(place, reading): (usize, &f64)| {
        let angle = std::f64::consts::TAU * count(order * place % readings.len()) / length;
        (reading * angle.cos(), reading * angle.sin())
    };
    let sum = readings.iter().enumerate().map(part);
    let (cosine, sine) = sum.fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
    (2.0 * cosine / length, 2.0 * sine / length)
}

#[test]
fn folding_changes_nothing_for_any_number_of_readings() {
    for length in 1..=120_usize {
        // Squares modulo a prime: every order is in them.
        let readings: Vec<f64> =
            (0..length).map(|k| count((k * k * 37 + k * 11) % 101) / 101.0).collect();
        let highest = (length - 1) / 2;
        let waves = EvenTurn::new(length, highest).unwrap().waves(&readings).unwrap();
        near(waves.mean, plain(&readings, 0).0 / 2.0, 1e-14);
        assert_eq!(waves.waves.len(), highest);
        for wave in &waves.waves {
            let (cosine, sine) = plain(&readings, wave.order);
            near(wave.cosine, cosine, 1e-14);
            near(wave.sine, sine, 1e-14);
        }
    }
}

#[test]
fn an_even_turn_goes_once_round_in_equal_steps_either_way() {
    let steps = |angles: &[f64]| is_even_turn(angles);
    let even: Vec<f64> = (0..40).map(|k| 9.0 * count(k)).collect();
    assert!(steps(&even));
    assert!(steps(&even.iter().map(|deg| (720.0 - deg) % 360.0).collect::<Vec<_>>()));
    assert!(steps(&even.iter().map(|deg| (deg + 200.0) % 360.0).collect::<Vec<_>>()));
    assert!(!steps(&even[1..]), "one is missing");
    let twice: Vec<f64> = (0..40).map(|k| 18.0 * count(k) % 360.0).collect();
    assert!(!steps(&twice), "twice round");
    let mut swapped = even;
    swapped.swap(3, 4);
    assert!(!steps(&swapped) && !steps(&[]) && !steps(&[0.0]));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn turning_the_angles_turns_the_phases_only(
        readings in prop::collection::vec(-1.0..1.0_f64, 11..40),
        turn in -720.0..720.0_f64,
        scale in 1e-6..1e6_f64,
        shift in 0_usize..40,
    ) {
        let length = readings.len();
        let angles: Vec<f64> = (0..length)
            .map(|k| 360.0 * (count(k) + 0.3 * readings[k]) / count(length))
            .collect();
        let order = highest_order(&angles).min(4);
        let waves = waves_at(&angles, &readings, order).unwrap();
        let mut other: Vec<(f64, f64)> =
            angles.iter().zip(&readings).map(|(t, z)| (t + turn, z * scale)).collect();
        other.rotate_left(shift % length);
        let (turned, scaled): (Vec<f64>, Vec<f64>) = other.into_iter().unzip();
        let after = waves_at(&turned, &scaled, order).unwrap();
        prop_assert!((after.mean / scale - waves.mean).abs() < 1e-9);
        for (one, two) in waves.waves.iter().zip(&after.waves) {
            prop_assert!((two.amplitude() / scale - one.amplitude()).abs() < 1e-9);
            let moved = count(one.order) * (two.high_deg() - one.high_deg() - turn);
            let apart = (moved + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(apart.to_radians().abs() * one.amplitude() < 1e-9, "{moved}");
        }
        let (one, two) = (waves.eccentricity(1.0).unwrap(), after.eccentricity(1.0).unwrap());
        prop_assert!((one.u_amount - two.u_amount).abs() < 1e-9, "geometry alone, not the unit");
    }

    #[test]
    fn even_angles_give_the_same_by_both_ways(
        readings in prop::collection::vec(-1.0..1.0_f64, 9..60),
    ) {
        let even = EvenTurn::new(readings.len(), 4).unwrap();
        let one = even.waves(&readings).unwrap();
        let two = waves_at(&even.angles_deg(), &readings, 4).unwrap();
        prop_assert!((one.mean - two.mean).abs() < 1e-13);
        for (one, two) in one.waves.iter().zip(&two.waves) {
            prop_assert!((one.cosine - two.cosine).hypot(one.sine - two.sine) < 1e-13);
        }
        let [one, two] = [one, two].map(|waves| waves.eccentricity(1.0).unwrap());
        prop_assert!((one.u_amount - two.u_amount).abs() < 1e-13);
        prop_assert!((one.u_towards_deg - two.u_towards_deg).abs() < 1e-9 * one.u_towards_deg);
    }

    #[test]
    fn the_waves_that_went_in_come_out(
        parts in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64), 3),
        gap in 1_usize..10,
    ) {
        // A turn of 60 with some marks left out: orders to 3 in, the same out, nothing left.
        let angles: Vec<f64> = (gap..60).map(|k| 6.0 * count(k)).collect();
        let made = Waves {
            mean: 1e3,
            waves: (1..).zip(&parts).map(|(order, &(cosine, sine))| Wave { order, cosine, sine }).collect(),
            first: [0.0; 3],
        };
        let readings: Vec<f64> = angles.iter().map(|t| made.at(*t, 3)).collect();
        let order = highest_order(&angles).min(3);
        prop_assert!(order == 3 || count(gap + 1) * 6.0 >= 60.0);
        if order == 3 {
            let waves = waves_at(&angles, &readings, 3).unwrap();
            for (one, two) in made.waves.iter().zip(&waves.waves) {
                prop_assert!((one.cosine - two.cosine).hypot(one.sine - two.sine) < 1e-11);
            }
            prop_assert!(total_reading(&waves.residuals(&angles, &readings, 3)) < 1e-11);
        }
    }
}

//! Waves of a turn: against plain sums over all angles, and by moving one reading after the other.

use super::*;

/// Readings of a turn, within ±20.
fn readings(least: usize, most: usize) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(-20.0..20.0_f64, least..most)
}

/// Angles of a hand: equal steps with a jitter of a third of a step.
fn uneven(jitter: &[f64]) -> Vec<f64> {
    let step = 360.0 / count(jitter.len());
    jitter.iter().enumerate().map(|(k, off)| step * (count(k) + off / 60.0)).collect()
}

/// Mean and waves by the plain sums `2/N Σ R cos kt` (R, a and b of the NIST e-Handbook, 2.3.4.4, and
/// so for every order).
fn by_sums(readings: &[f64], order: usize) -> (f64, f64) {
    let length = count(readings.len());
    let part = |of: fn(f64) -> f64| -> f64 {
        let turn = std::f64::consts::TAU * count(order) / length;
        readings.iter().enumerate().map(|(k, reading)| reading * of(turn * count(k))).sum()
    };
    let share = if order == 0 { 1.0 } else { 2.0 } / length;
    (share * part(f64::cos), share * part(f64::sin))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_least_squares_centre_is_that_of_the_handbook(readings in readings(3, 40)) {
        // deviation = R_i − R − a cos − b sin.
        let turn = EvenTurn::new(readings.len(), 1).unwrap();
        let waves = turn.waves(&readings).unwrap();
        let (mean, (a, b)) = (by_sums(&readings, 0).0, by_sums(&readings, 1));
        let first = waves.wave(1).unwrap();
        prop_assert!((waves.mean - mean).abs() < 1e-12);
        prop_assert!((first.cosine - a).hypot(first.sine - b) < 1e-12);
        let angles = turn.angles_deg();
        let left = waves.residuals(&angles, &readings, 1);
        for ((rest, reading), angle) in left.iter().zip(&readings).zip(&angles) {
            let (sin, cos) = angle.to_radians().sin_cos();
            prop_assert!((rest - (reading - mean - a * cos - b * sin)).abs() < 1e-11);
        }
        // The same as the fit by angles and as a plane over the circle.
        let fit = FirstWave::fit(&angles, &readings).unwrap();
        prop_assert!((fit.amplitude() - first.amplitude()).abs() < 1e-11);
        prop_assert!(fit.amplitude() < 1e-6 || apart(fit.high_deg(), first.high_deg(), 360.0) < 1e-4);
        let all = waves_of_turn(&angles, &readings).unwrap();
        prop_assert!((all[0].amplitude() - first.amplitude()).abs() < 1e-11);
        prop_assert!(total_reading(&left) >= total_reading(&readings) - 2.0 * first.amplitude() - 1e-9);
    }

    /// Parseval: the mean square of an odd turn is that of its mean and its waves.
    #[test]
    fn the_waves_hold_all_there_is_in_the_readings(readings in readings(3, 60)) {
        let readings = if readings.len() % 2 == 0 { &readings[1..] } else { &readings[..] };
        let highest = (readings.len() - 1) / 2;
        let waves = EvenTurn::new(readings.len(), highest).unwrap().waves(readings).unwrap();
        let square = |values: &mut dyn Iterator<Item = f64>| values.map(|value| value * value).sum::<f64>();
        let whole = square(&mut readings.iter().copied()) / count(readings.len());
        let parts = waves.mean.powi(2) + square(&mut waves.waves.iter().map(Wave::amplitude)) / 2.0;
        prop_assert!((whole - parts).abs() <= 1e-11 * whole.max(1.0));
        let angles = EvenTurn::new(readings.len(), 0).unwrap().angles_deg();
        prop_assert!(total_reading(&waves.residuals(&angles, readings, highest)) < 1e-10);
    }

    /// The low-pass leaves `2^-(k/waves)²` of each wave. A bell of so few samples also takes in what lies
    /// as far beyond half their number: of a wave that is kept, nothing that counts.
    #[test]
    fn the_low_pass_is_its_share_of_every_wave(readings in readings(31, 260), waves in 4_usize..16) {
        let length = readings.len();
        let smooth = low_pass_even(&readings, waves).unwrap();
        let share = |order: usize| (-(count(order) / count(waves)).powi(2)).exp2();
        for order in 0..=length / 2 {
            let (before, after) = (by_sums(&readings, order), by_sums(&smooth, order));
            let off = (after.0 - share(order) * before.0).hypot(after.1 - share(order) * before.1);
            let folded = if length > 7 * waves { share(length - order) } else { 0.0 };
            prop_assert!(off <= 1e-9 + 1.001 * folded * before.0.hypot(before.1), "{order}: {off}");
            prop_assert!(order > waves || off < 1e-8);
        }
        prop_assert!(total_reading(&smooth) <= total_reading(&readings) + 1e-9);
    }

    #[test]
    fn smoothing_keeps_what_is_even_and_goes_with_the_readings(
        jitter in readings(40, 120), by in -1e3..1e3_f64, factor in 0.1..10.0_f64, turn in -720.0..720.0_f64,
    ) {
        let angles = uneven(&jitter);
        let readings: Vec<f64> = jitter.iter().map(|off| off.sin() * 7.0).collect();
        let smooth = low_pass(&angles, &readings, 8).unwrap();
        let other: Vec<f64> = readings.iter().map(|reading| reading * factor + by).collect();
        let turned: Vec<f64> = angles.iter().map(|angle| angle + turn).collect();
        for (one, two) in smooth.iter().zip(low_pass(&turned, &other, 8).unwrap()) {
            prop_assert!((one * factor + by - two).abs() < 1e-8 * (1.0 + by.abs()));
        }
        let level = low_pass(&angles, &vec![by; angles.len()], 8).unwrap();
        prop_assert!(level.iter().all(|value| (value - by).abs() < 1e-9));
        let (low, high) = smooth.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
        let (least, most) = readings.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
        prop_assert!(least - 1e-9 <= low && high <= most + 1e-9, "a weighted mean");
    }

    /// The uncertainty of the eccentricity is the root of the squares of what each reading does to it.
    #[test]
    fn the_uncertainty_of_an_eccentricity_is_that_of_all_readings(
        jitter in readings(5, 24), u in 0.01..2.0_f64,
    ) {
        let angles = uneven(&jitter);
        let form: Vec<f64> = angles.iter().map(|deg| 5.0 * (deg - 77.0).to_radians().cos()).collect();
        let of = |readings: &[f64]| waves_at(&angles, readings, 1).unwrap().eccentricity(u).unwrap();
        let told = of(&form);
        let step = 1e-4;
        let (mut amount, mut angle) = (0.0, 0.0);
        for row in 0..form.len() {
            let moved = |by: f64| {
                let mut other = form.clone();
                other[row] += by;
                of(&other).offset
            };
            let (up, down) = (moved(step), moved(-step));
            amount += ((up.amount() - down.amount()) / (2.0 * step)).powi(2);
            let turned = up.towards_deg() - down.towards_deg();
            angle += (((turned + 180.0).rem_euclid(360.0) - 180.0) / (2.0 * step)).powi(2);
        }
        prop_assert!((told.u_amount - u * amount.sqrt()).abs() < 1e-6 * (1.0 + told.u_amount));
        let turn = (u * angle.sqrt()).min(180.0);
        prop_assert!((told.u_towards_deg - turn).abs() < 1e-5 * (1.0 + turn), "{} {turn}", told.u_towards_deg);
    }

    #[test]
    fn a_wave_has_its_high_spots_where_it_is_highest(
        cosine in -5.0..5.0_f64, sine in -5.0..5.0_f64, order in 1_usize..16, at in 0.0..360.0_f64,
    ) {
        let wave = Wave { order, cosine, sine };
        let spots: Vec<f64> = wave.high_spots_deg().collect();
        prop_assert_eq!(spots.len(), order);
        prop_assert!((0.0..360.0 / count(order)).contains(&spots[0]));
        prop_assert!(spots.windows(2).all(|two| (two[1] - two[0] - 360.0 / count(order)).abs() < 1e-9));
        for spot in spots {
            prop_assert!((wave.at(spot) - wave.amplitude()).abs() < 1e-9, "{spot}");
        }
        prop_assert!(wave.at(at) <= wave.amplitude() + 1e-12);
        // A whole wave on it is the same.
        prop_assert!((wave.at(at) - wave.at(at + 360.0 / count(order))).abs() < 1e-9);
    }

    /// The widest gap by walking round in small steps: no angle within half of it from its middle.
    #[test]
    fn the_widest_gap_is_the_longest_way_without_an_angle(whole in prop::collection::vec(-720_i32..720, 1..12)) {
        let angles: Vec<f64> = whole.iter().map(|deg| f64::from(*deg)).collect();
        let on_mark = |at: i32| whole.iter().any(|deg| deg.rem_euclid(360) == at.rem_euclid(360));
        let longest = (0..360).filter(|at| on_mark(*at)).map(|from| {
            (1..=360).find(|ahead| on_mark(from + ahead)).unwrap()
        }).max().unwrap();
        prop_assert!((widest_gap_deg(&angles) - f64::from(longest)).abs() < 1e-9, "{longest}");
        // The highest order they carry: 2k + 1 of them differ, every gap below 180/k.
        let different = (0..360).filter(|at| on_mark(*at)).count();
        let carried = (1..40_usize).filter(|k| different > 2 * k && count(*k) * f64::from(longest) < 180.0).max();
        prop_assert_eq!(highest_order(&angles), carried.unwrap_or(0));
        let flat = vec![3.0; angles.len()];
        for order in 1..4 {
            let carries = order <= carried.unwrap_or(0);
            prop_assert_eq!(waves_at(&angles, &flat, order).is_ok(), carries, "{}", order);
        }
    }
}

#[test]
fn a_turn_of_few_readings_by_hand() {
    // Four readings 1 0 −1 0: eccentric by 1 towards 0; 0 3 0 −3 by 3 towards 90.
    let of = |readings: [f64; 4]| {
        let waves = EvenTurn::new(4, 1).unwrap().waves(&readings).unwrap();
        (waves.mean, waves.wave(1).unwrap().amplitude(), waves.wave(1).unwrap().high_deg())
    };
    assert_eq!(of([1.0, 0.0, -1.0, 0.0]), (0.0, 1.0, 0.0));
    assert_eq!(of([7.0, 10.0, 7.0, 4.0]), (7.0, 3.0, 90.0));
    // Three readings 0 0 3: mean 1, a = 2/3 · 3 · cos 240 = −1, b = 2/3 · 3 · sin 240 = −√3.
    let waves = EvenTurn::new(3, 1).unwrap().waves(&[0.0, 0.0, 3.0]).unwrap();
    let first = waves.wave(1).unwrap();
    near(waves.mean, 1.0, 1e-15);
    near(first.cosine, -1.0, 1e-15);
    near(first.sine, -(3.0_f64.sqrt()), 1e-15);
    near(first.high_deg(), 240.0, 1e-12);
    assert_eq!((waves.wave(0), waves.wave(2)), (None, None));
    let mean = EvenTurn::new(1, 0).unwrap().waves(&[5.0]).unwrap();
    assert_eq!((mean.mean, mean.waves.len(), mean.eccentricity(1.0)), (5.0, 0, None));
}

#[test]
fn numbers_that_are_none_are_refused_wherever_they_stand() {
    let angles: Vec<f64> = (0..40).map(|k| 9.0 * count(k)).collect();
    for row in [0, 17, 39] {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let mut readings = vec![1.0; 40];
            readings[row] = bad;
            let mut turned = angles.clone();
            turned[row] = bad;
            let refused = Err(TurnError::NotANumber);
            assert_eq!(low_pass(&angles, &readings, 4), refused);
            assert_eq!(low_pass(&turned, &[1.0; 40], 4), refused);
            assert_eq!(low_pass_even(&readings, 4), refused);
            assert_eq!(waves_at(&angles, &readings, 2).err(), Some(TurnError::NotANumber));
            assert_eq!(waves_of_turn(&turned, &[1.0; 40]).err(), Some(TurnError::NotANumber));
        }
    }
    assert_eq!(
        low_pass(&angles, &[1.0; 39], 4),
        Err(TurnError::Lengths { expected: 40, given: 39 })
    );
    // Readings that carry no such wave hold nothing to filter; no wave at all is one.
    assert_eq!(low_pass_even(&[1.0; 8], 4), Err(TurnError::TooFew { order: 4, angles: 8 }));
    assert!(low_pass_even(&[1.0; 9], 4).is_ok());
    assert_eq!(low_pass_even(&[1.0; 3], 0), Ok(vec![1.0; 3]));
}

#[test]
fn steps_are_even_to_a_millionth_of_a_degree() {
    let steps = |jump: f64| {
        let mut angles: Vec<f64> = (0..36).map(|k| 10.0 * count(k)).collect();
        angles[7] += jump;
        is_even_turn(&angles)
    };
    assert_eq!([0.0, 9e-7, -9e-7, 1.1e-6, -1.1e-6].map(steps), [true, true, true, false, false]);
    assert!(!is_even_turn(&[0.0, 10.0, 20.0]), "not once round");
}

#[test]
fn a_wild_touch_is_the_one_to_doubt() {
    // Twelve touches of a clean first wave, one of them wild by any amount, either way.
    let angles: Vec<f64> = (0..12).map(|k| 30.0 * count(k)).collect();
    let clean: Vec<f64> =
        angles.iter().map(|deg| 4.0 + 3.0 * (deg - 50.0).to_radians().cos()).collect();
    for row in 0..12 {
        for wild in [-9.0, 0.5, 40.0] {
            let mut heights = clean.clone();
            heights[row] += wild;
            let fit = FirstWave::fit(&angles, &heights).unwrap();
            assert_eq!(fit.most_doubtful(), Some(row));
            near(fit.left_out()[row].unwrap(), wild, 1e-9);
            // Of N equal touches each has a leverage of 3/N.
            near(fit.leverages[row], 0.25, 1e-12);
        }
    }
}

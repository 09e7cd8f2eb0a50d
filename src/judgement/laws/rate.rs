//! A rate over the time.

use super::{moved, pm, readings, uin};
use crate::Part;
use crate::Times;
use crate::rate::{OnOneSpot, Rate};
use proptest::prelude::*;
use quantity::{Figure, Length};

const TENTH: Times = Times::of_hundredths(10);

/// The certified data set Norris of the NIST Statistical Reference Datasets (linear regression, 36
/// observations; from memory, which its certified slope checks): response, predictor, in tenths.
const NORRIS: [(i64, i64); 36] = [
    (1, 2),
    (3388, 3374),
    (1181, 1182),
    (8880, 8846),
    (92, 101),
    (2281, 2265),
    (6685, 6663),
    (9985, 9963),
    (4491, 4486),
    (7789, 7770),
    (5592, 5582),
    (3, 4),
    (1, 6),
    (7781, 7755),
    (6688, 6669),
    (3393, 3380),
    (4489, 4475),
    (108, 116),
    (5577, 5560),
    (2283, 2281),
    (9980, 9958),
    (8888, 8876),
    (1196, 1202),
    (3, 3),
    (6, 3),
    (5576, 5568),
    (3393, 3391),
    (8880, 8872),
    (9985, 9990),
    (7789, 7790),
    (102, 111),
    (1176, 1183),
    (2289, 2292),
    (6684, 6691),
    (4492, 4489),
    (2, 5),
];

#[test]
fn the_slope_of_a_certified_data_set_and_its_standard_uncertainty_come_out() {
    // Tenths of a minute, and tenths of a micrometre.
    let spot: OnOneSpot = NORRIS.map(|(y, x)| (x * 100, pm(y * 100_000))).to_vec();
    // Certified: slope 1.00211681802045, residual standard deviation 0.884796396144373, standard deviation
    // of the slope 0.000429796848199937.
    let rate = Rate::of(&[spot], Part::stated(pm(884_796))).unwrap();
    assert!((rate.a_minute() / 1e6 - 1.002_116_818_020_45).abs() < 1e-12, "{}", rate.a_minute());
    assert!((rate.u() / 1e6 - 0.000_429_796_848).abs() < 1e-9, "{}", rate.u());
    assert_eq!(rate.shown(), pm(1_002_117));
}

/// Touches on one spot, thousandths of a minute and picometres.
fn spot() -> impl Strategy<Value = OnOneSpot> {
    let touch = (0_i64..60_000, -9_000_000_i64..9_000_000).prop_map(|(at, read)| (at, pm(read)));
    proptest::collection::vec(touch, 1..6)
}

fn spots() -> impl Strategy<Value = Vec<OnOneSpot>> {
    proptest::collection::vec(spot(), 1..5)
}

const S: i64 = 152_400;

fn rate(spots: &[OnOneSpot]) -> Option<Rate> {
    Rate::of(spots, Part::stated(pm(S)))
}

fn each(
    spots: &[OnOneSpot],
    change: impl Fn(usize, (i64, Length)) -> (i64, Length),
) -> Vec<OnOneSpot> {
    let on = |(nth, spot): (usize, &OnOneSpot)| spot.iter().map(|one| change(nth, *one)).collect();
    spots.iter().enumerate().map(on).collect()
}

/// The same by the definition of least squares, in floats: each spot about its own means.
fn by_definition(spots: &[OnOneSpot]) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
    let sums = |spot: &OnOneSpot| {
        let count = spot.len() as f64;
        let t: Vec<f64> = spot.iter().map(|(at, _)| *at as f64 / 1000.0).collect();
        let z: Vec<f64> = spot.iter().map(|(_, read)| read.picometres() as f64).collect();
        let (mean_t, mean_z) = (t.iter().sum::<f64>() / count, z.iter().sum::<f64>() / count);
        let both = t.iter().zip(&z).map(|(t, z)| (t - mean_t) * (z - mean_z)).sum::<f64>();
        (both, t.iter().map(|t| (t - mean_t).powi(2)).sum::<f64>())
    };
    let all = spots.iter().map(sums).fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    all.0 / all.1
}

proptest! {
    #[test]
    fn it_is_the_line_of_least_squares_with_a_height_for_each_spot(spots in spots()) {
        if let Some(rate) = rate(&spots) {
            let expected = by_definition(&spots);
            let near = (rate.a_minute() - expected).abs() <= 1e-6 * expected.abs().max(1.0);
            prop_assert!(near, "{} {expected}", rate.a_minute());
            let shown = Figure::from(rate.shown()).to_f64();
            prop_assert!((shown - expected).abs() < 0.51 + 1e-6 * expected.abs());
        }
    }

    #[test]
    fn neither_the_zero_nor_the_clock_nor_the_order_matters(
        spots in spots(), later in 0_i64..9_000_000, up in -9_000_000_i64..9_000_000,
    ) {
        let before = rate(&spots);
        // Each spot has a zero of its own.
        let elsewhere = each(&spots, |nth, (at, read)| {
            let up = up * i64::try_from(nth + 1).unwrap();
            (at + later, pm(read.picometres() + up))
        });
        prop_assert_eq!(rate(&elsewhere), before);
        let mut turned: Vec<OnOneSpot> = spots.clone();
        turned.reverse();
        for spot in &mut turned {
            spot.reverse();
        }
        prop_assert_eq!(rate(&turned), before);
    }

    #[test]
    fn a_spot_that_was_touched_once_says_nothing(spots in spots(), one in spot()) {
        let mut more = spots.clone();
        more.push(one[..1].to_vec());
        prop_assert_eq!(rate(&more), rate(&spots));
    }

    #[test]
    fn a_gauge_that_counts_the_other_way_sees_the_same(spots in spots(), tolerance in 1_i64..500) {
        let turned = each(&spots, |_, (at, read)| (at, pm(-read.picometres())));
        if let Some((one, other)) = rate(&spots).zip(rate(&turned)) {
            prop_assert!((one.a_minute() + other.a_minute()).abs() <= 0.0);
            let tolerance = Figure::from(uin(tolerance));
            prop_assert_eq!(one.alarms(tolerance, TENTH), other.alarms(tolerance, TENTH));
            prop_assert_eq!(one.is_still(1000, tolerance, TENTH), other.is_still(1000, tolerance, TENTH));
        }
    }

    #[test]
    fn the_unit_does_not_matter(spots in spots(), tolerance in 1_i64..500) {
        let larger = each(&spots, |_, (at, read)| (at, pm(8 * read.picometres())));
        let larger = Rate::of(&larger, Part::stated(pm(8 * S)));
        if let Some((one, other)) = rate(&spots).zip(larger) {
            prop_assert_eq!((8.0 * one.a_minute()).to_bits(), other.a_minute().to_bits());
            let tolerances = [1, 8].map(|times| Figure::from(uin(times * tolerance)));
            prop_assert_eq!(one.alarms(tolerances[0], TENTH), other.alarms(tolerances[1], TENTH));
            prop_assert_eq!(one.is_still(500, tolerances[0], TENTH), other.is_still(500, tolerances[1], TENTH));
        }
    }

    #[test]
    fn a_tighter_tolerance_never_quiets_it_and_never_makes_it_still(
        spots in spots(), tolerance in 1_i64..500, tighter in 0_i64..500,
    ) {
        if let Some(rate) = rate(&spots) {
            let [wide, narrow] = [tolerance + tighter, tolerance].map(|of| Figure::from(uin(of)));
            prop_assert!(!rate.alarms(wide, TENTH) || rate.alarms(narrow, TENTH));
            prop_assert!(!rate.is_still(1000, narrow, TENTH) || rate.is_still(1000, wide, TENTH));
            // What five minutes change too much is not still over as long.
            prop_assert!(!(rate.alarms(narrow, TENTH) && rate.is_still(5000, narrow, TENTH)));
            prop_assert!(!rate.is_still(2000, narrow, TENTH) || rate.is_still(1000, narrow, TENTH));
        }
    }

    #[test]
    fn more_touches_know_a_rate_better(read in readings(3..8)) {
        let at = |count: usize| {
            let touch = |(nth, read): (usize, &Length)| (1000 * i64::try_from(nth).unwrap(), *read);
            let spot: OnOneSpot = read[..count].iter().enumerate().map(touch).collect();
            rate(&[spot]).unwrap()
        };
        prop_assert!(at(read.len()).u() < at(read.len() - 1).u());
        let over = 1000 * i64::try_from(read.len() - 1).unwrap();
        prop_assert_eq!(at(read.len()).over(), over);
    }

    /// On a line without scatter nothing is left, so that only rate and time decide.
    #[test]
    fn a_straight_line_alarms_from_three_touches_over_two_minutes(
        slope in 3_i64..40, minutes in 1_i64..9, zero in -500_i64..500,
    ) {
        let line = |touches: i64| {
            let touch = |nth: i64| (1000 * minutes * nth, uin(zero - slope * minutes * nth));
            rate(&[(0..touches).map(touch).collect()]).unwrap()
        };
        let tolerance = Figure::from(uin(50 * slope));
        prop_assert!(!line(2).alarms(tolerance, TENTH) && !line(3).alarms(tolerance, TENTH), "a tie is none");
        let tighter = Figure::from(uin(50 * slope - 1));
        prop_assert!(!line(2).alarms(tighter, TENTH), "two touches");
        // 3·u = 3·6/√(2·minutes²) = 12.7/minutes.
        let seen = 10 * slope * minutes > 128;
        if seen {
            prop_assert!(line(3).alarms(tighter, TENTH));
        } else if 10 * slope * minutes < 127 {
            prop_assert!(!line(3).alarms(tighter, TENTH));
        }
        prop_assert_eq!(moved(&[line(3).shown()], 0), [uin(-slope)]);
    }
}

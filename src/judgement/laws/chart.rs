//! The chart of a check master.

use super::{moved, pm, readings, times};
use crate::Chart;
use proptest::prelude::*;
use quantity::{Figure, Length};

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, individuals control charts: ten flow rates,
/// mean 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041 (from memory; the arithmetic of the
/// example checks it). In tenths.
const FLOW: [i64; 10] = [496, 476, 499, 513, 478, 512, 526, 524, 536, 521];

#[test]
fn the_published_chart_of_individuals_comes_out() {
    let days = FLOW.map(|tenths| pm(tenths * 1_000_000));
    let chart = Chart::of(&days, pm(1)).unwrap();
    assert_eq!(chart.centre, Figure::from(pm(508_100_000)));
    // 3·1.8778/1.128 = 4.9941 either way; the centre of ten to twenty days widens it by √1.05.
    let widened = chart.limit.picometres();
    #[expect(clippy::cast_precision_loss, reason = "some ten million")]
    let published = widened as f64 / 1.05_f64.sqrt() / 1e7;
    // The 1.128 of the handbook is 2/√π = 1.12838 here.
    let d2 = std::f64::consts::FRAC_2_SQRT_PI;
    assert!((published - 4.994_1 * 1.128 / d2).abs() < 0.000_1, "{published}");
    #[expect(clippy::cast_precision_loss, reason = "some ten million")]
    let sigma = chart.sigma.picometres() as f64 / 1e7;
    assert!((sigma - 1.8778 / d2).abs() < 0.000_1, "{sigma}");
    // None of the ten is off.
    assert!(days.iter().all(|day| !chart.is_off(*day)));
}

fn of(days: &[Length], step: i64) -> Chart {
    Chart::of(days, pm(step)).unwrap()
}

proptest! {
    #[test]
    fn the_zero_of_the_gauge_moves_the_line_alone(
        days in readings(10..25), up in -9_000_000_i64..9_000_000, today in -20_000_000_i64..20_000_000,
    ) {
        let (one, other) = (of(&days, 1), of(&moved(&days, up), 1));
        prop_assert_eq!(other.centre - one.centre, Figure::from(pm(up)));
        prop_assert_eq!((other.sigma, other.limit), (one.sigma, one.limit));
        prop_assert_eq!(one.is_off(pm(today)), other.is_off(pm(today + up)));
        prop_assert_eq!(one.is_on_the_line(pm(today)), other.is_on_the_line(pm(today + up)));
    }

    #[test]
    fn the_sign_and_the_unit_do_not_matter(days in readings(10..25), today in -20_000_000_i64..20_000_000) {
        let (one, turned) = (of(&days, 1000), of(&times(&days, -1), 1000));
        prop_assert_eq!((turned.sigma, turned.limit), (one.sigma, one.limit));
        prop_assert_eq!(one.is_off(pm(today)), turned.is_off(pm(-today)));
        let larger = of(&times(&days, 8), 8000);
        prop_assert!((larger.limit.picometres() - 8 * one.limit.picometres()).abs() <= 8);
        let mut back = days.clone();
        back.reverse();
        prop_assert_eq!(of(&back, 1000), one, "days in the other order move as far");
    }

    #[test]
    fn the_limit_is_met_exactly_on_both_sides(zero in -9_000_000_i64..9_000_000, step in 2_i64..900_000) {
        // Days that are all alike: one and a half steps.
        let chart = of(&[pm(zero); 12], step);
        let limit = chart.limit.picometres();
        prop_assert!(limit >= step * 3 / 2 && limit <= step * 3 / 2 + 1);
        for side in [1, -1] {
            prop_assert!(!chart.is_off(pm(zero + side * limit)));
            prop_assert!(chart.is_off(pm(zero + side * (limit + 1))));
            prop_assert!(chart.is_on_the_line(pm(zero + side * (step / 2))));
            prop_assert!(!chart.is_on_the_line(pm(zero + side * (step / 2 + 1))));
        }
    }

    #[test]
    fn further_off_is_never_better(days in readings(10..25), far in 0_i64..40_000_000, more in 0_i64..40_000_000) {
        let chart = of(&days, 254_000);
        let centre = i64::try_from(chart.centre.ceil()).unwrap();
        for side in [1, -1] {
            let at = |far: i64| pm(centre + side * far);
            prop_assert!(!chart.is_off(at(far)) || chart.is_off(at(far + more + 1)));
            prop_assert!(!(chart.is_off(at(far)) && chart.is_on_the_line(at(far))));
        }
    }

    #[test]
    fn a_coarser_step_never_narrows_it(days in readings(10..25), step in 1_i64..900_000, more in 0_i64..900_000) {
        prop_assert!(of(&days, step + more).limit >= of(&days, step).limit);
        prop_assert!(of(&days, step + more).sigma >= of(&days, step).sigma);
    }

    #[test]
    fn fewer_than_ten_days_are_none(days in readings(0..10)) {
        prop_assert_eq!(Chart::of(&days, pm(254_000)), None);
    }
}

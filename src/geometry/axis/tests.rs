//! The figures of the examples are invented; they were computed by an independent program.

use super::*;
use crate::EvenTurn;
use proptest::prelude::*;

fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// The first wave of twelve readings, in 0.00001 in.
fn ecc(readings: [i8; 12]) -> Offset {
    let readings = readings.map(f64::from);
    let waves = EvenTurn::new(12, 1).unwrap().waves(&readings).unwrap();
    waves.eccentricity(0.6).unwrap().offset
}

/// A test bar at 0.25 in and 3 in from the nose face.
fn bar() -> TwoStations {
    let close = ecc([2, 3, 3, 2, 1, -1, -2, -3, -3, -2, -1, 1]);
    let far = ecc([-8, -5, -1, 3, 6, 8, 8, 5, 1, -3, -6, -8]);
    TwoStations::new(0.25, close, 3.0, far).unwrap()
}

#[test]
fn a_bar_at_two_stations_predicts_a_third() {
    let bar = bar();
    near(bar.offset(0.25).amount(), 3.047, 5e-4);
    near(bar.offset(0.25).towards_deg(), 45.0, 0.05);
    near(bar.offset(3.0).amount(), 8.137, 5e-4);
    near(bar.offset(3.0).towards_deg(), 158.8, 0.05);
    near(bar.offset(0.0).amount(), 3.685, 5e-4);
    near(bar.tilt().amount() * 10.0, 35.54, 5e-3);
    near(bar.tilt().towards_deg(), 175.4, 0.05);
    near(bar.offset(6.0).total_reading(), 37.211, 5e-4);
    near(bar.offset(6.0).towards_deg(), 168.2, 0.05);
    near(bar.share(6.0), 2.0909, 5e-5);
    near(bar.factor(6.0), 2.358, 5e-4);
    near(bar.closest().unwrap(), 0.81, 5e-3);
    near(bar.offset(bar.closest().unwrap()).amount(), 2.322, 5e-4);
}

#[test]
fn the_predicted_uncertainty_takes_each_station_with_its_own() {
    // Per axis: reading, seating, half the stand's and the bar's share, in 0.00001 in.
    let u = |seat: f64| (2.0 / 12.0 * 0.36 + seat * seat + 2.0 * 0.25_f64.powi(2)).sqrt();
    near(4.0 * bar().uncertainty(6.0, u(0.4), u(1.0)), 9.458, 5e-4);
}

#[test]
fn plain_total_readings_give_bounds_only() {
    let bar = bar();
    let [first, second] = [0.25, 3.0].map(|z| bar.offset(z).total_reading());
    let (low, high) = total_reading_bounds(first, second, bar.share(6.0));
    near(low, 27.379, 5e-4);
    near(high, 40.676, 5e-4);
    // Between the stations both shares count as they are, without a sign.
    assert_eq!(total_reading_bounds(10.0, 10.0, 0.5), (0.0, 10.0));
}

#[test]
fn a_reversed_bar_tells_spindle_from_bar() {
    let at_0 = ecc([3, 2, 1, -1, -2, -3, -3, -2, -1, 1, 2, 3]);
    let at_180 = ecc([6, 8, 8, 6, 2, -2, -6, -8, -8, -6, -2, 2]);
    let again = ecc([4, 3, 1, -1, -3, -4, -4, -3, -1, 1, 3, 4]);
    let shifted = ecc([7, 8, 6, 3, -1, -5, -7, -8, -6, -3, 1, 5]);
    let split = reversal(at_0, at_180, again);
    near(split.spindle.amount(), 5.098, 5e-4);
    near(split.spindle.towards_deg(), 30.0, 0.05);
    near(split.spindle.total_reading(), 10.196, 5e-4);
    near(split.bar.amount(), 3.648, 5e-4);
    near(split.bar.towards_deg(), 246.2, 0.05);
    near(split.repeat.amount(), 1.115, 5e-4);
    near(reversal(at_0, at_180, shifted).repeat.amount(), 5.701, 5e-4);

    let at_90 = ecc([8, 7, 5, 1, -3, -6, -8, -7, -5, -1, 3, 6]);
    let at_270 = ecc([1, 3, 4, 4, 3, 1, -1, -3, -4, -4, -3, -1]);
    let each = [at_0, at_90, at_180, at_270];
    for (offset, expected) in each.iter().zip([6.094, 15.655, 16.65, 8.325]) {
        near(offset.total_reading(), expected, 5e-4);
    }
    let four = four_seatings(each);
    near(four.mean_total_reading, 11.681, 5e-4);
    near(four.spindle.total_reading(), 10.196, 5e-4);
    near(four.spindle.towards_deg(), 30.0, 0.05);
}

#[test]
fn one_place_is_no_axis() {
    let here = Offset::towards(1.0, 20.0);
    assert_eq!(TwoStations::new(2.0, here, 2.0, here), Err(AxisError::OneStation));
    assert_eq!(TwoStations::new(f64::NAN, here, 2.0, here), Err(AxisError::OneStation));
    let bad = Offset { x: f64::INFINITY, y: 0.0 };
    assert_eq!(TwoStations::new(0.0, here, 2.0, bad), Err(AxisError::OneStation));
    let straight = TwoStations::new(0.0, here, 2.0, here).unwrap();
    assert_eq!(straight.closest(), None, "no tilt, no closest place");
}

#[test]
fn in_a_bore_the_axis_lies_the_other_way() {
    near(Offset::towards(2.0, 129.9).opposite().towards_deg(), 309.9, 1e-9);
}

fn offset() -> impl Strategy<Value = Offset> {
    (-10.0..10.0_f64, -10.0..10.0_f64).prop_map(|(x, y)| Offset { x, y })
}

proptest! {
    #[test]
    fn spindle_and_bar_come_back_from_what_they_add_up_to(spindle in offset(), bar in offset()) {
        let split = reversal(
            spindle.mix(1.0, bar, 1.0),
            spindle.mix(1.0, bar, -1.0),
            spindle.mix(1.0, bar, 1.0),
        );
        prop_assert!(split.spindle.mix(1.0, spindle, -1.0).amount() < 1e-12);
        prop_assert!(split.bar.mix(1.0, bar, -1.0).amount() < 1e-12);
        prop_assert!(split.repeat.amount() < 1e-12);
        // Four seatings 90 degrees apart: the bar's share goes round and cancels.
        let turned = [0.0, 90.0, 180.0, 270.0].map(|turn| {
            spindle.mix(1.0, Offset::towards(bar.amount(), bar.towards_deg() + turn), 1.0)
        });
        let four = four_seatings(turned);
        prop_assert!(four.spindle.mix(1.0, spindle, -1.0).amount() < 1e-12);
        prop_assert!(four.mean_total_reading >= four.spindle.total_reading() - 1e-12);
    }

    #[test]
    fn a_prediction_lies_within_the_bounds_of_the_plain_readings(
        first in offset(), second in offset(), z in -20.0..20.0_f64,
    ) {
        let axis = TwoStations::new(1.0, first, 4.0, second).unwrap();
        let shown = axis.offset(z).total_reading();
        let (low, high) =
            total_reading_bounds(first.total_reading(), second.total_reading(), axis.share(z));
        prop_assert!(low - 1e-9 <= shown && shown <= high + 1e-9);
        if let Some(closest) = axis.closest() {
            prop_assert!(axis.offset(closest).amount() <= axis.offset(z).amount() + 1e-9);
        }
    }
}

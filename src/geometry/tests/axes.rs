//! Axes from two stations, seatings turned by quarters, cones.

use super::*;

fn offset() -> impl Strategy<Value = Offset> {
    (-10.0..10.0_f64, -10.0..10.0_f64).prop_map(|(x, y)| Offset { x, y })
}

/// Both added, the second turned by so many degrees.
fn seated(spindle: Offset, bar: Offset, turned_deg: f64) -> Offset {
    let bar = Offset::towards(bar.amount(), bar.towards_deg() + turned_deg);
    Offset { x: spindle.x + bar.x, y: spindle.y + bar.y }
}

fn close(one: Offset, other: Offset) -> bool {
    (one.x - other.x).hypot(one.y - other.y) < 1e-9
}

const NONE: Offset = Offset { x: 0.0, y: 0.0 };

proptest! {
    #[test]
    fn four_seatings_tell_spindle_and_bar_twice_and_which_way_it_was_turned(
        spindle in offset(), bar in offset(), slip in offset(),
    ) {
        let quarters = [0.0, 90.0, 180.0, 270.0];
        let good = quarter_turns(quarters.map(|turn| seated(spindle, bar, turn)));
        prop_assert!(close(good.spindle, spindle) && close(good.bar, bar));
        prop_assert!(close(good.sums, NONE) && close(good.differences, NONE), "told twice alike");
        // Turned against its marks: the bar comes out wrong, and the other difference is nothing.
        let against = quarter_turns(quarters.map(|turn| seated(spindle, bar, -turn)));
        prop_assert!(close(against.turned_against, NONE) && close(against.sums, NONE));
        prop_assert!((against.differences.amount() - 2.0 * bar.amount()).abs() < 1e-9);
        // Never turned: all of it looks like the spindle's.
        let never = quarter_turns([seated(spindle, bar, 0.0); 4]);
        prop_assert!(close(never.spindle, seated(spindle, bar, 0.0)) && close(never.bar, NONE));
        // One seating slipped: a quarter of it in the spindle, half of it in one of the two checks.
        let mut slipped = quarters.map(|turn| seated(spindle, bar, turn));
        slipped[2] = Offset { x: slipped[2].x + slip.x, y: slipped[2].y + slip.y };
        let found = quarter_turns(slipped);
        let moved = Offset { x: found.spindle.x - spindle.x, y: found.spindle.y - spindle.y };
        prop_assert!((moved.amount() - slip.amount() / 4.0).abs() < 1e-9);
        prop_assert!((found.sums.amount() - slip.amount() / 2.0).abs() < 1e-9);
        prop_assert!((found.differences.amount() - slip.amount() / 2.0).abs() < 1e-9);
        prop_assert!(close(four_seatings(slipped).spindle, found.spindle));
    }

    #[test]
    fn an_axis_goes_straight_through_both_stations(
        first in offset(), second in offset(), at in -5.0..5.0_f64, long in 0.5..9.0_f64, z in -30.0..30.0_f64,
    ) {
        let axis = TwoStations::new(at, first, at + long, second).unwrap();
        prop_assert!(close(axis.offset(at), first) && close(axis.offset(at + long), second));
        // Equal steps along it are equal steps of the offset, as long as the tilt says.
        let (here, there) = (axis.offset(z), axis.offset(z + 1.0));
        let step = Offset { x: there.x - here.x, y: there.y - here.y };
        prop_assert!(close(step, axis.tilt()));
        // The other station first is the same axis.
        let back = TwoStations::new(at + long, second, at, first).unwrap();
        prop_assert!(close(back.offset(z), axis.offset(z)) && close(back.tilt(), axis.tilt()));
        prop_assert!((back.share(z) - (1.0 - axis.share(z))).abs() < 1e-9);
        // The uncertainty of a prediction by what each station does to it.
        let (u1, u2) = (0.3, 0.7);
        let k = axis.share(z);
        let by_parts = ((1.0 - k).powi(2) * u1 * u1 + k * k * u2 * u2).sqrt();
        prop_assert!((axis.uncertainty(z, u1, u2) - by_parts).abs() < 1e-9 * (1.0 + by_parts));
        prop_assert!((axis.factor(z) - axis.uncertainty(z, 1.0, 1.0)).abs() < 1e-9 * (1.0 + k.abs()));
        // The closest place is closer than a little to either side.
        if let Some(closest) = axis.closest().filter(|_| axis.tilt().amount() > 1e-3) {
            let amount = |z: f64| axis.offset(z).amount();
            prop_assert!(amount(closest) <= amount(closest + 0.01) + 1e-12);
            prop_assert!(amount(closest) <= amount(closest - 0.01) + 1e-12);
        }
    }

    #[test]
    fn an_offset_is_its_amount_towards_its_angle(amount in 1e-3..1e3_f64, angle in -720.0..720.0_f64) {
        let offset = Offset::towards(amount, angle);
        prop_assert!((offset.amount() - amount).abs() < 1e-12 * amount);
        prop_assert!(apart(offset.towards_deg(), angle, 360.0) < 1e-9);
        prop_assert!(apart(offset.opposite().towards_deg(), angle + 180.0, 360.0) < 1e-9);
        prop_assert!((offset.total_reading() - 2.0 * amount).abs() < 1e-11 * amount);
    }

    #[test]
    fn a_cone_is_told_from_its_stations_in_any_order_and_unit(
        rate in -0.5..0.5_f64, large in 20.0..100.0_f64,
        stations in prop::collection::btree_set(0_u32..1_000, 2..12), scale in 0.01..100.0_f64, turn in 0_usize..12,
    ) {
        let mut at: Vec<(f64, f64)> = stations.iter().map(|z| f64::from(*z) / 10.0).map(|z| (z, large + rate * z)).collect();
        let fit = cone(&at).unwrap();
        prop_assert!((fit.rate() - rate).abs() < 1e-12);
        let long = at.last().unwrap().0 - at[0].0;
        prop_assert!((fit.change(&at) - (rate * long).abs()).abs() < 1e-10);
        let middle = turn % at.len();
        at.rotate_left(middle);
        let scaled: Vec<(f64, f64)> = at.iter().map(|(z, diameter)| (z * scale + 7.0, diameter * scale)).collect();
        let other = cone(&scaled).unwrap();
        prop_assert!((other.rate() - rate).abs() < 1e-9, "{} {rate}", other.rate());
        prop_assert!((other.change(&scaled) - fit.change(&at) * scale).abs() < 1e-8 * scale.max(1.0));
        // Along the side and along the axis: sines and tangents of the half angle.
        let half = half_angle_deg(rate).to_radians();
        prop_assert!((2.0 * half.tan() - rate).abs() < 1e-12);
        prop_assert!((rate_from_side(2.0 * half.sin()) - rate).abs() < 1e-12);
        prop_assert!((full_angle_deg(rate) - 2.0 * half_angle_deg(rate)).abs() < 1e-12);
    }
}

#[test]
fn the_shanks_of_iso_297_end_where_their_table_says() {
    // 7/24 from the gauge diameter to the end of the cone, small diameters of the same table (from
    // memory): No. 40 44.45 mm and 65.4 mm long, No. 50 69.85 mm and 101.8 mm long.
    for (gauge, long, small) in [(44.45, 65.4, 25.375), (69.85, 101.8, 40.158_333)] {
        let stations =
            [(0.0, gauge), (long / 2.0, gauge - SEVEN_IN_24 * long / 2.0), (long, small)];
        let fit = cone(&stations).unwrap();
        near(fit.rate(), -SEVEN_IN_24, 1e-7);
        near(fit.change(&stations), gauge - small, 1e-5);
    }
    // 16 degrees 35' 39.4" between the sides.
    let seconds = full_angle_deg(SEVEN_IN_24) * 3600.0;
    near(seconds, f64::from(16 * 3600 + 35 * 60) + 39.4, 0.05);
}

#[test]
fn total_readings_alone_bound_what_they_predict() {
    // Stations 1 and 2, seen from 4: three times the second and twice the first, with or against.
    assert_eq!(total_reading_bounds(2.0, 1.0, 3.0), (1.0, 7.0));
    assert_eq!(total_reading_bounds(2.0, 1.0, 1.0), (1.0, 1.0), "at the second itself");
    assert_eq!(total_reading_bounds(2.0, 1.0, 0.0), (2.0, 2.0), "at the first itself");
    assert_eq!(total_reading_bounds(2.0, 1.0, -1.0), (3.0, 5.0));
}

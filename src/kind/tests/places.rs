//! Where positions lie, and where the metal stood between two taps.

use super::*;
use crate::check::Swept;
use crate::{Entry, Flatness, Parallelism, Taps, Turn};

#[test]
fn positions_go_round_either_way_and_a_second_time_between() {
    let ccw = Check { passes: 2, radii: vec![inch("1"), inch("1.5")], ..check(Parallelism) };
    let cw = Check { direction: Direction::Clockwise, ..ccw.clone() };
    for (position, deg, radius) in [
        (0, 0.0, "1"),
        (3, 135.0, "1"),
        (8, 0.0, "1.5"),
        (15, 315.0, "1.5"),
        (16, 22.5, "1"),
        (31, 337.5, "1.5"),
        (32, 0.0, "1"),
    ] {
        near(ccw.angle_deg(position), deg, 1e-12);
        near(cw.angle_deg(position), (360.0 - deg) % 360.0, 1e-12);
        assert_eq!(ccw.radius(position), Some(inch(radius)), "{position}");
        let place = ccw.place(position).unwrap();
        let [x, y] = [place.x_nm, place.y_nm].map(|nm| f64::from(i32::try_from(nm).unwrap()));
        let far = Figure::from(inch(radius)).to_f64() / 1_000.0;
        near(x.hypot(y), far, 1.0);
        near((y.atan2(x).to_degrees() - deg).rem_euclid(360.0) % 359.999, 0.0, 0.001);
    }
    assert_eq!((ccw.total(), ccw.on_a_circle(), ccw.circles(), ccw.per_circle()), (32, 16, 2, 8));
    assert_eq!([0, 8, 16, 24].map(|position| ccw.circle_of(position)), [0, 1, 0, 1]);
    near(ccw.mark_pitch_deg(), 45.0, 1e-12);
    // Without radii a position has no place, and one circle is enough for a turn.
    let bare = Check { radii: Vec::new(), ..ccw };
    assert_eq!((bare.radius(0), bare.place(0), bare.circles()), (None, None, 1));
    let asked = check(Entry {
        question: "what?".to_owned(),
        unit: None,
        thermometer: None,
        columns: None,
        u: None,
    });
    assert_eq!((asked.total(), asked.has_angles(), asked.per_circle()), (0, false, 0));
}

#[test]
fn half_of_a_tolerance_is_what_is_left_on_either_side() {
    let one = check(Flatness);
    assert_eq!(one.half_width(), Figure::from(inch("0.0001")));
    let band = Limits::Band { min: inch("1.4990"), max: inch("1.5010") };
    let both = Check { limits: Some(band), ..check(Flatness) };
    assert_eq!(both.half_width(), Figure::from(inch("0.001")));
    assert_eq!(Check { limits: None, ..check(Flatness) }.half_width(), Figure::ZERO);
    assert_eq!(one.limits_at(None), Some(one.limits));
    assert_eq!(one.limits_at(Some(inch("3"))), None, "it has no stations");
}

#[test]
fn a_plate_adds_to_a_reading_of_a_part_that_lies_on_it() {
    let rest = |setup, moves| Check { setup, moves, ..check(Parallelism) }.assumed_rest().1.u();
    // 10 microinch/√3, twice that where the stand slides.
    near(microinch(Figure::from(rest(Holding::Plate, Moves::Ring))), 10.0 / 3.0_f64.sqrt(), 0.001);
    near(microinch(Figure::from(rest(Holding::Plate, Moves::Stand))), 20.0 / 3.0_f64.sqrt(), 0.001);
    assert_eq!(rest(Holding::Turning, Moves::Ring), Length::ZERO);
}

fn sweep(marks: u32, direction: Direction) -> Check {
    let reads = Reads::Sweep(Swept { marks, angles_deg: Vec::new() });
    Check { setup: Holding::Turning, direction, reads, ..check(Turn::default()) }
}

#[test]
fn between_two_taps_the_speed_is_even() {
    // Quarters of 2, 4, 2 and 2 seconds.
    let taps = Taps { at_us: vec![0, 2_000_000, 6_000_000, 8_000_000, 10_000_000], samples: 100 };
    for (at_us, deg) in [
        (0, 0.0),
        (1_000_000, 45.0),
        (2_000_000, 90.0),
        (4_000_000, 135.0),
        (7_000_000, 225.0),
        (9_999_999, 359.999_955),
        (10_000_000, 0.0),
    ] {
        near(taps.turned_deg(at_us).unwrap(), deg, 1e-6);
        near(taps.angle_deg(Direction::Clockwise, at_us).unwrap(), (360.0 - deg) % 360.0, 1e-6);
        near(taps.angle_deg(Direction::CounterClockwise, at_us).unwrap(), deg, 1e-6);
    }
    assert_eq!(taps.turned_deg(10_000_001), None);
    assert_eq!(taps.slowest(), Some((1, 2.0)));
    near(taps.times_the_quickest(1), 2.0, 1e-12);
    near(taps.times_the_quickest(3), 1.0, 1e-12);
    // 50 ms of 10 s are 1.8 degrees; a speed that varies by a fifth 3.36/√3 between quarters.
    near(taps.tap_deg(), 1.8, 1e-12);
    near(taps.uncertainty_deg(), 1.8_f64.hypot(3.356_2 / 3.0_f64.sqrt()), 1e-3);
    let whole = Taps { at_us: vec![5, 1_000_005], samples: 9 };
    assert_eq!((whole.slowest(), whole.turned_deg(4)), (None, None));
    near(whole.turned_deg(500_005).unwrap(), 180.0, 1e-9);
}

#[test]
fn a_hand_that_stood_has_moved_as_fast_as_ever_before_and_after() {
    let taps = Taps { at_us: vec![0, 2_000_000, 6_000_000, 8_000_000, 10_000_000], samples: 100 };
    // It stood at the beginning of the second quarter, at its end, and in its middle.
    let moved = |after: f64| {
        taps.had_it_stood(&[45.0, 90.0, 112.5, 135.0, 157.5, 179.0, 300.0], (1, after))
    };
    for (after, expected) in [
        (0.0, [45.0, 90.0, 90.0, 90.0, 135.0, 178.0, 300.0]),
        (1.0, [45.0, 90.0, 135.0, 180.0, 180.0, 180.0, 300.0]),
        (0.5, [45.0, 90.0, 135.0, 135.0, 135.0, 178.0, 300.0]),
    ] {
        for (found, expected) in moved(after).iter().zip(expected) {
            near(*found, expected, 1e-9);
        }
    }
}

#[test]
fn taps_that_do_not_follow_one_another_are_not_read() {
    let read = |text: &str| serde_json::from_str::<Taps>(text).is_ok();
    assert!(read(r#"{"at_us":[1,2],"samples":3}"#));
    for text in [
        r#"{"at_us":[1],"samples":3}"#,
        r#"{"at_us":[],"samples":3}"#,
        r#"{"at_us":[1,1],"samples":3}"#,
        r#"{"at_us":[2,1],"samples":3}"#,
        r#"{"at_us":[1,2],"samples":3,"more":1}"#,
    ] {
        assert!(!read(text), "{text}");
    }
}

#[test]
fn marks_of_a_swept_turn_are_whole_degrees() {
    let marks = |marks, direction| {
        let check = sweep(marks, direction);
        (0..=marks).map(|taps| check.mark_deg(taps).unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(marks(4, Direction::CounterClockwise), [0, 90, 180, 270, 0]);
    assert_eq!(marks(4, Direction::Clockwise), [0, 270, 180, 90, 0]);
    assert_eq!(marks(7, Direction::CounterClockwise), [0, 51, 103, 154, 206, 257, 309, 0]);
    assert_eq!(marks(1, Direction::CounterClockwise), [0, 0]);
    assert_eq!(check(Parallelism).mark_deg(1), None, "it is not swept");
    let swept = sweep(4, Direction::CounterClockwise);
    near(swept.mark_pitch_deg(), 10.0, 1e-12);
    assert!(
        swept.swept().unwrap().knows_angles()
            && !sweep(1, Direction::Clockwise).swept().unwrap().knows_angles()
    );
}

#[test]
fn a_sample_has_the_angle_it_was_told() {
    let check = sweep(4, Direction::CounterClockwise);
    let taps = Taps { at_us: vec![0, 1_000_000, 2_000_000, 3_000_000, 4_000_000], samples: 3 };
    let mut own = taps.check_to_fill(&check);
    assert_eq!(own.positions, 3);
    for at_us in [500_000, 1_500_000, 3_900_000] {
        taps.place(&mut own, at_us);
    }
    for (position, deg) in [(0, 45.0), (1, 135.0), (2, 351.0)] {
        near(own.angle_deg(position), deg, 1e-9);
    }
    // Another time it begins anew.
    assert!(taps.check_to_fill(&own).swept().unwrap().angles_deg.is_empty());
}

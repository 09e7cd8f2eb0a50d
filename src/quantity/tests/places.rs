//! Positions round a part and the places of a face.

#![expect(clippy::float_cmp, reason = "quarters and equal steps are exact")]

use super::*;

proptest! {
    #[test]
    fn sine_and_cosine_are_those_of_the_angle_wherever_it_is_counted_from(
        degrees in -100_000.0..100_000.0_f64, turns in -20..20_i32,
    ) {
        let (sine, cosine) = sine_cosine(degrees);
        prop_assert!((sine.hypot(cosine) - 1.0).abs() < 1e-15);
        let (plain, other) = degrees.rem_euclid(360.0).to_radians().sin_cos();
        prop_assert!((sine - plain).abs() < 1e-15 && (cosine - other).abs() < 1e-15, "{degrees}");
        // Whole turns change no bit of whole degrees; a quarter more exchanges both.
        let whole = degrees.round();
        prop_assert_eq!(sine_cosine(whole), sine_cosine(whole + 360.0 * f64::from(turns)));
        let (sine, cosine) = sine_cosine(whole);
        let (quarter_on, other) = sine_cosine(whole + 90.0);
        prop_assert!((quarter_on - cosine).abs() < 3e-16 && (other + sine).abs() < 3e-16);
    }

    #[test]
    fn a_place_on_a_circle_is_on_the_nearest_nanometre(
        radius in 1_000_000_000_i64..400_000_000_000, degrees in -720.0..720.0_f64,
    ) {
        let at = Grid::on_circle(Length::from_picometres(radius), degrees);
        let [x, y] = [at.x_nm, at.y_nm].map(|nm| f64::from(i32::try_from(nm).unwrap()));
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let far = f64::from(u32::try_from(radius / 1000).unwrap());
        prop_assert!((x - far * cosine).abs() <= 1.51 && (y - far * sine).abs() <= 1.51, "{at:?}");
        prop_assert!((x.hypot(y) - far).abs() <= 2.0);
    }

    #[test]
    fn positions_go_round_in_equal_steps_and_begin_again(positions in 1_u32..400, ring in 0_u32..5) {
        let angles: Vec<f64> = (0..positions)
            .map(|position| position_angle_deg(ring * positions + position, positions))
            .collect();
        let step = 360.0 / f64::from(positions);
        prop_assert_eq!(angles[0], 0.0);
        prop_assert!(angles.windows(2).all(|two| (two[1] - two[0] - step).abs() < 1e-10));
        prop_assert!(angles.iter().all(|angle| (0.0..360.0).contains(angle)));
    }
}

#[test]
fn half_and_third_angles_by_hand() {
    // sin 30° = 1/2, sin 45° = √2/2, sin 60° = √3/2 (any table of functions).
    let (half, root, long) = (0.5, 0.5_f64.sqrt(), 0.75_f64.sqrt());
    for (degrees, sine, cosine) in [
        (30.0, half, long),
        (45.0, root, root),
        (60.0, long, half),
        (135.0, root, -root),
        (210.0, -half, -long),
        (315.0, -root, root),
        (-60.0, -long, half),
    ] {
        let (found, other) = sine_cosine(degrees);
        assert!((found - sine).abs() < 2e-16 && (other - cosine).abs() < 2e-16, "{degrees}");
    }
    for quarter in -8..=8 {
        let (sine, cosine) = sine_cosine(90.0 * f64::from(quarter));
        let wanted = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)];
        let at = usize::try_from((quarter + 8) % 4).unwrap();
        assert_eq!((sine + 0.0, cosine + 0.0), wanted[at], "{quarter} quarters");
    }
}

#[test]
fn opposite_marks_lie_opposite_on_the_grid() {
    let radius = Length::parse("40.5", Unit::Millimetre).unwrap();
    for positions in [4, 8, 12, 16] {
        for position in 0..positions {
            let place = |at| Grid::on_circle(radius, position_angle_deg(at, positions));
            let (here, there) = (place(position), place((position + positions / 2) % positions));
            assert_eq!(
                (here.x_nm, here.y_nm),
                (-there.x_nm, -there.y_nm),
                "{position} of {positions}"
            );
        }
    }
    assert_eq!(Grid::on_circle(Length::ZERO, 77.0), Grid { x_nm: 0, y_nm: 0 });
    assert_eq!(position_angle_deg(3, 0), 0.0, "no position is at the mark");
}

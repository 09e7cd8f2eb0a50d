//! Faces: parallelism, thickness variation, flatness.

use super::*;
use crate::{Flatness, Parallelism, ThicknessVariation, Watched};

/// A plain spacer, a shield on a chip, a wedge as it came in, in 0.00001 in.
const PLAIN: [i64; 8] = [0, 2, 3, 3, 2, 1, -1, -1];
const CHIP: [i64; 8] = [5, 16, 14, 8, -5, -16, -14, -7];
const WEDGE: [i64; 8] = [31, 27, 17, 7, 4, 8, 19, 28];

#[test]
fn a_range_has_its_uncertainty_its_tilt_and_its_high_side() {
    let check = check(Parallelism);
    for (readings, range, tilt, high, within, squares) in [
        (PLAIN, 40.0, 42.94, 118.68, 22.4, 7.2),
        (CHIP, 320.0, 325.37, 70.22, 3.0, 26.17),
        (WEDGE, 270.0, 276.95, 356.47, 3.5, 9.77),
    ] {
        let found = judged(&series(&check, &readings));
        near(microinch(found.value.unwrap()), range, 1e-9);
        // 2·√2·8.4.
        near(known(&found), 23.76, 0.005);
        let figures = found.figures;
        assert_eq!(figures.max_minus_min, found.value);
        near(microinch(figures.tilt.unwrap()), tilt, 0.005);
        near(figures.high_side_deg.unwrap().get(), high, 0.0051);
        near(figures.high_side_u_deg.unwrap().get(), within, 0.05);
        near(microinch(figures.least_squares.unwrap()), squares, 0.005);
        near(microinch(Figure::from(figures.noise_floor.unwrap())), 17.1, 0.05);
        // The tilt over 3 in is a slope.
        near(figures.slope_urad.unwrap().get(), tilt / 3.0, 0.005);
        let sum: i64 = readings.iter().sum();
        assert_eq!(figures.mean, Some(Figure::new(i128::from(sum) * 254_000, 8)));
        assert_eq!(figures.dish, None, "one circle has none");
    }
}

#[test]
fn a_zone_has_its_contacts_and_their_weights_in_its_uncertainty() {
    let check = check(Flatness);
    for (readings, zone, upper, lower, u) in [
        (PLAIN, 6.46, vec![1, 5], vec![4, 6], 18.78),
        (CHIP, 24.61, vec![1, 3, 6], vec![2, 5], 18.64),
        (WEDGE, 8.87, vec![2, 6], vec![0, 5], 17.62),
    ] {
        let found = judged(&series(&check, &readings));
        near(microinch(found.value.unwrap()), zone, 0.006);
        near(known(&found), u, 0.01);
        assert_eq!((found.figures.contacts_upper, found.figures.contacts_lower), (upper, lower));
        assert_eq!(found.figures.minimum_zone, found.value);
        near(microinch(Figure::from(found.figures.noise_floor.unwrap())), 12.24, 0.05);
    }
}

#[test]
fn two_radii_show_a_dish_and_a_zone_of_all() {
    let radii = vec![inch("1.2"), inch("1.8")];
    let check = Check { radii, ..check(Flatness) };
    let readings = [2, -4, 0, -2, -1, -4, 0, -3, 5, -7, -1, -3, 1, -6, 0, -2];
    let found = judged(&series(&check, &readings));
    near(microinch(found.value.unwrap()), 95.0, 1e-6);
    near(microinch(found.figures.least_squares.unwrap()), 114.82, 0.005);
    assert_eq!(
        [&found.figures.contacts_upper[..], &found.figures.contacts_lower],
        [[8, 12], [9, 13]]
    );
    // Half a weight at each of four: 2·8.4·√1.
    near(known(&found), 16.8, 0.005);
    near(microinch(found.figures.dish.unwrap()), -1.25, 1e-9);
    near(microinch(found.figures.tilt.unwrap()), 20.28, 0.005);
    near(found.figures.high_side_deg.unwrap().get(), 340.64, 0.005);
    // With one touch of the outer circle missing a tilt would pass for a dish.
    let mut fewer = series(&check, &readings);
    fewer.sums.remove(11);
    assert_eq!(judged(&fewer).figures.dish, None);
}

#[test]
fn a_saddle_is_seen_as_far_as_its_touches_fall() {
    let check = check(Flatness);
    for (readings, zone, u) in [
        ([0, 6, 0, -6, 0, 6, 0, -6], 120.0, 16.8),
        // Turned by half a step, it passes.
        ([4, 4, -4, -4, 4, 4, -4, -4], 80.0, 18.18),
    ] {
        let found = judged(&series(&check, &readings));
        near(microinch(found.value.unwrap()), zone, 1e-6);
        near(known(&found), u, 0.01);
        // Between eight touches it could be 1/cos 45° as large.
        near(found.figures.saddle_factor.unwrap().get(), 2_f64.sqrt(), 1e-6);
    }
    // A second time round, half a pitch on, finds it.
    let twice = Check { passes: 2, ..check.clone() };
    let both = [4, 4, -4, -4, 4, 4, -4, -4, 6, 0, -6, 0, 6, 0, -6, 0];
    let found = judged(&series(&twice, &both));
    near(microinch(found.value.unwrap()), 120.0, 1e-6);
    near(found.figures.saddle_factor.unwrap().get(), 1.0 / 22.5_f64.to_radians().cos(), 1e-6);
    // Four touches on its nodes see nothing of it, and say so by saying nothing.
    let four = Check { positions: 4, ..check.clone() };
    let blind = judged(&series(&four, &[0, 0, 0, 0]));
    assert_eq!((blind.value, blind.figures.saddle_factor), (Some(Figure::ZERO), None));
    // Three touches are always flat: nothing is told.
    let three = Check { positions: 3, ..check };
    assert_eq!(judged(&series(&three, &[0, -5, 5])).value, None);
}

#[test]
fn a_tie_of_equal_steps_stays_inside_its_limit() {
    // 9 touches, three lobes of 0.00006 in on the grid of a nanometre: exactly 0.00012 in.
    let check = Check { positions: 9, ..check(Flatness) };
    let heights = [6, -3, -3, 6, -3, -3, 6, -3, -3].map(|steps| steps * 2);
    let found = judged(&series(&check, &heights));
    let zone = found.value.unwrap();
    assert_eq!(zone, Figure::from(inch("0.00018")), "{}", zone.known(Unit::Inch));
}

#[test]
fn a_thickness_is_a_range_and_a_face_on_supports_has_no_tilt_of_its_own() {
    let thick = check(ThicknessVariation);
    let found = judged(&series(&thick, &PLAIN));
    near(microinch(found.value.unwrap()), 40.0, 1e-9);
    near(known(&found), 23.76, 0.005);
    let supports = Check { setup: Holding::Supports, ..check(Flatness) };
    let found = judged(&series(&supports, &CHIP));
    near(microinch(found.value.unwrap()), 24.61, 0.006);
    assert_eq!((found.figures.tilt, found.figures.high_side_deg), (None, None));
    assert!(found.figures.least_squares.is_some());
}

#[test]
fn returns_and_tries_go_into_the_uncertainty_as_they_should() {
    let check = check(Parallelism);
    let mut closed = series(&check, &PLAIN);
    closed.closure = Some(inch("0.00001"));
    closed.returns = vec![Part::within(inch("0.00001"), judgement::Known::Stated)];
    // 2·√(2·8.4² + 10²/3).
    let found = judged(&closed);
    near(known(&found), 26.42, 0.005);
    assert_eq!(found.figures.closure, Some(Figure::from(inch("0.00001"))));
    // Three tries together: s²/3 but never below q²/12, the rest as it is.
    let mut three = series(&check, &PLAIN.map(|steps| 3 * steps));
    (three.parts, three.averaged, three.tries) = (3, 3, 3);
    let found = judged(&three);
    near(microinch(found.value.unwrap()), 40.0, 1e-9);
    near(known(&found), 19.3, 0.05);
    near(microinch(found.figures.tilt.unwrap()), 42.94, 0.005);
    // Two tries, each off on its way: the mean of both.
    let mut two = series(&check, &PLAIN);
    two.returns = vec![Part::within(inch("0.00002"), judgement::Known::Stated); 2];
    // 2·√(2·8.4² + 2·(20²/3)/4).
    near(known(&judged(&two)), 2.0 * (2.0 * 8.4_f64.powi(2) + 400.0 / 6.0).sqrt(), 0.005);
}

#[test]
fn noise_alone_makes_a_range_read_high_by_so_much() {
    // Three touches within 3 s of the highest and three of the lowest: s·(m(3) + m(3)), m(3) = 0.846.
    let check = check(Parallelism);
    let mut found = series(&check, &[13, 0, 13, 0, 12, 0, 13, 0]);
    found.reading = doubt(None);
    let high = judged(&found).reads_high.unwrap();
    // Four of each, m(4) = 1.029.
    near(microinch(Figure::from(high)), 6.0 * 2.0 * 1.029, 0.05);
    // One of each reads as it is.
    let plain = judged(&series(&check, &[130, 110, 60, 20, 0, 20, 60, 110]));
    assert!(plain.reads_high.is_none_or(|high| high == Length::ZERO), "{:?}", plain.reads_high);
}

#[test]
fn what_was_watched_on_a_needle_tells_no_more_than_was_read() {
    let check = check(Parallelism);
    let mut both = series(&check, &[0, 12]);
    both.watched = Some(Watched::HighAndLow);
    both.sums = vec![(1, 12 * 254_000), (5, 0)];
    let found = judged(&both);
    near(microinch(found.value.unwrap()), 120.0, 1e-9);
    // At its mark, give or take half the way to the next.
    near(found.figures.high_side_deg.unwrap().get(), 45.0, 1e-9);
    near(found.figures.high_side_u_deg.unwrap().get(), 22.5, 1e-9);
    assert_eq!((found.figures.tilt, found.figures.least_squares), (None, None));
    let mut total = series(&check, &[-12]);
    total.watched = Some(Watched::Total);
    let found = judged(&total);
    near(microinch(found.value.unwrap()), 120.0, 1e-9);
    assert_eq!(found.figures.high_side_deg, None);
    // Within its own uncertainty high and low are not told apart.
    let mut quiet = both.clone();
    quiet.sums = vec![(1, 2 * 254_000), (5, 0)];
    assert_eq!(judged(&quiet).figures.high_side_deg, None);
}

#[test]
fn a_figure_so_far_is_that_of_what_was_touched() {
    let (flat, range) = (check(Flatness), check(Parallelism));
    let some = |check, readings: &[i64]| {
        let series = series(check, readings);
        (
            series.check.measures.so_far(&series),
            series.check.measures.judge(&series, &Room::default()).value,
        )
    };
    let (so_far, alone) = some(&range, &[0, 2, 3]);
    assert_eq!((so_far, alone), (Some(Figure::from(inch("0.00003"))), so_far));
    assert_eq!(some(&range, &[5]), (Some(Figure::ZERO), None), "one touch is no range");
    assert_eq!(some(&flat, &[0, 2, 3]), (None, None), "three touches are always flat");
    let (so_far, alone) = some(&flat, &PLAIN);
    // As held on the grid, and at the angles themselves: the same to a thousandth of a picometre and some.
    assert!((so_far.unwrap() - alone.unwrap()).abs() < Figure::new(1, 1));
}

/// A zone that was planted: on either plane three touches round the middle hold it, on both circles, and
/// the others lie between by so many steps. All of it is tilted.
fn planted(check: &Check, inside: impl Fn(u32) -> i64) -> Series<'_> {
    const WIDE: i64 = 20;
    let height = |position: u32| {
        let tilt = 300.0 * 254_000.0 * check.angle_deg(position).to_radians().cos();
        let radius = Figure::from(check.radius(position).unwrap()) / 25_400_000_000;
        #[expect(clippy::cast_possible_truncation, reason = "some million picometres")]
        let tilt = (tilt * radius.to_f64()).round() as i64;
        let base = match position {
            0 | 32 | 16 => WIDE,
            28 | 12 | 44 => 0,
            between if between % 2 == 0 => WIDE - inside(between),
            between => inside(between),
        };
        (position, base * 254_000 + tilt)
    };
    Series { sums: (0..48).map(height).collect(), ..series(check, &[]) }
}

#[test]
fn a_zone_is_held_by_touches_on_either_circle() {
    let radii = vec![inch("1.8"), inch("1.2")];
    let check = Check { positions: 24, radii, ..check(Flatness) };
    let series = planted(&check, |_| 5);
    let found = judged(&series);
    near(found.value.unwrap().to_f64(), 20.0 * 254_000.0, 2.0);
    assert_eq!(found.figures.contacts_upper, [0, 16, 32]);
    assert_eq!(found.figures.contacts_lower, [12, 28, 44]);
    near(microinch(check.measures.so_far(&series).unwrap()), 200.0, 1e-4);
}

/// Noise widens a zone by as many touches as lie within three standard deviations of a plane.
#[test]
fn noise_makes_a_zone_read_high_by_the_touches_near_its_planes() {
    let radii = vec![inch("1.8"), inch("1.2")];
    let check = Check { positions: 24, radii, ..check(Flatness) };
    for (near_planes, of_s) in [(0, 160), (1, 185), (3, 222), (6, 259), (7, 269), (10, 294)] {
        // Three times 0.6 steps are 1.8 of them; three touches within three steps are not near.
        let inside = |position: u32| match position {
            1..=11 if i64::from(position) <= near_planes => 1,
            33..=35 => 3,
            _ => 5,
        };
        let reading = doubt(None);
        let whole = Series { reading, ..planted(&check, inside) };
        // Counted in thirds it is no different.
        let sums = whole.sums.iter().map(|(at, sum)| (*at, sum * 3)).collect();
        let thirds = Series { sums, parts: 3, ..whole.clone() };
        for series in [whole, thirds] {
            let high = judged(&series).reads_high.unwrap();
            near(microinch(Figure::from(high)), 6.0 * f64::from(of_s) / 100.0, 0.001);
        }
    }
}

/// Touches on one line across the face hold planes that can still be tilted about it: then those count
/// that hold them, and none of the others, however near they come.
#[test]
fn a_zone_that_can_be_tilted_counts_the_touches_that_hold_it() {
    let radii = ["1", "1.5", "2"].map(inch).to_vec();
    let check = Check { radii, ..check(Flatness) };
    for (heights, of_s) in
        [([0, 0, 2, 2, 0, 0], 160), ([0, 0, 2, 2, 1, 0], 127), ([1, 0, 2, 2, 1, 0], 0)]
    {
        let on_the_line = [0, 4, 8, 12, 16, 20].into_iter().zip(heights);
        // Beside the line all lie in the middle between the planes.
        let beside = [2, 6, 10, 14, 18, 22].map(|position| (position, 1));
        let mut touches: Vec<(u32, i64)> = on_the_line.chain(beside).collect();
        touches.sort_unstable();
        let sums = touches.iter().map(|(at, steps)| (*at, steps * 254_000)).collect();
        let line = Series { reading: doubt(None), sums, ..series(&check, &[]) };
        let found = judged(&line);
        near(microinch(found.value.unwrap()), 20.0, 1e-4);
        near(
            microinch(Figure::from(found.reads_high.unwrap())),
            6.0 * f64::from(of_s) / 100.0,
            0.001,
        );
    }
}

/// A plane and nothing else, in steps at one inch from the middle, towards a mark.
fn leaning(check: &Check, steps: f64, towards_deg: f64) -> Series<'_> {
    let height = |position: u32| {
        let off = (check.angle_deg(position) - towards_deg).to_radians().cos();
        let radius = microinch(Figure::from(check.radius(position).unwrap())) / 1e6;
        #[expect(clippy::cast_possible_truncation, reason = "some million picometres")]
        let height = (steps * 254_000.0 * off * radius).round() as i64;
        (position, height)
    };
    Series { sums: (0..check.total()).map(height).collect(), ..series(check, &[]) }
}

/// By the law of propagation: a slope has u/√(Σr²·cos²) in each direction, the angle that over the slope.
#[test]
fn a_face_leans_over_its_largest_diameter_as_well_as_its_touches_can_tell() {
    for radii in [vec!["1.5"], vec!["1.2", "1.8"], vec!["1.8", "1", "1.4"]] {
        let radii: Vec<Length> = radii.into_iter().map(inch).collect();
        let check = Check { radii: radii.clone(), ..check(Parallelism) };
        let found = judged(&leaning(&check, 40.0, 118.0)).figures;
        let inches = |length: &Length| microinch(Figure::from(*length)) / 1e6;
        let widest = radii.iter().map(inches).fold(0.0, f64::max);
        near(microinch(found.tilt.unwrap()), 400.0 * 2.0 * widest, 0.01);
        near(found.slope_urad.unwrap().get(), 400.0, 0.01);
        near(found.high_side_deg.unwrap().get(), 118.0, 0.001);
        near(microinch(found.least_squares.unwrap()), 0.0, 0.001);
        let squares: f64 = radii.iter().map(|radius| 4.0 * inches(radius).powi(2)).sum();
        let within = 2.0 * (8.4 / squares.sqrt() / 400.0).to_degrees();
        near(found.high_side_u_deg.unwrap().get(), within, 0.01 * within);
    }
}

#[test]
fn half_a_face_and_a_level_one_have_no_high_side() {
    let check = check(Parallelism);
    let mut half = leaning(&check, 40.0, 90.0);
    half.sums.retain(|(position, _)| *position <= 5);
    half.open = vec![6, 7];
    assert!(judged(&half).figures.tilt.is_some(), "135 degrees are missing");
    // From 0 to 180 degrees: what lies on the other side nobody knows.
    half.sums.retain(|(position, _)| *position <= 4);
    let found = judged(&half).figures;
    assert_eq!((found.tilt, found.least_squares, found.high_side_deg), (None, None, None));
    assert!(found.max_minus_min.is_some() && found.saddle_factor.is_none());
    let level = judged(&series(&check, &[7; 8])).figures;
    assert_eq!((level.tilt, level.high_side_deg), (Some(Figure::ZERO), None));
    assert_eq!(level.slope_urad.map(words::Thousandth::get), Some(0.0));
    // Two touches are a range, and no plane.
    let two = Series { sums: vec![(0, 0), (4, 254_000)], ..series(&check, &[]) };
    let found = judged(&two);
    assert_eq!((found.value, found.figures.tilt), (Some(Figure::from(inch("0.00001"))), None));
}

/// Whoever prints a figure needs what it is held against, also before there is one.
#[test]
fn a_face_carries_its_limits_with_and_without_a_figure() {
    for check in [check(Parallelism), check(Flatness)] {
        for readings in [&PLAIN[..], &PLAIN[..1]] {
            let found = judged(&series(&check, readings));
            assert_eq!(found.limits, check.limits);
            assert!(found.figures.mean.is_some(), "beside it");
        }
    }
}

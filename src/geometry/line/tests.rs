use super::*;
use proptest::prelude::*;

#[test]
fn one_place_is_no_line_and_says_so() {
    for points in [&[][..], &[(1.0, 2.0)], &[(1.0, 2.0), (1.0, 5.0)]] {
        assert_eq!(least_squares_line(points), Err(LineError::OnePlace));
        assert_eq!(end_points_line(points), Err(LineError::OnePlace));
        assert_eq!(straightness_zone(points), Err(LineError::OnePlace));
    }
    for bad in [(f64::NAN, 0.0), (2.0, f64::INFINITY)] {
        let points = [(0.0, 0.0), (1.0, 1.0), bad];
        assert_eq!(least_squares_line(&points), Err(LineError::NotANumber));
        assert_eq!(minimum_zone_line(&points), Err(LineError::NotANumber));
    }
}

#[test]
fn two_stations_are_the_line_through_both() {
    let points = [(1.0, 5.0), (3.0, 9.0)];
    for fit in [least_squares_line, end_points_line, minimum_zone_line] {
        let line = fit(&points).unwrap();
        assert!((line.slope - 2.0).abs() < 1e-15 && (line.at(2.0) - 7.0).abs() < 1e-14);
        assert!(line.width() < 1e-15);
    }
}

#[test]
fn the_zone_of_a_step_is_between_its_diagonals() {
    // By hand: 0 0 1 1 at equal steps; the line of slope 1/2 leaves 1/2.
    let points = [(0.0, 0.0), (1.0, 0.0), (2.0, 1.0), (3.0, 1.0)];
    let zone = minimum_zone_line(&points).unwrap();
    assert!((zone.width() - 0.5).abs() < 1e-12);
    assert!((zone.slope - 0.5).abs() < 1e-12);
    let high = zone.residuals.iter().copied().fold(f64::MIN, f64::max);
    assert!((high - 0.25).abs() < 1e-12, "midway");
}

#[test]
fn stations_at_one_place_count_with_both_heights() {
    let points = [(0.0, 0.0), (0.0, 3.0), (1.0, 0.0)];
    let zone = straightness_zone(&points).unwrap();
    assert!((zone.width - 3.0).abs() < 1e-12);
    // The same at the far end, and touched twice.
    let points = [(0.0, 0.0), (1.0, 0.0), (1.0, 3.0), (1.0, 3.0)];
    assert!((straightness_zone(&points).unwrap().width - 3.0).abs() < 1e-12);
}

#[test]
fn the_autocollimator_line_touches_where_it_was_enumerated() {
    // Lecture slides on straightness measurement, slides 12-15 (coursehero.com pgh1bs); heights off
    // the end-point line as printed. Contacts by an independent program: stations 1, 3 and 5.
    let heights = [0.0, -1.0, -0.5, 2.0, 0.0, -1.0, 0.0];
    let points: Vec<(f64, f64)> = (0_u8..).map(f64::from).zip(heights).collect();
    let zone = straightness_zone(&points).unwrap();
    assert!((zone.width - 3.0).abs() < 1e-12);
    assert_eq!((zone.pair, zone.opposite), ([1, 5], 3));
    assert_eq!(zone.contacts(), (vec![3], vec![1, 5]));
}

#[test]
fn ten_thousand_stations_keep_their_zone() {
    // A bow of 2 with an odd fine ripple: by hand the zone lies between the chord and the crest.
    let points: Vec<(f64, f64)> = (0_u16..=10_000)
        .map(|k| f64::from(k) / 5_000.0 - 1.0)
        .map(|x| (x, 2.0 * (1.0 - x * x) + 7.0 * x))
        .collect();
    let zone = straightness_zone(&points).unwrap();
    assert!((zone.width - 2.0).abs() < 1e-12);
    assert!((zone.line.slope - 7.0).abs() < 1e-12);
    assert_eq!((zone.pair, zone.opposite), ([0, 10_000], 5_000));
}

/// The least width over every pair of stations, and the largest of every triple: the two bounds
/// that meet.
fn enumerated(points: &[(f64, f64)]) -> f64 {
    let mut best = f64::INFINITY;
    for a in points {
        for b in points.iter().filter(|b| b.0 > a.0) {
            let slope = (b.1 - a.1) / (b.0 - a.0);
            best = best.min(LineFit::through(points, slope, *a).width());
        }
    }
    best
}

/// The distance in `z` of the opposite station from the chord of the pair.
fn proven(points: &[(f64, f64)], zone: &LineZone) -> f64 {
    let [from, to] = zone.pair.map(|number| points[number]);
    let over = points[zone.opposite];
    assert!(from.0 <= over.0 && over.0 <= to.0, "between");
    let on_chord = from.1 + (to.1 - from.1) * (over.0 - from.0) / (to.0 - from.0);
    (over.1 - on_chord).abs()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn the_hull_finds_what_all_pairs_find(
        // Small whole numbers: many ties, equal places and lines of three.
        raw in prop::collection::vec((0_u8..9, 0_u8..9), 2..9),
    ) {
        let points: Vec<(f64, f64)> = raw.iter().map(|&(x, z)| (x.into(), z.into())).collect();
        if let Ok(zone) = straightness_zone(&points) {
            prop_assert!((zone.width - enumerated(&points)).abs() < 1e-9);
            prop_assert!((zone.width - proven(&points, &zone)).abs() < 1e-9, "{zone:?}");
        }
    }

    #[test]
    fn no_line_is_narrower_whatever_the_order_and_scale(
        raw in prop::collection::vec((-1e3..1e3_f64, -1.0..1.0_f64), 3..60),
        scale in 1e-6..1e6_f64,
        turn in 0_usize..60,
    ) {
        let zone = straightness_zone(&raw).unwrap();
        prop_assert!(zone.width <= least_squares_line(&raw).unwrap().width() + 1e-12);
        prop_assert!(zone.width <= end_points_line(&raw).unwrap().width() + 1e-12);
        prop_assert!((zone.width - proven(&raw, &zone)).abs() < 1e-12);
        let mut other: Vec<(f64, f64)> = raw.iter().map(|(x, z)| (*x, z * scale)).collect();
        other.rotate_left(turn % raw.len());
        let scaled = straightness_zone(&other).unwrap();
        prop_assert!((scaled.width / scale - zone.width).abs() < 1e-12);
    }
    #[test]
    fn shifts_a_slope_and_stations_twice_change_no_line_and_more_never_shrink_it(
        raw in prop::collection::vec((-1e3..1e3_f64, -1.0..1.0_f64), 3..60),
        by in (-1e3..1e3_f64, -10.0..10.0_f64),
        slope in -0.1..0.1_f64,
        again in 1_usize..3,
    ) {
        let zone = straightness_zone(&raw).unwrap();
        let mut moved: Vec<(f64, f64)> =
            raw.iter().map(|(x, z)| (x + by.0, z + by.1 + slope * x)).collect();
        moved.extend_from_within(..again);
        prop_assert!((straightness_zone(&moved).unwrap().width - zone.width).abs() < 1e-10);
        if let Ok(fewer) = straightness_zone(&raw[1..]) {
            prop_assert!(fewer.width <= zone.width + 1e-12);
        }
    }
}

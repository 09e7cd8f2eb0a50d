//! Clouds: what must not change an answer, and that every answer carries its proof.

use super::*;
use crate::{
    Cloud, CloudError, CloudZone, Method, exact_zone_of_cloud, least_squares_of_cloud,
    minimum_zone_of_cloud,
};

#[derive(Debug, Clone, Default)]
struct Columns3 {
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
}

impl Columns3 {
    fn of(points: &[(f64, f64, f64)]) -> Self {
        let column = |of: fn(&(f64, f64, f64)) -> f64| points.iter().map(of).collect();
        Self { x: column(|p| p.0), y: column(|p| p.1), z: column(|p| p.2) }
    }

    fn cloud(&self) -> Cloud<'_> {
        Cloud::new(&self.x, &self.y, &self.z).unwrap()
    }

    fn zone(&self) -> CloudZone {
        let zone = minimum_zone_of_cloud(&self.cloud()).unwrap();
        proves(&zone, self);
        zone
    }

    fn map(&self, change: impl Fn(f64, f64, f64) -> (f64, f64, f64)) -> Self {
        let points = self.x.iter().zip(&self.y).zip(&self.z);
        Self::of(&points.map(|((x, y), z)| change(*x, *y, *z)).collect::<Vec<_>>())
    }
}

/// Upper and lower weights balance, force the width, and all points lie in planes that far apart.
fn proves(zone: &CloudZone, columns: &Columns3) {
    assert!(zone.certified && zone.within <= 1e-9 * zone.width + 1e-300, "{zone:?}");
    let size = |column: &[f64]| column.iter().map(|value| value.abs()).fold(0.0, f64::max);
    let rest = |row: usize| {
        (columns.z[row] - columns.z[0])
            - zone.slopes.x * (columns.x[row] - columns.x[0])
            - zone.slopes.y * (columns.y[row] - columns.y[0])
    };
    let lean = zone.slopes.x.abs() * size(&columns.x) + zone.slopes.y.abs() * size(&columns.y);
    let rounding = 1e-14 * (size(&columns.z) + lean) + zone.within;
    let high = (0..columns.z.len()).map(rest).fold(f64::MIN, f64::max);
    let low = (0..columns.z.len()).map(rest).fold(f64::MAX, f64::min);
    assert!((high - low - zone.width).abs() <= rounding, "{} {zone:?}", high - low);
    if zone.width == 0.0 {
        return;
    }
    let sum = |of: &dyn Fn(usize) -> f64| -> f64 {
        zone.weights.iter().map(|&(row, weight)| weight * of(row)).sum()
    };
    // Of a narrow strip the weights, which are shares of 1, have lost some digits.
    assert!(sum(&|_| 1.0).abs() < 1e-11);
    assert!(sum(&|row| columns.x[row]).abs() <= 1e-12 * size(&columns.x).max(1.0));
    assert!(sum(&|row| columns.y[row]).abs() <= 1e-12 * size(&columns.y).max(1.0));
    assert!((sum(&|row| columns.z[row]) - zone.width).abs() <= 1e-12 * size(&columns.z) + rounding);
    let upper: f64 = zone.weights.iter().map(|part| part.1.max(0.0)).sum();
    assert!((upper - 1.0).abs() < 1e-11);
    for &(row, weight) in &zone.weights {
        let side = if weight > 0.0 { &zone.upper } else { &zone.lower };
        assert!(side.contains(&row));
    }
}

fn same_width(one: &CloudZone, other: &CloudZone, factor: f64) -> bool {
    let within = factor * one.within + other.within + 1e-9 * other.width;
    (one.width * factor - other.width).abs() <= within
}

/// Points of a file: hundredths of a millimetre, tenths of a micrometre.
fn file(points: &[(i32, i32, i32)]) -> Columns3 {
    let point = |&(x, y, z): &(i32, i32, i32)| {
        (f64::from(x) / 100.0, f64::from(y) / 100.0, f64::from(z) / 10.0)
    };
    Columns3::of(&points.iter().map(point).collect::<Vec<_>>())
}

fn noise(points: usize, seed: u64) -> Columns3 {
    let mut dice = Dice(seed);
    let mut unit = || float(i128::from(dice.below(1 << 30))) / f64::from(1 << 30);
    let points: Vec<_> = (0..points)
        .map(|_| {
            let (x, y) = (300.0 * unit(), 200.0 * unit());
            (x, y, 0.03 * x - 0.01 * y + unit() + unit())
        })
        .collect();
    Columns3::of(&points)
}

proptest! {
    #[test]
    fn motion_scale_order_and_duplicates_change_nothing(
        points in prop::collection::vec((-9_000..9_000, -9_000..9_000, -400..400), 4..40),
        by in (-1e3..1e3_f64, -1e3..1e3_f64, -1e2..1e2_f64),
        turn in 0.0..6.0_f64,
        power in -8..9_i32,
        again in 0..4_usize,
    ) {
        let columns = file(&points);
        let Ok(zone) = minimum_zone_of_cloud(&columns.cloud()) else { return Ok(()) };
        proves(&zone, &columns);
        let moved = columns.map(|x, y, z| (x + by.0, y + by.1, z + by.2 + x / 8.0));
        prop_assert!(same_width(&zone, &moved.zone(), 1.0));
        let (sin, cos) = turn.sin_cos();
        let turned = columns.map(|x, y, z| (cos * x - sin * y, sin * x + cos * y, z));
        prop_assert!(same_width(&zone, &turned.zone(), 1.0));
        let factor = 2_f64.powi(power);
        let scaled = columns.map(|x, y, z| (3.0 * x, y / 7.0, factor * z));
        prop_assert!(same_width(&zone, &scaled.zone(), factor));
        let mut other = points.clone();
        other.reverse();
        other.extend(points.iter().take(again).copied());
        prop_assert!(same_width(&zone, &file(&other).zone(), 1.0));
    }

    #[test]
    fn least_squares_is_never_narrower_and_more_points_never_shrink_it(
        points in prop::collection::vec((-900..900, -900..900, -40..40), 5..30),
    ) {
        let columns = file(&points);
        let (Ok(zone), Ok(plane)) =
            (minimum_zone_of_cloud(&columns.cloud()), least_squares_of_cloud(&columns.cloud()))
        else { return Ok(()) };
        prop_assert!(zone.width <= plane.width(&columns.cloud()) * (1.0 + 1e-9) + 1e-9);
        let fewer = file(&points[1..]);
        if let Ok(fewer) = minimum_zone_of_cloud(&fewer.cloud()) {
            prop_assert!(fewer.width <= zone.width + zone.within + fewer.within);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn sets_begun_by_a_sample_agree_with_the_proof_and_order_says_nothing(
        size in 161..900_usize,
        seed in 1..1_000_000_u64,
        kind in 0..6_u8,
        first in 0..161_usize,
    ) {
        let mut dice = Dice(seed);
        let points: Vec<(i32, i32, i32)> = (0..size)
            .map(|row| {
                let mut below = |limit: i64| i32::try_from(dice.below(limit)).unwrap();
                let (x, y) = (below(30_000), below(20_000));
                let steps = i32::try_from(row).unwrap();
                match kind {
                    0 => (x, y, below(900)),
                    // A grid row by row; few levels; many points twice.
                    1 => (100 * (steps % 25), 100 * (steps / 25), below(4)),
                    2 => (1_000 * below(5), 1_000 * below(4), below(50)),
                    // A narrow strip; one wild point; a bow that leans.
                    3 => (x, x + below(40), below(900)),
                    4 => (x, y, if row == 77 { 5_000 } else { 0 }),
                    _ => (x, y, (x / 300 - 50).pow(2) + y / 10 + below(60)),
                }
            })
            .collect();
        let columns = file(&points);
        let zone = columns.zone();
        proves(&zone, &columns);
        let exact = exact_zone_of_cloud(&columns.cloud()).unwrap();
        prop_assert!((zone.width - exact.width).abs() <= zone.within + exact.within);
        let mut other = points.clone();
        other.rotate_left(first);
        other.extend_from_slice(&points[..first / 8]);
        prop_assert!(same_width(&zone, &file(&other).zone(), 1.0));
    }
}

#[test]
fn large_clouds_agree_with_the_proof_in_whole_numbers() {
    for (seed, points) in [(1, 161), (2, 1_000), (3, 5_000), (4, 20_000)] {
        let columns = noise(points, seed);
        let zone = columns.zone();
        let exact = exact_zone_of_cloud(&columns.cloud()).unwrap();
        assert_eq!(zone.method, Method::Floats);
        assert_eq!(exact.method, Method::Exact512);
        assert!((zone.width - exact.width).abs() <= zone.within + exact.within);
        assert_eq!((&zone.upper, &zone.lower), (&exact.upper, &exact.lower));
        assert!((zone.weights_squared - exact.weights_squared).abs() < 1e-9);
        assert_eq!(zone.weights.len(), 4);
    }
}

#[test]
fn a_large_perfect_plane_of_decimals_has_no_width() {
    let at = |k: u32| (f64::from(k % 50) / 10.0, f64::from(k / 50) / 10.0);
    let point = |k: u32| {
        let (x, y) = at(k);
        (x, y, f64::from(3 * (k % 50) + 7 * (k / 50)) / 100.0)
    };
    let columns = Columns3::of(&(0..2_500).map(point).collect::<Vec<_>>());
    let zone = columns.zone();
    assert_eq!((zone.width, zone.method), (0.0, Method::Exact128));
    assert!((zone.slopes.x - 0.3).abs() < 1e-12 && (zone.slopes.y - 0.7).abs() < 1e-12);
}

#[test]
fn a_wild_point_among_many_is_found() {
    for place in [0, 1, 4_999, 9_998, 9_999] {
        let mut columns = noise(10_000, 5);
        columns.z[place] += 50.0;
        let zone = columns.zone();
        assert!(zone.upper == [place] && zone.lower.len() == 3, "{zone:?}");
    }
}

#[test]
fn a_thin_strip_is_left_to_whole_numbers() {
    // Positions off one line by millionths: heights 0 and 1 µm in turn, and one of 5.
    let points: Vec<_> = (0..60_u32)
        .map(|k| {
            let x = f64::from(k);
            (x, x + f64::from(k * k % 7) / 1e6, if k == 30 { 5.0 } else { f64::from(k % 2) })
        })
        .collect();
    let zone = Columns3::of(&points).zone();
    assert_ne!(zone.method, Method::Floats);
    assert!(zone.width > 0.0 && zone.width <= 5.0);
}

#[test]
fn tenths_on_a_line_are_a_line_and_numbers_must_be_finite() {
    let line = Columns3::of(&[(0.1, 0.3, 0.0), (0.2, 0.6, 1.0), (0.3, 0.9, 0.5), (0.7, 2.1, 0.0)]);
    let refused = |columns: &Columns3| minimum_zone_of_cloud(&columns.cloud()).unwrap_err();
    assert_eq!(refused(&line), CloudError::Positions(Rank::Line));
    assert_eq!(refused(&Columns3::default()), CloudError::Positions(Rank::OnePlace));
    let place = Columns3::of(&[(0.1, 0.3, 0.0); 5]);
    assert_eq!(refused(&place), CloudError::Positions(Rank::OnePlace));
    for (points, row) in [(50, 7), (50, 49), (5_000, 0), (5_000, 4_999), (5_000, 2_345)] {
        for wrong in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let mut columns = noise(points, 9);
            columns.z[row] = wrong;
            assert_eq!(refused(&columns), CloudError::NotFinite(row));
            let mut columns = noise(points, 9);
            columns.x[row] = wrong;
            assert_eq!(refused(&columns), CloudError::NotFinite(row));
        }
    }
}

#[test]
fn the_distance_square_to_the_planes_is_less_on_a_slope() {
    // The octahedron whose squared width is 4/3 (see the published figures): 2 along z, its planes
    // lean by one in both directions.
    let columns = Columns3::of(&[
        (1.0, 0.0, 0.0),
        (2.0, -1.0, 0.0),
        (2.0, 0.0, -1.0),
        (3.0, 0.0, 0.0),
        (2.0, 1.0, 0.0),
        (2.0, 0.0, 1.0),
    ]);
    let zone = columns.zone();
    assert!((zone.width - 2.0).abs() < 1e-12);
    assert!((zone.perpendicular(1.0).powi(2) - 4.0 / 3.0).abs() < 1e-12);
    // The same with heights in thousandths of the unit of the positions.
    let fine = columns.map(|x, y, z| (x, y, 1000.0 * z)).zone();
    assert!((fine.perpendicular(1000.0) / 1000.0 - (4_f64 / 3.0).sqrt()).abs() < 1e-12);
}

#[test]
fn digits_that_reach_too_far_are_answered_without_a_certificate() {
    // 10⁻³⁰ and 10⁹ in one axis cannot be counted in one step of 96 bits; and the set is flat but
    // for its last digits, so floats cannot be sure.
    let third = 1.0 / 3.0;
    let points = [
        (1e-30 * third, 0.0, 1e-40 * third),
        (1e9 * third, 0.0, 1e9 * third),
        (0.0, 1e9 * third, 1e9 * third),
        (1e9 * third, 1e9 * third, 2e9 * third),
        (5e8 * third, 1e8 * third, 6e8 * third),
    ];
    let columns = Columns3::of(&points);
    let zone = minimum_zone_of_cloud(&columns.cloud()).unwrap();
    assert!(!zone.certified && zone.method == Method::Floats);
    assert!(zone.within >= zone.width && zone.within < 1.0);
}

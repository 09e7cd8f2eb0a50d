//! Changes that must not change a circle: the position of the part, its size, the order of the points, a
//! point taken twice; and changes that another point may make.

use std::f64::consts::TAU;

use proptest::prelude::*;

use super::super::*;

/// A ring with a rough skin, all the way round.
fn ring(skin: &[f64]) -> Vec<(f64, f64)> {
    let angle = |k: usize| TAU * count(k) / count(skin.len());
    let at = |(k, rough): (usize, &f64)| {
        let radius = 25.0 + 0.01 * rough;
        (radius * angle(k).cos(), radius * angle(k).sin())
    };
    skin.iter().enumerate().map(at).collect()
}

/// Roundness by least squares and by the minimum zone, and the radii around and inside.
fn figures(points: &[(f64, f64)]) -> [f64; 4] {
    let least = least_squares_circle(points).unwrap();
    let zone = minimum_zone_circle(points).unwrap();
    let around = circumscribed_circle(points).unwrap().circle.radius;
    [least.width(points), zone.width, around, inscribed_circle(points).unwrap().circle.radius]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn motion_scale_order_and_duplicates_change_nothing(
        skin in prop::collection::vec(-1.0..1.0_f64, 8..60),
        by in (-100.0..100.0_f64, -100.0..100.0_f64),
        turn in 0.0..6.0_f64,
        scale in 0.01..100.0_f64,
        first in 0..60_usize,
    ) {
        let points = ring(&skin);
        let before = figures(&points);
        prop_assert!(before[1] <= before[0] + 1e-10, "the minimum zone is the least");
        let (sin, cos) = turn.sin_cos();
        let moved = |&(x, y): &(f64, f64)| {
            (scale * (cos * x - sin * y) + by.0, scale * (sin * x + cos * y) + by.1)
        };
        let mut other: Vec<(f64, f64)> = points.iter().map(moved).collect();
        other.rotate_left(first % points.len());
        let after = figures(&other);
        for (before, after) in before.into_iter().zip(after) {
            prop_assert!((before * scale - after).abs() <= 1e-9 * scale.max(1.0), "{before} {after}");
        }
        // A point taken twice weighs twice in least squares, and nothing in what contacts hold.
        other.push(other[0]);
        for (before, after) in before.into_iter().zip(figures(&other)).skip(1) {
            prop_assert!((before * scale - after).abs() <= 1e-9 * scale.max(1.0), "{before} {after}");
        }
    }

    #[test]
    fn another_point_never_shrinks_the_zone(
        skin in prop::collection::vec(-1.0..1.0_f64, 9..60),
    ) {
        let points = ring(&skin);
        let [_, zone, around, inside] = figures(&points);
        let fewer = &points[1..];
        prop_assert!(minimum_zone_circle(fewer).unwrap().width <= zone + 1e-10);
        prop_assert!(circumscribed_circle(fewer).unwrap().circle.radius <= around + 1e-10);
        prop_assert!(inscribed_circle(fewer).unwrap().circle.radius >= inside - 1e-10);
    }
}

mod contacts;
mod motion;
mod published;
mod rings;

use super::*;

pub(super) fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

type Fit = fn(&[(f64, f64)]) -> Option<CircleError>;

/// Every circle, for what it refuses.
const ALL: [Fit; 5] = [
    |points| algebraic_circle(points).err(),
    |points| least_squares_circle(points).err(),
    |points| minimum_zone_circle(points).err(),
    |points| circumscribed_circle(points).err(),
    |points| inscribed_circle(points).err(),
];

#[test]
fn what_carries_no_circle_is_refused_by_all() {
    let on_a_line: Vec<(f64, f64)> =
        (0_u8..9).map(f64::from).map(|k| (1e3 + 0.1 * k, 7e3 - 0.3 * k)).collect();
    let sets = [
        &[][..],
        &[(1.0, 2.0)],
        &[(1.0, 2.0), (4.0, 6.0)],
        &[(1.0, 2.0), (4.0, 6.0), (1.0, 2.0)],
        &[(3.0, 3.0); 5],
        &on_a_line,
    ];
    for fit in ALL {
        for set in sets {
            assert_eq!(fit(set), Some(CircleError::Straight), "{set:?}");
        }
        let bad = [(0.0, 0.0), (1.0, 0.0), (f64::NAN, 1.0)];
        assert_eq!(fit(&bad), Some(CircleError::NotANumber));
    }
}

#[test]
fn three_points_have_one_circle() {
    // 3-4-5 about (2, -1), far from zero as machine coordinates are.
    let (x, y) = (1_000_002.0, -500_001.0);
    let points = [(x + 5.0, y), (x - 3.0, y + 4.0), (x - 3.0, y - 4.0)];
    for circle in [
        algebraic_circle(&points).unwrap(),
        least_squares_circle(&points).unwrap(),
        circumscribed_circle(&points).unwrap().circle,
        inscribed_circle(&points).unwrap().circle,
    ] {
        near(circle.x, x, 1e-8);
        near(circle.y, y, 1e-8);
        near(circle.radius, 5.0, 1e-8);
    }
    let zone = minimum_zone_circle(&points).unwrap();
    near(zone.width, 0.0, 1e-8);
    near(zone.outer_radius, 5.0, 1e-8);
}

#[test]
fn a_blunt_triangle_is_held_by_its_long_side() {
    let points = [(-4.0, 0.0), (4.0, 0.0), (0.0, 1.0)];
    let around = circumscribed_circle(&points).unwrap();
    assert_eq!(around.contacts, [0, 1]);
    near(around.circle.radius, 4.0, 1e-12);
    assert_eq!(inscribed_circle(&points), Err(CircleError::Open));
}

#[test]
fn a_flat_wave_has_no_least_squares_circle() {
    // Heights that rise and fall by turns leave no bend: the radius runs away.
    let points: Vec<(f64, f64)> = [0.0, 1.0, -1.0, 1.0, -1.0, 0.0]
        .into_iter()
        .zip(0_u8..)
        .map(|(y, x)| (10.0 * f64::from(x), y))
        .collect();
    assert_eq!(least_squares_circle(&points), Err(CircleError::NotSettled));
    assert_eq!(minimum_zone_circle(&points), Err(CircleError::NoRing));
}

#[test]
fn a_short_arc_with_no_error_gives_its_circle() {
    // Two degrees of a circle of 250: the sagitta is 0.038.
    let points: Vec<(f64, f64)> = (0_u8..=20)
        .map(|k| (f64::from(k) / 10.0).to_radians())
        .map(|t| (250.0 * t.cos() - 30.0, 250.0 * t.sin()))
        .collect();
    let circle = least_squares_circle(&points).unwrap();
    near(circle.x, -30.0, 1e-5);
    near(circle.y, 0.0, 1e-5);
    near(circle.radius, 250.0, 1e-5);
}

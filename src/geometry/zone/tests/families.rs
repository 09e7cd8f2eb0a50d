//! Ten families of small sets, as exact points and as floats, against every two, three and four
//! points of them.

use super::*;
use crate::{Cloud, CloudError, exact_zone_of_cloud, minimum_zone_of_cloud};

const FAMILIES: [&str; 10] = [
    "generic",
    "3 x 3 grid",
    "on a line",
    "circle",
    "three levels",
    "duplicates",
    "nearly on a line",
    "one position",
    "two lines",
    "saddle in steps",
];

fn family(kind: usize, size: i64, dice: &mut Dice) -> Vec<Point> {
    let side = dice.below(50) + 2;
    let slope = (dice.below(9) - 4, dice.below(9) - 4);
    (0..size)
        .map(|row| {
            let any = (dice.below(2001) - 1000, dice.below(2001) - 1000);
            let (x, y) = match kind {
                1 => (dice.below(3) * side, dice.below(3) * side),
                2 => (any.0 * slope.0, any.0 * slope.1),
                3 => dice.ring_place(),
                5 => (dice.below(3) * 7, dice.below(2) * 5),
                6 => (row * 1_000_000, dice.below(2) + row * side),
                7 => (side, side),
                8 => (any.0, dice.below(2) * side),
                9 => (dice.below(5) - 2, dice.below(5) - 2),
                _ => any,
            };
            let height = match kind {
                4 | 5 => dice.below(3),
                9 => x * y + dice.below(2),
                _ if side % 3 == 0 => dice.below(5),
                _ => dice.below(10_000),
            };
            point(x, y, height)
        })
        .collect()
}

/// Columns of the same numbers, as tenths of them.
fn columns(points: &[Point]) -> [Vec<f64>; 3] {
    let parts: [fn(&Point) -> i64; 3] = [|p| p.at.x_nm, |p| p.at.y_nm, |p| p.height];
    parts.map(|part| points.iter().map(|p| float(i128::from(part(p))) / 10.0).collect())
}

fn agrees(kind: usize, points: &[Point]) -> bool {
    let [x, y, z] = columns(points);
    let cloud = Cloud::new(&x, &y, &z).unwrap();
    let in_floats = [minimum_zone_of_cloud(&cloud), exact_zone_of_cloud(&cloud)];
    let rank = rank(points);
    if rank != Rank::Plane {
        assert_eq!(minimum_zone(points), Err(ZoneError::Positions(rank)));
        for refused in in_floats {
            assert_eq!(refused, Err(CloudError::Positions(rank)));
        }
        return false;
    }
    let expected = all_balances(points).width;
    assert_eq!(minimum_zone(points).unwrap().width, expected, "{} {points:?}", FAMILIES[kind]);
    for zone in in_floats {
        let zone = zone.unwrap();
        assert!(zone.certified);
        let off = (zone.width - expected.to_f64() / 10.0).abs();
        assert!(off <= zone.within, "{} {points:?} {zone:?}", FAMILIES[kind]);
    }
    true
}

/// So many cases; the number of sets whose positions span a plane.
fn all(cases: usize) -> usize {
    let mut dice = Dice(77);
    let mut planes = 0;
    for case in 0..cases {
        let size = 3 + dice.below(7);
        let points = family(case % 10, size, &mut dice);
        planes += usize::from(agrees(case % 10, &points));
    }
    println!("{cases} cases, {planes} of them planes: 0 wrong, 0 refused");
    planes
}

#[test]
fn twenty_thousand_small_sets_of_ten_families_are_right() {
    assert!(all(20_000) > 14_000);
}

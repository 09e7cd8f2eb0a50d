//! The exact zone of a face: changes that must not change it, and that four of its points give the same zone.

use super::*;

fn face(least: usize, most: usize) -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((-30_i64..30, -30_i64..30, -20_i64..20), least..most)
        .prop_map(|all| all.into_iter().map(|(x, y, z)| point(x, y, z)).collect())
}

fn changed(points: &[Point], of: impl Fn(i64, i64, i64) -> (i64, i64, i64)) -> Vec<Point> {
    let one = |at: &Point| {
        let (x, y, z) = of(at.at.x_nm, at.at.y_nm, at.height);
        point(x, y, z)
    };
    points.iter().map(one).collect()
}

/// Every four of some rows.
fn fours(rows: usize) -> Vec<[usize; 4]> {
    let mut all = Vec::new();
    for one in 0..rows {
        for two in one + 1..rows {
            for three in two + 1..rows {
                all.extend((three + 1..rows).map(|four| [one, two, three, four]));
            }
        }
    }
    all
}

/// The zone of points on one line: two more copies of them beside it make a face, whose planes lean
/// along the line only.
fn of_a_row(points: &[Point]) -> Figure {
    let copy = |by: i64| changed(points, move |x, y, z| (x + 61 * by, y + by, z));
    let face = [copy(0), copy(1), copy(-67)].concat();
    minimum_zone(&face).map_or(Figure::ZERO, |zone| zone.width)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Helly's theorem: planes that hold every four of the points so far apart hold all of them so.
    #[test]
    fn the_zone_is_that_of_the_worst_four_of_its_points(points in face(4, 10)) {
        let Ok(zone) = minimum_zone(&points) else { return Ok(()) };
        let of_four = |four: [usize; 4]| {
            let four = four.map(|row| points[row]);
            minimum_zone(&four).map_or_else(|_| of_a_row(&four), |zone| zone.width)
        };
        let worst = fours(points.len()).into_iter().map(of_four).max();
        prop_assert_eq!(worst, Some(zone.width), "{:?}", points);
    }

    #[test]
    fn scales_and_mirrors_change_the_width_by_what_they_are(
        points in face(4, 14), wide in 1_i64..5_000, tall in 1_i64..5_000,
    ) {
        let Ok(zone) = minimum_zone(&points) else { return Ok(()) };
        let width = |of: &dyn Fn(i64, i64, i64) -> (i64, i64, i64)| {
            let zone = minimum_zone(&changed(&points, of)).unwrap();
            (zone.width, zone.weights_squared, zone.upper, zone.lower)
        };
        let as_before = |factor: i64| {
            (zone.width * factor, zone.weights_squared, zone.upper.clone(), zone.lower.clone())
        };
        prop_assert_eq!(width(&|x, y, z| (x * wide, y * tall, z)), as_before(1));
        prop_assert_eq!(width(&|x, y, z| (x, y, z * tall)), as_before(tall));
        prop_assert_eq!(width(&|x, y, z| (-x, y, z)), as_before(1));
        prop_assert_eq!(width(&|x, y, z| (y, x, z)), as_before(1));
        // A shear of the places is none of the planes' business either.
        prop_assert_eq!(width(&|x, y, z| (x + 3 * y, y, z)), as_before(1));
        if let Some(slopes) = zone.slopes {
            let other = minimum_zone(&changed(&points, |x, y, z| (x * wide, y * wide, z * tall))).unwrap();
            let factor = float(tall.into()) / float(wide.into());
            let found = other.slopes.unwrap();
            prop_assert!((found.x - slopes.x * factor).abs() <= 1e-9 * (1.0 + slopes.x.abs() * factor));
            prop_assert!((found.y - slopes.y * factor).abs() <= 1e-9 * (1.0 + slopes.y.abs() * factor));
        }
    }

    #[test]
    fn points_between_others_and_points_again_add_nothing(points in face(4, 12), pairs in prop::collection::vec((0_usize..12, 0_usize..12), 1..8)) {
        let Ok(zone) = minimum_zone(&points) else { return Ok(()) };
        // Everything twice as large, so that the middle of two is a whole number.
        let double = changed(&points, |x, y, z| (2 * x, 2 * y, 2 * z));
        let mut more = double.clone();
        for (one, other) in &pairs {
            let (one, other) = (points[one % points.len()], points[other % points.len()]);
            more.push(point(one.at.x_nm + other.at.x_nm, one.at.y_nm + other.at.y_nm, one.height + other.height));
        }
        prop_assert_eq!(minimum_zone(&more).unwrap().width, zone.width * 2);
        let mut again = points.clone();
        again.extend(pairs.iter().map(|(one, _)| points[one % points.len()]));
        let found = minimum_zone(&again).unwrap();
        prop_assert_eq!((found.width, found.weights_squared), (zone.width, zone.weights_squared));
        // One left out never widens it.
        for row in 0..points.len() {
            let mut fewer = points.clone();
            fewer.remove(row);
            if let Ok(found) = minimum_zone(&fewer) {
                prop_assert!(found.width <= zone.width);
                let touches = zone.upper.contains(&row) || zone.lower.contains(&row);
                prop_assert!(touches || found.width == zone.width, "{row} does not touch");
            }
        }
    }

    /// The width moves by no more than the heights do: each by one, the zone by two at most.
    #[test]
    fn a_zone_moves_no_further_than_its_heights(points in face(4, 12), by in prop::collection::vec(-1_i64..2, 12)) {
        let Ok(zone) = minimum_zone(&points) else { return Ok(()) };
        let moved: Vec<Point> = points.iter().zip(&by).map(|(at, by)| point(at.at.x_nm, at.at.y_nm, at.height + by)).collect();
        let found = minimum_zone(&moved).unwrap().width;
        prop_assert!((found - zone.width).abs() <= Figure::new(2, 1));
        // By random errors of one each, the weights say how far: at most 2 as a sum, √Σw² as a root.
        prop_assert!(zone.weights_squared <= Ratio::new(2, 1));
        prop_assert!(zone.weights_squared >= Ratio::new(1, 1) || points.len() == 3 || zone.weights_squared == Ratio::new(0, 1) || zone.width == Figure::ZERO);
    }
}

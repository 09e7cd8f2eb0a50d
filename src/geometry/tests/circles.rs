//! Circles by trying every two and every three points, and what moving a part may not change.

use super::*;

/// Whole places, so that many lie on one circle or one line.
fn places() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((-8_i8..9, -8_i8..9), 3..9)
        .prop_map(|all| all.into_iter().map(|(x, y)| (f64::from(x), f64::from(y))).collect())
}

/// The circle through three places.
fn through([first, second, third]: [(f64, f64); 3]) -> Option<Circle> {
    let step = |to: (f64, f64)| (to.0 - first.0, to.1 - first.1);
    let (one, other) = (step(second), step(third));
    let twice = 2.0 * (one.0 * other.1 - one.1 * other.0);
    let (square, squared) = (one.0.powi(2) + one.1.powi(2), other.0.powi(2) + other.1.powi(2));
    let x = (square * other.1 - squared * one.1) / twice;
    let y = (squared * one.0 - square * other.0) / twice;
    (twice.abs() > 1e-9).then(|| Circle { x: first.0 + x, y: first.1 + y, radius: x.hypot(y) })
}

fn threes(points: &[(f64, f64)]) -> Vec<Circle> {
    let rows = 0..points.len();
    let all = rows.clone().flat_map(|i| rows.clone().map(move |j| (i, j)));
    let all = all.flat_map(|(i, j)| (0..points.len()).map(move |k| [i, j, k]));
    all.filter(|[i, j, k]| i < j && j < k)
        .filter_map(|three| through(three.map(|row| points[row])))
        .collect()
}

fn farthest(circle: &Circle, points: &[(f64, f64)]) -> f64 {
    points.iter().map(|p| (p.0 - circle.x).hypot(p.1 - circle.y)).fold(0.0, f64::max)
}

/// The smallest circle around all: of every two on a diameter and every three, the least that holds all.
fn smallest_around(points: &[(f64, f64)]) -> f64 {
    let twos =
        points.iter().flat_map(|a| points.iter().map(move |b| (a, b))).map(|(a, b)| Circle {
            x: f64::midpoint(a.0, b.0),
            y: f64::midpoint(a.1, b.1),
            radius: (a.0 - b.0).hypot(a.1 - b.1) / 2.0,
        });
    let holds = |circle: &Circle| farthest(circle, points) <= circle.radius * (1.0 + 1e-12);
    twos.chain(threes(points))
        .filter(holds)
        .map(|circle| circle.radius)
        .fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn the_smallest_circle_around_is_the_least_of_every_two_and_three(points in places()) {
        match circumscribed_circle(&points) {
            Ok(touching) => {
                let radius = touching.circle.radius;
                prop_assert!((radius - smallest_around(&points)).abs() < 1e-9);
                prop_assert!(farthest(&touching.circle, &points) <= radius + 1e-12);
                // Its contacts are those it names: on the circle, each once.
                let mut once = touching.contacts.clone();
                once.dedup();
                prop_assert!(once == touching.contacts && (2..=3).contains(&once.len()));
                for contact in once {
                    let (x, y) = points[contact];
                    prop_assert!(((x - touching.circle.x).hypot(y - touching.circle.y) - radius).abs() < 1e-9);
                }
            }
            Err(error) => {
                prop_assert_eq!(error, CircleError::Straight);
                prop_assert!(threes(&points).is_empty());
            }
        }
    }

    #[test]
    fn the_circles_stand_in_their_order(points in places()) {
        let Ok(around) = circumscribed_circle(&points) else { return Ok(()) };
        if let Ok(zone) = minimum_zone_circle(&points) {
            prop_assert!(zone.outer_radius >= around.circle.radius - 1e-9, "nothing smaller holds all");
            prop_assert!((zone.outer_radius - zone.inner_radius - zone.width).abs() < 1e-9);
            // About every other centre the ring is as wide or wider.
            let others = threes(&points).into_iter().chain([around.circle]);
            let others = others.chain(least_squares_circle(&points)).chain(algebraic_circle(&points));
            for other in others {
                prop_assert!(other.width(&points) >= zone.width - 1e-9, "{other:?} {zone:?}");
            }
            if let Ok(inside) = inscribed_circle(&points) {
                prop_assert!(inside.circle.radius <= around.circle.radius + 1e-9);
                prop_assert!(inside.circle.width(&points) >= zone.width - 1e-9);
                let nearest = inside.circle.residuals(&points).into_iter().fold(f64::INFINITY, f64::min);
                prop_assert!(nearest >= -1e-9, "it holds no point");
            }
        }
    }

    /// Least squares: no centre a little beside it, with its own mean radius, has smaller squares.
    #[test]
    fn no_centre_beside_the_least_squares_circle_is_better(points in places(), step in 1e-4..1e-1_f64) {
        let Ok(best) = least_squares_circle(&points) else { return Ok(()) };
        let squares = |x: f64, y: f64| {
            let far: Vec<f64> = points.iter().map(|p| (p.0 - x).hypot(p.1 - y)).collect();
            let mean = far.iter().sum::<f64>() / count(far.len());
            (far.iter().map(|far| (far - mean).powi(2)).sum::<f64>(), mean)
        };
        let (least, radius) = squares(best.x, best.y);
        prop_assert!((radius - best.radius).abs() < 1e-9 * (1.0 + radius));
        for (x, y) in [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step), (step, step), (-step, step)] {
            prop_assert!(squares(best.x + x, best.y + y).0 >= least - 1e-12);
        }
        // Nor is any circle through three of the points.
        for other in threes(&points) {
            prop_assert!(squares(other.x, other.y).0 >= least - 1e-9);
        }
    }

    /// The algebraic circle by its own definition: `Σ (d² − r²)` and its moments are nothing.
    #[test]
    fn the_algebraic_circle_is_the_one_of_its_equations(points in places()) {
        let Ok(circle) = algebraic_circle(&points) else { return Ok(()) };
        let rests = points.iter().map(|p| {
            let square = (p.0 - circle.x).powi(2) + (p.1 - circle.y).powi(2) - circle.radius.powi(2);
            [square, square * p.0, square * p.1]
        });
        let sums = rests.fold([0.0; 3], |sum, rest| [sum[0] + rest[0], sum[1] + rest[1], sum[2] + rest[2]]);
        let size = circle.radius.powi(2) * 100.0 * count(points.len());
        prop_assert!(sums.iter().all(|sum| sum.abs() <= 1e-10 * size), "{sums:?}");
    }
}

#[test]
fn widths_of_deviations_are_those_of_the_part_they_came_from() {
    // Lobes on a circle of a thousand times their height, told as deviations and as points.
    let angles: Vec<f64> = (0..72).map(|k| 5.0 * count(k)).collect();
    for lobes in [2.0, 3.0, 5.0] {
        let off: Vec<f64> = angles.iter().map(|deg| (lobes * deg.to_radians()).cos()).collect();
        let radii: Vec<f64> = off.iter().map(|off| 2_000.0 + off).collect();
        let (x, y) = on_circles(&angles, &radii);
        let points: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
        let widths = touching_widths(&angles, &off).unwrap();
        near(
            widths.circumscribed,
            circumscribed_circle(&points).unwrap().circle.width(&points),
            1e-9,
        );
        near(
            widths.inscribed.unwrap(),
            inscribed_circle(&points).unwrap().circle.width(&points),
            1e-9,
        );
        // Half as high: half as wide, whatever the part's radius is.
        let half: Vec<f64> = off.iter().map(|off| off / 2.0).collect();
        near(
            touching_widths(&angles, &half).unwrap().circumscribed,
            widths.circumscribed / 2.0,
            1e-9,
        );
    }
}

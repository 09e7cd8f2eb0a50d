//! Places: how many differ, what they span, and where they lie on circles.

use std::collections::BTreeSet;

use super::*;

/// Whether whole numbers lie on one line, by every three of them.
fn spans(places: &[(i64, i64)]) -> Rank {
    let different: BTreeSet<(i64, i64)> = places.iter().copied().collect();
    let all: Vec<(i64, i64)> = different.into_iter().collect();
    if all.len() < 2 {
        return Rank::OnePlace;
    }
    let turn = |a: (i64, i64), b: (i64, i64), c: (i64, i64)| {
        i128::from(b.0 - a.0) * i128::from(c.1 - a.1)
            - i128::from(b.1 - a.1) * i128::from(c.0 - a.0)
    };
    let flat = all.iter().all(|c| turn(all[0], all[1], *c) == 0);
    if flat { Rank::Line } else { Rank::Plane }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn positions_span_what_every_three_of_them_say(
        // Few places, so that many coincide or lie on a line; and far ones.
        few in prop::collection::vec((-2_i64..3, -2_i64..3), 0..7),
        scale in prop::sample::select(vec![1_i64, 7, 1_000_000_007, 1 << 40]),
        by in (-1_i64 << 50..1 << 50, -1_i64 << 50..1 << 50),
    ) {
        let moved: Vec<(i64, i64)> = few.iter().map(|(x, y)| (x * scale + by.0, y * scale + by.1)).collect();
        let points: Vec<Point> = moved.iter().map(|&(x, y)| point(x, y, 0)).collect();
        prop_assert_eq!(rank(&points), spans(&few));
        let upside_down: Vec<Point> = points.iter().rev().copied().collect();
        prop_assert_eq!(rank(&upside_down), rank(&points));
        // One nanometre off the line is a plane.
        if rank(&points) == Rank::Line && few.len() > 2 {
            let mut off = points.clone();
            let last = off.len() - 1;
            off[last].at.x_nm += 1;
            off[last].at.y_nm += 2;
            let bent: Vec<(i64, i64)> = off.iter().map(|p| (p.at.x_nm - by.0, p.at.y_nm - by.1)).collect();
            prop_assert_eq!(rank(&off), spans(&bent));
        }
    }

    #[test]
    fn places_are_counted_once_each(few in prop::collection::vec((-2_i8..3, -2_i8..3), 0..9)) {
        let (x, y): (Vec<f64>, Vec<f64>) = few.iter().map(|&(x, y)| (f64::from(x) / 4.0, f64::from(y) / 4.0)).unzip();
        let different: BTreeSet<(i8, i8)> = few.iter().copied().collect();
        prop_assert_eq!(more_than_three_places(&x, &y), different.len() > 3);
        let stations: Vec<(f64, f64)> = x.iter().copied().zip(y.iter().copied()).collect();
        let along: BTreeSet<i8> = few.iter().map(|place| place.0).collect();
        prop_assert_eq!(different_stations(&stations), along.len());
    }

    #[test]
    fn a_line_is_one_however_it_lies_and_a_bend_is_told_by_its_depth(
        along in prop::collection::vec(-50.0..50.0_f64, 3..12),
        turn in 0.0..360.0_f64, by in (-1e3..1e3_f64, -1e3..1e3_f64), depth in 0.01..5.0_f64,
    ) {
        let (sin, cos) = turn.to_radians().sin_cos();
        let (x, y): (Vec<f64>, Vec<f64>) = along.iter().map(|t| (t * cos + by.0, t * sin + by.1)).unzip();
        prop_assert!(lie_on_a_line(&x, &y, 1e-9));
        // One place between its ends, moved off the line: by less than the depth, as the ends may be it.
        let (mut bent_x, mut bent_y) = (x.clone(), y.clone());
        bent_x[1] -= depth * sin;
        bent_y[1] += depth * cos;
        // Moved, it is still not the farthest from the first: otherwise the line would run through it.
        let spread = along.iter().map(|t| (t - along[0]).abs()).fold(0.0, f64::max);
        prop_assume!((along[1] - along[0]).hypot(depth) < 0.9 * spread);
        prop_assert!(lie_on_a_line(&bent_x, &bent_y, depth * 1.001 + 1e-9));
        prop_assert!(!lie_on_a_line(&bent_x, &bent_y, depth * 0.999 - 1e-9));
    }

    #[test]
    fn places_on_circles_are_as_far_out_and_as_far_round_as_was_said(
        all in prop::collection::vec((-720.0..720.0_f64, 0.01..500.0_f64), 0..20),
    ) {
        let (angles, radii): (Vec<f64>, Vec<f64>) = all.iter().copied().unzip();
        let (x, y) = on_circles(&angles, &radii);
        prop_assert_eq!((x.len(), y.len()), (all.len(), all.len()));
        for ((x, y), (angle, radius)) in x.iter().zip(&y).zip(&all) {
            prop_assert!((x.hypot(*y) - radius).abs() < 1e-12 * radius);
            prop_assert!(apart(y.atan2(*x).to_degrees(), *angle, 360.0) < 1e-9);
        }
    }

    #[test]
    fn a_range_is_the_largest_less_the_smallest(values in prop::collection::vec(-1e6..1e6_f64, 0..20)) {
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        let expected = sorted.last().zip(sorted.first()).map_or(0.0, |(high, low)| high - low);
        prop_assert!((total_reading(&values) - expected).abs() < 1e-9);
    }
}

#[test]
fn what_positions_span_has_its_own_words() {
    let told = [Rank::OnePlace, Rank::Line, Rank::Plane].map(Rank::text);
    assert!(told[0] != told[1] && told[1] != told[2] && told[0] != told[2]);
    assert!(Rank::OnePlace < Rank::Line && Rank::Line < Rank::Plane);
}

//! The readings a figure is taken from: their means, their ends, and where they lie.

use super::*;
use crate::check::Swept;
use crate::series::{near_ends, with_returns};
use crate::{Flatness, Parallelism, Turn};
use judgement::{Budget, Known};

/// In sevenths, against sums of whole numbers.
#[test]
fn means_are_exact_in_whatever_parts_they_are_counted() {
    let check = check(Parallelism);
    let mut of = series(&check, &[]);
    of.parts = 7;
    of.sums = vec![(0, 10), (1, -4), (3, i64::MAX), (6, i64::MIN)];
    let sevenths = |over: i128| Figure::new(over, 7);
    let (max, min) = (i128::from(i64::MAX), i128::from(i64::MIN));
    assert_eq!(of.max_minus_min(), Some(sevenths(max - min)));
    assert_eq!(of.mean(), Some(Figure::new(10 - 4 + max + min, 28)));
    let each = [(0, 10), (1, -4), (3, max), (6, min)].map(|(at, over)| (at, sevenths(over)));
    assert_eq!(of.means(), each);
    // A sign that was keyed in with a total says nothing.
    of.sums = vec![(0, -10)];
    assert_eq!(of.keyed_total(), Some(sevenths(10)));
    of.sums = vec![(0, i64::MIN)];
    assert_eq!(of.keyed_total(), Some(sevenths(-min)));
    of.sums.clear();
    assert_eq!((of.mean(), of.max_minus_min(), of.keyed_total()), (None, None, None));
    assert!(of.means().is_empty() && of.points().is_empty());
}

#[test]
fn samples_of_a_sweep_have_no_means_at_marks() {
    let reads = Reads::Sweep(Swept { marks: 4, angles_deg: vec![0.0, 120.0, 240.0] });
    let check = Check { reads, positions: 3, ..check(Turn::default()) };
    let of = series(&check, &[1, 2, 3]);
    assert!(of.means().is_empty() && of.mean().is_some());
}

/// An end counts itself, and what lies up to three standard deviations from it, that included.
#[test]
fn heights_are_near_an_end_up_to_three_deviations_from_it() {
    let s = Length::from_picometres(10);
    for (sums, parts, expected) in [
        (&[0][..], 1, (1, 1)),
        (&[0, 100], 1, (1, 1)),
        (&[0, 30, 31, 69, 70, 100], 1, (2, 2)),
        (&[0, 60, 61, 200], 2, (1, 2)),
        (&[0, 15, 30], 1, (3, 3)),
        (&[i64::MIN, i64::MIN + 30, i64::MAX], 1, (1, 2)),
    ] {
        assert_eq!(near_ends(sums, s, parts), Some(expected), "{sums:?} over {parts}");
    }
    assert_eq!(near_ends(&[], s, 1), None);
}

/// Off by a, b and c, the mean of three tries is off by a third of each: the squares over nine.
#[test]
fn returns_of_tries_are_averaged_with_them() {
    let off = |microinches: i64| Part::stated(Length::from_picometres(25_400 * microinches));
    let known = |returns: &[Part]| {
        let expanded = with_returns(Budget::default(), returns).expanded();
        microinch(Figure::from(expanded.uncertainty))
    };
    near(known(&[]), 0.0, 1e-9);
    near(known(&[off(12)]), 24.0, 0.001);
    near(known(&[off(12), off(12)]), 2.0 * (288.0_f64 / 4.0).sqrt(), 0.001);
    near(known(&[off(2), off(3), off(6)]), 2.0 * 7.0 / 3.0, 0.001);
    let assumed = [off(2), Part::within(inch("0.00001"), Known::Assumed)];
    assert_eq!(with_returns(Budget::default(), &assumed).expanded().known, Known::Assumed);
}

/// Each circle of a turn is judged by itself, all circles of a face together.
#[test]
fn the_fewest_touches_are_those_of_what_is_judged_together() {
    let radii = vec![inch("1"), inch("1.5")];
    let face = Check { radii: radii.clone(), ..check(Flatness) };
    let turn = Check { radii, ..check(Turn::default()) };
    let without = |check, out: &[u32]| {
        let mut of = series(check, &[0; 16]);
        of.sums.retain(|(position, _)| !out.contains(position));
        of.fewest_on_a_circle()
    };
    for (out, of_face, of_turn) in [
        (&[][..], 16, 8),
        (&[3], 15, 7),
        (&[3, 9, 12], 13, 6),
        (&[8, 9, 10, 11, 12, 13, 14, 15], 8, 0),
    ] {
        assert_eq!((without(&face, out), without(&turn, out)), (of_face, of_turn), "{out:?}");
    }
}

/// A point for each reading whose place the plan gives, and none where it gives no radius.
#[test]
fn points_stand_where_the_plan_puts_them() {
    let check = check(Flatness);
    let points = series(&check, &[5, 6, 7, 8, 9, 10, 11, 12]).points();
    let far = 38_100_000;
    for (index, x, y) in [(0, far, 0), (2, 0, far), (4, -far, 0), (6, 0, -far)] {
        let at = points[index].at;
        assert_eq!((at.x_nm, at.y_nm), (x, y), "{index}");
        assert_eq!(points[index].height, (5 + i64::try_from(index).unwrap()) * 254_000);
    }
    let bare = Check { radii: Vec::new(), ..check };
    assert!(series(&bare, &[0; 8]).points().is_empty());
}

//! The exchange of points, worked out again in fractions: the zone of four points, where the others lie, and
//! the gain of an exchange.

use std::cmp::Ordering;

use super::super::basis::Basis;
use super::super::exact::settle;
use super::super::number::{At, Number};
use super::super::ties::{Touch, balances};
use super::*;
use crate::wide::Wide;

/// Small whole points: many lie on one line, at one place, or on one plane.
fn small() -> impl Strategy<Value = (i128, i128, i128)> {
    (-4_i128..5, -4_i128..5, -9_i128..10)
}

fn at((x, y, z): (i128, i128, i128)) -> At<i128> {
    At { x, y, z }
}

fn turn((a, b, c): (At<i128>, At<i128>, At<i128>)) -> i128 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// The middle plane `[a, b, c]` of a basis and half the distance, as fractions, by Cramer's rule from
/// the three points with the largest triangle, each on its side.
fn plane(basis: &Basis<i128>) -> ([Figure; 3], Figure) {
    let half = Figure::new(basis.moment, basis.weight);
    let triples = [[1, 2, 3], [0, 2, 3], [0, 1, 3], [0, 1, 2]];
    let three = triples
        .into_iter()
        .max_by_key(|three| {
            let [one, two, other] = three.map(|j| basis.at[j]);
            turn((one, two, other)).abs()
        })
        .unwrap();
    let [one, two, other] = three.map(|j| {
        let side = i64::from(basis.sides[j]);
        (basis.at[j], Figure::new(basis.at[j].z, 1) - half * side)
    });
    let area = turn((one.0, two.0, other.0));
    let times = |figure: Figure, whole: i128| figure * i64::try_from(whole).unwrap();
    let (rise, risen) = (two.1 - one.1, other.1 - one.1);
    let over = |figure: Figure| figure / i64::try_from(area).unwrap();
    let a = over(times(rise, other.0.y - one.0.y) - times(risen, two.0.y - one.0.y));
    let b = over(times(risen, two.0.x - one.0.x) - times(rise, other.0.x - one.0.x));
    ([a, b, one.1 - times(a, one.0.x) - times(b, one.0.y)], half)
}

fn off(plane: [Figure; 3], point: At<i128>) -> Figure {
    let [a, b, c] = plane;
    let times = |figure: Figure, whole: i128| figure * i64::try_from(whole).unwrap();
    Figure::new(point.z, 1) - times(a, point.x) - times(b, point.y) - c
}

/// Weights of a basis balance, and its sums are theirs.
fn balanced(basis: &Basis<i128>) -> bool {
    let sum = |of: fn(At<i128>) -> i128| -> i128 {
        let parts = basis.weights.iter().zip(basis.sides).zip(basis.at);
        parts.map(|((weight, side), at)| weight * i128::from(side) * of(at)).sum()
    };
    let weights: i128 = basis.weights.iter().sum();
    sum(|_| 1) == 0
        && sum(|at| at.x) == 0
        && sum(|at| at.y) == 0
        && sum(|at| at.z) == basis.moment
        && basis.weights.iter().all(|weight| *weight >= 0)
        && weights == basis.weight
}

/// The same in wider numbers and in floats.
fn others<T: Number>(basis: &Basis<i128>, number: impl Fn(i128) -> T) -> bool {
    let places = basis.at.map(|at| At { x: number(at.x), y: number(at.y), z: number(at.z) });
    let other = Basis::of(basis.rows, places).unwrap();
    other.sides == basis.sides
        && other.weights == basis.weights.map(&number)
        && other.moment == number(basis.moment)
        && other.weight == number(basis.weight)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn four_points_hold_a_zone_and_every_other_stands_where_fractions_say(
        four in prop::array::uniform4(small()), points in prop::collection::vec(small(), 1..6),
    ) {
        let four = four.map(at);
        let Some(basis) = Basis::of([0, 1, 2, 3], four) else {
            let [one, two, three, last] = four;
            let turns = [(one, two, three), (one, two, last), (one, three, last), (two, three, last)];
            prop_assert!(turns.into_iter().all(|three| turn(three) == 0), "not on one line");
            return Ok(());
        };
        prop_assert!(balanced(&basis) && basis.moment >= 0);
        prop_assert!(others(&basis, Wide::from) && others(&basis, float));
        let (middle, half) = plane(&basis);
        let in_floats = basis.plane();
        prop_assert!((in_floats.half - half.to_f64()).abs() < 1e-12);
        for point in points.into_iter().map(at).chain(four) {
            let off = off(middle, point);
            let stand = basis.stand(point);
            prop_assert_eq!((stand.upper, stand.lower), (off.cmp(&half), off.cmp(&-half)), "{:?}", point);
            let near = in_floats.off(At { x: float(point.x), y: float(point.y), z: float(point.z) });
            prop_assert!((near - off.to_f64()).abs() < 1e-10);
            prop_assert_eq!(stand.outside(), if off > half { 1 } else if off < -half { -1 } else { 0 });
        }
    }

    #[test]
    fn a_point_that_joins_widens_the_zone_or_leaves_it_as_wide(
        four in prop::array::uniform4(small()), point in small(),
    ) {
        let Some(basis) = Basis::of([0, 1, 2, 3], four.map(at)) else { return Ok(()) };
        let point = at(point);
        let side = basis.stand(point).outside();
        prop_assume!(side != 0);
        let joined = basis.exchange(9, point, side).unwrap();
        prop_assert!(balanced(&joined) && joined.rows.contains(&9));
        let place = joined.rows.iter().position(|row| *row == 9).unwrap();
        prop_assert_eq!((joined.at[place], joined.sides[place]), (point, side));
        // Three of the four stay, each on its side.
        for (row, (at, kept)) in joined.rows.iter().zip(joined.at.iter().zip(joined.sides)).filter(|(row, _)| **row != 9) {
            prop_assert_eq!((*at, kept), (basis.at[*row], basis.sides[*row]));
        }
        let half = |basis: &Basis<i128>| Figure::new(basis.moment, basis.weight);
        prop_assert!(half(&joined) >= half(&basis), "{basis:?} {joined:?}");
        prop_assert!(half(&joined) > half(&basis) || !basis.is_rigid());
    }

    #[test]
    fn what_is_settled_holds_every_point_and_names_all_that_touch(points in prop::collection::vec(small(), 3..12)) {
        let at: Vec<At<i128>> = points.into_iter().map(at).collect();
        let rows: Vec<usize> = (0..at.len()).map(|row| 3 * row).collect();
        let Some(settled) = settle(&rows, &at, None) else {
            let flat = |j: usize, k: usize| turn((at[0], at[j], at[k])) == 0;
            prop_assert!((0..at.len()).all(|j| (0..at.len()).all(|k| flat(j, k))));
            return Ok(());
        };
        let stand: Vec<_> = at.iter().map(|point| settled.basis.stand(*point)).collect();
        prop_assert!(stand.iter().all(|stand| stand.outside() == 0));
        let touching = |of: &dyn Fn(usize) -> Ordering| -> Vec<usize> {
            (0..at.len()).filter(|place| of(*place) == Ordering::Equal).map(|place| 3 * place).collect()
        };
        let [upper, lower] = &settled.touching;
        prop_assert_eq!(upper, &touching(&|place| stand[place].upper));
        prop_assert_eq!(lower, &touching(&|place| stand[place].lower));
        // Begun anywhere, or from its own four, it is as wide.
        let half = Figure::new(settled.basis.moment, settled.basis.weight);
        let start = Some((settled.basis.rows, settled.basis.sides));
        let again = settle(&rows, &at, start).unwrap().basis;
        prop_assert_eq!(Figure::new(again.moment, again.weight), half);
        let turned: Vec<At<i128>> = at.iter().rev().copied().collect();
        let other = settle(&rows, &turned, None).unwrap().basis;
        prop_assert_eq!(Figure::new(other.moment, other.weight), half);
    }

    #[test]
    fn every_balance_that_is_offered_balances_on_its_sides(
        points in prop::collection::vec((small(), -1_i8..2), 2..8),
    ) {
        let touching: Vec<Touch<i128>> = points.iter().enumerate()
            .map(|(row, (point, side))| Touch { row, at: at(*point), side: *side })
            .collect();
        let mut found = 0;
        let mut wrong = None;
        balances(&touching, |parts| {
            found += 1;
            let sum = |of: fn(At<i128>) -> i128| -> i128 {
                parts.iter().map(|(row, weight)| weight * of(touching[*row].at)).sum()
            };
            let agrees = parts.iter().all(|(row, weight)| {
                *weight != 0 && i128::from(touching[*row].side) * weight.signum() >= 0
            });
            let balanced = sum(|_| 1) == 0 && sum(|at| at.x) == 0 && sum(|at| at.y) == 0;
            if !(agrees && balanced && (2..=4).contains(&parts.len())) {
                wrong = Some(parts.to_vec());
            }
        });
        prop_assert_eq!(wrong, None);
        // Two at one place on different sides are always one.
        let pair = points.iter().enumerate().any(|(k, (one, up))| {
            points[..k].iter().any(|(other, down)| (one.0, one.1) == (other.0, other.1) && up * down <= 0)
        });
        prop_assert!(!pair || found > 0);
    }
}

//! Passes over columns in lanes and blocks, against one plain loop, for every length there is a rest of.

use super::super::basis::Plane;
use super::super::number::{At, Number, turn};
use super::super::scan::{Columns, Pass, farthest};
use super::*;
use crate::wide::Wide;

/// Points of a length, drawn.
fn columns(length: usize, dice: &mut Dice) -> [Vec<f64>; 3] {
    let mut column =
        || (0..length).map(|_| float(i128::from(dice.below(1 << 20) - (1 << 19))) / 64.0).collect();
    [column(), column(), column()]
}

const PLANE: Plane = Plane { a: 0.25, b: -1.5, c: 12.0, half: 0.0 };

/// The distances from the plane, one after the other: small whole parts, so that every order of sums
/// gives the same.
fn plainly([x, y, z]: &[Vec<f64>; 3], origin: At<f64>) -> Vec<f64> {
    let off = |row: usize| {
        z[row] - origin.z - PLANE.a * (x[row] - origin.x) - PLANE.b * (y[row] - origin.y) - PLANE.c
    };
    (0..z.len()).map(off).collect()
}

fn lengths() -> impl Iterator<Item = usize> {
    (1..=34).chain(120..=137).chain([255, 256, 257, 1_000, 1_031])
}

#[test]
fn lowest_and_highest_of_a_pass_are_those_of_a_loop() {
    let mut dice = Dice(5);
    for length in lengths() {
        let all = columns(length, &mut dice);
        let [x, y, z] = &all;
        let origin = At { x: x[0], y: y[0], z: z[0] };
        let offs = plainly(&all, origin);
        let (low, high) = offs
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), off| (low.min(*off), high.max(*off)));
        let mut pass = Pass::new(Columns { x, y, z, origin }, PLANE);
        let span = pass.span();
        assert_eq!(
            (span.low.to_bits(), span.high.to_bits()),
            (low.to_bits(), high.to_bits()),
            "{length}"
        );
        assert_eq!(span.reach().to_bits(), high.max(-low).to_bits());
        assert!(pass.is_finite());
        // The farthest row, and all that are farther off than some distance, in their order.
        let (off, row) = farthest(Columns { x, y, z, origin }, &PLANE);
        assert_eq!(
            (offs[row].to_bits(), off.abs().to_bits()),
            (off.to_bits(), span.reach().to_bits()),
            "{length}"
        );
        for within in [0.0, span.reach() / 2.0, span.reach() * 0.9, span.reach()] {
            let (mut rows, mut begun) = (Vec::new(), 0);
            let mut pass = Pass::new(Columns { x, y, z, origin }, PLANE);
            let most = pass.outside(within, |block| begun += block.len(), |row| rows.push(row));
            let expected: Vec<usize> =
                (0..length).filter(|row| offs[*row].abs() > within).collect();
            assert_eq!(
                (rows, begun, most.to_bits()),
                (expected, length, span.reach().to_bits()),
                "{length}"
            );
        }
    }
}

#[test]
fn the_first_of_the_farthest_rows_is_named_on_either_side() {
    for length in [5, 128, 129, 400] {
        for (row, off) in [(0, 7.0), (3, -7.0), (length - 1, 7.0), (length / 2, -7.0)] {
            let mut z = vec![0.0; length];
            z[row] = off;
            // As far on a later row of the same side.
            if row + 1 < length {
                z[row + 1] = off;
            }
            let flat = vec![0.0; length];
            let origin = At { x: 0.0, y: 0.0, z: 0.0 };
            let level = Plane { a: 0.0, b: 0.0, c: 0.0, half: 0.0 };
            let found = farthest(Columns { x: &flat, y: &flat, z: &z, origin }, &level);
            assert_eq!((found.0.to_bits(), found.1), (off.to_bits(), row), "{length}");
        }
    }
}

#[test]
fn a_number_that_is_none_is_seen_wherever_it_stands() {
    let mut dice = Dice(6);
    for length in [1, 7, 8, 9, 130, 300] {
        for row in [0, length / 2, length - 1] {
            for column in 0..3 {
                for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                    let mut all = columns(length, &mut dice);
                    all[column][row] = bad;
                    let [x, y, z] = &all;
                    let origin = At { x: 1.0, y: 2.0, z: 3.0 };
                    let columns = Columns { x, y, z, origin };
                    let mut pass = Pass::new(columns, PLANE);
                    pass.span();
                    assert!(!pass.is_finite(), "{bad} in {column}, row {row} of {length}");
                    let mut pass = Pass::new(columns, PLANE);
                    pass.outside(f64::INFINITY, |_| (), |_| ());
                    assert!(!pass.is_finite());
                    assert!(farthest(columns, &PLANE).0.is_nan());
                    let cloud = crate::Cloud::new(x, y, z).unwrap();
                    assert_eq!(cloud.not_finite(), Some(row));
                    let refused = Err(crate::CloudError::NotFinite(row));
                    assert_eq!(crate::minimum_zone_of_cloud(&cloud), refused);
                    assert_eq!(crate::exact_zone_of_cloud(&cloud), refused);
                }
            }
        }
    }
}

/// The three kinds of numbers agree about everything the exchange asks of them.
fn agree(a: i64, b: i64, c: i64, d: i64) {
    let narrow = [a, b, c, d].map(i128::from);
    let wide = narrow.map(Wide::from);
    let floats = narrow.map(float);
    for (place, number) in narrow.iter().enumerate() {
        let sides = [number.side(), wide[place].side(), floats[place].side()];
        assert_eq!(sides, [i8::try_from(number.signum()).unwrap(); 3]);
        let near = [number.near(), wide[place].near(), floats[place].near()].map(f64::to_bits);
        assert_eq!(near, [float(*number).to_bits(); 3]);
        assert_eq!(wide[place].size(), Wide::from(number.abs()));
        for side in [-1, 0, 1] {
            let times = number * i128::from(side);
            assert_eq!((number.times(side), wide[place].times(side)), (times, Wide::from(times)));
        }
    }
    let order = (narrow[0] * narrow[1]).cmp(&(narrow[2] * narrow[3]));
    let compared = [
        i128::compare_products(narrow[0], narrow[1], narrow[2], narrow[3]),
        Wide::compare_products(wide[0], wide[1], wide[2], wide[3]),
    ];
    assert_eq!(compared, [order; 2]);
}

#[test]
fn numbers_of_each_kind_agree() {
    let mut dice = Dice(7);
    let ends = [0, 1, -1, 1 << 52, -(1 << 52)];
    for a in ends {
        for b in ends {
            agree(a, b, b, a);
            agree(a, b, a, a);
            agree(a, b, -a, b);
        }
    }
    for _ in 0..500 {
        let mut draw = || dice.below(1 << 30) - (1 << 29);
        agree(draw(), draw(), draw(), draw());
    }
    // Twice the area, counter-clockwise above zero; products beyond 128 bits are compared, too.
    let at = |x: i128, y: i128| At { x, y, z: 0 };
    assert_eq!(turn(at(1, 1), at(4, 1), at(1, 5)), 12);
    assert_eq!(turn(at(1, 1), at(1, 5), at(4, 1)), -12);
    assert_eq!(turn(at(0, 0), at(3, 3), at(-7, -7)), 0);
    let large = 1_i128 << 100;
    assert_eq!(
        i128::compare_products(large, large, large - 1, large + 1),
        std::cmp::Ordering::Greater
    );
    assert_eq!(i128::compare_products(-large, large, large, 1 - large), std::cmp::Ordering::Less);
}

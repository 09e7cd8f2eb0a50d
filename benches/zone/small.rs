//! Small sets of whole numbers, and their zone found the plain way: by trying every two, three and four
//! points.

use std::cmp::Ordering;

use geometry::Point;
use quantity::{Figure, Grid};

use super::sets::Dice;

/// Kinds of small sets.
pub(crate) const KINDS: [&str; 10] = [
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

/// Places on a circle of 25, exact.
const CIRCLE: [(i64, i64); 12] = [
    (25, 0),
    (24, 7),
    (20, 15),
    (15, 20),
    (7, 24),
    (0, 25),
    (-7, 24),
    (-20, 15),
    (-25, 0),
    (-15, -20),
    (0, -25),
    (20, -15),
];

/// A set of one of the kinds.
pub(crate) fn set(kind: usize, points: i64, dice: &mut Dice) -> Vec<Point> {
    let (side, slope) = (dice.below(50) + 2, (dice.below(9) - 4, dice.below(9) - 4));
    (0..points)
        .map(|row| {
            let any = (dice.below(2001) - 1000, dice.below(2001) - 1000);
            let (x, y) = match kind {
                1 => (dice.below(3) * side, dice.below(3) * side),
                2 => (any.0 * slope.0, any.0 * slope.1),
                3 => CIRCLE[usize::try_from(dice.below(12)).expect("small")],
                5 => (dice.below(3) * 7, dice.below(2) * 5),
                6 => (row * 1_000_000, dice.below(2) + row * side),
                7 => (side, side),
                8 => (any.0, dice.below(2) * side),
                9 => (dice.below(5) - 2, dice.below(5) - 2),
                _ => any,
            };
            let height = match kind {
                4 => dice.below(3),
                5 => dice.below(4),
                9 => x * y + dice.below(2),
                _ if side % 3 == 0 => dice.below(5),
                _ => dice.below(10_000),
            };
            Point { at: Grid { x_nm: x, y_nm: y }, height }
        })
        .collect()
}

/// The zone by trying every two, three and four points as the ones that hold it open: the largest
/// of what these force is the least of all planes.
pub(crate) fn by_all_subsets(points: &[Point]) -> Figure {
    let mut best = (0_i128, 1_i128);
    let mut offer = |parts: &[(usize, i128)]| {
        let lift: i128 =
            parts.iter().map(|&(row, weight)| weight * i128::from(points[row].height)).sum();
        let weight: i128 = parts.iter().map(|part| part.1.abs()).sum();
        if weight > 0 && (lift.abs() * best.1).cmp(&(best.0 * weight)) == Ordering::Greater {
            best = (lift.abs(), weight);
        }
    };
    let at = |row: usize| (i128::from(points[row].at.x_nm), i128::from(points[row].at.y_nm));
    let area = |i: usize, j: usize, k: usize| {
        let ((x1, y1), (x2, y2), (x3, y3)) = (at(i), at(j), at(k));
        x1 * (y2 - y3) + x2 * (y3 - y1) + x3 * (y1 - y2)
    };
    for l in 0..points.len() {
        for k in 0..l {
            if at(k) == at(l) {
                offer(&[(k, 1), (l, -1)]);
            }
            for j in 0..k {
                if area(j, k, l) == 0 {
                    // On a line: weights by the longer of the two axes.
                    let along = |a: usize, b: usize| {
                        let (dx, dy) = (at(a).0 - at(b).0, at(a).1 - at(b).1);
                        let (wide, tall) = (at(j).0 - at(l).0, at(j).1 - at(l).1);
                        let (wide2, tall2) = (at(j).0 - at(k).0, at(j).1 - at(k).1);
                        let level = wide.abs().max(wide2.abs()) >= tall.abs().max(tall2.abs());
                        if level { dx } else { dy }
                    };
                    offer(&[(j, along(k, l)), (k, along(l, j)), (l, along(j, k))]);
                }
                for i in 0..j {
                    offer(&[
                        (i, area(j, k, l)),
                        (j, -area(i, k, l)),
                        (k, area(i, j, l)),
                        (l, -area(i, j, k)),
                    ]);
                }
            }
        }
    }
    Figure::new(2 * best.0, best.1)
}

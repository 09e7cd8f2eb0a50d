//! Measured points, and whether their positions can carry a plane.

use std::cmp::Ordering;

use super::wide::compare_products;
use quantity::Grid;

/// A height at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Point {
    /// The place, exact on its grid of one nanometre.
    pub at: Grid,
    /// The height in picometres, or in a fraction of a picometre that the caller chooses: a sum over
    /// three tries is a height in thirds of a picometre, and then so is every width computed from it.
    pub height: i64,
}

/// What the positions of some points span.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rank {
    /// No point, or all at one place.
    OnePlace,
    /// All on one line.
    Line,
    /// At least three that are not on one line.
    Plane,
}

impl Rank {
    /// What is wrong with the positions, as a person reads it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::OnePlace => "all positions are one place",
            Self::Line => "all positions lie on one line",
            Self::Plane => "the positions span a plane",
        }
    }
}

/// What the positions span, decided in whole numbers for every position an `i64` holds.
#[must_use]
pub fn rank(points: &[Point]) -> Rank {
    let Some(first) = points.first() else { return Rank::OnePlace };
    let mut away = points.iter().map(|point| from(first, point)).filter(|step| *step != (0, 0));
    let Some(direction) = away.next() else { return Rank::OnePlace };
    if away.all(|step| parallel(direction, step)) { Rank::Line } else { Rank::Plane }
}

fn from(first: &Point, point: &Point) -> (i128, i128) {
    let step = |to: i64, start: i64| i128::from(to) - i128::from(start);
    (step(point.at.x_nm, first.at.x_nm), step(point.at.y_nm, first.at.y_nm))
}

/// Whether two steps, each below 2^65, point along one line.
fn parallel(one: (i128, i128), other: (i128, i128)) -> bool {
    let sign = |a: i128, b: i128| a.signum() * b.signum();
    let size = i128::unsigned_abs;
    sign(one.0, other.1) == sign(one.1, other.0)
        && compare_products(size(one.0), size(other.1), size(one.1), size(other.0))
            == Ordering::Equal
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(places: &[(i64, i64)]) -> Vec<Point> {
        places.iter().map(|&(x_nm, y_nm)| Point { at: Grid { x_nm, y_nm }, height: 0 }).collect()
    }

    #[test]
    fn positions_are_told_apart_to_the_last_nanometre() {
        assert_eq!(rank(&[]), Rank::OnePlace);
        assert_eq!(rank(&places(&[(3, 4), (3, 4)])), Rank::OnePlace);
        assert_eq!(rank(&places(&[(0, 0), (0, 0), (2, 6), (-1, -3)])), Rank::Line);
        assert_eq!(rank(&places(&[(0, 0), (1_000_000_000, 1), (2_000_000_000, 2)])), Rank::Line);
        assert_eq!(rank(&places(&[(0, 0), (1_000_000_000, 1), (2_000_000_000, 3)])), Rank::Plane);
    }

    #[test]
    fn the_ends_of_the_range_do_not_overflow() {
        let (low, high) = (i64::MIN, i64::MAX);
        assert_eq!(rank(&places(&[(low, low), (high, high), (0, 0)])), Rank::Line);
        assert_eq!(rank(&places(&[(low, low), (high, high), (0, 1)])), Rank::Plane);
        assert_eq!(rank(&places(&[(0, 0), (1, 1), (1, -1)])), Rank::Plane);
    }
}

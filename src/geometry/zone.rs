//! The minimum zone of measured heights, exact.
//!
//! The zone is vertical: the least `max e − min e` over all planes, `e` being heights minus the
//! plane. The distance square to the plane is cos(tilt) times that; on a bench, where a face is
//! tilted by less than 0.1 mm/m and its form is below 0.1 mm, the two differ by less than a
//! picometre (1 − cos(10⁻⁴) = 5·10⁻⁹).
//!
//! It is found through its dual. A *balance* is a set of points with weights whose sum and moments are
//! zero: two points at one place, three on a line, or four of which no three are on a line. Adding a
//! plane to the heights does not change `Σ w·z` of a balance, so no plane can make the zone narrower
//! than `2·|Σ w·z| / Σ|w|`. The least zone is as wide as the largest of these bounds (linear programming
//! duality, common knowledge). In the best balance, points with a positive weight touch the upper plane,
//! the others the lower.
//!
//! Four points are exchanged, in floats, for points that lie outside, until none does. Then the same
//! four are checked in whole numbers, with every point that floats cannot place for certain, and the
//! exchange goes on there if needed. So the answer is exact whatever the floats gave.

mod basis;
mod cloud;
mod exact;
mod few;
mod lattice;
mod number;
mod scan;
mod search;
mod ties;

use num_rational::Ratio;

pub use self::cloud::{
    Cloud, CloudError, CloudZone, Method, exact_zone_of_cloud, minimum_zone_of_cloud,
};
pub(crate) use self::cloud::{positions_rank, residual_range};
use self::exact::{Settled, begin_with, merge, settle, uncertain};
use self::number::{At, Number};
use self::scan::Columns;
use self::search::{Extent, find};
use self::ties::held;
use super::plane::Slopes;
use super::rank::{Point, Rank, rank};
use quantity::Figure;

/// The widest spread of positions along one axis, in nanometres: 4.29 m.
const WIDEST_NM: i128 = 1 << 32;
/// The widest spread of heights, in picometres: 288 km. With both limits a weight stays below 2^65
/// and a weighted sum of four heights below 2^125.
const TALLEST: i128 = 1 << 58;

/// The two parallel planes, closest together, that hold all points between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// The vertical distance of the planes, exact, in the unit of the heights.
    pub width: Figure,
    /// The points that touch the upper plane of every such zone, rising.
    ///
    /// Usually there is one zone only, and these are all points that touch. Where the planes can still be
    /// tilted (all weight on one line), points that touch only one of the possible zones are left out.
    pub upper: Vec<usize>,
    /// The points that touch the lower plane of every such zone, rising.
    pub lower: Vec<usize>,
    /// The largest `Σ w²` of all balances that tie, with upper weights summing to 1 and lower ones to −1;
    /// 0 where the set is three points. Exact for positions within 1 m of each other, and to 60 bits
    /// beyond. Where more than 64 points touch, it is 2, which no balance exceeds.
    pub weights_squared: Ratio<i128>,
    /// The slopes of the planes, with the precision of a float; `None` where they can still be tilted.
    pub slopes: Option<Slopes>,
}

/// Why there is no zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ZoneError {
    /// The positions do not span a plane.
    #[error("{}", .0.text())]
    Positions(Rank),
    /// Positions spread over more than 4.29 m or heights over more than 288 km.
    #[error("positions spread over more than 4.29 m, or heights over more than 288 km")]
    TooLarge,
}

/// The minimum zone of `points`, proved exactly. The order of the points does not matter.
///
/// # Errors
/// Positions all at one place or on one line, or beyond the range of the arithmetic.
pub fn minimum_zone(points: &[Point]) -> Result<Zone, ZoneError> {
    let refused = || match rank(points) {
        Rank::Plane => ZoneError::TooLarge,
        rank @ (Rank::OnePlace | Rank::Line) => ZoneError::Positions(rank),
    };
    let shifted = Shifted::of(points).ok_or_else(refused)?;
    let settled = shifted.settled().ok_or_else(refused)?;
    Ok(shifted.zone(&settled))
}

/// Points relative to the first of them, exact and in floats.
#[derive(Debug)]
struct Shifted<'a> {
    points: &'a [Point],
    first: Point,
    columns: [Vec<f64>; 3],
}

impl<'a> Shifted<'a> {
    /// `None` when there is no point or they spread too far.
    fn of(points: &'a [Point]) -> Option<Self> {
        let first = *points.first()?;
        let parts: [fn(&Point) -> i64; 3] = [|p| p.at.x_nm, |p| p.at.y_nm, |p| p.height];
        let within = |of: fn(&Point) -> i64, limit: i128| {
            let ends = points
                .iter()
                .map(of)
                .fold((i64::MAX, i64::MIN), |(low, high), value| (low.min(value), high.max(value)));
            i128::from(ends.1) - i128::from(ends.0) <= limit
        };
        if !(0..3).all(|part| within(parts[part], [WIDEST_NM, WIDEST_NM, TALLEST][part])) {
            return None;
        }
        // Now every difference fits.
        let column = |of: fn(&Point) -> i64| {
            points.iter().map(|point| near(of(point) - of(&first))).collect::<Vec<f64>>()
        };
        Some(Self { points, first, columns: parts.map(column) })
    }

    fn at(&self, row: usize) -> At<i128> {
        let (point, first) = (self.points[row], self.first);
        At {
            x: i128::from(point.at.x_nm - first.at.x_nm),
            y: i128::from(point.at.y_nm - first.at.y_nm),
            z: i128::from(point.height - first.height),
        }
    }

    /// The planes that hold all points; `None` when the positions do not span a plane.
    fn settled(&self) -> Option<Settled<i128>> {
        let [x, y, z] = &self.columns;
        let columns = Columns { x, y, z, origin: At { x: 0.0, y: 0.0, z: 0.0 } };
        let all = || (0..self.points.len()).collect::<Vec<usize>>();
        let found = find(columns, 0.0);
        let extent = found.map_or_else(|| Extent::of(&columns, 0.0), |found| found.extent);
        let mut start = found.map(|found| (found.basis.rows, found.basis.sides));
        let mut kept = found.map_or_else(all, |found| begin_with(columns, &found));
        loop {
            let places: Vec<At<i128>> = kept.iter().map(|&row| self.at(row)).collect();
            let Some(settled) = settle(&kept, &places, start) else {
                if kept.len() == self.points.len() {
                    return None;
                }
                kept = all();
                continue;
            };
            let basis = &settled.basis;
            let three = basis.at.map(lattice::near);
            let triangle = basis.weights.iter().max().map_or(0.0, |weight| weight.near());
            let more = uncertain(columns, &extent, &basis.plane(), &three, triangle);
            if !merge(&mut kept, &more) {
                return Some(settled);
            }
            start = Some((basis.rows, basis.sides));
        }
    }

    fn zone(&self, settled: &Settled<i128>) -> Zone {
        let basis = &settled.basis;
        let held = held(settled, |row| self.at(row), squares);
        let plane = basis.plane();
        Zone {
            width: Figure::new(2 * basis.moment, basis.weight),
            upper: held.upper,
            lower: held.lower,
            weights_squared: held.measure.unwrap_or(Ratio::new_raw(2, 1)),
            slopes: held.rigid.then_some(Slopes { x: plane.a, y: plane.b }),
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "the search allows for the rounding")]
const fn near(whole: i64) -> f64 {
    whole as f64
}

/// `Σ w²` of these weights, scaled so that the upper ones sum to 1.
fn squares(weights: &[i128; 4]) -> Ratio<i128> {
    let divisor = weights.iter().fold(0, |divisor, &weight| gcd(divisor, weight));
    if divisor == 0 {
        return Ratio::new_raw(0, 1);
    }
    let weights = weights.map(|weight| weight / divisor);
    // Squares of four weights must fit into 126 bits.
    let total: i128 = weights.iter().sum();
    let excess = (128 - total.leading_zeros()).saturating_sub(62);
    let weights = weights.map(|weight| weight >> excess);
    let total: i128 = weights.iter().sum();
    Ratio::new(4 * weights.iter().map(|weight| weight * weight).sum::<i128>(), total * total)
}

const fn gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests;

//! The least-squares plane of points given as floats, as a file holds them.

use super::count;
use super::plane::Slopes;
use super::plane_double::Double;
use super::rank::Rank;
use super::zone::{Cloud, CloudError, positions_rank, residual_range};

/// How wide the positions spread across their longest direction, as a share of the spread along it,
/// both squared. Below this share, sums made in one pass would cost more than two digits.
const NEARLY_LINE: f64 = 1e-2;
/// Below this share, whole numbers decide whether the positions are on a line.
const PERHAPS_LINE: f64 = 1e-22;
/// Sets up to this size are summed with compensation for rounding: about a millisecond at most.
const CAREFUL: usize = 32_768;
/// Points that are summed before their sums are added up.
const BLOCK: usize = 128;
/// Sums kept side by side.
const LANES: usize = 8;

/// How a least-squares plane was obtained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Sums of one pass over numbers relative to the middle of some of them.
    OnePass,
    /// Directions made square to each other (Gram and Schmidt), in floats with twice the digits.
    Orthogonal,
}

/// The least-squares plane of a cloud whose positions span a plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloudPlane {
    /// The slopes: height per position.
    pub slopes: Slopes,
    /// The mean position: there the plane is at `level`.
    pub centre: [f64; 2],
    /// The mean height.
    pub level: f64,
    /// The height of the plane at the origin of the positions.
    pub intercept: f64,
    /// How it was obtained.
    pub fit: Fit,
}

impl CloudPlane {
    /// Largest minus smallest distance from the plane along z: flatness by least squares, in the
    /// unit of the heights. Goes through all points once more.
    #[must_use]
    pub fn width(&self, cloud: &Cloud) -> f64 {
        residual_range(cloud, self.slopes, self.centre, self.level)
    }
}

/// The least-squares plane of a cloud. It minimises the squares of the distances along z, with the
/// same weight for every point.
///
/// # Errors
/// Positions all at one place or on one line, and numbers that are not finite.
pub fn least_squares_of_cloud(cloud: &Cloud) -> Result<CloudPlane, CloudError> {
    if cloud.is_empty() {
        return Err(CloudError::Positions(Rank::OnePlace));
    }
    let middle = middle(cloud);
    let moments = Moments::of(cloud, middle).total();
    if !moments.iter().all(|moment| moment.to_f64().is_finite())
        && let Some(row) = cloud.not_finite()
    {
        return Err(CloudError::NotFinite(row));
    }
    match solved(cloud.len(), moments, middle) {
        Some(plane) => Ok(plane),
        None => orthogonal(cloud, middle),
    }
}

/// The mean of some of the points. Sums relative to it stay small.
fn middle(cloud: &Cloud) -> [f64; 3] {
    let step = (cloud.len() / 32).max(1);
    cloud.columns().map(|column| {
        let some = column.iter().step_by(step);
        let first = column[0];
        let sum: f64 = some.clone().map(|value| value - first).sum();
        first + sum / count(some.len())
    })
}

/// Sums of x, xx, xy, y, yy, yz, z, zz and zx, in lanes, and what was rounded off them.
#[derive(Debug, Clone, Copy)]
struct Moments {
    sums: [Lanes; 9],
    lost: [Lanes; 9],
}

type Lanes = [f64; LANES];

impl Moments {
    /// Sums all points in one pass.
    fn of(cloud: &Cloud, middle: [f64; 3]) -> Self {
        let mut all = Self { sums: [[0.0; LANES]; 9], lost: [[0.0; LANES]; 9] };
        let careful = cloud.len() <= CAREFUL;
        let [x, y, z] = cloud.columns().map(|column| column.chunks(BLOCK));
        for ((x, y), z) in x.zip(y).zip(z) {
            let block = [x, y, z];
            for axis in 0..3 {
                let next = (axis + 1) % 3;
                let pair = [block[axis], block[next]];
                let about = [middle[axis], middle[next]];
                if careful {
                    all.add_carefully(3 * axis, pair, about);
                } else {
                    all.add_block(3 * axis, &sums(pair, about));
                }
            }
        }
        all
    }

    /// Adds the sums of a block and keeps what rounding drops.
    #[inline]
    fn add_block(&mut self, first: usize, block: &[Lanes; 3]) {
        let totals = self.sums[first..].as_flattened_mut();
        let lost = self.lost[first..].as_flattened_mut();
        for ((total, lost), &sum) in totals.iter_mut().zip(lost).zip(block.as_flattened()) {
            let exact = Double::sum(*total, sum);
            *total = exact.high();
            *lost += exact.low();
        }
    }

    /// As [`sums`], keeping what rounding drops from every product and every sum.
    fn add_carefully(&mut self, first: usize, [a, b]: [&[f64]; 2], [a0, b0]: [f64; 2]) {
        let mut take = |lane: usize, a: f64, b: f64| {
            let [one, other] = [Double::difference(a, a0), Double::difference(b, b0)];
            let terms = [one, one.times(one), one.times(other)];
            for (place, term) in (first..).zip(terms) {
                let sum = Double::sum(self.sums[place][lane], term.high());
                self.sums[place][lane] = sum.high();
                self.lost[place][lane] += sum.low() + term.low();
            }
        };
        let [(eights_a, rest_a), (eights_b, rest_b)] = [a, b].map(<[f64]>::as_chunks::<LANES>);
        for (a, b) in eights_a.iter().zip(eights_b) {
            for lane in 0..LANES {
                take(lane, a[lane], b[lane]);
            }
        }
        for (lane, (a, b)) in rest_a.iter().zip(rest_b).enumerate() {
            take(lane, *a, *b);
        }
    }

    fn total(&self) -> [Double; 9] {
        let mut totals = [Double::ZERO; 9];
        for (total, (sums, lost)) in totals.iter_mut().zip(self.sums.iter().zip(&self.lost)) {
            let lost: f64 = lost.iter().sum();
            *total = sums.iter().fold(Double::from(lost), |total, &sum| total.plus(sum));
        }
        totals
    }
}

/// Sums of a, aa and ab of a block, relative to the middles.
#[inline]
fn sums([a, b]: [&[f64]; 2], [a0, b0]: [f64; 2]) -> [Lanes; 3] {
    let [mut one, mut square, mut product] = [[0.0; LANES]; 3];
    let [(eights_a, rest_a), (eights_b, rest_b)] = [a, b].map(<[f64]>::as_chunks::<LANES>);
    for (a, b) in eights_a.iter().zip(eights_b) {
        for lane in 0..LANES {
            let (a, b) = (a[lane] - a0, b[lane] - b0);
            one[lane] += a;
            square[lane] += a * a;
            product[lane] += a * b;
        }
    }
    for (lane, (a, b)) in rest_a.iter().zip(rest_b).enumerate() {
        let (a, b) = (a - a0, b - b0);
        one[lane] += a;
        square[lane] += a * a;
        product[lane] += a * b;
    }
    [one, square, product]
}

/// The plane from the sums; `None` when the positions are nearly on a line.
fn solved(points: usize, moments: [Double; 9], middle: [f64; 3]) -> Option<CloudPlane> {
    let points = Double::from(count(points));
    let [x, xx, xy, y, yy, yz, z, _, xz] = moments;
    // Moments about the mean.
    let about = |product: Double, one: Double, other: Double| product - one * other / points;
    let (xx, yy, xy) = (about(xx, x, x), about(yy, y, y), about(xy, x, y));
    let (xz, yz) = (about(xz, x, z), about(yz, y, z));
    let area = xx * yy - xy * xy;
    let along = xx.to_f64() + yy.to_f64();
    let across = area.to_f64() / along;
    // The spread across is the smaller eigenvalue of the moments, which is about area / along.
    if across.is_nan() || across <= along * NEARLY_LINE {
        return None;
    }
    let slope = [(xz * yy - yz * xy) / area, (yz * xx - xz * xy) / area];
    Some(assembled(slope, [x / points, y / points, z / points], middle, Fit::OnePass))
}

/// Puts a plane together from its slopes and its mean point, which is relative to a middle.
fn assembled(slopes: [Double; 2], mean: [Double; 3], middle: [f64; 3], fit: Fit) -> CloudPlane {
    let place = |axis: usize| Double::from(middle[axis]) + mean[axis];
    let intercept = place(2) - slopes[0] * place(0) - slopes[1] * place(1);
    CloudPlane {
        slopes: Slopes { x: slopes[0].to_f64(), y: slopes[1].to_f64() },
        centre: [place(0).to_f64(), place(1).to_f64()],
        level: place(2).to_f64(),
        intercept: intercept.to_f64(),
        fit,
    }
}

/// The plane of positions that are nearly on a line.
fn orthogonal(cloud: &Cloud, middle: [f64; 3]) -> Result<CloudPlane, CloudError> {
    let points = Double::from(count(cloud.len()));
    let exact = |column: usize, row: usize| {
        Double::difference(cloud.columns()[column][row], middle[column])
    };
    let rows = || 0..cloud.len();
    let mean = [0, 1, 2]
        .map(|column| rows().fold(Double::ZERO, |sum, row| sum + exact(column, row)) / points);
    let centred = |column: usize, row: usize| exact(column, row) - mean[column];
    let product = |one: &dyn Fn(usize) -> Double, other: &dyn Fn(usize) -> Double| {
        rows().fold(Double::ZERO, |sum, row| sum + one(row) * other(row))
    };
    let spread = |column: usize| product(&|row| centred(column, row), &|row| centred(column, row));
    let (spread_x, spread_y) = (spread(0), spread(1));
    // The longer axis first, then what the other has beside it.
    let swapped = spread_y.to_f64() > spread_x.to_f64();
    let (long, short, length) = if swapped { (1, 0, spread_y) } else { (0, 1, spread_x) };
    if length.to_f64() > 0.0 {
        let along = |row: usize| centred(long, row);
        let height = |row: usize| centred(2, row);
        let shared = product(&along, &|row| centred(short, row)) / length;
        let beside = |row: usize| centred(short, row) - shared * along(row);
        let rest = product(&beside, &beside);
        let spans = rest.to_f64() > length.to_f64() * PERHAPS_LINE
            || rest.to_f64() > 0.0 && positions_rank(cloud) == Rank::Plane;
        if spans {
            let short_slope = product(&beside, &height) / rest;
            let long_slope = product(&along, &height) / length - shared * short_slope;
            let slopes =
                if swapped { [short_slope, long_slope] } else { [long_slope, short_slope] };
            return Ok(assembled(slopes, mean, middle, Fit::Orthogonal));
        }
    }
    Err(CloudError::Positions(positions_rank(cloud)))
}

#[cfg(test)]
mod tests;

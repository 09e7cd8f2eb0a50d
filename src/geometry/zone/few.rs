//! A few points out of many: samples, and the points a pass leaves over.

use super::basis::{Basis, Plane};
use super::number::At;
use super::scan::{Columns, LANES, larger, smaller};
use super::search::start;
use crate::count;

/// The size of the largest sample.
const MOST_SAMPLED: usize = 1 << 16;
/// How wide positions spread across their longest direction, as a share of the spread along it, both
/// squared. Below this share a sample does not give a plane.
const NEARLY_LINE: f64 = 1e-6;
/// Each of the eight lanes of a sample has a point farthest off the plane. Sorted rising, the one at
/// this place is about as far off as a twentieth of all points reach. With fewer points the next pass
/// finds what is missing; with more, each point costs time.
const USUAL: usize = 3;

/// Some points, relative to the origin of the columns they come from.
#[derive(Debug)]
pub(super) struct Few {
    pub(super) rows: Vec<usize>,
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
}

impl Few {
    pub(super) fn of(columns: &Columns, rows: Vec<usize>) -> Self {
        let take = |column: &[f64], origin: f64| {
            rows.iter().map(|&row| column[row] - origin).collect::<Vec<f64>>()
        };
        let origin = columns.origin;
        let [x, y, z] =
            [take(columns.x, origin.x), take(columns.y, origin.y), take(columns.z, origin.z)];
        Self { rows, x, y, z }
    }

    pub(super) fn columns(&self) -> Columns<'_> {
        Columns { x: &self.x, y: &self.y, z: &self.z, origin: At { x: 0.0, y: 0.0, z: 0.0 } }
    }

    /// Groups of eight neighbouring rows (one cache line), one group at a random place in each of many
    /// stretches, so that no pattern in the rows is missed.
    pub(super) fn sample(columns: &Columns) -> Self {
        let points = columns.len();
        let wanted = (16 * points).isqrt().max(points / 64).min(MOST_SAMPLED) / LANES;
        let mut few = Self {
            rows: Vec::with_capacity(wanted * LANES),
            x: Vec::with_capacity(wanted * LANES),
            y: Vec::with_capacity(wanted * LANES),
            z: Vec::with_capacity(wanted * LANES),
        };
        let stretch = points / wanted;
        let mut dice = 0x9e37_79b9_u64;
        for number in 0..wanted {
            dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(0x1405_7b7e_f767_814f);
            let spare = (stretch - LANES + 1) as u64;
            let from = number * stretch + usize::try_from((dice >> 33) % spare).unwrap_or(0);
            let (eight, origin) = (from..from + LANES, columns.origin);
            few.rows.extend(eight.clone());
            few.x.extend(columns.x[eight.clone()].iter().map(|x| x - origin.x));
            few.y.extend(columns.y[eight.clone()].iter().map(|y| y - origin.y));
            few.z.extend(columns.z[eight].iter().map(|z| z - origin.z));
        }
        few
    }

    /// A distance from the plane that only a few of the points exceed.
    pub(super) fn nearly_out(&self, plane: &Plane) -> f64 {
        let columns = self.columns();
        let mut offs: Vec<f64> =
            (0..columns.len()).map(|row| plane.off(columns.at(row)).abs()).collect();
        let few = (offs.len() / 512).clamp(6, 32);
        let place = offs.len() - few;
        *offs.select_nth_unstable_by(place, f64::total_cmp).1
    }
    /// A basis of these points, named by the rows they come from.
    pub(super) fn named(&self, mut basis: Basis<f64>) -> Basis<f64> {
        basis.rows = basis.rows.map(|row| self.rows[row]);
        basis
    }

    /// Adds more rows.
    pub(super) fn add(&mut self, columns: &Columns, rows: &[usize]) {
        for &row in rows {
            let at = columns.at(row);
            self.rows.push(row);
            self.x.push(at.x);
            self.y.push(at.y);
            self.z.push(at.z);
        }
    }

    /// A plane near the middle of the zone of a sample, and a distance from it that about a twentieth of
    /// the points exceed. The plane is the least-squares plane moved midway. `None` where the positions
    /// hardly span a plane.
    pub(super) fn guess(&self) -> Option<(Plane, f64)> {
        let mut plane = self.least_squares()?;
        let (mut low, mut high) = ([f64::INFINITY; LANES], [f64::NEG_INFINITY; LANES]);
        let eights = |column: &'_ [f64]| column.as_chunks::<LANES>().0.len();
        for eight in 0..eights(&self.z) {
            for lane in 0..LANES {
                let row = eight * LANES + lane;
                let off = self.z[row] - plane.a * self.x[row] - plane.b * self.y[row] - plane.c;
                low[lane] = smaller(off, low[lane]);
                high[lane] = larger(off, high[lane]);
            }
        }
        let lowest = low.into_iter().fold(f64::INFINITY, smaller);
        let middle = f64::midpoint(lowest, high.into_iter().fold(f64::NEG_INFINITY, larger));
        plane.c += middle;
        let mut most = [0.0; LANES];
        for (most, (low, high)) in most.iter_mut().zip(low.into_iter().zip(high)) {
            *most = larger(middle - low, high - middle);
        }
        most.sort_unstable_by(f64::total_cmp);
        Some((plane, most[USUAL]))
    }

    /// The least-squares plane: the least sum of squares of height minus plane.
    fn least_squares(&self) -> Option<Plane> {
        let columns = [&self.x, &self.y, &self.z];
        let middle = columns.map(|column| mean(column));
        let about = |one: usize, other: usize| {
            lanes(columns[one], columns[other], |a, b| (a - middle[one]) * (b - middle[other]))
        };
        let (xx, yy, xy) = (about(0, 0), about(1, 1), about(0, 1));
        let (xz, yz) = (about(0, 2), about(1, 2));
        let area = xx * yy - xy * xy;
        if area.is_nan() || area <= (xx + yy).powi(2) * NEARLY_LINE {
            return None;
        }
        let (a, b) = ((xz * yy - yz * xy) / area, (yz * xx - xz * xy) / area);
        Some(Plane { a, b, c: middle[2] - a * middle[0] - b * middle[1], half: 0.0 })
    }

    /// The highest and the lowest point relative to the plane in each quarter of the positions.
    fn quarters(&self, plane: &Plane) -> [[Option<usize>; 4]; 2] {
        let (x, y) = (mean(&self.x), mean(&self.y));
        let mut most = [[0.0; 4]; 2];
        let mut rows = [[None; 4]; 2];
        let columns = self.columns();
        for row in 0..self.rows.len() {
            let at = columns.at(row);
            let off = plane.off(at);
            let quarter = usize::from(at.x > x) + 2 * usize::from(at.y > y);
            let side = usize::from(off < 0.0);
            if off.abs() > most[side][quarter] {
                most[side][quarter] = off.abs();
                rows[side][quarter] = Some(row);
            }
        }
        rows
    }

    /// Adds the points of a sample that are farthest off in each quarter: without them a plane through
    /// the rest could be tilted far out.
    pub(super) fn add_quarters(&mut self, sample: &Self, plane: &Plane) {
        for place in sample.quarters(plane).into_iter().flatten().flatten() {
            self.rows.push(sample.rows[place]);
            self.x.push(sample.x[place]);
            self.y.push(sample.y[place]);
            self.z.push(sample.z[place]);
        }
    }

    /// The highest points in two opposite quarters and the lowest in the two others, in the combination
    /// that gives the wider zone.
    pub(super) fn crossing(&self, plane: &Plane) -> Option<Basis<f64>> {
        let [high, low] = self.quarters(plane);
        let columns = self.columns();
        let basis = |four: [Option<usize>; 4]| {
            let [Some(a), Some(b), Some(c), Some(d)] = four else { return None };
            let rows = [a, b, c, d];
            Basis::of(rows, rows.map(|row| columns.at(row)))
        };
        let one = basis([high[0], low[1], low[2], high[3]]);
        let other = basis([low[0], high[1], high[2], low[3]]);
        let wider = |one: &Basis<f64>, other: &Basis<f64>| {
            (one.moment * other.weight).total_cmp(&(other.moment * one.weight))
        };
        let wide = one.into_iter().chain(other).max_by(wider);
        wide.or_else(|| start(columns)).map(|basis| self.named(basis))
    }
}

fn mean(column: &[f64]) -> f64 {
    lanes(column, column, |value, _| value) / count(column.len())
}

/// The sum of `of` over two columns of one length, in lanes.
fn lanes(a: &[f64], b: &[f64], of: impl Fn(f64, f64) -> f64) -> f64 {
    let mut sums = [0.0; LANES];
    let ((a, rest_a), (b, rest_b)) = (a.as_chunks::<LANES>(), b.as_chunks::<LANES>());
    for (a, b) in a.iter().zip(b) {
        for lane in 0..LANES {
            sums[lane] += of(a[lane], b[lane]);
        }
    }
    sums.iter().sum::<f64>() + rest_a.iter().zip(rest_b).map(|(a, b)| of(*a, *b)).sum::<f64>()
}

//! The minimum zone of points given as floats, as a file holds them.

use super::basis::Plane;
use super::exact::{Settled, Start, begin_with, merge, settle, uncertain};
use super::lattice::{Lattice, Step, in_units, lattice};
use super::number::{At, Number, turn};
use super::scan::{Columns, Pass, Span, larger};
use super::search::{Extent, PlaneFound, ROUND, find, shares};
use super::ties::held;
use crate::plane::Slopes;
use crate::rank::Rank;

/// Points in columns: positions in one unit (say mm), heights in one unit (say µm).
#[derive(Debug, Clone, Copy)]
pub struct Cloud<'a> {
    x: &'a [f64],
    y: &'a [f64],
    z: &'a [f64],
}

impl<'a> Cloud<'a> {
    /// Points from three columns.
    ///
    /// # Errors
    /// When the columns differ in length. Whether all numbers are finite is checked when they are used.
    pub fn new(x: &'a [f64], y: &'a [f64], z: &'a [f64]) -> Result<Self, CloudError> {
        let even = x.len() == y.len() && y.len() == z.len();
        even.then_some(Self { x, y, z }).ok_or(CloudError::Lengths)
    }

    /// How many points.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.z.len()
    }

    /// Whether there are no points.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.z.is_empty()
    }

    pub(crate) const fn columns(&self) -> [&'a [f64]; 3] {
        [self.x, self.y, self.z]
    }

    /// The first row with a number that is not finite.
    pub(crate) fn not_finite(&self) -> Option<usize> {
        (0..self.len()).find(|&row| {
            ![self.x[row], self.y[row], self.z[row]].iter().all(|value| value.is_finite())
        })
    }
}

/// Why a cloud has no plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CloudError {
    /// The columns differ in length.
    #[error("the columns differ in length")]
    Lengths,
    /// A number is not finite.
    #[error("row {0} holds a number that is not finite")]
    NotFinite(usize),
    /// The positions do not span a plane.
    #[error("{}", .0.text())]
    Positions(Rank),
    /// The positions are too nearly on one line for floats, and their numbers differ too much in size
    /// for the exact path.
    #[error("the positions are nearly on one line, and their digits reach over more than 96 bits")]
    Range,
}

/// How a zone was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Exchange of four points in floats, with a certificate that bounds the rounding error.
    Floats,
    /// Proved in whole numbers of 128 bits.
    Exact128,
    /// Proved in whole numbers of 512 bits.
    Exact512,
}

/// The two parallel planes, closest together along z, that hold all points of a cloud.
#[derive(Debug, Clone, PartialEq)]
pub struct CloudZone {
    /// The distance of the planes along z, in the unit of the heights. This is what is minimised.
    pub width: f64,
    /// How far the true least width may be from `width`, in the unit of the heights. This holds for the
    /// floats and for the decimals they stand for.
    pub within: f64,
    /// The slopes of the planes: height per position. Where the planes can be tilted, one of the choices.
    pub slopes: Slopes,
    /// The rows that touch the upper plane, that is, have a weight in a balance that fixes the zone.
    /// Usually two and two, or three and one; fewer where the planes can be tilted; more where several
    /// balances fix it at once, which only the exact path can tell.
    pub upper: Vec<usize>,
    /// The rows that touch the lower plane.
    pub lower: Vec<usize>,
    /// One balance: rows with their weights, upper ones summing to 1, lower ones to −1. Empty when the
    /// zone has no width.
    pub weights: Vec<(usize, f64)>,
    /// The largest `Σ w²` of a balance; 0 where the set is three points; 2, which no balance exceeds, where
    /// more than 64 points touch.
    pub weights_squared: f64,
    /// How it was found.
    pub method: Method,
    /// Whether it is proved: `within` is at most 10⁻⁹ of the width, by the exact path where floats do not
    /// reach that. False only where the digits reach over more than 96 bits.
    pub certified: bool,
}

impl CloudZone {
    /// The distance of these two planes square to them: `width · cos(tilt)`, in the unit of the
    /// heights. `heights_in_position` is how many units of height make one unit of position: 1000 for
    /// µm over mm.
    ///
    /// On a steep face another pair of parallel planes may be closer square to them, since the planes
    /// closest along z are then not the closest. Below 1 mm/m of tilt the two distances differ by less
    /// than a millionth.
    #[must_use]
    pub fn perpendicular(&self, heights_in_position: f64) -> f64 {
        let tilt = self.slopes.x.hypot(self.slopes.y) / heights_in_position;
        self.width / tilt.hypot(1.0)
    }
}

/// The minimum zone of a cloud of any size.
///
/// Up to 160 points are searched as they are. With more, a sample shows roughly where the planes are;
/// one pass over all points then finds the few that could lie outside, and only these are searched.
/// The answer is certified in floats, or else proved in whole numbers.
///
/// # Errors
/// Positions all at one place or on one line, and numbers that are not finite.
pub fn minimum_zone_of_cloud(cloud: &Cloud) -> Result<CloudZone, CloudError> {
    match find(columns_of(cloud)?, ROUND) {
        Some(found) if found.is_certain() => Ok(in_floats(&found, true)),
        found => exact(cloud, found.as_ref()),
    }
}

/// As [`minimum_zone_of_cloud`], but always proved in whole numbers.
///
/// # Errors
/// Positions all at one place or on one line, and numbers that are not finite.
pub fn exact_zone_of_cloud(cloud: &Cloud) -> Result<CloudZone, CloudError> {
    exact(cloud, find(columns_of(cloud)?, ROUND).as_ref())
}

fn columns_of<'a>(cloud: &Cloud<'a>) -> Result<Columns<'a>, CloudError> {
    let [x, y, z] = cloud.columns();
    let (Some(&x0), Some(&y0), Some(&z0)) = (x.first(), y.first(), z.first()) else {
        return Err(CloudError::Positions(Rank::OnePlace));
    };
    Ok(Columns { x, y, z, origin: At { x: x0, y: y0, z: z0 } })
}

fn in_floats(found: &PlaneFound, certified: bool) -> CloudZone {
    let (half, within) = found.bounds();
    let (basis, shares) = (&found.basis, shares(&found.basis));
    let rows = |side: i8| {
        let mut rows: Vec<usize> =
            (0..4).filter(|&j| basis.sides[j] == side).map(|j| basis.rows[j]).collect();
        rows.sort_unstable();
        rows
    };
    CloudZone {
        width: 2.0 * half,
        within: 2.0 * within,
        slopes: Slopes { x: found.plane.a, y: found.plane.b },
        upper: rows(1),
        lower: rows(-1),
        weights: basis.rows.into_iter().zip(shares).collect(),
        weights_squared: shares.iter().map(|share| share * share).sum(),
        method: Method::Floats,
        certified,
    }
}

/// The exact path: works in whole numbers on the points that floats cannot place for certain.
fn exact(cloud: &Cloud, found: Option<&PlaneFound>) -> Result<CloudZone, CloudError> {
    let columns = columns_of(cloud)?;
    if found.is_none()
        && let Some(row) = cloud.not_finite()
    {
        return Err(CloudError::NotFinite(row));
    }
    let all = || (0..cloud.len()).collect::<Vec<usize>>();
    let mut proof = Proof {
        columns,
        extent: found.map_or_else(|| Extent::of(&columns, ROUND), |found| found.extent),
        kept: found.map_or_else(all, |found| begin_with(columns, found)),
        start: found.map(|found| (found.basis.rows, found.basis.sides)),
    };
    loop {
        let Some((lattice, steps)) = proof.lattice() else {
            return found.map(|found| in_floats(found, false)).ok_or(CloudError::Range);
        };
        let zone = match lattice {
            Lattice::Narrow(at) => proof.settle(&at, steps, Method::Exact128),
            Lattice::Wide(at) => proof.settle(&at, steps, Method::Exact512),
        };
        match zone {
            Round::Done(zone) => return Ok(*zone),
            Round::More => {}
            Round::NoPlane if proof.kept.len() == cloud.len() => {
                return Err(CloudError::Positions(proof.rank()));
            }
            Round::NoPlane => proof.kept = all(),
        }
    }
}

/// The result of one round of a proof.
enum Round {
    Done(Box<CloudZone>),
    /// More points must be looked at.
    More,
    /// The points looked at lie on one line.
    NoPlane,
}

struct Proof<'a> {
    columns: Columns<'a>,
    extent: Extent,
    kept: Vec<usize>,
    start: Option<Start>,
}

impl Proof<'_> {
    /// The points that are looked at, the origin first.
    fn lattice(&self) -> Option<(Lattice, [Step; 3])> {
        let take = |column: &[f64]| {
            let rows = std::iter::once(0).chain(self.kept.iter().copied());
            rows.map(|row| column[row]).collect::<Vec<f64>>()
        };
        let [x, y, z] = [self.columns.x, self.columns.y, self.columns.z].map(take);
        lattice([&x, &y, &z])
    }

    fn settle<T: Number>(&mut self, at: &[At<T>], steps: [Step; 3], method: Method) -> Round {
        let at = &at[1..];
        let Some(settled) = settle(&self.kept, at, self.start) else { return Round::NoPlane };
        let basis = &settled.basis;
        let plane = in_units(basis.plane(), steps);
        let four = basis.rows.map(|row| self.columns.at(row));
        let more = uncertain(self.columns, &self.extent, &plane, &four, largest_triangle(&four));
        if merge(&mut self.kept, &more) {
            self.start = Some((basis.rows, basis.sides));
            return Round::More;
        }
        Round::Done(Box::new(self.zone(&settled, at, plane, method)))
    }

    fn zone<T: Number>(
        &self,
        settled: &Settled<T>,
        at: &[At<T>],
        plane: Plane,
        method: Method,
    ) -> CloudZone {
        let place = |row: usize| at[self.kept.binary_search(&row).unwrap_or(0)];
        let held = held(settled, place, squares);
        let flat = settled.basis.moment.side() == 0;
        let weights = settled.basis.rows.into_iter().zip(shares(&settled.basis));
        let width = 2.0 * plane.half;
        CloudZone {
            width,
            within: 8.0 * ROUND * width,
            slopes: Slopes { x: plane.a, y: plane.b },
            upper: held.upper,
            lower: held.lower,
            weights: weights.filter(|&(_, share)| !flat && share != 0.0).collect(),
            weights_squared: held.measure.unwrap_or(2.0),
            method,
            certified: true,
        }
    }

    /// The rank of positions that all lie on one line.
    fn rank(&self) -> Rank {
        let flat = |span: Span| span.high <= span.low;
        if flat(self.extent.x) && flat(self.extent.y) { Rank::OnePlace } else { Rank::Line }
    }
}

/// Twice the area of the largest triangle of four points.
fn largest_triangle(four: &[At<f64>; 4]) -> f64 {
    let [a, b, c, d] = *four;
    [turn(a, b, c), turn(a, b, d), turn(a, c, d), turn(b, c, d)]
        .iter()
        .fold(0.0, |most, turn| larger(most, turn.abs()))
}

/// `Σ w²` of these weights, scaled so that the upper ones sum to 1.
pub(super) fn squares<T: Number>(weights: &[T; 4]) -> f64 {
    let weights = weights.map(Number::near);
    let total: f64 = weights.iter().sum();
    if total > 0.0 {
        weights.iter().map(|weight| (2.0 * weight / total).powi(2)).sum()
    } else {
        0.0
    }
}

/// What the positions of a cloud of finite numbers span, decided in whole numbers. Where their digits
/// reach too far for these, more than one place counts as a plane.
pub(crate) fn positions_rank(cloud: &Cloud) -> Rank {
    let [x, y, _] = cloud.columns();
    let even = |column: &[f64]| column.iter().all(|value| value.total_cmp(&column[0]).is_eq());
    let one_place = even(x) && even(y);
    if one_place {
        return Rank::OnePlace;
    }
    let spans = match lattice([x, y, x]) {
        Some((Lattice::Narrow(at), _)) => spans(&at),
        Some((Lattice::Wide(at), _)) => spans(&at),
        None => true,
    };
    if spans { Rank::Plane } else { Rank::Line }
}

/// Whether not all of these places are on a line.
fn spans<T: Number>(at: &[At<T>]) -> bool {
    let Some((&first, rest)) = at.split_first() else { return false };
    let mut away = rest.iter().filter(|at| (at.x, at.y) != (first.x, first.y));
    away.next().is_some_and(|&one| away.any(|&other| turn(first, one, other).side() != 0))
}

/// Largest minus smallest distance along z from the plane with these slopes through a point.
pub(crate) fn residual_range(cloud: &Cloud, slopes: Slopes, centre: [f64; 2], level: f64) -> f64 {
    let [x, y, z] = cloud.columns();
    let columns = Columns { x, y, z, origin: At { x: centre[0], y: centre[1], z: level } };
    let plane = Plane { a: slopes.x, b: slopes.y, c: 0.0, half: 0.0 };
    let span = Pass::new(columns, plane).span();
    span.high - span.low
}

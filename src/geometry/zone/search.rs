//! The search for a zone in floats. What it finds is the answer or close to it; the proof comes
//! after.

use super::basis::{Basis, Plane};
use super::few::Few;
use super::number::{At, Number, turn};
use super::scan::{Columns, Pass, Span, Spans, farthest, larger};

/// After this many exchanges in a row without gain, the search leaves the rest to exact numbers.
const MOST_IDLE: u32 = 8;
/// The most exchanges of one search: several times what any set of the tests and benchmarks needed.
const MOST_EXCHANGES: u32 = 300;
/// Larger sets begin with a sample.
const FEW: usize = 160;
/// Sets larger than this are searched by a sample of many points.
const SOME: usize = 4096;
/// The most rows that the first pass over a set of medium size may leave over.
const MOST_BEGUN: usize = 512;
/// The most passes over all points before they are exchanged one by one.
const MOST_PASSES: u32 = 6;
/// The most points that may be left over in addition to a quarter of all.
const MOST_LEFT: usize = 4096;
/// Half the distance from 1 to the next float.
pub(super) const ROUND: f64 = f64::EPSILON / 2.0;

/// How far the columns reach, relative to their origin, and how exact their numbers are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extent {
    pub(super) x: Span,
    pub(super) y: Span,
    /// How far the number that is meant may be from the float given for it, as a share of its own
    /// size: 0 for floats that are exact, [`ROUND`] for floats that stand for decimals.
    pub(super) meant_within: f64,
    origin: At<f64>,
}

impl Extent {
    fn new(columns: &Columns, x: Span, y: Span, meant_within: f64) -> Self {
        let about =
            |span: Span, origin: f64| Span { low: span.low - origin, high: span.high - origin };
        let origin = columns.origin;
        Self { x: about(x, origin.x), y: about(y, origin.y), meant_within, origin }
    }

    pub(super) fn of(columns: &Columns, meant_within: f64) -> Self {
        let (mut x, mut y) = (Spans::NONE, Spans::NONE);
        x.take(columns.x);
        y.take(columns.y);
        Self::new(columns, x.span(), y.span(), meant_within)
    }

    /// How far a coordinate relative to the origin may be from the true one.
    pub(super) fn place_error(&self) -> (f64, f64) {
        let error = |reach: f64, origin: f64| {
            1.5 * ROUND * reach + 2.0 * self.meant_within * (reach + origin.abs())
        };
        (error(self.x.reach(), self.origin.x), error(self.y.reach(), self.origin.y))
    }

    /// How far a height of this size, relative to the origin, may be from the true one.
    pub(super) fn height_error(&self, reach: f64) -> f64 {
        1.5 * ROUND * reach + 2.0 * self.meant_within * (reach + self.origin.z.abs())
    }

    /// The largest height, relative to the origin, of points no farther than `off` from a plane.
    pub(super) fn heights(&self, plane: &Plane, off: f64) -> f64 {
        let leaning = plane.a.abs() * self.x.reach() + plane.b.abs() * self.y.reach();
        off + leaning + plane.c.abs()
    }

    /// How far a computed distance from the plane may be from the true one.
    ///
    /// It is the rounding, with a relative error of 2⁻⁵³, of products and sums whose terms together are at
    /// most twice the heights from the origin of the floats, rounded up; plus the errors of the input.
    pub(super) fn error(&self, plane: &Plane, off: f64) -> f64 {
        let heights = self.heights(plane, off);
        let (x, y) = self.place_error();
        let given = self.height_error(heights) + plane.a.abs() * x + plane.b.abs() * y;
        let from = self.origin.z.abs()
            + plane.a.abs() * self.origin.x.abs()
            + plane.b.abs() * self.origin.y.abs();
        8.0 * ROUND * (heights + from) + given + f64::MIN_POSITIVE
    }

    /// The largest distance between two planes over all positions, whichever is above.
    fn apart(&self, one: &Plane, other: &Plane) -> f64 {
        let along = |slope: f64, span: Span| {
            let ends = [slope * span.low, slope * span.high];
            Span { low: ends[0].min(ends[1]), high: ends[0].max(ends[1]) }
        };
        let in_x = along(other.a - one.a, self.x);
        let in_y = along(other.b - one.b, self.y);
        let level = other.c - one.c;
        Span { low: in_x.low + in_y.low + level, high: in_x.high + in_y.high + level }.reach()
    }
}

/// What the search found.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlaneFound {
    pub(super) basis: Basis<f64>,
    pub(super) plane: Plane,
    /// No point is farther from the plane than this, apart from rounding.
    pub(super) farthest: f64,
    pub(super) extent: Extent,
}

/// The zone of finite columns as exactly as floats allow. `None` when floats see no plane in the
/// positions, or when a number is not finite.
pub(super) fn find(columns: Columns, meant_within: f64) -> Option<PlaneFound> {
    if columns.len() > FEW {
        let found = if columns.len() > SOME { None } else { find_in_some(columns, meant_within) };
        return found.or_else(|| find_in_many(columns, meant_within));
    }
    let extent = Extent::of(&columns, meant_within);
    let mut search = Search { basis: start(columns)?, farthest: 0.0 };
    search.settle(columns, &extent, |row| row)?;
    let plane = search.basis.plane();
    Some(PlaneFound { basis: search.basis, plane, farthest: search.farthest, extent })
}

#[derive(Debug)]
struct Search {
    basis: Basis<f64>,
    farthest: f64,
}

impl Search {
    /// The zone of a sample, with its points named by the rows they come from.
    fn of_sample(sample: &Few) -> Option<Self> {
        let basis = sample.named(find(sample.columns(), 0.0)?.basis);
        Some(Self { basis, farthest: 0.0 })
    }

    /// Exchanges points of `columns` until no point lies outside; `None` when that does not end or a number
    /// is not finite.
    fn settle(
        &mut self,
        columns: Columns,
        extent: &Extent,
        name: impl Fn(usize) -> usize,
    ) -> Option<()> {
        let mut idle = 0;
        for _ in 0..MOST_EXCHANGES {
            let plane = self.basis.plane();
            let (off, row) = farthest(columns, &plane);
            self.farthest = off.abs();
            let enough = plane.half + extent.error(&plane, plane.half) / 2.0;
            if !off.is_finite() || self.farthest <= enough || idle > MOST_IDLE {
                return off.is_finite().then_some(());
            }
            let side = if off > 0.0 { 1 } else { -1 };
            let Some(next) = self.basis.exchange(name(row), columns.at(row), side) else {
                return Some(());
            };
            let gained = next.moment * self.basis.weight > self.basis.moment * next.weight;
            idle = if gained { 0 } else { idle + 1 };
            self.basis = next;
        }
        None
    }
}

/// A first basis: the first point, one far from it, one far from these two, and the one farthest from
/// the plane through the three.
pub(super) fn start(columns: Columns) -> Option<Basis<f64>> {
    let most = |of: &dyn Fn(At<f64>) -> f64| {
        let (mut best, mut row) = (0.0, None);
        for candidate in 0..columns.len() {
            let value = of(columns.at(candidate));
            if value > best {
                (best, row) = (value, Some(candidate));
            }
        }
        row
    };
    let first = columns.at(0);
    let far = most(&|at| (at.x - first.x).abs() + (at.y - first.y).abs())?;
    let away = columns.at(far);
    let beside = most(&|at| turn(first, away, at).abs())?;
    let aside = columns.at(beside);
    let level = Basis::of([0, far, beside, 0], [first, away, aside, first])?.plane();
    let off = most(&|at| level.off(at).abs()).filter(|row| ![0, far, beside].contains(row));
    let last = off.or_else(|| (0..columns.len()).find(|row| ![0, far, beside].contains(row)))?;
    Basis::of([0, far, beside, last], [first, away, aside, columns.at(last)])
}

/// The result of one pass: all points but `few` are at most `within` off the plane.
#[derive(Debug)]
struct Sieve {
    plane: Plane,
    within: f64,
    extent: Extent,
    few: Few,
}

impl Sieve {
    /// `None` when a number is not finite, or far too many are left over.
    fn of(columns: &Columns, plane: Plane, within: f64, meant_within: f64) -> Option<Self> {
        let (mut x, mut y) = (Spans::NONE, Spans::NONE);
        let mut rows = Vec::with_capacity(256);
        let mut pass = Pass::new(*columns, plane);
        let mut left = MOST_LEFT + columns.len() / 4;
        let take = |block: &Columns| {
            x.take(block.x);
            y.take(block.y);
        };
        pass.outside(within, take, |row| {
            if left > 0 {
                left -= 1;
                rows.push(row);
            }
        });
        let finite = pass.is_finite() && left > 0;
        let few = Few::of(columns, rows);
        let extent = Extent::new(columns, x.span(), y.span(), meant_within);
        finite.then_some(Self { plane, within, extent, few })
    }

    /// The largest distance from another plane that a point not in `few` can have.
    fn reach(&self, plane: &Plane) -> f64 {
        self.within + self.extent.apart(&self.plane, plane)
    }
}

/// For sets of medium size. Starts with the least-squares plane of a sample; one pass over all points
/// picks those that are farthest off. Then the zone of these is found, and a further pass adds the
/// points outside it, until there are none. `None` where the sample gives no plane, too many points
/// are far off, or a number is not finite.
fn find_in_some(columns: Columns, meant_within: f64) -> Option<PlaneFound> {
    let sample = Few::sample(&columns);
    let (plane, within) = sample.guess()?;
    let Sieve { extent, mut few, .. } = Sieve::of(&columns, plane, within, meant_within)?;
    if few.rows.len() > MOST_BEGUN {
        return None;
    }
    few.add_quarters(&sample, &plane);
    let mut search = Search { basis: few.crossing(&plane)?, farthest: 0.0 };
    for _ in 0..MOST_PASSES {
        search.settle(few.columns(), &extent, |row| few.rows[row])?;
        let plane = search.basis.plane();
        let enough = plane.half + extent.error(&plane, plane.half) / 2.0;
        let (mut pass, mut rows) = (Pass::new(columns, plane), Vec::new());
        let farthest = pass.outside(enough, |_| (), |row| rows.push(row));
        if !pass.is_finite() {
            return None;
        }
        if rows.is_empty() {
            return Some(PlaneFound { basis: search.basis, plane, farthest, extent });
        }
        few.add(&columns, &rows);
    }
    None
}

/// For large sets. Starts with the zone of a sample; one pass over all points picks those that lie
/// outside it or nearly so. Then the zone of these is found. All other points lie inside as long as the
/// planes have not moved too far; if they have, the next pass starts from the better planes.
fn find_in_many(columns: Columns, meant_within: f64) -> Option<PlaneFound> {
    let sample = Few::sample(&columns);
    let mut search = Search::of_sample(&sample)?;
    let mut within = sample.nearly_out(&search.basis.plane());
    let mut known: Option<Extent> = None;
    for _ in 0..MOST_PASSES {
        let Some(sieve) = Sieve::of(&columns, search.basis.plane(), within, meant_within) else {
            break;
        };
        let few = &sieve.few;
        if !few.rows.is_empty() {
            search.settle(few.columns(), &sieve.extent, |row| few.rows[row])?;
        }
        let plane = search.basis.plane();
        let reach = sieve.reach(&plane);
        if reach <= plane.half {
            let farthest = larger(plane.half, search.farthest);
            return Some(PlaneFound { basis: search.basis, plane, farthest, extent: sieve.extent });
        }
        known = Some(sieve.extent);
        within = plane.half - (reach - sieve.within);
    }
    // Few points, or far too many that nearly touch: they are exchanged one by one.
    let extent = known.unwrap_or_else(|| Extent::of(&columns, meant_within));
    search.settle(columns, &extent, |row| row)?;
    let plane = search.basis.plane();
    Some(PlaneFound { basis: search.basis, plane, farthest: search.farthest, extent })
}

impl PlaneFound {
    /// Twice the area of the triangle of the three points that fix the planes.
    pub(super) fn triangle(&self) -> f64 {
        self.basis.weights.iter().copied().fold(0.0, larger)
    }

    /// How far the computed area of three points (twice it) may be from the true one.
    fn turn_error(&self) -> f64 {
        let (x, y) = (self.extent.x.reach(), self.extent.y.reach());
        let (in_x, in_y) = self.extent.place_error();
        32.0 * ROUND * x * y + 8.0 * (in_x * y + in_y * x)
    }

    /// What these planes prove: half the width, and its largest error. The four points alone make the zone
    /// nearly that wide, whatever the rounding; and all points lie between planes hardly farther apart.
    pub(super) fn bounds(&self) -> (f64, f64) {
        let (basis, half) = (&self.basis, self.plane.half);
        let turn = self.turn_error();
        let lifts = basis.at.map(|at| (at.z - basis.at[0].z).abs());
        let lifted: f64 = basis.weights.iter().zip(lifts).map(|(weight, lift)| weight * lift).sum();
        let heights = self.extent.heights(&self.plane, half);
        let moment_error = turn * lifts.iter().sum::<f64>()
            + 2.0 * basis.weight * self.extent.height_error(heights)
            + 8.0 * ROUND * lifted;
        let least = (basis.moment - moment_error) / (basis.weight + 5.0 * turn);
        let most = self.farthest + self.extent.error(&self.plane, self.farthest);
        (half, larger(most - half, half - least))
    }

    /// Whether the bounds are at most a billionth of the width apart, and no rounding can change
    /// the side of one of the four points.
    pub(super) fn is_certain(&self) -> bool {
        let (half, within) = self.bounds();
        let turn = self.turn_error();
        within <= 1e-9 * half && self.basis.weights.iter().all(|&weight| weight > turn)
    }
}

/// Weights with their sides as signs: upper ones sum to 1, lower ones to −1.
pub(super) fn shares<T: Number>(basis: &Basis<T>) -> [f64; 4] {
    let total = basis.weight.near();
    let mut shares = [0.0; 4];
    for (share, (weight, side)) in shares.iter_mut().zip(basis.weights.iter().zip(basis.sides)) {
        *share = 2.0 * weight.near() / total * f64::from(side);
    }
    shares
}

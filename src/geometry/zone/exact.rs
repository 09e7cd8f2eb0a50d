//! The proof in whole numbers: it looks at few points, since all others are certainly inside.

use super::basis::{Basis, Plane};
use super::lattice::near;
use super::number::{At, Number, turn};
use super::scan::{Columns, Pass, larger};
use super::search::{Extent, PlaneFound};

/// After this many exchanges the smallest row joins instead of the farthest, so that a search among
/// tied points ends.
const PATIENCE: u32 = 60;

/// The planes of some points, proved.
#[derive(Debug)]
pub(super) struct Settled<T> {
    pub(super) basis: Basis<T>,
    /// The rows that touch the upper plane, and the lower.
    pub(super) touching: [Vec<usize>; 2],
}

/// Four rows and their sides, to start from.
pub(super) type Start = ([usize; 4], [i8; 4]);

/// The zone of the points `at`, named by `rows` in ascending order; `None` when they lie on one
/// line in plan.
pub(super) fn settle<T: Number>(
    rows: &[usize],
    at: &[At<T>],
    start: Option<Start>,
) -> Option<Settled<T>> {
    let mut basis = start.and_then(|start| begin(rows, at, start)).or_else(|| first(rows, at))?;
    let mut exchanges = 0;
    loop {
        let plane = basis.plane();
        let mut joins: Option<(usize, i8, f64)> = None;
        for (place, &point) in at.iter().enumerate() {
            let side = basis.stand(point).outside();
            if side == 0 {
                continue;
            }
            let off = plane.off(near(point)).abs();
            if joins.is_none_or(|(_, _, most)| off > most) {
                joins = Some((place, side, off));
            }
            if exchanges > PATIENCE {
                break;
            }
        }
        let Some((place, side, _)) = joins else { break };
        basis = basis.exchange(rows[place], at[place], side)?;
        exchanges += 1;
    }
    let mut touching = [Vec::new(), Vec::new()];
    for (&row, &point) in rows.iter().zip(at) {
        let stand = basis.stand(point);
        for (side, against) in touching.iter_mut().zip([stand.upper, stand.lower]) {
            if against.is_eq() {
                side.push(row);
            }
        }
    }
    Some(Settled { basis, touching })
}

/// The basis of these four rows, on these sides when they can fix a zone there.
fn begin<T: Number>(rows: &[usize], at: &[At<T>], (four, sides): Start) -> Option<Basis<T>> {
    let mut places = [at[0]; 4];
    for (place, row) in places.iter_mut().zip(four) {
        *place = at[rows.binary_search(&row).ok()?];
    }
    Basis::on(four, places, sides)
        .filter(|basis| basis.moment.side() >= 0)
        .or_else(|| Basis::of(four, places))
}

/// A first basis in whole numbers; `None` when all points lie on one line in plan.
fn first<T: Number>(rows: &[usize], at: &[At<T>]) -> Option<Basis<T>> {
    let most = |of: &dyn Fn(At<T>) -> T| {
        let (mut best, mut place) = (T::NOTHING, None);
        for (candidate, &point) in at.iter().enumerate() {
            let value = of(point);
            if value > best {
                (best, place) = (value, Some(candidate));
            }
        }
        place
    };
    let start = *at.first()?;
    let far = most(&|at| (at.x - start.x).size() + (at.y - start.y).size())?;
    let beside = most(&|point| turn(start, at[far], point).size())?;
    let last = (1..at.len()).find(|&place| place != far && place != beside).unwrap_or(0);
    let four = [0, far, beside, last];
    Basis::of(four.map(|place| rows[place]), four.map(|place| at[place]))
}

/// The rows that may touch the exact planes or lie outside them; all others are certainly between
/// them. The float `plane` is close to the exact planes, which touch the points `three`.
///
/// At these three points the error of the float plane is what is seen there plus rounding. Elsewhere it
/// is at most the sum of the three errors times the ratio of the largest triangle to theirs.
pub(super) fn uncertain(
    columns: Columns,
    extent: &Extent,
    plane: &Plane,
    three: &[At<f64>],
    triangle: f64,
) -> Vec<usize> {
    let error = extent.error(plane, plane.half);
    let seen = three.iter().map(|&at| (plane.off(at).abs() - plane.half).abs()).fold(0.0, larger);
    let spread = (extent.x.high - extent.x.low) * (extent.y.high - extent.y.low);
    let (in_x, in_y) = extent.place_error();
    let triangle_error = 1e-15 * spread + 8.0 * (in_x * extent.y.reach() + in_y * extent.x.reach());
    let certain = triangle - triangle_error;
    let margin = error + 4.0 * (seen + error) * (1.0 + 3.0 * spread / certain);
    let inside = plane.half - margin;
    if !(certain > 0.0 && inside.is_finite()) {
        return (0..columns.len()).collect();
    }
    let mut rows = Vec::with_capacity(16);
    Pass::new(columns, *plane).outside(inside.next_down(), |_| (), |row| rows.push(row));
    rows
}

/// Adds rows to rows, both rising; whether any was new.
pub(super) fn merge(kept: &mut Vec<usize>, more: &[usize]) -> bool {
    let before = kept.len();
    let new: Vec<usize> =
        more.iter().copied().filter(|row| kept.binary_search(row).is_err()).collect();
    kept.extend(new);
    kept.sort_unstable();
    kept.len() > before
}

/// The rows that a proof starts with.
pub(super) fn begin_with(columns: Columns, found: &PlaneFound) -> Vec<usize> {
    let mut rows =
        uncertain(columns, &found.extent, &found.plane, &found.basis.at, found.triangle());
    merge(&mut rows, &{
        let mut four = found.basis.rows;
        four.sort_unstable();
        four
    });
    rows.dedup();
    rows
}

//! All balances that fix one zone, where more points touch than are needed.

use super::cloud::squares as roughly;
use super::exact::Settled;
use super::number::{At, Number, turn};

/// Up to this many contacts, every balance is tried for the largest weights.
const MOST_TIED: usize = 64;

/// What fixes a zone.
#[derive(Debug)]
pub(super) struct Held<M> {
    /// The rows with a positive weight in some balance.
    pub(super) upper: Vec<usize>,
    /// The rows with a negative weight in some balance.
    pub(super) lower: Vec<usize>,
    /// Whether the planes cannot be tilted.
    pub(super) rigid: bool,
    /// The largest measure of a balance; the measure of no weights where there is no balance; `None`
    /// where too many points touch to try all.
    pub(super) measure: Option<M>,
}

/// All balances of a zone taken together. `measure` gives a figure for the weights of one balance; it
/// rises with `Σ w²` of the weights scaled to sum to 1.
pub(super) fn held<T: Number, M: PartialOrd>(
    settled: &Settled<T>,
    at: impl Fn(usize) -> At<T>,
    measure: impl Fn(&[T; 4]) -> M,
) -> Held<M> {
    let basis = &settled.basis;
    let [mut upper, mut lower] = settled.touching.clone();
    let flat = basis.moment.side() == 0;
    let touching = if flat { upper.len() } else { upper.len() + lower.len() };
    if touching > MOST_TIED {
        return Held { upper, lower, rigid: true, measure: None };
    }
    if touching == 4 && basis.is_rigid() {
        return Held { upper, lower, rigid: true, measure: Some(measure(&basis.weights)) };
    }
    let (above, below) = if flat { (0, 0) } else { (1, -1) };
    let touch = |side: i8| move |&row: &usize| (row, side);
    let below_rows = if flat { &[] } else { lower.as_slice() };
    let touching: Vec<Touch<T>> = upper
        .iter()
        .map(touch(above))
        .chain(below_rows.iter().map(touch(below)))
        .map(|(row, side)| Touch { row, at: at(row), side })
        .collect();
    let (mut rows, mut rigid, mut most) = (Vec::new(), false, measure(&[T::NOTHING; 4]));
    let mut roughly_most = 0.0;
    balances(&touching, |parts| {
        rows.extend(parts.iter().map(|&(row, _)| row));
        rigid |= parts.len() == 4;
        let mut weights = [T::NOTHING; 4];
        for (weight, part) in weights.iter_mut().zip(parts) {
            *weight = part.1.size();
        }
        // In floats first: most balances are far below the largest.
        let about = roughly(&weights);
        if about >= roughly_most {
            roughly_most = about * (1.0 - 1e-9);
            let of_this = measure(&weights);
            if of_this > most {
                most = of_this;
            }
        }
    });
    if !flat {
        rows.sort_unstable();
        rows.dedup();
        upper.retain(|row| rows.binary_search(row).is_ok());
        lower.retain(|row| rows.binary_search(row).is_ok());
    }
    Held { upper, lower, rigid, measure: Some(most) }
}

/// A point that touches: its place in the list of points, and its side: 1 on the upper plane, −1
/// on the lower, 0 on both, when the zone has no width.
#[derive(Debug, Clone, Copy)]
pub(super) struct Touch<T> {
    pub(super) row: usize,
    pub(super) at: At<T>,
    pub(super) side: i8,
}

/// Calls `each` with every balance of touching points whose weights agree with their sides: two points
/// at one place, three on a line, or four of which no three are on a line. Upper weights are positive.
///
/// Agreement is enough: `Σ w·z` is then half the distance of the planes times `Σ |w|`.
pub(super) fn balances<T: Number>(touching: &[Touch<T>], mut each: impl FnMut(&[(usize, T)])) {
    let mut offer = |points: &[Touch<T>], weights: &[T]| {
        if let Some(turned) = agreement(points, weights) {
            let mut parts = [(0, T::NOTHING); 4];
            for (part, (point, weight)) in parts.iter_mut().zip(points.iter().zip(weights)) {
                *part = (point.row, weight.times(turned));
            }
            each(&parts[..points.len()]);
        }
    };
    for (first, &i) in touching.iter().enumerate() {
        for (second, &j) in touching.iter().enumerate().skip(first + 1) {
            if (i.at.x, i.at.y) == (j.at.x, j.at.y) {
                // Two equal and opposite weights of any size: twice an area is as good as 1.
                offer(&[i, j], &[T::ONE, -T::ONE]);
                continue;
            }
            for (third, &k) in touching.iter().enumerate().skip(second + 1) {
                let last = turn(i.at, j.at, k.at);
                if last.side() == 0 {
                    offer(&[i, j, k], &along([i.at, j.at, k.at]));
                    continue;
                }
                for &l in &touching[third + 1..] {
                    let weights = [
                        turn(j.at, k.at, l.at),
                        -turn(i.at, k.at, l.at),
                        turn(i.at, j.at, l.at),
                        -last,
                    ];
                    offer(&[i, j, k, l], &weights);
                }
            }
        }
    }
}

/// Weights of three points on one line: the distance of the two others along it.
fn along<T: Number>(at: [At<T>; 3]) -> [T; 3] {
    let upright = at[0].x == at[1].x && at[0].x == at[2].x;
    let [a, b, c] = at.map(|at| if upright { at.y } else { at.x });
    [b - c, c - a, a - b]
}

/// 1 when the weights have the signs of the sides, −1 when all have the opposite sign; `None` when
/// they do not agree, or when one is zero, since then fewer points are enough.
fn agreement<T: Number>(points: &[Touch<T>], weights: &[T]) -> Option<i8> {
    let mut turned = 0;
    for (point, weight) in points.iter().zip(weights) {
        let sign = weight.side();
        if sign == 0 || point.side * sign * turned < 0 {
            return None;
        }
        if point.side != 0 {
            turned = point.side * sign;
        }
    }
    Some(if turned == 0 { 1 } else { turned })
}

//! Signs that readings are misleading. The limits are defaults from memory of the trade.

use super::threshold::Times;
use geometry::FirstWave;
use quantity::{Figure, Length};

/// Whether a face or turn has too few touches to pass: fewer than 7. Six cannot see three lobes, four
/// cannot see a saddle.
#[must_use]
pub const fn too_few_positions(touches: usize) -> bool {
    touches < 7
}

/// Whether the resolution is above a quarter of the tolerance (common practice, no source).
#[must_use]
pub fn too_coarse(resolution: Length, tolerance: Figure) -> bool {
    Figure::from(resolution) * 4 > tolerance
}

/// The touch to ask for again: one that differs from the mean and first wave of the others by more
/// than the larger of T and `times`·u, usually 6·u. `None` where none does, or with fewer than five touches.
///
/// Heights are in the order of `angles_deg`. A real form of that size is asked about too, and it
/// repeats.
#[must_use]
pub fn wild_touch(
    angles_deg: &[f64],
    heights: &[Length],
    tolerance: Figure,
    (u, times): (Length, Times),
) -> Option<usize> {
    if heights.len() < 5 {
        return None;
    }
    let heights: Vec<f64> = heights.iter().map(|height| shown(height.picometres())).collect();
    let fit = FirstWave::fit(angles_deg, &heights)?;
    let limit = tolerance.to_f64().max(times.to_f64() * shown(u.picometres()));
    let wild = fit.left_out().into_iter().flatten().any(|off| off.abs() > limit);
    if wild { fit.most_doubtful() } else { None }
}

/// The share of a parallelism figure that is only tilt: 1 − (least-squares flatness)/(max − min),
/// both in the same unit; `None` where all readings are equal.
#[must_use]
pub fn plane_share(flatness: f64, max_minus_min: f64) -> Option<f64> {
    (max_minus_min > 0.0).then(|| 1.0 - flatness / max_minus_min)
}

/// Whether that share is so large that a chip under the part and a wedge ground in look the same.
#[must_use]
pub fn mostly_tilt(plane_share: f64) -> bool {
    plane_share >= 0.9
}

/// The uncertainty of the high side's direction: ± degrees, k = 2, for `touches` equally spaced touches
/// and the `tilt` of the plane over the diameter they lie on. At most 180, which means unknown.
#[must_use]
pub fn high_side_within(touches: usize, u: Length, tilt: f64) -> f64 {
    let touches = f64::from(u32::try_from(touches).unwrap_or(u32::MAX));
    let standard = (2.0 / touches).sqrt() * shown(u.picometres()) / (tilt / 2.0);
    // Zero tilt gives infinity or not a number, and `min` turns both into 180.
    (2.0 * standard).to_degrees().min(180.0)
}

/// The uncertainty of the direction of a vector whose standard uncertainty is `u` in every direction and
/// which is `amount` long, in the same unit: ± degrees, k = 2. At most 180, which means unknown.
#[must_use]
pub fn direction_within(u: Length, amount: f64) -> f64 {
    if u == Length::ZERO {
        return 0.0;
    }
    (2.0 * shown(u.picometres()) / amount).to_degrees().min(180.0)
}

/// The result of the half-turn test on a tilt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HalfTurn {
    /// High and low stayed at the same places of the part: a wedge.
    Wedge,
    /// They changed: dirt, a burr or the plate.
    Dirt,
}

/// Compares high minus low `before` and `after`. In between, the part was lifted, wiped and set back half
/// a turn round on the plate; the same spots of the part are touched. Up to max(T/4, `times`·u) counts as no
/// change; usually that is 4·u, the expanded uncertainty of a difference of two differences.
#[must_use]
pub fn half_turn(
    before: Figure,
    after: Length,
    tolerance: Figure,
    (u, times): (Length, Times),
) -> HalfTurn {
    let change = (Figure::from(after) - before).abs();
    let stays = change <= (tolerance / 4).max(times.of(Figure::from(u)));
    if stays { HalfTurn::Wedge } else { HalfTurn::Dirt }
}

/// Whether two tries differ by more than max(T/2, `times`·u), usually 6·u, at a position, so that the part has changed.
#[must_use]
pub fn tries_differ(difference: Figure, tolerance: Figure, (u, times): (Length, Times)) -> bool {
    difference.abs() > (tolerance / 2).max(times.of(Figure::from(u)))
}

/// Picometres as a float: a bench length has fewer than 53 bits.
#[expect(clippy::cast_precision_loss, reason = "a hint to a person, not a verdict")]
const fn shown(picometres: i64) -> f64 {
    picometres as f64
}

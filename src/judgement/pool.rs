//! What a bench has seen of its own repeatability: many small differences that should be zero, pooled into
//! one standard deviation that a bumped stand does not spoil.

use std::num::NonZeroU32;

use super::doubt::Freedom;
use quantity::Length;

/// Differences are clipped at so many standard deviations (Huber, Robust Statistics, proposal 2; from
/// memory).
const CLIP: f64 = 2.5;
/// Mean of `min(|z|, CLIP)²` of a normal value z: what clipping takes from good work is given back.
const KEPT: f64 = 0.9776;
/// What clipping costs of the degrees of freedom of good work.
const EFFICIENCY: f64 = 0.95;
/// A mean beyond so many of its own standard errors is no chance.
const DRIFTS: f64 = 3.0;

/// A standard deviation pooled from the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pooled {
    /// Of one touch, rounded up to a picometre; at least what rounding to the last place makes, q/√12.
    pub s: Length,
    /// From how much it is known.
    pub freedom: Freedom,
    /// How many differences it is from.
    pub count: u32,
    /// The mean of the differences, where it is more than chance: it is taken out of `s`, for a steady
    /// walk is no scatter.
    pub drift: Option<Length>,
}

impl Pooled {
    /// Of returns to one spot: each is the later reading minus the earlier, so it holds the scatter of
    /// two touches. `resolution` is the step of the readings. `None` without a return.
    #[must_use]
    pub fn returns(differences: &[Length], resolution: Length) -> Option<Self> {
        let values: Vec<f64> = differences.iter().map(|one| picometres(*one)).collect();
        let count = count_of(&values)?;
        let mean = clipped_mean(&values);
        let about = |centre: f64| scale(values.iter().map(|value| value - centre));
        let of_one = about(mean);
        let drifts = mean.abs() > DRIFTS * of_one / f64::from(count.get()).sqrt();
        let two = if drifts { of_one } else { about(0.0) };
        let spent = u32::from(drifts);
        Some(Self {
            s: at_least_rounding(two / std::f64::consts::SQRT_2, resolution),
            freedom: degrees(count.get().saturating_sub(spent)),
            count: count.get(),
            drift: drifts.then(|| length(mean)),
        })
    }

    /// Of lifts: sets of readings of one spot each, pooled about the mean of each set. `None` where no set
    /// has two readings.
    #[must_use]
    pub fn lifts(sets: &[&[Length]], resolution: Length) -> Option<Self> {
        let mut residuals = Vec::new();
        let mut free = 0_u32;
        for set in sets.iter().filter(|set| set.len() > 1) {
            let values: Vec<f64> = set.iter().map(|one| picometres(*one)).collect();
            let count = count_of(&values)?.get();
            let centre = clipped_mean(&values);
            // A mean lies nearer to its own readings than the truth does.
            let widened = (f64::from(count) / f64::from(count - 1)).sqrt();
            residuals.extend(values.iter().map(|value| (value - centre) * widened));
            free = free.saturating_add(count - 1);
        }
        let count = count_of(&residuals)?.get();
        let s = at_least_rounding(scale(residuals.iter().copied()), resolution);
        Some(Self { s, freedom: degrees(free), count, drift: None })
    }
}

/// Huber's proposal 2 about zero: the σ at which `mean min(|x|, 2.5σ)² = 0.9776·σ²`. Zero where more than
/// four fifths of the values are zero, so that no σ does.
fn scale(values: impl Iterator<Item = f64>) -> f64 {
    let mut squares: Vec<f64> = values.map(|value| value * value).collect();
    squares.sort_by(f64::total_cmp);
    let count = squares.len();
    // With the m largest clipped: σ²·(0.9776·n − 6.25·m) is the sum of the others, if just those are
    // beyond the clip.
    let mut sum: f64 = squares.iter().sum();
    for clipped in 0..=count {
        let left = KEPT.mul_add(float(count), -CLIP * CLIP * float(clipped));
        if left <= 0.0 {
            break;
        }
        let square = sum.max(0.0) / left;
        let limit = CLIP * CLIP * square;
        let kept = &squares[..count - clipped];
        if kept.last().is_none_or(|largest| *largest <= limit) {
            return square.sqrt();
        }
        sum -= kept.last().copied().unwrap_or(0.0);
    }
    0.0
}

/// The mean of what lies within the clip about it, found from the median: one touch that is far off does
/// not pull it.
fn clipped_mean(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = |of: &[f64]| match of {
        [] => 0.0,
        _ => f64::midpoint(of[(of.len() - 1) / 2], of[of.len() / 2]),
    };
    let mut centre = middle(&sorted);
    for _ in 0..50 {
        let sigma = scale(values.iter().map(|value| value - centre));
        let clip = CLIP * sigma;
        let sum: f64 = values.iter().map(|value| (value - centre).clamp(-clip, clip)).sum();
        let step = sum / float(values.len().max(1));
        centre += step;
        if step.abs() <= 1e-9 * sigma {
            break;
        }
    }
    centre
}

fn at_least_rounding(s: f64, resolution: Length) -> Length {
    length((picometres(resolution) / 12.0_f64.sqrt()).max(s).ceil())
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive count of at most u32"
)]
fn degrees(count: u32) -> Freedom {
    Freedom::of_degrees((EFFICIENCY * f64::from(count)) as u32)
}

fn count_of(values: &[f64]) -> Option<NonZeroU32> {
    NonZeroU32::new(u32::try_from(values.len()).unwrap_or(u32::MAX))
}

fn float(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}

#[expect(clippy::cast_precision_loss, reason = "a small difference of readings, far below 2^53 pm")]
const fn picometres(length: Length) -> f64 {
    length.picometres() as f64
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "what is beyond i64 saturates, which is safe for a u"
)]
fn length(picometres: f64) -> Length {
    Length::from_picometres(picometres.round() as i64)
}

#[cfg(test)]
mod tests;

//! Waves of readings at any angles, by least squares.

use super::{TurnError, Wave, Waves};
use crate::columns::Columns;
use crate::{count, full_turn, widest_gap_deg};

/// Mean and waves 1 to `highest` of readings at `angles_deg`, by least squares with the columns
/// 1, cos kt, sin kt. Angles may leave gaps and may repeat.
///
/// Refused where fewer than `2k + 1` angles differ, or where a gap is `180/k` degrees or more and could
/// hide a wave of the highest order (common practice, no source).
pub fn waves_at(angles_deg: &[f64], readings: &[f64], highest: usize) -> Result<Waves, TurnError> {
    checked(angles_deg, readings)?;
    carries(angles_deg, highest)?;
    let gap = || TurnError::Gap { order: highest, gap_deg: widest_gap_deg(angles_deg) };
    let mut columns = vec![vec![1.0; angles_deg.len()]];
    for order in 1..=highest {
        let around: Vec<f64> = angles_deg
            .iter()
            .map(|deg| full_turn(count(order) * full_turn(*deg)).to_radians())
            .collect();
        columns.push(around.iter().map(|angle| angle.cos()).collect());
        columns.push(around.iter().map(|angle| angle.sin()).collect());
    }
    let fit = Columns::new(columns).ok_or_else(gap)?;
    let start = readings.first().copied().unwrap_or(0.0);
    let relative: Vec<f64> = readings.iter().map(|reading| reading - start).collect();
    let (factors, _) = fit.fit(&relative);
    let waves = (1..=highest).map(|order| Wave {
        order,
        cosine: factors[2 * order - 1],
        sine: factors[2 * order],
    });
    let first = if highest == 0 {
        [0.0; 3]
    } else {
        [(1, 1), (1, 2), (2, 2)].map(|(one, other)| fit.covariance(one, other))
    };
    Ok(Waves { mean: start + factors[0], waves: waves.collect(), first })
}

/// The highest order that the angles allow: `2k + 1` of them differ and every gap is below `180/k`.
#[must_use]
pub fn highest_order(angles_deg: &[f64]) -> usize {
    let most = different(angles_deg).saturating_sub(1) / 2;
    let gap = widest_gap_deg(angles_deg);
    (1..=most).rev().find(|order| count(*order) * gap < 180.0).unwrap_or(0)
}

pub(crate) fn checked(angles_deg: &[f64], readings: &[f64]) -> Result<(), TurnError> {
    if angles_deg.len() != readings.len() {
        return Err(TurnError::Lengths { expected: angles_deg.len(), given: readings.len() });
    }
    let finite = angles_deg.iter().chain(readings).all(|value| value.is_finite());
    if finite { Ok(()) } else { Err(TurnError::NotANumber) }
}

pub(crate) fn carries(angles_deg: &[f64], order: usize) -> Result<(), TurnError> {
    let (angles, gap_deg) = (different(angles_deg), widest_gap_deg(angles_deg));
    if angles < order.saturating_mul(2).saturating_add(1) {
        Err(TurnError::TooFew { order, angles })
    } else if count(order) * gap_deg >= 180.0 {
        Err(TurnError::Gap { order, gap_deg })
    } else {
        Ok(())
    }
}

/// How many angles differ. Angles a full turn apart are the same.
fn different(angles_deg: &[f64]) -> usize {
    let mut around: Vec<f64> = angles_deg.iter().map(|deg| full_turn(*deg)).collect();
    around.sort_by(f64::total_cmp);
    around.dedup_by(|one, other| one.total_cmp(other).is_eq());
    around.len()
}

//! The low-pass filter that a streamed turn goes through before its total reading is judged.

use super::TurnError;
use super::uneven::{carries, checked};
use crate::{count, full_turn};

/// A wave of this many a turn is halved by the filter (from memory, roundness practice).
pub const WAVES_KEPT: usize = 15;

/// Beyond this many standard deviations a Gaussian is below the rounding of its peak.
const REACH: f64 = 8.6;

/// The standard deviation, in degrees, of the Gaussian that leaves half of `waves` waves a turn.
///
/// It leaves `2^-(k/waves)²` of order `k`; the transform of that is a Gaussian of standard
/// deviation `√(2 ln 2)/waves` radians.
fn deviation_deg(waves: usize) -> f64 {
    ((2.0 * std::f64::consts::LN_2).sqrt() / count(waves)).to_degrees()
}

/// The Gaussian at a distance round the turn, summed over all its turns.
fn bell(apart_deg: f64, deviation: f64) -> f64 {
    let one =
        |turn: i32| (-((apart_deg + 360.0 * f64::from(turn)) / deviation).powi(2) / 2.0).exp();
    // Where nothing is left of it one turn away, the sum has a single term.
    if REACH * deviation <= 180.0 && apart_deg <= 180.0 {
        return one(0);
    }
    (-2..=2).map(one).sum()
}

/// Whether angles, in degrees, go once round in equal steps in either direction, as
/// [`low_pass_even`] needs them.
#[must_use]
pub fn is_even_turn(angles_deg: &[f64]) -> bool {
    // Angles of a part are given to a thousandth of a degree at best.
    const ALIKE: f64 = 1e-6;
    let step = 360.0 / count(angles_deg.len().max(1));
    let goes = |by: f64| {
        let off = |two: &[f64]| full_turn(two[1] - two[0] - by + ALIKE) <= 2.0 * ALIKE;
        angles_deg.windows(2).all(off)
    };
    angles_deg.len() > 1 && (goes(step) || goes(-step))
}

/// Equally spaced readings of one turn after a Gaussian low-pass that leaves half of `waves` waves
/// a turn, in the unit of the readings.
///
/// Refused where the readings are too few to hold `waves` waves: a few touches by hand leave nothing to
/// filter.
pub fn low_pass_even(readings: &[f64], waves: usize) -> Result<Vec<f64>, TurnError> {
    let (length, waves) = (readings.len(), waves.max(1));
    if length <= 2 * waves {
        return Err(TurnError::TooFew { order: waves, angles: length });
    }
    if readings.iter().any(|reading| !reading.is_finite()) {
        return Err(TurnError::NotANumber);
    }
    // So few samples do not carry the Gaussian: waves beyond half their number would fold into the waves
    // that are kept. The kernel is then made of the waves the samples hold, each with its own share.
    if length <= SAMPLES_OF_A_BELL * waves {
        return Ok(by_waves(readings, waves));
    }
    let (step, deviation) = (360.0 / count(length), deviation_deg(waves));
    let ahead = (0..length).filter(|&place| {
        let apart = step * count(place.min(length - place));
        apart <= REACH * deviation
    });
    let kernel: Vec<(usize, f64)> =
        ahead.map(|place| (place, bell(step * count(place), deviation))).collect();
    let total: f64 = kernel.iter().map(|(_, weight)| weight).sum();
    let start = readings[0];
    let twice: Vec<f64> = readings.iter().chain(readings).map(|value| value - start).collect();
    let smooth = |at: usize| {
        let parts = kernel.iter().map(|&(ahead, weight)| weight * twice[at + ahead]);
        start + parts.sum::<f64>() / total
    };
    Ok((0..length).map(smooth).collect())
}

/// From this many samples a wave on, the sampled Gaussian filters as exactly as one part in 10¹⁰.
const SAMPLES_OF_A_BELL: usize = 7;

/// As [`low_pass_even`], with a kernel that leaves exactly `2^-(k/waves)²` of each wave k that the
/// readings hold.
fn by_waves(readings: &[f64], waves: usize) -> Vec<f64> {
    let length = readings.len();
    let step = std::f64::consts::TAU / count(length);
    let share = |order: usize| (-(count(order) / count(waves)).powi(2)).exp2();
    let weight = |ahead: usize| {
        let wave = |order: usize| {
            // The wave of half the number of readings counts once: its two signs are the same wave.
            let both = if 2 * order == length { 1.0 } else { 2.0 };
            both * share(order) * (step * count(order * ahead % length)).cos()
        };
        (1.0 + (1..=length / 2).map(wave).sum::<f64>()) / count(length)
    };
    let kernel: Vec<f64> = (0..length).map(weight).collect();
    let start = readings[0];
    let smooth = |at: usize| {
        let parts =
            (0..length).map(|ahead| kernel[ahead] * (readings[(at + ahead) % length] - start));
        start + parts.sum::<f64>()
    };
    (0..length).map(smooth).collect()
}

/// As [`low_pass_even`] for readings at uneven angles, as a turn by hand streams them. The weight of
/// a reading is the part of the turn it stands for, half the way to each neighbour.
///
/// The result has the order of the readings. Refused where the angles leave a gap of `180/waves` degrees.
pub fn low_pass(angles_deg: &[f64], readings: &[f64], waves: usize) -> Result<Vec<f64>, TurnError> {
    let waves = waves.max(1);
    checked(angles_deg, readings)?;
    carries(angles_deg, waves)?;
    let deviation = deviation_deg(waves);
    let mut order: Vec<(f64, usize)> =
        angles_deg.iter().map(|deg| full_turn(*deg)).zip(0..).collect();
    order.sort_by(|one, other| one.0.total_cmp(&other.0));
    let length = order.len();
    let ahead = |place: usize, steps: usize| {
        let next = order[(place + steps) % length].0 - order[place].0;
        if place + steps >= length { next + 360.0 } else { next }
    };
    let stands_for: Vec<f64> = (0..length)
        .map(|place| ahead((place + length - 1) % length, 1) + ahead(place, 1))
        .collect();
    let start = readings[0];
    let mut smooth = vec![0.0; length];
    for place in 0..length {
        let (mut sum, mut total) = (0.0, 0.0);
        let mut add = |other: usize, apart: f64| {
            let weight = stands_for[other] * bell(apart, deviation);
            sum += weight * (readings[order[other].1] - start);
            total += weight;
        };
        let reach = f64::min(REACH * deviation, 180.0);
        add(place, 0.0);
        let forward = (1..length).map(|steps| ((place + steps) % length, ahead(place, steps)));
        forward
            .take_while(|(_, apart)| *apart <= reach)
            .for_each(|(other, apart)| add(other, apart));
        let back = (1..length).map(|steps| {
            let other = (place + length - steps) % length;
            (other, ahead(other, steps))
        });
        back.take_while(|(_, apart)| *apart < reach).for_each(|(other, apart)| add(other, apart));
        smooth[order[place].1] = start + sum / total;
    }
    Ok(smooth)
}

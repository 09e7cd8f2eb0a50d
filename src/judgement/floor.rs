//! What noise alone shows on a perfect part: the mean of each figure.

use std::sync::OnceLock;

use quantity::Length;

/// The figures that have a noise floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// Largest minus smallest reading.
    MaxMinusMin,
    /// Flatness by the least-squares plane.
    LeastSquares,
    /// Flatness by the minimum zone.
    MinimumZone,
}

/// For touches equally spaced on one circle: their number, then the mean least-squares flatness and the
/// mean minimum zone, both in hundredths of the spread of one touch. Simulated with normal noise (at
/// least 20 000 circles for each number of touches); no published table was found.
const SIMULATED: [(usize, u32, u32); 13] = [
    (4, 80, 80),
    (5, 148, 127),
    (6, 185, 160),
    (7, 213, 185),
    (8, 233, 204),
    (9, 252, 222),
    (10, 265, 235),
    (11, 280, 248),
    (12, 292, 259),
    (13, 302, 269),
    (14, 311, 278),
    (15, 319, 286),
    (16, 328, 294),
];

/// The mean of `figure` for a perfect part. `spread` is the standard deviation of one touch; the result is
/// rounded up to a picometre.
///
/// For largest minus smallest it is the mean range of normal values, from its integral, to two decimals.
/// For the two flatness figures it is a simulated table for 4 to 16 touches on one circle. `None` outside
/// the table, and for fewer than two touches.
#[must_use]
pub fn noise_floor(figure: Width, touches: usize, spread: Length) -> Option<Length> {
    let simulated = || SIMULATED.iter().find(|row| row.0 == touches);
    let hundredths = match figure {
        Width::MaxMinusMin if touches < 2 => None,
        Width::MaxMinusMin => Some(hundredths(mean_range(touches))),
        Width::LeastSquares => simulated().map(|row| row.1),
        Width::MinimumZone => simulated().map(|row| row.2),
    }?;
    scaled(spread, hundredths, 100)
}

/// The mean total reading of a perfect turn of `touches` equally spaced samples after the low-pass filter
/// of 15 waves a turn. `spread` is the standard deviation of one sample; the result is rounded up to a
/// picometre.
///
/// The filter leaves `22.6/N` of the variance of noise, and the range of what is left is about 4.7 of its
/// standard deviations: `spread·√(500/N)`, which is 1.3 of the spread for 300 samples (simulated with 40
/// to 1500 turns of 31 to 600 samples). With as few as 60 samples the range is smaller. The mean range of
/// that many normal values is then used, which is 4 to 7 % too high.
#[must_use]
pub fn noise_floor_low_pass(touches: usize, spread: Length) -> Length {
    let few = noise_floor(Width::MaxMinusMin, touches, spread_low_pass(touches, spread));
    let touches = u128::try_from(touches.max(1)).unwrap_or(u128::MAX);
    let many = super::uncertainty::root(spread, 500, touches);
    few.map_or(many, |few| few.min(many))
}

/// The standard deviation of one sample after the low-pass filter of 15 waves a turn: `√(22.6/N)` of what
/// it was, rounded up to a picometre.
#[must_use]
pub fn spread_low_pass(touches: usize, spread: Length) -> Length {
    let touches = u128::try_from(touches.max(1)).unwrap_or(u128::MAX).saturating_mul(10);
    super::uncertainty::root(spread, 226, touches)
}

/// By how much noise raises the highest of `count` equal touches on average, in thousandths of their
/// spread: half the mean range of that many.
fn highest_of(count: usize) -> u32 {
    const FEW: [u32; 9] = [0, 0, 564, 846, 1029, 1163, 1267, 1352, 1424];
    FEW.get(count).copied().unwrap_or_else(|| hundredths(mean_range(count) * 5.0))
}

/// How much too large a range is on average: `s·(m(K₁) + m(K₂))`, rounded up to a picometre. K₁ and K₂
/// are the numbers of touches near the highest and near the lowest; m(K) is by how much noise raises the
/// highest of K.
#[must_use]
pub fn range_reads_high(near_high: usize, near_low: usize, spread: Length) -> Option<Length> {
    scaled(spread, highest_of(near_high) + highest_of(near_low), 1000)
}

/// How much too wide a minimum zone is on average with `touches` touches near its planes: the noise floor
/// of that many. Zero for four: four touches make a zone, which is as often too small as too large.
#[must_use]
pub fn zone_reads_high(touches: usize, spread: Length) -> Option<Length> {
    let row = SIMULATED.iter().rev().find(|row| row.0 <= touches);
    scaled(spread, row.filter(|row| row.0 > 4).map_or(0, |row| row.2), 100)
}

/// `spread·factor/over`, rounded up.
fn scaled(spread: Length, factor: u32, over: i128) -> Option<Length> {
    let scaled = i128::from(spread.picometres()) * i128::from(factor);
    let rounded_up = scaled.div_euclid(over) + i128::from(scaled.rem_euclid(over) > 0);
    i64::try_from(rounded_up).ok().map(Length::from_picometres)
}

/// The nearest hundredth.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a mean range lies between 0 and 20 for any number of touches that can be made"
)]
fn hundredths(factor: f64) -> u32 {
    (factor * 100.0).round() as u32
}

/// The mean range of `count` normal values of standard deviation 1, the d2 of control charts. It is
/// worked out once for each count, since many checks have the same number of touches.
pub(super) fn mean_range(count: usize) -> f64 {
    const KNOWN: usize = 2048;
    static ONCE: [OnceLock<f64>; KNOWN] = [const { OnceLock::new() }; KNOWN];
    ONCE.get(count)
        .map_or_else(|| mean_range_of(count), |once| *once.get_or_init(|| mean_range_of(count)))
}

/// `∫ 1 − Φⁿ − (1 − Φ)ⁿ` over the whole line (Tippett 1925, from memory), accurate to 1e-8.
fn mean_range_of(count: usize) -> f64 {
    const STEPS: u32 = 400;
    const EDGE: f64 = 8.0;
    let step = 2.0 * EDGE / f64::from(STEPS);
    let density = |at: f64| (-at * at / 2.0).exp() / std::f64::consts::TAU.sqrt();
    let power = i32::try_from(count).unwrap_or(i32::MAX);
    let integrand = |below: f64| 1.0 - below.powi(power) - (1.0 - below).powi(power);
    let (mut below, mut sum) = (0.0, 0.0);
    for index in 0..STEPS {
        let at = step * f64::from(index) - EDGE;
        let middle = density(at + step / 2.0);
        below += step / 6.0 * (density(at) + 4.0 * middle + density(at + step));
        sum += step * integrand(below);
    }
    sum
}

/// Mean and standard deviation of the range of `count` normal values of standard deviation 1: d2 and d3 of
/// control charts, good to 1e-6.
pub(super) fn range_of(count: usize) -> (f64, f64) {
    let mean = mean_range(count);
    // The integrand has a fold along x = y, so that the sum is off by a multiple of the step's square:
    // half the step takes it away.
    let (coarse, fine) = (mean_square_range(count, 200), mean_square_range(count, 400));
    let square = fine + (fine - coarse) / 3.0;
    (mean, (square - mean * mean).max(0.0).sqrt())
}

/// `E W² = 2·∬ 1 − Φ(y)ⁿ − (1 − Φ(x))ⁿ + (Φ(y) − Φ(x))ⁿ` over x < y (Tippett 1925, from memory), as a sum
/// over a square grid.
fn mean_square_range(count: usize, steps: u32) -> f64 {
    const EDGE: f64 = 8.0;
    let step = 2.0 * EDGE / f64::from(steps);
    let density = |at: f64| (-at * at / 2.0).exp() / std::f64::consts::TAU.sqrt();
    let mut reached = 0.0;
    let below = (0..steps).map(|index| {
        let at = step * f64::from(index) - EDGE;
        reached += step / 6.0 * (density(at) + 4.0 * density(at + step / 2.0) + density(at + step));
        reached
    });
    let below: Vec<f64> = below.collect();
    let power = i32::try_from(count).unwrap_or(i32::MAX);
    let mut sum = 0.0;
    for (index, low) in below.iter().enumerate() {
        let above_low = (1.0 - low).powi(power);
        let cell = |high: &f64| 1.0 - high.powi(power) - above_low + (high - low).powi(power);
        // Half of a cell on the diagonal lies above it.
        sum += cell(low) / 2.0 + below[index + 1..].iter().map(cell).sum::<f64>();
    }
    2.0 * sum * step * step
}

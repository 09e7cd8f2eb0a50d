//! The waves of a turn of any length. The sums of the normal equations are added up reading by
//! reading, so that a million readings need no more memory than ten.
//!
//! The columns are those of [`waves_at`]: 1, cos t, sin t, cos 2t, … The product of two of them is
//! a sum of cosines and sines of up to twice the order, so only those are added up. Squaring the
//! columns costs digits; solving again for the residuals of the first solution brings them back.

use super::{TurnError, WAVES_KEPT, Wave, highest_order, waves_at};

/// Up to this many readings the columns themselves are made square to each other: the most exact way.
const SHORT_TURN: usize = 10_000;
/// How often the residuals of a solution are solved again. Each time reduces the error to a millionth
/// or less.
const AGAIN: usize = 2;
/// Below this share of its column, a pivot means that the readings cannot separate the wave from others.
const NOTHING_LEFT: f64 = 1e-12;

/// The waves 1, 2, … that the angles carry, up to 15, by least squares, in the unit of the readings.
///
/// # Errors
/// Why not even the eccentricity can be worked out.
pub fn waves_of_turn(angles_deg: &[f64], readings: &[f64]) -> Result<Vec<Wave>, TurnError> {
    let order = highest_order(angles_deg).clamp(1, WAVES_KEPT);
    let by_sums = || (1..=order).rev().find_map(|k| of_long_turn(angles_deg, readings, k));
    if let Some(waves) = (readings.len() > SHORT_TURN).then(by_sums).flatten() {
        return Ok(waves);
    }
    waves_at(angles_deg, readings, order).map(|found| found.waves)
}

/// By normal equations; `None` where they cannot separate the waves.
fn of_long_turn(angles_deg: &[f64], readings: &[f64], highest: usize) -> Option<Vec<Wave>> {
    let start = *readings.first()?;
    let mut moments = vec![(0.0, 0.0); 2 * highest + 1];
    for angle in angles_deg {
        let around = turned(*angle);
        let mut at = (1.0, 0.0);
        for (cosine, sine) in &mut moments {
            *cosine += at.0;
            *sine += at.1;
            at = product(at, around);
        }
    }
    let triangle = triangle(&equations(&moments, highest))?;
    let mut factors = vec![0.0; 2 * highest + 1];
    for _ in 0..=AGAIN {
        let mut sums = vec![0.0; factors.len()];
        for (angle, reading) in angles_deg.iter().zip(readings) {
            let row = row(turned(*angle), highest);
            let told: f64 = row.clone().zip(&factors).map(|(column, factor)| column * factor).sum();
            let rest = reading - start - told;
            sums.iter_mut().zip(row).for_each(|(sum, column)| *sum += rest * column);
        }
        let more = solved(&triangle, sums);
        factors.iter_mut().zip(more).for_each(|(factor, more)| *factor += more);
    }
    let wave = |order| Wave { order, cosine: factors[2 * order - 1], sine: factors[2 * order] };
    Some((1..=highest).map(wave).collect())
}

/// Cosine and sine of an angle in degrees.
fn turned(degrees: f64) -> (f64, f64) {
    let (sine, cosine) = quantity::sine_cosine(degrees);
    (cosine, sine)
}

/// Cosine and sine of the sum of two angles, each given by its cosine and sine.
fn product(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0 * other.0 - one.1 * other.1, one.0 * other.1 + one.1 * other.0)
}

/// The columns of one reading: 1, cos t, sin t, cos 2t, sin 2t, …
fn row(around: (f64, f64), highest: usize) -> impl Iterator<Item = f64> + Clone {
    let waves = std::iter::successors(Some(around), move |at| Some(product(*at, around)));
    std::iter::once(1.0).chain(waves.take(highest).flat_map(|(cosine, sine)| [cosine, sine]))
}

/// The sums of the products of each two columns, from the sums of `cos mt` and `sin mt`.
fn equations(moments: &[(f64, f64)], highest: usize) -> Vec<Vec<f64>> {
    // cos j·cos k, sin j·sin k, cos j·sin k.
    let both = |j: usize, k: usize| {
        let (less, more) = (moments[j.abs_diff(k)], moments[j + k]);
        let sine = if k < j { -less.1 } else { less.1 };
        [(less.0, more.0), (less.0, -more.0), (more.1, sine)].map(|(a, b)| f64::midpoint(a, b))
    };
    let term = |row: usize, column: usize| {
        let [cosines, sines, mixed] = both(row.div_ceil(2), column.div_ceil(2));
        let is_cosine = |place: usize| place == 0 || place % 2 == 1;
        match (is_cosine(row), is_cosine(column)) {
            (true, true) => cosines,
            (false, false) => sines,
            (true, false) => mixed,
            (false, true) => both(column.div_ceil(2), row.div_ceil(2))[2],
        }
    };
    let size = 2 * highest + 1;
    (0..size).map(|row| (0..size).map(|column| term(row, column)).collect()).collect()
}

/// Cholesky's lower triangle; `None` where a column is a combination of those before it.
fn triangle(equations: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let mut made: Vec<Vec<f64>> = Vec::new();
    for (place, sums) in equations.iter().enumerate() {
        let mut row: Vec<f64> = Vec::with_capacity(place + 1);
        for (column, earlier) in made.iter().enumerate() {
            let known: f64 = row.iter().zip(earlier).map(|(one, other)| one * other).sum();
            row.push((sums[column] - known) / earlier[column]);
        }
        let left = sums[place] - row.iter().map(|one| one * one).sum::<f64>();
        if left.is_nan() || left <= sums[place] * NOTHING_LEFT {
            return None;
        }
        row.push(left.sqrt());
        made.push(row);
    }
    Some(made)
}

/// Solves triangle · triangleᵀ · factors = sums.
fn solved(triangle: &[Vec<f64>], mut sums: Vec<f64>) -> Vec<f64> {
    for (place, row) in triangle.iter().enumerate() {
        let known: f64 = row[..place].iter().zip(&sums).map(|(one, other)| one * other).sum();
        sums[place] = (sums[place] - known) / row[place];
    }
    for (place, row) in triangle.iter().enumerate().rev() {
        sums[place] /= row[place];
        let factor = sums[place];
        sums[..place].iter_mut().zip(row).for_each(|(sum, one)| *sum -= factor * one);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings with a known shape and a skin that repeats every 101.
    fn readings(angles: &[f64]) -> Vec<f64> {
        let skin = (0_u32..).map(|k| f64::from(k * 37 % 101) / 101.0);
        let form = |deg: &f64| {
            let t = deg.to_radians();
            25_000.0 + 3.0 * (t - 1.0).cos() + 0.4 * (5.0 * t).sin() + 0.1 * (15.0 * t).cos()
        };
        angles.iter().zip(skin).map(|(angle, skin)| form(angle) + 0.01 * skin).collect()
    }

    fn agree(angles: &[f64], orders: usize) {
        let readings = readings(angles);
        let square = waves_at(angles, &readings, orders).unwrap().waves;
        let sums = of_long_turn(angles, &readings, orders).unwrap();
        assert_eq!(sums.len(), orders);
        for (one, other) in square.iter().zip(&sums) {
            let off = (one.cosine - other.cosine).hypot(one.sine - other.sine);
            assert!(off < 1e-10 && one.order == other.order, "{one:?} {other:?}");
        }
    }

    #[test]
    fn sums_give_the_waves_that_square_columns_give() {
        let even: Vec<f64> = (0..720_u32).map(|k| f64::from(k) / 2.0).collect();
        agree(&even, 15);
        // Crowded on a third of the turn, twice round, with a gap of 11 degrees.
        let crowded = |k: u32| f64::from(k) * 0.3 - if k.is_multiple_of(3) { 0.0 } else { 400.0 };
        let uneven: Vec<f64> = (0..2_000_u32).map(crowded).filter(|deg| *deg < 349.0).collect();
        agree(&uneven, 15);
        // Gaps close to the most that order 3 allows, and most readings in one place.
        let mut few: Vec<f64> = [0.0, 50.0, 101.0, 160.0, 215.0, 270.0, 312.0].to_vec();
        few.extend((0..3_000_u32).map(|k| f64::from(k) * 1e-5));
        agree(&few, 3);
    }

    #[test]
    fn a_long_turn_gives_all_fifteen() {
        let angles: Vec<f64> = (0..20_000_u32).map(|k| f64::from(k) * 0.018).collect();
        let waves = waves_of_turn(&angles, &readings(&angles)).unwrap();
        assert_eq!(waves.len(), 15);
        for (order, amplitude) in [(1, 3.0), (2, 0.0), (5, 0.4), (15, 0.1)] {
            assert!((waves[order - 1].amplitude() - amplitude).abs() < 1e-3, "{order}");
        }
    }

    #[test]
    fn waves_that_cannot_be_told_apart_are_not_told() {
        let angles: Vec<f64> = (0..12_000_u32).map(|k| f64::from(k % 3) * 120.0).collect();
        assert_eq!(of_long_turn(&angles, &readings(&angles), 2), None);
        assert_eq!(waves_of_turn(&angles, &readings(&angles)).unwrap().len(), 1);
    }
}

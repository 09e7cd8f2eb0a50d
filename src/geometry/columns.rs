//! Linear least squares over any columns: values ≈ Σ factor·column.

use super::dot;

/// Columns made square to each other, ready to fit values.
#[derive(Debug, Clone)]
pub(super) struct Columns {
    /// Of length 1, square to each other.
    square: Vec<Vec<f64>>,
    /// The upper triangle that turns `square` back into the columns, by columns.
    triangle: Vec<Vec<f64>>,
}

/// A column says nothing of its own when taking out the others shortens it to less than this share.
const NOTHING_LEFT: f64 = 1e-9;

impl Columns {
    /// Makes the columns square to each other by Gram and Schmidt, each step twice, which keeps them
    /// square to rounding.
    ///
    /// `None` where a column is a combination of those before it.
    pub(super) fn new(columns: Vec<Vec<f64>>) -> Option<Self> {
        let mut made = Self { square: Vec::new(), triangle: Vec::new() };
        for mut column in columns {
            let before = dot(&column, &column).sqrt();
            let mut shares = vec![0.0; made.square.len()];
            for _ in 0..2 {
                for (earlier, total) in made.square.iter().zip(&mut shares) {
                    let share = dot(earlier, &column);
                    *total += share;
                    column.iter_mut().zip(earlier).for_each(|(value, e)| *value -= share * e);
                }
            }
            let length = dot(&column, &column).sqrt();
            if length.is_nan() || length <= before * NOTHING_LEFT {
                return None;
            }
            for value in &mut column {
                *value /= length;
            }
            shares.push(length);
            made.square.push(column);
            made.triangle.push(shares);
        }
        Some(made)
    }

    /// The factors whose sum of columns fits `values` by least squares, and the residuals.
    pub(super) fn fit(&self, values: &[f64]) -> (Vec<f64>, Vec<f64>) {
        // Each share is taken out before the next is measured, so that rounding in one column does not
        // reach the others.
        let mut rest = values.to_vec();
        let mut shares = Vec::with_capacity(self.square.len());
        for column in &self.square {
            let share = dot(column, &rest);
            rest.iter_mut().zip(column).for_each(|(value, c)| *value -= share * c);
            shares.push(share);
        }
        (self.back(shares), rest)
    }

    /// The covariance of two factors (with `one` = `other` the variance) for values of variance 1: the
    /// element of `(XᵀX)⁻¹` in row `one` and column `other`.
    pub(super) fn covariance(&self, one: usize, other: usize) -> f64 {
        // Row `one` of the inverse triangle, times row `other`.
        let row = |wanted: usize| -> Vec<f64> {
            let units = 0..self.square.len();
            units
                .map(|unit| {
                    let mut shares = vec![0.0; self.square.len()];
                    shares[unit] = 1.0;
                    self.back(shares)[wanted]
                })
                .collect()
        };
        dot(&row(one), &row(other))
    }

    /// How much the value of a row moves the fit in that row: its leverage, 0 to 1.
    pub(super) fn leverage(&self, row: usize) -> f64 {
        self.square.iter().map(|column| column[row].powi(2)).sum()
    }

    /// Solves triangle · factors = shares.
    fn back(&self, mut shares: Vec<f64>) -> Vec<f64> {
        for column in (0..shares.len()).rev() {
            shares[column] /= self.triangle[column][column];
            let factor = shares[column];
            for (share, above) in shares[..column].iter_mut().zip(&self.triangle[column]) {
                *share -= factor * above;
            }
        }
        shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many digits agree: −log10 of the relative difference.
    fn digits(value: f64, certified: f64) -> f64 {
        -((value - certified).abs() / certified.abs()).max(1e-17).log10()
    }

    /// Powers of `x` up to `highest`, fitted to `y`; factors and residual standard deviation.
    fn polynomial(points: &[(f64, f64)], highest: i32) -> (Vec<f64>, f64) {
        let power = |k: i32| points.iter().map(|point| point.0.powi(k)).collect();
        let fit = Columns::new((0..=highest).map(power).collect()).unwrap();
        let values: Vec<f64> = points.iter().map(|point| point.1).collect();
        let (factors, _) = fit.fit(&values);
        let rest = |(x, y): &(f64, f64)| {
            let rise = |sum: f64, (k, factor): (i32, &f64)| sum + factor * x.powi(k);
            y - (0..).zip(&factors).fold(0.0, rise)
        };
        let squares: f64 = points.iter().map(|point| rest(point).powi(2)).sum();
        let free = f64::from(u32::try_from(points.len() - factors.len()).unwrap());
        (factors, (squares / free).sqrt())
    }

    fn set(text: &str, order: fn(f64, f64) -> (f64, f64)) -> Vec<(f64, f64)> {
        let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
        rows.filter_map(|row| row.split_once(','))
            .map(|(a, b)| order(a.parse().unwrap(), b.parse().unwrap()))
            .collect()
    }

    #[test]
    fn norris_to_the_certified_digits() {
        // NIST Statistical Reference Datasets, Norris: certified values.
        let text = include_str!("../../fixtures/published/nist-norris.csv");
        let (factors, deviation) = polynomial(&set(text, |y, x| (x, y)), 1);
        assert!(digits(factors[0], -0.262_323_073_774_029) > 12.0);
        assert!(digits(factors[1], 1.002_116_818_020_45) > 13.5);
        assert!(digits(deviation, 0.884_796_396_144_373) > 13.0);
    }

    #[test]
    fn pontius_to_the_certified_digits() {
        // NIST Statistical Reference Datasets, Pontius: data as in the file; the certified values
        // are from memory, confirmed by an independent program to 1e-9.
        let text = include_str!("../../fixtures/published/nist-pontius.csv");
        let points = set(text, |y, x| (x, y));
        assert_eq!(points.len(), 40);
        let (factors, deviation) = polynomial(&points, 2);
        assert!(digits(factors[0], 0.673_565_789_473_684e-3) > 10.0);
        assert!(digits(factors[1], 0.732_059_160_401_003e-6) > 13.0);
        assert!(digits(factors[2], -0.316_081_871_345_029e-14) > 10.0);
        assert!(digits(deviation, 0.205_177_424_076_185e-3) > 10.0);
    }

    #[test]
    fn the_spread_of_a_mean_is_one_over_n() {
        let fit = Columns::new(vec![vec![1.0; 5]]).unwrap();
        assert!((fit.covariance(0, 0) - 0.2).abs() < 1e-15);
    }

    #[test]
    fn a_column_told_by_the_others_is_refused() {
        assert!(Columns::new(vec![vec![1.0; 3], vec![2.0; 3]]).is_none());
        assert!(Columns::new(vec![vec![0.0; 3]]).is_none());
        assert!(Columns::new(vec![vec![f64::NAN; 3]]).is_none());
    }
}

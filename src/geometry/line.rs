//! Straight lines through stations, and the straightness about each of them, in floats.
//!
//! Heights are measured along `z`, as an indicator on a straight edge reads them. Measured square
//! to the line they would be cos(slope) times that.

mod zone;

pub use zone::{LineZone, minimum_zone_line, straightness_zone};

use super::{count, range};

/// A line `z = intercept + slope·x` and the residuals of the data.
#[derive(Debug, Clone, PartialEq)]
pub struct LineFit {
    /// Rise per unit of `x`.
    pub slope: f64,
    /// Height at `x = 0`, in the unit of `z`.
    pub intercept: f64,
    /// `z` minus line, in the order of the data.
    pub residuals: Vec<f64>,
}

/// Why no line can be laid through the stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// A position or a height is not a finite number.
    #[error("a position or height is not a number")]
    NotANumber,
    /// No station, or all at one place along the line.
    #[error("a line needs stations at two different places")]
    OnePlace,
}

impl LineFit {
    /// Largest minus smallest residual: the straightness by this line, in the unit of `z`.
    #[must_use]
    pub fn width(&self) -> f64 {
        range(&self.residuals)
    }

    /// The height of the line at `x`, in the unit of `z`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.slope.mul_add(x, self.intercept)
    }

    /// The line of `slope` through the point `through`; residuals are worked out relative to that point.
    fn through(points: &[(f64, f64)], slope: f64, through: (f64, f64)) -> Self {
        let rest = |&(x, z): &(f64, f64)| (z - through.1) - slope * (x - through.0);
        Self {
            slope,
            intercept: through.1 - slope * through.0,
            residuals: points.iter().map(rest).collect(),
        }
    }
}

/// The least-squares line through `(x, z)`. All heights have the same weight, positions count as
/// exact.
///
/// Two stations at two places give the line through both; stations at the same place each count.
pub fn least_squares_line(points: &[(f64, f64)]) -> Result<LineFit, LineError> {
    let [start, _] = ends(points)?;
    let mean = |of: fn(&(f64, f64)) -> f64, start: f64| {
        start + points.iter().map(|point| of(point) - start).sum::<f64>() / count(points.len())
    };
    let centre = (mean(|point| point.0, start.0), mean(|point| point.1, start.1));
    let (mut across, mut along) = (0.0, 0.0);
    for (x, z) in points {
        along += (x - centre.0).powi(2);
        across += (x - centre.0) * (z - centre.1);
    }
    Ok(LineFit::through(points, across / along, centre))
}

/// The line through the stations of smallest and largest `x` (the first given, where two share it).
pub fn end_points_line(points: &[(f64, f64)]) -> Result<LineFit, LineError> {
    let [first, last] = ends(points)?;
    Ok(LineFit::through(points, (last.1 - first.1) / (last.0 - first.0), first))
}

/// The points of smallest and largest `x`.
fn ends(points: &[(f64, f64)]) -> Result<[(f64, f64); 2], LineError> {
    if points.iter().any(|(x, z)| !x.is_finite() || !z.is_finite()) {
        return Err(LineError::NotANumber);
    }
    let start = *points.first().ok_or(LineError::OnePlace)?;
    let first =
        points.iter().fold(start, |best, point| if point.0 < best.0 { *point } else { best });
    let last =
        points.iter().fold(start, |best, point| if point.0 > best.0 { *point } else { best });
    if last.0 > first.0 { Ok([first, last]) } else { Err(LineError::OnePlace) }
}

#[cfg(test)]
mod tests;

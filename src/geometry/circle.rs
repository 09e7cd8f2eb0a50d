//! Circles through points `(x, y)`, and the roundness about each of them, in floats.
//!
//! There are five circles, each for its own question: the least-squares circle (mean line of
//! roundness), the minimum zone (two concentric circles, closest together), the smallest circle
//! around all points, the largest inside them, and the algebraic circle. Survey programs print the
//! algebraic circle under the name of least squares, but it is another circle wherever the points do
//! not go all the way round. The three circles that rest on contacts return them as the proof.

mod around;
mod deviations;
mod inside;
mod least_squares;
mod vector;
mod zone;

pub use around::circumscribed_circle;
pub use deviations::{TouchingWidths, touching_widths};
pub use inside::inscribed_circle;
pub use least_squares::{algebraic_circle, least_squares_circle};
pub use zone::{RingZone, minimum_zone_circle};

use self::vector::Vector;
use super::{count, range};

/// A circle, in the unit of the points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Centre.
    pub x: f64,
    /// Centre.
    pub y: f64,
    /// Radius.
    pub radius: f64,
}

/// A circle and the points that touch it, by their number in the data.
#[derive(Debug, Clone, PartialEq)]
pub struct Touching {
    /// The circle.
    pub circle: Circle,
    /// Two contacts on a diameter, or three that surround the centre, rising.
    pub contacts: Vec<usize>,
}

/// Why there is no such circle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CircleError {
    /// A coordinate is not a finite number.
    #[error("a position is not a number")]
    NotANumber,
    /// Fewer than three different places, or all on one line.
    #[error("a circle needs three places that are not on one line")]
    Straight,
    /// Two straight lines hold the points closer than any two circles do.
    #[error("two straight lines hold these points closer than any two circles")]
    NoRing,
    /// No circle inside touches points all round: they cover half a turn or less.
    #[error("the points do not surround a circle: they cover too little of the turn")]
    Open,
    /// The search did not converge.
    #[error("the search for the circle did not come to rest")]
    NotSettled,
}

impl Circle {
    /// Distance of each point from the circle, outside positive, in the order of the data.
    #[must_use]
    pub fn residuals(&self, points: &[(f64, f64)]) -> Vec<f64> {
        points.iter().map(|(x, y)| (x - self.x).hypot(y - self.y) - self.radius).collect()
    }

    /// Largest minus smallest distance from the centre: the roundness by this centre.
    #[must_use]
    pub fn width(&self, points: &[(f64, f64)]) -> f64 {
        range(&self.residuals(points))
    }
}

/// The points relative to their mean, with that mean; refused where they fit no circle.
fn centred(points: &[(f64, f64)]) -> Result<(Vec<Vector>, Vector), CircleError> {
    if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return Err(CircleError::NotANumber);
    }
    let start = points.first().ok_or(CircleError::Straight)?;
    let start = Vector { x: start.0, y: start.1 };
    let away: Vec<Vector> = points.iter().map(|&(x, y)| Vector { x, y }.minus(start)).collect();
    let sum = away.iter().fold(Vector::default(), |sum, place| sum.plus(*place));
    let mean = sum.times(1.0 / count(points.len()));
    let about: Vec<Vector> = away.iter().map(|place| place.minus(mean)).collect();
    if vector::on_one_line(&about) {
        Err(CircleError::Straight)
    } else {
        Ok((about, start.plus(mean)))
    }
}

impl Circle {
    /// The circle about `centre`, which is given relative to `mean`.
    const fn moved(centre: Vector, radius: f64, mean: Vector) -> Self {
        Self { x: centre.x + mean.x, y: centre.y + mean.y, radius }
    }
}

#[cfg(test)]
mod tests;

//! Turns floats in the unit of a column into exact figures.

use geometry::total_reading;
use quantity::{Figure, Unit};

/// The unit of a column, and that of the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    /// How many picometres one unit of the column is.
    pub(crate) picometres: f64,
    /// The unit of the result.
    pub(crate) unit: Unit,
}

/// More picometres than any figure of points within ±9 000 km can have.
const LARGEST: f64 = 1e24;

/// The sentence for points from which floats give no figure.
pub(crate) const TOO_CLOSE: &str = "the positions are too close together to carry a figure";

impl Scale {
    /// The scale from the column's unit to the wanted one; without a wanted one, to the same.
    pub(crate) fn new(column: Unit, wanted: Option<Unit>) -> Self {
        Self { picometres: in_picometres(column), unit: wanted.unwrap_or(column) }
    }

    /// A figure worked out in floats, rounded to a thousandth of a picometre.
    ///
    /// That is coarser than the rounding errors of floats on a bench and finer than any tolerance, so a tie
    /// stays a tie.
    #[expect(clippy::cast_possible_truncation, reason = "below 10^27, which an i128 holds")]
    pub(crate) fn figure(self, number: f64) -> Result<Figure, String> {
        let picometres = number * self.picometres;
        if picometres.abs() < LARGEST {
            Ok(Figure::new((picometres * 1000.0).round() as i128, 1000))
        } else {
            Err(TOO_CLOSE.to_owned())
        }
    }

    /// A range: exact where the decimals could be held, otherwise from the floats.
    pub(crate) fn range(self, exact: Option<Figure>, floats: &[f64]) -> Result<Figure, String> {
        exact.map_or_else(|| self.figure(total_reading(floats)), Ok)
    }

    /// A number of the column, converted to the unit of the result.
    pub(crate) fn number(self, number: f64) -> f64 {
        number * self.picometres / in_picometres(self.unit)
    }
}

/// How many picometres one of this unit is.
#[expect(clippy::cast_precision_loss, reason = "picometres of a unit are below 2^53")]
pub(crate) fn in_picometres(unit: Unit) -> f64 {
    unit.picometres() as f64
}

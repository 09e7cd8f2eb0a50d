//! The waves in the readings of one turn: eccentricity, oval, lobes, and the residuals.
//!
//! Readings are heights in one unit, angles are in degrees, counted the way the part turns. Order 1
//! is eccentricity, order 2 an oval, order 3 three lobes; an order `k` needs at least `2k + 1`
//! angles with every gap below `180/k` degrees.

mod even;
mod long;
mod low_pass;
mod uneven;

pub use even::EvenTurn;
pub use long::waves_of_turn;
pub use low_pass::{WAVES_KEPT, is_even_turn, low_pass, low_pass_even};
pub(super) use uneven::{carries, checked};
pub use uneven::{highest_order, waves_at};

use super::axis::Offset;
use super::{full_turn, range};

/// One wave round the turn: `cosine·cos kt + sine·sin kt`, in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Waves in one turn, 1 or more.
    pub order: usize,
    /// Factor of `cos kt`.
    pub cosine: f64,
    /// Factor of `sin kt`.
    pub sine: f64,
}

/// The mean and the waves of one turn.
#[derive(Debug, Clone, PartialEq)]
pub struct Waves {
    /// The mean of the fit, in the unit of the readings.
    pub mean: f64,
    /// Orders 1, 2, … in this order.
    pub waves: Vec<Wave>,
    /// Variances and covariance of cosine and sine of order 1, for readings of variance 1:
    /// `[cosine, covariance, sine]`.
    first: [f64; 3],
}

/// The first wave as an eccentricity, with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eccentricity {
    /// Towards the high reading, in the unit of the readings. The centre of the surface lies there when
    /// it was touched from outside, and opposite ([`Offset::opposite`]) when it was touched in a bore.
    pub offset: Offset,
    /// Standard uncertainty of the amount, in the same unit.
    pub u_amount: f64,
    /// Standard uncertainty of the angle in degrees, at most 180: with 180 the angle is unknown.
    pub u_towards_deg: f64,
}

/// Why the waves of a turn cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TurnError {
    /// An angle or a reading is not a finite number.
    #[error("an angle or reading is not a number")]
    NotANumber,
    /// The number of readings differs from the number of angles.
    #[error("{given} readings for {expected} angles")]
    Lengths {
        /// Number of angles.
        expected: usize,
        /// Number of readings.
        given: usize,
    },
    /// Too few different angles for the order.
    #[error("order {order} needs {} angles, there are {angles}", 2 * .order + 1)]
    TooFew {
        /// The order asked for.
        order: usize,
        /// Different angles there are.
        angles: usize,
    },
    /// A gap that could hide a wave of the order.
    #[error("order {order} needs every gap below {:.1} deg, one is {gap_deg:.1}", 180.0 / super::count(*.order))]
    Gap {
        /// The order asked for.
        order: usize,
        /// How many different angles there are.
        gap_deg: f64,
    },
}

impl Wave {
    /// Half the peak-to-valley of the wave, in the unit of the readings.
    #[must_use]
    pub fn amplitude(&self) -> f64 {
        self.cosine.hypot(self.sine)
    }

    /// The first high spot, degrees, [0, 360/k).
    #[must_use]
    pub fn high_deg(&self) -> f64 {
        let order = super::count(self.order);
        full_turn(self.sine.atan2(self.cosine).to_degrees()) / order
    }

    /// All high spots, degrees, rising.
    pub fn high_spots_deg(&self) -> impl Iterator<Item = f64> + use<> {
        let (first, step) = (self.high_deg(), 360.0 / super::count(self.order));
        (0..self.order).map(move |lobe| first + step * super::count(lobe))
    }

    /// The height of the wave at an angle.
    #[must_use]
    pub fn at(&self, angle_deg: f64) -> f64 {
        let (sine, cosine) = (super::count(self.order) * angle_deg.to_radians()).sin_cos();
        self.cosine * cosine + self.sine * sine
    }
}

impl Waves {
    /// The wave of an order; `None` where it was not worked out.
    #[must_use]
    pub fn wave(&self, order: usize) -> Option<Wave> {
        self.waves.get(order.checked_sub(1)?).copied()
    }

    /// Mean and waves up to `order` at an angle.
    #[must_use]
    pub fn at(&self, angle_deg: f64, order: usize) -> f64 {
        self.waves.iter().take(order).fold(self.mean, |sum, wave| sum + wave.at(angle_deg))
    }

    /// Readings minus mean and waves up to `order`. With order 1 this leaves out-of-round and the error
    /// of the bearings; its range is the roundness about the least-squares centre.
    #[must_use]
    pub fn residuals(&self, angles_deg: &[f64], readings: &[f64], order: usize) -> Vec<f64> {
        let pairs = angles_deg.iter().zip(readings);
        pairs.map(|(angle, reading)| reading - self.at(*angle, order)).collect()
    }

    /// The first wave with its uncertainty, from the standard uncertainty of one reading.
    ///
    /// With equally spaced readings it is `√(2/N)·u` for the amount, and that divided by the amount (in
    /// radians) for the angle. With gaps it comes from the normal equations. `None` where order 1 was not
    /// worked out.
    #[must_use]
    pub fn eccentricity(&self, u_reading: f64) -> Option<Eccentricity> {
        let wave = self.wave(1)?;
        let offset = Offset { x: wave.cosine, y: wave.sine };
        let amount = offset.amount();
        let [xx, xy, yy] = self.first;
        let along =
            |x: f64, y: f64| (xx * x * x + 2.0 * xy * x * y + yy * y * y).sqrt() * u_reading;
        let (x, y) = if amount > 0.0 { (offset.x / amount, offset.y / amount) } else { (1.0, 0.0) };
        let turn = (along(-y, x) / amount).to_degrees();
        Some(Eccentricity {
            offset,
            u_amount: along(x, y),
            // Not `min`: 0/0 is not a number, and the angle is unknown then too.
            u_towards_deg: if turn < 180.0 { turn } else { 180.0 },
        })
    }
}

/// Total indicator reading: the highest minus the lowest, in their unit; 0 when there are none.
#[must_use]
pub fn total_reading(readings: &[f64]) -> f64 {
    range(readings)
}

#[cfg(test)]
mod tests;

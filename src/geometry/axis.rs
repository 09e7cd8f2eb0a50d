//! Where an axis lies: eccentricity at two stations, its prediction, bar reversal, four seatings.
//!
//! All offsets are measured from one angle zero, marked on the spindle, and point to where the axis
//! lies. Where a station was touched from inside a bore, the offset of its high reading is reversed
//! first ([`Offset::opposite`]).

use super::full_turn;

/// A displacement square to the axis of rotation, in any unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Offset {
    /// Towards 0 degrees.
    pub x: f64,
    /// Towards 90 degrees.
    pub y: f64,
}

impl Offset {
    /// `amount` towards an angle.
    #[must_use]
    pub fn towards(amount: f64, angle_deg: f64) -> Self {
        let (sine, cosine) = angle_deg.to_radians().sin_cos();
        Self { x: amount * cosine, y: amount * sine }
    }

    /// The distance, whatever the direction.
    #[must_use]
    pub fn amount(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// The direction, in degrees, [0, 360).
    #[must_use]
    pub fn towards_deg(self) -> f64 {
        full_turn(self.y.atan2(self.x).to_degrees())
    }

    /// The same distance in the other direction: turns a high reading taken inside a bore into the offset
    /// of its axis.
    #[must_use]
    pub const fn opposite(self) -> Self {
        Self { x: -self.x, y: -self.y }
    }

    /// What an indicator shows over one turn: twice the distance.
    #[must_use]
    pub fn total_reading(self) -> f64 {
        2.0 * self.amount()
    }

    /// `self·a + other·b`.
    const fn mix(self, a: f64, other: Self, b: f64) -> Self {
        Self { x: self.x * a + other.x * b, y: self.y * a + other.y * b }
    }
}

/// An axis given by its offsets at two stations along it.
///
/// With one seating of a bar this is "bar axis as seated", spindle and bar together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoStations {
    at: [f64; 2],
    offsets: [Offset; 2],
}

/// Why two stations do not give an axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AxisError {
    /// Both stations are at one place, or a number is not finite.
    #[error("an axis needs two stations at different places")]
    OneStation,
}

impl TwoStations {
    /// The axis through `first` at `z1` and `second` at `z2`. Both places have one unit, both offsets
    /// one unit.
    pub fn new(z1: f64, first: Offset, z2: f64, second: Offset) -> Result<Self, AxisError> {
        let numbers = [first.x, first.y, second.x, second.y];
        let apart = (z2 - z1).abs() > 0.0 && (z2 - z1).is_finite();
        if apart && numbers.iter().all(|number| number.is_finite()) {
            Ok(Self { at: [z1, z2], offsets: [first, second] })
        } else {
            Err(AxisError::OneStation)
        }
    }

    /// How far `z` is on the way from the first station to the second: 0 at the first, 1 at the second,
    /// above 1 beyond it.
    #[must_use]
    pub fn share(&self, z: f64) -> f64 {
        (z - self.at[0]) / (self.at[1] - self.at[0])
    }

    /// The offset at `z`: measured at the stations, predicted elsewhere. Its
    /// [`Offset::total_reading`] is the total reading of the first wave alone.
    #[must_use]
    pub fn offset(&self, z: f64) -> Offset {
        let k = self.share(z);
        self.offsets[0].mix(1.0 - k, self.offsets[1], k)
    }

    /// The tilt as offset per distance along the axis. Its amount is the tilt in radians where offsets
    /// and places have the same unit.
    #[must_use]
    pub fn tilt(&self) -> Offset {
        let per = 1.0 / (self.at[1] - self.at[0]);
        self.offsets[1].mix(per, self.offsets[0], -per)
    }

    /// `√(k² + (k−1)²)`: by how much the uncertainty of an offset grows on the way to `z`, for two
    /// stations with the same, independent uncertainty.
    #[must_use]
    pub fn factor(&self, z: f64) -> f64 {
        self.uncertainty(z, 1.0, 1.0)
    }

    /// The standard uncertainty of the offset at `z` from those at the first and second station,
    /// taken as independent.
    #[must_use]
    pub fn uncertainty(&self, z: f64, u_first: f64, u_second: f64) -> f64 {
        let k = self.share(z);
        ((k - 1.0) * u_first).hypot(k * u_second)
    }

    /// Where the axis comes closest to the axis of rotation; `None` without tilt.
    #[must_use]
    pub fn closest(&self) -> Option<f64> {
        let (tilt, first) = (self.tilt(), self.offsets[0]);
        let square = tilt.x * tilt.x + tilt.y * tilt.y;
        let z = self.at[0] - (first.x * tilt.x + first.y * tilt.y) / square;
        z.is_finite().then_some(z)
    }
}

/// The smallest and largest total reading possible at a share `k` of the way when only the total
/// readings at both stations are known: `|k·T2| ± |(k−1)·T1|`, taken without sign.
#[must_use]
pub fn total_reading_bounds(first: f64, second: f64, share: f64) -> (f64, f64) {
    let (far, near) = ((share * second).abs(), ((share - 1.0) * first).abs());
    ((far - near).abs(), far + near)
}

/// What three seatings of a bar give: at 0, at 180 and at 0 again, angles marked on the spindle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reversal {
    /// The spindle's own offset: half the sum.
    pub spindle: Offset,
    /// The bar's own offset, as seated at 0: half the difference.
    pub bar: Offset,
    /// The third seating minus the first. Its amount shows whether the seating repeats; the caller
    /// holds it against a limit.
    pub repeat: Offset,
}

/// Splits spindle and bar: the part that stays where it is when the bar is turned is the spindle's.
#[must_use]
pub const fn reversal(at_0: Offset, at_180: Offset, at_0_again: Offset) -> Reversal {
    Reversal {
        spindle: at_0.mix(0.5, at_180, 0.5),
        bar: at_0.mix(0.5, at_180, -0.5),
        repeat: at_0_again.mix(1.0, at_0, -1.0),
    }
}

/// What four seatings of a bar 90 degrees apart give (from memory, ISO 230-1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourSeatings {
    /// The mean of the four total readings: what a bar shows on average when put in at random.
    pub mean_total_reading: f64,
    /// The spindle's offset: the mean of the four.
    pub spindle: Offset,
}

/// Both figures of four seatings, given in any order.
#[must_use]
pub fn four_seatings(offsets: [Offset; 4]) -> FourSeatings {
    let sum = offsets.iter().fold(Offset::default(), |sum, offset| sum.mix(1.0, *offset, 1.0));
    FourSeatings {
        mean_total_reading: offsets.iter().map(|offset| offset.total_reading()).sum::<f64>() / 4.0,
        spindle: sum.mix(0.25, Offset::default(), 0.0),
    }
}

/// What four seatings 90 degrees apart give, with two results of each kind to compare.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuarterTurns {
    /// The spindle's own offset: the mean.
    pub spindle: Offset,
    /// The bar's own offset as seated at 0: the mean of all four, each turned back.
    pub bar: Offset,
    /// Half the sum of 0 and 180 minus half the sum of 90 and 270: both are the spindle's offset.
    pub sums: Offset,
    /// Half the difference of 0 and 180 minus that of 90 and 270 turned back: both are the bar's offset.
    pub differences: Offset,
    /// `differences` worked out as if the bar had been turned the other way round.
    pub turned_against: Offset,
}

/// Splits spindle and bar where the bar was seated at 0, 90, 180 and 270 counter-clockwise.
#[must_use]
pub const fn quarter_turns([at_0, at_90, at_180, at_270]: [Offset; 4]) -> QuarterTurns {
    let (even, odd) = (at_0.mix(0.5, at_180, 0.5), at_90.mix(0.5, at_270, 0.5));
    let (first, second) = (at_0.mix(0.5, at_180, -0.5), at_90.mix(0.5, at_270, -0.5));
    let back = Offset { x: second.y, y: -second.x };
    QuarterTurns {
        spindle: even.mix(0.5, odd, 0.5),
        bar: first.mix(0.5, back, 0.5),
        sums: even.mix(1.0, odd, -1.0),
        differences: first.mix(1.0, back, -1.0),
        turned_against: first.mix(1.0, back, 1.0),
    }
}

#[cfg(test)]
mod tests;

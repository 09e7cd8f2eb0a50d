//! Made-up rings and hands.

use std::f64::consts::TAU;

/// Numbers of a generator by Marsaglia (xorshift64, 2003; from memory).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).max(1));
        for _ in 0..20 {
            dice.share();
        }
        dice
    }

    /// Between 0 and 1.
    pub(crate) fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap_or(0)) / 4_294_967_296.0
    }

    /// Of a standard deviation (Box and Muller, 1958; from memory).
    pub(crate) fn normal(&mut self, s: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        s * radius * (TAU * self.share()).cos()
    }

    /// Degrees.
    pub(crate) fn angle(&mut self) -> f64 {
        360.0 * self.share()
    }

    /// Heights with the scatter of touches.
    pub(crate) fn touched(&mut self, heights: &[f64], s: f64) -> Vec<f64> {
        heights.iter().map(|height| height + self.normal(s)).collect()
    }
}

/// A face as a sum of waves: amplitude and high spot, degrees, of orders 1, 2, ….
pub(crate) struct Face(Vec<(f64, f64)>);

impl Face {
    /// With these amplitudes, each up to that, pointing anywhere.
    pub(crate) fn drawn(dice: &mut Dice, amplitudes: &[f64]) -> Self {
        Self(amplitudes.iter().map(|most| (most * dice.share(), dice.angle())).collect())
    }

    pub(crate) fn at(&self, angle_deg: f64) -> f64 {
        let waves = (1..).zip(&self.0);
        waves
            .map(|(order, (by, high))| {
                by * (f64::from(order) * (angle_deg - high).to_radians()).cos()
            })
            .sum()
    }

    pub(crate) fn touched_at(&self, positions: u32) -> Vec<f64> {
        angles(positions).into_iter().map(|angle| self.at(angle)).collect()
    }

    /// The difference between its highest and its lowest place.
    pub(crate) fn range(&self) -> f64 {
        range(&self.touched_at(720))
    }
}

/// Positions evenly round, degrees.
pub(crate) fn angles(positions: u32) -> Vec<f64> {
    (0..positions).map(|at| 360.0 * f64::from(at) / f64::from(positions)).collect()
}

pub(crate) fn range(heights: &[f64]) -> f64 {
    let most = heights.iter().copied().fold(f64::MIN, f64::max);
    most - heights.iter().copied().fold(f64::MAX, f64::min)
}

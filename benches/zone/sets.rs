//! Point sets for the benchmarks, from a small generator: every run tries the same ones.

use std::f64::consts::TAU;

/// A small generator (the 64-bit finaliser of `MurmurHash3` over a counter, as in `SplitMix64`).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// A whole number from 0 up to, not including, `limit`.
    pub(crate) fn below(&mut self, limit: i64) -> i64 {
        i64::try_from(self.bits() >> 33).expect("31 bits") % limit
    }

    /// From 0 up to, not including, 1.
    pub(crate) fn unit(&mut self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let whole = (self.bits() >> 11) as f64;
        whole * 2_f64.powi(-53)
    }

    /// Normal noise of standard deviation 1 (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (TAU * self.unit()).cos()
    }
}

/// Columns of a cloud.
#[derive(Debug, Clone, Default)]
pub(crate) struct Columns {
    pub(crate) x: Vec<f64>,
    pub(crate) y: Vec<f64>,
    pub(crate) z: Vec<f64>,
}

/// Kinds of clouds: positions in mm, heights in µm.
pub(crate) const KINDS: [&str; 8] = [
    "normal noise, scattered",
    "even noise, scattered",
    "bow along x with noise",
    "saddle with noise",
    "tilted, waves",
    "ring, lobes with noise",
    "grid in 0.1 mm, 0.01 µm",
    "scattered in 0.001 mm, 0.1 µm",
];

fn to_decimals(value: f64, units: f64) -> f64 {
    (value * units).round() / units
}

/// A cloud of one of the kinds.
pub(crate) fn cloud(kind: usize, points: usize, dice: &mut Dice) -> Columns {
    let mut columns = Columns::default();
    let side = points.isqrt().max(1);
    for row in 0..points {
        let part = [dice.unit(), dice.unit()];
        let (mut x, mut y) = (300.0 * part[0], 200.0 * part[1]);
        let z = match kind {
            0 => 0.8 * dice.normal() + 0.01 * x,
            1 => 3.0 * dice.unit() - 0.02 * y,
            2 => 1e-4 * (x - 150.0).powi(2) + 0.2 * dice.normal(),
            3 => 2e-4 * (x - 150.0) * (y - 100.0) + 0.1 * dice.normal(),
            4 => 2.0 * x - 0.7 * y + (x / 17.0).sin() * (y / 11.0).cos() + 0.05 * dice.normal(),
            5 => {
                let angle = TAU * part[0];
                let radius = 60.0 + 20.0 * part[1];
                (x, y) = (radius * angle.cos(), radius * angle.sin());
                (3.0 * angle).cos() + 0.3 * dice.normal() + 0.01 * x
            }
            6 => {
                let at = |index: usize| f64::from(u32::try_from(index).expect("small")) / 10.0;
                (x, y) = (at(row % side), at(row / side));
                to_decimals(0.3 * dice.normal() + 0.03 * x, 100.0)
            }
            _ => {
                (x, y) = (to_decimals(x, 1000.0), to_decimals(y, 1000.0));
                to_decimals(dice.normal(), 10.0)
            }
        };
        columns.x.push(x);
        columns.y.push(y);
        columns.z.push(z);
    }
    columns
}

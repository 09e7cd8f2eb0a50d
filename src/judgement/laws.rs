//! What holds of every value: where the zero lies, which way a gauge counts and in which unit, is no matter
//! of a judgement; more of what speaks against something never speaks for it; a limit is met exactly.

mod budget;
mod chart;
mod drift;
mod order;
mod pool;
mod proof;
mod rate;
mod repeats;

use proptest::prelude::*;
use quantity::Length;

/// So many picometres.
const fn pm(picometres: i64) -> Length {
    Length::from_picometres(picometres)
}

/// So many millionths of an inch.
const fn uin(count: i64) -> Length {
    pm(25_400 * count)
}

/// Lengths with this added to each.
fn moved(lengths: &[Length], by: i64) -> Vec<Length> {
    lengths.iter().map(|one| pm(one.picometres() + by)).collect()
}

/// Lengths with each multiplied.
fn times(lengths: &[Length], by: i64) -> Vec<Length> {
    lengths.iter().map(|one| pm(one.picometres() * by)).collect()
}

/// Some readings in picometres, within a hundredth of a millimetre.
fn readings(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Length>> {
    proptest::collection::vec((-10_000_000_i64..10_000_000).prop_map(pm), count)
}

/// Numbers between 0 and 1 of a generator by Marsaglia (xorshift64, 2003; from memory).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / 4_294_967_296.0
    }

    /// A normal value (Box and Muller, 1958; from memory).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.next()).cos()
    }
}

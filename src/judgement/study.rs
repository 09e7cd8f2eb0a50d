//! A study of a gauge: hands × parts × trials, each hand touching each part so many times without knowing
//! what it read before. What scatters within one hand on one part (repeatability) is told apart from what
//! differs between hands (reproducibility) and between parts.
//!
//! Floats: a study tells how good a measurement is and never meets a tolerance of a part.

mod anova;
mod ranges;
mod repeatability;

pub use anova::{Anova, Components, Source};
pub use ranges::AverageAndRange;
pub use repeatability::Repeatability;

/// Readings of a crossed study, in any unit of length; every hand touched every part equally often.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossed {
    parts: usize,
    hands: usize,
    trials: usize,
    /// Part by part, within a part hand by hand, within a hand trial by trial.
    values: Vec<f64>,
}

impl Crossed {
    /// Readings part by part, within a part hand by hand, within a hand trial by trial.
    ///
    /// `None` without a part or a hand, with fewer than two trials, where the readings are not as many as
    /// parts × hands × trials, or where one is no finite number.
    #[must_use]
    pub fn new([parts, hands, trials]: [usize; 3], values: Vec<f64>) -> Option<Self> {
        let whole = parts.checked_mul(hands)?.checked_mul(trials)?;
        let enough = parts > 0 && hands > 0 && trials > 1 && values.len() == whole;
        let finite = values.iter().all(|value| value.is_finite());
        (enough && finite).then_some(Self { parts, hands, trials, values })
    }

    /// How many parts there were.
    #[must_use]
    pub const fn parts(&self) -> usize {
        self.parts
    }

    /// How many hands touched each of them.
    #[must_use]
    pub const fn hands(&self) -> usize {
        self.hands
    }

    /// How often each hand touched each part.
    #[must_use]
    pub const fn trials(&self) -> usize {
        self.trials
    }

    /// The trials of one hand on one part.
    #[must_use]
    pub fn cell(&self, part: usize, hand: usize) -> &[f64] {
        let from = (part * self.hands + hand) * self.trials;
        self.values.get(from..from + self.trials).unwrap_or_default()
    }

    /// The mean of all readings.
    #[must_use]
    pub fn mean(&self) -> f64 {
        mean(self.values.iter().copied())
    }

    fn of_part(&self, part: usize) -> impl Iterator<Item = f64> + '_ {
        (0..self.hands).flat_map(move |hand| self.cell(part, hand).iter().copied())
    }

    fn of_hand(&self, hand: usize) -> impl Iterator<Item = f64> + '_ {
        (0..self.parts).flat_map(move |part| self.cell(part, hand).iter().copied())
    }
}

/// The mean of finite numbers, taken from the first of them so that a large common size costs no digits.
fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let first = values.clone().next().unwrap_or(0.0);
    let (sum, count) =
        values.fold((0.0, 0_u32), |(sum, count), value| (sum + (value - first), count + 1));
    first + sum / f64::from(count.max(1))
}

/// A small count as a float.
fn count(number: usize) -> f64 {
    u32::try_from(number).map_or(f64::INFINITY, f64::from)
}

/// How many kinds of parts the measurement can tell apart: 1.41 times the spread of the parts over that of
/// the measurement, rounded down, at least 1 (AIAG, Measurement Systems Analysis; from memory). `None`
/// where the measurement showed no scatter at all: its steps are too coarse for a study.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a positive count that is shown; beyond all counting it saturates"
)]
fn distinct_categories(part: f64, gauge: f64) -> Option<u32> {
    (gauge > 0.0).then(|| (1.41 * part / gauge).floor().max(1.0) as u32)
}

#[cfg(test)]
mod tests;

//! A study by averages and ranges, as it is done by hand (AIAG, Measurement Systems Analysis; from memory).

use super::super::floor::range_of;
use super::{Crossed, count, distinct_categories, mean};

/// Spreads, one standard deviation each, in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AverageAndRange {
    /// Of one hand on one part.
    pub repeatability: f64,
    /// Between hands.
    pub reproducibility: f64,
    /// Between parts.
    pub part: f64,
}

impl AverageAndRange {
    /// Of a study: the mean range within a hand on one part over d2; the range of the hands' means and
    /// that of the parts' means over what one range of so many has, √(d2² + d3²), the first without the
    /// share that repeatability has in it.
    #[must_use]
    pub fn of(study: &Crossed) -> Self {
        let (parts, hands) = (study.parts(), study.hands());
        let range = |values: &[f64]| {
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            high - values.iter().copied().fold(f64::INFINITY, f64::min)
        };
        let cells = (0..parts).flat_map(|part| (0..hands).map(move |hand| (part, hand)));
        let ranges: Vec<f64> = cells.map(|(part, hand)| range(study.cell(part, hand))).collect();
        let repeatability = mean(ranges.into_iter()) / range_of(study.trials()).0;
        let means = |of: Vec<Vec<f64>>| -> Vec<f64> {
            of.into_iter().map(|one| mean(one.into_iter())).collect()
        };
        let hand_means = means((0..hands).map(|hand| study.of_hand(hand).collect()).collect());
        let part_means = means((0..parts).map(|part| study.of_part(part).collect()).collect());
        let one_range = |values: &[f64]| {
            let (d2, d3) = range_of(values.len());
            if values.len() > 1 { range(values) / d2.hypot(d3) } else { 0.0 }
        };
        let within = repeatability.powi(2) / (count(parts) * count(study.trials()));
        let between = one_range(&hand_means).powi(2) - within;
        Self {
            repeatability,
            reproducibility: between.max(0.0).sqrt(),
            part: one_range(&part_means),
        }
    }

    /// Of the measurement: both together.
    #[must_use]
    pub fn gauge(&self) -> f64 {
        self.repeatability.hypot(self.reproducibility)
    }

    /// Of everything that was seen.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.part)
    }

    /// How many kinds of parts the measurement can tell apart; `None` where it showed no scatter.
    #[must_use]
    pub fn distinct_categories(&self) -> Option<u32> {
        distinct_categories(self.part, self.gauge())
    }
}

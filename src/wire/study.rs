//! `study/1`.

use serde::Serialize;

use super::text::line_of;

/// A study of hands and parts. Its figures are numbers in the unit of the readings: none of them meets the
/// tolerance of a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct StudyLine {
    /// The unit of the readings: `in`, `mm` or `um`; `null` where nobody stated it.
    #[cfg_attr(feature = "schemas", schemars(with = "Option<quantity::Unit>"))]
    pub unit: Option<&'static str>,
    /// The hands, as they first appear.
    pub hands: Vec<String>,
    /// The parts, as they first appear.
    pub parts: Vec<String>,
    /// How often each hand touched each part.
    pub trials: usize,
    /// How many readings there are.
    pub n: usize,
    /// The mean of all readings.
    pub mean: f64,
    /// The scatter within a hand on one part, nothing pooled with it.
    pub repeatability: RepeatabilityLine,
    /// The analysis of variance.
    pub anova: AnovaLine,
    /// Whether parts by hands were pooled with repeatability, since chance alone makes as much.
    pub interaction_pooled: bool,
    /// What scatters how much, by the analysis of variance.
    pub components: SpreadsLine,
    /// The same by averages and ranges.
    pub by_range: SpreadsLine,
    /// The width of the tolerance it is held against.
    pub tolerance: Option<f64>,
    /// What it means, in sentences.
    pub text: Vec<String>,
}

/// How well hands repeat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct RepeatabilityLine {
    /// One standard deviation.
    pub s: f64,
    /// Its degrees of freedom.
    pub freedom: f64,
    /// What the true scatter is below in 95 of 100 studies.
    pub at_most: f64,
}

/// The table of an analysis of variance.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct AnovaLine {
    /// Between parts; `null` with one part.
    pub part: Option<SourceLine>,
    /// Between hands; `null` with one hand.
    pub hand: Option<SourceLine>,
    /// Parts by hands; `null` with one of either.
    pub interaction: Option<SourceLine>,
    /// Within a hand on one part.
    pub repeatability: SourceLine,
    /// Repeatability and interaction together, where they are pooled; `null` otherwise.
    pub pooled: Option<SourceLine>,
}

/// A line of that table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct SourceLine {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub freedom: f64,
    /// Mean square.
    pub mean_square: f64,
    /// The mean square over that of what it is held against; `null` where it is held against nothing.
    pub f: Option<f64>,
    /// How often chance alone makes it as large, 0 to 1.
    pub chance: Option<f64>,
}

/// What scatters how much.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct SpreadsLine {
    /// Of one hand on one part.
    pub repeatability: SpreadLine,
    /// Between hands, parts by hands included.
    pub reproducibility: SpreadLine,
    /// Of parts by hands; `null` where it was pooled, or is not told apart.
    pub interaction: Option<SpreadLine>,
    /// Of the measurement: repeatability and reproducibility.
    pub gauge: SpreadLine,
    /// Between parts.
    pub part: SpreadLine,
    /// Of all readings.
    pub total: SpreadLine,
    /// How many kinds of parts the measurement can tell apart; `null` with one part, or where nothing
    /// scattered.
    pub distinct_categories: Option<u32>,
}

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct SpreadLine {
    /// One standard deviation.
    pub s: f64,
    /// Its square.
    pub variance: f64,
    /// Its share of the variance of all readings, percent; `null` where nothing scattered.
    pub percent_contribution: Option<f64>,
    /// Its standard deviation over that of all readings, percent.
    pub percent_study: Option<f64>,
    /// Six standard deviations over the width of the tolerance, percent; `null` without one.
    pub percent_of_tolerance: Option<f64>,
}

/// The word for what is between hands.
pub const BETWEEN_HANDS: &str = "between hands (reproducibility)";
/// The word for what is between parts.
pub const THE_PARTS: &str = "the parts";

impl SpreadsLine {
    /// Each spread beside the word for it, in the order in which they are told.
    #[must_use]
    pub fn named(&self) -> Vec<(&'static str, SpreadLine)> {
        let interaction = self.interaction.map(|spread| ("of it, parts by hands", spread));
        let mut all = vec![
            ("one hand again (repeatability)", self.repeatability),
            (BETWEEN_HANDS, self.reproducibility),
        ];
        all.extend(interaction);
        all.extend([
            ("the measurement", self.gauge),
            (THE_PARTS, self.part),
            ("all readings", self.total),
        ]);
        all
    }
}

/// A study as one line of JSON, without its line end.
#[must_use]
pub fn study_line(line: &StudyLine) -> String {
    line_of("study/1", line)
}

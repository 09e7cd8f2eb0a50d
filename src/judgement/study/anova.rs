//! A study by analysis of variance: parts, hands, parts by hands, and what is left within a hand on one
//! part (two-way crossed random model; Montgomery, Introduction to Statistical Quality Control; AIAG,
//! Measurement Systems Analysis; both from memory).

use statrs::distribution::{ContinuousCDF as _, FisherSnedecor};

use super::{Crossed, count, distinct_categories, mean};

/// Hands and parts are taken to act upon each other where chance alone would show as much less often than
/// this (common practice: 5 %).
const SIGNIFICANT: f64 = 0.05;

/// One line of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Sum of squares, square of the unit of the readings.
    pub squares: f64,
    /// Degrees of freedom.
    pub freedom: f64,
}

impl Source {
    /// The mean square; 0 without a degree of freedom.
    #[must_use]
    pub fn mean(&self) -> f64 {
        if self.freedom > 0.0 { self.squares / self.freedom } else { 0.0 }
    }
}

/// The analysis of variance of a study.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anova {
    /// Between parts.
    pub part: Source,
    /// Between hands.
    pub hand: Source,
    /// Hands that read some parts otherwise than others.
    pub interaction: Source,
    /// Within a hand on one part.
    pub repeatability: Source,
    /// How often chance alone would make the interaction as large as this; `None` with one hand.
    pub chance: Option<f64>,
    shape: [f64; 3],
}

/// Variances, square of the unit of the readings; none is below zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// Of one hand on one part.
    pub repeatability: f64,
    /// Between hands.
    pub hand: f64,
    /// Of hands by parts; `None` where it was pooled with repeatability.
    pub interaction: Option<f64>,
    /// Between parts.
    pub part: f64,
}

impl Anova {
    /// Of a study.
    #[must_use]
    pub fn of(study: &Crossed) -> Self {
        let shape @ [parts, hands, trials] =
            [study.parts(), study.hands(), study.trials()].map(count);
        let all = mean(study.values.iter().copied());
        let squares_about = |about: f64, values: &mut dyn Iterator<Item = f64>| -> f64 {
            values.map(|value| (value - about).powi(2)).sum()
        };
        let part_means = (0..study.parts())
            .map(|part| mean(study.of_part(part).collect::<Vec<_>>().into_iter()));
        let part_means: Vec<f64> = part_means.collect();
        let hand_means: Vec<f64> = (0..study.hands())
            .map(|hand| mean(study.of_hand(hand).collect::<Vec<_>>().into_iter()))
            .collect();
        let part = hands * trials * squares_about(all, &mut part_means.iter().copied());
        let hand = parts * trials * squares_about(all, &mut hand_means.iter().copied());
        let (mut interaction, mut repeatability) = (0.0, 0.0);
        for (index, part_mean) in part_means.iter().enumerate() {
            for (by, hand_mean) in hand_means.iter().enumerate() {
                let cell = study.cell(index, by);
                let cell_mean = mean(cell.iter().copied());
                interaction += trials * (cell_mean - part_mean - hand_mean + all).powi(2);
                repeatability += squares_about(cell_mean, &mut cell.iter().copied());
            }
        }
        let source = |squares, freedom| Source { squares, freedom };
        let interaction = source(interaction, (parts - 1.0) * (hands - 1.0));
        let repeatability = source(repeatability, parts * hands * (trials - 1.0));
        Self {
            part: source(part, parts - 1.0),
            hand: source(hand, hands - 1.0),
            interaction,
            repeatability,
            chance: chance(interaction, repeatability),
            shape,
        }
    }

    /// Whether the interaction is pooled with repeatability: chance alone shows as much often enough.
    #[must_use]
    pub fn is_pooled(&self) -> bool {
        self.chance.is_none_or(|chance| chance > SIGNIFICANT)
    }

    /// What repeatability and interaction are together.
    #[must_use]
    pub fn pooled(&self) -> Source {
        Source {
            squares: self.repeatability.squares + self.interaction.squares,
            freedom: self.repeatability.freedom + self.interaction.freedom,
        }
    }

    /// What a mean square between parts or hands is held against: the interaction, or where that is
    /// pooled all that is left.
    #[must_use]
    pub fn error(&self) -> Source {
        if self.is_pooled() { self.pooled() } else { self.interaction }
    }

    /// F of a source against another, and how often chance alone makes it as large; `None` where one of
    /// them has no degree of freedom, or the other shows no scatter.
    #[must_use]
    pub fn held_against(source: Source, other: Source) -> Option<(f64, f64)> {
        let f =
            (other.mean() > 0.0 && source.freedom > 0.0).then(|| source.mean() / other.mean())?;
        let law = FisherSnedecor::new(source.freedom, other.freedom).ok()?;
        Some((f, law.sf(f)))
    }

    /// The components of variance; one that comes out below zero is none.
    #[must_use]
    pub fn components(&self) -> Components {
        let [parts, hands, trials] = self.shape;
        let (within, error) = if self.is_pooled() {
            (self.pooled().mean(), self.pooled().mean())
        } else {
            (self.repeatability.mean(), self.interaction.mean())
        };
        let hand = if hands > 1.0 { (self.hand.mean() - error) / (parts * trials) } else { 0.0 };
        let interaction = (error - within) / trials;
        Components {
            repeatability: within,
            hand: hand.max(0.0),
            interaction: (!self.is_pooled()).then(|| interaction.max(0.0)),
            part: ((self.part.mean() - error) / (hands * trials)).max(0.0),
        }
    }
}

/// How often chance alone makes the interaction as large, by the F distribution.
fn chance(interaction: Source, repeatability: Source) -> Option<f64> {
    if repeatability.squares <= 0.0 {
        // Readings that never differ within a hand: any interaction at all is one.
        return (interaction.freedom > 0.0)
            .then_some(f64::from(u8::from(interaction.squares <= 0.0)));
    }
    let f = FisherSnedecor::new(interaction.freedom, repeatability.freedom).ok()?;
    Some(f.sf(interaction.mean() / repeatability.mean()))
}

impl Components {
    /// Of hands: between them, and hands by parts.
    #[must_use]
    pub fn reproducibility(&self) -> f64 {
        self.hand + self.interaction.unwrap_or(0.0)
    }

    /// Of the measurement: repeatability and reproducibility.
    #[must_use]
    pub fn gauge(&self) -> f64 {
        self.repeatability + self.reproducibility()
    }

    /// Of everything that was seen.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.gauge() + self.part
    }

    /// How many kinds of parts the measurement can tell apart; `None` where it showed no scatter. Of one
    /// part it says nothing.
    #[must_use]
    pub fn distinct_categories(&self) -> Option<u32> {
        distinct_categories(self.part.sqrt(), self.gauge().sqrt())
    }
}

//! Compares a figure with its limits.

use quantity::{Figure, Length};
use serde::{Deserialize, Serialize};

/// The values that a figure may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum Limits {
    /// At most this length.
    Max(Length),
    /// At least this length.
    Min(Length),
    /// From `min` to `max`, both inside.
    Band {
        /// The smallest allowed.
        min: Length,
        /// The largest allowed.
        max: Length,
    },
}

impl Limits {
    /// The tolerance T, from which the limits for closure, resolution and the like follow: the largest
    /// value allowed, or half of the band; the smallest where there is no largest.
    #[must_use]
    pub fn half_width(self) -> Figure {
        match self {
            Self::Max(limit) | Self::Min(limit) => Figure::from(limit),
            Self::Band { min, max } => (Figure::from(max) - Figure::from(min)) / 2,
        }
    }
}

quantity::worded! {
    /// What is said of a check.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Word {
        /// Inside the limit, by the guarded rule even after allowing for the uncertainty U.
        Conforms = "conforms",
        /// Outside the limit, by the guarded rule even after allowing for it.
        DoesNotConform = "does-not-conform",
        /// Too near to a limit to tell, or withheld for a reason.
        Undecided = "undecided",
        /// Stopped before its last position.
        Incomplete = "incomplete",
    }
}

quantity::worded! {
    /// The rule a verdict goes by.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
    pub enum Rule {
        /// Uncertainty counts against both answers; what lies between is undecided.
        #[default]
        Guarded = "guarded",
        /// The figure alone against the limit.
        Simple = "simple",
    }
}

/// The answers of both rules for one figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decision {
    /// By the simple rule: without uncertainty.
    pub simple: Word,
    /// By the guarded rule: with uncertainty.
    pub guarded: Word,
}

impl Decision {
    /// The word of `rule`.
    #[must_use]
    pub const fn by(self, rule: Rule) -> Word {
        match rule {
            Rule::Guarded => self.guarded,
            Rule::Simple => self.simple,
        }
    }
}

/// Judges `value` with its expanded uncertainty (not negative) by both rules, exactly.
///
/// A value at the limit conforms by the simple rule. By the guarded rule it conforms at `T − U` and is
/// undecided at `T + U`. A band is guarded on both sides, so in a band narrower than 2U nothing
/// conforms.
#[must_use]
pub fn decide(value: Figure, expanded: Length, limits: Limits) -> Decision {
    let (min, max) = match limits {
        Limits::Max(max) => (None, Some(max)),
        Limits::Min(min) => (Some(min), None),
        Limits::Band { min, max } => (Some(min), Some(max)),
    };
    let within = |guard: i64| {
        let above = min.is_none_or(|min| value >= moved(min, -guard));
        above && max.is_none_or(|max| value <= moved(max, guard))
    };
    let expanded = expanded.picometres();
    let guarded = match (within(-expanded), within(expanded)) {
        (true, _) => Word::Conforms,
        (false, true) => Word::Undecided,
        (false, false) => Word::DoesNotConform,
    };
    Decision { simple: if within(0) { Word::Conforms } else { Word::DoesNotConform }, guarded }
}

fn moved(limit: Length, by: i64) -> Figure {
    Figure::new(i128::from(limit.picometres()) + i128::from(by), 1)
}

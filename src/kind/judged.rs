//! What one characteristic comes to.

use judgement::{Expanded, Limits, Reason};
use num_rational::Ratio;
use quantity::{Figure, Length, Unit};
use serde::{Deserialize, Serialize};
use words::{Angle, Thousandth, degrees};

use super::figures::Figures;
use super::series::{Series, Watched};

/// A sentence that is told again elsewhere, where what it is of matters.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Saying {
    /// What it is of.
    pub of: SaidOf,
    /// The sentence.
    pub text: String,
}

/// What a sentence is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SaidOf {
    /// Why one length of a pair withholds the verdict on their difference.
    Length(Reason),
    /// That something was measured another way than the drawing means it.
    Mistaken,
    /// What the wheel took off.
    Wheel,
}

/// What one characteristic comes to.
#[derive(Debug, Default)]
pub struct Judged {
    /// The figure that is judged.
    pub value: Option<Figure>,
    /// How well it is known.
    pub expanded: Option<Expanded>,
    /// What the value is held against.
    pub limits: Option<Limits>,
    /// The figures beside it.
    pub figures: Figures,
    /// Reasons of its own that withhold the verdict.
    pub reasons: Vec<Reason>,
    /// Sentences of its own for the person.
    pub says: Vec<String>,
    /// Sentences behind them that are told again elsewhere.
    pub sayings: Vec<Saying>,
    /// Those that must not be missed.
    pub cautions: Vec<String>,
    /// The attempts it rests on by their numbers, where these are others than its own tries.
    pub rests_on: Option<Vec<u64>>,
    /// How much noise alone makes the figure larger, on average.
    pub reads_high: Option<Length>,
}

impl Judged {
    /// Where the highest reading of a needle that was watched all the way round was read off, degrees,
    /// and how well that is known: it may have stood highest anywhere up to half way to the next mark.
    /// Nothing where high and low are no further apart than their uncertainty.
    pub(crate) fn tell_watched_high_side(&mut self, of: &Series<'_>) {
        let apart = self
            .value
            .zip(self.expanded)
            .is_some_and(|(value, known)| value > Figure::from(known.uncertainty));
        if of.watched != Some(Watched::HighAndLow) || !apart {
            return;
        }
        let Some((position, _)) = of.sums.iter().max_by_key(|(_, sum)| *sum) else { return };
        let at = Angle::of(degrees(of.check.angle_deg(*position)));
        self.figures.lies_high_at(at, rounded_up(of.check.mark_pitch_deg() / 2.0));
    }
}

/// A float as an exact figure, to a thousandth of a picometre: figures of this kind are shown and
/// stored; of a filtered turn and a split bar they are judged.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "far below 2^127; NaN becomes None")]
pub fn thousandths(picometres: f64) -> Option<Figure> {
    picometres.is_finite().then(|| Figure::new((picometres * 1000.0).round() as i128, 1000))
}

/// To a thousandth, up: how far an angle may be off. What a float is off by itself is no thousandth.
pub(crate) fn rounded_up(value: f64) -> Thousandth {
    Thousandth::of((value * 1000.0 - 1e-6).ceil().max(0.0) / 1000.0)
}

/// To a thousandth, for slopes and factors that are shown.
#[must_use]
pub fn rounded(value: f64) -> Thousandth {
    Thousandth::of((value * 1000.0).round() / 1000.0)
}

/// A number from a plan, as short as it can be written, to six places: printed as if it were
/// millimetres.
#[must_use]
pub fn number(value: Ratio<i128>) -> String {
    let unit = Unit::Millimetre;
    Figure::new(*value.numer() * i128::from(unit.picometres()), *value.denom()).shown(unit)
}

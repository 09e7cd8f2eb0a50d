//! The result for one characteristic.

use judgement::{Budget, Expanded, Limits, Named, Reason};
use num_rational::Ratio;
use quantity::{Figure, Length, Unit};
use serde::{Deserialize, Serialize};
use words::{Angle, Thousandth, degrees};

use super::figures::Figures;
use super::series::{Series, Watched};

/// A sentence that other places need too, with its subject.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Saying {
    /// Its subject.
    pub of: SaidOf,
    /// The sentence.
    pub text: String,
}

/// The subject of a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SaidOf {
    /// Why one length of a pair withholds the verdict on their difference.
    Length(Reason),
    /// Why the verdict is withheld for this reason, with what was seen.
    Because(Reason),
    /// Something was probably measured in another way than the drawing means.
    Mistaken,
    /// What the wheel took off.
    Wheel,
}

/// The result for one characteristic.
#[derive(Debug, Default)]
pub struct Judged {
    /// The figure that is judged.
    pub value: Option<Figure>,
    /// The shares of its uncertainty.
    pub budget: Option<Budget>,
    /// The shares beside touches, master and heat, which also belong to what is made of it.
    pub beside: Vec<Named>,
    /// The limits it is compared with.
    pub limits: Option<Limits>,
    /// The figures beside it.
    pub figures: Figures,
    /// Its own reasons to withhold the verdict.
    pub reasons: Vec<Reason>,
    /// Its own sentences for a person.
    pub says: Vec<String>,
    /// Further sentences, after those, that other places need too.
    pub sayings: Vec<Saying>,
    /// The sentences that a person must not miss.
    pub cautions: Vec<String>,
    /// The numbers of the attempts it uses, where these are not just its own tries.
    pub rests_on: Option<Vec<u64>>,
    /// How far seatings of a bar lie apart: at each distance along it, along each axis, as differences of
    /// two seatings.
    pub reseated: Vec<(Length, Vec<Length>)>,
    /// How much noise alone makes the figure larger, on average.
    pub reads_high: Option<Length>,
    /// Whether nobody states how well the figure is known, so that it is held against its limits without U.
    pub plainly: bool,
}

impl Judged {
    /// Its expanded uncertainty.
    #[must_use]
    pub fn expanded(&self) -> Option<Expanded> {
        self.budget.as_ref().map(Budget::expanded)
    }

    /// Sets where a needle watched over the whole turn read highest, degrees, and how well that is known:
    /// it may have been highest anywhere up to half way to the next mark. Sets nothing where high and low
    /// are no further apart than their uncertainty.
    pub(crate) fn tell_watched_high_side(&mut self, of: &Series<'_>) {
        let apart = self
            .value
            .zip(self.expanded())
            .is_some_and(|(value, known)| value > Figure::from(known.uncertainty));
        if of.watched != Some(Watched::HighAndLow) || !apart {
            return;
        }
        let Some((position, _)) = of.sums.iter().max_by_key(|(_, sum)| *sum) else { return };
        let at = Angle::of(degrees(of.check.angle_deg(*position)));
        self.figures.lies_high_at(at, rounded_up(of.check.mark_pitch_deg() / 2.0));
    }
}

/// A float as an exact figure, to a thousandth of a picometre. Such figures are shown and stored; for a
/// filtered turn and a split bar they are also judged.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "far below 2^127; NaN becomes None")]
pub fn thousandths(picometres: f64) -> Option<Figure> {
    picometres.is_finite().then(|| Figure::new((picometres * 1000.0).round() as i128, 1000))
}

/// Rounded up to a thousandth: how far off an angle may be. The error of the float is less than a
/// thousandth.
pub(crate) fn rounded_up(value: f64) -> Thousandth {
    Thousandth::of((value * 1000.0 - 1e-6).ceil().max(0.0) / 1000.0)
}

/// Rounded to a thousandth, for slopes and factors that are shown.
#[must_use]
pub fn rounded(value: f64) -> Thousandth {
    Thousandth::of((value * 1000.0).round() / 1000.0)
}

/// A number from a plan, as short as possible, to six places; it is printed as if it were millimetres.
#[must_use]
pub fn number(value: Ratio<i128>) -> String {
    let unit = Unit::Millimetre;
    Figure::new(*value.numer() * i128::from(unit.picometres()), *value.denom()).shown(unit)
}

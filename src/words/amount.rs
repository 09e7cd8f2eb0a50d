//! Lengths that stand by themselves in a sentence.

use crate::judgement::Limits;
use crate::quantity::{Figure, Length, Unit};

use super::Held;
use super::held::first_place;

/// A length that somebody stated (a limit, a size, a distance), with all its digits and no zeros
/// behind them. One without an end in this unit, such as 3 um in inches, is rounded half to even
/// at the places shown for it.
#[must_use]
pub fn size(length: Length, unit: Unit) -> String {
    decimal(Figure::from(length), unit)
}

/// A figure with all its digits, as [`size`]; one without an end is rounded half to even at the
/// places shown for the unit.
#[must_use]
pub fn decimal(figure: Figure, unit: Unit) -> String {
    let full = figure.trimmed_at(unit, unit.uncertainty_places());
    if Figure::parse(&full, unit) == Some(figure) { full } else { figure.shown(unit) }
}

/// The limits as a person reads them: `0.0001`, or `1.4990 to 1.5010` without zeros behind.
#[must_use]
pub fn limits(limits: Limits, unit: Unit) -> String {
    match limits {
        Limits::Max(max) => size(max, unit),
        Limits::Band { min, max } => format!("{} to {}", size(min, unit), size(max, unit)),
    }
}

/// A figure with one digit more than the limit it is held against, and with more where fewer would
/// put it on the other side.
#[must_use]
pub fn beside(figure: Figure, limit: Length, unit: Unit) -> String {
    Held::of(figure, unit).against(Limits::Max(limit)).told(unit).value.unwrap_or_default()
}

/// A small figure by itself: to a millionth of an inch, a hundredth of a micrometre.
#[must_use]
pub fn fine(figure: Figure, unit: Unit) -> String {
    let places = match unit {
        Unit::Inch => 6,
        Unit::Millimetre => 5,
        Unit::Micrometre => 2,
    };
    figure.fixed(unit, places)
}

/// An amount that a person works to (to grind off, to shim), in the decimal places of the step of
/// the gauge it was measured with: finer it was not measured.
#[must_use]
pub fn in_steps(amount: Figure, step: Length, unit: Unit) -> String {
    amount.fixed(unit, step_places(step, unit))
}

/// The same with its expanded uncertainty: `0.00015 ± 0.000038`, that with one digit more and
/// rounded up.
#[must_use]
pub fn with_doubt(amount: Figure, expanded: Figure, step: Length, unit: Unit) -> String {
    let doubt = expanded.shown_up_at(unit, step_places(step, unit) + 1);
    format!("{} ± {doubt}", in_steps(amount, step, unit))
}

fn step_places(step: Length, unit: Unit) -> u32 {
    if step == Length::ZERO { unit.shown_places() } else { first_place(Figure::from(step), unit) }
}

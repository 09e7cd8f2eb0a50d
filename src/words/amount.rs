//! Lengths that stand by themselves in a sentence.

use judgement::Limits;
use quantity::{Figure, Length, Quoted, Unit};

use super::Held;
use super::held::{FINEST, first_place};

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

/// A reading in `unit`: in its own as it was read, in another one rounded for show.
#[must_use]
pub fn as_read(value: Quoted, unit: Unit) -> String {
    if value.unit == unit { value.number() } else { Figure::from(value.length).shown(unit) }
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
    figure.fixed(unit, fine_places(unit))
}

const fn fine_places(unit: Unit) -> u32 {
    match unit {
        Unit::Inch => 6,
        Unit::Millimetre => 5,
        Unit::Micrometre => 2,
    }
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
    let places = step_places(step, unit);
    let [amount, doubt] = known_to(amount, expanded, (places, places + 1), unit);
    format!("{amount} ± {doubt}")
}

/// A small figure that nothing is held against, and its expanded uncertainty rounded up: both as
/// [`fine`].
#[must_use]
pub fn fine_with_doubt(figure: Figure, expanded: Figure, unit: Unit) -> [String; 2] {
    [figure.fixed(unit, fine_places(unit)), expanded.shown_up_at(unit, fine_places(unit))]
}

/// A small figure and one that it was held against and that nobody stated: both as [`fine`], with
/// more places where fewer would put the figure on the other side.
#[must_use]
pub fn fine_beside(figure: Figure, limit: Figure, unit: Unit) -> [String; 2] {
    let same_side = |places: &u32| {
        let [told, of_limit] = [figure, limit].map(|one| one.rounded_at(unit, *places));
        told.cmp(&of_limit) == figure.cmp(&limit)
    };
    let places = (fine_places(unit)..=FINEST).find(same_side).unwrap_or(FINEST);
    [figure, limit].map(|one| one.fixed(unit, places))
}

/// By how much a figure changed and the expanded uncertainty of that, as a person reads them: with
/// so many places, and its sign. More places where fewer would hide whether it changed.
#[must_use]
pub fn change(change: Figure, expanded: Figure, places: u32, unit: Unit) -> [String; 2] {
    let [amount, doubt] = known_to(change, expanded, (places, places + 1), unit);
    // What rounds to nothing has no sign.
    let rises = change > Figure::ZERO && amount.contains(|digit| ('1'..='9').contains(&digit));
    [if rises { format!("+{amount}") } else { amount }, doubt]
}

/// The same as the record's lines give it.
#[must_use]
pub fn recorded_change(change: Figure, expanded: Figure, unit: Unit) -> [String; 2] {
    let places = (unit.shown_places(), unit.uncertainty_places());
    let [amount, doubt] = known_to(change, expanded, places, unit);
    [Figure::parse(&amount, unit).map_or(amount, |told| told.trimmed_at(unit, FINEST)), doubt]
}

/// An amount and its uncertainty rounded up, with at least so many places each: whoever reads them
/// finds the amount larger than the uncertainty only where it is.
fn known_to(
    amount: Figure,
    expanded: Figure,
    (places, of_doubt): (u32, u32),
    unit: Unit,
) -> [String; 2] {
    let is_more = amount.abs() > expanded;
    let reads = |(places, of_doubt): &(u32, u32)| {
        amount.abs().rounded_at(unit, *places) > expanded.rounded_up_at(unit, *of_doubt)
    };
    let (places, of_doubt) = (0..=FINEST)
        .map(|more| ((places + more).min(FINEST), (of_doubt + more).min(FINEST)))
        .find(|places| reads(places) == is_more)
        .unwrap_or((FINEST, FINEST));
    [amount.fixed(unit, places), expanded.shown_up_at(unit, of_doubt)]
}

fn step_places(step: Length, unit: Unit) -> u32 {
    if step == Length::ZERO { unit.shown_places() } else { first_place(Figure::from(step), unit) }
}

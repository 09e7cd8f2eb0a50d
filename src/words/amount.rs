//! Lengths that are written alone in a sentence.

use judgement::Limits;
use quantity::{Figure, Length, Quoted, Unit};

use super::Held;
use super::held::{FINEST, first_place};

/// A length that a person stated (a limit, a size, a distance), with all its digits and without zeros
/// behind them. A length with endless digits in this unit, such as 3 um in inches, is rounded half to even
/// at the places shown for the unit.
#[must_use]
pub fn size(length: Length, unit: Unit) -> String {
    decimal(Figure::from(length), unit)
}

/// A figure with all its digits, as [`size`]; with endless digits it is rounded half to even at the places
/// shown for the unit.
#[must_use]
pub fn decimal(figure: Figure, unit: Unit) -> String {
    let full = figure.trimmed_at(unit, unit.uncertainty_places());
    if Figure::parse(&full, unit) == Some(figure) { full } else { figure.shown(unit) }
}

/// A reading in `unit`: as it was read where it is in that unit, otherwise rounded.
#[must_use]
pub fn as_read(value: Quoted, unit: Unit) -> String {
    if value.unit == unit { value.number() } else { Figure::from(value.length).shown(unit) }
}

/// The limits for people: `0.0001`, or `1.4990 to 1.5010`, without zeros behind.
#[must_use]
pub fn limits(limits: Limits, unit: Unit) -> String {
    match limits {
        Limits::Max(max) => size(max, unit),
        Limits::Min(min) => format!("at least {}", size(min, unit)),
        Limits::Band { min, max } => format!("{} to {}", size(min, unit), size(max, unit)),
    }
}

/// A figure with one digit more than its limit, and with more where fewer would put it on the other side of
/// the limit.
#[must_use]
pub fn beside(figure: Figure, limit: Length, unit: Unit) -> String {
    Held::of(figure, unit).against(Limits::Max(limit)).told(unit).value.unwrap_or_default()
}

/// A small figure alone: to a millionth of an inch, or a hundredth of a micrometre.
#[must_use]
pub fn fine(figure: Figure, unit: Unit) -> String {
    figure.fixed(unit, fine_places(unit))
}

/// The same without zeros behind: a size that stands among others.
#[must_use]
pub fn fine_size(figure: Figure, unit: Unit) -> String {
    figure.trimmed_at(unit, fine_places(unit))
}

/// The same rounded up: what somebody is told to have at least.
#[must_use]
pub fn fine_up(figure: Figure, unit: Unit) -> String {
    figure.shown_up_at(unit, fine_places(unit))
}

/// A number that is no stored figure, to so many digits that mean something, without zeros behind: a
/// standard deviation, the end of an axis.
#[must_use]
pub fn significant(number: f64, digits: u32) -> String {
    if number == 0.0 || !number.is_finite() {
        return if number == 0.0 { "0".to_owned() } else { number.to_string() };
    }
    let digits = i64::from(digits.max(1));
    // The place of its first digit, from the form with a power of ten, which rounds as it prints.
    let places = usize::try_from(digits - 1).unwrap_or(0);
    let scientific = format!("{number:.places$e}");
    let power: i64 =
        scientific.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0);
    let behind = usize::try_from(digits - 1 - power).unwrap_or(0).min(18);
    let text = format!("{number:.behind$}");
    let trimmed =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    trimmed.to_owned()
}

const fn fine_places(unit: Unit) -> u32 {
    match unit {
        Unit::Inch => 6,
        Unit::Millimetre => 5,
        Unit::Micrometre | Unit::Other(_) => 2,
    }
}

/// An amount to work to (to grind off, to shim), with the decimal places of the gauge's step: it was not
/// measured more finely.
#[must_use]
pub fn in_steps(amount: Figure, step: Length, unit: Unit) -> String {
    amount.fixed(unit, step_places(step, unit))
}

/// The same with its expanded uncertainty: `0.00015 ± 0.000038`. The uncertainty has one digit more and is
/// rounded up.
#[must_use]
pub fn with_doubt(amount: Figure, expanded: Figure, step: Length, unit: Unit) -> String {
    let places = step_places(step, unit);
    let [amount, doubt] = known_to(amount, expanded, (places, places + 1), unit);
    format!("{amount} ± {doubt}")
}

/// A small figure without a limit, and its expanded uncertainty rounded up: both as [`fine`].
#[must_use]
pub fn fine_with_doubt(figure: Figure, expanded: Figure, unit: Unit) -> [String; 2] {
    [figure.fixed(unit, fine_places(unit)), expanded.shown_up_at(unit, fine_places(unit))]
}

/// A small figure and a limit that nobody stated: both as [`fine`], with more places where fewer would put
/// the figure on the other side.
#[must_use]
pub fn fine_beside(figure: Figure, limit: Figure, unit: Unit) -> [String; 2] {
    let same_side = |places: &u32| {
        let [told, of_limit] = [figure, limit].map(|one| one.rounded_at(unit, *places));
        told.cmp(&of_limit) == figure.cmp(&limit)
    };
    let places = (fine_places(unit)..=FINEST).find(same_side).unwrap_or(FINEST);
    [figure, limit].map(|one| one.fixed(unit, places))
}

/// A change of a figure and its expanded uncertainty, for people: with this many places and a sign, and
/// with more places where fewer would hide whether it changed.
#[must_use]
pub fn change(change: Figure, expanded: Figure, places: u32, unit: Unit) -> [String; 2] {
    let [amount, doubt] = known_to(change, expanded, (places, places + 1), unit);
    // A change that rounds to zero has no sign.
    let rises = change > Figure::ZERO && amount.contains(|digit| ('1'..='9').contains(&digit));
    [if rises { format!("+{amount}") } else { amount }, doubt]
}

/// The same as in the record's lines.
#[must_use]
pub fn recorded_change(change: Figure, expanded: Figure, unit: Unit) -> [String; 2] {
    let places = (unit.shown_places(), unit.uncertainty_places());
    let [amount, doubt] = known_to(change, expanded, places, unit);
    [Figure::parse(&amount, unit).map_or(amount, |told| told.trimmed_at(unit, FINEST)), doubt]
}

/// An amount and its uncertainty rounded up, each with at least this many places: the printed amount is
/// larger than the printed uncertainty only where the exact one is.
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

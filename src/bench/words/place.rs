//! Where a touch lies, in words: a number alone does not say which station or radius is meant.

use crate::fact::row::Question;
use crate::plan::{Check, Detail};
use crate::reply::Refusal;
use crate::series::{Touch, next_touch};
use crate::state::Attempt;
use ::words::size;
use quantity::Length;

/// Where the next touch of an attempt lies: `station 3 in, bar at 90, touch 4 of 8`. Before a
/// seating it is the first touch of that seating.
#[must_use]
pub fn place_of_touch(check: &Check, attempt: &Attempt) -> Option<String> {
    match next_touch(check, attempt) {
        Touch::Position(position) | Touch::Asked(Question::Touch(position)) => {
            place_of_position(check, position)
        }
        Touch::Seat { seating, .. } => {
            let position = crate::series::next_position(check, attempt);
            let position = position.filter(|at| check.seating(*at).map(|at| at.0) == Some(seating));
            place_of_position(check, position.unwrap_or(0))
        }
        Touch::Closure | Touch::Asked(Question::Closure) => place_of_position(check, 0),
        Touch::Master
        | Touch::Sweep
        | Touch::Asked(Question::Master | Question::HalfTurn { .. })
        | Touch::Answer
        | Touch::Nothing => None,
    }
}

/// Where a position lies; `None` where its number says it: on one circle that is gone round once.
#[must_use]
pub fn place_of_position(check: &Check, position: u32) -> Option<String> {
    let round = check.positions.max(1);
    let touch = format!("touch {} of {round}", position % round + 1);
    let circle = usize::try_from(position / round).ok()?;
    match &check.detail {
        Detail::Bar(bar) => {
            let station = bar.stations.get(circle % bar.stations.len().max(1))?;
            let seated = check.seating(position).map(|(_, deg)| format!("bar at {deg}"));
            let station = station_words(station.at, check);
            Some(
                [Some(station), seated, Some(touch)]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(", "),
            )
        }
        Detail::Taper(taper) => {
            Some(station_words(*taper.stations.get(usize::try_from(position).ok()?)?, check))
        }
        Detail::Plain | Detail::Length(_) | Detail::Turn(_) => {
            let radii = check.radii.len().max(1);
            let radius = (radii > 1).then(|| radius_words(circle % radii, check)).flatten();
            let again = (circle >= radii).then(|| "second time round".to_owned());
            let several = radius.is_some() || check.passes > 1;
            let words = [radius, again, Some(touch)].into_iter().flatten().collect::<Vec<_>>();
            several.then(|| words.join(", "))
        }
        Detail::Pair(_) | Detail::Confirm(_) | Detail::Entry(_) => None,
    }
}

fn station_words(at: Length, check: &Check) -> String {
    format!("station {}", with_unit(at, check))
}

fn radius_words(ring: usize, check: &Check) -> Option<String> {
    const NAMES: [&str; 8] =
        ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
    let radius = with_unit(*check.radii.get(ring)?, check);
    Some(match NAMES.get(ring) {
        Some(name) => format!("{name} radius, {radius}"),
        None => format!("radius {}, {radius}", ring + 1),
    })
}

fn with_unit(length: Length, check: &Check) -> String {
    format!("{} {}", size(length, check.unit), check.unit.symbol())
}

/// What the hand does between two seatings.
#[must_use]
pub fn seat(deg: u32) -> String {
    format!("Take the bar out, turn it to {deg}, seat it; then say so: tap, or `tenths take`.")
}

/// The same where there is little room.
#[must_use]
pub fn seat_short(deg: u32) -> String {
    format!("SEAT AT {deg}")
}

/// Why a frame was not placed.
pub(crate) fn not_seated(deg: u32) -> String {
    format!("Nobody has said yet that the bar is seated at {deg}. Kept, not placed. {}", seat(deg))
}

/// Keyed readings that reach past a seating: so many of them are still open where the bar is now.
pub(crate) fn enters_past_a_seating(text: &str, open: usize, (now, next): (u32, u32)) -> Refusal {
    let belongs = format!("{text} belongs to the bar seated at {next}; nothing was entered");
    let then =
        format!("take the bar out, turn it to {next}, seat it, and say so with `tenths take`");
    let (are, first) = match open {
        0 => return Refusal::input(belongs, format!("first {then}")),
        1 => ("1 touch is".to_owned(), "key in that one first".to_owned()),
        open => (format!("{open} touches are"), format!("key in those {open} first")),
    };
    Refusal::input(
        format!("{are} still open with the bar seated at {now}; {belongs}"),
        format!("{first}; only then {then}"),
    )
}

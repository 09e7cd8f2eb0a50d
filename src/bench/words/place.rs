//! Where a touch lies, in words: a number alone does not say which station or radius it is.

use crate::fact::row::Question;
use crate::plan::Check;
use crate::reply::Refusal;
use crate::series::{Touch, next_touch};
use crate::state::Attempt;

/// Where the next touch of an attempt lies: `station 3 in, bar at 90, touch 4 of 8`. Before a
/// seating it is the first touch of that seating.
#[must_use]
pub fn place_of_touch(check: &Check, attempt: &Attempt) -> Option<String> {
    match next_touch(check, attempt) {
        Touch::Position(position) | Touch::Asked(Question::Touch(position)) => {
            check.place_in_words(position)
        }
        Touch::Seat { seating, .. } => {
            let position = crate::series::next_position(check, attempt);
            let position = position.filter(|at| check.seating(*at).map(|at| at.0) == Some(seating));
            check.place_in_words(position.unwrap_or(0))
        }
        Touch::Middle | Touch::Closure | Touch::Asked(Question::Closure) => check.place_in_words(0),
        Touch::Master
        | Touch::Sweep
        | Touch::Asked(Question::Master | Question::HalfTurn { .. })
        | Touch::Answer
        | Touch::Nothing => None,
    }
}

/// What to do between two seatings.
#[must_use]
pub fn seat(deg: u32) -> String {
    format!("Take the bar out, turn it to {deg}, seat it; then say so: tap, or `tenths take`.")
}

/// The same, shorter.
#[must_use]
pub fn seat_short(deg: u32) -> String {
    format!("SEAT AT {deg}")
}

/// Why a frame was not placed.
pub(crate) fn not_seated(deg: u32) -> String {
    format!("Nobody has said yet that the bar is seated at {deg}. Kept, not placed. {}", seat(deg))
}

/// The refusal of keyed readings that reach past a seating: this many are still open at the present one.
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

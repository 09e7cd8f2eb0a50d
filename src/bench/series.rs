//! The order of the touches of one attempt.

use crate::fact::row::{Ending, Question, State};
use crate::plan::{Check, MasterUse};
use crate::state::Attempt;

/// What is touched next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Touch {
    /// The master, before the first or after the last position.
    Master,
    /// A position.
    Position(u32),
    /// The whole turn in one go.
    Sweep,
    /// Position 0 again, half way round: it shows whether a drift is even.
    Middle,
    /// Position 0 again.
    Closure,
    /// No touch yet: the bar is to be taken out, turned and seated, and a person says when that is done.
    Seat {
        /// The seating, counted from 0.
        seating: u32,
        /// Where the mark of the bar stands against that of the spindle, in degrees as the marks are
        /// counted.
        deg: u32,
    },
    /// The touch that a question asked for.
    Asked(Question),
    /// No touch: an answer, or a value to write down.
    Answer,
    /// Nothing: the series is over, and further touches are not counted.
    Nothing,
}

/// What the next touch of an attempt is, in the order of the trade: the master, the positions in rising
/// order, half way round position 0 again where the plan wants it, the left-out ones last, the closure, the
/// master again. Between two seatings of a bar a person
/// says that it is seated.
#[must_use]
pub fn next_touch(check: &Check, attempt: &Attempt) -> Touch {
    let touch = touch_in_order(check, attempt);
    seat_before(check, attempt, touch).unwrap_or(touch)
}

/// The seating that a touch needs, where the bar is not in it.
fn seat_before(check: &Check, attempt: &Attempt, touch: Touch) -> Option<Touch> {
    let position = match touch {
        Touch::Position(position) | Touch::Asked(Question::Touch(position)) => position,
        Touch::Middle | Touch::Closure | Touch::Asked(Question::Closure) => 0,
        Touch::Master
        | Touch::Sweep
        | Touch::Seat { .. }
        | Touch::Asked(Question::Master | Question::HalfTurn { .. })
        | Touch::Answer
        | Touch::Nothing => return None,
    };
    let (seating, deg) = check.seating(position)?;
    (seating != attempt.seating()).then_some(Touch::Seat { seating, deg })
}

fn touch_in_order(check: &Check, attempt: &Attempt) -> Touch {
    if attempt.ending == Some(Ending::Stopped) {
        return Touch::Nothing;
    }
    if !check.traits().is_touched() {
        let waits = check.traits().is_answered() && attempt.answer.is_none();
        return if waits { Touch::Answer } else { Touch::Nothing };
    }
    let before_end = attempt.ending.is_none();
    if before_end && attempt.master_next {
        return Touch::Master;
    }
    let masters = attempt.count(State::Master);
    if before_end && check.master != MasterUse::None && masters == 0 {
        return Touch::Master;
    }
    if let Some(touch) = middle_due(check, attempt).filter(|_| before_end) {
        return touch;
    }
    if let Some(position) = next_position(check, attempt) {
        return if check.swept().is_some() { Touch::Sweep } else { Touch::Position(position) };
    }
    if !before_end && attempt.closure_taken_back() {
        return Touch::Closure;
    }
    if !before_end && attempt.asked == Some(Question::Closure) {
        return Touch::Asked(Question::Closure);
    }
    if attempt.closing_missing(check) {
        return Touch::Master;
    }
    if !before_end {
        return attempt.asked.map_or(Touch::Nothing, Touch::Asked);
    }
    let closes = check.closure && !attempt.skipped.contains_key(&0);
    if closes && attempt.count(State::Closure) == 0 {
        return Touch::Closure;
    }
    if check.master == MasterUse::Both && !attempt.closing_master() {
        return Touch::Master;
    }
    Touch::Nothing
}

/// The touch half way round, where the plan wants it, half of the positions are done and it was not made:
/// position 0, or of a length the master, since its zero is watched.
pub(crate) fn middle_due(check: &Check, attempt: &Attempt) -> Option<Touch> {
    let open = attempt.open_touches(check);
    let half = open > 0 && open <= check.total() / 2 * check.touches;
    if !check.middle || !half || check.swept().is_some() {
        return None;
    }
    if check.traits().sizes && check.master == MasterUse::Both {
        return attempt.closing_touch().is_none().then_some(Touch::Master);
    }
    let due = attempt.at(0).is_some() && attempt.middle_touch().is_none();
    due.then_some(Touch::Middle)
}

/// Which of the several touches that a position takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nth {
    /// The touch, counted from 1.
    pub touch: u32,
    /// How many the position takes.
    pub of: u32,
}

/// Which of its position's touches comes next; `None` where one touch fills a position, or where no
/// position is touched next.
#[must_use]
pub fn next_nth(attempt: &Attempt, next: Touch) -> Option<Nth> {
    let done = match next {
        Touch::Position(position) => attempt.touches_at(position),
        Touch::Asked(Question::Touch(position)) => {
            u32::try_from(attempt.since_asked(position).count()).unwrap_or(u32::MAX)
        }
        Touch::Master
        | Touch::Sweep
        | Touch::Middle
        | Touch::Closure
        | Touch::Seat { .. }
        | Touch::Asked(Question::Closure | Question::Master | Question::HalfTurn { .. })
        | Touch::Answer
        | Touch::Nothing => return None,
    };
    let of = attempt.touches();
    (of > 1).then(|| Nth { touch: done.saturating_add(1).min(of), of })
}

/// The highest touched position where it needs more touches; otherwise the first open position after it;
/// where there is none, the lowest open one. A position left out ahead of the hand does not make the order
/// jump.
#[must_use]
pub fn next_position(check: &Check, attempt: &Attempt) -> Option<u32> {
    if attempt.open_touches(check) == 0 {
        return None;
    }
    let open = |position: &u32| !attempt.settled(*position);
    (attempt.past_highest().saturating_sub(1)..check.total())
        .find(open)
        .or_else(|| (0..check.total()).find(open))
}

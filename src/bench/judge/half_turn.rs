//! Dirt under the part, or a wedge in the metal: both look the same until the part is turned half way
//! round on its seat.

use judgement::HalfTurn;

use crate::fact::row::{Question, State};
use crate::fact::verdict::Verdict;
use crate::judge::returns;
use crate::plan::Check;
use crate::state::Attempt;

/// Whether high minus low is the same after the part was turned half way round on its seat, so that it
/// belongs to the metal; `None` before both spots were touched again.
pub(crate) fn stays_with_metal(check: &Check, attempt: &Attempt) -> Option<bool> {
    let (high, low) = attempt.put.iter().find_map(|question| match question {
        Question::HalfTurn { high, low } => Some((*high, *low)),
        Question::Closure | Question::Master | Question::Touch(_) => None,
    })?;
    let turned = |position| {
        let mut touched = attempt.in_state(State::HalfTurn);
        touched.rfind(|one| one.position == Some(position)).map(|one| one.value.length)
    };
    let after = turned(high)?.checked_sub(turned(low)?)?;
    let before = attempt.mean_at(high)? - attempt.mean_at(low)?;
    let u = returns::reading(check, attempt).whole().u();
    let answer = judgement::half_turn(before, after, check.half_width(), (u, check.traps.dirt));
    Some(answer == HalfTurn::Wedge)
}

/// Whether nearly all of the range is a tilt, so that dirt and a wedge look the same.
pub(crate) fn mostly_tilt(verdict: &Verdict) -> bool {
    let figures = &verdict.figures;
    let Some((flat, range)) = figures.least_squares.zip(figures.max_minus_min) else {
        return false;
    };
    let share = judgement::plane_share(flat.to_f64(), range.to_f64());
    share.is_some_and(judgement::mostly_tilt)
}

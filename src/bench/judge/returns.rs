//! Whether a try came back to where it began: whether the second touches of position 0 and of the master
//! agree with the first within the scatter of a touch.

use judgement::{Closure, Part};
use quantity::{Figure, Length};

use crate::fact::row::{Pool, Shown, State};
use crate::judge::drift;
use crate::judge::reading::beside;
pub(crate) use crate::judge::reading::{reading, resolution, spread};
use crate::judge::zero::Zero;
use crate::plan::{Check, Taps, thousandths};
use crate::state::{Attempt, Touched};

/// Closure minus the mean of position 0. For a length both are taken from the zero that the line between
/// the touches on the master has at their moment. A fraction of a picometre is rounded away from 0.
pub(crate) fn closure_difference(check: &Check, attempt: &Attempt) -> Option<Length> {
    let again = attempt.closure_touch()?;
    let off = if check.traits().sizes {
        let zero = Zero::of_try(check, attempt);
        let size = |touched: &Touched| Figure::from(touched.value.length) - zero.at(touched.id);
        let count = i64::from(attempt.touches_at(0)).max(1);
        attempt.at(0)?;
        size(again) - attempt.all_at(0).map(size).fold(Figure::ZERO, |sum, one| sum + one) / count
    } else {
        Figure::from(again.value.length) - attempt.mean_at(0)?
    };
    let whole = if off < Figure::ZERO { -(-off).ceil() } else { off.ceil() };
    i64::try_from(whole).ok().map(Length::from_picometres)
}

/// Whether position 0 came back so far off its first reading at the end that a person is asked about it. An
/// even drift that is taken out raises no question.
pub(crate) fn closure_off(check: &Check, attempt: &Attempt) -> bool {
    is_off(check, attempt, closure_difference(check, attempt))
}

/// Whether position 0 came back off at the end or half way round.
pub(crate) fn came_back_off(check: &Check, attempt: &Attempt) -> bool {
    closure_off(check, attempt) || is_off(check, attempt, drift::middle_off(attempt))
}

fn is_off(check: &Check, attempt: &Attempt, off: Option<Length>) -> bool {
    let limit = closure_limit(check, attempt);
    let even = || !check.traits().sizes && drift::taken_out(check, attempt).is_some();
    off.is_some_and(|off| !limit.holds(off)) && !even()
}

/// How far the master came back off, beside an even drift that is taken out; `None` without two touches.
pub(crate) fn walk_beside_drift(check: &Check, attempt: &Attempt) -> Option<Length> {
    let walk = zero_walk(attempt)?;
    let Some(line) = drift::taken_out(check, attempt) else { return Some(walk) };
    let of_it = line.between(attempt, attempt.opening_touch()?.id, attempt.closing_touch()?.id);
    let left = (Figure::from(walk) - of_it).abs().ceil();
    i64::try_from(left).ok().map(Length::from_picometres)
}

/// Closing minus opening master touch.
pub(crate) fn zero_walk(attempt: &Attempt) -> Option<Length> {
    attempt.closing()?.checked_sub(attempt.opening()?)
}

/// The limit for a touch on the same spot again, with this gauge and tolerance: returns are held against
/// what the record shows of returns.
pub(crate) fn closure_limit(check: &Check, attempt: &Attempt) -> Closure {
    let pool = attempt.shown().and_then(Shown::of_returns);
    limit(check, attempt, pool)
}

/// The limit for a touch on the master again.
pub(crate) fn master_limit(check: &Check, attempt: &Attempt) -> Closure {
    let pool = attempt.shown().and_then(Shown::of_masters);
    limit(check, attempt, pool)
}

fn limit(check: &Check, attempt: &Attempt, pool: Option<Pool>) -> Closure {
    let mut scatter = beside(check, attempt, pool).scatter();
    if check.swept().is_some() {
        scatter = at_a_tap(attempt, scatter);
    }
    Closure {
        tolerance: check.half_width(),
        scatter,
        resolution: resolution(attempt),
        times: check.traps.returns,
    }
}

/// Whether the two touches on the master agree so well that nobody is asked for one more. For a length
/// they must agree within the noise of the gauge, however wide its tolerance is: the difference of two
/// lengths has a tighter one.
pub(crate) fn master_came_back(check: &Check, attempt: &Attempt) -> bool {
    let Some(walk) = walk_beside_drift(check, attempt) else { return true };
    let limit = master_limit(check, attempt);
    if check.traits().sizes {
        Figure::from(walk).abs() <= Figure::from(limit.of_the_noise())
    } else {
        limit.holds(walk)
    }
}

/// Whether an attempt closed; one without a closure is taken as closed.
pub(crate) fn closed(check: &Check, attempt: &Attempt) -> bool {
    !attempt.closure_taken_back()
        && !attempt.closing_missing(check)
        && !came_back_off(check, attempt)
        && master_came_back(check, attempt)
}

/// Whether position 0 or the master came back so far off that the verdict is withheld for it.
pub(crate) fn walked(check: &Check, attempt: &Attempt) -> bool {
    let limit = master_limit(check, attempt);
    let master = walk_beside_drift(check, attempt).is_some_and(|off| !limit.holds(off));
    came_back_off(check, attempt) || master
}

/// Whether the needle was watched over the whole turn, so that nothing was missed between touches.
pub(crate) fn reads_the_whole_turn(check: &Check, attempt: &Attempt) -> bool {
    attempt.watched().is_some() || check.total_only()
}

/// How far a reading at a tap of the index mark scatters: as any touch there, and by as much as the surface
/// rises while the tap is early or late, at most half the range per radian.
pub(crate) fn at_a_tap(attempt: &Attempt, scatter: Part) -> Part {
    let lengths = || attempt.in_state(State::Placed).map(|one| one.value.length.picometres());
    let range = lengths().max().zip(lengths().min()).map_or(0, |(high, low)| high - low);
    let angle = attempt.taps().map_or(0.0, Taps::tap_deg).to_radians();
    let rise = thousandths(Figure::new(i128::from(range), 2).to_f64() * angle);
    let rise = rise.map_or(u128::MAX, |rise| rise.ceil().unsigned_abs());
    Part { square: scatter.square.saturating_add(rise.saturating_pow(2)), ..scatter }
}

/// Whether two touches on one spot are so far apart that one of them is a slip: more than 3·√2·s.
pub(crate) fn is_a_slip(check: &Check, attempt: &Attempt, off: Length) -> bool {
    let off = u128::from(off.picometres().unsigned_abs()).saturating_pow(2);
    off > reading(check, attempt).scatter().square.saturating_mul(18)
}

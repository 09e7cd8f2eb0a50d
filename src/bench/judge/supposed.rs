//! A drift that nobody saw to be even, taken out as if it had been: shown, never judged.

use crate::judge::drift;
use crate::judge::even::timed;
use crate::judge::order;
use crate::judge::returns;
use crate::judge::zero::Zero;
use crate::plan::{Check, MasterUse};
use crate::state::Attempt;

/// The zero of a try as if it had walked evenly from the first to the last touch of the same surface: of the
/// master, or else of position 0. `None` where the try came back, where the zero is a line anyway, where a third
/// touch tells how it walked, and where the order of touches tells something else.
pub(super) fn zero(check: &Check, attempt: &Attempt) -> Option<Zero> {
    let unknown = drift::line(check, attempt).is_none()
        && order::slip(check, attempt).is_none()
        && order::zero_slip(check, attempt).is_none();
    if check.traits().sizes || !returns::walked(check, attempt) || !unknown {
        return None;
    }
    let on_the_master = || attempt.opening_touch().zip(attempt.closing_touch());
    let on_the_part = || attempt.at(0).zip(attempt.closure_touch());
    let mastered = on_the_master().filter(|_| check.master == MasterUse::Both);
    let (first, last) = mastered.or_else(on_the_part).filter(|(one, other)| one.id < other.id)?;
    let walk = last.value.length.checked_sub(first.value.length)?;
    let order = drift::order(attempt, first.id, last.id);
    let times = timed(attempt, &order);
    Some(Zero::of_try(check, attempt).walking(walk, order, times))
}

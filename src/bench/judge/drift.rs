//! A drift that three touches of one surface show: position 0, or the master, at the beginning of a series,
//! in its middle third and at its end. Where it is even it is taken out of the readings in between.

use judgement::{Drift, ThreeTouches, in_the_middle_third};
use num_rational::Ratio;
use quantity::{Figure, Length};

use crate::fact::row::{Pool, Shown, State};
use crate::fact::seq::Seq;
use crate::judge::reading::{beside, minutes};
use crate::plan::{Check, MasterUse};
use crate::state::{Attempt, Touched};

/// The line through three touches of one surface.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Line {
    /// The drift.
    pub(crate) drift: Drift,
    /// The touches that count from the first to the last of the three, in order.
    pub(crate) order: Vec<Seq>,
    /// Minutes from the first to the last, thousandths; `None` where the times are not known.
    pub(crate) minutes: Option<i64>,
}

/// How far along a line of touches a reading lies: 0 at the first and before it, 1 at the last and after
/// it, since nothing shows how the line goes on there.
pub(super) fn place(order: &[Seq], reading: Seq) -> Ratio<i128> {
    let steps = order.len().saturating_sub(1).max(1);
    let at = order.partition_point(|id| *id < reading).min(steps);
    let whole = |count: usize| i128::try_from(count).unwrap_or(i128::MAX);
    Ratio::new(whole(at), whole(steps))
}

/// The touches that count from one to another, in order.
pub(super) fn order(attempt: &Attempt, first: Seq, last: Seq) -> Vec<Seq> {
    let counts = attempt.readings.iter().filter(|touched| touched.state.counts());
    counts.map(|touched| touched.id).filter(|id| (first..=last).contains(id)).collect()
}

impl Line {
    /// What it adds from one touch to another; beyond its ends it goes on as it is.
    pub(super) fn between(&self, attempt: &Attempt, from: Seq, to: Seq) -> Figure {
        let counts = attempt.readings.iter().filter(|touched| touched.state.counts());
        let order: Vec<Seq> = counts.map(|touched| touched.id).collect();
        let index = |id: Seq| {
            i128::try_from(order.partition_point(|other| *other < id)).unwrap_or(i128::MAX)
        };
        let steps = i128::try_from(self.order.len().saturating_sub(1).max(1)).unwrap_or(i128::MAX);
        self.drift.at(Ratio::new(index(to) - index(from), steps))
    }
}

/// The line of a try, whether or not it is even. The zero of a length is seen on the master alone; a face
/// is seen on position 0, and where that was not touched in the middle, on the master.
pub(crate) fn line(check: &Check, attempt: &Attempt) -> Option<Line> {
    if check.swept().is_some() || attempt.watched().is_some() || check.total_only() {
        return None;
    }
    let lengths = check.traits().sizes;
    let on_the_part = || on_position_0(check, attempt);
    let on_the_master = || on_the_master(check, attempt);
    if lengths { on_the_master() } else { on_the_part().or_else(on_the_master) }
}

/// The line of a try, where it is taken out.
pub(crate) fn taken_out(check: &Check, attempt: &Attempt) -> Option<Line> {
    line(check, attempt).filter(|line| line.drift.is_taken_out())
}

fn on_position_0(check: &Check, attempt: &Attempt) -> Option<Line> {
    let touches = [attempt.at(0)?, attempt.middle_touch()?, attempt.closure_touch()?];
    through((check, attempt), touches, attempt.shown().and_then(Shown::of_returns))
}

fn on_the_master(check: &Check, attempt: &Attempt) -> Option<Line> {
    if check.master == MasterUse::None {
        return None;
    }
    let (first, last) = (attempt.opening_touch()?, attempt.closing_touch()?);
    let order = order(attempt, first.id, last.id);
    let off = |id: Seq| {
        let off = place(&order, id) - Ratio::new(1, 2);
        off.max(-off)
    };
    let between = |one: &&Touched| first.id < one.id && one.id < last.id;
    let middle = attempt.in_state(State::Master).filter(between).min_by_key(|one| off(one.id))?;
    let pool = attempt.shown().and_then(Shown::of_masters);
    through((check, attempt), [first, middle, last], pool)
}

fn through(
    (check, attempt): (&Check, &Attempt),
    touches: [&Touched; 3],
    pool: Option<Pool>,
) -> Option<Line> {
    let [first, middle, last] = touches;
    if first.id >= middle.id || middle.id >= last.id {
        return None;
    }
    let order = order(attempt, first.id, last.id);
    let middle_place = place(&order, middle.id);
    if !in_the_middle_third(middle_place) {
        return None;
    }
    let shown = touches.map(|touched| touched.value.length);
    let touches = ThreeTouches { shown, middle: middle_place };
    let drift = Drift::through(&touches, beside(check, attempt, pool).scatter(), &check.traps)?;
    Some(Line { drift, order, minutes: minutes_between(first, last) })
}

/// Thousandths of a minute between two touches; `None` where that is not known, or not above zero.
pub(crate) fn minutes_between(first: &Touched, last: &Touched) -> Option<i64> {
    minutes(first, last).filter(|minutes| *minutes > 0)
}

/// How far the middle touch lies off the first one.
pub(crate) fn middle_off(attempt: &Attempt) -> Option<Length> {
    attempt.middle_touch()?.value.length.checked_sub(attempt.at(0)?.value.length)
}

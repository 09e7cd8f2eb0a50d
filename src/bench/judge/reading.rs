//! One reading of an attempt: how well it is known, in which steps it comes, and when it was made.

use judgement::Doubt;
use quantity::Length;

use crate::fact::row::{Pool, Shown};
use crate::plan::Check;
use crate::setup::GaugeSetup;
use crate::state::{Attempt, Touched};

/// The shares of the uncertainty of one reading. A dial that is read by eye is no better than its
/// graduation.
pub(crate) fn reading(check: &Check, attempt: &Attempt) -> Doubt {
    beside(check, attempt, attempt.shown().and_then(Shown::touches))
}

/// The same with what the bench's own record shows of one kind.
pub(crate) fn beside(check: &Check, attempt: &Attempt, pool: Option<Pool>) -> Doubt {
    let stated = attempt.gauge().map(GaugeSetup::stated).unwrap_or_default();
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    let reading = Doubt::of(stated, own, check.assumed_rest());
    let reading = pool.map_or(reading, |pool| reading.beside_record(pool.part()));
    attempt.keyed_step().map_or(reading, |step| reading.by_eye(step))
}

/// The step of the readings: that of the gauge, or the coarser one in which they were keyed in.
pub(crate) fn resolution(attempt: &Attempt) -> Length {
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    attempt.keyed_step().map_or(own, |keyed| keyed.max(own))
}

/// The standard deviation of touches on one spot; the noise limits are made from it.
pub(crate) fn spread(attempt: &Attempt) -> Length {
    let repeatability = attempt.gauge().and_then(|gauge| gauge.repeatability);
    let shown = attempt.shown().and_then(Shown::touches).map(|pool| pool.s);
    judgement::spread(repeatability.max(shown), resolution(attempt))
}

/// Thousandths of a minute from one touch to a later one, by the times a file states or by the clock of the
/// machine; `None` where the clock was set in between, or the machine started anew.
pub(crate) fn minutes(first: &Touched, later: &Touched) -> Option<i64> {
    const THOUSANDTH_US: i64 = 60_000;
    /// So much, and one part in twenty, may the clock on the wall be off the other one.
    const APART_US: i64 = 2_000_000;
    let wall = later.at.micros().checked_sub(first.at.micros())?;
    if first.from_file.is_some() != later.from_file.is_some() || wall < 0 {
        return None;
    }
    if first.from_file.is_some() {
        return Some(wall / THOUSANDTH_US);
    }
    let steady = i64::try_from(later.mono_us.checked_sub(first.mono_us)?).ok()?;
    let apart = steady.checked_sub(wall)?.checked_abs()?;
    (apart <= APART_US + steady / 20).then_some(steady / THOUSANDTH_US)
}

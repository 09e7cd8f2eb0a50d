//! Touches in the order of their times.

use num_rational::Ratio;

use crate::fact::seq::Seq;
use crate::judge::reading::minutes;
use crate::state::Attempt;

/// Over less than two minutes, in thousandths of one, times tell nothing of a drift.
const LEAST_MINUTES: i64 = 2000;

/// Touches in order, each with its time since the first, thousandths of a minute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Timed(Vec<(Seq, i64)>);

impl Timed {
    /// How far along in time a touch lies: 0 at the first, 1 at the last; `None` for one that is not among
    /// them.
    pub(super) fn place(&self, reading: Seq) -> Option<Ratio<i128>> {
        let (_, whole) = self.0.last()?;
        let (_, at) = self.0.iter().find(|(id, _)| *id == reading)?;
        Some(Ratio::new((*at).into(), (*whole).into()))
    }
}

/// The times of some touches, where all are known, rise, and span enough.
pub(super) fn timed(attempt: &Attempt, order: &[Seq]) -> Option<Timed> {
    let touched = |id: &Seq| attempt.readings.iter().find(|one| one.id == *id);
    let first = touched(order.first()?)?;
    let at = |id: &Seq| Some((*id, minutes(first, touched(id)?)?));
    let times: Vec<(Seq, i64)> = order.iter().map(at).collect::<Option<_>>()?;
    let rises = times.windows(2).all(|two| two[0].1 < two[1].1);
    let spans = times.last().is_some_and(|(_, whole)| *whole >= LEAST_MINUTES);
    (rises && spans).then_some(Timed(times))
}

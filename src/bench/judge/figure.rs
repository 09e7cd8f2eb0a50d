//! The figure of an attempt, and its value before the series is over.

use judgement::Limits;
use quantity::{Figure, Length};

use crate::fact::row::State;
use crate::fact::seq::Seq;
use crate::judge::returns::is_a_slip;
use crate::judge::tries::{Tries, combine, combine_as_if_even, combine_as_read, earlier_tries};
use crate::judge::{pair, zero};
use crate::plan::run_in::Log;
use crate::plan::{Beside, Check, CheckAt, Judged, Other, Pair, Stand};
use crate::state::{Attempt, Job, Touched};
use crate::words;

/// The figure with its uncertainty, remarks and reasons.
pub(super) fn characteristic(job: &Job, id: Seq, tries: &Tries) -> Judged {
    tries.check.measures.judge(tries, &InJob { job, id, tries })
}

/// The judged figure of the readings as they were read, with an even drift in them.
pub(super) fn as_read(job: &Job, id: Seq, tries: &Tries) -> Option<Figure> {
    let tries = combine_as_read(job, id, tries);
    tries.check.measures.figure(&tries, &InJob { job, id, tries: &tries })
}

/// The judged figure as if all that did not come back had been an even drift; `None` where nothing says so.
pub(super) fn without_drift(job: &Job, id: Seq, tries: &Tries) -> Option<Figure> {
    let tries = combine_as_if_even(job, id, tries)?;
    tries.check.measures.figure(&tries, &InJob { job, id, tries: &tries })
}

/// What a figure needs of a job beside its own readings.
pub(super) struct InJob<'a> {
    pub(super) job: &'a Job,
    pub(super) id: Seq,
    pub(super) tries: &'a Tries<'a>,
}

impl Beside for InJob<'_> {
    fn entry(&self, at: CheckAt) -> Option<String> {
        self.job.entry_for(at, self.id).map(str::to_owned)
    }

    fn log(&self) -> Option<Log> {
        self.job.attempts.get(&self.id)?.log.as_ref().map(|logged| logged.log.clone())
    }

    fn written(&self) -> Option<String> {
        self.job.attempts.get(&self.id)?.answer.clone()
    }

    fn name(&self, at: CheckAt) -> String {
        let found = self.job.opened.plan.plan.at(at);
        found.map_or_else(String::new, |(part, check)| words::target(part, check))
    }

    fn stand(&self, positions: &[u32]) -> Stand {
        let (check, together) = (self.tries.check, &self.tries.together);
        zero::stand(check, together, positions, self.tries.noise_of_a_touch())
    }

    fn other(&self, at: CheckAt, tolerance: Option<Figure>) -> Result<Other<'_>, String> {
        pair::other(self.job, (self.id, at), tolerance)
    }

    fn difference(&self, pair: &Pair) -> Judged {
        pair::difference(self, pair)
    }
}

/// The figure, where it is out of its limit before the series is over: only for figures that more touches
/// can make larger but never smaller.
pub(crate) fn out_so_far(job: &Job, id: Seq) -> Option<Figure> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    out_with(check, attempt)
}

/// The same of the touches of one attempt.
pub(crate) fn out_with(check: &Check, attempt: &Attempt) -> Option<Figure> {
    let Some(Limits::Max(max)) = check.limits else { return None };
    let tries = Tries::alone(check, attempt);
    let value = check.measures.so_far(&tries)?;
    (value > Figure::from(max)).then_some(value)
}

/// Positions with a touch that was taken back although it alone put the part out. A new touch there does
/// not replace it, unless one of the two is clearly a slip.
pub(crate) fn decided_out(
    check: &Check,
    attempt: &Attempt,
    position: u32,
    again: Length,
) -> Option<Seq> {
    let mut taken_back = attempt.taken_back_at(position).peekable();
    let without = !attempt.is_full(position) && check.swept().is_none();
    if taken_back.peek().is_none() || !without || out_with(check, attempt).is_some() {
        return None;
    }
    let decided = |one: &&Touched| {
        let mut with = attempt.clone();
        with.mark(one.id, State::Placed);
        let off = again.checked_sub(one.value.length);
        off.is_some_and(|off| !is_a_slip(check, attempt, off)) && out_with(check, &with).is_some()
    };
    taken_back.find(decided).map(|one| one.id)
}

/// How far a try lies above or below an earlier one on what was said to be the same metal, each against
/// its master, where the distance is too large for that.
pub(crate) fn moved_on_master(job: &Job, id: Seq) -> Option<Length> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    if earlier_tries(job, id).is_empty() {
        return None;
    }
    combine(job, id, attempt, check).moved
}

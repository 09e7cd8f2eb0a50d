//! The side effects of a request that begins or shows a check: a check under way is left, and a grind makes
//! other checks due again. The reply names both, so that a mistake is seen at once.

use std::sync::Arc;

use quantity::Name;

use crate::draft::{Answer, Draft};
use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::plan::CheckAt;
use crate::reply::{Done, Left};
use crate::state::Job;

impl Draft<'_> {
    /// Makes a check active at a station, and names in the reply the check with touches that was left for
    /// it.
    pub(crate) fn telling_what_is_left(
        &mut self,
        station: &Name,
        ask: impl FnOnce(&mut Self) -> Answer,
    ) -> Answer {
        let shown = self.active(station);
        let mut answer = ask(self)?;
        if let Done::Measuring(measuring) = &mut answer {
            let now = self.active(station);
            let mut attempts: Vec<Seq> = self.stopped_now().collect();
            attempts.extend(shown.filter(|shown| Some(*shown) != now));
            attempts.sort_unstable();
            attempts.dedup();
            measuring.left = attempts.into_iter().filter_map(|id| self.left(id)).collect();
        }
        Ok(answer)
    }

    /// `remeasure`, and where the reason says that metal was taken off, the checks to be measured again for
    /// it.
    pub(crate) fn remeasure_and_tell(
        &mut self,
        station: &Name,
        reason: AttemptReason,
        (target, remark): (Option<&str>, Option<String>),
    ) -> Answer {
        let before = self.job_of(station)?;
        let mut answer = self.telling_what_is_left(station, |draft| {
            draft.remeasure(station, reason, target, remark)
        })?;
        if let Done::Measuring(measuring) = &mut answer
            && reason == AttemptReason::Ground
            && let Some(now) = self.bench.jobs.get(&before.0)
        {
            measuring.ground = Some(newly_due(&before.1, now));
        }
        Ok(answer)
    }

    /// An attempt with touches that was left unfinished.
    fn left(&self, id: Seq) -> Option<Left> {
        let (_, job, attempt) = self.attempt(id)?;
        let (_, check) = job.check_of(&attempt)?;
        let ended = attempt.ending == Some(Ending::Stopped);
        // One that was finished, or stopped by an earlier request, is not under way.
        let under_way = attempt.ending.is_none() || self.stopped_now().any(|now| now == id);
        (under_way && attempt.is_touched()).then(|| Left {
            target: self.target(id),
            taken: attempt.taken(),
            of: check.touches_in_all(),
            ended,
        })
    }
}

/// The checks, `PART/CHECK`, whose metal was taken off between two states of a job.
fn newly_due(before: &Arc<Job>, now: &Job) -> Vec<String> {
    let plan = &now.opened.plan.plan;
    let new = |at: &CheckAt| now.metal_changed_at(*at) && !before.metal_changed_at(*at);
    let name = |at: CheckAt| plan.at(at).map(|(part, check)| crate::words::target(part, check));
    plan.places().filter(new).filter_map(name).collect()
}

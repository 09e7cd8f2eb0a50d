//! Which attempts at two lengths a difference uses.

use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt};
use crate::state::{Attempt, Job};

/// The two checks from which the difference at a place is worked out.
pub(crate) fn halves_at(job: &Job, at: CheckAt) -> Option<[CheckAt; 2]> {
    job.opened.plan.plan.at(at)?.1.measures.halves()
}

/// The newest complete attempt at a half, on the part as it is now; with `before`, the newest that began
/// before that row, on the piece that was there then.
pub(crate) fn half(job: &Job, at: CheckAt, before: Option<Seq>) -> Option<Seq> {
    let before = before.unwrap_or(job.attempt_to_come());
    let mut newest = job.attempts_at(at).rev();
    newest
        .find(|(id, attempt)| {
            attempt.ending == Some(Ending::Complete)
                && *id < before
                && job.same_piece(at.part, *id, before)
        })
        .map(|(id, _)| id)
}

/// Why a difference is to be taken again: one of its halves was measured again since attempt `id`.
pub(crate) fn newer_half(job: &Job, at: CheckAt, id: Seq) -> Option<AttemptReason> {
    let of = halves_at(job, at)?;
    let newer: Vec<Seq> =
        of.iter().filter_map(|of| half(job, *of, None)).filter(|half| *half > id).collect();
    let reasons = newer.iter().filter_map(|half| job.attempts.get(half)).map(|a| a.began.reason);
    // New metal in one half is new metal in the pair.
    reasons.reduce(|one, other| match (one, other) {
        (AttemptReason::Ground | AttemptReason::First, _) => AttemptReason::Ground,
        (_, other) => other,
    })
}

/// Attempts with a verdict that may use the result at a check: later ones at the same check, differences of
/// it, grinding advice that uses another check of the part, and checks that it is an entry of.
pub(crate) fn resting_on(job: &Job, at: CheckAt) -> Vec<Seq> {
    let plan = &job.opened.plan.plan;
    let own = plan.at(at).map(|(_, check)| check);
    let rests = |place: CheckAt, check: &Check| {
        // Grinding advice uses the face below and the length of the part.
        let looks =
            |own: &Check| own.traits().sizes || check.down.as_deref() == Some(own.name.as_str());
        let advised = check.traits().is_face();
        check.measures.own().names.contains(&at)
            || advised && place.part == at.part && own.is_some_and(looks)
    };
    // A pair of warm lengths also uses their temperatures.
    let warm = |check: &Check| {
        let halves = check.measures.halves().into_iter().flatten();
        let rests = |half| plan.at(half).is_some_and(|(_, length)| rests(half, length));
        halves.into_iter().any(rests)
    };
    let at_rest = |attempt: &Attempt| {
        let place = attempt.began.check;
        let check = plan.at(place).map(|(_, check)| check);
        place == at || check.is_some_and(|check| rests(place, check) || warm(check))
    };
    job.attempts
        .iter()
        .filter(|(_, attempt)| attempt.verdict.is_some() && at_rest(attempt))
        .map(|(id, _)| *id)
        .collect()
}

/// The attempts at both halves that a difference uses, each with the earlier tries combined with it.
pub(crate) fn halves(job: &Job, id: Seq) -> Option<[Seq; 2]> {
    let at = job.attempts.get(&id)?.began.check;
    let [first, second] = halves_at(job, at)?;
    Some([half(job, first, Some(id))?, half(job, second, Some(id))?])
}

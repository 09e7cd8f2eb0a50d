//! Which attempts at two lengths a difference is taken from.

use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt};
use crate::state::{Attempt, Job};

/// The two checks that the one at a place is worked out from.
pub(crate) fn halves_at(job: &Job, at: CheckAt) -> Option<[CheckAt; 2]> {
    job.opened.plan.plan.at(at)?.1.measures.halves()
}

/// The newest attempt at a half that came to its end, of the part as it is now; with `before`, the
/// newest that began before that, of the piece that was there then.
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

/// Why a difference is taken again: a half was measured again since attempt `id` at it.
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

/// Attempts that have a verdict which may rest on what stands at a check: later ones at it,
/// differences of it, grinding advice that looks at another check of the part, and what it is an
/// entry of.
pub(crate) fn resting_on(job: &Job, at: CheckAt) -> Vec<Seq> {
    let plan = &job.opened.plan.plan;
    let own = plan.at(at).map(|(_, check)| check);
    let rests = |place: CheckAt, check: &Check| {
        // Grinding advice looks at the face below and at the length of the part.
        let looks =
            |own: &Check| own.traits().sizes || check.down.as_deref() == Some(own.name.as_str());
        let advised = check.traits().is_face();
        check.measures.names().contains(&at)
            || advised && place.part == at.part && own.is_some_and(looks)
    };
    // A pair of warm lengths rests on their temperatures as well.
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

/// The attempts of both halves that a difference is taken from, each with the earlier tries it is
/// combined with.
pub(crate) fn halves(job: &Job, id: Seq) -> Option<[Seq; 2]> {
    let at = job.attempts.get(&id)?.began.check;
    let [first, second] = halves_at(job, at)?;
    Some([half(job, first, Some(id))?, half(job, second, Some(id))?])
}

//! Which attempts at other checks a difference, a fit or the like uses.

use std::sync::Arc;

use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt};
use crate::state::{Attempt, Job};

/// The checks from which the one at a place is worked out.
fn made_of(job: &Job, at: CheckAt) -> Vec<CheckAt> {
    let check = job.opened.plan.plan.at(at).map(|(_, check)| check);
    check.map_or_else(Vec::new, |check| check.measures.made_of())
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

/// The complete attempt at a check that another one only looks at, as a difference looks at face offsets: as
/// of an entry, the newest before the next attempt at the other one, for the piece that was there.
pub(crate) fn looked_at(job: &Job, at: CheckAt, user: Seq) -> Option<Seq> {
    let of = job.attempts.get(&user)?.began.check;
    let next = job.attempts_at(of).map(|(id, _)| id).find(|id| *id > user);
    let counts = |(id, attempt): &(Seq, &Arc<Attempt>)| {
        attempt.ending == Some(Ending::Complete)
            && next.is_none_or(|next| *id < next)
            && job.same_piece(at.part, *id, user)
    };
    job.attempts_at(at).rev().find(counts).map(|(id, _)| id)
}

/// The attempt at a check that another attempt uses.
pub(crate) fn used(job: &Job, at: CheckAt, user: Seq) -> Option<Seq> {
    let of = job.attempts.get(&user)?.began.check;
    if made_of(job, of).contains(&at) {
        half(job, at, Some(user))
    } else {
        looked_at(job, at, user)
    }
}

/// Whether an attempt uses the newest of a check, whenever that was measured.
pub(crate) fn looks_at(job: &Job, user: Seq, at: CheckAt) -> bool {
    let Some(of) = job.attempts.get(&user).map(|attempt| attempt.began.check) else { return false };
    let check = job.opened.plan.plan.at(of).map(|(_, check)| check);
    check.is_some_and(|check| {
        let own = check.measures.own();
        own.names.contains(&at) && !own.made_of.is_empty() && !own.made_of.contains(&at)
    })
}

/// Why a difference is to be taken again: one of its halves was measured again since attempt `id`.
pub(crate) fn newer_half(job: &Job, at: CheckAt, id: Seq) -> Option<AttemptReason> {
    let of = made_of(job, at);
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
            |own: &Check| own.traits().stands() || check.down.as_deref() == Some(own.name.as_str());
        let advised = check.traits().is_face();
        check.measures.own().names.contains(&at)
            || advised && place.part == at.part && own.is_some_and(looks)
    };
    // A pair of warm lengths also uses their temperatures.
    let warm = |check: &Check| {
        let halves = check.measures.made_of().into_iter();
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

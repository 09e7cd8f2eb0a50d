//! Which attempts at two lengths a difference is taken from.

use super::judge;
use super::plan::{CheckAt, Detail, Pair};
use super::row::{AttemptReason, Ending, Seq};
use super::state::Job;

/// The details of a difference check.
pub(super) fn pair_at(job: &Job, at: CheckAt) -> Option<&Pair> {
    match &job.opened.plan.plan.at(at)?.1.detail {
        Detail::Pair(pair) => Some(pair),
        Detail::Plain
        | Detail::Length(_)
        | Detail::Turn(_)
        | Detail::Bar(_)
        | Detail::Taper(_)
        | Detail::Confirm(_)
        | Detail::Entry(_) => None,
    }
}

/// The newest attempt at a half that came to its end, of the part as it is now; with `before`, the
/// newest that began before that.
pub(super) fn half(job: &Job, at: CheckAt, before: Option<Seq>) -> Option<Seq> {
    let mut newest = job.attempts_at(at).rev();
    newest
        .find(|(id, attempt)| {
            attempt.ending == Some(Ending::Complete)
                && job.is_of_present_part(*id, at)
                && before.is_none_or(|before| *id < before)
        })
        .map(|(id, _)| id)
}

/// Why a difference is taken again: a half was measured again since attempt `id` at it.
pub(super) fn newer_half(job: &Job, at: CheckAt, id: Seq) -> Option<AttemptReason> {
    let pair = pair_at(job, at)?;
    let newer: Vec<Seq> =
        pair.of.iter().filter_map(|of| half(job, *of, None)).filter(|half| *half > id).collect();
    let reasons = newer.iter().filter_map(|half| job.attempts.get(half)).map(|a| a.began.reason);
    // New metal in one half is new metal in the pair.
    reasons.reduce(|one, other| match (one, other) {
        (AttemptReason::Ground | AttemptReason::First, _) => AttemptReason::Ground,
        (_, other) => other,
    })
}

/// Attempts over whose verdict rests on what stands at a check: differences of it, and lengths and
/// differences that it is an entry of.
pub(super) fn resting_on(job: &Job, at: CheckAt) -> Vec<Seq> {
    let plan = &job.opened.plan.plan;
    let rests = |detail: &Detail| match detail {
        Detail::Pair(pair) => {
            let offsets = pair.offsets.iter().flatten().flatten();
            pair.of.contains(&at) || offsets.into_iter().any(|entry| *entry == at)
        }
        Detail::Length(size) => size.temperatures.is_some_and(|both| both.contains(&at)),
        Detail::Plain
        | Detail::Turn(_)
        | Detail::Bar(_)
        | Detail::Taper(_)
        | Detail::Confirm(_)
        | Detail::Entry(_) => false,
    };
    plan.places()
        .filter(|place| plan.at(*place).is_some_and(|(_, check)| rests(&check.detail)))
        .filter_map(|place| job.newest_at(place))
        .filter(|(_, attempt)| attempt.verdict.is_some())
        .map(|(id, _)| id)
        .collect()
}

/// The attempts of both halves that a difference is taken from, each with the earlier tries it is
/// combined with.
pub(super) fn halves(job: &Job, id: Seq) -> Option<[Seq; 2]> {
    let at = job.attempts.get(&id)?.began.check;
    let [first, second] = pair_at(job, at)?.of;
    Some([half(job, first, Some(id))?, half(job, second, Some(id))?])
}

/// Whether a difference was taken from an attempt.
pub(super) fn is_taken_from(job: &Job, difference: Seq, attempt: Seq) -> bool {
    let group = |half: Seq| half == attempt || judge::earlier_tries(job, half).contains(&attempt);
    halves(job, difference).is_some_and(|both| both.into_iter().any(group))
}

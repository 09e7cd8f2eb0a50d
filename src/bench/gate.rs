//! What should not go on does not: a job is not closed and a part does not go on the stack while a
//! check says otherwise. A person may go on with a reason, which is a fact of its own.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::fact::row::{Lack, WentOn};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt, Holding, Part, PartKind};
use crate::state::Job;
use crate::state::pairs;
use crate::words;
use judgement::Word;

/// What is wrong with a check as the job stands; `None` where nothing is.
#[must_use]
pub fn lack(job: &Job, at: CheckAt) -> Option<Lack> {
    let (_, check) = job.opened.plan.plan.at(at)?;
    let Some((id, attempt)) = job.newest_at(at) else { return Some(Lack::NotMeasured) };
    if check.traits().is_written() {
        return attempt.answer.is_none().then(|| unanswered(job, at, id));
    }
    if job.metal_changed_at(at) {
        return Some(Lack::MetalChanged);
    }
    let Some((_, verdict)) = &attempt.verdict else {
        let begun = attempt.is_touched();
        return Some(if begun { Lack::Incomplete } else { unanswered(job, at, id) });
    };
    match verdict.word {
        // `next` takes such a difference anew: what it says is not what the rings are by now.
        Word::Conforms => pairs::newer_half(job, at, id).map(|_| Lack::Outdated),
        Word::DoesNotConform => Some(Lack::DoesNotConform),
        Word::Incomplete => Some(Lack::Incomplete),
        // An answer that is kept and not judged is no question any more.
        Word::Undecided if kept_only(check) && attempt.answer.is_some() => None,
        Word::Undecided => Some(Lack::Undecided),
    }
}

/// How a check lacks an answer: an earlier one on the same piece stays on the record.
fn unanswered(job: &Job, at: CheckAt, id: Seq) -> Lack {
    let answered = job
        .attempts_at(at)
        .any(|(other, attempt)| attempt.answer.is_some() && job.same_piece(at.part, other, id));
    if answered { Lack::AskedAgain } else { Lack::NotMeasured }
}

fn kept_only(check: &Check) -> bool {
    check.traits().is_chosen() && check.measures.asks().is_some_and(|asks| asks.good.is_empty())
}

/// The checks that are the found side of another: they tell how the spindle came, whatever that was.
fn found_sides(job: &Job) -> BTreeSet<CheckAt> {
    let plan = &job.opened.plan.plan;
    plan.places().filter_map(|at| plan.at(at)?.1.found).collect()
}

fn lacking(job: &Job, asked: impl Fn(CheckAt, &Part, &Check) -> bool) -> Vec<(CheckAt, Lack)> {
    let plan = &job.opened.plan.plan;
    let found = found_sides(job);
    let one = |at: CheckAt| {
        let (part, check) = plan.at(at)?;
        let counts = !found.contains(&at) && asked(at, part, check);
        Some((at, lack(job, at).filter(|_| counts)?))
    };
    plan.places().filter_map(one).collect()
}

/// What keeps a job from being closed.
pub(crate) fn before_closing(job: &Job) -> Vec<(CheckAt, Lack)> {
    lacking(job, |_, _, _| true)
}

/// What keeps a part from going on the stack: its own checks off the shaft, and the differences made
/// of its lengths.
pub(crate) fn before_building(job: &Job, part: u16) -> Vec<(CheckAt, Lack)> {
    lacking(job, |at, _, check| match check.measures.halves() {
        Some(halves) => halves.iter().any(|half| half.part == part),
        None => at.part == part && check.traits().is_touched() && check.setup != Holding::Turning,
    })
}

/// `ring/face-a does not conform, nut/torque is not measured`.
pub(crate) fn told(job: &Job, lacking: &[(CheckAt, Lack)]) -> String {
    let plan = &job.opened.plan.plan;
    let one = |(at, lack): &(CheckAt, Lack)| {
        let (part, check) = plan.at(*at)?;
        Some(format!("{} {}", words::target(part, check), lack.words()))
    };
    lacking.iter().filter_map(one).collect::<Vec<_>>().join(", ")
}

/// The sentences about parts that are on the shaft in spite of something.
pub(crate) fn in_spite(job: &Job) -> Vec<String> {
    let newest = |(since, went): &&(Seq, Arc<WentOn>)| {
        let on = job.shaft.iter().rev().find(|on| Some(on.part) == went.part);
        on.is_some_and(|on| on.until.is_none() && on.from < *since)
    };
    let sentence = |(_, went): &(Seq, Arc<WentOn>)| {
        let part = job.opened.plan.plan.parts.get(usize::from(went.part?))?;
        let told = told(job, &went.lacking);
        Some(format!("{} went on the stack although {told}: \"{}\".", part.name, went.why))
    };
    job.went_on.iter().filter(newest).filter_map(sentence).collect()
}

/// Whether a check is one at the nut, turned or looked at on the shaft.
pub(crate) fn at_the_nut(part: &Part, check: &Check) -> bool {
    let on_the_shaft = check.setup == Holding::Turning && check.traits().is_touched()
        || check.traits().is_answered();
    part.kind == PartKind::Nut && on_the_shaft
}

/// The same for the reply.
pub(crate) fn mind(job: &Job, part: &Part, check: &Check) -> Vec<String> {
    if at_the_nut(part, check) { in_spite(job) } else { Vec::new() }
}

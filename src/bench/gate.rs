//! What holds a job or a part back: a job is not closed, and a part does not go on the stack, while one of
//! its checks does not conform or has no verdict. A person may go on with a reason, which is stored as a
//! fact of its own.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::fact::row::{Lack, MarkOff, WentOn};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt, Holding, Part, PartKind, Step};
use crate::spots;
use crate::state::Job;
use crate::state::pairs;
use crate::words;
use judgement::Word;

/// What is wrong with a check in the present state of the job; `None` where nothing is.
#[must_use]
pub fn lack(job: &Job, at: CheckAt) -> Option<Lack> {
    let (_, check) = job.opened.plan.plan.at(at)?;
    let Some((id, attempt)) = job.newest_at(at) else { return Some(Lack::NotMeasured) };
    if !check.is_judged() {
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
        // `next` takes such a difference again: its verdict is about lengths that were measured again
        // since.
        Word::Conforms => pairs::newer_half(job, at, id).map(|_| Lack::Outdated),
        Word::DoesNotConform => Some(Lack::DoesNotConform),
        Word::Incomplete => Some(Lack::Incomplete),
        // An answer that is only recorded has no verdict, and leaves no question open.
        Word::Undecided if kept_only(check) && attempt.answer.is_some() => None,
        Word::Undecided => Some(Lack::Undecided),
    }
}

/// Why a check has no answer. An earlier answer on the same piece stays on the record.
fn unanswered(job: &Job, at: CheckAt, id: Seq) -> Lack {
    let answered = job
        .attempts_at(at)
        .any(|(other, attempt)| attempt.answer.is_some() && job.same_piece(at.part, other, id));
    if answered { Lack::AskedAgain } else { Lack::NotMeasured }
}

fn kept_only(check: &Check) -> bool {
    check.traits().is_chosen() && check.measures.asks().is_some_and(|asks| asks.good.is_empty())
}

/// The checks that are the "as found" side of another: they say how the spindle came in, good or bad.
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

/// The checks that keep a job from being closed.
pub(crate) fn before_closing(job: &Job) -> Vec<(CheckAt, Lack)> {
    lacking(job, |_, _, _| true)
}

/// The checks that keep a part from going on the stack: its own checks off the shaft, those worked out from
/// what was measured of it, and of a bearing what has to be confirmed of it, or of the whole set, before it
/// goes on: its thrust side and its order, say.
pub(crate) fn before_building(job: &Job, part: u16) -> Vec<(CheckAt, Lack)> {
    let plan = &job.opened.plan.plan;
    let stacked = |part: u16| plan.stack.iter().any(|place| place.part == part);
    let is_bearing = |part: &Part| part.kind == PartKind::Bearing;
    let bearing = plan.parts.get(usize::from(part)).is_some_and(is_bearing);
    lacking(job, |at, of, check| {
        let traits = check.traits();
        if traits.is_worked_out() {
            return check.measures.made_of().iter().any(|other| other.part == part);
        }
        if traits.is_chosen() {
            // A bearing that has no place on the stack stands for the set.
            let of_it = at.part == part || is_bearing(of) && !stacked(at.part);
            let before = plan.step_of(at).is_some_and(|step| step <= Step::Bearings);
            return bearing && of_it && before;
        }
        at.part == part && traits.is_touched() && check.setup != Holding::Turning
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

/// The same of a part that goes on the stack, with its mark; `None` where nothing speaks against it.
pub(crate) fn told_of_a_part(
    job: &Job,
    lacking: &[(CheckAt, Lack)],
    mark: Option<MarkOff>,
) -> Option<String> {
    let checks = (!lacking.is_empty()).then(|| told(job, lacking));
    let all: Vec<String> = checks.into_iter().chain(mark.map(words::spots::mark_off)).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// The sentences about parts that went on the shaft although a check spoke against them.
pub(crate) fn in_spite(job: &Job) -> Vec<String> {
    let newest = |(since, went): &&(Seq, Arc<WentOn>)| {
        let on = job.shaft.iter().rev().find(|on| Some(on.part) == went.part);
        on.is_some_and(|on| on.until.is_none() && on.from < *since)
    };
    let sentence = |(_, went): &(Seq, Arc<WentOn>)| {
        let part = job.opened.plan.plan.parts.get(usize::from(went.part?))?;
        let told = told_of_a_part(job, &went.lacking, went.mark)?;
        Some(format!("{} went on the stack although {told}: \"{}\".", part.name, went.why))
    };
    job.went_on.iter().filter(newest).filter_map(sentence).collect()
}

/// Whether a check belongs to the nut: it is turned, or looked at, on the shaft.
pub(crate) fn at_the_nut(part: &Part, check: &Check) -> bool {
    let on_the_shaft = check.setup == Holding::Turning && check.traits().is_touched()
        || check.traits().is_answered();
    part.kind == PartKind::Nut && on_the_shaft
}

/// The same for the reply.
pub(crate) fn mind(job: &Job, part: &Part, check: &Check) -> Vec<String> {
    if !at_the_nut(part, check) {
        return Vec::new();
    }
    let spots = words::spots::together(&spots::as_built(job));
    in_spite(job).into_iter().chain(spots).collect()
}

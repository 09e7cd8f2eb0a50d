//! The verdict on an attempt, computed from its readings, its plan and its pinned settings.

pub(crate) mod drift;
mod even;
pub(crate) mod figure;
pub(crate) mod half_turn;
pub(crate) mod metal;
mod noise;
pub(crate) mod order;
mod pair;
pub(crate) mod reading;
pub(crate) mod repeats;
pub(crate) mod returns;
mod supposed;
pub(crate) mod tries;
pub(crate) mod warm;
pub(crate) mod wild;
pub(crate) mod zero;

use crate::fact::verdict::Mean;
use std::sync::Arc;

use judgement::{self, Budget, Decision, Known, Reason, Share, Word};
use quantity::{Figure, Length};

use crate::fact::row::Ending;
use crate::fact::seq::Seq;
use crate::fact::verdict::{Answered, Repeatability, Verdict};
use crate::plan::{Check, Judged, MasterUse};
use crate::seat;
use crate::state::{Attempt, Job};
use crate::words;
use crate::words::walked;

use self::figure::characteristic;
use self::noise::near_noise;
use self::returns::{
    came_back_off, master_came_back, master_limit, reads_the_whole_turn, resolution,
    walk_beside_drift,
};
use self::tries::{Tries, combine, left_out};

/// What the present readings of an attempt come to.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkedOut {
    /// The verdict.
    pub verdict: Verdict,
    /// The shares of its uncertainty; `None` where it has none.
    pub budget: Option<Budget>,
    /// How far seatings of a bar lie apart: at each distance along it, along each axis, as differences of
    /// two seatings.
    pub reseated: Vec<(Length, Vec<Length>)>,
}

/// The verdict that the present readings of an attempt give; `None` when the job has no such
/// attempt. The same rows always give the same verdict.
#[must_use]
pub fn judge(job: &Job, id: Seq) -> Option<Verdict> {
    work_out(job, id).map(|worked| worked.verdict)
}

/// The same with what stands behind it.
#[must_use]
pub fn work_out(job: &Job, id: Seq) -> Option<WorkedOut> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    let tries = combine(job, id, attempt, check);
    let mut judged = characteristic(job, id, &tries);
    add_what_changed(job, id, &tries, &mut judged);
    let (budget, reseated) = (judged.budget.take(), std::mem::take(&mut judged.reseated));
    let expanded = budget.as_ref().map(Budget::expanded);
    let rules = judged.value.zip(expanded).zip(judged.limits);
    let plain = judged.value.zip(judged.limits).filter(|_| judged.plainly);
    let rules = rules
        .map(|((value, expanded), limits)| judgement::decide(value, expanded.uncertainty, limits))
        .or_else(|| plain.map(|(value, limits)| judgement::decide(value, Length::ZERO, limits)))
        .or_else(|| answered(check, attempt));
    let rule = attempt.began.pin.rule;
    let mut reasons = reasons(&tries);
    reasons.extend(seat_doubted(job, id));
    reasons.extend(near_noise(&judged, expanded, rule));
    reasons.extend(judged.reasons);
    let incomplete = attempt.ending == Some(Ending::Stopped) || attempt.open_touches(check) > 0;
    let word = match rules {
        _ if incomplete => Word::Incomplete,
        Some(decision) => judgement::withheld(decision.by(rule), &reasons),
        None => Word::Undecided,
    };
    let mut verdict = Verdict {
        attempt: id,
        tries: tries.count(),
        combined: judged
            .rests_on
            .map_or_else(|| tries.combined.clone(), |all| all.into_iter().map(Seq).collect()),
        means: tries.means().into_iter().map(Mean::from).collect(),
        value: judged.value,
        unit: check.unit,
        limits: judged.limits,
        uncertainty: expanded.map(|expanded| expanded.uncertainty),
        k: expanded.map(|expanded| expanded.k),
        known: expanded.map_or(Known::Stated, |expanded| expanded.known),
        repeat: budget.as_ref().and_then(repeatability),
        rule,
        word,
        simple: rules.map(|rules: Decision| rules.simple),
        guarded: rules.map(|rules| rules.guarded),
        positions: check.total(),
        touches: check.touches,
        taken: attempt.taken(),
        skipped: u32::try_from(attempt.skipped.len()).unwrap_or(u32::MAX),
        answer: attempt.answer.clone(),
        answers: answers(job, id, check),
        figures: judged.figures,
        advice: Vec::new(),
        sayings: Vec::new(),
        cautions: Vec::new(),
        reasons,
    };
    verdict.advice = tries.moved.map(|off| words::was_it_ground(check, off)).into_iter().collect();
    verdict.advice.extend(judged.says);
    verdict.sayings = judged.sayings;
    verdict.sayings.extend(walked::because((check, attempt), &verdict.reasons));
    verdict.advice.extend(verdict.sayings.iter().map(|said| said.text.clone()));
    verdict.advice.extend(words::advice(&verdict, check, attempt));
    verdict.advice.extend(of_the_instruments(&tries));
    metal::add(job, id, &tries, &mut verdict);
    if verdict.word != Word::Incomplete {
        verdict.cautions.extend(not_combined(job, id, &tries));
        verdict.cautions.extend(words::keyed_coarsely_of(check, &tries.together));
        verdict.cautions.extend(coarser_than_the_newest(&tries));
        verdict.cautions.extend(judged.cautions);
    }
    verdict.advice.extend(verdict.cautions.iter().cloned());
    Some(WorkedOut { verdict, budget, reseated })
}

/// From how much of the bench's own record the repeatability in a budget is known.
fn repeatability(budget: &Budget) -> Option<Repeatability> {
    let recorded = budget.recorded(Share::Repeatability)?;
    let pairs = recorded.count;
    Some(Repeatability { pairs, degrees: recorded.freedom.degrees()? })
}

/// Adds what readings did while they were taken: an even drift that was taken out, and a part that was seen
/// to shrink or grow, which withholds a length.
fn add_what_changed(job: &Job, id: Seq, tries: &Tries, judged: &mut Judged) {
    let (check, attempt) = (tries.check, tries.attempt);
    if let Some(newest) = tries.drifted.last() {
        judged.figures.drift = Some(Figure::from(newest.far));
        judged.figures.as_read = figure::as_read(job, id, tries);
        judged.says.push(walked::taken_out(judged, (check, attempt), newest));
    }
    if let Some(without) = figure::without_drift(job, id, tries) {
        judged.figures.without_drift = Some(without);
        judged.says.push(walked::without_drift(judged, check, without));
    }
    let rate = warm::rate(job, id);
    if !check.traits().sizes {
        judged.says.extend(words::warm::of_a_round((check, attempt), rate));
        return;
    }
    let Some(rate) = rate
        .filter(|rate| check.limits.is_some() && rate.alarms(check.half_width(), check.traps.heat))
    else {
        return;
    };
    let by_temperature = judged.reasons.contains(&Reason::Warm);
    let ready = judged.figures.to_20_c.is_some() && !by_temperature;
    judged.sayings.push(words::warm::because(check, rate, ready));
    judged.reasons.extend((!by_temperature).then_some(Reason::Warm));
}

/// The earlier tries on the same metal that do not count, each with the reason.
fn not_combined(job: &Job, id: Seq, tries: &Tries) -> Vec<String> {
    // Answers and written values are shown with their check, and a difference has no tries.
    if !tries.check.traits().is_touched() {
        return Vec::new();
    }
    let sentence = |other: Seq| {
        let number = job.attempts.get(&other)?.began.number;
        Some(words::is_not_combined(number, why_not_combined(job, other)))
    };
    left_out(job, id, &tries.combined).into_iter().filter_map(sentence).collect()
}

/// What is wrong with the gauges and masters of the tries: not proven, or past the date.
fn of_the_instruments(tries: &Tries) -> Vec<String> {
    let one = |attempt: &&Attempt| {
        let why = attempt.began.pin.unproven?;
        Some(words::proof::unproven(why, &attempt.gauge()?.name))
    };
    let mut told: Vec<String> = tries.together.iter().filter_map(one).collect();
    told.dedup();
    told.extend(words::of_pieces(&tries.together));
    if tries.check.traits().is_touched() { told } else { Vec::new() }
}

/// The sentence on a try that was read in coarser steps than the newest.
fn coarser_than_the_newest(tries: &Tries) -> Option<String> {
    let step = tries.resolution;
    let coarser = step > resolution(tries.attempt);
    coarser.then(|| words::judged_by_the_coarsest(step, tries.check.unit))
}

/// The decision of a chosen answer; `None` where no answer counts as good.
fn answered(check: &Check, attempt: &Attempt) -> Option<Decision> {
    let asks = check.measures.asks()?;
    let good = asks.good.contains(attempt.answer.as_ref()?);
    let word = if good { Word::Conforms } else { Word::DoesNotConform };
    (!asks.good.is_empty()).then_some(Decision { simple: word, guarded: word })
}

/// Every answer to a question up to an attempt, oldest first: none is averaged, and none is dropped.
fn answers(job: &Job, id: Seq, check: &Check) -> Vec<Answered> {
    let Some(at) = job.attempts.get(&id).map(|attempt| attempt.began.check) else {
        return Vec::new();
    };
    let given = |(other, attempt): (Seq, &Arc<Attempt>)| {
        let (text, at) = (attempt.answer.clone()?, attempt.answered_at?);
        Some(Answered { attempt: other, text, at, by: attempt.answered_by.clone() })
    };
    let of_this_piece = |(other, _): &(Seq, _)| *other <= id && job.same_piece(at.part, *other, id);
    let all = job.attempts_at(at).filter(of_this_piece).filter_map(given);
    if check.traits().is_chosen() { all.collect() } else { Vec::new() }
}

/// Why an attempt is not combined with a later try on the same metal; only for one that is not.
#[must_use]
pub fn why_not_combined(job: &Job, id: Seq) -> &'static str {
    const TOO_LITTLE: &str = "it has too little in common with the newest";
    let Some(attempt) = job.attempts.get(&id) else { return TOO_LITTLE };
    let Some((_, check)) = job.check_of(attempt) else { return TOO_LITTLE };
    let off = came_back_off(check, attempt);
    if attempt.ending == Some(Ending::Stopped) {
        words::STOPPED_SHORT
    } else if attempt.closure_taken_back() || off {
        "position 0 did not come back to its first reading"
    } else if attempt.closing_missing(check) {
        "the master was not touched at the end"
    } else if !master_came_back(check, attempt) {
        "the master came back different"
    } else if attempt.open_touches(check) > 0 {
        "a position is open"
    } else if !repeats::apart(check, attempt).is_empty() {
        "the touches at one position lie too far apart"
    } else if check.swept().is_some() {
        "the newest turn that was swept stands by itself"
    } else {
        TOO_LITTLE
    }
}

fn reasons(tries: &Tries) -> Vec<Reason> {
    let (check, attempt) = (tries.check, tries.attempt);
    let mut reasons = Vec::new();
    let mut add = |holds: bool, reason| {
        if holds {
            reasons.push(reason);
        }
    };
    if !check.traits().is_touched() {
        return reasons;
    }
    let swept = check.swept().is_some();
    let round = check.traits().goes_round && !swept && !reads_the_whole_turn(check, attempt);
    add(round && tries.fewest_on_a_circle() < 7, Reason::TooFewPositions);
    let coarse = judgement::too_coarse(tries.resolution, check.half_width());
    add(coarse, Reason::GaugeTooCoarse);
    // A swept turn that was taken back leaves no reading at all.
    let lost = attempt.closure_taken_back() && !(swept && attempt.taken() == 0);
    let off = came_back_off(check, attempt);
    add(lost || off, Reason::NotClosed);
    // Whether the walk withholds a length depends on its U, which is worked out with the verdict.
    let length = check.traits().sizes;
    let limit = master_limit(check, attempt);
    let moved = walk_beside_drift(check, attempt).is_some_and(|off| !limit.holds(off));
    add(!length && moved, Reason::ZeroMoved);
    let masterless = check.master != MasterUse::None && attempt.opening().is_none();
    // The master is not due before position 0 has come back well.
    let due = !lost && !off;
    let unclosed = due && attempt.closing_missing(check);
    add((masterless && !attempt.from_file()) || unclosed, Reason::NotMastered);
    let overdue = |one: &&Attempt| {
        let due = one.gauge().and_then(|gauge| gauge.calibration_due);
        due.is_some_and(|due| one.began_at >= due)
    };
    let past = |one: &&Attempt| {
        let pin = &one.began.pin;
        let master = pin.master.as_ref().and_then(|master| master.due);
        let bar = pin.bar.as_ref().and_then(|bar| bar.due);
        [master, bar].into_iter().flatten().any(|due| one.began_at >= due)
    };
    add(tries.together.iter().any(|one| overdue(one) || past(one)), Reason::Overdue);
    add(tries.together.iter().any(|one| one.began.pin.withheld), Reason::Unproven);
    add(tries.differ, Reason::TriesDiffer);
    // Touches of a position that is made anew count together only once all of them are there.
    let apart = attempt.is_partly_answered() || !repeats::apart(check, attempt).is_empty();
    add(apart, Reason::TouchesDiffer);
    reasons
}

/// The reason when dirt was found under a length in its own seating.
fn seat_doubted(job: &Job, id: Seq) -> Option<Reason> {
    seat::is_doubted(job, id).then_some(Reason::SeatDoubted)
}

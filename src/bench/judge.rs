//! The verdict on an attempt, computed from its readings, its plan and what it was pinned to.

mod metal;
mod noise;
mod pair;
mod tries;
mod wild;
mod zero;

use crate::fact::verdict::Mean;
use std::sync::Arc;

use judgement::{self, Closure, Decision, Doubt, Known, Limits, Reason, Word};
use quantity::{Figure, Length};

use crate::fact::row::{Ending, State};
use crate::fact::seq::Seq;
use crate::fact::verdict::{Answered, Verdict};
use crate::plan::{Beside, Check, CheckAt, Judged, MasterUse, Pair, Stand};
use crate::seat;
use crate::setup::GaugeSetup;
use crate::state::{Attempt, Job, Touched};
use crate::words;

pub(crate) use self::metal::{SPARK_OUT, before_this_grind, grown_under_the_wheel, went_past_flat};
pub(crate) use self::noise::is_a_slip;
use self::noise::near_noise;
pub(crate) use self::tries::earlier_tries;
use self::tries::{Tries, combine, left_out};
pub(crate) use self::wild::wild_position;
use self::zero::Zero;
pub(crate) use self::zero::far_off as far_off_size;

/// The verdict that the present readings of an attempt give; `None` when the job has no such
/// attempt. The same rows always give the same verdict.
#[must_use]
pub fn judge(job: &Job, id: Seq) -> Option<Verdict> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    let tries = combine(job, id, attempt, check);
    let judged = characteristic(job, id, &tries);
    let rules = judged.value.zip(judged.expanded).zip(judged.limits);
    let rules = rules
        .map(|((value, expanded), limits)| judgement::decide(value, expanded.uncertainty, limits))
        .or_else(|| answered(check, attempt));
    let rule = attempt.began.pin.rule;
    let mut reasons = reasons(&tries);
    reasons.extend(seat_doubted(job, id));
    reasons.extend(near_noise(&judged, rule));
    reasons.extend(judged.reasons);
    let incomplete = attempt.ending == Some(Ending::Stopped) || attempt.open_positions(check) > 0;
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
        uncertainty: judged.expanded.map(|expanded| expanded.uncertainty),
        k: judged.expanded.map(|expanded| expanded.k),
        known: judged.expanded.map_or(Known::Stated, |expanded| expanded.known),
        rule,
        word,
        simple: rules.map(|rules: Decision| rules.simple),
        guarded: rules.map(|rules| rules.guarded),
        positions: check.total(),
        taken: attempt.taken(),
        skipped: u32::try_from(attempt.skipped.len()).unwrap_or(u32::MAX),
        answer: attempt.answer.clone(),
        answers: answers(job, id, check),
        figures: judged.figures,
        advice: Vec::new(),
        cautions: Vec::new(),
        reasons,
    };
    verdict.advice = tries.moved.map(|off| words::was_it_ground(check, off)).into_iter().collect();
    verdict.advice.extend(judged.says);
    verdict.advice.extend(words::advice(&verdict, check, attempt));
    metal::add(job, id, &tries, &mut verdict);
    if verdict.word != Word::Incomplete {
        verdict.cautions.extend(not_combined(job, id, &tries));
        verdict.cautions.extend(keyed_coarsely(check, &tries.together));
        verdict.cautions.extend(coarser_than_the_newest(&tries));
        verdict.cautions.extend(judged.cautions);
    }
    verdict.advice.extend(verdict.cautions.iter().cloned());
    Some(verdict)
}

/// The earlier tries on the same metal that do not count, each with the reason.
fn not_combined(job: &Job, id: Seq, tries: &Tries) -> Vec<String> {
    // Answers and entries are all told where they stand, and a difference has no tries.
    if !tries.check.traits().is_touched() {
        return Vec::new();
    }
    let sentence = |other: Seq| {
        let number = job.attempts.get(&other)?.began.number;
        Some(words::is_not_combined(number, why_not_combined(job, other)))
    };
    left_out(job, id, &tries.combined).into_iter().filter_map(sentence).collect()
}

/// Readings keyed with fewer digits than the gauge shows: they are judged as they were keyed.
pub(crate) fn keyed_coarsely(check: &Check, tries: &[&Attempt]) -> Option<String> {
    let coarser = |one: &&Attempt| one.keyed_coarser();
    let step = tries.iter().filter_map(coarser).max()?;
    Some(words::keyed_coarsely(step, check.unit))
}

/// A try that was read in coarser steps than the newest.
fn coarser_than_the_newest(tries: &Tries) -> Option<String> {
    let step = tries.resolution;
    let coarser = step > resolution(tries.attempt);
    coarser.then(|| words::judged_by_the_coarsest(step, tries.check.unit))
}

/// The figure with all that is told of it.
fn characteristic(job: &Job, id: Seq, tries: &Tries) -> Judged {
    tries.check.measures.judge(tries, &InJob { job, id, tries })
}

/// What a figure needs of a job beside its own readings.
struct InJob<'a> {
    job: &'a Job,
    id: Seq,
    tries: &'a Tries<'a>,
}

impl Beside for InJob<'_> {
    fn entry(&self, at: CheckAt) -> Option<String> {
        self.job.entry_for(at, self.id).map(str::to_owned)
    }

    fn name(&self, at: CheckAt) -> String {
        let found = self.job.opened.plan.plan.at(at);
        found.map_or_else(String::new, |(part, check)| words::target(part, check))
    }

    fn stand(&self, positions: &[u32]) -> Stand {
        let (check, together) = (self.tries.check, &self.tries.together);
        zero::stand(check, together, positions, self.tries.noise_of_a_touch())
    }

    fn difference(&self, pair: &Pair) -> Judged {
        pair::difference(self, pair)
    }
}

/// What a chosen answer says; nothing where none of them is the good one.
fn answered(check: &Check, attempt: &Attempt) -> Option<Decision> {
    let asks = check.measures.asks()?;
    let good = asks.good.contains(attempt.answer.as_ref()?);
    let word = if good { Word::Conforms } else { Word::DoesNotConform };
    (!asks.good.is_empty()).then_some(Decision { simple: word, guarded: word })
}

/// Every answer given to a question up to an attempt, oldest first: none is averaged, none is lost.
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

/// What the uncertainty of one reading is made of. A dial that is read by eye is no better than its
/// graduation.
pub(crate) fn reading(check: &Check, attempt: &Attempt) -> Doubt {
    let stated = attempt.gauge().map(GaugeSetup::stated).unwrap_or_default();
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    let reading = Doubt::of(stated, own, check.assumed_rest());
    attempt.keyed_step().map_or(reading, |step| reading.by_eye(step))
}

/// The step of the readings: the gauge's, or the coarser one in which they were keyed in.
pub(crate) fn resolution(attempt: &Attempt) -> Length {
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    attempt.keyed_step().map_or(own, |keyed| keyed.max(own))
}

/// The spread of touches on one spot that the noise floor is built on.
fn spread(attempt: &Attempt) -> Length {
    let repeatability = attempt.gauge().and_then(|gauge| gauge.repeatability);
    judgement::spread(repeatability, resolution(attempt))
}

/// Closure minus position 0. Of a length each stands on the zero that the line between the touches on
/// the master has there; a fraction of a picometre counts as a whole one.
pub(crate) fn closure_difference(check: &Check, attempt: &Attempt) -> Option<Length> {
    let (first, again) = (attempt.at(0)?, attempt.closure_touch()?);
    if !check.traits().sizes {
        return again.value.length.checked_sub(first.value.length);
    }
    let zero = Zero::of_try(check, attempt);
    let size = |touched: &Touched| Figure::from(touched.value.length) - zero.at(touched.id);
    let off = size(again) - size(first);
    let whole = if off < Figure::ZERO { -(-off).ceil() } else { off.ceil() };
    i64::try_from(whole).ok().map(Length::from_picometres)
}

/// Closing minus opening master touch.
pub(crate) fn zero_walk(attempt: &Attempt) -> Option<Length> {
    attempt.closing()?.checked_sub(attempt.opening()?)
}

/// The limit for a touch on the same spot again, with this gauge and tolerance.
pub(crate) fn closure_limit(check: &Check, attempt: &Attempt) -> Closure {
    let mut scatter = reading(check, attempt).scatter();
    if check.swept().is_some() {
        scatter = noise::at_a_tap(attempt, scatter);
    }
    Closure { tolerance: check.half_width(), scatter, resolution: resolution(attempt) }
}

/// Whether the needle was watched over the whole turn, so that nothing lies between touches.
fn reads_the_whole_turn(check: &Check, attempt: &Attempt) -> bool {
    attempt.watched().is_some() || check.total_only()
}

/// Whether an attempt closed; one without a closure is taken as closed.
fn closed(check: &Check, attempt: &Attempt) -> bool {
    let limit = closure_limit(check, attempt);
    let holds = |off: Option<Length>| off.is_none_or(|off| limit.holds(off));
    !attempt.closure_taken_back()
        && !attempt.closing_missing(check)
        && holds(closure_difference(check, attempt))
        && master_came_back(check, attempt)
}

/// Why an attempt is not combined with a later try on the same metal; told of one that is not.
#[must_use]
pub fn why_not_combined(job: &Job, id: Seq) -> &'static str {
    const TOO_LITTLE: &str = "it has too little in common with the newest";
    let Some(attempt) = job.attempts.get(&id) else { return TOO_LITTLE };
    let Some((_, check)) = job.check_of(attempt) else { return TOO_LITTLE };
    let limit = closure_limit(check, attempt);
    let off = closure_difference(check, attempt).is_some_and(|off| !limit.holds(off));
    if attempt.ending == Some(Ending::Stopped) {
        words::STOPPED_SHORT
    } else if attempt.closure_taken_back() || off {
        "position 0 did not come back to its first reading"
    } else if attempt.closing_missing(check) {
        "the master was not touched at the end"
    } else if !master_came_back(check, attempt) {
        "the master came back different"
    } else if attempt.open_positions(check) > 0 {
        "a position is open"
    } else if check.swept().is_some() {
        "the newest turn that was swept stands by itself"
    } else {
        TOO_LITTLE
    }
}

/// Whether the master came back so well that nobody is asked to touch it once more: of a length
/// within the noise of the gauge, however wide the tolerance is, for its difference from another
/// has a tighter one.
pub(crate) fn master_came_back(check: &Check, attempt: &Attempt) -> bool {
    let Some(walk) = zero_walk(attempt) else { return true };
    let limit = closure_limit(check, attempt);
    if check.traits().sizes {
        Figure::from(walk).abs() <= Figure::from(limit.of_the_noise())
    } else {
        limit.holds(walk)
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
    let limit = closure_limit(check, attempt);
    let open = |off: Option<Length>| off.is_some_and(|off| !limit.holds(off));
    if !check.traits().is_touched() {
        return reasons;
    }
    let swept = check.swept().is_some();
    let round = check.traits().goes_round && !swept && !reads_the_whole_turn(check, attempt);
    add(round && tries.fewest_on_a_circle() < 7, Reason::TooFewPositions);
    let coarse = judgement::too_coarse(tries.resolution, check.half_width());
    add(coarse, Reason::GaugeTooCoarse);
    // A swept turn that was taken back is not there at all.
    let lost = attempt.closure_taken_back() && !(swept && attempt.taken() == 0);
    add(lost || open(closure_difference(check, attempt)), Reason::NotClosed);
    // Whether the walk withholds a length hangs on its U, which is judged with it.
    let length = check.traits().sizes;
    add(!length && open(zero_walk(attempt)), Reason::ZeroMoved);
    let masterless = check.master != MasterUse::None && attempt.opening().is_none();
    // Before position 0 has come back well, the master is not due yet.
    let due = !lost && !open(closure_difference(check, attempt));
    let unclosed = due && attempt.closing_missing(check);
    add((masterless && !attempt.from_file()) || unclosed, Reason::NotMastered);
    let overdue = |one: &&Attempt| {
        let due = one.gauge().and_then(|gauge| gauge.calibration_due);
        due.is_some_and(|due| one.began_at >= due)
    };
    add(tries.together.iter().any(overdue), Reason::Overdue);
    add(tries.differ, Reason::TriesDiffer);
    reasons
}

/// Dirt was found under a length in its own seating.
fn seat_doubted(job: &Job, id: Seq) -> Option<Reason> {
    seat::is_doubted(job, id).then_some(Reason::SeatDoubted)
}

/// How far a try lies above or below one said to be of the same metal, against their masters, where
/// that is too far.
pub(crate) fn moved_on_master(job: &Job, id: Seq) -> Option<Length> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    if earlier_tries(job, id).is_empty() {
        return None;
    }
    combine(job, id, attempt, check).moved
}

/// The limit a value is out of already, for the hint before the end: only figures that can grow
/// but never shrink with more touches.
pub(crate) fn out_so_far(job: &Job, id: Seq) -> Option<Figure> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    out_with(check, attempt)
}

/// The same of the touches of one attempt.
fn out_with(check: &Check, attempt: &Attempt) -> Option<Figure> {
    let Some(Limits::Max(max)) = check.limits else { return None };
    let tries = Tries::alone(check, attempt);
    let value = check.measures.so_far(&tries)?;
    (value > Figure::from(max)).then_some(value)
}

/// Touches at a position that were taken back although they alone made the part out: a new touch
/// there does not take their place unless one of the two is a plain slip.
pub(crate) fn decided_out(
    check: &Check,
    attempt: &Attempt,
    position: u32,
    again: Length,
) -> Option<Seq> {
    let mut taken_back = attempt.taken_back_at(position).peekable();
    let without = attempt.at(position).is_none() && check.swept().is_none();
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

/// Whether nearly all of the range is a tilt, so that dirt and a wedge look the same.
pub(crate) fn mostly_tilt(verdict: &Verdict) -> bool {
    let figures = &verdict.figures;
    let Some((flat, range)) = figures.least_squares.zip(figures.max_minus_min) else {
        return false;
    };
    let share = judgement::plane_share(flat.to_f64(), range.to_f64());
    share.is_some_and(judgement::mostly_tilt)
}

//! The questions to a person after a series: one at a time, each once.

use judgement::{self};
use quantity::Figure;

use crate::fact::row::Question;
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::judge::half_turn;
use crate::judge::order;
use crate::judge::returns;
use crate::judge::tries;
use crate::judge::wild;
use crate::plan::{Check, Holding, Wedge};
use crate::state::Job;

/// The question to ask after a verdict on a complete attempt; `None` when there is none, or when it was
/// asked already.
pub(crate) fn next(job: &Job, id: Seq, verdict: &Verdict) -> Option<Question> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    // A sweep has no single touches to repeat: the whole turn is swept again.
    if check.swept().is_some() {
        return None;
    }
    if attempt.is_partly_answered() {
        return attempt.asked;
    }
    let put =
        |question: &Question| attempt.put.contains(question) && attempt.asked != Some(*question);
    let question = if returns::closure_off(check, attempt) {
        match order::slip(check, attempt) {
            None => Some(Question::Closure),
            // A new first touch mends it; behind anything else the whole round has to be made again.
            Some(slip) => slip.first_again().then_some(Question::Touch(0)),
        }
    } else if !returns::master_came_back(check, attempt) {
        Some(Question::Master)
    } else {
        // A touch that was made once more and stays where it was is the part's own.
        let wild = wild::wild_position(job, id, Some(verdict)).map(Question::Touch);
        wild.filter(|question| !put(question)).or_else(|| tilt_question(job, id, check, verdict))
    };
    question.filter(|question| !put(question))
}

/// The part is out, and mostly by tilt: dirt under the part and a wedge in the metal look the same until
/// the part is turned half way round on its seat. Asked once for the same metal.
fn tilt_question(job: &Job, id: Seq, check: &Check, verdict: &Verdict) -> Option<Question> {
    let Some(judgement::Limits::Max(max)) = check.limits else { return None };
    let limit = Figure::from(max);
    let applies = check.traits().wedge == Wedge::OnThePlate
        && check.setup == Holding::Plate
        && verdict.value.is_some_and(|value| value > limit)
        && half_turn::mostly_tilt(verdict);
    let standing = job.attempts.get(&id).and_then(|attempt| attempt.asked);
    if applies && let Some(Question::HalfTurn { .. }) = standing {
        return standing;
    }
    let same_metal = tries::earlier_tries(job, id).into_iter().chain([id]);
    let asked = same_metal
        .filter_map(|one| job.attempts.get(&one))
        .any(|one| one.put.iter().any(|question| matches!(question, Question::HalfTurn { .. })));
    if !applies || asked {
        return None;
    }
    let attempt = job.attempts.get(&id)?;
    let filled = (0..attempt.past_highest()).filter_map(|at| Some((attempt.mean_at(at)?, at)));
    let high = filled.clone().max_by_key(|(height, position)| (*height, u32::MAX - position))?;
    let low = filled.min()?;
    Some(Question::HalfTurn { high: high.1, low: low.1 })
}

//! One touch that fits none of the others, so that a person is asked to make it again.

use judgement::{self, Limits};
use quantity::{Figure, Length};

use crate::fact::row::Question;
use crate::fact::seq::Seq;
use crate::fact::verdict::{Figures, Verdict};
use crate::judge::figure::{InJob, characteristic, out_so_far};
use crate::judge::repeats;
use crate::judge::returns::reading;
use crate::judge::tries::Tries;
use crate::plan::Check;
use crate::state::{Attempt, Job};

/// The position that is to be touched again: one whose several touches lie too far apart, or on a single
/// circle that of a touch which alone speaks against the part.
///
/// One that stands off all others, where the part is out of its limit: it is told during the round and asked for
/// after it, since what comes off at the wheel would be worked out from it. After the last touch also one without
/// which the part would conform.
///
/// `verdict` is the one on the attempt, where there is one.
pub(crate) fn wild_position(job: &Job, id: Seq, verdict: Option<&Verdict>) -> Option<u32> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    if let Some(apart) = next_apart(check, attempt) {
        return Some(apart);
    }
    if !check.traits().goes_round || check.circles() > 1 || check.swept().is_some() {
        return None;
    }
    let tries = Tries::alone(check, attempt);
    let saved = || attempt.ending.and_then(|_| tries.saved_without(job, id, verdict));
    saved().or_else(|| standing_off(job, id, &tries))
}

/// The position of a touch that stands off all others, where the part is out of its limit.
fn standing_off(job: &Job, id: Seq, tries: &Tries<'_>) -> Option<u32> {
    let (check, attempt) = (tries.check, job.attempts.get(&id)?);
    out_so_far(job, id)?;
    let angles: Vec<f64> = tries.sums.iter().map(|(p, _)| check.angle_deg(*p)).collect();
    let length = |(_, sum): &(u32, i64)| Length::from_picometres(*sum / tries.parts);
    let lengths: Vec<Length> = tries.sums.iter().map(length).collect();
    let u = reading(check, attempt).whole().u();
    let index =
        judgement::wild_touch(&angles, &lengths, check.half_width(), (u, check.traps.wild))?;
    tries.sums.get(index).map(|(position, _)| *position)
}

/// The position whose several touches lie farthest apart, and that nobody was asked for yet.
fn next_apart(check: &Check, attempt: &Attempt) -> Option<u32> {
    let put = |position: u32| attempt.put.contains(&Question::Touch(position));
    let waits = |position: u32| attempt.asked == Some(Question::Touch(position));
    let apart = repeats::apart(check, attempt).into_iter().map(|one| one.position);
    apart.into_iter().find(|position| !put(*position) || waits(*position))
}

impl Tries<'_> {
    /// The touch without which a figure over its limit T is at most T − U.
    fn saved_without(&self, job: &Job, id: Seq, verdict: Option<&Verdict>) -> Option<u32> {
        // Fewer positions show no shape that one of them could stand off from.
        const FEWEST: usize = 5;
        // A verdict on this try alone says it already.
        let judged;
        let alone = verdict.filter(|one| one.tries == 1);
        let (value, uncertainty, limits, figures) = if let Some(whole) = alone {
            (whole.value, whole.uncertainty, whole.limits, &whole.figures)
        } else {
            judged = characteristic(job, id, self);
            let uncertainty = judged.expanded().map(|expanded| expanded.uncertainty);
            (judged.value, uncertainty, judged.limits, &judged.figures)
        };
        let Some(Limits::Max(max)) = limits else { return None };
        let limit = Figure::from(max);
        let room = limit - Figure::from(uncertainty?);
        if value? <= limit || self.sums.len() < FEWEST {
            return None;
        }
        let beside = InJob { job, id, tries: self };
        let without = |position: u32| self.check.measures.figure(&self.without(position), &beside);
        let saves = |position: &u32| without(*position).is_some_and(|value| value <= room);
        self.at_the_edge(figures).into_iter().find(saves)
    }

    /// The touches that make the figure as large as it is.
    fn at_the_edge(&self, figures: &Figures) -> Vec<u32> {
        let mut edge: Vec<u32> =
            figures.contacts_upper.iter().chain(&figures.contacts_lower).copied().collect();
        if edge.is_empty() {
            let highest = self.sums.iter().max_by_key(|(at, sum)| (*sum, std::cmp::Reverse(*at)));
            let lowest = self.sums.iter().min_by_key(|(at, sum)| (*sum, *at));
            edge.extend(highest.into_iter().chain(lowest).map(|(at, _)| *at));
        }
        edge
    }
}

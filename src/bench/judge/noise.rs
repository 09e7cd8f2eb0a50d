//! What noise does to a figure: how much of it averages out, how much it adds to a range, and how far off
//! the surface was when it was touched again at the end.

use judgement::{Expanded, Known, Limits, Part, Reason, Rule};
use quantity::{Figure, Length};

use crate::judge::drift;
use crate::judge::returns::{closure_difference, closure_limit, master_limit, zero_walk};
use crate::judge::tries::Tries;
use crate::plan::{Check, Drifted, Judged};
use crate::state::Attempt;

/// Noise makes a range too large: by the guarded rule the range fails only where it is over without the
/// share of the noise too.
pub(super) fn near_noise(
    judged: &Judged,
    expanded: Option<Expanded>,
    rule: Rule,
) -> Option<Reason> {
    let Some(Limits::Max(max)) = judged.limits else { return None };
    let ((value, expanded), high) = judged.value.zip(expanded).zip(judged.reads_high)?;
    let least = Figure::from(max) + Figure::from(expanded.uncertainty);
    let guarded = rule == Rule::Guarded;
    (guarded && value > least && value - Figure::from(high) <= least).then_some(Reason::NearNoise)
}

/// How far off an attempt was at the second touch of position 0, as a share of the uncertainty of a
/// figure of a surface: |closure|/√3, or the limit/√3 where a due closing touch is missing. It counts
/// whether or not a question was asked about it. The two touches on the master show the same drift: where
/// they are further apart, their difference counts instead. A length is the exception, because its zero
/// walks along a line with a share of its own.
///
/// Where an even drift was taken out, it is nothing: the drift has a share of its own. A touch of position 0
/// in the middle that is further off than the one at the end counts in its place.
pub(super) fn came_back(check: &Check, attempt: &Attempt) -> Part {
    if !check.traits().sizes && drift::taken_out(check, attempt).is_some() {
        return Part::stated(Length::ZERO);
    }
    let closure = closure_difference(check, attempt);
    let walk = zero_walk(attempt).filter(|_| !check.traits().sizes);
    let far = |off: &Length| off.picometres().unsigned_abs();
    let middle = drift::middle_off(attempt);
    let farthest =
        [closure, walk, middle].into_iter().flatten().max_by_key(far).unwrap_or_default();
    let seen = Part::within(farthest, Known::Stated);
    let due = check.closure && !attempt.skipped.contains_key(&0) && attempt.watched().is_none();
    if closure.is_some() || !due {
        return seen;
    }
    let limit = closure_limit(check, attempt);
    let share = Part::within(limit.of_the_noise(), limit.scatter.known);
    Part { freedom: limit.scatter.freedom, ..share }.larger(seen)
}

/// The even drift that is taken out of an attempt, with where its positions lie on the line. That of a
/// length is part of its zero.
pub(super) fn drifted(check: &Check, attempt: &Attempt) -> Option<Drifted> {
    let line = drift::taken_out(check, attempt).filter(|_| !check.traits().sizes)?;
    let place = |at: u32| Some((at, drift::place(&line.order, attempt.at(at)?.id)));
    Some(Drifted {
        far: line.drift.far(),
        minutes: line.minutes,
        slope: line.drift.slope(),
        bend: line.drift.bend(),
        places: (0..check.total()).filter_map(place).collect(),
    })
}

impl Tries<'_> {
    /// How far apart two touches on the master may be from noise alone, in the worst of the tries.
    pub(super) fn noise_of_a_touch(&self) -> Length {
        let each = self.together.iter().map(|one| master_limit(self.check, one).of_the_noise());
        each.max().unwrap_or(Length::ZERO)
    }
}

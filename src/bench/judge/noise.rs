//! What noise does to a figure: how much of it averages, how much too large it makes a range, and how far
//! off a surface was when it was come back to.

use judgement::{Known, Limits, Part, Reason, Rule};
use quantity::{Figure, Length};

use crate::fact::row::State;
use crate::judge::tries::Tries;
use crate::judge::{closure_difference, closure_limit, reading, zero_walk};
use crate::plan::{Check, Judged, Taps, thousandths};
use crate::state::Attempt;

/// A range reads high: by the guarded rule it fails only where it does without what noise alone adds.
pub(super) fn near_noise(judged: &Judged, rule: Rule) -> Option<Reason> {
    let Some(Limits::Max(max)) = judged.limits else { return None };
    let ((value, expanded), high) = judged.value.zip(judged.expanded).zip(judged.reads_high)?;
    let least = Figure::from(max) + Figure::from(expanded.uncertainty);
    let guarded = rule == Rule::Guarded;
    (guarded && value > least && value - Figure::from(high) <= least).then_some(Reason::NearNoise)
}

/// How far an attempt was off when it came back to position 0, as a share of the uncertainty of what it
/// says of a surface: |closure|/√3; without a closing touch where one is due, the limit/√3. It counts
/// whether or not anybody was asked about it. The master shows the same drift: where it came back more
/// different, that counts instead, but of a length, whose zero walks along a line with a share of its own.
pub(super) fn came_back(check: &Check, attempt: &Attempt) -> Part {
    let closure = closure_difference(check, attempt);
    let walk = zero_walk(attempt).filter(|_| !check.traits().sizes);
    let far = |off: &Length| off.picometres().unsigned_abs();
    let farthest = [closure, walk].into_iter().flatten().max_by_key(far).unwrap_or_default();
    let seen = Part::within(farthest, Known::Stated);
    let due = check.closure && !attempt.skipped.contains_key(&0) && attempt.watched().is_none();
    if closure.is_some() || !due {
        return seen;
    }
    let limit = closure_limit(check, attempt);
    let share = Part::within(limit.of_the_noise(), limit.scatter.known);
    Part { freedom: limit.scatter.freedom, ..share }.larger(seen)
}

impl Tries<'_> {
    /// How far the same spot may come back different by noise: in the worst of the tries.
    pub(super) fn noise_of_a_touch(&self) -> Length {
        let each = self.together.iter().map(|one| closure_limit(self.check, one).of_the_noise());
        each.max().unwrap_or(Length::ZERO)
    }
}

/// Whether two touches on one spot are so far apart that one of them is a slip: more than 3·√2·s.
pub(crate) fn is_a_slip(check: &Check, attempt: &Attempt, off: Length) -> bool {
    let off = u128::from(off.picometres().unsigned_abs()).saturating_pow(2);
    off > reading(check, attempt).scatter().square.saturating_mul(18)
}

/// How far a reading at a tap of the index mark scatters: as any touch there, and by what the surface
/// rises while the tap is early or late, at most half the range a radian.
pub(super) fn at_a_tap(attempt: &Attempt, scatter: Part) -> Part {
    let lengths = || attempt.in_state(State::Placed).map(|one| one.value.length.picometres());
    let range = lengths().max().zip(lengths().min()).map_or(0, |(high, low)| high - low);
    let angle = attempt.taps().map_or(0.0, Taps::tap_deg).to_radians();
    let rise = thousandths(Figure::new(i128::from(range), 2).to_f64() * angle);
    let rise = rise.map_or(u128::MAX, |rise| rise.ceil().unsigned_abs());
    Part { square: scatter.square.saturating_add(rise.saturating_pow(2)), ..scatter }
}

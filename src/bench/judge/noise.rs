//! What noise does to a figure: how much of it averages, how much too large it makes a range, and how far
//! off a surface was when it was come back to.

use judgement::{Budget, Known, Limits, Part, Reason, Rule};
use quantity::{Figure, Length};

use crate::judge::tries::Tries;
use crate::judge::{Judged, closure_difference, closure_limit, reading, zero_walk};
use crate::plan::Check;
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
    /// The scatter of the mean at a position.
    pub(super) fn scatter(&self) -> Part {
        self.reading().averaged(self.averaged)
    }

    /// How far the same spot may come back different by noise: in the worst of the tries.
    pub(super) fn noise_of_a_touch(&self) -> Length {
        let each = self.together.iter().map(|one| closure_limit(self.check, one).of_the_noise());
        each.max().unwrap_or(Length::ZERO)
    }

    /// How far the mean at a position scatters: all of u where no split is stated.
    pub(super) fn noise(&self) -> Length {
        let reading = self.reading();
        let s = self.scatter();
        if s.square == 0 { reading.scatter().u() } else { s.u() }
    }

    pub(super) fn near_the_ends(&self, s: Length) -> Option<(usize, usize)> {
        let sums: Vec<i64> = self.sums.iter().map(|(_, sum)| *sum).collect();
        near_ends(&sums, s, self.parts)
    }

    /// Adds how far the surface was off when it was come back to: [`with_returns`].
    pub(super) fn with_returns(&self, budget: Budget) -> Budget {
        with_returns(budget, &self.returns)
    }
}

/// Adds how far a surface was off when each try came back to it. Of the mean of several tries that is
/// the mean; they drift one way or the other.
pub(super) fn with_returns(budget: Budget, returns: &[Part]) -> Budget {
    let over = u32::try_from(returns.len()).unwrap_or(u32::MAX).saturating_pow(2);
    returns.iter().fold(budget, |budget, off| budget.with(*off, 1, over))
}

/// How many heights lie within three standard deviations of the highest, and of the lowest.
pub(super) fn near_ends(sums: &[i64], s: Length, parts: i64) -> Option<(usize, usize)> {
    let ends = [*sums.iter().max()?, *sums.iter().min()?];
    let near = i128::from(s.picometres()) * 3 * i128::from(parts);
    let [high, low] = ends.map(|end| {
        let off = |sum: &&i64| (i128::from(**sum) - i128::from(end)).abs() <= near;
        sums.iter().filter(off).count()
    });
    Some((high, low))
}

/// Whether two touches on one spot are so far apart that one of them is a slip: more than 3·√2·s.
pub(crate) fn is_a_slip(check: &Check, attempt: &Attempt, off: Length) -> bool {
    let off = u128::from(off.picometres().unsigned_abs()).saturating_pow(2);
    off > reading(check, attempt).scatter().square.saturating_mul(18)
}

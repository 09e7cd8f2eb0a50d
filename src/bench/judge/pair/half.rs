//! One of the two lengths that a difference is taken from.

use crate::judgement::{self, Closure, Known, Reason, TouchedLength};
use crate::quantity::{Figure, Length, Name, Wall};

use super::super::super::plan::{Check, MasterUse};
use super::super::super::row::{Seq, State};
use super::super::super::state::{Attempt, Job};
use super::super::size::{self, Warm};
use super::super::{closure_difference, combine, reading, reasons, resolution, zero_walk};

/// One length, and all that its part in the difference depends on.
pub(super) struct Half<'a> {
    pub(super) check: &'a Check,
    /// The part's name.
    pub(super) part: &'a Name,
    /// `PART/CHECK`.
    pub(super) target: String,
    attempt: &'a Attempt,
    /// Their ids.
    pub(super) combined: Vec<Seq>,
    /// The tries that are averaged, the newest last.
    tries: Vec<&'a Attempt>,
    /// The mean over its touches, as measured.
    pub(super) length: Figure,
    pub(super) warm: Warm,
    pub(super) touched: TouchedLength,
    /// The uncertainty of its gauge is assumed.
    pub(super) assumed: bool,
    /// What withholds its own verdict.
    reasons: Vec<Reason>,
}

/// Reads a half; otherwise the sentence why there is none.
pub(super) fn half(job: &Job, id: Seq) -> Result<Half<'_>, String> {
    let found = job.attempts.get(&id).and_then(|one| Some((one, job.check_of(one)?)));
    let (attempt, (part, check)) = found.ok_or_else(|| "A length is missing.".to_owned())?;
    let target = size::target(job, attempt.began.check);
    if attempt.open_positions(check) > 0 {
        return Err(format!("{target} has a position without a touch."));
    }
    let together = combine(job, id, attempt, check);
    let of_try = |one: &Seq| job.attempts.get(one).map(AsRef::as_ref);
    let tries: Vec<&Attempt> = together.combined.iter().filter_map(of_try).collect();
    let length = mean(check, &tries).ok_or_else(|| format!("{target} holds no touch."))?;
    let whole = reading(check, attempt).whole();
    let (u, assumed) = (whole.u(), whole.known == Known::Assumed);
    let masters = u32::try_from(masters(check, attempt).len()).unwrap_or(u32::MAX);
    Ok(Half {
        check,
        part: &part.name,
        target,
        attempt,
        tries,
        length,
        warm: size::warm(job, id, check),
        touched: TouchedLength { u, touches: attempt.taken(), masters },
        assumed,
        reasons: reasons(&together),
        combined: together.combined,
    })
}

/// The touches on the master that the zero of a try is taken from, at most the opening and the
/// closing one.
fn masters(check: &Check, attempt: &Attempt) -> Vec<Length> {
    if check.master == MasterUse::None {
        return Vec::new();
    }
    let touches = [attempt.opening(), attempt.closing()].into_iter().flatten();
    // A single touch between two positions would count as both.
    touches.take(attempt.count(State::Master)).collect()
}

/// What a reading of a try is above the size it stands for. A zero that walks evenly stands, at the
/// mean of the touches, at the mean of both ends.
fn zero(check: &Check, attempt: &Attempt) -> Figure {
    let master = Figure::mean(&masters(check, attempt));
    let size = Figure::from(check.master_size.unwrap_or_default());
    master.map_or(Figure::ZERO, |touched| touched - size)
}

/// The mean over the positions of the mean there over the tries, each against its own master.
fn mean(check: &Check, tries: &[&Attempt]) -> Option<Figure> {
    let own = tries.last()?;
    let places: Vec<u32> = (0..check.total()).filter(|p| own.at(*p).is_some()).collect();
    let at = |position: u32| {
        let lengths = lengths_at(check, tries, position);
        let count = i64::try_from(lengths.len()).unwrap_or(i64::MAX).max(1);
        lengths.into_iter().fold(Figure::ZERO, |sum, one| sum + one) / count
    };
    let count = i64::try_from(places.len()).ok().filter(|count| *count > 0)?;
    Some(places.into_iter().map(at).fold(Figure::ZERO, |sum, one| sum + one) / count)
}

fn lengths_at(check: &Check, tries: &[&Attempt], position: u32) -> Vec<Figure> {
    let length = |one: &&Attempt| Some(Figure::from(one.length_at(position)?) - zero(check, one));
    tries.iter().filter_map(length).collect()
}

impl Half<'_> {
    /// What of this half withholds the verdict on the difference, whose tolerance is tighter than
    /// that of a length as a rule: a walk of the zero, or tries that differ, may be nothing to the
    /// one and all to the other.
    pub(super) fn withheld_by(&self, tolerance: Option<Figure>) -> Vec<Reason> {
        // How coarse a gauge may be depends on what is judged.
        let own = self.reasons.iter().filter(|reason| **reason != Reason::GaugeTooCoarse);
        let mut found: Vec<Reason> = own.copied().collect();
        let Some(tolerance) = tolerance else { return found };
        let (u, resolution) = (self.touched.u, resolution(self.attempt));
        let scatter = reading(self.check, self.attempt).scatter();
        let limit = Closure { tolerance, scatter, resolution };
        let open = |off: fn(&Attempt) -> Option<Length>| {
            self.tries.iter().any(|one| off(one).is_some_and(|off| !limit.holds(off)))
        };
        let differ = |position: u32| {
            let lengths = lengths_at(self.check, &self.tries, position);
            let newest = lengths.last().copied().unwrap_or(Figure::ZERO);
            lengths.iter().any(|one| judgement::tries_differ(*one - newest, tolerance, u))
        };
        let also = [
            (judgement::too_coarse(resolution, tolerance), Reason::GaugeTooCoarse),
            (open(closure_difference), Reason::NotClosed),
            (open(zero_walk), Reason::ZeroMoved),
            ((0..self.check.total()).any(differ), Reason::TriesDiffer),
        ];
        found.extend(also.into_iter().filter(|(holds, _)| *holds).map(|(_, reason)| reason));
        found
    }

    /// The size of the master it was held against; `None` where none was touched.
    pub(super) fn against(&self) -> Option<Length> {
        self.check.master_size.filter(|_| self.touched.masters > 0)
    }

    /// The gauge it was touched with.
    pub(super) fn gauge(&self) -> Option<&Name> {
        self.attempt.gauge().map(|gauge| &gauge.name)
    }

    /// The moments of the first and the last touch that counts, of all its tries.
    pub(super) fn touched_between(&self) -> Option<(Wall, Wall)> {
        let touches = || {
            let all = self.tries.iter().flat_map(|one| &one.readings);
            all.filter(|touched| touched.state.counts()).map(|touched| touched.at)
        };
        touches().min().zip(touches().max())
    }

    /// The largest length it may stand for: readings may be mere deviations from a size.
    pub(super) fn largest(&self) -> Length {
        let own = i64::try_from(self.length.abs().ceil()).unwrap_or(i64::MAX);
        let drawn = [self.check.nominal, self.check.master_size];
        drawn.into_iter().flatten().fold(Length::from_picometres(own), Length::max)
    }
}

//! One of the two lengths that a difference is taken from.

use judgement::{self, Closure, Known, Named, Part, Reason, TouchedLength, Walk};
use quantity::{Figure, Length, Name, Wall};

use crate::fact::seq::Seq;
use crate::judge::figure::{InJob, characteristic};
use crate::judge::returns::closure_difference;
use crate::judge::tries::combine;
use crate::judge::zero;
use crate::judge::zero::Zero;
use crate::judge::{judge, reasons, seat_doubted};
use crate::plan::{Check, CheckAt, Other, Warm, caution_of_another};
use crate::state::pairs;
use crate::state::{Attempt, Job};
use crate::words;

/// One length, with everything the difference depends on.
pub(super) struct Half<'a> {
    pub(super) check: &'a Check,
    /// The part's name.
    pub(super) part: &'a Name,
    /// `PART/CHECK`.
    pub(super) target: String,
    attempt: &'a Attempt,
    /// The largest step of its readings.
    step: Length,
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
    /// The cautions of its own verdict.
    cautions: Vec<String>,
    /// What withholds its own verdict.
    reasons: Vec<Reason>,
    /// How far off each try was when it came back to position 0.
    pub(super) returns: Vec<Part>,
    /// What its figure adds beside touches, master and heat.
    pub(super) beside: Vec<Named>,
    /// How far its zero walked.
    pub(super) walk: Walk,
}

/// Reads one of the two lengths; fails with a sentence that says why there is none.
pub(super) fn half(job: &Job, id: Seq) -> Result<Half<'_>, String> {
    let found = job.attempts.get(&id).and_then(|one| Some((one, job.check_of(one)?)));
    let (attempt, (part, check)) = found.ok_or_else(|| "A length is missing.".to_owned())?;
    let target = words::target(part, check);
    if attempt.open_touches(check) > 0 {
        return Err(format!("{target} has a position without a touch."));
    }
    let tries = combine(job, id, attempt, check);
    let own = judge(job, id);
    let mut reasons = reasons(&tries);
    reasons.extend(seat_doubted(job, id));
    let itself = own.iter().flat_map(|own| &own.reasons);
    reasons.extend(itself.filter(|one| matches!(one, Reason::Warm | Reason::DoesNotComeBack)));
    let length = tries.mean().ok_or_else(|| format!("{target} holds no touch."))?;
    let (reading, step) = (tries.reading, tries.resolution);
    let positions: Vec<u32> = tries.means().iter().map(|(position, _)| *position).collect();
    let count = u32::try_from(positions.len()).unwrap_or(u32::MAX);
    let noise = tries.noise_of_a_touch();
    let stand = zero::stand(check, &tries.together, &positions, noise);
    Ok(Half {
        check,
        part: &part.name,
        target,
        attempt,
        step,
        length,
        warm: check.warm(&InJob { job, id, tries: &tries }),
        touched: TouchedLength {
            reading,
            // Each position counts with the number of touches at the position touched least.
            touches: tries.averaged.saturating_mul(count),
            masters: stand.masters,
            zero: stand.doubt,
            master: (stand.masters > 0).then(|| check.master_u()),
        },
        walk: stand.walk,
        cautions: own.map_or_else(Vec::new, |verdict| verdict.cautions),
        assumed: reading.whole().known == Known::Assumed,
        reasons,
        returns: tries.returns.clone(),
        beside: characteristic(job, id, &tries).beside,
        combined: tries.combined,
        tries: tries.together,
    })
}

/// What another check came to for the attempt that uses it.
pub(in crate::judge) fn other(
    job: &Job,
    (user, at): (Seq, CheckAt),
    tolerance: Option<Figure>,
) -> Result<Other<'_>, String> {
    let found = pairs::used(job, at, user).ok_or_else(|| {
        let named = job.opened.plan.plan.at(at);
        let name = named.map_or_else(String::new, |(part, check)| words::target(part, check));
        format!("{name} is not measured.")
    })?;
    let half = half(job, found)?;
    let reasons = half.withheld_by(tolerance);
    let heat = half.check.heat(&half.warm, half.length);
    Ok(Other {
        part: half.part,
        check: half.check,
        measured: half.length,
        touched: half.touched,
        heat,
        walk: half.walk,
        step: half.step,
        beside: half.beside,
        reasons,
        returns: half.returns,
        warm: half.warm,
        cautions: half.cautions,
        attempts: half.combined.iter().map(|id| id.0).collect(),
        name: half.target,
    })
}

/// The lengths of the touches at a position, above the zero of their try.
fn lengths_at(check: &Check, tries: &[&Attempt], position: u32) -> Vec<Figure> {
    let size = |one: &Attempt| Zero::of_try(check, one).size_at(one, position);
    let length = |one: &&Attempt| size(one).map(Figure::from);
    tries.iter().filter_map(length).collect()
}

impl Half<'_> {
    /// The reasons of this length that withhold the verdict on the difference. The tolerance of a
    /// difference is usually tighter than that of a length: a walk of the zero, or tries that differ, may
    /// mean nothing for the length and a great deal for the difference.
    pub(super) fn withheld_by(&self, tolerance: Option<Figure>) -> Vec<Reason> {
        // Whether a gauge is too coarse depends on the tolerance that is judged.
        let own = self.reasons.iter().filter(|reason| **reason != Reason::GaugeTooCoarse);
        let mut found: Vec<Reason> = own.copied().collect();
        let Some(tolerance) = tolerance else { return found };
        let (reading, resolution) = (&self.touched.reading, self.step);
        let (u, scatter) = (reading.whole().u(), reading.scatter());
        let traps = &self.check.traps;
        let limit = Closure { tolerance, scatter, resolution, times: traps.returns };
        let off = |one: &&Attempt| closure_difference(self.check, one);
        let open = self.tries.iter().filter_map(off).any(|off| !limit.holds(off));
        let differ = |position: u32| {
            let lengths = lengths_at(self.check, &self.tries, position);
            let newest = lengths.last().copied().unwrap_or(Figure::ZERO);
            lengths
                .iter()
                .any(|one| judgement::tries_differ(*one - newest, tolerance, (u, traps.tries)))
        };
        let also = [
            (judgement::too_coarse(resolution, tolerance), Reason::GaugeTooCoarse),
            (open, Reason::NotClosed),
            ((0..self.check.total()).any(differ), Reason::TriesDiffer),
        ];
        found.extend(also.into_iter().filter(|(holds, _)| *holds).map(|(_, reason)| reason));
        found
    }

    /// The cautions of its own verdict: they hold for the pair too.
    pub(super) fn cautions(&self) -> Vec<String> {
        let of_it = |caution: &String| caution_of_another(&self.target, caution);
        self.cautions.iter().map(of_it).collect()
    }

    /// The size of the master it was compared with; `None` where none was touched.
    pub(super) fn against(&self) -> Option<Length> {
        self.check.master_size.filter(|_| self.touched.masters > 0)
    }

    /// The smallest step of its readings.
    pub(super) const fn step(&self) -> Length {
        self.step
    }

    /// The gauge it was touched with.
    pub(super) fn gauge(&self) -> Option<&Name> {
        self.attempt.gauge().map(|gauge| &gauge.name)
    }

    /// The times of the first and the last touch that counts, over all its tries.
    pub(super) fn touched_between(&self) -> Option<(Wall, Wall)> {
        let touches = || {
            let all = self.tries.iter().flat_map(|one| &one.readings);
            all.filter(|touched| touched.state.counts()).map(|touched| touched.at)
        };
        touches().min().zip(touches().max())
    }

    /// The full length: readings may be deviations from a size.
    pub(super) fn largest(&self) -> Length {
        self.check.whole_length(self.length)
    }
}

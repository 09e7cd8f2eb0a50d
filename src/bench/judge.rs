//! The verdict on an attempt, computed from its readings, its plan and what it was pinned to.

use crate::geometry::{self, Point, Zone};
use crate::judgement::{self, Closure, Decision, Judged as Kind, Limits, Reason, Word};
use crate::quantity::{Figure, Length};

use super::plan::{Check, MasterUse, Measures};
use super::row::{Ending, Question, Seq};
use super::state::{Attempt, Job};
use super::verdict::{Figures, Verdict};
use super::words;

/// The tries that are judged together, and the sums of their readings at each position.
struct Tries<'a> {
    check: &'a Check,
    attempt: &'a Attempt,
    count: i64,
    /// `sums` are in picometres divided by this.
    parts: i64,
    /// Position and the mean of the lengths there over the tries that touched it, times `parts`;
    /// a length against a master is the size, each try against its own touch on the master.
    sums: Vec<(u32, i64)>,
    /// The tries differ too much to be the same metal.
    differ: bool,
}

/// What one characteristic comes to.
struct Judged {
    value: Option<Figure>,
    uncertainty: Option<Length>,
    figures: Figures,
}

/// The verdict that the present readings of an attempt give; `None` when the job has no such
/// attempt. The same rows always give the same verdict.
#[must_use]
pub fn judge(job: &Job, id: Seq) -> Option<Verdict> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    let tries = combine(job, id, attempt, check);
    let (u, assumed) = reading_uncertainty(attempt);
    let judged = match check.measures {
        Measures::Length => length(&tries, u),
        Measures::Parallelism | Measures::ThicknessVariation => range(&tries, u),
        Measures::Flatness => flatness(&tries, u),
    };
    let rules = judged
        .value
        .zip(judged.uncertainty)
        .map(|(value, expanded)| judgement::decide(value, expanded, check.limits));
    let reasons = reasons(&tries);
    let incomplete = attempt.ending == Some(Ending::Stopped) || attempt.open_positions(check) > 0;
    let rule = attempt.began.pin.rule;
    let word = match rules {
        _ if incomplete => Word::Incomplete,
        Some(decision) => judgement::withheld(decision.by(rule), &reasons),
        None => Word::Undecided,
    };
    let mut verdict = Verdict {
        attempt: id,
        tries: u32::try_from(tries.count).unwrap_or(u32::MAX),
        value: judged.value,
        unit: check.unit,
        limits: check.limits,
        uncertainty: judged.uncertainty,
        assumed,
        rule,
        word,
        simple: rules.map(|rules: Decision| rules.simple),
        guarded: rules.map(|rules| rules.guarded),
        positions: check.total(),
        taken: attempt.taken(),
        skipped: u32::try_from(attempt.skipped.len()).unwrap_or(u32::MAX),
        figures: judged.figures,
        advice: Vec::new(),
        reasons,
    };
    verdict.advice = words::advice(&verdict, check, attempt);
    Some(verdict)
}

/// The standard uncertainty of one reading, and whether it is only assumed from the resolution. A
/// dial that is read by eye is no better than its graduation.
pub(super) fn reading_uncertainty(attempt: &Attempt) -> (Length, bool) {
    let assumed = judgement::assumed_reading(resolution(attempt));
    match attempt.began.pin.gauge.uncertainty {
        Some(stated) if stated >= assumed => (stated, false),
        Some(stated) if attempt.keyed_step().is_none() => (stated, false),
        Some(_) | None => (assumed, true),
    }
}

/// The step of the readings: the gauge's, or the coarser one in which they were keyed in.
fn resolution(attempt: &Attempt) -> Length {
    let own = attempt.began.pin.gauge.resolution.length;
    attempt.keyed_step().map_or(own, |keyed| keyed.max(own))
}

/// The spread of touches on one spot that the noise floor is built on.
fn spread(attempt: &Attempt) -> Length {
    let gauge = &attempt.began.pin.gauge;
    judgement::spread(gauge.repeatability, resolution(attempt))
}

/// The earlier tries on the same metal that an attempt is combined with, oldest first.
pub(super) fn earlier_tries(job: &Job, id: Seq) -> Vec<Seq> {
    use super::row::AttemptReason::{Again, Cleaned, First, Ground};
    let mut group = Vec::new();
    let Some(attempt) = job.attempts.get(&id) else { return group };
    for (other, earlier) in job.attempts_at(attempt.began.check) {
        match earlier.began.reason {
            First | Ground | Cleaned => group.clear(),
            Again => {}
        }
        if other == id {
            return group;
        }
        let whole = job.check_of(earlier).is_some_and(|(_, check)| {
            earlier.ending == Some(Ending::Complete)
                && earlier.open_positions(check) == 0
                && closed(check, earlier)
        });
        if whole {
            group.push(other);
        }
    }
    group
}

fn combine<'a>(job: &'a Job, id: Seq, attempt: &'a Attempt, check: &'a Check) -> Tries<'a> {
    let (u, _) = reading_uncertainty(attempt);
    // An incomplete attempt is never combined.
    let stopped = attempt.ending == Some(Ending::Stopped);
    let earlier: Vec<&Attempt> = earlier_tries(job, id)
        .iter()
        .filter(|_| !stopped)
        .filter_map(|other| job.attempts.get(other).map(AsRef::as_ref))
        .collect();
    let zeros: Vec<i64> = earlier.iter().map(|one| zero(check, one)).collect();
    let own_zero = zero(check, attempt);
    let mut found = Vec::new();
    let mut differ = false;
    for position in 0..check.total() {
        let Some(own) = attempt.length_at(position) else { continue };
        let own = own.picometres() - own_zero;
        let (mut sum, mut many) = (own, 1);
        for (one, zero) in earlier.iter().zip(&zeros) {
            let Some(other) = one.length_at(position) else { continue };
            let other = other.picometres() - zero;
            let difference = Figure::new(i128::from(other) - i128::from(own), 1);
            differ |= judgement::tries_differ(difference, check.limits.half_width(), u);
            sum += other;
            many += 1;
        }
        found.push((position, sum, many));
    }
    // The least common multiple, so that every mean is whole.
    let parts = found.iter().fold(1_i64, |all, &(.., many)| {
        let rest = Figure::new(i128::from(all), i128::from(many)).denominator();
        all.saturating_mul(i64::try_from(rest).unwrap_or(1))
    });
    let sums = found.iter().map(|&(at, sum, many)| (at, sum * (parts / many))).collect();
    let count = i64::try_from(earlier.len() + 1).unwrap_or(i64::MAX);
    Tries { check, attempt, count, parts, sums, differ }
}

/// What a reading of an attempt is above the size it stands for: the opening touch on the master
/// minus the size of the master; nothing without one.
fn zero(check: &Check, attempt: &Attempt) -> i64 {
    let master = attempt
        .opening()
        .filter(|_| check.measures == Measures::Length && check.master != MasterUse::None);
    master.zip(check.master_size).map_or(0, |(touch, size)| touch.picometres() - size.picometres())
}

impl Tries<'_> {
    /// Divides a figure of sums by what they are multiples of.
    fn mean_of(&self, figure: Figure) -> Figure {
        figure / self.parts
    }

    fn max_minus_min(&self) -> Option<Figure> {
        let max = self.sums.iter().map(|(_, sum)| *sum).max()?;
        let min = self.sums.iter().map(|(_, sum)| *sum).min()?;
        Some(self.mean_of(Figure::new(i128::from(max) - i128::from(min), 1)))
    }

    fn mean(&self) -> Option<Figure> {
        let count = i64::try_from(self.sums.len()).ok().filter(|&count| count > 0)?;
        let sum: i128 = self.sums.iter().map(|(_, sum)| i128::from(*sum)).sum();
        Some(self.mean_of(Figure::new(sum, 1)) / count)
    }

    fn points(&self) -> Vec<Point> {
        let place = |&(position, height): &(u32, i64)| {
            Some(Point { at: self.check.place(position)?, height })
        };
        self.sums.iter().filter_map(place).collect()
    }

    fn positions(&self, indices: &[usize]) -> Vec<u32> {
        indices.iter().filter_map(|&index| self.sums.get(index)).map(|(p, _)| *p).collect()
    }
}

fn length(tries: &Tries, u: Length) -> Judged {
    let mastered = tries.attempt.opening();
    let value = tries.mean();
    let subtracts = tries.check.master != MasterUse::None && mastered.is_some();
    let figures = Figures {
        max_minus_min: tries.max_minus_min(),
        mean: value,
        closure: closure_difference(tries.attempt).map(Figure::from),
        ..Figures::default()
    };
    Judged { value, uncertainty: Some(judgement::of_length(u, subtracts)), figures }
}

fn range(tries: &Tries, u: Length) -> Judged {
    let value = tries.max_minus_min().filter(|_| tries.sums.len() > 1);
    let mut figures = plane_figures(tries, u);
    figures.noise_floor =
        judgement::noise_floor(Kind::MaxMinusMin, tries.sums.len(), spread(tries.attempt));
    Judged { value, uncertainty: Some(judgement::of_range(u)), figures }
}

fn flatness(tries: &Tries, u: Length) -> Judged {
    let mut figures = plane_figures(tries, u);
    figures.noise_floor =
        judgement::noise_floor(Kind::MinimumZone, tries.sums.len(), spread(tries.attempt));
    let Some(zone) = zone(tries) else { return Judged { value: None, uncertainty: None, figures } };
    let value = tries.mean_of(zone.width);
    figures.minimum_zone = Some(value);
    figures.contacts_upper = tries.positions(&zone.upper);
    figures.contacts_lower = tries.positions(&zone.lower);
    let uncertainty = judgement::of_zone(u, zone.weights_squared);
    Judged { value: Some(value), uncertainty: Some(uncertainty), figures }
}

/// The minimum zone; fewer than four points lie in one plane whatever the face is like.
fn zone(tries: &Tries) -> Option<Zone> {
    let points = tries.points();
    if points.len() < 4 { None } else { geometry::minimum_zone(&points).ok() }
}

/// Everything a least-squares plane tells, where the positions can carry one.
fn plane_figures(tries: &Tries, u: Length) -> Figures {
    let mut figures = Figures {
        max_minus_min: tries.max_minus_min(),
        mean: tries.mean(),
        closure: closure_difference(tries.attempt).map(Figure::from),
        ..Figures::default()
    };
    let points = tries.points();
    let angles: Vec<f64> = tries.sums.iter().map(|(p, _)| tries.check.angle_deg(*p)).collect();
    if points.len() < 3 || geometry::widest_gap_deg(&angles) >= 180.0 {
        return figures;
    }
    let Ok(plane) = geometry::least_squares(&points) else { return figures };
    let widest = tries.check.radii.iter().max().copied().unwrap_or_default();
    let diameter_nm = 2.0 * Figure::from(widest).to_f64() / 1000.0;
    let tilt = plane.tilt_over(diameter_nm) / Figure::new(i128::from(tries.parts), 1).to_f64();
    figures.least_squares = thousandths(plane.width()).map(|width| tries.mean_of(width));
    figures.tilt = thousandths(tilt);
    // A picometre over a nanometre is a thousandth; a microradian is a millionth.
    figures.slope_urad = (diameter_nm > 0.0).then(|| rounded(tilt / diameter_nm * 1000.0));
    if tilt > 0.0 {
        figures.high_side_deg = Some(rounded(plane.high_side_deg()) % 360.0);
        // The formula is for touches that lie on the diameter of the tilt; on several radii they
        // lie nearer, on the root mean square of them.
        let at_touches =
            tilt * root_mean_square(&tries.check.radii) / Figure::from(widest).to_f64();
        let known = judgement::high_side_u_deg(points.len(), u, at_touches);
        figures.high_side_u_deg = Some(rounded(known));
    }
    figures
}

/// The root mean square of some lengths, picometres.
fn root_mean_square(lengths: &[Length]) -> f64 {
    let square = |length: &Length| Figure::from(*length).to_f64().powi(2);
    let count = u32::try_from(lengths.len()).unwrap_or(u32::MAX);
    (lengths.iter().map(square).sum::<f64>() / f64::from(count.max(1))).sqrt()
}

/// Closure minus position 0.
pub(super) fn closure_difference(attempt: &Attempt) -> Option<Length> {
    attempt.closure()?.checked_sub(attempt.length_at(0)?)
}

/// Closing minus opening master touch.
pub(super) fn zero_walk(attempt: &Attempt) -> Option<Length> {
    attempt.closing()?.checked_sub(attempt.opening()?)
}

/// The limit for a touch on the same spot again, with this gauge and tolerance.
pub(super) fn closure_limit(check: &Check, attempt: &Attempt) -> Closure {
    let (u, _) = reading_uncertainty(attempt);
    let resolution = resolution(attempt);
    Closure { tolerance: check.limits.half_width(), u, resolution }
}

/// Whether an attempt closed; one without a closure is taken as closed.
fn closed(check: &Check, attempt: &Attempt) -> bool {
    let limit = closure_limit(check, attempt);
    let holds = |off: Option<Length>| off.is_none_or(|off| limit.holds(off));
    !attempt.closure_taken_back()
        && !attempt.closing_missing(check)
        && holds(closure_difference(attempt))
        && holds(zero_walk(attempt))
}

fn reasons(tries: &Tries) -> Vec<Reason> {
    let (check, attempt) = (tries.check, tries.attempt);
    let pin = &attempt.began.pin;
    let mut reasons = Vec::new();
    let mut add = |holds: bool, reason| {
        if holds {
            reasons.push(reason);
        }
    };
    let limit = closure_limit(check, attempt);
    let open = |off: Option<Length>| off.is_some_and(|off| !limit.holds(off));
    let face = check.measures != Measures::Length;
    add(face && tries.sums.len() < 7, Reason::TooFewPositions);
    let coarse = judgement::too_coarse(resolution(attempt), check.limits.half_width());
    add(coarse, Reason::GaugeTooCoarse);
    let lost = attempt.closure_taken_back();
    add(lost || open(closure_difference(attempt)), Reason::NotClosed);
    add(open(zero_walk(attempt)), Reason::ZeroMoved);
    let masterless = check.master != MasterUse::None && attempt.opening().is_none();
    // Before the touch at 0 that is asked for, the master is not due yet.
    let due = attempt.asked != Some(Question::Closure) && !open(closure_difference(attempt));
    let unclosed = due && attempt.closing_missing(check);
    add((masterless && !attempt.from_file()) || unclosed, Reason::NotMastered);
    let due = pin.gauge.calibration_due.is_some_and(|due| attempt.began_at >= due);
    add(due, Reason::Overdue);
    add(tries.differ, Reason::TriesDiffer);
    reasons
}

/// A float as an exact figure, to a thousandth of a picometre: figures of this kind are shown and
/// stored, never judged.
#[expect(clippy::cast_possible_truncation, reason = "far below 2^127; NaN becomes None")]
fn thousandths(picometres: f64) -> Option<Figure> {
    picometres.is_finite().then(|| Figure::new((picometres * 1000.0).round() as i128, 1000))
}

/// To a thousandth, for angles and slopes that are shown.
fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// The limit a value is out of already, for the hint before the end: only figures that can grow
/// but never shrink with more touches.
pub(super) fn out_so_far(job: &Job, id: Seq) -> Option<Figure> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    let Limits::Max(max) = check.limits else { return None };
    let tries = Tries {
        check,
        attempt,
        count: 1,
        parts: 1,
        sums: own_heights(check, attempt),
        differ: false,
    };
    let value = match check.measures {
        Measures::Length => None,
        Measures::Parallelism | Measures::ThicknessVariation => tries.max_minus_min(),
        Measures::Flatness => zone(&tries).map(|zone| zone.width),
    }?;
    (value > Figure::from(max)).then_some(value)
}

fn own_heights(check: &Check, attempt: &Attempt) -> Vec<(u32, i64)> {
    let height = |position| Some((position, attempt.length_at(position)?.picometres()));
    (0..check.total()).filter_map(height).collect()
}

/// The position of a touch that stands off from all others, on a single circle.
pub(super) fn wild_position(check: &Check, attempt: &Attempt) -> Option<u32> {
    if check.measures == Measures::Length || check.radii.len() > 1 {
        return None;
    }
    let heights = own_heights(check, attempt);
    let angles: Vec<f64> = heights.iter().map(|(p, _)| check.angle_deg(*p)).collect();
    let lengths: Vec<Length> =
        heights.iter().map(|(_, height)| Length::from_picometres(*height)).collect();
    let (u, _) = reading_uncertainty(attempt);
    let index = judgement::wild_touch(&angles, &lengths, check.limits.half_width(), u)?;
    heights.get(index).map(|(position, _)| *position)
}

/// Whether nearly all of the range is a tilt, so that dirt and a wedge look the same.
pub(super) fn mostly_tilt(verdict: &Verdict) -> bool {
    let figures = &verdict.figures;
    let Some((flat, range)) = figures.least_squares.zip(figures.max_minus_min) else {
        return false;
    };
    let share = judgement::plane_share(flat.to_f64(), range.to_f64());
    share.is_some_and(judgement::mostly_tilt)
}

//! The verdict on an attempt, computed from its readings, its plan and what it was pinned to.

mod bar;
mod face;
mod metal;
mod pair;
mod size;
mod taper;
mod turn;

use crate::geometry::Point;
use crate::judgement::{self, Closure, Decision, Doubt, Expanded, Known, Limits, Reason, Word};
use crate::quantity::{Figure, Length};

use super::metal::Metal;
use super::plan::{Check, Detail, MasterUse, Measures};
use super::row::{Ending, Seq};
use super::setup::GaugeSetup;
use super::state::{Attempt, Job};
use super::verdict::{Figures, Verdict};
use super::words;

pub(super) use self::metal::{value_before_the_wheel, went_past_flat};
pub(super) use self::size::far_off as far_off_size;

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
#[derive(Debug, Default)]
struct Judged {
    value: Option<Figure>,
    expanded: Option<Expanded>,
    /// What the value is held against.
    limits: Option<Limits>,
    figures: Figures,
    /// Reasons of its own that withhold the verdict.
    reasons: Vec<Reason>,
    /// Sentences of its own for the person.
    says: Vec<String>,
}

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
    let mut reasons = reasons(&tries);
    reasons.extend(judged.reasons);
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
        figures: judged.figures,
        advice: Vec::new(),
        reasons,
    };
    verdict.advice = judged.says;
    verdict.advice.extend(words::advice(&verdict, check, attempt));
    metal::add(job, id, &tries, &mut verdict);
    Some(verdict)
}

fn characteristic(job: &Job, id: Seq, tries: &Tries) -> Judged {
    let reading = reading(tries.check, tries.attempt);
    match tries.check.measures {
        Measures::Length => size::length(job, id, tries, reading),
        Measures::Parallelism | Measures::ThicknessVariation => face::range(tries, reading),
        Measures::Flatness => face::flatness(tries, reading),
        Measures::Runout => turn::runout(tries),
        Measures::BarRunout => bar::runout(tries),
        Measures::Taper => taper::taper(tries, reading),
        Measures::Difference => pair::difference(job, id, tries.check),
        Measures::Confirm | Measures::Entry => Judged::default(),
    }
}

/// What a chosen answer says; nothing where none of them is the good one.
fn answered(check: &Check, attempt: &Attempt) -> Option<Decision> {
    let (Detail::Confirm(ask), Some(answer)) = (&check.detail, &attempt.answer) else {
        return None;
    };
    let good = ask.good.contains(answer);
    let word = if good { Word::Conforms } else { Word::DoesNotConform };
    (!ask.good.is_empty()).then_some(Decision { simple: word, guarded: word })
}

/// What the uncertainty of one reading is made of. A dial that is read by eye is no better than its
/// graduation.
pub(super) fn reading(check: &Check, attempt: &Attempt) -> Doubt {
    let stated = attempt.gauge().map(GaugeSetup::stated).unwrap_or_default();
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    let reading = Doubt::of(stated, own, check.assumed_rest());
    attempt.keyed_step().map_or(reading, |step| reading.by_eye(step))
}

/// The step of the readings: the gauge's, or the coarser one in which they were keyed in.
fn resolution(attempt: &Attempt) -> Length {
    let own = attempt.gauge().map_or(Length::ZERO, |gauge| gauge.resolution.length);
    attempt.keyed_step().map_or(own, |keyed| keyed.max(own))
}

/// The spread of touches on one spot that the noise floor is built on.
fn spread(attempt: &Attempt) -> Length {
    let repeatability = attempt.gauge().and_then(|gauge| gauge.repeatability);
    judgement::spread(repeatability, resolution(attempt))
}

/// The earlier tries on the same metal that an attempt is combined with, oldest first.
pub(super) fn earlier_tries(job: &Job, id: Seq) -> Vec<Seq> {
    use super::row::AttemptReason::{Again, Cleaned, First, Ground};
    let mut group: Vec<Seq> = Vec::new();
    let Some(attempt) = job.attempts.get(&id) else { return group };
    let at = attempt.began.check;
    let metal = Metal::of(job);
    let since = attempt.readings.first().map_or(id, |touched| touched.id);
    let of_this_piece = |(other, _): &(Seq, _)| job.same_piece(at.part, *other, id);
    for (other, earlier) in job.attempts_at(at).filter(of_this_piece) {
        match earlier.began.reason {
            First | Ground | Cleaned => group.clear(),
            Again => {}
        }
        if other == id {
            // What was measured before a grind elsewhere on the part is other metal, too.
            group.retain(|earlier| !metal.changed(*earlier, since));
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
    let u = reading(check, attempt).whole().u();
    // An incomplete attempt is never combined.
    let stopped = attempt.ending == Some(Ending::Stopped);
    // Samples of two sweeps lie at different places: the newest sweep stands for itself.
    let alone = stopped || check.swept().is_some();
    let earlier: Vec<&Attempt> = earlier_tries(job, id)
        .iter()
        .filter(|_| !alone)
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
            differ |= judgement::tries_differ(difference, check.half_width(), u);
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
/// minus the size of the master; nothing without one. So tries stand on one zero although the gauge
/// was set anew between them.
fn zero(check: &Check, attempt: &Attempt) -> i64 {
    let master = attempt.opening().filter(|_| check.master != MasterUse::None);
    let size = check.master_size.unwrap_or_default();
    master.map_or(0, |touch| touch.picometres() - size.picometres())
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

    /// Touches of all circles of a face together, or on that circle of a turn that has the fewest:
    /// each circle of a turn is judged by itself.
    fn fewest_on_a_circle(&self) -> usize {
        let by_itself = self.check.positions.max(1);
        // Both times round are one circle.
        let rings = match &self.check.detail {
            Detail::Bar(_) => self.check.total() / by_itself,
            Detail::Turn(_) => u32::try_from(self.check.radii.len().max(1)).unwrap_or(u32::MAX),
            Detail::Plain
            | Detail::Length(_)
            | Detail::Pair(_)
            | Detail::Taper(_)
            | Detail::Confirm(_)
            | Detail::Entry(_) => return self.sums.len(),
        };
        let circle = |position: u32| position / by_itself % rings.max(1);
        (0..rings)
            .map(|one| self.sums.iter().filter(|(p, _)| circle(*p) == one).count())
            .min()
            .unwrap_or(0)
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
    let mut scatter = reading(check, attempt).scatter();
    if check.swept().is_some() {
        scatter = turn::at_a_tap(attempt, scatter);
    }
    Closure { tolerance: check.half_width(), scatter, resolution: resolution(attempt) }
}

/// Whether the needle was watched over the whole turn, so that nothing lies between touches.
fn reads_the_whole_turn(check: &Check, attempt: &Attempt) -> bool {
    attempt.watched().is_some() || matches!(&check.detail, Detail::Turn(turn) if turn.total_only)
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
    let mut reasons = Vec::new();
    let mut add = |holds: bool, reason| {
        if holds {
            reasons.push(reason);
        }
    };
    let limit = closure_limit(check, attempt);
    let open = |off: Option<Length>| off.is_some_and(|off| !limit.holds(off));
    if !check.measures.is_touched() {
        return reasons;
    }
    let swept = check.swept().is_some();
    let round = check.measures.goes_round() && !swept && !reads_the_whole_turn(check, attempt);
    add(round && tries.fewest_on_a_circle() < 7, Reason::TooFewPositions);
    let coarse = judgement::too_coarse(resolution(attempt), check.half_width());
    add(coarse, Reason::GaugeTooCoarse);
    // A swept turn that was taken back is not there at all.
    let lost = attempt.closure_taken_back() && !(swept && attempt.taken() == 0);
    add(lost || open(closure_difference(attempt)), Reason::NotClosed);
    add(open(zero_walk(attempt)), Reason::ZeroMoved);
    let masterless = check.master != MasterUse::None && attempt.opening().is_none();
    // Before position 0 has come back well, the master is not due yet.
    let due = !lost && !open(closure_difference(attempt));
    let unclosed = due && attempt.closing_missing(check);
    add((masterless && !attempt.from_file()) || unclosed, Reason::NotMastered);
    let due = attempt.gauge().and_then(|gauge| gauge.calibration_due);
    let due = due.is_some_and(|due| attempt.began_at >= due);
    add(due, Reason::Overdue);
    add(tries.differ, Reason::TriesDiffer);
    reasons
}

/// A float as an exact figure, to a thousandth of a picometre: figures of this kind are shown and
/// stored; of a filtered turn and a split bar they are judged.
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
    let Some(Limits::Max(max)) = check.limits else { return None };
    let tries = Tries {
        check,
        attempt,
        count: 1,
        parts: 1,
        sums: own_heights(check, attempt),
        differ: false,
    };
    let value = match check.measures {
        Measures::Parallelism | Measures::ThicknessVariation => tries.max_minus_min(),
        Measures::Runout => turn::out_so_far(&tries),
        Measures::Flatness => face::zone(&tries).map(|zone| zone.width),
        Measures::Length
        | Measures::BarRunout
        | Measures::Taper
        | Measures::Difference
        | Measures::Confirm
        | Measures::Entry => None,
    }?;
    (value > Figure::from(max)).then_some(value)
}

fn own_heights(check: &Check, attempt: &Attempt) -> Vec<(u32, i64)> {
    let height = |position| Some((position, attempt.length_at(position)?.picometres()));
    (0..check.total()).filter_map(height).collect()
}

/// The position of a touch that stands off from all others, on a single circle.
pub(super) fn wild_position(check: &Check, attempt: &Attempt) -> Option<u32> {
    let bar = check.measures == Measures::BarRunout;
    if !check.measures.goes_round() || bar || check.radii.len() > 1 || check.swept().is_some() {
        return None;
    }
    let heights = own_heights(check, attempt);
    let angles: Vec<f64> = heights.iter().map(|(p, _)| check.angle_deg(*p)).collect();
    let lengths: Vec<Length> =
        heights.iter().map(|(_, height)| Length::from_picometres(*height)).collect();
    let u = reading(check, attempt).whole().u();
    let index = judgement::wild_touch(&angles, &lengths, check.half_width(), u)?;
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

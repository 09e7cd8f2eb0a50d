//! What the wheel has taken off, and what it has to take off: only where set-up, datum and a complete
//! circle without movement allow to say it.

use crate::fact::verdict::{Amount, SaidOf, Saying};
use ::words::Angle;
use std::sync::Arc;

use geometry::{self, Point};
use judgement::{Limits, Word};
use quantity::{Figure, Length};

use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::fact::verdict::{TookOff, Verdict};
use crate::judge::half_turn;
use crate::judge::half_turn::mostly_tilt;
use crate::judge::returns::reads_the_whole_turn;
use crate::judge::tries::is_total;
use crate::judge::tries::{Tries, combine, earlier_tries};
use crate::plan::{self, CheckAt, Holding, MasterUse, thousandths};
use crate::setup::GaugeKind;
use crate::state::{Attempt, Job};
use crate::words::{self, SPARK_OUT};

/// Adds what concerns the wheel to a verdict.
pub(super) fn add(job: &Job, id: Seq, tries: &Tries, verdict: &mut Verdict) {
    if verdict.word == Word::Incomplete {
        return;
    }
    if let Some((took_off, step)) = took_off(job, id, tries) {
        if let Some(by) = grown(&took_off, verdict) {
            // A wheel puts no metal on: how much it took is not known.
            verdict.cautions.push(words::ground_and_yet(tries.check, step, by));
        } else {
            let wheel = words::took_off(tries.check, step, &took_off);
            verdict.advice.extend(wheel.clone());
            verdict.sayings.extend(wheel.map(|text| Saying { of: SaidOf::Wheel, text }));
            verdict.figures.took_off = Some(took_off);
        }
    }
    match wedge(job, id, tries, verdict) {
        Wedge::None => {}
        Wedge::NotYet(why) => verdict.advice.push(why),
        Wedge::Grind => grind(job, id, tries, verdict),
    }
}

/// The attempt before a regrind, with the tries it combines: the newest complete one before the wheel.
fn before_the_wheel(job: &Job, id: Seq) -> Option<Seq> {
    let at = job.attempts.get(&id)?.began.check;
    let first = earlier_tries(job, id).first().copied().unwrap_or(id);
    if job.attempts.get(&first)?.began.reason != AttemptReason::Ground {
        return None;
    }
    let whole = |attempt: &Attempt| {
        let check = job.check_of(attempt).map(|(_, check)| check);
        attempt.ending == Some(Ending::Complete)
            && check.is_some_and(|check| attempt.open_touches(check) == 0)
    };
    let mut earlier = job.attempts_at(at).rev();
    earlier
        .find(|(other, attempt)| {
            *other < first && job.same_piece(at.part, *other, first) && whole(attempt)
        })
        .map(|(other, _)| other)
}

/// What the wheel took, and the coarsest step in which either series was read: it is known no more finely.
fn took_off(job: &Job, id: Seq, tries: &Tries) -> Option<(TookOff, Length)> {
    // On supports the heights of two rounds lie on two planes, so they do not show what the wheel took.
    // A size across a part says nothing of one side of it.
    let across = tries.check.traits().sizes && !tries.check.traits().stands();
    if across || tries.check.swept().is_some() || !tries.check.tilt_is_the_parts() {
        return None;
    }
    let (_, before) = earlier(job, id)?;
    if !has_shape(tries) || !has_shape(&before) {
        return None;
    }
    let before_means = before.means();
    let mut at = Vec::new();
    for (position, now) in tries.means() {
        let then = before_means.iter().find(|(other, _)| *other == position);
        let Some(&(_, then)) = then else { continue };
        at.push((position, then - now));
    }
    let (tilt, more_deg) = tilt(tries, &at).unzip();
    let at: Vec<Amount> = at.into_iter().map(Amount::from).collect();
    let more_deg = more_deg.map(Angle::of);
    let same_zero = stands_on_a_zero(tries) && stands_on_a_zero(&before);
    let step = tries.resolution.max(before.resolution);
    (!at.is_empty()).then_some((TookOff { at, same_zero, tilt, more_deg }, step))
}

/// Whether there are heights all the way round. A total has none, and the high and the low of a watched
/// needle are only two: what the wheel took between them is not known. One position of four may be left out
/// (no source: with more, a quarter of the face would be a guess).
fn has_shape(tries: &Tries) -> bool {
    let watched = tries.together.iter().any(|one| reads_the_whole_turn(tries.check, one));
    let (held, all) =
        (tries.sums.len(), usize::try_from(tries.check.total()).unwrap_or(usize::MAX));
    !watched && held.saturating_mul(4) >= all.saturating_mul(3)
}

/// Whether both series have heights at the same places and show high and low: all the way round, or a high
/// and a low at the same two marks.
fn same_places(now: &Tries, before: &Tries) -> bool {
    let total = |tries: &Tries| tries.together.iter().any(|one| is_total(tries.check, one));
    let places = |tries: &Tries| tries.sums.iter().map(|(at, _)| *at).collect::<Vec<u32>>();
    let alike = !total(now) && !total(before) && places(now) == places(before);
    alike || (has_shape(now) && has_shape(before))
}

/// How much longer, or higher above its master, a part is on average after the wheel, where that is more
/// than the uncertainty of its verdict.
fn grown(took: &TookOff, verdict: &Verdict) -> Option<Figure> {
    let count = i64::try_from(took.at.len()).ok().filter(|&count| count > 0 && took.same_zero)?;
    let sum = took.at.iter().fold(Figure::ZERO, |sum, one| sum + one.amount);
    let by = Figure::ZERO - sum / count;
    let u = Figure::from(verdict.uncertainty?);
    (by > u).then_some(by)
}

/// The question about a part that is longer after the wheel.
pub(crate) fn grown_under_the_wheel(job: &Job, id: Seq, verdict: &Verdict) -> Option<String> {
    before_the_wheel(job, id)?;
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    let (took, step) = took_off(job, id, &combine(job, id, attempt, check))?;
    Some(words::ground_and_yet(check, step, grown(&took, verdict)?))
}

/// The series before the wheel.
fn earlier(job: &Job, id: Seq) -> Option<(Seq, Tries<'_>)> {
    let before = before_the_wheel(job, id)?;
    let attempt = job.attempts.get(&before)?;
    let (_, check) = job.check_of(attempt)?;
    Some((before, combine(job, before, attempt, check)))
}

/// Whether readings of a series can be compared with those of another: a master was touched, or the gauge
/// keeps its zero.
fn stands_on_a_zero(tries: &Tries) -> bool {
    let mastered = tries.check.master != MasterUse::None && tries.attempt.opening().is_some();
    let height = tries.attempt.gauge().is_some_and(|gauge| gauge.kind == GaugeKind::Height);
    mastered || height
}

/// How much more was taken from one side, over the largest measuring diameter, and which side.
fn tilt(tries: &Tries, at: &[(u32, Figure)]) -> Option<(Figure, f64)> {
    let check = tries.check;
    let angles: Vec<f64> = at.iter().map(|(position, _)| check.angle_deg(*position)).collect();
    if at.len() < 3 || geometry::widest_gap_deg(&angles) >= 180.0 {
        return None;
    }
    // All amounts as one kind of fraction, so that the plane gets whole numbers.
    let parts = at.iter().map(|(_, amount)| amount.denominator()).max()?;
    let points: Option<Vec<Point>> = at
        .iter()
        .map(|(position, amount)| {
            let height = amount.numerator() * (parts / amount.denominator());
            Some(Point { at: check.place(*position)?, height: i64::try_from(height).ok()? })
        })
        .collect();
    let plane = geometry::least_squares(&points?).ok()?;
    let widest = check.radii.iter().max().copied()?;
    let diameter_nm = 2.0 * Figure::from(widest).to_f64() / 1000.0;
    let tilt = plane.tilt_over(diameter_nm) / Figure::new(parts, 1).to_f64();
    let tilt = thousandths(tilt).filter(|tilt| *tilt > Figure::ZERO)?;
    Some((tilt, ::words::degrees(plane.high_side_deg())))
}

/// Whether a face that is out may be ground on this evidence.
enum Wedge {
    /// No remark.
    None,
    /// Not yet, and why.
    NotYet(String),
    /// Yes.
    Grind,
}

fn wedge(job: &Job, id: Seq, tries: &Tries, verdict: &Verdict) -> Wedge {
    let check = tries.check;
    let Some(Limits::Max(max)) = verdict.limits else { return Wedge::None };
    let out = verdict.value.is_some_and(|value| value > Figure::from(max));
    match check.traits().wedge {
        plan::Wedge::WhichFace(why) if out => return Wedge::NotYet(why.to_owned()),
        plan::Wedge::OnThePlate if out && check.setup == Holding::Plate => {}
        plan::Wedge::WhichFace(_) | plan::Wedge::OnThePlate | plan::Wedge::Untold => {
            return Wedge::None;
        }
    }
    if verdict.reasons.iter().any(|reason| !reason.may_fail()) {
        return Wedge::NotYet("Nothing is said of grinding before it is sure.".to_owned());
    }
    if verdict.taken + verdict.skipped < verdict.positions || verdict.taken < 7 {
        let why = "Nothing is said of grinding before the whole circle is touched.";
        return Wedge::NotYet(why.to_owned());
    }
    if mostly_tilt(verdict) {
        match shown_to_be_metal(job, id, tries) {
            Some(true) => {}
            // The result of the half turn is already stated; before that the question stands.
            Some(false) => return Wedge::None,
            None => {
                let why = "Nothing is said of grinding before the half-turn test: dirt looks the \
                           same.";
                return Wedge::NotYet(why.to_owned());
            }
        }
    }
    match lying_face(job, id, check.down.as_deref()) {
        Some(why) => Wedge::NotYet(why),
        None => Wedge::Grind,
    }
}

/// Whether a half turn on the plate showed that the height is in the metal.
fn shown_to_be_metal(job: &Job, id: Seq, tries: &Tries) -> Option<bool> {
    let own = half_turn::stays_with_metal(tries.check, tries.attempt);
    own.or_else(|| {
        let earlier = earlier_tries(job, id).into_iter().rev();
        earlier
            .filter_map(|other| job.attempts.get(&other))
            .find_map(|other| half_turn::stays_with_metal(tries.check, other))
    })
}

/// Why the face that lies on the plate forbids grinding the one above it; `None` where it does not, or
/// nobody said which face it is.
fn lying_face(job: &Job, id: Seq, down: Option<&str>) -> Option<String> {
    let down = down?;
    let at = job.attempts.get(&id)?.began.check;
    let part = job.opened.plan.plan.parts.get(usize::from(at.part))?;
    let place = job.opened.plan.plan.find(part.name.as_str(), down)?;
    let lying = judged_before(job, place, id)?;
    let word = lying.verdict.as_ref().map(|(_, verdict)| verdict.word)?;
    (word == Word::DoesNotConform).then(|| {
        format!(
            "{down} lies on the plate and is out itself: grind {down} until it cleans up first, \
             shimmed, not pulled down."
        )
    })
}

/// The newest attempt at a check of the same piece that began before another one. Later attempts must not
/// change what was said at that time.
fn judged_before(job: &Job, at: CheckAt, id: Seq) -> Option<&Attempt> {
    let mut earlier = job.attempts_at(at).rev();
    earlier
        .find(|(other, attempt)| {
            *other < id && job.same_piece(at.part, *other, id) && attempt.verdict.is_some()
        })
        .map(|(_, attempt)| attempt.as_ref())
}

fn grind(job: &Job, id: Seq, tries: &Tries, verdict: &mut Verdict) {
    let means = tries.means();
    let Some(low) = means.iter().map(|(_, mean)| *mean).min() else { return };
    let take_off: Vec<(u32, Figure)> =
        means.iter().map(|&(position, mean)| (position, mean - low)).collect();
    let leaves = left_of(job, id, tries, low);
    let minimum = drawing_minimum(job, tries.attempt.began.check);
    let too_little = leaves.zip(minimum).filter(|(left, least)| *left < Figure::from(*least));
    if let Some((left, least)) = too_little {
        verdict.advice.push(words::too_short(tries.check, left, least));
        verdict.figures.leaves = Some(left);
        return;
    }
    let said = words::grind(tries.check, tries.resolution, verdict, &take_off, leaves);
    verdict.advice.extend(said);
    verdict.figures.take_off = take_off.into_iter().map(Amount::from).collect();
    verdict.figures.leaves = leaves;
}

/// The length that remains when the face has cleaned up and sparked out: from the size of which the
/// readings are deviations, otherwise from the length of the part itself.
fn left_of(job: &Job, id: Seq, tries: &Tries, lowest: Figure) -> Option<Figure> {
    let check = tries.check;
    let spark_out = Figure::from(SPARK_OUT);
    if check.master != MasterUse::None && tries.attempt.opening().is_some() {
        // Against a master a reading is the size itself.
        return check.master_size.map(|_| lowest - spark_out);
    }
    if let Some(size) = check.master_size.or(check.nominal) {
        return Some(Figure::from(size) + lowest - spark_out);
    }
    let at = length_of(job, tries.attempt.began.check)?;
    let (_, standing) = judged_before(job, at, id)?.verdict.as_ref()?;
    let mean = standing.figures.mean?;
    Some(mean + lowest - tries.mean()? - spark_out)
}

/// The length check of the same part.
fn length_of(job: &Job, at: CheckAt) -> Option<CheckAt> {
    let plan = &job.opened.plan.plan;
    plan.places().find(|place| {
        place.part == at.part && plan.at(*place).is_some_and(|(_, check)| check.traits().stands())
    })
}

fn drawing_minimum(job: &Job, at: CheckAt) -> Option<Length> {
    let (_, check) = job.opened.plan.plan.at(length_of(job, at)?)?;
    match check.limits? {
        Limits::Band { min, .. } | Limits::Min(min) => Some(min),
        Limits::Max(_) => None,
    }
}

/// The verdict before the wheel, where the two figures can be compared. On supports and in a sweep each has
/// its own setting, and a part that is longer than before may be another one.
pub(crate) fn before_this_grind(job: &Job, id: Seq, now: &Verdict) -> Option<Arc<Verdict>> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    if check.swept().is_some() || !check.tilt_is_the_parts() || now.value.is_none() {
        return None;
    }
    if grown_under_the_wheel(job, id, now).is_some() {
        return None;
    }
    let before = job.attempts.get(&before_the_wheel(job, id)?)?;
    let (_, verdict) = before.verdict.as_ref()?;
    verdict.value.is_some().then(|| Arc::clone(verdict))
}

/// Whether high and low changed places since the series before the wheel: correlated below −0.7,
/// both ranges above `turned`, usually four, steps (from memory of the trade).
pub(crate) fn went_past_flat(job: &Job, id: Seq) -> bool {
    let found = job.attempts.get(&id).and_then(|attempt| {
        let (_, check) = job.check_of(attempt)?;
        check.tilt_is_the_parts().then_some(())?;
        let (_, before) = earlier(job, id)?;
        Some((combine(job, id, attempt, check), before))
    });
    let Some((now, before)) = found else { return false };
    let before_means = before.means();
    let pairs: Vec<(f64, f64)> = now
        .means()
        .into_iter()
        .filter_map(|(position, now)| {
            let (_, then) = before_means.iter().find(|(other, _)| *other == position)?;
            Some((now.to_f64(), then.to_f64()))
        })
        .collect();
    let step = now.check.traps.turned.of(Figure::from(now.resolution));
    let wide = |tries: &Tries| tries.max_minus_min().is_some_and(|range| range > step);
    same_places(&now, &before) && wide(&now) && wide(&before) && correlation(&pairs) < -0.7
}

/// Pearson's correlation; 0 where one side does not vary.
fn correlation(pairs: &[(f64, f64)]) -> f64 {
    let count = f64::from(u32::try_from(pairs.len()).unwrap_or(u32::MAX)).max(1.0);
    let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let sum = |of: &dyn Fn(f64, f64) -> f64| {
        pairs.iter().map(|pair| of(pair.0 - x, pair.1 - y)).sum::<f64>()
    };
    let spread = (sum(&|a, _| a * a) * sum(&|_, b| b * b)).sqrt();
    if spread > 0.0 { sum(&|a, b| a * b) / spread } else { 0.0 }
}

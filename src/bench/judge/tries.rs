//! Which attempts are judged together, and what they show at each position.
//!
//! This is the only place that decides which readings count. A verdict stores what was decided here: the
//! attempts, and the mean of their readings at each position.

use std::collections::BTreeSet;
use std::ops::Deref;

use geometry::{self, Point};
use judgement::{self, Doubt, Part, Reason};
use quantity::{Figure, Length};

use crate::fact::row::{Ending, Shown};
use crate::fact::seq::Seq;
use crate::judge::noise::{came_back, drifted};
use crate::judge::repeats;
use crate::judge::returns::{
    closed, closure_difference, closure_limit, reading, resolution, spread, zero_walk,
};
use crate::judge::supposed;
use crate::judge::zero::Zero;
use crate::plan::{Check, MasterUse, Series, Setting, Watched};
use crate::seat::{is_doubted, showed_dirt};
use crate::state::metal::Metal;
use crate::state::{Attempt, Job};

/// Where tries left out different positions, fractions of a picometre finer than this are dropped.
const FINEST: i64 = 10_000;

/// The tries that are judged together, with what they show at each position.
pub(super) struct Tries<'a> {
    series: Series<'a>,
    pub(super) attempt: &'a Attempt,
    /// The attempts, oldest first; the one that is judged is the last.
    pub(super) combined: Vec<Seq>,
    /// The attempts themselves, in the same order.
    pub(super) together: Vec<&'a Attempt>,
    /// The tries differ too much to be the same metal.
    pub(super) differ: bool,
    /// How far the newest lies above an older one, each against its master, where that is more than two
    /// touches of the master may differ by.
    pub(super) moved: Option<Length>,
}

impl<'a> Deref for Tries<'a> {
    type Target = Series<'a>;

    fn deref(&self) -> &Self::Target {
        &self.series
    }
}

/// Whether a try holds only the total of a turn, which is not a height.
pub(super) fn is_total(check: &Check, attempt: &Attempt) -> bool {
    check.total_only() || attempt.watched() == Some(Watched::Total)
}

/// What may differ in setting between an attempt and an earlier try.
fn setting_of(check: &Check, attempt: &Attempt) -> Setting {
    if is_total(check, attempt) { Setting::Nothing } else { check.traits().setting }
}

/// Which positions share one setting.
fn circle(setting: Setting, check: &Check, position: u32) -> u32 {
    if setting == Setting::OffsetOfCircle { check.circle_of(position) } else { 0 }
}

/// One try: its readings above the size they are compared with.
struct Try<'a> {
    id: Seq,
    attempt: &'a Attempt,
    /// Position and picometres, rising.
    heights: Vec<(u32, i64)>,
}

impl<'a> Try<'a> {
    fn of(check: &Check, id: Seq, attempt: &'a Attempt) -> Self {
        Self::above(&Zero::of_try(check, attempt), check, id, attempt)
    }

    /// The same with an even drift left in the readings.
    fn as_read(check: &Check, id: Seq, attempt: &'a Attempt) -> Self {
        Self::above(&Zero::of_try(check, attempt).without_drift(check), check, id, attempt)
    }

    /// The same with an even drift taken out of a try that did not come back, as if there had been one.
    fn as_if_even(check: &Check, id: Seq, attempt: &'a Attempt) -> Self {
        let zero = supposed::zero(check, attempt);
        Self::above(&zero.unwrap_or_else(|| Zero::of_try(check, attempt)), check, id, attempt)
    }

    fn above(zero: &Zero, check: &Check, id: Seq, attempt: &'a Attempt) -> Self {
        // The sign of a total has no meaning.
        let total = is_total(check, attempt);
        let height = |position: u32| {
            let height = zero.size_at(attempt, position)?.picometres();
            Some((position, if total { height.abs() } else { height }))
        };
        let heights = (0..check.total()).filter_map(height).collect();
        Self { id, attempt, heights }
    }

    fn at(&self, position: u32) -> Option<i64> {
        let found = self.heights.binary_search_by_key(&position, |(at, _)| *at).ok()?;
        self.heights.get(found).map(|(_, height)| *height)
    }

    /// Whether its readings are compared with a master.
    fn is_mastered(&self, check: &Check) -> bool {
        check.master != MasterUse::None && self.attempt.opening().is_some()
    }
}

/// Whether the seatings of a bar disagreed, so that the verdict asked to clean taper and bar.
fn seating_moved(attempt: &Attempt) -> bool {
    let verdict = attempt.verdict.as_ref();
    verdict.is_some_and(|(_, verdict)| verdict.reasons.contains(&Reason::SeatingMoved))
}

/// The earlier tries on the same metal that an attempt may be combined with, oldest first.
pub(crate) fn earlier_tries(job: &Job, id: Seq) -> Vec<Seq> {
    let mut group = same_metal(job, id);
    group.retain(|(_, whole)| *whole);
    group.into_iter().map(|(other, _)| other).collect()
}

/// All tries on the same metal up to an attempt, oldest first, itself the last; also those that are not
/// whole.
pub(super) fn on_this_metal(job: &Job, id: Seq) -> Vec<Seq> {
    let earlier = same_metal(job, id).into_iter().map(|(other, _)| other);
    earlier.chain([id]).collect()
}

/// The earlier tries on the same metal that are not among those combined, oldest first: the verdict says
/// that they do not count.
pub(super) fn left_out(job: &Job, id: Seq, combined: &[Seq]) -> Vec<Seq> {
    let group = same_metal(job, id).into_iter().map(|(other, _)| other);
    group.filter(|other| !combined.contains(other)).collect()
}

/// The earlier tries on the same metal, oldest first, each with whether it is complete and closed, so that
/// it may be combined. A try in which nothing was touched is left out.
fn same_metal(job: &Job, id: Seq) -> Vec<(Seq, bool)> {
    use crate::fact::row::AttemptReason::{Again, Cleaned, First, Ground};
    let mut group: Vec<(Seq, bool)> = Vec::new();
    // "Cleaned" is believed once for the same metal; a half turn that showed dirt needs no such word.
    let (mut believed, mut dirt) = (false, false);
    let Some(attempt) = job.attempts.get(&id) else { return group };
    let at = attempt.began.check;
    let metal = Metal::of(job);
    let since = attempt.readings.first().map_or(id, |touched| touched.id);
    let of_this_piece = |(other, _): &(Seq, _)| job.same_piece(at.part, *other, id);
    for (other, earlier) in job.attempts_at(at).filter(of_this_piece) {
        match earlier.began.reason {
            First | Ground => {
                group.clear();
                believed = false;
            }
            Cleaned if dirt || !believed => group.clear(),
            Cleaned | Again => {}
        }
        if other == id {
            // A grind elsewhere on the part changes this metal too.
            group.retain(|(earlier, _)| {
                !metal.changed(*earlier, since) && !is_doubted(job, *earlier)
            });
            return group;
        }
        let whole = job.check_of(earlier).is_some_and(|(_, check)| {
            earlier.ending == Some(Ending::Complete)
                && earlier.open_touches(check) == 0
                && closed(check, earlier)
                && repeats::apart(check, earlier).is_empty()
        });
        if whole {
            believed |= earlier.began.reason == Cleaned && !dirt;
        }
        if whole || earlier.taken() > 0 {
            group.push((other, whole));
        }
        if earlier.ending == Some(Ending::Complete) {
            dirt = showed_dirt(job, earlier) || is_doubted(job, other) || seating_moved(earlier);
        }
    }
    group
}

/// Combines an attempt with the earlier tries on the same metal, each without the part that the setting of
/// gauge and supports adds to it.
pub(super) fn combine<'a>(
    job: &'a Job,
    id: Seq,
    attempt: &'a Attempt,
    check: &'a Check,
) -> Tries<'a> {
    combined(job, (id, attempt), check, Try::of)
}

/// The same, with every reading as it was read: with an even drift in it.
pub(super) fn combine_as_read<'a>(job: &'a Job, id: Seq, tries: &Tries<'a>) -> Tries<'a> {
    combined(job, (id, tries.attempt), tries.check, Try::as_read)
}

/// The same, as if all that did not come back had been an even drift; `None` where something speaks against
/// that, or there is nothing to take out.
pub(super) fn combine_as_if_even<'a>(
    job: &'a Job,
    id: Seq,
    tries: &Tries<'a>,
) -> Option<Tries<'a>> {
    supposed::zero(tries.check, tries.attempt)?;
    Some(combined(job, (id, tries.attempt), tries.check, Try::as_if_even))
}

fn combined<'a>(
    job: &'a Job,
    (id, attempt): (Seq, &'a Attempt),
    check: &'a Check,
    read: fn(&Check, Seq, &'a Attempt) -> Try<'a>,
) -> Tries<'a> {
    let own = read(check, id, attempt);
    let setting = setting_of(check, attempt);
    let mut tries = vec![own];
    if may_be_combined(check, attempt) {
        let earlier = earlier_tries(job, id).into_iter().rev();
        let earlier = earlier.filter_map(|other| Some((other, job.attempts.get(&other)?)));
        let total = is_total(check, attempt);
        let earlier = earlier.filter(|(_, other)| is_total(check, other) == total);
        let earlier = earlier.map(|(other, attempt)| read(check, other, attempt));
        tries.extend(earlier);
    }
    let shared = keep_those_that_share(setting, check, &mut tries);
    let moved = take_out(setting, check, &mut tries, &shared);
    let differ = moved.is_some() || differ(check, &tries);
    let (parts, sums) = means(check, &tries);
    let combined = tries.iter().rev().map(|one| one.id).collect();
    let averaged = averaged(&tries, &sums);
    let returns = tries.iter().map(|one| came_back(check, one.attempt)).collect();
    let drifted = tries.iter().rev().filter_map(|one| drifted(check, one.attempt)).collect();
    let together: Vec<&Attempt> = tries.iter().rev().map(|one| one.attempt).collect();
    let series =
        Series { averaged, returns, drifted, ..series(check, attempt, &together, (parts, sums)) };
    Tries { series, attempt, combined, together, differ, moved }
}

/// The readings that are judged together, one for each position, with their uncertainty.
fn series<'a>(
    check: &'a Check,
    attempt: &'a Attempt,
    together: &[&Attempt],
    (parts, sums): (i64, Vec<(u32, i64)>),
) -> Series<'a> {
    let readings = together.iter().map(|one| reading(check, one));
    let steps = together.iter().map(|one| resolution(one));
    Series {
        check,
        parts,
        sums,
        open: (0..check.total()).filter(|position| !attempt.settled(*position)).collect(),
        reading: readings.reduce(Doubt::worse).unwrap_or_else(|| reading(check, attempt)),
        averaged: 1,
        resolution: steps.max().unwrap_or_else(|| resolution(attempt)),
        spread: spread(attempt),
        seatings: attempt.shown().map(seatings).unwrap_or_default(),
        returns: vec![came_back(check, attempt)],
        drifted: drifted(check, attempt).into_iter().collect(),
        closure: closure_difference(check, attempt),
        zero_walk: zero_walk(attempt),
        tries: u32::try_from(together.len()).unwrap_or(u32::MAX),
        watched: attempt.watched(),
        taps: attempt.taps(),
        rule: attempt.began.pin.rule,
    }
}

fn seatings(shown: &Shown) -> Vec<(Length, Part)> {
    shown.seatings.iter().map(|seated| (seated.at, seated.pool.part())).collect()
}

/// How many readings are averaged at the position that has the fewest.
fn averaged(tries: &[Try], sums: &[(u32, i64)]) -> u32 {
    let touches = |position: u32| {
        let those = tries.iter().filter(|one| one.at(position).is_some());
        those.map(|one| one.attempt.touches_at(position)).fold(0_u32, u32::saturating_add)
    };
    sums.iter().map(|(position, _)| touches(*position)).min().unwrap_or(1)
}

/// Whether tries of this kind are combined at all. An answer is given and a difference is taken, so
/// they have no mean. An incomplete attempt is never combined. The samples of two sweeps lie at
/// different places, so the newest sweep counts alone.
fn may_be_combined(check: &Check, attempt: &Attempt) -> bool {
    check.traits().is_touched()
        && attempt.ending != Some(Ending::Stopped)
        && check.swept().is_none()
}

/// Leaves out every earlier try that shares too few positions with the newer ones to work out what its
/// setting adds, and returns the positions that all others touched. The newest comes first.
fn keep_those_that_share(setting: Setting, check: &Check, tries: &mut Vec<Try>) -> BTreeSet<u32> {
    let positions = |one: &Try| one.heights.iter().map(|(at, _)| *at).collect::<BTreeSet<u32>>();
    if tries.len() < 2 {
        return BTreeSet::new(); // no position is shared
    }
    let mut shared = tries.first().map(positions).unwrap_or_default();
    let circles = |of: &BTreeSet<u32>| {
        of.iter().map(|at| circle(setting, check, *at)).collect::<BTreeSet<u32>>()
    };
    let all = circles(&shared);
    let mut first = true;
    tries.retain(|one| {
        if std::mem::take(&mut first) || setting == Setting::Nothing {
            return true;
        }
        let touched = positions(one);
        let both: BTreeSet<u32> = shared.intersection(&touched).copied().collect();
        let enough = match setting {
            Setting::Plane => plane(check, both.iter().map(|at| (*at, 0))).is_some(),
            Setting::Nothing | Setting::Offset | Setting::OffsetOfCircle => {
                let own = circles(&touched);
                circles(&both) == all && own.is_subset(&all)
            }
        };
        if enough {
            shared = both;
        }
        enough
    });
    shared
}

/// Subtracts from the earlier tries what their setting adds to them, in whole picometres. Returns how far
/// one of them was off against its master, where that is too far for the same metal.
fn take_out(
    setting: Setting,
    check: &Check,
    tries: &mut [Try],
    shared: &BTreeSet<u32>,
) -> Option<Length> {
    let (newest, earlier) = tries.split_first_mut()?;
    if setting == Setting::Nothing {
        return None;
    }
    let limit = closure_limit(check, newest.attempt);
    let mut moved = None;
    for one in earlier {
        let mut apart: Vec<(u32, i64)> = Vec::new();
        for &at in shared {
            let both = one.at(at).zip(newest.at(at));
            apart.extend(both.map(|(then, now)| (at, then - now)));
        }
        let on_masters = one.is_mastered(check) && newest.is_mastered(check);
        let off = offsets(setting, check, &apart);
        let far = off.iter().map(|(_, off)| Length::from_picometres(-*off));
        let far = far.filter(|off| on_masters && !limit.holds(*off)).max_by_key(|off| off.abs());
        moved = moved.or(far);
        if setting == Setting::Plane {
            let Some(plane) = plane(check, apart.iter().copied()) else { continue };
            for (at, height) in &mut one.heights {
                *height -= plane.at(check, *at);
            }
        } else {
            for (at, height) in &mut one.heights {
                let circle = circle(setting, check, *at);
                let off = off.iter().find(|(of, _)| *of == circle);
                *height -= off.map_or(0, |(_, off)| *off);
            }
        }
    }
    moved
}

/// The mean height on each circle, to the nearest picometre.
fn offsets(setting: Setting, check: &Check, heights: &[(u32, i64)]) -> Vec<(u32, i64)> {
    let circle = |at: u32| circle(setting, check, at);
    let circles: BTreeSet<u32> = heights.iter().map(|(at, _)| circle(*at)).collect();
    let mean = |of: u32| {
        let on = || heights.iter().filter(|(at, _)| circle(*at) == of);
        let sum: i128 = on().map(|(_, height)| i128::from(*height)).sum();
        nearest(sum, on().count())
    };
    circles.into_iter().map(|of| (of, mean(of))).collect()
}

/// A sum divided by a count, to the nearest whole number; a half is rounded up.
fn nearest(sum: i128, count: usize) -> i64 {
    let count = i128::try_from(count).unwrap_or(i128::MAX).max(1);
    i64::try_from((2 * sum + count).div_euclid(2 * count)).unwrap_or(i64::MAX)
}

/// A plane over the face, in picometres; positions are in nanometres.
struct Plane(geometry::PlaneFit);

impl Plane {
    /// Its height at a position, to the nearest picometre.
    #[expect(clippy::cast_possible_truncation, reason = "a float saturates, and NaN becomes 0")]
    fn at(&self, check: &Check, position: u32) -> i64 {
        let Some(place) = check.place(position) else { return 0 };
        let (x, y) = (i128::from(place.x_nm), i128::from(place.y_nm));
        let [x, y] = [x, y].map(|nm| Figure::new(nm, 1).to_f64());
        (self.0.intercept + self.0.slopes.x * x + self.0.slopes.y * y).round() as i64
    }
}

/// The least-squares plane through some heights; `None` where their positions do not determine one.
fn plane(check: &Check, heights: impl Iterator<Item = (u32, i64)>) -> Option<Plane> {
    let point = |(at, height)| Some(Point { at: check.place(at)?, height });
    let points: Vec<Point> = heights.filter_map(point).collect();
    geometry::least_squares(&points).ok().map(Plane)
}

/// Whether tries differ too much to be the same metal: at each position the newest that touched it is
/// compared with all older ones.
fn differ(check: &Check, tries: &[Try]) -> bool {
    if tries.len() < 2 {
        return false;
    }
    let u = tries.iter().map(|one| reading(check, one.attempt).whole().u()).max();
    let u = u.unwrap_or(Length::ZERO);
    (0..check.total()).any(|position| {
        let mut heights = tries.iter().filter_map(|one| one.at(position));
        let Some(newest) = heights.next() else { return false };
        heights.any(|older| {
            let difference = Figure::new(i128::from(older) - i128::from(newest), 1);
            judgement::tries_differ(difference, check.half_width(), (u, check.traps.tries))
        })
    })
}

/// The mean at each position over the tries that touched it, as a sum, and the number it is divided by.
fn means(check: &Check, tries: &[Try]) -> (i64, Vec<(u32, i64)>) {
    if let [only] = tries {
        return (1, only.heights.clone());
    }
    let mut found: Vec<(u32, i128, i64)> = Vec::new();
    for position in 0..check.total() {
        let heights = || tries.iter().filter_map(|one| one.at(position));
        let many = i64::try_from(heights().count()).unwrap_or(i64::MAX);
        if many > 0 {
            found.push((position, heights().map(i128::from).sum(), many));
        }
    }
    // The least common multiple, so that every mean is whole.
    let parts = found.iter().fold(1_i64, |all, &(.., many)| {
        let rest = Figure::new(i128::from(all), i128::from(many)).denominator();
        all.saturating_mul(i64::try_from(rest).unwrap_or(1)).min(FINEST)
    });
    let mean =
        |sum: i128, many: i64| nearest(sum * i128::from(parts), usize::try_from(many).unwrap_or(1));
    let sums = found.iter().map(|&(at, sum, many)| (at, mean(sum, many))).collect();
    (parts, sums)
}

impl<'a> Tries<'a> {
    /// One attempt alone, as it was read.
    pub(super) fn alone(check: &'a Check, attempt: &'a Attempt) -> Self {
        let zero = Zero::of_try(check, attempt);
        // The mean of a position is known only once it is touched as often as it needs.
        let height = |position| {
            let drifted = || zero.size_at(attempt, position).map(Figure::from);
            let even = !check.traits().sizes && zero.walks();
            let mean = if even { drifted() } else { attempt.mean_at(position) };
            Some((position, mean.filter(|_| attempt.is_full(position))?))
        };
        let means: Vec<(u32, Figure)> = (0..check.total()).filter_map(height).collect();
        let parts = means.iter().fold(1_i64, |all, (_, mean)| {
            if mean.denominator() == 1 {
                return all;
            }
            let rest = (Figure::new(1, mean.denominator()) * all).denominator();
            all.saturating_mul(i64::try_from(rest).unwrap_or(1)).min(FINEST)
        });
        let whole = |mean: Figure| {
            // The usual case: one touch at each position.
            if let (1, Ok(height)) =
                (mean.denominator() * i128::from(parts), mean.numerator().try_into())
            {
                return height;
            }
            let count = usize::try_from(mean.denominator()).unwrap_or(usize::MAX);
            nearest(mean.numerator() * i128::from(parts), count)
        };
        let sums: Vec<(u32, i64)> = means.into_iter().map(|(at, mean)| (at, whole(mean))).collect();
        let together = vec![attempt];
        let touches = |(position, _): &(u32, i64)| attempt.touches_at(*position);
        let averaged = sums.iter().map(touches).min().unwrap_or(1);
        let series = Series { averaged, ..series(check, attempt, &together, (parts, sums)) };
        Self { series, attempt, combined: Vec::new(), together, differ: false, moved: None }
    }

    /// The series without one position.
    pub(super) fn without(&self, position: u32) -> Series<'a> {
        let sums = self.sums.iter().copied().filter(|(at, _)| *at != position).collect();
        Series { sums, ..self.series.clone() }
    }

    /// How many attempts are judged together.
    pub(super) fn count(&self) -> u32 {
        u32::try_from(self.combined.len()).unwrap_or(u32::MAX)
    }
}

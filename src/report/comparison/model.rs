//! Which attempts of which jobs belong side by side.

use num_rational::Ratio;

use crate::bench::plan::{Check, CheckAt, Detail, Measures, Part};
use crate::bench::row::AttemptReason;
use crate::bench::{Attempt, Job, Seq};
use crate::judgement::{Change, Limits, Word};
use crate::quantity::{Figure, Length, Name};
use crate::report::JobFacts;
use crate::store::{JobRecord, VerdictRecord};
use crate::wire::{ToleranceLine, VerdictLine};
use crate::words::Held;

/// Jobs and everything their plans measure.
#[derive(Debug)]
pub(super) struct Model<'a> {
    pub(super) jobs: &'a [JobFacts],
    /// Jobs of the same spindle between the oldest and the newest of these, not compared.
    pub(super) others: Vec<&'a JobRecord>,
    pub(super) characteristics: Vec<Characteristic>,
}

/// What makes characteristics of two plans the same one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Key {
    pub(super) part: Name,
    pub(super) check: Name,
    /// The station of a bar: each is held against its own limit.
    pub(super) station: Option<Length>,
}

/// One characteristic in every job.
#[derive(Debug)]
pub(super) struct Characteristic {
    pub(super) key: Key,
    /// A job each; none where its plan does not have it.
    pub(super) jobs: Vec<Option<InJob>>,
    pub(super) changes: Vec<Moved>,
}

/// One characteristic in one job.
#[derive(Debug)]
pub(super) struct InJob {
    pub(super) measures: Measures,
    pub(super) limits: Option<Limits>,
    /// Attempts that were judged or written down, oldest first.
    pub(super) rounds: Vec<Found>,
}

/// What was found of one attempt.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) attempt: u32,
    pub(super) reason: AttemptReason,
    pub(super) remark: Option<String>,
    /// Its verdict, for a bar that of the station alone.
    pub(super) line: Option<VerdictLine>,
    /// The judged figure with its expanded uncertainty.
    pub(super) figure: Option<(Figure, Length)>,
    limits: Option<Limits>,
    pub(super) answer: Option<String>,
    /// How often the part became a new one before it and after it, in the same job.
    pieces: (usize, usize),
}

/// From one job to a later one.
#[derive(Debug)]
pub(super) struct Moved {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) outcome: Outcome,
    pub(super) same_piece: bool,
    /// Whether both jobs name their spindle.
    pub(super) spindle_known: bool,
}

/// What became of a characteristic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// A figure each.
    Change(Change),
    /// An answer or a written value each; whether they are the same.
    Answers(bool),
    /// One of them has no figure.
    NoFigure,
    /// The two plans measure different things under one name.
    OtherMeasure,
}

impl<'a> Model<'a> {
    pub(super) fn of(jobs: &'a [JobFacts], others: &'a [JobRecord]) -> Self {
        let ages = || jobs.iter().map(|job| job.record.age());
        let within =
            |job: &&JobRecord| ages().min() < Some(job.age()) && Some(job.age()) < ages().max();
        let mut others: Vec<_> = others.iter().filter(within).collect();
        others.retain(|job| jobs.iter().all(|one| one.record.id != job.id));
        others.sort_by_key(|job| job.age());
        let mut keys: Vec<Key> = Vec::new();
        // In the order of the newest plan; what only older plans have comes after it.
        for job in jobs.iter().rev() {
            for key in keys_of(job) {
                if !keys.contains(&key) {
                    keys.push(key);
                }
            }
        }
        let characteristics =
            keys.into_iter().map(|key| characteristic(jobs, &others, key)).collect();
        Self { jobs, others, characteristics }
    }

    pub(super) fn name(&self, job: usize) -> &'a str {
        self.jobs.get(job).map_or("", |job| job.record.name.as_str())
    }

    pub(super) fn same_spindle(&self) -> Option<bool> {
        let serials: Option<Vec<String>> = self.jobs.iter().map(serial).collect();
        let serials = serials?;
        Some(serials.windows(2).all(|two| two[0] == two[1]))
    }
}

fn serial(job: &JobFacts) -> Option<String> {
    let serial = job.record.serial.as_ref()?.trim().to_lowercase();
    (!serial.is_empty()).then_some(serial)
}

fn keys_of(job: &JobFacts) -> Vec<Key> {
    let plan = &job.record.plan.plan;
    let keys = plan.places().filter_map(|at| plan.at(at)).flat_map(|(part, check)| {
        let key = |station| Key { part: part.name.clone(), check: check.name.clone(), station };
        match &check.detail {
            Detail::Bar(bar) => bar.stations.iter().map(|one| key(Some(one.at))).collect(),
            Detail::Plain
            | Detail::Length(_)
            | Detail::Turn(_)
            | Detail::Taper(_)
            | Detail::Pair(_)
            | Detail::Confirm(_)
            | Detail::Entry(_) => vec![key(None)],
        }
    });
    keys.collect()
}

fn characteristic(jobs: &[JobFacts], others: &[&JobRecord], key: Key) -> Characteristic {
    let found: Vec<Option<InJob>> = jobs.iter().map(|job| in_job(job, &key)).collect();
    let mut changes = changes(jobs, &found);
    for moved in &mut changes {
        moved.same_piece &= !replaced_between(jobs, others, &key.part, moved);
    }
    Characteristic { key, jobs: found, changes }
}

fn in_job(job: &JobFacts, key: &Key) -> Option<InJob> {
    let plan = &job.record.plan.plan;
    let (at, (_, check)) = plan.places().filter_map(|at| Some((at, plan.at(at)?))).find(
        |(_, (part, check)): &(CheckAt, (&Part, &Check))| {
            part.name == key.part && check.name == key.check
        },
    )?;
    let of_plan = limits_of_plan(check, key.station)?;
    let rounds: Vec<Found> = job
        .state
        .attempts_at(at)
        .filter_map(|(id, attempt)| found(job, key, (id, attempt)))
        .collect();
    let limits = rounds.iter().rev().find_map(|round| round.limits).or(of_plan);
    Some(InJob { measures: check.measures, limits, rounds })
}

/// The limits in the plan; none at all where a bar lacks the station, or has one where the other is
/// none.
#[expect(clippy::option_option, reason = "no such station, and a station without limits")]
fn limits_of_plan(check: &Check, station: Option<Length>) -> Option<Option<Limits>> {
    match (&check.detail, station) {
        (Detail::Bar(bar), Some(at)) => {
            bar.stations.iter().find(|one| one.at == at).map(|one| Some(one.limits))
        }
        (Detail::Bar(_), None) => None,
        (
            Detail::Plain
            | Detail::Length(_)
            | Detail::Turn(_)
            | Detail::Taper(_)
            | Detail::Pair(_)
            | Detail::Confirm(_)
            | Detail::Entry(_),
            station,
        ) => station.is_none().then_some(check.limits),
    }
}

fn found(job: &JobFacts, key: &Key, (id, attempt): (Seq, &Attempt)) -> Option<Found> {
    let record = job.verdicts.iter().find(|record| record.verdict.attempt == id);
    if record.is_none() && attempt.answer.is_none() {
        return None;
    }
    let (line, figure, limits) = match record {
        Some(record) => judged(record, key.station),
        None => (None, None, None),
    };
    Some(Found {
        attempt: attempt.began.number,
        reason: attempt.began.reason,
        remark: attempt.began.remark.clone(),
        line,
        figure,
        limits,
        answer: attempt.answer.clone(),
        pieces: pieces(&job.state, attempt.began.check.part, id),
    })
}

type Judged = (Option<VerdictLine>, Option<(Figure, Length)>, Option<Limits>);

fn judged(record: &VerdictRecord, station: Option<Length>) -> Judged {
    let verdict = &record.verdict;
    let mut line = VerdictLine::from(record);
    let Some(at) = station else {
        return (Some(line), verdict.value.zip(verdict.uncertainty), verdict.limits);
    };
    let of_station = verdict.figures.stations.iter().find(|one| one.at == at);
    let texts = line.figures.stations.iter().zip(&verdict.figures.stations);
    let texts = texts.filter(|(_, one)| one.at == at).map(|(text, _)| text.clone()).next();
    line.value = None;
    line.uncertainty = None;
    if let Some(text) = texts {
        line.value = Some(text.value);
        line.uncertainty = Some(text.uncertainty);
        line.tolerance = Some(text.tolerance);
        // What withholds the whole bar withholds each station of it.
        if line.reasons.is_empty() && verdict.word != Word::Incomplete {
            line.verdict = text.verdict;
        }
    }
    line.figures.stations.clear();
    let figure = of_station.map(|one| (one.value, one.uncertainty));
    (Some(line), figure, of_station.map(|one| one.limits))
}

/// How often a part became a new one before a row, and after it.
fn pieces(job: &Job, part: u16, row: Seq) -> (usize, usize) {
    let all = job.replaced.get(&part).map_or(&[][..], Vec::as_slice);
    let before = all.iter().filter(|(since, _)| *since < row).count();
    (before, all.len() - before)
}

impl Found {
    /// Whether it says how the part is: not cut short, and not without any figure.
    fn is_whole(&self) -> bool {
        let cut_short = self.line.as_ref().is_some_and(|line| line.verdict == "incomplete");
        !cut_short && (self.figure.is_some() || self.answer.is_some())
    }

    /// Whether it was on a piece that was replaced later in the same job.
    pub(super) const fn replaced_since(&self) -> bool {
        self.pieces.1 > 0
    }
}

impl InJob {
    /// The first whole attempt.
    pub(super) fn first(&self) -> Option<&Found> {
        self.rounds.iter().find(|round| round.is_whole())
    }

    /// The newest attempt on the part as it is now.
    pub(super) fn standing(&self) -> Option<&Found> {
        self.rounds.iter().rev().find(|round| !round.replaced_since())
    }

    pub(super) fn tolerance(&self, unit: crate::quantity::Unit) -> Option<ToleranceLine> {
        ToleranceLine::of(&Held::of(None, unit).against(self.limits))
    }
}

impl Characteristic {
    /// Whether two jobs hold it against different limits.
    pub(super) fn limits_differ(&self) -> bool {
        let mut limits = self.jobs.iter().flatten().filter_map(|job| job.limits);
        let first = limits.next();
        limits.any(|limits| Some(limits) != first)
    }
}

/// From each job that left it measured to the next one that found it.
fn changes(jobs: &[JobFacts], found: &[Option<InJob>]) -> Vec<Moved> {
    let mut changes = Vec::new();
    let mut left: Option<(usize, &InJob, &Found)> = None;
    for (to, job) in found.iter().enumerate() {
        let Some(job) = job else { continue };
        if let (Some((from, earlier, leaves)), Some(came)) = (left, job.first()) {
            let untouched = leaves.pieces.1 == 0 && came.pieces.0 == 0;
            let serials = [from, to].map(|at| jobs.get(at).and_then(serial));
            // Jobs that name no spindle may be of any.
            let spindle_known = serials.iter().all(Option::is_some);
            let same_piece = untouched && spindle_known && serials[0] == serials[1];
            let outcome = outcome((earlier, leaves), (job, came));
            changes.push(Moved { from, to, outcome, same_piece, spindle_known });
        }
        if let Some(standing) = job.standing() {
            left = Some((to, job, standing));
        }
    }
    changes
}

fn outcome((earlier, leaves): (&InJob, &Found), (later, came): (&InJob, &Found)) -> Outcome {
    if earlier.measures != later.measures {
        return Outcome::OtherMeasure;
    }
    if !leaves.is_whole() || !came.is_whole() {
        return Outcome::NoFigure;
    }
    match (leaves.figure, came.figure) {
        (Some(one), Some(other)) if can_be_subtracted(one.0, other.0) => {
            Outcome::Change(Change::between(one, other))
        }
        (None, None) => Outcome::Answers(leaves.answer == came.answer),
        (Some(_), _) | (None, Some(_)) => Outcome::NoFigure,
    }
}

/// Whether the difference of two figures fits. It does for what a bench measures; a verdict of
/// another version that came from elsewhere may hold anything.
fn can_be_subtracted(one: Figure, other: Figure) -> bool {
    let shares = Ratio::new(one.denominator(), other.denominator());
    let left = one.numerator().checked_mul(*shares.denom());
    let right = other.numerator().checked_mul(*shares.numer());
    let fits = left.zip(right).and_then(|(left, right)| left.checked_sub(right)).is_some();
    fits && one.denominator().checked_mul(*shares.denom()).is_some()
}

/// Whether a part became a new one in a job between two others.
fn replaced_between(
    jobs: &[JobFacts],
    others: &[&JobRecord],
    part: &Name,
    Moved { from, to, .. }: &Moved,
) -> bool {
    let age = |at: usize| jobs.get(at).map(|job| job.record.age());
    let compared = jobs.iter().map(|job| &job.record);
    let mut between = compared
        .chain(others.iter().copied())
        .filter(|job| age(*from) < Some(job.age()) && Some(job.age()) < age(*to));
    between.any(|job| job.replaced.iter().any(|new| new.part == *part))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_difference_that_fits_is_taken() {
        let zone = Figure::new((1 << 80) + 1, (1 << 59) - 1);
        assert!(can_be_subtracted(zone, zone));
        assert!(can_be_subtracted(Figure::new(2_540_000, 1), Figure::new(-7, 24)));
        for huge in [Figure::new(1 << 112, 1), Figure::new(1, (1 << 76) - 1)] {
            assert!(can_be_subtracted(huge, Figure::new(1, 24)));
        }
        let (wide, fine) = (Figure::new(1 << 112, 3), Figure::new(1, (1 << 76) - 3));
        assert!(!can_be_subtracted(wide, fine) && !can_be_subtracted(fine, wide));
    }
}

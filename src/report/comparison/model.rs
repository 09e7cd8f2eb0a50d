//! Which attempts of which jobs are compared.

use crate::JobFacts;
use ::record::{JobRecord, VerdictRecord};
use bench::metal::Standing;
use bench::plan::{Check, CheckAt, Holding, Part, Plan, Traits};
use bench::row::AttemptReason;
use bench::{Attempt, Job, Seq};
use judgement::{Limits, Reason, Word};
use quantity::{Figure, Length, Name, Unit};
use words::{Held, LimitsLine, LimitsTold, Told};

use super::chain::{self, Moved};

/// The jobs, with everything their plans measure.
#[derive(Debug)]
pub(crate) struct Model<'a> {
    pub(crate) jobs: Vec<&'a JobFacts>,
    /// What each is called.
    names: Vec<String>,
    /// Jobs of the same spindle between the oldest and the newest of these, not compared.
    pub(super) others: Vec<&'a JobRecord>,
    pub(crate) characteristics: Vec<Characteristic>,
}

/// What makes the characteristics of two plans the same one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Key {
    pub(crate) part: Name,
    pub(crate) check: Name,
    /// The station of a bar: each station has its own limit.
    pub(crate) station: Option<Length>,
}

/// One characteristic in every job.
#[derive(Debug)]
pub(crate) struct Characteristic {
    pub(crate) key: Key,
    /// One entry for each job; `None` where its plan does not have the characteristic.
    pub(crate) jobs: Vec<Option<InJob>>,
    /// The changes from the end of one job to the start of the next.
    pub(crate) changes: Vec<Moved>,
    /// The changes within a job, from "as found" to final.
    pub(crate) within: Vec<Moved>,
}

/// One characteristic in one job.
#[derive(Debug)]
pub(crate) struct InJob {
    pub(crate) measures: &'static Traits,
    pub(super) limits: Option<Limits>,
    /// Attempts that were judged, or that hold a written value, oldest first.
    pub(super) rounds: Vec<Found>,
    /// The "as found" side, where the plan names one.
    pub(crate) found_side: Option<FoundSide>,
    /// Which replaced parts make it another piece.
    pub(super) rests_on: RestsOn,
}

/// The check that measured the same as the spindle came in.
#[derive(Debug)]
pub(crate) struct FoundSide {
    pub(super) part: Name,
    pub(super) check: Name,
    /// Attempts that were judged, or that hold a written value, oldest first; empty for a station it does
    /// not have.
    pub(super) rounds: Vec<Found>,
}

/// Which parts a figure belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum RestsOn {
    /// The spindle as a whole: any replaced part, also a bearing, makes it another one.
    Everything,
    /// These parts only.
    Parts(Vec<Name>),
}

/// The result of one attempt.
#[derive(Debug)]
pub(crate) struct Found {
    /// The row that began it.
    pub(super) id: Seq,
    pub(super) attempt: u32,
    pub(super) reason: AttemptReason,
    pub(super) remark: Option<String>,
    /// Its verdict; for a bar, that of this station.
    pub(crate) judged: Option<Judged>,
    /// The judged figure with its expanded uncertainty.
    pub(crate) figure: Option<(Figure, Length)>,
    pub(super) limits: Option<Limits>,
    pub(crate) answer: Option<String>,
    replaced_since: bool,
}

/// The verdict on one attempt.
#[derive(Debug)]
pub(crate) struct Judged {
    /// The verdict's row.
    pub(super) id: Seq,
    pub(crate) word: Word,
    pub(crate) standing: Standing,
    pub(super) reasons: Vec<Reason>,
    /// The figure beside its limits.
    pub(crate) held: Held,
}

impl<'a> Model<'a> {
    /// `jobs` come oldest first.
    pub(crate) fn of(jobs: Vec<&'a JobFacts>, others: &'a [JobRecord]) -> Self {
        let ages = || jobs.iter().map(|job| job.record.age());
        let within =
            |job: &&JobRecord| ages().min() < Some(job.age()) && Some(job.age()) < ages().max();
        let mut others: Vec<_> = others.iter().filter(within).collect();
        others.retain(|job| jobs.iter().all(|one| one.record.age() != job.age()));
        others.sort_by_key(|job| job.age());
        let mut keys: Vec<Key> = Vec::new();
        // In the order of the newest plan; characteristics of older plans only come after it.
        for job in jobs.iter().rev() {
            for key in keys_of(job) {
                if !keys.contains(&key) {
                    keys.push(key);
                }
            }
        }
        let characteristics =
            keys.into_iter().map(|key| characteristic(&jobs, &others, key)).collect();
        let names = jobs.iter().map(|job| called(job, &jobs)).collect();
        Self { jobs, names, others, characteristics }
    }

    /// What a job is called here, for a person.
    pub(crate) fn name(&self, job: usize) -> &str {
        self.names.get(job).map_or("", String::as_str)
    }

    /// Its name.
    pub(super) fn job(&self, job: usize) -> &'a str {
        self.jobs.get(job).map_or("", |job| job.record.name.as_str())
    }

    pub(super) fn same_spindle(&self) -> Option<bool> {
        let serials: Option<Vec<String>> = self.jobs.iter().map(|job| serial(job)).collect();
        let serials = serials?;
        Some(serials.windows(2).all(|two| two[0] == two[1]))
    }
}

/// The name of a job, with its bench where another bench has a job of that name.
fn called(job: &JobFacts, all: &[&JobFacts]) -> String {
    let name = &job.record.name;
    let alike = |other: &&&JobFacts| other.record.name == *name;
    match &job.bench {
        Some(bench) if all.iter().filter(alike).count() > 1 => format!("{name} ({bench})"),
        Some(_) | None => name.to_string(),
    }
}

pub(super) fn serial(job: &JobFacts) -> Option<String> {
    let serial = job.record.serial.as_ref()?.trim().to_lowercase();
    (!serial.is_empty()).then_some(serial)
}

/// The characteristics of a plan. An "as found" check has no entry of its own: it belongs to the check it
/// is found for, with the stations of both.
fn keys_of(job: &JobFacts) -> Vec<Key> {
    let plan = &job.record.plan.plan;
    let found_sides: Vec<CheckAt> = plan.places().filter_map(|at| plan.at(at)?.1.found).collect();
    let places = plan.places().filter(|at| !found_sides.contains(at));
    let keys = places.filter_map(|at| plan.at(at)).flat_map(|(part, check)| {
        let found = check.found.and_then(|at| plan.at(at)).map(|(_, found)| found);
        let mut stations = stations(check);
        for station in found.map(self::stations).unwrap_or_default() {
            if !stations.contains(&station) {
                stations.push(station);
            }
        }
        let key = |station| Key { part: part.name.clone(), check: check.name.clone(), station };
        stations.into_iter().map(key).collect::<Vec<_>>()
    });
    keys.collect()
}

/// The stations of a bar by their distance; a single `None` for any other check.
fn stations(check: &Check) -> Vec<Option<Length>> {
    match check.stations() {
        [] => vec![None],
        stations => stations.iter().map(|one| Some(one.at)).collect(),
    }
}

fn characteristic(jobs: &[&JobFacts], others: &[&JobRecord], key: Key) -> Characteristic {
    let found: Vec<Option<InJob>> = jobs.iter().map(|job| in_job(job, &key)).collect();
    let changes = chain::changes(jobs, others, &found);
    let within = chain::within(jobs, &found);
    Characteristic { key, jobs: found, changes, within }
}

fn in_job(job: &JobFacts, key: &Key) -> Option<InJob> {
    let plan = &job.record.plan.plan;
    let (at, (_, check)) = plan.places().filter_map(|at| Some((at, plan.at(at)?))).find(
        |(_, (part, check)): &(CheckAt, (&Part, &Check))| {
            part.name == key.part && check.name == key.check
        },
    )?;
    let found_at = check.found.and_then(|at| Some((at, plan.at(at)?)));
    let found_limits = found_at.and_then(|(_, (_, found))| found.limits_at(key.station));
    let own_limits = check.limits_at(key.station);
    let of_plan = own_limits.or(found_limits)?;
    // The verdict on a bar says nothing about a station that it does not have.
    let rounds = if own_limits.is_some() { rounds(job, key, at) } else { Vec::new() };
    let side = |(at, (part, check)): (CheckAt, (&Part, &Check))| FoundSide {
        part: part.name.clone(),
        check: check.name.clone(),
        rounds: if found_limits.is_some() { self::rounds(job, key, at) } else { Vec::new() },
    };
    let limits = rounds.iter().rev().find_map(|round| round.limits).or(of_plan);
    let rests_on = rests_on(plan, at, check);
    Some(InJob {
        measures: check.traits(),
        limits,
        rounds,
        found_side: found_at.map(side),
        rests_on,
    })
}

fn rounds(job: &JobFacts, key: &Key, at: CheckAt) -> Vec<Found> {
    let attempts = job.state.attempts_at(at);
    attempts.filter_map(|(id, attempt)| found(job, key, (id, attempt))).collect()
}

fn rests_on(plan: &Plan, at: CheckAt, check: &Check) -> RestsOn {
    let turning = check.traits().is_touched() && check.setup == Holding::Turning;
    // A value written about the spindle as it came in or leaves does not belong to a single part either.
    let written = check.traits().is_answered();
    if turning || written && check.found.is_some() {
        return RestsOn::Everything;
    }
    let halves = check.measures.made_of().into_iter().map(|half| half.part);
    let parts = std::iter::once(at.part).chain(halves);
    let name = |part: u16| plan.parts.get(usize::from(part)).map(|part| part.name.clone());
    RestsOn::Parts(parts.filter_map(name).collect())
}

fn found(job: &JobFacts, key: &Key, (id, attempt): (Seq, &Attempt)) -> Option<Found> {
    let record = job.verdicts.iter().find(|record| record.verdict.attempt == id);
    if record.is_none() && attempt.answer.is_none() {
        return None;
    }
    let (judged, figure, limits) = record.map_or((None, None, None), |record| {
        let (judged, figure, limits) = judged(record, key.station);
        (Some(judged), figure, limits)
    });
    Some(Found {
        id,
        attempt: attempt.began.number,
        reason: attempt.began.reason,
        remark: attempt.began.remark.clone(),
        judged,
        figure,
        limits,
        answer: attempt.answer.clone(),
        replaced_since: replaced_since(&job.state, attempt.began.check.part, id),
    })
}

type Figures = (Judged, Option<(Figure, Length)>, Option<Limits>);

fn judged(record: &VerdictRecord, station: Option<Length>) -> Figures {
    let verdict = &record.verdict;
    let judged = |word, held| Judged {
        id: record.id,
        word,
        standing: record.standing,
        reasons: verdict.reasons.clone(),
        held,
    };
    let Some(at) = station else {
        let figure = verdict.value.zip(verdict.uncertainty);
        return (judged(verdict.word, verdict.held()), figure, verdict.limits);
    };
    let Some(one) = verdict.figures.stations.iter().find(|one| one.at.0 == at) else {
        return (judged(verdict.word, Held::of(None, verdict.unit)), None, None);
    };
    // A reason that withholds the whole bar withholds each station of it.
    let by_itself = verdict.reasons.is_empty() && verdict.word != Word::Incomplete;
    let word = if by_itself { one.verdict } else { verdict.word };
    let figure = (one.value, one.uncertainty.0);
    (judged(word, one.held(verdict.unit)), Some(figure), Some(one.tolerance))
}

/// Whether a part was replaced after a row.
fn replaced_since(job: &Job, part: u16, row: Seq) -> bool {
    job.replaced.get(&part).into_iter().flatten().any(|(since, _)| *since > row)
}

impl Found {
    /// Whether the attempt says how the part is: it was completed, and has a figure.
    pub(crate) fn is_whole(&self) -> bool {
        let cut_short = self.judged.as_ref().is_some_and(|it| it.word == Word::Incomplete);
        !cut_short && (self.figure.is_some() || self.answer.is_some())
    }

    /// The answer, or the figures in `unit`, for a person.
    pub(super) fn told(&self, unit: Unit) -> Told {
        let told = self.judged.as_ref().map(|judged| judged.held.told(unit));
        match &self.answer {
            Some(answer) => Told { value: Some(answer.clone()), ..Told::default() },
            None => told.unwrap_or_default(),
        }
    }

    /// Whether it was measured on a piece that was replaced later in the same job.
    pub(super) const fn replaced_since(&self) -> bool {
        self.replaced_since
    }
}

impl InJob {
    /// The first complete attempt; of the "as found" check, where the plan names one.
    pub(crate) fn first(&self) -> Option<&Found> {
        let side = self.found_side.as_ref();
        side.map_or(&self.rounds, |side| &side.rounds).iter().find(|round| round.is_whole())
    }

    /// How it was found, where this job has another figure of it now: the "as found" side, or the last complete
    /// attempt before metal was first taken off or the part was replaced.
    pub(crate) fn found(&self) -> Option<&Found> {
        if self.found_side.is_some() {
            return self.first();
        }
        let changed = self.rounds.windows(2).position(|two| {
            two[1].reason == AttemptReason::Ground
                || two[0].replaced_since() && !two[1].replaced_since()
        });
        let all_gone = self.rounds.iter().all(Found::replaced_since);
        let before = match changed {
            Some(last) => self.rounds.get(..=last)?,
            None if all_gone => &self.rounds[..],
            None => return None,
        };
        before.iter().rev().find(|round| round.is_whole())
    }

    /// The limit and the uncertainty of the figure that stands, for a person; of the figure found where none
    /// stands.
    pub(crate) fn limit_and_spread(&self, unit: Unit) -> [String; 2] {
        let judged = |found: Option<&Found>| found.is_some_and(|found| found.judged.is_some());
        let told = Some(self.standing()).filter(|one| judged(*one)).unwrap_or_else(|| self.found());
        let [_, limit, spread] = told.and_then(|found| found.judged.as_ref()).map_or_else(
            || Held::of(None, unit).against(self.limits).told(unit).cells(),
            |judged| judged.held.told(unit).cells(),
        );
        [limit, spread]
    }

    /// The newest attempt on the part as it is now.
    pub(crate) fn standing(&self) -> Option<&Found> {
        self.rounds.iter().rev().find(|round| !round.replaced_since())
    }

    pub(super) fn tolerance(&self, unit: Unit) -> Option<LimitsTold> {
        LimitsTold::of(&Held::of(None, unit).against(self.limits))
    }

    pub(super) fn limits_line(&self, unit: Unit) -> LimitsLine {
        LimitsLine::of(&Held::of(None, unit).against(self.limits))
    }
}

impl Characteristic {
    /// The characteristic in one of the jobs.
    pub(crate) fn in_job(&self, at: usize) -> Option<&InJob> {
        self.jobs.get(at).and_then(Option::as_ref)
    }

    /// Whether two jobs have different limits for it.
    pub(super) fn limits_differ(&self) -> bool {
        let mut limits = self.jobs.iter().flatten().filter_map(|job| job.limits);
        let first = limits.next();
        limits.any(|limits| Some(limits) != first)
    }
}

//! A scan asks for one thing, and is decided as the same request typed at its station. A scan that is no
//! code, or that is refused, leaves one note at the bench and nothing else.

use std::collections::BTreeMap;

use tokio::sync::oneshot;

use super::{Desk, GivenUp};
use crate::input::Change;
use crate::record::Record;
use bench::plan::{CheckAt, Plan};
use bench::row::{AlertKind, AttemptReason, Subject};
use bench::words::target;
use bench::{Bench, Command, Event, Job, OpenAlert, Request, Seq};
use quantity::{Name, Stamp};
use wire::code::{Action, Code, JobTag, PersonTag};

/// The finished check that the last scan at each station named: a reason scanned next is about that check,
/// not about the one on the screen.
pub(super) type Finished = BTreeMap<Name, Named>;

/// How many more refusals may be reported at each station.
pub(super) type Refusals = BTreeMap<Name, Budget>;

/// This many different refusals are reported at once, and one more for each such time that passes,
/// microseconds: a scanner that types rubbish must not fill the record.
const AT_ONCE: u64 = 10;
const ANOTHER_US: u64 = 10_000_000;

/// How many refusals may still be reported.
#[derive(Default)]
pub(super) struct Budget {
    /// When all refusals reported so far are paid for, microseconds.
    paid_us: u64,
}

impl Budget {
    /// Takes one from the budget; returns whether there was one.
    pub(super) fn spend(&mut self, now_us: u64) -> bool {
        let paid_us = self.paid_us.max(now_us).saturating_add(ANOTHER_US);
        let enough = paid_us - now_us <= AT_ONCE * ANOTHER_US;
        if enough {
            self.paid_us = paid_us;
        }
        enough
    }
}

/// The result of a scan: done, or the sentence why not.
type Came = Result<(), String>;

/// A finished check whose code was scanned.
pub(super) struct Named {
    target: String,
    /// The attempt on the screen at that time. If another one is shown now, the scan is forgotten.
    screen: Option<Seq>,
}

impl<R: Record> Desk<R> {
    /// Handles what a scanner of a station read.
    pub(super) fn scan(&mut self, at: Stamp, station: Name, text: &str) -> Result<(), GivenUp> {
        let named = self.finished.remove(&station);
        let screen = self.bench.stations.get(&station).and_then(|state| state.attempt);
        let named = named.filter(|named| named.screen == screen).map(|named| named.target);
        let people = &self.setup.people;
        let place = Scanned { bench: &self.bench, people, station: &station, named };
        let meant = match Code::parse(text) {
            Ok(code) => place.command(code).map(|command| (code, command)),
            Err(error) => Err(error.to_string()),
        };
        let came = match meant {
            Ok((_, Command::Take { .. })) => self.take_scanned(at, &station)?,
            // A turn under way is taken back first.
            Ok((_, Command::Void { id: None, .. })) if self.drop_turn_at(at, &station) => {
                Some(Ok(()))
            }
            Ok((code, command)) => Some(self.scanned(at, &station, code, command)?),
            Err(why) => Some(Err(why)),
        };
        let Some(came) = came else { return Ok(()) };
        if came.as_ref().is_ok() || self.may_be_told(at, &station) {
            self.happened(at, &Event::Scan { station, refused: came.err() });
        }
        Ok(())
    }

    /// Whether one more refusal is reported: always where no such note is open, now and then where one is.
    fn may_be_told(&mut self, at: Stamp, station: &Name) -> bool {
        let about = Some(Subject::Station(station.clone()));
        let stands = |(_, open): (Seq, &OpenAlert)| {
            open.alert.kind == AlertKind::Scan && open.alert.about == about
        };
        let budget = self.refusals.entry(station.clone()).or_default();
        budget.spend(at.mono_us) || !self.bench.alerts_about(None).any(stands)
    }

    /// "Take" is handled like a request from the socket, because the gauge may have to be asked first.
    /// `None`: the gauge was asked, and there is no result yet.
    fn take_scanned(&mut self, at: Stamp, station: &Name) -> Result<Option<Came>, GivenUp> {
        let (reply, mut answer) = oneshot::channel();
        let command = Command::Take { frame: None };
        let request =
            Request { station: Some(station.to_string()), by: None, login: None, command };
        let key = format!("scan {station} {} {}", at.wall.micros(), at.mono_us);
        self.change(Change::new((at, key.clone()), request, reply))?;
        self.commit()?;
        if let Ok(reply) = answer.try_recv() {
            return Ok(Some(reply.refused.map_or(Ok(()), Err)));
        }
        self.waits_for_scan(station, &key);
        Ok(None)
    }

    /// Decides what a code asks for.
    fn scanned(
        &mut self,
        at: Stamp,
        station: &Name,
        code: Code,
        mut command: Command,
    ) -> Result<Came, GivenUp> {
        if let Err(refusal) = self.know_command(at, &mut command)? {
            return Ok(Err(refusal.text));
        }
        let measured = if let Command::Measure { target, .. } = &command {
            Some(target.clone())
        } else {
            None
        };
        let request =
            Request { station: Some(station.to_string()), by: None, login: None, command };
        let decision = self.happened(at, &Event::Request(request));
        let Some(Err(refusal)) = decision.reply else { return Ok(Ok(())) };
        if let (Code::Stack { .. }, Some(hint)) = (code, &refusal.hint) {
            // No code gives a reason for going on: that has to be typed.
            return Ok(Err(format!("{}; {hint}", refusal.text)));
        }
        if let (Code::Check { at, .. }, Some(target)) = (code, measured)
            && is_finished(&self.bench, station, at)
        {
            let screen = self.bench.stations.get(station).and_then(|state| state.attempt);
            let why = format!("{target} is finished; scan why: ground, cleaned or again");
            self.finished.insert(station.clone(), Named { target, screen });
            return Ok(Err(why));
        }
        Ok(Err(refusal.text))
    }
}

fn is_finished(bench: &Bench, station: &Name, at: CheckAt) -> bool {
    let job = job_at(bench, station);
    job.and_then(|job| job.newest_at(at)).is_some_and(|(_, attempt)| attempt.ending.is_some())
}

/// The job a station works on.
fn job_at<'b>(bench: &'b Bench, station: &Name) -> Option<&'b Job> {
    let job = bench.stations.get(station)?.job?;
    bench.jobs.get(&job).map(AsRef::as_ref)
}

/// The place where a code was read.
struct Scanned<'b> {
    bench: &'b Bench,
    people: &'b [Name],
    station: &'b Name,
    /// The finished check whose code was scanned just before.
    named: Option<String>,
}

impl Scanned<'_> {
    /// The request that a code stands for here.
    fn command(&self, code: Code) -> Result<Command, String> {
        match code {
            Code::Job(tag) => Ok(Command::JobUse { name: self.open_job(tag)?.to_string() }),
            Code::Check { job, at } => {
                Ok(Command::Measure { target: self.target(job, at)?, remark: None })
            }
            Code::Action(action) => self.action(action),
            Code::Skip(blocked) => {
                Ok(Command::Skip { position: None, why: blocked.why().to_owned() })
            }
            Code::Answer { job, at, answer } => {
                let target = self.target(job, at)?;
                let answer = answer_of(&self.job(job)?.opened.plan.plan, at, answer);
                Ok(Command::Confirm { target, answer: answer.ok_or_else(not_in_plan)? })
            }
            Code::Value(count) => self.value(count),
            Code::Person(tag) => Ok(Command::Person { name: Some(self.person(tag)?.to_string()) }),
            Code::Stack { job, stage, place, way } => {
                let plan = &self.job(job)?.opened.plan.plan;
                let at = plan.stack.get(usize::from(place)).ok_or_else(not_in_plan)?;
                let part = plan.parts.get(usize::from(at.part)).ok_or_else(not_in_plan)?;
                let way = way.map(|way| at.ways.get(usize::from(way)).ok_or_else(not_in_plan));
                let towards_nose = way.transpose()?.cloned();
                let (part, mark_deg, serial) = (part.name.to_string(), None, None);
                Ok(Command::StackPlace { stage, part, towards_nose, mark_deg, serial, why: None })
            }
        }
    }

    fn action(&self, action: Action) -> Result<Command, String> {
        let remeasure = |reason| {
            let target = self.named.clone();
            Ok(Command::Remeasure { reason, target, remark: None })
        };
        match action {
            Action::Next => Ok(Command::Next),
            Action::Void => Ok(Command::Void { id: None, why: None }),
            Action::Stop => Ok(Command::Stop),
            Action::Master => Ok(Command::Master { gauge: None }),
            Action::Take => Ok(Command::Take { frame: None }),
            Action::Again => remeasure(AttemptReason::Again),
            Action::Cleaned => remeasure(AttemptReason::Cleaned),
            Action::Ground => remeasure(AttemptReason::Ground),
        }
    }

    /// A reading of this many graduations of the active check's gauge.
    fn value(&self, count: i8) -> Result<Command, String> {
        let attempt = self.bench.stations.get(self.station).and_then(|state| state.attempt);
        let attempt = attempt.and_then(|attempt| self.bench.attempt(attempt));
        let (_, _, attempt) = attempt.ok_or("no check is active; scan the check first")?;
        let gauge = attempt.gauge().ok_or("no gauge measures this check")?;
        let graduation = Some(gauge.resolution.to_string());
        Ok(Command::Enter { values: vec![count.to_string()], graduation })
    }

    /// The person of a badge. A person who was taken off the list has none: an old badge never stands for
    /// another person.
    fn person(&self, tag: PersonTag) -> Result<&Name, String> {
        let mut same = self.people.iter().filter(|name| PersonTag::of(name) == tag);
        match (same.next(), same.next()) {
            (Some(name), None) => Ok(name),
            (Some(_), Some(_)) => Err("two people have this badge; say who works here with \
                                       `tenths person NAME`"
                .to_owned()),
            (None, _) => Err("this badge is nobody's here; write the name under people in \
                              bench.toml, read it again and print the sheet anew, or say who works \
                              here with `tenths person NAME`"
                .to_owned()),
        }
    }

    /// The open job that a tag stands for.
    fn open_job(&self, tag: JobTag) -> Result<&Name, String> {
        let names = self.bench.jobs.values().map(|job| &job.opened.name);
        let mut same = names.filter(|name| JobTag::of(name) == tag);
        match (same.next(), same.next()) {
            (Some(name), None) => Ok(name),
            (Some(_), Some(_)) => Err("two open jobs have this code; type its name".to_owned()),
            (None, _) => Err("the job of that sheet is not open on this bench".to_owned()),
        }
    }

    /// The job a station works on, if the sheet belongs to it: a check of another spindle must not be
    /// measured because two sheets lie on the bench.
    fn job(&self, tag: JobTag) -> Result<&Job, String> {
        let job = job_at(self.bench, self.station);
        if let Some(job) = job.filter(|job| JobTag::of(&job.opened.name) == tag) {
            return Ok(job);
        }
        let of_sheet = self.open_job(tag)?;
        let here = job.map_or_else(
            || "no job is in use here".to_owned(),
            |job| format!("{} is in use here", job.opened.name),
        );
        Err(format!("that sheet is of job {of_sheet}, and {here}; scan the job first"))
    }

    fn target(&self, tag: JobTag, at: CheckAt) -> Result<String, String> {
        let (part, check) = self.job(tag)?.opened.plan.plan.at(at).ok_or_else(not_in_plan)?;
        Ok(target(part, check))
    }
}

fn not_in_plan() -> String {
    "the job's plan has no such place; print the sheet again".to_owned()
}

/// The text of an answer, by its place.
fn answer_of(plan: &Plan, at: CheckAt, answer: u8) -> Option<String> {
    let (_, check) = plan.at(at)?;
    check.measures.asks()?.answers.into_iter().nth(usize::from(answer))
}

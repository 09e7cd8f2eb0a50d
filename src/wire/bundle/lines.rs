//! Turns lines of `record/1` back into rows. The lines may come from anybody.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::fact::{CallerFact, FactLine, SCHEMA, known_schema};
use ::record::{Caller, Seal};
use bench::plan::{CheckAt, Plan};
use bench::row::{Attached, Body, Changes, JobOpened};
use bench::{
    ENGINE, Job, LARGEST_PAPER, MOST_PAPERS, MOST_POSITIONS, ParsePlan, RefersToRows as _, Row, Seq,
};
use quantity::{Name, Stamp, Wall};

/// From the first microsecond of the year 0 to the last of the year 9999: no clock is outside.
const TIMES: std::ops::RangeInclusive<i64> = -62_167_219_200_000_000..=253_402_300_799_999_999;
/// The largest number that every reader of JSON reads exactly.
const LARGEST: u64 = 1 << 53;
/// No job is opened again more often: each time costs a copy of the job as it was.
pub(super) const MOST_REOPENINGS: usize = 1000;
/// No value has more places: it would be finer than a picometre in every unit.
const MOST_PLACES: u8 = 18;

type Understood<T> = Result<T, String>;

/// Takes in the lines of one job, one after the other.
#[derive(Debug)]
pub struct RecordLines {
    parse: ParsePlan,
    last: u64,
    job: Option<(Seq, Arc<JobOpened>)>,
    closed: bool,
    reopened: usize,
    attempts: BTreeSet<Seq>,
    readings: BTreeSet<Seq>,
    alerts: BTreeSet<Seq>,
    files: BTreeSet<Seq>,
    attached: BTreeSet<Seq>,
    /// The newest row that something was measured or changed in: what a signature stands under.
    changed: Option<Seq>,
}

fn in_time(micros: i64) -> Understood<Wall> {
    let outside = || format!("the time {micros} lies outside the years 0 to 9999");
    TIMES.contains(&micros).then(|| Wall::from_micros(micros)).ok_or_else(outside)
}

fn on_a_check(position: u32) -> Understood<()> {
    let outside = || format!("no check has a position {position}");
    (position < MOST_POSITIONS).then_some(()).ok_or_else(outside)
}

fn in_plan(plan: &Plan, at: CheckAt) -> Understood<()> {
    let missing = || format!("the plan has no check {} of a part {}", at.check, at.part);
    plan.at(at).map(drop).ok_or_else(missing)
}

fn part_of_plan(plan: &Plan, part: u16) -> Understood<()> {
    let missing = || format!("the plan has no part {part}");
    plan.parts.get(usize::from(part)).map(drop).ok_or_else(missing)
}

/// Checks that a file is of a place in the plan and no larger than one that is attached here.
fn paper(plan: &Plan, attached: &Attached) -> Understood<()> {
    match (attached.part, attached.check) {
        (Some(part), Some(check)) => in_plan(plan, CheckAt { part, check })?,
        (Some(part), None) => part_of_plan(plan, part)?,
        (None, None) => {}
        (None, Some(_)) => return Err("a check stands there without its part".to_owned()),
    }
    let large = || format!("no attached file has {} bytes", attached.paper.bytes);
    (attached.paper.bytes <= LARGEST_PAPER).then_some(()).ok_or_else(large)
}

/// The longest login name, in bytes. Linux allows 32; other directories may allow more.
const LONGEST_LOGIN: usize = 256;

fn caller(said: CallerFact) -> Understood<Caller> {
    let CallerFact { uid, pid, login } = said;
    if login.as_ref().is_some_and(|login| login.is_empty() || login.len() > LONGEST_LOGIN) {
        return Err(format!("a login name has 1 to {LONGEST_LOGIN} bytes"));
    }
    Ok(Caller { uid, pid, login, elsewhere: true })
}

impl RecordLines {
    /// The state before the first line.
    #[must_use]
    pub fn new(parse: ParsePlan) -> Self {
        let (attempts, readings) = (BTreeSet::new(), BTreeSet::new());
        let (alerts, files, attached) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        Self {
            parse,
            last: 0,
            job: None,
            closed: false,
            reopened: 0,
            attempts,
            readings,
            alerts,
            files,
            attached,
            changed: None,
        }
    }

    /// Takes in the next line. Returns its row, and who asked for it on the bench it comes from.
    ///
    /// # Errors
    /// What is wrong with the line: it is not JSON, has another schema, has something unknown or missing,
    /// refers to a row that is not above it, or is not written as this program writes it.
    pub fn take(&mut self, line: &str) -> Result<(Row, Option<Caller>), String> {
        let fact: FactLine<'_> = serde_json::from_str(line).map_err(|error| error.to_string())?;
        known_schema(&fact.schema, SCHEMA)?;
        let seq = fact.seq;
        if seq <= self.last || seq > LARGEST {
            return Err(format!("its number {seq} does not follow {}", self.last));
        }
        let at = Stamp { wall: in_time(fact.wall_us)?, mono_us: fact.mono_us };
        let caller = fact.caller.map(caller).transpose()?;
        let mut says = serde_json::Deserializer::from_str(fact.says.get());
        let body =
            Body::read(&fact.fact, &mut says, self.parse).map_err(|error| error.to_string())?;
        let body = body.ok_or_else(|| format!("the fact {:?} is not known", fact.fact))?;
        let mut row = Row { seq: Seq(seq), at, by: fact.by, body, restored: None };
        if matches!(row.body, Body::Signed { .. }) && row.by.is_none() {
            return Err("nobody signed it".to_owned());
        }
        self.fits(&row.body)?;
        self.follows(&mut row)?;
        self.keep(&mut row)?;
        // Anything in the line that was not read would be lost on the next export.
        if super::record_line(&row, caller.as_ref()).as_deref() != Some(line) {
            return Err("it is not written as this program writes it".to_owned());
        }
        self.last = seq;
        Ok((row, caller))
    }

    /// The job's name, after the last line.
    ///
    /// # Errors
    /// When no job was opened.
    pub fn job(&self) -> Result<&Name, String> {
        let (_, opened) = self.job.as_ref().ok_or("no job is opened in it")?;
        Ok(&opened.name)
    }

    /// Checks that every row it refers to is above it and is of the right kind.
    fn follows(&self, row: &mut Row) -> Understood<()> {
        let mut missing = None;
        let job = self.job.as_ref().map(|(job, _)| *job);
        row.body.numbers("", &mut |field, number| {
            let there = match field {
                "job" => Some(*number) == job,
                "reading" => self.readings.contains(number),
                "alert" => self.alerts.contains(number),
                "file" => self.files.contains(number),
                "attached" => self.attached.contains(number),
                "of" => Some(*number) == self.changed,
                "attempt" | "combined" => self.attempts.contains(number),
                _ => false,
            };
            if !there && missing.is_none() {
                let field = if field == "combined" { "attempt" } else { field };
                missing = Some(if field == "of" {
                    format!("row {number} is not the newest that it could be signed under")
                } else {
                    format!("{field} {number} is not above it")
                });
            }
        });
        missing.map_or(Ok(()), Err)
    }

    /// Checks that the fact is possible for this job and known to this program.
    fn fits(&self, body: &Body) -> Understood<()> {
        let plan = match (&self.job, body) {
            (_, Body::Started { .. }) | (None, Body::JobOpened(_)) => return Ok(()),
            (Some(_), Body::JobOpened(_)) => return Err("a second job is opened".to_owned()),
            (None, _) => return Err("the job is not opened yet".to_owned()),
            (Some((_, opened)), _) => &opened.plan.plan,
        };
        if let Body::AttemptBegan(began) = body {
            if began.pin.engine > ENGINE {
                return Err(format!(
                    "it is judged by version {} of the arithmetic, this program knows version \
                     {ENGINE}: use a newer tenths",
                    began.pin.engine
                ));
            }
            in_plan(plan, began.check)
        } else if let Body::Reading(reading) = body {
            if reading.job.is_none() {
                return Err("it is of no job".to_owned());
            }
            if reading.value.places > MOST_PLACES {
                return Err(format!("no value has {} places", reading.value.places));
            }
            reading.measured_at.map(|at| in_time(at.micros())).transpose()?;
            reading.position.map_or(Ok(()), on_a_check)
        } else if let Body::Skipped { position, .. } = body {
            on_a_check(*position)
        } else if let Body::Swept { taps, .. } = body {
            on_a_check(taps.samples)
        } else if let Body::SpotMarked { part, .. } = body {
            part_of_plan(plan, *part)
        } else if let Body::StackPlaced { item, .. } = body {
            part_of_plan(plan, item.part)
        } else if let Body::PartReplaced { part, .. }
        | Body::Decided { part, .. }
        | Body::Serial { part, .. } = body
        {
            part_of_plan(plan, *part)
        } else if let Body::Signed { signed, .. } = body {
            signed.seal.parse::<Seal>()?;
            signed.lacking.iter().try_for_each(|(at, _)| in_plan(plan, *at))
        } else if let Body::WentOn { went, .. } = body {
            went.part.map_or(Ok(()), |part| part_of_plan(plan, part))?;
            went.lacking.iter().try_for_each(|(at, _)| in_plan(plan, *at))
        } else if let Body::Attached(attached) = body {
            paper(plan, attached)?;
            let full = || format!("no job has more than {MOST_PAPERS} pictures and papers");
            (self.attached.len() < MOST_PAPERS).then_some(()).ok_or_else(full)
        } else if let Body::AlertRaised(alert) = body {
            // An alert about a gauge, a drop or the record belongs to a bench, which would take it for its
            // own and might clear it.
            let of_a_job = alert.job.is_some() && alert.kind.is_of_a_job();
            let other = || format!("{:?} is no alert of a job", alert.kind.text());
            of_a_job.then_some(()).ok_or_else(other)?;
            alert.position.map_or(Ok(()), on_a_check)?;
            alert.is_beside_its_kind().map_or(Ok(()), Err)
        } else {
            Ok(())
        }
    }

    /// Keeps what later lines may refer to.
    fn keep(&mut self, row: &mut Row) -> Understood<()> {
        let seq = row.seq;
        if row.body.changes() != Changes::Nothing || matches!(row.body, Body::JobOpened(_)) {
            self.changed = Some(seq);
        }
        if let Body::JobOpened(opened) = &row.body {
            self.job = Some((seq, Arc::clone(opened)));
        } else if let Body::JobClosed { .. } = row.body {
            if std::mem::replace(&mut self.closed, true) {
                return Err("the job is closed already".to_owned());
            }
        } else if let Body::JobReopened { .. } = row.body {
            if !std::mem::replace(&mut self.closed, false) {
                return Err("the job is not closed above it".to_owned());
            }
            self.reopened += 1;
            if self.reopened > MOST_REOPENINGS {
                return Err(format!("no job is opened again more than {MOST_REOPENINGS} times"));
            }
            let (opened_in, opened) = self.job.as_ref().ok_or("no job")?;
            // The state of the job then follows from its rows, where the receiver finds it.
            row.restored = Some(Arc::new(Job::new(*opened_in, Arc::clone(opened))));
        } else if let Body::AttemptBegan(_) = row.body {
            self.attempts.insert(seq);
        } else if let Body::Reading(_) = row.body {
            self.readings.insert(seq);
        } else if let Body::AlertRaised(_) = row.body {
            self.alerts.insert(seq);
        } else if let Body::FileTaken(_) = row.body {
            self.files.insert(seq);
        } else if let Body::Attached(_) = row.body {
            self.attached.insert(seq);
        }
        Ok(())
    }
}

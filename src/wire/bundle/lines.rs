//! Lines of `record/4` back into rows. They may come from anybody.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::value::RawValue;

use super::fact::{CallerFact, Fact, SCHEMA, known_schema};
use bench::plan::{CheckAt, PinnedPlan};
use bench::row::{
    Alert, AlertKind, AttemptBegan, Body, FileSeen, JobOpened, Pin, Reading, Source, StackItem,
    State, WentOn,
};
use bench::sweep::Taps;
use bench::{ENGINE, Job, MOST_POSITIONS, Row, Seq};
use quantity::{Length, Name, Quoted, Stamp, Wall};
use store::{Caller, ParsePlan, body, words};

/// The last microsecond of the year 9999 and the first of the year 0: no clock is outside.
const TIMES: std::ops::RangeInclusive<i64> = -62_167_219_200_000_000..=253_402_300_799_999_999;
/// The largest number that every reader of JSON takes for what it is.
const LARGEST: u64 = 1 << 53;
/// More often than any job is opened again: each time costs a copy of the job as it was.
pub(super) const MOST_REOPENINGS: usize = 1000;
/// More places than a picometre has in any unit.
const MOST_PLACES: u8 = 18;

type Understood<T> = Result<T, String>;

/// Takes the lines of one job, one after the other.
#[derive(Debug)]
pub struct RecordLines {
    parse: ParsePlan,
    last: u64,
    job: Option<(Seq, Arc<JobOpened>)>,
    closed: bool,
    reopened: usize,
    attempts: BTreeSet<u64>,
    readings: BTreeSet<u64>,
    alerts: BTreeSet<u64>,
    files: BTreeSet<u64>,
}

fn need<T>(part: Option<T>, what: &str) -> Understood<T> {
    part.ok_or_else(|| format!("it lacks {what:?}"))
}

fn known<T>(part: Option<String>, what: &str, word: impl Fn(&str) -> Option<T>) -> Understood<T> {
    let text = need(part, what)?;
    word(&text).ok_or_else(|| format!("its {what} is {text:?}, which is not known"))
}

fn name(part: Option<String>, what: &str) -> Understood<Name> {
    let text = need(part, what)?;
    Name::new(&text).map_err(|error| format!("its {what} is {text:?}: {error}"))
}

fn wall(micros: i64) -> Understood<Wall> {
    let outside = || format!("the time {micros} lies outside the years 0 to 9999");
    TIMES.contains(&micros).then(|| Wall::from_micros(micros)).ok_or_else(outside)
}

fn state(text: &str) -> Option<State> {
    (0..8).filter_map(words::state).find(|state| state.text() == text)
}

fn position(position: u32) -> Understood<u32> {
    let outside = || format!("no check has a position {position}");
    (position < MOST_POSITIONS).then_some(position).ok_or_else(outside)
}

fn digest(text: &str) -> Option<[u8; 32]> {
    let pair = |at: usize| u8::from_str_radix(text.get(2 * at..2 * at + 2)?, 16).ok();
    let bytes: Option<Vec<u8>> = (0..32).map(pair).collect();
    bytes?.try_into().ok()
}

/// The longest login name, bytes. Linux has none above 32, other lists may have.
const LONGEST_LOGIN: usize = 256;

fn caller(said: CallerFact) -> Understood<Caller> {
    let CallerFact { uid, pid, login } = said;
    if login.as_ref().is_some_and(|login| login.is_empty() || login.len() > LONGEST_LOGIN) {
        return Err(format!("a login name has 1 to {LONGEST_LOGIN} bytes"));
    }
    Ok(Caller { uid, pid, login, elsewhere: true })
}

impl RecordLines {
    /// Before the first line.
    #[must_use]
    pub fn new(parse: ParsePlan) -> Self {
        let (attempts, readings) = (BTreeSet::new(), BTreeSet::new());
        let (alerts, files) = (BTreeSet::new(), BTreeSet::new());
        let (closed, reopened) = (false, 0);
        Self { parse, last: 0, job: None, closed, reopened, attempts, readings, alerts, files }
    }

    /// The next line: a row, and who asked for it on the bench that it comes from.
    ///
    /// # Errors
    /// What is wrong with it: no JSON, another schema, something unknown or missing, a row it points
    /// to that did not come before, or a form that this program does not write.
    pub fn take(&mut self, line: &str) -> Result<(Row, Option<Caller>), String> {
        let fact: Fact = serde_json::from_str(line).map_err(|error| error.to_string())?;
        known_schema(&fact.schema, SCHEMA)?;
        let seq = fact.seq;
        if seq <= self.last || seq > LARGEST {
            return Err(format!("its number {seq} does not follow {}", self.last));
        }
        let at = Stamp { wall: wall(fact.wall_us)?, mono_us: fact.mono_us };
        let by = fact.by.as_deref().map(Name::new).transpose();
        let by = by.map_err(|error| format!("its \"by\": {error}"))?;
        let caller = fact.caller.clone().map(caller).transpose()?;
        let row = Row { seq: Seq(seq), at, by, body: self.body(seq, fact)? };
        // Whatever a line could say that is not taken would be lost when it is handed on again.
        if super::record_line(&row, caller.as_ref()).as_deref() != Some(line) {
            return Err("it is not written as this program writes it".to_owned());
        }
        self.last = seq;
        Ok((row, caller))
    }

    /// After the last line: the job's name.
    ///
    /// # Errors
    /// No job was opened.
    pub fn job(&self) -> Result<&Name, String> {
        let (_, opened) = self.job.as_ref().ok_or("no job is opened in it")?;
        Ok(&opened.name)
    }

    fn its_job(&self) -> Understood<Seq> {
        self.job.as_ref().map(|(job, _)| *job).ok_or_else(|| "the job is not opened yet".to_owned())
    }

    fn attempt(&self, fact: &Fact) -> Understood<Seq> {
        before(&self.attempts, need(fact.attempt, "attempt")?, "attempt")
    }

    fn maybe_attempt(&self, fact: &Fact) -> Understood<Option<Seq>> {
        fact.attempt.map(|_| self.attempt(fact)).transpose()
    }

    fn alert(&self, fact: &Fact) -> Understood<Seq> {
        before(&self.alerts, need(fact.alert, "alert")?, "alert")
    }

    fn body(&mut self, seq: u64, fact: Fact) -> Understood<Body> {
        if fact.fact == "started" {
            return Ok(Body::Started { boot: need(fact.boot, "boot")? });
        }
        if fact.fact == "job-opened" {
            return self.opened(seq, fact);
        }
        let job = self.its_job()?;
        Ok(match fact.fact.as_str() {
            "job-closed" => {
                if std::mem::replace(&mut self.closed, true) {
                    return Err("the job is closed already".to_owned());
                }
                Body::JobClosed { job }
            }
            "job-reopened" => {
                if !std::mem::replace(&mut self.closed, false) {
                    return Err("the job is not closed above it".to_owned());
                }
                self.reopened += 1;
                if self.reopened > MOST_REOPENINGS {
                    return Err(format!(
                        "no job is opened again more than {MOST_REOPENINGS} times"
                    ));
                }
                let (_, opened) = self.job.as_ref().ok_or("no job")?;
                // What it was then follows from its rows; whoever stores this looks there.
                Body::JobReopened { job, restored: Arc::new(Job::new(Arc::clone(opened))) }
            }
            "attempt-began" => {
                self.attempts.insert(seq);
                Body::AttemptBegan(self.began(job, fact)?)
            }
            "reading" => {
                let reading = self.reading(job, fact)?;
                self.readings.insert(seq);
                Body::Reading(reading)
            }
            "alert-raised" => {
                let attempt = self.maybe_attempt(&fact)?;
                self.alerts.insert(seq);
                Body::AlertRaised(Arc::new(raised((job, attempt), fact)?))
            }
            "alert-seen" => Body::AlertSeen { alert: self.alert(&fact)? },
            "alert-cleared" => Body::AlertCleared { alert: self.alert(&fact)? },
            "file-taken" => {
                self.files.insert(seq);
                Body::FileTaken(Arc::new(file(fact)?))
            }
            "stack-placed" | "stack-taken" | "part-replaced" | "rule-changed" | "checked"
            | "went-on" | "noted" => self.of_assembly(job, fact)?,
            _ => self.of_attempt(fact)?,
        })
    }

    fn of_attempt(&self, fact: Fact) -> Understood<Body> {
        let attempt = self.attempt(&fact);
        Ok(match fact.fact.as_str() {
            "attempt-ended" => {
                let ending = known(fact.ending, "ending", words::ending)?;
                Body::AttemptEnded { attempt: attempt?, ending }
            }
            "marked" => Body::Marked {
                reading: before(&self.readings, need(fact.reading, "reading")?, "reading")?,
                attempt: attempt?,
                state: known(fact.state, "state", state)?,
                why: need(fact.why, "why")?,
            },
            "skipped" => Body::Skipped {
                attempt: attempt?,
                position: position(need(fact.position, "position")?)?,
                why: need(fact.why, "why")?,
            },
            "asked" => {
                let question = fact.question;
                let question = question.map(|text| known(Some(text), "question", words::question));
                Body::Asked { attempt: attempt?, question: question.transpose()? }
            }
            "master-next" => Body::MasterNext { attempt: attempt? },
            "answered" => Body::Answered { attempt: attempt?, text: need(fact.text, "text")? },
            kind @ ("seated" | "seating-taken-back") => Body::Seated {
                attempt: attempt?,
                seating: need(fact.seating, "seating")?,
                taken_back: kind == "seating-taken-back",
            },
            kind @ ("turn-begun" | "turn-dropped") => {
                Body::TurnUnderWay { attempt: attempt?, under_way: kind == "turn-begun" }
            }
            "swept" => {
                let at_us = body::in_order(need(fact.taps_us, "taps_us")?)?;
                let samples = position(need(fact.samples, "samples")?)?;
                Body::Swept { attempt: attempt?, taps: Arc::new(Taps { at_us, samples }) }
            }
            "verdict" => {
                let verdict = body::verdict(attempt?, need(fact.verdict, "verdict")?.get())?;
                let answers = verdict.answers.iter().map(|one| one.attempt);
                for one in answers.chain(verdict.combined.iter().copied()) {
                    before(&self.attempts, one.0, "attempt")?;
                }
                Body::Verdict(Arc::new(verdict))
            }
            other => return Err(format!("the fact {other:?} is not known")),
        })
    }

    fn of_assembly(&self, job: Seq, fact: Fact) -> Understood<Body> {
        if fact.fact == "noted" {
            return Ok(Body::Noted { job, text: need(fact.text, "text")? });
        }
        if fact.fact == "rule-changed" {
            let rule = known(fact.rule, "rule", words::rule)?;
            return Ok(Body::RuleChanged { job, rule, why: need(fact.why, "why")? });
        }
        if fact.fact == "checked" {
            return Ok(Body::Checked { job });
        }
        if fact.fact == "stack-taken" {
            return Ok(Body::StackTaken { job, stage: known(fact.stage, "stage", words::stage)? });
        }
        if fact.fact == "went-on" {
            return self.went_on(job, fact);
        }
        let part = need(fact.part, "part")?;
        self.parts()
            .get(usize::from(part))
            .ok_or_else(|| format!("the plan has no part {part}"))?;
        if fact.fact == "part-replaced" {
            let why = need(fact.why, "why")?;
            return Ok(Body::PartReplaced { job, part, serial: fact.serial, why });
        }
        let Fact { towards_nose, mark_deg, serial, .. } = fact;
        let stage = known(fact.stage, "stage", words::stage)?;
        let item = StackItem { part, towards_nose, mark_deg, serial };
        Ok(Body::StackPlaced { job, stage, item: Arc::new(item) })
    }

    fn went_on(&self, job: Seq, fact: Fact) -> Understood<Body> {
        let plan = self.job.as_ref().map(|(_, opened)| &opened.plan.plan);
        if let Some(part) = fact.part.filter(|part| usize::from(*part) >= self.parts().len()) {
            return Err(format!("the plan has no part {part}"));
        }
        let one = |(part, check, lack): (u16, u16, String)| {
            let at = CheckAt { part, check };
            if plan.and_then(|plan| plan.at(at)).is_none() {
                return Err(format!("the plan has no check {check} of a part {part}"));
            }
            Ok((at, known(Some(lack), "lack", words::lack)?))
        };
        let lacking = need(fact.lacking, "lacking")?.into_iter().map(one);
        let lacking = lacking.collect::<Understood<_>>()?;
        let went = WentOn { part: fact.part, lacking, why: need(fact.why, "why")? };
        Ok(Body::WentOn { job, went: Arc::new(went) })
    }

    fn parts(&self) -> &[bench::plan::Part] {
        self.job.as_ref().map_or(&[], |(_, opened)| &opened.plan.plan.parts)
    }

    fn opened(&mut self, seq: u64, fact: Fact) -> Understood<Body> {
        if self.job.is_some() {
            return Err("a second job is opened".to_owned());
        }
        let text = need(fact.plan, "plan")?;
        let plan = (self.parse)(&text).map_err(|why| format!("its plan cannot be read: {why}"))?;
        let opened = Arc::new(JobOpened {
            name: name(fact.name, "name")?,
            plan_name: name(fact.plan_name, "plan_name")?,
            plan: Arc::new(PinnedPlan { text, plan }),
            serial: fact.serial,
            customer: fact.customer,
            rule: known(fact.rule, "rule", words::rule)?,
        });
        self.job = Some((Seq(seq), Arc::clone(&opened)));
        Ok(Body::JobOpened(opened))
    }

    fn began(&self, job: Seq, fact: Fact) -> Understood<AttemptBegan> {
        let check = CheckAt { part: need(fact.part, "part")?, check: need(fact.check, "check")? };
        let CheckAt { part, check: at } = check;
        let plan = self.job.as_ref().map(|(_, opened)| &opened.plan.plan);
        if plan.and_then(|plan| plan.at(check)).is_none() {
            return Err(format!("the plan has no check {at} of a part {part}"));
        }
        Ok(AttemptBegan {
            job,
            check,
            number: need(fact.number, "number")?,
            reason: known(fact.reason, "reason", words::attempt_reason)?,
            grinds: fact.grinds.unwrap_or(false),
            pin: Arc::new(pin(&need(fact.pin, "pin")?)?),
            remark: fact.remark,
        })
    }

    fn reading(&self, job: Seq, fact: Fact) -> Understood<Reading> {
        let attempt = self.maybe_attempt(&fact)?;
        let source = match need(fact.source, "source")?.as_str() {
            "serial" => Source::Serial,
            "keyed" => Source::Keyed,
            "drop" => Source::Drop {
                file: before(&self.files, need(fact.file, "file")?, "file")?,
                line: need(fact.line, "line")?,
            },
            other => return Err(format!("its source is {other:?}, which is not known")),
        };
        let places = need(fact.places, "places")?;
        if places > MOST_PLACES {
            return Err(format!("no value has {places} places"));
        }
        let value = Quoted {
            length: Length::from_picometres(need(fact.pm, "pm")?),
            unit: known(fact.unit, "unit", words::unit)?,
            places,
        };
        Ok(Reading {
            job: Some(job),
            attempt,
            gauge: name(fact.gauge, "gauge")?,
            source,
            value,
            as_sent: need(fact.as_sent, "as_sent")?,
            state: known(fact.state, "state", state)?,
            why: fact.why,
            position: fact.position.map(position).transpose()?,
            measured_at: fact.measured_us.map(wall).transpose()?,
        })
    }
}

fn pin(written: &RawValue) -> Understood<Pin> {
    let pin = body::pin(written.get())?;
    if pin.engine > ENGINE {
        let known = format!("this program knows version {ENGINE}: use a newer tenths");
        return Err(format!("it is judged by version {} of the arithmetic, {known}", pin.engine));
    }
    Ok(pin)
}

fn before(those: &BTreeSet<u64>, row: u64, what: &str) -> Understood<Seq> {
    let missing = || format!("{what} {row} is not above it");
    those.contains(&row).then_some(Seq(row)).ok_or_else(missing)
}

/// The kinds that tell of a job. What tells of a gauge, a drop or the record belongs to a bench,
/// which takes it for its own and may clear it.
fn alert_kind(text: &str) -> Option<AlertKind> {
    use AlertKind as Kind;
    words::alert_kind(text).filter(|kind| match kind {
        Kind::Out
        | Kind::TurnLost
        | Kind::NotSeated
        | Kind::Undecided
        | Kind::OutSoFar
        | Kind::WildTouch
        | Kind::MostlyTilt
        | Kind::HalfTurn
        | Kind::NotClosed
        | Kind::Overdue
        | Kind::TooCoarse
        | Kind::OwnReturn
        | Kind::WrongPart
        | Kind::Pair
        | Kind::Regrind
        | Kind::PastFlat
        | Kind::WasGround
        | Kind::Stack
        | Kind::SetupChanged => true,
        Kind::UnitMixed
        | Kind::EndOfTravel
        | Kind::GaugeLost
        | Kind::DamagedFrames
        | Kind::Flooding
        | Kind::BatteryLow
        | Kind::FileRefused
        | Kind::FolderLost
        | Kind::Unclaimed
        | Kind::StorageFailing
        | Kind::SpaceLow
        | Kind::Scan
        | Kind::DeviceLost
        | Kind::Pedal
        | Kind::Foot
        | Kind::StreamStopped
        | Kind::EndedElsewhere
        | Kind::ReloadRefused
        | Kind::SocketLost
        | Kind::RecordBegun
        | Kind::RowsLost
        | Kind::RecordDamaged => false,
    })
}

fn raised((job, attempt): (Seq, Option<Seq>), fact: Fact) -> Understood<Alert> {
    Ok(Alert {
        level: known(fact.level, "level", words::level)?,
        kind: known(fact.kind, "kind", alert_kind).map_err(|what| format!("{what} of a job"))?,
        job: Some(job),
        attempt,
        about: fact.about,
        text: need(fact.text, "text")?,
    })
}

fn file(fact: Fact) -> Understood<FileSeen> {
    Ok(FileSeen {
        drop: name(fact.drop, "drop")?,
        name: need(fact.name, "name")?,
        digest: known(fact.blake3, "blake3", digest)?,
        bytes: need(fact.bytes, "bytes")?,
        rows: need(fact.rows, "rows")?,
        series: known(fact.series, "series", digest)?,
        went: known(fact.went, "went", digest)?,
        why: fact.why.unwrap_or_default(),
    })
}

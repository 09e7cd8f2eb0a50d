//! A fact as it is in the table: its content in the form of the core, and the columns it is searched by.
//!
//! No fact is described a second time here. Only two things are not stored word for word: the text of a
//! plan and the settings of an attempt are kept once for many facts, and a fact refers to them by digest.

use std::borrow::Cow;
use std::sync::Arc;

use rusqlite::types::ValueRef;
use serde::Serialize;

use super::read::{Book, Read, SqlRow, damaged, name, reference};
use super::write::{int, seq};
use bench::row::{AttemptBegan, Body, JobOpened, LogWentOn, Pin, SpeedStep, Subject, Temperature};
use bench::{ParsePlan, Row, Seq};
use quantity::{Name, Stamp, Wall, hexadecimal};

/// Why a fact could not be written or understood; the text names the part.
pub(super) type Faulty = String;

/// The columns, in their order.
pub(super) const COLUMNS: usize = 11;

fn json(value: &impl Serialize) -> Result<String, Faulty> {
    serde_json::to_string(value).map_err(|error| error.to_string())
}

/// The settings that an attempt is judged with. Equal settings give equal text.
pub(super) fn pin_text(pin: &Pin) -> Result<String, Faulty> {
    json(pin)
}

/// The subject of an alert. Equal subjects give equal text.
pub(super) fn subject_text(subject: &Subject) -> String {
    json(subject).expect("names and numbers")
}

/// A text to which facts refer by its digest.
pub(super) struct Pinned {
    pub(super) digest: [u8; 32],
    pub(super) text: String,
}

impl Pinned {
    fn new(text: String) -> Self {
        Self { digest: *blake3::hash(text.as_bytes()).as_bytes(), text }
    }
}

/// The stored content of a fact, and the text that it refers to by digest.
pub(super) fn stored(body: &Body) -> Result<(String, Option<Pinned>), Faulty> {
    if let Body::JobOpened(opened) = body {
        let plan = Pinned::new(opened.plan.text.clone());
        let text = json(&opened.with_plan(hexadecimal(&plan.digest)))?;
        return Ok((text, Some(plan)));
    }
    if let Body::AttemptBegan(began) = body {
        let pin = Pinned::new(pin_text(&began.pin)?);
        let text = json(&began.with_pin(hexadecimal(&pin.digest)))?;
        return Ok((text, Some(pin)));
    }
    Ok((json(body)?, None))
}

/// The digest of the text that a stored fact refers to; none where it refers to none, or cannot be read.
pub(super) fn digest_in(kind: &str, body: &str) -> Option<[u8; 32]> {
    let digest = match kind {
        "job-opened" => serde_json::from_str::<JobOpened<String>>(body).ok()?.plan,
        "attempt-began" => serde_json::from_str::<AttemptBegan<String>>(body).ok()?.pin,
        _ => return None,
    };
    quantity::from_hexadecimal(&digest)
}

/// The columns by which a fact is searched.
#[derive(Clone, PartialEq, Eq, Default)]
pub(super) struct Whose<'a> {
    /// For a fact of an attempt the table uses the job of the attempt.
    pub(super) job: Option<Seq>,
    pub(super) attempt: Option<Seq>,
    pub(super) about: Option<Seq>,
    pub(super) key: Option<Cow<'a, str>>,
    /// Whether it only says what a station has on its screen, and nothing about that attempt.
    pub(super) on_screen: bool,
}

impl<'a> Whose<'a> {
    /// The search columns of the fact with this number.
    pub(super) fn of(id: Seq, body: &'a Body) -> Self {
        let of = Self::default();
        let of_job = |job: Seq| Self { job: Some(job), ..Self::default() };
        let of_attempt = |attempt: Seq| Self { attempt: Some(attempt), ..Self::default() };
        let key = |key: &'a str| Some(Cow::Borrowed(key));
        let on = |station: &'a Name| Self { on_screen: true, ..Self::by(station) };
        match body {
            Body::Started { .. } | Body::Reading(_) | Body::FileTaken(_) | Body::FileRefused(_) => {
                of
            }
            Body::JobOpened(opened) => Self { key: key(opened.name.as_str()), ..of_job(id) },
            Body::JobActive { station, job } => Self { job: *job, ..on(station) },
            Body::PersonAt { station, .. } => on(station),
            Body::Repeated(seen) => Self { key: key(seen.gauge.as_str()), ..of },
            Body::CheckActive { station, attempt } => Self { attempt: *attempt, ..on(station) },
            Body::JobClosed { job }
            | Body::JobReopened { job }
            | Body::StackPlaced { job, .. }
            | Body::StackTaken { job, .. }
            | Body::SpotMarked { job, .. }
            | Body::PartReplaced { job, .. }
            | Body::WentOn { job, .. }
            | Body::RuleChanged { job, .. }
            | Body::Signed { job, .. }
            | Body::Intake { job, .. }
            | Body::JobEdited { job, .. }
            | Body::Decided { job, .. }
            | Body::Serial { job, .. }
            | Body::Noted { job, .. } => of_job(*job),
            // By the name of its file.
            Body::Attached(attached) => {
                Self { key: Some(Cow::Owned(attached.paper.kept_as())), ..of_job(attached.job) }
            }
            Body::AttachedTakenBack { job, attached, .. } => {
                Self { about: Some(*attached), ..of_job(*job) }
            }
            Body::AttemptBegan(began) => {
                let gauge = began.pin.gauge.as_ref();
                Self { key: gauge.and_then(|gauge| key(gauge.name.as_str())), ..of_job(began.job) }
            }
            Body::AttemptEnded { attempt, .. }
            | Body::Skipped { attempt, .. }
            | Body::Asked { attempt, .. }
            | Body::MasterNext { attempt }
            | Body::Seated { attempt, .. }
            | Body::TurnUnderWay { attempt, .. }
            | Body::Swept { attempt, .. }
            | Body::Answered { attempt, .. }
            | Body::SpeedStep(SpeedStep { attempt, .. })
            | Body::LogWentOn(LogWentOn { attempt, .. })
            | Body::Temperature(Temperature { attempt, .. }) => of_attempt(*attempt),
            Body::Marked { reading, attempt, .. } => {
                Self { about: Some(*reading), attempt: *attempt, ..of }
            }
            // By the gauge, or whatever it is.
            Body::ProofBegan(began) => Self { key: key(began.gauge.name.as_str()), ..of },
            Body::Proved(proved) => Self { key: key(proved.name().as_str()), ..of },
            Body::Registered(entry) => Self { key: key(entry.name.as_str()), ..of },
            Body::Verdict(verdict) => {
                Self { key: key(verdict.word.text()), ..of_attempt(verdict.attempt) }
            }
            Body::AlertRaised(alert) => Self {
                job: alert.job,
                attempt: alert.attempt,
                key: alert.about.as_ref().map(|about| Cow::Owned(subject_text(about))),
                ..of
            },
            Body::AlertSeen { alert } | Body::AlertCleared { alert } => {
                Self { about: Some(*alert), ..of }
            }
        }
    }

    /// A fact that is searched by a name alone.
    fn by(name: &'a Name) -> Self {
        Self { key: Some(Cow::Borrowed(name.as_str())), ..Self::default() }
    }

    /// Whether the job in the table is that of the attempt.
    pub(super) fn has_the_attempts_job(&self) -> bool {
        self.attempt.is_some() && self.job.is_none() && !self.on_screen
    }
}

/// Whether a fact appears in the feed.
pub(super) const fn is_told(body: &Body) -> bool {
    matches!(
        body,
        Body::Verdict(_)
            | Body::AlertRaised(_)
            | Body::AlertSeen { .. }
            | Body::AlertCleared { .. }
    )
}

/// A row of the table, column by column.
#[derive(Clone, Copy)]
pub(super) struct Columns<'v> {
    pub(super) seq: i64,
    pub(super) wall: i64,
    pub(super) mono: i64,
    pub(super) by_whom: Option<&'v str>,
    pub(super) job: Option<i64>,
    pub(super) attempt: Option<i64>,
    pub(super) about: Option<i64>,
    pub(super) key: Option<&'v str>,
    pub(super) line: Option<i64>,
    pub(super) kind: &'v str,
    pub(super) body: &'v str,
}

impl<'v> Columns<'v> {
    /// Those of a fact of this bench: of its job, with its line of the feed.
    pub(super) fn of(
        row: &'v Row,
        whose: &'v Whose<'_>,
        (job, line): (Option<Seq>, Option<u64>),
        body: &'v str,
    ) -> Self {
        Self {
            seq: int(row.seq),
            wall: row.at.wall.micros(),
            mono: row.at.mono_us.cast_signed(),
            by_whom: row.by.as_ref().map(Name::as_str),
            job: job.map(int),
            attempt: whose.attempt.map(int),
            about: whose.about.map(int),
            key: whose.key.as_deref(),
            line: line.map(u64::cast_signed),
            kind: row.body.kind(),
            body,
        }
    }

    /// Their values, in their order.
    pub(super) fn values(self) -> [ValueRef<'v>; COLUMNS] {
        let number = |number: Option<i64>| number.map_or(ValueRef::Null, ValueRef::Integer);
        let text = |text: &'v str| ValueRef::Text(text.as_bytes());
        let maybe = |one: Option<&'v str>| one.map_or(ValueRef::Null, text);
        [
            ValueRef::Integer(self.seq),
            ValueRef::Integer(self.wall),
            ValueRef::Integer(self.mono),
            maybe(self.by_whom),
            number(self.job),
            number(self.attempt),
            number(self.about),
            maybe(self.key),
            number(self.line),
            text(self.kind),
            text(self.body),
        ]
    }
}

/// The person of a row.
pub(super) fn by_whom(id: Seq, row: &SqlRow<'_>) -> Read<Option<Name>> {
    let by: Option<String> = row.get("by_whom")?;
    by.filter(|by| !by.is_empty()).map(|by| name(id, &by)).transpose()
}

/// Reads a fact from a row of the table; the columns must agree with its content. The state of a reopened
/// job is left out.
pub(super) fn row(book: Book<'_>, row: &SqlRow<'_>) -> Read<Row> {
    let id = seq(row.get("seq")?);
    let mono: i64 = row.get("mono")?;
    let at = Stamp { wall: Wall::from_micros(row.get("wall")?), mono_us: mono.cast_unsigned() };
    let kind: String = row.get("kind")?;
    let text = row.get_ref("body")?.as_str().map_err(rusqlite::Error::from)?;
    let body = body(book, id, (&kind, text))?;
    let whose = Whose::of(id, &body);
    let [job, attempt, about] = ["job", "attempt", "about"].map(|column| reference(row, column));
    let key = row.get_ref("key")?.as_str_or_null().map_err(rusqlite::Error::from)?;
    let free = whose.has_the_attempts_job() || matches!(body, Body::Started { .. });
    let is_its = whose.attempt == attempt?
        && whose.about == about?
        && whose.key.as_deref() == key
        && (job? == whose.job || free);
    if !is_its {
        return Err(damaged(id, format!("{kind}: its columns do not agree with its content")));
    }
    let by = by_whom(id, row)?;
    Ok(Row { seq: id, at, by, body, restored: None })
}

/// The content of a fact, from its word and its stored form.
fn body(book: Book<'_>, id: Seq, (kind, text): (&str, &str)) -> Read<Body> {
    let wrong = |error: serde_json::Error| damaged(id, format!("{kind}: {error}"));
    if kind == "job-opened" {
        let opened: JobOpened<String> = serde_json::from_str(text).map_err(wrong)?;
        let plan = book.plan(id, &opened.plan)?;
        return Ok(Body::JobOpened(Arc::new(opened.with_plan(plan))));
    }
    if kind == "attempt-began" {
        let began: AttemptBegan<String> = serde_json::from_str(text).map_err(wrong)?;
        let pin = book.pin(id, &began.pin)?;
        return Ok(Body::AttemptBegan(began.with_pin(pin)));
    }
    let no_plan: ParsePlan = |_| Err("no plan stands here".to_owned());
    let mut from = serde_json::Deserializer::from_str(text);
    let body = Body::read(kind, &mut from, no_plan).and_then(|body| from.end().map(|()| body));
    let body = body.map_err(wrong)?;
    if let Some(Body::AlertRaised(alert)) = &body
        && let Some(what) = alert.is_beside_its_kind()
    {
        return Err(damaged(id, what));
    }
    match body {
        Some(body) if !matches!(body, Body::Reading(_)) => Ok(body),
        Some(_) | None => Err(damaged(id, format!("there is no fact {kind:?}"))),
    }
}

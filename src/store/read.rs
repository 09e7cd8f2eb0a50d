//! Tables back into rows.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rusqlite::{CachedStatement, Connection, OptionalExtension};

use super::verify::whole;
use super::write::{int, seq};
use super::{StoreError, body, compact, handover, query, step};
use bench::plan::{CheckAt, PinnedPlan, Plan};
use bench::row::{
    Alert, AlertKind, AttemptBegan, AttemptReason, Body, FileSeen, JobOpened, Level, Piece, Pin,
    Subject,
};
use bench::{Row, Seq};
use judgement::Rule;
use quantity::{Name, Stamp, Wall};

/// Reads the text of a pinned plan; the error says what is wrong with it.
pub use bench::ParsePlan;

/// Reads a pinned plan as the configuration reads plans.
pub(super) fn parse_pinned(text: &str) -> Result<Plan, String> {
    config::parse_plan(text, "its plan").map_err(|findings| {
        let findings: Vec<String> = findings.iter().map(ToString::to_string).collect();
        findings.join("; ")
    })
}

/// Plans and pins that were read already: many rows share one.
pub(super) struct Shared {
    parse: ParsePlan,
    /// What answers to questions have in common.
    pub(super) known: query::Known,
    plans: RefCell<BTreeMap<i64, Arc<PinnedPlan>>>,
    pins: RefCell<BTreeMap<i64, Arc<Pin>>>,
    /// What answers about several jobs could not hold, until it is told.
    left_out: RefCell<Vec<SetAside>>,
}

impl Shared {
    pub(super) const fn new(parse: ParsePlan) -> Self {
        let plans = RefCell::new(BTreeMap::new());
        let known = query::Known::new();
        let pins = RefCell::new(BTreeMap::new());
        Self { parse, known, plans, pins, left_out: RefCell::new(Vec::new()) }
    }

    pub(super) const fn parse(&self) -> ParsePlan {
        self.parse
    }

    /// What was left out of answers since this was asked last.
    pub(super) fn left_out(&self) -> Vec<SetAside> {
        self.left_out.take()
    }
}

/// Something that cannot be read back at start and is left out until the record is mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// What it is.
    pub what: Piece,
    /// The sentence: table, row and what is wrong with it.
    pub why: String,
}

/// An open database as rows.
#[derive(Clone, Copy)]
pub(super) struct Book<'a> {
    pub(super) conn: &'a Connection,
    pub(super) shared: &'a Shared,
}

/// Which rows of a table: a condition on its columns with one number, `?1`.
#[derive(Clone, Copy)]
pub(super) struct Which<'a>(pub(super) &'a str, pub(super) i64);

pub(super) const ALL: &str = "?1 = 0";

pub(super) type Read<T> = Result<T, StoreError>;
pub(super) type SqlRow<'a> = rusqlite::Row<'a>;

pub(super) fn damaged(row: Seq, what: impl Into<String>) -> StoreError {
    StoreError::Damaged { row, what: what.into() }
}

/// The value a stored word stands for.
pub(super) fn known<T>(row: Seq, what: &str, text: &str, found: Option<T>) -> Read<T> {
    found.ok_or_else(|| damaged(row, format!("{what} {text:?}")))
}

pub(super) fn name(row: Seq, text: &str) -> Read<Name> {
    Name::new(text).map_err(|error| damaged(row, format!("name {text:?}: {error}")))
}

pub(super) fn number<T: TryFrom<i64>>(row: Seq, what: &str, value: i64) -> Read<T> {
    T::try_from(value).map_err(|_| damaged(row, format!("{what} {value}")))
}

/// A column that cannot be what it holds is damage to a row, not to the whole database.
pub(super) fn placed(error: StoreError, row: &SqlRow<'_>) -> StoreError {
    placed_at(error, row.get("seq").map_or(Seq(0), seq))
}

/// The same, where the row is known otherwise.
#[expect(clippy::wildcard_enum_match_arm, reason = "all other errors are told as they are")]
pub(super) fn placed_at(error: StoreError, id: Seq) -> StoreError {
    use rusqlite::Error::{
        FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, QueryReturnedNoRows,
        Utf8Error,
    };
    match &error {
        StoreError::Database(
            column @ (FromSqlConversionFailure(..)
            | IntegralValueOutOfRange(..)
            | InvalidColumnType(..)
            | Utf8Error(..)),
        ) => damaged(id, column.to_string()),
        StoreError::Database(QueryReturnedNoRows) => {
            damaged(id, "something that it points to is missing")
        }
        _ => error,
    }
}

/// What every row has, whatever it says.
pub(super) struct Head {
    pub(super) id: Seq,
    at: Stamp,
    by: Option<Name>,
}

impl Head {
    pub(super) fn of(row: &SqlRow<'_>) -> Read<Self> {
        let mono: i64 = row.get("mono")?;
        let wall = Wall::from_micros(row.get("wall")?);
        let (id, at) = (seq(row.get("seq")?), Stamp { wall, mono_us: mono.cast_unsigned() });
        Ok(Self { id, at, by: by_whom(id, row)? })
    }

    pub(super) fn row(self, body: Body) -> Row {
        Row { seq: self.id, at: self.at, by: self.by, body, restored: None }
    }
}

/// Who did a row.
pub(super) fn by_whom(id: Seq, row: &SqlRow<'_>) -> Read<Option<Name>> {
    let by: Option<String> = row.get("by_whom")?;
    by.filter(|by| !by.is_empty()).map(|by| name(id, &by)).transpose()
}

pub(super) fn reference(row: &SqlRow<'_>, column: &str) -> Read<Option<Seq>> {
    Ok(row.get::<_, Option<i64>>(column)?.map(seq))
}

impl Book<'_> {
    /// Everything, in order.
    pub(super) fn all_rows(self) -> Read<Vec<Row>> {
        let all = Which(ALL, 0);
        let mut rows = self.job_tables(all, all, all)?;
        self.reopened(all, &mut rows)?;
        rows.extend(self.alerts(all)?);
        rows.extend(self.alert_steps(all)?);
        rows.extend(self.steps("kind NOT IN ('job-reopened') AND ?1 = 0", 0)?);
        rows.extend(self.files(all)?);
        rows.sort_by_key(|row| row.seq);
        Ok(rows)
    }

    /// An error with the table of the row that is damaged.
    pub(super) fn named(self, error: StoreError) -> StoreError {
        let StoreError::Damaged { row, what } = error else { return error };
        match whole::table_of(self, row) {
            Some(table) => StoreError::DamagedIn { table, row, what },
            None => StoreError::Damaged { row, what },
        }
    }

    /// What a bench must be rebuilt from: open jobs, stations, open alerts, the boot. A job that
    /// cannot be read back is set aside; so is an alert that cannot.
    pub(super) fn open_rows(self) -> Read<(Vec<Row>, Vec<SetAside>)> {
        let (mut rows, mut aside) = (Vec::new(), Vec::new());
        for job in self.open_jobs()? {
            match self.job_rows(job) {
                Ok(of_job) => rows.extend(of_job),
                Err(error) if error.passes() => return Err(error),
                Err(error) => aside.push(self.set_aside(job, error)),
            }
        }
        let lost = "SELECT DISTINCT job FROM attempt a
            WHERE NOT EXISTS (SELECT 1 FROM job j WHERE j.seq = a.job)";
        for job in self.numbers(lost)? {
            let why = format!("the record is damaged: job, row {job}: it is missing");
            aside.push(SetAside { what: Piece::Row(job), why });
        }
        let numbers = "SELECT seq FROM alert WHERE cleared_by IS NULL ORDER BY seq";
        for alert in self.numbers(numbers)? {
            let seq = int(alert);
            let read = self.alerts(Which("t.seq = ?1", seq)).and_then(|mut rows| {
                rows.extend(self.alert_steps(Which("t.alert = ?1", seq))?);
                Ok(rows)
            });
            match read {
                Ok(of_alert) => rows.extend(of_alert),
                Err(error) if error.passes() => return Err(error),
                Err(error) => {
                    let (what, why) = (Piece::Alert(alert), self.named(error).to_string());
                    aside.push(SetAside { what, why });
                }
            }
        }
        rows.extend(handover::came_along(self)?);
        let newest = "SELECT max(seq) FROM step WHERE station IS NOT NULL GROUP BY station, kind
            UNION SELECT max(seq) FROM step WHERE kind = 'started' AND job IS NULL
            HAVING max(seq) IS NOT NULL";
        for step in self.numbers(newest)? {
            match self.steps("seq = ?1", int(step)) {
                Ok(steps) => rows.extend(steps),
                Err(error) if error.passes() => return Err(error),
                // Without it no job is in use at its station, which a person sees and mends.
                Err(error) => {
                    let (what, why) = (Piece::Stations, self.named(error).to_string());
                    aside.push(SetAside { what, why });
                }
            }
        }
        rows.sort_by_key(|row| row.seq);
        Ok((rows, aside))
    }

    /// Leaves something that is damaged out of an answer, which is told; all other errors stay.
    pub(super) fn leave_out(self, job: Option<Seq>, error: StoreError) -> Read<()> {
        if error.passes() {
            return Err(error);
        }
        let aside = match job {
            Some(job) => self.set_aside(job, error),
            None => SetAside { what: Piece::Elsewhere, why: self.named(error).to_string() },
        };
        let mut left_out = self.shared.left_out.borrow_mut();
        if !left_out.iter().any(|known| known.why == aside.why) {
            left_out.push(aside);
        }
        Ok(())
    }

    /// A job that cannot be read back, by its name where that can be read.
    fn set_aside(self, job: Seq, error: StoreError) -> SetAside {
        let sql = "SELECT name FROM job WHERE seq = ?1";
        let name = self.conn.query_row(sql, [int(job)], |row| row.get::<_, String>(0));
        let name = name.ok().and_then(|name| Name::new(&name).ok());
        let what = name.map_or(Piece::Row(job), Piece::Job);
        SetAside { what, why: self.named(error).to_string() }
    }

    fn open_jobs(self) -> Read<Vec<Seq>> {
        self.numbers("SELECT seq FROM job WHERE closed_by IS NULL ORDER BY seq")
    }

    fn numbers(self, sql: &str) -> Read<Vec<Seq>> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let jobs = statement.query_map([], |row| row.get(0).map(seq))?;
        Ok(jobs.collect::<Result<_, _>>()?)
    }

    /// The rows of one job, in order, from the one that opened it. Left out: what a station
    /// worked on, closings and reopenings, which say nothing of the job itself.
    pub(super) fn job_rows(self, job: Seq) -> Read<Vec<Row>> {
        let own = Which("t.job = ?1", int(job));
        let readings = Which("t.short = (SELECT short FROM job WHERE seq = ?1)", int(job));
        let mut rows = self.job_tables(Which("t.seq = ?1", int(job)), own, readings)?;
        let steps = "job = ?1 AND kind NOT IN
            ('started', 'job-active', 'job-closed', 'job-reopened')";
        rows.extend(self.steps(steps, int(job))?);
        rows.sort_by_key(|row| row.seq);
        belong_together(job, &rows)?;
        Ok(rows)
    }

    /// The tables that only jobs fill, readings apart.
    pub(super) fn of_jobs(self, which: Which<'_>) -> Read<Vec<Row>> {
        let mut rows = self.jobs(which)?;
        rows.extend(self.attempts(which)?);
        rows.extend(self.marks(which)?);
        rows.extend(self.verdicts(which)?);
        Ok(rows)
    }

    /// The tables that only jobs fill, and readings without a job.
    fn job_tables(self, job: Which<'_>, own: Which<'_>, readings: Which<'_>) -> Read<Vec<Row>> {
        let mut rows = self.jobs(job)?;
        rows.extend(self.attempts(own)?);
        rows.extend(self.readings(readings)?);
        rows.extend(self.marks(own)?);
        rows.extend(self.verdicts(own)?);
        Ok(rows)
    }

    pub(super) fn select<T>(
        self,
        sql: &str,
        value: i64,
        mut decode: impl FnMut(&SqlRow<'_>) -> Read<T>,
    ) -> Read<Vec<T>> {
        let mut statement: CachedStatement<'_> = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query([value])?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(decode(row).map_err(|error| placed(error, row))?);
        }
        Ok(found)
    }

    fn jobs(self, which: Which<'_>) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM job t WHERE {}", which.0), which.1, |row| {
            let head = Head::of(row)?;
            let id = head.id;
            let opened = JobOpened {
                name: name(id, &row.get::<_, String>("name")?)?,
                plan_name: name(id, &row.get::<_, String>("plan_name")?)?,
                plan: self.plan(id, row.get("plan")?)?,
                serial: row.get("serial")?,
                customer: row.get("customer")?,
                rule: {
                    let rule: String = row.get("rule")?;
                    known(id, "rule", &rule, Rule::parse(&rule))?
                },
            };
            Ok(head.row(Body::JobOpened(Arc::new(opened))))
        })
    }

    /// A plan by its place in the table, parsed once.
    pub(super) fn plan(self, job: Seq, id: i64) -> Read<Arc<PinnedPlan>> {
        if let Some(plan) = self.shared.plans.borrow().get(&id) {
            return Ok(Arc::clone(plan));
        }
        let wrong = |why: &str| damaged(job, format!("its plan (plan {id}) {why}"));
        let found = self
            .conn
            .prepare_cached("SELECT text, digest FROM plan WHERE id = ?1")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()
            .map_err(|error| placed_at(error.into(), job))?;
        let (text, digest): (String, Vec<u8>) = found.ok_or_else(|| wrong("is missing"))?;
        if digest != blake3::hash(text.as_bytes()).as_bytes() {
            return Err(wrong("is not the text that it was opened with"));
        }
        let plan =
            (self.shared.parse)(&text).map_err(|why| wrong(&format!("cannot be read: {why}")))?;
        let pinned = Arc::new(PinnedPlan { text, plan });
        self.shared.plans.borrow_mut().insert(id, Arc::clone(&pinned));
        Ok(pinned)
    }

    /// What an attempt is judged with, read once.
    pub(super) fn pin(self, attempt: Seq, id: i64) -> Read<Arc<Pin>> {
        if let Some(pin) = self.shared.pins.borrow().get(&id) {
            return Ok(Arc::clone(pin));
        }
        let text: String = self
            .conn
            .prepare_cached("SELECT body FROM pin WHERE id = ?1")?
            .query_row([id], |row| row.get(0))
            .map_err(|error| placed_at(error.into(), attempt))?;
        let pin = Arc::new(body::pin(&text).map_err(|what| {
            damaged(attempt, format!("what it is judged with (pin {id}): {what}"))
        })?);
        self.shared.pins.borrow_mut().insert(id, Arc::clone(&pin));
        Ok(pin)
    }

    fn attempts(self, which: Which<'_>) -> Read<Vec<Row>> {
        let remark = "(SELECT text FROM attempt_remark r WHERE r.attempt = t.seq) AS remark";
        let sql = format!("SELECT t.*, {remark} FROM attempt t WHERE {}", which.0);
        self.select(&sql, which.1, |row| {
            let head = Head::of(row)?;
            let id = head.id;
            let reason: String = row.get("reason")?;
            let began = AttemptBegan {
                job: seq(row.get("job")?),
                check: CheckAt { part: row.get("part")?, check: row.get("chk")? },
                number: row.get("number")?,
                reason: known(id, "reason", &reason, AttemptReason::parse(&reason))?,
                grinds: row.get("grinds")?,
                pin: self.pin(id, row.get("pin")?)?,
                remark: row.get("remark")?,
            };
            Ok(head.row(Body::AttemptBegan(began)))
        })
    }

    fn readings(self, which: Which<'_>) -> Read<Vec<Row>> {
        let sql = format!("{} WHERE {}", compact::READINGS, which.0);
        self.select(&sql, which.1, compact::reading)
    }

    fn marks(self, which: Which<'_>) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM mark t WHERE {}", which.0), which.1, |row| {
            let head = Head::of(row)?;
            let id = head.id;
            let state: i64 = row.get("state")?;
            let body = Body::Marked {
                reading: seq(row.get("reading")?),
                attempt: seq(row.get("attempt")?),
                state: known(id, "state", &state.to_string(), compact::state(state))?,
                why: row.get("why")?,
            };
            Ok(head.row(body))
        })
    }

    fn verdicts(self, which: Which<'_>) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM verdict t WHERE {}", which.0), which.1, |row| {
            let head = Head::of(row)?;
            Ok(head.row(Body::Verdict(Arc::new(verdict(row)?))))
        })
    }

    pub(super) fn alerts(self, which: Which<'_>) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM alert t WHERE {}", which.0), which.1, alert_row)
    }

    pub(super) fn alert_steps(self, which: Which<'_>) -> Read<Vec<Row>> {
        let sql = format!("SELECT * FROM alert_step t WHERE {}", which.0);
        self.select(&sql, which.1, alert_step_row)
    }

    pub(super) fn files(self, which: Which<'_>) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM file t WHERE {}", which.0), which.1, file_row)
    }

    pub(super) fn steps(self, which: &str, value: i64) -> Read<Vec<Row>> {
        self.select(&format!("SELECT * FROM step WHERE {which}"), value, step_row)
    }
}

pub(super) fn alert_row(row: &SqlRow<'_>) -> Read<Row> {
    let head = Head::of(row)?;
    Ok(head.row(Body::AlertRaised(Arc::new(alert(row)?))))
}

pub(super) fn alert_step_row(row: &SqlRow<'_>) -> Read<Row> {
    let head = Head::of(row)?;
    let id = head.id;
    let alert = seq(row.get("alert")?);
    let what: String = row.get("what")?;
    let body = match what.as_str() {
        "seen" => Body::AlertSeen { alert },
        "cleared" => Body::AlertCleared { alert },
        _ => return Err(damaged(id, format!("alert {what:?}"))),
    };
    Ok(head.row(body))
}

pub(super) fn file_row(row: &SqlRow<'_>) -> Read<Row> {
    let head = Head::of(row)?;
    let id = head.id;
    let bytes: i64 = row.get("bytes")?;
    let seen = Arc::new(FileSeen {
        drop: name(id, &row.get::<_, String>("drop_name")?)?,
        name: row.get("name")?,
        digest: row.get("digest")?,
        bytes: bytes.cast_unsigned(),
        rows: row.get("lines")?,
        series: row.get("series")?,
        went: row.get("went")?,
        why: row.get("why")?,
    });
    let taken: bool = row.get("taken")?;
    let body = if taken { Body::FileTaken(seen) } else { Body::FileRefused(seen) };
    Ok(head.row(body))
}

pub(super) fn step_row(row: &SqlRow<'_>) -> Read<Row> {
    let head = Head::of(row)?;
    let id = head.id;
    Ok(head.row(step::body_of(id, row)?))
}

/// Whether the rows of a job point to each other as they do when they are written.
fn belong_together(job: Seq, rows: &[Row]) -> Read<()> {
    let (mut plan, mut readings) = (None, BTreeSet::new());
    let mut attempts = BTreeSet::new();
    for row in rows {
        if let Body::JobOpened(opened) = &row.body {
            plan = Some(&opened.plan.plan);
        } else if let Body::Reading(reading) = &row.body {
            readings.insert(row.seq);
            if reading.job != Some(job) {
                return Err(damaged(row.seq, "it is of another job"));
            }
        } else if let Body::AttemptBegan(began) = &row.body {
            attempts.insert(row.seq);
            if plan.is_none_or(|plan| plan.at(began.check).is_none()) {
                return Err(damaged(row.seq, "its check is not in the plan of its job"));
            }
        } else if let Body::Marked { reading, .. } = &row.body
            && !readings.contains(reading)
        {
            return Err(damaged(row.seq, "its reading is missing, or is of another job"));
        }
        if of_attempt(&row.body).is_some_and(|attempt| !attempts.contains(&attempt)) {
            return Err(damaged(row.seq, "its attempt is missing, or is of another job"));
        }
    }
    if plan.is_none() {
        return Err(damaged(job, "the row that opened the job is missing"));
    }
    Ok(())
}

/// The attempt that a row is about; none of what a station has on its screen.
fn of_attempt(body: &Body) -> Option<Seq> {
    if let Body::Reading(reading) = body {
        return reading.attempt;
    }
    if let Body::Verdict(verdict) = body {
        return Some(verdict.attempt);
    }
    if let Body::AttemptEnded { attempt, .. }
    | Body::Marked { attempt, .. }
    | Body::Skipped { attempt, .. }
    | Body::Asked { attempt, .. }
    | Body::MasterNext { attempt }
    | Body::Seated { attempt, .. }
    | Body::TurnUnderWay { attempt, .. }
    | Body::Swept { attempt, .. }
    | Body::Answered { attempt, .. } = body
    {
        return Some(*attempt);
    }
    None
}

/// A verdict from a row of its table.
pub(super) fn verdict(row: &SqlRow<'_>) -> Read<bench::verdict::Verdict> {
    let id = seq(row.get("seq")?);
    let word: String = row.get("word")?;
    let text: String = row.get("body")?;
    let verdict =
        body::verdict(seq(row.get("attempt")?), &text).map_err(|what| damaged(id, what))?;
    if verdict.word.text() == word {
        return Ok(verdict);
    }
    Err(damaged(id, format!("its word is {word:?}, the verdict says {:?}", verdict.word.text())))
}

fn subject(id: Seq, text: Option<String>) -> Read<Option<Subject>> {
    let read = |text: String| body::subject(&text).map_err(|what| damaged(id, what));
    text.map(read).transpose()
}

/// An alert from a row of its table.
pub(super) fn alert(row: &SqlRow<'_>) -> Read<Alert> {
    let id = seq(row.get("seq")?);
    let (level, kind): (String, String) = (row.get("level")?, row.get("kind")?);
    let kind = known(id, "kind", &kind, AlertKind::parse(&kind))?;
    let alert = Alert {
        level: known(id, "level", &level, Level::parse(&level))?,
        kind,
        job: reference(row, "job")?,
        attempt: reference(row, "attempt")?,
        about: subject(id, row.get("about")?)?,
        position: row.get("position")?,
        text: row.get("text")?,
    };
    alert.is_beside_its_kind().map_or(Ok(alert), |what| Err(damaged(id, what)))
}

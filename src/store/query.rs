//! Questions to the record, answered with names and places.

mod jobs;
mod place;
mod swept;

use std::collections::BTreeMap;
use std::sync::Arc;

use rusqlite::types::Value;
use rusqlite::{OptionalExtension, params_from_iter};

use super::compact::{self, READINGS};
use super::read::{self, Book};
use super::write::{int, seq};
use super::{
    AlertRecord, CheckPlace, Filter, Place, ReadingRecord, ReadingSource, StoreError,
    VerdictRecord, near, words,
};
use crate::bench::plan::{Check, CheckAt, Detail, Part, PinnedPlan, Swept};
use crate::bench::row::{Body, Pin, Reading, Source};
use crate::bench::sweep::Taps;
use crate::bench::{Row, Seq};
use crate::quantity::{Name, Wall};

pub(super) use self::jobs::jobs;
use self::place::{has_angles, station_of};

type Found<T> = Result<T, StoreError>;

/// Conditions of a query, with their values in order.
#[derive(Default)]
struct Where {
    conditions: Vec<String>,
    values: Vec<Value>,
}

impl Where {
    /// Adds a condition that holds one `?`.
    fn and(&mut self, condition: &str, value: impl Into<Value>) {
        self.conditions.push(condition.to_owned());
        self.values.push(value.into());
    }

    /// Adds a condition without a value.
    fn plain(&mut self, condition: String) {
        self.conditions.push(condition);
    }

    fn times(&mut self, wall: &str, filter: &Filter) {
        if let Some(since) = filter.since {
            self.and(&format!("{wall} >= ?"), since.micros());
        }
        if let Some(until) = filter.until {
            self.and(&format!("{wall} < ?"), until.micros());
        }
    }

    /// The whole query, newest first, so that a limit keeps the newest.
    fn sql(&self, select: &str, filter: &Filter) -> String {
        let all = if self.conditions.is_empty() { "1" } else { &self.conditions.join(" AND ") };
        let limit = filter.last.map_or_else(String::new, |last| format!(" LIMIT {last}"));
        format!("{select} WHERE {all} ORDER BY t.seq DESC{limit}")
    }
}

fn collect<T>(
    book: Book<'_>,
    (select, conditions): (&str, &Where),
    filter: &Filter,
    mut decode: impl FnMut(&rusqlite::Row<'_>) -> Found<T>,
) -> Found<Vec<T>> {
    let mut statement = book.conn.prepare(&conditions.sql(select, filter))?;
    let mut rows = statement.query(params_from_iter(&conditions.values))?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(decode(row)?);
    }
    found.reverse();
    Ok(found)
}

/// An attempt with the names around it.
struct Around {
    job: Name,
    plan: Arc<PinnedPlan>,
    at: CheckAt,
    number: u32,
    reason: crate::bench::row::AttemptReason,
    pin: Arc<Pin>,
    remark: Option<String>,
    /// The turns that were swept, oldest first, each before its samples.
    swept: Vec<(Seq, Taps)>,
}

impl Around {
    /// Where a sample of a swept turn lies, degrees; `None` where the speed was taken as constant.
    fn angle_deg(&self, (check, swept): (&Check, &Swept), id: Seq, at_us: u64) -> Option<f64> {
        let of_sample = self.swept.iter().rev().find(|(turn, _)| *turn < id);
        let (_, taps) = of_sample.filter(|_| swept.knows_angles())?;
        taps.angle_deg(check.direction, at_us)
    }

    fn check(&self, attempt: Seq) -> Found<(&Part, &Check)> {
        self.plan.plan.at(self.at).ok_or_else(|| StoreError::Damaged {
            row: attempt,
            what: "its check is not in the plan of its job".to_owned(),
        })
    }

    fn place(&self, attempt: Seq) -> Found<Place> {
        let (part, check) = self.check(attempt)?;
        let (part, check) = (part.name.clone(), check.name.clone());
        let check = CheckPlace { part, check, attempt, number: self.number };
        Ok(Place { job: self.job.clone(), check: Some(check) })
    }
}

/// Attempts and job names that were looked up, for many records that share them.
struct Names<'a> {
    book: Book<'a>,
    attempts: BTreeMap<Seq, Arc<Around>>,
    jobs: BTreeMap<Seq, Name>,
    files: BTreeMap<Seq, String>,
}

impl<'a> Names<'a> {
    const fn new(book: Book<'a>) -> Self {
        Self { book, attempts: BTreeMap::new(), jobs: BTreeMap::new(), files: BTreeMap::new() }
    }

    fn attempt(&mut self, attempt: Seq) -> Found<Arc<Around>> {
        if let Some(around) = self.attempts.get(&attempt) {
            return Ok(Arc::clone(around));
        }
        let around = Arc::new(around(self.book, attempt)?);
        self.attempts.insert(attempt, Arc::clone(&around));
        Ok(around)
    }

    fn job(&mut self, job: Seq) -> Found<Name> {
        if let Some(name) = self.jobs.get(&job) {
            return Ok(name.clone());
        }
        let sql = "SELECT name FROM job WHERE seq = ?1";
        let mut statement = self.book.conn.prepare_cached(sql)?;
        let text: String = statement.query_row([int(job)], |row| row.get(0))?;
        let name = read::name(job, &text)?;
        self.jobs.insert(job, name.clone());
        Ok(name)
    }

    fn file(&mut self, file: Seq) -> Found<String> {
        if let Some(name) = self.files.get(&file) {
            return Ok(name.clone());
        }
        let mut statement =
            self.book.conn.prepare_cached("SELECT name FROM file WHERE seq = ?1")?;
        let name: String = statement.query_row([int(file)], |row| row.get(0))?;
        self.files.insert(file, name.clone());
        Ok(name)
    }

    fn place(&mut self, job: Option<Seq>, attempt: Option<Seq>) -> Found<Option<Place>> {
        match (job, attempt) {
            (_, Some(attempt)) => Ok(Some(self.attempt(attempt)?.place(attempt)?)),
            (Some(job), None) => Ok(Some(Place { job: self.job(job)?, check: None })),
            (None, None) => Ok(None),
        }
    }
}

fn around(book: Book<'_>, attempt: Seq) -> Found<Around> {
    let sql = "SELECT a.*, j.name, j.plan, r.text AS remark FROM attempt a
               JOIN job j ON j.seq = a.job LEFT JOIN attempt_remark r ON r.attempt = a.seq
               WHERE a.seq = ?1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(attempt)])?;
    let missing = |what: &str| StoreError::Damaged { row: attempt, what: what.to_owned() };
    let row = rows.next()?.ok_or_else(|| missing("no such attempt"))?;
    let reason: String = row.get("reason")?;
    let job: String = row.get("name")?;
    let of = seq(row.get("job")?);
    let plan = book.plan(of, row.get("plan")?)?;
    let at = CheckAt { part: row.get("part")?, check: row.get("chk")? };
    let sweeps = plan.plan.at(at).is_some_and(|(_, check)| check.swept().is_some());
    Ok(Around {
        job: read::name(attempt, &job)?,
        plan,
        at,
        swept: if sweeps { swept::turns(book, of, attempt)? } else { Vec::new() },
        number: row.get("number")?,
        reason: words::attempt_reason(&reason).ok_or_else(|| missing("its reason"))?,
        pin: book.pin(attempt, row.get("pin")?)?,
        remark: row.get("remark")?,
    })
}

/// The number of a job by its name.
pub(super) fn job_id(book: Book<'_>, name: &str) -> Found<Seq> {
    let mut statement = book.conn.prepare_cached("SELECT seq FROM job WHERE name = ?1")?;
    if let Some(job) = statement.query_row([name], |row| row.get(0)).optional()? {
        return Ok(seq(job));
    }
    let mut statement = book.conn.prepare_cached("SELECT name FROM job ORDER BY seq DESC")?;
    let names = statement.query_map([], |row| row.get(0))?.collect::<Result<Vec<String>, _>>()?;
    Err(StoreError::NoSuchJob { name: name.to_owned(), near: near::names(name, names) })
}

/// Adds what narrows a query to a job, part and check. The columns are those of the job (a
/// condition with one `?`) and of the attempt.
fn narrow(
    book: Book<'_>,
    filter: &Filter,
    (of_job, attempt): (&str, &str),
    sought: &mut Where,
) -> Found<()> {
    let job = filter.job.as_deref().map(|name| job_id(book, name)).transpose()?;
    if let Some(job) = job {
        sought.and(of_job, int(job));
    }
    if filter.part.is_none() && filter.check.is_none() {
        return Ok(());
    }
    let attempts = attempts_of(book, job, filter)?;
    let list: Vec<String> = attempts.iter().map(ToString::to_string).collect();
    sought.plain(format!("{attempt} IN ({})", list.join(", ")));
    Ok(())
}

/// The attempts at checks that have the names asked for.
fn attempts_of(book: Book<'_>, job: Option<Seq>, filter: &Filter) -> Found<Vec<Seq>> {
    let sql = "SELECT seq FROM attempt WHERE ?1 IS NULL OR job = ?1 ORDER BY seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let all = statement.query_map([job.map(int)], |row| row.get(0).map(seq))?;
    let mut names = Names::new(book);
    let fits = |asked: &Option<String>, name: &Name| {
        asked.as_deref().is_none_or(|asked| asked == name.as_str())
    };
    let mut found = Vec::new();
    for attempt in all {
        let attempt = attempt?;
        let around = names.attempt(attempt)?;
        let (part, check) = around.check(attempt)?;
        if fits(&filter.part, &part.name) && fits(&filter.check, &check.name) {
            found.push(attempt);
        }
    }
    Ok(found)
}

/// What a reading counts as now: by its newest mark, otherwise by its arrival.
const STATE_NOW: &str = "coalesce((SELECT k.state FROM mark k WHERE k.reading = t.seq
    ORDER BY k.seq DESC LIMIT 1), t.place % 8)";

/// Readings, oldest first.
pub(super) fn readings(book: Book<'_>, filter: &Filter) -> Found<Vec<ReadingRecord>> {
    let mut sought = Where::default();
    let of_job = "t.short = (SELECT short FROM job WHERE seq = ?)";
    let attempt = "(CASE WHEN t.back > 0 THEN t.seq - t.back END)";
    narrow(book, filter, (of_job, attempt), &mut sought)?;
    if let Some(gauge) = &filter.gauge {
        sought.and("f.gauge = ?", gauge.clone());
    }
    if let Some(state) = filter.state {
        sought.and(&format!("{STATE_NOW} = ?"), words::state_code(state));
    }
    // The columns are differences: together with the attempt's own wall they make the wall clock.
    sought.times("(coalesce(a.wall, 0) + t.mono + t.drift)", filter);
    let mut names = Names::new(book);
    collect(book, (READINGS, &sought), filter, |row| reading(&mut names, compact::reading(row)?))
}

fn reading(names: &mut Names<'_>, row: Row) -> Found<ReadingRecord> {
    let Body::Reading(reading) = row.body else {
        return Err(StoreError::Damaged { row: row.seq, what: "not a reading".to_owned() });
    };
    let Reading { job, attempt, gauge, source, value, as_sent, position, measured_at, .. } =
        reading;
    let (mut state, mut why) = (reading.state, reading.why);
    if let Some((mark, word)) = newest_mark(names.book, row.seq)? {
        (state, why) = (mark, (!word.is_empty()).then_some(word));
    }
    let (mut angle_deg, mut radius, mut station) = (None, None, None);
    if let (Some(attempt), Some(position)) = (attempt, position) {
        let around = names.attempt(attempt)?;
        let (_, check) = around.check(attempt)?;
        angle_deg = match check.swept() {
            Some(swept) => around.angle_deg((check, swept), row.seq, row.at.mono_us),
            None => has_angles(check).then(|| check.angle_deg(position)),
        };
        (radius, station) = (check.radius(position), station_of(check, position));
    }
    let source = match source {
        Source::Serial => ReadingSource::Serial,
        Source::Keyed => ReadingSource::Keyed,
        Source::Drop { file, line } => ReadingSource::Drop { file: names.file(file)?, line },
    };
    let place = names.place(job, attempt)?;
    Ok(ReadingRecord {
        id: row.seq,
        at: row.at.wall,
        gauge,
        source,
        place,
        position,
        angle_deg,
        radius,
        station,
        value,
        as_sent,
        state,
        why,
        measured_at,
    })
}

fn newest_mark(book: Book<'_>, reading: Seq) -> Found<Option<(crate::bench::row::State, String)>> {
    let sql = "SELECT state, why FROM mark WHERE reading = ?1 ORDER BY seq DESC LIMIT 1";
    let mut statement = book.conn.prepare_cached(sql)?;
    let found = statement.query_row([int(reading)], |row| Ok((row.get(0)?, row.get(1)?)));
    let Some((code, why)) = found.optional()? else { return Ok(None) };
    let state = words::state(code)
        .ok_or_else(|| StoreError::Damaged { row: reading, what: format!("state {code}") })?;
    Ok(Some((state, why)))
}

const VERDICTS: &str = "SELECT t.*, (SELECT max(n.seq) FROM verdict n
    WHERE n.attempt = t.attempt AND n.seq > t.seq) AS superseded_by FROM verdict t";

/// Verdicts, oldest first; without `all` only the standing one of each attempt.
pub(super) fn verdicts(book: Book<'_>, filter: &Filter) -> Found<Vec<VerdictRecord>> {
    let mut sought = Where::default();
    narrow(book, filter, ("t.job = ?", "t.attempt"), &mut sought)?;
    if let Some(gauge) = &filter.gauge {
        let of_gauge = "(SELECT p.gauge FROM attempt a JOIN pin p ON p.id = a.pin
            WHERE a.seq = t.attempt) = ?";
        sought.and(of_gauge, gauge.clone());
    }
    if let Some(word) = filter.word {
        sought.and("t.word = ?", words::word_text(word).to_owned());
    }
    if !filter.all {
        let newest = "t.seq = (SELECT max(n.seq) FROM verdict n WHERE n.attempt = t.attempt)";
        sought.plain(newest.to_owned());
    }
    sought.times("t.wall", filter);
    let mut names = Names::new(book);
    collect(book, (VERDICTS, &sought), filter, |row| verdict_record(&mut names, row))
}

/// One verdict by its number.
pub(super) fn verdict(book: Book<'_>, id: Seq) -> Found<Option<VerdictRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let mut names = Names::new(book);
    let filter = Filter::default();
    let found = collect(book, (VERDICTS, &sought), &filter, |row| verdict_record(&mut names, row));
    Ok(found?.pop())
}

fn verdict_record(names: &mut Names<'_>, row: &rusqlite::Row<'_>) -> Found<VerdictRecord> {
    let verdict = Arc::new(read::verdict(row)?);
    let around = names.attempt(verdict.attempt)?;
    let (part, check) = around.check(verdict.attempt)?;
    Ok(VerdictRecord {
        id: seq(row.get("seq")?),
        at: Wall::from_micros(row.get("wall")?),
        job: around.job.clone(),
        part: part.name.clone(),
        check: check.name.clone(),
        attempt: around.number,
        reason: around.reason,
        measures: check.measures,
        setup: check.setup,
        gauge: around.pin.gauge.as_ref().map(|gauge| gauge.name.clone()),
        down: check.down.clone(),
        remark: around.remark.clone(),
        good: good_answers(check),
        verdict,
        superseded_by: row.get::<_, Option<i64>>("superseded_by")?.map(seq),
    })
}

fn good_answers(check: &Check) -> Vec<String> {
    if let Detail::Confirm(ask) = &check.detail { ask.good.clone() } else { Vec::new() }
}

/// Alerts with the moments they were first seen and cleared, as far as rows up to one number say.
fn alerts_sql(as_of: Option<Seq>) -> String {
    let until = as_of.map_or_else(String::new, |row| format!(" AND s.seq <= {row}"));
    let moment = |what: &str| {
        format!(
            "(SELECT s.wall FROM alert_step s WHERE s.alert = t.seq AND s.what = '{what}'{until}
              ORDER BY s.seq LIMIT 1)"
        )
    };
    let (seen, cleared) = (moment("seen"), moment("cleared"));
    format!("SELECT t.*, {seen} AS acked_at, {cleared} AS cleared_at FROM alert t")
}

/// Alerts, oldest first, cleared ones included.
pub(super) fn alerts(book: Book<'_>, filter: &Filter) -> Found<Vec<AlertRecord>> {
    let mut sought = Where::default();
    narrow(book, filter, ("t.job = ?", "t.attempt"), &mut sought)?;
    if let Some(gauge) = &filter.gauge {
        sought.and("t.about = ?", gauge.clone());
    }
    sought.times("t.wall", filter);
    let mut names = Names::new(book);
    collect(book, (&alerts_sql(None), &sought), filter, |row| alert_record(&mut names, row))
}

/// One alert as it was when a row of the record was written.
pub(super) fn alert_as_of(book: Book<'_>, id: Seq, row: Seq) -> Found<Option<AlertRecord>> {
    let mut sought = Where::default();
    sought.and("t.seq = ?", int(id));
    let mut names = Names::new(book);
    let filter = Filter::default();
    let sql = alerts_sql(Some(row));
    let found = collect(book, (&sql, &sought), &filter, |row| alert_record(&mut names, row));
    Ok(found?.pop())
}

fn alert_record(names: &mut Names<'_>, row: &rusqlite::Row<'_>) -> Found<AlertRecord> {
    let alert = Arc::new(read::alert(row)?);
    let moment = |column: &str| -> Found<Option<Wall>> {
        Ok(row.get::<_, Option<i64>>(column)?.map(Wall::from_micros))
    };
    Ok(AlertRecord {
        id: seq(row.get("seq")?),
        at: Wall::from_micros(row.get("wall")?),
        place: names.place(alert.job, alert.attempt)?,
        cleared_at: moment("cleared_at")?,
        acked_at: moment("acked_at")?,
        alert,
    })
}

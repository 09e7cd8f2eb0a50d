//! Readings. They are stored job by job, so a request about many jobs goes from job to job, and stops where
//! no later job can have a reading for the answer.

mod decode;

use std::collections::{BTreeMap, BinaryHeap};

use rusqlite::types::Value;
use rusqlite::{OptionalExtension, params_from_iter};

use self::decode::{More, Series};
use super::find::{Scope, list_of};
use super::jobs::steps;
use super::{Found, Where};
use crate::read::{self, Book};
use crate::write::{int, seq};
use crate::{Filter, ReadingRecord, ReadingSource, caller, compact};
use bench::Seq;
use bench::row::{Body, State};
use quantity::{Name, Wall};

/// The number of the attempt of a reading, null without one.
const ATTEMPT: &str = "(CASE WHEN t.back > 0 THEN t.job + t.nth - t.back END)";

/// The readings of one job, or those without a job.
#[derive(Clone, Copy)]
struct Shelf {
    /// The job's number; 0 without one.
    job: i64,
    /// A number above that of its newest reading.
    newest_before: i64,
}

/// Readings, oldest first.
pub(crate) fn readings(book: Book<'_>, filter: &Filter) -> Found<Vec<ReadingRecord>> {
    let sought = Sought { scope: Scope::of(book, filter)?, filter };
    let (sql, values) = sought.sql();
    let mut page = Page::of(filter);
    let mut found = Vec::new();
    let mut shelves = Shelves::of(book, &sought.scope, filter)?;
    while let Some(shelf) = shelves.next(book)? {
        if page.is_full_before(shelf) {
            break;
        }
        match read(book, shelf, (&sql, &values), (&page, &sought)) {
            Ok(fresh) => {
                for reading in &fresh {
                    page.took(int(reading.id));
                }
                found.extend(fresh);
            }
            Err(error) if filter.job.is_some() => return Err(error),
            // An answer about several jobs leaves out the damaged part of one, and reports it.
            Err(error) => book.leave_out((shelf.job != 0).then(|| seq(shelf.job)), error)?,
        }
    }
    found.sort_unstable_by_key(|reading: &ReadingRecord| reading.id);
    if let Some(limit) = page.limit {
        let over = found.len().saturating_sub(limit);
        if page.oldest { found.truncate(limit) } else { drop(found.drain(..over)) }
    }
    Ok(found)
}

/// What is searched for.
struct Sought<'f> {
    scope: Scope,
    filter: &'f Filter,
}

impl Sought<'_> {
    /// The query for one shelf: `?1` is its job, and the numbers of its readings lie between `?2` and `?3`.
    fn sql(&self) -> (String, Where) {
        let (filter, mut sought) = (self.filter, Where::default());
        if let Some(gauge) = &filter.gauge {
            sought.and("t.form IN (SELECT id FROM form WHERE gauge = ?)", gauge.clone());
        }
        if let Some(word) = filter.word {
            let standing = format!(
                "(SELECT v.key FROM fact v WHERE v.kind = 'verdict' AND v.attempt = {ATTEMPT}
                 ORDER BY v.seq DESC LIMIT 1) = ?"
            );
            sought.and(&standing, word.text().to_owned());
        }
        // The columns are differences: with the wall clock of the attempt they give that of the reading.
        let began = format!("coalesce((SELECT a.wall FROM fact a WHERE a.seq = {ATTEMPT}), 0)");
        sought.times(&format!("({began} + t.mono + t.drift)"), filter);
        let order = if filter.first.is_none() && filter.last.is_some() { "DESC" } else { "ASC" };
        let sql = format!(
            "SELECT t.nth, t.back, t.form, t.number, t.mono, t.drift, t.place, t.as_sent
             FROM reading t WHERE t.job = ?1 AND t.nth > ?2 - ?1 AND t.nth < ?3 - ?1 AND {}
             ORDER BY t.nth {order}",
            sought.text()
        );
        (sql, sought)
    }

    /// Whether a reading of this attempt, or of none, that counts as this state is searched for.
    fn has(&self, book: Book<'_>, attempt: Option<Seq>, state: i64) -> Found<bool> {
        let other = self.filter.state.is_some_and(|sought| compact::state_code(sought) != state);
        Ok(!other && self.scope.has(book, attempt)?)
    }
}

/// How many shelves are looked up at once.
const SHELVES: i64 = 32;

/// Closed jobs from the one closed last: no reading of a job is newer than the row that closed it.
const CLOSED: &str = "SELECT c.job, c.seq FROM fact c WHERE c.kind = 'job-closed' AND c.seq < ?1
    AND NOT EXISTS (SELECT 1 FROM pending p WHERE p.kind = 'job-opened' AND p.fact = c.job)
    AND NOT EXISTS (SELECT 1 FROM fact n
        WHERE n.job = c.job AND n.kind = 'job-closed' AND n.seq > c.seq)
    ORDER BY c.seq DESC LIMIT ?2";

/// Jobs from the oldest.
const OLDEST: &str = "SELECT seq, 1 << 62 FROM fact WHERE kind = 'job-opened' AND seq > ?1
    ORDER BY seq LIMIT ?2";

/// The shelves to search, in the order in which a limit lets the search stop early. When all jobs are
/// searched, only a few are looked up at a time, so that a short answer takes no longer in a long record.
struct Shelves {
    ready: std::vec::IntoIter<Shelf>,
    /// The query for the shelves after these, and the number it continues from.
    more: Option<(&'static str, i64)>,
}

impl Shelves {
    fn of(book: Book<'_>, scope: &Scope, filter: &Filter) -> Found<Self> {
        let at_once = |shelves: Vec<Shelf>| Self { ready: shelves.into_iter(), more: None };
        let newest_kept = filter.first.is_none() && filter.last.is_some();
        if let Some(jobs) = scope.jobs.as_deref() {
            let sql = format!(
                "SELECT j.value, CASE WHEN j.value IN (SELECT fact FROM pending WHERE kind = 'job-opened') THEN {NEVER} ELSE
                 coalesce((SELECT max(seq) FROM fact WHERE job = j.value AND kind = 'job-closed'), {NEVER}) END
                 FROM json_each(?1) j"
            );
            let mut shelves = book.select(&sql, [list_of(jobs)], shelf)?;
            let first = |shelf: &Shelf| if newest_kept { -shelf.newest_before } else { shelf.job };
            shelves.sort_by_key(first);
            return Ok(at_once(shelves));
        }
        let loose = Shelf { job: 0, newest_before: NEVER };
        if !newest_kept {
            return Ok(Self { ready: vec![loose].into_iter(), more: Some((OLDEST, 0)) });
        }
        let sql = "SELECT fact, 1 << 62 FROM pending WHERE kind = 'job-opened' ORDER BY fact DESC";
        let mut shelves = book.select(sql, [], shelf)?;
        shelves.push(loose);
        Ok(Self { more: Some((CLOSED, NEVER)), ..at_once(shelves) })
    }

    fn next(&mut self, book: Book<'_>) -> Found<Option<Shelf>> {
        if let Some(shelf) = self.ready.next() {
            return Ok(Some(shelf));
        }
        let Some((sql, from)) = self.more else { return Ok(None) };
        let found = book.select(sql, [from, SHELVES], shelf)?;
        let after = |last: &Shelf| (sql, if sql == CLOSED { last.newest_before } else { last.job });
        self.more = found.last().map(after);
        self.ready = found.into_iter();
        Ok(self.ready.next())
    }
}

/// The shelf of a job. A closed job takes no readings: its newest one lies before the row that closed it.
fn shelf(row: &rusqlite::Row<'_>) -> Found<Shelf> {
    Ok(Shelf { job: row.get(0)?, newest_before: row.get(1)? })
}

/// A number that no row has.
const NEVER: i64 = 1 << 62;

/// Which numbers are still wanted.
struct Page {
    after: i64,
    before: i64,
    limit: Option<usize>,
    /// Whether a limit keeps the oldest.
    oldest: bool,
    /// The best numbers so far, the worst of them on top: negative where the newest are kept.
    best: BinaryHeap<i64>,
}

impl Page {
    fn of(filter: &Filter) -> Self {
        Self {
            after: filter.after.map_or(-1, int),
            before: filter.before.map_or(i64::MAX, int),
            limit: filter.first.or(filter.last),
            oldest: filter.first.is_some(),
            best: BinaryHeap::new(),
        }
    }

    const fn worth(&self, number: i64) -> i64 {
        if self.oldest { number } else { -number }
    }

    /// The worst number of a full page; `None` while there is room.
    fn worst(&self) -> Option<i64> {
        let full = self.best.len() >= self.limit?;
        if full { Some(self.best.peek().copied().unwrap_or(i64::MIN)) } else { None }
    }

    fn is_full_before(&self, shelf: Shelf) -> bool {
        let best = if self.oldest { shelf.job } else { shelf.newest_before };
        self.worst().is_some_and(|worst| worst <= self.worth(best))
    }

    /// The limits between which the numbers of the answer lie.
    fn between(&self) -> (i64, i64) {
        match self.worst() {
            Some(worst) if self.oldest => (self.after, self.before.min(worst)),
            Some(worst) => (self.after.max(-worst), self.before),
            None => (self.after, self.before),
        }
    }

    fn took(&mut self, number: i64) {
        let Some(limit) = self.limit else { return };
        self.best.push(self.worth(number));
        if self.best.len() > limit {
            self.best.pop();
        }
    }
}

/// Reads the wanted readings of one shelf. In a job that was not named, damaged ones are left out.
fn read(
    book: Book<'_>,
    shelf: Shelf,
    (sql, values): (&str, &Where),
    (page, sought): (&Page, &Sought<'_>),
) -> Found<Vec<ReadingRecord>> {
    let (after, before) = page.between();
    let fixed = [shelf.job, after, before].map(Value::from);
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query(params_from_iter(fixed.iter().chain(&values.values)))?;
    let mut marks = marks(book, shelf.job)?;
    // A series is rarely longer than a few hundred touches.
    let mut fresh = Vec::with_capacity(512);
    let mut series = Series::new(book, shelf.job);
    while page.limit.is_none_or(|limit| fresh.len() < limit)
        && let Some(row) = rows.next()?
    {
        let id = || row.get::<_, i64>(0).map_or(Seq(0), |nth| seq(shelf.job.saturating_add(nth)));
        match reading(row, &mut series, (sought, &mut marks))
            .map_err(|error| read::placed_at(error, id()))
        {
            Ok(reading) => fresh.extend(reading),
            Err(error) if sought.filter.job.is_some() => return Err(error),
            Err(error) => book.leave_out((shelf.job != 0).then(|| seq(shelf.job)), error)?,
        }
    }
    if fresh.is_empty() {
        return Ok(fresh);
    }
    add_more(book, &mut fresh)?;
    for reading in &mut fresh {
        // Nobody asked for a reading that came from a file.
        if !matches!(reading.source, ReadingSource::Drop { .. }) {
            reading.caller = caller::of_row(book.conn, reading.id)?;
        }
        if let Some(mark) = marks.remove(&reading.id) {
            mark.put_on(book, reading)?;
        }
    }
    Ok(fresh)
}

/// The reading of a row, if it is searched for.
fn reading(
    row: &rusqlite::Row<'_>,
    series: &mut Series<'_>,
    (sought, marks): (&Sought<'_>, &mut Marks),
) -> Found<Option<ReadingRecord>> {
    let (job, nth, back, place): (i64, i64, i64, i64) =
        (series.job, row.get(0)?, row.get(1)?, row.get(6)?);
    let id = seq(job.saturating_add(nth));
    let attempt = (back > 0).then(|| seq(int(id).saturating_sub(back)));
    let state =
        marks.get(&id).map_or(place % compact::STATES, |mark| compact::state_code(mark.state));
    if sought.has(series.book, attempt, state)? { series.reading(row).map(Some) } else { Ok(None) }
}

/// Adds what only some readings have: the line of a file, a time of their own, a reason.
fn add_more(book: Book<'_>, fresh: &mut [ReadingRecord]) -> Found<()> {
    let ids = || fresh.iter().map(|reading| int(reading.id));
    let (low, high) = (ids().min().unwrap_or(0), ids().max().unwrap_or(0));
    // Readings of other jobs may lie between. Where there are many of them, each reading is looked up by
    // itself.
    let close = usize::try_from(high - low).is_ok_and(|span| span < 1000 + 4 * fresh.len());
    let select = "SELECT reading, line, measured_at, why FROM reading_more WHERE reading";
    let read = |row: &rusqlite::Row<'_>| -> rusqlite::Result<(i64, More)> {
        let (line, wall) = (row.get(1)?, row.get::<_, Option<i64>>(2)?);
        let measured_at = wall.map(Wall::from_micros);
        Ok((row.get(0)?, More { line, measured_at, why: row.get(3)? }))
    };
    if close {
        let mut statement = book.conn.prepare_cached(&format!("{select} BETWEEN ?1 AND ?2"))?;
        let rows = statement.query_map([low, high], read)?;
        let mut more = rows.collect::<Result<BTreeMap<i64, More>, _>>()?;
        return fresh.iter_mut().try_for_each(|one| decode::add(one, more.remove(&int(one.id))));
    }
    let mut statement = book.conn.prepare_cached(&format!("{select} = ?1"))?;
    for one in fresh {
        let more = statement.query_row([int(one.id)], read).optional()?;
        decode::add(one, more.map(|(_, more)| more))?;
    }
    Ok(())
}

/// What a reading counts as since its mark.
struct Mark {
    id: Seq,
    state: State,
    why: String,
    by: Option<Name>,
}

type Marks = BTreeMap<Seq, Mark>;

/// The newest mark of each reading of a job.
fn marks(book: Book<'_>, job: i64) -> Found<Marks> {
    let mut marks = Marks::new();
    let rows = if job == 0 { loose_marks(book)? } else { steps(book, seq(job), "'marked'")? };
    for row in rows {
        if let Body::Marked { reading, state, why, .. } = row.body {
            marks.insert(reading, Mark { id: row.seq, state, why, by: row.by });
        }
    }
    Ok(marks)
}

/// The marks of readings without a job, oldest first: touches of proofs that were taken back.
fn loose_marks(book: Book<'_>) -> Found<Vec<bench::Row>> {
    const LOOSE: &str =
        "SELECT * FROM fact INDEXED BY fact_mark WHERE kind = 'marked' AND job IS NULL";
    let mut rows = book.select(LOOSE, [], |row| crate::fact::row(book, row))?;
    rows.sort_by_key(|row| row.seq);
    Ok(rows)
}

impl Mark {
    fn put_on(self, book: Book<'_>, reading: &mut ReadingRecord) -> Found<()> {
        if self.state == State::Void {
            reading.voided_by = self.by;
            reading.voided_caller = caller::of_row(book.conn, self.id)?;
        }
        reading.state = self.state;
        reading.why = (!self.why.is_empty()).then_some(self.why);
        Ok(())
    }
}

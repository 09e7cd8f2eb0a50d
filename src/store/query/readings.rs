//! Readings. They lie in the database job by job, so a question about many jobs goes from job to
//! job and stops where no later one can hold a reading that belongs in the answer.

mod decode;

use std::collections::{BTreeMap, BinaryHeap};

use rusqlite::types::Value;
use rusqlite::{OptionalExtension, params_from_iter};

use self::decode::{More, Series};
use super::find::{Scope, list_of};
use super::{Found, Where};
use crate::read::{self, Book};
use crate::write::{int, seq};
use crate::{Filter, ReadingRecord, ReadingSource, StoreError, caller, compact};
use bench::Seq;
use bench::row::State;
use quantity::{Name, Wall};

/// The number of the attempt of a reading, null without one. `?4` is the number of the job.
const ATTEMPT: &str = "(CASE WHEN t.back > 0 THEN ?4 + t.nth - t.back END)";

/// What a reading counts as now: by its newest mark, otherwise by its arrival.
const STATE_NOW: &str = "coalesce((SELECT k.state FROM mark k WHERE k.reading = ?4 + t.nth
    ORDER BY k.seq DESC LIMIT 1), t.place % 8)";

/// The readings of one job, or those without a job.
#[derive(Clone, Copy)]
struct Shelf {
    /// The job's number; 0 without one.
    job: i64,
    /// What readings call it.
    short: i64,
    /// A number that its newest reading lies before.
    newest_before: i64,
}

/// Readings, oldest first.
pub(crate) fn readings(book: Book<'_>, filter: &Filter) -> Found<Vec<ReadingRecord>> {
    let scope = Scope::of(book, filter)?;
    let (sql, sought) = shelf_sql(&scope, filter);
    let mut page = Page::of(filter);
    let mut found = Vec::new();
    let mut shelves = Shelves::of(book, &scope, filter)?;
    while let Some(shelf) = shelves.next(book)? {
        if page.is_full_before(shelf) {
            break;
        }
        let before = found.len();
        if let Err(error) = read(book, shelf, (&sql, &sought), (&page, &mut found), false) {
            if filter.job.is_some() {
                return Err(error);
            }
            // An answer about several jobs leaves out what is damaged in one, which is told.
            let job = (shelf.job != 0).then(|| seq(shelf.job));
            book.leave_out(job, error)?;
            found.truncate(before);
            let all = Filter { first: None, last: None, ..filter.clone() };
            let (sql, sought) = shelf_sql(&scope, &all);
            if let Err(error) = read(book, shelf, (&sql, &sought), (&page, &mut found), true) {
                book.leave_out(job, error)?;
                found.truncate(before);
            }
        }
        found[before..].iter().for_each(|reading| page.took(int(reading.id)));
    }
    found.sort_unstable_by_key(|reading: &ReadingRecord| reading.id);
    if let Some(limit) = page.limit {
        let over = found.len().saturating_sub(limit);
        if page.oldest { found.truncate(limit) } else { drop(found.drain(..over)) }
    }
    Ok(found)
}

/// The query for one shelf: `?1` its short number, `?2` and `?3` the numbers its readings lie
/// between, `?4` the number of its job.
fn shelf_sql(scope: &Scope, filter: &Filter) -> (String, Where) {
    let mut sought = Where::default();
    if let Some(gauge) = &filter.gauge {
        sought.and("t.form IN (SELECT id FROM form WHERE gauge = ?)", gauge.clone());
    }
    if let Some(state) = filter.state {
        sought.and(&format!("{STATE_NOW} = ?"), compact::state_code(state));
    }
    if let Some(word) = filter.word {
        let standing = format!(
            "(SELECT v.word FROM verdict v WHERE v.attempt = {ATTEMPT}
             ORDER BY v.seq DESC LIMIT 1) = ?"
        );
        sought.and(&standing, word.text().to_owned());
    }
    if let Some(condition) = scope.of_attempt(ATTEMPT) {
        sought.plain(condition);
    }
    // The columns are differences: together with the attempt's own wall they make the wall clock.
    let began = format!("coalesce((SELECT a.wall FROM attempt a WHERE a.seq = {ATTEMPT}), 0)");
    sought.times(&format!("({began} + t.mono + t.drift)"), filter);
    let (order, limit) = match (filter.first, filter.last) {
        (Some(first), _) => ("ASC", Some(first)),
        (None, Some(last)) => ("DESC", Some(last)),
        (None, None) => ("ASC", None),
    };
    let limit = limit.map_or_else(String::new, |limit| format!(" LIMIT {limit}"));
    let sql = format!(
        "SELECT t.nth, t.back, t.form, t.number, t.mono, t.drift, t.place, t.as_sent
         FROM reading t WHERE t.short = ?1 AND t.nth > ?2 - ?4 AND t.nth < ?3 - ?4 AND {}
         ORDER BY t.nth {order}{limit}",
        sought.text()
    );
    (sql, sought)
}

/// Shelves that are looked up at once.
const SHELVES: i64 = 32;

/// Closed jobs from the one closed last: no reading of a job is newer than the row that closed it.
const CLOSED: &str = "SELECT seq, short, closed_by FROM job
    WHERE closed_by IS NOT NULL AND closed_by < ?1 ORDER BY closed_by DESC LIMIT ?2";

/// Jobs from the oldest.
const OLDEST: &str = "SELECT seq, short, coalesce(closed_by, ?3) FROM job
    WHERE seq > ?1 ORDER BY seq LIMIT ?2";

/// The shelves to look through, in the order in which a limit lets the search stop early. Of all
/// jobs a few are looked up at a time, so that a short answer costs the same in a long record.
struct Shelves {
    ready: std::vec::IntoIter<Shelf>,
    /// The query for the ones after these, and the number that it goes on from.
    more: Option<(&'static str, i64)>,
}

impl Shelves {
    fn of(book: Book<'_>, scope: &Scope, filter: &Filter) -> Found<Self> {
        let at_once = |shelves: Vec<Shelf>| Self { ready: shelves.into_iter(), more: None };
        if let Some([job]) = scope.jobs.as_deref() {
            let mut statement = book.conn.prepare_cached("SELECT short FROM job WHERE seq = ?1")?;
            let short = statement.query_row([int(*job)], |row| row.get(0)).optional()?;
            let shelf = |short| Shelf { job: int(*job), short, newest_before: i64::MAX };
            return Ok(at_once(short.map(shelf).into_iter().collect()));
        }
        let newest_kept = filter.first.is_none() && filter.last.is_some();
        if let Some(jobs) = scope.jobs.as_deref() {
            let sql = "SELECT seq, short, coalesce(closed_by, ?2) FROM job
                WHERE seq IN (SELECT value FROM json_each(?1))";
            let mut statement = book.conn.prepare_cached(sql)?;
            let found = statement.query_map((list_of(jobs), i64::MAX), shelf)?;
            let mut shelves = found.collect::<Result<Vec<_>, _>>()?;
            let first = |shelf: &Shelf| if newest_kept { -shelf.newest_before } else { shelf.job };
            shelves.sort_by_key(first);
            return Ok(at_once(shelves));
        }
        let loose = Shelf { job: 0, short: 0, newest_before: i64::MAX };
        if !newest_kept {
            return Ok(Self { ready: vec![loose].into_iter(), more: Some((OLDEST, 0)) });
        }
        let sql = "SELECT seq, short, ?1 FROM job WHERE closed_by IS NULL ORDER BY seq DESC";
        let mut statement = book.conn.prepare_cached(sql)?;
        let open = statement.query_map([i64::MAX], shelf)?;
        let mut shelves = open.collect::<Result<Vec<_>, _>>()?;
        shelves.push(loose);
        Ok(Self { more: Some((CLOSED, i64::MAX)), ..at_once(shelves) })
    }

    fn next(&mut self, book: Book<'_>) -> Found<Option<Shelf>> {
        if let Some(shelf) = self.ready.next() {
            return Ok(Some(shelf));
        }
        let Some((sql, from)) = self.more else { return Ok(None) };
        let mut statement = book.conn.prepare_cached(sql)?;
        let closed = sql == CLOSED;
        let found = if closed {
            statement.query_map([from, SHELVES], shelf)?.collect::<Result<Vec<_>, _>>()?
        } else {
            let values = [from, SHELVES, i64::MAX];
            statement.query_map(values, shelf)?.collect::<Result<Vec<_>, _>>()?
        };
        let after = |last: &Shelf| (sql, if closed { last.newest_before } else { last.job });
        self.more = found.last().map(after);
        self.ready = found.into_iter();
        Ok(self.ready.next())
    }
}

/// A job's shelf; a closed job takes no reading: its newest one lies before the row that closed it.
fn shelf(row: &rusqlite::Row<'_>) -> rusqlite::Result<Shelf> {
    Ok(Shelf { job: row.get(0)?, short: row.get(1)?, newest_before: row.get(2)? })
}

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

    /// The worst number of a full page; none as long as there is room.
    fn worst(&self) -> Option<i64> {
        let full = self.best.len() >= self.limit?;
        if full { Some(self.best.peek().copied().unwrap_or(i64::MIN)) } else { None }
    }

    fn is_full_before(&self, shelf: Shelf) -> bool {
        let best = if self.oldest { shelf.job } else { shelf.newest_before };
        self.worst().is_some_and(|worst| worst <= self.worth(best))
    }

    /// The numbers that a reading of the answer lies between.
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

/// Reads what is wanted of one shelf, without what is damaged where `leaving_out` says so.
fn read(
    book: Book<'_>,
    shelf: Shelf,
    (sql, sought): (&str, &Where),
    (page, found): (&Page, &mut Vec<ReadingRecord>),
    leaving_out: bool,
) -> Found<()> {
    let (after, before) = page.between();
    let fixed = [shelf.short, after, before, shelf.job].map(Value::from);
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query(params_from_iter(fixed.iter().chain(&sought.values)))?;
    let begin = found.len();
    // A series is rarely longer than a few hundred touches.
    found.reserve(512);
    let mut series = Series::new(book, shelf.job);
    while let Some(row) = rows.next()? {
        let id = || row.get::<_, i64>(0).map_or(Seq(0), |nth| seq(shelf.job.saturating_add(nth)));
        match series.reading(row).map_err(|error| read::placed_at(error, id())) {
            Ok(reading) => found.push(reading),
            Err(error) if leaving_out => {
                book.leave_out((shelf.job != 0).then(|| seq(shelf.job)), error)?;
            }
            Err(error) => return Err(error),
        }
    }
    let fresh = &mut found[begin..];
    if fresh.is_empty() {
        return Ok(());
    }
    add_more(book, fresh)?;
    for reading in fresh.iter_mut() {
        // What a file gave nobody asked for.
        if !matches!(reading.source, ReadingSource::Drop { .. }) {
            reading.caller = caller::of_row(book.conn, reading.id)?;
        }
    }
    add_marks(book, shelf.job, fresh)
}

/// Adds what only some readings have: the line of a file, a time of its own, a word.
fn add_more(book: Book<'_>, fresh: &mut [ReadingRecord]) -> Found<()> {
    let ids = || fresh.iter().map(|reading| int(reading.id));
    let (low, high) = (ids().min().unwrap_or(0), ids().max().unwrap_or(0));
    // Readings of other jobs may lie between; where these are many, each is looked up by itself.
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

/// Lets each reading count as its newest mark says.
fn add_marks(book: Book<'_>, job: i64, fresh: &mut [ReadingRecord]) -> Found<()> {
    let sql = "SELECT reading, state, why, seq, by_whom FROM mark WHERE job = ?1 ORDER BY seq";
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query([job])?;
    let mut marks: BTreeMap<Seq, (State, String, Option<Name>, Seq)> = BTreeMap::new();
    while let Some(row) = rows.next()? {
        let (reading, code) = (seq(row.get(0)?), row.get(1)?);
        let state = compact::state(code)
            .ok_or_else(|| StoreError::Damaged { row: reading, what: format!("state {code}") })?;
        let mark = seq(row.get(3)?);
        let by = read::by_whom(mark, row).map_err(|error| read::placed_at(error, mark))?;
        marks.insert(reading, (state, row.get(2)?, by, mark));
    }
    if marks.is_empty() {
        return Ok(());
    }
    for reading in fresh {
        if let Some((state, why, by, mark)) = marks.remove(&reading.id) {
            if state == State::Void {
                reading.voided_by = by;
                reading.voided_caller = caller::of_row(book.conn, mark)?;
            }
            reading.state = state;
            reading.why = (!why.is_empty()).then_some(why);
        }
    }
    Ok(())
}

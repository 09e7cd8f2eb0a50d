//! Stored rows of a record, after some number, in their order.
//!
//! Readings are stored job by job, not by their number. So whoever reads rows by number has to know which
//! jobs have readings among some numbers. Close to the end of the record that follows from the jobs that are
//! open; further back the numbers of every job are looked up once and kept.

use std::collections::BTreeMap;
use std::sync::Arc;

use rusqlite::OptionalExtension;

use super::{
    Beside, Chain, OwnSeals, StoredCaller, StoredFact, StoredForm, StoredImport, StoredLoss,
    StoredRow, StoredRun, StoredText,
};
use crate::StoreError;
use crate::compact::{WITH_TIMES, numbers_of_readings, stored_reading};
use crate::counters::counted_end;
use crate::papers::papers_of;
use crate::pieces::Pieces;
use crate::read::{Book, Read, SqlRow, damaged};
use crate::seals::{self, Stored};
use crate::write::{int, seq};
use bench::Seq;

/// Up to this many rows before the end of the record the jobs that are open tell where readings are.
const NEAR: u64 = 4096;
/// How many forms are kept in memory.
const FORMS: usize = 4096;

/// Rows of a record, and everything that has to go with them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Batch {
    /// The rows, in their order.
    pub rows: Vec<StoredRow>,
    /// What stands beside them.
    pub beside: Beside,
    /// What the record has as seals of these rows.
    pub own: OwnSeals,
    /// The newest row of the record at that moment.
    pub newest: Seq,
}

/// What is known from one batch to the next of where readings are. It belongs to one record; a new one may be
/// used for any batch.
#[derive(Debug, Clone, Default)]
pub struct Tracks {
    /// Of each job the first and the last number of its readings, as of row `until`.
    jobs: Vec<(i64, i64, i64)>,
    until: Seq,
    forms: BTreeMap<i64, Arc<StoredForm>>,
}

impl Tracks {
    /// Whether the numbers of every job are needed for rows from `first` on.
    fn lack(&self, first: Seq, newest: Seq) -> bool {
        first > self.until && newest.0.saturating_sub(first.0) >= NEAR
    }

    /// Looks up the numbers of the readings of every job, up to row `newest`.
    fn laid(&mut self, pieces: Pieces<'_>, newest: Seq) -> Read<()> {
        self.jobs.clear();
        numbers_of_readings(pieces, |job, first, last| self.jobs.push((job, first, last)))?;
        self.until = newest;
        Ok(())
    }

    /// The jobs that may have readings among some rows.
    fn jobs(&self, book: Book<'_>, (first, last): (Seq, Seq)) -> Read<Vec<i64>> {
        if last <= self.until {
            let has = |(_, from, to): &&(i64, i64, i64)| *from <= int(last) && *to >= int(first);
            return Ok(self.jobs.iter().filter(has).map(|(job, ..)| *job).collect());
        }
        jobs_near_the_end(book, (first, last))
    }

    fn form(&mut self, book: Book<'_>, id: i64, of: Seq) -> Read<Arc<StoredForm>> {
        if let Some(form) = self.forms.get(&id) {
            return Ok(Arc::clone(form));
        }
        let sql =
            "SELECT gauge, unit, places, counts, source, file, by_whom FROM form WHERE id = ?1";
        let read = |row: &SqlRow<'_>| {
            Ok(StoredForm {
                gauge: row.get(0)?,
                unit: row.get(1)?,
                places: row.get(2)?,
                counts: row.get(3)?,
                source: row.get(4)?,
                file: row.get(5)?,
                by_whom: row.get(6)?,
            })
        };
        let found = book.conn.prepare_cached(sql)?.query_row([id], read).optional()?;
        let form = Arc::new(found.ok_or_else(|| damaged(of, "its form is missing"))?);
        if self.forms.len() >= FORMS {
            self.forms.clear();
        }
        self.forms.insert(id, Arc::clone(&form));
        Ok(form)
    }
}

/// Readings belong to no job, or to jobs that were open then: those are open still, or were closed since.
pub(crate) fn jobs_near_the_end(book: Book<'_>, (first, last): (Seq, Seq)) -> Read<Vec<i64>> {
    let jobs = "SELECT 0 UNION SELECT fact FROM pending WHERE kind = 'job-opened' AND fact <= ?2
        UNION SELECT job FROM fact WHERE kind = 'job-closed' AND seq >= ?1 AND job <= ?2";
    book.select(jobs, [int(first), int(last)], |row| Ok(row.get::<_, i64>(0)?))
}

/// The next rows after a number, at most `most` of them.
pub(crate) fn after(book: Book<'_>, after: Seq, most: usize, tracks: &mut Tracks) -> Read<Batch> {
    let (newest, open) = counted_end(book)?;
    let most = u64::try_from(most).unwrap_or(u64::MAX).max(1);
    let mut batch = Batch { newest, ..Batch::default() };
    let mut from = past_a_loss(book, after)?.next();
    // Numbers are missing only where the record is damaged.
    while batch.rows.is_empty() && from <= newest {
        let mut to = Seq(from.0.saturating_add(most - 1)).min(newest);
        if from <= tracks.until {
            to = to.min(tracks.until);
        }
        batch.rows = rows(book, (from, to), tracks)?;
        if !batch.rows.is_empty() {
            batch.beside = beside(book, (from, to), &batch.rows)?;
            let (first, last) = (seals::block_of(from), seals::block_of(to));
            batch.own.blocks =
                Stored::read(book.conn, first.saturating_sub(1), last)?.1.into_blocks();
        }
        from = to.next();
    }
    batch.own.newest = Some((newest, open)).filter(|(newest, _)| *newest > Seq(0));
    Ok(batch)
}

/// The last row that is missing, where the one with this number is.
fn past_a_loss(book: Book<'_>, row: Seq) -> Read<Seq> {
    let sql = "SELECT last FROM lost WHERE first <= ?1 ORDER BY first DESC LIMIT 1";
    let last = book.conn.prepare_cached(sql)?.query_row([int(row)], |row| row.get(0));
    Ok(last.optional()?.map(seq).filter(|last| *last > row).unwrap_or(row))
}

/// The chain of seals after a row; `None` where the record does not have that row.
fn chain_at(book: Book<'_>, row: Seq, tracks: &mut Tracks) -> Read<Option<Chain>> {
    if row == Seq(0) {
        return Ok(Some(Chain::default()));
    }
    let (newest, _) = counted_end(book)?;
    let end = past_a_loss(book, row)?;
    if end > newest {
        return Ok(None);
    }
    let block = seals::block_of(row);
    let first = seals::rows_of(block).0;
    let (head, _) = Stored::read(book.conn, block, block)?;
    let mut chain = Chain::after(first, head, Vec::new());
    let rows = rows(book, (first, row), tracks)?;
    chain.take(&rows);
    Ok(rows.last().is_some_and(|last| last.last() == end).then_some(chain))
}

/// The rows from one to another, in their order.
fn rows(book: Book<'_>, (first, last): (Seq, Seq), tracks: &mut Tracks) -> Read<Vec<StoredRow>> {
    let span = [int(first), int(last)];
    let sql = "SELECT * FROM fact WHERE seq BETWEEN ?1 AND ?2";
    let mut rows = book.select(sql, span, |row| Ok(StoredRow::Fact(stored_fact(row)?)))?;
    for job in tracks.jobs(book, (first, last))? {
        let readings = book.select(WITH_TIMES, [job, span[0], span[1]], |row| {
            let form = tracks.form(book, row.get("form")?, seq(row.get("seq")?))?;
            Ok(StoredRow::Reading(stored_reading(row, form)?))
        })?;
        rows.extend(readings);
    }
    let sql =
        "SELECT first, last, since, until, first AS seq FROM lost WHERE first BETWEEN ?1 AND ?2";
    rows.extend(book.select(sql, span, |row| {
        let [first, last, since, until] = [row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?];
        Ok(StoredRow::Lost(StoredLoss { first, last, since, until }))
    })?);
    rows.sort_by_key(StoredRow::seq);
    Ok(rows)
}

fn stored_fact(row: &SqlRow<'_>) -> rusqlite::Result<StoredFact> {
    Ok(StoredFact {
        seq: row.get(0)?,
        wall: row.get(1)?,
        mono: row.get(2)?,
        by_whom: row.get(3)?,
        job: row.get(4)?,
        attempt: row.get(5)?,
        about: row.get(6)?,
        key: row.get(7)?,
        line: row.get(8)?,
        kind: row.get(9)?,
        body: row.get(10)?,
    })
}

/// What stands beside some rows.
fn beside(book: Book<'_>, (first, last): (Seq, Seq), rows: &[StoredRow]) -> Read<Beside> {
    let span = [int(first), int(last)];
    let callers = "SELECT first, last, uid, pid, login, elsewhere, sum, first AS seq FROM caller
        WHERE first BETWEEN ?1 AND ?2 ORDER BY first";
    let callers = book.select(callers, span, |row| {
        Ok(StoredCaller {
            first: row.get(0)?,
            last: row.get(1)?,
            uid: row.get(2)?,
            pid: row.get(3)?,
            login: row.get(4)?,
            elsewhere: row.get(5)?,
            sum: row.get(6)?,
        })
    })?;
    let imports = "SELECT job, wall, digest, sum, job AS seq FROM import
        WHERE job BETWEEN ?1 AND ?2 ORDER BY job";
    let imports = book.select(imports, span, |row| {
        Ok(StoredImport {
            job: row.get(0)?,
            wall: row.get(1)?,
            digest: row.get(2)?,
            sum: row.get(3)?,
        })
    })?;
    let runs = "SELECT first, last, was, job, first AS seq FROM import_run
        WHERE first BETWEEN ?1 AND ?2 ORDER BY first";
    let runs = book.select(runs, span, |row| {
        Ok(StoredRun { first: row.get(0)?, last: row.get(1)?, was: row.get(2)?, job: row.get(3)? })
    })?;
    let mut texts: Vec<StoredText> = Vec::new();
    let mut attached = Vec::new();
    for row in rows {
        let StoredRow::Fact(one) = row else { continue };
        if one.kind == "attached" {
            match book.fact(row.seq()) {
                Ok(row) => attached.push(row),
                // Whoever looks at the rows of the record is told; here the row goes on as it is.
                Err(StoreError::Damaged { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        let Some(digest) = one.text_digest() else { continue };
        if texts.iter().all(|text| text.digest != digest) {
            texts.extend(text(book, digest)?);
        }
    }
    Ok(Beside { texts, callers, imports, runs, papers: papers_of(&attached) })
}

/// The text with a digest; what is missing is not there to be sent.
fn text(book: Book<'_>, digest: [u8; 32]) -> Read<Option<StoredText>> {
    let sql = "SELECT text FROM pinned WHERE digest = ?1";
    let text = book.conn.prepare_cached(sql)?.query_row([digest], |row| row.get(0)).optional();
    Ok(text?.map(|text| StoredText { digest, text }))
}

impl crate::Reader {
    /// The number of the newest row; 0 of a record without rows.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn newest_row(&self) -> Result<Seq, StoreError> {
        self.ask(|book| Ok(counted_end(book)?.0))
    }

    /// Makes sure that the tracks are known of rows from `first` on.
    fn laid(&self, tracks: &mut Tracks, first: Seq) -> Result<(), StoreError> {
        let newest = self.newest_row()?;
        if !tracks.lack(first, newest) {
            return Ok(());
        }
        self.in_pieces(|pieces| tracks.laid(pieces, newest))
    }

    /// The next stored rows after a number, at most `most` of them, in their order, as they are at one short
    /// moment. An empty batch: there are none yet.
    ///
    /// The first batch that begins far from the end of the record looks up where each job has its readings; so
    /// `tracks` is given again for each of the next ones.
    ///
    /// # Errors
    /// A database that cannot be read, or a row that lacks what it refers to.
    pub fn stored_after(
        &self,
        after: Seq,
        most: usize,
        tracks: &mut Tracks,
    ) -> Result<Batch, StoreError> {
        self.laid(tracks, after.next())?;
        self.ask(|book| self::after(book, after, most, tracks))
    }

    /// The chain of seals after a row of this record, as it follows from the stored seal before the row's block
    /// and from the rows since; `None` where the record does not have that row.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn chain_at(&self, row: Seq) -> Result<Option<Chain>, StoreError> {
        let mut tracks = Tracks::default();
        self.laid(&mut tracks, seals::rows_of(seals::block_of(row)).0)?;
        self.ask(|book| chain_at(book, row, &mut tracks))
    }
}

//! A job as it is handed on, and a job that came from elsewhere.

use std::collections::BTreeMap;

use rusqlite::TransactionBehavior;

use super::caller::{self, Caller};
use super::newest::Mark;
use super::numbers::{self, Numbers, renumbered};
use super::read::{Book, Read, Shared, Which, damaged};
use super::verify::{Judge, Verified, replay};
use super::write::{Pen, int, seq};
use super::writer::Store;
use super::{CommitError, StoreError, sums};
use bench::row::Body;
use bench::{Row, Seq};
use quantity::Wall;

/// Everything the record has of one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Handover {
    /// Every row, in order, with the numbers they had where the job was opened: the job, its
    /// attempts, readings, marks, steps, verdicts, alerts, the files it was read from, and the boots
    /// that its times belong to. Left out is what stations had on their screens.
    pub rows: Vec<Row>,
    /// Those numbers, by the ones here.
    pub numbers: Numbers,
    /// Who asked for a row, by the number it has among `rows`; those that nobody asked for are absent.
    pub callers: Callers,
}

/// Who asked for rows of a job, by their numbers.
pub type Callers = BTreeMap<Seq, Caller>;

/// Where a job came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    /// When it comes.
    pub wall: Wall,
    /// SHA-256 of the lines it comes as.
    pub digest: [u8; 32],
}

/// What was taken over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// Rows.
    pub rows: u64,
    /// Verdicts that were computed again.
    pub verdicts: u64,
    /// Verdicts of another version of the arithmetic, which were not.
    pub older: u64,
}

/// Why a job is not taken over. Nothing of it is in the record.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// Names live for ever.
    #[error(
        "the record already has a job named {name}, opened on {}{}",
        day(*opened), imported.map_or_else(String::new, |at| format!(", imported on {}", day(at)))
    )]
    Used {
        /// The name.
        name: String,
        /// When that job was opened.
        opened: Wall,
        /// When it came from elsewhere, if it did.
        imported: Option<Wall>,
    },
    /// The rows contradict each other.
    #[error("{0}")]
    Contradiction(String),
    /// A verdict does not follow from its readings.
    #[error("verdict {row}, {what}")]
    Differs {
        /// Its number in what came.
        row: Seq,
        /// In what.
        what: String,
    },
    /// The database refused.
    #[error("{0}")]
    Refused(#[from] CommitError),
    /// The database cannot be read.
    #[error("{0}")]
    Store(#[from] StoreError),
}

fn day(at: Wall) -> String {
    at.to_string().chars().take(10).collect()
}

impl From<rusqlite::Error> for ImportError {
    fn from(error: rusqlite::Error) -> Self {
        let refused = CommitError::from(error);
        if let CommitError::Contradiction(what) = refused {
            return Self::Contradiction(what);
        }
        Self::Refused(refused)
    }
}

const FILES: &str = "seq IN (SELECT f.file FROM reading r JOIN form f ON f.id = r.form
    WHERE r.short = (SELECT short FROM job WHERE seq = ?1) AND f.file > 0)";

impl Book<'_> {
    /// Everything about a job, with the numbers of this record.
    fn all_of_job(self, job: Seq) -> Read<Vec<Row>> {
        let id = int(job);
        let mut rows = self.job_rows(job)?;
        rows.extend(self.steps("job = ?1 AND kind IN ('started', 'job-closed')", id)?);
        self.reopened(Which("job = ?1", id), &mut rows)?;
        rows.extend(self.alerts(Which("job = ?1", id))?);
        let of_its = "alert IN (SELECT seq FROM alert WHERE job = ?1)";
        rows.extend(self.alert_steps(Which(of_its, id))?);
        rows.extend(self.files(Which(FILES, id))?);
        Ok(rows)
    }

    /// The boots of this bench from the one a row was written in to the last one before another.
    fn boots(self, first: Seq, last: Seq) -> Read<Vec<Row>> {
        let own = "kind = 'started' AND job IS NULL";
        let sql = format!("SELECT coalesce(max(seq), 0) FROM step WHERE {own} AND seq < ?1");
        let from: i64 = self.conn.query_row(&sql, [int(first)], |row| row.get(0))?;
        self.steps(&format!("{own} AND seq >= {from} AND seq < ?1"), int(last))
    }

    /// A job as it is handed on.
    pub(super) fn handover(self, job: Seq) -> Read<Handover> {
        let numbers = Numbers::of(self, job)?;
        let mut rows = self.all_of_job(job)?;
        let here = || rows.iter().map(|row| row.seq).filter(|row| !numbers.came_along(*row));
        if let (Some(first), Some(last)) = (here().min(), here().max()) {
            rows.extend(self.boots(first, last)?);
        }
        rows.sort_by_key(|row| row.seq);
        let was = |row: &Row| {
            renumbered(row, &|number| Some(numbers.was(number)))
                .ok_or_else(|| damaged(row.seq, "it has no number"))
        };
        let mut callers = Callers::new();
        for row in &rows {
            if let Some(caller) = caller::of_row(self.conn, row.seq)? {
                callers.insert(numbers.was(row.seq), caller);
            }
        }
        let rows = rows.iter().map(was).collect::<Read<_>>()?;
        Ok(Handover { rows, numbers, callers })
    }
}

impl Store {
    /// Takes a job over that came from elsewhere, all of it or nothing. Its rows get the next
    /// numbers of this record and are not told in its feed. Before they are stored for good they
    /// are read back and every verdict is computed again.
    ///
    /// # Errors
    /// Its name was used, the rows contradict each other, a verdict does not follow from its
    /// readings, or the database refuses.
    pub fn import(
        &mut self,
        (rows, callers): (&[Row], &Callers),
        origin: Origin,
        judge: Judge<'_>,
    ) -> Result<Imported, ImportError> {
        let nothing = || ImportError::Contradiction("no job is opened in it".to_owned());
        let opened = |row: &&Row| matches!(row.body, Body::JobOpened(_));
        let was = rows.iter().find(opened).ok_or_else(nothing)?.seq;
        self.is_new(rows)?;
        let numbers = Numbers::given(self.end.last.next(), rows.iter().map(|row| row.seq));
        let new = renumbered_all(rows, &numbers)?;
        let job = numbers.now(was).ok_or_else(nothing)?;
        let mut end = self.end;
        let check = Shared::new(self.parse());
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut pen = Pen::new(&tx, end.feed, false);
        write(&mut pen, job, &new)?;
        drop(pen);
        for row in &new {
            end.sums.take(&tx, row)?;
            end.last = row.seq;
        }
        let called = rows.iter().filter_map(|row| {
            let caller = callers.get(&row.seq)?.clone();
            Some((numbers.now(row.seq)?, Caller { elsewhere: true, ..caller }))
        });
        caller::keep_all(&tx, called)?;
        numbers::write(&tx, (job, origin.wall.micros(), &origin.digest), &numbers)?;
        end.write(&tx)?;
        let imported = checked(Book { conn: &tx, shared: &check }, job, (rows, callers), judge)?;
        tx.commit()?;
        self.end = end;
        self.newest.note(Mark { last: end.last, feed: end.feed, wall: origin.wall });
        Ok(imported)
    }

    /// Whether the job's name was never used.
    fn is_new(&self, rows: &[Row]) -> Result<(), ImportError> {
        for row in rows {
            let Body::JobOpened(opened) = &row.body else { continue };
            let name = opened.name.as_str();
            let sql = "SELECT j.wall, i.wall FROM job j LEFT JOIN import i ON i.job = j.seq
                       WHERE j.name = ?1";
            let mut statement = self.conn.prepare_cached(sql)?;
            let mut found = statement.query([name])?;
            if let Some(row) = found.next()? {
                let imported: Option<i64> = row.get(1)?;
                let (name, opened) = (name.to_owned(), Wall::from_micros(row.get(0)?));
                let imported = imported.map(Wall::from_micros);
                return Err(ImportError::Used { name, opened, imported });
            }
        }
        Ok(())
    }
}

fn renumbered_all(rows: &[Row], numbers: &Numbers) -> Result<Vec<Row>, ImportError> {
    let new = |row: &Row| {
        renumbered(row, &|number| numbers.now(number)).ok_or_else(|| {
            let what = format!("row {} points to a row that is not there", row.seq);
            ImportError::Contradiction(what)
        })
    };
    rows.iter().map(new).collect()
}

/// The job first, since all else points to it; boots with the job beside them, so that they are
/// none of this bench.
fn write(pen: &mut Pen<'_>, job: Seq, rows: &[Row]) -> rusqlite::Result<()> {
    let (its, others): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| row.seq == job);
    for row in its.into_iter().chain(others) {
        if let Body::Started { .. } = row.body {
            pen.plain_step(row, Some(job))?;
        } else {
            pen.row(row)?;
        }
    }
    Ok(())
}

/// Reads the job back as it would be handed on, and judges it again.
fn checked(
    book: Book<'_>,
    job: Seq,
    (rows, callers): (&[Row], &Callers),
    judge: Judge<'_>,
) -> Result<Imported, ImportError> {
    let Handover { rows: back, numbers, callers: called } = book.handover(job)?;
    for (row, back) in rows.iter().zip(&back) {
        if !sums::same(row, back) {
            let what = format!("row {} does not come back as it is", row.seq);
            return Err(ImportError::Contradiction(what));
        }
    }
    let same = |(row, caller): (&Seq, &Caller)| {
        called.get(row) == Some(&Caller { elsewhere: true, ..caller.clone() })
    };
    if called.len() != callers.len() || !callers.iter().all(same) {
        let what = "who asked does not come back as it is".to_owned();
        return Err(ImportError::Contradiction(what));
    }
    if rows.len() != back.len() {
        let what = format!("{} of {} rows belong to the job", back.len(), rows.len());
        return Err(ImportError::Contradiction(what));
    }
    let mut found = Verified::default();
    replay(&book.job_rows(job)?, judge, &mut found);
    if let Some(first) = found.differences.into_iter().next() {
        let row = numbers.was(first.row.unwrap_or(job));
        return Err(ImportError::Differs { row, what: first.what });
    }
    let Verified { verdicts, older, .. } = found;
    Ok(Imported { rows: rows.len() as u64, verdicts, older })
}

/// The job with a name, as it is handed on.
pub(super) fn of_name(book: Book<'_>, name: &str) -> Read<Handover> {
    book.handover(super::query::job_id(book, name)?)
}

/// Open alerts that came from elsewhere: here they ring no more.
pub(super) fn came_along(book: Book<'_>) -> Read<Vec<Row>> {
    let sql = "SELECT seq FROM alert t WHERE cleared_by IS NULL AND EXISTS
               (SELECT 1 FROM import_run r WHERE t.seq BETWEEN r.first AND r.last)";
    let mut statement = book.conn.prepare_cached(sql)?;
    let alerts = statement.query_map([], |row| row.get(0).map(seq))?;
    let seen = |alert: Seq| Row {
        seq: alert,
        at: quantity::Stamp::default(),
        by: None,
        body: Body::AlertSeen { alert },
        restored: None,
    };
    Ok(alerts.map(|alert| alert.map(seen)).collect::<Result<_, _>>()?)
}

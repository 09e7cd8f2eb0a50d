//! A job as it is handed on, and a job that came from another bench.

use std::collections::BTreeMap;

use rusqlite::TransactionBehavior;

use super::caller::{self, Caller};
use super::newest::Mark;
use super::numbers::{self, Numbers, renumbered};
use super::read::{Book, Read, Shared, damaged};
use super::verify::{Judge, Verified, replay};
use super::write::{Pen, int, seq};
use super::writer::Store;
use super::{CommitError, StoreError};
use bench::row::Body;
use bench::{Row, Seq};
use quantity::Wall;

/// Everything the record has of one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Handover {
    /// Every row, in order, with the numbers they had where the job was opened: the job, its attempts,
    /// readings, marks, steps, verdicts, alerts, the files it was read from, and the boots that its times
    /// belong to. What stations had on their screens is left out.
    pub rows: Vec<Row>,
    /// Those numbers, by the numbers here.
    pub numbers: Numbers,
    /// Who asked for a row, by its number in `rows`; rows that nobody asked for are absent.
    pub callers: Callers,
}

/// Who asked for rows of a job, by their numbers.
pub type Callers = BTreeMap<Seq, Caller>;

/// Where a job came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Origin {
    /// When it is imported.
    pub wall: Wall,
    /// SHA-256 of the lines it comes in.
    pub digest: [u8; 32],
}

/// The result of an import.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// Rows.
    pub rows: u64,
    /// Verdicts that were computed again.
    pub verdicts: u64,
    /// Verdicts of another version of the arithmetic; they were not computed again.
    pub older: u64,
}

/// Why a job is not imported. Nothing of it is in the record then.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// A name is never used twice.
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
        /// Its number in the import.
        row: Seq,
        /// The parts that differ.
        what: String,
    },
    /// The database refused to store it.
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
    WHERE r.job = ?1 AND f.file > 0)";

impl Book<'_> {
    /// All rows of a job, with the numbers of this record.
    fn all_of_job(self, job: Seq) -> Read<Vec<Row>> {
        let id = [int(job)];
        let mut rows = self.job_rows(job)?;
        let beside = "('started', 'job-closed', 'job-reopened', 'alert-raised')";
        rows.extend(self.facts(&format!("job = ?1 AND kind IN {beside}"), id)?);
        let of_its = "kind IN ('alert-seen', 'alert-cleared') AND about IN
            (SELECT seq FROM fact WHERE job = ?1 AND kind = 'alert-raised')";
        rows.extend(self.facts(of_its, id)?);
        rows.extend(self.facts(FILES, id)?);
        self.restore(&mut rows)?;
        Ok(rows)
    }

    /// The boots of this bench, from that of one row to the last one before another row.
    fn boots(self, first: Seq, last: Seq) -> Read<Vec<Row>> {
        let own = "kind = 'started' AND job IS NULL";
        let from = format!("(SELECT coalesce(max(seq), 0) FROM fact WHERE {own} AND seq < ?1)");
        let boots = format!("{own} AND seq >= {from} AND seq < ?2");
        self.facts(&boots, [int(first), int(last)])
    }

    /// Collects a job to be handed on.
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
    /// Imports a job from another bench, all of it or nothing. Its rows get the next numbers of this record
    /// and do not appear in its feed. Before they are stored for good they are read back and every verdict
    /// is computed again.
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
        let mut end = self.end.clone();
        let check = Shared::new(self.parse());
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut pen = Pen::new(&tx, end.feed, false);
        write(&mut pen, job, &new)?;
        end.seals.take(&pen.ink);
        end.last = new.last().map_or(end.last, |row| row.seq);
        drop(pen);
        let called = rows.iter().filter_map(|row| {
            let caller = callers.get(&row.seq)?.clone();
            Some((numbers.now(row.seq)?, Caller { elsewhere: true, ..caller }))
        });
        caller::keep_all(&tx, called)?;
        numbers::write(&tx, (job, origin.wall.micros(), &origin.digest), &numbers)?;
        end.write(&tx)?;
        let imported = checked(Book { conn: &tx, shared: &check }, job, (rows, callers), judge)?;
        tx.commit()?;
        self.newest.note(Mark { last: end.last, feed: end.feed, wall: origin.wall });
        self.end = end;
        Ok(imported)
    }

    /// Refuses a job whose name was used before.
    fn is_new(&self, rows: &[Row]) -> Result<(), ImportError> {
        for row in rows {
            let Body::JobOpened(opened) = &row.body else { continue };
            let name = opened.name.as_str();
            let sql = "SELECT j.wall, i.wall FROM fact j LEFT JOIN import i ON i.job = j.seq
                       WHERE j.kind = 'job-opened' AND j.key = ?1";
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

/// Writes the rows of a job. Its boots are stored with the job, so that they do not count as boots of this
/// bench.
fn write<'a>(pen: &mut Pen<'a>, job: Seq, rows: &'a [Row]) -> rusqlite::Result<()> {
    rows.iter().try_for_each(|row| {
        let is_boot = matches!(row.body, Body::Started { .. });
        pen.row(row, is_boot.then_some(job))
    })
}

/// Reads the job back as it would be handed on, and computes its verdicts again.
fn checked(
    book: Book<'_>,
    job: Seq,
    (rows, callers): (&[Row], &Callers),
    judge: Judge<'_>,
) -> Result<Imported, ImportError> {
    let Handover { rows: back, numbers, callers: called } = book.handover(job)?;
    for (row, back) in rows.iter().zip(&back) {
        if !same(row, back) {
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

/// Whether two rows are equal. The state of a reopened job follows from its rows and is not compared.
pub(super) fn same(one: &Row, other: &Row) -> bool {
    let told = |row: &Row| (row.seq, row.at, row.by.clone());
    told(one) == told(other) && one.body == other.body
}

/// The job with a name, as it is handed on.
pub(super) fn of_name(book: Book<'_>, name: &str) -> Read<Handover> {
    book.handover(super::query::job_id(book, name)?)
}

/// Open alerts that came from another bench: here they call nobody.
pub(super) fn came_along(book: Book<'_>) -> Read<Vec<Row>> {
    let sql = "SELECT fact FROM pending p WHERE kind = 'alert-raised' AND EXISTS
        (SELECT 1 FROM import_run r WHERE p.fact BETWEEN r.first AND r.last)";
    let seen = |alert: Seq| Row {
        seq: alert,
        at: quantity::Stamp::default(),
        by: None,
        body: Body::AlertSeen { alert },
        restored: None,
    };
    book.select(sql, [], |row| Ok(seen(seq(row.get(0)?))))
}

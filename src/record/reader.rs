//! Reading the record.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::backup::{self, Copied};
use super::caller::{self, Caller};
use super::counters::End;
use super::owner::Owner;
use super::papers::PaperWrong;
use super::pieces::Pieces;
use super::progress::Progress;
use super::query::RegisterRow;
use super::read::{Book, ParsePlan, Shared, parse_pinned};
use super::verify::{self, Depth};
use super::{
    AlertRecord, FeedOrigin, FeedRecord, Filter, Handover, JobRecord, Judge, PapersAtHand,
    ReadingRecord, Seal, SetAside, StoreError, VerdictRecord, Verified, feed, folder, handover,
    holder, papers, parts, query, schema, seals,
};
use bench::row::{Paper, ProofRow};
use bench::{Bench, Job, Row, Seq};

/// A record opened for reading, while the service runs or not.
pub struct Reader {
    pub(super) conn: Connection,
    shared: Shared,
    path: PathBuf,
    /// Whether it was opened as a file that nobody writes.
    still: bool,
    /// The owner of its folder, where that is another user than the reader.
    owner: Owner,
    /// Pictures and papers of a record that is not in a folder.
    at_hand: Option<PapersAtHand>,
}

impl std::fmt::Debug for Reader {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Reader")
            .field("path", &self.path)
            .field("still", &self.still)
            .finish_non_exhaustive()
    }
}

impl Reader {
    /// Opens a record with the plan reader of the configuration, see [`Reader::open_with`].
    ///
    /// # Errors
    /// As there.
    pub fn open(folder_or_file: &Path) -> Result<Self, StoreError> {
        Self::open_with(folder_or_file, parse_pinned)
    }

    /// Opens the record in a state folder, or a database file such as a backup.
    ///
    /// Without a log beside it nobody writes the database, and it is opened as a file that does not change:
    /// otherwise a reader from the group would leave files behind that make the service's next write fail.
    ///
    /// # Errors
    /// There is no database, it is no record or has another schema, or the system refuses.
    pub fn open_with(folder_or_file: &Path, parse: ParsePlan) -> Result<Self, StoreError> {
        let inside = folder_or_file.is_dir();
        let path =
            if inside { folder_or_file.join(folder::DATABASE) } else { folder_or_file.into() };
        if !folder::is_there(&path)? {
            return Err(StoreError::Missing(path));
        }
        let Opened { conn, still, owner } =
            open(&path).map_err(|error| holder::locked(&path, error))?;
        Ok(Self { conn, shared: Shared::new(parse), path, still, owner, at_hand: None })
    }

    /// A record that is only in memory; `path` is what errors call it.
    pub(super) fn in_memory(
        conn: Connection,
        (path, parse): (PathBuf, ParsePlan),
        at_hand: PapersAtHand,
    ) -> Self {
        conn.set_prepared_statement_cache_capacity(64);
        let (shared, at_hand) = (Shared::new(parse), Some(at_hand));
        Self { conn, shared, path, still: false, owner: Owner::SELF, at_hand }
    }

    const fn book(&self) -> Book<'_> {
        Book { conn: &self.conn, shared: &self.shared }
    }

    /// Reads in short moments, with a rest after each while the record may be written.
    pub(super) fn in_pieces<T>(
        &self,
        look: impl FnOnce(Pieces<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let _as_owner = self.owner.assumed()?;
        let book = self.book();
        let pieces = if self.still { Pieces::still(book) } else { Pieces::growing(book) };
        look(pieces).map_err(|error| holder::locked(&self.path, book.named(error)))
    }

    /// Runs one request on one state of the database, however long it takes.
    pub(super) fn ask<T>(
        &self,
        question: impl FnOnce(Book<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let named = |error| holder::locked(&self.path, error);
        let question = |book: Book<'_>| question(book).map_err(|error| named(book.named(error)));
        // Any request may make the database open a file beside it.
        let _as_owner = self.owner.assumed()?;
        if !self.conn.is_autocommit() {
            return question(self.book());
        }
        let snapshot = self.conn.unchecked_transaction().map_err(|error| named(error.into()))?;
        let answer = question(self.book());
        snapshot.finish()?;
        self.unless_written(answer?)
    }

    /// The result, unless another process writes the file that was opened as unchanging.
    fn unless_written<T>(&self, found: T) -> Result<T, StoreError> {
        let written = self.still && folder::beside(&self.path, "-wal").exists();
        if written { Err(StoreError::Meanwhile) } else { Ok(found) }
    }

    /// Runs several requests on one state of the database.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn at_one_moment<T>(&self, questions: impl FnOnce() -> T) -> Result<T, StoreError> {
        self.ask(|_| Ok(questions()))
    }

    /// Damage that was left out of answers about several jobs since the last call. An answer about a named
    /// job leaves nothing out: it is an error instead.
    #[must_use]
    pub fn left_out(&self) -> Vec<SetAside> {
        self.shared.left_out()
    }

    /// Whose process asked for a row; `None` where nobody did.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn caller_of(&self, row: Seq) -> Result<Option<Caller>, StoreError> {
        self.ask(|book| Ok(caller::of_row(book.conn, row)?))
    }

    /// The seal after the newest row; none of a record without rows.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn seal(&self) -> Result<Option<Seal>, StoreError> {
        self.ask(|book| Ok(End::read(book)?.0.seal()))
    }

    /// The seal that is printed in the report of a job: the one after the block of its newest row, which
    /// stays the same for good, or the newest one while that block is still open.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read.
    pub fn seal_of(&self, name: &str) -> Result<Option<Seal>, StoreError> {
        self.ask(|book| {
            let newest = book.newest_row(query::job_id(book, name)?)?;
            Ok(match seals::after_block_of(book.conn, newest)? {
                Some(seal) => Some(seal),
                None => End::read(book)?.0.seal(),
            })
        })
    }

    /// Everything about one job, as it is handed on.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read.
    pub fn handover(&self, name: &str) -> Result<Handover, StoreError> {
        self.ask(|book| handover::of_name(book, name))
    }

    /// Readings, oldest first.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read; so for all questions.
    pub fn readings(&self, filter: &Filter) -> Result<Vec<ReadingRecord>, StoreError> {
        self.ask(|book| query::readings(book, filter))
    }

    /// Verdicts, oldest first; without [`Filter::all`] only the standing one of each attempt.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read.
    pub fn verdicts(&self, filter: &Filter) -> Result<Vec<VerdictRecord>, StoreError> {
        self.ask(|book| query::verdicts(book, filter))
    }

    /// Alerts, oldest first, seen and cleared ones included.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read.
    pub fn alerts(&self, filter: &Filter) -> Result<Vec<AlertRecord>, StoreError> {
        self.ask(|book| query::alerts(book, filter))
    }

    /// Every job, oldest first.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn jobs(&self) -> Result<Vec<JobRecord>, StoreError> {
        self.jobs_found(&Filter::default())
    }

    /// Jobs that match a filter, the oldest first.
    ///
    /// # Errors
    /// A serial number or person that no job has, or a database that cannot be read.
    pub fn jobs_found(&self, filter: &Filter) -> Result<Vec<JobRecord>, StoreError> {
        self.ask(|book| query::jobs(book, filter))
    }

    /// Every proof of a gauge, the oldest first.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn proofs(&self, gauge: &str) -> Result<Vec<ProofRow>, StoreError> {
        self.ask(|book| query::proofs(book, gauge))
    }

    /// The entries of the register, the oldest first: of one name, or of all.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn register(&self, name: Option<&str>) -> Result<Vec<RegisterRow>, StoreError> {
        self.ask(|book| query::register(book, name))
    }

    /// A verdict by its number, with the job as it was when that was given, so that it can be worked out
    /// again; `None` where no verdict has this number.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn judged_then(&self, id: Seq) -> Result<Option<(VerdictRecord, Arc<Job>)>, StoreError> {
        self.ask(|book| {
            let Some(record) = query::verdict(book, id)? else { return Ok(None) };
            let job = query::job_id(book, record.job.as_str())?;
            let mut rows = book.job_rows(job)?;
            rows.retain(|row| row.seq < id);
            let state = Bench::rebuilt_job(&rows, job).ok_or_else(|| gone(job))?;
            Ok(Some((record, state)))
        })
    }

    /// How many verdicts on some attempts are superseded.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn superseded(&self, attempts: &[Seq]) -> Result<usize, StoreError> {
        self.ask(|book| query::superseded(book, attempts))
    }

    /// One job by its name, or by the serial number of its spindle where that has one job.
    ///
    /// # Errors
    /// An unknown job, several that could be meant, or a database that cannot be read.
    pub fn job(&self, name: &str) -> Result<JobRecord, StoreError> {
        self.ask(|book| {
            let id = query::job_id(book, name)?;
            query::job(book, id)?.ok_or_else(|| gone(id))
        })
    }

    /// The state of a job, open or closed: every attempt with its readings as they count now.
    ///
    /// # Errors
    /// An unknown job, or a database that cannot be read.
    pub fn job_state(&self, name: &str) -> Result<(Seq, Arc<Job>), StoreError> {
        self.ask(|book| {
            let id = query::job_id(book, name)?;
            let job = Bench::rebuilt_job(&book.job_rows(id)?, id).ok_or_else(|| gone(id))?;
            Ok((id, job))
        })
    }

    /// The path of the file of a picture or a paper.
    #[must_use]
    pub fn paper_path(&self, paper: &Paper) -> PathBuf {
        papers::folder_of(&self.path).join(paper.kept_as())
    }

    /// Whether the file of a picture or a paper is there and has its size; it is not read.
    ///
    /// # Errors
    /// The rights of its owner cannot be had.
    pub fn paper_there(&self, paper: &Paper) -> Result<Result<(), PaperWrong>, StoreError> {
        if let Some(at_hand) = &self.at_hand {
            return Ok(at_hand.bytes(paper).map(drop));
        }
        let _as_owner = self.owner.assumed()?;
        Ok(papers::there(&papers::folder_of(&self.path), paper))
    }

    /// The bytes of a picture or a paper, if they are the ones that were attached.
    ///
    /// # Errors
    /// The rights of its owner cannot be had.
    pub fn paper(&self, paper: &Paper) -> Result<Result<Vec<u8>, PaperWrong>, StoreError> {
        if let Some(at_hand) = &self.at_hand {
            return Ok(at_hand.bytes(paper));
        }
        let _as_owner = self.owner.assumed()?;
        Ok(papers::bytes(&papers::folder_of(&self.path), paper))
    }

    /// Whether an attachment names a file.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn names_paper(&self, paper: &Paper) -> Result<bool, StoreError> {
        let sql = "SELECT EXISTS (SELECT 1 FROM fact WHERE kind = 'attached' AND key = ?1)";
        self.ask(|book| Ok(book.conn.query_row(sql, [paper.kept_as()], |row| row.get(0))?))
    }

    /// Which feed the record has, and the number of its newest line; 0 where there is none.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn feed_end(&self) -> Result<(FeedOrigin, u64), StoreError> {
        self.ask(|book| feed::end(book.conn))
    }

    /// At most `limit` lines of the feed after line `since`.
    ///
    /// # Errors
    /// A database that cannot be read.
    pub fn feed_since(&self, since: u64, limit: usize) -> Result<Vec<FeedRecord>, StoreError> {
        self.ask(|book| feed::since(book, since, limit))
    }

    /// Every row of the record, in order.
    ///
    /// # Errors
    /// A database that cannot be read.
    #[expect(clippy::redundant_closure, reason = "the method alone is not general enough")]
    pub fn all_rows(&self) -> Result<Vec<Row>, StoreError> {
        self.ask(|book| Book::all_rows(book))
    }

    /// Checks the whole record and computes every verdict again. A record that is written meanwhile is
    /// read in many short moments, so that its log can be moved between them, and checked as it was at
    /// the first of them.
    ///
    /// # Errors
    /// The database cannot be read at all; what is wrong in it is in the result.
    pub fn verify(&self, judge: Judge<'_>) -> Result<Verified, StoreError> {
        self.verify_sealed(judge, None, &Progress::default())
    }

    /// The same, with its progress shown meanwhile, and with a check whether the rows are those of a
    /// printed seal.
    ///
    /// # Errors
    /// As there.
    pub fn verify_sealed(
        &self,
        judge: Judge<'_>,
        sealed: Option<&Seal>,
        progress: &Progress,
    ) -> Result<Verified, StoreError> {
        let _as_owner = self.owner.assumed()?;
        let book = self.book();
        let pieces = if self.still { Pieces::still(book) } else { Pieces::growing(book) };
        let found = verify::verify(pieces, (Depth::Judged(judge), sealed), progress);
        let mut found = found.map_err(|error| book.named(error))?;
        verify::files(pieces, &papers::folder_of(&self.path), &mut found)
            .map_err(|error| book.named(error))?;
        self.unless_written(found)
    }

    /// Copies the record, in one state, into a new file while the service runs, and checks the copy;
    /// without `judge` it is not checked.
    ///
    /// # Errors
    /// The target is already there, or a file cannot be written. A damaged copy is no error: it is
    /// kept under another name.
    pub fn backup(
        &self,
        to: &Path,
        judge: Option<Judge<'_>>,
        progress: &Progress,
    ) -> Result<Copied, StoreError> {
        let copied = backup::backup((self.book(), &self.path, self.owner), to, judge, progress)
            .map_err(|error| holder::locked(&self.path, error))?;
        if self.still && folder::beside(&self.path, "-wal").exists() {
            // A copy must not be trusted if the file changed under a reader who took it for unchanging.
            let path = &copied.path;
            std::fs::remove_file(path).map_err(folder::failed("remove", path))?;
            papers::removed(&papers::folder_of(path))?;
            return Err(StoreError::Meanwhile);
        }
        Ok(copied)
    }
}

/// A record opened for reading, whether it may be written meanwhile, and the owner of its folder.
pub(super) struct Opened {
    pub(super) conn: Connection,
    pub(super) still: bool,
    pub(super) owner: Owner,
}

/// Opens a record to read.
pub(super) fn open(path: &Path) -> Result<Opened, StoreError> {
    if parts::is_part(path) {
        return Err(StoreError::Unfinished(path.to_owned()));
    }
    let still = !folder::beside(path, "-wal").exists();
    let owner = match Owner::of_file(path) {
        // A file without a log is opened alone, with nothing beside it: it may lie in a folder that others
        // may write.
        Err(StoreError::Open { .. }) if still => Owner::SELF,
        found => found?,
    };
    let _as_owner = owner.assumed()?;
    let conn = open_as(path, still)?;
    if !schema::is_record(&conn)? {
        return Err(StoreError::Foreign);
    }
    Ok(Opened { conn, still, owner })
}

/// Opens a database that nobody writes, whatever its name.
pub(super) fn open_still(path: &Path) -> Result<Connection, StoreError> {
    open_as(path, true)
}

fn open_as(path: &Path, still: bool) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
        | OpenFlags::SQLITE_OPEN_URI
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(address(path, still), flags)?;
    conn.busy_timeout(Duration::from_secs(2))?;
    conn.set_prepared_statement_cache_capacity(64);
    Ok(conn)
}

fn gone(job: Seq) -> StoreError {
    StoreError::Damaged { row: job, what: "the job has no row".to_owned() }
}

/// The path of a file in the form `SQLite` takes, with every byte that has a meaning there escaped.
fn address(path: &Path, still: bool) -> String {
    use std::fmt::Write;
    use std::os::unix::ffi::OsStrExt;
    let mut address = String::from("file:");
    for &byte in path.as_os_str().as_bytes() {
        if byte.is_ascii_alphanumeric() || b"/._-".contains(&byte) {
            address.push(char::from(byte));
        } else {
            write!(address, "%{byte:02X}").expect("writing to a text cannot fail");
        }
    }
    address.push_str(if still { "?mode=ro&immutable=1" } else { "?mode=ro" });
    address
}

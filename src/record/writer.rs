//! The one writer of the record.

use std::path::{Path, PathBuf};
use std::sync::{Arc, mpsc};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, OptionalExtension, TransactionBehavior};

use super::counters::End;
use super::folder::{self, FolderLock, Identity};
use super::look::Limits;
use super::mover::Log;
use super::newest::{Mark, Newest};
use super::owner::Owner;
use super::read::{Book, ParsePlan, SetAside, Shared, parse_pinned};
use super::seals::{Ink, Seals};
use super::write::{Pen, faulty, seq};
use super::{
    Answer, Answered, CommitError, FeedOrigin, FeedRecord, Seal, StoreError, answers, begin,
    caller, feed, holder, look, mover, pending, schema, weight,
};
use bench::event::StorageNews;
use bench::row::Piece;
use bench::{Row, Seq};
use quantity::hexadecimal;

/// How long one try waits for another program's lock.
const BUSY: Duration = Duration::from_millis(100);
/// Pages of 4 KiB that the log gets at the start, so that commits need not enlarge the file.
const LOG_PAGES: usize = 256;
/// From this many rows on, their seals are worked out on a thread of their own.
const BESIDE: usize = 1000;

/// Whether a job has a name, in any letter case.
const IS_NAMED: &str =
    "SELECT seq FROM fact WHERE kind = 'job-opened' AND key = ?1 COLLATE NOCASE LIMIT 1";

/// The open record. It belongs to one thread, and there is one in a state folder.
pub struct Store {
    pub(super) conn: Connection,
    shared: Shared,
    path: PathBuf,
    files: Vec<Identity>,
    pub(super) end: End,
    pub(super) feed_origin: FeedOrigin,
    pub(super) newest: Newest,
    log: Log,
    _lock: FolderLock,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Store")
            .field("path", &self.path)
            .field("last", &self.end.last)
            .finish_non_exhaustive()
    }
}

/// What a bench is rebuilt from at the start, see [`bench::Bench::rebuilt`].
#[derive(Debug, Clone, PartialEq)]
pub struct ReadBack {
    /// The rows of open jobs, stations and open alerts, in order.
    pub rows: Vec<Row>,
    /// The number of the newest row of the record.
    pub last: Seq,
    /// The number of the newest line of the feed.
    pub feed: u64,
    /// Damaged pieces that are not among the rows.
    pub set_aside: Vec<SetAside>,
    /// News of the record to report at the start.
    pub news: Vec<StorageNews>,
}

/// The sizes that need watching.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Health {
    /// Size of the log beside the database, bytes.
    pub wal_bytes: u64,
    /// Space left for the service on that disk, bytes.
    pub free_bytes: u64,
}

impl Store {
    /// Opens the record in a state folder with the plan reader of the configuration, see
    /// [`Store::open_with`].
    ///
    /// # Errors
    /// As there.
    pub fn open(folder: &Path) -> Result<(Self, ReadBack), StoreError> {
        Self::open_with(folder, parse_pinned)
    }

    /// Opens the record in a state folder, makes folder and database where they are missing, and reads what
    /// the bench starts from.
    ///
    /// `parse` reads a stored plan; it must accept every text that it accepted once.
    ///
    /// # Errors
    /// Another service works with the folder, root runs the program and the folder belongs to another user,
    /// the database is newer or damaged, or the system refuses.
    pub fn open_with(folder: &Path, parse: ParsePlan) -> Result<(Self, ReadBack), StoreError> {
        let (mut store, mut back) = Self::opened(folder, parse)
            .map_err(|error| holder::locked(&folder.join(folder::DATABASE), error))?;
        if !matches!(back.news.as_slice(), [StorageNews::Begun { .. }]) {
            store.looked_over(&mut back);
            let lost = back.news.iter().any(|news| matches!(news, StorageNews::Lost { .. }));
            let sure = back.set_aside.is_empty() && !lost && !store.has_lost_rows()?;
            back.set_aside.extend(store.papers_looked_over(sure));
        }
        Ok((store, back))
    }

    /// The same without checking the whole record, for tests with a thousand starts.
    #[cfg(any(test, feature = "trial"))]
    pub fn open_unseen(folder: &Path, parse: ParsePlan) -> Result<(Self, ReadBack), StoreError> {
        Self::opened(folder, parse)
    }

    fn opened(folder: &Path, parse: ParsePlan) -> Result<(Self, ReadBack), StoreError> {
        folder::make(folder)?;
        if Owner::of_folder(folder)?.is_somebody_else() {
            return Err(StoreError::NotOurs(folder.to_owned()));
        }
        let lock = FolderLock::take(folder)?;
        let path = folder.join(folder::DATABASE);
        let begun = begin::made_sure(folder)?;
        let (newest, mark) = Newest::open(folder)?;
        let database = Identity::of(&path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut conn = Connection::open_with_flags(&path, flags)?;
        prepare(&mut conn)?;
        let length = Log::of(&mut conn)?;
        let log = Identity::of(&folder::beside(&path, "-wal"))?;
        let shared = Shared::new(parse);
        let book = Book { conn: &conn, shared: &shared };
        let not_pending = pending_made_sure(&conn)?;
        if let Some(heavy) = weight::warning(&conn) {
            tracing::error!("{heavy}");
        }
        let (end, mut back) = read_back(book)?;
        back.set_aside.extend(not_pending);
        let feed_origin = FeedOrigin::made_sure(&conn)?;
        let files = vec![database, log];
        let mut store =
            Self { conn, shared, path, files, end, feed_origin, newest, log: length, _lock: lock };
        if !store.in_place() {
            return Err(StoreError::Missing(store.path));
        }
        back.news = if begun { store.begun(mark) } else { store.missing(mark, &back.rows)? };
        back.last = store.end.last;
        Ok((store, back))
    }

    /// Stores rows and their answers, all or none. When it returns `Ok` they are on disk. After an error
    /// the caller still has the rows; it asks [`Store::last_committed`] first and then tries again.
    ///
    /// # Errors
    /// See [`CommitError`].
    pub fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Result<(), CommitError> {
        let mut expected = self.end.last.next();
        for row in rows {
            if row.seq != expected {
                return Err(CommitError::Order { expected, got: row.seq });
            }
            expected = expected.next();
        }
        if !self.in_place() {
            return Err(CommitError::Replaced);
        }
        let end = self.write(rows, answers).map_err(|error| self.refused(error))?;
        if !self.in_place() {
            return Err(CommitError::Replaced);
        }
        if let Some(row) = rows.last() {
            self.newest.note(Mark { last: row.seq, feed: end.feed, wall: row.at.wall });
        }
        self.end = end;
        self.log.grew();
        if self.log.is_too_long() {
            // It is tried again after further rows; the rows of this commit are already on disk.
            drop(self.checkpoint());
        }
        Ok(())
    }

    /// Which feed the lines of this record belong to.
    #[must_use]
    pub const fn feed_origin(&self) -> &FeedOrigin {
        &self.feed_origin
    }

    /// Whether it is time to move the log into the database: before it outgrows its room, or when the
    /// thread that moves it does not keep up.
    #[must_use]
    pub fn wants_checkpoint(&self) -> bool {
        self.log.is_for_writer(LOG_PAGES)
    }

    /// From now on a thread moves the log into the database, until the record is closed.
    ///
    /// # Errors
    /// The thread cannot be started, or the database cannot be opened once more.
    pub fn move_log_beside(&mut self) -> Result<(), StoreError> {
        self.log.move_beside(&self.path)?;
        Ok(self.conn.pragma_update(None, "journal_size_limit", mover::LOG_BYTES)?)
    }

    fn write(&mut self, rows: &[Row], answers: &[Answer]) -> rusqlite::Result<End> {
        let last = rows.last().map_or(self.end.last, |row| row.seq);
        self.end_what_is_left()?;
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let pen = Pen::new(&tx, self.end.feed, true);
        let (feed, seals) = written(pen, rows, self.end.seals.clone())?;
        let mut end = End { last, feed, seals };
        end.write(&tx)?;
        for answer in answers {
            answers::keep(&tx, answer)?;
            if let Some(called) = &answer.called {
                caller::keep(&tx, called)?;
            }
        }
        if let Some(newest) = answers.last() {
            answers::sweep_some(&tx, newest.at)?;
        }
        tx.commit()?;
        Ok(end)
    }

    /// The seal after the newest acknowledged row; `None` for a record without rows.
    #[must_use]
    pub fn seal(&self) -> Option<Seal> {
        self.end.seal()
    }

    /// Takes back a transaction that was broken off and could not be taken back at the time. While it is
    /// open nothing can be written, and reads would show rows that were not stored.
    fn end_what_is_left(&self) -> rusqlite::Result<()> {
        if self.conn.is_autocommit() { Ok(()) } else { self.conn.execute_batch("ROLLBACK") }
    }

    /// Why a commit was refused, and which program caused it.
    fn refused(&self, error: rusqlite::Error) -> CommitError {
        let refused = CommitError::from(error);
        if matches!(refused, CommitError::Locked(_)) {
            let holder = holder::of_record(&self.path);
            return CommitError::Locked(holder.map(|holder| holder.words));
        }
        refused
    }

    /// The number of the newest row that is surely on disk. After a refused commit this says whether it was
    /// stored all the same; from then on the store counts it as stored.
    ///
    /// # Errors
    /// The database cannot be read at the moment: the number is not known, and must be asked for again.
    pub fn last_committed(&mut self) -> Result<Seq, StoreError> {
        self.end_what_is_left()?;
        let (end, _) = End::read(self.book())?;
        if self.in_place() {
            self.end = end;
        }
        Ok(self.end.last)
    }

    /// Whether the open files are still the ones at their paths: writing into a deleted file succeeds and
    /// is lost.
    fn in_place(&self) -> bool {
        self.files.iter().all(Identity::holds)
    }

    /// Looks for damage that reading the rows does not find.
    fn looked_over(&mut self, back: &mut ReadBack) {
        let (found, news) = self.look(Limits::AT_START);
        // Damage found by reading is already reported, and a wrong counter is written again.
        let counter = Piece::Place("counter".to_owned());
        let is_told = |found: &SetAside| {
            back.set_aside.iter().any(|told| {
                let counted = told.what == Piece::Counters && found.what == counter;
                counted || look::says_the_same(found, told)
            })
        };
        let found: Vec<SetAside> = found.into_iter().filter(|found| !is_told(found)).collect();
        back.set_aside.extend(found);
        back.news.extend(news);
    }

    /// Whether rows of it are missing, now or since earlier.
    pub(super) fn has_lost_rows(&self) -> Result<bool, StoreError> {
        Ok(self.conn.query_row("SELECT EXISTS (SELECT 1 FROM lost)", [], |row| row.get(0))?)
    }

    pub(super) fn database(&self) -> &Path {
        &self.path
    }

    /// Whether everything is in the database file itself.
    pub(super) fn log_is_empty(&self) -> bool {
        self.log.is_moved()
    }

    fn wal_bytes(&self) -> u64 {
        std::fs::metadata(folder::beside(&self.path, "-wal")).map_or(0, |found| found.len())
    }

    /// The sizes that an alert watches.
    ///
    /// # Errors
    /// The disk cannot be asked.
    pub fn health(&self) -> Result<Health, StoreError> {
        let disk = rustix::fs::statvfs(&self.path)
            .map_err(|error| folder::failed("look at", &self.path)(error.into()))?;
        let free_bytes = disk.f_bavail.saturating_mul(disk.f_frsize);
        Ok(Health { wal_bytes: self.wal_bytes(), free_bytes })
    }

    /// Moves the log into the database as far as readers allow. When no reader needs it any more, the next
    /// commit begins at its start again, in blocks that the disk already knows, and costs a single
    /// `fdatasync` of data. Call it when there is nothing else to do; a commit does it only when the log is
    /// very long.
    ///
    /// # Errors
    /// The database refuses; nothing is lost.
    pub fn checkpoint(&mut self) -> Result<(), StoreError> {
        self.log.move_now(&self.conn)?;
        Ok(())
    }

    /// Closes the record, moving the log into the database.
    ///
    /// # Errors
    /// The database refuses; everything that was committed is safe in the log.
    pub fn close(mut self) -> Result<(), StoreError> {
        let _open_until_then = self.log.end();
        self.conn.close().map_err(|(_, error)| error.into())
    }

    pub(super) fn one<T: rusqlite::types::FromSql>(
        &self,
        sql: &str,
        values: impl rusqlite::Params,
    ) -> Result<Option<T>, StoreError> {
        let mut statement = self.conn.prepare_cached(sql)?;
        Ok(statement.query_row(values, |row| row.get(0)).optional()?)
    }

    /// What is known of a request that was carried out, by its key.
    ///
    /// # Errors
    /// The database cannot be read; this holds for all look-ups.
    pub fn answer_of(&self, key: &str) -> Result<Option<Answered>, StoreError> {
        answers::of_key(&self.conn, key)
    }

    /// Whether a job, open or closed, has this name, in any letter case (of ASCII letters).
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn name_used(&self, name: &str) -> Result<bool, StoreError> {
        Ok(self.one::<i64>(IS_NAMED, [name])?.is_some())
    }

    /// The number of a closed job; the letter case of its name matters only where several jobs match.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn closed_job(&self, name: &str) -> Result<Option<Seq>, StoreError> {
        let sql = "SELECT seq, key = ?1, seq NOT IN (SELECT fact FROM pending WHERE kind = 'job-opened') FROM fact
            WHERE kind = 'job-opened' AND key = ?1 COLLATE NOCASE ORDER BY 2 DESC LIMIT 2";
        let mut statement = self.conn.prepare_cached(sql)?;
        let found = statement
            .query_map([name], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<Vec<(i64, bool, bool)>, _>>()?;
        Ok(match *found {
            [(id, exact, closed), ..] if closed && (exact || found.len() == 1) => Some(seq(id)),
            _ => None,
        })
    }

    /// The rows of a closed job, for [`bench::Bench::rebuilt_job`].
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn job_rows(&self, name: &str) -> Result<Option<Arc<Vec<Row>>>, StoreError> {
        let Some(job) = self.closed_job(name)? else { return Ok(None) };
        let rows = self.book().job_rows(job).map_err(|error| self.book().named(error))?;
        Ok(Some(Arc::new(rows)))
    }

    /// At most `limit` lines of the feed after line `since`.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn feed_since(&self, since: u64, limit: usize) -> Result<Vec<FeedRecord>, StoreError> {
        feed::since(self.book(), since, limit)
    }

    /// Every row of the record, in order.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn all_rows(&self) -> Result<Vec<Row>, StoreError> {
        self.book().all_rows()
    }

    pub(super) const fn parse(&self) -> ParsePlan {
        self.shared.parse()
    }

    pub(super) const fn book(&self) -> Book<'_> {
        Book { conn: &self.conn, shared: &self.shared }
    }

    /// Reads what a start would read now, and continues its counters from there.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn read_back(&mut self) -> Result<ReadBack, StoreError> {
        self.end_what_is_left()?;
        self.shared = Shared::new(self.shared.parse());
        let (end, back) = read_back(self.book())?;
        self.end = end;
        Ok(back)
    }

    /// What a start would read now, without any change.
    #[cfg(any(test, feature = "trial"))]
    pub fn looked_back(&self) -> Result<ReadBack, StoreError> {
        read_back(self.book()).map(|(_, back)| back)
    }

    /// The message where the text stored under the digest of this plan is another text, so that it is
    /// damaged; with the jobs that use the plan.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn damaged_plan(&self, text: &str) -> Result<Option<SetAside>, StoreError> {
        let sql = "SELECT CAST(?2 AS BLOB) <> CAST(text AS BLOB) FROM pinned WHERE digest = ?1";
        let digest = blake3::hash(text.as_bytes());
        if self.one(sql, (digest.as_bytes(), text))? != Some(true) {
            return Ok(None);
        }
        let mut jobs = Vec::new();
        let sql = "SELECT key, body FROM fact WHERE kind = 'job-opened' ORDER BY seq";
        let mut statement = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query([])?;
        let digest = hexadecimal(digest.as_bytes());
        while let Some(row) = rows.next()? {
            if let (Ok(key), Ok(body)) = (row.get::<_, String>(0), row.get::<_, String>(1))
                && body.contains(&digest)
            {
                jobs.push(key);
            }
        }
        let why = "the record is damaged: pinned: the text of a plan is not the one that it was stored with";
        let (what, why) = (Piece::PlanOf(jobs.join(", ")), why.to_owned());
        Ok(Some(SetAside { what, why }))
    }

    /// Limits the database to its present size: the stand-in of the tests for a full disk.
    #[cfg(any(test, feature = "trial"))]
    #[allow(clippy::unwrap_used, clippy::missing_panics_doc, reason = "only tests see it")]
    pub fn limit_pages(&self, more: Option<i64>) {
        let pages: i64 =
            self.conn.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        let limit = more.map_or(1_i64 << 30, |more| pages + more);
        self.conn.pragma_update(None, "max_page_count", limit).unwrap();
    }

    /// Breaks off every operation of the database after this many steps: tests use it as a disk that fails
    /// during a commit.
    #[cfg(any(test, feature = "trial"))]
    #[allow(clippy::unwrap_used, clippy::missing_panics_doc, reason = "only tests see it")]
    pub fn break_off(&mut self, after: Option<i32>) {
        let broken = after.map(|_| || true);
        self.conn.progress_handler(after.unwrap_or(0), broken).unwrap();
    }

    /// The database underneath, for tests that change how it works.
    #[cfg(test)]
    pub(super) const fn connection_mut(&mut self) -> &mut Connection {
        &mut self.conn
    }

    /// The database underneath, for tests that look at it.
    #[cfg(test)]
    pub(super) const fn connection(&self) -> &Connection {
        &self.conn
    }
}

/// Writes rows and seals them, many of them on another thread. Returns the newest line of the feed, and the
/// seals.
fn written<'a>(
    mut pen: Pen<'a>,
    rows: &'a [Row],
    mut seals: Seals,
) -> rusqlite::Result<(u64, Seals)> {
    if rows.len() < BESIDE {
        pen.rows(rows)?;
        seals.take(&pen.ink);
        return Ok((pen.feed, seals));
    }
    let (give, given) = mpsc::channel();
    let mut pen = pen.giving(give);
    std::thread::scope(|scope| {
        let sealing = scope.spawn(move || {
            let mut ink = Ink::default();
            for given in given {
                given.seal(&mut seals, &mut ink);
            }
            seals
        });
        let done = pen.rows(rows);
        let feed = pen.feed;
        // The thread ends when nothing can be sent to it any more.
        drop(pen);
        let sealed = sealing.join();
        done?;
        let died = |_| faulty("the rows could not be sealed".to_owned());
        Ok((feed, sealed.map_err(died)?))
    })
}

/// Makes the list of open things agree with the facts; returns a message where it did not.
fn pending_made_sure(conn: &Connection) -> Result<Option<SetAside>, StoreError> {
    let Some(differs) = pending::Differs::look(conn, Seq(i64::MAX.cast_unsigned()))? else {
        return Ok(None);
    };
    match differs.mend(conn) {
        Ok(()) => {}
        Err(error) if super::error::is_without_room(&error) => {}
        Err(error) => return Err(error.into()),
    }
    let place = "pending";
    let why = format!(
        "the record is damaged: {place}: the list of what is open did not agree with the rows, and was made again from them"
    );
    Ok(Some(SetAside { what: Piece::Place(place.to_owned()), why }))
}

/// The end of the record, and what a bench is rebuilt from.
fn read_back(book: Book<'_>) -> Result<(End, ReadBack), StoreError> {
    let (end, counters) = End::read(book)?;
    let (rows, mut set_aside) = book.open_rows()?;
    set_aside.extend(counters);
    let (last, feed) = (end.last, end.feed);
    Ok((end, ReadBack { rows, last, feed, set_aside, news: Vec::new() }))
}

/// Prepares the connection, and makes an empty file a record.
fn prepare(conn: &mut Connection) -> Result<(), StoreError> {
    conn.busy_timeout(BUSY)?;
    conn.set_prepared_statement_cache_capacity(64);
    // It reads before it changes anything: a file of another version or program stays as it is.
    schema::is_record(conn)?;
    conn.pragma_update(None, "journal_mode", "WAL")?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "wal_autocheckpoint", 0)?;
    conn.pragma_update(None, "journal_size_limit", 4 << 20)?;
    schema::make(conn)?;
    let begun = begin_log(conn);
    conn.pragma_update(None, "synchronous", "FULL")?;
    let Err(error) = begun else { return Ok(()) };
    let full = rusqlite::ErrorCode::DiskFull;
    if error.sqlite_error_code() != Some(full) {
        return Err(error.into());
    }
    // The stored rows can be read all the same; the first commit is tried until there is room.
    tracing::warn!(
        "the disk is full: the service starts, and keeps new rows in memory until there is room"
    );
    Ok(())
}

/// Writes at least once, because the identity of the log is watched and so it must exist from the
/// beginning; then makes room in it.
fn begin_log(conn: &mut Connection) -> rusqlite::Result<()> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    tx.pragma_update(None, "user_version", schema::VERSION)?;
    tx.commit()?;
    make_room(conn)
}

/// Gives the log its blocks before the first touch: it writes the same page often enough, without waiting
/// for the disk, and moves the log into the database.
fn make_room(conn: &Connection) -> rusqlite::Result<()> {
    conn.pragma_update(None, "synchronous", "OFF")?;
    // An answer that nobody asked for is written and removed: it can do no harm.
    for _ in 0..LOG_PAGES / 2 {
        conn.execute(
            "INSERT OR REPLACE INTO answer (id, wall, reply, sum) VALUES (0, 0, '', x'')",
            [],
        )?;
        conn.execute("DELETE FROM answer WHERE id = 0", [])?;
    }
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(()))?;
    Ok(())
}

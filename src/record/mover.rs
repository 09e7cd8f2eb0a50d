//! The log beside the database: its length, and the thread that moves it into the database.
//!
//! The thread has its own connection, so that no touch waits for it. It moves passively: it waits for
//! nobody and keeps nobody from writing. It waits for a moment without commits, but only until the log is
//! [`LATE`]. When the whole log is moved and nobody reads from it, the next commit begins at its start
//! again, in blocks that the disk already knows.
//!
//! While rows come without a pause there is always one more row than was moved. Then the thread that writes
//! moves the small rest ([`Log::is_for_writer`]).
//!
//! A store that was not asked for the thread ([`super::Store::move_log_beside`]) has none. There the writer
//! moves the log, and everything happens in the same order each time.

use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rusqlite::{Connection, OpenFlags};

use super::StoreError;
use super::folder::{self, Identity, failed};

/// Bytes of a page with its head in the log (SQLite, "WAL-Mode File Format", 2.1: 24 bytes).
const FRAME: u64 = 4096 + 24;
/// Pages that the log gets at the start where a thread moves it, so that commits need not enlarge the file.
/// Beginning the log again costs a second wait for the disk; with about six pages per commit that happens
/// once in more than two hundred commits.
pub(super) const ROOM: usize = 2048;
/// The same in bytes, with the head of the log (there, 2.1 and 1: 32 bytes).
pub(super) const LOG_BYTES: i64 = 32 + 2048 * 4120;
/// A log of this length is moved when nobody writes.
const ENOUGH: usize = ROOM / 4;
/// A log of this length is moved even while others write.
const LATE: usize = ROOM * 3 / 4;
/// The thread that writes moves at most this much, once the log is longer than its room.
const LITTLE: usize = ROOM / 16;
/// After this many further pages the thread that writes tries again.
const AGAIN: usize = 64;
/// A log of this size is moved by any thread: 64 MiB.
const LONGEST: usize = (64 << 20) / 4096;
/// Without a commit for this long, nobody is writing.
const QUIET: Duration = Duration::from_millis(20);
/// The pause between two tries while somebody reads from the log.
const SOON: Duration = Duration::from_millis(3);
/// The pause when a second of tries was in vain, or the database refuses.
const LATER: Duration = Duration::from_secs(1);
/// With less free space than this, the log is not enlarged.
const FREE: u64 = 64 << 20;
/// How long opening waits for another program's lock.
const BUSY: Duration = Duration::from_millis(100);

/// The log as the thread that writes knows it.
#[derive(Debug)]
pub(super) struct Log {
    /// Pages of it that were written since it last began.
    frames: Arc<AtomicUsize>,
    /// Pages of it that are in the database, where no thread moves it.
    moved: usize,
    /// The length at which the thread that writes last moved it, although it has a thread.
    tried: usize,
    mover: Option<Mover>,
}

impl Log {
    /// The log of a connection; from now on it counts its pages.
    pub(super) fn of(conn: &mut Connection) -> rusqlite::Result<Self> {
        let frames = Arc::new(AtomicUsize::new(0));
        let told = Arc::clone(&frames);
        conn.wal_hook(Some(move |_: &mut rusqlite::hooks::Wal, pages| {
            told.store(usize::try_from(pages).unwrap_or(0), Ordering::Relaxed);
            Ok(())
        }))?;
        Ok(Self { frames, moved: 0, tried: 0, mover: None })
    }

    fn frames(&self) -> usize {
        self.frames.load(Ordering::Relaxed)
    }

    /// Called after a commit.
    pub(super) fn grew(&mut self) {
        let frames = self.frames();
        if frames < self.moved || frames < self.tried {
            (self.moved, self.tried) = (0, 0);
        }
        if let Some(mover) = &self.mover {
            self.moved = mover.told(frames);
        }
    }

    /// Whether all of it is in the database, so that it is as good as empty.
    pub(super) fn is_moved(&self) -> bool {
        self.moved >= self.frames()
    }

    /// Whether it will soon be longer than `room` pages and the thread that writes is to move it.
    pub(super) fn is_for_writer(&self, room: usize) -> bool {
        let frames = self.frames();
        let left = frames.saturating_sub(self.moved);
        if left == 0 {
            return false;
        }
        if self.mover.is_none() {
            return left > room * 3 / 4;
        }
        let due = (frames > ROOM && left <= LITTLE) || frames > LONGEST;
        due && frames >= self.tried + AGAIN
    }

    /// Whether it cannot wait until nobody writes.
    pub(super) fn is_too_long(&self) -> bool {
        self.frames() > LONGEST && self.is_for_writer(ROOM)
    }

    /// Moves it as far as readers allow.
    pub(super) fn move_now(&mut self, conn: &Connection) -> rusqlite::Result<()> {
        self.tried = self.frames();
        if let Some((frames, moved)) = moved(conn)? {
            self.frames.store(frames, Ordering::Relaxed);
            self.moved = moved;
            if let Some(mover) = &self.mover {
                mover.lock().moved = moved;
            }
        }
        Ok(())
    }

    /// Gives the log room and has it moved by a thread from now on.
    pub(super) fn move_beside(&mut self, database: &Path) -> Result<(), StoreError> {
        make_room(&folder::beside(database, "-wal"));
        self.mover = Some(Mover::start(database)?);
        Ok(())
    }

    /// Ends the thread, so that the connection closed next is the last one and removes the log. The file
    /// that is returned must stay open until then.
    pub(super) fn end(&mut self) -> Option<Arc<File>> {
        self.mover.take().map(|mover| Arc::clone(&mover.database))
    }
}

/// Moves the log as far as readers allow. Returns its pages, and how many of them are in the database;
/// `None` where another process is moving it.
fn moved(conn: &Connection) -> rusqlite::Result<Option<(usize, usize)>> {
    let moved = conn.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |row| {
        Ok((row.get::<_, i64>(1)?, row.get::<_, i64>(2)?))
    })?;
    Ok(usize::try_from(moved.0).ok().zip(usize::try_from(moved.1).ok()))
}

/// Enlarges the log to its room with zeros, which are no pages, before anything is written to it. Without
/// that room the log is only slower.
fn make_room(log: &Path) {
    let room = ROOM as u64 * FRAME + 32;
    let made = || -> std::io::Result<()> {
        let disk = rustix::fs::statvfs(log)?;
        if disk.f_bavail.saturating_mul(disk.f_frsize) < FREE {
            return Ok(());
        }
        let file = File::options().write(true).open(log)?;
        let (mut at, zeros) = (file.metadata()?.len(), vec![0; 1 << 20]);
        while at < room {
            let more = (room - at).min(zeros.len() as u64);
            file.write_all_at(&zeros[..usize::try_from(more).unwrap_or(0)], at)?;
            at += more;
        }
        file.sync_data()
    };
    if let Err(error) = made() {
        tracing::debug!("the log beside the database gets no room: {error}");
    }
}

/// The thread that moves the log.
#[derive(Debug)]
struct Mover {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
    /// Closing it releases all locks of this process on the database.
    database: Arc<File>,
}

#[derive(Debug, Default)]
struct Shared {
    state: Mutex<State>,
    wake: Condvar,
}

#[derive(Debug, Default)]
struct State {
    /// Pages of the log.
    frames: usize,
    /// How many of them are in the database.
    moved: usize,
    commits: u64,
    /// How often the log has begun anew.
    begun: u64,
    /// Whether the thread has nothing to do.
    idle: bool,
    ended: bool,
}

impl State {
    const fn is_due(&self) -> bool {
        self.frames > ENOUGH && self.moved < self.frames
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        // The numbers are still right if a thread died.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait<'a>(&self, state: MutexGuard<'a, State>, most: Duration) -> MutexGuard<'a, State> {
        self.wake.wait_timeout(state, most).unwrap_or_else(PoisonError::into_inner).0
    }

    /// Waits until the log is to be moved; `false` at the end.
    fn is_due(&self) -> bool {
        let mut state = self.lock();
        loop {
            state.idle = !state.is_due();
            if state.ended {
                return false;
            }
            if state.idle {
                state = self.wake.wait(state).unwrap_or_else(PoisonError::into_inner);
                continue;
            }
            let before = state.commits;
            if state.frames > LATE {
                return true;
            }
            state = self.wait(state, QUIET);
            if state.commits == before && !state.ended {
                return true;
            }
        }
    }

    /// Waits a moment, or until the end.
    fn pause(&self, most: Duration) {
        let state = self.lock();
        if !state.ended {
            drop(self.wait(state, most));
        }
    }
}

impl Mover {
    fn start(path: &Path) -> Result<Self, StoreError> {
        let shared = Arc::new(Shared::default());
        let file = File::options().write(true).open(path).map_err(failed("open", path))?;
        let database = Arc::new(file);
        let work = Work {
            shared: Arc::clone(&shared),
            database: Arc::clone(&database),
            path: path.to_owned(),
        };
        let thread = std::thread::Builder::new().name("log".to_owned());
        let thread = thread.spawn(move || work.run()).map_err(failed("begin to move", path))?;
        Ok(Self { shared, thread: Some(thread), database })
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.shared.lock()
    }

    /// Reports the length of the log; returns how much of it is in the database.
    fn told(&self, frames: usize) -> usize {
        let mut state = self.lock();
        if frames < state.frames {
            state.moved = 0;
            state.begun += 1;
        }
        state.frames = frames;
        state.commits += 1;
        let (wake, moved) = (state.idle && state.is_due(), state.moved);
        drop(state);
        if wake {
            self.shared.wake.notify_one();
        }
        moved
    }
}

impl Drop for Mover {
    fn drop(&mut self) {
        self.lock().ended = true;
        self.shared.wake.notify_one();
        if let Some(Err(_)) = self.thread.take().map(JoinHandle::join) {
            tracing::warn!("the thread that moves the log died");
        }
    }
}

/// What the thread works with.
struct Work {
    shared: Arc<Shared>,
    database: Arc<File>,
    path: PathBuf,
}

impl Work {
    fn run(self) {
        let mut conn = None;
        let mut progress = Instant::now();
        while self.shared.is_due() {
            let before = self.shared.lock().moved;
            if let Err(error) = self.turn(&mut conn) {
                // The log stays as it is, with every commit in it.
                tracing::debug!("the log beside the database is not moved: {error}");
                conn = None;
                self.shared.pause(LATER);
            }
            let state = self.shared.lock();
            let (moved, left) = (state.moved, state.frames > state.moved);
            drop(state);
            if moved != before {
                progress = Instant::now();
            }
            if left {
                let lately = progress.elapsed() < Duration::from_secs(1);
                self.shared.pause(if lately { SOON } else { LATER });
            }
        }
    }

    /// Moves the whole log; a second time where rows came meanwhile, since that takes little time.
    fn turn(&self, kept: &mut Option<Connection>) -> Result<(), StoreError> {
        let conn = match kept {
            Some(conn) => conn,
            None => kept.insert(self.open()?),
        };
        for _ in 0..2 {
            let begun = self.shared.lock().begun;
            let Some((_, moved)) = moved(conn)? else { return Ok(()) };
            let mut state = self.shared.lock();
            if state.begun == begun {
                state.moved = moved;
            }
            let whole = state.moved >= state.frames;
            drop(state);
            if whole {
                break;
            }
            // The thread that moves the last page also waits for the disk; this wait must be short.
            self.database.sync_data().map_err(failed("write", &self.path))?;
        }
        Ok(())
    }

    fn open(&self) -> Result<Connection, StoreError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = Connection::open_with_flags(&self.path, flags)?;
        conn.busy_timeout(BUSY)?;
        conn.pragma_update(None, "synchronous", "FULL")?;
        conn.pragma_update(None, "wal_autocheckpoint", 0)?;
        // A connection that has read nothing does not know that there is a log.
        conn.pragma_query_value(None, "user_version", |row| row.get::<_, i64>(0))?;
        let here = self.database.metadata().map_err(failed("look at", &self.path))?;
        if Identity::of(&self.path)?.is(&here) {
            Ok(conn)
        } else {
            Err(StoreError::Missing(self.path.clone()))
        }
    }
}

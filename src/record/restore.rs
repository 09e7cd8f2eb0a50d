//! Puts a copy in the place of the record.
//!
//! At every moment the file at the path is either the whole old record or the whole new one. First the copy
//! is made beside it and checked. Then the rest of the old record's log is moved into it and the log
//! removed. Then the old record gets a second name, and in one step the copy takes the first.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, OptionalExtension};

use super::folder::{self, FolderLock, beside, failed};
use super::newest;
use super::owner::Owner;
use super::pieces::Pieces;
use super::progress::Progress;
use super::read::{Book, ParsePlan, Shared};
use super::verify::{Depth, Judge, Verified, verify};
use super::write::seq;
use super::{FeedOrigin, StoreError, backup, papers, reader};
use bench::Seq;
use quantity::Wall;

/// How long to wait while others use the old log.
const PATIENCE: Duration = Duration::from_secs(5);

/// The result of a restore.
#[derive(Debug)]
pub struct Restored {
    /// The result of the check. If it found a difference, nothing was changed.
    pub verified: Verified,
    /// The present name of the old record, where there was one.
    pub aside: Option<PathBuf>,
    /// The number of the newest row of the copy.
    pub newest: Seq,
    /// The newest acknowledged row of the old record, and when it was decided, where that is known. Rows
    /// after `newest` are only in the old record.
    pub newest_before: Option<(Seq, Wall)>,
}

/// The copy in the state folder, before it is the record.
struct Prepared {
    verified: Verified,
    newest: Seq,
    papers: papers::Facts,
}

/// Makes a copy the record of a state folder, unless something is wrong with it. `now` becomes part of the
/// old record's name.
///
/// # Errors
/// A service works with the folder, the copy is not a record, or the system refuses. Nothing was changed
/// unless the error says so.
pub fn restore(
    state: &Path,
    copy: &Path,
    (parse, judge): (ParsePlan, Judge<'_>),
    now: Wall,
) -> Result<Restored, StoreError> {
    if !folder::is_there(copy)? {
        return Err(StoreError::Missing(copy.to_owned()));
    }
    let what = folder::Identity::of(copy)?;
    folder::make(state)?;
    let owner = Owner::of_folder(state)?;
    let as_owner = owner.assumed()?;
    let _lock = FolderLock::take(state)?;
    let path = state.join(folder::DATABASE);
    let new = beside(&path, ".restoring");
    if is_at(&what, &path) || is_at(&what, &new) {
        return Err(StoreError::InPlace(copy.to_owned()));
    }
    sweep(&new)?;
    drop(as_owner);
    let checked = prepared(copy, (&new, owner), (parse, judge));
    let _as_owner = owner.assumed()?;
    let mut prepared = match checked {
        Ok(prepared) if prepared.verified.differences.is_empty() => prepared,
        other => {
            sweep(&new)?;
            return other.map(|Prepared { verified, newest, .. }| Restored {
                verified,
                aside: None,
                newest,
                newest_before: None,
            });
        }
    };
    let newest_before = newest::known(state).filter(|mark| mark.last > Seq(0));
    let newest_before = newest_before.map(|mark| (mark.last, mark.wall));
    let aside = exchange(&path, &new, now, &prepared.papers);
    sweep(&new)?;
    let aside = aside?;
    prepared.verified.papers_told(&prepared.papers, &papers::folder_of(&path));
    let Prepared { verified, newest, .. } = prepared;
    Ok(Restored { verified, aside, newest, newest_before })
}

fn is_at(what: &folder::Identity, path: &Path) -> bool {
    folder::Identity::of(path).is_ok_and(|other| what.same_file(&other))
}

/// Removes what an earlier try left.
fn sweep(new: &Path) -> Result<(), StoreError> {
    for ending in ["", "-wal", "-shm", "-journal", "-log"] {
        remove(&beside(new, ending))?;
    }
    papers::removed(&papers::folder_of(new))
}

/// Makes the copy in the state folder, checks it and waits until it is on disk. From the copying on,
/// everything is done as the owner of the state folder.
fn prepared(
    copy: &Path,
    (new, owner): (&Path, Owner),
    (parse, judge): (ParsePlan, Judge<'_>),
) -> Result<Prepared, StoreError> {
    let (from, progress) = (reader::open(copy)?, Progress::default());
    drop(backup::copy((&from.conn, from.owner), (new, owner), &progress)?);
    let shared = Shared::new(parse);
    let as_theirs = from.owner.assumed()?;
    let papers = papers::Facts::read(Book { conn: &from.conn, shared: &shared })?;
    drop(as_theirs);
    papers::copied(&papers, (copy, from.owner), (&papers::folder_of(new), owner))?;
    drop(from);
    owner.become_for_good()?;
    let conn = Connection::open_with_flags(new, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.pragma_update(None, "journal_mode", "WAL")?;
    let book = Book { conn: &conn, shared: &shared };
    let verified = verify(Pieces::still(book), (Depth::Judged(judge), None), &progress)?;
    let newest = conn.query_row("SELECT last FROM counter", [], |row| row.get(0).map(seq));
    let newest = newest.optional()?.unwrap_or_default();
    FeedOrigin::begin_anew(&conn)?;
    whole_by_itself(&conn, new)?;
    conn.close().map_err(|(_, error)| error)?;
    File::open(new).and_then(|file| file.sync_all()).map_err(failed("write", new))?;
    Ok(Prepared { verified, newest, papers })
}

/// Moves the log of the new file into it, because only the file itself gets the record's name.
fn whole_by_itself(conn: &Connection, new: &Path) -> Result<(), StoreError> {
    let busy: i64 = conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    let log = beside(new, "-wal");
    let empty = std::fs::metadata(&log).map_or(true, |found| found.len() == 0);
    if busy == 0 && empty { Ok(()) } else { Err(backup::busy()) }
}

/// Files beside a database that `SQLite` would take for its own, wherever they came from.
const LOGS: [&str; 2] = ["-wal", "-journal"];

/// Puts the new record in the place of the old one; returns the name of the old one.
///
/// The files of both are in one folder then, so that either record has its own at every moment; those of the
/// old one have a second name beside the old record. The next start removes from the folder what the new one
/// does not name.
fn exchange(
    path: &Path,
    new: &Path,
    now: Wall,
    facts: &papers::Facts,
) -> Result<Option<PathBuf>, StoreError> {
    let parent = path.parent().unwrap_or_else(|| Path::new("."));
    let aside = free_name(path, now);
    let put_aside =
        if is_there(path) { kept(path, &aside).map(Some) } else { strays(path, &aside) };
    let moved = put_aside.and_then(|old| {
        backup::sync_folder(parent)?;
        if old.is_some() {
            papers::linked(&papers::folder_of(path), &papers::folder_of(&aside))?;
        }
        papers::moved(&papers::folder_of(new), &papers::folder_of(path), facts)?;
        newest::forget(parent)?;
        std::fs::rename(new, path).map_err(failed("rename", new))?;
        Ok(old)
    });
    if moved.is_err() {
        undo(path, &aside)?;
    }
    backup::sync_folder(parent)?;
    moved
}

fn is_there(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}

/// A name for the old record under which there is neither a record nor a log yet.
fn free_name(path: &Path, now: Wall) -> PathBuf {
    let stamp: String = now.to_string().chars().take(19).collect();
    let stamp = stamp.replace(':', "-");
    let free = |aside: &PathBuf| {
        ["", LOGS[0], LOGS[1], ".attached"].iter().all(|end| !is_there(&beside(aside, end)))
    };
    let names = (1..).map(|number| match number {
        1 => beside(path, &format!(".{stamp}")),
        _ => beside(path, &format!(".{stamp}-{number}")),
    });
    names.into_iter().find(free).unwrap_or_else(|| beside(path, ".old"))
}

/// Gives the old record a second name, so that it is complete under that name.
fn kept(path: &Path, aside: &Path) -> Result<PathBuf, StoreError> {
    salvaged(path, aside)?;
    std::fs::hard_link(path, aside).map_err(failed("keep", path))?;
    // Before the first name is removed, the second must be on disk.
    backup::sync_folder(path.parent().unwrap_or_else(|| Path::new(".")))?;
    for ending in ["-wal", "-journal", "-shm"] {
        remove(&beside(path, ending))?;
    }
    Ok(aside.to_owned())
}

/// Moves the log of the old record into it. A log that cannot be used is kept as it was before the try,
/// which may change it.
fn salvaged(path: &Path, aside: &Path) -> Result<(), StoreError> {
    let spare = beside(path, ".restoring-log");
    let logs: Vec<&str> = LOGS.into_iter().filter(|end| is_there(&beside(path, end))).collect();
    let Some(first) = logs.first() else { return Ok(()) };
    let log = beside(path, first);
    std::fs::copy(&log, &spare).map_err(failed("keep", &log))?;
    match folded(path) {
        Ok(()) => Ok(()),
        Err(StoreError::Database(why)) if is_busy(&why) => Err(StoreError::Database(why)),
        Err(_) => {
            let file = File::open(&spare).map_err(failed("open", &spare))?;
            file.sync_all().map_err(failed("write", &spare))?;
            std::fs::rename(&spare, beside(aside, first)).map_err(failed("keep", &log))?;
            for other in logs.iter().skip(1).map(|end| (beside(path, end), beside(aside, end))) {
                std::fs::rename(&other.0, &other.1).map_err(failed("keep", &other.0))?;
            }
            Ok(())
        }
    }
}

/// Moves logs without a record aside, because the new record must not take them for its own. Returns the
/// name of the first.
fn strays(path: &Path, aside: &Path) -> Result<Option<PathBuf>, StoreError> {
    let mut first = None;
    for ending in LOGS {
        let (log, kept_log) = (beside(path, ending), beside(aside, ending));
        if is_there(&log) {
            std::fs::rename(&log, &kept_log).map_err(failed("keep", &log))?;
            first.get_or_insert(kept_log);
        }
    }
    remove(&beside(path, "-shm"))?;
    Ok(first)
}

/// After a failure, gives everything its old name again; a log goes back to its place.
fn undo(path: &Path, aside: &Path) -> Result<(), StoreError> {
    for ending in LOGS {
        let (log, kept_log) = (beside(path, ending), beside(aside, ending));
        if is_there(&kept_log) {
            std::fs::rename(&kept_log, &log).map_err(failed("keep", &kept_log))?;
        }
    }
    papers::removed(&papers::folder_of(aside))?;
    remove(aside)
}

fn remove(path: &Path) -> Result<(), StoreError> {
    if is_there(path) { std::fs::remove_file(path).map_err(failed("remove", path)) } else { Ok(()) }
}

/// Moves the log into the database, so that the database is complete without it.
fn folded(path: &Path) -> Result<(), StoreError> {
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.busy_timeout(PATIENCE)?;
    // The first read of the file: a checkpoint alone would not notice that it is no database.
    conn.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
    let busy: i64 = conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy != 0 {
        return Err(backup::busy());
    }
    conn.close().map_err(|(_, error)| error.into())
}

fn is_busy(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked)
    )
}

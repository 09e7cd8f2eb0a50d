//! A copy of the record becomes the record.
//!
//! At every moment the file at the path is either the old record, whole, or the new one, whole:
//! first the copy is made beside it and checked, then what the old one's log still holds is moved
//! into it and the log removed, then the old one gets a second name, and in one step the copy takes
//! the first.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::folder::{self, FolderLock, beside, failed};
use super::read::{Book, ParsePlan, Shared};
use super::verify::{Judge, Verified, verify};
use super::{StoreError, backup, reader, schema};
use crate::quantity::Wall;

/// How long others may keep the old log in use.
const PATIENCE: Duration = Duration::from_secs(5);

/// What became of a copy.
#[derive(Debug)]
pub struct Restored {
    /// What the check found. Where it found a difference, nothing was changed.
    pub verified: Verified,
    /// The name that the old record has now, where there was one.
    pub aside: Option<PathBuf>,
}

/// Makes a copy the record of a state folder, unless something is wrong with it. `now` is part of
/// the name that the old record gets.
///
/// # Errors
/// A service works with the folder, the copy is none, or the system refuses. Nothing was changed,
/// as far as the error does not say otherwise.
pub fn restore(
    state: &Path,
    copy: &Path,
    (parse, judge): (ParsePlan, Judge<'_>),
    now: Wall,
) -> Result<Restored, StoreError> {
    if !copy.is_file() {
        return Err(StoreError::Missing(copy.to_owned()));
    }
    folder::make(state)?;
    let _lock = FolderLock::take(state)?;
    folder::give_to_owner(&state.join(folder::LOCK))?;
    let path = state.join(folder::DATABASE);
    let new = beside(&path, ".restoring");
    if same_file(copy, &path) || same_file(copy, &new) {
        return Err(StoreError::InPlace(copy.to_owned()));
    }
    sweep(&new)?;
    let checked = prepared(copy, &new, (parse, judge));
    let wrong = !matches!(&checked, Ok(verified) if verified.differences.is_empty());
    if wrong {
        sweep(&new)?;
        return checked.map(|verified| Restored { verified, aside: None });
    }
    let aside = exchange(&path, &new, now);
    sweep(&new)?;
    Ok(Restored { verified: checked?, aside: aside? })
}

fn same_file(one: &Path, other: &Path) -> bool {
    let identity = |path| folder::Identity::of(path).ok();
    matches!((identity(one), identity(other)), (Some(one), Some(other)) if one.same_file(&other))
}

/// Removes what an earlier try left behind.
fn sweep(new: &Path) -> Result<(), StoreError> {
    for ending in ["", "-wal", "-shm", "-journal", "-log"] {
        let path = beside(new, ending);
        if path.symlink_metadata().is_ok() {
            std::fs::remove_file(&path).map_err(failed("remove", &path))?;
        }
    }
    Ok(())
}

/// The copy in the state folder, with the schema of this program, checked and on disk.
fn prepared(
    copy: &Path,
    new: &Path,
    (parse, judge): (ParsePlan, Judge<'_>),
) -> Result<Verified, StoreError> {
    let (from, _) = reader::open(copy)?;
    if schema::version(&from)? == 0 {
        return Err(StoreError::Foreign);
    }
    backup::copy(&from, new)?;
    let mut conn = Connection::open_with_flags(new, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.pragma_update(None, "journal_mode", "WAL")?;
    let shared = Shared::new(parse);
    // As it is, before anything is written; an older one has no sums and cannot be read as rows yet.
    schema::migrate(&mut conn)?;
    let verified = verify(Book { conn: &conn, shared: &shared }, judge)?;
    conn.close().map_err(|(_, error)| error)?;
    folder::give_to_owner(new)?;
    File::open(new).and_then(|file| file.sync_all()).map_err(failed("write", new))?;
    Ok(verified)
}

/// Puts the new record in the old one's place; the name of the old one.
fn exchange(path: &Path, new: &Path, now: Wall) -> Result<Option<PathBuf>, StoreError> {
    let parent = path.parent().unwrap_or_else(|| Path::new("."));
    let there = path.symlink_metadata().is_ok();
    let aside = if there { Some(kept(path, now)?) } else { None };
    backup::sync_folder(parent)?;
    std::fs::rename(new, path).map_err(failed("rename", new))?;
    backup::sync_folder(parent)?;
    Ok(aside)
}

/// Gives the old record a second name, after which nothing of it is anywhere else.
fn kept(path: &Path, now: Wall) -> Result<PathBuf, StoreError> {
    let stamp: String = now.to_string().chars().take(19).collect();
    let stamp = stamp.replace(':', "-");
    let free = |aside: &PathBuf| aside.symlink_metadata().is_err();
    let names = (1..).map(|number| match number {
        1 => beside(path, &format!(".{stamp}")),
        _ => beside(path, &format!(".{stamp}-{number}")),
    });
    let aside = names.into_iter().find(free).unwrap_or_else(|| beside(path, ".old"));
    // Should the database be past use, its log is kept as it is now; using it may change it.
    let (log, spare) = (beside(path, "-wal"), beside(path, ".restoring-log"));
    if log.exists() {
        std::fs::copy(&log, &spare).map_err(failed("keep", &log))?;
        let done = folded(path);
        if matches!(&done, Err(StoreError::Database(why)) if is_busy(why)) {
            return done.map(|()| aside);
        }
        if done.is_err() {
            let kept_log = beside(&aside, "-wal");
            std::fs::rename(&spare, &kept_log).map_err(failed("keep", &log))?;
        }
    }
    std::fs::hard_link(path, &aside).map_err(failed("keep", path))?;
    for ending in ["-wal", "-shm"] {
        let path = beside(path, ending);
        if path.exists() {
            std::fs::remove_file(&path).map_err(failed("remove", &path))?;
        }
    }
    Ok(aside)
}

/// Moves what the log holds into the database, so that it is whole by itself.
fn folded(path: &Path) -> Result<(), StoreError> {
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.busy_timeout(PATIENCE)?;
    // The first look at the file: a checkpoint alone would not find out that it is no database.
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

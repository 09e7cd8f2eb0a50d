//! A copy of the record while it is being written.

use std::fs::{File, OpenOptions};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};
use rustix::fs::RenameFlags;

use super::folder::{beside, failed};
use super::owner::Owner;
use super::pieces::Pieces;
use super::progress::{Progress, Step};
use super::read::{Book, ParsePlan, Shared};
use super::verify::{self, Depth, Judge, Verified};
use super::{StoreError, parts, reader, schema};

/// Pages a step: short enough that the service's checkpoints come in between.
const PAGES: i32 = 512;
/// A copy that was begun anew so often, because rows kept coming, is made in one step.
const BEGUN_ANEW: u32 = 5;
/// Tries while somebody holds a lock, 20 ms apart.
const TRIES: u32 = 500;
/// In a copy of at most so many rows every verdict is computed again; a longer one has only all else
/// checked, its sums included.
const JUDGED_UP_TO: u64 = 200_000;

/// A copy that was made.
#[derive(Debug)]
pub struct Copied {
    /// Where it is: under the name that was asked for only if nothing is wrong with it.
    pub path: PathBuf,
    /// What a look at it found.
    pub state: CopyState,
}

/// What a look at a copy found.
#[derive(Debug)]
pub enum CopyState {
    /// Nobody looked.
    Unchecked,
    /// It was read back; whether it is as it was stored is in there.
    Checked(Verified),
    /// It cannot be read whole.
    Unreadable(StoreError),
}

impl CopyState {
    /// Whether something is wrong with it, as far as anybody looked.
    #[must_use]
    pub const fn is_damaged(&self) -> bool {
        match self {
            Self::Unchecked => false,
            Self::Checked(found) => !found.differences.is_empty(),
            Self::Unreadable(_) => true,
        }
    }
}

/// Copies the database into a new file, which appears under its name only when it is whole and was
/// looked at by `check`; one that is damaged appears under another name.
pub(super) fn backup(
    from: (&Connection, Owner),
    to: &Path,
    check: Option<(ParsePlan, Judge<'_>)>,
    progress: &Progress,
) -> Result<Copied, StoreError> {
    if parts::is_part(to) {
        return Err(StoreError::Unfinished(to.to_owned()));
    }
    let owner = Owner::of_new_file(to)?;
    if to.symlink_metadata().is_ok() {
        return Err(StoreError::Exists(to.to_owned()));
    }
    let part = parts::part_of(to);
    let as_owner = owner.assumed()?;
    parts::sweep(folder_of(to));
    drop(as_owner);
    let copied = copy(from, (&part, owner), progress);
    let _as_owner = owner.assumed()?;
    let made = copied.and_then(|_held| {
        let state = match check {
            None => CopyState::Unchecked,
            Some(check) => looked_at(&part, check, progress)?,
        };
        let path = if state.is_damaged() { damaged_name(to) } else { to.to_owned() };
        publish(&part, &path)?;
        Ok(Copied { path, state })
    });
    if made.is_err() && part.exists() {
        std::fs::remove_file(&part).map_err(failed("remove", &part))?;
    }
    made
}

/// A name that nobody takes for a good copy's, and that is free.
fn damaged_name(to: &Path) -> PathBuf {
    let names = (1..).map(|number| match number {
        1 => beside(to, ".damaged"),
        _ => beside(to, &format!(".damaged-{number}")),
    });
    let mut free = names.into_iter().filter(|path| path.symlink_metadata().is_err());
    free.next().unwrap_or_else(|| beside(to, ".damaged"))
}

/// Reads a copy back. What it was copied from is not needed for that: the copy has its own sums.
fn looked_at(
    part: &Path,
    (parse, judge): (ParsePlan, Judge<'_>),
    progress: &Progress,
) -> Result<CopyState, StoreError> {
    let shared = Shared::new(parse);
    let looked = reader::open_still(part).and_then(|conn| {
        let book = Book { conn: &conn, shared: &shared };
        let depth = if rows(&conn) > JUDGED_UP_TO { Depth::Stored } else { Depth::Judged(judge) };
        verify::verify(Pieces::still(book), (depth, None), progress)
            .map_err(|error| book.named(error))
    });
    match looked {
        Ok(found) => Ok(CopyState::Checked(found)),
        Err(error) if error.passes() => Err(error),
        Err(error) => Ok(CopyState::Unreadable(error)),
    }
}

/// About how many rows there are; none where that cannot be read.
fn rows(conn: &Connection) -> u64 {
    let counted = conn.query_row("SELECT max(last) FROM counter", [], |row| row.get::<_, i64>(0));
    counted.map_or(0, |counted| counted.max(0).cast_unsigned())
}

/// Copies the database into a new file and waits until it is on disk. Each side is worked with as
/// the owner of its folder. The file that is given back holds the copy for this process.
pub(super) fn copy(
    (from, theirs): (&Connection, Owner),
    (part, owner): (&Path, Owner),
    progress: &Progress,
) -> Result<File, StoreError> {
    let as_owner = owner.assumed()?;
    let made = OpenOptions::new().write(true).create_new(true).mode(0o640).open(part);
    drop(made.map_err(failed("make", part))?);
    let mut target = Connection::open(part)?;
    // Half a copy is thrown away: a journal would be of no use, and be made by whoever reads.
    target.pragma_update(None, "journal_mode", "OFF")?;
    schema::mark_unfinished(&target)?;
    // Half a copy is worth nothing; it is synced as it grows all the same, for a file system writes
    // what is left of it with whatever the service syncs.
    let growing = File::open(part).map_err(failed("open", part))?;
    drop(as_owner);
    let as_theirs = theirs.assumed()?;
    pages(from, (&mut target, &growing), progress)?;
    drop(as_theirs);
    let _as_owner = owner.assumed()?;
    target.close().map_err(|(_, error)| error)?;
    // Closed while nobody holds a lock on it: that would be lost with it.
    drop(growing);
    let file = parts::hold(part).map_err(failed("open", part))?;
    file.sync_all().map_err(failed("write", part))?;
    Ok(file)
}

fn pages(
    from: &Connection,
    (target, growing): (&mut Connection, &File),
    progress: &Progress,
) -> Result<(), StoreError> {
    let copy = Backup::new(from, target)?;
    let (mut anew, mut waited, mut left) = (0, 0, i32::MAX);
    loop {
        let step = if anew < BEGUN_ANEW { PAGES } else { -1 };
        #[expect(clippy::wildcard_enum_match_arm, reason = "another library's open list")]
        match copy.step(step)? {
            StepResult::Done => return Ok(()),
            StepResult::More => {
                let now = copy.progress();
                let whole = u64::try_from(now.pagecount).unwrap_or(0);
                progress.begin(Step::Copying, whole);
                progress.at(whole.saturating_sub(u64::try_from(now.remaining).unwrap_or(0)));
                anew += u32::from(now.remaining >= left);
                left = now.remaining;
                // What cannot be synced is told at the end, where it matters.
                drop(growing.sync_data());
            }
            _ if waited >= TRIES => return Err(busy()),
            _ => {
                waited += 1;
                std::thread::sleep(Duration::from_millis(20));
            }
        }
    }
}

pub(super) fn busy() -> StoreError {
    let code = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_BUSY);
    StoreError::Database(rusqlite::Error::SqliteFailure(code, None))
}

/// Gives the copy its name, never over something that is there, and makes the name last.
fn publish(part: &Path, to: &Path) -> Result<(), StoreError> {
    let here = rustix::fs::CWD;
    match rustix::fs::renameat_with(here, part, here, to, RenameFlags::NOREPLACE) {
        Ok(()) => {}
        Err(rustix::io::Errno::EXIST) => return Err(StoreError::Exists(to.to_owned())),
        // Some file systems know no such rename. The name was free when the copy began.
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => {
            std::fs::rename(part, to).map_err(failed("rename", part))?;
        }
        Err(error) => return Err(failed("rename", part)(error.into())),
    }
    sync_folder(folder_of(to))
}

fn folder_of(path: &Path) -> &Path {
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    parent.unwrap_or_else(|| Path::new("."))
}

/// Makes the names in a folder last.
pub(super) fn sync_folder(parent: &Path) -> Result<(), StoreError> {
    let folder = File::open(parent).map_err(failed("open", parent))?;
    folder.sync_all().map_err(failed("write", parent))
}

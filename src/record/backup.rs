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
use super::{StoreError, papers, parts, reader, schema};

/// Pages copied in one step: few enough that the service can move its log in between.
const PAGES: i32 = 512;
/// After this many new beginnings, because rows kept coming, the copy is made in one step.
const BEGUN_ANEW: u32 = 5;
/// The number of tries while another program holds a lock, 20 ms apart.
const TRIES: u32 = 500;
/// In a copy of at most this many rows every verdict is computed again; in a longer one everything else is
/// checked, its sums included.
const JUDGED_UP_TO: u64 = 200_000;

/// A copy that was made.
#[derive(Debug)]
pub struct Copied {
    /// Its path: the requested one only if nothing is wrong with the copy.
    pub path: PathBuf,
    /// The result of checking it.
    pub state: CopyState,
}

/// The result of checking a copy.
#[derive(Debug)]
pub enum CopyState {
    /// It was not checked.
    Unchecked,
    /// It was read back; the value says whether it is as it was stored.
    Checked(Verified),
    /// It cannot be read completely.
    Unreadable(StoreError),
}

impl CopyState {
    /// Whether the check, if there was one, found something wrong.
    #[must_use]
    pub const fn is_damaged(&self) -> bool {
        match self {
            Self::Unchecked => false,
            Self::Checked(found) => !found.differences.is_empty(),
            Self::Unreadable(_) => true,
        }
    }
}

/// Copies the database into a new file. The file gets its name only when it is complete and was checked by
/// `check`; a damaged copy gets another name.
pub(super) fn backup(
    (book, path, theirs): (Book<'_>, &Path, Owner),
    to: &Path,
    check: Option<Judge<'_>>,
    progress: &Progress,
) -> Result<Copied, StoreError> {
    if parts::is_part(to) {
        return Err(StoreError::Unfinished(to.to_owned()));
    }
    let owner = Owner::of_new_file(to)?;
    for taken in [to, &papers::folder_of(to)] {
        if taken.symlink_metadata().is_ok() {
            return Err(StoreError::Exists(taken.to_owned()));
        }
    }
    let part = parts::part_of(to);
    let as_owner = owner.assumed()?;
    parts::sweep(folder_of(to));
    drop(as_owner);
    let copied = copy((book.conn, theirs), (&part, owner), progress)
        .and_then(|held| with_its_papers(book, (path, theirs), (&part, owner)).map(|()| held));
    let _as_owner = owner.assumed()?;
    let made = copied.and_then(|_held| {
        let state = match check {
            None => CopyState::Unchecked,
            Some(judge) => looked_at(&part, (book.shared.parse(), judge), progress)?,
        };
        let path = if state.is_damaged() { damaged_name(to) } else { to.to_owned() };
        // The copy itself comes last: where it is, its files are.
        let files = papers::folder_of(&part);
        if files.is_dir() {
            publish(&files, &papers::folder_of(&path))?;
        }
        publish(&part, &path)?;
        Ok(Copied { path, state })
    });
    if made.is_err() {
        papers::removed(&papers::folder_of(&part))?;
    }
    if made.is_err() && part.exists() {
        std::fs::remove_file(&part).map_err(failed("remove", &part))?;
    }
    made
}

/// Copies the files that the copy names. Those of the record are only ever added, so all of them are there.
fn with_its_papers(
    book: Book<'_>,
    (path, theirs): (&Path, Owner),
    (part, owner): (&Path, Owner),
) -> Result<(), StoreError> {
    let as_owner = owner.assumed()?;
    let conn = reader::open_still(part)?;
    let facts = papers::Facts::read(Book { conn: &conn, ..book });
    drop((conn, as_owner));
    match facts {
        Ok(facts) => papers::copied(&facts, (path, theirs), (&papers::folder_of(part), owner)),
        // A copy whose facts cannot be read is reported as damaged by whoever checks it.
        Err(error) if error.passes() => Err(error),
        Err(_) => Ok(()),
    }
}

/// A free name that cannot be taken for that of a good copy.
fn damaged_name(to: &Path) -> PathBuf {
    let names = (1..).map(|number| match number {
        1 => beside(to, ".damaged"),
        _ => beside(to, &format!(".damaged-{number}")),
    });
    let mut free = names.into_iter().filter(|path| path.symlink_metadata().is_err());
    free.next().unwrap_or_else(|| beside(to, ".damaged"))
}

/// Reads a copy back. The original is not needed for that: the copy has its own sums.
fn looked_at(
    part: &Path,
    (parse, judge): (ParsePlan, Judge<'_>),
    progress: &Progress,
) -> Result<CopyState, StoreError> {
    let shared = Shared::new(parse);
    let looked = reader::open_still(part).and_then(|conn| {
        let book = Book { conn: &conn, shared: &shared };
        let depth = if rows(&conn) > JUDGED_UP_TO { Depth::Stored } else { Depth::Judged(judge) };
        let pieces = Pieces::still(book);
        let mut found =
            verify::verify(pieces, (depth, None), progress).map_err(|error| book.named(error))?;
        if found.differences.is_empty() {
            verify::files(pieces, &papers::folder_of(part), &mut found)?;
        }
        Ok(found)
    });
    match looked {
        Ok(found) => Ok(CopyState::Checked(found)),
        Err(error) if error.passes() => Err(error),
        Err(error) => Ok(CopyState::Unreadable(error)),
    }
}

/// About how many rows there are; 0 where that cannot be read.
fn rows(conn: &Connection) -> u64 {
    let counted = conn.query_row("SELECT max(last) FROM counter", [], |row| row.get::<_, i64>(0));
    counted.map_or(0, |counted| counted.max(0).cast_unsigned())
}

/// Copies the database into a new file and waits until it is on disk. On each side it works as the owner of
/// the folder. The returned file holds the lock of this process on the copy.
pub(super) fn copy(
    (from, theirs): (&Connection, Owner),
    (part, owner): (&Path, Owner),
    progress: &Progress,
) -> Result<File, StoreError> {
    let as_owner = owner.assumed()?;
    let made = OpenOptions::new().write(true).create_new(true).mode(0o640).open(part);
    drop(made.map_err(failed("make", part))?);
    let mut target = Connection::open(part)?;
    // Half a copy is thrown away, so a journal would be of no use; and it would belong to the user who
    // reads.
    target.pragma_update(None, "journal_mode", "OFF")?;
    schema::mark_unfinished(&target)?;
    // The copy is synced as it grows, although half of it is worth nothing: otherwise the file system would
    // write it together with whatever the service syncs.
    let growing = File::open(part).map_err(failed("open", part))?;
    drop(as_owner);
    let as_theirs = theirs.assumed()?;
    pages(from, (&mut target, &growing), progress)?;
    drop(as_theirs);
    let _as_owner = owner.assumed()?;
    target.close().map_err(|(_, error)| error)?;
    // It is closed before a lock is taken on it, because closing would release the lock.
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
                // A failed sync is reported at the end, where it matters.
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

/// Gives the copy its name, never over an existing file, and makes the name durable.
fn publish(part: &Path, to: &Path) -> Result<(), StoreError> {
    let here = rustix::fs::CWD;
    match rustix::fs::renameat_with(here, part, here, to, RenameFlags::NOREPLACE) {
        Ok(()) => {}
        Err(rustix::io::Errno::EXIST) => return Err(StoreError::Exists(to.to_owned())),
        // Some file systems have no such rename. The name was free when the copy began.
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

/// Makes the names in a folder durable.
pub(super) fn sync_folder(parent: &Path) -> Result<(), StoreError> {
    let folder = File::open(parent).map_err(failed("open", parent))?;
    folder.sync_all().map_err(failed("write", parent))
}

//! A copy of the record while it is being written.

use std::fs::{File, OpenOptions};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};
use rustix::fs::RenameFlags;

use super::StoreError;
use super::folder::{beside, failed};
use super::owner::Owner;

/// Pages a step: short enough that the service's checkpoints come in between.
const PAGES: i32 = 512;
/// A copy that was begun anew so often, because rows kept coming, is made in one step.
const BEGUN_ANEW: u32 = 5;
/// Tries while somebody holds a lock, 20 ms apart.
const TRIES: u32 = 500;

/// Copies the database into a new file, which appears under its name only when it is whole.
pub(super) fn backup(from: (&Connection, Owner), to: &Path) -> Result<(), StoreError> {
    let owner = Owner::of_new_file(to)?;
    if to.symlink_metadata().is_ok() {
        return Err(StoreError::Exists(to.to_owned()));
    }
    let part = beside(to, &format!(".part-{}", std::process::id()));
    let copied = copy(from, (&part, owner));
    let _as_owner = owner.assumed()?;
    let made = copied.and_then(|()| publish(&part, to));
    if made.is_err() && part.exists() {
        std::fs::remove_file(&part).map_err(failed("remove", &part))?;
    }
    made
}

/// Copies the database into a new file and waits until it is on disk. Each side is worked with as
/// the owner of its folder.
pub(super) fn copy(
    (from, theirs): (&Connection, Owner),
    (part, owner): (&Path, Owner),
) -> Result<(), StoreError> {
    let as_owner = owner.assumed()?;
    let made = OpenOptions::new().write(true).create_new(true).mode(0o640).open(part);
    drop(made.map_err(failed("make", part))?);
    let mut target = Connection::open(part)?;
    // Half a copy is thrown away: a journal would be of no use, and be made by whoever reads.
    target.pragma_update(None, "journal_mode", "OFF")?;
    drop(as_owner);
    let as_theirs = theirs.assumed()?;
    pages(from, &mut target)?;
    drop(as_theirs);
    let _as_owner = owner.assumed()?;
    target.close().map_err(|(_, error)| error)?;
    let file = File::open(part).map_err(failed("open", part))?;
    file.sync_all().map_err(failed("write", part))
}

fn pages(from: &Connection, target: &mut Connection) -> Result<(), StoreError> {
    let copy = Backup::new(from, target)?;
    let (mut anew, mut waited, mut left) = (0, 0, i32::MAX);
    loop {
        let step = if anew < BEGUN_ANEW { PAGES } else { -1 };
        #[expect(clippy::wildcard_enum_match_arm, reason = "another library's open list")]
        match copy.step(step)? {
            StepResult::Done => return Ok(()),
            StepResult::More => {
                let now = copy.progress().remaining;
                anew += u32::from(now >= left);
                left = now;
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
    let parent = to.parent().filter(|parent| !parent.as_os_str().is_empty());
    sync_folder(parent.unwrap_or_else(|| Path::new(".")))
}

/// Makes the names in a folder last.
pub(super) fn sync_folder(parent: &Path) -> Result<(), StoreError> {
    let folder = File::open(parent).map_err(failed("open", parent))?;
    folder.sync_all().map_err(failed("write", parent))
}

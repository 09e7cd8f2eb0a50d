//! Copies that are being made, and the remains of copies that were not finished.
//!
//! A copy grows under a name of its own, and its first page marks it as unfinished until the last page is
//! in place: neither is taken for a record. The process that makes it holds a file lock on it, which the
//! system releases when the process ends, however it ends.

use std::fs::{File, OpenOptions};
use std::io::Read;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rustix::fs::{FlockOperation, Mode, OFlags, fcntl_lock};
use rustix::process::{Pid, test_kill_process};

use super::folder::{Identity, beside};
use super::{papers, schema};

/// The part of the name before the number of the process that makes the copy.
const ENDING: &str = ".part-";
/// A copy whose process cannot be seen from here is left alone for this long: another machine may be
/// working on it over a share, and there are moments between its locks.
const OLD: Duration = Duration::from_hours(1);
/// The first bytes of every database, and the place in it for the mark of its program (`SQLite` file
/// format, section 1.3).
const MAGIC: &[u8; 16] = b"SQLite format 3\0";
const MARK: usize = 68;

/// The name under which a copy grows.
pub(super) fn part_of(to: &Path) -> PathBuf {
    beside(to, &format!("{ENDING}{}", std::process::id()))
}

/// The process whose unfinished copy has this name.
fn maker(path: &Path) -> Option<i32> {
    let name = path.file_name()?.to_str()?;
    let (_, number) = name.rsplit_once(ENDING)?;
    number.bytes().all(|byte| byte.is_ascii_digit()).then(|| number.parse().ok())?
}

/// Whether a file has the name of an unfinished copy.
pub(super) fn is_part(path: &Path) -> bool {
    maker(path).is_some()
}

/// Locks a copy for this process after `SQLite` has closed it, because closing released its own lock. A
/// file system without locks is no error.
pub(super) fn hold(part: &Path) -> std::io::Result<File> {
    let file = OpenOptions::new().read(true).write(true).open(part)?;
    fcntl_lock(&file, FlockOperation::NonBlockingLockExclusive).unwrap_or(());
    Ok(file)
}

/// Removes what killed backups left in a folder. A file stays unless it is surely such a remainder and not
/// in use. A file that cannot be read or removed does not stop a new copy.
pub(super) fn sweep(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for path in entries.filter_map(Result::ok).map(|entry| entry.path()) {
        let Some(maker) = maker(&path) else { continue };
        if abandoned(&path, maker) {
            papers::removed(&papers::folder_of(&path)).unwrap_or(());
            std::fs::remove_file(&path).unwrap_or(());
        }
    }
}

/// Whether a file is an unfinished copy of this user that no process is working on.
fn abandoned(path: &Path, maker: i32) -> bool {
    // It follows no link and waits for no pipe.
    let flags = OFlags::RDWR | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::NOCTTY;
    let opened = rustix::fs::open(path, flags | OFlags::CLOEXEC, Mode::empty()).map(File::from);
    let Ok(mut file) = opened else { return false };
    let Ok(found) = file.metadata() else { return false };
    let own = found.uid() == rustix::process::geteuid().as_raw();
    if !found.is_file() || found.nlink() != 1 || !own || !is_ours(&mut file) {
        return false;
    }
    let gone = Pid::from_raw(maker)
        .is_some_and(|maker| test_kill_process(maker) == Err(rustix::io::Errno::SRCH));
    let age = found.modified().ok().and_then(|at| at.elapsed().ok());
    let free = || fcntl_lock(&file, FlockOperation::NonBlockingLockExclusive).is_ok();
    let same = || Identity::of(path).is_ok_and(|at| at.is(&found));
    (gone || age.is_some_and(|age| age > OLD)) && free() && same()
}

/// Whether a file begins as a copy of a record does, finished or not. An empty one counts too: nothing is
/// lost with it.
fn is_ours(file: &mut File) -> bool {
    let mut head = [0; 100];
    if file.metadata().is_ok_and(|found| found.len() == 0) {
        return true;
    }
    if file.read_exact(&mut head).is_err() || !head.starts_with(MAGIC) {
        return false;
    }
    let mark = head[MARK..].first_chunk().map(|mark| i64::from(i32::from_be_bytes(*mark)));
    mark.is_some_and(schema::is_mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_of_a_part_has_the_number_of_its_process_at_the_end() {
        let part = part_of(Path::new("copies/monday.db"));
        assert!(is_part(&part));
        assert_eq!(maker(&part), i32::try_from(std::process::id()).ok());
        for other in ["monday.db", "a.part-", "a.part-1x", ".part", "a.part-1.db", "part-7"] {
            assert!(!is_part(Path::new(other)), "{other}");
        }
        assert!(is_part(Path::new(".part-7")));
        assert_eq!(maker(Path::new("a.part-99999999999999")), None);
    }
}

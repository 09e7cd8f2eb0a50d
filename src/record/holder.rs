//! Who holds a lock on a file, as far as the kernel shows it of other processes.

use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use super::StoreError;
use super::error::is_without_room;
use super::folder;

/// A line of `/proc/locks`: `2: POSIX  ADVISORY  READ 4711 fe:00:123 120 120`. A lock that a process waits
/// for has an arrow in its line; a lock that belongs to no single process has the number -1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Lock {
    pid: u32,
    inode: u64,
    first: u64,
    /// Whether it keeps out readers, too.
    writes: bool,
}

impl Lock {
    fn of_line(line: &str) -> Option<Self> {
        let mut fields = line.split_whitespace().skip(3);
        let writes = fields.next()? == "WRITE";
        let pid = fields.next()?.parse().ok()?;
        let inode = fields.next()?.rsplit(':').next()?.parse().ok()?;
        let first = fields.next()?.parse().ok()?;
        (!line.contains("->")).then_some(Self { pid, inode, first, writes })
    }

    /// Whether it can be what keeps somebody out. Each reader of the record has a lock for reading further
    /// back, which keeps out nobody. SQLite, "WAL-Mode File Format", 2.3.1: 120 is the lock for writing,
    /// 121 and 122 those for moving and recovering the log.
    const fn keeps_out(self) -> bool {
        self.writes || self.first <= 122
    }
}

/// The process that holds a lock on a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Holder {
    /// The file.
    pub(super) path: PathBuf,
    /// Its process number.
    pub(super) pid: u32,
    /// `python3 (process 4711, user ada)`.
    pub(super) words: String,
}

/// How often the list of locks is read. It is read in pieces, so that a lock is missed when others are given
/// back meanwhile.
const LOOKS: u32 = 5;

/// Who keeps others out of one of these files by a lock, other than this process.
pub(super) fn of(paths: &[PathBuf]) -> Option<Holder> {
    let inodes: Vec<(u64, &Path)> = paths
        .iter()
        .filter_map(|path| Some((path.metadata().ok()?.ino(), path.as_path())))
        .collect();
    (0..LOOKS).find_map(|_| looked(&inodes))
}

/// As [`of`], by one look.
fn looked(files: &[(u64, &Path)]) -> Option<Holder> {
    let locks = std::fs::read_to_string("/proc/locks").ok()?;
    let own = std::process::id();
    let mut held: Vec<(Lock, &Path)> = Vec::new();
    for lock in locks.lines().filter_map(Lock::of_line) {
        if lock.pid != own && lock.keeps_out() {
            held.extend(
                files.iter().find(|(inode, _)| *inode == lock.inode).map(|(_, path)| (lock, *path)),
            );
        }
    }
    held.sort_by_key(|(lock, _)| lock.first > 122);
    let (lock, path) = held.first()?;
    Some(Holder { path: path.to_path_buf(), pid: lock.pid, words: process(lock.pid) })
}

/// Who holds a lock on a file of a record, other than this process.
pub(super) fn of_record(database: &Path) -> Option<Holder> {
    of(&["", "-shm", "-wal"].map(|ending| folder::beside(database, ending)))
}

/// The error of a record that cannot be opened or read at the moment; where another program has locked it,
/// the error names that program.
pub(super) fn locked(database: &Path, error: StoreError) -> StoreError {
    if matches!(&error, StoreError::Database(inner) if is_without_room(inner)) {
        return StoreError::NoRoom(database.to_owned());
    }
    if !error.is_locked() {
        return error;
    }
    match of_record(database) {
        Some(holder) => StoreError::Locked { path: holder.path, holder: holder.words },
        None => error,
    }
}

/// Who holds a lock on a file, other than this process: `python3 (process 4711, user ada)`.
#[must_use]
pub fn holder_of(path: &Path) -> Option<String> {
    of(&[path.to_owned()]).map(|holder| holder.words)
}

/// Whether a process runs this program.
pub(super) fn is_ours(pid: u32) -> bool {
    let own = std::fs::read_to_string("/proc/self/comm").unwrap_or_default();
    !own.is_empty() && name(pid) == own.trim()
}

/// The program of a process; empty where it is not shown.
fn name(pid: u32) -> String {
    let name = std::fs::read_to_string(format!("/proc/{pid}/comm")).unwrap_or_default();
    name.trim().chars().filter(|c| !c.is_control()).collect()
}

/// `python3 (process 4711, user ada)`. For a process of another user the system may show only the number.
#[must_use]
pub fn process(pid: u32) -> String {
    let user = std::fs::metadata(format!("/proc/{pid}")).ok().map(|found| found.uid());
    let user = user.map(|uid| login_of(uid).unwrap_or_else(|| uid.to_string()));
    let user = user.map_or_else(String::new, |user| format!(", user {user}"));
    match name(pid) {
        none if none.is_empty() => format!("process {pid}{user}"),
        name => format!("{name} (process {pid}{user})"),
    }
}

/// The login name of a user, from the system's list; `None` where it is not listed there.
#[must_use]
pub fn login_of(uid: u32) -> Option<String> {
    listed_name(&std::fs::read_to_string("/etc/passwd").ok()?, uid)
}

/// The name of a user in a list in the format of passwd(5).
fn listed_name(list: &str, user: u32) -> Option<String> {
    list.lines().find_map(|line| {
        let mut fields = line.split(':');
        let (name, number) = (fields.next()?, fields.nth(1)?);
        (number.parse() == Ok(user) && !name.is_empty()).then(|| name.to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lock_table_names_the_process_and_the_byte() {
        let of = Lock::of_line;
        let lock = |pid, inode, first, writes| Some(Lock { pid, inode, first, writes });
        assert_eq!(of("2: FLOCK  ADVISORY  WRITE 4711 00:06:123 0 EOF"), lock(4711, 123, 0, true));
        assert_eq!(of("3: POSIX  ADVISORY  READ 12 fe:00:77 120 122"), lock(12, 77, 120, false));
        assert_eq!(of("3: -> POSIX  ADVISORY  READ 12 fe:00:77 120 122"), None);
        assert_eq!(of("4: OFDLCK ADVISORY  WRITE -1 fe:00:77 0 EOF"), None);
    }

    #[test]
    fn a_reader_keeps_out_nobody() {
        let keeps_out = |line| Lock::of_line(line).unwrap().keeps_out();
        assert!(!keeps_out("1: POSIX  ADVISORY  READ 12 fe:00:77 1073741826 1073742335"));
        assert!(!keeps_out("1: POSIX  ADVISORY  READ 12 fe:00:77 124 124"));
        assert!(keeps_out("1: POSIX  ADVISORY  READ 12 fe:00:77 0 EOF"));
        assert!(keeps_out("1: POSIX  ADVISORY  WRITE 12 fe:00:77 1073741826 1073742335"));
        assert!(keeps_out("1: POSIX  ADVISORY  WRITE 12 fe:00:77 120 120"));
    }

    #[test]
    fn a_user_is_found_by_number() {
        let list = "root:x:0:0:root:/root:/bin/sh\nann:x:1001:1001:Ann,,,:/home/ann:/bin/sh\nbad\n";
        assert_eq!(listed_name(list, 1001).as_deref(), Some("ann"));
        assert_eq!(listed_name(list, 1), None);
    }
}

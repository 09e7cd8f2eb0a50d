//! The state folder: its lock, its files, and whether they are still the ones that were opened.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use super::StoreError;

/// The database in the state folder.
pub const DATABASE: &str = "tenths.db";
/// The file whose lock says that a service works with the folder.
pub const LOCK: &str = "tenths.lock";

pub(super) fn failed<'a>(
    what: &'static str,
    path: &'a Path,
) -> impl FnOnce(std::io::Error) -> StoreError + use<'a> {
    move |source| StoreError::File { what, path: path.to_owned(), source }
}

/// Whether a file is there. Where this user may not see that, or may not read it, that is the error: what is
/// hidden is not missing.
pub(super) fn is_there(path: &Path) -> Result<bool, StoreError> {
    use rustix::fs::{Access, AtFlags, CWD, accessat};
    let denied = || StoreError::Denied(path.to_owned());
    match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => Err(denied()),
        Err(_) => Ok(false),
        Ok(found) if !found.is_file() => Ok(false),
        // Asked without opening it: closing it again would release the locks that this process has on it.
        Ok(_) => match accessat(CWD, path, Access::READ_OK, AtFlags::EACCESS) {
            Err(rustix::io::Errno::ACCESS) => Err(denied()),
            Err(_) | Ok(()) => Ok(true),
        },
    }
}

/// Makes the folder where it is missing; its group may read it.
pub(super) fn make(folder: &Path) -> Result<(), StoreError> {
    let made = std::fs::DirBuilder::new().recursive(true).mode(0o750).create(folder);
    made.map_err(failed("make", folder))
}

/// The locked state folder. Dropping it, or the death of the process, releases it.
#[derive(Debug)]
pub(super) struct FolderLock(#[expect(dead_code, reason = "holds the lock while it is open")] File);

impl FolderLock {
    /// Locks the folder for this process.
    pub(super) fn take(folder: &Path) -> Result<Self, StoreError> {
        let path = folder.join(LOCK);
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o640)
            .open(&path)
            .map_err(failed("open", &path))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(held(folder, &path, &mut file)),
            Err(TryLockError::Error(error)) => return Err(failed("lock", &path)(error)),
        }
        sign(&mut file).map_err(failed("write", &path))?;
        Ok(Self(file))
    }
}

/// Writes who holds the lock into its file. A full disk must not keep the service from starting, and the
/// lock works without the text.
fn sign(file: &mut File) -> std::io::Result<()> {
    let text = format!("process {}\n", std::process::id());
    let signed =
        file.set_len(0).and_then(|()| file.rewind()).and_then(|()| file.write_all(text.as_bytes()));
    match signed {
        Err(error) if error.kind() == std::io::ErrorKind::StorageFull => Ok(()),
        other => other,
    }
}

/// The error that names who holds the lock: a service, or another program.
fn held(folder: &Path, path: &Path, file: &mut File) -> StoreError {
    match super::holder::of(&[path.to_owned()]) {
        Some(found) if !super::holder::is_ours(found.pid) => {
            StoreError::Locked { path: found.path, holder: found.words }
        }
        Some(found) => StoreError::Held { folder: folder.to_owned(), holder: Some(found.words) },
        None => StoreError::Held { folder: folder.to_owned(), holder: signed(file) },
    }
}

/// The text that a service wrote into the file, used where the system does not say who holds it.
fn signed(file: &mut File) -> Option<String> {
    let mut text = String::new();
    file.take(64).read_to_string(&mut text).ok()?;
    let text = text.trim();
    (!text.is_empty() && text.chars().all(|c| !c.is_control())).then(|| text.to_owned())
}

/// Makes the database file where it is missing, readable for its group. `SQLite` gives the files beside it
/// the same mode.
pub(super) fn make_database(path: &Path) -> Result<(), StoreError> {
    let made = OpenOptions::new().write(true).create_new(true).mode(0o640).open(path);
    match made {
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        other => other.map(drop).map_err(failed("make", path)),
    }
}

/// Which file is at a path: its device and inode.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Identity {
    path: PathBuf,
    device: u64,
    inode: u64,
}

impl Identity {
    /// The file at a path now.
    /// It must not be opened for this: closing it again would drop the locks `SQLite` holds on it.
    pub(super) fn of(path: &Path) -> Result<Self, StoreError> {
        let found = std::fs::metadata(path).map_err(failed("look at", path))?;
        Ok(Self { path: path.to_owned(), device: found.dev(), inode: found.ino() })
    }

    /// Whether it is the file that was opened.
    pub(super) fn is(&self, opened: &std::fs::Metadata) -> bool {
        self.device == opened.dev() && self.inode == opened.ino()
    }

    /// Whether both are the same file, by whatever name.
    pub(super) const fn same_file(&self, other: &Self) -> bool {
        self.device == other.device && self.inode == other.inode
    }

    /// Whether that file is still at its path.
    pub(super) fn holds(&self) -> bool {
        Self::of(&self.path).is_ok_and(|now| now == *self)
    }
}

/// The path of a file beside another: its name with an ending.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

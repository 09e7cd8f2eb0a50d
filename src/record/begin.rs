//! Whether a new record may begin in a folder: never where something shows that there was one.

use std::fs::File;
use std::os::unix::fs::{FileExt, OpenOptionsExt};
use std::path::Path;

use rusqlite::{Connection, OpenFlags};
use rustix::fs::OFlags;

use super::folder::{DATABASE, beside, failed};
use super::{StoreError, backup, schema};

/// The ending of a new record's name until it is complete.
const MAKING: &str = ".making";

/// Makes a new record where there is none, or an empty file; returns whether it did.
pub(super) fn made_sure(folder: &Path) -> Result<bool, StoreError> {
    let path = folder.join(DATABASE);
    let empty = match path.symlink_metadata() {
        Ok(found) if found.is_file() && found.len() == 0 => true,
        Ok(_) => return Ok(false),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => false,
        Err(error) => return Err(failed("look at", &path)(error)),
    };
    let found = remains(folder)?;
    if !found.is_empty() {
        return Err(StoreError::Vanished { path, empty, found });
    }
    make(&path)?;
    Ok(true)
}

/// The names of traces of a record: its log, copies of it, damaged records.
fn remains(folder: &Path) -> Result<Vec<String>, StoreError> {
    let entries = std::fs::read_dir(folder).map_err(failed("look into", folder))?;
    let mut found = Vec::new();
    for entry in entries {
        let entry = entry.map_err(failed("look into", folder))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let full = || entry.metadata().is_ok_and(|found| found.len() > 0 || !found.is_file());
        let ours = name.strip_prefix(DATABASE);
        let tells = match ours {
            Some("" | "-shm") => false,
            Some(ending) if ending.starts_with(MAKING) => false,
            Some(_) => full(),
            None => is_database(&entry.path()),
        };
        if tells {
            found.push(name);
        }
    }
    found.sort();
    Ok(found)
}

/// Whether a file begins as a database does. The file is only read, not opened as a database.
fn is_database(path: &Path) -> bool {
    let flags = OFlags::NOFOLLOW | OFlags::NONBLOCK;
    let opened = File::options().read(true).custom_flags(flags.bits().cast_signed()).open(path);
    let mut head = [0; 16];
    let read = opened.and_then(|file| file.read_exact_at(&mut head, 0));
    read.is_ok() && &head == b"SQLite format 3\0"
}

/// Makes the record under another name and renames it when it is complete, so that there is never half a
/// record in its place.
fn make(path: &Path) -> Result<(), StoreError> {
    let new = beside(path, MAKING);
    for ending in ["", "-wal", "-shm", "-journal"] {
        let left = beside(&new, ending);
        match std::fs::remove_file(&left) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(failed("remove", &left)(error));
            }
            Ok(()) | Err(_) => {}
        }
    }
    super::folder::make_database(&new)?;
    let mut conn = Connection::open_with_flags(&new, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    schema::make(&mut conn)?;
    conn.close().map_err(|(_, error)| error)?;
    let file = File::open(&new).and_then(|file| file.sync_all());
    file.map_err(failed("write", &new))?;
    std::fs::rename(&new, path).map_err(failed("rename", &new))?;
    backup::sync_folder(path.parent().unwrap_or_else(|| Path::new(".")))
}

//! The files of pictures and papers, beside the record: each under the BLAKE3 of its bytes.
//!
//! A file is written under another name, synced and renamed, and its folder synced, before the fact that
//! names it is stored. So no stored fact names a file that was not whole. A file is never changed, and
//! equal bytes are one file.

mod copied;
mod look;

use std::fs::{DirBuilder, File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use super::StoreError;
use super::backup::sync_folder;
use super::folder::{DATABASE, beside, failed};
use bench::row::Paper;

pub(super) use copied::{copied, linked, moved, removed};
pub(super) use look::{Facts, Swept, are, sweep};
pub use look::{PaperFact, PaperWrong, papers_of};

/// The folder of the files, in the state folder.
pub const PAPERS: &str = "attached";
/// The beginning of the name of a file that is being written.
const PART: &str = ".part-";
/// A file is read, hashed and written in pieces of this many bytes.
const PIECE: usize = 1 << 20;

/// The folder with the files of a record: of the one in a state folder it is `attached` there, of a copy it
/// has the copy's name with `.attached` at its end.
pub(super) fn folder_of(database: &Path) -> PathBuf {
    let own = database.file_name().is_some_and(|name| name == DATABASE);
    if own { database.with_file_name(PAPERS) } else { beside(database, ".attached") }
}

/// Makes the folder where it is missing; its group may read it.
pub(super) fn made(folder: &Path) -> Result<(), StoreError> {
    match DirBuilder::new().mode(0o750).create(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(failed("make", folder)(error)),
        Ok(()) => folder.parent().map_or(Ok(()), sync_folder),
    }
}

/// Opens a file to read, if it is a plain file: it follows no link and waits for no pipe.
fn opened(path: &Path) -> std::io::Result<File> {
    use rustix::fs::{Mode, OFlags};
    let flags = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
    let file = File::from(rustix::fs::open(path, flags, Mode::empty())?);
    if file.metadata()?.is_file() { Ok(file) } else { Err(std::io::ErrorKind::InvalidInput.into()) }
}

/// What some bytes come to, read in pieces and passed on, at most `most` of them.
fn passed(
    from: &mut impl Read,
    most: u64,
    mut on: impl FnMut(&[u8]) -> std::io::Result<()>,
) -> std::io::Result<([u8; 32], u64)> {
    let (mut hasher, mut bytes) = (blake3::Hasher::new(), 0);
    let mut piece = vec![0; PIECE];
    loop {
        let count = match from.read(&mut piece) {
            Ok(0) => return Ok((*hasher.finalize().as_bytes(), bytes)),
            Ok(count) => count,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        let read = piece.get(..count).unwrap_or_default();
        bytes += count as u64;
        if bytes > most {
            return Ok(([0; 32], bytes));
        }
        hasher.update(read);
        on(read)?;
    }
}

/// Whether the file of a paper is in the folder and has its bytes.
fn is_good(folder: &Path, paper: &Paper) -> bool {
    look::digested(folder, paper).is_ok()
}

/// Writes a file under the name of its digest, and waits until it is on disk. `false`: it was there
/// already. One that was there and had other bytes is replaced.
///
/// # Errors
/// The bytes are not those of the paper, or the system refuses. Nothing is left behind then.
pub(super) fn put(folder: &Path, from: &mut impl Read, paper: &Paper) -> Result<bool, StoreError> {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    made(folder)?;
    if is_good(folder, paper) {
        return Ok(false);
    }
    let (nth, process) = (NEXT.fetch_add(1, Ordering::Relaxed), std::process::id());
    let part = folder.join(format!("{PART}{process}-{nth}"));
    let to = folder.join(paper.kept_as());
    let put = write(&part, from, paper)
        .and_then(|()| std::fs::rename(&part, &to).map_err(failed("rename", &part)))
        .and_then(|()| sync_folder(folder));
    if put.is_err() && part.exists() {
        std::fs::remove_file(&part).map_err(failed("remove", &part))?;
    }
    put.map(|()| true)
}

fn write(part: &Path, from: &mut impl Read, paper: &Paper) -> Result<(), StoreError> {
    let made = OpenOptions::new().write(true).create_new(true).mode(0o640).open(part);
    let mut file = made.map_err(failed("make", part))?;
    let on = |piece: &[u8]| {
        file.write_all(piece)?;
        // It is synced as it grows, so that a commit never waits for all of it at once.
        file.sync_data()
    };
    let (digest, bytes) = passed(from, paper.bytes, on).map_err(failed("write", part))?;
    if (digest, bytes) != (paper.digest, paper.bytes) {
        let other = std::io::Error::other("its bytes are not those it was said to have");
        return Err(failed("keep", part)(other));
    }
    file.sync_all().map_err(failed("write", part))
}

/// Keeps the bytes of a paper in a state folder, on disk; whether they are new there.
///
/// # Errors
/// The system refuses.
pub fn keep_paper(state: &Path, bytes: &[u8], paper: &Paper) -> Result<bool, StoreError> {
    put(&state.join(PAPERS), &mut &*bytes, paper)
}

/// Takes the file of a paper away again that no fact came to name.
///
/// # Errors
/// The system refuses.
pub fn drop_paper(state: &Path, paper: &Paper) -> Result<(), StoreError> {
    let path = state.join(PAPERS).join(paper.kept_as());
    std::fs::remove_file(&path).map_err(failed("remove", &path))
}

/// Whether the file of a paper is there and has its size.
pub(super) fn there(folder: &Path, paper: &Paper) -> Result<(), PaperWrong> {
    look::sized(folder, paper).map(drop)
}

/// The bytes of a paper, if they are the ones that were attached.
pub(super) fn bytes(folder: &Path, paper: &Paper) -> Result<Vec<u8>, PaperWrong> {
    let mut file = look::sized(folder, paper)?;
    let mut all = Vec::new();
    let read = passed(&mut file, paper.bytes, |piece| {
        all.extend_from_slice(piece);
        Ok(())
    });
    look::same(read, paper).map(|()| all)
}

//! The number of the newest acknowledged row, kept outside the database as well.
//!
//! Where its log is damaged, the database silently forgets everything after that place. So each commit is
//! followed by one write of a few bytes into a small file beside the record, and at the start both are
//! compared. The write does not wait for the disk and costs no sync. After the process died its content is
//! certain; after a loss of power it may be older than the record, which is not reported.

use std::fs::{File, OpenOptions};
use std::io::ErrorKind;
use std::os::unix::fs::{FileExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use rustix::fs::OFlags;

use super::StoreError;
use super::folder::failed;
use bench::Seq;
use quantity::Wall;

/// The file in the state folder.
pub const NEWEST: &str = "tenths.newest";

/// The first bytes of a slot.
const MAGIC: &[u8; 8] = b"tnthnew1";
/// Bytes of a slot: magic, row, line, time, and 16 bytes of the BLAKE3 of those.
const SLOT: usize = 48;
/// Where each of the two slots begins: each has its own block of the disk.
const SLOTS: [u64; 2] = [0, 4096];
/// Where the file keeps how far the starts have checked the record.
const LOOKED: u64 = 8192;

/// The newest row that was acknowledged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mark {
    /// Its number; 0 where there is none.
    pub(super) last: Seq,
    /// The number of the newest line of the feed.
    pub(super) feed: u64,
    /// When the row was decided.
    pub(super) wall: Wall,
}

impl Mark {
    fn slot(self) -> [u8; SLOT] {
        let numbers = [self.last.0, self.feed, self.wall.micros().cast_unsigned()];
        let mut slot = [0; SLOT];
        slot[..8].copy_from_slice(MAGIC);
        for (place, number) in numbers.into_iter().enumerate() {
            slot[8 + 8 * place..16 + 8 * place].copy_from_slice(&number.to_le_bytes());
        }
        let digest = blake3::hash(&slot[..32]);
        slot[32..].copy_from_slice(&digest.as_bytes()[..16]);
        slot
    }

    /// Reads a slot; `None` where it was never written, or only in part.
    fn of_slot(slot: &[u8; SLOT]) -> Option<Self> {
        let digest = blake3::hash(&slot[..32]);
        if &slot[..8] != MAGIC || slot[32..] != digest.as_bytes()[..16] {
            return None;
        }
        let number = |place: usize| {
            let bytes = slot[8 * place..].first_chunk().expect("a slot has room for its numbers");
            u64::from_le_bytes(*bytes)
        };
        let wall = Wall::from_micros(number(3).cast_signed());
        Some(Self { last: Seq(number(1)), feed: number(2), wall })
    }
}

/// The file, open.
#[derive(Debug)]
pub(super) struct Newest {
    file: File,
    path: PathBuf,
    /// The slot to write next: never the newest one.
    next: usize,
    /// Whether it could not be written, which was reported.
    failing: bool,
}

impl Newest {
    /// Opens the file, makes it where it is missing, and reads it.
    pub(super) fn open(folder: &Path) -> Result<(Self, Option<Mark>), StoreError> {
        let path = folder.join(NEWEST);
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o640)
            .custom_flags((OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed())
            .open(&path)
            .map_err(failed("open", &path))?;
        let marks = SLOTS.map(|at| read(&file, at));
        let newest = (0..SLOTS.len()).filter(|slot| marks[*slot].is_some());
        let newest = newest.max_by_key(|slot| marks[*slot].map(|mark| mark.last));
        let next = newest.map_or(0, |newest| 1 - newest);
        Ok((Self { file, path, next, failing: false }, newest.and_then(|slot| marks[slot])))
    }

    /// Writes which row is the newest. Where that fails, the record is complete all the same; the failure
    /// is reported once.
    pub(super) fn note(&mut self, mark: Mark) {
        match self.file.write_all_at(&mark.slot(), SLOTS[self.next]) {
            Ok(()) => {
                self.next = 1 - self.next;
                self.failing = false;
            }
            Err(_) if self.failing => {}
            Err(error) => {
                tracing::warn!("cannot write {}: {error}", self.path.display());
                self.failing = true;
            }
        }
    }

    /// The block that the next start checks.
    pub(super) fn looked_at(&self) -> u64 {
        read(&self.file, LOOKED).map_or(0, |mark| mark.last.0)
    }

    /// Writes which block that is. Where that fails, the next start checks the same block again.
    pub(super) fn note_looked_at(&self, block: u64) {
        let mark = Mark { last: Seq(block), feed: 0, wall: Wall::from_micros(0) };
        if let Err(error) = self.file.write_all_at(&mark.slot(), LOOKED) {
            tracing::debug!("cannot write {}: {error}", self.path.display());
        }
    }

    /// Clears it for a new record.
    pub(super) fn begin_anew(&mut self) {
        let none = Mark { last: Seq(0), feed: 0, wall: Wall::from_micros(0) };
        for _ in SLOTS {
            self.note(none);
        }
        self.note_looked_at(0);
    }
}

fn read(file: &File, at: u64) -> Option<Mark> {
    let mut slot = [0; SLOT];
    file.read_exact_at(&mut slot, at).ok()?;
    Mark::of_slot(&slot)
}

/// The content of the file in a folder; `None` where there is none.
pub(super) fn known(folder: &Path) -> Option<Mark> {
    let flags = (OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed();
    let file = OpenOptions::new().read(true).custom_flags(flags).open(folder.join(NEWEST)).ok()?;
    SLOTS.iter().filter_map(|at| read(&file, *at)).max_by_key(|mark| mark.last)
}

/// Removes the file: another record takes the place of the one it belongs to.
pub(super) fn forget(folder: &Path) -> Result<(), StoreError> {
    let path = folder.join(NEWEST);
    match std::fs::remove_file(&path) {
        Err(error) if error.kind() != ErrorKind::NotFound => Err(failed("remove", &path)(error)),
        Ok(()) | Err(_) => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn mark(last: u64) -> Mark {
        Mark { last: Seq(last), feed: 3, wall: Wall::from_micros(-5) }
    }

    #[test]
    fn it_says_what_was_noted_last_and_one_torn_write_costs_one_note() {
        let folder = tempfile::tempdir().unwrap();
        let (mut newest, before) = Newest::open(folder.path()).unwrap();
        assert_eq!(before, None);
        for last in 1..=7 {
            newest.note(mark(last));
        }
        let (again, found) = Newest::open(folder.path()).unwrap();
        assert_eq!(found, Some(mark(7)));
        again.file.write_all_at(b"torn", SLOTS[1 - again.next] + 10).unwrap();
        let (mut again, found) = Newest::open(folder.path()).unwrap();
        assert_eq!(found, Some(mark(6)));
        again.begin_anew();
        assert_eq!(
            Newest::open(folder.path()).unwrap().1,
            Some(Mark { feed: 0, wall: Wall::from_micros(0), ..mark(0) })
        );
        forget(folder.path()).unwrap();
        forget(folder.path()).unwrap();
        assert_eq!(Newest::open(folder.path()).unwrap().1, None);
    }
}

//! What the deciding thread needs from the record. A test can put one that fails in its place.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ::record::{
    Answer, Answered, CommitError, DATABASE, FileHistory, FileLook, ReadBack, Seal, SetAside,
    Store, StoreError,
};
use bench::{Row, Seq};

/// Why the record did not do something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refused {
    /// The error of the disk or database.
    pub(super) why: String,
    /// Whether it is a bug of this program: trying again will not help.
    pub(super) ours: bool,
    /// Whether the record is damaged: trying again will not help, but other parts of it may be good.
    pub(super) damaged: bool,
}

pub(super) type Asked<T> = Result<T, Refused>;

/// The record on disk, written by one thread.
pub(super) trait Record {
    /// Stores rows and answers, all or nothing.
    fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()>;
    /// The number of the newest stored row.
    fn last_committed(&mut self) -> Asked<Seq>;
    /// What is known of a request with this key that was done.
    fn answer_of(&mut self, key: &str) -> Asked<Option<Answered>>;
    /// Whether a job ever had this name.
    fn name_used(&mut self, name: &str) -> Asked<bool>;
    /// The rows of a closed job.
    fn job_rows(&mut self, name: &str) -> Asked<Option<Arc<Vec<Row>>>>;
    /// The row number of a closed job.
    fn closed_job(&mut self, name: &str) -> Asked<Option<Seq>>;
    /// What is known of a dropped file.
    fn file_history(&mut self, look: FileLook<'_>) -> Asked<FileHistory>;
    /// The sizes that must stay within limits.
    fn space(&mut self) -> Asked<Space>;
    /// The database file.
    fn database(&self) -> PathBuf;
    /// Called when everything is answered, so that maintenance can be done.
    fn tidy(&mut self);
    /// What a start would read back now.
    fn read_back(&mut self) -> Asked<ReadBack>;
    /// The plan to be set aside, if the stored text of this plan is damaged.
    fn damaged_plan(&mut self, text: &str) -> Asked<Option<SetAside>>;
    /// The seal after the newest stored row.
    fn seal(&self) -> Option<Seal>;
    /// Ends the work with the record.
    fn close(self) -> Asked<()>;
}

/// Room on the disk of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[expect(clippy::struct_field_names, reason = "a name ends with its unit")]
pub(super) struct Space {
    /// The log beside the database, bytes.
    pub(super) wal_bytes: u64,
    /// Free for the service, bytes.
    pub(super) free_bytes: u64,
    /// The whole disk, bytes.
    pub(super) disk_bytes: u64,
}

impl Space {
    /// The largest log, in bytes. If it is larger, something keeps it from being moved into the database.
    const LONGEST_WAL: u64 = 64 << 20;

    /// The sentence about room that runs out, if it does.
    pub(super) fn low(&self) -> Option<String> {
        let megabytes = |bytes: u64| bytes / 1_000_000;
        if is_little(self.free_bytes, self.disk_bytes) {
            let free = megabytes(self.free_bytes);
            return Some(format!("the disk of the record has {free} MB left; make room"));
        }
        (self.wal_bytes > Self::LONGEST_WAL).then(|| {
            let wal = megabytes(self.wal_bytes);
            format!("the log beside the database has grown to {wal} MB; end long queries")
        })
    }
}

/// Whether so much free space is little for a record, of a disk of so many bytes: below 200 MB, or a twentieth.
#[must_use]
pub const fn is_little(free_bytes: u64, disk_bytes: u64) -> bool {
    free_bytes < 200_000_000 || free_bytes < disk_bytes / 20
}

/// The record of a state folder.
#[derive(Debug)]
pub(super) struct Kept {
    pub(super) store: Store,
    database: PathBuf,
}

impl Kept {
    /// The record in `folder`.
    pub(super) fn new(store: Store, folder: &Path) -> Self {
        Self { store, database: folder.join(DATABASE) }
    }
}

impl Record for Kept {
    fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()> {
        Ok(self.store.commit(rows, answers)?)
    }

    fn last_committed(&mut self) -> Asked<Seq> {
        Ok(self.store.last_committed()?)
    }

    fn answer_of(&mut self, key: &str) -> Asked<Option<Answered>> {
        Ok(self.store.answer_of(key)?)
    }

    fn name_used(&mut self, name: &str) -> Asked<bool> {
        Ok(self.store.name_used(name)?)
    }

    fn job_rows(&mut self, name: &str) -> Asked<Option<Arc<Vec<Row>>>> {
        Ok(self.store.job_rows(name)?)
    }

    fn closed_job(&mut self, name: &str) -> Asked<Option<Seq>> {
        Ok(self.store.closed_job(name)?)
    }

    fn file_history(&mut self, look: FileLook<'_>) -> Asked<FileHistory> {
        Ok(self.store.file_history(look)?)
    }

    fn space(&mut self) -> Asked<Space> {
        let health = self.store.health()?;
        let disk = rustix::fs::statvfs(&self.database);
        let disk_bytes = disk.map_or(0, |disk| disk.f_blocks.saturating_mul(disk.f_frsize));
        Ok(Space { wal_bytes: health.wal_bytes, free_bytes: health.free_bytes, disk_bytes })
    }

    fn database(&self) -> PathBuf {
        self.database.clone()
    }

    fn tidy(&mut self) {
        if self.store.wants_checkpoint()
            && let Err(error) = self.store.checkpoint()
        {
            tracing::debug!("the log beside the database stays as it is: {error}");
        }
    }

    fn read_back(&mut self) -> Asked<ReadBack> {
        Ok(self.store.read_back()?)
    }

    fn damaged_plan(&mut self, text: &str) -> Asked<Option<SetAside>> {
        Ok(self.store.damaged_plan(text)?)
    }

    fn seal(&self) -> Option<Seal> {
        self.store.seal()
    }

    fn close(self) -> Asked<()> {
        Ok(self.store.close()?)
    }
}

impl From<CommitError> for Refused {
    fn from(error: CommitError) -> Self {
        let ours = matches!(error, CommitError::Order { .. } | CommitError::Contradiction(_));
        let damaged = matches!(error, CommitError::Damaged(_));
        Self { why: error.to_string(), ours, damaged }
    }
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        Self { why: error.to_string(), ours: false, damaged: !error.passes() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn room_runs_out_before_it_is_gone() {
        let space = |free_bytes, disk_bytes| Space { wal_bytes: 0, free_bytes, disk_bytes };
        assert_eq!(space(250_000_000, 1_000_000_000).low(), None);
        assert!(space(199_000_000, 1_000_000_000).low().is_some_and(|why| why.contains("199 MB")));
        assert!(space(400_000_000, 10_000_000_000).low().is_some(), "less than a twentieth");
        let long = Space { wal_bytes: 65 << 20, ..space(1 << 40, 1 << 41) };
        assert!(long.low().is_some_and(|why| why.contains("log")));
    }
}

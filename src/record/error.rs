//! The errors of the record.

use std::path::PathBuf;

use bench::Seq;

/// Why a record cannot be opened or read.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another service works with the folder.
    #[error("another service works with {}{}", folder.display(), holder_text(holder.as_deref()))]
    Held {
        /// The state folder.
        folder: PathBuf,
        /// The process that holds it, where that is known.
        holder: Option<String>,
    },
    /// The disk is full, and there is no room for the index that is needed to read the record.
    #[error("the disk is full, and {} cannot even be read: the index beside its log has no room", .0.display())]
    NoRoom(PathBuf),
    /// Another program holds a lock on a file of the record.
    #[error("{} is locked by {holder}, which is no service of tenths", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
        /// The program, its process and its user.
        holder: String,
    },
    /// Root runs the program, and the folder belongs to another user.
    #[error("{} belongs to another user, and root runs no service in it", .0.display())]
    NotOurs(PathBuf),
    /// Other users could replace the folder or a file in it.
    #[error("as root nothing is done in {}: others than its owner may write in {}", folder.display(), at.display())]
    Open {
        /// The folder.
        folder: PathBuf,
        /// The folder, or one above it, in which others may write.
        at: PathBuf,
    },
    /// The database was written by a newer program.
    #[error(
        "the record was written by a newer version of tenths (schema {found}, this program knows {known})"
    )]
    Newer {
        /// The schema of the file.
        found: i64,
        /// The newest schema this program knows.
        known: i64,
    },
    /// The database was written by an earlier program, and is left as it is.
    #[error(
        "{} was written by an earlier version of tenths (schema {found}, this one knows {known}), and records are not converted",
        path.display()
    )]
    Older {
        /// The database.
        path: PathBuf,
        /// The schema of the file.
        found: i64,
        /// The schema this program knows.
        known: i64,
    },
    /// The file is a database, but not one of this program.
    #[error("the file is not a record of this program")]
    Foreign,
    /// There is no database.
    #[error("there is no record at {}", .0.display())]
    Missing(PathBuf),
    /// Whether there is one, this user may not see; or it is there, and this user may not read it.
    #[error("you may not read the record at {}", .0.display())]
    Denied(PathBuf),
    /// There is no database, or an empty file, but something shows that there was a record.
    #[error(
        "the record {} {}, and beside it there {} {}: a new record would take its place for good",
        path.display(), if *empty { "is an empty file" } else { "is missing" },
        if found.len() == 1 { "is" } else { "are" }, found.join(", ")
    )]
    Vanished {
        /// The database.
        path: PathBuf,
        /// Whether the file exists and is empty.
        empty: bool,
        /// The traces beside it.
        found: Vec<String>,
    },
    /// The target of a backup is already there.
    #[error("{} is already there; a backup replaces nothing", .0.display())]
    Exists(PathBuf),
    /// A copy that was not finished, or is being made.
    #[error("{} is a copy that was not finished, or that is just being made", .0.display())]
    Unfinished(PathBuf),
    /// The copy to restore is the record itself.
    #[error("{} is the record itself", .0.display())]
    InPlace(PathBuf),
    /// The service started while its files were read in the belief that it was stopped.
    #[error("the service started meanwhile; run it again")]
    Meanwhile,
    /// A file or folder could not be used.
    #[error("cannot {what} {}: {source}", path.display())]
    File {
        /// What was tried: `open`, `lock` …
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The database reported an error.
    #[error("the database says: {0}")]
    Database(#[from] rusqlite::Error),
    /// A row that this program cannot have written.
    #[error("row {row} of the record is damaged: {what}")]
    Damaged {
        /// Its number.
        row: Seq,
        /// What is wrong with it.
        what: String,
    },
    /// The same, with the table of the row.
    #[error("the record is damaged: {table}, row {row}: {what}")]
    DamagedIn {
        /// The table.
        table: &'static str,
        /// Its number.
        row: Seq,
        /// What is wrong with it.
        what: String,
    },
    /// No job has this name, and no spindle has it as its serial number.
    #[error("no job is named {name:?}, nor is a spindle{}", near_text(near))]
    NoSuchJob {
        /// The name or serial asked for.
        name: String,
        /// Names close to it, the closest first; one found by a similar serial number says so.
        near: Vec<String>,
    },
    /// Several jobs match.
    #[error("{}", several_text(typed, *by_serial, jobs))]
    SeveralJobs {
        /// What was asked for.
        typed: String,
        /// Whether it is the serial number of their spindle, not a name in several letter cases.
        by_serial: bool,
        /// Their names, newest first.
        jobs: Vec<String>,
    },
    /// No part, check or the like has this name.
    #[error("there is no {what} {name:?}{}", near_text(near))]
    NoSuchName {
        /// The kind of thing: `part`, `check`, `serial` …
        what: &'static str,
        /// The name asked for.
        name: String,
        /// Names that are close to it, closest first.
        near: Vec<String>,
    },
}

impl StoreError {
    /// Whether it lasts until a person changes something about the record or its folder.
    #[must_use]
    pub fn lasts(&self) -> bool {
        !self.passes() && !matches!(self, Self::Held { .. } | Self::Meanwhile)
    }

    /// Whether another program holds the database; which one is not known.
    #[must_use]
    pub fn is_locked(&self) -> bool {
        use rusqlite::ErrorCode as Code;
        let Self::Database(error) = self else { return false };
        matches!(
            error.sqlite_error_code(),
            Some(Code::DatabaseBusy | Code::DatabaseLocked | Code::FileLockingProtocolFailed)
        )
    }

    /// Whether trying again may help: another program holds the database, there is no room, or the system
    /// could not read or write. All other errors last.
    #[must_use]
    pub fn passes(&self) -> bool {
        use rusqlite::ErrorCode as Code;
        let Self::Database(error) = self else {
            return matches!(self, Self::File { .. } | Self::Locked { .. } | Self::NoRoom(_));
        };
        let code = error.sqlite_error_code();
        self.is_locked()
            || matches!(
                code,
                Some(
                    Code::DiskFull
                        | Code::SystemIoFailure
                        | Code::CannotOpen
                        | Code::OutOfMemory
                        | Code::OperationInterrupted
                )
            )
    }
}

/// `SQLITE_IOERR_SHMSIZE`: the shared index beside the log could not grow.
const NO_ROOM_FOR_INDEX: i32 = 4874;

/// Whether the database had no room for something.
pub(super) fn is_without_room(error: &rusqlite::Error) -> bool {
    let code = error.sqlite_error().map(|error| error.extended_code);
    code == Some(NO_ROOM_FOR_INDEX)
        || error.sqlite_error_code() == Some(rusqlite::ErrorCode::DiskFull)
}

/// Whether the database stopped something because it took too long.
pub(super) fn is_interrupted(error: &StoreError) -> bool {
    let StoreError::Database(error) = error else { return false };
    error.sqlite_error_code() == Some(rusqlite::ErrorCode::OperationInterrupted)
}

fn holder_text(holder: Option<&str>) -> String {
    holder.map_or_else(String::new, |holder| format!(" ({holder})"))
}

fn near_text(near: &[String]) -> String {
    if near.is_empty() { String::new() } else { format!("; there is {}", near.join(", ")) }
}

fn several_text(typed: &str, by_serial: bool, jobs: &[String]) -> String {
    const TOLD: usize = 10;
    let told = jobs.iter().take(TOLD).map(String::as_str).collect::<Vec<_>>().join(", ");
    let more = jobs.len().saturating_sub(TOLD);
    let more = if more == 0 { String::new() } else { format!(" and {more} older") };
    if by_serial {
        let count = jobs.len();
        format!("serial {typed:?} has {count} jobs, newest first: {told}{more}")
    } else {
        format!("{typed:?} may be any of {told}{more}: they differ in capital letters only")
    }
}

/// Why a commit was refused. Nothing of it is in the record, except where a later
/// `last_committed` says so; the caller keeps the rows and tries again.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CommitError {
    /// No space.
    #[error("the disk is full")]
    Full,
    /// Another program holds the database.
    #[error("the database is locked by {}", .0.as_deref().unwrap_or("another program"))]
    Locked(
        /// The program, its process and its user, where that is known.
        Option<String>,
    ),
    /// The system could not read or write.
    #[error("the record cannot be written: {0}")]
    Io(String),
    /// The file at the path is gone or was replaced: whatever is written now would be lost.
    #[error("the database file was deleted or replaced while the service ran")]
    Replaced,
    /// The rows do not continue the record.
    #[error("the rows begin with number {got}, the record goes on with {expected}")]
    Order {
        /// The number that the record expects next.
        expected: Seq,
        /// The number that came.
        got: Seq,
    },
    /// The file is damaged; trying again will not help.
    #[error(
        "the file of the record is damaged ({0}); put a copy in its place: tenths restore FILE"
    )]
    Damaged(String),
    /// The rows contradict the record; trying again will not help.
    #[error("the rows contradict the record: {0}")]
    Contradiction(String),
}

impl From<rusqlite::Error> for CommitError {
    #[expect(clippy::wildcard_enum_match_arm, reason = "the codes are another library's list")]
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let text = error.to_string();
        let rusqlite::Error::SqliteFailure(failure, _) = error else {
            return Self::Contradiction(text);
        };
        match failure.code {
            _ if failure.extended_code == NO_ROOM_FOR_INDEX => Self::Full,
            Code::DiskFull => Self::Full,
            Code::DatabaseBusy | Code::DatabaseLocked | Code::FileLockingProtocolFailed => {
                Self::Locked(None)
            }
            Code::ConstraintViolation | Code::TypeMismatch | Code::TooBig => {
                Self::Contradiction(text)
            }
            Code::DatabaseCorrupt | Code::NotADatabase => Self::Damaged(text),
            _ => Self::Io(text),
        }
    }
}

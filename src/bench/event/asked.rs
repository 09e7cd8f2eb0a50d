//! What some requests ask in detail.

use std::sync::Arc;

use crate::fact::row::{Equipment, PaperType};
use crate::fact::seq::Seq;

/// A file that is to be attached to a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachAsked {
    /// The job's name.
    pub job: String,
    /// The part, or `PART/CHECK`, that it shows; the whole job where left out.
    pub to: Option<String>,
    /// What it shows.
    pub what: String,
    /// The name of the file, without its folder.
    pub name: String,
    /// BLAKE3 of its bytes.
    pub digest: [u8; 32],
    /// Its bytes.
    pub bytes: u64,
    /// Its type, once its bytes have arrived and are kept: only who received them knows it.
    pub found: Option<PaperType>,
}

/// What a signature needs from the record.
#[derive(Debug, Clone, PartialEq)]
pub struct ToSign {
    /// The seal of the record, as it is printed, and the row it was made after.
    pub seal: (String, Seq),
    /// The rows of the job, where it exists but is closed.
    pub closed: Option<Arc<Vec<crate::state::row::Row>>>,
}

/// What a person writes down in the register, as they typed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RegisterAsked {
    /// What it is.
    pub what: Equipment,
    /// Its name.
    pub name: String,
    /// Its serial number.
    pub serial: Option<String>,
    /// The number of its certificate.
    pub certificate: Option<String>,
    /// The day of the certificate.
    pub dated: Option<String>,
    /// The last day on which it counts.
    pub due: Option<String>,
    /// Its size.
    pub size: Option<String>,
    /// Of a bar: its own total reading.
    pub runout: Option<String>,
    /// The standard uncertainty of the size, of a bar that of its own total reading.
    pub uncertainty: Option<String>,
    /// The expanded one, for k = 2.
    pub expanded: Option<String>,
}

quantity::worded! {
    /// What a person tells of the run-in of a spindle; nothing here switches it.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum RunInAsked {
        /// The spindle runs at the first speed.
        Start = "start",
        /// It runs at the next speed.
        Step = "step",
        /// It stands still again.
        End = "end",
    }
}

/// Which alerts have been seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AckOf {
    /// This one.
    One(Seq),
    /// All open ones of this job.
    Job(String),
    /// All open ones.
    All,
}

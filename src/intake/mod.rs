//! Sources: small tasks that open, read, notice loss and come back. They move bytes and tell what
//! arrived and when.
//!
//! What is absent: tagging and judging. A source knows no job and no tolerance, and one that fails
//! never stops another.

mod asks;
mod clock;
mod device;
mod drops;
mod input_event;
mod pedal;
mod scanner;
mod serial;
mod stop;

pub use asks::Asks;
pub use clock::{boot_identity, mono_us, now};
pub use device::attend;
#[cfg(any(test, feature = "trial"))]
pub use drops::read_whole;
pub use drops::watch_drop;
pub use serial::Questions;
pub use serial::listen;
pub use serial::{denied, group_name, holder_of};
pub use stop::{Stop, StopSwitch};

use tokio::sync::{mpsc, oneshot};

use bench::event::DroppedFile;
use gauge::Outcome;
use quantity::{Name, Stamp};

/// Something a source tells, with the time it arrived.
#[derive(Debug)]
pub struct Arrival {
    /// When.
    pub at: Stamp,
    /// What.
    pub news: News,
}

/// What a source tells.
#[derive(Debug)]
pub enum News {
    /// What became of one frame.
    Frame {
        /// The gauge it is counted at.
        gauge: Name,
        /// What it was.
        outcome: Outcome,
    },
    /// A gauge was asked and did not answer in time.
    Unanswered {
        /// The gauge.
        gauge: Name,
    },
    /// A gauge that sent a stream sends nothing any more, or sends again.
    Stream {
        /// The gauge.
        gauge: Name,
        /// The sentence when it has stopped.
        stopped: Option<String>,
    },
    /// The line of these gauges changed.
    Line {
        /// Every gauge on the port.
        gauges: Vec<Name>,
        /// What the port is now.
        link: Link,
    },
    /// A drop folder came or went.
    Folder {
        /// The drop.
        drop: Name,
        /// The sentence when it is not there.
        missing: Option<String>,
    },
    /// Files of a drop that are not dealt with yet for a reason, or no longer.
    Waiting {
        /// The drop.
        drop: Name,
        /// Each file with what it waits for.
        files: Vec<String>,
    },
    /// A file is complete and read.
    File(Box<ReadFile>),
    /// A pedal went down or came up. It is told again when it is steady, and once a second while it
    /// is down.
    Pedal {
        /// The station it belongs to.
        station: Name,
        /// Down, otherwise up.
        down: bool,
    },
    /// A scanner read a code.
    Scan {
        /// The station it belongs to.
        station: Name,
        /// What it read, without its end.
        text: String,
    },
    /// A pedal or a scanner came or went.
    Device {
        /// The station it belongs to.
        station: Name,
        /// What it is.
        what: bench::row::Device,
        /// The sentence when it cannot be read.
        missing: Option<String>,
    },
}

/// The state of a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Link {
    /// Frames are taken from their beginning.
    Live,
    /// It is not there.
    Absent(String),
    /// It was live and is gone.
    Lost(String),
    /// It is there but may not be opened, or somebody else has it.
    Refused(String),
}

impl Link {
    /// The sentence for the person: what is wrong and what to do.
    #[must_use]
    pub fn why(&self) -> Option<&str> {
        match self {
            Self::Live => None,
            Self::Absent(why) | Self::Lost(why) | Self::Refused(why) => Some(why),
        }
    }
}

/// A complete file, read and parsed.
#[derive(Debug)]
pub struct ReadFile {
    /// What the bench is told. What only the record knows is left for whoever has it.
    pub file: DroppedFile,
    /// It was found when the folder was first looked through: nobody was seen writing it.
    pub found: bool,
    /// The name it had before somebody renamed it in its folder, since it was dealt with.
    pub renamed_from: Option<String>,
    /// The check in the tag still carries what follows it in the file's name.
    pub named: bool,
    /// Where what became of it goes, after it is stored.
    pub fate: oneshot::Sender<Fate>,
}

/// What became of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It was taken.
    Taken,
    /// It was refused; every bad row, a line each.
    Refused(String),
    /// It is the very file that was taken before.
    Known,
    /// It was refused before with the same bytes, and told then; the reasons.
    Told(String),
}

/// The receiver of arrivals is gone: the service ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closed;

/// Where a source tells what arrived. Bounded: a source waits while the record cannot keep up.
#[derive(Debug)]
pub struct Outlet<T>(mpsc::Sender<T>);

impl<T> Clone for Outlet<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T: From<Arrival>> Outlet<T> {
    /// An outlet into a bounded queue.
    pub fn new(queue: mpsc::Sender<T>) -> Self {
        Self(queue)
    }

    /// Tells news that arrived now.
    ///
    /// # Errors
    /// [`Closed`] when the service ends.
    pub async fn tell(&self, news: News) -> Result<(), Closed> {
        self.tell_at(now(), news).await
    }

    /// Tells news that arrived at `at`.
    ///
    /// # Errors
    /// [`Closed`] when the service ends.
    pub async fn tell_at(&self, at: Stamp, news: News) -> Result<(), Closed> {
        self.0.send(T::from(Arrival { at, news })).await.map_err(|_| Closed)
    }
}

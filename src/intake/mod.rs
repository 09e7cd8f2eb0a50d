//! Sources: small tasks that open something, read it, notice when it is lost and come back. They pass on
//! what arrived and when.
//!
//! What is absent: tagging and judging. A source knows nothing of jobs and tolerances, and one that fails
//! never stops another.

mod asks;
mod clock;
mod device;
mod drops;
mod input;
mod input_event;
mod pedal;
mod port;
mod scanner;
mod stop;
mod typing;

pub use asks::Asks;
pub use clock::{boot_identity, mono_us, now};
pub use device::attend;
#[cfg(any(test, feature = "trial"))]
pub use drops::read_whole;
pub use drops::watch_drop;
pub use input::{InputDevice, input_denied};
pub use port::{Questions, listen};
pub use port::{connected, denied, group_name, holder_of};
pub use stop::{Stop, StopSwitch};
pub use typing::TypedLine;

use tokio::sync::{mpsc, oneshot};

use bench::event::DroppedFile;
use gauge::Outcome;
use quantity::{Name, Stamp};

/// Something a source reports, with the time it arrived.
#[derive(Debug)]
pub struct Arrival {
    /// When.
    pub at: Stamp,
    /// What.
    pub news: News,
}

/// What a source reports.
#[derive(Debug)]
pub enum News {
    /// What became of one frame.
    Frame {
        /// The gauge it is counted at.
        gauge: Name,
        /// What the frame was.
        outcome: Outcome,
    },
    /// A gauge was asked and did not answer in time.
    Unanswered {
        /// The gauge.
        gauge: Name,
    },
    /// A gauge that sent a stream has stopped sending, or sends again.
    Stream {
        /// The gauge.
        gauge: Name,
        /// A sentence about it when it has stopped.
        stopped: Option<String>,
    },
    /// The connection of these gauges has changed.
    Line {
        /// Every gauge on the port.
        gauges: Vec<Name>,
        /// The new state of the port.
        link: Link,
    },
    /// A drop folder appeared or disappeared.
    Folder {
        /// The drop.
        drop: Name,
        /// A sentence about it when it is not there.
        missing: Option<String>,
    },
    /// Which files of a drop have to wait, and for what. It replaces the list before it.
    Waiting {
        /// The drop.
        drop: Name,
        /// Each file with what it waits for.
        files: Vec<String>,
    },
    /// A file is complete and read.
    File(Box<ReadFile>),
    /// A pedal went down or came up. The state is reported again when it is steady, and once a second
    /// while the pedal is down.
    Pedal {
        /// The station it belongs to.
        station: Name,
        /// Whether it is down.
        down: bool,
    },
    /// A scanner read a code.
    Scan {
        /// The station it belongs to.
        station: Name,
        /// The code, without its line end.
        text: String,
    },
    /// A pedal or a scanner appeared or disappeared.
    Device {
        /// The station it belongs to.
        station: Name,
        /// What it is.
        what: bench::row::Device,
        /// A sentence about it when it cannot be read.
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
    /// It was live and has disappeared.
    Lost(String),
    /// It is there but may not be opened, or another program has it open.
    Refused(String),
}

impl Link {
    /// The sentence about it: what is wrong and what to do.
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
    /// The file as the bench gets it. Fields that only the record can fill are left to the receiver.
    pub file: DroppedFile,
    /// Whether it was there when the folder was first looked through, so that nobody was seen writing it.
    pub found: bool,
    /// Its former name, if it was renamed in its folder after it had been dealt with.
    pub renamed_from: Option<String>,
    /// Whether the check in the tag still carries what follows it in the file's name.
    pub named: bool,
    /// Where the result is sent once it is stored.
    pub fate: oneshot::Sender<Fate>,
}

/// The result for a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It was taken.
    Taken,
    /// It was refused: every bad row, one a line.
    Refused(String),
    /// It is the same file that was taken before.
    Known,
    /// It was refused before with the same bytes, and reported then; the reasons.
    Told(String),
}

/// The receiver of arrivals is gone, since the service ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closed;

/// Where a source reports arrivals. The queue is bounded: a source waits while the record cannot keep up.
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

    /// Reports news that arrives now.
    ///
    /// # Errors
    /// [`Closed`] when the service ends.
    pub async fn tell(&self, news: News) -> Result<(), Closed> {
        self.tell_at(now(), news).await
    }

    /// Reports news that arrived at `at`.
    ///
    /// # Errors
    /// [`Closed`] when the service ends.
    pub async fn tell_at(&self, at: Stamp, news: News) -> Result<(), Closed> {
        self.0.send(T::from(Arrival { at, news })).await.map_err(|_| Closed)
    }
}

//! What reaches the deciding thread.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use tokio::sync::oneshot;

use bench::setup::Setup;
use bench::{Request, Row};
use gauge::Capture;
use intake::Arrival;
use quantity::{Length, Name, Stamp};
use store::{Answer, Called, Caller, Digest, digest_of};
use wire::request_text;

/// One thing for the deciding thread, in the order of arrival.
#[derive(Debug)]
pub(super) enum Input {
    /// A source tells something.
    Arrival(Arrival),
    /// A client asks for a change.
    Change(Change),
    /// The configuration was read again.
    Setup(Box<NewSetup>),
    /// The configuration has errors and is not followed.
    ReloadRefused {
        /// When.
        at: Stamp,
        /// The first error, and how many more there are.
        why: String,
    },
    /// The file of the socket is gone or something else, or well again.
    Socket {
        /// When.
        at: Stamp,
        /// The sentence; `None` where it is well.
        wrong: Option<String>,
    },
    /// Write the frames that were not taken to the log.
    Dump,
    /// Turn once, so that the watchdog sees a loop that turns.
    Pulse,
    /// Store what is held and end.
    End,
}

/// A request for a change.
#[derive(Debug)]
pub(super) struct Change {
    /// When it arrived.
    pub(super) at: Stamp,
    /// Its key: the same key is the same request.
    pub(super) key: String,
    /// What [`store::digest_of`] gives for what is asked, as it came.
    pub(super) digest: Digest,
    /// Who asks, where it comes from the socket.
    pub(super) caller: Option<Caller>,
    /// What is asked.
    pub(super) request: Request,
    /// Where the reply line goes, after it is stored.
    pub(super) reply: oneshot::Sender<String>,
}

impl Change {
    /// A request that arrived.
    pub(super) fn new(
        (at, key): (Stamp, String),
        request: Request,
        reply: oneshot::Sender<String>,
    ) -> Self {
        let digest = digest_of(&request_text(&request));
        Self { at, key, digest, caller: None, request, reply }
    }

    /// What is kept of it with its reply and the rows that it led to.
    pub(super) fn answer(&self, reply: String, rows: &[Row]) -> Answer {
        let rows = rows.first().zip(rows.last()).map(|(first, last)| (first.seq, last.seq));
        let called = rows.zip(self.caller.clone()).map(|(rows, caller)| Called { rows, caller });
        Answer { key: self.key.clone(), digest: self.digest, at: self.at.wall, reply, called }
    }
}

/// A gauge that sends a stream or is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Captured {
    pub(super) capture: Capture,
    pub(super) resolution: Length,
    /// How long it may still answer after it was given up, microseconds.
    pub(super) timeout_us: u64,
    /// It is asked, and its own button counts, too.
    pub(super) button: bool,
    /// Lowest and highest reading of its travel.
    pub(super) travel: Option<(Length, Length)>,
    /// Where its stylus rests free, as stated.
    pub(super) rest: Option<Length>,
}

/// A configuration that has taken the place of another.
#[derive(Debug)]
pub(super) struct NewSetup {
    /// When.
    pub(super) at: Stamp,
    /// What the bench is told.
    pub(super) setup: Arc<Setup>,
    /// The gauges that have a port.
    pub(super) ported: BTreeSet<Name>,
    /// The gauges whose frames are not readings by themselves.
    pub(super) captures: BTreeMap<Name, Captured>,
    /// The drops.
    pub(super) drops: BTreeSet<Name>,
}

impl From<Arrival> for Input {
    fn from(arrival: Arrival) -> Self {
        Self::Arrival(arrival)
    }
}

//! What reaches the deciding thread.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use tokio::sync::oneshot;

use ::record::{Answer, Called, Caller, Digest, digest_of};
use bench::setup::Setup;
use bench::{Done, Refusal, Request, Row};
use gauge::Capture;
use intake::Arrival;
use quantity::{Length, Name, Stamp};
use wire::{reply_line, request_text};

/// One input for the deciding thread, in order of arrival.
#[derive(Debug)]
pub(super) enum Input {
    /// News from a source.
    Arrival(Arrival),
    /// A client asks for a change.
    Change(Box<Change>),
    /// The configuration was read again.
    Setup(Box<NewSetup>),
    /// The configuration has errors and is not used.
    ReloadRefused {
        /// When.
        at: Stamp,
        /// The first error, and how many others there are.
        why: String,
    },
    /// The socket's file is gone or replaced, or is back.
    Socket {
        /// When.
        at: Stamp,
        /// A sentence about it; `None` where it is back.
        wrong: Option<String>,
    },
    /// Write the frames that were not taken into the log.
    Dump,
    /// Do nothing, so that the watchdog sees that the thread works.
    Pulse,
    /// Store what is not stored yet, and end.
    End,
}

/// A request for a change.
#[derive(Debug)]
pub(super) struct Change {
    /// When it arrived.
    pub(super) at: Stamp,
    /// Its key: two requests with the same key are the same request.
    pub(super) key: String,
    /// The digest of the request as it arrived, from [`::record::digest_of`].
    pub(super) digest: Digest,
    /// Who asks, if the request came from the socket.
    pub(super) caller: Option<Caller>,
    /// What is asked.
    pub(super) request: Request,
    /// Where the reply line is sent, once everything is stored.
    pub(super) reply: oneshot::Sender<Replied>,
}

/// A reply on its way out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Replied {
    /// Its line.
    pub(super) line: String,
    /// Why nothing was done, where that is so.
    pub(super) refused: Option<String>,
}

impl Replied {
    /// The reply to what a request led to.
    pub(super) fn of(answer: &Result<Done, Refusal>) -> Self {
        let refused = answer.as_ref().err().map(|refusal| refusal.text.clone());
        Self { line: reply_line(answer), refused }
    }

    /// A line that was stored when the request was done.
    pub(super) const fn again(line: String) -> Self {
        Self { line, refused: None }
    }
}

impl Change {
    /// A request that has arrived.
    pub(super) fn new(
        (at, key): (Stamp, String),
        request: Request,
        reply: oneshot::Sender<Replied>,
    ) -> Self {
        let digest = digest_of(&request_text(&request));
        Self { at, key, digest, caller: None, request, reply }
    }

    /// What is stored about it: its reply and the rows that followed from it.
    pub(super) fn answer(&self, reply: String, rows: &[Row]) -> Answer {
        let rows = rows.first().zip(rows.last()).map(|(first, last)| (first.seq, last.seq));
        let called = rows.zip(self.caller.clone()).map(|(rows, caller)| Called { rows, caller });
        Answer { key: self.key.clone(), digest: self.digest, at: self.at.wall, reply, called }
    }
}

/// The settings of a gauge that sends a stream or is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Captured {
    pub(super) capture: Capture,
    pub(super) resolution: Length,
    /// How long after it was given up it may still answer, in microseconds.
    pub(super) timeout_us: u64,
    /// Whether its own button counts although it is asked.
    pub(super) button: bool,
    /// The lowest and highest reading of its travel.
    pub(super) travel: Option<(Length, Length)>,
    /// Where its stylus rests free, as stated.
    pub(super) rest: Option<Length>,
}

/// A new configuration that replaces an earlier one.
#[derive(Debug)]
pub(super) struct NewSetup {
    /// When.
    pub(super) at: Stamp,
    /// The set-up for the bench.
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

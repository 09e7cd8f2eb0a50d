//! Carries requests for readings to the ports of the gauges.

use std::collections::BTreeSet;
use std::sync::Arc;

use tokio::sync::{broadcast, watch};

use quantity::Name;

/// The most requests that may wait.
const WAITING: usize = 16;

/// Asks gauges for a reading, and tells the ports whose samples are waited for. A port gets only what is
/// asked while it is open, so that no question is asked late.
#[derive(Debug, Clone)]
pub struct Asks {
    questions: broadcast::Sender<Name>,
    heeded: Arc<watch::Sender<BTreeSet<Name>>>,
}

impl Asks {
    /// A way without listeners; nobody waits for any gauge yet.
    #[must_use]
    pub fn new() -> Self {
        let heeded = Arc::new(watch::Sender::new(BTreeSet::new()));
        Self { questions: broadcast::channel(WAITING).0, heeded }
    }

    /// Asks a gauge. Returns whether any port listens.
    #[must_use]
    pub fn ask(&self, gauge: &Name) -> bool {
        self.questions.send(gauge.clone()).is_ok()
    }

    /// Sets the streams whose every sample is waited for from now on. Samples of all others are only
    /// counted and shown, and may be read a few at a time.
    pub fn heed(&self, streams: BTreeSet<Name>) {
        self.heeded.send_if_modified(|heeded| {
            let changed = *heeded != streams;
            *heeded = streams;
            changed
        });
    }

    /// The questions asked from now on.
    pub fn hear(&self) -> broadcast::Receiver<Name> {
        self.questions.subscribe()
    }

    /// The streams that are waited for, now and after each change.
    pub fn heeded(&self) -> watch::Receiver<BTreeSet<Name>> {
        self.heeded.subscribe()
    }
}

impl Default for Asks {
    fn default() -> Self {
        Self::new()
    }
}

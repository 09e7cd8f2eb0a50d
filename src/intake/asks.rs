//! The way from whoever wants readings to the ports of the gauges.

use std::collections::BTreeSet;
use std::sync::Arc;

use tokio::sync::{broadcast, watch};

use quantity::Name;

/// How many may wait to be asked.
const WAITING: usize = 16;

/// Asks gauges for a reading, and says whose samples are waited for. A port hears only what is asked
/// while it is open, so that nothing is asked late.
#[derive(Debug, Clone)]
pub struct Asks {
    questions: broadcast::Sender<Name>,
    heeded: Arc<watch::Sender<BTreeSet<Name>>>,
}

impl Asks {
    /// A way that nobody listens to yet; no gauge is heeded.
    #[must_use]
    pub fn new() -> Self {
        let heeded = Arc::new(watch::Sender::new(BTreeSet::new()));
        Self { questions: broadcast::channel(WAITING).0, heeded }
    }

    /// Asks a gauge; whether any port listens.
    #[must_use]
    pub fn ask(&self, gauge: &Name) -> bool {
        self.questions.send(gauge.clone()).is_ok()
    }

    /// From now on somebody waits for each sample of these streams. The samples of all others are
    /// only counted and shown, and may be read a few at a time.
    pub fn heed(&self, streams: BTreeSet<Name>) {
        self.heeded.send_if_modified(|heeded| {
            let changed = *heeded != streams;
            *heeded = streams;
            changed
        });
    }

    /// What is asked from now on.
    pub fn hear(&self) -> broadcast::Receiver<Name> {
        self.questions.subscribe()
    }

    /// The streams that are heeded, now and as it changes.
    pub fn heeded(&self) -> watch::Receiver<BTreeSet<Name>> {
        self.heeded.subscribe()
    }
}

impl Default for Asks {
    fn default() -> Self {
        Self::new()
    }
}

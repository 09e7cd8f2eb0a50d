//! The way from whoever wants a reading to the port of the gauge.

use tokio::sync::broadcast;

use crate::quantity::Name;

/// How many may wait to be asked.
const WAITING: usize = 16;

/// Asks gauges for a reading. A port hears only what is asked while it is open, so that nothing
/// is asked late.
#[derive(Debug, Clone)]
pub struct Asks(broadcast::Sender<Name>);

impl Asks {
    /// A way that nobody listens to yet.
    #[must_use]
    pub fn new() -> Self {
        Self(broadcast::channel(WAITING).0)
    }

    /// Asks a gauge; whether any port listens.
    #[must_use]
    pub fn ask(&self, gauge: &Name) -> bool {
        self.0.send(gauge.clone()).is_ok()
    }

    /// What is asked from now on.
    pub(crate) fn hear(&self) -> broadcast::Receiver<Name> {
        self.0.subscribe()
    }
}

impl Default for Asks {
    fn default() -> Self {
        Self::new()
    }
}

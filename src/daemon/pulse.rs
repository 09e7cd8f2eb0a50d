//! Feeds the systemd watchdog as long as the deciding thread works.

use std::time::{Duration, Instant};

/// Feeds the watchdog, no more often than it needs.
#[derive(Debug)]
pub(super) struct Pulse {
    every: Option<Duration>,
    last: Option<Instant>,
}

impl Pulse {
    /// Without a watchdog it does nothing.
    pub(super) fn new(watchdog: Option<Duration>) -> Self {
        Self { every: watchdog.map(|limit| limit / 4), last: None }
    }

    /// The thread has gone through its loop once.
    pub(super) fn beat(&mut self) {
        let Some(every) = self.every else { return };
        if self.last.is_some_and(|last| last.elapsed() < every) {
            return;
        }
        self.last = Some(Instant::now());
        super::notify(&[sd_notify::NotifyState::Watchdog]);
    }
}

//! The watchdog of systemd, fed while the deciding thread turns.

use std::time::{Duration, Instant};

/// Feeds the watchdog, at most as often as it needs.
#[derive(Debug)]
pub(super) struct Pulse {
    every: Option<Duration>,
    last: Option<Instant>,
}

impl Pulse {
    /// Feeds nobody where no watchdog runs.
    pub(super) fn new(watchdog: Option<Duration>) -> Self {
        Self { every: watchdog.map(|limit| limit / 4), last: None }
    }

    /// The loop turned.
    pub(super) fn beat(&mut self) {
        let Some(every) = self.every else { return };
        if self.last.is_some_and(|last| last.elapsed() < every) {
            return;
        }
        self.last = Some(Instant::now());
        super::notify(&[sd_notify::NotifyState::Watchdog]);
    }
}

//! Ends what runs on, a source or a link to the shop, between two steps, so that nothing it has read is lost.

use std::time::Duration;

use tokio::sync::watch;

/// Ends those that hold its [`Stop`].
#[derive(Debug)]
pub struct StopSwitch(watch::Sender<bool>);

/// The side of a [`StopSwitch`] that waits for it.
#[derive(Debug, Clone)]
pub struct Stop(watch::Receiver<bool>);

impl StopSwitch {
    /// A switch that is not thrown yet.
    #[must_use]
    pub fn new() -> (Self, Stop) {
        let (sender, receiver) = watch::channel(false);
        (Self(sender), Stop(receiver))
    }

    /// Asks them to end.
    pub fn throw(&self) {
        self.0.send_replace(true);
    }
}

impl Stop {
    /// Whether the switch is thrown, or gone.
    #[must_use]
    pub fn is_thrown(&self) -> bool {
        *self.0.borrow() || self.0.has_changed().is_err()
    }

    /// Waits until the switch is thrown, or gone.
    pub async fn thrown(&mut self) {
        // An error means that the switch was dropped, which also ends them.
        let _gone = self.0.wait_for(|thrown| *thrown).await;
    }

    /// Waits that long, or until the switch is thrown; `true` where it is.
    pub async fn within(&mut self, time: Duration) -> bool {
        tokio::time::timeout(time, self.thrown()).await.is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn a_rest_ends_with_its_time_or_with_the_switch() {
        let (switch, mut stop) = StopSwitch::new();
        assert!(!stop.within(Duration::from_mins(1)).await);
        assert!(!stop.is_thrown());
        switch.throw();
        assert!(stop.is_thrown() && stop.within(Duration::from_mins(1)).await);
        let (gone, mut stop) = StopSwitch::new();
        drop(gone);
        assert!(stop.is_thrown() && stop.within(Duration::from_mins(1)).await);
    }
}

//! Ends a source between two steps, so that nothing it has read is lost.

use tokio::sync::watch;

/// Ends the sources that hold its [`Stop`].
#[derive(Debug)]
pub struct StopSwitch(watch::Sender<bool>);

/// A source's side of a [`StopSwitch`].
#[derive(Debug, Clone)]
pub struct Stop(watch::Receiver<bool>);

impl StopSwitch {
    /// A switch that is not thrown yet.
    #[must_use]
    pub fn new() -> (Self, Stop) {
        let (sender, receiver) = watch::channel(false);
        (Self(sender), Stop(receiver))
    }

    /// Asks the sources to end.
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
        // An error means that the switch was dropped, which also ends its sources.
        let _gone = self.0.wait_for(|thrown| *thrown).await;
    }
}

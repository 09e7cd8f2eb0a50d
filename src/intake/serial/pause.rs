//! Streams that nobody waits for are read a few samples at a time: each reading wakes two threads,
//! and a parked gauge sends thirty times a second all day.

use std::collections::BTreeSet;
use std::time::Duration;

use tokio::sync::watch;

use super::Asks;
use crate::config::Port;
use crate::gauge::Capture;
use crate::quantity::Name;

/// Between two readings. It is shorter than what tells a frame without an end, and short for an eye
/// that looks at the value.
const PAUSE: Duration = Duration::from_millis(150);

/// The most bytes that may come in a pause: what a terminal holds is a multiple of this.
const MOST: usize = 400;

/// Whether and how long a port may rest between two readings.
pub(super) struct Pauses {
    /// The gauges of the port where all of them are streams; otherwise it never rests.
    streams: BTreeSet<Name>,
    heeded: watch::Receiver<BTreeSet<Name>>,
}

impl Pauses {
    pub(super) fn of(port: &Port, asks: &Asks) -> Self {
        let stream = |capture| matches!(capture, Capture::Settle | Capture::Sweep);
        let all = port.line.gauges.iter().all(|on_line| stream(on_line.capture));
        let streams = if all { port.gauges.iter().cloned().collect() } else { BTreeSet::new() };
        Self { streams, heeded: asks.heeded() }
    }

    /// Rests after so many bytes, if nobody waits for a sample; ends at once when somebody does. May
    /// be given up.
    pub(super) async fn pause(&mut self, read: usize) {
        let waited_for = !self.streams.is_disjoint(&self.heeded.borrow_and_update());
        if self.streams.is_empty() || waited_for || read > MOST {
            return;
        }
        let heeds = |heeded: &BTreeSet<Name>| !self.streams.is_disjoint(heeded);
        // Both endings mean the same: read on.
        let _rested = tokio::time::timeout(PAUSE, self.heeded.wait_for(heeds)).await;
    }
}

#[cfg(test)]
mod tests {
    use std::time::Instant;

    use super::*;

    fn rests(pauses: &mut Pauses, read: usize) -> bool {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
        let began = Instant::now();
        runtime.block_on(pauses.pause(read));
        began.elapsed() >= PAUSE
    }

    #[test]
    fn only_streams_that_nobody_waits_for_rest() {
        let name = |text: &str| Name::new(text).unwrap();
        let asks = Asks::new();
        let of = |names: &[&str]| Pauses {
            streams: names.iter().copied().map(name).collect(),
            heeded: asks.heeded(),
        };
        assert!(rests(&mut of(&["plate"]), 9));
        assert!(!rests(&mut of(&["plate"]), MOST + 1), "it sends too much to rest");
        assert!(!rests(&mut of(&[]), 9), "another gauge of the port is no stream");
        let (mut plate, mut both) = (of(&["plate"]), of(&["height", "plate"]));
        asks.heed([name("height")].into());
        assert!(rests(&mut plate, 9) && !rests(&mut both, 9));
        // A pause ends when somebody begins to wait.
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
        let began = Instant::now();
        runtime.block_on(async {
            tokio::join!(plate.pause(9), async { asks.heed([name("plate")].into()) })
        });
        assert!(began.elapsed() < PAUSE);
    }
}

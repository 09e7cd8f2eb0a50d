//! Ports whose samples nobody waits for are looked at only now and then. Each sample that is waited for
//! wakes two threads, and a parked gauge sends thirty times a second all day.

use std::collections::BTreeSet;
use std::os::fd::OwnedFd;

use rustix::time::{
    ClockId, Itimerspec, TimerfdClockId, TimerfdFlags, TimerfdTimerFlags, Timespec, clock_gettime,
    timerfd_create, timerfd_settime,
};
use tokio::io::unix::AsyncFd;
use tokio::sync::watch;

use super::Asks;
use config::Port;
use gauge::Capture;
use quantity::Name;

/// The time between two looks, in nanoseconds: shorter than the silence that ends a frame without an end,
/// and short enough for a person who watches the value.
const EVERY_NS: i64 = 150_000_000;

/// The most bytes that may arrive between two looks; a terminal holds several times as many.
const MOST: usize = 400;

/// After this many looks without bytes the port is watched again: a port that sends nothing wakes nobody.
const IN_VAIN: u32 = 2;

/// Whether a port may be left alone between two looks.
pub(super) struct Pauses {
    /// The gauges of the port if all of them are streams that come by themselves. Other ports are never left alone.
    streams: BTreeSet<Name>,
    heeded: watch::Receiver<BTreeSet<Name>>,
    /// `None` where the port is never left alone.
    looks: Option<Looks>,
    /// How many more looks may find nothing.
    left: u32,
}

impl Pauses {
    pub(super) fn new(port: &Port, asks: &Asks) -> Self {
        let stream = |on_line: &gauge::GaugeOnLine| {
            on_line.every_us == 0 && matches!(on_line.capture, Capture::Settle | Capture::Sweep)
        };
        let all = port.line.gauges.iter().all(stream);
        Self::among(if all { port.gauges.iter().cloned().collect() } else { BTreeSet::new() }, asks)
    }

    fn among(streams: BTreeSet<Name>, asks: &Asks) -> Self {
        // Without a timer every sample is waited for.
        let looks = if streams.is_empty() { None } else { Looks::new().ok() };
        Self { streams, heeded: asks.heeded(), looks, left: 0 }
    }

    /// The port has just been opened: it is watched until something arrives.
    pub(super) fn opened(&mut self) {
        self.left = 0;
        if let Some(looks) = &mut self.looks {
            looks.go_on(false);
        }
    }

    /// Whether the port is left alone after reading this many bytes. Never in the middle of a frame, since
    /// the time of its last byte counts.
    pub(super) fn rests_after(&mut self, read: usize, between_frames: bool) -> bool {
        let Some(looks) = &mut self.looks else { return false };
        self.left = if read > 0 { IN_VAIN } else { self.left.saturating_sub(1) };
        let waited_for = !self.streams.is_disjoint(&self.heeded.borrow_and_update());
        let rests = self.left > 0 && between_frames && !waited_for && read <= MOST;
        looks.go_on(rests) && rests
    }

    /// Waits until the next look, or until somebody waits for a sample. May be cancelled.
    pub(super) async fn rest(&mut self) {
        let Some(looks) = &self.looks else { return };
        let heeds = |heeded: &BTreeSet<Name>| !self.streams.is_disjoint(heeded);
        // All endings mean the same: look.
        tokio::select! {
            biased;
            _ = self.heeded.wait_for(heeds) => {}
            () = looks.next() => {}
        }
    }
}

/// A timer that fires at the same moments for all ports, so that one wake-up serves all of them.
struct Looks {
    timer: AsyncFd<OwnedFd>,
    going: bool,
}

impl Looks {
    #[expect(
        deprecated,
        reason = "the newer constructor is unsafe code; a timer stays open as long as it lives here"
    )]
    fn new() -> std::io::Result<Self> {
        let flags = TimerfdFlags::NONBLOCK | TimerfdFlags::CLOEXEC;
        let timer = AsyncFd::new(timerfd_create(TimerfdClockId::Monotonic, flags)?)?;
        Ok(Self { timer, going: false })
    }

    /// Starts the timer, or stops it. Returns whether that worked.
    fn go_on(&mut self, going: bool) -> bool {
        if self.going == going {
            return true;
        }
        let nothing = Timespec { tv_sec: 0, tv_nsec: 0 };
        let times = if going {
            let now = clock_gettime(ClockId::Monotonic);
            let now_ns = now.tv_sec.saturating_mul(1_000_000_000).saturating_add(now.tv_nsec);
            let next_ns = (now_ns / EVERY_NS).saturating_add(1).saturating_mul(EVERY_NS);
            let (tv_sec, tv_nsec) = (next_ns / 1_000_000_000, next_ns % 1_000_000_000);
            let it_interval = Timespec { tv_sec: 0, tv_nsec: EVERY_NS };
            Itimerspec { it_interval, it_value: Timespec { tv_sec, tv_nsec } }
        } else {
            Itimerspec { it_interval: nothing, it_value: nothing }
        };
        let set = timerfd_settime(self.timer.get_ref(), TimerfdTimerFlags::ABSTIME, &times).is_ok();
        self.going = if set { going } else { self.going };
        set
    }

    /// Waits for the next moment. May be cancelled.
    async fn next(&self) {
        let mut times = [0; 8];
        loop {
            let Ok(mut ready) = self.timer.readable().await else { return };
            let read =
                |timer: &AsyncFd<OwnedFd>| Ok(rustix::io::read(timer.get_ref(), &mut times)?);
            if ready.try_io(read).is_ok() {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    fn name(text: &str) -> Name {
        Name::new(text).unwrap()
    }

    fn pauses(asks: &Asks, names: &[&str]) -> Pauses {
        Pauses::among(names.iter().copied().map(name).collect(), asks)
    }

    #[tokio::test]
    async fn only_streams_that_nobody_waits_for_and_that_send_may_rest() {
        let asks = Asks::new();
        let (mut plate, mut both) =
            (pauses(&asks, &["plate"]), pauses(&asks, &["height", "plate"]));
        assert!(!plate.rests_after(0, true), "nothing came yet");
        assert!(plate.rests_after(9, true) && both.rests_after(9, true));
        assert!(!plate.rests_after(9, false), "in the middle of a frame");
        assert!(!plate.rests_after(MOST + 1, true), "it sends too much to rest");
        assert!(!pauses(&asks, &[]).rests_after(9, true), "another gauge of the port is no stream");
        asks.heed([name("height")].into());
        assert!(plate.rests_after(9, true) && !both.rests_after(9, true));
        let vain = (plate.rests_after(0, true), plate.rests_after(0, true));
        assert_eq!(vain, (true, false), "one look in vain is none too many");
        assert!(plate.rests_after(9, true));
        plate.opened();
        assert!(!plate.rests_after(0, true));
    }

    #[tokio::test]
    async fn all_ports_look_together_and_a_rest_ends_when_somebody_waits() {
        let asks = Asks::new();
        let (mut one, mut other) = (pauses(&asks, &["plate"]), pauses(&asks, &["height"]));
        assert!(one.rests_after(9, true) && other.rests_after(9, true));
        // Both begin at moments of their own; a look that was missed meanwhile is over.
        tokio::join!(one.rest(), other.rest());
        let rest = async |pauses: &mut Pauses, after| {
            tokio::time::sleep(Duration::from_millis(after)).await;
            pauses.rest().await;
            Instant::now()
        };
        let (first, second) = tokio::join!(rest(&mut one, 0), rest(&mut other, 60));
        let apart = second.max(first) - second.min(first);
        assert!(apart < Duration::from_millis(60), "{apart:?}: one wake-up does for both");
        let heed = async { asks.heed([name("plate")].into()) };
        let began = Instant::now();
        tokio::join!(one.rest(), heed);
        assert!(!one.rests_after(9, true) && began.elapsed() < Duration::from_millis(140));
    }
}

//! Whether the streams of a port still arrive. A value that does not change is fine; a steady stream that
//! stops is reported.

use config::Port;
use gauge::Capture;
use quantity::Name;

/// Frames without a gap for this long make a stream.
const STEADY_US: u64 = 3_000_000;

/// A stream has stopped after three of its periods, but not before this much time: adapters and busy
/// machines hold frames back for some tenths of a second (from memory).
const SHORTEST_US: u64 = 1_000_000;
const PERIODS: u64 = 3;

/// The weight of the newest gap in the smoothed period: one part in this many.
const SMOOTHED: u64 = 8;

/// The streams of one port.
pub(super) struct Paces(Vec<Option<Pace>>);

impl Paces {
    /// The paces of all gauges whose frames are samples of a stream.
    pub(super) fn new(port: &Port) -> Self {
        // A gauge that is asked in a loop keeps no pace of its own: it is missed when it does not answer.
        let stream = |on_line: &gauge::GaugeOnLine| {
            on_line.every_us == 0 && !matches!(on_line.capture, Capture::Send | Capture::Request)
        };
        let pace = |on_line: &gauge::GaugeOnLine| stream(on_line).then(Pace::default);
        Self(port.line.gauges.iter().map(pace).collect())
    }

    /// The port has just been opened: all streams start afresh.
    pub(super) fn opened(&mut self) {
        for pace in self.0.iter_mut().flatten() {
            *pace = Pace::default();
        }
    }

    /// A frame of the gauge at this place arrived. Returns whether the stream had stopped and is back.
    pub(super) fn frame(&mut self, index: usize, at_us: u64) -> bool {
        let pace = self.0.get_mut(index).and_then(Option::as_mut);
        pace.is_some_and(|pace| pace.frame(at_us))
    }

    /// When the next stream counts as stopped, if nothing arrives before.
    pub(super) fn wake_at(&self) -> Option<u64> {
        self.0.iter().flatten().filter_map(Pace::due_us).min()
    }

    /// The places of the streams that have stopped by now; each is returned once.
    pub(super) fn tick(&mut self, now_us: u64) -> Vec<usize> {
        let all = self.0.iter_mut().enumerate();
        let stops = |(index, pace): (usize, &mut Option<Pace>)| {
            pace.as_mut()?.stops(now_us).then_some(index)
        };
        all.filter_map(stops).collect()
    }
}

/// The sentence about a stream that stopped.
pub(super) fn stopped(gauge: &Name) -> String {
    format!("{gauge} has stopped sending. Switched off, asleep, or its battery is empty?")
}

/// The pace of one stream.
#[derive(Debug, Default)]
struct Pace {
    /// Since when it has sent without a gap.
    since_us: u64,
    last_us: Option<u64>,
    /// The smoothed time between two frames.
    period_us: u64,
    stopped: bool,
}

impl Pace {
    fn frame(&mut self, at_us: u64) -> bool {
        let back = std::mem::take(&mut self.stopped);
        let gap_us = self.last_us.map(|last| at_us.saturating_sub(last));
        self.last_us = Some(at_us);
        match gap_us {
            Some(gap_us) if !back && gap_us < self.limit_us() => {
                self.period_us = (self.period_us * (SMOOTHED - 1) + gap_us) / SMOOTHED;
            }
            Some(_) | None => (self.since_us, self.period_us) = (at_us, 0),
        }
        back
    }

    /// How long it may be silent.
    fn limit_us(&self) -> u64 {
        SHORTEST_US.max(self.period_us.saturating_mul(PERIODS))
    }

    fn due_us(&self) -> Option<u64> {
        let last_us = self.last_us.filter(|_| !self.stopped)?;
        let steady = last_us.saturating_sub(self.since_us) >= STEADY_US;
        steady.then(|| last_us.saturating_add(self.limit_us()))
    }

    fn stops(&mut self, now_us: u64) -> bool {
        let stops = self.due_us().is_some_and(|due_us| now_us >= due_us);
        self.stopped |= stops;
        stops
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_stream() -> Paces {
        Paces(vec![None, Some(Pace::default())])
    }

    /// Frames at a rate from one time to another, in milliseconds. Returns when the last one arrived.
    fn send(paces: &mut Paces, (from_ms, to_ms): (u64, u64), every_ms: u64) -> u64 {
        let mut last = from_ms;
        for at in (from_ms..to_ms).step_by(usize::try_from(every_ms).unwrap()) {
            assert!(!paces.frame(1, at * 1000), "at {at} ms");
            last = at;
        }
        last
    }

    #[test]
    fn a_stream_that_stops_is_told_once_and_so_is_its_return() {
        for every_ms in [1, 33, 100, 200, 700] {
            let mut paces = one_stream();
            let last = send(&mut paces, (10, 20_000), every_ms);
            let limit = if every_ms == 700 { 1050..=2100 } else { 1000..=1000 };
            let due = paces.wake_at().unwrap() / 1000;
            assert!(limit.contains(&(due - last)), "{every_ms} ms: {}", due - last);
            assert_eq!(paces.tick(due * 1000 - 1000), [0; 0]);
            assert_eq!(paces.tick(due * 1000 + 1000), [1]);
            assert_eq!((paces.tick(u64::MAX), paces.wake_at()), (vec![], None));
            assert!(paces.frame(1, 90_000_000), "it is back");
            assert!(!paces.frame(1, 90_100_000));
        }
    }

    #[test]
    fn what_is_no_stream_never_stops() {
        let mut paces = one_stream();
        assert_eq!((paces.frame(0, 0), paces.frame(7, 0), paces.wake_at()), (false, false, None));
        // A touch now and then, and a stream that has hardly begun.
        for touch in 0..20 {
            assert!(!paces.frame(1, touch * 2_500_000));
            assert_eq!(paces.wake_at(), None);
        }
        send(&mut paces, (60_000, 62_900), 100);
        assert_eq!(paces.wake_at(), None);
        send(&mut paces, (62_900, 63_200), 100);
        assert!(paces.wake_at().is_some());
        paces.opened();
        assert_eq!(paces.wake_at(), None);
    }
}

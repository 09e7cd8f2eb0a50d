//! Gauges that are asked in a loop, so that one that sends only when it is asked gives a stream. It does no I/O and
//! reads no clock.

use quantity::Name;

/// After so many questions without an answer, and this much time, a gauge counts as silent. One lost answer is no
/// loss: the next question follows anyway.
const MISSES: u32 = 3;
const SILENT_US: u64 = 1_000_000;

/// A stream that nobody waits for is asked no more often than this, in microseconds: for the value that is shown,
/// and to notice when the gauge is gone.
const IDLE_US: u64 = 1_000_000;

/// The first question after opening, in microseconds: the line counts as live after a silence of 50 ms, and an
/// answer before that would be taken for the rest of a frame.
const FIRST_US: u64 = 60_000;

/// The sentence about a gauge that does not answer.
pub(super) fn silent(gauge: &Name) -> String {
    format!(
        "{gauge} does not answer when it is asked. Switched off, asleep, or its battery is empty?"
    )
}

/// One gauge that is asked in a loop.
#[derive(Debug)]
pub(super) struct Looped {
    /// Its place on the port.
    pub(super) index: usize,
    pub(super) name: Name,
    every_us: u64,
    /// Whether its answers are samples of a stream; others are readings, and always waited for.
    is_stream: bool,
    asked_us: Option<u64>,
    first_us: u64,
    misses: u32,
    /// Since when it has not answered.
    missed_since_us: u64,
    silent: bool,
}

impl Looped {
    pub(super) const fn new(index: usize, name: Name, every_us: u64, is_stream: bool) -> Self {
        let (asked_us, first_us, misses, missed_since_us, silent) = (None, 0, 0, 0, false);
        Self {
            index,
            name,
            every_us,
            is_stream,
            asked_us,
            first_us,
            misses,
            missed_since_us,
            silent,
        }
    }

    /// The port has just been opened. A gauge that was silent is still: it has to answer first.
    pub(super) fn opened(&mut self, now_us: u64) {
        self.asked_us = None;
        self.first_us = now_us.saturating_add(FIRST_US);
        self.misses = 0;
    }

    /// When it is asked next.
    pub(super) fn due_us(&self, is_heeded: bool) -> u64 {
        let idle = self.is_stream && !is_heeded;
        let every_us = if idle { self.every_us.max(IDLE_US) } else { self.every_us };
        self.asked_us.map_or(self.first_us, |asked_us| asked_us.saturating_add(every_us))
    }

    pub(super) fn asked(&mut self, now_us: u64) {
        if self.misses == 0 {
            self.missed_since_us = now_us;
        }
        self.asked_us = Some(now_us);
    }

    /// It did not answer in time. Returns whether it counts as silent from now on.
    pub(super) fn missed(&mut self, now_us: u64) -> bool {
        self.misses = self.misses.saturating_add(1);
        let long = now_us.saturating_sub(self.missed_since_us) >= SILENT_US;
        let is_new = self.misses >= MISSES && long && !self.silent;
        self.silent |= is_new;
        is_new
    }

    /// It answered. Returns whether it had been silent.
    pub(super) fn answered(&mut self) -> bool {
        self.misses = 0;
        std::mem::take(&mut self.silent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn looped(every_ms: u64, is_stream: bool) -> Looped {
        let mut looped = Looped::new(0, Name::new("plate").unwrap(), every_ms * 1000, is_stream);
        looped.opened(5_000_000);
        looped
    }

    #[test]
    fn it_is_asked_at_its_pace_and_slowly_while_nobody_waits() {
        let mut fast = looped(100, true);
        assert_eq!(fast.due_us(true), 5_060_000, "not before the line is live");
        fast.asked(5_060_000);
        assert_eq!((fast.due_us(true), fast.due_us(false)), (5_160_000, 6_060_000));
        let mut thermometer = looped(500, false);
        thermometer.asked(5_060_000);
        assert_eq!(thermometer.due_us(false), 5_560_000, "each answer of it is a reading");
    }

    #[test]
    fn silence_is_told_once_after_three_questions_and_a_second() {
        let mut gauge = looped(100, true);
        let mut told = Vec::new();
        for question in 0..40 {
            let now_us = 5_100_000 + question * 100_000;
            gauge.asked(now_us);
            if gauge.missed(now_us + 90_000) {
                told.push(question);
            }
        }
        assert_eq!(told, [10], "a second after the first question that was not answered");
        assert!(gauge.answered() && !gauge.answered());
        gauge.asked(20_000_000);
        assert!(
            !gauge.missed(21_500_000) && !gauge.answered(),
            "one answer that is lost is no silence"
        );
    }
}

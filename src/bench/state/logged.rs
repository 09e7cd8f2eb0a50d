//! The log of a run-in, as it follows from its rows.

use crate::fact::row::{LogWentOn, SpeedStep, Temperature};
use crate::plan::run_in::{Log, Noted, SpeedBegan};
use quantity::{Stamp, Wall};

/// The log of an attempt at a run-in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logged {
    /// The steps and temperatures.
    pub log: Log,
    /// The newest moment that a person or a start gave: when it was, by the clocks of its row, the boot, and
    /// milliseconds after the first step.
    since: (Stamp, u64, u64),
    /// The time of its newest row, milliseconds after the first step.
    pub newest_ms: u64,
}

impl Logged {
    /// A log whose first step begins.
    pub(crate) fn began(at: Stamp, step: &SpeedStep) -> Self {
        let since = (at, step.boot, step.after_ms);
        let mut logged = Self { log: Log::default(), since, newest_ms: step.after_ms };
        logged.step(at, step);
        logged
    }

    pub(crate) fn step(&mut self, at: Stamp, step: &SpeedStep) {
        self.log.by_plan |= step.by_plan;
        self.log.speeds.push(SpeedBegan { step: step.step, after_ms: step.after_ms });
        self.anchor(at, (step.boot, step.after_ms));
    }

    pub(super) fn went_on(&mut self, at: Stamp, went: &LogWentOn) {
        self.anchor(at, (went.boot, went.after_ms));
    }

    fn anchor(&mut self, at: Stamp, (boot, after_ms): (u64, u64)) {
        self.since = (at, boot, after_ms);
        self.newest_ms = self.newest_ms.max(after_ms);
    }

    pub(super) fn temperature(&mut self, one: &Temperature) {
        let Temperature { place, after_ms, value, .. } = *one;
        self.log.add(Noted { place, after_ms, value: value.length });
        self.newest_ms = self.newest_ms.max(after_ms);
    }

    /// How long after the first step a time on the wall is; `None` before it.
    #[must_use]
    pub fn after_wall(&self, wall: Wall) -> Option<u64> {
        let (at, _, after_ms) = self.since;
        let by = wall.micros().checked_sub(at.wall.micros())? / 1000;
        u64::try_from(i64::try_from(after_ms).ok()?.checked_add(by)?).ok()
    }

    /// The time on the wall at a moment of the log, with the other clock as it is now.
    pub(crate) fn wall_at(&self, after_ms: u64, now: Stamp) -> Stamp {
        let (at, _, since_ms) = self.since;
        let by = i64::try_from(after_ms.saturating_sub(since_ms)).unwrap_or(0);
        let wall = Wall::from_micros(at.wall.micros().saturating_add(by.saturating_mul(1000)));
        Stamp { wall, ..now }
    }

    /// How long after the first step a moment is: by the monotonic clock, after another boot by the clock on
    /// the wall; never before what is there.
    #[must_use]
    pub fn after(&self, now: Stamp, boot: u64) -> u64 {
        let (at, of, after_ms) = self.since;
        let by_wall = now.wall.micros().saturating_sub(at.wall.micros());
        let since_us = if of == boot && now.mono_us >= at.mono_us {
            now.mono_us - at.mono_us
        } else {
            u64::try_from(by_wall).unwrap_or(0)
        };
        (after_ms + since_us / 1000).max(self.newest_ms)
    }
}

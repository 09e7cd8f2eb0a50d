//! Counters since the service started. They are not stored.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use gauge::{Kind, Outcome, Waits};
use intake::{Fate, Link};
use quantity::{Name, Quoted, Stamp};

/// How many of the newest frames that were not taken are kept for each gauge.
const KEPT: usize = 100;

/// What is known of a gauge's line since the service started.
#[derive(Debug, Clone, Default)]
pub(super) struct GaugeTally {
    /// The state of its port; `None` until it is known.
    pub(super) link: Option<Link>,
    /// Whether it has a port.
    pub(super) ported: bool,
    pub(super) taken: u64,
    pub(super) damaged: u64,
    pub(super) foreign: u64,
    pub(super) repeats: u64,
    pub(super) resync: u64,
    pub(super) muted: u64,
    /// Its idle samples and its newest value. They are not stored and are shown at once, so all copies of
    /// the counters share them.
    pub(super) live: Arc<Live>,
    /// The newest frames that were not taken, oldest first.
    pub(super) not_taken: Arc<VecDeque<NotTaken>>,
}

/// A frame that was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NotTaken {
    pub(super) at: Stamp,
    /// What was sent, printable.
    pub(super) text: String,
    /// Why it was not taken.
    pub(super) why: String,
}

impl GaugeTally {
    /// Counts one frame, once.
    pub(super) fn count(&mut self, at: Stamp, outcome: Outcome) {
        let counter = match &outcome.kind {
            Kind::Reading { repeat: false, .. } => &mut self.taken,
            Kind::Reading { repeat: true, .. } => &mut self.repeats,
            Kind::Damaged(_) => &mut self.damaged,
            Kind::Foreign(_) => &mut self.foreign,
            Kind::Resync => &mut self.resync,
            Kind::Muted { .. } => &mut self.muted,
            Kind::Idle => return self.live.idle(1),
        };
        *counter += 1;
        let why = match outcome.kind {
            Kind::Reading { value, .. } => {
                self.live.show(value, at);
                return;
            }
            Kind::Idle => return,
            Kind::Damaged(damage) => damage.to_string(),
            Kind::Foreign(foreign) => foreign.to_string(),
            Kind::Resync => "the first line after opening".to_owned(),
            Kind::Muted { .. } => "muted: far too many frames".to_owned(),
        };
        let kept = Arc::make_mut(&mut self.not_taken);
        if kept.len() == KEPT {
            kept.pop_front();
        }
        kept.push_back(NotTaken { at, text: outcome.text, why });
    }

    /// Every frame, whatever became of it.
    pub(super) fn frames(&self) -> u64 {
        self.taken
            + self.damaged
            + self.foreign
            + self.repeats
            + self.resync
            + self.live.idle_samples()
            + self.muted
    }
}

/// What changes with every sample of a stream. Publishing all counters for each sample would cost more
/// than the sample.
#[derive(Debug, Default)]
pub(super) struct Live {
    idle: AtomicU64,
    last: Mutex<Option<(Quoted, Stamp)>>,
    sweep: Mutex<Option<(u64, Progress)>>,
    /// The attempt that a stream is armed for, and why it takes nothing automatically now.
    waits: Mutex<Option<(u64, Option<Waits>)>>,
}

/// The progress of a turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Progress {
    /// How many marks were tapped.
    pub(super) tapped: u32,
    /// How many samples arrived since the first tap.
    pub(super) samples: usize,
}

impl Live {
    /// Adds samples that nobody waits for; a negative number when one is taken after all.
    pub(super) fn idle(&self, more: i64) {
        self.idle.fetch_add(more.cast_unsigned(), Ordering::Relaxed);
    }

    /// How many samples nobody waited for.
    pub(super) fn idle_samples(&self) -> u64 {
        self.idle.load(Ordering::Relaxed)
    }

    /// Shows a new value.
    pub(super) fn show(&self, value: Quoted, at: Stamp) {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if last.is_none_or(|(_, before)| before.mono_us <= at.mono_us) {
            *last = Some((value, at));
        }
    }

    /// Sets the progress of the turn for an attempt; without an attempt, that of the turn under way.
    fn sweeps(&self, now: Option<(Option<u64>, Progress)>) {
        let mut sweep = self.sweep.lock().unwrap_or_else(PoisonError::into_inner);
        let before = sweep.map(|(attempt, _)| attempt);
        *sweep = now.and_then(|(attempt, progress)| Some((attempt.or(before)?, progress)));
    }

    /// The progress of the turn for an attempt, if one is under way.
    pub(super) fn sweep_for(&self, attempt: u64) -> Option<Progress> {
        let sweep = *self.sweep.lock().unwrap_or_else(PoisonError::into_inner);
        sweep.filter(|(of, _)| *of == attempt).map(|(_, progress)| progress)
    }

    /// Whether the stream is armed for an attempt, and why it takes nothing automatically now.
    pub(super) fn waits_for(&self, attempt: u64) -> (bool, Option<Waits>) {
        let waits = *self.waits.lock().unwrap_or_else(PoisonError::into_inner);
        let own = waits.filter(|(of, _)| *of == attempt);
        (own.is_some(), own.and_then(|(_, waits)| waits))
    }

    /// The newest value, and when it arrived.
    pub(super) fn last(&self) -> Option<(Quoted, Stamp)> {
        *self.last.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What is known of a drop since the service started.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct DropTally {
    /// Why its folder is not there; `None` inside when it is there.
    pub(super) missing: Option<String>,
    pub(super) files: u64,
    pub(super) rows: u64,
    pub(super) refused: u64,
    /// Files that have to wait, and for what.
    pub(super) waiting: Vec<String>,
}

/// All counters.
#[derive(Debug, Clone, Default)]
pub(super) struct Tallies {
    pub(super) gauges: BTreeMap<Name, GaugeTally>,
    pub(super) drops: BTreeMap<Name, DropTally>,
}

impl Tallies {
    /// Follows a new configuration: gauges and drops that stay keep their counters.
    pub(super) fn follow<'a>(
        &mut self,
        gauges: impl Iterator<Item = &'a Name>,
        ported: &BTreeSet<Name>,
        drops: &BTreeSet<Name>,
    ) {
        let mut before = std::mem::take(&mut self.gauges);
        for name in gauges {
            let mut tally = before.remove(name).unwrap_or_default();
            tally.ported = ported.contains(name);
            tally.link = tally.link.filter(|_| tally.ported);
            self.gauges.insert(name.clone(), tally);
        }
        self.drops.retain(|name, _| drops.contains(name));
        for name in drops {
            let opening = || DropTally {
                missing: Some("it is being opened".to_owned()),
                ..DropTally::default()
            };
            self.drops.entry(name.clone()).or_insert_with(opening);
        }
    }
}

impl Tallies {
    /// Counts a frame.
    pub(super) fn frame(&mut self, gauge: &Name, at: Stamp, outcome: Outcome) {
        if let Some(tally) = self.gauges.get_mut(gauge) {
            tally.count(at, outcome);
        }
    }

    /// A sample of a stream that nobody waits for, or a late answer.
    pub(super) fn idle(&self, gauge: &Name, at: Stamp, value: Quoted) {
        if let Some(tally) = self.gauges.get(gauge) {
            tally.live.idle(1);
            tally.live.show(value, at);
        }
    }

    /// What a stream is armed for, and why it takes nothing automatically now.
    pub(super) fn waits(&self, gauge: &Name, now: Option<(u64, Option<Waits>)>) {
        if let Some(tally) = self.gauges.get(gauge) {
            *tally.live.waits.lock().unwrap_or_else(PoisonError::into_inner) = now;
        }
    }

    /// Frames that were counted idle are taken after all.
    pub(super) fn regain(&mut self, gauge: &Name, frames: u64) {
        if let Some(tally) = self.gauges.get_mut(gauge) {
            tally.live.idle(-frames.cast_signed());
            tally.taken += frames;
        }
    }

    /// The progress of the turn that is swept with a gauge.
    pub(super) fn sweep(&self, gauge: &Name, now: Option<(Option<u64>, Progress)>) {
        if let Some(tally) = self.gauges.get(gauge) {
            tally.live.sweeps(now);
        }
    }

    /// The state of a port changed.
    pub(super) fn line(&mut self, gauges: &[Name], link: &Link) {
        for gauge in gauges {
            if let Some(why) = link.why() {
                tracing::warn!("gauge \"{gauge}\": {why}");
            } else {
                tracing::info!("gauge \"{gauge}\" is live");
            }
            if let Some(tally) = self.gauges.get_mut(gauge) {
                tally.link = Some(link.clone());
            }
        }
    }

    /// A drop folder appeared or disappeared.
    pub(super) fn folder(&mut self, drop: &Name, missing: Option<String>) {
        if let Some(why) = &missing {
            tracing::warn!("drop \"{drop}\": {why}");
        } else {
            tracing::info!("drop \"{drop}\" is watched");
        }
        if let Some(tally) = self.drops.get_mut(drop) {
            tally.missing = missing;
        }
    }

    /// What files of a drop wait for.
    pub(super) fn waiting(&mut self, drop: &Name, files: Vec<String>) {
        if let Some(tally) = self.drops.get_mut(drop) {
            tally.waiting = files;
        }
    }

    /// Counts a file.
    pub(super) fn file(&mut self, drop: &Name, rows: u32, fate: &Fate) {
        if let Some(tally) = self.drops.get_mut(drop) {
            tally.files += u64::from(*fate == Fate::Taken);
            tally.refused += u64::from(matches!(fate, Fate::Refused(_)));
            tally.rows += u64::from(rows);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use gauge::Damage;

    #[test]
    fn the_last_hundred_frames_that_were_not_taken_are_kept() {
        let mut tally = GaugeTally::default();
        for number in 0..130 {
            let kind = Kind::Damaged(Damage::NotThePattern);
            let outcome = Outcome { gauge: 0, at_us: number, text: number.to_string(), kind };
            tally.count(Stamp::default(), outcome);
        }
        assert_eq!((tally.damaged, tally.frames(), tally.not_taken.len()), (130, 130, 100));
        assert_eq!(tally.not_taken.front().unwrap().text, "30");
    }
}

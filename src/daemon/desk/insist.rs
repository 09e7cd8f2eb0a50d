//! Asks a record that refuses again until it does what it should. Meanwhile nothing more is taken, so the
//! sources wait, and everybody is told.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use super::{Desk, GivenUp, SPACE_KNOWN_US};
use crate::record::{Asked, Record};
use bench::Event;
use bench::event::StorageNews;
use wire::StorageState;

/// The first wait before the record is asked again.
const RETRY_FIRST: Duration = Duration::from_millis(if cfg!(test) { 1 } else { 100 });

/// The longest wait before it is asked again; shorter than any sensible watchdog.
const RETRY_LONGEST: Duration = Duration::from_secs(2);

/// How soon the end of the service is noticed while waiting.
const GLANCE: Duration = Duration::from_millis(100);

impl<R: Record> Desk<R> {
    /// Asks the record until it answers. While the service ends, one refusal is enough.
    pub(super) fn insist<T>(
        &mut self,
        mut ask: impl FnMut(&mut R) -> Asked<T>,
    ) -> Result<T, GivenUp> {
        let mut wait = RETRY_FIRST;
        loop {
            let stopping = self.stopping.load(Ordering::Relaxed);
            match ask(&mut self.record) {
                Ok(answer) => {
                    self.recovered();
                    return Ok(answer);
                }
                Err(refused) if stopping || refused.ours || refused.damaged => {
                    let (why, ours) = (refused.why, refused.ours);
                    return Err(GivenUp { why, ours, rows: self.batch.rows.len(), waiting: 0 });
                }
                Err(refused) => self.tell_failing(refused.why),
            }
            self.rest(wait);
            wait = (wait * 2).min(RETRY_LONGEST);
        }
    }

    /// Asks the record until it answers or says what is damaged. Damage is reported to whoever asked and
    /// holds up nobody else.
    pub(super) fn look<T>(
        &mut self,
        mut ask: impl FnMut(&mut R) -> Asked<T>,
    ) -> Result<Result<T, String>, GivenUp> {
        self.insist(|record| match ask(record) {
            Ok(answer) => Ok(Ok(answer)),
            Err(refused) if refused.damaged => Ok(Err(refused.why)),
            Err(refused) => Err(refused),
        })
    }

    fn rest(&mut self, wait: Duration) {
        let mut left = wait;
        while !left.is_zero() && !self.stopping.load(Ordering::Relaxed) {
            self.pulse.beat();
            let step = left.min(GLANCE);
            std::thread::sleep(step);
            left -= step;
        }
    }

    fn tell_failing(&mut self, why: String) {
        let storage = &mut self.ledger.storage;
        if storage.state == StorageState::Failing && storage.why == why {
            return;
        }
        tracing::error!("the record cannot be written: {why}; nothing more is taken until it can");
        storage.state = StorageState::Failing;
        storage.why.clone_from(&why);
        self.failed = Some(why);
        // The free space found earlier would not fit with this error.
        if let Ok(space) = self.record.space() {
            self.ledger.storage.space = space;
        }
        // The bench, the counters and the replies stay as of the last commit.
        self.shown.send_replace(Arc::new(self.ledger.clone()));
    }

    fn recovered(&mut self) {
        let storage = &mut self.ledger.storage;
        if storage.state == StorageState::Failing {
            tracing::warn!("the record can be written again; nothing was lost");
            storage.state = StorageState::Fine;
            storage.why.clear();
            self.space_seen_us = None;
        }
    }

    /// Whether it is too early to look at the free space again.
    pub(super) fn space_is_known(&self) -> bool {
        let now_us = intake::mono_us();
        let known = |seen_us: u64| now_us.saturating_sub(seen_us) < SPACE_KNOWN_US;
        self.space_seen_us.is_some_and(known)
    }

    /// Looks at the free space now and then. Returns whether that led to an event.
    pub(super) fn space_changed(&mut self) -> Result<bool, GivenUp> {
        if self.space_is_known() {
            return Ok(false);
        }
        self.space_seen_us = Some(intake::mono_us());
        let space = self.insist(R::space)?;
        self.ledger.storage.space = space;
        let was_low = self.ledger.storage.state == StorageState::Low;
        let low = space.low();
        let news = match (was_low, low) {
            (false, Some(why)) => {
                tracing::warn!("{why}");
                self.ledger.storage.state = StorageState::Low;
                self.ledger.storage.why.clone_from(&why);
                StorageNews::SpaceLow { why }
            }
            (true, None) => {
                self.ledger.storage.state = StorageState::Fine;
                self.ledger.storage.why.clear();
                StorageNews::SpaceFine
            }
            (true, Some(_)) | (false, None) => return Ok(false),
        };
        self.happened(intake::now(), &Event::Storage(news));
        Ok(true)
    }
}

//! How far something long has come, for whoever waits for it.

use std::sync::atomic::{AtomicU64, Ordering};

/// What is being done, and how much of it is done. One thread works and tells, another looks.
#[derive(Debug, Default)]
pub struct Progress {
    step: AtomicU64,
    done: AtomicU64,
    of: AtomicU64,
}

/// What is being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Pages are copied.
    Copying,
    /// The file is checked: its pages, and what points where. How far that is nobody knows.
    File,
    /// Rows are read back and summed.
    Rows,
}

impl Progress {
    /// Nothing is done yet of the next step, which is so long.
    pub(super) fn begin(&self, step: Step, of: u64) {
        self.done.store(0, Ordering::Relaxed);
        self.of.store(of, Ordering::Relaxed);
        self.step.store(step as u64, Ordering::Relaxed);
    }

    /// So much is done.
    pub(super) fn at(&self, done: u64) {
        self.done.store(done, Ordering::Relaxed);
    }

    /// The step, and hundredths of it where they are known.
    #[must_use]
    pub fn now(&self) -> (Step, Option<u64>) {
        let (done, of) = (self.done.load(Ordering::Relaxed), self.of.load(Ordering::Relaxed));
        let step = match self.step.load(Ordering::Relaxed) {
            0 => Step::Copying,
            1 => Step::File,
            _ => Step::Rows,
        };
        (step, done.min(of).saturating_mul(100).checked_div(of))
    }
}

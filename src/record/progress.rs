//! The progress of a long operation, for the person who waits for it.

use std::sync::atomic::{AtomicU64, Ordering};

/// The current step, and how much of it is done. One thread works and sets it, another reads it.
#[derive(Debug, Default)]
pub struct Progress {
    step: AtomicU64,
    done: AtomicU64,
    of: AtomicU64,
}

/// The step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Pages are copied.
    Copying,
    /// The file is checked: its pages and references. How far that is, is not known.
    File,
    /// Rows are read again and their sums compared.
    Rows,
}

impl Progress {
    /// Begins the next step, of this length.
    pub(super) fn begin(&self, step: Step, of: u64) {
        self.done.store(0, Ordering::Relaxed);
        self.of.store(of, Ordering::Relaxed);
        self.step.store(step as u64, Ordering::Relaxed);
    }

    /// Sets how many rows are copied, and how many there are.
    pub fn copied(&self, done: u64, of: u64) {
        self.of.store(of, Ordering::Relaxed);
        self.at(done);
    }

    /// Sets how much is done.
    pub(super) fn at(&self, done: u64) {
        self.done.store(done, Ordering::Relaxed);
    }

    /// The step, and its progress in hundredths where it is known.
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

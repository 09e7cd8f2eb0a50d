//! Decides which files are complete, from names, hints and times alone.
//!
//! A file that was seen being created is complete when it is closed or renamed into place. A file that
//! was only found, or whose last line has no end, is complete when its size and time have stood still.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};

use super::read::Shape;

#[cfg(test)]
mod tests;

/// The first wait before a file that could not be read is tried again, microseconds.
const AGAIN_FIRST_US: u64 = 1_000_000;

/// The longest wait before it is tried again.
const AGAIN_LONGEST_US: u64 = 30_000_000;

/// The files that are not dealt with yet.
#[derive(Debug)]
pub(super) struct Waiting {
    quiet_us: u64,
    files: BTreeMap<OsString, Wait>,
    /// Files whose turn it is, in their order.
    turns: BTreeSet<(Order, OsString)>,
    /// Files that must stand still for a while, each with the time when it is due.
    alarms: BTreeSet<(u64, OsString)>,
    /// Files whose last line has no end, with their shape and since when they have it.
    unended: BTreeMap<OsString, (Shape, u64)>,
    /// Files that could not be read, with the reason and how long they wait.
    unread: BTreeMap<OsString, (String, u64)>,
    /// The number of files completed so far.
    completed: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wait {
    /// It waits for its writer to close it.
    Close,
    /// It waits until this shape has stood still long enough.
    Quiet { shape: Shape, since_us: u64, written: bool },
    /// It waits for another try.
    Again { at_us: u64, written: bool },
    /// It waits for its turn.
    Turn { order: Order, read: Read },
}

/// The order of reading: first files that were found, by their time, then files that were written, in the
/// order in which they were closed. A series may lie in several files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Order {
    Found { modified: (i64, i64) },
    Written { number: u64 },
}

/// A file that is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Read {
    /// Whether somebody has written it since the folder is watched.
    pub(super) written: bool,
    /// Whether it stood still long enough, so that its last line needs no end.
    pub(super) settled: bool,
}

/// What is to be done with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Due {
    /// Look at its size and time again.
    Look,
    /// Read it.
    Read(Read),
}

impl Waiting {
    pub(super) fn new(quiet_us: u64) -> Self {
        Self {
            quiet_us,
            files: BTreeMap::new(),
            turns: BTreeSet::new(),
            alarms: BTreeSet::new(),
            unended: BTreeMap::new(),
            unread: BTreeMap::new(),
            completed: 0,
        }
    }

    pub(super) fn quiet_us(&self) -> u64 {
        self.quiet_us
    }

    /// Somebody created the file and has it open.
    pub(super) fn created(&mut self, name: &OsStr) {
        self.set(name, Wait::Close);
    }

    /// Its writer closed it, or it was renamed into place.
    pub(super) fn complete(&mut self, name: &OsStr) {
        let read = Read { written: true, settled: false };
        self.completed += 1;
        let order = Order::Written { number: self.completed };
        self.set(name, Wait::Turn { order, read });
    }

    /// The file was found. If it is waited for with the same shape, that wait goes on.
    pub(super) fn found(&mut self, name: &OsStr, shape: Shape, written: bool, now_us: u64) {
        let (waits_for, written) = match self.files.get(name) {
            Some(Wait::Quiet { shape, written: before, .. }) => (Some(*shape), written || *before),
            Some(Wait::Turn { .. } | Wait::Again { .. }) => return,
            Some(Wait::Close) => (None, true),
            None => (None, written),
        };
        if waits_for != Some(shape) {
            self.set(name, Wait::Quiet { shape, since_us: now_us, written });
        }
    }

    /// It was read, and its last line has no end: it waits for the end, or until nothing has changed for
    /// long enough.
    pub(super) fn no_end(&mut self, name: &OsStr, shape: Shape, written: bool, now_us: u64) {
        let before = self.unended.get(name).filter(|(before, _)| *before == shape);
        let since_us = before.map_or(now_us, |(_, since_us)| *since_us);
        self.unended.insert(name.to_owned(), (shape, since_us));
        self.set(name, Wait::Quiet { shape, since_us, written });
    }

    /// It could not be read. Returns whether the reason is new.
    pub(super) fn again(&mut self, name: &OsStr, why: &str, written: bool, now_us: u64) -> bool {
        let before = self.unread.get(name).map(|(_, wait_us)| *wait_us);
        let wait_us = before.map_or(AGAIN_FIRST_US, |wait| (wait * 2).min(AGAIN_LONGEST_US));
        self.unread.insert(name.to_owned(), (why.to_owned(), wait_us));
        self.set(name, Wait::Again { at_us: now_us + wait_us, written });
        before.is_none()
    }

    /// Its shape was looked at again after a quiet time.
    pub(super) fn looked(&mut self, name: &OsStr, shape: Option<Shape>, now_us: u64) {
        let Some(Wait::Quiet { shape: before, written, .. }) = self.files.get(name).copied() else {
            return;
        };
        let wait = match shape {
            None => {
                self.forget(name);
                return;
            }
            Some(Shape { modified, .. }) if shape == Some(before) => {
                let order = Order::Found { modified };
                Wait::Turn { order, read: Read { written, settled: true } }
            }
            Some(shape) => Wait::Quiet { shape, since_us: now_us, written },
        };
        self.set(name, wait);
    }

    /// It is gone. Returns whether it was complete and had not been read to its end.
    pub(super) fn forget(&mut self, name: &OsStr) -> bool {
        let unended = self.unended.remove(name).is_some();
        self.unread.remove(name);
        let turn = matches!(self.take_off(name), Some(Wait::Turn { .. }));
        turn || unended
    }

    pub(super) fn forget_all(&mut self) {
        *self = Self { completed: self.completed, ..Self::new(self.quiet_us) };
    }

    /// It was read to its end.
    pub(super) fn dealt_with(&mut self, name: &OsStr) {
        self.unended.remove(name);
        self.unread.remove(name);
    }

    /// What files wait for, where only a person can help: a sentence for each.
    pub(super) fn reasons(&self) -> Vec<(OsString, String)> {
        let seconds = self.quiet_us / 100_000;
        let seconds = format!("{}.{} s", seconds / 10, seconds % 10);
        let end = format!(
            "its last line has no end; taken when that comes, or when nothing has moved for {seconds}"
        );
        let unended = self.unended.keys().map(|name| (name.clone(), end.clone()));
        let unread = self.unread.iter().map(|(name, (why, _))| (name.clone(), why.clone()));
        unended.chain(unread).collect()
    }

    /// The next file with something to do now. One to be read leaves the list.
    pub(super) fn due(&mut self, now_us: u64) -> Option<(OsString, Due)> {
        if let Some((at_us, name)) = self.alarms.first().cloned()
            && at_us <= now_us
        {
            match self.files.get(&name) {
                Some(Wait::Again { written, .. }) => {
                    // Its last line may have its end by now, or the file may have stood still long enough.
                    let read = Read { written: *written, settled: false };
                    self.take_off(&name);
                    return Some((name, Due::Read(read)));
                }
                Some(_) => return Some((name, Due::Look)),
                None => drop(self.alarms.pop_first()),
            }
        }
        let (_, name) = self.turns.first().cloned()?;
        match self.take_off(&name)? {
            Wait::Turn { read, .. } => Some((name, Due::Read(read))),
            Wait::Close | Wait::Quiet { .. } | Wait::Again { .. } => None,
        }
    }

    /// When the next file has to be looked at.
    pub(super) fn next_us(&self) -> Option<u64> {
        let turn = self.turns.first().map(|_| 0);
        turn.or_else(|| self.alarms.first().map(|(at_us, _)| *at_us))
    }

    fn alarm(&self, wait: &Wait) -> Option<u64> {
        match wait {
            Wait::Quiet { since_us, .. } => Some(since_us + self.quiet_us),
            Wait::Again { at_us, .. } => Some(*at_us),
            Wait::Close | Wait::Turn { .. } => None,
        }
    }

    fn set(&mut self, name: &OsStr, wait: Wait) {
        self.take_off(name);
        if let Some(at_us) = self.alarm(&wait) {
            self.alarms.insert((at_us, name.to_owned()));
        }
        if let Wait::Turn { order, .. } = wait {
            self.turns.insert((order, name.to_owned()));
        }
        self.files.insert(name.to_owned(), wait);
    }

    fn take_off(&mut self, name: &OsStr) -> Option<Wait> {
        let wait = self.files.remove(name)?;
        if let Some(at_us) = self.alarm(&wait) {
            self.alarms.remove(&(at_us, name.to_owned()));
        }
        if let Wait::Turn { order, .. } = wait {
            self.turns.remove(&(order, name.to_owned()));
        }
        Some(wait)
    }
}

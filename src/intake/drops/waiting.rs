//! Which files are complete: a pure list of names, hints and times.
//!
//! A file whose creation was seen is complete when it is closed or renamed into place. One that was
//! only found is complete when its size and time stood still.

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};

use super::read::Shape;

/// Files that are not dealt with yet.
#[derive(Debug)]
pub(super) struct Waiting {
    quiet_us: u64,
    files: BTreeMap<OsString, Wait>,
    /// Files completed so far.
    completed: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wait {
    /// For its close.
    Close,
    /// For time to pass over this shape.
    Quiet { shape: Shape, since_us: u64 },
    /// For its turn.
    Turn(Turn),
}

/// The order of reading: what was found by its time, then what was written, in the order of the
/// closes. A series may lie in several files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    Found { modified: (i64, i64) },
    Written { number: u64 },
}

/// What is to be done with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Due {
    /// Look at its size and time again.
    Look,
    /// Read it: somebody has just written it.
    Written,
    /// Read it: it was found and stood still.
    Found,
}

impl Waiting {
    pub(super) fn new(quiet_us: u64) -> Self {
        Self { quiet_us, files: BTreeMap::new(), completed: 0 }
    }

    pub(super) fn quiet_us(&self) -> u64 {
        self.quiet_us
    }

    /// Somebody made the file and has it open.
    pub(super) fn created(&mut self, name: &OsStr) {
        self.files.insert(name.to_owned(), Wait::Close);
    }

    /// Its writer closed it, or it was renamed into place.
    pub(super) fn complete(&mut self, name: &OsStr) {
        self.completed += 1;
        let turn = Turn::Written { number: self.completed };
        self.files.insert(name.to_owned(), Wait::Turn(turn));
    }

    /// It was found. A shape that is already waited for goes on waiting.
    pub(super) fn found(&mut self, name: &OsStr, shape: Shape, now_us: u64) {
        let waits_for = match self.files.get(name) {
            Some(Wait::Quiet { shape, .. }) => Some(*shape),
            Some(Wait::Turn(_)) => return,
            Some(Wait::Close) | None => None,
        };
        if waits_for != Some(shape) {
            self.files.insert(name.to_owned(), Wait::Quiet { shape, since_us: now_us });
        }
    }

    /// It was looked at again after a quiet time.
    pub(super) fn looked(&mut self, name: &OsStr, shape: Option<Shape>, now_us: u64) {
        let Some(Wait::Quiet { shape: before, .. }) = self.files.get(name).copied() else { return };
        let wait = match shape {
            None => {
                self.files.remove(name);
                return;
            }
            Some(Shape { modified, .. }) if shape == Some(before) => {
                Wait::Turn(Turn::Found { modified })
            }
            Some(shape) => Wait::Quiet { shape, since_us: now_us },
        };
        self.files.insert(name.to_owned(), wait);
    }

    pub(super) fn forget(&mut self, name: &OsStr) {
        self.files.remove(name);
    }

    pub(super) fn forget_all(&mut self) {
        self.files.clear();
    }

    /// A file that something is to be done with now. One to be read leaves the list.
    pub(super) fn due(&mut self, now_us: u64) -> Option<(OsString, Due)> {
        if let Some(name) = self.to_look_at(now_us) {
            return Some((name, Due::Look));
        }
        let turn = |(name, wait): (&OsString, &Wait)| match wait {
            Wait::Turn(turn) => Some((*turn, name.clone())),
            Wait::Close | Wait::Quiet { .. } => None,
        };
        let (turn, name) = self.files.iter().filter_map(turn).min()?;
        self.files.remove(&name);
        let due = match turn {
            Turn::Found { .. } => Due::Found,
            Turn::Written { .. } => Due::Written,
        };
        Some((name, due))
    }

    fn to_look_at(&self, now_us: u64) -> Option<OsString> {
        let over = |(_, wait): &(&OsString, &Wait)| match wait {
            Wait::Quiet { since_us, .. } => now_us >= since_us + self.quiet_us,
            Wait::Close | Wait::Turn(_) => false,
        };
        self.files.iter().find(over).map(|(name, _)| name.clone())
    }

    /// When the next file has to be looked at.
    pub(super) fn next_us(&self) -> Option<u64> {
        let next = |wait: &Wait| match wait {
            Wait::Close => None,
            Wait::Quiet { since_us, .. } => Some(since_us + self.quiet_us),
            Wait::Turn(_) => Some(0),
        };
        self.files.values().filter_map(next).min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(bytes: u64) -> Shape {
        Shape { bytes, ..Shape::default() }
    }

    #[test]
    fn a_created_file_waits_for_its_close_however_long() {
        let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
        waiting.created(name);
        assert_eq!(waiting.due(1_000_000), None);
        assert_eq!(waiting.next_us(), None);
        waiting.complete(name);
        assert_eq!(waiting.due(1_000_001), Some((name.to_owned(), Due::Written)));
        assert_eq!(waiting.due(1_000_001), None);
    }

    #[test]
    fn a_found_file_must_stand_still() {
        let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
        waiting.found(name, shape(1), 100);
        assert_eq!(waiting.due(109), None);
        assert_eq!(waiting.due(110), Some((name.to_owned(), Due::Look)));
        waiting.looked(name, Some(shape(2)), 110);
        assert_eq!(waiting.next_us(), Some(120));
        waiting.looked(name, Some(shape(2)), 120);
        assert_eq!(waiting.due(120), Some((name.to_owned(), Due::Found)));
    }

    #[test]
    fn after_an_overflow_a_close_is_not_relied_on_any_more() {
        let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
        waiting.created(name);
        waiting.found(name, shape(5), 100);
        assert_eq!(waiting.next_us(), Some(110), "its close may have been among what was lost");
    }

    #[test]
    fn files_are_read_in_the_order_they_were_completed() {
        let mut waiting = Waiting::new(10);
        for (name, modified) in [("new", (9, 0)), ("old", (3, 0))] {
            let shape = Shape { modified, ..Shape::default() };
            waiting.found(OsStr::new(name), shape, 0);
            waiting.looked(OsStr::new(name), Some(shape), 10);
        }
        waiting.complete(OsStr::new("z"));
        waiting.complete(OsStr::new("a"));
        let order: Vec<_> = std::iter::from_fn(|| waiting.due(10)).map(|(name, _)| name).collect();
        assert_eq!(order, ["old", "new", "z", "a"]);
    }

    #[test]
    fn finding_it_again_does_not_begin_the_wait_anew() {
        let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
        waiting.found(name, shape(1), 100);
        waiting.found(name, shape(1), 109);
        assert_eq!(waiting.next_us(), Some(110));
    }
}

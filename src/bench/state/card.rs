//! What people wrote on the card of a job beside its measurements.

use std::collections::BTreeMap;
use std::sync::Arc;

use quantity::{Name, Wall};

use crate::fact::row::{Body, Changes, IntakeItem, Outcome, Role, Signed};
use crate::fact::seq::Seq;
use crate::state::row::Row;
use crate::state::{Bench, Job};

/// The card of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Card {
    /// The newest row that something was measured or changed in.
    pub changed: Seq,
    /// What was said when it came in: the newest words of each kind.
    pub told: BTreeMap<IntakeItem, String>,
    /// What a person decided about parts, oldest first, by the part's place in the plan.
    pub decided: BTreeMap<u16, Vec<Decided>>,
    /// The serial numbers that were written down for parts, oldest first, each with its row.
    pub serials: BTreeMap<u16, Vec<(Seq, String)>>,
    /// Signatures, oldest first.
    pub signed: Vec<Signature>,
}

/// What a person decided about a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decided {
    /// The row.
    pub row: Seq,
    /// What becomes of it.
    pub outcome: Outcome,
    /// Why.
    pub why: String,
}

/// A signature on a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Signature {
    /// The row.
    pub row: Seq,
    /// When.
    pub at: Wall,
    /// Who signed.
    pub by: Option<Name>,
    /// What.
    pub signed: Arc<Signed>,
}

impl Card {
    /// The card of a job that was opened in a row.
    pub(super) fn opened(row: Seq) -> Self {
        Self { changed: row, ..Self::default() }
    }

    /// Whether something was measured or changed since a signature.
    #[must_use]
    pub fn is_earlier(&self, signature: &Signature) -> bool {
        signature.signed.of < self.changed
    }

    /// The newest signature for a role.
    #[must_use]
    pub fn signature(&self, role: Role) -> Option<&Signature> {
        self.signed.iter().rev().find(|one| one.signed.role == role)
    }

    fn apply(&mut self, row: &Row) {
        if let Body::Intake { what, text, .. } = &row.body {
            self.told.insert(*what, text.clone());
        } else if let Body::Decided { part, outcome, why, .. } = &row.body {
            let decided = Decided { row: row.seq, outcome: *outcome, why: why.clone() };
            self.decided.entry(*part).or_default().push(decided);
        } else if let Body::Serial { part, serial, .. } = &row.body {
            self.serials.entry(*part).or_default().push((row.seq, serial.clone()));
        } else if let Body::Signed { signed, .. } = &row.body {
            let (at, by, signed) = (row.at.wall, row.by.clone(), Arc::clone(signed));
            self.signed.push(Signature { row: row.seq, at, by, signed });
        }
    }
}

impl Bench {
    /// Notes on the card of a job that it was changed.
    pub(super) fn note_change(&mut self, row: &Row) {
        let job = match row.body.changes() {
            Changes::Job(job) => Some(job),
            Changes::Attempt(attempt) => self.job_of_attempt(attempt),
            Changes::Nothing => None,
        };
        if let Some(job) = job.and_then(|job| self.jobs.get_mut(&job)) {
            Arc::make_mut(job).card.changed = row.seq;
        }
    }

    /// Writes a row on the card of its job.
    pub(super) fn write_on_card(&mut self, job: Seq, row: &Row) {
        if let Some(job) = self.jobs.get_mut(&job) {
            Arc::make_mut(job).card.apply(row);
        }
    }
}

impl Job {
    /// The serial number of a part as it is now: the one that was written down last, for it alone, as it was
    /// replaced, or as it was found.
    #[must_use]
    pub fn serial_of(&self, part: u16) -> Option<&str> {
        let replaced = self.replaced.get(&part).and_then(|pieces| pieces.last());
        let since = replaced.map_or(Seq(0), |(row, _)| *row);
        let written = self.card.serials.get(&part).and_then(|all| all.last());
        if let Some((_, serial)) = written.filter(|(row, _)| *row > since) {
            return Some(serial);
        }
        match replaced {
            Some((_, serial)) => serial.as_deref(),
            None => self.found.iter().find(|item| item.part == part)?.serial.as_deref(),
        }
    }

    /// Everybody whose touches or answers are in the job.
    pub fn hands(&self) -> impl Iterator<Item = &Name> {
        self.attempts.values().flat_map(|attempt| attempt.hands())
    }
}

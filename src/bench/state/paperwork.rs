//! What rows do to the card of a job, and to its pictures and papers.

use std::sync::Arc;

use crate::fact::row::{Body, Changes};
use crate::fact::seq::Seq;
use crate::state::Bench;
use crate::state::card::{Card, Decided, Signature};
use crate::state::job::KeptPaper;
use crate::state::row::Row;

impl Card {
    fn apply(&mut self, row: &Row) {
        if let Body::Intake { what, text, .. } = &row.body {
            self.told.insert(*what, text.clone());
        } else if let Body::JobEdited { what, text, .. } = &row.body {
            self.edited.insert(*what, text.clone());
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

    /// Applies a row about a picture or a paper.
    pub(super) fn papers(&mut self, row: &Row) {
        if let Body::Attached(attached) = &row.body {
            let Some(job) = self.jobs.get_mut(&attached.job) else { return };
            let (id, attached) = (row.seq, Arc::clone(attached));
            Arc::make_mut(job).attached.push(KeptPaper { id, attached, taken_back: false });
        } else if let Body::AttachedTakenBack { job, attached, .. } = &row.body {
            let Some(job) = self.jobs.get_mut(job) else { return };
            let mut kept = Arc::make_mut(job).attached.iter_mut();
            if let Some(kept) = kept.find(|kept| kept.id == *attached) {
                kept.taken_back = true;
            }
        }
    }
}

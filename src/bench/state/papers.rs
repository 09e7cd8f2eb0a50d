//! The pictures and papers of a job.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{Bench, Job};
use crate::fact::row::{Attached, Body};
use crate::fact::seq::Seq;
use crate::state::row::Row;

/// A picture or paper of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptPaper {
    /// Its number.
    pub id: Seq,
    /// What it is.
    pub attached: Arc<Attached>,
    /// Whether it was taken back. Its file stays.
    pub taken_back: bool,
}

impl Bench {
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

impl Job {
    /// The bytes of its files. The same bytes are kept once and count once.
    #[must_use]
    pub fn attached_bytes(&self) -> u64 {
        let papers = self.attached.iter().map(|kept| &kept.attached.paper);
        let each: BTreeMap<[u8; 32], u64> =
            papers.map(|paper| (paper.digest, paper.bytes)).collect();
        each.values().sum()
    }
}

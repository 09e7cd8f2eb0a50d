//! What people wrote on the card of a job beside its measurements.

use std::collections::BTreeMap;
use std::sync::Arc;

use quantity::{Name, Wall};

use crate::fact::row::{IntakeItem, JobField, Outcome, Role, Signed};
use crate::fact::seq::Seq;

/// The card of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Card {
    /// The newest row that something was measured or changed in.
    pub changed: Seq,
    /// What was said when it came in: the newest words of each kind.
    pub told: BTreeMap<IntakeItem, String>,
    /// What was corrected at the head of the job: the newest of each.
    pub edited: BTreeMap<JobField, String>,
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
}

//! What a station works on.

use std::sync::Arc;

use quantity::Name;

use crate::fact::row::Body;
use crate::fact::seq::Seq;
use crate::state::proofs::Proving;
use crate::state::row::Row;

/// What a station works on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Station {
    /// The job.
    pub job: Option<Seq>,
    /// The attempt on the screen.
    pub attempt: Option<Seq>,
    /// Who works there, where they said so.
    pub person: Option<Name>,
    /// Who touches with the gauges there: the person named last, also in a request about the check on the
    /// screen.
    pub hand: Option<Name>,
    /// The proof of a gauge under way there: no reading of that gauge goes to a check.
    pub proving: Option<Arc<Proving>>,
    /// The gauge whose proof ended there last, as long as nothing else was begun since.
    pub proved: Option<Name>,
}

impl Station {
    /// Applies a row about this station.
    pub(super) fn apply(&mut self, row: &Row) {
        if let Body::JobActive { job, .. } = &row.body {
            (self.job, self.attempt, self.proved) = (*job, None, None);
        } else if let Body::PersonAt { person, .. } = &row.body {
            (self.person, self.hand) = (person.clone(), person.clone());
            if let Some(proving) = &mut self.proving {
                Arc::make_mut(proving).hand.clone_from(person);
            }
        } else if let Body::CheckActive { attempt, .. } = &row.body {
            (self.attempt, self.hand, self.proved) = (*attempt, row.by.clone(), None);
        } else if let Body::ProofBegan(began) = &row.body {
            let (id, began) = (row.seq, Arc::clone(began));
            let hand = row.by.clone();
            let proving = Proving { id, began, hand, touches: Vec::new(), voided: 0 };
            (self.proving, self.proved) = (Some(Arc::new(proving)), None);
        }
    }
}

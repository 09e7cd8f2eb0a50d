//! A stored fact with its number, as it is applied.

use std::sync::Arc;

use quantity::{Name, Stamp};

use crate::fact::row::Body;
use crate::fact::seq::Seq;
use crate::state::job::Job;

/// One stored fact.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its number.
    pub seq: Seq,
    /// When the event behind it arrived.
    pub at: Stamp,
    /// Who did it, where that is known; for a verdict, who touched last.
    pub by: Option<Name>,
    /// What happened.
    pub body: Body,
    /// For a job that is open again, its state when it was closed. It is built from the job's own rows, so
    /// it is not stored again.
    pub restored: Option<Arc<Job>>,
}

//! One job as it is in the record.

use std::sync::Arc;

use ::record::{JobRecord, ReadingRecord, VerdictRecord};
use bench::Job;

/// One job as it is in the record.
#[derive(Debug, Clone)]
pub struct JobFacts {
    /// Its names, notes and stack.
    pub record: JobRecord,
    /// Its attempts, with their readings as they count now.
    pub state: Arc<Job>,
    /// The standing verdict of each attempt, oldest first.
    pub verdicts: Vec<VerdictRecord>,
    /// Its readings with the reasons of their states; empty for an earlier job, which needs none.
    pub readings: Vec<ReadingRecord>,
    /// The bench whose record it is in, in a look-up over the whole shop.
    pub bench: Option<String>,
}

//! The beginning of an attempt.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{AttemptReason, Pin};
use crate::fact::form::RefersToRows;
use crate::fact::seq::Seq;
use crate::plan::CheckAt;

/// The beginning of an attempt, with all that its verdict must be reproducible from. The record keeps
/// what it is judged with once for many, `P` being its digest then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AttemptBegan<P = Arc<Pin>> {
    /// The job.
    pub job: Seq,
    /// The check.
    pub check: CheckAt,
    /// 1 for the first attempt at this check, 2 for the second …
    pub number: u32,
    /// Why it was made.
    pub reason: AttemptReason,
    /// Whether metal was taken off right before it. One with the reason `ground` that was not said by
    /// a person joins the state of the metal that a grind left.
    pub grinds: bool,
    /// The gauge set-up, rule and engine it is judged with.
    pub pin: P,
    /// A remark: which face was down, machine, chuck, last dress.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

impl<P> AttemptBegan<P> {
    /// The same with something else in the place of what it is judged with.
    pub fn with_pin<Q>(&self, pin: Q) -> AttemptBegan<Q> {
        let Self { job, check, number, reason, grinds, .. } = *self;
        AttemptBegan { job, check, number, reason, grinds, pin, remark: self.remark.clone() }
    }
}

impl RefersToRows for AttemptBegan {
    fn numbers(&mut self, _field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        self.job.numbers("job", visit);
    }
}

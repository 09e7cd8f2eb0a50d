//! The beginning of an attempt.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{AttemptReason, Pin, Shown};
use crate::fact::form::RefersToRows;
use crate::fact::seq::Seq;
use crate::plan::CheckAt;

/// The beginning of an attempt, with everything needed to work out its verdict again. The record keeps the
/// settings it is judged with once for many attempts; `P` is their digest then.
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
    /// Whether metal was taken off right before it. It is not set where the reason `ground` was not given
    /// by a person: then the attempt only follows a grind at another check.
    pub grinds: bool,
    /// The gauge set-up, rule and engine it is judged with.
    pub pin: P,
    /// What the bench knew of the gauge in the hand that measures; `None` where that is not enough yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<Arc<Shown>>,
    /// A remark: which face was down, machine, chuck, last dress.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

impl<P> AttemptBegan<P> {
    /// The same with another value in place of the settings.
    pub fn with_pin<Q>(&self, pin: Q) -> AttemptBegan<Q> {
        let Self { job, check, number, reason, grinds, .. } = *self;
        let (shown, remark) = (self.shown.clone(), self.remark.clone());
        AttemptBegan { job, check, number, reason, grinds, pin, shown, remark }
    }
}

impl RefersToRows for AttemptBegan {
    fn numbers(&mut self, _field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        self.job.numbers("job", visit);
    }
}

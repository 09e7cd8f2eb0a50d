//! A person goes on although something speaks against it: a fact of its own, with the reason.

use std::sync::Arc;

use crate::draft::Draft;
use crate::fact::row::{Alert, AlertKind, Body, WentOn};
use crate::fact::seq::Seq;
use crate::gate::{at_the_nut, in_spite};
use crate::reply::Refusal;

impl Draft<'_> {
    /// Allows a step that nothing speaks against, or one that something speaks against if a reason is
    /// given. `told` is what speaks against it; `command` is what to type for this step, without the reason.
    ///
    /// # Errors
    /// Something speaks against the step and no reason is given, or a reason is given and blank.
    pub(super) fn gate(
        told: Option<String>,
        (what, command): (&str, &str),
        why: Option<&str>,
    ) -> Result<Option<String>, Refusal> {
        let why = why.map(str::trim);
        let Some(told) = told else { return Ok(None) };
        match why {
            Some(why) if !why.is_empty() => Ok(Some(why.to_owned())),
            Some(_) | None => Err(Refusal::input(
                format!("{what}: {told}"),
                format!(
                    "put that right first, or go on with a reason that stands in the record: `{command} --why TEXT`"
                ),
            )),
        }
    }

    /// Stores that a step was taken although something spoke against it.
    pub(super) fn went_on(&mut self, job: Seq, went: WentOn) {
        self.push(Body::WentOn { job, went: Arc::new(went) });
    }

    /// Tells a person at the start of a check at the nut which parts went on the stack although a check
    /// spoke against them.
    pub(super) fn before_the_nut(&mut self, attempt: Seq) {
        let Some((_, job, state)) = self.attempt(attempt) else { return };
        let Some((part, check)) = job.check_of(&state) else { return };
        if !at_the_nut(part, check) {
            return;
        }
        let told = in_spite(&job).join(" ");
        let call = self.alert_for(attempt, AlertKind::Stack, told);
        let Some(call) = call.filter(|call| !call.text.is_empty()) else { return };
        // Several checks belong to the nut; the alert is raised once per job.
        let told = |open: &Alert| {
            let at_the_nut = open.kind == call.kind && open.attempt.is_some();
            at_the_nut && open.job == call.job && open.text == call.text
        };
        if !self.bench.alerts.values().any(|open| told(&open.alert)) {
            self.raise(call);
        }
    }
}

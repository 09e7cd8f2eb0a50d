//! An index of a bench, so that nothing is searched for among everything. It follows from the rest of the
//! state, and is kept so that a touch takes the same time however many jobs are open.

use std::sync::Arc;

use crate::fact::row::Alert;
use crate::fact::seq::Seq;
use quantity::Name;

use crate::state::job::Job;
use crate::state::shelf::Shelf;

/// Stands for no attempt: no row has this number.
const NONE: Seq = Seq(0);

/// The index: where each thing is.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Finder {
    /// The job of each attempt.
    attempts: Shelf<Seq, Seq>,
    /// Jobs by their names in small letters.
    names: Shelf<(Arc<str>, Seq), ()>,
    /// Open alerts by the attempt that they are about.
    alerts: Shelf<(Seq, Seq), ()>,
}

/// A name in the form in which two names count as the same: letter case and blanks around it do not matter.
fn small(name: &str) -> Arc<str> {
    name.trim().to_lowercase().into()
}

impl Finder {
    pub(super) fn job_opened(&mut self, id: Seq, name: &Name) {
        self.names.insert((small(name.as_str()), id), ());
    }

    /// Adds a job with all its attempts.
    pub(super) fn job_came(&mut self, id: Seq, job: &Job) {
        self.job_opened(id, &job.opened.name);
        for attempt in job.attempts.keys() {
            self.attempt_began(*attempt, id);
        }
    }

    pub(super) fn job_left(&mut self, id: Seq, job: &Job) {
        self.names.remove(&(small(job.opened.name.as_str()), id));
        for attempt in job.attempts.keys() {
            self.attempts.remove(attempt);
        }
    }

    pub(super) fn attempt_began(&mut self, attempt: Seq, job: Seq) {
        self.attempts.insert(attempt, job);
    }

    pub(super) fn alert_raised(&mut self, id: Seq, alert: &Alert) {
        self.alerts.insert((alert.attempt.unwrap_or(NONE), id), ());
    }

    pub(super) fn alert_cleared(&mut self, id: Seq, alert: &Alert) {
        self.alerts.remove(&(alert.attempt.unwrap_or(NONE), id));
    }

    /// The job of an attempt.
    pub(super) fn job_of(&self, attempt: Seq) -> Option<Seq> {
        self.attempts.get(&attempt).copied()
    }

    /// The jobs whose name is this one in some letter case, oldest first.
    pub(super) fn named(&self, name: &str) -> impl Iterator<Item = Seq> + use<'_> {
        let name = small(name);
        let all = self.names.from(&(Arc::clone(&name), NONE));
        all.take_while(move |((other, _), ())| *other == name).map(|((_, id), ())| *id)
    }

    /// The open alerts about an attempt, or about none, oldest first.
    pub(super) fn alerts_about(&self, attempt: Option<Seq>) -> impl Iterator<Item = Seq> + use<'_> {
        let attempt = attempt.unwrap_or(NONE);
        let all = self.alerts.from(&(attempt, NONE));
        all.take_while(move |((of, _), ())| *of == attempt).map(|((_, id), ())| *id)
    }
}

//! Whether two benches are equal, without comparing parts again that were equal before.

use std::collections::HashMap;
use std::sync::Arc;

use bench::row::JobOpened;
use bench::{Attempt, Bench, Job};

/// Pairs that were found equal. They are kept, so that nothing else gets their addresses in memory.
struct Pairs<T>(HashMap<(usize, usize), (Arc<T>, Arc<T>)>);

/// The most pairs that are kept.
const KEPT: usize = 2048;

impl<T> Default for Pairs<T> {
    fn default() -> Self {
        Self(HashMap::new())
    }
}

impl<T> Pairs<T> {
    fn equal(&mut self, a: &Arc<T>, b: &Arc<T>, look: impl FnOnce(&T, &T) -> bool) -> bool {
        let key = (Arc::as_ptr(a).addr(), Arc::as_ptr(b).addr());
        if Arc::ptr_eq(a, b) || self.0.contains_key(&key) {
            return true;
        }
        let equal = look(a, b);
        if equal {
            if self.0.len() == KEPT {
                self.0.clear();
            }
            self.0.insert(key, (Arc::clone(a), Arc::clone(b)));
        }
        equal
    }
}

/// What was found equal so far.
#[derive(Default)]
pub(super) struct Alike {
    jobs: Pairs<Job>,
    opened: Pairs<JobOpened>,
    attempts: Pairs<Attempt>,
}

impl Alike {
    /// Whether two benches are equal, in everything.
    pub(super) fn benches(&mut self, a: &Bench, b: &Bench) -> bool {
        // The fields left out follow from these.
        let Bench { last, feed, boot, jobs, stations, alerts, .. } = a;
        (last, feed, boot, stations) == (&b.last, &b.feed, &b.boot, &b.stations)
            && alerts == &b.alerts
            && jobs.len() == b.jobs.len()
            && jobs.iter().zip(&b.jobs).all(|((id, job), (other_id, other))| {
                let Self { jobs, opened, attempts } = self;
                id == other_id && jobs.equal(job, other, |a, b| one_job(opened, attempts, (a, b)))
            })
    }
}

fn one_job(
    opened: &mut Pairs<JobOpened>,
    tries: &mut Pairs<Attempt>,
    (a, b): (&Job, &Job),
) -> bool {
    let Job {
        opened: how,
        rule,
        attempts,
        found,
        built,
        shaft,
        went_on,
        replaced,
        attached,
        card,
        spots,
    } = a;
    (rule, found, built, shaft) == (&b.rule, &b.found, &b.built, &b.shaft)
        && (went_on, replaced) == (&b.went_on, &b.replaced)
        && (attached, card, spots) == (&b.attached, &b.card, &b.spots)
        && opened.equal(how, &b.opened, |a, b| a == b)
        && attempts.len() == b.attempts.len()
        && attempts.iter().zip(&b.attempts).all(|((id, attempt), (other_id, other))| {
            id == other_id && tries.equal(attempt, other, |a, b| a == b)
        })
}

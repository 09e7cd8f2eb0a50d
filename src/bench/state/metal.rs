//! Which verdicts are about metal that is still there.
//!
//! It is worked out from the record each time; nothing here is stored.

use crate::state::shaft::OnShaft;
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::fact::row::Ending;
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt, Holding, PartKind, PinnedPlan, Spoiled};
use crate::state::{Attempt, Job};

quantity::worded! {
    /// What a verdict is worth now.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Standing {
        /// It stands.
        Stands = "stands",
        /// A newer verdict on the same attempt, or a newer attempt at the same check, took its place.
        Superseded = "superseded",
        /// Metal that it rests on was taken off since, or one of several parts that it rests on is a new
        /// one.
        MetalChanged = "metal-changed",
        /// Its part was replaced since: it is the old part's own.
        PartReplaced = "part-replaced",
    }
}

/// One attempt, as far as metal is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Go {
    /// The attempt.
    pub id: Seq,
    /// Its check.
    pub at: CheckAt,
    /// Whether metal was taken off right before it.
    pub grinds: bool,
    /// Its first touch; `None` where nothing was touched, so that it is not about any metal yet.
    pub since: Option<Seq>,
    /// Whether it is complete.
    pub whole: bool,
}

/// How the metal of a job changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Metal {
    /// The plan.
    pub plan: Arc<PinnedPlan>,
    /// Every attempt, in order.
    pub goes: Vec<Go>,
    /// Every part that was built on the shaft.
    pub shaft: Vec<OnShaft>,
    /// When parts were replaced.
    pub replaced: BTreeMap<u16, Vec<Seq>>,
}

impl Metal {
    /// The metal of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let go = |(id, attempt): (&Seq, &Arc<Attempt>)| Go {
            id: *id,
            at: attempt.began.check,
            grinds: attempt.began.grinds,
            since: attempt.readings.first().map(|touched| touched.id),
            whole: attempt.ending == Some(Ending::Complete),
        };
        let since = |(part, pieces): (&u16, &Vec<(Seq, Option<String>)>)| {
            (*part, pieces.iter().map(|(since, _)| *since).collect())
        };
        Self {
            plan: Arc::clone(&job.opened.plan),
            goes: job.attempts.iter().map(go).collect(),
            shaft: job.shaft.clone(),
            replaced: job.replaced.iter().map(since).collect(),
        }
    }

    /// What a verdict on an attempt was worth at a row; `newer` says whether a newer verdict on the
    /// same attempt existed by then. A replaced part or changed metal comes before "superseded".
    #[must_use]
    pub fn standing(&self, attempt: Seq, newer: bool, then: Seq) -> Standing {
        let Some(go) = self.go(attempt) else { return Standing::Stands };
        let later = |other: &&Go| other.at == go.at && other.id > go.id && other.id <= then;
        if self.is_replaced(go.at.part, go.id, then) {
            Standing::PartReplaced
        } else if self.is_changed(go, then) {
            Standing::MetalChanged
        } else if newer || self.goes.iter().any(|other| later(&other)) {
            Standing::Superseded
        } else {
            Standing::Stands
        }
    }

    /// Whether metal that an attempt uses had changed by a row; its own part being replaced is not meant.
    #[must_use]
    pub fn changed(&self, attempt: Seq, then: Seq) -> bool {
        self.go(attempt).is_some_and(|go| self.is_changed(go, then))
    }

    fn go(&self, attempt: Seq) -> Option<&Go> {
        let found = self.goes.binary_search_by_key(&attempt, |go| go.id).ok()?;
        self.goes.get(found)
    }

    fn is_replaced(&self, part: u16, from: Seq, then: Seq) -> bool {
        let since = self.replaced.get(&part).into_iter().flatten();
        since.into_iter().any(|since| from < *since && *since <= then)
    }

    fn is_changed(&self, go: &Go, then: Seq) -> bool {
        let Some((_, check)) = self.plan.plan.at(go.at) else { return false };
        let made_of = check.measures.made_of();
        if !made_of.is_empty() {
            return made_of.iter().any(|half| self.half_is_changed(*half, go.id, then));
        }
        let Some(since) = go.since else { return false };
        let ground = |grind: &Go| {
            grind.grinds && since < grind.id && grind.id <= then && self.reaches(grind.at, go.at)
        };
        self.goes.iter().any(ground)
            || check.setup == Holding::Turning
                && (self.shaft_is_changed(since, then) || self.carrier_is_changed(go, since, then))
    }

    /// Whether a shaft or a housing, which carries everything that turns, was ground or replaced since. A
    /// check that another one uses as its "as found" side says how the spindle came in, and that stays
    /// true.
    fn carrier_is_changed(&self, go: &Go, since: Seq, then: Seq) -> bool {
        let plan = &self.plan.plan;
        let carries = |part: u16| {
            let part = plan.parts.get(usize::from(part));
            part.is_some_and(|part| matches!(part.kind, PartKind::Shaft | PartKind::Housing))
        };
        let as_found =
            |at: CheckAt| plan.at(at).is_some_and(|(_, check)| check.found == Some(go.at));
        let by_then = |row: Seq| since < row && row <= then;
        let ground = |other: &Go| {
            let metal = plan.at(other.at).is_some_and(|(_, c)| !c.traits().is_worked_out());
            other.grinds && metal && carries(other.at.part) && by_then(other.id)
        };
        let new = |(part, rows): (&u16, &Vec<Seq>)| {
            carries(*part) && rows.iter().any(|row| by_then(*row))
        };
        !plan.places().any(as_found)
            && (self.goes.iter().any(ground) || self.replaced.iter().any(new))
    }

    /// Whether the ring no longer has the length that a difference was taken from.
    fn half_is_changed(&self, half: CheckAt, difference: Seq, then: Seq) -> bool {
        let taken = self.goes.iter().rev().find(|go| {
            go.at == half
                && go.whole
                && go.id < difference
                && !self.is_replaced(half.part, go.id, difference)
        });
        taken.is_some_and(|length| {
            self.is_changed(length, then) || self.is_replaced(half.part, length.id, then)
        })
    }

    /// Whether a grind at one check takes off metal that another one measures.
    fn reaches(&self, ground: CheckAt, measured: CheckAt) -> bool {
        let plan = &self.plan.plan;
        let (Some((_, from)), Some((_, check))) = (plan.at(ground), plan.at(measured)) else {
            return false;
        };
        // A difference has no metal of its own: its rings are ground.
        let metal = ground.part == measured.part && !from.traits().is_worked_out();
        metal
            && match check.traits().spoiled {
                Spoiled::ByAny => true,
                Spoiled::OnItsFace => !on_other_faces(from, check),
                Spoiled::ByItsOwn => ground == measured,
                Spoiled::ByNone => false,
            }
    }

    /// Whether a part of the stack on which something turned was ground, replaced or taken off since.
    fn shaft_is_changed(&self, since: Seq, then: Seq) -> bool {
        self.shaft.iter().filter(|on| on.from < since).any(|on| {
            let by_then =
                |row: Seq| since < row && row <= then && on.until.is_none_or(|until| row <= until);
            let ground = |go: &&Go| go.grinds && go.at.part == on.part && by_then(go.id);
            let new = self.replaced.get(&on.part).into_iter().flatten();
            on.until.is_some_and(by_then)
                || self.goes.iter().any(|go| ground(&go))
                || new.into_iter().any(|row| by_then(*row))
        })
    }
}

/// Whether the plan says that two checks are of different faces.
fn on_other_faces(one: &Check, other: &Check) -> bool {
    one.face.as_ref().zip(other.face.as_ref()).is_some_and(|(one, other)| one != other)
}

impl Job {
    /// Whether the metal of the newest attempt at a check has changed since.
    #[must_use]
    pub fn metal_changed_at(&self, at: CheckAt) -> bool {
        let newest = self.newest_at(at);
        newest.is_some_and(|(id, _)| Metal::of(self).changed(id, self.attempt_to_come()))
    }

    /// What the newest verdict on an attempt is worth now.
    #[must_use]
    pub fn standing(&self, attempt: Seq) -> Standing {
        Metal::of(self).standing(attempt, false, self.attempt_to_come())
    }
}

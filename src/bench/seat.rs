//! What a part lay on: dirt found under it speaks against the lengths measured in the same seating.
//!
//! It is worked out from the rows each time; nothing here is stored.

use std::sync::Arc;

use judgement::Reason;

use crate::fact::row::{AttemptReason, Ending};
use crate::fact::seq::Seq;
use crate::judge::half_turn::stays_with_metal;
use crate::plan::{CheckAt, Holding};
use crate::state::{Attempt, Job};

/// Whether a half-turn test after an attempt showed that something lay under the part.
pub(crate) fn showed_dirt(job: &Job, attempt: &Attempt) -> bool {
    job.check_of(attempt).is_some_and(|(_, check)| stays_with_metal(check, attempt) == Some(false))
}

/// Dirt that was found under a part and then cleaned away.
struct Dirt {
    /// The attempt measured on the dirt.
    stood: Seq,
    /// The attempt after cleaning.
    cleaned: Seq,
    /// The face that lay on it.
    down: Option<String>,
}

fn dirt_under(job: &Job, part: u16) -> Vec<Dirt> {
    let mut stood: Vec<(CheckAt, Seq, Option<String>)> = Vec::new();
    let mut found = Vec::new();
    for (id, attempt) in &job.attempts {
        let at = attempt.began.check;
        if at.part != part {
            continue;
        }
        if let Some(index) = stood.iter().position(|(of, ..)| *of == at) {
            let (_, before, down) = stood.remove(index);
            if attempt.began.reason == AttemptReason::Cleaned {
                found.push(Dirt { stood: before, cleaned: *id, down });
            }
        }
        if attempt.ending == Some(Ending::Complete) && showed_dirt(job, attempt) {
            let down = job.check_of(attempt).and_then(|(_, check)| check.down.clone());
            stood.push((at, *id, down));
        }
    }
    found
}

/// Whether a length was measured in a seating under which dirt was found: from its first touch to the
/// cleaning nobody cleaned the part, ground it or put in a new one. Where the plan names the face that lies
/// down for both checks, and the faces differ, they are two seatings.
pub(crate) fn is_doubted(job: &Job, id: Seq) -> bool {
    let part = job.attempts.get(&id).map(|attempt| attempt.began.check.part);
    part.is_some_and(|part| speaks_against(&dirt_under(job, part), job, id))
}

/// The same for dirt already known to be found under its part.
fn speaks_against(found: &[Dirt], job: &Job, id: Seq) -> bool {
    let Some(attempt) = job.attempts.get(&id) else { return false };
    let Some((_, check)) = job.check_of(attempt) else { return false };
    let Some(since) = attempt.readings.first().map(|touched| touched.id) else { return false };
    if !check.traits().stands() || check.setup == Holding::Turning {
        return false;
    }
    let part = attempt.began.check.part;
    let set_anew = |after: Seq, before: Seq| {
        job.attempts.range(after..before).skip_while(|(other, _)| **other == after).any(
            |(_, other)| {
                let anew =
                    matches!(other.began.reason, AttemptReason::Cleaned | AttemptReason::Ground);
                other.began.check.part == part && anew
            },
        )
    };
    found.iter().any(|dirt| {
        let same_face = match (&check.down, &dirt.down) {
            (Some(one), Some(other)) => one == other,
            (None, _) | (_, None) => true,
        };
        since < dirt.cleaned
            && same_face
            && job.same_piece(part, id, dirt.cleaned)
            && !set_anew(since.min(dirt.stood), dirt.cleaned)
    })
}

impl Job {
    /// Whether the newest length at a check was measured on dirt that was found later.
    #[must_use]
    pub fn seat_doubted_at(&self, at: CheckAt) -> bool {
        self.newest_at(at).is_some_and(|(id, _)| is_doubted(self, id))
    }

    /// Lengths of a part, earlier ones included, whose verdict disagrees with the rows about their seating:
    /// dirt was found since, or a touch that had shown it was taken back.
    pub(crate) fn doubts_changed(&self, part: u16) -> Vec<Seq> {
        let said = |attempt: &Attempt| {
            let verdict = attempt.verdict.as_ref().filter(|_| attempt.began.check.part == part);
            verdict.map(|(_, verdict)| verdict.reasons.contains(&Reason::SeatDoubted))
        };
        let found = dirt_under(self, part);
        let otherwise = |(id, attempt): &(&Seq, &Arc<Attempt>)| {
            said(attempt).is_some_and(|said| said != speaks_against(&found, self, **id))
        };
        self.attempts.iter().filter(otherwise).map(|(id, _)| *id).collect()
    }
}

//! What stands on the card of a job, in words.

use quantity::Name;

use crate::fact::row::{IntakeItem, JobField, Outcome, Role};
use crate::fate::Fate;
use crate::state::{Attempt, Job};
use crate::words::target;

/// What was written down at intake, as a heading.
#[must_use]
pub const fn told_words(told: IntakeItem) -> &'static str {
    match told {
        IntakeItem::Complaint => "what the customer says is wrong",
        IntakeItem::Asked => "what was asked for",
        IntakeItem::Limits => "limits that were agreed",
    }
}

/// What stands at the head of a job, before its value.
#[must_use]
pub const fn field_words(what: JobField) -> &'static str {
    match what {
        JobField::Serial => "serial",
        JobField::Customer => "customer",
    }
}

/// `measured by`, `checked by`, `accepted by`.
#[must_use]
pub const fn signed_words(role: Role) -> &'static str {
    match role {
        Role::Measured => "measured by",
        Role::Checked => "checked by",
        Role::Accepted => "accepted by",
    }
}

/// What stands behind a signature when something was measured or changed since.
pub const OF_AN_EARLIER_STATE: &str = "of an earlier state";

/// What became of a part: `reground`, `replaced, and the new one was ground`.
#[must_use]
pub fn outcome_words(fate: &Fate<'_>) -> &'static str {
    match (fate.outcome, fate.done.is_some()) {
        (Outcome::Kept, _) => "kept as it was found",
        (Outcome::Reground, true) => "reground",
        (Outcome::Reground, false) => "to be reground",
        (Outcome::Replaced, true) if fate.new_one_ground => "replaced, and the new one was ground",
        (Outcome::Replaced, true) => "replaced",
        (Outcome::Replaced, false) => "to be replaced",
    }
}

/// What was decided about a part and is not done yet, as a sentence.
#[must_use]
pub fn to_do(fate: &Fate<'_>, part: &str) -> Option<String> {
    let typed = super::typed(part);
    Some(match fate.to_do? {
        Outcome::Kept => return None,
        Outcome::Reground => format!(
            "No grind of {part} is on the record yet: `tenths remeasure ground {typed}/CHECK` says that it was ground."
        ),
        Outcome::Replaced => format!(
            "No new {part} is on the record yet: `tenths replace {typed} --serial S --why TEXT` says that it came."
        ),
    })
}

/// What a person measured alone, for a check by that person: `measured it, too: no second person's check`.
/// `None` where others took part in everything.
#[must_use]
pub fn own_work(job: &Job, person: &Name) -> Option<String> {
    let plan = &job.opened.plan.plan;
    let (mut own, mut others) = (Vec::new(), false);
    for at in plan.places() {
        let Some((part, check)) = plan.at(at) else { continue };
        let Some((_, attempt)) = job.newest_at(at).filter(|(_, attempt)| told(attempt)) else {
            continue;
        };
        if hands(job, attempt).all(|hand| hand == person) && hands(job, attempt).next().is_some() {
            own.push(target(part, check));
        } else {
            others = true;
        }
    }
    match (&own[..], others) {
        ([], _) => None,
        (_, false) => Some("measured it, too: no second person's check".to_owned()),
        ([one], true) => Some(format!("measured {one} alone: no second person's check of that")),
        (several, true) => Some(format!(
            "measured {} alone: no second person's check of these",
            several.join(", ")
        )),
    }
}

fn told(attempt: &Attempt) -> bool {
    attempt.verdict.is_some() || attempt.answer.is_some()
}

/// Everybody whose touches or answers an attempt rests on, those of combined tries and of both lengths of a
/// difference among them.
fn hands<'a>(job: &'a Job, attempt: &'a Attempt) -> impl Iterator<Item = &'a Name> {
    let combined = attempt.verdict.as_ref().map_or(&[][..], |(_, verdict)| &verdict.combined);
    let others = combined.iter().filter_map(|id| job.attempts.get(id));
    others.flat_map(|other| other.hands()).chain(attempt.hands())
}

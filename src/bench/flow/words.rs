//! Where a job stands, in words.

use quantity::Name;

use crate::fact::row::{Outcome, Role, Stage};
use crate::flow::{Flow, StepNow, StepState};
use crate::plan::Step;

/// The most hindrances that are named in one sentence.
const NAMED: usize = 3;

/// Nothing was written down when the job came in.
pub(super) const NOTHING_TOLD: &str = "nobody wrote down what is wrong and what was asked for";
/// The job is open.
pub(super) const NOT_CLOSED: &str = "the job is not closed";

/// The name of a step in a sentence.
#[must_use]
pub const fn step_words(step: Step) -> &'static str {
    match step {
        Step::Intake => "intake",
        Step::Teardown => "teardown",
        Step::Inspection => "inspection",
        Step::Decide => "decision",
        Step::Grind => "grind",
        Step::Pair => "pair match",
        Step::Bearings => "bearings",
        Step::Assembly => "assembly",
        Step::Nut => "nut",
        Step::RunIn => "run-in",
        Step::Final => "final inspection",
        Step::HandOver => "hand-over",
    }
}

/// How far a step is.
#[must_use]
pub const fn state_words(state: StepState) -> &'static str {
    match state {
        StepState::NotPart => "not part of this job",
        StepState::Open => "open",
        StepState::UnderWay => "under way",
        StepState::Done => "done",
        StepState::Hindered => "hindered",
    }
}

/// `grind, 3 of 5`; `done` where nothing is left.
#[must_use]
pub fn at_step(flow: &Flow) -> String {
    let Some(now) = flow.at() else { return state_words(StepState::Done).to_owned() };
    format!("{}, {} of {}", step_words(now.step), now.done, now.of)
}

/// `step 5 of 11: grind, 3 of 5`.
#[must_use]
pub fn at_step_of_all(flow: &Flow) -> String {
    let place = flow.own().position(|one| Some(one.step) == flow.now);
    let all = flow.own().count();
    match place {
        Some(place) => format!("step {} of {all}: {}", place + 1, at_step(flow)),
        None => format!("all {all} steps are done"),
    }
}

/// The steps of a job by what they are, a line each: `done: intake, teardown`.
#[must_use]
pub fn by_state(flow: &Flow) -> Vec<String> {
    let order = [StepState::Done, StepState::UnderWay, StepState::Hindered, StepState::Open];
    let one = |step: &StepNow| match step.state {
        StepState::UnderWay | StepState::Hindered => {
            format!("{} ({} of {})", step_words(step.step), step.done, step.of)
        }
        StepState::Done | StepState::Open | StepState::NotPart => step_words(step.step).to_owned(),
    };
    let line = |state: StepState| {
        let steps: Vec<String> = flow.own().filter(|own| own.state == state).map(one).collect();
        (!steps.is_empty()).then(|| format!("{}: {}", state_words(state), steps.join(", ")))
    };
    order.into_iter().filter_map(line).collect()
}

/// `Before the assembly: shield/flat does not conform, nut/face is not measured, and 2 more.`
pub(super) fn before_the_next(steps: &[StepNow], now: Step) -> Option<String> {
    let here = steps.iter().position(|one| one.step == now)?;
    let left = &steps.get(here)?.hindered_by;
    let next = steps.iter().skip(here + 1).find(|one| one.state != StepState::NotPart);
    let next = next.map_or("job is handed over", |next| step_words(next.step));
    let named: Vec<&str> = left.iter().take(NAMED).map(String::as_str).collect();
    let more = left.len().saturating_sub(NAMED);
    let more = if more > 0 { format!(", and {more} more") } else { String::new() };
    (!named.is_empty()).then(|| format!("Before the {next}: {}{more}.", named.join(", ")))
}

pub(super) fn not_on(part: &str, stage: Stage) -> String {
    match stage {
        Stage::Found => format!("{part} is not written down as it was found"),
        Stage::Built => format!("{part} is not built in"),
    }
}

pub(super) fn not_decided(part: &str) -> String {
    format!("nobody decided whether {part} is kept, reground or replaced")
}

pub(super) fn to_be(part: &str, outcome: Outcome) -> String {
    format!("{part} is to be {}", outcome.text())
}

pub(super) fn not_signed(role: Role) -> String {
    format!("nobody signed as {}", role.text())
}

pub(super) fn signed_earlier(role: Role, by: Option<&Name>) -> String {
    let by = by.map_or_else(String::new, |by| format!(" of {by}"));
    format!("the signature{by} as {} is {}", role.text(), crate::words::card::OF_AN_EARLIER_STATE)
}

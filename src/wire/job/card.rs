//! What stands on the card of a job, and where the job stands, as it is published.

use serde::Serialize;

use super::{LackLine, caller_line, lack_lines};
use ::record::{DecidedRecord, EditRecord, JobRecord, SerialRecord, SignatureRecord, ToldRecord};
use bench::Job;
use bench::fate::Fate;
use bench::flow::{Flow, StepNow, StepState};
use bench::plan::Step;
use bench::row::{IntakeItem, JobField, Outcome, Role};
use quantity::Name;

/// The step that a job is at.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(super) struct AtLine<'a> {
    /// The step that the job is at; `null` where every step is done. A list has it of open jobs.
    step: Option<Step>,
    /// What stands before the next step, as a sentence; `null` where every step is done.
    hindered_by: Option<&'a str>,
}

impl<'a> AtLine<'a> {
    pub(super) fn of(flow: &'a Flow) -> Self {
        Self { step: flow.now, hindered_by: flow.hindered_by.as_deref() }
    }
}

/// One step of a job.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(super) struct StepLine<'a> {
    /// Which.
    step: Step,
    /// How far it is.
    state: StepState,
    /// How many of its tasks are done.
    done: u32,
    /// How many tasks it has: its checks, its parts, its signatures.
    of: u32,
    /// What is not done or not in order, the worst first.
    hindered_by: &'a [String],
}

/// A part, and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part"))
)]
pub struct PartNow {
    /// The part.
    part: String,
    /// Its serial number, as it is now.
    serial: Option<String>,
    /// What becomes of it: what was done, otherwise what was decided; `null` where neither is on the record.
    outcome: Option<Outcome>,
    /// Whether that is done: a grind or a replacement is on the record.
    done: bool,
    /// What was decided and is not done yet.
    to_do: Option<Outcome>,
    /// Why, as the person said who decided it. A replacement has its reason in `replaced`.
    why: Option<String>,
}

/// Every part of a job's plan, and what became of it.
#[must_use]
pub fn parts_now(job: &Job) -> Vec<PartNow> {
    let parts = (0_u16..).zip(&job.opened.plan.plan.parts);
    let one = |(index, part): (u16, &bench::plan::Part)| {
        let fate = Fate::of(job, index);
        PartNow {
            part: part.name.to_string(),
            serial: job.serial_of(index).map(str::to_owned),
            outcome: fate.map(|fate| fate.outcome),
            done: fate.is_some_and(|fate| fate.done.is_some()),
            to_do: fate.and_then(|fate| fate.to_do),
            why: fate.and_then(|fate| fate.why()).map(str::to_owned),
        }
    };
    parts.map(one).collect()
}

/// A signature.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct SignatureLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// What for.
    role: Role,
    /// Who signed.
    by: &'a str,
    /// The seal of what was signed, as it is printed.
    seal: &'a str,
    /// Whether something was measured or changed since.
    of_an_earlier_state: bool,
    /// Whether it was given on another bench, so that its seal cannot be checked here.
    from_elsewhere: bool,
    /// The checks that spoke against it.
    checks: Vec<LackLine<'a>>,
    /// Why it was signed all the same.
    why: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<crate::CallerLine>,
}

/// What was said when a job came in, or agreed since.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct IntakeLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// What it is about.
    what: IntakeItem,
    /// The words.
    text: &'a str,
    /// Who wrote it down.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<crate::CallerLine>,
}

/// What was mistyped at the head of the job, and is corrected.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct EditLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// What it is.
    what: JobField,
    /// As it was before; `null` where nothing stood there.
    was: Option<&'a str>,
    /// As it is since.
    text: &'a str,
    /// Why.
    why: Option<&'a str>,
    /// Who corrected it.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<crate::CallerLine>,
}

/// What was decided about a part.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
struct DecidedLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// The part.
    part: &'a str,
    /// What becomes of it.
    outcome: Outcome,
    /// Why.
    why: &'a str,
    /// Who decided it.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<crate::CallerLine>,
}

/// The serial number of a part, as it was written down.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
struct SerialLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// The part.
    part: &'a str,
    /// The number.
    serial: &'a str,
    /// Who wrote it down.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<crate::CallerLine>,
}

/// What is added where a single job is shown.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(super) struct CardLine<'a> {
    /// The twelve steps of the job, in order.
    steps: Vec<StepLine<'a>>,
    /// The parts of its plan, and what became of each.
    parts: &'a [PartNow],
    /// What was said when it came in, or agreed since, oldest first: the newest of each counts.
    intake: Vec<IntakeLine<'a>>,
    /// What was corrected at its head, oldest first; `serial` and `customer` are as the newest says.
    edits: Vec<EditLine<'a>>,
    /// What was decided about parts, oldest first.
    decided: Vec<DecidedLine<'a>>,
    /// The serial numbers that were written down for parts, oldest first.
    serials: Vec<SerialLine<'a>>,
    /// Its signatures, oldest first.
    signed: Vec<SignatureLine<'a>>,
}

impl<'a> CardLine<'a> {
    pub(super) fn of(record: &'a JobRecord, parts: &'a [PartNow]) -> Self {
        let step = |one: &'a StepNow| StepLine {
            step: one.step,
            state: one.state,
            done: one.done,
            of: one.of,
            hindered_by: &one.hindered_by,
        };
        let intake = |one: &'a ToldRecord| IntakeLine {
            at: one.at.to_string(),
            what: one.what,
            text: &one.text,
            by: one.by.as_ref().map(Name::as_str),
            caller: caller_line(one.caller.as_ref()),
        };
        let edit = |one: &'a EditRecord| EditLine {
            at: one.at.to_string(),
            what: one.what,
            was: one.was.as_deref(),
            text: &one.text,
            why: one.why.as_deref(),
            by: one.by.as_ref().map(Name::as_str),
            caller: caller_line(one.caller.as_ref()),
        };
        let decided = |one: &'a DecidedRecord| DecidedLine {
            at: one.at.to_string(),
            part: one.part.as_str(),
            outcome: one.outcome,
            why: &one.why,
            by: one.by.as_ref().map(Name::as_str),
            caller: caller_line(one.caller.as_ref()),
        };
        let serial = |one: &'a SerialRecord| SerialLine {
            at: one.at.to_string(),
            part: one.part.as_str(),
            serial: &one.serial,
            by: one.by.as_ref().map(Name::as_str),
            caller: caller_line(one.caller.as_ref()),
        };
        let steps = record.flow.iter().flat_map(|flow| &flow.steps);
        Self {
            steps: steps.map(step).collect(),
            parts,
            intake: record.told.iter().map(intake).collect(),
            edits: record.edits.iter().map(edit).collect(),
            decided: record.decided.iter().map(decided).collect(),
            serials: record.serials.iter().map(serial).collect(),
            signed: record.signed.iter().map(SignatureLine::of).collect(),
        }
    }
}

impl<'a> SignatureLine<'a> {
    fn of(one: &'a SignatureRecord) -> Self {
        Self {
            at: one.at.to_string(),
            role: one.role,
            by: one.by.as_str(),
            seal: &one.seal,
            of_an_earlier_state: one.earlier,
            from_elsewhere: one.elsewhere,
            checks: lack_lines(&one.lacking),
            why: one.why.as_deref(),
            caller: caller_line(one.caller.as_ref()),
        }
    }
}

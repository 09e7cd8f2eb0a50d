//! The results of requests about the card of a job.

use serde::Serialize;

use super::done::DoneLine;
use bench::row::{JobField, Outcome, Role};
use bench::words::card::{field_words, signed_words, told_words};
use bench::{Done, Edit};

/// A signature, just given.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(crate) struct SignedLine<'a> {
    /// The number of the job.
    job_id: u64,
    /// Who signed.
    by: &'a str,
    /// The message for a person to read.
    text: String,
    /// What for.
    role: Role,
    /// The seal of what was signed, as it is printed.
    seal: &'a str,
    /// What a reader of the signature has to know.
    mind: &'a [String],
}

/// The result of a request about the card of a job.
pub(super) fn of_card(done: &Done) -> DoneLine<'_> {
    if let Done::Told { name, told } = done {
        let what: Vec<&str> = told.iter().map(|what| told_words(*what)).collect();
        let text = format!("Written down for job {name}: {}.", what.join(", "));
        return DoneLine::Intake { job: name.as_str(), told, text };
    }
    if let Done::Decided { part, outcome, mind } = done {
        let text = decided(part.as_str(), *outcome, mind.as_deref());
        return DoneLine::Decided { part: part.as_str(), outcome: *outcome, text };
    }
    if let Done::Serial { part, serial, before } = done {
        let before = before.as_deref();
        let was = before.map_or_else(String::new, |before| format!(" It was {before} before."));
        let text = format!("{part} has the serial number {serial} from now on.{was}");
        return DoneLine::Serial { part: part.as_str(), serial, before, text };
    }
    if let Done::Edited { name, edits } = done {
        let of = |what| edits.iter().find(|edit| edit.what == what).map(|edit| edit.now.as_str());
        let (serial, customer) = (of(JobField::Serial), of(JobField::Customer));
        let text = edited(name.as_str(), edits);
        return DoneLine::Edited { job: name.as_str(), serial, customer, text };
    }
    let Done::Signed { job, role, by, seal, mind } = done else {
        unreachable!("these five alone are about the card")
    };
    let first = format!("Written down: {} {by}.", signed_words(*role));
    let text = [&[first], &mind[..]].concat().join(" ");
    let line = SignedLine { job_id: job.0, by: by.as_str(), text, role: *role, seal, mind };
    if *role == Role::Checked { DoneLine::Checked(line) } else { DoneLine::Signed(line) }
}

fn edited(job: &str, edits: &[Edit]) -> String {
    let one = |edit: &Edit| {
        let was = edit.was.as_ref().map_or_else(String::new, |was| format!(", was {was}"));
        format!("{} {}{was}", field_words(edit.what), edit.now)
    };
    let all: Vec<String> = edits.iter().map(one).collect();
    format!(
        "Corrected for job {job}: {}. What was written first stays in the record.",
        all.join("; ")
    )
}

fn decided(part: &str, outcome: Outcome, mind: Option<&str>) -> String {
    let is = match outcome {
        Outcome::Kept => "is kept as it was found",
        Outcome::Reground => "is reground",
        Outcome::Replaced => "is replaced",
    };
    let more = mind.map_or_else(String::new, |mind| format!(" {mind}"));
    format!("Written down: {part} {is}.{more}")
}

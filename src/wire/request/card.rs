//! Requests about what stands on the card of a job.

use serde_json::{Value, json};

use bench::Command;
use bench::row::{IntakeItem, JobField, Outcome, Role};

use super::Fields;
use judgement::Rule;

/// A request about the card of a job; `None` where it is another.
pub(super) fn command(what: &str, fields: &mut Fields) -> Result<Option<Command>, String> {
    Ok(Some(match what {
        // A check by a second person is a signature.
        "checked" => Command::Sign {
            job: fields.text("job")?,
            role: Role::Checked,
            why: fields.maybe_text("why")?,
            known: None,
        },
        "sign" => Command::Sign {
            job: fields.text("job")?,
            role: role(&fields.text("role")?)?,
            why: fields.maybe_text("why")?,
            known: None,
        },
        "decide" => Command::Decide {
            part: fields.text("part")?,
            outcome: outcome(&fields.text("outcome")?)?,
            why: fields.text("why")?,
        },
        "serial" => Command::Serial { part: fields.text("part")?, serial: fields.text("serial")? },
        _ => return Ok(None),
    }))
}

fn role(text: &str) -> Result<Role, String> {
    Role::parse(text)
        .ok_or_else(|| format!("\"role\" is measured, checked or accepted, not {text:?}"))
}

fn outcome(text: &str) -> Result<Outcome, String> {
    Outcome::parse(text)
        .ok_or_else(|| format!("\"outcome\" is kept, reground or replaced, not {text:?}"))
}

/// What was said when a job came in.
pub(super) fn told(fields: &mut Fields) -> Result<Vec<(IntakeItem, String)>, String> {
    let mut told = Vec::new();
    for what in IntakeItem::ALL {
        told.extend(fields.maybe_text(what.text())?.map(|text| (what, text)));
    }
    Ok(told)
}

/// A correction at the head of a job.
pub(super) fn edit(fields: &mut Fields) -> Result<Command, String> {
    let (name, why) = (fields.text("name")?, fields.maybe_text("why")?);
    let mut edits = Vec::new();
    for what in JobField::ALL {
        edits.extend(fields.maybe_text(what.text())?.map(|text| (what, text)));
    }
    Ok(Command::JobEdit { name, edits, why, found: None })
}

/// The JSON object of such a request, and of one that opens a job; `None` for any other.
pub(super) fn object(command: &Command) -> Option<Value> {
    if let Command::JobOpen { name, used: _, plan, serial, customer, told, rule } = command {
        let opens = json!({
            "request": "job-open", "name": name, "plan": plan, "serial": serial,
            "customer": customer, "rule": rule.map(Rule::text),
        });
        return Some(with_told(opens, told));
    }
    if let Command::JobIntake { name, told } = command {
        return Some(with_told(json!({"request": "job-intake", "name": name}), told));
    }
    if let Command::JobEdit { name, edits, why, found: _ } = command {
        let mut object = json!({"request": "job-edit", "name": name, "why": why});
        for (what, text) in edits {
            object[what.text()] = json!(text);
        }
        return Some(object);
    }
    if let Command::Sign { job, role, why, known: _ } = command {
        return Some(json!({"request": "sign", "job": job, "role": role.text(), "why": why}));
    }
    if let Command::Decide { part, outcome, why } = command {
        let outcome = outcome.text();
        return Some(json!({"request": "decide", "part": part, "outcome": outcome, "why": why}));
    }
    let Command::Serial { part, serial } = command else { return None };
    Some(json!({"request": "serial", "part": part, "serial": serial}))
}

/// A request together with what was said.
fn with_told(mut object: Value, told: &[(IntakeItem, String)]) -> Value {
    for (what, text) in told {
        object[what.text()] = json!(text);
    }
    object
}

/// Requests of each kind, for tests.
#[cfg(test)]
pub(super) fn commands() -> Vec<Command> {
    let signs = Role::ALL.map(|role| Command::Sign {
        job: "J-1042".to_owned(),
        role,
        why: (role == Role::Accepted).then(|| "agreed \"by phone\"".to_owned()),
        known: None,
    });
    let decides = Outcome::ALL.map(|outcome| Command::Decide {
        part: "spindle".to_owned(),
        outcome,
        why: "seat fretted".to_owned(),
    });
    let serial = Command::Serial { part: "front".to_owned(), serial: "B7/Ø".to_owned() };
    let edit = |edits: Vec<(JobField, String)>, why: Option<&str>| Command::JobEdit {
        name: "J-1042".to_owned(),
        edits,
        why: why.map(str::to_owned),
        found: None,
    };
    let both = JobField::ALL.map(|what| (what, "Müller \"& Co\"".to_owned())).to_vec();
    let one = vec![(JobField::Customer, "Mill 4".to_owned())];
    let edits = [edit(both, Some("read wrongly")), edit(one, None)];
    signs.into_iter().chain(decides).chain([serial]).chain(edits).collect()
}

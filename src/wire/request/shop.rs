//! Requests about gauges and what they are proved with.

use serde_json::{Value, json};

use bench::Command;
use bench::event::RegisterAsked;
use bench::row::Equipment;

use super::Fields;

/// A request about a gauge; `None` where it is another.
pub(super) fn command(what: &str, fields: &mut Fields) -> Result<Option<Command>, String> {
    Ok(Some(match what {
        "prove" => Command::Prove {
            gauge: fields.text("gauge")?,
            step: fields.maybe_text("step")?,
            blocks: fields.two_texts("blocks")?,
            step_only: fields.flag("step_only")?,
        },
        "prove-stop" => {
            Command::ProveStop { gauge: fields.text("gauge")?, why: fields.maybe_text("why")? }
        }
        "register" => Command::Register(Box::new(RegisterAsked {
            what: equipment(&fields.text("what")?)?,
            name: fields.text("name")?,
            serial: fields.maybe_text("serial")?,
            certificate: fields.maybe_text("certificate")?,
            dated: fields.maybe_text("dated")?,
            due: fields.maybe_text("due")?,
            size: fields.maybe_text("size")?,
            runout: fields.maybe_text("runout")?,
            uncertainty: fields.maybe_text("uncertainty")?,
            expanded: fields.maybe_text("expanded")?,
        })),
        "retire" => Command::Retire { name: fields.text("name")?, why: fields.text("why")? },
        _ => return Ok(None),
    }))
}

fn equipment(text: &str) -> Result<Equipment, String> {
    Equipment::parse(text)
        .ok_or_else(|| format!("\"what\" is gauge, master, block or bar, not {text:?}"))
}

/// The JSON object of such a request; `None` for any other.
pub(super) fn object(command: &Command) -> Option<Value> {
    if let Command::Prove { gauge, step, blocks, step_only } = command {
        let blocks = blocks.as_ref().map(|(low, high)| [low, high]);
        return Some(json!({
            "request": "prove", "gauge": gauge, "step": step, "blocks": blocks,
            "step_only": step_only,
        }));
    }
    if let Command::Register(asked) = command {
        let RegisterAsked {
            what,
            name,
            serial,
            certificate,
            dated,
            due,
            size,
            runout,
            uncertainty,
            expanded,
        } = &**asked;
        return Some(json!({
            "request": "register", "what": what.text(), "name": name, "serial": serial,
            "certificate": certificate, "dated": dated, "due": due, "size": size, "runout": runout,
            "uncertainty": uncertainty, "expanded": expanded,
        }));
    }
    if let Command::Retire { name, why } = command {
        return Some(json!({"request": "retire", "name": name, "why": why}));
    }
    let Command::ProveStop { gauge, why } = command else { return None };
    Some(json!({"request": "prove-stop", "gauge": gauge, "why": why}))
}

/// One of each, for tests.
#[cfg(test)]
pub(super) fn commands() -> Vec<Command> {
    let some = |text: &str| Some(text.to_owned());
    vec![
        Command::Prove {
            gauge: "plate".to_owned(),
            step: some("0.002 in"),
            blocks: None,
            step_only: true,
        },
        Command::Prove {
            gauge: "plate".to_owned(),
            step: None,
            blocks: Some(("b1".to_owned(), "b2 \"old\"".to_owned())),
            step_only: false,
        },
        Command::Register(Box::new(RegisterAsked {
            what: Equipment::Block,
            name: "b-1000".to_owned(),
            serial: some("Z \"17\""),
            certificate: some("C-118"),
            dated: some("2026-03-01"),
            due: some("2027-03-01"),
            size: some("0.1000 in"),
            runout: some("0.00002 in"),
            uncertainty: None,
            expanded: some("-1"),
        })),
        Command::Retire { name: "bar-3".to_owned(), why: "bent".to_owned() },
        Command::ProveStop { gauge: "plate".to_owned(), why: some("phone") },
        Command::ProveStop { gauge: "plate".to_owned(), why: None },
    ]
}

//! Requests about gauges and what they are proved with.

use serde_json::{Value, json};

use bench::Command;

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
        _ => return Ok(None),
    }))
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
        Command::ProveStop { gauge: "plate".to_owned(), why: some("phone") },
        Command::ProveStop { gauge: "plate".to_owned(), why: None },
    ]
}

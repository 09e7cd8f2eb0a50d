//! Requests about the stack on the shaft.

use serde_json::{Value, json};

use bench::Command;
use bench::row::Stage;

use super::Fields;

/// A request about the stack.
pub(super) fn command(what: &str, fields: &mut Fields) -> Result<Command, String> {
    Ok(match what {
        "stack-place" => Command::StackPlace {
            stage: stage(&fields.text("stage")?)?,
            part: fields.text("part")?,
            towards_nose: fields.maybe_text("towards_nose")?,
            mark_deg: fields.degrees("mark_deg")?,
            serial: fields.maybe_text("serial")?,
            why: fields.maybe_text("why")?,
        },
        "stack-spot" => Command::StackSpot {
            part: fields.text("part")?,
            deg: fields.degrees("deg")?,
            low: fields.flag("low")?,
            amount: fields.maybe_text("amount")?,
            uncertainty: fields.maybe_text("uncertainty")?,
            towards_nose: fields.maybe_text("towards_nose")?,
        },
        _ => Command::StackBack { stage: stage(&fields.text("stage")?)? },
    })
}

fn stage(text: &str) -> Result<Stage, String> {
    Stage::parse(text).ok_or_else(|| format!("\"stage\" is found or built, not {text:?}"))
}

/// The JSON object of such a request.
pub(super) fn object(command: &Command) -> Value {
    if let Command::StackPlace { stage, part, towards_nose, mark_deg, serial, why } = command {
        return json!({
            "request": "stack-place", "stage": stage.text(), "part": part,
            "towards_nose": towards_nose, "mark_deg": mark_deg, "serial": serial, "why": why,
        });
    }
    if let Command::StackSpot { part, deg, low, amount, uncertainty, towards_nose } = command {
        return json!({
            "request": "stack-spot", "part": part, "deg": deg, "low": low, "amount": amount,
            "uncertainty": uncertainty, "towards_nose": towards_nose,
        });
    }
    let Command::StackBack { stage } = command else { return Value::Null };
    json!({"request": "stack-back", "stage": stage.text()})
}

/// One of each, for tests.
#[cfg(test)]
pub(super) fn commands() -> Vec<Command> {
    let some = |text: &str| Some(text.to_owned());
    vec![
        Command::StackPlace {
            stage: Stage::Found,
            part: "bearing-1".to_owned(),
            towards_nose: some("thrust-side"),
            mark_deg: Some(359),
            serial: some("B7"),
            why: None,
        },
        Command::StackPlace {
            stage: Stage::Built,
            part: "shield".to_owned(),
            towards_nose: None,
            mark_deg: None,
            serial: None,
            why: some("as it was found"),
        },
        Command::StackSpot {
            part: "bearing-1".to_owned(),
            deg: Some(210),
            low: true,
            amount: some("0.00004 in"),
            uncertainty: None,
            towards_nose: some("thrust-side"),
        },
        Command::StackBack { stage: Stage::Found },
        Command::StackBack { stage: Stage::Built },
    ]
}

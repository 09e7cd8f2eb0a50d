//! Requests about pictures and papers of a job.

use serde_json::{Value, json};

use bench::event::AttachAsked;
use bench::{Command, Seq};

use super::{Fields, missing};

/// A request about an attachment; `None` where it is another.
pub(super) fn command(what: &str, fields: &mut Fields) -> Result<Option<Command>, String> {
    Ok(Some(match what {
        "attach" => Command::Attach(Box::new(AttachAsked {
            job: fields.text("job")?,
            to: fields.maybe_text("to")?,
            what: fields.text("what")?,
            name: fields.text("name")?,
            digest: digest(&fields.text("digest")?)?,
            bytes: fields.number("bytes")?.ok_or_else(|| missing("bytes"))?,
            found: None,
        })),
        "attach-take-back" => Command::TakeAttachedBack {
            job: fields.text("job")?,
            id: Seq(fields.number("id")?.ok_or_else(|| missing("id"))?),
            why: fields.text("why")?,
        },
        _ => return Ok(None),
    }))
}

fn digest(text: &str) -> Result<[u8; 32], String> {
    let found = quantity::from_hexadecimal(text);
    found.ok_or_else(|| {
        "\"digest\" is the BLAKE3 of the file, 64 digits 0 to 9 and a to f".to_owned()
    })
}

/// The JSON object of such a request; `None` for any other.
pub(super) fn object(command: &Command) -> Option<Value> {
    if let Command::Attach(asked) = command {
        let AttachAsked { job, to, what, name, digest, bytes, found: _ } = &**asked;
        return Some(json!({
            "request": "attach", "job": job, "to": to, "what": what, "name": name,
            "digest": quantity::hexadecimal(digest), "bytes": bytes,
        }));
    }
    let Command::TakeAttachedBack { job, id, why } = command else { return None };
    Some(json!({"request": "attach-take-back", "job": job, "id": id.0, "why": why}))
}

/// One of each, for tests.
#[cfg(test)]
pub(super) fn commands() -> Vec<Command> {
    let asked = |to: Option<&str>| AttachAsked {
        job: "J-1042".to_owned(),
        to: to.map(str::to_owned),
        what: "pitting on \"race\"".to_owned(),
        name: "Bild 7 Ø.jpg".to_owned(),
        digest: [0xa5; 32],
        bytes: 20_000_000,
        found: None,
    };
    vec![
        Command::Attach(Box::new(asked(None))),
        Command::Attach(Box::new(asked(Some("bearing-1/bore")))),
        Command::TakeAttachedBack {
            job: "J-1042".to_owned(),
            id: Seq(44),
            why: "blurred".to_owned(),
        },
    ]
}

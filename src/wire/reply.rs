//! Replies: each is one line with a JSON object, the result of a request.

mod card;
mod done;
mod papers;
mod words;

use serde::{Deserialize, Serialize};

use bench::{Done, Refusal};

use super::text::json_text;

pub(crate) use done::DoneLine;
pub use words::{Next, next_words};

/// The version of the protocol on the socket.
pub const PROTOCOL: u32 = 1;

/// The first line of a new connection.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("hello/1"))
)]
pub(crate) struct Hello {
    /// The name of this shape: `hello/1`.
    schema: &'static str,
    /// The version of the program.
    version: &'static str,
    /// The version of the protocol that follows.
    protocol: u32,
}

/// The service waits for the bytes of a file, and for nothing else. What comes next is its reply.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("send/1"))
)]
pub(crate) struct SendLine {
    /// The name of this shape: `send/1`.
    schema: &'static str,
    /// How many bytes.
    bytes: u64,
}

/// The line that asks for the bytes of a file.
#[must_use]
pub fn send_line(bytes: u64) -> String {
    json_text(&SendLine { schema: SEND, bytes })
}

const SEND: &str = "send/1";

/// Whether a line asks for the bytes of a file.
#[must_use]
pub fn asks_for_bytes(line: &str) -> bool {
    #[derive(Deserialize)]
    struct Head {
        schema: String,
    }
    serde_json::from_str::<Head>(line).is_ok_and(|head| head.schema == SEND)
}

/// The first line of a new connection.
#[must_use]
pub fn hello_line() -> String {
    let version = env!("CARGO_PKG_VERSION");
    json_text(&Hello { schema: "hello/1", version, protocol: PROTOCOL })
}

/// The reply to a request that may change something, as one line without its line end. `text` is the
/// message for the person who asked.
#[must_use]
pub fn reply_line(outcome: &Result<Done, Refusal>) -> String {
    match outcome {
        Ok(done) => json_text(&DoneLine::from(done)),
        Err(refusal) => error_line(&refusal.text, refusal.hint.as_deref(), refusal.exit),
    }
}

/// A refusal as one line without its line end; `exit` is the exit code of the client.
#[must_use]
pub fn error_line(text: &str, hint: Option<&str>, exit: u8) -> String {
    ErrorLine { exit, code: code_of(exit), text, hint, place: None }.line()
}

quantity::worded! {
    /// What kind of error it is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum ErrorKind {
        /// The answer is no.
        No = "no",
        /// It was asked for something that cannot be done.
        Refused = "refused",
        /// It was typed wrongly.
        Usage = "usage",
        /// The configuration has an error.
        Configuration = "configuration",
        /// The service or the record cannot be reached.
        Unreachable = "unreachable",
    }
}

/// An error for scripts: on the socket, and on standard error with `--json`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ErrorLine<'a> {
    /// The exit code of the program.
    pub exit: u8,
    /// The kind of error: `no`, `refused`, `usage`, `configuration`, `unreachable`.
    pub code: ErrorKind,
    /// What went wrong.
    pub text: &'a str,
    /// What to do.
    pub hint: Option<&'a str>,
    /// The file concerned, and the line in it.
    pub place: Option<(&'a str, Option<u32>)>,
}

/// A place in a file.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct FilePlace<'a> {
    /// The file.
    file: &'a str,
    /// The line, counted from 1; `null` where no single line is concerned.
    line: Option<u32>,
}

/// An error.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("error/1"))
)]
pub(crate) struct Refused<'a> {
    /// The name of this shape: `error/1`.
    schema: &'static str,
    /// The exit code of the program.
    exit: u8,
    /// What kind of error it is.
    code: ErrorKind,
    /// What went wrong.
    text: &'a str,
    /// What to do; `null` where `text` says it.
    hint: Option<&'a str>,
    /// The file concerned, and the line in it; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    place: Option<FilePlace<'a>>,
}

impl ErrorLine<'_> {
    /// The error as one line, without its line end.
    #[must_use]
    pub fn line(&self) -> String {
        let Self { exit, code, text, hint, place } = *self;
        let place = place.map(|(file, line)| FilePlace { file, line });
        json_text(&Refused { schema: "error/1", exit, code, text, hint, place })
    }
}

/// The kind of error for an exit code.
#[must_use]
pub const fn code_of(exit: u8) -> ErrorKind {
    match exit {
        1 => ErrorKind::No,
        3 => ErrorKind::Unreachable,
        _ => ErrorKind::Refused,
    }
}

/// A reply as the client sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reply {
    /// The line as it arrived, for scripts.
    pub line: String,
    /// Its schema.
    pub schema: String,
    /// The message for a person to read.
    pub text: String,
    /// What to do, after a refusal.
    pub hint: Option<String>,
    /// The exit code: 0 unless the request was refused.
    pub exit: u8,
}

impl Reply {
    /// Reads a reply line.
    ///
    /// # Errors
    /// A sentence, if it is no reply.
    pub fn parse(line: &str) -> Result<Self, String> {
        #[derive(Deserialize)]
        struct Shape {
            schema: String,
            #[serde(default)]
            text: String,
            hint: Option<String>,
            exit: Option<u8>,
        }
        let shape: Shape = serde_json::from_str(line)
            .map_err(|error| format!("the service sent what cannot be read: {error}"))?;
        let exit = if shape.schema == "error/1" { shape.exit.unwrap_or(2).max(1) } else { 0 };
        Ok(Self {
            line: line.to_owned(),
            schema: shape.schema,
            text: shape.text,
            hint: shape.hint,
            exit,
        })
    }
}

#[cfg(test)]
mod tests;

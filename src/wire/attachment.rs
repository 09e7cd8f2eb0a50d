//! `attachment/1`.

use serde::Serialize;

use ::record::{AttachmentRecord, PaperWrong};
use bench::row::PaperType;

use super::CallerLine;
use super::text::json_text;

/// A picture or a paper of a job.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("attachment/1").of(::words::schema::time, "at").of(::words::schema::name, "job part check"))
)]
pub(crate) struct AttachmentLine<'a> {
    /// The name of this shape: `attachment/1`.
    schema: &'static str,
    /// Its number in the record; later ones have higher numbers.
    id: u64,
    /// When it was attached, RFC 3339, UTC.
    at: String,
    /// Who attached it.
    by: Option<&'a str>,
    /// The job.
    job: &'a str,
    /// The part that it shows; `null` where it is of the whole job.
    part: Option<&'a str>,
    /// The check that it is of; `null` where it is of the whole part.
    check: Option<&'a str>,
    /// What it shows.
    what: &'a str,
    /// The name of the file that was attached.
    name: &'a str,
    /// Its type, by its bytes.
    #[serde(rename = "type")]
    kind: PaperType,
    /// Its bytes.
    bytes: u64,
    /// BLAKE3 of its bytes, in hexadecimal.
    digest: String,
    /// Where its file is kept. It is the original: place and maker data are in it.
    path: String,
    /// What is wrong with that file: missing, or of another size; `null` where nothing is. It is not read for
    /// this: `verify` reads it.
    wrong: Option<String>,
    /// That it was taken back; `null` where it was not.
    taken_back: Option<TakenBackLine<'a>>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<CallerLine>,
}

/// That an attachment was taken back. Its file is kept.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct TakenBackLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// Who did it.
    by: Option<&'a str>,
    /// Why.
    why: &'a str,
}

/// The line of an attachment, with where its file is and what is wrong with it.
#[must_use]
pub fn attachment_line(
    job: &str,
    one: &AttachmentRecord,
    (path, wrong): (&str, Option<&PaperWrong>),
) -> String {
    let paper = &one.attached.paper;
    json_text(&AttachmentLine {
        schema: "attachment/1",
        id: one.id.0,
        at: one.at.to_string(),
        by: one.by.as_ref().map(quantity::Name::as_str),
        job,
        part: one.part.as_ref().map(quantity::Name::as_str),
        check: one.check.as_ref().map(quantity::Name::as_str),
        what: &one.attached.what,
        name: &one.attached.name,
        kind: paper.kind,
        bytes: paper.bytes,
        digest: paper.kept_as(),
        path: path.to_owned(),
        wrong: wrong.map(ToString::to_string),
        taken_back: one.taken_back.as_ref().map(|back| TakenBackLine {
            at: back.at.to_string(),
            by: back.by.as_ref().map(quantity::Name::as_str),
            why: &back.why,
        }),
        caller: one.caller.as_ref().map(CallerLine::from),
    })
}

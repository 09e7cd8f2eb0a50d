//! `explained/1`.

use bench::words::{Explained, WordOf};
use serde::Serialize;

use super::text::json_text;

/// A word of an alert, a verdict or a plan, explained.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("explained/1"))
)]
pub(crate) struct ExplainedLine<'a> {
    /// The name of this shape: `explained/1`.
    schema: &'static str,
    /// The word.
    word: &'a str,
    /// What it is a word of.
    of: WordOf,
    /// What it means.
    means: &'a str,
    /// What to do about it, with commands in backquotes; `null` where there is nothing to do.
    remedy: Option<&'a str>,
}

/// A word as one line of JSON, without its line end.
#[must_use]
pub fn explained_line(one: &Explained) -> String {
    let Explained { word, of, means, remedy } = *one;
    json_text(&ExplainedLine { schema: "explained/1", word, of, means, remedy })
}

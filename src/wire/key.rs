//! `key/1`.

use bench::plan::keys::{About, MUST};
use config::keys::Section;
use serde::Serialize;

use super::text::json_text;

/// A key of a file that people write.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("key/1"))
)]
pub(crate) struct KeyLine<'a> {
    /// The name of this shape: `key/1`.
    schema: &'static str,
    /// The word by which its table is asked for: `bench`, `gauge`, `check`, a kind of check.
    table: &'a str,
    /// How the head of the table is written; `null` for the keys at the top of a file.
    head: Option<&'a str>,
    /// The key; one inside a table of that table with its name in front: `columns.value`.
    key: &'a str,
    /// What it says, with words in backquotes as they are written.
    says: &'a str,
    /// Whether it always has to be written.
    required: bool,
    /// What counts where it is left out; `null` where then nothing is said, or where it is required.
    left_out: Option<&'a str>,
}

/// A key as one line of JSON, without its line end.
#[must_use]
pub fn key_line(section: &Section, about: &About) -> String {
    let required = about.left_out == MUST;
    json_text(&KeyLine {
        schema: "key/1",
        table: section.word,
        head: Some(section.head).filter(|head| !head.is_empty()),
        key: about.key,
        says: about.says,
        required,
        left_out: Some(about.left_out).filter(|text| !text.is_empty() && !required),
    })
}

//! `finding/1`.

use serde::Serialize;

use config::{Excerpt, Finding, Level};

use super::text::json_text;

/// A finding about a file a person wrote.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("finding/1"))
)]
pub(crate) struct FindingLine<'a> {
    /// The name of this shape: `finding/1`.
    schema: &'static str,
    /// How bad it is.
    level: Level,
    /// The file.
    file: &'a str,
    /// Its line, counted from 1; `null` where the finding is about no single line.
    line: Option<u32>,
    /// What is wrong.
    text: &'a str,
    /// What to do; `null` where `text` says it.
    hint: Option<&'a str>,
    /// The line as it stands in the file; of a very long one the part around the place. `null` where no line is
    /// meant.
    excerpt: Option<&'a str>,
    /// The column where the place begins, in characters counted from 1.
    from: Option<u32>,
    /// The column behind its end.
    to: Option<u32>,
}

/// A finding as one line of JSON, without its line end.
#[must_use]
pub fn finding_line(finding: &Finding) -> String {
    let excerpt = finding.excerpt.as_deref();
    let from = excerpt.map(|excerpt| excerpt.column);
    let many = |excerpt: &Excerpt| u32::try_from(excerpt.marked.len()).unwrap_or(u32::MAX);
    json_text(&FindingLine {
        schema: "finding/1",
        level: finding.level,
        file: &finding.file,
        line: finding.line,
        text: &finding.text,
        hint: Some(finding.hint.as_str()).filter(|hint| !hint.is_empty()),
        excerpt: excerpt.map(|excerpt| excerpt.text.as_str()),
        from,
        to: from.zip(excerpt).map(|(from, excerpt)| from.saturating_add(many(excerpt))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_names_file_line_and_remedy() {
        let finding = Finding {
            file: "bench.toml".to_owned(),
            line: Some(12),
            level: Level::Error,
            text: "unknown key \"bauds\"".to_owned(),
            hint: String::new(),
            excerpt: Excerpt::of_line("bauds = 1", 1, "unknown key \"bauds\"").map(Box::new),
        };
        assert_eq!(
            finding_line(&finding),
            r#"{"schema":"finding/1","level":"error","file":"bench.toml","line":12,"text":"unknown key \"bauds\"","hint":null,"excerpt":"bauds = 1","from":1,"to":6}"#
        );
    }
}

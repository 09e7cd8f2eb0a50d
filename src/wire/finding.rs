//! `finding/1`.

use serde::Serialize;

use config::Finding;

use super::text::json_text;

/// A finding about a file a person wrote, as one line of JSON without its end.
#[must_use]
pub fn finding_line(finding: &Finding) -> String {
    #[derive(Serialize)]
    struct Shape<'a> {
        schema: &'static str,
        level: String,
        file: &'a str,
        line: Option<u32>,
        text: &'a str,
        hint: Option<&'a str>,
    }
    json_text(&Shape {
        schema: "finding/1",
        level: finding.level.to_string(),
        file: &finding.file,
        line: finding.line,
        text: &finding.text,
        hint: Some(finding.hint.as_str()).filter(|hint| !hint.is_empty()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::Level;

    #[test]
    fn a_finding_names_file_line_and_remedy() {
        let finding = Finding {
            file: "bench.toml".to_owned(),
            line: Some(12),
            level: Level::Error,
            text: "unknown key \"bauds\"".to_owned(),
            hint: String::new(),
        };
        assert_eq!(
            finding_line(&finding),
            r#"{"schema":"finding/1","level":"error","file":"bench.toml","line":12,"text":"unknown key \"bauds\"","hint":null}"#
        );
    }
}

//! What is wrong with a file that a person wrote: where it is, and what to do about it.

use std::fmt;

use crate::excerpt::Excerpt;

quantity::worded! {
    /// How bad a finding is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Level {
        /// The file is refused.
        Error = "error",
        /// The file works, but probably not as meant.
        Warning = "warning",
    }
}

/// One thing that a person should correct in one of their files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The file as the person knows it, such as `profiles/x.toml`.
    pub file: String,
    /// The line, counted from 1, where it is known.
    pub line: Option<u32>,
    /// Error or warning.
    pub level: Level,
    /// What is wrong, as one sentence without its full stop.
    pub text: String,
    /// What to do, without its full stop; empty where the text says so already.
    pub hint: String,
    /// The line with the place that is meant, where there is one.
    pub excerpt: Option<Box<Excerpt>>,
}

impl Finding {
    /// Whether the file must be refused.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.level == Level::Error
    }

    /// The finding as a person reads it in a terminal: the sentence, then the line with a mark under the place.
    #[must_use]
    pub fn shown(&self) -> String {
        match (&self.excerpt, self.line) {
            (Some(excerpt), Some(line)) => format!("{self}\n{}", excerpt.shown(line)),
            _ => self.to_string(),
        }
    }

    /// Adds the line that it is about, from the text of its file.
    pub(crate) fn placed(mut self, text: &str) -> Self {
        if self.excerpt.is_none() {
            let found = self.line.and_then(|line| Excerpt::of_line(text, line, &self.text));
            self.excerpt = found.map(Box::new);
        }
        self
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}

impl fmt::Display for Finding {
    /// `profiles/x.toml:12: error: unknown key "pattrn" — did you mean "pattern"?`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        write!(f, ": {}: {}", self.level, self.text)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, " — {}", self.hint) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_reads_like_a_compiler_message() {
        let finding = Finding {
            file: "profiles/x.toml".to_owned(),
            line: Some(12),
            level: Level::Error,
            text: "unknown key \"pattrn\"".to_owned(),
            hint: "did you mean \"pattern\"?".to_owned(),
            excerpt: None,
        };
        assert_eq!(
            finding.to_string(),
            "profiles/x.toml:12: error: unknown key \"pattrn\" — did you mean \"pattern\"?"
        );
        let bare = Finding { line: None, hint: String::new(), level: Level::Warning, ..finding };
        assert_eq!(bare.to_string(), "profiles/x.toml: warning: unknown key \"pattrn\"");
    }
}

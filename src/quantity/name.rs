//! Names of jobs, parts, checks, gauges and stations.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// A name: 1 to 64 characters, without slash, without control characters or invisible ones that
/// reorder text, and without blanks at either end.
///
/// A slash would make `PART/CHECK` ambiguous; a control character could change what a terminal does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Name(Arc<str>);

/// Why a text is not a name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Empty.
    #[error("a name may not be empty")]
    Empty,
    /// Longer than 64 characters.
    #[error("a name may have 64 characters at most")]
    TooLong,
    /// Holds a slash, a control or invisible character, or a blank at an end.
    #[error("a name may hold no slash, no control character and no blank at an end")]
    Forbidden,
}

impl Name {
    /// Checks a name.
    ///
    /// # Errors
    /// A text that is empty, too long, or holds a character that is not allowed.
    pub fn new(text: &str) -> Result<Self, NameError> {
        if text.is_empty() {
            return Err(NameError::Empty);
        }
        if text.chars().count() > 64 {
            return Err(NameError::TooLong);
        }
        let forbidden = |c: char| c == '/' || bends_text(c);
        if text.trim() != text || text.chars().any(forbidden) {
            return Err(NameError::Forbidden);
        }
        Ok(Self(text.into()))
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl From<Name> for String {
    fn from(name: Name) -> Self {
        name.0.as_ref().to_owned()
    }
}

impl TryFrom<String> for Name {
    type Error = NameError;

    fn try_from(text: String) -> Result<Self, NameError> {
        Self::new(&text)
    }
}

/// Whether a character steers a terminal, or reorders, breaks or hides the text around it: controls,
/// Unicode's controls of direction, its separators of lines and paragraphs, and the widthless ones of
/// General Punctuation.
#[must_use]
pub fn bends_text(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::borrow::Borrow<str> for Name {
    fn borrow(&self) -> &str {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_plain() {
        assert!(Name::new("inner-spacer").is_ok());
        assert!(Name::new("Ø 40 ring").is_ok());
        for bad in ["", " a", "a/b", "a\u{1b}[31m", "a\u{202e}b", &"x".repeat(65)] {
            assert!(Name::new(bad).is_err(), "{bad:?}");
        }
    }
}

//! How one kind of gauge talks, as data: a person writes a profile without writing code.

use std::collections::BTreeMap;
use std::fmt;

use regex::bytes::{Regex, RegexBuilder};

use super::packed::Packed;
use quantity::{Quoted, Unit};

/// How one kind of gauge talks.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Its name: the file's name without `.toml`.
    pub name: String,
    /// One line for people.
    pub about: String,
    /// Where a frame begins and ends.
    pub framing: Framing,
    /// How a good frame carries its value.
    pub content: Content,
    /// The unit of every value, where the frame does not say and the gauge is always set so.
    pub unit: Option<Unit>,
    /// Units in this gauge's own spelling, beside the usual ones.
    pub spellings: BTreeMap<String, Unit>,
    /// Decimal places the gauge sends in each unit. Empty: those of the gauge's resolution.
    pub places: BTreeMap<Unit, u8>,
    /// What it sends instead of a value.
    pub tokens: Tokens,
    /// What to send to get a value. `None`: it sends by itself, and nothing is ever written.
    pub ask: Option<Ask>,
}

/// Where a frame begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Framing {
    /// A line; CR, LF, CRLF and LFCR all end one.
    Line,
    /// So many bytes; a gap between two frames brings back the beginning.
    Fixed {
        /// Bytes in a frame, 1 to 64.
        length: usize,
        /// Silence that separates frames, in microseconds.
        gap_us: u64,
    },
}

/// How a good frame carries its value.
#[derive(Debug, Clone)]
pub enum Content {
    /// A decimal number found by a pattern.
    Decimal(Pattern),
    /// A whole number of counts found by a pattern.
    Counts {
        /// Where the digits are.
        pattern: Pattern,
        /// The length of one count; the gauge's own setting goes before it.
        scale: Option<Quoted>,
    },
    /// Packed digits, four bits each, relayed as hexadecimal text.
    Packed(Packed),
}

/// What a gauge sends instead of a value. A token is a pattern for the whole frame, blanks at
/// both ends aside.
#[derive(Debug, Clone, Default)]
pub struct Tokens {
    /// Display blank.
    pub blank: Vec<Pattern>,
    /// An error.
    pub error: Vec<Pattern>,
    /// Beyond the range.
    pub overload: Vec<Pattern>,
    /// Nothing plugged into the channel; may look like a number.
    pub no_gauge: Vec<Pattern>,
    /// Low battery: at the end of a frame with a value, or alone.
    pub low_battery: Vec<Pattern>,
}

/// How to ask for a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// The bytes to send; `{channel}` stands for the gauge's channel.
    pub send: String,
    /// How long to wait for the answer, in microseconds.
    pub timeout_us: u64,
    /// The line sends back what was sent to it.
    pub echo: bool,
}

/// A regular expression over the bytes of a frame. It must match the whole frame.
#[derive(Debug, Clone)]
pub struct Pattern(Regex);

/// Why a text is not a pattern.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// Not a regular expression.
    #[error("it is no regular expression: {0}")]
    Syntax(String),
    /// A group name that means nothing here.
    #[error(
        "group \"{0}\" means nothing here; groups are sign, digits, whole, fraction, unit, channel"
    )]
    UnknownGroup(String),
}

/// The named parts of a frame.
const GROUPS: [&str; 6] = ["sign", "digits", "whole", "fraction", "unit", "channel"];

impl Pattern {
    /// Compiles a pattern for a whole frame, blanks at both ends aside.
    ///
    /// # Errors
    /// What is no regular expression, or names a group that means nothing here.
    pub fn whole(text: &str) -> Result<Self, PatternError> {
        Self::compile(&format!("^ *(?:{text}) *$"), text)
    }

    /// Compiles a pattern for the end of a frame.
    ///
    /// # Errors
    /// As [`Pattern::whole`].
    pub fn ending(text: &str) -> Result<Self, PatternError> {
        Self::compile(&format!("(?:{text}) *$"), text)
    }

    fn compile(anchored: &str, text: &str) -> Result<Self, PatternError> {
        let syntax = |error: regex::Error| PatternError::Syntax(last_line(&error));
        // The text alone first: `a)|(b` would slip out of the anchors.
        RegexBuilder::new(text).unicode(false).build().map_err(syntax)?;
        let built = RegexBuilder::new(anchored).unicode(false).size_limit(1 << 20).build();
        let regex = built.map_err(syntax)?;
        match regex.capture_names().flatten().find(|name| !GROUPS.contains(name)) {
            Some(name) => Err(PatternError::UnknownGroup(name.to_owned())),
            None => Ok(Self(regex)),
        }
    }

    /// Whether the pattern names this part.
    #[must_use]
    pub fn has(&self, group: &str) -> bool {
        self.0.capture_names().flatten().any(|name| name == group)
    }

    /// Where the frame matches.
    pub(super) fn regex(&self) -> &Regex {
        &self.0
    }
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.as_str())
    }
}

/// The last line of a regular expression's error says what; the ones before draw where.
fn last_line(error: &regex::Error) -> String {
    let text = error.to_string();
    text.lines().last().unwrap_or_default().trim_start_matches("error: ").to_owned()
}

impl Profile {
    /// Whether frames name a channel.
    #[must_use]
    pub fn has_channel(&self) -> bool {
        match &self.content {
            Content::Decimal(pattern) | Content::Counts { pattern, .. } => pattern.has("channel"),
            Content::Packed(_) => false,
        }
    }

    /// Whether frames name their unit.
    #[must_use]
    pub fn has_unit(&self) -> bool {
        match &self.content {
            Content::Decimal(pattern) => pattern.has("unit"),
            Content::Counts { .. } => false,
            Content::Packed(packed) => packed.unit.is_some(),
        }
    }

    /// Whether values are counts, so that a scale must be known.
    #[must_use]
    pub fn is_counts(&self) -> bool {
        matches!(self.content, Content::Counts { .. })
    }

    /// The unit a gauge's text means.
    pub(super) fn unit_named(&self, text: &str) -> Option<Unit> {
        self.spellings.get(text.trim()).copied().or_else(|| Unit::parse(text))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_is_about_the_whole_frame() {
        let pattern = Pattern::whole("a|b").unwrap();
        assert!(pattern.regex().is_match(b" a "));
        assert!(!pattern.regex().is_match(b"ab") && !pattern.regex().is_match(b"a\n"));
        assert!(matches!(Pattern::whole("a)|(b"), Err(PatternError::Syntax(_))));
        assert!(matches!(Pattern::whole("("), Err(PatternError::Syntax(_))));
        let named = Pattern::whole("(?<vaule>[0-9])");
        assert_eq!(named.unwrap_err(), PatternError::UnknownGroup("vaule".to_owned()));
    }
}

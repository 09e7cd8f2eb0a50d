//! How one kind of gauge talks. A profile is a file: a person writes one without writing code.

use std::collections::BTreeMap;
use std::fmt;

use regex::bytes::{Regex, RegexBuilder};

use super::block::Block;
use super::packed::Packed;
use quantity::{Quoted, Unit};

/// How one kind of gauge talks.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Its name: the file's name without `.toml`.
    pub name: String,
    /// A description in one line.
    pub about: String,
    /// Where a frame begins and ends.
    pub framing: Framing,
    /// The block of lines that makes one frame. `None`: each line is a frame.
    pub block: Option<Block>,
    /// How a good frame carries its value.
    pub content: Content,
    /// The unit of every value when frames do not name it and the gauge has one setting only.
    pub unit: Option<Unit>,
    /// Units in this gauge's own spelling, in addition to the usual ones.
    pub spellings: BTreeMap<String, Unit>,
    /// Decimal places the gauge sends in each unit. Empty: those of the gauge's resolution.
    pub places: BTreeMap<Unit, u8>,
    /// What it sends when there is no value.
    pub tokens: Tokens,
    /// How to ask for a value. `None`: it sends by itself, and nothing is ever written to it.
    pub ask: Option<Ask>,
}

/// Where a frame begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Framing {
    /// A line, ended by CR, LF, CRLF or LFCR.
    Line,
    /// A fixed number of bytes; a gap between two frames shows where one begins.
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
        /// The length of one count; a setting of the gauge itself takes precedence.
        scale: Option<Quoted>,
    },
    /// Packed digits, four bits each, relayed as hexadecimal text.
    Packed(Packed),
}

/// What a gauge sends when there is no value. A token is a pattern for the whole frame; blanks at
/// both ends do not count.
#[derive(Debug, Clone, Default)]
pub struct Tokens {
    /// The display is blank.
    pub blank: Vec<Pattern>,
    /// The gauge reports an error.
    pub error: Vec<Pattern>,
    /// The value is beyond the range.
    pub overload: Vec<Pattern>,
    /// Nothing is plugged into the channel. It may look like a number.
    pub no_gauge: Vec<Pattern>,
    /// The battery is low: at the end of a frame with a value, or alone.
    pub low_battery: Vec<Pattern>,
}

/// How to ask for a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// The bytes to send; `{channel}` stands for the gauge's channel.
    pub send: String,
    /// How long to wait for the answer, in microseconds.
    pub timeout_us: u64,
    /// Whether the line sends back what was sent to it.
    pub echo: bool,
}

/// A regular expression over the bytes of a frame. It must match the whole frame.
#[derive(Debug, Clone)]
pub struct Pattern(Regex);

/// Why a text is not a pattern.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// It is not a regular expression.
    #[error("it is not a regular expression: {0}")]
    Syntax(String),
    /// It names a group that has no meaning here.
    #[error(
        "group \"{0}\" means nothing here; groups are sign, digits, whole, fraction, unit, channel"
    )]
    UnknownGroup(String),
}

/// The groups a pattern may name.
const GROUPS: [&str; 6] = ["sign", "digits", "whole", "fraction", "unit", "channel"];

impl Pattern {
    /// Compiles a pattern for a whole frame; blanks at both ends do not count.
    ///
    /// # Errors
    /// A text that is not a regular expression, or names a group without meaning here.
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
        // The text is compiled alone first: `a)|(b` would otherwise escape the anchors.
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

/// The last line of a regular expression's error, which says what is wrong; those before it show where.
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

    /// The unit that a word sent by the gauge stands for.
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

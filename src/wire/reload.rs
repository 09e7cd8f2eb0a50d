//! The line about a configuration that was read again.

use serde::{Deserialize, Serialize};

use super::text::line_of;

/// What became of a configuration that was read again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ReloadLine {
    /// The file that was read.
    pub file: String,
    /// Whether it is used now; if not, the service goes on as it was.
    pub used: bool,
    /// What is different now, a sentence each.
    pub changed: Vec<String>,
    /// Why it is not used: the errors, each with its file and line.
    pub why: Vec<String>,
}

/// `reload/1`.
#[must_use]
pub fn reload_line(line: &ReloadLine) -> String {
    line_of("reload/1", line)
}

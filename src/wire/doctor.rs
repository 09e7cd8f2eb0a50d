//! The line of one look of `tenths doctor`.

use serde::Serialize;

use super::text::line_of;

quantity::worded! {
    /// How something was found.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Found {
        /// It is well.
        Well = "well",
        /// It keeps nobody from a reading, but somebody should look.
        Look = "look",
        /// It keeps somebody from a reading.
        Wrong = "wrong",
    }
}

/// One thing between a person and a reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct DoctorLine {
    /// What was looked at: `configuration`, `state folder`, `service`, `port`, `folder`, `disk`, `shop` and others.
    pub about: &'static str,
    /// How it was found.
    pub found: Found,
    /// What was found.
    pub text: String,
    /// What to do about it.
    pub remedy: Option<String>,
}

impl DoctorLine {
    /// What was found, and nothing to do about it.
    #[must_use]
    pub fn new(about: &'static str, found: Found, text: impl Into<String>) -> Self {
        Self { about, found, text: text.into(), remedy: None }
    }

    /// The same, with what to do about it.
    #[must_use]
    pub fn remedy(self, remedy: impl Into<String>) -> Self {
        Self { remedy: Some(remedy.into()), ..self }
    }
}

/// `doctor/1`.
#[must_use]
pub fn doctor_line(line: &DoctorLine) -> String {
    line_of("doctor/1", line)
}

//! The number of a row, and the function that reads the plan inside a fact.

use serde::{Deserialize, Serialize};

use crate::plan::Plan;

/// Reads a plan from its text, or says what is wrong with the text.
pub type ParsePlan = fn(text: &str) -> Result<Plan, String>;

/// The number of a row: 1, 2, 3 … in the order stored. It is the identity of the job, attempt,
/// reading, verdict or alert that the row brought.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Seq(pub u64);

impl Seq {
    /// The number after this one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0 + 1)
    }
}

impl std::fmt::Display for Seq {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

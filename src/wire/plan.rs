//! The line of a plan.

use serde::Serialize;

use super::text::line_of;
use words::{LimitsLine, LimitsTold};

/// A plan that jobs can be opened with, or one that has an error.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct PlanLine {
    /// The name of its file without the ending: what `job open --plan` takes.
    pub plan: String,
    /// Its title.
    pub name: Option<String>,
    /// The unit of its bare numbers.
    pub unit: Option<String>,
    /// Its checks, in the order they are worked through.
    pub checks: Vec<PlanCheckLine>,
    /// What is wrong with it; no job can be opened with it then.
    pub error: Option<String>,
}

/// A check of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct PlanCheckLine {
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// What is measured: the word of a plan.
    pub measures: String,
    /// The step of the job it belongs to.
    pub step: Option<String>,
    /// The gauge that measures it.
    pub gauge: Option<String>,
    /// How the part is held, where it is touched.
    pub setup: Option<String>,
    /// Positions in all, over all circles, stations and passes.
    pub positions: u32,
    /// Touches in all, without closure and master.
    pub touches: u32,
    /// Its limits: a text for one limit, an object for two, `null` for none.
    pub tolerance: Option<LimitsTold>,
    /// The same as `tolerance`, in one shape for one and for two limits.
    pub limits: LimitsLine,
    /// The same as a person reads it, in `unit`.
    pub limits_text: Option<String>,
    /// The unit of the limits.
    pub unit: String,
}

/// `plan/1`.
#[must_use]
pub fn plan_line(plan: &PlanLine) -> String {
    line_of("plan/1", plan)
}

//! `comparison/1`: several jobs side by side.

use serde::Serialize;

use bench::metal::Standing;
use bench::plan::Traits;
use bench::row::AttemptReason;
use judgement::{Reason, Word};
use quantity::Unit;

use super::text::json_text;
use words::{LimitsLine, LimitsTold};

/// Several jobs side by side, oldest first. All lengths are in `unit`, the unit of the bench.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("comparison/1"))
)]
pub struct ComparisonLine {
    /// The name of this shape: `comparison/1`.
    pub schema: &'static str,
    /// The unit of all lengths of the line.
    pub unit: Unit,
    /// Whether all of them are of the same spindle; `null` where a job names no spindle.
    pub same_spindle: Option<bool>,
    /// The jobs that are compared, oldest first.
    pub jobs: Vec<ComparedJobLine>,
    /// Jobs of the same spindle in between, listed for the parts that were replaced in them.
    pub not_compared: Vec<ComparedJobLine>,
    /// Each characteristic, in all jobs.
    pub characteristics: Vec<CharacteristicLine>,
}

/// A job that is compared.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "opened_at closed_at").of(::words::schema::name, "job plan"))
)]
pub struct ComparedJobLine {
    /// Its name.
    pub job: String,
    /// The serial number of its spindle.
    pub serial: Option<String>,
    /// Whose spindle it is.
    pub customer: Option<String>,
    /// The plan it was opened with.
    pub plan: String,
    /// When it was opened, RFC 3339, UTC.
    pub opened_at: String,
    /// When it was closed, RFC 3339, UTC; `null` while it is open.
    pub closed_at: Option<String>,
    /// The parts that were replaced by new ones during the job, oldest first.
    pub replaced: Vec<NewPartLine>,
    /// The bench whose record it is in; only in a look-up over the whole shop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bench: Option<String>,
}

/// A part that was replaced by a new one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
pub struct NewPartLine {
    /// When, RFC 3339, UTC.
    pub at: String,
    /// The part.
    pub part: String,
    /// The serial number of the new one.
    pub serial: Option<String>,
    /// Why it was replaced.
    pub why: String,
}

/// One characteristic, in all jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "station").of(::words::schema::name, "part check"))
)]
pub struct CharacteristicLine {
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// The station of a bar: its distance from the nose face, in `unit`.
    pub station: Option<String>,
    /// What it measures; where the jobs differ, what the newest one measures.
    pub measures: &'static Traits,
    /// Whether the jobs have different limits for it.
    pub limits_differ: bool,
    /// An entry for each job, in the order of `jobs`.
    pub jobs: Vec<InJobLine>,
    /// The change from each job in which it was measured to the next such job.
    pub changes: Vec<ChangeLine>,
    /// The change from the found side to the standing verdict, for each job whose plan names a found side.
    /// `from` and `to` are the same job.
    pub found_to_final: Vec<ChangeLine>,
}

/// One characteristic in one job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "job"))
)]
pub struct InJobLine {
    /// The job.
    pub job: String,
    /// What its plan measures there; `null` where the plan does not have it.
    pub measures: Option<&'static Traits>,
    /// The limits in its plan, in `unit`.
    pub tolerance: Option<LimitsTold>,
    /// The same as `tolerance`, in one shape for one and for two limits.
    pub limits: LimitsLine,
    /// The first complete attempt, on the spindle as it came in: of the found side, where the plan names
    /// one.
    pub first: Option<FoundLine>,
    /// The newest attempt on the part as it is now, on the spindle as it leaves.
    pub standing: Option<FoundLine>,
    /// Every attempt that was judged or written down, oldest first.
    pub rounds: Vec<FoundLine>,
    /// The found side, where the plan names one.
    pub found: Option<FoundSideLine>,
}

/// The check that measured the same on the spindle as it came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part check"))
)]
pub struct FoundSideLine {
    /// Its part.
    pub part: String,
    /// Its name.
    pub check: String,
    /// Every attempt that was judged or written down, oldest first.
    pub rounds: Vec<FoundLine>,
}

/// The result of one attempt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "value uncertainty"))
)]
pub struct FoundLine {
    /// Which attempt at the check, counted from 1.
    pub attempt: u32,
    /// The reason for it.
    pub reason: AttemptReason,
    /// The remark on it.
    pub remark: Option<String>,
    /// Whether it was made on a part that was replaced later in the same job.
    pub replaced_since: bool,
    /// The number of the verdict; `null` for a value that is only written down.
    pub verdict_id: Option<u64>,
    /// The word of its verdict.
    pub verdict: Option<Word>,
    /// The present state of that verdict, as in `verdict/1`.
    pub standing: Option<Standing>,
    /// The judged figure, in `unit`.
    pub value: Option<String>,
    /// Its expanded uncertainty, in `unit`.
    pub uncertainty: Option<String>,
    /// The answer given, or the value written down.
    pub answer: Option<String>,
    /// Why the verdict was withheld, or may not pass.
    pub reasons: Vec<Reason>,
}

/// The change from the standing verdict of one job to the first verdict of a later job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "from to").of(::words::schema::length, "value uncertainty"))
)]
pub struct ChangeLine {
    /// The earlier job.
    pub from: String,
    /// The later job.
    pub to: String,
    /// Later minus earlier; `null` where one of them has no figure.
    pub value: Option<String>,
    /// The expanded uncertainty of the change.
    pub uncertainty: Option<String>,
    /// The conclusion.
    pub result: ChangeWord,
    /// Whether both were measured on the same piece, as far as the record knows.
    pub same_piece: bool,
    /// The parts that were replaced in between, so that the two are not comparable. For what turns, and for
    /// found and final, any replaced part counts.
    pub broken_by: Vec<String>,
}

quantity::worded! {
    /// The conclusion about one characteristic in two jobs.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum ChangeWord {
        /// The figures differ by more than measuring explains.
        Changed = "changed",
        /// They differ by no more than measuring explains.
        CannotTell = "cannot-tell",
        /// Both answers are the same.
        SameAnswer = "same-answer",
        /// The answers differ.
        OtherAnswer = "other-answer",
        /// Not compared: one of them has no figure.
        NoFigure = "no-figure",
        /// Not compared: they measure different things.
        OtherMeasure = "other-measure",
    }
}

/// A comparison as one line of JSON, without its line end.
#[must_use]
pub fn comparison_line(comparison: &ComparisonLine) -> String {
    json_text(comparison)
}

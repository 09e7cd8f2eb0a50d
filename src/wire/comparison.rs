//! `comparison/1`: jobs side by side.

use serde::Serialize;

use super::text::json_text;
use words::LimitsTold;

/// Jobs side by side, oldest first. All lengths are in `unit`, the bench's.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct ComparisonLine {
    pub schema: &'static str,
    pub unit: String,
    /// Whether all of them are of one spindle; `null` where a job names none.
    pub same_spindle: Option<bool>,
    pub jobs: Vec<ComparedJobLine>,
    /// Jobs of the same spindle in between, which tell what was replaced in them.
    pub not_compared: Vec<ComparedJobLine>,
    pub characteristics: Vec<CharacteristicLine>,
}

/// A job that is compared.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct ComparedJobLine {
    pub job: String,
    pub serial: Option<String>,
    pub customer: Option<String>,
    pub plan: String,
    pub opened_at: String,
    pub closed_at: Option<String>,
    /// Parts that became new ones while it was worked at, oldest first.
    pub replaced: Vec<NewPartLine>,
}

/// A part that became a new one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct NewPartLine {
    pub at: String,
    pub part: String,
    pub serial: Option<String>,
    pub why: String,
}

/// One characteristic in every job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct CharacteristicLine {
    pub part: String,
    pub check: String,
    /// The station of a bar.
    pub station: Option<String>,
    /// What it measures; where jobs differ, in the newest.
    pub measures: String,
    /// Whether jobs hold it against different limits.
    pub limits_differ: bool,
    /// A job each, in the order of `jobs`.
    pub jobs: Vec<InJobLine>,
    /// From each job in which it was measured to the next one.
    pub changes: Vec<ChangeLine>,
    /// Of each job whose plan names a found side, from that to what stands: `from` and `to` are the
    /// same job.
    pub found_to_final: Vec<ChangeLine>,
}

/// One characteristic in one job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct InJobLine {
    pub job: String,
    /// What its plan measures there; `null` where the plan does not have it.
    pub measures: Option<String>,
    pub tolerance: Option<LimitsTold>,
    /// The first whole attempt, as the spindle came: of the found side, where the plan names one.
    pub first: Option<FoundLine>,
    /// The newest attempt on the part as it is now, as the spindle leaves.
    pub standing: Option<FoundLine>,
    /// Every attempt that was judged or written down, oldest first.
    pub rounds: Vec<FoundLine>,
    /// The found side, where the plan names one.
    pub found: Option<FoundSideLine>,
}

/// The check that measured the same as the spindle came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct FoundSideLine {
    pub part: String,
    pub check: String,
    /// Every attempt that was judged or written down, oldest first.
    pub rounds: Vec<FoundLine>,
}

/// What was found of one attempt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct FoundLine {
    pub attempt: u32,
    pub reason: String,
    pub remark: Option<String>,
    /// Whether it was on a piece that was replaced later in the same job.
    pub replaced_since: bool,
    /// The number of the verdict; `null` for a value that is only written down.
    pub verdict_id: Option<u64>,
    pub verdict: Option<String>,
    /// What that verdict is worth now, as in `verdict/1`.
    pub standing: Option<String>,
    pub value: Option<String>,
    pub uncertainty: Option<String>,
    pub answer: Option<String>,
    pub reasons: Vec<String>,
}

/// From the standing verdict of one job to the first one of a later job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the published line")]
pub struct ChangeLine {
    pub from: String,
    pub to: String,
    /// Later minus earlier; `null` where one of them has no figure.
    pub value: Option<String>,
    /// Of the change, k = 2.
    pub uncertainty: Option<String>,
    /// `changed`, `cannot-tell`, or why it is not compared: `no-figure`, `other-measure`.
    pub result: &'static str,
    /// Whether both were found on the same piece, as far as the record knows.
    pub same_piece: bool,
    /// The parts that became new ones in between and make it something else: of what turns, and of
    /// what is found and final, any part.
    pub broken_by: Vec<String>,
}

/// A comparison as one line of JSON, without its end.
#[must_use]
pub fn comparison_line(comparison: &ComparisonLine) -> String {
    json_text(comparison)
}

//! What people write on the card of a job beside its measurements: what came in and why, what was decided,
//! serial numbers, signatures.

use crate::fact::form::{no_numbers, stored};
use crate::fact::row::{Body, Lack};
use crate::fact::seq::Seq;
use crate::plan::CheckAt;

quantity::worded! {
    /// What is written down when a job comes in.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum IntakeItem {
        /// What the customer says is wrong.
        Complaint = "complaint",
        /// What was asked for.
        Asked = "asked",
        /// Limits that were agreed, in words; those that are judged stand in the plan.
        Limits = "limits",
    }
}

quantity::worded! {
    /// What stands at the head of a job and can be mistyped when it is opened.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum JobField {
        /// The spindle's serial number.
        Serial = "serial",
        /// Whose spindle it is.
        Customer = "customer",
    }
}

quantity::worded! {
    /// What becomes of a part.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Outcome {
        /// It stays as it was found.
        Kept = "kept",
        /// It stays, and metal is taken off.
        Reground = "reground",
        /// A new one takes its place.
        Replaced = "replaced",
    }
}

quantity::worded! {
    /// What a person signs.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Role {
        /// Who measured.
        Measured = "measured",
        /// A second person, who checked.
        Checked = "checked",
        /// The customer, who accepts.
        Accepted = "accepted",
    }
}

no_numbers!(IntakeItem, JobField, Outcome, Role);

stored! {
    /// A signature. Who signed, and when, are those of its row.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Signed {
        /// What for.
        pub role: Role,
        /// The seal of the record at that moment, as it is printed. It stays that of the bench where the job
        /// was signed.
        pub seal: String,
        /// The newest row of the job that something was measured or changed in.
        pub of: Seq,
        /// The checks that spoke against it, and what was wrong with each.
        pub lacking: Vec<(CheckAt, Lack)>,
        /// Why it was signed although they did.
        pub why: Option<String>,
    }
}

/// Whose state a row changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changes {
    /// That of a job.
    Job(Seq),
    /// That of the job of an attempt.
    Attempt(Seq),
    /// Nobody's.
    Nothing,
}

impl Body {
    /// The kinds of fact that change what a signature stands under, readings apart: [`Body::changes`] by
    /// their words.
    pub const CHANGING: &'static [&'static str] = &[
        "marked",
        "skipped",
        "swept",
        "answered",
        "verdict",
        "stack-placed",
        "stack-taken",
        "spot-marked",
        "part-replaced",
        "rule-changed",
        "intake",
        "job-edited",
        "decided",
        "serial",
        "attached-taken-back",
        "speed-step",
        "log-went-on",
        "temperature",
    ];

    /// Which job it changes: something was measured, taken back, judged, decided or put on the shaft since. A
    /// remark, a picture or a paper that is added, a signature, a check that is merely begun, and closing a job
    /// change nothing that was signed.
    #[must_use]
    pub fn changes(&self) -> Changes {
        match self {
            Self::StackPlaced { job, .. }
            | Self::StackTaken { job, .. }
            | Self::SpotMarked { job, .. }
            | Self::PartReplaced { job, .. }
            | Self::RuleChanged { job, .. }
            | Self::Intake { job, .. }
            | Self::JobEdited { job, .. }
            | Self::Decided { job, .. }
            | Self::Serial { job, .. }
            | Self::AttachedTakenBack { job, .. } => Changes::Job(*job),
            Self::Reading(reading) => reading.attempt.map_or(Changes::Nothing, Changes::Attempt),
            Self::Marked { attempt, .. } => attempt.map_or(Changes::Nothing, Changes::Attempt),
            Self::Skipped { attempt, .. }
            | Self::Swept { attempt, .. }
            | Self::Answered { attempt, .. } => Changes::Attempt(*attempt),
            Self::Verdict(verdict) => Changes::Attempt(verdict.attempt),
            Self::SpeedStep(step) => Changes::Attempt(step.attempt),
            Self::LogWentOn(went) => Changes::Attempt(went.attempt),
            Self::Temperature(one) => Changes::Attempt(one.attempt),
            Self::Started { .. }
            | Self::JobOpened(_)
            | Self::JobClosed { .. }
            | Self::JobReopened { .. }
            | Self::JobActive { .. }
            | Self::PersonAt { .. }
            | Self::CheckActive { .. }
            | Self::AttemptBegan(_)
            | Self::AttemptEnded { .. }
            | Self::Asked { .. }
            | Self::MasterNext { .. }
            | Self::Seated { .. }
            | Self::TurnUnderWay { .. }
            | Self::WentOn { .. }
            | Self::AlertRaised(_)
            | Self::AlertSeen { .. }
            | Self::AlertCleared { .. }
            | Self::Repeated(_)
            | Self::Signed { .. }
            | Self::ProofBegan(_)
            | Self::Proved(_)
            | Self::Registered(_)
            | Self::Noted { .. }
            | Self::Attached(_)
            | Self::FileTaken(_)
            | Self::FileRefused(_) => Changes::Nothing,
        }
    }
}

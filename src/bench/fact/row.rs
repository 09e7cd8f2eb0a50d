//! Rows: what is stored. Nothing else changes a bench.

mod alert;
mod attached;
mod began;
mod card;
mod opened;
mod proof;
mod reading;
mod repeated;
mod run_in;
mod spot;

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use quantity::Name;

use crate::fact::form::{facts, no_numbers, stored};
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::plan::{CheckAt, Taps};
use crate::setup::GaugeSetup;
use judgement::Rule;

pub use self::alert::{Alert, AlertKind, Device, Ends, Heard, Level, Nature, Of, Piece, Subject};
pub use self::attached::{Attached, Paper, PaperType};
pub use self::began::AttemptBegan;
pub use self::card::{Changes, IntakeItem, JobField, Outcome, Role, Signed};
pub use self::opened::JobOpened;
pub use self::proof::{
    Blocks, Charted, Equipment, PinnedBar, PinnedMaster, ProofBegan, ProofEnding, ProofRow,
    ProofShows, Proved, Registered, Unproven,
};
pub use self::reading::{Reading, Source, State};
pub use self::repeated::{Pool, Repeated, Seated, Shown, Spot};
pub use self::run_in::{LogWentOn, SpeedStep, Temperature};
pub use self::spot::{HighSpot, MarkOff};

no_numbers!(
    AttemptReason,
    CheckAt,
    Ending,
    Lack,
    Question,
    Stage,
    GaugeSetup,
    Taps,
    (CheckAt, Lack)
);

facts! {
    /// The content of a row.
    #[derive(Debug, Clone, PartialEq)]
    pub enum Body {
        /// The service started; a change of `boot` makes earlier monotonic times incomparable.
        Started = "started" {
            /// Identity of the machine's boot.
            boot: u64,
        },
        /// A job was opened. The row's number is the job's.
        JobOpened = "job-opened" (opened: Arc<JobOpened>, by JobOpened::read),
        /// A job was closed.
        JobClosed = "job-closed" {
            /// The job.
            job: Seq,
        },
        /// A closed job is open again.
        JobReopened = "job-reopened" {
            /// The job.
            job: Seq,
        },
        /// A station works on a job, or on none.
        JobActive = "job-active" {
            /// The station.
            station: Name,
            /// The job.
            job: Option<Seq>,
        },
        /// Who works at a station, or nobody in particular.
        PersonAt = "person" {
            /// The station.
            station: Name,
            /// The person.
            person: Option<Name>,
        },
        /// An attempt at a check is on a station's screen, or none is.
        CheckActive = "check-active" {
            /// The station.
            station: Name,
            /// The attempt.
            attempt: Option<Seq>,
        },
        /// An attempt began. The row's number is the attempt's.
        AttemptBegan = "attempt-began" (began: AttemptBegan),
        /// An attempt is over.
        AttemptEnded = "attempt-ended" {
            /// The attempt.
            attempt: Seq,
            /// How.
            ending: Ending,
        },
        /// A reading was taken. The row's number is the reading's.
        Reading = "reading" (reading: Reading),
        /// A reading counts differently from now on.
        Marked = "marked" {
            /// The reading.
            reading: Seq,
            /// The attempt it belongs to; `None` for a lift of a proof.
            attempt: Option<Seq>,
            /// What it is now.
            state: State,
            /// Why.
            why: String,
        },
        /// A position cannot be touched.
        Skipped = "skipped" {
            /// The attempt.
            attempt: Seq,
            /// The position.
            position: u32,
            /// Why.
            why: String,
        },
        /// A person is asked for one touch, or the question is over.
        Asked = "asked" {
            /// The attempt.
            attempt: Seq,
            /// The question.
            question: Option<Question>,
        },
        /// The next reading of an attempt is the master.
        MasterNext = "master-next" {
            /// The attempt.
            attempt: Seq,
        },
        /// A person said that the bar is seated for the touches that follow, or took that back.
        Seated = "seated" {
            /// The attempt.
            attempt: Seq,
            /// The seating the bar is in now, counted from 0.
            seating: u32,
            /// The word before was taken back: the bar is still in this one.
            taken_back: bool,
        },
        /// The first mark of a swept turn was tapped, or that turn can no longer be completed.
        TurnUnderWay = "turn" {
            /// The attempt.
            attempt: Seq,
            /// Whether one is under way now.
            under_way: bool,
        },
        /// A turn passed under the stylus: its samples are the readings that follow.
        Swept = "swept" {
            /// The attempt.
            attempt: Seq,
            /// When its marks were tapped, and how many samples there are.
            taps: Arc<Taps>,
        },
        /// A question was answered, or a value written down.
        Answered = "answered" {
            /// The attempt.
            attempt: Seq,
            /// The answer or value, as given.
            text: String,
        },
        /// A part was put on the list of the stack, after those that are on it.
        StackPlaced = "stack-placed" {
            /// The job.
            job: Seq,
            /// Which list.
            stage: Stage,
            /// The part and how it sits.
            item: Arc<StackItem>,
        },
        /// The newest part was taken off the list of the stack again.
        StackTaken = "stack-taken" {
            /// The job.
            job: Seq,
            /// Which list.
            stage: Stage,
        },
        /// A part is replaced by a new one; readings of the old one stay with the old one.
        PartReplaced = "part-replaced" {
            /// The job.
            job: Seq,
            /// The part, by its place in the plan.
            part: u16,
            /// The serial number of the new one.
            serial: Option<String>,
            /// Why.
            why: String,
        },
        /// A person went on, with a reason, although something spoke against it.
        WentOn = "went-on" {
            /// The job.
            job: Seq,
            /// The step, and what spoke against it.
            went: Arc<WentOn>,
        },
        /// A verdict. The row's number is the verdict's.
        Verdict = "verdict" (verdict: Arc<Verdict>),
        /// An alert was raised. The row's number is the alert's.
        AlertRaised = "alert-raised" (alert: Arc<Alert>),
        /// A person has seen an alert.
        AlertSeen = "alert-seen" {
            /// The alert.
            alert: Seq,
        },
        /// An alert is over.
        AlertCleared = "alert-cleared" {
            /// The alert.
            alert: Seq,
        },
        /// A job is judged by another rule from now on.
        RuleChanged = "rule-changed" {
            /// The job.
            job: Seq,
            /// The rule.
            rule: Rule,
            /// Why.
            why: String,
        },
        /// One spot was read more than once.
        Repeated = "repeated" (seen: Arc<Repeated>),
        /// A job is signed by the person of the row.
        Signed = "signed" {
            /// The job.
            job: Seq,
            /// What for, and what was signed.
            signed: Arc<Signed>,
        },
        /// What the customer said, or what was agreed.
        Intake = "intake" {
            /// The job.
            job: Seq,
            /// What it is.
            what: IntakeItem,
            /// The words.
            text: String,
        },
        /// What stands at the head of a job was mistyped, and is corrected. The newest of each counts.
        JobEdited = "job-edited" {
            /// The job.
            job: Seq,
            /// What it is.
            what: JobField,
            /// As it is from now on.
            text: String,
            /// Why.
            why: Option<String>,
        },
        /// What becomes of a part.
        Decided = "decided" {
            /// The job.
            job: Seq,
            /// The part, by its place in the plan.
            part: u16,
            /// What.
            outcome: Outcome,
            /// Why.
            why: String,
        },
        /// The serial number of a part.
        Serial = "serial" {
            /// The job.
            job: Seq,
            /// The part, by its place in the plan.
            part: u16,
            /// The number.
            serial: String,
        },
        /// The proof of a gauge began. The row's number is the proof's.
        ProofBegan = "proof-began" (began: Arc<ProofBegan>),
        /// The proof of a gauge is over.
        Proved = "proved" (proved: Arc<Proved>),
        /// A gauge, a master, a block or a bar was written down, or out of use.
        Registered = "registered" (entry: Arc<Registered>),
        /// A high spot of a part was marked, or is marked no more. The newest of a part counts.
        SpotMarked = "spot-marked" {
            /// The job.
            job: Seq,
            /// The part, by its place in the plan.
            part: u16,
            /// The mark.
            spot: Option<Arc<HighSpot>>,
        },
        /// A remark on a job.
        Noted = "noted" {
            /// The job.
            job: Seq,
            /// The remark.
            text: String,
        },
        /// A picture or a paper was attached to a job. The row's number is the attachment's.
        Attached = "attached" (attached: Arc<Attached>),
        /// An attachment was taken back. Its file stays.
        AttachedTakenBack = "attached-taken-back" {
            /// The job.
            job: Seq,
            /// The attachment.
            attached: Seq,
            /// Why.
            why: String,
        },
        /// A spindle that runs in runs at the speed of a step, or stands still again.
        SpeedStep = "speed-step" (step: SpeedStep),
        /// The log of a run-in goes on after the service was away.
        LogWentOn = "log-went-on" (went: LogWentOn),
        /// A temperature of a run-in.
        Temperature = "temperature" (one: Temperature),
        /// A dropped file was taken. The row's number is the file's.
        FileTaken = "file-taken" (seen: Arc<FileSeen>),
        /// A dropped file was refused; nothing of it was taken.
        FileRefused = "file-refused" (seen: Arc<FileSeen>),
    }
}

quantity::worded! {
    /// Why an attempt was made.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum AttemptReason {
        /// The first of its check.
        First = "first",
        /// New metal: the latest counts.
        Ground = "ground",
        /// Cleaned: the one before is set aside.
        Cleaned = "cleaned",
        /// The same metal: tries are combined.
        Again = "again",
    }
}

quantity::worded! {
    /// The two lists of the stack: as it was taken apart, and as it is built.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Stage {
        /// As it was found when it was taken apart.
        Found = "found",
        /// As it is built.
        Built = "built",
    }
}

stored! {
    /// A part in the stack and how it sits.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct StackItem {
        /// The part, by its place in the plan.
        pub part: u16,
        /// The face that is towards the nose.
        pub towards_nose: Option<String>,
        /// The angle of its mark, whole degrees from the index mark of the shaft.
        pub mark_deg: Option<u16>,
        /// Its serial number.
        pub serial: Option<String>,
    }
}

quantity::worded! {
    /// What is wrong with a check.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Lack {
        /// It has no verdict, or no value.
        NotMeasured = "not-measured",
        /// It was stopped, or is under way.
        Incomplete = "incomplete",
        /// It is undecided.
        Undecided = "undecided",
        /// It does not conform.
        DoesNotConform = "does-not-conform",
        /// It was measured on metal that has changed since.
        MetalChanged = "metal-changed",
        /// It is a difference, and one of its lengths was measured again since.
        Outdated = "outdated",
        /// It was answered, and is asked again.
        AskedAgain = "asked-again",
    }
}

impl Lack {
    /// The words that follow the name of the check.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotMeasured => "is not measured",
            Self::Incomplete => "is incomplete",
            Self::Undecided => "is undecided",
            Self::DoesNotConform => "does not conform",
            Self::MetalChanged => "was measured on metal that has changed since",
            Self::Outdated => "was taken before one of its lengths was measured again",
            Self::AskedAgain => "is asked again and not answered",
        }
    }
}

stored! {
    /// A step that was taken although something spoke against it.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct WentOn {
        /// The part that went on the stack; `None` where the job was closed.
        pub part: Option<u16>,
        /// The checks that speak against it, and what is wrong with each.
        pub lacking: Vec<(CheckAt, Lack)>,
        /// Of a part whose mark stands otherwise than its high spot asks for.
        pub mark: Option<MarkOff>,
        /// Why it went on.
        pub why: String,
    }
}

stored! {
    /// The settings that an attempt is judged with, fixed when it began.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Pin {
        /// The gauge with its settings at that time; `None` where no gauge measures it.
        pub gauge: Option<GaugeSetup>,
        /// The decision rule.
        pub rule: Rule,
        /// The version of the arithmetic, [`crate::ENGINE`].
        pub engine: u32,
        /// Why the gauge was not proven then; `None` where it was.
        pub unproven: Option<Unproven>,
        /// Whether that withholds the verdict.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        pub withheld: bool,
        /// The master that the check names, as the register had it.
        pub master: Option<PinnedMaster>,
        /// The test bar that the check names, as the register had it.
        pub bar: Option<PinnedBar>,
    }
}

quantity::worded! {
    /// How an attempt ended.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Ending {
        /// Its last touch was taken.
        Complete = "complete",
        /// It was stopped before that.
        Stopped = "stopped",
    }
}

/// One touch that a person is asked for after a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Question {
    /// Touch position 0 once more.
    Closure,
    /// Touch the master once more.
    Master,
    /// Touch this position again.
    Touch(u32),
    /// After half a turn: touch the high spot, then the low spot.
    HalfTurn {
        /// The position that was highest.
        high: u32,
        /// The position that was lowest.
        low: u32,
    },
}

impl Question {
    /// The position that is touched again, where it asks for one.
    #[must_use]
    pub const fn touch(self) -> Option<u32> {
        match self {
            Self::Touch(position) => Some(position),
            Self::Closure | Self::Master | Self::HalfTurn { .. } => None,
        }
    }
}

stored! {
    /// A dropped file that was taken or refused.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct FileSeen {
        /// The drop.
        pub drop: Name,
        /// The file's name in the folder.
        pub name: String,
        /// BLAKE3 of all its bytes.
        #[serde(with = "crate::fact::form::hexadecimal")]
        pub digest: [u8; 32],
        /// How many bytes it had.
        pub bytes: u64,
        /// How many data rows it had, those of an earlier, shorter version included.
        pub rows: u32,
        /// The same for every version of a file that grows: BLAKE3 of its bytes up to the end of its first
        /// data row, and of its name where only the name separates its rows from others.
        #[serde(with = "crate::fact::form::hexadecimal")]
        pub series: [u8; 32],
        /// Where its rows go: BLAKE3 of job, part and check of each place, and of the attempt where only
        /// the active check says the place. Without meaning where the places are not known.
        #[serde(with = "crate::fact::form::hexadecimal")]
        pub went: [u8; 32],
        /// Why it was refused; empty when it was taken.
        pub why: String,
    }
}

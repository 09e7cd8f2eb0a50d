//! The results of queries: facts with their names, ready to be shown.

use std::sync::Arc;

use super::{AttachmentRecord, Caller};
use ::words::Told;
use bench::plan::{Holding, PinnedPlan, Traits};
use bench::row::{
    Alert, AlertKind, AttemptReason, HighSpot, IntakeItem, JobField, Lack, Level, MarkOff, Outcome,
    Role, State,
};
use bench::spots::Together;
use bench::verdict::Verdict;
use bench::{Seq, Standing};
use judgement::{Rule, Word};
use quantity::{Length, Name, Quoted, Unit, Wall};

/// What to search for. A field that is left out does not narrow the search; all given fields must match.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// The job: its name, or the serial number of its spindle.
    pub job: Option<String>,
    /// A part of the job's name, in any letter case.
    pub named: Option<String>,
    /// The serial number of the spindle, in any letter case: all of its jobs.
    pub serial: Option<String>,
    /// A part of the customer's name, in any letter case.
    pub customer: Option<String>,
    /// Who opened the job, in any letter case.
    pub who: Option<String>,
    /// The part's name.
    pub part: Option<String>,
    /// The check's name.
    pub check: Option<String>,
    /// The gauge's name; of an alert, what it is about.
    pub gauge: Option<String>,
    /// What a reading counts as now; asks for readings only.
    pub state: Option<State>,
    /// The verdict; of a reading, the standing one of its attempt.
    pub word: Option<Word>,
    /// This level or a louder one; asks for alerts only.
    pub level: Option<Level>,
    /// The kind; asks for alerts only.
    pub kind: Option<AlertKind>,
    /// The state of an alert; asks for alerts only.
    pub stage: Option<AlertStage>,
    /// Whether a job is open; asks for jobs only.
    pub open: Option<bool>,
    /// From this moment on, itself included. A job counts by its opening.
    pub since: Option<Wall>,
    /// Until this moment, itself not included.
    pub until: Option<Wall>,
    /// Only numbers above this one.
    pub after: Option<Seq>,
    /// Only numbers below this one.
    pub before: Option<Seq>,
    /// At most this many, the oldest.
    pub first: Option<usize>,
    /// At most this many, the newest; ignored where `first` is given.
    pub last: Option<usize>,
    /// Superseded verdicts too.
    pub all: bool,
}

/// The state of an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AlertStage {
    /// Neither seen nor over.
    Open,
    /// Seen, not over.
    Seen,
    /// Over.
    Cleared,
}

/// The place of something in a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The job.
    pub job: Name,
    /// The part and check; `None` where it only belongs to the job.
    pub check: Option<CheckPlace>,
}

/// A check by its names, and which attempt at it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckPlace {
    /// The part.
    pub part: Name,
    /// The check.
    pub check: Name,
    /// The attempt's row.
    pub attempt: Seq,
    /// Which attempt at the check, counted from 1.
    pub number: u32,
}

/// Where a reading came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadingSource {
    /// A gauge on a serial line.
    Serial,
    /// A dropped file.
    Drop {
        /// Its name in the folder.
        file: String,
        /// The line, counted from 1.
        line: u32,
    },
    /// Keyed in.
    Keyed,
}

/// A reading, as in `reading/1`.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRecord {
    /// Its number.
    pub id: Seq,
    /// When it arrived.
    pub at: Wall,
    /// The gauge.
    pub gauge: Name,
    /// Where it came from.
    pub source: ReadingSource,
    /// Its place; `None` for a reading outside every job.
    pub place: Option<Place>,
    /// The position.
    pub position: Option<u32>,
    /// The angle of the position on the metal, degrees [0, 360), counter-clockwise from the index.
    pub angle_deg: Option<f64>,
    /// The radius of the position, where the plan gives one.
    pub radius: Option<Length>,
    /// The distance along the axis, where the check has stations.
    pub station: Option<Length>,
    /// The value as sent.
    pub value: Quoted,
    /// What was sent, printable.
    pub as_sent: String,
    /// What it counts as now.
    pub state: State,
    /// The reason, where one is needed: that of the newest mark, otherwise that given on arrival.
    pub why: Option<String>,
    /// The time a file states for it.
    pub measured_at: Option<Wall>,
    /// Who touched.
    pub by: Option<Name>,
    /// Who took it back, where it is void.
    pub voided_by: Option<Name>,
    /// Whose process asked for that.
    pub voided_caller: Option<Caller>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// A verdict, as in `verdict/1`.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictRecord {
    /// Its number.
    pub id: Seq,
    /// When it was given.
    pub at: Wall,
    /// Who touched last, or gave the answer.
    pub by: Option<Name>,
    /// The job.
    pub job: Name,
    /// The part.
    pub part: Name,
    /// The check.
    pub check: Name,
    /// Which attempt at the check, counted from 1; its row is in `verdict`.
    pub attempt: u32,
    /// Why the attempt was made.
    pub reason: AttemptReason,
    /// The characteristic.
    pub measures: &'static Traits,
    /// How the part is held.
    pub setup: Holding,
    /// The gauge.
    pub gauge: Option<Name>,
    /// The face that lay on the plate, as the plan says.
    pub down: Option<String>,
    /// The remark on the attempt.
    pub remark: Option<String>,
    /// The answers that conform, where a question is judged by its answer.
    pub good: Vec<String>,
    /// The verdict itself.
    pub verdict: Arc<Verdict>,
    /// The next verdict on the same attempt.
    pub superseded_by: Option<Seq>,
    /// Whose process asked for what led to it, where one did.
    pub caller: Option<Caller>,
    /// Whose process asked for the attempt to begin, where one did.
    pub began_caller: Option<Caller>,
    /// What it is worth now; in the feed, what it was worth when it was given.
    pub standing: Standing,
}

impl VerdictRecord {
    /// How the part was held, where the kind of check has a set-up.
    #[must_use]
    pub fn held(&self) -> Option<Holding> {
        self.measures.held.is_none().then_some(self.setup)
    }

    /// Its result for a person, in `unit`.
    #[must_use]
    pub fn told(&self, unit: Unit) -> Told {
        self.verdict.told_beside(&self.good, unit)
    }
}

/// An alert, as in `alert/1`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlertRecord {
    /// Its number.
    pub id: Seq,
    /// When it was raised.
    pub at: Wall,
    /// Its place.
    pub place: Option<Place>,
    /// The alert itself.
    pub alert: Arc<Alert>,
    /// When it ended.
    pub cleared_at: Option<Wall>,
    /// When a person first saw it.
    pub acked_at: Option<Wall>,
    /// Who that was.
    pub acked_by: Option<Name>,
    /// Whose process said so, where one did.
    pub acked_caller: Option<Caller>,
    /// Whether it came with a job from another bench. It counts as seen here.
    pub came_along: bool,
}

impl AlertRecord {
    /// Its state.
    #[must_use]
    pub const fn stage(&self) -> AlertStage {
        match (self.cleared_at, self.acked_at) {
            (Some(_), _) => AlertStage::Cleared,
            (None, Some(_)) => AlertStage::Seen,
            (None, None) if self.came_along => AlertStage::Seen,
            (None, None) => AlertStage::Open,
        }
    }
}

/// A line of the feed, as in `feed/1`. It shows the alert or verdict as it was at that time, so that a line
/// sent again later is the same line.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedRecord {
    /// Which feed its number belongs to, see [`super::FeedOrigin`].
    pub feed: Arc<str>,
    /// Its number: 1, 2, 3 … without a gap.
    pub seq: u64,
    /// When; `None` for a damaged line.
    pub at: Option<Wall>,
    /// The event.
    pub event: FeedEvent,
}

/// The event in a line of the feed.
#[derive(Debug, Clone, PartialEq)]
pub enum FeedEvent {
    /// An alert was raised.
    Raised(Box<AlertRecord>),
    /// A person has seen it.
    Seen(Box<AlertRecord>),
    /// It has ended.
    Cleared(Box<AlertRecord>),
    /// A verdict was given.
    Verdict(Box<VerdictRecord>),
    /// The content of the line cannot be read any more; the message says why.
    Damaged(String),
}

/// A job, as in `job/1`.
#[derive(Debug, Clone, PartialEq)]
pub struct JobRecord {
    /// Its number.
    pub id: Seq,
    /// Its name.
    pub name: Name,
    /// The name of its plan's file.
    pub plan_name: Name,
    /// Its plan.
    pub plan: Arc<PinnedPlan>,
    /// The spindle's serial number, as it was corrected last.
    pub serial: Option<String>,
    /// Whose it is, as it was corrected last.
    pub customer: Option<String>,
    /// Who opened it.
    pub by: Option<String>,
    /// Whose process asked to open it, and to close it.
    pub callers: [Option<Caller>; 2],
    /// When.
    pub opened_at: Wall,
    /// When it was closed; `None` while it is open.
    pub closed_at: Option<Wall>,
    /// Who closed it.
    pub closed_by: Option<Name>,
    /// Remarks, oldest first.
    pub notes: Vec<Remark>,
    /// The rule it was opened with.
    pub rule: Rule,
    /// Changes of the rule, the oldest first.
    pub rules: Vec<RuleChange>,
    /// Signatures, oldest first.
    pub signed: Vec<SignatureRecord>,
    /// What was said when it came in, or agreed since; every change, oldest first.
    pub told: Vec<ToldRecord>,
    /// What was corrected at its head, oldest first: `serial` and `customer` are as the newest says.
    pub edits: Vec<EditRecord>,
    /// What was decided about parts, oldest first.
    pub decided: Vec<DecidedRecord>,
    /// The serial numbers that were written down for parts, oldest first.
    pub serials: Vec<SerialRecord>,
    /// Where it stands, if that was worked out: it takes the whole job.
    pub flow: Option<bench::flow::Flow>,
    /// The stack, as it was found and as it is built.
    pub stack: StackRecord,
    /// Replaced parts, the oldest first.
    pub replaced: Vec<ReplacedPart>,
    /// Steps that were taken although something spoke against them, the oldest first.
    pub went_on: Vec<WentOnRecord>,
    /// Its pictures and papers, the oldest first.
    pub attached: Vec<AttachmentRecord>,
}

impl JobRecord {
    /// The value by which jobs are ordered: when they were opened. The number of a job from another bench
    /// only says when it was imported.
    #[must_use]
    pub const fn age(&self) -> (Wall, Seq) {
        (self.opened_at, self.id)
    }
}

/// A remark on a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// When.
    pub at: Wall,
    /// Who made it.
    pub by: Option<Name>,
    /// The remark.
    pub text: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

impl JobRecord {
    /// The rule it is judged by now.
    #[must_use]
    pub fn rule_now(&self) -> Rule {
        self.rules.last().map_or(self.rule, |change| change.rule)
    }
}

/// A change of the rule that a job is judged by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleChange {
    /// When.
    pub at: Wall,
    /// Who changed it.
    pub by: Option<Name>,
    /// The new rule.
    pub rule: Rule,
    /// Why.
    pub why: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// A signature on a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignatureRecord {
    /// Its number.
    pub id: Seq,
    /// When.
    pub at: Wall,
    /// What for.
    pub role: Role,
    /// Who signed.
    pub by: Name,
    /// The seal of what was signed, as it is printed.
    pub seal: String,
    /// Whether something was measured or changed since.
    pub earlier: bool,
    /// Whether it was given on another bench: its seal is that bench's, and cannot be checked here.
    pub elsewhere: bool,
    /// The checks that spoke against it, by part and name, and what was wrong with each.
    pub lacking: Vec<(Name, Name, Lack)>,
    /// Why it was signed all the same.
    pub why: Option<String>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// What was said when a job came in, or agreed since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldRecord {
    /// When.
    pub at: Wall,
    /// Who wrote it down.
    pub by: Option<Name>,
    /// What it is about.
    pub what: IntakeItem,
    /// The words.
    pub text: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// What was mistyped at the head of a job, and is corrected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditRecord {
    /// When.
    pub at: Wall,
    /// Who corrected it.
    pub by: Option<Name>,
    /// What it is.
    pub what: JobField,
    /// As it was before; `None` where nothing stood there.
    pub was: Option<String>,
    /// As it is since.
    pub text: String,
    /// Why.
    pub why: Option<String>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// What was decided about a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecidedRecord {
    /// Its number.
    pub id: Seq,
    /// When.
    pub at: Wall,
    /// Who decided.
    pub by: Option<Name>,
    /// The part.
    pub part: Name,
    /// What.
    pub outcome: Outcome,
    /// Why.
    pub why: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// The serial number of a part, as it was written down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SerialRecord {
    /// When.
    pub at: Wall,
    /// Who wrote it down.
    pub by: Option<Name>,
    /// The part.
    pub part: Name,
    /// The number.
    pub serial: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// The parts on the shaft, from the nose inwards.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StackRecord {
    /// As it was found when it was taken apart.
    pub found: Vec<StackedPart>,
    /// As it is built.
    pub built: Vec<StackedPart>,
    /// The marked high spots that count, in the order of the plan.
    pub spots: Vec<MarkedSpot>,
    /// What they come to as the stack is built.
    pub together: Option<Together>,
}

/// The marked high spot of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkedSpot {
    /// When it was marked.
    pub at: Wall,
    /// The part.
    pub part: Name,
    /// The mark.
    pub spot: HighSpot,
    /// Who wrote it down.
    pub by: Option<Name>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// A part in the stack and how it sits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackedPart {
    /// The part.
    pub part: Name,
    /// The face that is towards the nose.
    pub towards_nose: Option<String>,
    /// The angle of its mark, whole degrees from the index mark of the shaft.
    pub mark_deg: Option<u16>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Who wrote it down or put it on.
    pub by: Option<Name>,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// A step that was taken, with a reason, although something spoke against it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WentOnRecord {
    /// When.
    pub at: Wall,
    /// Who took it.
    pub by: Option<Name>,
    /// The part that went on the stack; `None` where the job was closed.
    pub part: Option<Name>,
    /// The checks that spoke against it, by part and name, and what was wrong with each.
    pub lacking: Vec<(Name, Name, Lack)>,
    /// Of a part whose mark stood otherwise than its high spot asks for.
    pub mark: Option<MarkOff>,
    /// Why it went on.
    pub why: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

/// A part that was replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReplacedPart {
    /// When.
    pub at: Wall,
    /// Who replaced it.
    pub by: Option<Name>,
    /// The part.
    pub part: Name,
    /// The serial number of the new one.
    pub serial: Option<String>,
    /// Why.
    pub why: String,
    /// Whose process asked for it, where one did.
    pub caller: Option<Caller>,
}

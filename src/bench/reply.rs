//! What a decision gives besides rows: the answer to a request, and tasks for the service.

use std::sync::Arc;

use quantity::{Name, Quoted};

use crate::fact::row::{
    Attached, HighSpot, IntakeItem, JobField, Outcome, Proved, Registered, Role, Stage, State,
};
use crate::fact::seq::Seq;
use crate::spots::{Opposing, Together};
use crate::state::row::Row;
use crate::state::{Bench, Proving};

/// What one event leads to. Nothing of it may be sent before its rows are stored.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Decision {
    /// The rows to store and apply, in order.
    pub rows: Vec<Row>,
    /// The answer, where the event was a request.
    pub reply: Option<Result<Done, Refusal>>,
    /// Tasks outside the record.
    pub notices: Vec<Notice>,
    /// The bench with the rows applied. They were applied while they were decided, so the caller need not
    /// apply those of a long file a second time.
    pub after: Bench,
}

/// A task for the service, after the rows are stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// Write the reasons beside a refused file.
    FileRefused {
        /// The drop.
        drop: Name,
        /// The file's name.
        name: String,
        /// Every bad row, a line each.
        why: String,
    },
    /// A file was taken: remove the reasons of an earlier refusal.
    FileTaken {
        /// The drop.
        drop: Name,
        /// The file's name.
        name: String,
        /// Rows taken from it now.
        rows: u32,
    },
}

/// Why a request is refused: what is wrong and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Exit code: 1 for a "no", 2 for wrong input.
    pub exit: u8,
    /// What is wrong.
    pub text: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Refusal {
    /// Wrong input: exit code 2.
    pub fn input(text: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { exit: 2, text: text.into(), hint: Some(hint.into()) }
    }
}

/// What happened to a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobNow {
    /// It was opened.
    Opened,
    /// It was open and is in use.
    InUse,
    /// It was closed.
    Closed,
    /// It was closed and is open again.
    Reopened,
}

/// What a request did.
#[derive(Debug, Clone, PartialEq)]
pub enum Done {
    /// A job is open and active.
    Job {
        /// What happened.
        what: JobNow,
        /// Its number.
        id: Seq,
        /// Its name.
        name: Name,
        /// The station that works on it now, or did until it was closed.
        station: Option<Name>,
        /// The check that is active there, `PART/CHECK`.
        active: Option<String>,
    },
    /// A check is active.
    Measuring(Measuring),
    /// Nothing had to be done.
    Already(Measuring),
    /// The check was left.
    Stopped {
        /// The station.
        station: Name,
        /// The attempt that ended as incomplete, if one was under way.
        incomplete: Option<Seq>,
        /// `PART/CHECK` of a check that was left before its first touch and can still be measured.
        untouched: Option<String>,
    },
    /// Readings were keyed in.
    Entered {
        /// Their numbers.
        readings: Vec<Seq>,
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// One reading was taken.
    Taken {
        /// Its number.
        reading: Seq,
        /// Its value.
        value: Quoted,
        /// What it counts as.
        state: State,
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// A person said that the bar is seated, or took that word back.
    Seated {
        /// The present seating of the bar, counted from 0.
        seating: u32,
        /// Where the mark of the bar stands, in degrees as the marks are counted.
        deg: u32,
        /// Whether the word was taken back.
        taken_back: bool,
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// A mark was tapped during a sweep.
    Tapped {
        /// How many taps there are now.
        tapped: u32,
        /// Marks in one turn; one tap more makes the turn whole.
        marks: u32,
        /// Where the next mark lies, whole degrees.
        next_deg: u32,
        /// Where the check stands.
        measuring: Measuring,
    },
    /// A turn was swept.
    Swept {
        /// How many samples it has.
        samples: u32,
        /// What the samples count as: placed, suspect where one of them cannot belong to the turn, void
        /// where the turn was taken back.
        state: State,
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// A reading was taken back.
    Voided {
        /// Which.
        reading: Seq,
        /// Its position.
        position: Option<u32>,
        /// Where the check stands now, if it is still on the screen.
        measuring: Option<Measuring>,
    },
    /// A position was left out.
    Skipped {
        /// Which.
        position: u32,
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// The next reading is the master.
    MasterNext {
        /// Where the check stands now.
        measuring: Measuring,
    },
    /// A question was answered, or a value written down.
    Answered {
        /// `PART/CHECK`.
        target: String,
        /// The answer or value.
        text: String,
        /// The verdict, where the answer is judged.
        word: Option<judgement::Word>,
    },
    /// The list of the stack changed.
    Stacked {
        /// Which list.
        stage: Stage,
        /// The part that was put on it or taken off it.
        part: Name,
        /// How many parts are on it now.
        placed: u32,
        /// How many parts belong on it: as the plan says, otherwise as many as were found.
        of: Option<u32>,
        /// Where the mark of the part that goes on next belongs.
        next: Option<(Name, Opposing)>,
    },
    /// The high spot of a part is marked, or is marked no more.
    Spotted {
        /// The part.
        part: Name,
        /// The mark.
        spot: Option<Arc<HighSpot>>,
        /// What the high spots come to as built now.
        together: Together,
    },
    /// A part is replaced by a new one.
    Replaced {
        /// The part.
        part: Name,
    },
    /// A remark was written down.
    Noted {
        /// The job.
        job: Seq,
    },
    /// A job is judged by another rule from now on.
    RuleChanged {
        /// The job.
        name: Name,
        /// The rule.
        rule: judgement::Rule,
    },
    /// A person works at the station from now on, or nobody in particular.
    PersonAt {
        /// The station.
        station: Name,
        /// The person.
        person: Option<Name>,
    },
    /// A job was signed.
    Signed {
        /// The job.
        job: Seq,
        /// What for.
        role: Role,
        /// Who signed.
        by: Name,
        /// The seal of what was signed.
        seal: String,
        /// What a reader of the signature has to know.
        mind: Vec<String>,
    },
    /// What was said about a job was written down.
    Told {
        /// The job.
        name: Name,
        /// What it was about.
        told: Vec<IntakeItem>,
    },
    /// What was mistyped when a job was opened is corrected.
    Edited {
        /// The job.
        name: Name,
        /// What was corrected.
        edits: Vec<Edit>,
    },
    /// It was decided what becomes of a part.
    Decided {
        /// The part.
        part: Name,
        /// What.
        outcome: Outcome,
        /// What remains to be done, or what else has to be known.
        mind: Option<String>,
    },
    /// The serial number of a part was written down.
    Serial {
        /// The part.
        part: Name,
        /// The number.
        serial: String,
        /// The number it had before.
        before: Option<String>,
    },
    /// A gauge is being proved, or its proof is over.
    Proving(Box<ProvingNow>),
    /// The register has a new entry.
    Registered {
        /// Its number.
        id: Seq,
        /// The entry.
        entry: Arc<Registered>,
    },
    /// A picture or a paper was attached.
    Attached(Box<AttachedNow>),
    /// One was taken back.
    AttachedTakenBack {
        /// Which.
        id: Seq,
        /// What it is.
        attached: Arc<Attached>,
    },
    /// All open alerts, or those of a job, are marked as seen.
    AllSeen {
        /// Those that nobody had seen before, oldest first.
        alerts: Vec<Seq>,
        /// The job, where only its alerts were meant.
        job: Option<Name>,
    },
    /// An alert is marked as seen.
    Seen {
        /// Which.
        alert: Seq,
    },
}

/// A correction at the head of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What it is.
    pub what: JobField,
    /// As it was.
    pub was: Option<String>,
    /// As it is from now on.
    pub now: String,
}

/// A picture or a paper that was attached just now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachedNow {
    /// Its number.
    pub id: Seq,
    /// The name of the job.
    pub job: Name,
    /// The part, or `PART/CHECK`.
    pub to: Option<String>,
    /// What it is.
    pub attached: Arc<Attached>,
    /// An earlier attachment of this job with the same bytes.
    pub same: Option<Seq>,
}

/// Where the proof of a gauge stands.
#[derive(Debug, Clone, PartialEq)]
pub struct ProvingNow {
    /// The station.
    pub station: Name,
    /// The proof under way.
    pub proving: Option<Arc<Proving>>,
    /// The proof that is over.
    pub over: Option<Arc<Proved>>,
    /// The readings that were taken just now.
    pub readings: Vec<Seq>,
    /// The check, `PART/CHECK`, that waits until the proof is over.
    pub waits: Option<String>,
    /// What left its chart.
    pub off_chart: Option<String>,
}

/// A check that was left before its last touch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// `PART/CHECK`.
    pub target: String,
    /// Positions with a reading that counts.
    pub taken: u32,
    /// Positions of the check.
    pub of: u32,
    /// Whether the attempt is over and counts as incomplete; otherwise it can be continued.
    pub ended: bool,
}

/// Where a station stands in a check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measuring {
    /// The station.
    pub station: Name,
    /// The job.
    pub job: Name,
    /// The part.
    pub part: Name,
    /// The check.
    pub check: Name,
    /// Which attempt at it.
    pub attempt: u32,
    /// What is touched next.
    pub next: crate::series::Touch,
    /// The place of that touch in words, where a number is not enough: `station 3 in, bar at 90, touch 4 of
    /// 8`.
    pub place: Option<String>,
    /// Which of its position's touches that is, where each position takes several.
    pub nth: Option<crate::series::Nth>,
    /// Touches that count, at each position at most as many as it takes.
    pub taken: u32,
    /// Touches of the whole check, closure and master apart.
    pub of: u32,
    /// Positions of the check.
    pub positions: u32,
    /// How often each of them is touched.
    pub touches: u32,
    /// The question of a check that is answered, not touched.
    pub asks: Option<crate::plan::Asks>,
    /// The checks with touches that were left for this one.
    pub left: Vec<Left>,
    /// The checks, `PART/CHECK`, to be measured again because a person said that metal was taken off.
    /// `None` where nobody said so.
    pub ground: Option<Vec<String>>,
    /// What a person has to know before going on.
    pub mind: Vec<String>,
    /// The alerts that the latest touches raised and that are still open, other than the verdict.
    pub raised: Vec<String>,
    /// The standing verdict as a sentence, once the series is over.
    pub came_to: Option<String>,
    /// The remark about the gauge: before the first touch that its calibration is overdue, or soon will be;
    /// during the series that keyed values are coarser than the gauge shows, or than the limit needs.
    pub gauge_says: Option<String>,
}

//! What a decision says besides rows: answers to requests, and errands for the shell.

use quantity::{Name, Quoted};

use crate::fact::row::{Stage, State};
use crate::fact::seq::Seq;
use crate::state::Bench;
use crate::state::row::Row;

/// What one event leads to. Nothing of it may be told before its rows are stored.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Decision {
    /// The rows to store and apply, in order.
    pub rows: Vec<Row>,
    /// The answer, where the event was a request.
    pub reply: Option<Result<Done, Refusal>>,
    /// Errands that are nobody's state.
    pub notices: Vec<Notice>,
    /// The bench once the rows are applied: it took each of them while they were decided, so that
    /// the caller need not apply a long file a second time.
    pub after: Bench,
}

/// An errand for the shell, after the commit.
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
    /// The file was taken; reasons of an earlier refusal are out of date.
    FileTaken {
        /// The drop.
        drop: Name,
        /// The file's name.
        name: String,
        /// Rows taken from it now.
        rows: u32,
    },
}

/// Why a request is refused: the sentence and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Exit code: 1 the answer is no, 2 refused input.
    pub exit: u8,
    /// What is wrong.
    pub text: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Refusal {
    /// Refused input: exit code 2.
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
        /// `PART/CHECK` of one that was left before its first touch and waits for it.
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
    /// A person said that the bar is seated, or took that back.
    Seated {
        /// The seating it is in now, counted from 0.
        seating: u32,
        /// Where its mark stands, degrees as the marks are counted.
        deg: u32,
        /// The word before was taken back.
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
        /// What they count as: placed, suspect where one of them cannot belong, void where the turn
        /// was taken back.
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
        /// How many belong on it, where the plan says so; otherwise as many as were found.
        of: Option<u32>,
    },
    /// A part is a new one from now on.
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
    /// Somebody works at the station from now on, or nobody in particular.
    PersonAt {
        /// The station.
        station: Name,
        /// The person.
        person: Option<Name>,
    },
    /// A second person's check was written down.
    Checked {
        /// The job.
        job: Seq,
        /// Who checked.
        by: Name,
    },
    /// An alert is marked as seen.
    Seen {
        /// Which.
        alert: Seq,
    },
}

/// A check that was left before its last touch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// `PART/CHECK`.
    pub target: String,
    /// Positions that hold a reading that counts.
    pub taken: u32,
    /// Positions of the check.
    pub of: u32,
    /// The attempt is over and counts as incomplete; otherwise it goes on where it was.
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
    /// Where that lies in words, where a number does not say it: `station 3 in, bar at 90, touch 4
    /// of 8`.
    pub place: Option<String>,
    /// Positions that hold a reading that counts.
    pub taken: u32,
    /// Positions of the check.
    pub of: u32,
    /// What it asks for, where it is answered and not touched.
    pub asks: Option<crate::plan::Asks>,
    /// The checks with touches that were left for this one.
    pub left: Vec<Left>,
    /// Where a person said that metal was taken off: the checks, `PART/CHECK`, that are to be measured
    /// again for it.
    pub ground: Option<Vec<String>>,
    /// What a person has to know before going on.
    pub mind: Vec<String>,
    /// What the touches just taken raised and is still open, beside the verdict itself.
    pub raised: Vec<String>,
    /// What came of it, once the series is over: the standing verdict as a sentence.
    pub came_to: Option<String>,
    /// What is to be said of the gauge: before the first touch that its calibration is past, or soon;
    /// during the series that what was keyed is coarser than it shows, or than the limit asks for.
    pub gauge_says: Option<String>,
}

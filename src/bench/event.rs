//! Events: all that can happen to a bench.

mod asked;

use std::collections::BTreeSet;
use std::sync::Arc;

use gauge::{FileRows, Odd, RowFault};
use quantity::{Name, Quoted, Stamp, Wall};

use crate::fact::row::{
    AttemptReason, Device, FileSeen, IntakeItem, JobField, Outcome, Piece, Role, Stage,
};
use crate::fact::seq::Seq;

pub use self::asked::{AckOf, AttachAsked, RegisterAsked, RunInAsked, ToSign};

/// One thing that happened. What only the disk knows was looked up and added by the service.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The service started, or its configuration was read again.
    Started {
        /// Identity of the machine's boot.
        boot: u64,
    },
    /// A gauge sent a good frame.
    Frame(Frame),
    /// A gauge that is asked for its readings sent a good frame without being asked.
    Unasked(Frame),
    /// A gauge sent something that could not be read.
    Damaged {
        /// The gauge.
        gauge: Name,
        /// What was sent, printable.
        text: String,
        /// What is wrong with it.
        why: String,
    },
    /// A gauge began to send far more than a person can press; it is ignored until it stops.
    Flooding {
        /// The gauge.
        gauge: Name,
    },
    /// The state of a gauge's line changed.
    Line {
        /// The gauge.
        gauge: Name,
        /// Whether it can be read now.
        live: bool,
        /// The message to the person, where it cannot.
        why: String,
    },
    /// A gauge that sent a stream sends nothing any more, or sends again.
    Stream {
        /// The gauge.
        gauge: Name,
        /// The message to the person, where it has stopped.
        stopped: Option<String>,
    },
    /// A pedal is stuck down, or cannot be read; or is well again.
    Pedal {
        /// The station it belongs to.
        station: Name,
        /// The message to the person, where something is wrong.
        wrong: Option<String>,
    },
    /// A turn that was under way can no longer be completed.
    TurnLost {
        /// The attempt it was for.
        attempt: Seq,
        /// What happened.
        why: String,
    },
    /// The pedal of a station was pressed: without effect, or to take a reading back.
    Foot {
        /// The station of the pedal.
        station: Name,
        /// Why it had no effect; `None` where it was done.
        refused: Option<String>,
    },
    /// A complete dropped file was read.
    File(Box<DroppedFile>),
    /// The state of a drop folder changed.
    Folder {
        /// The drop.
        drop: Name,
        /// Whether it is there.
        there: bool,
        /// The message to the person, where it is not.
        why: String,
    },
    /// A person or a script asks for something.
    Request(Request),
    /// Time passed while a spindle runs in.
    TimePassed,
    /// A scanner read a code; the request in the code is an event of its own.
    Scan {
        /// The station of the scanner.
        station: Name,
        /// Why it had no effect; `None` where it was done.
        refused: Option<String>,
    },
    /// The file of the control socket is gone or was replaced, or is well again.
    Socket {
        /// The message to the person; `None` where it is well.
        wrong: Option<String>,
    },
    /// The configuration was to be read again and has errors.
    ReloadRefused {
        /// The first of them, and how many more there are.
        why: String,
    },
    /// A pedal or a scanner came or went.
    Device {
        /// The station it belongs to.
        station: Name,
        /// What it is.
        what: Device,
        /// The message to the person, where it cannot be read.
        missing: Option<String>,
    },
    /// The state of the record changed.
    Storage(StorageNews),
}

/// A good frame from a gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// The gauge.
    pub gauge: Name,
    /// Its value, exactly.
    pub value: Quoted,
    /// What was sent, printable.
    pub text: String,
    /// Whether it is the same press as the one before.
    pub repeat: bool,
    /// A unit, or places, other than expected.
    pub odd: Option<Odd>,
    /// Whether the gauge reports a low battery.
    pub low_battery: bool,
}

/// What a gauge sent during one turn, between the first and the last tap of the index mark.
#[derive(Debug, Clone, PartialEq)]
pub struct SweptTurn {
    /// When the marks were tapped, microseconds of the monotonic clock, rising; two at least.
    pub taps_us: Vec<u64>,
    /// The samples, each with the moment it arrived, in order.
    pub samples: Vec<(Stamp, Frame)>,
}

/// A file from a drop folder, complete and read.
#[derive(Debug, Clone, PartialEq)]
pub struct DroppedFile {
    /// Which file it is; its `why` gives the reason when no row could be read, and is empty otherwise.
    pub seen: FileSeen,
    /// The gauge of the drop.
    pub gauge: Name,
    /// Its bytes.
    pub bytes: Arc<Vec<u8>>,
    /// The rows; empty where no row could be read.
    pub rows: Arc<FileRows>,
    /// Rows that do not parse. They and all other errors make the file be refused.
    pub bad: Vec<RowFault>,
    /// How many rows at the beginning were already taken from an earlier, shorter version of the file.
    pub given_before: u32,
    /// The newest files this drop took under the same name, where this one does not begin with the
    /// last of them.
    pub before: Vec<Seq>,
    /// Whether all rows go to the active check at the gauge's station, whatever they name.
    pub to_active: bool,
    /// Whether this very file was taken before: alerts about it since then are over.
    pub known: bool,
    /// The same bytes were taken before for the same places.
    pub same: Option<Taken>,
    /// Jobs that the rows name and that exist, but are closed.
    pub closed_jobs: BTreeSet<String>,
}

/// A dropped file as it was taken earlier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// The drop.
    pub drop: Name,
    /// Its name there.
    pub name: String,
    /// When it was taken.
    pub at: Wall,
}

/// News about the record on disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StorageNews {
    /// A commit failed; rows are held back.
    Failing {
        /// What the disk or database said.
        why: String,
    },
    /// All rows that were held back are stored.
    Recovered,
    /// Space, or the log beside the database, is running out.
    SpaceLow {
        /// The message to the person.
        why: String,
    },
    /// There is space again.
    SpaceFine,
    /// A new record begins.
    Begun {
        /// The newest row of the record that was there before, and is gone.
        before: Option<String>,
    },
    /// Rows that were acknowledged are not in the record any more.
    Lost {
        /// The first and the last of them.
        rows: (Seq, Seq),
        /// How many, from when to when.
        why: String,
    },
    /// The file was checked, and nothing in it is damaged now.
    FileFine,
    /// A job, or something else, cannot be read from the record and is set aside.
    Damaged {
        /// What.
        what: Piece,
        /// The message to the person: table, row and what is wrong with it.
        why: String,
    },
}

/// A request that may change something.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Where it acts; may be left out where there is only one station.
    pub station: Option<String>,
    /// Who does it, as they said.
    pub by: Option<String>,
    /// The login name of the person who asks, where nobody said who works there.
    pub login: Option<String>,
    /// What.
    pub command: Command,
}

/// The requests to a bench.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Open a job and make it active.
    JobOpen {
        /// Its name.
        name: String,
        /// Whether the name was ever used before; only the disk knows this.
        used: bool,
        /// The plan's name.
        plan: String,
        /// The spindle's serial number.
        serial: Option<String>,
        /// Whose it is.
        customer: Option<String>,
        /// What was said when it came in.
        told: Vec<(IntakeItem, String)>,
        /// The rule that was agreed, where it is another one than that of plan and bench.
        rule: Option<judgement::Rule>,
    },
    /// Write down what was said when a job came in, or agreed since.
    JobIntake {
        /// Its name.
        name: String,
        /// What was said, at least one thing.
        told: Vec<(IntakeItem, String)>,
    },
    /// Correct what was mistyped when a job was opened; also of a job that is closed.
    JobEdit {
        /// Its name.
        name: String,
        /// What is corrected, at least one thing.
        edits: Vec<(JobField, String)>,
        /// Why.
        why: Option<String>,
        /// The rows of a closed job, read back from the disk; `None` where it does not exist or is open.
        found: Option<Arc<Vec<crate::state::row::Row>>>,
    },
    /// Make an open job active.
    JobUse {
        /// Its name.
        name: String,
    },
    /// Close a job; without a name the active one.
    JobClose {
        /// Its name.
        name: Option<String>,
        /// Why it is closed although a check speaks against it.
        why: Option<String>,
    },
    /// Judge a job by another rule from now on.
    JobRule {
        /// Its name.
        name: String,
        /// The rule.
        rule: judgement::Rule,
        /// Why.
        why: String,
    },
    /// Open a closed job again.
    JobReopen {
        /// Its name.
        name: String,
        /// Its rows, read back from the disk; `None` where it does not exist or is open.
        found: Option<Arc<Vec<crate::state::row::Row>>>,
    },
    /// Make a check active.
    Measure {
        /// `PART/CHECK`.
        target: String,
        /// A remark on a new attempt.
        remark: Option<String>,
    },
    /// End the active attempt and leave the check.
    Stop,
    /// Begin the next attempt.
    Remeasure {
        /// Why.
        reason: AttemptReason,
        /// `PART/CHECK`; the active check where left out.
        target: Option<String>,
        /// A remark on the new attempt.
        remark: Option<String>,
    },
    /// Answer the question of a check.
    Confirm {
        /// `PART/CHECK`.
        target: String,
        /// The answer.
        answer: String,
    },
    /// Write down a value that has no tolerance.
    Record {
        /// `PART/CHECK`.
        target: String,
        /// The value, with its unit where that is not the plan's.
        value: String,
    },
    /// A person tells of the run-in of a spindle.
    RunIn {
        /// What they tell.
        asked: RunInAsked,
        /// `PART/CHECK`; the run-in under way, or the only one of the plan, where left out.
        target: Option<String>,
    },
    /// Put a part on the list of the stack.
    StackPlace {
        /// Which list.
        stage: Stage,
        /// The part's name.
        part: String,
        /// The face that is towards the nose.
        towards_nose: Option<String>,
        /// The angle of its mark, degrees.
        mark_deg: Option<u16>,
        /// Its serial number.
        serial: Option<String>,
        /// Why it goes on although one of its checks speaks against it.
        why: Option<String>,
    },
    /// Mark the high spot of a part, or take its mark back.
    StackSpot {
        /// The part's name.
        part: String,
        /// Where the spot is, degrees; `None` takes the mark back.
        deg: Option<u16>,
        /// Whether it is the lowest spot.
        low: bool,
        /// The total reading that it makes.
        amount: Option<String>,
        /// The standard uncertainty of that.
        uncertainty: Option<String>,
        /// The face that is towards the nose as the angle is counted.
        towards_nose: Option<String>,
    },
    /// Take the newest part off the list of the stack.
    StackBack {
        /// Which list.
        stage: Stage,
    },
    /// A part is replaced by a new one.
    Replace {
        /// The part's name.
        part: String,
        /// Its serial number.
        serial: Option<String>,
        /// Why.
        why: String,
    },
    /// Make the first check without a verdict active.
    Next,
    /// Key readings in.
    Enter {
        /// The values as typed.
        values: Vec<String>,
        /// The value of one graduation, where values are counts of them.
        graduation: Option<String>,
    },
    /// Take one reading now.
    Take {
        /// The settled value of a stream, or the answer of a gauge that was asked, which only the deciding
        /// thread has; `None` where there is no gauge to take it from.
        frame: Option<Frame>,
    },
    /// A mark was tapped while a turn passes under the stylus. Stored now is only that a turn is under way;
    /// the times of its taps are stored when it is complete.
    Tapped {
        /// Which tap it was, counted from 1; the last one completes the turn and is a [`Command::Swept`].
        /// `None`: the turn was dropped.
        tapped: u32,
    },
    /// A turn has passed under the stylus.
    Swept(Box<SweptTurn>),
    /// Key in the high and the low of a needle that was watched over the whole turn.
    EnterHighLow {
        /// `VALUE@MARK`, the mark in degrees.
        high: String,
        /// The same of the low.
        low: String,
        /// The value of one graduation, where values are counts of them.
        graduation: Option<String>,
    },
    /// Key in the total reading of a needle that was watched over the whole turn.
    EnterTotal {
        /// The value.
        value: String,
        /// The value of one graduation, where the value is a count of them.
        graduation: Option<String>,
    },
    /// Take a reading back.
    Void {
        /// Which; the newest that counts where left out.
        id: Option<Seq>,
        /// Why.
        why: Option<String>,
    },
    /// Leave a position out.
    Skip {
        /// Which; the next one where left out.
        position: Option<u32>,
        /// Why.
        why: String,
    },
    /// A person works at the station from now on, or nobody in particular.
    Person {
        /// Their name.
        name: Option<String>,
    },
    /// A person signs a job.
    Sign {
        /// The job's name.
        job: String,
        /// What for.
        role: Role,
        /// Why, although a check speaks against it.
        why: Option<String>,
        /// What only the disk knows.
        known: Option<Arc<ToSign>>,
    },
    /// Decide what becomes of a part.
    Decide {
        /// The part's name.
        part: String,
        /// What.
        outcome: Outcome,
        /// Why.
        why: String,
    },
    /// Write down the serial number of a part.
    Serial {
        /// The part's name.
        part: String,
        /// The number.
        serial: String,
    },
    /// The next reading is the master.
    Master {
        /// The gauge; the active check's where left out.
        gauge: Option<String>,
    },
    /// A remark on a job.
    Note {
        /// The job's name.
        job: String,
        /// The remark.
        text: String,
        /// The job's number where it exists but is closed, which only the disk knows.
        closed: Option<Seq>,
    },
    /// Prove a gauge: lifts on one spot, and a step of two blocks.
    Prove {
        /// The gauge.
        gauge: String,
        /// How much higher the high block is; the usual step where left out.
        step: Option<String>,
        /// The low and the high block, by their names in the register.
        blocks: Option<(String, String)>,
        /// The step alone, with one touch in place of the lifts.
        step_only: bool,
    },
    /// Write a gauge, a master, a block or a bar down in the register.
    Register(Box<RegisterAsked>),
    /// Put something in the register out of use.
    Retire {
        /// Its name.
        name: String,
        /// Why.
        why: String,
    },
    /// Give the proof of a gauge up.
    ProveStop {
        /// The gauge.
        gauge: String,
        /// Why.
        why: Option<String>,
    },
    /// Attach a picture or a paper to a job.
    Attach(Box<AttachAsked>),
    /// Take one back.
    TakeAttachedBack {
        /// The job's name.
        job: String,
        /// The attachment.
        id: Seq,
        /// Why.
        why: String,
    },
    /// Alerts have been seen.
    Ack(AckOf),
}

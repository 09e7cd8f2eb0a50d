//! Alerts: what a person should know, how loudly, and about what.

mod nature;
mod subject;

use quantity::Name;

pub use self::nature::{Ends, Heard, Nature, Of};
pub use self::subject::{Device, Piece, Subject};
use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;

quantity::worded! {
    /// How loudly an alert is told.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Level {
        /// Only written down.
        Log = "log",
        /// Shown.
        Note = "note",
        /// Sounded: stop, out, or one question.
        Interrupt = "interrupt",
    }
}

quantity::worded! {
    /// What an alert tells of.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum AlertKind {
        /// A verdict that does not conform.
        Out = "out",
        /// A verdict inside the guard band, or withheld.
        Undecided = "undecided",
        /// Already out before the last touch: a hint.
        OutSoFar = "out-so-far",
        /// One touch stands off from the others.
        WildTouch = "wild-touch",
        /// Out, and mostly tilt.
        MostlyTilt = "mostly-tilt",
        /// What the half turn showed.
        HalfTurn = "half-turn",
        /// Position 0, or the master, came back different.
        NotClosed = "not-closed",
        /// The gauge's calibration is past its date.
        Overdue = "overdue",
        /// Another unit, or other places, than expected.
        UnitMixed = "unit-mixed",
        /// A reading near the end of the gauge's travel.
        EndOfTravel = "end-of-travel",
        /// The gauge cannot resolve the tolerance.
        TooCoarse = "gauge-too-coarse",
        /// The gauge cannot check its own return to position 0.
        OwnReturn = "own-return",
        /// A gauge is gone, not there yet, or may not be opened.
        GaugeLost = "gauge-lost",
        /// A gauge sent what cannot be read.
        DamagedFrames = "damaged-frames",
        /// A gauge sends far more than a person can press.
        Flooding = "flooding",
        /// A gauge's battery is low.
        BatteryLow = "battery-low",
        /// A file was refused.
        FileRefused = "file-refused",
        /// A drop folder is gone.
        FolderLost = "folder-lost",
        /// A reading nobody asked for.
        Unclaimed = "unclaimed",
        /// The record cannot be written.
        StorageFailing = "storage-failing",
        /// The disk of the record is nearly full.
        SpaceLow = "space-low",
        /// A size so far off that it may be another part or face.
        WrongPart = "wrong-part",
        /// A part still shrinks, or grows.
        Warm = "warm",
        /// A thermometer shows what cannot be, or always the same.
        Thermometer = "thermometer",
        /// A place of a spindle that runs in is too warm.
        TooWarm = "too-warm",
        /// It rises too fast.
        RisingFast = "rising-fast",
        /// Nothing is heard of the temperature of a place.
        SensorLost = "sensor-lost",
        /// A sensor shows the same digits although the speed changed.
        SensorFrozen = "sensor-frozen",
        /// A step of a run-in has run its time.
        StepDue = "step-due",
        /// The log of a run-in has a gap, since the service was away.
        LogGap = "log-gap",
        /// What the difference of a pair does.
        Pair = "pair",
        /// What a regrind came to.
        Regrind = "regrind",
        /// A try lies lower above its master than one said to be of the same metal.
        WasGround = "was-ground",
        /// High and low changed places since the attempt before.
        PastFlat = "past-flat",
        /// The stack is not as it has to be.
        Stack = "stack",
        /// A scan was refused.
        Scan = "scan",
        /// A pedal or a scanner is gone, not there yet, or may not be opened.
        DeviceLost = "device-lost",
        /// A pedal is stuck down, or cannot be read.
        Pedal = "pedal",
        /// A foot on the pedal came to nothing.
        Foot = "foot",
        /// A gauge that sent a stream sends nothing any more.
        StreamStopped = "stream-stopped",
        /// A frame came before a bar was said to be seated anew.
        NotSeated = "not-seated",
        /// A turn under way is lost and begins again.
        TurnLost = "turn-lost",
        /// A job cannot be read back from the record and is set aside.
        RecordDamaged = "record-damaged",
        /// A gauge was set up differently while it was measured with.
        SetupChanged = "setup-changed",
        /// A ring under way at a station was ended by a person at another.
        EndedElsewhere = "ended-elsewhere",
        /// The configuration has errors and was not read again.
        ReloadRefused = "reload-refused",
        /// The file of the control socket is gone, or something else is in its place.
        SocketLost = "socket-lost",
        /// A new record began.
        RecordBegun = "record-begun",
        /// The proof of a gauge failed.
        NotProven = "not-proven",
        /// A proof left the limits of its chart.
        CheckMasterOff = "check-master-off",
        /// Rows that were acknowledged are not in the record any more.
        RowsLost = "rows-lost",
    }
}

stored! {
    /// Something a person should know. It is found by its kind and what it is about; the sentence is
    /// for people.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Alert {
        /// How loudly.
        pub level: Level,
        /// What it tells of.
        pub kind: AlertKind,
        /// The job it belongs to.
        pub job: Option<Seq>,
        /// The attempt it belongs to.
        pub attempt: Option<Seq>,
        /// What it is about; nothing where that is the bench itself, or a check without a gauge.
        pub about: Option<Subject>,
        /// The position it tells of, where it tells of one touch.
        pub position: Option<u32>,
        /// The sentence.
        pub text: String,
    }
}

// Rows that a subject names are the bench's own: what tells of them is handed on with no job.
no_numbers!(Level, AlertKind, Subject);

impl Alert {
    /// An alert about something that belongs to no job, as loud as its kind is.
    #[must_use]
    pub const fn new(about: Option<Subject>, kind: AlertKind, text: String) -> Self {
        let level = kind.nature().level;
        Self { level, kind, job: None, attempt: None, about, position: None, text }
    }

    /// Whether another alert tells of the same thing, whatever it says of it.
    #[must_use]
    pub fn is_of_the_same(&self, other: &Self) -> bool {
        self.kind == other.kind
            && self.attempt == other.attempt
            && self.about == other.about
            && self.position == other.position
    }

    /// The sentence where it is not about what its kind is about.
    #[must_use]
    pub fn is_beside_its_kind(&self) -> Option<String> {
        let about = self.about.as_ref();
        let told = about.map_or_else(|| "nothing".to_owned(), |about| format!("{about:?}"));
        let beside = !self.kind.nature().of.takes(about);
        beside.then(|| format!("an alert {:?} is not about {told}", self.kind.text()))
    }

    /// The gauge, as the published line names it: the one that it tells of, or that its check is
    /// measured with.
    #[must_use]
    pub fn gauge(&self) -> Option<&Name> {
        match (&self.about, self.kind.nature().of) {
            (Some(Subject::Gauge(gauge)), Of::Gauge | Of::Check) => Some(gauge),
            _ => None,
        }
    }
}

//! Alerts: what a person should know, how loudly, and about what.

use super::Seq;

/// How loudly an alert is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Only written down.
    Log,
    /// Shown.
    Note,
    /// Sounded: stop, out, or one question.
    Interrupt,
}

impl Level {
    /// The word in the record.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Note => "note",
            Self::Interrupt => "interrupt",
        }
    }
}

/// What an alert tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum AlertKind {
    /// A verdict that does not conform.
    Out,
    /// A verdict inside the guard band, or withheld.
    Undecided,
    /// Already out before the last touch: a hint.
    OutSoFar,
    /// One touch stands off from the others.
    WildTouch,
    /// Out, and mostly tilt.
    MostlyTilt,
    /// What the half turn showed.
    HalfTurn,
    /// Position 0, or the master, came back different.
    NotClosed,
    /// The gauge's calibration is past its date.
    Overdue,
    /// Another unit, or other places, than expected.
    UnitMixed,
    /// A reading near the end of the gauge's travel.
    EndOfTravel,
    /// The gauge cannot resolve the tolerance.
    TooCoarse,
    /// The gauge cannot check its own return to position 0.
    OwnReturn,
    /// A gauge is gone, not there yet, or may not be opened.
    GaugeLost,
    /// A gauge sent what cannot be read.
    DamagedFrames,
    /// A gauge sends far more than a person can press.
    Flooding,
    /// A gauge's battery is low.
    BatteryLow,
    /// A file was refused.
    FileRefused,
    /// A drop folder is gone.
    FolderLost,
    /// A reading nobody asked for.
    Unclaimed,
    /// The record cannot be written.
    StorageFailing,
    /// The disk of the record is nearly full.
    SpaceLow,
    /// A size so far off that it may be another part or face.
    WrongPart,
    /// What the difference of a pair does.
    Pair,
    /// What a regrind came to.
    Regrind,
    /// A try lies lower above its master than one said to be of the same metal.
    WasGround,
    /// High and low changed places since the attempt before.
    PastFlat,
    /// The stack is not as it has to be.
    Stack,
    /// A scan was refused.
    Scan,
    /// A pedal or a scanner is gone, not there yet, or may not be opened.
    DeviceLost,
    /// A pedal is stuck down, or cannot be read.
    Pedal,
    /// A foot on the pedal came to nothing.
    Foot,
    /// A gauge that sent a stream sends nothing any more.
    StreamStopped,
    /// A frame came before a bar was said to be seated anew.
    NotSeated,
    /// A turn under way is lost and begins again.
    TurnLost,
    /// A job cannot be read back from the record and is set aside.
    RecordDamaged,
    /// A gauge was set up differently while it was measured with.
    SetupChanged,
    /// A ring under way at a station was ended by a person at another.
    EndedElsewhere,
    /// The configuration has errors and was not read again.
    ReloadRefused,
    /// The file of the control socket is gone, or something else is in its place.
    SocketLost,
    /// A new record began.
    RecordBegun,
    /// Rows that were acknowledged are not in the record any more.
    RowsLost,
}

impl AlertKind {
    /// Every kind, in the order of the enum.
    pub const ALL: [Self; 41] = [
        Self::Out,
        Self::Undecided,
        Self::OutSoFar,
        Self::WildTouch,
        Self::MostlyTilt,
        Self::HalfTurn,
        Self::NotClosed,
        Self::Overdue,
        Self::UnitMixed,
        Self::EndOfTravel,
        Self::TooCoarse,
        Self::OwnReturn,
        Self::GaugeLost,
        Self::DamagedFrames,
        Self::Flooding,
        Self::BatteryLow,
        Self::FileRefused,
        Self::FolderLost,
        Self::Unclaimed,
        Self::StorageFailing,
        Self::SpaceLow,
        Self::WrongPart,
        Self::Pair,
        Self::Regrind,
        Self::WasGround,
        Self::PastFlat,
        Self::Stack,
        Self::Scan,
        Self::DeviceLost,
        Self::Pedal,
        Self::Foot,
        Self::StreamStopped,
        Self::TurnLost,
        Self::NotSeated,
        Self::RecordDamaged,
        Self::SetupChanged,
        Self::EndedElsewhere,
        Self::ReloadRefused,
        Self::SocketLost,
        Self::RecordBegun,
        Self::RowsLost,
    ];

    /// The word in the record.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Out => "out",
            Self::Undecided => "undecided",
            Self::OutSoFar => "out-so-far",
            Self::WildTouch => "wild-touch",
            Self::MostlyTilt => "mostly-tilt",
            Self::HalfTurn => "half-turn",
            Self::NotClosed => "not-closed",
            Self::Overdue => "overdue",
            Self::UnitMixed => "unit-mixed",
            Self::EndOfTravel => "end-of-travel",
            Self::TooCoarse => "gauge-too-coarse",
            Self::OwnReturn => "own-return",
            Self::GaugeLost => "gauge-lost",
            Self::DamagedFrames => "damaged-frames",
            Self::Flooding => "flooding",
            Self::BatteryLow => "battery-low",
            Self::FileRefused => "file-refused",
            Self::FolderLost => "folder-lost",
            Self::Unclaimed => "unclaimed",
            Self::StorageFailing => "storage-failing",
            Self::SpaceLow => "space-low",
            Self::WrongPart => "wrong-part",
            Self::Pair => "pair",
            Self::Regrind => "regrind",
            Self::WasGround => "was-ground",
            Self::PastFlat => "past-flat",
            Self::Stack => "stack",
            Self::Scan => "scan",
            Self::DeviceLost => "device-lost",
            Self::Pedal => "pedal",
            Self::Foot => "foot",
            Self::StreamStopped => "stream-stopped",
            Self::TurnLost => "turn-lost",
            Self::NotSeated => "not-seated",
            Self::RecordDamaged => "record-damaged",
            Self::SetupChanged => "setup-changed",
            Self::EndedElsewhere => "ended-elsewhere",
            Self::ReloadRefused => "reload-refused",
            Self::SocketLost => "socket-lost",
            Self::RecordBegun => "record-begun",
            Self::RowsLost => "rows-lost",
        }
    }
}

/// Something a person should know.
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
    /// The gauge, drop or file it is about.
    pub about: Option<String>,
    /// The sentence.
    pub text: String,
}

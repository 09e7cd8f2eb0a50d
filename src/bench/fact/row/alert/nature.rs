//! What each kind of alert is like: the one table of kinds. Whoever asks something about a kind asks here.

use crate::fact::row::alert::{AlertKind, Level, Subject};

/// What a kind of alert is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nature {
    /// How loudly it is told, where whoever raises it says nothing else.
    pub level: Level,
    /// What it is about.
    pub of: Of,
    /// What ends it.
    pub ends: Ends,
    /// What it is to the ear.
    pub heard: Heard,
    /// The reply to what led to it has a sentence of its own for it.
    pub in_reply: bool,
}

/// What the alerts of a kind are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A check of a job, and the gauge it is measured with, where there is one.
    Check,
    /// The stack of a job: a part of it, or a check at its nut.
    Stack,
    /// A gauge.
    Gauge,
    /// A drop folder.
    Drop,
    /// A file of a drop folder.
    File,
    /// A measuring place.
    Station,
    /// A pedal or a scanner of a measuring place.
    Device,
    /// The record, or something in it.
    Record,
    /// The whole bench.
    Bench,
}

/// What ends the alerts of a kind, beside what is told of the very same thing later.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// What raised it, once it is well again.
    Well,
    /// A verdict that says something else.
    Verdict,
    /// A verdict beside which it is not true any more.
    Beside,
    /// The question it puts is answered, or nobody stands at the check any more.
    Question,
    /// The end of the series.
    Series,
    /// A good reading of the gauge.
    GoodReading,
    /// That somebody has seen it: it has no end of its own.
    Seen,
    /// That it is well again, or the next start, or a configuration that is followed: what is wrong
    /// still is told again then.
    Start,
}

/// What the alerts of a kind are to the ear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heard {
    /// The tone that a ring ends on tells them.
    Ring,
    /// A foot, a scan or a press came to nothing.
    Refusal,
    /// By its level: one that calls is one to stop for.
    Level,
}

const fn kind(level: Level, of: Of, ends: Ends) -> Nature {
    Nature { level, of, ends, heard: Heard::Level, in_reply: false }
}

impl Nature {
    const fn ring(self) -> Self {
        Self { heard: Heard::Ring, ..self }
    }

    const fn refusal(self) -> Self {
        Self { heard: Heard::Refusal, ..self }
    }

    const fn in_reply(self) -> Self {
        Self { in_reply: true, ..self }
    }
}

impl AlertKind {
    /// What this kind is like.
    #[must_use]
    pub const fn nature(self) -> Nature {
        use Level::{Interrupt, Log, Note};
        match self {
            Self::Out => kind(Interrupt, Of::Check, Ends::Verdict).ring().in_reply(),
            Self::Undecided => kind(Note, Of::Check, Ends::Verdict).ring().in_reply(),
            Self::OutSoFar => kind(Note, Of::Check, Ends::Series),
            Self::WildTouch | Self::MostlyTilt | Self::NotClosed => {
                kind(Interrupt, Of::Check, Ends::Question).ring()
            }
            Self::HalfTurn => kind(Note, Of::Check, Ends::Seen).ring(),
            Self::Overdue | Self::TooCoarse | Self::OwnReturn => {
                kind(Note, Of::Check, Ends::Well).in_reply()
            }
            Self::WrongPart => kind(Interrupt, Of::Check, Ends::Well).ring(),
            Self::Pair | Self::Regrind | Self::PastFlat => kind(Note, Of::Check, Ends::Beside),
            Self::WasGround | Self::SetupChanged => kind(Interrupt, Of::Check, Ends::Well),
            Self::NotSeated => kind(Note, Of::Check, Ends::Series).refusal(),
            Self::TurnLost => kind(Interrupt, Of::Check, Ends::Series),
            Self::Stack => kind(Note, Of::Stack, Ends::Well).in_reply(),
            Self::UnitMixed | Self::EndOfTravel => kind(Interrupt, Of::Gauge, Ends::GoodReading),
            Self::DamagedFrames | Self::Flooding => kind(Note, Of::Gauge, Ends::GoodReading),
            Self::GaugeLost | Self::StreamStopped | Self::Unclaimed => {
                kind(Note, Of::Gauge, Ends::Well)
            }
            Self::BatteryLow => kind(Log, Of::Gauge, Ends::Seen),
            Self::FolderLost => kind(Note, Of::Drop, Ends::Well),
            Self::FileRefused => kind(Note, Of::File, Ends::Seen),
            Self::Scan | Self::Foot => kind(Note, Of::Station, Ends::Well).refusal(),
            Self::Pedal => kind(Note, Of::Station, Ends::Start),
            Self::EndedElsewhere => kind(Interrupt, Of::Station, Ends::Well),
            Self::DeviceLost => kind(Note, Of::Device, Ends::Well),
            Self::SpaceLow | Self::RecordBegun => kind(Note, Of::Record, Ends::Well),
            Self::StorageFailing | Self::RecordDamaged | Self::RowsLost => {
                kind(Interrupt, Of::Record, Ends::Well)
            }
            Self::ReloadRefused | Self::SocketLost => kind(Note, Of::Bench, Ends::Start),
        }
    }

    /// Whether it tells of a job, and goes where the job goes.
    #[must_use]
    pub const fn is_of_a_job(self) -> bool {
        matches!(self.nature().of, Of::Check | Of::Stack)
    }
}

impl Of {
    /// Whether what is about this may name a subject, or none.
    #[must_use]
    pub const fn takes(self, about: Option<&Subject>) -> bool {
        matches!(
            (self, about),
            (Self::Check, Some(Subject::Gauge(_)) | None)
                | (Self::Stack, Some(Subject::Part(_) | Subject::Gauge(_)) | None)
                | (Self::Gauge, Some(Subject::Gauge(_)))
                | (Self::Drop, Some(Subject::Drop(_)))
                | (Self::File, Some(Subject::File { .. }))
                | (Self::Station, Some(Subject::Station(_)))
                | (Self::Device, Some(Subject::Device { .. }))
                | (Self::Record, Some(Subject::Record(_) | Subject::Rows { .. }) | None)
                | (Self::Bench, None)
        )
    }
}

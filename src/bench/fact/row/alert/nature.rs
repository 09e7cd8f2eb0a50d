//! What each kind of alert is like. This is the one table of kinds: every question about a kind is
//! answered here.

use crate::fact::row::alert::{AlertKind, Level, Subject};

/// What a kind of alert is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nature {
    /// How loudly it is shown, where the code that raises it sets nothing else.
    pub level: Level,
    /// What it is about.
    pub of: Of,
    /// What ends it.
    pub ends: Ends,
    /// How it is signalled by sound.
    pub heard: Heard,
    /// The reply to the event that raised it already says it in a sentence of its own.
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

/// What ends the alerts of a kind, beside a later alert about the very same thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// The fault that raised it is over.
    Well,
    /// A new verdict with another word.
    Verdict,
    /// A verdict with which it is no longer true.
    Beside,
    /// The question is answered, or nobody is at the check any more.
    Question,
    /// The end of the series.
    Series,
    /// A good reading of the gauge.
    GoodReading,
    /// A person marks it as seen: nothing else ends it.
    Seen,
    /// The fault is over, the service starts, or a new configuration is followed: what is still wrong is
    /// raised again then.
    Start,
}

/// How the alerts of a kind are signalled by sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heard {
    /// The tone at the end of a ring signals it.
    Ring,
    /// A press of the pedal, a scan or a press on a gauge had no effect.
    Refusal,
    /// As its level says: an `interrupt` calls a person to stop.
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
            Self::WasGround | Self::SetupChanged | Self::Warm => {
                kind(Interrupt, Of::Check, Ends::Well)
            }
            Self::TooWarm | Self::RisingFast | Self::SensorLost => {
                kind(Interrupt, Of::Check, Ends::Series)
            }
            Self::SensorFrozen | Self::StepDue | Self::LogGap => {
                kind(Note, Of::Check, Ends::Series)
            }
            Self::NotSeated => kind(Note, Of::Check, Ends::Series).refusal(),
            Self::TurnLost => kind(Interrupt, Of::Check, Ends::Series),
            Self::Stack => kind(Note, Of::Stack, Ends::Well).in_reply(),
            Self::UnitMixed | Self::EndOfTravel => kind(Interrupt, Of::Gauge, Ends::GoodReading),
            Self::NotProven | Self::CheckMasterOff => kind(Interrupt, Of::Gauge, Ends::Well),
            Self::DamagedFrames | Self::Flooding => kind(Note, Of::Gauge, Ends::GoodReading),
            Self::GaugeLost | Self::StreamStopped | Self::Unclaimed | Self::Thermometer => {
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

    /// Whether it tells of the service itself and not of work: something that it reads, writes or listens on is
    /// out of order. A ring that is out, or a gauge to prove, is no outage.
    #[must_use]
    pub const fn is_of_the_service(self) -> bool {
        matches!(
            self,
            Self::GaugeLost
                | Self::StreamStopped
                | Self::Flooding
                | Self::FolderLost
                | Self::DeviceLost
                | Self::Pedal
                | Self::StorageFailing
                | Self::SpaceLow
                | Self::RecordDamaged
                | Self::RecordBegun
                | Self::RowsLost
                | Self::ReloadRefused
                | Self::SocketLost
        )
    }

    /// Whether a service that has such an alert open is not well although somebody has seen it: the fault lasts
    /// until the alert is cleared. Damage that was found is there for good, and is an outage until it is known.
    #[must_use]
    pub const fn lasts(self) -> bool {
        let known = matches!(self, Self::RecordDamaged | Self::RecordBegun | Self::RowsLost);
        self.is_of_the_service() && !known
    }

    /// Whether it belongs to a job, and is stored with that job.
    #[must_use]
    pub const fn is_of_a_job(self) -> bool {
        matches!(self.nature().of, Of::Check | Of::Stack)
    }
}

impl Of {
    /// Whether an alert of this kind may be about this subject, or about none.
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

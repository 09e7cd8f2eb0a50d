//! What an alert is about. A subject is compared as a value; its text is for people and published lines.

use std::fmt;

use quantity::Name;

use crate::fact::seq::Seq;

/// What an alert is about.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Subject {
    /// A gauge.
    Gauge(Name),
    /// A drop folder.
    Drop(Name),
    /// A file of a drop folder.
    File {
        /// The folder.
        drop: Name,
        /// The file's name in it.
        name: String,
    },
    /// A measuring place.
    Station(Name),
    /// Something to work with at a measuring place.
    Device {
        /// The measuring place.
        station: Name,
        /// Which of its devices.
        device: Device,
    },
    /// A part of the stack.
    Part(Name),
    /// A piece of the record that cannot be read, or not stored.
    Record(Piece),
    /// Rows that are not in the record any more.
    Rows {
        /// The first of them.
        first: Seq,
        /// The last.
        last: Seq,
    },
}

quantity::worded! {
    /// A device at a station other than its gauges.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Device {
        /// A pedal.
        Pedal = "pedal",
        /// A scanner.
        Scanner = "scanner",
    }
}

/// A piece of the record.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Piece {
    /// A job, by its name.
    Job(Name),
    /// A job whose name cannot be read: the row that opened it.
    Row(Seq),
    /// An open alert.
    Alert(Seq),
    /// The counters. Every commit writes them anew, so the next start reads them well.
    Counters,
    /// What the stations worked on. The next row about a station replaces a damaged one.
    Stations,
    /// A place in the file that the check at the start found damaged.
    Place(String),
    /// More damaged places in the file than are named one by one.
    More,
    /// What is known of the files of a drop folder.
    Drop(Name),
    /// The plan of some jobs.
    PlanOf(String),
    /// A reading of a gauge that could not be stored.
    Reading(Name),
    /// A file whose rows could not be stored, by its name in its folder.
    File(String),
    /// A request that could not be stored.
    Asked,
    /// Another event that could not be stored.
    Happened,
    /// The file of a picture or a paper, by its digest.
    Paper(String),
    /// Damage that belongs to no job that could be named.
    Elsewhere,
}

impl Piece {
    /// Whether it is a place in the file: such a place is reported, but nothing is set aside for it.
    #[must_use]
    pub const fn is_in_the_file(&self) -> bool {
        matches!(self, Self::Place(_) | Self::More)
    }

    /// Whether it is a job.
    #[must_use]
    pub const fn is_a_job(&self) -> bool {
        matches!(self, Self::Job(_) | Self::Row(_))
    }

    /// What is wrong with it, and whether it is set aside.
    #[must_use]
    pub fn told(&self, why: &str) -> String {
        if self.is_in_the_file() { why.to_owned() } else { format!("{self} is set aside: {why}") }
    }
}

impl fmt::Display for Piece {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Job(name) => write!(f, "{name}"),
            Self::Row(row) => write!(f, "row {row}"),
            Self::Alert(row) => write!(f, "alert {row}"),
            Self::Counters => f.write_str("the counters"),
            Self::Stations => f.write_str("what stations worked on"),
            Self::Place(place) => write!(f, "the file: {place}"),
            Self::More => f.write_str("the file: more"),
            Self::Drop(drop) => write!(f, "drop folder {drop}"),
            Self::PlanOf(jobs) => write!(f, "the plan of {jobs}"),
            Self::Reading(gauge) => write!(f, "a reading of {gauge}"),
            Self::File(name) => write!(f, "file {name}"),
            Self::Asked => f.write_str("what was asked"),
            Self::Happened => f.write_str("what happened"),
            Self::Paper(digest) => write!(f, "attached file {digest}"),
            Self::Elsewhere => f.write_str("what belongs to no job"),
        }
    }
}

/// As it is printed and published.
impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gauge(name) | Self::Drop(name) | Self::Station(name) | Self::Part(name) => {
                write!(f, "{name}")
            }
            Self::File { drop, name } => write!(f, "{drop}/{name}"),
            Self::Device { station, device } => write!(f, "{station}/{}", device.text()),
            Self::Record(piece) => write!(f, "{piece}"),
            Self::Rows { first, last } => write!(f, "rows {first} to {last}"),
        }
    }
}

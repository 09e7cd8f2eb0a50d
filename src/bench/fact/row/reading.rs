//! A reading as it is stored: where it came from, and what it counts as.

use serde::{Deserialize, Serialize};

use quantity::{Name, Quoted, Wall};

use crate::fact::form::{RefersToRows, no_numbers, stored};
use crate::fact::seq::Seq;

no_numbers!(State);

quantity::worded! {
    /// What a reading counts as.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum State {
        /// It fills its position.
        Placed = "placed",
        /// Position 0 touched again at the end.
        Closure = "closure",
        /// Position 0 touched again half way round.
        Middle = "middle",
        /// A touch on the master.
        Master = "master",
        /// A touch after the part was set back half a turn; it fills nothing.
        HalfTurn = "half-turn",
        /// Taken back.
        Void = "void",
        /// The same press sent twice.
        Repeat = "repeat",
        /// Nobody asked for it.
        Unclaimed = "unclaimed",
        /// It cannot belong.
        Suspect = "suspect",
    }
}

impl State {
    /// Whether a reading in this state takes part in its attempt.
    #[must_use]
    pub const fn counts(self) -> bool {
        matches!(self, Self::Placed | Self::Closure | Self::Middle | Self::Master | Self::HalfTurn)
    }
}

/// Where a reading came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Source {
    /// A gauge on a serial line.
    Serial,
    /// A row of a dropped file.
    Drop {
        /// The [`FileTaken`](crate::fact::row::Body::FileTaken) row.
        file: Seq,
        /// The line of the file, counted from 1.
        line: u32,
    },
    /// Keyed in.
    Keyed,
}

stored! {
    /// One reading, as it arrived.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Reading {
        /// The job it was tagged to.
        pub job: Option<Seq>,
        /// The attempt it was tagged to.
        pub attempt: Option<Seq>,
        /// The gauge.
        pub gauge: Name,
        /// Where it came from.
        pub source: Source,
        /// The value, in the unit and with the places sent.
        pub value: Quoted,
        /// What was sent, printable.
        pub as_sent: String,
        /// What it counted as when it arrived.
        pub state: State,
        /// Why, where that needs a word.
        pub why: Option<String>,
        /// The position it fills or names.
        pub position: Option<u32>,
        /// The time a file states for it.
        pub measured_at: Option<Wall>,
    }
}

impl Reading {
    /// A reading that has no place yet; `text` is what was sent, printable.
    pub(crate) const fn arrived(gauge: Name, source: Source, value: Quoted, text: String) -> Self {
        Self {
            job: None,
            attempt: None,
            gauge,
            source,
            value,
            as_sent: text,
            state: State::Unclaimed,
            why: None,
            position: None,
            measured_at: None,
        }
    }

    /// What a person keyed in; `None` for any other reading.
    #[must_use]
    pub fn keyed(&self) -> Option<&str> {
        (self.source == Source::Keyed).then_some(self.as_sent.as_str())
    }
}

impl RefersToRows for Source {
    fn numbers(&mut self, _field: &'static str, visit: &mut dyn FnMut(&'static str, &mut Seq)) {
        match self {
            Self::Drop { file, line: _ } => visit("file", file),
            Self::Serial | Self::Keyed => {}
        }
    }
}

//! What is written down while a spindle runs in.

use quantity::{Name, Quoted};

use crate::fact::form::stored;
use crate::fact::row::reading::Source;
use crate::fact::seq::Seq;

stored! {
    /// From now on the spindle runs at the speed of a step: a person said so. No program switches it.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct SpeedStep {
        /// The attempt at the run-in.
        pub attempt: Seq,
        /// The step, counted from 0; one that no plan has where the spindle stands still again.
        pub step: u16,
        /// When, milliseconds after the first step began.
        pub after_ms: u64,
        /// Identity of the machine's boot: monotonic times of another cannot be compared with it.
        pub boot: u64,
        /// Whether nobody said so: it is taken from the plan, for a logger's file.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        pub by_plan: bool,
    }
}

stored! {
    /// The log goes on after the service was away.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct LogWentOn {
        /// The attempt at the run-in.
        pub attempt: Seq,
        /// When, milliseconds after the first step began; after another boot by the wall clock.
        pub after_ms: u64,
        /// Identity of the machine's boot.
        pub boot: u64,
    }
}

stored! {
    /// A temperature that was kept.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Temperature {
        /// The attempt at the run-in.
        pub attempt: Seq,
        /// The place, by its number in the plan; the room is the last.
        pub place: u16,
        /// When, milliseconds after the first step began.
        pub after_ms: u64,
        /// Degrees Celsius, carried as millimetres.
        pub value: Quoted,
        /// Where it came from.
        pub source: Source,
        /// The thermometer, where one sent it.
        pub gauge: Option<Name>,
    }
}

//! The proof of a gauge, and the pieces of the shop: gauges, masters, blocks and bars.

use std::sync::Arc;

use judgement::{Fault, Freedom, Known, Part, Step};
use quantity::{Figure, Length, Name, Quoted, Unit, Wall};

use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;
use crate::setup::GaugeSetup;

stored! {
    /// A proof of a gauge began. The row's number is the proof's.
    #[derive(Debug, Clone, PartialEq)]
    pub struct ProofBegan {
        /// The station.
        pub station: Name,
        /// The gauge with its settings at that time.
        pub gauge: GaugeSetup,
        /// The blocks.
        pub blocks: Blocks,
        /// How many lifts on the low block come first: ten, or one where only the step is proved.
        pub lifts: u32,
        /// The scatter of one lift as it was known before: stated, from an earlier proof, or assumed.
        pub scatter: Length,
        /// How that is known.
        pub scatter_known: Known,
        /// Its degrees of freedom, where they are limited.
        pub scatter_df: Option<u32>,
    }

    /// Two blocks that differ by a known step.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Blocks {
        /// How much higher the high one is.
        pub step: Length,
        /// The unit in which a person speaks of it.
        pub unit: Unit,
        /// The standard uncertainty of the step.
        pub u: Length,
        /// How that is known.
        pub known: Known,
        /// The low block, where it is registered.
        pub low: Option<Name>,
        /// The high block.
        pub high: Option<Name>,
    }

    /// A proof of a gauge is over.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Proved {
        /// The proof: the row that began it.
        pub proof: Seq,
        /// The station.
        pub station: Name,
        /// The gauge as it was set up; its serial number is that of the register, where it has one.
        pub gauge: GaugeSetup,
        /// The blocks.
        pub blocks: Blocks,
        /// How it ended.
        pub ending: ProofEnding,
        /// Why it ended before its last touch.
        pub why: Option<String>,
        /// The readings that count, in the order of the touches.
        pub readings: Vec<Seq>,
        /// The lifts among them, on the low block.
        pub lifts: Vec<Length>,
        /// The version of the arithmetic, [`crate::ENGINE`].
        pub engine: u32,
        /// What it showed; `None` where it ended before its last touch.
        pub shows: Option<ProofShows>,
    }

    /// What a proof showed.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct ProofShows {
        /// The standard deviation of a lift; `None` where only the step was proved.
        pub s: Option<Length>,
        /// Its degrees of freedom.
        pub df: Option<u32>,
        /// The step as it was read.
        pub step: Figure,
        /// The expanded uncertainty of that step minus the size of the blocks.
        pub uncertainty: Length,
        /// How far the step may be from the size of the blocks by chance.
        pub may_differ: Length,
        /// The low block at the end, minus what it was before.
        pub came_back: Figure,
        /// How far it may be off.
        pub may_be_off: Length,
        /// The lift that stands off, counted from 0.
        pub stands_off: Option<u32>,
        /// What is wrong with it; nothing where the gauge is proven.
        pub faults: Vec<Fault>,
        /// What left the limits of its chart.
        pub off_chart: Vec<Charted>,
    }

    /// A master of the register as it was when an attempt began.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct PinnedMaster {
        /// Its name.
        pub name: Name,
        /// Its serial number.
        pub serial: Option<String>,
        /// Its size.
        pub size: Length,
        /// The standard uncertainty of that size.
        pub uncertainty: Option<Length>,
        /// The first moment of the day after which its certificate no longer counts.
        pub due: Option<Wall>,
    }

    /// A test bar of the register as it was when an attempt began.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct PinnedBar {
        /// Its name.
        pub name: Name,
        /// Its serial number.
        pub serial: Option<String>,
        /// Its own total reading, by its certificate.
        pub runout: Option<Length>,
        /// The standard uncertainty of that.
        pub uncertainty: Option<Length>,
        /// The first moment of the day after which its certificate no longer counts.
        pub due: Option<Wall>,
    }

    /// A gauge, a master, a block or a bar, as it was written down. The newest entry of a name counts.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Registered {
        /// What it is.
        pub what: Equipment,
        /// Its name.
        pub name: Name,
        /// Its serial number.
        pub serial: Option<String>,
        /// The number of its certificate.
        pub certificate: Option<String>,
        /// The day of the certificate, `2026-03-01`.
        pub dated: Option<String>,
        /// The first moment of the day after which its certificate no longer counts.
        pub due: Option<Wall>,
        /// Its size.
        pub size: Option<Quoted>,
        /// Of a bar: its own total reading.
        pub runout: Option<Quoted>,
        /// The standard uncertainty of that size; of a bar that of its own total reading.
        pub uncertainty: Option<Length>,
        /// Why it is out of use; `None` while it is in use.
        pub retired: Option<String>,
    }
}

quantity::worded! {
    /// How a proof ended.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum ProofEnding {
        /// Its last touch was taken.
        Complete = "complete",
        /// A person gave it up.
        GivenUp = "given-up",
        /// The gauge was set up differently under it.
        SetupChanged = "setup-changed",
    }
}

quantity::worded! {
    /// What of a gauge is charted from day to day.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Charted {
        /// The standard deviation of a lift.
        Repeatability = "repeatability",
        /// The step, as a check master: how far it is read from its size.
        CheckMaster = "check-master",
    }
}

quantity::worded! {
    /// What is registered.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Equipment {
        /// An instrument that gives readings.
        Gauge = "gauge",
        /// A piece that a length is held against, or that sets a zero.
        Master = "master",
        /// A gauge block.
        Block = "block",
        /// A test bar.
        Bar = "bar",
    }
}

quantity::worded! {
    /// Why a gauge is not proven.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Unproven {
        /// It was never proved.
        Never = "never-proved",
        /// Its last proof failed.
        Failed = "proof-failed",
        /// Its last proof left the limits of its chart.
        OffChart = "off-chart",
        /// It was set up differently since its last proof.
        SetUpAnew = "set-up-anew",
        /// Its last proof is too long ago.
        TooOld = "too-long-ago",
        /// bench.toml and the register name two serial numbers.
        OtherSerial = "other-serial",
    }
}

no_numbers!(Fault, ProofEnding, Charted, Equipment, Unproven);

impl Registered {
    /// The last day on which its certificate counts: `2027-03-01`.
    #[must_use]
    pub fn last_day(&self) -> Option<String> {
        let day = Wall::from_micros(self.due?.micros().saturating_sub(1));
        day.to_string().get(..10).map(str::to_owned)
    }
}

impl PinnedBar {
    /// The standard uncertainty that it adds to a total reading: √(runout²/2 + u²).
    ///
    /// The total reading of a spindle changes by that of the bar times the cosine of the angle between
    /// both, which nobody knows; the mean square of a cosine is a half.
    #[must_use]
    pub fn u(&self) -> Length {
        let square = |length: Option<Length>| {
            length.map_or(0, |one| u128::from(one.picometres().unsigned_abs()).saturating_pow(2))
        };
        let square = square(self.runout).div_ceil(2).saturating_add(square(self.uncertainty));
        Part { square, ..Part::stated(Length::ZERO) }.u()
    }
}

impl Blocks {
    /// The step as it is judged with.
    #[must_use]
    pub fn step(&self) -> Step {
        Step { size: self.step, u: Part { known: self.known, ..Part::stated(self.u) } }
    }

    /// Whether it is the same step of the same blocks.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        (self.step, &self.low, &self.high) == (other.step, &other.low, &other.high)
    }
}

impl ProofBegan {
    /// The scatter of one lift as it was known before.
    #[must_use]
    pub fn scatter(&self) -> Part {
        let freedom = self.scatter_df.map_or(Freedom::UNLIMITED, Freedom::of_degrees);
        Part { known: self.scatter_known, freedom, ..Part::stated(self.scatter) }
    }

    /// How many touches it has: the lifts, the high block, the low block again.
    #[must_use]
    pub const fn touches(&self) -> u32 {
        self.lifts + 2
    }
}

impl Proved {
    /// The name of the gauge.
    #[must_use]
    pub const fn name(&self) -> &Name {
        &self.gauge.name
    }

    /// Its serial number.
    #[must_use]
    pub fn serial(&self) -> Option<&str> {
        self.gauge.serial.as_deref()
    }

    /// The step of its readings.
    #[must_use]
    pub fn resolution(&self) -> Length {
        self.gauge.resolution.length.abs()
    }

    /// Whether the gauge is proven by it.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.shows.as_ref().is_some_and(|shows| shows.faults.is_empty())
    }

    /// How far the step was read from the size of the blocks, rounded to a picometre.
    #[must_use]
    pub fn off_by(&self) -> Option<Length> {
        let off = self.shows.as_ref()?.step - Figure::from(self.blocks.step);
        i64::try_from((off + Figure::new(-1, 2)).ceil()).ok().map(Length::from_picometres)
    }
}

/// A proof in the record.
#[derive(Debug, Clone, PartialEq)]
pub struct ProofRow {
    /// The number of the row that ended it.
    pub id: Seq,
    /// When it ended.
    pub at: Wall,
    /// Who proved it.
    pub by: Option<Name>,
    /// The proof.
    pub proved: Arc<Proved>,
}

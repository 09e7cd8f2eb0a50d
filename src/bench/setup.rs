//! What the bench knows of its gauges and stations: the checked configuration, as plain values.

use std::collections::BTreeMap;
use std::sync::Arc;

use gauge::{Capture, Sign};
use judgement::{Rule, Stated};
use quantity::{Length, Name, Quoted, Unit, Wall};
use serde::{Deserialize, Serialize};

use crate::plan::PinnedPlan;

/// The checked configuration of a bench, as far as measuring and judging need it.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// What the shop calls this bench.
    pub name: String,
    /// The unit that people see.
    pub unit: Unit,
    /// The decision rule where a plan sets none.
    pub rule: Rule,
    /// Every gauge by its name.
    pub gauges: BTreeMap<Name, GaugeSetup>,
    /// The measuring places, at least one; every gauge belongs to exactly one.
    pub stations: Vec<StationSetup>,
    /// The folders that loggers drop files into.
    pub drops: Vec<Name>,
    /// The plans that a job may be opened with, by the name of their file without its ending.
    pub plans: BTreeMap<Name, Arc<PinnedPlan>>,
    /// The plans that have an error, each with its error; no job can be opened with them.
    pub plans_aside: BTreeMap<String, String>,
    /// The people who have a badge; others may work here too.
    pub people: Vec<Name>,
    /// Whether a gauge that is not proven withholds its verdicts; otherwise they only say so.
    pub withholds_unproven: bool,
    /// How many days a proof counts; `None`: for ever.
    pub proof_days: Option<u32>,
    /// The most bytes that the pictures and papers of one job may have together.
    pub attached_bytes: u64,
}

impl Setup {
    /// The station that holds a gauge.
    #[must_use]
    pub fn station_of(&self, gauge: &Name) -> Option<&Name> {
        let holds = |station: &&StationSetup| station.gauges.contains(gauge);
        self.stations.iter().find(holds).map(|station| &station.name)
    }
}

/// One measuring place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationSetup {
    /// Its name; `bench` where the configuration names none.
    pub name: Name,
    /// The gauges that belong to it.
    pub gauges: Vec<Name>,
}

quantity::worded! {
    /// What kind of instrument gives the readings.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum GaugeKind {
        /// An electronic indicator.
        Indicator = "indicator",
        /// A height gauge.
        Height = "height",
        /// A dial, read by eye and keyed in.
        Dial = "dial",
        /// A thermometer: its frames are temperatures, which are written down at entries. Between the line
        /// and the entry a degree Celsius is carried as a millimetre, since a frame holds a length; it is
        /// never stored as one, and fills no position.
        Thermometer = "thermometer",
    }
}

/// How readings of a gauge are understood. An attempt keeps the set-up it began with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GaugeSetup {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: GaugeKind,
    /// The unit its readings are expected in, where that is fixed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// The smallest step it shows.
    pub resolution: Quoted,
    /// Standard uncertainty of one reading, with everything in it; `None`: it is assumed, and the verdict
    /// says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Length>,
    /// Standard deviation of lifts on one spot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<Length>,
    /// Lowest and highest reading of its travel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub travel: Option<(Length, Length)>,
    /// Its serial number, for the record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// The first moment of the day after which its calibration no longer counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration_due: Option<Wall>,
    /// The angle between a lever stylus and the surface, thousandths of a degree.
    pub lever_mdeg: u32,
    /// Its line; `None` where the service opens none for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<GaugeWire>,
}

impl GaugeSetup {
    /// Whether its frames are temperatures.
    #[must_use]
    pub const fn is_thermometer(&self) -> bool {
        matches!(self.kind, GaugeKind::Thermometer)
    }

    /// Whether it sends samples without pause.
    #[must_use]
    pub fn is_stream(&self) -> bool {
        let capture = self.wire.as_ref().map(|wire| wire.capture);
        matches!(capture, Some(Capture::Settle | Capture::Sweep))
    }
}

/// How an instrument is connected: what its frames mean, and which instrument it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GaugeWire {
    /// The path of its port.
    pub port: String,
    /// The profile that reads its frames.
    pub profile: String,
    /// Its channel, where one port carries several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
    /// Which way it counts.
    pub sign: Sign,
    /// The length of one count, for frames that are counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<Quoted>,
    /// Which frames are readings.
    pub capture: Capture,
}

impl GaugeSetup {
    /// What the configuration states about its readings.
    #[must_use]
    pub const fn stated(&self) -> Stated {
        Stated { uncertainty: self.uncertainty, repeatability: self.repeatability }
    }
}

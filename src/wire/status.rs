//! `status/1`.

use serde::{Deserialize, Serialize};

use ::words::{fine, size};
use bench::Witness;
use bench::plan::Holding;
use bench::row::{AlertKind, Level, Spot};
use gauge::Waits;
use quantity::{Figure, Length, Unit};

use super::Next;
use super::asks::AsksLine;
use super::link::LinkStatus;
use super::text::line_of;

/// The status of everything, as of the last commit. Times are RFC 3339, UTC; names are those of the
/// configuration.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "since"))
)]
pub struct Status {
    /// Whether the service is well: it can read its gauges, folders, pedals and scanners, write the record, and
    /// uses the configuration as it is. The exit code of `tenths status` says the same. A bad ring, or a gauge to
    /// prove, is no outage.
    pub healthy: bool,
    /// Whether somebody has something to do or to look at: anything is not well, an alert was seen by nobody, or
    /// there is `work`.
    #[serde(default)]
    pub needs_a_hand: bool,
    /// The name of the bench.
    pub bench: String,
    /// When the service started.
    pub since: String,
    /// Its stations.
    pub stations: Vec<StationStatus>,
    /// Its gauges.
    pub gauges: Vec<GaugeStatus>,
    /// Its drop folders.
    pub drops: Vec<DropStatus>,
    /// The record on disk.
    pub storage: StorageStatus,
    /// How many alerts are neither cleared nor seen.
    pub alerts_open: u64,
    /// How many of them are about the work, and not about the service.
    #[serde(default)]
    pub work_alerts_open: u64,
    /// What is out of order with the service, beside what the fields above and `set_aside` say: open alerts about
    /// it, seen or not.
    #[serde(default)]
    pub troubles: Vec<OpenAlertStatus>,
    /// The alerts about the work that are neither cleared nor seen: the loudest, of these the newest first, 20 at
    /// most.
    #[serde(default)]
    pub unseen: Vec<OpenAlertStatus>,
    /// What is to be done about gauges, masters, blocks and bars: work, not an outage.
    #[serde(default)]
    pub work: Vec<WorkStatus>,
    /// Jobs that cannot be read from the record and plans that cannot be used, each with the reason.
    #[serde(default)]
    pub set_aside: Vec<SetAsideStatus>,
    /// Why the configuration could not be read again, with the first finding; absent while it is in use as
    /// it is.
    #[serde(default)]
    pub reload_refused: Option<String>,
    /// The links to the shop, where any is configured and has run. `tenths status` adds them: the service knows
    /// nothing of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub links: Vec<LinkStatus>,
}

/// An alert that is open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "job"))
)]
pub struct OpenAlertStatus {
    /// Its number, as `tenths ack` takes it.
    pub id: u64,
    /// How loud it is.
    pub level: Level,
    /// What it tells of.
    pub kind: AlertKind,
    /// The job; `null` where it belongs to none.
    pub job: Option<String>,
    /// The sentence.
    pub text: String,
}

quantity::worded! {
    /// What kind of work is to be done.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum WorkKind {
        /// A gauge is not proven.
        Prove = "prove",
        /// A certificate has run out, or does within 30 days.
        Certify = "certify",
    }
}

/// Something to be done about a gauge, a master, a block or a bar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct WorkStatus {
    /// What kind of work it is.
    pub kind: WorkKind,
    /// The name of the gauge, or whatever it is.
    pub what: String,
    /// What is to be done, and why.
    pub text: String,
}

/// Something that is set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct SetAsideStatus {
    /// What kind of thing it is.
    pub kind: AsideKind,
    /// The name of the job, the plan, or whatever it is.
    pub what: String,
    /// Why it is set aside.
    pub text: String,
}

/// Kinds of things that are set aside, damaged or missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AsideKind {
    /// A job; nothing is taken for it until it can be read.
    Job,
    /// Something else of the record, or something that could not be stored in it.
    Record,
    /// A place in the file of the record.
    File,
    /// Rows that are missing at the end of the record.
    Rows,
    /// A plan on disk.
    Plan,
}

/// The work at a station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "name job part check"))
)]
pub struct StationStatus {
    /// Its name.
    pub name: String,
    /// The job in use; `null` where there is none.
    pub job: Option<String>,
    /// The part; `null` where no check is active.
    pub part: Option<String>,
    /// The check.
    pub check: Option<String>,
    /// Which attempt at the check, counted from 1.
    pub attempt: Option<u32>,
    /// What the next frame is: `position`, `closure`, `again`, `half-turn`, `master`, `sweep`, `answer` or
    /// `nothing`; `seat` where a bar has to be confirmed as seated first.
    pub next: Option<Next>,
    /// The position of the next frame.
    pub next_position: Option<u32>,
    /// Where the next touch is, where the number of the position does not say it: `station 3 in, bar at 90,
    /// touch 4 of 8`.
    pub place: Option<String>,
    /// Which touch at that position is next, counted from 1; `null` where one touch fills a position.
    #[serde(default)]
    pub next_touch: Option<u32>,
    /// How often each position is touched.
    #[serde(default)]
    pub touches: Option<u32>,
    /// How many touches count.
    pub taken: Option<u32>,
    /// How many touches the check needs.
    pub of: Option<u32>,
    /// Why a stream takes nothing automatically now: `in-the-air`, `off-the-edge`, `same-spot`, `unsure`.
    #[serde(default)]
    pub waits: Option<Waits>,
    /// In a turn that is being swept: the mark to be tapped next, whole degrees.
    #[serde(default)]
    pub next_mark_deg: Option<u32>,
    /// Who works there, if anybody is named.
    #[serde(default)]
    pub person: Option<String>,
    /// Who the next touch will be credited to while a check is active, if that is known.
    #[serde(default)]
    pub by: Option<String>,
    /// What the check asks for, where it is answered and not touched.
    #[serde(flatten)]
    pub asks: AsksLine,
}

/// Who is at a station: `M. Weber`; or `M. Weber; Ada touches` where a command named another person.
#[must_use]
pub fn hands_words(person: Option<&str>, by: Option<&str>) -> Option<String> {
    match (person, by) {
        (Some(person), Some(by)) if person != by => Some(format!("{person}; {by} touches")),
        (Some(name), _) | (None, Some(name)) => Some(name.to_owned()),
        (None, None) => None,
    }
}

/// A gauge, and its frames since the service started.
/// `frames = taken + damaged + foreign + repeats + resync + idle + muted`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "name").of(::words::schema::shown_value, "last").of(::words::schema::time, "last_at calibration_due"))
)]
pub struct GaugeStatus {
    /// Its name.
    pub name: String,
    /// Whether it can be read.
    pub state: GaugeState,
    /// Why it cannot be read.
    pub why: Option<String>,
    /// All frames that arrived: the sum of the seven below.
    pub frames: u64,
    /// Frames decoded and stored as readings.
    pub taken: u64,
    /// Frames that could not be read.
    pub damaged: u64,
    /// Complete frames without a reading for this gauge: blank, error, overload, another channel.
    pub foreign: u64,
    /// Readings stored as a second frame of the same press.
    pub repeats: u64,
    /// First lines after the port was opened, which may be incomplete.
    pub resync: u64,
    /// Samples of a stream that nobody waited for.
    pub idle: u64,
    /// Frames left out while the gauge sent too fast.
    pub muted: u64,
    /// The newest value, with its unit: `0.00012 in`, of a thermometer `21.4 °C`.
    pub last: Option<String>,
    /// When it arrived.
    pub last_at: Option<String>,
    /// The moment at which its calibration expires.
    #[serde(default)]
    pub calibration_due: Option<String>,
    /// What the bench has seen of its repeatability, hand by hand and kind by kind.
    #[serde(default)]
    pub shows: Vec<ShowsLine>,
}

/// What a bench has seen of a gauge in one hand, of one kind.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length_with_unit, "at repeatability drift stated"))
)]
pub struct ShowsLine {
    /// Who touched; `null` where nobody said so.
    pub by: Option<String>,
    /// What was read more than once: `return`, `master`, `seating` or `touch`.
    pub spot: Spot,
    /// How the part was held, for returns.
    pub setup: Option<Holding>,
    /// Where along the bar, for seatings.
    pub at: Option<String>,
    /// The standard deviation of one touch, with its unit.
    pub repeatability: String,
    /// How many pairs of readings of one spot it is from; of touches in a row how many lifts.
    pub pairs: u32,
    /// Its degrees of freedom.
    pub df: u32,
    /// Whether verdicts use it: whether it is known to a quarter.
    pub enough: bool,
    /// How much higher the later reading is on average, where that is more than chance.
    pub drift: Option<String>,
    /// The repeatability that the configuration states.
    pub stated: Option<String>,
    /// All of it as a sentence.
    pub text: String,
}

impl ShowsLine {
    /// What was seen, beside the repeatability that is stated, in `unit`.
    #[must_use]
    pub fn of(seen: &Witness, stated: Option<Length>, unit: Unit) -> Self {
        let told = |of: Length| format!("{} {}", fine(Figure::from(of), unit), unit.symbol());
        let Witness { by, spot, setup, at, pool } = seen;
        Self {
            by: by.as_ref().map(ToString::to_string),
            spot: *spot,
            setup: *setup,
            at: at.map(|at| format!("{} {}", size(at, unit), unit.symbol())),
            repeatability: told(pool.s),
            pairs: pool.count,
            df: pool.degrees,
            enough: pool.is_enough(),
            drift: pool.drift.map(told),
            stated: stated.map(told),
            text: bench::words::witness(seen, stated, unit),
        }
    }
}

/// Whether a gauge can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum GaugeState {
    /// It can be read.
    Live,
    /// Its port was never there.
    Absent,
    /// Its port was there and has disappeared.
    Lost,
    /// Its port may not be opened, or another program has it open.
    Refused,
    /// It has no port: it is read by eye or from files.
    NoPort,
}

/// A drop folder, and its files since the service started.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "name"))
)]
pub struct DropStatus {
    /// Its name.
    pub name: String,
    /// Whether it is there.
    pub state: DropState,
    /// How many files were taken.
    pub files: u64,
    /// How many rows were taken.
    pub rows: u64,
    /// How many files were refused.
    pub refused: u64,
    /// Files that have to wait, and for what.
    #[serde(default)]
    pub waiting: Vec<String>,
}

/// Whether a drop folder is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum DropState {
    /// It is there.
    Watching,
    /// It is not there.
    Absent,
}

/// The record on disk.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "begun"))
)]
pub struct StorageStatus {
    /// Its state.
    pub state: StorageState,
    /// Why it cannot be written; absent while it can.
    pub why: Option<String>,
    /// The database file.
    pub database: String,
    /// The size of the log beside it, in bytes.
    pub wal_bytes: u64,
    /// The free space on its disk, in bytes.
    pub free_bytes: u64,
    /// When the record began, if there was none when the service started.
    #[serde(default)]
    pub begun: Option<String>,
    /// The seal after its newest row, as `tenths verify --seal` takes it; `null` where it has none.
    #[serde(default)]
    pub seal: Option<String>,
}

quantity::worded! {
    /// How the record on disk is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
    pub enum StorageState {
        /// Everything taken is stored.
        #[default]
        Fine = "fine",
        /// It cannot be written; nothing is taken.
        Failing = "failing",
        /// Space is running out.
        Low = "low",
    }
}

/// The status as one line of JSON, without its line end.
#[must_use]
pub fn status_line(status: &Status) -> String {
    line_of("status/1", status)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn idle_station() -> StationStatus {
        StationStatus {
            name: "bench".to_owned(),
            job: Some("J-1042".to_owned()),
            person: Some("M. Weber".to_owned()),
            asks: AsksLine::default(),
            ..StationStatus::default()
        }
    }

    fn in_want_of_a_hand() -> Status {
        Status {
            healthy: false,
            needs_a_hand: true,
            bench: "grinding room".to_owned(),
            since: "2027-03-01T06:00:00.000Z".to_owned(),
            stations: vec![idle_station()],
            gauges: vec![GaugeStatus {
                name: "plate".to_owned(),
                state: GaugeState::NoPort,
                why: None,
                frames: 3,
                taken: 2,
                damaged: 1,
                foreign: 0,
                repeats: 0,
                resync: 0,
                idle: 0,
                muted: 0,
                last: Some("-0.00012 in".to_owned()),
                last_at: Some("2027-03-01T06:10:00.000Z".to_owned()),
                calibration_due: Some("2027-04-01T00:00:00.000Z".to_owned()),
                shows: Vec::new(),
            }],
            drops: vec![DropStatus {
                waiting: Vec::new(),
                name: "height-logger".to_owned(),
                state: DropState::Absent,
                files: 1,
                rows: 9,
                refused: 0,
            }],
            storage: StorageStatus {
                state: StorageState::Fine,
                why: None,
                database: "/var/lib/tenths/tenths.db".to_owned(),
                wal_bytes: 0,
                free_bytes: 1_000_000,
                begun: None,
                seal: Some("7-a7".to_owned()),
            },
            work: vec![WorkStatus {
                kind: WorkKind::Prove,
                what: "plate".to_owned(),
                text: "plate was never proved.".to_owned(),
            }],
            set_aside: vec![SetAsideStatus {
                kind: AsideKind::Job,
                what: "J-7".to_owned(),
                text: "J-7 is set aside".to_owned(),
            }],
            reload_refused: None,
            links: Vec::new(),
            alerts_open: 1,
            work_alerts_open: 1,
            troubles: Vec::new(),
            unseen: vec![OpenAlertStatus {
                id: 51,
                level: Level::Interrupt,
                kind: AlertKind::Out,
                job: Some("J-7".to_owned()),
                text: "ring/face: OUT.".to_owned(),
            }],
        }
    }

    #[test]
    fn a_status_line_has_the_published_shape() {
        let status = in_want_of_a_hand();
        let expected = concat!(
            r#"{"schema":"status/1","healthy":false,"needs_a_hand":true,"bench":"grinding room","#,
            r#""since":"2027-03-01T06:00:00.000Z","#,
            r#""stations":[{"name":"bench","job":"J-1042","part":null,"check":null,"#,
            r#""attempt":null,"next":null,"next_position":null,"place":null,"next_touch":null,"touches":null,"taken":null,"of":null,"waits":null,"next_mark_deg":null,"person":"M. Weber","by":null,"question":null,"answers":[],"answer_unit":null}],"#,
            r#""gauges":[{"name":"plate","state":"no-port","why":null,"frames":3,"taken":2,"#,
            r#""damaged":1,"foreign":0,"repeats":0,"resync":0,"idle":0,"muted":0,"#,
            r#""last":"-0.00012 in","last_at":"2027-03-01T06:10:00.000Z","#,
            r#""calibration_due":"2027-04-01T00:00:00.000Z","shows":[]}],"#,
            r#""drops":[{"name":"height-logger","state":"absent","files":1,"rows":9,"refused":0,"waiting":[]}],"#,
            r#""storage":{"state":"fine","why":null,"database":"/var/lib/tenths/tenths.db","wal_bytes":0,"#,
            r#""free_bytes":1000000,"begun":null,"seal":"7-a7"},"alerts_open":1,"work_alerts_open":1,"troubles":[],"unseen":[{"id":51,"level":"interrupt","kind":"out","job":"J-7","text":"ring/face: OUT."}],"work":[{"kind":"prove","what":"plate","text":"plate was never proved."}],"set_aside":[{"kind":"job","what":"J-7","text":"J-7 is set aside"}],"reload_refused":null}"#,
        );
        let line = status_line(&status);
        assert_eq!(line, expected);
        assert_eq!(serde_json::from_str::<Status>(&line).unwrap(), status);
    }
}

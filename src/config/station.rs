//! `[[station]]`: the gauges that measure in one place.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::gauge::ReadGauge;
use super::place::is_unstable;
use super::reader::{At, Document, Table, hint_for};
use super::words::{Once, name};
use bench::setup::StationSetup;
use quantity::Name;

/// The name of the only station, for a bench that names none.
const ONLY: &str = "bench";

/// A pedal or a scanner of a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// The station.
    pub station: Name,
    /// What it is and how it talks.
    pub kind: DeviceKind,
    /// Its path, absolute.
    pub path: PathBuf,
}

/// How a pedal or a scanner talks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DeviceKind {
    /// A pedal that is an input device: all of its keys mean the pedal.
    PedalKeys,
    /// A pedal that closes a modem line of a serial port.
    PedalLine(ModemLine),
    /// A scanner that types like a keyboard.
    ScannerKeys,
    /// A scanner on a serial port, 9600 bits a second, 8 data bits, no parity.
    ScannerPort,
}

impl DeviceKind {
    /// The kind of device, without how it is read.
    #[must_use]
    pub const fn what(self) -> bench::row::Device {
        match self {
            Self::PedalKeys | Self::PedalLine(_) => bench::row::Device::Pedal,
            Self::ScannerKeys | Self::ScannerPort => bench::row::Device::Scanner,
        }
    }
}

/// A line of a serial port that a contact can close.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ModemLine {
    /// Clear to send.
    Cts,
    /// Data set ready.
    Dsr,
    /// Data carrier detect.
    Dcd,
    /// Ring indicator.
    Ri,
}

/// The words before the colon of `pedal = "cts:/dev/…"`.
const PEDALS: [(&str, DeviceKind); 5] = [
    ("keys:", DeviceKind::PedalKeys),
    ("cts:", DeviceKind::PedalLine(ModemLine::Cts)),
    ("dsr:", DeviceKind::PedalLine(ModemLine::Dsr)),
    ("dcd:", DeviceKind::PedalLine(ModemLine::Dcd)),
    ("ri:", DeviceKind::PedalLine(ModemLine::Ri)),
];

/// The words before the colon of `scanner = "keys:/dev/…"`.
const SCANNERS: [(&str, DeviceKind); 2] =
    [("keys:", DeviceKind::ScannerKeys), ("port:", DeviceKind::ScannerPort)];

/// What the stations of a bench depend on.
pub(super) struct Around<'a> {
    /// The folder of the file.
    pub(super) base: &'a Path,
    /// Every gauge.
    pub(super) gauges: &'a [ReadGauge],
}

/// Reads the stations with their pedals and scanners. If there are none, one station has all gauges.
pub(super) fn read(
    document: &Document<'_>,
    tables: Vec<Table<'_>>,
    around: &Around<'_>,
) -> (Vec<StationSetup>, Vec<Device>) {
    let gauges = around.gauges;
    if tables.is_empty() {
        let gauges = gauges.iter().map(|gauge| gauge.name.value.clone()).collect();
        let only = Name::new(ONLY).map(|name| StationSetup { name, gauges });
        return (only.into_iter().collect(), Vec::new());
    }
    let mut devices = Devices { around, given: BTreeMap::new(), all: Vec::new() };
    let known: BTreeSet<&Name> = gauges.iter().map(|gauge| &gauge.name.value).collect();
    let mut names = Once::new("stations");
    let mut held: BTreeMap<Name, Option<Name>> = BTreeMap::new();
    let mut stations = Vec::new();
    for table in tables {
        let station = name(&table);
        if let Some(station) = &station {
            names.give(document, station);
        }
        let members = members(&table, &known);
        let station = station.map(|station| station.value);
        for gauge in &members {
            hold(document, &mut held, gauge, station.as_ref());
        }
        devices.read(&table, station.as_ref());
        table.finish();
        let gauges = members.into_iter().map(|gauge| gauge.value).collect();
        stations.extend(station.map(|name| StationSetup { name, gauges }));
    }
    for gauge in gauges.iter().filter(|gauge| !held.contains_key(&gauge.name.value)) {
        let text = format!("gauge \"{}\" belongs to no station", gauge.name.value);
        document.error(gauge.name.line, text, "add it to the gauges of one [[station]]");
    }
    (stations, devices.all)
}

/// The pedals and scanners read so far.
struct Devices<'a> {
    around: &'a Around<'a>,
    /// Which device was given which path.
    given: BTreeMap<PathBuf, String>,
    all: Vec<Device>,
}

impl Devices<'_> {
    fn read(&mut self, table: &Table<'_>, station: Option<&Name>) {
        let pedal = only_device(table, "pedal").map(|written| (written, "pedal", &PEDALS[..]));
        let scanner =
            only_device(table, "scanner").map(|written| (written, "scanner", &SCANNERS[..]));
        for (written, what, ways) in [pedal, scanner].into_iter().flatten() {
            let named = ways.iter().find_map(|(word, kind)| {
                Some((written.value.strip_prefix(word)?.to_owned(), *kind))
            });
            let (path, kind) = named.unwrap_or_else(|| {
                let kind = usual(what, &written.value);
                (written.value.clone(), kind)
            });
            let path = At { value: self.around.base.join(path), line: written.line };
            if self.is_free(table.document(), &path, what, station)
                && let Some(station) = station
            {
                self.all.push(Device { station: station.clone(), kind, path: path.value });
            }
        }
    }

    /// Whether the path is still free; a finding where it is not.
    fn is_free(
        &mut self,
        document: &Document<'_>,
        path: &At<PathBuf>,
        what: &str,
        station: Option<&Name>,
    ) -> bool {
        let shown = path.value.display();
        if is_unstable(&path.value) {
            let text = format!("{shown} may be another device after the next start");
            document.warning(
                path.line,
                text,
                "take its name from /dev/input/by-id or /dev/serial/by-id",
            );
        }
        let device = path.value.canonicalize().unwrap_or_else(|_| path.value.clone());
        let gauge = self.around.gauges.iter().find(|gauge| {
            gauge
                .wire
                .as_ref()
                .is_some_and(|wire| wire.port.value.resolved().device() == Some(device.as_path()))
        });
        let other = gauge.map(|gauge| format!("the port of gauge \"{}\"", gauge.name.value));
        let owner = station.map_or(String::new(), |station| format!(" of station \"{station}\""));
        let this = format!("the {what}{owner}");
        if let Some(other) = other.or_else(|| self.given.get(&device).cloned()) {
            let text = format!("{shown} cannot be {this}: it is {other} already");
            document.error(path.line, text, "give each a device of its own");
            return false;
        }
        self.given.insert(device, this);
        true
    }
}

/// The only device of its kind that a station has.
fn only_device(table: &Table<'_>, what: &str) -> Option<At<String>> {
    if table.has(what) && table.items(what).is_some() {
        let text = format!("a station has one {what}, and this is a list");
        let hint = format!("name one in quotes; another {what} needs a [[station]] of its own");
        table.document().error(table.line_of(what), text, hint);
        return None;
    }
    table.string(what)
}

/// How a device talks where that is not stated.
fn usual(what: &str, path: &str) -> DeviceKind {
    match what {
        "pedal" => DeviceKind::PedalKeys,
        _ if path.starts_with("/dev/input/") => DeviceKind::ScannerKeys,
        _ => DeviceKind::ScannerPort,
    }
}

/// The gauges of a station, without names that do not exist.
fn members(table: &Table<'_>, known: &BTreeSet<&Name>) -> Vec<At<Name>> {
    table.must_have("gauges", "write gauges = [\"…\"], the gauges of this place");
    let document = table.document();
    let mut members = Vec::new();
    for written in table.strings("gauges") {
        match Name::new(&written.value) {
            Ok(gauge) if known.contains(&gauge) => {
                members.push(At { value: gauge, line: written.line });
            }
            Ok(_) | Err(_) => no_such_gauge(document, &written, known),
        }
    }
    members
}

/// Notes the station of a gauge; a gauge belongs to one.
fn hold(
    document: &Document<'_>,
    held: &mut BTreeMap<Name, Option<Name>>,
    gauge: &At<Name>,
    station: Option<&Name>,
) {
    if let Some(other) = held.get(&gauge.value) {
        let other = other.as_ref().map_or("another", |name| name.as_str());
        let text = format!("gauge \"{}\" already belongs to station \"{other}\"", gauge.value);
        document.error(gauge.line, text, "a gauge belongs to one station");
        return;
    }
    held.insert(gauge.value.clone(), station.cloned());
}

/// What to write in place of a gauge that is not there.
pub(super) fn hint_for_gauge(name: &str, known: &BTreeSet<String>) -> String {
    if known.is_empty() {
        return format!("the bench has no gauge yet: add a [[gauge]] with name = \"{name}\"");
    }
    hint_for(name, known)
}

/// A finding about a gauge that is named and does not exist.
pub(super) fn no_such_gauge(
    document: &Document<'_>,
    written: &At<String>,
    known: &BTreeSet<&Name>,
) {
    let text = format!("there is no gauge \"{}\"", written.value);
    let known = known.iter().map(|name| name.as_str().to_owned()).collect();
    let hint = hint_for_gauge(&written.value, &known);
    document.error(written.line, text, hint);
}

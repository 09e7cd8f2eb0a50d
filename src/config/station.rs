//! `[[station]]`: which gauges measure in one place.

use std::collections::{BTreeMap, BTreeSet};

use super::gauge::ReadGauge;
use super::reader::{At, Document, Table, hint_for};
use super::words::{Once, name};
use crate::bench::setup::StationSetup;
use crate::quantity::Name;

/// The name of the only station of a bench that names none.
const ONLY: &str = "bench";

/// Reads the stations. Without any, one holds every gauge.
pub(super) fn read(
    document: &Document<'_>,
    tables: Vec<Table<'_>>,
    gauges: &[ReadGauge],
) -> Vec<StationSetup> {
    if tables.is_empty() {
        let gauges = gauges.iter().map(|gauge| gauge.name.value.clone()).collect();
        return Name::new(ONLY).map(|name| StationSetup { name, gauges }).into_iter().collect();
    }
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
        for key in ["pedal", "scanner"] {
            unused(&table, key);
        }
        table.finish();
        let gauges = members.into_iter().map(|gauge| gauge.value).collect();
        stations.extend(station.map(|name| StationSetup { name, gauges }));
    }
    for gauge in gauges.iter().filter(|gauge| !held.contains_key(&gauge.name.value)) {
        let text = format!("gauge \"{}\" belongs to no station", gauge.name.value);
        document.error(gauge.name.line, text, "add it to the gauges of one [[station]]");
    }
    stations
}

/// The gauges of a station that exist.
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

/// A gauge is in one place.
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

/// A finding about a gauge that is named and not there.
pub(super) fn no_such_gauge(
    document: &Document<'_>,
    written: &At<String>,
    known: &BTreeSet<&Name>,
) {
    let text = format!("there is no gauge \"{}\"", written.value);
    let known = known.iter().map(|name| name.as_str().to_owned()).collect();
    let hint = hint_for(&written.value, &known);
    document.error(written.line, text, hint);
}

/// A key that this version reads past.
fn unused(table: &Table<'_>, key: &str) {
    if let Some(written) = table.string(key) {
        let text = format!("the {key} is not used by this version");
        table.document().warning(written.line, text, "it may stay; nothing listens to it yet");
    }
}

//! A test bar read at stations along it.

use super::limits::Judged;
use super::turn::uncertainty;
use crate::reader::{At, Table};
use crate::words::{not_negative, positive};
use bench::plan::{BarRun, BarStation, Seatings};
use judgement::Limits;
use quantity::{Length, Quoted, Unit};

/// Most stations: more is a slip of the pen.
pub(super) const MOST_STATIONS: usize = 20;

/// Reads a bar, the tightest of its tolerances, and the lines those of its stations stand on.
pub(super) fn read(table: &Table<'_>, unit: Unit) -> Option<(BarRun, Judged, Vec<u32>)> {
    for key in ["tolerance", "min", "max", "aim"] {
        if table.has(key) {
            let text = format!("bar-runout has no {key} of its own");
            table.document().error(table.line_of(key), text, "each station has its tolerance");
        }
    }
    let [stand, seating, bar] =
        ["stand", "seating", "bar"].map(|key| uncertainty(table, key, unit));
    let seatings = seatings(table);
    let predict = predict(table, unit);
    let stations = stations(table, unit, seating)?;
    if stations.len() < 2 && table.has("predict") {
        let text = "a prediction needs two stations";
        table.document().error(table.line_of("predict"), text, "add one, or take predict out");
    }
    let tightest = stations.iter().map(|(_, tolerance)| tolerance).min_by_key(|at| at.value.length);
    let At { value: Quoted { length, unit, .. }, line } = *tightest?;
    let lines = stations.iter().map(|(_, tolerance)| tolerance.line).collect();
    let stations = stations.into_iter().map(|(station, _)| station).collect();
    let judged = Judged { limits: Some(Limits::Max(length)), unit, aim: None, line };
    Some((BarRun { stations, seatings, predict, stand, bar }, judged, lines))
}

fn seatings(table: &Table<'_>) -> Seatings {
    match table.integer("seatings", 1..=4).map(|at| (at.value, at.line)) {
        Some((3, _)) => Seatings::Three,
        Some((4, _)) => Seatings::Four,
        Some((2, line)) => {
            let hint = "write 1, 3 (at 0, at 180 and at 0 again) or 4 (quarter turns)";
            table.document().error(line, "two seatings cannot show whether they repeat", hint);
            Seatings::One
        }
        Some(_) | None => Seatings::One,
    }
}

fn stations(table: &Table<'_>, unit: Unit, usual: Length) -> Option<Vec<(BarStation, At<Quoted>)>> {
    let hint = "write stations = [{ at = \"0.25 in\", tolerance = \"0.0001 in\" }], say";
    table.must_have("stations", hint);
    let written = table.tables("stations");
    let many = table.items("stations")?;
    if !(1..=MOST_STATIONS).contains(&many) {
        let text = format!("stations should be 1 to {MOST_STATIONS} places along the bar");
        table.document().error(table.line_of("stations"), text, hint);
        return None;
    }
    let mut stations: Vec<(BarStation, At<Quoted>)> = Vec::new();
    for table in written {
        let Some((station, tolerance)) = station(table, unit, usual, stations.last()) else {
            continue;
        };
        stations.push((station, tolerance));
    }
    (stations.len() == many).then_some(stations)
}

fn station(
    table: Table<'_>,
    unit: Unit,
    usual: Length,
    before: Option<&(BarStation, At<Quoted>)>,
) -> Option<(BarStation, At<Quoted>)> {
    table.must_have("at", "write at = \"3 in\", say: its distance from the nose face");
    table.must_have("tolerance", "write tolerance = \"0.0002 in\", say");
    let at = not_negative(&table, "at", Some(unit));
    let tolerance = positive(&table, "tolerance", Some(unit));
    let own = not_negative(&table, "seating", Some(unit));
    let seating = own.map_or(usual, |own| own.value.length);
    if let Some((at, (before, _))) = at.zip(before)
        && at.value.length <= before.at
    {
        let text = format!("the station at {} is not beyond the one before it", at.value);
        table.document().error(at.line, text, "write them from the nose outwards");
    }
    table.finish();
    let (at, tolerance) = (at?.value.length, tolerance?);
    Some((BarStation { at, limits: Limits::Max(tolerance.value.length), seating }, tolerance))
}

/// The distances the total reading is predicted at.
fn predict(table: &Table<'_>, unit: Unit) -> Vec<Length> {
    lengths(table, "predict", unit)
}

/// A list of lengths of zero or more; each that is none is a finding.
pub(super) fn lengths(table: &Table<'_>, key: &str, unit: Unit) -> Vec<Length> {
    let mut lengths = Vec::new();
    for At { value, line } in table.literals(key) {
        match Quoted::parse_with_unit(&value, Some(unit)) {
            Ok(found) if found.length.picometres() < 0 => {
                let text = format!("{key}: {found} is below zero");
                table.document().error(line, text, "distances count from the nose face");
            }
            Ok(found) => lengths.push(found.length),
            Err(error) => table.document().error(line, format!("{key}: {error}"), ""),
        }
    }
    lengths
}

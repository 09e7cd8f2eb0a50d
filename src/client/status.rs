//! `status`: is everything well, worst first.

use std::fmt::Write as _;
use std::time::{SystemTime, UNIX_EPOCH};

use crate::quantity::Wall;
use crate::report::age;
use crate::wire::{
    DropState, DropStatus, GaugeState, GaugeStatus, Incoming, StationStatus, Status, StorageState,
    printable,
};

use super::args::Global;
use super::failure::{Failure, NO, Told, UNREACHABLE};
use super::screen::{Ink, Screen};
use super::{bench, screen, socket};

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let reply = socket::ask(&path, &Incoming::Status)?;
    if reply.exit != 0 {
        return Err(Failure::Told(Told { exit: reply.exit, text: reply.text, hint: reply.hint }));
    }
    let status: Status = serde_json::from_str(&reply.line).map_err(|error| {
        Failure::plain(UNREACHABLE, format!("the service sent what cannot be read: {error}"))
    })?;
    if global.json {
        screen::line(&reply.line)?;
    } else {
        screen::text(&told(&status, now(), Screen::of_stdout()))?;
    }
    Ok(if status.healthy { 0 } else { NO })
}

fn now() -> Wall {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Wall::from_micros(i64::try_from(since_1970.as_micros()).unwrap_or(i64::MAX))
}

/// The whole as a person reads it: what is wrong, then where each station stands, then the rest.
fn told(status: &Status, now: Wall, screen: Screen) -> String {
    let mut text = String::new();
    let head = if status.healthy {
        screen.ink("All well.", Ink::Green)
    } else {
        screen.ink("NOT ALL WELL.", Ink::Red)
    };
    let running = ago(&status.since, now);
    line(&mut text, &format!("{head} {}, running for {running}.", printable(&status.bench)));
    for wrong in faults(status) {
        line(&mut text, &format!("  {}", screen.ink(&wrong, Ink::Yellow)));
    }
    status.stations.iter().for_each(|station| line(&mut text, &station_line(station)));
    let quiet = |gauge: &&GaugeStatus| matches!(gauge.state, GaugeState::Live | GaugeState::NoPort);
    let (fine, troubled): (Vec<_>, Vec<_>) = status.gauges.iter().partition(quiet);
    for gauge in troubled.into_iter().chain(fine) {
        line(&mut text, &gauge_line(gauge, now));
    }
    status.drops.iter().for_each(|drop| line(&mut text, &drop_line(drop)));
    line(&mut text, &storage_line(status));
    text
}

fn line(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("a String takes everything");
}

/// What needs a person, worst first.
fn faults(status: &Status) -> Vec<String> {
    let mut faults = Vec::new();
    match status.storage.state {
        StorageState::Failing => {
            faults.push("The record CANNOT BE WRITTEN. Nothing is taken until it can.".to_owned());
        }
        StorageState::Low => faults.push("Space for the record is running out.".to_owned()),
        StorageState::Fine => {}
    }
    faults.extend(status.set_aside.iter().map(|aside| printable(&aside.text)));
    for gauge in &status.gauges {
        let name = printable(&gauge.name);
        match gauge.state {
            GaugeState::Refused => faults.push(format!("Gauge {name} may not be opened.")),
            GaugeState::Lost => faults.push(format!("Gauge {name} has gone.")),
            GaugeState::Absent => faults.push(format!("Gauge {name} is not there.")),
            GaugeState::Live | GaugeState::NoPort => {}
        }
    }
    for drop in status.drops.iter().filter(|drop| drop.state == DropState::Absent) {
        faults.push(format!("Folder {} is not there.", printable(&drop.name)));
    }
    match status.alerts_open {
        0 => {}
        1 => faults.push("1 alert nobody has seen: tenths alerts --state open".to_owned()),
        many => faults.push(format!("{many} alerts nobody has seen: tenths alerts --state open")),
    }
    faults
}

fn ago(at: &str, now: Wall) -> String {
    Wall::parse(at).map_or_else(|_| "an unknown time".to_owned(), |at| age(at, now))
}

fn station_line(station: &StationStatus) -> String {
    let name = printable(&station.name);
    let Some(job) = &station.job else { return format!("{name}: no job in use.") };
    let job = printable(job);
    let (Some(part), Some(check)) = (&station.part, &station.check) else {
        return format!("{name}: job {job}, no check active.");
    };
    let place = printable(&format!("{part}/{check}"));
    let attempt = match station.attempt {
        None | Some(1) => String::new(),
        Some(attempt) => format!(", attempt {attempt}"),
    };
    // Of what is answered or worked out, nothing is touched.
    let taken = station.taken.zip(station.of.filter(|of| *of > 0));
    let sweeps = station.next.as_deref() == Some("sweep");
    let taken = taken.filter(|_| !sweeps);
    let taken = taken.map_or_else(String::new, |(taken, of)| format!(", {taken} of {of} touched"));
    let position = station.next_position.map_or_else(String::new, |next| format!("{next} "));
    let lies = station.place.as_ref();
    let lies = lies.map_or_else(String::new, |place| format!(" ({})", printable(place)));
    let next = match station.next.as_deref() {
        Some("position") => format!(", position {position}next{lies}"),
        Some("seat") => format!(", take the bar out, turn it and seat it, then take{lies}"),
        Some("closure") => ", position 0 again next".to_owned(),
        Some("again") => format!(", position {position}once more"),
        Some("half-turn") => ", set back half a turn: the high and the low spot next".to_owned(),
        Some("master") => ", the master next".to_owned(),
        Some("sweep") => ", a turn to sweep: tap at mark 0 next".to_owned(),
        Some("answer") => ", waiting for an answer".to_owned(),
        Some("nothing") => ", done".to_owned(),
        Some(_) | None => String::new(),
    };
    let waits = match station.waits.as_deref() {
        Some("in-the-air") => " (IN THE AIR)",
        Some("off-the-edge") => " (OFF THE EDGE)",
        Some("same-spot") => " (SAME SPOT: lift first)",
        Some("unsure") => " (PART OR AIR? Tap for the first touch)",
        Some(_) | None => "",
    };
    format!("{name}: job {job}, {place}{attempt}{taken}{next}{waits}.")
}

fn gauge_line(gauge: &GaugeStatus, now: Wall) -> String {
    let state = match gauge.state {
        GaugeState::Live => "live",
        GaugeState::Absent => "not there",
        GaugeState::Lost => "gone",
        GaugeState::Refused => "may not be opened",
        GaugeState::NoPort => "no port",
    };
    let why = gauge.why.as_deref().map_or_else(String::new, |why| format!(" ({})", printable(why)));
    let last = match (&gauge.last, &gauge.last_at) {
        (Some(last), Some(at)) => format!(", last {} {} ago", printable(last), ago(at, now)),
        _ => String::new(),
    };
    let counts = [
        (gauge.taken, "taken"),
        (gauge.damaged, "damaged"),
        (gauge.foreign, "not for us"),
        (gauge.repeats, "sent twice"),
        (gauge.muted, "muted"),
    ];
    let mut told = format!("gauge {}: {state}{why}{last}", printable(&gauge.name));
    for (count, what) in counts.iter().filter(|(count, _)| *count > 0) {
        write!(told, ", {count} {what}").expect("a String takes everything");
    }
    told + "."
}

fn drop_line(drop: &DropStatus) -> String {
    let state = match drop.state {
        DropState::Watching => "watched",
        DropState::Absent => "not there",
    };
    let refused =
        if drop.refused == 0 { String::new() } else { format!(", {} refused", drop.refused) };
    let DropStatus { files, rows, .. } = drop;
    format!(
        "folder {}: {state}, {files} files with {rows} rows taken{refused}.",
        printable(&drop.name)
    )
}

fn storage_line(status: &Status) -> String {
    let state = match status.storage.state {
        StorageState::Fine => "fine",
        StorageState::Failing => "CANNOT BE WRITTEN",
        StorageState::Low => "running out of space",
    };
    let why = status
        .storage
        .why
        .as_deref()
        .map_or_else(String::new, |why| format!(" ({})", printable(why)));
    let free = size(status.storage.free_bytes);
    format!("record: {state}{why}, {free} free, {}.", printable(&status.storage.database))
}

/// A size with as many digits as say enough.
fn size(bytes: u64) -> String {
    let units = [(1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")];
    match units.iter().find(|(unit, _)| bytes >= *unit) {
        Some((unit, name)) => format!("{}.{} {name}", bytes / unit, bytes % unit * 10 / unit),
        None => format!("{bytes} bytes"),
    }
}

#[cfg(test)]
mod tests;

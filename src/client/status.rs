//! `status`: says whether everything is well, the worst first.

use std::fmt::Write as _;
use std::time::{SystemTime, UNIX_EPOCH};

use ::gauge::Waits;
use ::report::age;
use ::words::Calibration;
use quantity::Wall;
use wire::{
    AsideKind, DropState, DropStatus, GaugeState, GaugeStatus, Incoming, Next, SetAsideStatus,
    StationStatus, Status, StorageState, hands_words, printable,
};

use super::failure::{Failure, NO, UNREACHABLE};
use super::global::Global;
use super::screen::{Ink, Screen};
use super::{bench, screen, socket};

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let reply = socket::ask(&path, &Incoming::Status)?;
    if reply.exit != 0 {
        return Err(Failure::Told(reply.into()));
    }
    let status: Status = serde_json::from_str(&reply.line).map_err(|error| {
        Failure::plain(UNREACHABLE, format!("the service sent what cannot be read: {error}"))
    })?;
    if global.json {
        screen::line(&reply.line)?;
    } else {
        screen::told(&told(&status, now(), Screen::of_stdout()))?;
    }
    Ok(if status.healthy { 0 } else { NO })
}

pub(crate) fn now() -> Wall {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Wall::from_micros(i64::try_from(since_1970.as_micros()).unwrap_or(i64::MAX))
}

/// The whole text: what is wrong, then each station, then the rest.
fn told(status: &Status, now: Wall, screen: Screen) -> String {
    let mut text = String::new();
    let faults = faults(status, now);
    let (head, ink) = head(status, &faults);
    let running = ago(&status.since, now);
    let head = screen.ink(&head, ink);
    line(&mut text, &format!("{head} {}, running for {running}.", printable(&status.bench)));
    for (_, wrong) in faults {
        line(&mut text, &format!("  {}", screen.ink(&wrong, Ink::Yellow)));
    }
    for work in &status.work {
        line(&mut text, &format!("  to do: {}", printable(&work.text)));
    }
    status.stations.iter().for_each(|station| line(&mut text, &station_line(station)));
    let quiet = |gauge: &&GaugeStatus| matches!(gauge.state, GaugeState::Live | GaugeState::NoPort);
    let (fine, troubled): (Vec<_>, Vec<_>) = status.gauges.iter().partition(quiet);
    for gauge in troubled.into_iter().chain(fine) {
        line(&mut text, &gauge_line(gauge, now));
        for seen in gauge.shows.iter().filter(|seen| seen.enough) {
            line(&mut text, &format!("  {}.", printable(&seen.text)));
        }
    }
    status.drops.iter().for_each(|drop| line(&mut text, &drop_line(drop)));
    line(&mut text, &storage_line(status, now));
    if let Some(seal) = &status.storage.seal {
        line(&mut text, &format!("seal: {}", printable(seal)));
    }
    text
}

fn line(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("a String takes everything");
}

/// The first line: that all is well, or what is not.
fn head(status: &Status, faults: &[(Fault, String)]) -> (String, Ink) {
    let kinds: std::collections::BTreeSet<Fault> = faults.iter().map(|(kind, _)| *kind).collect();
    let of = |kind: Fault| faults.iter().filter(|(one, _)| *one == kind).count();
    let named = |kind: Fault| {
        let (many, one, more) = match kind {
            Fault::Record => return "the record cannot be written".to_owned(),
            Fault::Space => return "space for the record is running out".to_owned(),
            Fault::Lost => return "rows are missing from the record".to_owned(),
            Fault::Damaged => return "the record is damaged".to_owned(),
            Fault::SetAside => (of(kind) as u64, "job is set aside", "jobs are set aside"),
            Fault::Plan => (of(kind) as u64, "plan is set aside", "plans are set aside"),
            Fault::Reload => return "the configuration was not read again".to_owned(),
            Fault::Gauge => (of(kind) as u64, "gauge cannot be read", "gauges cannot be read"),
            Fault::Folder => (of(kind) as u64, "folder is not there", "folders are not there"),
            Fault::Calibration => (
                of(kind) as u64,
                "gauge is past its calibration date",
                "gauges are past their calibration dates",
            ),
            Fault::Alerts => {
                (status.alerts_open, "alert nobody has seen", "alerts nobody has seen")
            }
        };
        format!("{many} {}", if many == 1 { one } else { more })
    };
    let named: Vec<String> = kinds.into_iter().map(named).collect();
    match (status.healthy, named.join(", ")) {
        (true, none) if none.is_empty() => ("All well.".to_owned(), Ink::Green),
        (false, none) if none.is_empty() => ("NOT ALL WELL.".to_owned(), Ink::Red),
        (true, named) => (format!("TO LOOK AT: {named}."), Ink::Yellow),
        (false, named) => (format!("NOT ALL WELL: {named}."), Ink::Red),
    }
}

/// The kinds of trouble that need a person, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fault {
    Record,
    Lost,
    Damaged,
    Space,
    SetAside,
    Plan,
    Reload,
    Gauge,
    Folder,
    Calibration,
    Alerts,
}

/// Everything that needs a person, the worst first.
fn faults(status: &Status, now: Wall) -> Vec<(Fault, String)> {
    let mut faults = Vec::new();
    match status.storage.state {
        StorageState::Failing => {
            let text = "The record CANNOT BE WRITTEN. Nothing is taken until it can.";
            faults.push((Fault::Record, text.to_owned()));
        }
        StorageState::Low => {
            faults.push((Fault::Space, "Space for the record is running out.".to_owned()));
        }
        StorageState::Fine => {}
    }
    let aside = |aside: &SetAsideStatus| {
        let kind = match aside.kind {
            AsideKind::Plan => Fault::Plan,
            AsideKind::Rows => Fault::Lost,
            AsideKind::File | AsideKind::Record => Fault::Damaged,
            AsideKind::Job => Fault::SetAside,
        };
        (kind, printable(&aside.text))
    };
    faults.extend(status.set_aside.iter().map(aside));
    faults.extend(status.reload_refused.iter().map(|why| (Fault::Reload, printable(why))));
    for gauge in &status.gauges {
        let name = printable(&gauge.name);
        let what = match gauge.state {
            GaugeState::Refused => "may not be opened",
            GaugeState::Lost => "has gone",
            GaugeState::Absent => "is not there",
            GaugeState::Live | GaugeState::NoPort => continue,
        };
        faults.push((Fault::Gauge, format!("Gauge {name} {what}.")));
    }
    for drop in status.drops.iter().filter(|drop| drop.state == DropState::Absent) {
        faults.push((Fault::Folder, format!("Folder {} is not there.", printable(&drop.name))));
    }
    for gauge in &status.gauges {
        if let Some(past @ Calibration::Past(_)) = calibration(gauge, now) {
            let text = format!("Gauge {} {}: its verdicts are withheld.", gauge.name, past.words());
            faults.push((Fault::Calibration, printable(&text)));
        }
    }
    let open = "alerts nobody has seen: tenths alerts --state open";
    match status.alerts_open {
        0 => {}
        1 => faults.push((Fault::Alerts, format!("1 {}", open.replacen("alerts", "alert", 1)))),
        many => faults.push((Fault::Alerts, format!("{many} {open}"))),
    }
    faults
}

/// The remark about the calibration of a gauge.
fn calibration(gauge: &GaugeStatus, now: Wall) -> Option<Calibration> {
    Calibration::at(Wall::parse(gauge.calibration_due.as_deref()?).ok()?, now)
}

fn ago(at: &str, now: Wall) -> String {
    Wall::parse(at).map_or_else(|_| "an unknown time".to_owned(), |at| age(at, now))
}

fn station_line(station: &StationStatus) -> String {
    let hands = hands_words(station.person.as_deref(), station.by.as_deref());
    let hands = hands.map_or_else(String::new, |hands| format!(" ({hands})"));
    let name = printable(&format!("{}{hands}", station.name));
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
    // A check that is answered or worked out has no touches.
    let taken = station.taken.zip(station.of.filter(|of| *of > 0));
    let sweeps = station.next == Some(Next::Sweep);
    let taken = taken.filter(|_| !sweeps);
    let taken = taken.map_or_else(String::new, |(taken, of)| format!(", {taken} of {of} touched"));
    let position = station.next_position.map_or_else(String::new, |next| format!("{next} "));
    let several = station.touches.filter(|touches| *touches > 1);
    let nth = station.next_touch.zip(several);
    let nth = nth.map(|(touch, of)| format!("touch {touch} of {of}"));
    let lies: Vec<String> =
        station.place.as_deref().map(printable).into_iter().chain(nth).collect();
    let lies = if lies.is_empty() { String::new() } else { format!(" ({})", lies.join("; ")) };
    let next = match station.next {
        Some(Next::Position) => format!(", position {position}next{lies}"),
        Some(Next::Seat) => format!(", take the bar out, turn it and seat it, then take{lies}"),
        Some(Next::Middle) => ", position 0 again, half way round".to_owned(),
        Some(Next::Closure) => ", position 0 again next".to_owned(),
        Some(Next::Again) => format!(", position {position}once more{lies}"),
        Some(Next::HalfTurn) => ", set back half a turn: the high and the low spot next".to_owned(),
        Some(Next::Master) => ", the master next".to_owned(),
        Some(Next::Sweep) => match station.next_mark_deg {
            None => ", a turn to sweep: tap at mark 0 next".to_owned(),
            Some(mark) => format!(", a turn is being swept: tap at mark {mark} next"),
        },
        Some(Next::Answer) => {
            let asked = station.asks.sentence(part, check);
            let asked = asked.as_deref().map(|asked| printable(asked.trim_end_matches('.')));
            asked.map_or_else(
                || ", waiting for an answer".to_owned(),
                |asked| format!(", waiting for an answer: {asked}"),
            )
        }
        Some(Next::Nothing) => ", done".to_owned(),
        None => String::new(),
    };
    let waits = match station.waits {
        Some(Waits::InTheAir) => " (IN THE AIR)",
        Some(Waits::OffTheEdge) => " (OFF THE EDGE)",
        Some(Waits::SameSpot) => " (SAME SPOT: lift first)",
        Some(Waits::Unsure) => " (PART OR AIR? Tap for the first touch)",
        None => "",
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
    if let Some(due) = calibration(gauge, now) {
        write!(told, ", {}", due.words()).expect("a String takes everything");
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
    let waiting = drop
        .waiting
        .iter()
        .fold(String::new(), |told, file| told + "\n  waiting: " + &printable(file));
    format!(
        "folder {}: {state}, {files} files with {rows} rows taken{refused}.{waiting}",
        printable(&drop.name)
    )
}

fn storage_line(status: &Status, now: Wall) -> String {
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
    let begun = status.storage.begun.as_deref();
    let begun = begun.map_or_else(String::new, |at| format!(", NEW, begun {} ago", ago(at, now)));
    format!("record: {state}{why}{begun}, {free} free, {}.", printable(&status.storage.database))
}

/// A size with as many digits as are useful.
fn size(bytes: u64) -> String {
    let units = [(1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")];
    match units.iter().find(|(unit, _)| bytes >= *unit) {
        Some((unit, name)) => format!("{}.{} {name}", bytes / unit, bytes % unit * 10 / unit),
        None => format!("{bytes} bytes"),
    }
}

#[cfg(test)]
mod tests;

//! `status`: says whether the service is well, which is the exit code, and whether the work needs a hand; the worst
//! first.

mod amiss;

use std::fmt::Write as _;
use std::time::{SystemTime, UNIX_EPOCH};

use ::gauge::Waits;
use ::report::age;
use ::words::Calibration;
use quantity::Wall;
use wire::{
    DropState, DropStatus, GaugeState, GaugeStatus, Incoming, LinkStatus, Next, StationStatus,
    Status, StorageState, hands_words, printable,
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
    let mut status: Status = serde_json::from_str(&reply.line).map_err(|error| {
        Failure::plain(UNREACHABLE, format!("the service sent what cannot be read: {error}"))
    })?;
    status.links = path.parent().map_or_else(Vec::new, |state| bench::links(global, state, now()));
    if global.json && status.links.is_empty() {
        screen::line(&reply.line)?;
    } else if global.json {
        screen::line(&wire::status_line(&status))?;
    } else {
        let screen = Screen::of_stdout();
        screen::told(&told(&status, now(), screen))?;
    }
    Ok(if status.healthy { 0 } else { NO })
}

pub(crate) fn now() -> Wall {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Wall::from_micros(i64::try_from(since_1970.as_micros()).unwrap_or(i64::MAX))
}

/// The whole text: what is wrong, what is to be done, then each station, then the rest.
fn told(status: &Status, now: Wall, screen: Screen) -> String {
    let mut text = String::new();
    let amiss = amiss::amiss(status);
    let (head, ink) = amiss::head(status, &amiss);
    let running = ago(&status.since, now);
    let head = screen.ink(&head, ink);
    line(&mut text, &format!("{head} {}, running for {running}.", printable(&status.bench)));
    for (_, what) in amiss {
        line(&mut text, &format!("  {}", screen.ink(&what, Ink::Yellow)));
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
    status.links.iter().for_each(|link| line(&mut text, &link_line(link, now)));
    line(&mut text, &storage_line(status, now));
    if let Some(seal) = &status.storage.seal {
        line(&mut text, &format!("seal: {}", printable(seal)));
    }
    text
}

fn line(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("a String takes everything");
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

fn link_line(link: &LinkStatus, now: Wall) -> String {
    let since = if link.state.is_in_trouble() {
        format!(", for {}", ago(&link.since, now))
    } else {
        String::new()
    };
    let last = link.told_at.as_deref();
    let last = last.map_or_else(String::new, |at| format!(", last {} ago", ago(at, now)));
    printable(&format!("{}{since}{last}.", link.words()))
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

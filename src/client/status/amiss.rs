//! What a person has to know of a status before all else: what of the service is not well, and which work needs a
//! hand. Everything that is told here is named in the first line, too.

use std::collections::BTreeSet;

use ::bench::row::AlertKind;
use wire::{
    AsideKind, DropState, GaugeState, LinkState, LinkStatus, OpenAlertStatus, SetAsideStatus,
    Status, StorageState, WorkKind, printable,
};

use crate::screen::Ink;

/// At most this many alerts are told one by one.
const TOLD: usize = 5;

/// The first line: that all is well, or what is not.
pub(super) fn head(status: &Status, all: &[(Amiss, String)]) -> (String, Ink) {
    let (service, work): (BTreeSet<Amiss>, BTreeSet<Amiss>) =
        all.iter().map(|(kind, _)| *kind).partition(|kind| *kind < Amiss::Alerts);
    let named = |kinds: BTreeSet<Amiss>| {
        let named: Vec<String> = kinds.into_iter().map(|kind| kind.words(status, all)).collect();
        named.join(", ")
    };
    let (nothing_wrong, nothing_to_do) = (service.is_empty(), work.is_empty());
    let (service, work) = (named(service), named(work));
    let work =
        if nothing_to_do { String::new() } else { format!(" The work needs a hand: {work}.") };
    match (status.healthy, nothing_wrong) {
        (true, true) if nothing_to_do && !status.needs_a_hand => {
            ("All well.".to_owned(), Ink::Green)
        }
        (true, true) => (format!("The service is well.{work}"), Ink::Yellow),
        // What somebody has seen and lives with.
        (true, false) => (format!("The service is well, but {service}.{work}"), Ink::Yellow),
        (false, true) => (format!("NOT ALL WELL.{work}"), Ink::Red),
        (false, false) => (format!("NOT ALL WELL: {service}.{work}"), Ink::Red),
    }
}

/// What can be amiss, the worst first: of the service, then of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Amiss {
    Record,
    Lost,
    Damaged,
    Space,
    SetAside,
    Plan,
    Reload,
    Gauge,
    Folder,
    Trouble,
    Link,
    Alerts,
    Certify,
    Prove,
}

impl Amiss {
    /// How it is named in the first line.
    fn words(self, status: &Status, all: &[(Self, String)]) -> String {
        let of = all.iter().filter(|(kind, _)| *kind == self).count() as u64;
        let counted = |many: u64, one: &str, more: &str| {
            format!("{many} {}", if many == 1 { one } else { more })
        };
        match self {
            Self::Record => "the record cannot be written".to_owned(),
            Self::Space => "space for the record is running out".to_owned(),
            Self::Lost => "rows are missing from the record".to_owned(),
            Self::Damaged => "the record is damaged".to_owned(),
            Self::Reload => "the configuration was not read again".to_owned(),
            Self::SetAside => counted(of, "job is set aside", "jobs are set aside"),
            Self::Plan => counted(of, "plan is set aside", "plans are set aside"),
            Self::Gauge => counted(of, "gauge cannot be read", "gauges cannot be read"),
            Self::Folder => counted(of, "folder cannot be read", "folders cannot be read"),
            Self::Trouble => {
                let kinds: BTreeSet<AlertKind> =
                    status.troubles.iter().map(|one| one.kind).collect();
                kinds.into_iter().map(trouble_words).collect::<Vec<_>>().join(", ")
            }
            Self::Link => counted(of, "link to the shop is broken", "links to the shop are broken"),
            Self::Alerts => {
                counted(status.work_alerts_open, "alert nobody has seen", "alerts nobody has seen")
            }
            Self::Certify => counted(
                of,
                "calibration is due or past its date",
                "calibrations are due or past their dates",
            ),
            Self::Prove => counted(of, "gauge is to be proved", "gauges are to be proved"),
        }
    }
}

/// Troubles of the service that no other line names.
const TROUBLES: [(AlertKind, &str); 6] = [
    (AlertKind::DeviceLost, "a pedal or scanner cannot be read"),
    (AlertKind::Pedal, "a pedal is stuck"),
    (AlertKind::StreamStopped, "a gauge has stopped sending"),
    (AlertKind::Flooding, "a gauge sends without a pause"),
    (AlertKind::SocketLost, "the socket is gone"),
    (AlertKind::RecordBegun, "a new record began"),
];

fn trouble_words(kind: AlertKind) -> String {
    let known = TROUBLES.iter().find(|(one, _)| *one == kind);
    known.map_or_else(|| kind.text().replace('-', " "), |(_, words)| (*words).to_owned())
}

/// Everything that needs a person, the worst first.
pub(super) fn amiss(status: &Status) -> Vec<(Amiss, String)> {
    let mut all = of_the_service(status);
    all.extend(status.troubles.iter().map(|one| (Amiss::Trouble, printable(&one.text))));
    all.extend(links(status));
    all.extend(alerts(status));
    for (of, amiss) in [(WorkKind::Certify, Amiss::Certify), (WorkKind::Prove, Amiss::Prove)] {
        let work = status.work.iter().filter(|work| work.kind == of);
        all.extend(work.map(|work| (amiss, format!("to do: {}", printable(&work.text)))));
    }
    all
}

fn of_the_service(status: &Status) -> Vec<(Amiss, String)> {
    let mut all = Vec::new();
    match status.storage.state {
        StorageState::Failing => {
            let text = "The record CANNOT BE WRITTEN. Nothing is taken until it can.";
            all.push((Amiss::Record, text.to_owned()));
        }
        StorageState::Low => {
            all.push((Amiss::Space, "Space for the record is running out.".to_owned()));
        }
        StorageState::Fine => {}
    }
    let aside = |aside: &SetAsideStatus| {
        let kind = match aside.kind {
            AsideKind::Plan => Amiss::Plan,
            AsideKind::Rows => Amiss::Lost,
            AsideKind::File | AsideKind::Record => Amiss::Damaged,
            AsideKind::Job => Amiss::SetAside,
        };
        (kind, printable(&aside.text))
    };
    all.extend(status.set_aside.iter().map(aside));
    all.extend(status.reload_refused.iter().map(|why| (Amiss::Reload, printable(why))));
    for gauge in &status.gauges {
        let name = printable(&gauge.name);
        let what = match gauge.state {
            GaugeState::Refused => "may not be opened",
            GaugeState::Lost => "has gone",
            GaugeState::Absent => "is not there",
            GaugeState::Live | GaugeState::NoPort => continue,
        };
        all.push((Amiss::Gauge, format!("Gauge {name} {what}.")));
    }
    for drop in status.drops.iter().filter(|drop| drop.state == DropState::Absent) {
        let name = printable(&drop.name);
        let text = format!("Folder {name} is not there, or the service may not look into it.");
        all.push((Amiss::Folder, text));
    }
    all
}

/// Links that send nothing. No reading is lost by that.
fn links(status: &Status) -> impl Iterator<Item = (Amiss, String)> {
    let idle = |link: &&LinkStatus| link.state.is_in_trouble() || link.state == LinkState::Ended;
    status.links.iter().filter(idle).map(|link| {
        let hint = match (link.state, &link.hint) {
            (LinkState::Ended, _) => "; start it: systemctl start tenths-forward".to_owned(),
            (_, Some(hint)) => format!("; {hint}"),
            (_, None) => String::new(),
        };
        let words = link.words();
        let mut letters = words.chars();
        let first = letters.next().map(|first| first.to_uppercase().to_string());
        let text = format!("{}{}{hint}.", first.unwrap_or_default(), letters.as_str());
        (Amiss::Link, printable(&text))
    })
}

/// The loudest alerts one by one, and how many more there are.
fn alerts(status: &Status) -> Vec<(Amiss, String)> {
    let one = |alert: &OpenAlertStatus| {
        let job =
            alert.job.as_ref().map_or_else(String::new, |job| format!("{}: ", printable(job)));
        (Amiss::Alerts, format!("alert {}: {job}{}", alert.id, printable(&alert.text)))
    };
    let mut all: Vec<_> = status.unseen.iter().take(TOLD).map(one).collect();
    let many = status.work_alerts_open;
    let more = many.saturating_sub(all.len() as u64);
    let list = "tenths alerts --state open; seen: tenths ack ID, or --all";
    match (many, more) {
        (0, _) => {}
        (_, 0) => all.push((Amiss::Alerts, format!("all of them: {list}"))),
        (_, more) => all.push((Amiss::Alerts, format!("and {more} more: {list}"))),
    }
    all
}

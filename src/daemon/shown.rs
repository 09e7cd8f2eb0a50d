//! What clients can ask for: the bench as of the last commit, the counters, the state of the record.

mod view;

use std::cmp::Reverse;
use std::sync::Arc;

use bench::plan::Check;
use bench::row::{AlertKind, Equipment, Registered, Subject};
use bench::series::{Touch, next_nth, next_touch};
use bench::setup::{GaugeSetup, Setup, StationSetup};
use bench::words::proof::to_prove;
use bench::words::{place_of_touch, warm};
use bench::{Bench, OpenAlert, Seq, Station};
use gauge::Waits;
use intake::Link;
use quantity::{Name, Wall};
use wire::{
    AsideKind, AsksLine, DropState, DropStatus, GaugeState, GaugeStatus, OpenAlertStatus,
    SetAsideStatus, ShowsLine, StationStatus, Status, StorageState, StorageStatus, WorkKind,
    WorkStatus, next_words,
};
use words::Calibration;

use ::record::Seal;

use super::record::Space;
use super::tally::{DropTally, GaugeTally, Tallies};

/// Everything that a client may be told without asking the deciding thread. It is published only after the
/// commit it shows.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    pub(super) bench: Arc<Bench>,
    pub(super) setup: Arc<Setup>,
    /// When the service started.
    pub(super) since: Wall,
    pub(super) tallies: Tallies,
    pub(super) storage: Storage,
}

/// The state of the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Storage {
    pub(super) state: StorageState,
    /// A sentence about it where it is not fine.
    pub(super) why: String,
    /// The database file.
    pub(super) database: String,
    pub(super) space: Space,
    /// When the record began, if that was after the service started.
    pub(super) begun: Option<Wall>,
    /// The seal after its newest row.
    pub(super) seal: Option<Seal>,
}

impl Shown {
    /// All of it, in the form of `status/1`.
    pub(super) fn status(&self, now: Wall) -> Status {
        let set_up =
            |name: &Name| Some(self.bench.shop.with_its_entry(self.setup.gauges.get(name)?));
        let due = |name: &Name| Some(set_up(name)?.calibration_due?.to_string());
        let gauge = |(name, tally)| GaugeStatus {
            calibration_due: due(name),
            shows: self.shows(name),
            ..gauge_status((name, tally), self.setup.gauges.get(name))
        };
        let gauges: Vec<_> = self.tallies.gauges.iter().map(gauge).collect();
        let drops: Vec<_> = self.tallies.drops.iter().map(drop_status).collect();
        let well = |state: GaugeState| matches!(state, GaugeState::Live | GaugeState::NoPort);
        let ill = |open: &OpenAlert| {
            open.alert.kind.is_of_the_service() && (!open.seen || open.alert.kind.lasts())
        };
        let healthy = gauges.iter().all(|gauge| well(gauge.state))
            && drops.iter().all(|drop| drop.state == DropState::Watching)
            && self.storage.state == StorageState::Fine
            && self.setup.plans_aside.is_empty()
            && !self.bench.alerts.values().any(ill);
        // An alert that somebody has seen is taken care of; `alerts --state open` shows the same ones.
        let unseen = self.bench.alerts.values().filter(|open| !open.seen);
        let of_work = unseen.clone().filter(|open| !open.alert.kind.is_of_the_service()).count();
        let unseen = unseen.count();
        let (work, set_aside, troubles) = (self.work(now), self.set_aside(), self.troubles());
        let to_do = unseen > 0 || !work.is_empty() || !set_aside.is_empty() || !troubles.is_empty();
        Status {
            healthy,
            needs_a_hand: !healthy || to_do,
            bench: self.setup.name.clone(),
            since: self.since.to_string(),
            stations: self.setup.stations.iter().map(|set| self.station_status(set)).collect(),
            gauges,
            drops,
            storage: StorageStatus {
                state: self.storage.state,
                why: Some(self.storage.why.clone()).filter(|why| !why.is_empty()),
                database: self.storage.database.clone(),
                wal_bytes: self.storage.space.wal_bytes,
                free_bytes: self.storage.space.free_bytes,
                begun: self.storage.begun.map(|at| at.to_string()),
                seal: self.storage.seal.map(|seal| seal.to_string()),
            },
            alerts_open: unseen as u64,
            work_alerts_open: of_work as u64,
            troubles,
            unseen: self.unseen(),
            work,
            set_aside,
            reload_refused: self.reload_refused(),
            links: Vec::new(),
        }
    }

    /// What the bench has seen of the repeatability of a gauge.
    fn shows(&self, gauge: &Name) -> Vec<ShowsLine> {
        let Some(gauge) = self.setup.gauges.get(gauge) else { return Vec::new() };
        let seen = self.bench.known.witnesses(&self.bench.shop.with_its_entry(gauge));
        let line = |seen| ShowsLine::of(seen, gauge.repeatability, self.setup.unit);
        seen.iter().map(line).collect()
    }

    /// What is to be done about gauges, masters, blocks and bars. It is work, not an outage.
    fn work(&self, now: Wall) -> Vec<WorkStatus> {
        let shop = &self.bench.shop;
        let prove = self.setup.gauges.values().filter_map(|gauge| {
            let why = shop.unproven(gauge, now, self.setup.proof_days)?;
            let (what, text) = (gauge.name.to_string(), to_prove(why, &gauge.name));
            Some(WorkStatus { kind: WorkKind::Prove, what, text })
        });
        let certify = |what: &str, name: &Name, due: Calibration, then: &str| {
            let text = format!("The {what} {name} {}{then}.", due.words());
            WorkStatus { kind: WorkKind::Certify, what: name.to_string(), text }
        };
        // A date may stand in the register or in the configuration; either is told before the gauge is used.
        let gauges = self.setup.gauges.values().filter_map(|gauge| {
            let due = Calibration::at(shop.with_its_entry(gauge).calibration_due?, now)?;
            let past = matches!(due, Calibration::Past(_));
            let then = if past { ": its verdicts are withheld" } else { "" };
            Some(certify(Equipment::Gauge.text(), &gauge.name, due, then))
        });
        let in_use =
            |entry: &&Arc<Registered>| entry.retired.is_none() && entry.what != Equipment::Gauge;
        let others = shop.register().filter(in_use).filter_map(|entry| {
            let due = Calibration::at(entry.due?, now)?;
            Some(certify(entry.what.text(), &entry.name, due, ""))
        });
        prove.chain(gauges).chain(others).collect()
    }

    /// The alerts about the service that no other field tells, whether or not somebody has seen them.
    fn troubles(&self) -> Vec<OpenAlertStatus> {
        let untold = |kind: AlertKind| {
            let told = matches!(
                kind,
                AlertKind::GaugeLost
                    | AlertKind::FolderLost
                    | AlertKind::StorageFailing
                    | AlertKind::SpaceLow
                    | AlertKind::RecordDamaged
                    | AlertKind::RowsLost
                    | AlertKind::ReloadRefused
            );
            kind.is_of_the_service() && !told
        };
        let alerts = self.bench.alerts.iter().filter(|(_, open)| untold(open.alert.kind));
        alerts.map(|(id, open)| self.open_alert(*id, open)).collect()
    }

    /// The loudest alerts about the work that nobody has seen.
    fn unseen(&self) -> Vec<OpenAlertStatus> {
        let unseen = |open: &OpenAlert| !open.seen && !open.alert.kind.is_of_the_service();
        let alerts = self.bench.alerts.iter().filter(|(_, open)| unseen(open));
        let mut alerts: Vec<(&Seq, &OpenAlert)> = alerts.collect();
        alerts.sort_by_key(|(id, open)| Reverse((open.alert.level, **id)));
        alerts.truncate(TOLD);
        alerts.into_iter().map(|(id, open)| self.open_alert(*id, open)).collect()
    }

    fn open_alert(&self, id: Seq, open: &OpenAlert) -> OpenAlertStatus {
        let job = open.alert.job.and_then(|job| self.bench.jobs.get(&job));
        OpenAlertStatus {
            id: id.0,
            level: open.alert.level,
            kind: open.alert.kind,
            job: job.map(|job| job.opened.name.to_string()),
            text: open.alert.text.clone(),
        }
    }

    /// What is damaged. It is listed whether or not somebody has seen the alert.
    fn set_aside(&self) -> Vec<SetAsideStatus> {
        let alerts = self.bench.alerts.values().map(|open| &open.alert);
        let told = alerts.filter_map(|alert| {
            let what = alert.about.as_ref()?;
            let kind = match what {
                Subject::Rows { .. } => AsideKind::Rows,
                Subject::Record(piece) if piece.is_in_the_file() => AsideKind::File,
                Subject::Record(piece) if piece.is_a_job() => AsideKind::Job,
                Subject::Record(_) => AsideKind::Record,
                Subject::Gauge(_)
                | Subject::Drop(_)
                | Subject::File { .. }
                | Subject::Station(_)
                | Subject::Device { .. }
                | Subject::Part(_) => return None,
            };
            Some(SetAsideStatus { kind, what: what.to_string(), text: alert.text.clone() })
        });
        let plans = self.setup.plans_aside.iter().map(|(plan, why)| SetAsideStatus {
            kind: AsideKind::Plan,
            what: format!("plan {plan}"),
            text: format!("Plan {plan} is set aside: {why}"),
        });
        told.chain(plans).collect()
    }

    /// Why the configuration cannot be used as it is now. It is given whether or not somebody has seen the
    /// alert.
    fn reload_refused(&self) -> Option<String> {
        let mut alerts = self.bench.alerts.values().map(|open| &open.alert);
        let refused = alerts.find(|alert| alert.kind == AlertKind::ReloadRefused)?;
        Some(refused.text.clone())
    }

    fn station_status(&self, set: &StationSetup) -> StationStatus {
        let station = self.bench.stations.get(&set.name).cloned().unwrap_or_default();
        let mut status = StationStatus {
            name: set.name.to_string(),
            job: self.job_name(&station),
            person: station.person.as_ref().map(ToString::to_string),
            by: hand(&station),
            asks: AsksLine::default(),
            ..StationStatus::default()
        };
        let found = station.attempt.and_then(|attempt| self.bench.attempt(attempt));
        let Some((_, job, attempt)) = found else { return status };
        let Some((part, check)) = job.check_of(attempt) else { return status };
        status.part = Some(part.name.to_string());
        status.check = Some(check.name.to_string());
        status.attempt = Some(attempt.began.number);
        status.taken = Some(attempt.taken());
        status.of = Some(check.touches_in_all());
        status.touches = Some(check.touches);
        status.asks = check.into();
        let touch = next_touch(check, attempt);
        let (next, position) = next_words(touch);
        status.next_touch = next_nth(attempt, touch).map(|nth| nth.touch);
        (status.next, status.next_position) = (Some(next), position);
        status.place = place_of_touch(check, attempt);
        let waits = station.attempt.and_then(|id| self.waits(id, check).1);
        status.waits = waits;
        if next_touch(check, attempt) == Touch::Sweep {
            let id = station.attempt.map_or(0, |id| id.0);
            let gauge = check.gauge.as_ref().and_then(|gauge| self.tallies.gauges.get(gauge));
            let progress = gauge.and_then(|tally| tally.live.sweep_for(id));
            status.next_mark_deg = progress.and_then(|turn| check.mark_deg(turn.tapped));
        }
        status
    }

    /// Whether a stream waits for a touch of an attempt, and why it takes nothing automatically now.
    fn waits(&self, attempt: Seq, check: &Check) -> (bool, Option<Waits>) {
        let tally = check.gauge.as_ref().and_then(|gauge| self.tallies.gauges.get(gauge));
        tally.map_or((false, None), |tally| tally.live.waits_for(attempt.0))
    }

    fn job_name(&self, station: &Station) -> Option<String> {
        let job = self.bench.jobs.get(&station.job?)?;
        Some(job.opened.name.to_string())
    }
}

/// At most this many alerts are told one by one.
const TOLD: usize = 20;

/// Who the next touch at a station is credited to.
fn hand(station: &Station) -> Option<String> {
    station.attempt?;
    station.hand.as_ref().or(station.person.as_ref()).map(ToString::to_string)
}

fn gauge_status((name, tally): (&Name, &GaugeTally), setup: Option<&GaugeSetup>) -> GaugeStatus {
    let state = match &tally.link {
        _ if !tally.ported => GaugeState::NoPort,
        Some(Link::Live) => GaugeState::Live,
        Some(Link::Lost(_)) => GaugeState::Lost,
        Some(Link::Refused(_)) => GaugeState::Refused,
        Some(Link::Absent(_)) | None => GaugeState::Absent,
    };
    let last = tally.live.last();
    let why = tally.link.as_ref().and_then(Link::why).map(str::to_owned);
    let opening = (state == GaugeState::Absent).then(|| "it is being opened".to_owned());
    GaugeStatus {
        name: name.to_string(),
        state,
        why: why.or(opening),
        frames: tally.frames(),
        taken: tally.taken,
        damaged: tally.damaged,
        foreign: tally.foreign,
        repeats: tally.repeats,
        resync: tally.resync,
        idle: tally.live.idle_samples(),
        muted: tally.muted,
        last: last.map(|(value, _)| {
            let in_celsius = setup.is_some_and(GaugeSetup::is_thermometer);
            if in_celsius { warm::degrees(value) } else { value.to_string() }
        }),
        last_at: last.map(|(_, at)| at.wall.to_string()),
        calibration_due: None,
        shows: Vec::new(),
    }
}

fn drop_status((name, tally): (&Name, &DropTally)) -> DropStatus {
    let state = if tally.missing.is_none() { DropState::Watching } else { DropState::Absent };
    let DropTally { files, rows, refused, .. } = *tally;
    let waiting = tally.waiting.clone();
    DropStatus { name: name.to_string(), state, files, rows, refused, waiting }
}

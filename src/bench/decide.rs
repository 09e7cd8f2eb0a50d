//! Turns one event into the rows that record it. Bad input becomes rows or a refusal; nothing fails.

use quantity::{Name, Stamp};

use crate::draft::{Draft, of_gauge};
use crate::event::{Event, StorageNews};
use crate::fact::row::{Alert, AlertKind, Body, Device, Ends, Level, Piece, Subject};
use crate::fact::seq::Seq;
use crate::reply::Decision;
use crate::setup::Setup;
use crate::state::{Bench, Station};

impl Bench {
    /// Decides which rows record an event. The bench itself does not change: the rows change it when they
    /// are applied, one by one, after they are stored.
    #[must_use]
    pub fn decide(&self, setup: &Setup, at: Stamp, event: &Event) -> Decision {
        let mut draft = Draft::new(self, setup, at);
        let mut reply = None;
        match event {
            Event::Started { boot } => draft.started(*boot),
            Event::Frame(frame) => {
                draft.by = draft.hand_with(&frame.gauge);
                draft.frame(frame);
            }
            Event::Unasked(frame) => draft.unasked(frame),
            Event::Damaged { gauge, text, why } => {
                let text =
                    format!("{gauge} sent what cannot be read: \"{text}\" ({why}). Not taken.");
                draft.raise_about(Some(of_gauge(gauge)), AlertKind::DamagedFrames, text);
            }
            Event::Flooding { gauge } => {
                let text = format!("{gauge} sends without a pause. It is ignored until it stops.");
                draft.raise_about(Some(of_gauge(gauge)), AlertKind::Flooding, text);
            }
            Event::Line { gauge, live, why } => {
                draft.clear_about(Some(&of_gauge(gauge)), AlertKind::StreamStopped);
                let wrong = (!live).then(|| format!("{gauge}: {why}"));
                draft.wrong_or_well(Some(of_gauge(gauge)), AlertKind::GaugeLost, wrong);
            }
            Event::Stream { gauge, stopped } => {
                let about = Some(of_gauge(gauge));
                draft.wrong_or_well(about, AlertKind::StreamStopped, stopped.clone());
            }
            Event::Pedal { station, wrong } => {
                let about = Some(Subject::Station(station.clone()));
                draft.wrong_or_well(about, AlertKind::Pedal, wrong.clone());
            }
            Event::TurnLost { attempt, why } => draft.turn_lost(*attempt, why),
            Event::File(file) => {
                draft.by = draft.person_with(&file.gauge);
                draft.file(self, file);
            }
            Event::Folder { drop, there, why } => {
                let wrong = (!there).then(|| format!("{drop}: {why}"));
                draft.wrong_or_well(
                    Some(Subject::Drop(drop.clone())),
                    AlertKind::FolderLost,
                    wrong,
                );
            }
            Event::Request(request) => {
                let answer = draft.request(request);
                if answer.is_err() {
                    draft.give_up(self);
                }
                reply = Some(answer);
            }
            Event::TimePassed => draft.look_at_logs(),
            Event::Scan { station, refused } => {
                let text = refused.as_ref().map(|why| format!("scan: {why}"));
                draft.only(Some(&Subject::Station(station.clone())), AlertKind::Scan, text);
            }
            Event::Foot { station, refused } => {
                let text = refused.as_ref().map(|why| format!("pedal: {why}"));
                draft.only(Some(&Subject::Station(station.clone())), AlertKind::Foot, text);
            }
            Event::Device { station, what, missing } => {
                draft.device(station, *what, missing.as_ref());
            }
            Event::ReloadRefused { why } => draft.reload_refused(why),
            Event::Socket { wrong } => draft.only(None, AlertKind::SocketLost, wrong.clone()),
            Event::Storage(news) => draft.storage(news),
        }
        draft.finish(reply)
    }
}

impl Draft<'_> {
    /// At a start, or with a new configuration: clears the alerts about what is no longer configured, and
    /// takes its checks off the screens.
    fn started(&mut self, boot: u64) {
        self.push(Body::Started { boot });
        let setup = self.setup;
        let station = |name: &Name| setup.stations.iter().any(|one| one.name == *name);
        let open: Vec<Name> = self.bench.jobs.values().map(|job| job.opened.name.clone()).collect();
        let gone = |about: &Subject| match about {
            Subject::Gauge(name) => !setup.gauges.contains_key(name),
            Subject::Drop(drop) | Subject::File { drop, .. } => !setup.drops.contains(drop),
            Subject::Station(name) | Subject::Device { station: name, .. } => !station(name),
            // Either it could be read this time, or its alert is raised again below.
            Subject::Record(Piece::Job(job)) => open.contains(job),
            Subject::Record(piece) => {
                matches!(piece, Piece::Counters | Piece::Stations | Piece::Paper(_))
            }
            Subject::Part(_) | Subject::Rows { .. } => false,
        };
        // Alerts of a job stay: the job has not changed.
        self.clear(|alert| {
            alert.kind.nature().ends == Ends::Start
                || !alert.kind.is_of_a_job() && alert.about.as_ref().is_some_and(gone)
        });
        let known = |name: &Name| setup.stations.iter().any(|station| station.name == *name);
        let gone = |(name, state): &(&Name, &Station)| state.job.is_some() && !known(name);
        let gone: Vec<Name> =
            self.bench.stations.iter().filter(gone).map(|(name, _)| name.clone()).collect();
        for station in gone {
            self.use_job(&station, None);
        }
        self.follow_gauges();
        self.follow_proved_gauges();
        self.logs_go_on();
    }

    /// Raises or clears the alert about something that is wrong or well.
    pub(crate) fn wrong_or_well(
        &mut self,
        about: Option<Subject>,
        kind: AlertKind,
        wrong: Option<String>,
    ) {
        match wrong {
            Some(text) => self.raise_about(about, kind, text),
            None => self.clear_about(about.as_ref(), kind),
        }
    }

    /// The same, but the alert names the newest fault: a new text replaces the open alert, and the same
    /// text again raises none.
    fn only(&mut self, about: Option<&Subject>, kind: AlertKind, wrong: Option<String>) {
        let now = wrong.map(|text| Alert::new(about.cloned(), kind, text));
        self.tell_now(None, |open| open.kind == kind && open.about.as_ref() == about, now);
    }

    /// The configuration has errors.
    fn reload_refused(&mut self, why: &str) {
        let text = format!(
            "The configuration was not read again: {why}. The service goes on with the one before. \
             See all that is wrong: tenths config check"
        );
        self.only(None, AlertKind::ReloadRefused, Some(text));
    }

    /// A pedal or a scanner came or went.
    fn device(&mut self, station: &Name, device: Device, missing: Option<&String>) {
        let about = Some(Subject::Device { station: station.clone(), device });
        let wrong = missing.map(|why| format!("{} of {station}: {why}", device.text()));
        self.wrong_or_well(about, AlertKind::DeviceLost, wrong);
    }

    /// A job that was set aside is left at every station, so that no reading is counted for it.
    fn leave_missing_jobs(&mut self) {
        let missing = |job: Seq| !self.bench.jobs.contains_key(&job);
        let stations = self.bench.stations.iter();
        let lost = stations.filter(|(_, state)| state.job.is_some_and(missing));
        for station in lost.map(|(name, _)| name.clone()).collect::<Vec<_>>() {
            self.push(Body::JobActive { station, job: None });
        }
    }

    fn storage(&mut self, news: &StorageNews) {
        match news {
            StorageNews::Failing { why } => {
                let text = format!("The record could not be written: {why}");
                self.raise_about(None, AlertKind::StorageFailing, text);
            }
            StorageNews::Recovered => self.clear_about(None, AlertKind::StorageFailing),
            StorageNews::SpaceLow { why } => {
                self.raise_about(None, AlertKind::SpaceLow, why.clone());
            }
            StorageNews::Damaged { what: what @ Piece::Paper(_), why } => {
                let text = format!(
                    "{why}. The record is whole without it. Attach the same file again, or put it back from a \
                     copy of the record."
                );
                let about = Some(Subject::Record(what.clone()));
                self.raise_about(about, AlertKind::RecordDamaged, text);
            }
            StorageNews::Damaged { what, why } => {
                // The counters are not missed: they are counted again.
                let told = if *what == Piece::Counters { why.clone() } else { what.told(why) };
                let more = if what.is_in_the_file() {
                    " All that is damaged is named by tenths verify."
                } else {
                    ""
                };
                let text = format!(
                    "{told}.{more} The rest goes on. Stop the service and put a copy in the \
                     record's place: tenths restore FILE"
                );
                let about = Some(Subject::Record(what.clone()));
                self.raise_about(about, AlertKind::RecordDamaged, text);
                self.leave_missing_jobs();
            }
            StorageNews::FileFine => self.clear(|alert| {
                let place = |about: &Subject| {
                    matches!(about, Subject::Record(piece) if piece.is_in_the_file())
                };
                alert.about.as_ref().is_some_and(place)
            }),
            StorageNews::Begun { before: None } => {
                let text = "A new record begins: there was none in the state folder.".to_owned();
                self.raise_about(None, AlertKind::RecordBegun, text);
                // It is shown once; there is nothing to do about it.
                self.clear_about(None, AlertKind::RecordBegun);
            }
            StorageNews::Begun { before: Some(before) } => {
                let text = format!(
                    "A new record begins, and the one that was here, up to {before}, is gone. Where \
                     that was not meant, stop the service and put a copy in its place: tenths restore FILE"
                );
                let alert = Alert::new(None, AlertKind::RecordBegun, text);
                self.raise(Alert { level: Level::Interrupt, ..alert });
            }
            StorageNews::Lost { rows: (first, last), why } => {
                let about = Subject::Rows { first: *first, last: *last };
                let text = format!("{why} ({about}).");
                self.raise_about(Some(about), AlertKind::RowsLost, text);
            }
            StorageNews::SpaceFine => self.clear_about(None, AlertKind::SpaceLow),
        }
    }
}

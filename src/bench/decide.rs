//! From one event to the rows that record it. Bad input is a value here; nothing fails.

use quantity::{Name, Stamp};

use super::draft::Draft;
use super::event::{Event, StorageNews};
use super::reply::Decision;
use super::row::{Alert, AlertKind, Body, Level, Seq};
use super::setup::Setup;
use super::state::{Bench, Station};

impl Bench {
    /// Looks at one event and decides what it comes to. Changes nothing: the rows, once stored,
    /// are applied one by one.
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
                let about = Some(gauge.as_str());
                draft.raise_about(about, Level::Note, AlertKind::DamagedFrames, text);
            }
            Event::Flooding { gauge } => {
                let text = format!("{gauge} sends without pause. Not listened to until it stops.");
                draft.raise_about(Some(gauge.as_str()), Level::Note, AlertKind::Flooding, text);
            }
            Event::Line { gauge, live, why } => {
                draft.clear_about(Some(gauge.as_str()), &[AlertKind::StreamStopped]);
                draft.state_of(gauge, AlertKind::GaugeLost, (!live).then_some(why));
            }
            Event::Stream { gauge, stopped } => {
                draft.wrong_or_well(gauge, AlertKind::StreamStopped, stopped.as_ref());
            }
            Event::Pedal { station, wrong } => {
                draft.wrong_or_well(station, AlertKind::Pedal, wrong.as_ref());
            }
            Event::TurnLost { attempt, why } => draft.turn_lost(*attempt, why),
            Event::File(file) => {
                draft.by = draft.person_with(&file.gauge);
                draft.file(self, file);
            }
            Event::Folder { drop, there, why } => {
                draft.state_of(drop, AlertKind::FolderLost, (!there).then_some(why));
            }
            Event::Request(request) => {
                let answer = draft.request(request);
                if answer.is_err() {
                    draft.give_up(self);
                }
                reply = Some(answer);
            }
            Event::Scan { station, refused } => {
                let text = refused.as_ref().map(|why| format!("scan: {why}"));
                draft.came_to_nothing(station, AlertKind::Scan, text);
            }
            Event::Foot { station, refused } => {
                let text = refused.as_ref().map(|why| format!("pedal: {why}"));
                draft.came_to_nothing(station, AlertKind::Foot, text);
            }
            Event::Device { station, what, missing } => {
                draft.device(station, what, missing.as_ref());
            }
            Event::ReloadRefused { why } => draft.reload_refused(why),
            Event::Socket { wrong } => draft.socket(wrong.as_ref()),
            Event::Storage(news) => draft.storage(news),
        }
        draft.finish(reply)
    }
}

impl Draft<'_> {
    /// A start, or a new configuration: what is no longer configured raises no alert and shows no
    /// check.
    fn started(&mut self, boot: u64) {
        self.push(Body::Started { boot });
        let setup = self.setup;
        let gauge = |name: &str| setup.gauges.contains_key(name);
        let station = |name: &str| setup.stations.iter().any(|one| one.name.as_str() == name);
        let drop = |name: &str| setup.drops.iter().any(|drop| drop.as_str() == name);
        let open: Vec<Name> = self.bench.jobs.values().map(|job| job.opened.name.clone()).collect();
        self.clear(|alert| {
            let about = alert.about.as_deref().unwrap_or_default();
            match alert.kind {
                AlertKind::GaugeLost
                | AlertKind::StreamStopped
                | AlertKind::DamagedFrames
                | AlertKind::Flooding
                | AlertKind::BatteryLow
                | AlertKind::EndOfTravel
                | AlertKind::UnitMixed
                | AlertKind::Unclaimed => !gauge(about),
                AlertKind::FolderLost => !drop(about),
                AlertKind::Scan | AlertKind::Foot | AlertKind::EndedElsewhere => !station(about),
                // A pedal is up for all that is known; one that is still down is told again. A
                // configuration is only followed when nothing is wrong with it.
                AlertKind::Pedal | AlertKind::ReloadRefused | AlertKind::SocketLost => true,
                // It was read back this time, or is told again where it was not.
                AlertKind::RecordDamaged => {
                    [StorageNews::COUNTERS, StorageNews::STATIONS].contains(&about)
                        || open.iter().any(|job| job.as_str() == about)
                }
                AlertKind::DeviceLost => about.split_once('/').is_some_and(|(of, _)| !station(of)),
                AlertKind::FileRefused => about.split_once('/').is_some_and(|(of, _)| !drop(of)),
                AlertKind::Out
                | AlertKind::Undecided
                | AlertKind::OutSoFar
                | AlertKind::WildTouch
                | AlertKind::MostlyTilt
                | AlertKind::HalfTurn
                | AlertKind::NotClosed
                | AlertKind::Overdue
                | AlertKind::TooCoarse
                | AlertKind::OwnReturn
                | AlertKind::WrongPart
                | AlertKind::Pair
                | AlertKind::Regrind
                | AlertKind::PastFlat
                | AlertKind::WasGround
                | AlertKind::Stack
                | AlertKind::TurnLost
                | AlertKind::NotSeated
                | AlertKind::SetupChanged
                | AlertKind::StorageFailing
                | AlertKind::SpaceLow
                | AlertKind::RecordBegun
                | AlertKind::RowsLost => false,
            }
        });
        let known = |name: &Name| setup.stations.iter().any(|station| station.name == *name);
        let gone = |(name, state): &(&Name, &Station)| state.job.is_some() && !known(name);
        let gone: Vec<Name> =
            self.bench.stations.iter().filter(gone).map(|(name, _)| name.clone()).collect();
        for station in gone {
            self.use_job(&station, None);
        }
        self.follow_gauges();
    }

    /// Raises or clears the alert about something that is there or not.
    fn state_of(&mut self, about: &Name, kind: AlertKind, wrong: Option<&String>) {
        let name = Some(about.as_str());
        match wrong {
            Some(why) => self.raise_about(name, Level::Note, kind, format!("{about}: {why}")),
            None => self.clear_about(name, &[kind]),
        }
    }

    /// Raises or clears the alert about something that is wrong or well, in a whole sentence.
    fn wrong_or_well(&mut self, about: &Name, kind: AlertKind, wrong: Option<&String>) {
        let about = Some(about.as_str());
        match wrong {
            Some(text) => self.raise_about(about, Level::Note, kind, text.clone()),
            None => self.clear_about(about, &[kind]),
        }
    }

    /// A scan or a foot that came to nothing is one note, however often it is repeated; one that
    /// was done ends it.
    fn came_to_nothing(&mut self, station: &Name, kind: AlertKind, text: Option<String>) {
        let about = Some(station.as_str());
        let Some(text) = text else { return self.clear_about(about, &[kind]) };
        let open = |alert: &Alert| alert.about.as_deref() == about && alert.kind == kind;
        let told = |alert: &Alert| open(alert) && alert.text == text;
        if !self.bench.alerts.values().any(|alert| told(&alert.alert)) {
            self.clear(open);
            self.raise_about(about, Level::Note, kind, text);
        }
    }

    /// The configuration has errors: what is wrong now is told, not what was wrong before.
    fn reload_refused(&mut self, why: &str) {
        let text = format!(
            "The configuration was not read again: {why}. The service goes on with the one before. \
             See all that is wrong: tenths config check"
        );
        let open = |alert: &Alert| alert.kind == AlertKind::ReloadRefused;
        self.clear(|alert| open(alert) && alert.text != text);
        self.raise_about(None, Level::Note, AlertKind::ReloadRefused, text);
    }

    /// The file of the control socket: what is wrong now is told, not what was wrong before.
    fn socket(&mut self, wrong: Option<&String>) {
        self.clear(|alert| {
            alert.kind == AlertKind::SocketLost && wrong.is_none_or(|text| *text != alert.text)
        });
        if let Some(text) = wrong {
            self.raise_about(None, Level::Note, AlertKind::SocketLost, text.clone());
        }
    }

    /// A pedal or a scanner came or went.
    fn device(&mut self, station: &Name, what: &str, missing: Option<&String>) {
        let about = format!("{station}/{what}");
        match missing {
            Some(why) => {
                let text = format!("{what} of {station}: {why}");
                self.raise_about(Some(&about), Level::Note, AlertKind::DeviceLost, text);
            }
            None => self.clear_about(Some(&about), &[AlertKind::DeviceLost]),
        }
    }

    /// A job that was set aside is in use nowhere: what comes now must not be put down to it.
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
                self.raise_about(None, Level::Interrupt, AlertKind::StorageFailing, text);
            }
            StorageNews::Recovered => self.clear_about(None, &[AlertKind::StorageFailing]),
            StorageNews::SpaceLow { why } => {
                self.raise_about(None, Level::Note, AlertKind::SpaceLow, why.clone());
            }
            StorageNews::Damaged { what, why } => {
                // Nothing is without the counters: they are counted anew.
                let (aside, more) = match what.as_str() {
                    StorageNews::COUNTERS => (String::new(), ""),
                    what if what.starts_with(StorageNews::FILE) => {
                        (String::new(), " All that is damaged is named by tenths verify.")
                    }
                    what => (format!("{what} is set aside: "), ""),
                };
                let text = format!(
                    "{aside}{why}.{more} The rest goes on. Stop the service and put a copy in the \
                     record's place: tenths restore FILE"
                );
                let (about, kind) = (Some(what.as_str()), AlertKind::RecordDamaged);
                self.raise_about(about, Level::Interrupt, kind, text);
                self.leave_missing_jobs();
            }
            StorageNews::FileFine => self.clear(|alert| {
                let about = alert.about.as_deref().unwrap_or_default();
                alert.kind == AlertKind::RecordDamaged && about.starts_with(StorageNews::FILE)
            }),
            StorageNews::Begun { before: None } => {
                let text = "A new record begins: there was none in the state folder.".to_owned();
                self.raise_about(None, Level::Note, AlertKind::RecordBegun, text);
                // Told once; nothing is to be done about it.
                self.clear_about(None, &[AlertKind::RecordBegun]);
            }
            StorageNews::Begun { before: Some(before) } => {
                let text = format!(
                    "A new record begins, and the one that was here, up to {before}, is gone. Where \
                     that was not meant, stop the service and put a copy in its place: tenths restore FILE"
                );
                self.raise_about(None, Level::Interrupt, AlertKind::RecordBegun, text);
            }
            StorageNews::Lost { what, why } => {
                let text = format!("{why} ({what}).");
                self.raise_about(Some(what), Level::Interrupt, AlertKind::RowsLost, text);
            }
            StorageNews::SpaceFine => self.clear_about(None, &[AlertKind::SpaceLow]),
        }
    }
}

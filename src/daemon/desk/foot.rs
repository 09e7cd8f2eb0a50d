//! The pedal of a station: the press freezes a value, the release takes it, a hold takes the last
//! touch back. Each station has its own foot.
//!
//! A gauge whose frames are readings by themselves has nothing left to take: its newest frame is a
//! reading already, and once more would be a touch nobody made.

use super::Desk;
use super::asked::Waiting;
use crate::bench::{Command, Event, Request};
use crate::daemon::record::Record;
use crate::gauge::{Capture, Foot, Pedal, Sample};
use crate::quantity::{Name, Stamp};

/// The pedal of a station, and what the foot on it means to take.
#[derive(Default)]
pub(super) struct Footing {
    pedal: Pedal,
    pub(super) meant: Meant,
}

/// What a release will take.
#[derive(Default)]
pub(super) enum Meant {
    #[default]
    Nothing,
    /// The sample from before the press.
    Frozen(Name, Sample),
    /// The answer of a gauge that was asked at the press.
    Asked {
        gauge: Name,
        /// The foot is up already: the answer is taken when it comes.
        released: bool,
    },
}

impl<R: Record> Desk<R> {
    /// A pedal went down or came up.
    pub(super) fn foot(&mut self, at: Stamp, station: &Name, down: bool) {
        let footing = self.streams.feet.entry(station.clone()).or_default();
        if let Some(foot) = footing.pedal.edge(at.mono_us, down) {
            self.did(at, station, foot);
        }
    }

    /// Time has passed: a foot may have been down for too long.
    pub(super) fn time_passes(&mut self, at: Stamp) {
        let mut did = Vec::new();
        for (station, footing) in &mut self.streams.feet {
            did.extend(footing.pedal.at(at.mono_us).map(|foot| (station.clone(), foot)));
        }
        for (station, foot) in did {
            self.did(at, &station, foot);
        }
    }

    /// A touch was taken by another way: a foot that is down means that one.
    pub(super) fn forget_frozen(&mut self, gauge: &Name) {
        for footing in self.streams.feet.values_mut() {
            if matches!(&footing.meant, Meant::Frozen(frozen, _) if frozen == gauge) {
                footing.meant = Meant::Nothing;
            }
        }
    }

    /// The answer that a foot asked for.
    pub(super) fn foot_answered(&mut self, at: Stamp, of: (&Name, &Name), sample: Sample) {
        let (station, gauge) = of;
        let Some(footing) = self.streams.feet.get_mut(station) else { return };
        match std::mem::take(&mut footing.meant) {
            Meant::Asked { released: true, .. } => self.take_by_foot(at, gauge, sample),
            Meant::Asked { released: false, .. } => {
                footing.meant = Meant::Frozen(gauge.clone(), sample);
            }
            // The foot changed its mind.
            Meant::Nothing | Meant::Frozen(..) => {}
        }
    }

    fn did(&mut self, at: Stamp, station: &Name, foot: Foot) {
        let before = self.streams.feet.get_mut(station);
        let before = before.map_or(Meant::Nothing, |foot| std::mem::take(&mut foot.meant));
        let meant = match foot {
            Foot::Press => self.freeze(at, station),
            Foot::Take => self.release(at, station, before),
            Foot::Back => self.take_back(at, station),
            Foot::Stuck => {
                let text = format!(
                    "The pedal of {station} has been down for half a minute. Ignored until it comes up."
                );
                let wrong = Some(text);
                self.happened(at, &Event::Pedal { station: station.clone(), wrong });
                Meant::Nothing
            }
            Foot::Freed => {
                self.happened(at, &Event::Pedal { station: station.clone(), wrong: None });
                Meant::Nothing
            }
        };
        if let Some(footing) = self.streams.feet.get_mut(station) {
            footing.meant = meant;
        }
    }

    /// The press: which value is meant.
    fn freeze(&mut self, at: Stamp, station: &Name) -> Meant {
        let Some(gauge) = self.measured_with(station) else { return Meant::Nothing };
        let Some(armed) = self.armed(&gauge) else { return Meant::Nothing };
        let why = match self.streams.captures.get(&gauge).map(|captured| captured.capture) {
            Some(Capture::Settle) => {
                let Some(stream) = self.streams.settling.get(&gauge) else { return Meant::Nothing };
                match stream.before_foot(at.mono_us, armed.level) {
                    Ok(sample) => return Meant::Frozen(gauge, sample.clone()),
                    Err(why) => why.to_string(),
                }
            }
            Some(Capture::Request) => match self.ask(at, &gauge) {
                Ok(()) => {
                    let waiting = Waiting::Foot(station.clone());
                    self.streams.waiting.insert(gauge.clone(), waiting);
                    return Meant::Asked { gauge, released: false };
                }
                Err(refusal) => refusal.text,
            },
            Some(Capture::Send) | None => "each of its frames is a reading already".to_owned(),
        };
        tracing::info!("station \"{station}\": nothing taken of {gauge}: {why}");
        Meant::Nothing
    }

    /// The release: the value is taken, if a touch is still open.
    fn release(&mut self, at: Stamp, station: &Name, meant: Meant) -> Meant {
        match meant {
            Meant::Frozen(gauge, sample) => {
                if self.measured_with(station).as_ref() == Some(&gauge) {
                    self.take_by_foot(at, &gauge, sample);
                }
                Meant::Nothing
            }
            Meant::Asked { gauge, .. } => Meant::Asked { gauge, released: true },
            Meant::Nothing => Meant::Nothing,
        }
    }

    fn take_by_foot(&mut self, at: Stamp, gauge: &Name, sample: Sample) {
        if self.armed(gauge).is_none() {
            return;
        }
        if let Some(settle) = self.streams.settling.get_mut(gauge) {
            settle.taken();
        }
        self.take_sample(at, gauge, sample);
    }

    /// The hold: the last touch is taken back.
    fn take_back(&mut self, at: Stamp, station: &Name) -> Meant {
        let why = Some("taken back by foot".to_owned());
        let station_name = Some(station.to_string());
        let command = Command::Void { id: None, why };
        let request = Request { station: station_name, by: None, command };
        let decision = self.happened(at, &Event::Request(request));
        if let Some(Err(refusal)) = decision.reply {
            tracing::info!("station \"{station}\": nothing taken back: {}", refusal.text);
        }
        Meant::Nothing
    }
}

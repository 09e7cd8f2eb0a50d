//! The pedal of a station. Pressing it freezes a value, releasing it takes that value, a hold takes the
//! last touch back. Where a turn is swept, a tap marks what passed the stylus at the press. Each station
//! has its own pedal.
//!
//! With a gauge whose frames are readings by themselves there is nothing to take: its newest frame is a
//! reading already, and taking it again would be a touch that nobody made.

use super::asked::Waiting;
use super::{Desk, LOGS_SEEN_US};
use crate::record::Record;
use bench::series::{Touch, next_touch};
use bench::{Command, Event, Request};
use gauge::{Capture, Foot, NotSettled, Pedal, Sample};
use quantity::{Name, Stamp};

/// Taking a bar out, turning it and seating it takes at least this long after a touch, in microseconds
/// (common practice, no source).
const SEATED_US: u64 = 2_000_000;

/// The pedal of a station, and what the foot on it is about to take.
#[derive(Default)]
pub(super) struct Footing {
    pedal: Pedal,
    pub(super) meant: Meant,
}

/// What the release will take.
pub(super) enum Meant {
    /// Nothing. The sentence says why, where the person has to know.
    Nothing(Option<String>),
    /// The sample from before the press.
    Frozen(Name, Sample),
    /// A mark of a swept turn that passed the stylus at the press.
    Tap { at_us: u64 },
    /// The confirmation that a bar is seated.
    Seated,
    /// The answer of a gauge that was asked at the press.
    Asked {
        gauge: Name,
        /// Whether the foot is up already: the answer is then taken when it arrives.
        released: bool,
    },
}

impl Default for Meant {
    fn default() -> Self {
        Self::Nothing(None)
    }
}

impl<R: Record> Desk<R> {
    /// A pedal went down or came up.
    pub(super) fn foot(&mut self, at: Stamp, station: &Name, down: bool) {
        let footing = self.streams.feet.entry(station.clone()).or_default();
        if let Some(foot) = footing.pedal.edge(at.mono_us, down) {
            self.did(at, station, foot);
        }
    }

    /// Time has passed: the pedal may have been down for too long.
    pub(super) fn time_passes(&mut self, at: Stamp) {
        let mut did = Vec::new();
        for (station, footing) in &mut self.streams.feet {
            did.extend(footing.pedal.at(at.mono_us).map(|foot| (station.clone(), foot)));
        }
        for (station, foot) in did {
            self.did(at, &station, foot);
        }
        if !self.bench.logs.is_empty() && at.mono_us >= self.logs_seen_us + LOGS_SEEN_US {
            self.logs_seen_us = at.mono_us;
            self.happened(at, &Event::TimePassed);
        }
    }

    /// The pedal is gone: forgets what the foot was about to take, and that the pedal was stuck.
    pub(super) fn forget_foot(&mut self, at: Stamp, station: &Name) {
        if self.streams.feet.remove(station).is_some() {
            self.happened(at, &Event::Pedal { station: station.clone(), wrong: None });
        }
    }

    /// A touch was taken in another way: a foot that is down meant that one.
    pub(super) fn forget_frozen(&mut self, gauge: &Name) {
        for footing in self.streams.feet.values_mut() {
            if matches!(&footing.meant, Meant::Frozen(frozen, _) if frozen == gauge) {
                footing.meant = Meant::Nothing(None);
            }
        }
    }

    /// The answer that was asked for by foot has arrived.
    pub(super) fn foot_answered(&mut self, at: Stamp, of: (&Name, &Name), sample: Sample) {
        let (station, gauge) = of;
        let Some(footing) = self.streams.feet.get_mut(station) else { return };
        match std::mem::take(&mut footing.meant) {
            Meant::Asked { released: true, .. } => self.take_by_foot(at, gauge, sample),
            Meant::Asked { released: false, .. } => {
                footing.meant = Meant::Frozen(gauge.clone(), sample);
            }
            // The foot has meant something else since.
            Meant::Nothing(_) | Meant::Frozen(..) | Meant::Tap { .. } | Meant::Seated => {}
        }
    }

    /// The gauge that was asked by foot will not answer. A foot that is still down can still take back.
    pub(super) fn foot_unanswered(&mut self, at: Stamp, station: Name, why: &str) {
        let Some(footing) = self.streams.feet.get_mut(&station) else { return };
        let why = format!("nothing taken: {why}");
        match std::mem::take(&mut footing.meant) {
            Meant::Asked { released: true, .. } => {
                self.happened(at, &Event::Foot { station, refused: Some(why) });
            }
            Meant::Asked { released: false, .. } => footing.meant = Meant::Nothing(Some(why)),
            Meant::Nothing(_) | Meant::Frozen(..) | Meant::Tap { .. } | Meant::Seated => {}
        }
    }

    fn did(&mut self, at: Stamp, station: &Name, foot: Foot) {
        let before = self.streams.feet.get_mut(station);
        let before = before.map_or_else(Meant::default, |foot| std::mem::take(&mut foot.meant));
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
                Meant::Nothing(None)
            }
            Foot::Freed => {
                self.happened(at, &Event::Pedal { station: station.clone(), wrong: None });
                Meant::Nothing(None)
            }
        };
        if let Some(footing) = self.streams.feet.get_mut(station) {
            footing.meant = meant;
        }
    }

    /// The press: decides which value is meant. If there is none, the reason is shown at the release, since
    /// a hold needs none.
    fn freeze(&mut self, at: Stamp, station: &Name) -> Meant {
        if self.waits_for_turn(station).is_some() {
            return Meant::Tap { at_us: at.mono_us };
        }
        match self.waits_for_seating(at, station) {
            Some(true) => return Meant::Seated,
            Some(false) => {
                let why = "nothing taken: the last touch was just now. Take the bar out, turn it and seat it first";
                return Meant::Nothing(Some(why.to_owned()));
            }
            None => {}
        }
        let Some(gauge) = self.measured_with(station) else {
            return Meant::Nothing(Some("nothing taken: no check is active here".to_owned()));
        };
        // After the last touch the person only looks at the gauge: no sentence.
        let Some(armed) = self.armed(&gauge) else { return Meant::Nothing(None) };
        let why = match self.streams.captures.get(&gauge).map(|captured| captured.capture) {
            Some(Capture::Settle | Capture::Sweep) => {
                let Some(stream) = self.streams.settling.get(&gauge) else {
                    return Meant::Nothing(None);
                };
                match stream.before_foot(at.mono_us, armed.level) {
                    Ok(sample) => return Meant::Frozen(gauge, sample.clone()),
                    // The foot meant the touch that was just taken.
                    Err(NotSettled::JustTaken) => return Meant::Nothing(None),
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
        Meant::Nothing(Some(format!("nothing taken of {gauge}: {why}")))
    }

    /// The release: takes the value, if a touch is still open.
    fn release(&mut self, at: Stamp, station: &Name, meant: Meant) -> Meant {
        let refused = match meant {
            Meant::Frozen(gauge, sample) => {
                if self.measured_with(station).as_ref() == Some(&gauge) {
                    self.take_by_foot(at, &gauge, sample);
                    return Meant::Nothing(None);
                }
                Some(format!("nothing taken: {gauge} is not what is measured with any more"))
            }
            Meant::Asked { gauge, .. } => return Meant::Asked { gauge, released: true },
            Meant::Tap { at_us } => self.tap_by_foot(at, at_us, station),
            Meant::Seated => self.seated_by_foot(at, station),
            Meant::Nothing(why) => why,
        };
        if refused.is_some() {
            self.happened(at, &Event::Foot { station: station.clone(), refused });
        }
        Meant::Nothing(None)
    }

    /// Whether a station waits for the confirmation that a bar is seated, and whether a foot can give it
    /// now. A bar cannot be taken out and seated within moments of the last touch, so a press at that time
    /// comes from the foot that took the touch.
    fn waits_for_seating(&self, at: Stamp, station: &Name) -> Option<bool> {
        let (_, job, attempt) = self.bench.attempt(self.bench.stations.get(station)?.attempt?)?;
        let (_, check) = job.check_of(attempt)?;
        let waits = matches!(next_touch(check, attempt), Touch::Seat { .. });
        let since = attempt.readings.last().and_then(|last| at.mono_us.checked_sub(last.mono_us));
        waits.then(|| since.is_none_or(|since| since >= SEATED_US))
    }

    fn seated_by_foot(&mut self, at: Stamp, station: &Name) -> Option<String> {
        let command = Command::Take { frame: None };
        let request =
            Request { station: Some(station.to_string()), by: None, login: None, command };
        match self.happened(at, &Event::Request(request)).reply {
            Some(Err(refusal)) => Some(format!("nothing taken: {}", refusal.text)),
            Some(Ok(_)) | None => None,
        }
    }

    fn take_by_foot(&mut self, at: Stamp, gauge: &Name, sample: Sample) {
        if self.armed(gauge).is_none() {
            return;
        }
        if let Some(settle) = self.streams.settling.get_mut(gauge) {
            settle.taken(at.mono_us, sample.value.length);
        }
        self.take_sample(at, gauge, sample);
    }

    /// The hold: takes the last touch back.
    fn take_back(&mut self, at: Stamp, station: &Name) -> Meant {
        if self.drop_turn_at(at, station) {
            self.happened(at, &Event::Foot { station: station.clone(), refused: None });
            return Meant::Nothing(None);
        }
        let why = Some("taken back by foot".to_owned());
        let station_name = Some(station.to_string());
        let command = Command::Void { id: None, why };
        let request = Request { station: station_name, by: None, login: None, command };
        let decision = self.happened(at, &Event::Request(request));
        let refused = match decision.reply {
            Some(Err(refusal)) => Some(format!("nothing taken back: {}", refusal.text)),
            Some(Ok(_)) | None => None,
        };
        self.happened(at, &Event::Foot { station: station.clone(), refused });
        Meant::Nothing(None)
    }
}

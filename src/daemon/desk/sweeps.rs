//! Turns that are swept. Taps at the marks come by foot, by `tenths take`, by a scan or a key, and the last
//! tap completes the turn. Until then nothing is stored, but the progress is shown.

use std::collections::BTreeMap;

use super::{After, Desk};
use crate::input::{Captured, Change};
use crate::record::Record;
use crate::tally::Progress;
use bench::series::{Touch, next_touch};
use bench::{Command, Event, Refusal, Request, Seq, SweptTurn};
use gauge::{Capture, Sample, Sweep, Tap};
use quantity::{Name, Stamp};

use super::streams::frame_of;

/// A turn that a station waits for.
pub(super) struct Waited {
    pub(super) gauge: Name,
    attempt: u64,
    marks: u32,
}

/// Follows a new configuration. A turn goes on if its gauge stays the same.
pub(super) fn follow(
    sweeping: &mut BTreeMap<Name, Sweep>,
    before: &BTreeMap<Name, Captured>,
    now: &BTreeMap<Name, Captured>,
) {
    let sweeps = |name: &Name| now.get(name).filter(|is| is.capture == Capture::Sweep);
    sweeping.retain(|name, _| sweeps(name).is_some_and(|is| before.get(name) == Some(is)));
    for name in now.keys().filter(|name| sweeps(name).is_some()) {
        sweeping.entry(name.clone()).or_default();
    }
}

impl<R: Record> Desk<R> {
    /// The turn that a station waits for, if it waits for one.
    pub(super) fn waits_for_turn(&self, station: &Name) -> Option<Waited> {
        let id = self.bench.stations.get(station).filter(|at| at.proving.is_none())?.attempt?;
        let (_, job, attempt) = self.bench.attempt(id)?;
        let (_, check) = job.check_of(attempt)?;
        let (gauge, swept) = (check.gauge.clone()?, check.swept()?);
        let waits = next_touch(check, attempt) == Touch::Sweep;
        waits.then_some(Waited { gauge, attempt: id.0, marks: swept.marks })
    }

    /// A sample of a gauge that may be swept with.
    pub(super) fn sweep_sample(&mut self, at: Stamp, gauge: &Name, sample: &Sample) {
        let Some(sweep) = self.streams.sweeping.get_mut(gauge) else { return };
        let spoilt = sweep.sample(sample);
        if sweep.under_way().is_some() {
            self.show_sweep(gauge, None);
        }
        if let Some(why) = spoilt {
            self.tell_lost_turns(at, &why.to_string());
        }
    }

    /// A stream stopped: a turn swept with it cannot be completed.
    pub(super) fn stream_stopped(&mut self, at: Stamp, gauge: &Name) {
        if let Some(sweep) = self.streams.sweeping.get_mut(gauge) {
            sweep.lost();
            self.tell_lost_turns(at, "its gauge stopped sending");
        }
    }

    /// A mark passed the stylus at a moment. Returns the command for the bench, or why the tap had no
    /// effect.
    fn tap(&mut self, now: Stamp, at_us: u64, waited: &Waited) -> Result<Command, Refusal> {
        let Waited { gauge, attempt, marks } = waited;
        let Some(sweep) = self.streams.sweeping.get_mut(gauge) else {
            let text = format!("{gauge} sends no stream that a turn could be swept with");
            return Err(Refusal::input(text, "write capture = \"sweep\" for it in bench.toml"));
        };
        let tap = sweep.tap(at_us, (*attempt, *marks));
        self.show_sweep(gauge, Some(*attempt));
        match tap {
            Ok(Tap::Mark(tapped)) => {
                self.tell_lost_turns(now, "another turn was begun with its gauge");
                Ok(Command::Tapped { tapped })
            }
            Ok(Tap::Whole { taps_us, samples }) => {
                let stamped = |sample: Sample| (now.back_at(sample.at_us), frame_of(gauge, sample));
                let samples = samples.into_iter().map(stamped).collect();
                Ok(Command::Swept(Box::new(SweptTurn { taps_us, samples })))
            }
            Err(why) => {
                let why = why.to_string();
                self.tell_lost_turns(now, &why);
                let hint = "turn slowly, and tap again as mark 0 passes the stylus";
                Err(Refusal::input(format!("{gauge}: {why}"), hint))
            }
        }
    }

    /// Shows the progress of a gauge's turn; `attempt` is given where it may have changed.
    fn show_sweep(&mut self, gauge: &Name, attempt: Option<u64>) {
        let under_way = self.streams.sweeping.get(gauge).and_then(Sweep::under_way);
        let progress = under_way.map(|(tapped, samples)| (attempt, Progress { tapped, samples }));
        self.ledger.tallies.sweep(gauge, progress);
    }

    /// A `take` at a station that waits for a turn is a tap. Any other request is returned unchanged.
    pub(super) fn tap_for(&mut self, mut change: Change) -> Option<Change> {
        let station = self.meant_station(change.request.station.as_deref());
        let waited = station.and_then(|station| self.waits_for_turn(&station));
        let Some(waited) = waited else { return Some(change) };
        let command = &change.request.command;
        let command = if matches!(command, Command::Take { .. }) {
            self.tap(change.at, change.at.mono_us, &waited)
        } else if matches!(command, Command::Void { id: None, .. }) && self.drop_turn(&waited) {
            // Taking back first drops the turn under way.
            Ok(Command::Tapped { tapped: 0 })
        } else {
            return Some(change);
        };
        match command {
            Ok(command) => {
                let samples = samples_of(&command);
                change.request.command = command;
                if self.decide_change(change).is_ok() {
                    self.batch.after.push(After::Regain(waited.gauge.clone(), samples));
                }
            }
            Err(refusal) => self.refuse(change, refusal),
        }
        None
    }

    /// A foot tapped a mark; the moment it came down counts. Returns why the tap had no effect, if it had
    /// none.
    pub(super) fn tap_by_foot(&mut self, now: Stamp, at_us: u64, station: &Name) -> Option<String> {
        let waited = self.waits_for_turn(station)?;
        let command = match self.tap(now, at_us, &waited) {
            Ok(command) => command,
            Err(refusal) => return Some(format!("nothing taken: {}", refusal.text)),
        };
        let samples = samples_of(&command);
        let request =
            Request { station: Some(station.to_string()), by: None, login: None, command };
        let decision = self.happened(now, &Event::Request(request));
        if let Some(Err(refusal)) = decision.reply {
            return Some(format!("nothing taken: {}", refusal.text));
        }
        self.batch.after.push(After::Regain(waited.gauge, samples));
        None
    }

    /// Drops the turn under way at a station. Returns whether there was one.
    pub(super) fn drop_turn_at(&mut self, now: Stamp, station: &Name) -> bool {
        let dropped = self.waits_for_turn(station).is_some_and(|waited| self.drop_turn(&waited));
        if dropped {
            let command = Command::Tapped { tapped: 0 };
            let request =
                Request { station: Some(station.to_string()), by: None, login: None, command };
            self.happened(now, &Event::Request(request));
        }
        dropped
    }

    fn drop_turn(&mut self, waited: &Waited) -> bool {
        let sweep = self.streams.sweeping.get_mut(&waited.gauge);
        let dropped = sweep.is_some_and(Sweep::drop_turn);
        self.show_sweep(&waited.gauge, None);
        dropped
    }

    /// Reports every turn that the bench believes to be under way although no gauge gathers it: further
    /// taps would be taken for other marks.
    pub(super) fn tell_lost_turns(&mut self, at: Stamp, why: &str) {
        let gathered = |gauge: Option<&Name>, id: Seq| {
            let sweep = gauge.and_then(|gauge| self.streams.sweeping.get(gauge));
            sweep.is_some_and(|sweep| sweep.gathers_for(id.0))
        };
        let attempts = self.bench.jobs.values().flat_map(|job| {
            job.attempts.iter().filter(|(_, attempt)| attempt.turn_under_way).filter(
                |(id, attempt)| {
                    let gauge = job.check_of(attempt).and_then(|(_, check)| check.gauge.as_ref());
                    !gathered(gauge, **id)
                },
            )
        });
        let lost: Vec<Seq> = attempts.map(|(id, _)| *id).collect();
        for attempt in lost {
            self.happened(at, &Event::TurnLost { attempt, why: why.to_owned() });
        }
    }
}

/// How many samples a command turns into readings.
fn samples_of(command: &Command) -> u64 {
    if let Command::Swept(turn) = command { turn.samples.len() as u64 } else { 0 }
}

//! Asking gauges for a reading: one question to a gauge at a time, each answered or given up.

use super::scans::Budget;
use super::streams::{frame_of, sample_of};
use super::{After, Desk};
use crate::input::Change;
use crate::record::Record;
use bench::{Command, Event, Refusal};
use gauge::{Foreign, Kind, Outcome, Sample};
use intake::Link;
use quantity::{Name, Stamp};

/// Who waits for the answer of a gauge.
pub(super) enum Waiting {
    /// A `take`, which gets its reply with the answer.
    Person(Change),
    /// A `take` read by this station's scanner. Nobody waits for its reply, so its result is shown at the
    /// bench.
    Scanned(Name, Change),
    /// The foot on this station's pedal.
    Foot(Name),
    /// Nobody any more: the time ran out, and a late answer does not count as a reading.
    Nobody {
        /// Until when an answer counts as late.
        until_us: u64,
    },
}

impl<R: Record> Desk<R> {
    /// Asks a gauge. The answer arrives as a frame, or as the news that there was none.
    pub(super) fn ask(&mut self, at: Stamp, gauge: &Name) -> Result<(), Refusal> {
        let again = "ask again in a moment";
        match self.streams.waiting.get(gauge) {
            Some(Waiting::Person(_) | Waiting::Scanned(..) | Waiting::Foot(_)) => {
                let text = format!("{gauge} was asked already and has not answered yet");
                return Err(Refusal::input(text, again));
            }
            Some(Waiting::Nobody { until_us }) if at.mono_us < *until_us => {
                let text = format!("{gauge} may still answer what it was asked before");
                return Err(Refusal::input(text, again));
            }
            Some(Waiting::Nobody { .. }) | None => {}
        }
        // What is shown is as of the last commit and may be out of date, so it is not used here.
        if !self.streams.live.contains(gauge) || !self.streams.asks.ask(gauge) {
            let text = format!("{gauge} cannot be asked: its line is not open");
            return Err(Refusal::input(text, "`tenths status` says what is wrong with it"));
        }
        Ok(())
    }

    /// Takes a frame of a gauge that is asked. The first frame after the question and within its time is
    /// the answer.
    pub(super) fn answered(
        &mut self,
        at: Stamp,
        gauge: &Name,
        outcome: Outcome,
    ) -> Option<Outcome> {
        // Frames of another channel, and those from before the line was live, are no answer.
        let beside = matches!(outcome.kind, Kind::Foreign(Foreign::OtherChannel) | Kind::Resync);
        if beside {
            return Some(outcome);
        }
        let asked = matches!(
            self.streams.waiting.get(gauge),
            Some(Waiting::Person(_) | Waiting::Scanned(..) | Waiting::Foot(_))
        );
        if !asked {
            return self.unasked(at, gauge, outcome);
        }
        // A flood of frames is no answer; the time runs out.
        if matches!(outcome.kind, Kind::Muted { .. }) {
            return Some(outcome);
        }
        let waiting = self.streams.waiting.remove(gauge);
        let timeout_us = self.timeout_us(gauge);
        self.streams.beside.entry(gauge.clone()).or_default().until(at, timeout_us);
        let said = what_it_said(&outcome.kind);
        let sample = match sample_of(at, as_new(outcome)) {
            Ok(sample) => sample,
            Err(other) => {
                let text = format!("{gauge} answered, but not with a reading: {said}");
                let refusal = Refusal::input(text, "look at the gauge, then ask again");
                self.give_up(at, waiting, &refusal);
                return Some(other);
            }
        };
        self.ledger.tallies.idle(gauge, at, sample.value);
        match waiting {
            // Its reply carries the result.
            Some(Waiting::Person(change)) => drop(self.take_answer(at, gauge, (change, sample))),
            Some(Waiting::Scanned(station, change)) => {
                let done = self.take_answer(at, gauge, (change, sample));
                let refused = done.err().map(|refusal| refusal.text);
                self.happened(at, &Event::Scan { station, refused });
            }
            Some(Waiting::Foot(station)) => self.foot_answered(at, (&station, gauge), sample),
            Some(Waiting::Nobody { .. }) | None => {}
        }
        None
    }

    /// Takes a frame while nobody waits for an answer. It is a touch if the gauge's own button counts and
    /// no answer is near in time, otherwise it is kept as unclaimed.
    fn unasked(&mut self, at: Stamp, gauge: &Name, outcome: Outcome) -> Option<Outcome> {
        if !matches!(outcome.kind, Kind::Reading { .. }) {
            return Some(outcome);
        }
        let button = self.streams.captures.get(gauge).is_some_and(|asked| asked.button);
        let timeout_us = self.timeout_us(gauge);
        let beside = self.streams.beside.entry(gauge.clone()).or_default();
        if button && !beside.is_near(at) {
            return Some(outcome);
        }
        // Frames shortly after one of these count as following the answer too.
        if beside.is_near(at) {
            beside.until(at, timeout_us);
        }
        let told = beside.told.spend(at.mono_us);
        // The late answer has arrived: the gauge may be asked again.
        self.streams.waiting.remove(gauge);
        let outcome = as_new(outcome);
        let Ok(sample) = sample_of(at, outcome.clone()) else { return Some(outcome) };
        if told {
            self.happened(at, &Event::Unasked(frame_of(gauge, sample)));
            self.batch.after.push(After::Count(gauge.clone(), at, outcome));
        } else {
            self.ledger.tallies.idle(gauge, at, sample.value);
        }
        None
    }

    /// How long a gauge has to answer, in microseconds.
    fn timeout_us(&self, gauge: &Name) -> u64 {
        self.streams.captures.get(gauge).map_or(0, |asked| asked.timeout_us)
    }

    fn take_answer(
        &mut self,
        at: Stamp,
        gauge: &Name,
        (mut change, sample): (Change, Sample),
    ) -> Result<(), Refusal> {
        change.at = at;
        change.request.command = Command::Take { frame: Some(frame_of(gauge, sample)) };
        self.decide_change(change)?;
        self.batch.after.push(After::Regain(gauge.clone(), 1));
        Ok(())
    }

    /// Notes that a `take` waiting for the answer of a gauge came from a scanner.
    pub(super) fn waits_for_scan(&mut self, station: &Name, key: &str) {
        let asked = |(_, waiting): &(&Name, &Waiting)| matches!(waiting, Waiting::Person(change) if change.key == key);
        let gauge = self.streams.waiting.iter().find(asked).map(|(gauge, _)| gauge.clone());
        let Some(gauge) = gauge else { return };
        if let Some(Waiting::Person(change)) = self.streams.waiting.remove(&gauge) {
            let waiting = Waiting::Scanned(station.clone(), change);
            self.streams.waiting.insert(gauge, waiting);
        }
    }

    /// A gauge was asked and did not answer in time.
    pub(super) fn unanswered(&mut self, at: Stamp, gauge: &Name) {
        let waiting = self.streams.waiting.remove(gauge);
        let timeout_us = self.timeout_us(gauge);
        let ms = timeout_us / 1000;
        let hint = "look at its cable and its battery, and at [ask] in its profile";
        let refusal = Refusal::input(format!("{gauge} did not answer within {ms} ms"), hint);
        self.give_up(at, waiting, &refusal);
        let until_us = at.mono_us.saturating_add(timeout_us);
        self.streams.beside.entry(gauge.clone()).or_default().until(at, timeout_us);
        self.streams.waiting.insert(gauge.clone(), Waiting::Nobody { until_us });
    }

    /// The line of some gauges was lost or opened again: their answers are not waited for any more.
    pub(super) fn line_changed(&mut self, at: Stamp, gauges: &[Name], link: &Link) {
        for gauge in gauges {
            if *link == Link::Live {
                self.streams.live.insert(gauge.clone());
            } else {
                self.streams.live.remove(gauge);
            }
            if let Some(settle) = self.streams.settling.get_mut(gauge) {
                settle.lost();
            }
            if let Some(sweep) = self.streams.sweeping.get_mut(gauge) {
                sweep.lost();
            }
            self.tell_lost_turns(at, "the line of its gauge was lost");
            let waiting = self.streams.waiting.remove(gauge);
            let text = format!("the line of {gauge} was lost before it answered");
            self.give_up(at, waiting, &Refusal::input(text, "`tenths status` says how it is"));
        }
    }

    /// Gives up all answers that are waited for.
    pub(super) fn give_up_asking(&mut self, at: Stamp, why: &str) {
        for (gauge, waiting) in std::mem::take(&mut self.streams.waiting) {
            let text = format!("{gauge} was not waited for: {why}");
            self.give_up(at, Some(waiting), &Refusal::input(text, "ask again"));
        }
    }

    /// How many people wait for the answer of a gauge.
    #[cfg(test)]
    pub(crate) fn asked_by_people(&self) -> usize {
        let person = |waiting: &&Waiting| matches!(waiting, Waiting::Person(_));
        self.streams.waiting.values().filter(person).count()
    }

    fn give_up(&mut self, at: Stamp, waiting: Option<Waiting>, refusal: &Refusal) {
        match waiting {
            Some(Waiting::Person(change)) => self.refuse(change, refusal.clone()),
            Some(Waiting::Scanned(station, _)) => {
                let refused = Some(refusal.text.clone());
                self.happened(at, &Event::Scan { station, refused });
            }
            Some(Waiting::Foot(station)) => self.foot_unanswered(at, station, &refusal.text),
            Some(Waiting::Nobody { .. }) | None => {}
        }
    }
}

/// Frames that a gauge which is asked sends without being asked.
#[derive(Default)]
pub(super) struct Beside {
    /// Until when a frame counts as following an answer, or as a late answer.
    near_until_us: u64,
    /// How many more of them are stored.
    told: Budget,
}

impl Beside {
    fn is_near(&self, at: Stamp) -> bool {
        at.mono_us < self.near_until_us
    }

    const fn until(&mut self, at: Stamp, timeout_us: u64) {
        self.near_until_us = at.mono_us.saturating_add(timeout_us);
    }
}

/// An answer is a reading of its own, even where the button sent the same value just before.
fn as_new(mut outcome: Outcome) -> Outcome {
    if let Kind::Reading { repeat, .. } = &mut outcome.kind {
        *repeat = false;
    }
    outcome
}

fn what_it_said(kind: &Kind) -> String {
    match kind {
        Kind::Damaged(why) => why.to_string(),
        Kind::Foreign(why) => why.to_string(),
        Kind::Resync | Kind::Muted { .. } | Kind::Idle | Kind::Reading { .. } => {
            "its line has just been opened".to_owned()
        }
    }
}

//! Gauges that are asked for a reading: one question at a time, each answered or given up.

use super::scans::Budget;
use super::streams::{frame_of, sample_of};
use super::{After, Desk};
use crate::input::Change;
use crate::record::Record;
use bench::{Command, Event, Refusal};
use gauge::{Foreign, Kind, Outcome, Sample};
use intake::Link;
use quantity::{Name, Stamp};

/// What a gauge that was asked is asked for.
pub(super) enum Waiting {
    /// A `take`, which gets its reply with the answer.
    Person(Change),
    /// A `take` that this station's scanner read. Nobody waits for its reply: what becomes of it is
    /// told at the bench.
    Scanned(Name, Change),
    /// The foot at this station.
    Foot(Name),
    /// Nobody any more: the time ran out, and a late answer is no reading of its own.
    Nobody {
        /// Until when an answer counts as late.
        until_us: u64,
    },
}

impl<R: Record> Desk<R> {
    /// Asks a gauge; the answer comes as a frame, or as the news that there was none.
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
        // What is published lags behind: it is as of the last commit.
        if !self.streams.live.contains(gauge) || !self.streams.asks.ask(gauge) {
            let text = format!("{gauge} cannot be asked: its line is not open");
            return Err(Refusal::input(text, "`tenths status` says what is wrong with it"));
        }
        Ok(())
    }

    /// A frame of a gauge that is asked: the first one after the question, within its time, is the
    /// answer.
    pub(super) fn answered(
        &mut self,
        at: Stamp,
        gauge: &Name,
        outcome: Outcome,
    ) -> Option<Outcome> {
        // What another channel said, and the rest of what came before the line was open, answers
        // nothing.
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
        // A gauge that floods does not answer; the time runs out.
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
            // What came of it is told by its reply.
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

    /// A frame while nobody waits for an answer: of the gauge's own button where that counts and no
    /// answer is near, else no touch.
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
        // What follows what followed an answer belongs to it, too.
        if beside.is_near(at) {
            beside.until(at, timeout_us);
        }
        let told = beside.told.spend(at.mono_us);
        // The late answer has come: the gauge may be asked again.
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

    /// How long a gauge has to answer.
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

    /// A `take` that came from a scanner waits for the answer of a gauge.
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

    /// The line of gauges was lost or opened anew: what they were asked is over.
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

    /// Nothing that was asked will be answered.
    pub(super) fn give_up_asking(&mut self, at: Stamp, why: &str) {
        for (gauge, waiting) in std::mem::take(&mut self.streams.waiting) {
            let text = format!("{gauge} was not waited for: {why}");
            self.give_up(at, Some(waiting), &Refusal::input(text, "ask again"));
        }
    }

    /// How many people wait for a gauge that was asked.
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

/// What a gauge that is asked sends beside its answers.
#[derive(Default)]
pub(super) struct Beside {
    /// Until when a frame follows an answer, or is a late one.
    near_until_us: u64,
    /// How many such frames are kept.
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

/// An answer is one of its own, also where the button sent the same value right before.
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

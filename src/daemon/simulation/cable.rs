//! A port and its gauges, and what a source does with them, without a kernel.

use std::collections::VecDeque;

use tokio::sync::broadcast;

use config::Port;
use gauge::{GaugeLine, Outcome};
use intake::{Arrival, Asks, Link, News, Questions};
use quantity::{Name, Stamp};

/// A port and its gauges.
pub(super) struct Cable {
    pub(super) port: Port,
    pub(super) plugged: bool,
    line: GaugeLine,
    was_live: bool,
    questions: Questions,
    /// The questions to the gauges of the port.
    heard: broadcast::Receiver<Name>,
    /// What they will send, and when.
    coming: VecDeque<(u64, Vec<u8>)>,
}

impl Cable {
    pub(super) fn new(port: &Port, asks: &Asks, now_us: u64) -> Self {
        let mut line = GaugeLine::new(port.line.clone());
        line.opened(now_us);
        Self {
            port: port.clone(),
            plugged: true,
            line,
            was_live: false,
            questions: Questions::new(port),
            heard: asks.hear(),
            coming: VecDeque::new(),
        }
    }

    /// The port is opened again. Questions from before are not asked late.
    pub(super) fn plug(&mut self, now_us: u64) {
        self.line.opened(now_us);
        self.questions.opened(now_us);
        self.heard = self.heard.resubscribe();
        (self.plugged, self.was_live) = (true, false);
    }

    /// The cable is pulled: bytes on their way are lost.
    pub(super) fn unplug(&mut self) {
        self.plugged = false;
        self.coming.clear();
    }

    /// The next time before `until` at which something happens by itself.
    pub(super) fn wakes_before(&self, until_us: u64) -> Option<u64> {
        let coming = self.coming.iter().map(|(at_us, _)| *at_us).min();
        let wakes = [self.line.wake_at(), self.questions.due_us(), coming];
        wakes.into_iter().flatten().min().filter(|&at| self.plugged && at < until_us)
    }

    /// The next gauge to ask, if no other is being asked.
    pub(super) fn asked(&mut self, now_us: u64) -> Option<Name> {
        while self.plugged && self.questions.due_us().is_none() {
            let gauge = self.heard.try_recv().ok()?;
            if let Some(place) = self.questions.place(&gauge) {
                let (sent, _) = self.questions.ask(place, now_us).unwrap();
                let back = sent.to_vec();
                self.send_later(now_us, back);
                return Some(gauge);
            }
        }
        None
    }

    /// Bytes that will arrive at a time.
    pub(super) fn send_later(&mut self, at_us: u64, bytes: Vec<u8>) {
        let place = self.coming.partition_point(|(other_us, _)| *other_us <= at_us);
        self.coming.insert(place, (at_us, bytes));
    }

    /// Does what is due now: an answer arrives, the time for one runs out, or a silence is long enough.
    pub(super) fn wake(&mut self, now: Stamp) -> Vec<Arrival> {
        let due = self.coming.front().is_some_and(|(at_us, _)| *at_us <= now.mono_us);
        let bytes = if due { self.coming.pop_front().unwrap().1 } else { Vec::new() };
        let mut told = self.arrivals(&bytes, now);
        if self.questions.due_us().is_some_and(|due_us| due_us <= now.mono_us)
            && let Some(place) = self.questions.give_up()
        {
            let gauge = self.port.gauges[place].clone();
            told.push(Arrival { at: now, news: News::Unanswered { gauge } });
        }
        told
    }

    /// The news of a source about bytes, or about time without bytes.
    pub(super) fn arrivals(&mut self, bytes: &[u8], now: Stamp) -> Vec<Arrival> {
        let mut outcomes = Vec::new();
        self.line.tick(now.mono_us, &mut outcomes);
        let own = self.questions.without_echo(bytes);
        self.line.feed(&own, now.mono_us, &mut outcomes);
        let arrival = |news| Arrival { at: now, news };
        let gauges = &self.port.gauges;
        for outcome in &outcomes {
            let _again = self.questions.heard(outcome);
        }
        let frame =
            |outcome: Outcome| News::Frame { gauge: gauges[outcome.gauge].clone(), outcome };
        let mut told: Vec<_> = outcomes.into_iter().map(|one| arrival(frame(one))).collect();
        if self.line.live() && !std::mem::replace(&mut self.was_live, true) {
            told.push(arrival(News::Line { gauges: gauges.clone(), link: Link::Live }));
        }
        told
    }
}

//! Asking the gauges of a port: one at a time, and with a limit on each wait.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::time::Duration;

use tokio::sync::broadcast::error::RecvError;
use tokio::sync::{broadcast, watch};

use super::looped::Looped;
use super::wire::Wire;
use super::{Asks, clock};
use config::Port;
use gauge::{Ask, Capture, Echo, Foreign, Kind, Outcome};
use quantity::Name;

/// What is to be done about asking. A gauge is given by its place on the port.
pub(super) enum Asked {
    /// Ask this one.
    Ask(usize),
    /// This one was asked and did not answer in time.
    NoAnswer(usize),
    /// This one is asked in a loop, and has not answered for a while.
    Silent(usize),
    /// Nothing now; what is due has changed.
    Nothing,
}

/// What each gauge of a port is sent, and which of them was asked and has not answered. It does no I/O
/// and reads no clock.
#[derive(Debug)]
pub struct Questions {
    /// The gauges that are asked, and the bytes that each is sent.
    asked: Vec<(usize, Name, Vec<u8>)>,
    ask: Option<Ask>,
    /// Those that are asked in a loop.
    looped: Vec<Looped>,
    /// The gauge that is being asked, and until when it may answer.
    outstanding: Option<(usize, u64)>,
    echo: Echo,
}

impl Questions {
    /// The questions of a port, none asked yet.
    pub fn new(port: &Port) -> Self {
        let ask = port.line.profile.ask.clone();
        let gauges = port.line.gauges.iter().zip(&port.gauges).enumerate();
        let polled = gauges.clone().filter(|(_, (on_line, _))| {
            on_line.capture == Capture::Request || on_line.every_us > 0
        });
        let looped = gauges.filter(|(_, (on_line, _))| on_line.every_us > 0);
        let looped = looped.map(|(index, (on_line, name))| {
            let is_stream = matches!(on_line.capture, Capture::Settle | Capture::Sweep);
            Looped::new(index, name.clone(), on_line.every_us, is_stream)
        });
        let looped = looped.collect();
        let asked = ask.iter().flat_map(|ask| {
            polled.clone().map(|(index, (on_line, name))| {
                let channel = on_line.channel.as_deref().unwrap_or_default();
                (index, name.clone(), ask.send.replace("{channel}", channel).into_bytes())
            })
        });
        let asked = asked.collect();
        Self { asked, ask, looped, outstanding: None, echo: Echo::default() }
    }

    /// Whether no gauge of the port is ever asked.
    pub const fn is_empty(&self) -> bool {
        self.asked.is_empty()
    }

    /// The port has just been opened: an earlier question no longer counts.
    pub fn opened(&mut self, now_us: u64) {
        self.outstanding = None;
        self.echo = Echo::default();
        for looped in &mut self.looped {
            looped.opened(now_us);
        }
    }

    /// The place on the port of a gauge that is asked when a reading is wanted.
    pub fn place(&self, gauge: &Name) -> Option<usize> {
        let looped = self.looped.iter().any(|looped| looped.name == *gauge);
        let mut asked = self.asked.iter().filter(|_| !looped);
        asked.find(|(_, name, _)| name == gauge).map(|(index, ..)| *index)
    }

    /// The place of the gauge that is next in its loop, and when. `heeded`: the streams that are waited for.
    fn next_in_loop(&self, heeded: &BTreeSet<Name>) -> Option<(u64, usize)> {
        let due = |looped: &Looped| (looped.due_us(heeded.contains(&looped.name)), looped.index);
        self.looped.iter().map(due).min()
    }

    fn looped(&mut self, index: usize) -> Option<&mut Looped> {
        self.looped.iter_mut().find(|looped| looped.index == index)
    }

    /// The time by which the gauge that was asked has to answer. Before that no other is asked.
    pub fn due_us(&self) -> Option<u64> {
        self.outstanding.map(|(_, until_us)| until_us)
    }

    /// The gauge that was asked has run out of time. Returns its place on the port.
    pub fn give_up(&mut self) -> Option<usize> {
        self.outstanding.take().map(|(index, _)| index)
    }

    /// Asks the gauge at this place. Returns what it is sent, and how long it has to answer, in
    /// microseconds.
    pub fn ask(&mut self, index: usize, now_us: u64) -> Option<(&[u8], u64)> {
        if let Some(looped) = self.looped(index) {
            looped.asked(now_us);
        }
        let ask = self.ask.as_ref()?;
        let (.., bytes) = self.asked.iter().find(|(of, ..)| *of == index)?;
        self.outstanding = Some((index, now_us.saturating_add(ask.timeout_us)));
        if ask.echo {
            self.echo.sent(bytes);
        }
        Some((bytes, ask.timeout_us))
    }

    /// The bytes that arrived, without the echo of a question.
    pub fn without_echo<'b>(&mut self, bytes: &'b [u8]) -> Cow<'b, [u8]> {
        self.echo.strip(bytes)
    }

    /// A frame arrived. A frame of another channel, or from before the line was live, is no answer. Returns
    /// whether a gauge that is asked in a loop answers again after it had been silent.
    pub fn heard(&mut self, frame: &Outcome) -> bool {
        let beside = matches!(frame.kind, Kind::Foreign(Foreign::OtherChannel) | Kind::Resync);
        if beside {
            return false;
        }
        if self.outstanding.is_some_and(|(asked, _)| asked == frame.gauge) {
            self.outstanding = None;
        }
        self.looped(frame.gauge).is_some_and(Looped::answered)
    }
}

/// The asking of one port.
pub(super) struct Asking {
    asks: Asks,
    /// The questions asked while the port is open; `None` where no gauge of the port is ever asked.
    heard: Option<broadcast::Receiver<Name>>,
    /// The streams that are waited for.
    heeded: watch::Receiver<BTreeSet<Name>>,
    questions: Questions,
}

impl Asking {
    pub(super) fn new(port: &Port, asks: Asks) -> Self {
        let heeded = asks.heeded();
        Self { asks, heard: None, heeded, questions: Questions::new(port) }
    }

    /// The port has just been opened: an earlier question no longer counts.
    pub(super) fn opened(&mut self) {
        self.questions.opened(clock::mono_us());
        self.heard = (!self.questions.is_empty()).then(|| self.asks.hear());
    }

    /// Waits until there is something to do. May be cancelled.
    pub(super) async fn next(&mut self) -> Asked {
        if let Some(due_us) = self.questions.due_us() {
            clock::sleep_until(Some(due_us)).await;
            return self.gave_up();
        }
        let looped = self.questions.next_in_loop(&self.heeded.borrow_and_update());
        let Some(heard) = &mut self.heard else { return std::future::pending().await };
        tokio::select! {
            biased;
            asked = asked(heard, &self.questions) => {
                if let Some(index) = asked {
                    return Asked::Ask(index);
                }
                self.heard = None;
                Asked::Nothing
            }
            () = clock::sleep_until(looped.map(|(due_us, _)| due_us)) => {
                looped.map_or(Asked::Nothing, |(_, index)| Asked::Ask(index))
            }
            // A stream that is waited for is asked at its own pace again.
            Ok(()) = self.heeded.changed(), if looped.is_some() => Asked::Nothing,
        }
    }

    /// The gauge that was asked has run out of time.
    fn gave_up(&mut self) -> Asked {
        let Some(index) = self.questions.give_up() else { return Asked::Nothing };
        let missed = self.questions.looped(index).map(|looped| looped.missed(clock::mono_us()));
        match missed {
            None => Asked::NoAnswer(index),
            Some(true) => Asked::Silent(index),
            Some(false) => Asked::Nothing,
        }
    }

    /// Writes the question for a gauge.
    pub(super) async fn write(&mut self, index: usize, wire: &mut Wire) -> std::io::Result<()> {
        let Some((bytes, timeout_us)) = self.questions.ask(index, clock::mono_us()) else {
            return Ok(());
        };
        // A line that takes no bytes counts as one without an answer.
        let limit = Duration::from_micros(timeout_us);
        tokio::time::timeout(limit, wire.write_all(bytes)).await.unwrap_or(Ok(()))
    }

    /// The bytes that arrived, without the echo of a question.
    pub(super) fn without_echo<'b>(&mut self, bytes: &'b [u8]) -> Cow<'b, [u8]> {
        self.questions.without_echo(bytes)
    }

    /// A frame arrived. Returns whether a gauge answers again that had been silent.
    pub(super) fn heard(&mut self, frame: &Outcome) -> bool {
        self.questions.heard(frame)
    }
}

/// The place of the next gauge that is asked for a reading; `None` where nobody asks any more. May be cancelled.
async fn asked(heard: &mut broadcast::Receiver<Name>, questions: &Questions) -> Option<usize> {
    loop {
        match heard.recv().await {
            Ok(gauge) => {
                if let Some(index) = questions.place(&gauge) {
                    return Some(index);
                }
            }
            // Questions were dropped. Those who asked find out when the time for the answer runs out.
            Err(RecvError::Lagged(_)) => {}
            Err(RecvError::Closed) => return None,
        }
    }
}

//! Asking the gauges of a port: one at a time, and never for ever.

use std::time::Duration;

use tokio::sync::broadcast;
use tokio::sync::broadcast::error::RecvError;

use super::Asks;
use super::clock;
use super::wire::Wire;
use crate::config::Port;
use crate::gauge::{Ask, Capture, Echo, Foreign, Kind, Outcome};
use crate::quantity::Name;

/// What there is to do about asking. Gauges are meant by their place on the port.
pub(super) enum Asked {
    /// Ask this one.
    Ask(usize),
    /// This one was asked and did not answer in time.
    NoAnswer(usize),
}

/// The asking of one port.
pub(super) struct Asking {
    asks: Asks,
    /// What is asked while the port is open; none where no gauge of the port is ever asked.
    heard: Option<broadcast::Receiver<Name>>,
    /// The gauges that are asked, and what each is sent.
    questions: Vec<(usize, Name, Vec<u8>)>,
    ask: Option<Ask>,
    /// Who is being asked, and until when.
    outstanding: Option<(usize, u64)>,
    echo: Echo,
}

impl Asking {
    pub(super) fn new(port: &Port, asks: Asks) -> Self {
        let ask = port.line.profile.ask.clone();
        let gauges = port.line.gauges.iter().zip(&port.gauges).enumerate();
        let asked = gauges.filter(|(_, (on_line, _))| on_line.capture == Capture::Request);
        let questions = ask.iter().flat_map(|ask| {
            asked.clone().map(|(index, (on_line, name))| {
                let channel = on_line.channel.as_deref().unwrap_or_default();
                (index, name.clone(), ask.send.replace("{channel}", channel).into_bytes())
            })
        });
        let questions = questions.collect();
        Self { asks, heard: None, questions, ask, outstanding: None, echo: Echo::default() }
    }

    /// The port has just been opened: what was asked before is over.
    pub(super) fn opened(&mut self) {
        self.outstanding = None;
        self.echo = Echo::default();
        self.heard = (!self.questions.is_empty()).then(|| self.asks.hear());
    }

    /// Waits until there is something to do. May be given up and waited for again.
    pub(super) async fn next(&mut self) -> Asked {
        if let Some((index, until_us)) = self.outstanding {
            clock::sleep_until(Some(until_us)).await;
            self.outstanding = None;
            return Asked::NoAnswer(index);
        }
        while let Some(heard) = &mut self.heard {
            match heard.recv().await {
                Ok(gauge) => {
                    let asked = self.questions.iter().find(|(_, name, _)| *name == gauge);
                    if let Some((index, ..)) = asked {
                        return Asked::Ask(*index);
                    }
                }
                // Whoever asked is told by the time that runs out.
                Err(RecvError::Lagged(_)) => {}
                Err(RecvError::Closed) => self.heard = None,
            }
        }
        std::future::pending().await
    }

    /// Writes the question of a gauge.
    pub(super) async fn write(&mut self, index: usize, wire: &mut Wire) -> std::io::Result<()> {
        let (Some(ask), Some((.., bytes))) =
            (&self.ask, self.questions.iter().find(|(of, ..)| *of == index))
        else {
            return Ok(());
        };
        self.outstanding = Some((index, clock::mono_us().saturating_add(ask.timeout_us)));
        if ask.echo {
            self.echo.sent(bytes);
        }
        // A line that takes no bytes is one without an answer.
        let limit = Duration::from_micros(ask.timeout_us);
        tokio::time::timeout(limit, wire.write_all(bytes)).await.unwrap_or(Ok(()))
    }

    /// What arrived, without the echo of a question.
    pub(super) fn without_echo<'b>(&mut self, bytes: &'b [u8]) -> &'b [u8] {
        self.echo.strip(bytes)
    }

    /// A frame came. One of another channel, or from before the line was open, answers nothing.
    pub(super) fn heard(&mut self, frame: &Outcome) {
        let beside = matches!(frame.kind, Kind::Foreign(Foreign::OtherChannel) | Kind::Resync);
        if !beside && self.outstanding.is_some_and(|(asked, _)| asked == frame.gauge) {
            self.outstanding = None;
        }
    }
}

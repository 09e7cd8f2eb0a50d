//! What a station shows, asked of the service as `watch` asks, with its sounds.

use std::path::{Path, PathBuf};
use std::time::Instant;

use ::page::{Follow, Seen, Told, Tone, Wrong};
use wire::View;

use super::told::told;
use crate::socket::{self, Lines, Trouble};
use crate::sound::{self, Hearing, is_stop};
use crate::watch::{Answer, STOP_EVERY, ask};

/// A station that is followed.
#[derive(Debug)]
pub(super) struct Station {
    socket: PathBuf,
    /// Its name; empty for the only one.
    name: String,
    /// The connection, once it is made.
    lines: Option<Lines>,
    hearing: Hearing,
    /// When a call to stop was heard last.
    stopped: Option<Instant>,
}

impl Station {
    pub(super) fn of(socket: &Path, name: &str) -> Self {
        Self {
            socket: socket.to_owned(),
            name: name.to_owned(),
            lines: None,
            hearing: Hearing::default(),
            stopped: None,
        }
    }

    /// The view: at once on a new connection, then when there is something new.
    fn asked(&mut self) -> Result<Answer, Trouble> {
        let station = Some(self.name.as_str()).filter(|name| !name.is_empty());
        if let Some(lines) = &mut self.lines {
            return ask(lines, station, true);
        }
        let mut lines = Lines::connect(&self.socket)?;
        let answer = ask(&mut lines, station, false)?;
        self.lines = Some(lines);
        Ok(answer)
    }

    /// The sound of what is new; a call to stop is repeated until it is seen.
    fn tone(&mut self, view: &View) -> Option<Tone> {
        let heard = self.hearing.hear(view);
        let stops = view.alerts.iter().any(is_stop);
        let again = self.stopped.is_none_or(|at| at.elapsed() >= STOP_EVERY);
        let tone = heard.or_else(|| (stops && again).then_some(sound::Tone::Stop))?;
        if tone == sound::Tone::Stop {
            self.stopped = Some(Instant::now());
        }
        Some(Tone { notes: sound::notes(tone).to_vec(), buzz: sound::is_buzz(tone) })
    }
}

impl Follow for Station {
    fn next(&mut self) -> Result<Seen, Told> {
        match self.asked() {
            Ok(Answer::View(view)) => {
                let tone = self.tone(&view);
                Ok(Seen { view: *view, tone })
            }
            Ok(Answer::Refused(reply)) => {
                Err(Told { wrong: Wrong::NotThere, text: reply.text, hint: reply.hint })
            }
            Err(trouble) => {
                self.lines = None;
                Err(told(socket::told(&self.socket, trouble)))
            }
        }
    }
}
